//! What a licensed person has answered about a rule that nobody had verified.

use super::{Mark, RULES, Rule};
use chrono::NaiveDate;

/// What was found out about a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// It was read at its source and holds: from now on it forbids.
    Holds {
        /// Where it is written.
        citation: String,
        /// The day on which it was read.
        on: NaiveDate,
    },
    /// It does not hold here: it asks nothing any more.
    SetAside {
        /// Why.
        reason: String,
    },
}

/// The answer about one rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleAnswer {
    /// Code of the rule.
    pub rule: String,
    /// What was found out.
    pub answer: Answer,
}

/// A list of rules with the answers about those that nobody had verified.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleBook {
    /// The rules.
    pub rules: &'static [Rule],
    /// At most one a rule. An answer about a rule that was checked changes nothing:
    /// only an exemption narrows such a rule.
    pub answers: Vec<RuleAnswer>,
}

impl Default for RuleBook {
    fn default() -> Self {
        Self { rules: RULES, answers: Vec::new() }
    }
}

impl RuleBook {
    /// The rule of that code.
    pub fn find(&self, code: &str) -> Option<&'static Rule> {
        self.rules.iter().find(|rule| rule.code == code)
    }

    /// What was answered about the rule, where it may be answered at all.
    pub fn answer(&self, rule: &Rule) -> Option<&Answer> {
        let given = self.answers.iter().find(|given| given.rule == rule.code);
        given.filter(|_| rule.mark == Mark::Unverified).map(|given| &given.answer)
    }

    /// Does it forbid what does not keep it, or only caution?
    pub fn is_hard(&self, rule: &Rule) -> bool {
        rule.mark != Mark::Unverified || matches!(self.answer(rule), Some(Answer::Holds { .. }))
    }

    /// The rules that ask anything.
    pub fn asked(&self) -> impl Iterator<Item = &'static Rule> + use<'_> {
        self.rules.iter().filter(|rule| !matches!(self.answer(rule), Some(Answer::SetAside { .. })))
    }

    /// Where the rule is written and how far that was checked, for people.
    pub fn source(&self, rule: &Rule) -> String {
        match self.answer(rule) {
            Some(Answer::Holds { citation, on }) => format!("{citation} (verified on {on})"),
            _ => format!("{} ({})", rule.source, rule.mark.words()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::permission::{Applicator, Question, standing};

    fn book(code: &str, answer: Answer) -> RuleBook {
        RuleBook { answers: vec![RuleAnswer { rule: code.to_owned(), answer }], ..RuleBook::default() }
    }

    fn day() -> NaiveDate {
        "2026-11-25".parse().unwrap()
    }

    fn counts(rules: &RuleBook, state: &str) -> [usize; 3] {
        let applicator = Applicator { certified: false, ..Applicator::default() };
        let question = Question {
            rules,
            state,
            places: [None, None],
            agricultural: false,
            ingredient: "imidacloprid",
            method: None,
            pest: None,
            listed_pests: &[],
            host: None,
            in_bloom: false,
            applicator: &applicator,
            exemptions: &[],
        };
        let said = standing(&question, day());
        [said.blocked.len(), said.unverified.len(), said.kept.len()]
    }

    #[test]
    fn an_unverified_rule_cautions_until_it_is_answered() {
        let holds = Answer::Holds { citation: "Nevada, as read".into(), on: day() };
        let aside = Answer::SetAside { reason: "no such rule".into() };
        assert_eq!(counts(&RuleBook::default(), "NV"), [0, 1, 0]);
        assert_eq!(counts(&book("nv-limits", holds.clone()), "NV"), [1, 0, 0]);
        assert_eq!(counts(&book("nv-limits", aside.clone()), "NV"), [0, 0, 0]);
        assert_eq!(counts(&book("co-limits", aside.clone()), "NV"), [0, 1, 0], "of another rule");
    }

    #[test]
    fn a_checked_rule_cannot_be_set_aside() {
        let aside = Answer::SetAside { reason: "we would rather not".into() };
        for code in ["ca-certified-person", "md-certified-person"] {
            let rules = book(code, aside.clone());
            let state = rules.find(code).unwrap().state;
            assert_eq!(counts(&rules, state), [1, 0, 0], "{code}");
        }
    }

    #[test]
    fn an_answer_becomes_the_source_of_its_rule() {
        let rules = book("nv-limits", Answer::Holds { citation: "Nevada, as read".into(), on: day() });
        let source = |code: &str| rules.source(rules.find(code).unwrap());
        assert_eq!(source("nv-limits"), "Nevada, as read (verified on 2026-11-25)");
        assert_eq!(source("co-limits"), "Colorado, from memory (unverified)");
        assert!(rules.find("no-such-rule").is_none());
    }
}
