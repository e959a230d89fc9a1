//! Messages as letters: a file to print, and the note that they were posted.
use crate::web::files;
use crate::{
    actions::message as verbs,
    db::{
        company,
        customer::{self, Customer},
        message::{self, Message},
    },
    output::{
        pdf::{self, Block, Part, Sheet},
        qr::Qr,
    },
    texts::Language,
    web::{
        AppState, Result,
        form::Posted,
        session::{self, Actor},
    },
};
use axum::{extract::State, response::Response};
use uuid::Uuid;

/// Letters in one file.
pub(super) const MOST: i64 = 200;

/// GET /messages/letters.pdf : what has no address; where no mail leaves, all that waits.
pub async fn letters(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let leaves = state.config.mail.smtp_host.is_some();
    let all = message::to_print(&mut conn, !leaves, MOST).await?;
    let house = company::find(&mut conn).await?;
    let sender = house
        .map_or_else(String::new, |c| format!("{}, {}, {}, {} {}", c.name, c.street, c.city, c.state, c.zip));
    let mut blocks = vec![];
    for m in &all {
        let to = match m.customer_id {
            Some(id) => customer::find(&mut conn, id).await?,
            None => None,
        };
        if !blocks.is_empty() {
            blocks.push(Block::NewPage);
        }
        let on = Language::from_code(&m.language).unwrap_or_default();
        let day = on.day(&m.created_at.with_timezone(&actor.time_zone).date_naive());
        blocks.extend(letter(m, to.as_ref(), &sender, &day)?);
    }
    if blocks.is_empty() {
        blocks.push(Block::Words(pdf::plain("No letter is to be printed.")));
    }
    drop(conn);
    let sheet = Sheet {
        title: "Letters".to_owned(),
        owner: actor.company.clone(),
        foot: "The label and local rules decide; a licensed person answers.".to_owned(),
        blocks,
    };
    files::pdf("letters.pdf", move || pdf::write(&sheet)).await
}

/// POST /messages/postings
pub async fn posted(State(state): State<AppState>, actor: Actor, Posted(form): Posted) -> Result<Response> {
    let ids: Vec<Uuid> = form.values("message").iter().filter_map(|id| id.parse().ok()).collect();
    let done = verbs::posted(&actor.doer(), &ids).await?;
    let words = if done == 1 {
        "1 letter is noted as posted.".to_owned()
    } else {
        format!("{done} letters are noted as posted.")
    };
    Ok(session::done(&state, "/messages", &words))
}

fn letter(m: &Message, to: Option<&Customer>, sender: &str, day: &str) -> anyhow::Result<Vec<Block>> {
    let mut address = vec![Part::Small(sender.to_owned()), Part::Strong(m.recipient_name.clone())];
    match to.filter(|c| !c.street.is_empty()) {
        Some(c) => {
            address.push(Part::Plain(c.street.clone()));
            address.push(Part::Plain(format!("{}, {} {}", c.city, c.state, c.zip)));
        }
        None => address.push(Part::Plain("(no postal address is known)".to_owned())),
    }
    let mut blocks =
        vec![Block::Words(address), Block::Words(pdf::plain(day)), Block::Heading(m.subject.clone())];
    for paragraph in m.body_text.split("\n\n") {
        for piece in pieces(paragraph) {
            // What is long to type is read by a telephone's camera.
            let part = if piece == m.link { Part::Code(Qr::of(&m.link)?) } else { Part::Plain(piece) };
            blocks.push(Block::Words(vec![part]));
        }
    }
    Ok(blocks)
}

/// The paragraph without the line ends of plain text: a list's items and an address stay apart.
fn pieces(paragraph: &str) -> Vec<String> {
    let mut all: Vec<String> = vec![];
    for line in paragraph.lines().map(str::trim_end).filter(|line| !line.is_empty() && *line != "--") {
        let alone = line.starts_with("- ") || line.starts_with("http");
        match all.last_mut() {
            Some(last) if !alone && !last.starts_with("http") => {
                last.push(' ');
                last.push_str(line.trim_start());
            }
            _ => all.push(line.to_owned()),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_has_paragraphs_and_no_torn_lines() {
        let text = "the protection of\nthese plants\n- One, which\n  goes on\n- Two\nAnswer:\nhttps://a.test/c/x\nmore";
        let found = pieces(text);
        let wanted = [
            "the protection of these plants",
            "- One, which goes on",
            "- Two Answer:",
            "https://a.test/c/x",
            "more",
        ];
        assert_eq!(found, wanted);
        assert_eq!(pieces("-- \nBellwether"), ["Bellwether"], "the line above the signature is for mail");
    }
}
