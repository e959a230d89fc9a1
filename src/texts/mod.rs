//! What people read, in the language that each of them chose. The texts stand in
//! `templates/texts/<language>/*.ftl` (Project Fluent) and are part of the program.
//!
//! Label texts are not among them: they are shown as the signed label gives them.
mod phrase;

use chrono::{Datelike, NaiveDate};
use fluent_bundle::{FluentArgs, FluentResource, FluentValue, concurrent::FluentBundle};
use fluent_syntax::{ast, parser};
use serde_json::{Map, Value};
use std::sync::LazyLock;
use unic_langid::LanguageIdentifier;

/// The files of a language. A phone carries the first [`ON_PHONES`] of them: what only pages and mails say is left out.
macro_rules! sources {
    ($language:literal) => {
        [
            ("field.ftl", include_str!(concat!("../../templates/texts/", $language, "/field.ftl"))),
            ("phone.ftl", include_str!(concat!("../../templates/texts/", $language, "/phone.ftl"))),
            ("customer.ftl", include_str!(concat!("../../templates/texts/", $language, "/customer.ftl"))),
            ("land.ftl", include_str!(concat!("../../templates/texts/", $language, "/land.ftl"))),
            ("books.ftl", include_str!(concat!("../../templates/texts/", $language, "/books.ftl"))),
            ("sentences.ftl", include_str!(concat!("../../templates/texts/", $language, "/sentences.ftl"))),
            (
                "sentences-land.ftl",
                include_str!(concat!("../../templates/texts/", $language, "/sentences-land.ftl")),
            ),
            (
                "sentences-books.ftl",
                include_str!(concat!("../../templates/texts/", $language, "/sentences-books.ftl")),
            ),
        ]
    };
}

/// How many files of a language a phone carries.
const ON_PHONES: usize = 2;

/// A language that the texts are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English, as in the United States.
    #[default]
    English,
    /// Spanish, as in the United States.
    Spanish,
}

impl Language {
    /// Every language.
    pub const ALL: [Self; 2] = [Self::English, Self::Spanish];

    /// The tag in documents and the database: `en`, `es`.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::Spanish => "es",
        }
    }

    /// The language of that tag.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.code() == code)
    }

    /// Its own name for itself.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::Spanish => "Español",
        }
    }

    fn sources(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::English => &sources!("en"),
            Self::Spanish => &sources!("es"),
        }
    }

    fn bundle(self) -> &'static FluentBundle<FluentResource> {
        static ENGLISH: LazyLock<FluentBundle<FluentResource>> = LazyLock::new(|| read(Language::English));
        static SPANISH: LazyLock<FluentBundle<FluentResource>> = LazyLock::new(|| read(Language::Spanish));
        match self {
            Self::English => &ENGLISH,
            Self::Spanish => &SPANISH,
        }
    }

    /// The text of that name.
    #[must_use]
    pub fn say(self, name: &str) -> String {
        self.fill(name, &FluentArgs::new())
    }

    /// The text of that name with one value filled in.
    #[must_use]
    pub fn say_of<'a>(self, name: &str, key: &str, value: impl Into<FluentValue<'a>>) -> String {
        let mut args = FluentArgs::new();
        args.set(key.to_owned(), value);
        self.fill(name, &args)
    }

    /// The text of that name with all its values.
    #[must_use]
    pub fn fill(self, name: &str, args: &FluentArgs<'_>) -> String {
        let pattern = self.bundle().get_message(name).and_then(|message| message.value());
        let Some(pattern) = pattern else {
            tracing::error!(name, language = self.code(), "a text is missing");
            return if self == Self::English { name.to_owned() } else { Self::English.fill(name, args) };
        };
        self.bundle().format_pattern(pattern, Some(args), &mut vec![]).into_owned()
    }

    /// The text of that name with these values.
    #[must_use]
    pub fn filled(self, name: &str, values: &[(&str, &str)]) -> String {
        let mut args = FluentArgs::new();
        for (key, value) in values {
            args.set((*key).to_owned(), *value);
        }
        self.fill(name, &args)
    }

    /// A day as people write it: `Nov 25, 2026`, `25 nov 2026`.
    #[must_use]
    pub fn day(self, day: &NaiveDate) -> String {
        let mut args = FluentArgs::new();
        args.set("month", self.say(&format!("month-{}", day.month())));
        args.set("day", day.day().to_string());
        args.set("year", day.year().to_string());
        self.fill("date", &args)
    }

    /// Which label entry it is, in a line.
    #[must_use]
    pub fn label_line(self, registration: &str, version: &i32) -> String {
        let mut args = FluentArgs::new();
        args.set("number", registration.to_owned());
        args.set("version", *version);
        self.fill("label-line", &args)
    }

    /// `of Rootward 2F, basal drench`
    #[must_use]
    pub fn of_product(self, product: &str, method: &str) -> String {
        let mut args = FluentArgs::new();
        args.set("product", product);
        args.set("method", method);
        self.fill("of-product-line", &args)
    }

    /// Every text of the field as JSON, for pages that fill in values themselves: `{name}` stands for a value, and a text
    /// with forms names the value that chooses among them.
    #[must_use]
    pub fn sheet(self) -> Value {
        let mut all = Map::new();
        for (file, text) in self.sources().iter().take(ON_PHONES) {
            let tree = parser::parse(*text).unwrap_or_else(|(tree, errors)| {
                tracing::error!(file, ?errors, "a text cannot be read");
                tree
            });
            for entry in tree.body {
                if let ast::Entry::Message(message) = entry
                    && let Some(pattern) = &message.value
                {
                    all.insert(message.id.name.to_owned(), form(pattern));
                }
            }
        }
        Value::Object(all)
    }
}

