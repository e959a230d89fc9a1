//! Words that several pages use: dates as people here write them, rules and kinds in plain language.
use crate::{domain::hold::Rule, texts::Language};
use chrono::{Datelike, NaiveDate};
use fluent_bundle::FluentArgs;
use rust_decimal::Decimal;

/// The days of the week; 1 is Monday.
pub const WEEKDAYS: [(i16, &str); 7] = [
    (1, "Monday"),
    (2, "Tuesday"),
    (3, "Wednesday"),
    (4, "Thursday"),
    (5, "Friday"),
    (6, "Saturday"),
    (7, "Sunday"),
];

/// `Nov 25, 2026`
#[must_use]
pub fn day(day: NaiveDate) -> String {
    day.format("%b %-d, %Y").to_string()
}

/// A day of every year written as `11-04`: `Nov 4`, `4 nov`.
#[must_use]
pub fn month_day_in(language: Language, code: &str) -> String {
    // A leap year, so that February 29 is a day.
    let read = NaiveDate::parse_from_str(&format!("2024-{code}"), "%Y-%m-%d");
    read.map_or_else(|_| code.to_owned(), |day| short_day(language, &day))
}

/// A day whose year is clear: `Nov 25`, `25 nov`.
#[must_use]
pub fn short_day(language: Language, day: &NaiveDate) -> String {
    let month = language.say(&format!("month-{}", day.month()));
    language.fill("month-day", &FluentArgs::from_iter([("month", month), ("day", day.day().to_string())]))
}

/// `10,890 sq ft`
#[must_use]
pub fn sqft(value: Decimal) -> String {
    format!("{} sq ft", thousands(&value.normalize().to_string()))
}

/// The number with a comma between its thousands.
fn thousands(number: &str) -> String {
    let (whole, rest) = number.split_at(number.find('.').unwrap_or(number.len()));
    let mut grouped = String::new();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    grouped + rest
}

/// A sentence of the rules, its days (2026-11-25), units (`floz`, `sqft`) and areas written as people here
/// write them.
#[must_use]
pub fn sentence(text: &str) -> String {
    with_areas(&with_days(text, day).replace("floz", "fl oz").replace("sqft", "sq ft"))
}

/// The same for a reader of any language: a sentence that the program knows is read in theirs.
#[must_use]
pub fn sentence_in(language: Language, text: &str) -> String {
    match language {
        Language::English => sentence(text),
        Language::Spanish => {
            let told = with_days(&language.said(text), |day| language.day(&day));
            told.replace("floz", "fl oz").replace("sqft", "sq ft")
        }
    }
}

fn with_areas(text: &str) -> String {
    let mut parts = text.split(" sq ft");
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let number = out
            .rfind(|c: char| !(c.is_ascii_digit() || c == '.'))
            .map_or(0, |at| at + out[at..].chars().next().map_or(1, char::len_utf8));
        let grouped = thousands(&out[number..]);
        // What follows a comma is grouped already.
        if !out[..number].ends_with(',') {
            out.replace_range(number.., &grouped);
        }
        out.push_str(" sq ft");
        out.push_str(part);
    }
    out
}

fn with_days(text: &str, written: impl Fn(NaiveDate) -> String) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        // A day stands alone: "12026-11-250" is none.
        let end = rest.find(|c: char| !(c.is_ascii_digit() || c == '-')).unwrap_or(rest.len());
        let word = rest[..end].trim_end_matches('-');
        match word.parse::<NaiveDate>() {
            Ok(date) if word.len() == 10 => out.push_str(&written(date)),
            _ => out.push_str(word),
        }
        rest = &rest[word.len()..];
    }
    out.push_str(rest);
    out
}

/// A unit's code as people write it: only the fluid ounce differs.
#[must_use]
pub fn unit(code: &str) -> &str {
    if code == "floz" { "fl oz" } else { code }
}

/// The unit of one or of several: only pieces are counted as words, `1 packet`, `3 packets`.
#[must_use]
pub fn units(code: &str, one: bool) -> &str {
    match (code, one) {
        ("packet", false) => "packets",
        ("tablet", false) => "tablets",
        _ => unit(code),
    }
}

/// A unit of ground as people write it.
#[must_use]
pub fn area(code: &str) -> &str {
    match code {
        "sqft" => "sq ft",
        "1000sqft" => "1,000 sq ft",
        "sqyd" => "sq yd",
        other => other,
    }
}

/// `1 day`, `12 days`
#[must_use]
pub fn days(count: i64) -> String {
    if count == 1 { "1 day".to_owned() } else { format!("{count} days") }
}

/// `3 shrubs`, `hedge of 40`
#[must_use]
pub fn counted(kind: &str, count: i32) -> String {
    match (kind, count) {
        (kind, 1) => format!("1 {kind}"),
        ("hedge", count) => format!("hedge of {count}"),
        (kind, count) => format!("{count} {kind}s"),
    }
}

