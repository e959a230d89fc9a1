//! Forms: kept as typed, read field by field, and shown again with what is wrong.
use super::{AppState, Error, session::Actor};
use crate::{domain::us, texts::Language};
use axum::{
    body::Bytes,
    extract::{FromRequest, Request},
    http::header,
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::str::FromStr;
use subtle::ConstantTimeEq;
use uuid::Uuid;

/// What is wrong with a field, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldError {
    pub name: String,
    pub message: String,
    /// Where to go instead of the field.
    pub link: Option<String>,
}

/// A form as typed, with the mistakes found so far. A mistake is a state of the form, not a failure.
#[derive(Debug, Clone, Default)]
pub struct Form {
    pub values: Vec<(String, String)>,
    pub errors: Vec<FieldError>,
    /// What it says about itself is said in this language.
    pub language: Language,
}

/// So much text fits one field.
const LONGEST: usize = 4000;
/// So much fits a name or a street.
const LONGEST_LINE: usize = 200;

/// Characters that nobody sees and that can make a text read as another one: controls, those without width,
/// and those that turn the direction of writing.
fn is_unseen(c: char) -> bool {
    let hidden =
        matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}');
    hidden || (c.is_control() && !matches!(c, '\n' | '\r' | '\t'))
}

impl Form {
    /// A form as it is first shown.
    pub fn filled<N: Into<String>, V: Into<String>>(values: impl IntoIterator<Item = (N, V)>) -> Self {
        Self { values: values.into_iter().map(|(n, v)| (n.into(), v.into())).collect(), ..Self::default() }
    }

    /// A fresh form for a new record, which it names before it is sent: sent twice, it makes one.
    #[must_use]
    pub fn for_new() -> Self {
        Self::filled([("id", Uuid::now_v7().to_string())])
    }

    /// The same form for somebody who reads this language.
    #[must_use]
    pub fn speaking(mut self, language: Language) -> Self {
        self.language = language;
        self
    }

    /// A text of the form's frame.
    #[must_use]
    pub fn say(&self, name: &str) -> String {
        self.language.say(name)
    }

    /// Notes a mistake that every form may have, by the name of its text.
    fn wrong(&mut self, field: &str, text: &str) {
        let words = self.say(text);
        self.fail(field, words);
    }

