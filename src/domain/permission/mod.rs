//! May this ingredient be used here, by this applicator, on this day?
//!
//! State rules are data ([`rules`]), each with its source and with how far it
//! was checked. The product label and the live rule decide; a rule that nobody
//! has read is shown as a caution and never as a hard stop.

mod rules;

pub use rules::RULES;

use super::calendar::{add_days, add_months};
use chrono::NaiveDate;

/// How far the text of a rule was checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Read in a copy of the source.
    Checked,
    /// Read in part, or in somebody's summary.
    PartChecked,
    /// Not read: a starting point to verify.
    Unverified,
}

impl Mark {
    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Checked => "checked",
            Self::PartChecked => "part checked",
            Self::Unverified => "unverified",
        }
    }
}

/// What a rule asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Demand {
    /// Only certified applicators.
    Certified,
    /// No use, save under an exemption that the regulator has granted.
    Exemption,
    /// As before, and the applicator has taken the state's course in the last
    /// twelve months.
    ExemptionAndCourse,
    /// No use at all.
    Never,
}

/// To which plants a rule applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HostScope {
    /// All ornamental plants.
    Any,
    /// Plants whose name holds one of these words.
    Named(&'static [&'static str]),
    /// Plants in bloom.
    InBloom,
}

/// One rule of a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Two-letter code.
    pub state: &'static str,
    /// Active ingredients.
    pub ingredients: &'static [&'static str],
    /// First day in force as year, month, day; none: as long as we know.
    pub from: Option<(i32, u32, u32)>,
    /// Last day in force.
    pub until: Option<(i32, u32, u32)>,
    /// To which plants.
    pub hosts: HostScope,
    /// What it asks.
    pub demand: Demand,
    /// In plain words.
    pub words: &'static str,
    /// Where it is written.
    pub source: &'static str,
    /// How far it was checked.
    pub mark: Mark,
}

/// A course that an applicator took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Course {
    /// The state that approved it.
    pub state: String,
    /// The day.
    pub on: NaiveDate,
}

/// Who would apply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Applicator {
    /// Certified, or working as the law allows under one who is.
    pub certified: bool,
    /// Courses taken.
    pub courses: Vec<Course>,
}

impl Default for Applicator {
    fn default() -> Self {
        Self { certified: true, courses: Vec::new() }
    }
}

/// An exemption that a regulator has granted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exemption {
    /// The state that granted it.
    pub state: String,
    /// The ingredient; none: every one.
    pub ingredient: Option<String>,
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub until: NaiveDate,
    /// Number or reason, for the record.
    pub reason: String,
}

/// The question that is put to the rules.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// Two-letter code.
    pub state: &'a str,
    /// Active ingredient.
    pub ingredient: &'a str,
    /// Host plant, where known.
    pub host: Option<&'a str>,
    /// Is the plant in bloom that day?
    pub in_bloom: bool,
    /// Who would apply.
    pub applicator: &'a Applicator,
    /// What was granted.
    pub exemptions: &'a [Exemption],
}

/// What the rules answer for one day.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Standing {
    /// Rules that forbid it. Empty: allowed.
    pub blocked: Vec<&'static Rule>,
    /// Rules that are kept, such as restricted use by a certified applicator.
    pub kept: Vec<&'static Rule>,
    /// Rules that would forbid it but that nobody has verified.
    pub unverified: Vec<&'static Rule>,
}

fn date(parts: (i32, u32, u32)) -> NaiveDate {
    NaiveDate::from_ymd_opt(parts.0, parts.1, parts.2).unwrap_or(NaiveDate::MIN)
}

impl Rule {
    fn concerns(&self, question: &Question<'_>) -> bool {
        let host = question.host.unwrap_or_default().to_lowercase();
        self.state == question.state
            && self.ingredients.iter().any(|name| name.eq_ignore_ascii_case(question.ingredient))
            && match self.hosts {
                HostScope::Any => true,
                HostScope::Named(words) => words.iter().any(|word| host.contains(word)),
                HostScope::InBloom => question.in_bloom,
            }
    }