/// Why a plant is held back, in a few words, by the rule's code.
#[must_use]
pub fn held(code: &str) -> &'static str {
    match Rule::from_code(code) {
        Some(Rule::Cap) => "The annual cap of the land leaves too little",
        Some(Rule::MinInterval) => "Too soon after the last application",
        Some(Rule::MaxPerYear) => "Applied as often as the label allows in a year",
        Some(Rule::Season) => "Outside the label's season",
        Some(Rule::Bloom) => "In bloom",
        Some(Rule::Permission) => "A state rule does not allow it",
        Some(Rule::LabelUnsigned) => "The label entry is not signed",
        Some(Rule::AreaUnknown) => "The cap cannot be checked: no area is known",
        Some(Rule::FoodPlant) => {
            "It is not known to be free of food, and the label's use does not cover food plants"
        }
        Some(Rule::HostExcluded) => "The label excludes this host plant",
        Some(Rule::RateBand) => "The rate is outside the label's band",
        Some(Rule::NotRegistered) => "The product is not registered in the state that day",
        Some(Rule::PreHarvest) => "The harvest is too near",
        Some(Rule::GroupRepeat) => "Too soon after another use of the same mode of action",
        None => "A rule holds it back",
    }
}

/// Which limit a recorded application broke, in a few words, by the rule's code.
#[must_use]
pub fn broke(code: &str) -> &'static str {
    match Rule::from_code(code) {
        Some(Rule::Cap) => "Over the annual cap",
        Some(Rule::MinInterval) => "Too soon after another application",
        Some(Rule::MaxPerYear) => "More often than the label allows in a year",
        Some(Rule::Season) => "Outside the label's season",
        Some(Rule::Bloom) => "Applied to a plant in bloom",
        Some(Rule::Permission) => "Against a state rule",
        Some(Rule::LabelUnsigned) => "By a label entry that nobody signed",
        Some(Rule::AreaUnknown) => "The cap cannot be checked: no area is known",
        Some(Rule::FoodPlant) => "On a plant that people may eat from",
        Some(Rule::HostExcluded) => "On a host plant that the label excludes",
        Some(Rule::RateBand) => "Outside the label's band",
        Some(Rule::NotRegistered) => "Not registered in the state that day",
        Some(Rule::PreHarvest) => "Too near the harvest",
        Some(Rule::GroupRepeat) => "Too soon after another use of the same mode of action",
        None => "A limit was broken",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_read_like_speech() {
        assert_eq!(counted("hedge", 40), "hedge of 40");
        assert_eq!(counted("tree", 1), "1 tree");
        assert_eq!(counted("shrub", 3), "3 shrubs");
        assert_eq!(days(1), "1 day");
    }

    #[test]
    fn days_in_sentences_are_written_for_people() {
        assert_eq!(sentence("From 2026-11-25 to 2027-01-02."), "From Nov 25, 2026 to Jan 2, 2027.");
        assert_eq!(sentence("EPA 99999-12, 3.5 g on 2026-13-45"), "EPA 99999-12, 3.5 g on 2026-13-45");
        assert_eq!(sentence("none - at all"), "none - at all");
    }

    #[test]
    fn areas_are_written_with_their_thousands() {
        for (value, words) in
            [("400", "400 sq ft"), ("10890.00", "10,890 sq ft"), ("1234567.5", "1,234,567.5 sq ft")]
        {
            assert_eq!(sqft(value.parse().unwrap()), words);
        }
        assert_eq!(
            sentence("0.4 lb/acre on 10890 sqft, or 6000 sqft (1,200 sq ft)."),
            "0.4 lb/acre on 10,890 sq ft, or 6,000 sq ft (1,200 sq ft)."
        );
        assert_eq!(sentence("an area in sqft"), "an area in sq ft");
        assert_eq!(sentence("10890.5 sqft"), "10,890.5 sq ft");
    }

    #[test]
    fn a_day_of_every_year_is_written_as_people_say_it() {
        let said = |code| month_day_in(Language::English, code);
        assert_eq!((said("11-04").as_str(), said("02-29").as_str()), ("Nov 4", "Feb 29"));
        assert_eq!(month_day_in(Language::Spanish, "02-29"), "29 feb");
        assert_eq!(said("13-01"), "13-01", "what is no day stays as it is");
    }

    #[test]
    fn every_rule_has_words_of_its_own() {
        let mut said: Vec<_> = Rule::ALL.iter().map(|r| held(r.code())).collect();
        said.sort_unstable();
        said.dedup();
        assert_eq!(said.len(), Rule::ALL.len());
        assert!(!said.contains(&"A rule holds it back"));
        assert!(Rule::ALL.iter().all(|r| broke(r.code()) != broke("zebra")));
    }

    #[test]
    fn what_codes_stand_for_is_known_in_spanish() {
        let codes = Rule::ALL.iter().map(|rule| rule.code()).chain(["zebra"]);
        let words = codes.flat_map(|code| [held(code), broke(code)]);
        let duties = crate::domain::incident::DUTIES.iter().flat_map(|duty| [duty.how, duty.source]);
        let kinds = crate::domain::incident::KINDS.map(|(_, words)| words);
        // A rule of law is cited as it is printed.
        for words in words.chain(duties).chain(kinds).filter(|words| !words.contains("CMR")) {
            assert!(Language::knows(words), "{words}");
        }
        // In a sentence of the engine a method reads as it does on a phone.
        for code in crate::domain::label::METHODS {
            let phone = Language::Spanish.say(&format!("method-{code}"));
            assert_eq!(Language::Spanish.said(&code.replace('-', " ")), phone);
        }
    }
}
