//! What one state asks: of records, in which time, and as a report, each with its source and what was not read.
use super::{AT, StateRow};
use crate::{
    domain::{
        filing::{self, Jurisdiction, Kept, Nil, Period},
        record,
    },
    web::{Error, Result, form::Form, page::Page, session::Actor, words},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::Path,
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;

/// A part of the rule and where it is kept.
struct Part {
    words: &'static str,
    kept: String,
    /// It has no place here.
    outside: bool,
}

#[derive(Template, WebTemplate)]
#[template(path = "filing/state.html")]
struct StatePage {
    page: Page,
    of: &'static Jurisdiction,
    parts: Vec<Part>,
    by: String,
    keep: String,
    nil: &'static str,
    /// The next report in words: for which time, and due when.
    example: String,
    former: Option<&'static filing::federal::Former>,
    row: StateRow,
    /// Days of the log.
    form: Form,
    /// What its file of the year so far is asked with.
    background: String,
}

/// GET /filings/states/{code}
pub async fn state(actor: Actor, Path(code): Path<String>) -> Result<Response> {
    let of = filing::find(&code).ok_or(Error::NotFound)?;
    Ok(StatePage {
        page: Page::of(&actor, format!("{}: records and reports", of.name), AT),
        parts: of.record.elements.iter().map(part).collect(),
        by: by(of, actor.today),
        keep: keep(of, actor.today),
        nil: match of.filing.as_ref().map(|rule| rule.nil) {
            Some(Nil::Owed) => "yes",
            _ => "not found",
        },
        example: example(of, actor.today),
        former: (of.code == "US").then_some(&filing::federal::FORMER),
        row: StateRow::of(of, actor.today),
        background: format!("state={}", of.code),
        form: Form::filled([
            ("from", Period::of(filing::Every::Year, actor.today).first_day().to_string()),
            ("until", actor.today.to_string()),
        ]),
        of,
    }
    .into_response())
}

fn part(element: &filing::Element) -> Part {
    let kept = match element.kept {
        Kept::Record(fields) => {
            let names: Vec<&str> = fields.iter().map(|field| field.words()).collect();
            format!("the record: {}", names.join(", "))
        }
        Kept::Label => "the label entry that the record names".to_owned(),
        Kept::Company => "the company's and its people's pages".to_owned(),
        Kept::Outside(instead) => instead.to_owned(),
    };
    Part { words: element.words, kept, outside: matches!(element.kept, Kept::Outside(_)) }
}

fn by(of: &Jurisdiction, today: NaiveDate) -> String {
    match of.record.by {
        None => "not found; ours is the same day".to_owned(),
        Some((by, mark)) => {
            let last = words::day(by.last_day(today));
            format!("{} ({}): for today, by {last}", by.words(), mark.words())
        }
    }
}

fn keep(of: &Jurisdiction, today: NaiveDate) -> String {
    let ours = words::day(record::house_keep_until(today));
    match of.record.keep {
        None => format!("not found; we keep today's until {ours} at least, and delete none"),
        Some((years, mark)) => {
            format!(
                "{years} years ({}); we keep today's until {ours} at least, and delete none",
                mark.words()
            )
        }
    }
}

fn example(of: &Jurisdiction, today: NaiveDate) -> String {
    let Some(rule) = &of.filing else { return String::new() };
    let period = Period::of(rule.every, today);
    match rule.due_on(period) {
        None => "not found".to_owned(),
        Some(due) => format!("for {} by {}", period.words(), words::day(due)),
    }
}