    fn in_force(&self, day: NaiveDate) -> bool {
        self.from.is_none_or(|from| date(from) <= day) && self.until.is_none_or(|until| day <= date(until))
    }

    fn satisfied(&self, question: &Question<'_>, day: NaiveDate) -> bool {
        match self.demand {
            Demand::Certified => question.applicator.certified,
            Demand::Exemption => exempt(question, day),
            Demand::ExemptionAndCourse => exempt(question, day) && taught(question, day),
            Demand::Never => false,
        }
    }
}

fn exempt(question: &Question<'_>, day: NaiveDate) -> bool {
    question.exemptions.iter().any(|granted| {
        granted.state == question.state
            && granted.from <= day
            && day <= granted.until
            && granted.ingredient.as_deref().is_none_or(|name| name.eq_ignore_ascii_case(question.ingredient))
    })
}

/// A course counts from its day to the same day a year later.
fn taught(question: &Question<'_>, day: NaiveDate) -> bool {
    question
        .applicator
        .courses
        .iter()
        .any(|course| course.state == question.state && course.on <= day && day <= add_months(course.on, 12))
}

/// Puts the question for one day.
pub fn standing(question: &Question<'_>, day: NaiveDate) -> Standing {
    let mut answer = Standing::default();
    for rule in RULES.iter().filter(|rule| rule.concerns(question) && rule.in_force(day)) {
        if rule.satisfied(question, day) {
            answer.kept.push(rule);
        } else if rule.mark == Mark::Unverified {
            answer.unverified.push(rule);
        } else {
            answer.blocked.push(rule);
        }
    }
    answer
}

/// The first day after `day` on which the answer may differ; none: never.
pub fn next_change(question: &Question<'_>, day: NaiveDate) -> Option<NaiveDate> {
    let mut days: Vec<NaiveDate> = Vec::new();
    for rule in RULES.iter().filter(|rule| rule.concerns(question)) {
        days.extend(rule.from.map(date));
        days.extend(rule.until.map(|until| add_days(date(until), 1)));
    }
    for granted in question.exemptions {
        days.extend([granted.from, add_days(granted.until, 1)]);
    }
    for course in &question.applicator.courses {
        days.extend([course.on, add_days(add_months(course.on, 12), 1)]);
    }
    days.into_iter().filter(|change| *change > day).min()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_state_without_rules_asks_nothing() {
        let applicator = Applicator { certified: false, courses: Vec::new() };
        let question = Question {
            state: "KS",
            ingredient: "imidacloprid",
            host: None,
            in_bloom: true,
            applicator: &applicator,
            exemptions: &[],
        };
        assert_eq!(standing(&question, NaiveDate::MIN), Standing::default());
        assert_eq!(next_change(&question, NaiveDate::MIN), None);
    }

    #[test]
    fn an_unverified_rule_never_blocks() {
        for rule in RULES.iter().filter(|rule| rule.mark == Mark::Unverified) {
            let applicator = Applicator { certified: false, courses: Vec::new() };
            let host = match rule.hosts {
                HostScope::Named(words) => words.first().copied(),
                _ => None,
            };
            let question = Question {
                state: rule.state,
                ingredient: rule.ingredients[0],
                host,
                in_bloom: true,
                applicator: &applicator,
                exemptions: &[],
            };
            let answer = standing(&question, "2026-11-25".parse().unwrap());
            assert!(!answer.blocked.contains(&rule));
            assert!(answer.unverified.contains(&rule));
        }
    }

    #[test]
    fn every_rule_has_words_a_source_and_real_dates() {
        for rule in RULES {
            assert!(rule.words.len() > 20 && rule.source.len() > 5, "{}", rule.state);
            for parts in rule.from.into_iter().chain(rule.until) {
                assert!(NaiveDate::from_ymd_opt(parts.0, parts.1, parts.2).is_some());
            }
        }
    }
}