    /// What stands in the field, trimmed; nothing is the empty text.
    #[must_use]
    pub fn value(&self, name: &str) -> &str {
        self.values.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v.trim())
    }

    /// Everything sent under the name.
    #[must_use]
    pub fn values(&self, name: &str) -> Vec<&str> {
        self.values.iter().filter(|(n, _)| n == name).map(|(_, v)| v.trim()).collect()
    }

    /// Whether this choice is the one made.
    #[must_use]
    pub fn is(&self, name: &str, value: &str) -> bool {
        self.values.iter().any(|(n, v)| n == name && v.trim() == value)
    }

    /// What is wrong with the field.
    #[must_use]
    pub fn error(&self, name: &str) -> Option<&str> {
        self.errors.iter().find(|e| e.name == name).map(|e| e.message.as_str())
    }

    /// Notes a mistake, in the language of whoever typed.
    pub fn fail(&mut self, name: &str, message: impl Into<String>) {
        let message = self.language.said(&message.into());
        self.errors.push(FieldError { name: name.to_owned(), message, link: None });
    }

    /// Puts a value into the form, replacing what was there.
    pub fn set(&mut self, name: &str, value: impl Into<String>) {
        self.values.retain(|(n, _)| n != name);
        self.values.push((name.to_owned(), value.into()));
    }

    /// Whether nothing is wrong so far.
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.errors.is_empty()
    }

    /// The text of a field that may be empty.
    pub fn text(&mut self, name: &str) -> String {
        let value = self.value(name).to_owned();
        if value.chars().count() > LONGEST {
            self.fail(name, format!("Use at most {LONGEST} characters."));
        } else if value.chars().any(is_unseen) {
            self.wrong(name, "form-unseen");
        }
        value
    }

    /// The text of a field that must be filled.
    pub fn required(&mut self, name: &str) -> String {
        let value = self.text(name);
        if value.is_empty() {
            self.wrong(name, "form-fill-in");
        }
        value
    }

    /// A field of one line that may be empty: what lists are sorted and searched by stays short.
    pub fn line(&mut self, name: &str) -> String {
        let value = self.text(name);
        if value.chars().count() > LONGEST_LINE && self.error(name).is_none() {
            self.fail(name, format!("Use at most {LONGEST_LINE} characters."));
        }
        value
    }

    /// A field of one line that must be filled.
    pub fn required_line(&mut self, name: &str) -> String {
        let value = self.line(name);
        if value.is_empty() {
            self.wrong(name, "form-fill-in");
        }
        value
    }

    /// A field with a type of its own; empty is nothing.
    pub fn optional<T: FromStr>(&mut self, name: &str, expected: &str) -> Option<T> {
        let value = self.value(name).to_owned();
        if value.is_empty() {
            return None;
        }
        let read = value.parse().ok();
        if read.is_none() {
            self.fail(name, expected);
        }
        read
    }

    /// A number above zero; empty is nothing.
    pub fn positive(&mut self, name: &str) -> Option<Decimal> {
        self.number(name, |n| n > Decimal::ZERO, "form-above-zero")
    }

    fn number(&mut self, name: &str, holds: fn(Decimal) -> bool, otherwise: &str) -> Option<Decimal> {
        let expected = self.say("form-number");
        let number = self.optional::<Decimal>(name, &expected)?;
        if !holds(number) {
            self.wrong(name, otherwise);
            return None;
        }
        if number.scale() > 9 || number > Decimal::from(1_000_000_000) {
            self.wrong(name, "form-range");
            return None;
        }
        Some(number)
    }

    /// A number of zero or more; empty is nothing.
    pub fn not_negative(&mut self, name: &str) -> Option<Decimal> {
        let number = self.number(name, |n| n >= Decimal::ZERO, "form-zero-or-more")?;
        Some(if number.is_zero() { Decimal::ZERO } else { number })
    }

    /// A whole number within these bounds; empty is nothing.
    pub fn whole(&mut self, name: &str, within: std::ops::RangeInclusive<i32>) -> Option<i32> {
        let words = format!("Write a whole number from {} to {}.", within.start(), within.end());
        let read = self.optional::<i32>(name, &words)?;
        if !within.contains(&read) {
            self.fail(name, words);
            return None;
        }
        Some(read)
    }

    /// A date; empty is nothing.
    pub fn date(&mut self, name: &str) -> Option<NaiveDate> {
        let expected = self.say("form-date");
        let date = self.optional::<NaiveDate>(name, &expected)?;
        let sensible = NaiveDate::from_ymd_opt(1990, 1, 1)..=NaiveDate::from_ymd_opt(2199, 12, 31);
        if !sensible.contains(&Some(date)) {
            self.wrong(name, "form-date-range");
            return None;
        }
        Some(date)
    }

    /// A date that must be there.
    pub fn required_date(&mut self, name: &str) -> Option<NaiveDate> {
        if self.value(name).is_empty() {
            self.wrong(name, "form-fill-in");
        }
        self.date(name)
    }

    /// One of the choices offered.
    pub fn choice<T>(&mut self, name: &str, read: impl FnOnce(&str) -> Option<T>) -> Option<T> {
        let made = read(self.value(name));
        if made.is_none() {
            self.wrong(name, "form-choose");
        }
        made
    }

    /// The two letters of a state or territory, as the post writes them.
    pub fn state(&mut self, name: &str) -> String {
        let value = self.value(name).to_uppercase();
        if us::state_name(&value).is_none() {
            self.fail(name, "Write the two letters of a state or territory, for example CA.");
        }
        value
    }

    /// A ZIP code that may be left empty.
    pub fn zip(&mut self, name: &str) -> String {
        let value = self.line(name);
        if !value.is_empty() && !us::is_zip(&value) && self.error(name).is_none() {
            self.fail(name, "A ZIP code has five digits, or nine as in 93499-1234.");
        }
        value
    }

    /// A ZIP code that must be there.
    pub fn required_zip(&mut self, name: &str) -> String {
        let value = self.zip(name);
        if value.is_empty() {
            self.wrong(name, "form-fill-in");
        }
        value
    }

    /// The last day of a registration, which nobody enters for the last century.
    pub fn last_day(&mut self, name: &str) -> Option<NaiveDate> {
        let day = self.required_date(name)?;
        if day < NaiveDate::from_ymd_opt(2000, 1, 1)? {
            self.fail(name, "This day lies before the year 2000.");
        }
        Some(day)
    }

    /// The id that the form gave the new record.
    ///
    /// # Errors
    /// When the form carries none: it is not one of ours.
    pub fn id(&self) -> Result<Uuid, Error> {
        self.value("id").parse().map_err(|_| Error::Unreadable("The form names no record."))
    }

    /// Takes a refusal of an action back into the form; anything else stays a failure.
    ///
    /// # Errors
    /// When the action failed for another reason than a refusal.
    pub fn absorb(&mut self, error: crate::actions::Error) -> Result<(), Error> {
        match error {
            crate::actions::Error::Refused { field, words } => {
                self.fail(field.unwrap_or("form"), words);
                Ok(())
            }
            other => Err(other.into()),
        }
    }

    /// Takes a refusal of an action that enters something new: where the name of the new record is taken
    /// already, the mistake leads to the record that has it.
    ///
    /// # Errors
    /// As [`Self::absorb`].
    pub fn absorb_new(&mut self, error: crate::actions::Error, at: &str) -> Result<(), Error> {
        self.absorb(error)?;
        for one in self.errors.iter_mut().filter(|one| one.name == crate::actions::error::ENTERED) {
            one.link = Some(at.to_owned());
        }
        Ok(())
    }

    fn parse(body: &[u8]) -> Result<Self, Error> {
        let values =
            serde_urlencoded::from_bytes(body).map_err(|_| Error::Unreadable("It is not a form."))?;
        Ok(Self { values, ..Self::default() })
    }
}