/// A text, or its forms by what chooses among them.
fn form(pattern: &ast::Pattern<&str>) -> Value {
    if let [ast::PatternElement::Placeable { expression: ast::Expression::Select { selector, variants } }] =
        pattern.elements.as_slice()
    {
        let mut forms = Map::from_iter([("by".to_owned(), inline(selector).trim_matches(['{', '}']).into())]);
        for variant in variants {
            let (ast::VariantKey::Identifier { name: key } | ast::VariantKey::NumberLiteral { value: key }) =
                &variant.key;
            forms.insert((*key).to_owned(), form(&variant.value));
        }
        return Value::Object(forms);
    }
    let part = |element: &ast::PatternElement<&str>| match element {
        ast::PatternElement::TextElement { value } => (*value).to_owned(),
        ast::PatternElement::Placeable { expression: ast::Expression::Inline(one) } => inline(one),
        ast::PatternElement::Placeable { .. } => String::new(),
    };
    Value::String(pattern.elements.iter().map(part).collect())
}

fn inline(one: &ast::InlineExpression<&str>) -> String {
    match one {
        ast::InlineExpression::VariableReference { id } => format!("{{{}}}", id.name),
        ast::InlineExpression::StringLiteral { value } | ast::InlineExpression::NumberLiteral { value } => {
            (*value).to_owned()
        }
        _ => String::new(),
    }
}

fn read(language: Language) -> FluentBundle<FluentResource> {
    let tag: LanguageIdentifier = language.code().parse().unwrap_or_default();
    let mut bundle = FluentBundle::new_concurrent(vec![tag]);
    // The marks that keep right-to-left values apart would only be seen as rubbish here.
    bundle.set_use_isolating(false);
    for (file, text) in language.sources() {
        let resource = FluentResource::try_new((*text).to_owned()).unwrap_or_else(|(resource, errors)| {
            tracing::error!(file, ?errors, "a text cannot be read");
            resource
        });
        bundle.add_resource_overriding(resource);
    }
    bundle
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_comes_in_the_persons_language_with_its_number() {
        assert_eq!(Language::English.say_of("plants", "count", 1), "1 plant");
        assert_eq!(Language::English.say_of("plants", "count", 3), "3 plants");
        assert_eq!(Language::Spanish.say_of("plants", "count", 3), "3 plantas");
        assert_eq!(Language::Spanish.say("today"), "Hoy");
    }

    #[test]
    fn days_are_written_as_people_write_them() {
        let day: NaiveDate = "2026-11-25".parse().unwrap();
        assert_eq!(Language::English.day(&day), "Nov 25, 2026");
        assert_eq!(Language::Spanish.day(&day), "25 nov 2026");
    }

    #[test]
    fn pages_are_given_texts_with_their_forms() {
        let sheet = Language::Spanish.sheet();
        assert_eq!(sheet["today"], "Hoy");
        assert_eq!(sheet["date"], "{day} {month} {year}");
        assert_eq!(sheet["plants"]["by"], "count");
        assert_eq!(sheet["plants"]["other"], "{count} plantas");
    }

    #[test]
    fn a_text_that_is_missing_shows_its_name_and_breaks_nothing() {
        assert_eq!(Language::Spanish.say("no-such-text"), "no-such-text");
    }
}
