//! Who must or should hear of an application, when, and which signs stand: duties by state, method and county.
//!
//! Editable defaults with their sources, as far as they could be read; the live rule decides. A state that is not
//! listed has no rule here, which is not the same as having none. Notices are no offers: ending offers ends none.
mod rules;

pub use rules::RULES;

use super::permission::Mark;
use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};

/// What is to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Duty {
    /// Neighbours are told before.
    Neighbours,
    /// Whoever is on the state's registry, or asked to be told, is told before.
    Registry,
    /// The customer is told before.
    Customer,
    /// The customer gets a statement afterwards.
    Statement,
    /// Signs stand at the place.
    Sign,
}

impl Duty {
    /// The code in the interface and in the names of texts.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Neighbours => "neighbours",
            Self::Registry => "registry",
            Self::Customer => "customer",
            Self::Statement => "statement",
            Self::Sign => "sign",
        }
    }

    /// In a few words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Neighbours => "Tell the neighbours before",
            Self::Registry => "Tell who is on the registry or asked to be told",
            Self::Customer => "Tell the customer before",
            Self::Statement => "Give the customer a statement afterwards",
            Self::Sign => "Put up signs",
        }
    }

    /// Whether it must be done before work begins.
    #[must_use]
    pub fn is_before(self) -> bool {
        self != Self::Statement
    }
}

/// What a sign must be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sign {
    /// Width and height at least, in inches.
    pub size: &'static str,
    /// What stands on it and how large.
    pub says: &'static str,
    /// From when until when it stands, and how.
    pub stands: &'static str,
    /// Words whose size the rule sets, each with its least size in points; none where the text was not read.
    pub lines: &'static [(&'static str, u32)],
}

/// A rule of a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Kept with what was done by it: it never changes.
    pub code: &'static str,
    pub state: &'static str,
    /// In these counties only; none: in the whole state.
    pub counties: &'static [&'static str],
    /// Codes of methods; none: any.
    pub methods: &'static [&'static str],
    pub duty: Duty,
    /// Hours before work begins by which it must be done; zero: before it begins.
    pub lead_hours: u32,
    pub sign: Option<Sign>,
    pub words: &'static str,
    pub source: &'static str,
    pub mark: Mark,
}

impl Rule {
    /// Whether work may not begin without it: it was read at its source, and comes before the work.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.mark == Mark::Checked && self.duty.is_before()
    }
}

/// When work begins at a visit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Begin {
    /// The visit's day.
    pub day: NaiveDate,
    pub at: DateTime<Utc>,
    /// The plan of the day has this hour; else it is the [usual](USUAL) one.
    pub planned: bool,
}

/// Where a day's plan has no hour, work is taken to begin at eight: common practice, no published source.
pub const USUAL: NaiveTime = match NaiveTime::from_hms_opt(8, 0, 0) {
    Some(time) => time,
    None => NaiveTime::MIN,
};

/// Something done of a duty, or why it is not asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Deed {
    /// The day that the visit had then: notices and signs name it.
    pub for_day: NaiveDate,
    pub at: DateTime<Utc>,
    /// The owner says that the law leaves it open here.
    pub excused: bool,
}

/// How a duty stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    Done,
    /// The owner says that the law leaves it open here.
    Excused,
    /// Nothing was done.
    Open,
    /// It was done for another day, and is to be done anew.
    OtherDay,
    /// It was done for this day and too late: work may not begin before this moment.
    Late(DateTime<Utc>),
}

impl Standing {
    /// Whether nothing more is to be done.
    #[must_use]
    pub fn is_settled(self) -> bool {
        matches!(self, Self::Done | Self::Excused)
    }
}

impl Rule {
    /// Whether it is a rule of that place.
    fn is_in(&self, state: &str, county: &str) -> bool {
        let county_too =
            self.counties.is_empty() || self.counties.iter().any(|c| c.eq_ignore_ascii_case(county));
        self.state == state && county_too
    }

    /// The hours before work begins by which it must be done.
    #[must_use]
    pub fn lead(&self) -> TimeDelta {
        TimeDelta::hours(self.lead_hours.into())
    }

    /// How it stands with these deeds, of which the last one noted counts. A statement comes after the work, and no
    /// other day ends it.
    #[must_use]
    pub fn standing(&self, begin: Begin, deeds: &[Deed]) -> Standing {
        let Some(last) = deeds.last() else { return Standing::Open };
        if !self.duty.is_before() {
            return Standing::Done;
        }
        if last.for_day != begin.day {
            return Standing::OtherDay;
        }
        // Told twice for one day: the first time was early enough.
        let first = deeds.iter().filter(|d| d.for_day == begin.day && !d.excused).map(|d| d.at).min();
        match first {
            _ if last.excused => Standing::Excused,
            Some(at) if self.lead_hours > 0 && at + self.lead() > begin.at => {
                Standing::Late(at + self.lead())
            }
            _ => Standing::Done,
        }
    }

    /// Whether it can still be done in time when nothing is done before `now`.
    #[must_use]
    pub fn is_in_time(&self, begin: Begin, now: DateTime<Utc>) -> bool {
        self.lead_hours == 0 || now + self.lead() <= begin.at
    }
}

