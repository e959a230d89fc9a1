//! Sentences that the program makes of its rules and keeps in English, as a reader of another language reads them.
//!
//! What is decided is kept in one language, word for word: it must read the same years later, in a file, on paper and
//! before an inspector. The files `sentences*.ftl` hold those sentences with their values left open, in English and in
//! the other languages under the same names. A sentence is found by its English form, its values are read out of it,
//! and it is filled in anew. What is not found stays as it is, so nothing is ever lost.
use super::Language;
use chrono::NaiveDate;
use fluent_bundle::{FluentArgs, FluentValue};
use fluent_syntax::{ast, parser};
use regex::{Regex, RegexSet};
use std::{cmp::Reverse, sync::LazyLock};

/// A value may itself be made of phrases, down to this depth.
const DEEPEST: u8 = 3;
/// A form with fewer letters of its own takes single words only: "a to b" is not the middle of any sentence.
const FEWEST: usize = 6;
/// The value of this name is a list of names: its "and" is the program's and no part of a name.
const NAMES: &str = "names";
/// So many sentences are at most said together.
const MOST_TOGETHER: usize = 6;

/// One English form of a sentence.
struct Phrase {
    name: String,
    form: Regex,
    /// Values in the order in which they stand in the form.
    values: Vec<String>,
    /// What the form says without showing it: `1` where the form for one is written without a number.
    implied: Option<(String, String)>,
    /// Letters that are the form's own: of several forms that fit, the one with most of them is meant.
    own: usize,
    /// Whether it ends with a full stop.
    sentence: bool,
    /// The value that chooses among forms; it is a number.
    chooses: Option<String>,
}

/// How the rest of a text is cut.
#[derive(Debug, Clone, Default)]
struct Way {
    /// So many parts of it nobody knows.
    unknown: usize,
    parts: usize,
    /// Where its first part ends, and how the language says that.
    next: usize,
    told: Option<String>,
}

struct Book {
    any: RegexSet,
    phrases: Vec<Phrase>,
}

static BOOK: LazyLock<Book> = LazyLock::new(|| {
    let files = Language::English.sources().iter().filter(|(file, _)| file.starts_with("sentences"));
    Book::read(files.map(|(_, text)| *text))
});

impl Language {
    /// A sentence of the program as readers of this language read it; several after each other too. What is no
    /// sentence of the program stays as it is.
    #[must_use]
    pub fn said(self, english: &str) -> String {
        if self == Self::English || english.is_empty() {
            return english.to_owned();
        }
        let told = BOOK.told(self, english);
        told.into_iter()
            .map(|(part, told)| told.unwrap_or_else(|| part.to_owned()))
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Whether every sentence of it is one of the program's.
    #[must_use]
    pub fn knows(english: &str) -> bool {
        BOOK.told(Self::Spanish, english).iter().all(|(_, told)| told.is_some())
    }
}

/// Where sentences of a text may end: at each full stop that something follows, and at its end.
fn ends(text: &str) -> Vec<usize> {
    let begins = |at: usize| text[at..].chars().next().is_some_and(char::is_alphanumeric);
    let stops = text.match_indices(". ").map(|(at, _)| at).filter(|at| begins(at + 2));
    stops.map(|at| at + 1).chain([text.len()]).collect()
}

impl Book {
    fn read<'a>(sources: impl Iterator<Item = &'a str>) -> Self {
        let mut phrases = vec![];
        for entry in sources.flat_map(|source| parser::parse(source).unwrap_or_else(|(tree, _)| tree).body) {
            if let ast::Entry::Message(ast::Message { id, value: Some(pattern), .. }) = entry {
                phrases.extend(forms(id.name, &pattern));
            }
        }
        let any = RegexSet::new(phrases.iter().map(|phrase| phrase.form.as_str())).unwrap_or_else(|reason| {
            tracing::error!(%reason, "the sentences cannot be searched");
            RegexSet::empty()
        });
        Self { any, phrases }
    }

