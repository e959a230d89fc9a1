//! Whether a record holds what its state asks, by when it had to be written and how long it is kept.
use crate::{
    db::record::{Version, present},
    domain::{
        filing,
        permission::Mark,
        record::{self as rules, Missing, RecordRule, RuleDate},
    },
    texts::Language,
};
use chrono::NaiveDate;

/// What the page says about completeness.
pub struct Completeness {
    /// `CA (3 CCR 6624(b))` and how far each rule was checked; empty: no rule of that state is known here.
    pub rules: Vec<String>,
    pub missing: Vec<String>,
    /// Parts that the rules ask for and that are kept outside the record, with where.
    pub outside: Vec<String>,
    pub record_by: String,
    /// Whether it was written after its last day.
    pub late: bool,
    pub keep_until: String,
    /// A rule of the site's own state is known.
    pub state_known: bool,
}

/// What the version lacks.
pub fn missing(version: &Version, restricted: bool) -> Vec<Missing> {
    rules::missing(&version.head.site_state, restricted, &present(version))
}

/// All of it, for a version that was first written on `written`.
pub fn completeness(
    language: Language,
    version: &Version,
    restricted: bool,
    written: NaiveDate,
) -> Completeness {
    let (state, on) = (version.head.site_state.as_str(), version.head.applied_on);
    let by = rules::record_by(state, restricted, on);
    let rules_here = rules::rules_for(state, restricted);
    let house = language.day(&rules::house_keep_until(on));
    Completeness {
        rules: rules_here.iter().map(|rule| by_rule(language, rule)).collect(),
        missing: missing(version, restricted)
            .into_iter()
            .map(|m| format!("{}: asked by {} ({})", m.field.words(), m.source, m.mark.words()))
            .map(|words| language.said(&words))
            .collect(),
        state_known: filing::find(state).is_some(),
        outside: rules_here
            .iter()
            .flat_map(|rule| rule.outside())
            .map(|(words, instead)| language.said(&format!("{words}: {}", lower(instead))))
            .collect(),
        record_by: match &by {
            Some(date) => said(language, date),
            None => language.say_of("record-day-house", "day", language.day(&on)),
        },
        late: written > by.map_or(on, |date| date.day),
        keep_until: match rules::keep_until(state, restricted, on) {
            Some(date) => {
                language.filled("record-kept-also", &[("law", &said(language, &date)), ("day", &house)])
            }
            None => language.filled("record-kept", &[("day", &house)]),
        },
    }
}

/// With a small first letter, to follow a colon.
fn lower(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// A day and the rule that sets it, with how far that was checked.
fn said(language: Language, date: &RuleDate) -> String {
    let (day, mark) = (language.day(&date.day), checked(language, date.mark));
    language.filled("record-day-by", &[("day", &day), ("source", date.source), ("mark", &mark)])
}

fn by_rule(language: Language, rule: &RecordRule) -> String {
    let mark = checked(language, rule.mark);
    language.filled("record-by-rule", &[("state", rule.state), ("source", rule.source), ("mark", &mark)])
}

fn checked(language: Language, mark: Mark) -> String {
    language.say(&format!("mark-{}", mark.code()))
}

impl Completeness {
    /// Everything that is asked is in the record itself.
    pub fn is_whole(&self) -> bool {
        self.missing.is_empty() && self.outside.is_empty()
    }
}