/// The duties of an application in this state and county by these methods (codes such as `foliar-spray`).
#[must_use]
pub fn required(state: &str, county: &str, methods: &[&str]) -> Vec<&'static Rule> {
    let applies = |rule: &&Rule| {
        rule.is_in(state, county)
            && (rule.methods.is_empty() || methods.iter().any(|m| rule.methods.contains(m)))
    };
    if methods.is_empty() { vec![] } else { RULES.iter().filter(applies).collect() }
}

/// The rule that asks for the most hours before any work in this county, by whatever method; none asks for hours.
#[must_use]
pub fn longest_lead(state: &str, county: &str) -> Option<&'static Rule> {
    let asks = |rule: &&Rule| rule.holds() && rule.lead_hours > 0 && rule.methods.is_empty();
    RULES.iter().filter(|r| r.is_in(state, county)).filter(asks).max_by_key(|rule| rule.lead_hours)
}

/// The rule of that code.
#[must_use]
pub fn find(code: &str) -> Option<&'static Rule> {
    RULES.iter().find(|rule| rule.code == code)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(state: &str, county: &str, methods: &[&str]) -> Vec<&'static str> {
        required(state, county, methods).iter().map(|rule| rule.code).collect()
    }

    #[test]
    fn a_duty_hangs_on_state_county_and_method() {
        assert_eq!(codes("NY", "Suffolk", &["basal-drench"]), ["ny-48-hours"]);
        assert_eq!(codes("NY", "suffolk", &["broadcast"]), ["ny-contract", "ny-markers", "ny-48-hours"]);
        assert!(codes("NY", "Oneida", &["basal-drench"]).is_empty(), "not a county that took the law");
        assert_eq!(codes("MA", "Suffolk", &["foliar-spray"]), ["ma-statement"]);
        assert_eq!(codes("CA", "San Luis Obispo", &["soil-drench"]), ["ca-operator"]);
        assert!(codes("CA", "San Luis Obispo", &[]).is_empty(), "nothing is applied");
        assert_eq!(longest_lead("NY", "kings").map(|rule| rule.code), Some("ny-48-hours"));
        assert_eq!(longest_lead("NY", "Oneida"), None);
        assert_eq!(longest_lead("FL", "Leon"), None, "its hours are from memory");
    }

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn begin(text: &str) -> Begin {
        let at = at(text);
        Begin { day: at.date_naive(), at, planned: true }
    }

    fn told(day: &str, moment: &str) -> Deed {
        Deed { for_day: day.parse().unwrap(), at: at(moment), excused: false }
    }

    /// Forty-eight hours before noon of 3 December is noon of the first, to the second.
    #[test]
    fn a_notice_is_early_enough_to_the_second() {
        let rule = find("ny-48-hours").unwrap();
        let noon = begin("2026-12-03T12:00:00Z");
        let asked = |deeds: &[Deed]| rule.standing(noon, deeds);
        assert_eq!(asked(&[]), Standing::Open);
        assert_eq!(asked(&[told("2026-12-03", "2026-12-01T12:00:00Z")]), Standing::Done);
        let late = told("2026-12-03", "2026-12-01T12:00:01Z");
        assert_eq!(asked(&[late]), Standing::Late(at("2026-12-03T12:00:01Z")));
        assert_eq!(asked(&[told("2026-12-03", "2026-11-30T09:00:00Z"), late]), Standing::Done, "told twice");
        assert!(rule.is_in_time(noon, at("2026-12-01T12:00:00Z")));
        assert!(!rule.is_in_time(noon, at("2026-12-01T12:00:01Z")));
    }

    #[test]
    fn another_day_asks_anew_and_the_first_one_counts_again() {
        let rule = find("ny-48-hours").unwrap();
        let (first, second) = (begin("2026-12-03T12:00:00Z"), begin("2026-12-08T12:00:00Z"));
        let mut deeds = vec![told("2026-12-03", "2026-11-30T12:00:00Z")];
        assert_eq!(rule.standing(second, &deeds), Standing::OtherDay);
        assert_eq!(
            rule.standing(first, &deeds),
            Standing::Done,
            "moved back, and nobody heard of another day"
        );
        deeds.push(told("2026-12-08", "2026-12-04T12:00:00Z"));
        assert_eq!(rule.standing(second, &deeds), Standing::Done);
        assert_eq!(rule.standing(first, &deeds), Standing::OtherDay, "what they heard last is the other day");
        deeds.push(Deed { excused: true, ..told("2026-12-08", "2026-12-05T12:00:00Z") });
        assert_eq!(rule.standing(second, &deeds), Standing::Excused);
        let copy = find("mn-copy").unwrap();
        assert_eq!(copy.standing(second, &deeds[..1]), Standing::Done, "a statement comes after the work");
    }

    #[test]
    fn what_nobody_has_read_holds_nothing_up() {
        for rule in RULES {
            assert!(!rule.source.is_empty() && !rule.words.is_empty(), "{}", rule.code);
            assert_eq!(find(rule.code), Some(rule), "each code once");
            if rule.mark != Mark::Checked {
                assert!(!rule.holds(), "{}", rule.code);
            }
        }
        assert!(find("ny-48-hours").unwrap().holds());
        assert!(!find("mn-copy").unwrap().holds(), "it comes after the work");
        assert!(!find("ca-operator").unwrap().holds());
    }
}