    /// The sentences of a text, each with how the language says it. What the program says may itself be several
    /// sentences, and a source of law has full stops of its own: the text is cut so that as little as possible is
    /// unknown, and then into as many parts as possible.
    fn told<'t>(&self, language: Language, text: &'t str) -> Vec<(&'t str, Option<String>)> {
        let ends = ends(text);
        let start = |at: usize| if at == 0 { 0 } else { ends[at - 1] + 1 };
        // From each place the best way to the end; the last place is the end itself.
        let mut ways = vec![Way::default(); ends.len() + 1];
        for at in (0..ends.len()).rev() {
            let part = |next: usize| self.find(language, &text[start(at)..ends[next - 1]], 0);
            let way = |next: usize, told: Option<String>| Way {
                unknown: ways[next].unknown + usize::from(told.is_none()),
                parts: ways[next].parts + 1,
                next,
                told,
            };
            let further = (at + 2..=ends.len().min(at + MOST_TOGETHER))
                .filter_map(|next| part(next).map(|told| way(next, Some(told))));
            let all = std::iter::once(way(at + 1, part(at + 1))).chain(further);
            ways[at] = all.min_by_key(|way| (way.unknown, Reverse(way.parts))).unwrap_or_default();
        }
        let (mut all, mut at) = (vec![], 0);
        while at < ends.len() {
            let Way { next, told, .. } = ways[at].clone();
            all.push((&text[start(at)..ends[next - 1]], told));
            at = next;
        }
        all
    }

    fn find(&self, language: Language, text: &str, depth: u8) -> Option<String> {
        let fitting = self.any.matches(text).into_iter().filter_map(|at| self.phrases.get(at));
        // What is no sentence fits into no sentence: a span of days is not the rest of one.
        let sentence = text.ends_with('.');
        let phrase = fitting.filter(|one| one.sentence == sentence).max_by_key(|one| one.own)?;
        let found = phrase.form.captures(text)?;
        let mut args = FluentArgs::new();
        if let Some((name, value)) = &phrase.implied {
            args.set(name.clone(), FluentValue::try_number(value.as_str()));
        }
        for (at, name) in phrase.values.iter().enumerate() {
            let value = found.get(at + 1).map_or("", |value| value.as_str());
            if phrase.chooses.as_ref() == Some(name) {
                args.set(name.clone(), FluentValue::try_number(value));
            } else {
                let mut told = self.value(language, value, depth + 1);
                if name == NAMES {
                    told = told.replace(" and ", &language.say("and-between"));
                }
                args.set(name.clone(), told);
            }
        }
        Some(language.fill(&phrase.name, &args))
    }

    /// A value: a day, several known ones joined, a phrase, or what it is.
    fn value(&self, language: Language, text: &str, depth: u8) -> String {
        self.known(language, text, depth).unwrap_or_else(|| text.to_owned())
    }

    fn known(&self, language: Language, text: &str, depth: u8) -> Option<String> {
        if let Some(told) = day(language, text) {
            return Some(told);
        }
        if depth >= DEEPEST {
            return None;
        }
        let and = language.say("and-between");
        for (between, joined) in [("; ", "; "), (" and ", and.as_str()), (", ", ", ")] {
            if text.contains(between) {
                let parts = text.split(between).map(|part| self.known(language, part, depth));
                if let Some(told) = parts.collect::<Option<Vec<_>>>() {
                    return Some(told.join(joined));
                }
            }
        }
        self.find(language, text, depth)
    }
}

/// A day as the program writes it, with or without an hour: `2026-11-25`, `Nov 25, 2026`, `Nov 25, 2026, 07:00`.
fn day(language: Language, text: &str) -> Option<String> {
    if text.len() == 10
        && let Ok(day) = text.parse::<NaiveDate>()
    {
        return Some(language.day(&day));
    }
    let (day, rest) = NaiveDate::parse_and_remainder(text, "%b %-d, %Y").ok()?;
    let plain = rest.is_empty() || rest.starts_with(", ") && rest.len() == 7 && rest.contains(':');
    plain.then(|| format!("{}{rest}", language.day(&day)))
}

