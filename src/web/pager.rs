//! What a list was asked for, and the way to its next page.
use super::form::Form;
use crate::db::seek::{Chunk, Seek};
use axum::{
    extract::{FromRequestParts, Query},
    http::request::Parts,
};
use std::convert::Infallible;
use uuid::Uuid;

/// The words searched for, whether the retired ones are wanted too, and the page.
#[derive(Debug, Default)]
pub struct Asked {
    /// As typed, for the list's own form.
    pub form: Form,
    pub words: String,
    pub retired: bool,
    pub seek: Seek,
}

impl Asked {
    /// What was asked for, without the place in the list.
    #[must_use]
    pub fn query(&self) -> String {
        let mut pairs = vec![];
        if !self.words.is_empty() {
            pairs.push(("q", self.words.as_str()));
        }
        if self.retired {
            pairs.push(("retired", "yes"));
        }
        serde_urlencoded::to_string(pairs).unwrap_or_default()
    }

    fn read(pairs: Vec<(String, String)>) -> Self {
        let form = Form::filled(pairs);
        let words: String = form.value("q").chars().filter(|c| !c.is_control()).take(200).collect();
        let id = |name: &str| form.value(name).parse::<Uuid>().ok();
        let seek = match (id("after"), id("before")) {
            (Some(id), _) => Seek::After(id),
            (_, Some(id)) => Seek::Before(id),
            _ => Seek::First,
        };
        Self { words, retired: form.is("retired", "yes"), seek, form }
    }

    /// Whether the list was narrowed: then an empty one does not mean that nothing was entered yet.
    #[must_use]
    pub fn is_narrowed(&self) -> bool {
        !self.words.is_empty() || self.seek != Seek::First
    }

    fn address(&self, path: &str, side: &str, id: Uuid) -> String {
        let id = id.to_string();
        let mut pairs = vec![];
        if !self.words.is_empty() {
            pairs.push(("q", self.words.as_str()));
        }
        if self.retired {
            pairs.push(("retired", "yes"));
        }
        pairs.push((side, &id));
        format!("{path}?{}", serde_urlencoded::to_string(pairs).unwrap_or_default())
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Asked {
    type Rejection = Infallible;
    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Infallible> {
        let pairs = Query::from_request_parts(parts, state).await.map(|Query(pairs)| pairs);
        Ok(Self::read(pairs.unwrap_or_default()))
    }
}

/// The foot of a list: its first and last line, and the neighbouring pages.
#[derive(Debug, Default)]
pub struct Pager {
    pub from: String,
    pub to: String,
    pub prev: Option<String>,
    pub next: Option<String>,
}

impl Pager {
    /// The pager of a chunk of the list at `path`; `key` gives a line's name and id.
    pub fn of<T>(chunk: &Chunk<T>, path: &str, asked: &Asked, key: impl Fn(&T) -> (&str, Uuid)) -> Self {
        let (Some(first), Some(last)) = (chunk.rows.first(), chunk.rows.last()) else {
            return Self::default();
        };
        Self {
            from: key(first).0.to_owned(),
            to: key(last).0.to_owned(),
            prev: chunk.earlier.then(|| asked.address(path, "before", key(first).1)),
            next: chunk.later.then(|| asked.address(path, "after", key(last).1)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(pairs: &[(&str, &str)]) -> Asked {
        Asked::read(pairs.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect())
    }

    #[test]
    fn an_address_that_makes_no_sense_is_the_first_page() {
        assert_eq!(asked(&[("after", "x"), ("before", "' or 1=1")]).seek, Seek::First);
        assert_eq!(asked(&[("q", "a\0b\n")]).words, "ab", "a character that the database would refuse");
    }

    #[test]
    fn the_next_page_keeps_what_was_asked() {
        let asked = asked(&[("q", "oak & ash"), ("retired", "yes")]);
        let chunk = Chunk { rows: vec![("Aldous", Uuid::nil())], earlier: false, later: true };
        let pager = Pager::of(&chunk, "/customers", &asked, |r| (r.0, r.1));
        let next = "/customers?q=oak+%26+ash&retired=yes&after=00000000-0000-0000-0000-000000000000";
        assert_eq!((pager.next.as_deref(), pager.prev), (Some(next), None));
    }
}