/// A form from somebody who is signed in, with the token of their session checked.
#[derive(Debug)]
pub struct Posted(pub Form);

impl FromRequest<AppState> for Posted {
    type Rejection = Error;
    async fn from_request(request: Request, state: &AppState) -> Result<Self, Error> {
        let actor = request.extensions().get::<Actor>().ok_or(Error::SignedOut)?;
        let (expected, language) = (actor.csrf.clone(), actor.reads());
        let form = read(request, state).await?.speaking(language);
        let given = form.value("csrf").as_bytes();
        if !bool::from(given.ct_eq(expected.as_bytes())) {
            return Err(Error::Forbidden);
        }
        Ok(Self(form))
    }
}

/// A form from a visitor without a session (sign-in, a link): its origin was checked before.
#[derive(Debug)]
pub struct OpenForm(pub Form);

impl FromRequest<AppState> for OpenForm {
    type Rejection = Error;
    async fn from_request(request: Request, state: &AppState) -> Result<Self, Error> {
        Ok(Self(read(request, state).await?))
    }
}

async fn read(request: Request, state: &AppState) -> Result<Form, Error> {
    let kind = request.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or_default();
    if !kind.starts_with("application/x-www-form-urlencoded") {
        return Err(Error::Unreadable("It is not a form."));
    }
    let body =
        Bytes::from_request(request, state).await.map_err(|_| Error::Unreadable("It is too large."))?;
    Form::parse(&body)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_keeps_what_was_typed_beside_what_is_wrong() {
        let mut form = Form::parse(b"name=+Ana+&height=tall&count=0&water=0&on=2026-02-30&state=ca").unwrap();
        assert_eq!(form.required("name"), "Ana");
        assert_eq!(form.positive("height"), None);
        assert_eq!(form.positive("count"), None);
        assert_eq!(form.not_negative("water"), Some(Decimal::ZERO));
        assert_eq!(form.date("on"), None);
        assert_eq!(form.state("state"), "CA");
        assert_eq!(form.required("street"), "");
        let wrong: Vec<&str> = form.errors.iter().map(|e| e.name.as_str()).collect();
        assert_eq!(wrong, ["height", "count", "on", "street"]);
        assert_eq!(form.value("height"), "tall", "nothing typed is lost");
    }

    #[test]
    fn what_nobody_sees_is_refused() {
        for hidden in ["a\u{202E}b", "a\u{2066}b", "zero\u{200B}width", "\u{FEFF}x", "a\u{2069}b", "a\u{7}b"]
        {
            let mut form = Form::filled([("n", hidden)]);
            form.text("n");
            assert_eq!(
                form.error("n"),
                Some("There is a character in here that cannot be shown."),
                "{hidden:?}"
            );
        }
        let mut form = Form::filled([("n", "Zoë Muñoz, 3½ ft\nשלום")]);
        form.text("n");
        assert!(form.is_good(), "every script is welcome");
    }

    #[test]
    fn zero_is_named_where_zero_will_do() {
        let mut form = Form::filled([("a", "-1"), ("b", "-0"), ("c", "0"), ("d", "-1")]);
        assert_eq!((form.not_negative("a"), form.error("a")), (None, Some("This must be zero or more.")));
        assert_eq!(
            (form.not_negative("b"), form.not_negative("c")),
            (Some(Decimal::ZERO), Some(Decimal::ZERO))
        );
        form.positive("d");
        assert_eq!(form.error("d"), Some("This must be more than zero."));
    }

    #[test]
    fn states_and_zips_are_those_of_the_post() {
        let mut form =
            Form::filled([("s", "zz"), ("t", "pr"), ("z", "9349"), ("n", "93499-0001"), ("e", "")]);
        assert_eq!((form.state("s"), form.error("s").is_some()), ("ZZ".into(), true));
        assert_eq!((form.state("t"), form.error("t")), ("PR".into(), None));
        for (name, good) in [("z", false), ("n", true), ("e", true)] {
            form.zip(name);
            assert_eq!(form.error(name).is_none(), good, "{name}");
        }
        form.required_zip("e");
        assert_eq!(form.error("e"), Some("Please fill this in."));
    }

    #[test]
    fn numbers_that_no_plant_has_are_refused() {
        for bad in ["NaN", "-1", "1e400", "1/2", "0.0", "99999999999999"] {
            let mut form = Form::filled([("n", bad)]);
            assert_eq!(form.positive("n"), None, "{bad}");
            assert!(!form.is_good(), "{bad}");
        }
    }
}