/// Every English form of a message.
fn forms(name: &str, pattern: &ast::Pattern<&str>) -> Vec<Phrase> {
    if let [ast::PatternElement::Placeable { expression: ast::Expression::Select { selector, variants } }] =
        pattern.elements.as_slice()
        && let ast::InlineExpression::VariableReference { id } = selector
    {
        let form = |variant: &ast::Variant<&str>| {
            let (ast::VariantKey::Identifier { name: key } | ast::VariantKey::NumberLiteral { value: key }) =
                &variant.key;
            let mut one = phrase(name, &variant.value)?;
            one.chooses = Some(id.name.to_owned());
            if !one.values.iter().any(|value| value == id.name) {
                let value = if *key == "one" { "1" } else { key };
                one.implied = Some((id.name.to_owned(), value.to_owned()));
            }
            Some(one)
        };
        return variants.iter().filter_map(form).collect();
    }
    phrase(name, pattern).into_iter().collect()
}

fn phrase(name: &str, pattern: &ast::Pattern<&str>) -> Option<Phrase> {
    let (mut form, mut values, mut own) = ("(?s)^".to_owned(), vec![], 0);
    for element in &pattern.elements {
        match element {
            ast::PatternElement::TextElement { value } => {
                form.push_str(&regex::escape(value));
                own += value.len();
            }
            ast::PatternElement::Placeable { expression: ast::Expression::Inline(one) } => match one {
                ast::InlineExpression::VariableReference { id } => {
                    form.push_str("(.+?)");
                    values.push(id.name.to_owned());
                }
                ast::InlineExpression::StringLiteral { value } => {
                    form.push_str(&regex::escape(value));
                    own += value.len();
                }
                _ => return None,
            },
            ast::PatternElement::Placeable { .. } => return None,
        }
    }
    form.push('$');
    if own < FEWEST {
        form = form.replace("(.+?)", r"(\S+?)");
    }
    let form =
        Regex::new(&form).inspect_err(|reason| tracing::error!(name, %reason, "a sentence is no pattern"));
    let form = form.ok()?;
    let sentence = form.as_str().ends_with("\\.$");
    Some(Phrase { name: name.to_owned(), form, values, implied: None, own, sentence, chooses: None })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_no_phrase_fits_stays_as_it_is() {
        let es = Language::Spanish;
        assert_eq!(es.said("Along the walk"), "Along the walk");
        assert_eq!(Language::English.said("Nothing here"), "Nothing here");
        assert_eq!(es.said("Nothing here"), "Aquí no hay nada");
        assert!(Language::knows("Nothing here") && !Language::knows("Along the walk"));
    }

    #[test]
    fn sentences_are_cut_where_one_begins_and_not_within_numbers() {
        let text = "At 2.5 g it fits. The next is on 2026-11-25. 3 are left.";
        let (mut from, mut cut) = (0, vec![]);
        for end in ends(text) {
            cut.push(&text[from..end]);
            from = end + 1;
        }
        assert_eq!(cut, ["At 2.5 g it fits.", "The next is on 2026-11-25.", "3 are left."]);
    }

    #[test]
    fn of_several_forms_the_one_with_most_letters_of_its_own_is_meant() {
        let kept =
            "Kept for imidacloprid in VT: never on a plant in bloom. Source: 6 V.S.A. 1105c (checked).";
        let told = "Se cumple para imidacloprid en VT: nunca en una planta en flor. Fuente: 6 V.S.A. 1105c (leída en su fuente).";
        assert_eq!(Language::Spanish.said(kept), told);
    }

    #[test]
    fn a_form_with_numbers_is_read_and_chosen_by_number() {
        let book = Book::read(std::iter::once(
            "plants = { $count ->\n    [one] one plant of { $host }\n   *[other] { $count } plants of { $host }\n}",
        ));
        let fits = |text: &str| book.any.matches(text).into_iter().count();
        assert_eq!((fits("one plant of ash"), fits("7 plants of ash"), fits("plants of ash")), (1, 1, 0));
        assert_eq!(book.phrases[0].implied, Some(("count".to_owned(), "1".to_owned())));
        assert_eq!(book.phrases[1].values, ["count", "host"]);
    }
}
