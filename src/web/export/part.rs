//! Paper takes so many rows. A longer list is offered in parts, each of which says which rows it holds.
use super::Source;
use crate::{
    db::Conn,
    output::table::{About, Format, PAPER_ROWS},
    web::{Result, page::Page, session::Actor},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    http::StatusCode,
    response::{IntoResponse, Response},
};
use std::ops::Range;

/// Every row there is.
pub const WHOLE: Range<usize> = 0..usize::MAX;

/// Which part of a list is asked for, and under which address its parts stand.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// From 1.
    pub number: Option<usize>,
    /// The address of the file; `&part=2` may follow.
    pub address: String,
    /// Whether the same address takes a post, to make the file in the background.
    pub background: bool,
}

impl Asked {
    /// The file of a list with what it is narrowed to.
    #[must_use]
    pub fn of(name: &str, query: &str) -> Self {
        let pairs: Vec<(String, String)> = serde_urlencoded::from_str(query).unwrap_or_default();
        let number = pairs.iter().find(|(name, _)| name == "part").and_then(|(_, part)| part.parse().ok());
        let others: Vec<_> = pairs.iter().filter(|(name, _)| name != "part").collect();
        let query = serde_urlencoded::to_string(others).unwrap_or_default();
        Self { number, address: format!("/exports/{name}?{query}"), background: true }
    }
}

/// A part of a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    number: usize,
    parts: usize,
    all: usize,
}

impl Part {
    /// Its rows, from 0.
    #[must_use]
    pub fn rows(self) -> Range<usize> {
        (self.number - 1) * PAPER_ROWS..(self.number * PAPER_ROWS).min(self.all)
    }

    fn words(self) -> String {
        let rows = self.rows();
        format!(
            "part {} of {}, rows {} to {} of {}",
            self.number,
            self.parts,
            rows.start + 1,
            rows.end,
            self.all
        )
    }

    /// What a file of this part says of itself.
    #[must_use]
    pub fn told(self, about: About) -> About {
        About {
            title: format!("{}, {}", about.title, self.words()),
            stem: format!("{}_part-{}-of-{}", about.stem, self.number, self.parts),
            ..about
        }
    }
}

/// Whether a list is one file.
pub enum Fit {
    Whole,
    Part(Part),
    /// So many rows are too many, and no part of them is named.
    TooLong(usize),
}

/// Whether the list is one file of that kind, or which part of it is asked for.
///
/// # Errors
/// When the database does not answer.
pub async fn fit(conn: &mut Conn, source: &Source, format: Format, asked: &Asked) -> Result<Fit> {
    if format != Format::Pdf {
        return Ok(Fit::Whole);
    }
    let all = usize::try_from(source.count(conn).await?).unwrap_or(usize::MAX);
    let parts = all.div_ceil(PAPER_ROWS);
    if parts <= 1 {
        return Ok(Fit::Whole);
    }
    let named = asked.number.filter(|number| (1..=parts).contains(number));
    Ok(named.map_or(Fit::TooLong(all), |number| Fit::Part(Part { number, parts, all })))
}

struct Offer {
    words: String,
    href: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "export/parts.html")]
struct PartsPage {
    page: Page,
    title: String,
    period: String,
    all: usize,
    most: usize,
    offers: Vec<Offer>,
    background: bool,
    /// The same list as other files; empty: it has none here.
    others: Vec<(&'static str, String)>,
}

/// The page that offers a list in parts.
#[must_use]
pub fn offered(actor: &Actor, about: About, all: usize, asked: &Asked) -> Response {
    let parts = all.div_ceil(PAPER_ROWS);
    let offer = |number| {
        let words = Part { number, parts, all }.words();
        let mut letters = words.chars();
        let words =
            letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default();
        Offer { words, href: format!("{}&part={number}", asked.address) }
    };
    let other =
        |(name, kind): (&'static str, &str)| (name, asked.address.replacen(".pdf?", &format!(".{kind}?"), 1));
    let shown = PartsPage {
        page: Page::of(actor, "Too long for one file on paper", "/filings"),
        title: about.title,
        period: about.period,
        all,
        most: PAPER_ROWS,
        offers: (1..=parts).map(offer).collect(),
        background: asked.background,
        others: [("CSV", "csv"), ("Excel workbook", "xlsx")].map(other).to_vec(),
    };
    (StatusCode::UNPROCESSABLE_ENTITY, shown).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_hold_every_row_once() {
        for all in [PAPER_ROWS + 1, 2 * PAPER_ROWS, 2 * PAPER_ROWS + 1] {
            let parts = all.div_ceil(PAPER_ROWS);
            let rows: Vec<usize> =
                (1..=parts).flat_map(|number| Part { number, parts, all }.rows()).collect();
            assert_eq!(rows, (0..all).collect::<Vec<_>>());
        }
    }

    #[test]
    fn an_address_names_its_part_and_leads_to_the_others() {
        let asked = Asked::of("log.pdf", "from=2026-01-01&part=2&county=San+Luis+Obispo");
        assert_eq!(asked.number, Some(2));
        assert_eq!(asked.address, "/exports/log.pdf?from=2026-01-01&county=San+Luis+Obispo");
        assert_eq!(Asked::of("log.pdf", "part=x").number, None);
    }
}
