//! Walking a scenario: every value is read with its pointer, every mistake is
//! noted and reading goes on, so that one answer lists them all.

use super::json::Json;
use crate::domain::calendar::{MonthDay, YearlySpan};
use crate::domain::quantity::{Exact, parse};
use chrono::{Datelike, NaiveDate};
use num_traits::Signed;
use serde::Serialize;
use std::cell::RefCell;

/// One mistake in a scenario.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// RFC 6901 pointer to the member.
    pub pointer: String,
    /// What is wrong with it.
    pub error: String,
}

/// Where mistakes are noted.
pub type Problems = RefCell<Vec<Problem>>;

/// A value and where it stands.
#[derive(Clone)]
pub struct Node<'a> {
    /// RFC 6901 pointer.
    pub pointer: String,
    value: &'a Json,
    problems: &'a Problems,
}

/// An object whose members have been checked against the known ones.
pub struct Object<'a> {
    /// RFC 6901 pointer.
    pub pointer: String,
    members: &'a [(String, Json)],
    problems: &'a Problems,
}

fn escape(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

fn note(problems: &Problems, pointer: String, error: impl Into<String>) {
    problems.borrow_mut().push(Problem { pointer, error: error.into() });
}

impl<'a> Node<'a> {
    /// The whole scenario.
    pub fn root(value: &'a Json, problems: &'a Problems) -> Self {
        Self { pointer: String::new(), value, problems }
    }

    /// Notes a mistake here; gives back nothing, for `?`-like use.
    pub fn wrong<T>(&self, error: impl Into<String>) -> Option<T> {
        note(self.problems, self.pointer.clone(), error);
        None
    }

    /// Notes a mistake at a member below, such as `rate/unit`.
    pub fn wrong_below(&self, path: &str, error: impl Into<String>) {
        note(self.problems, format!("{}/{path}", self.pointer), error);
    }

    fn expected<T>(&self, what: &str) -> Option<T> {
        self.wrong(format!("{} is expected, not {}", what, self.value.kind()))
    }

    /// Is it a string?
    pub fn is_text(&self) -> bool {
        matches!(self.value, Json::Text(_))
    }

    /// Is it a list?
    pub fn is_list(&self) -> bool {
        matches!(self.value, Json::List(_))
    }

    /// The id of an object, whatever else is wrong with it; notes nothing.
    pub fn id(&self) -> Option<String> {
        let Json::Object(members) = self.value else { return None };
        members.iter().find_map(|(key, value)| match value {
            Json::Text(text) if key == "id" => Some(text.clone()),
            _ => None,
        })
    }

    /// An object with no members but these, none of them twice.
    pub fn object(&self, known: &[&str]) -> Option<Object<'a>> {
        let Json::Object(members) = self.value else { return self.expected("an object") };
        for (position, (key, _)) in members.iter().enumerate() {
            let pointer = format!("{}/{}", self.pointer, escape(key));
            if !known.contains(&key.as_str()) {
                note(self.problems, pointer, format!("unknown key; known are {}", known.join(", ")));
            } else if members[..position].iter().any(|(earlier, _)| earlier == key) {
                note(self.problems, pointer, "the key is given twice");
            }
        }
        Some(Object { pointer: self.pointer.clone(), members, problems: self.problems })
    }

    /// A member of an object, whatever else is wrong with it; notes nothing.
    pub fn member(&self, key: &str) -> Option<Node<'a>> {
        let Json::Object(members) = self.value else { return None };
        let (_, value) = members.iter().find(|(name, _)| name == key)?;
        (*value != Json::Null).then(|| Node {
            pointer: format!("{}/{}", self.pointer, escape(key)),
            value,
            problems: self.problems,
        })
    }

    /// The items of a list.
    pub fn list(&self) -> Option<Vec<Node<'a>>> {
        let Json::List(items) = self.value else { return self.expected("a list") };
        let node = |(position, value)| Node {
            pointer: format!("{}/{position}", self.pointer),
            value,
            problems: self.problems,
        };
        Some(items.iter().enumerate().map(node).collect())
    }

    /// A string that is not blank.
    pub fn text(&self) -> Option<String> {
        let Json::Text(text) = self.value else { return self.expected("a string") };
        if text.trim().is_empty() { self.wrong("must not be empty") } else { Some(text.clone()) }
    }

    /// A string of a fixed set.
    pub fn choice<T>(&self, what: &str, read: impl Fn(&str) -> Option<T>) -> Option<T> {
        let Json::Text(text) = self.value else { return self.expected("a string") };
        read(text).or_else(|| self.wrong(format!("\"{text}\" is no known {what}")))
    }

    /// A decimal string of any sign.
    fn decimal(&self) -> Option<Exact> {
        let Json::Text(text) = self.value else { return self.expected("a decimal as a string") };
        parse(text).map_err(|error| self.wrong::<()>(format!("\"{text}\" {error}"))).ok()
    }

    /// A decimal string above zero.
    pub fn positive(&self) -> Option<Exact> {
        let value = self.decimal()?;
        if value.is_positive() { Some(value) } else { self.wrong("must be above zero") }
    }

    /// A decimal string above zero, whatever is wrong with it; notes nothing.
    pub fn quietly_positive(&self) -> Option<Exact> {
        let Json::Text(text) = self.value else { return None };
        parse(text).ok().filter(Exact::is_positive)
    }

    /// A decimal string of at least zero.
    pub fn not_negative(&self) -> Option<Exact> {
        let value = self.decimal()?;
        if value.is_negative() { self.wrong("must not be below zero") } else { Some(value) }
    }

    /// A whole number of that range.
    pub fn integer(&self, least: u32, most: u32) -> Option<u32> {
        let Json::Integer(value) = *self.value else { return self.expected("a whole number") };
        match u32::try_from(value) {
            Ok(value) if (least..=most).contains(&value) => Some(value),
            _ => self.wrong(format!("must be a whole number from {least} to {most}")),
        }
    }

    /// A whole number of that range, of any sign.
    pub fn whole(&self, least: i64, most: i64) -> Option<i64> {
        let Json::Integer(value) = *self.value else { return self.expected("a whole number") };
        match i64::try_from(value) {
            Ok(value) if (least..=most).contains(&value) => Some(value),
            _ => self.wrong(format!("must be a whole number from {least} to {most}")),
        }
    }

    /// A list of whole numbers of that range; pointers are only made for what is wrong.
    pub fn wholes(&self, least: i64, most: i64) -> Option<Vec<i64>> {
        let Json::List(items) = self.value else { return self.expected("a list") };
        let whole = |item: &Json| match item {
            Json::Integer(value) => i64::try_from(*value).ok().filter(|value| (least..=most).contains(value)),
            _ => None,
        };
        let values: Option<Vec<i64>> = items.iter().map(whole).collect();
        if values.is_none() {
            for item in self.list()? {
                item.whole(least, most);
            }
        }
        values
    }

    /// A number of that range, with a fraction or without.
    pub fn number(&self, least: f64, most: f64) -> Option<f64> {
        let value = match *self.value {
            Json::Integer(value) => value as f64,
            Json::Fraction(value) => value,
            _ => return self.expected("a number"),
        };
        if (least..=most).contains(&value) {
            Some(value)
        } else {
            self.wrong(format!("must be a number from {least} to {most}"))
        }
    }

    /// `true` or `false`.
    pub fn bool(&self) -> Option<bool> {
        let Json::Bool(value) = *self.value else { return self.expected("true or false") };
        Some(value)
    }

    /// A day such as `2026-05-15`, from 1900 to 2199.
    pub fn date(&self) -> Option<NaiveDate> {
        let Json::Text(text) = self.value else { return self.expected("a date as a string") };
        let date: Option<NaiveDate> = if text.len() == 10 { text.parse().ok() } else { None };
        match date {
            Some(date) if (1900..2200).contains(&date.year()) => Some(date),
            _ => self.wrong(format!("\"{text}\" is no date from 1900 to 2199 in the form 2026-05-15")),
        }
    }

    /// A two-letter code of a state.
    pub fn state(&self) -> Option<String> {
        let text = self.text()?;
        let two = text.len() == 2 && text.bytes().all(|byte| byte.is_ascii_uppercase());
        if two { Some(text) } else { self.wrong("must be the two capital letters of a state") }
    }

    /// `{from, to}` in month-days, or a list of such.
    pub fn yearly_spans(&self) -> Option<Vec<YearlySpan>> {
        let items = if self.is_list() { self.list()? } else { vec![self.clone()] };
        let spans: Vec<Option<YearlySpan>> = items
            .iter()
            .map(|item| {
                let object = item.object(&["from", "to"])?;
                let day = |node: Node<'a>| node.choice("month-day such as 04-01", MonthDay::parse);
                let from = object.required("from").and_then(day);
                let to = object.required("to").and_then(day);
                Some(YearlySpan { from: from?, to: to? })
            })
            .collect();
        spans.into_iter().collect()
    }
}

impl<'a> Object<'a> {
    /// A member that may be absent or null.
    pub fn optional(&self, key: &str) -> Option<Node<'a>> {
        let (_, value) = self.members.iter().find(|(name, _)| name == key)?;
        (*value != Json::Null).then(|| Node {
            pointer: format!("{}/{}", self.pointer, escape(key)),
            value,
            problems: self.problems,
        })
    }

    /// A member that must be there.
    pub fn required(&self, key: &str) -> Option<Node<'a>> {
        let found = self.optional(key);
        if found.is_none() {
            self.wrong_at::<()>(key, "is missing");
        }
        found
    }

    /// Notes a mistake at a member.
    pub fn wrong_at<T>(&self, key: &str, error: impl Into<String>) -> Option<T> {
        note(self.problems, format!("{}/{}", self.pointer, escape(key)), error);
        None
    }

    /// The items of a list that may be absent.
    pub fn items(&self, key: &str) -> Vec<Node<'a>> {
        self.optional(key).and_then(|node| node.list()).unwrap_or_default()
    }
}
