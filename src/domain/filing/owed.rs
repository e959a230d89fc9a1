//! Which reports are owed: one for each period and each place where the company is registered or worked.

use super::{FilingRule, Jurisdiction, Month, Nil, Period, reports};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// So many days before its due day a report is soon due.
pub const SOON_DAYS: i64 = 14;

/// A registration with a county, or with a whole state where the county is empty. First and last day count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Registered {
    /// Two letters.
    pub state: String,
    /// Name of the county; empty: the whole state.
    pub county: String,
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub until: NaiveDate,
}

/// A month in which the company worked in a county.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Worked {
    /// Two letters.
    pub state: String,
    /// Name of the county.
    pub county: String,
    /// The month.
    pub month: Month,
}

/// A report that is owed, or will be when its period is over.
#[derive(Debug, Clone)]
pub struct Owed {
    /// To whom.
    pub jurisdiction: &'static Jurisdiction,
    /// By which rule.
    pub rule: &'static FilingRule,
    /// Name of the county as the registration spells it, else as records do; empty: the whole state.
    pub county: String,
    /// For which time.
    pub period: Period,
    /// Was the company registered there on a day of it?
    pub registered: bool,
    /// Did it work there in it?
    pub worked: bool,
}

/// How a report that was not sent stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Its period is not over.
    Running,
    /// So many days are left; 0: today is the last one.
    Left(i64),
    /// So many days late.
    Late(i64),
    /// The due day was not found.
    NoDay,
    /// Nothing was done, and whether a report is owed then was not found.
    MaybeNone,
}

impl Standing {
    /// Does it press: late, or due within [`SOON_DAYS`]?
    pub fn presses(self) -> bool {
        match self {
            Self::Late(_) => true,
            Self::Left(days) => days <= SOON_DAYS,
            Self::Running | Self::NoDay | Self::MaybeNone => false,
        }
    }
}

impl Owed {
    /// How it stands on that day, if it was not sent.
    pub fn standing(&self, today: NaiveDate) -> Standing {
        if today <= self.period.last_day() {
            return Standing::Running;
        }
        if !self.worked && self.rule.nil == Nil::NotFound {
            return Standing::MaybeNone;
        }
        match self.rule.due_on(self.period).map(|due| (due - today).num_days()) {
            None => Standing::NoDay,
            Some(left) if left >= 0 => Standing::Left(left),
            Some(late) => Standing::Late(-late),
        }
    }

    /// Code of the rule, lower-case county and code of the period: what tells reports apart.
    pub fn key(&self) -> (&'static str, String, String) {
        (self.rule.code, self.county.to_lowercase(), self.period.code())
    }
}

/// What is owed for periods that have begun by `today` and end on `from` or later, the oldest period first.
pub fn owed(from: NaiveDate, today: NaiveDate, registered: &[Registered], worked: &[Worked]) -> Vec<Owed> {
    let mut all = vec![];
    for (jurisdiction, rule) in reports() {
        for period in Period::between(rule.every, from, today) {
            let holds = |one: &&Registered| {
                let place = !rule.per_county || !one.county.is_empty();
                place
                    && one.state == jurisdiction.code
                    && one.from <= period.last_day()
                    && one.until >= period.first_day()
            };
            let within = |one: &&Worked| {
                one.state == jurisdiction.code
                    && one.month.first_day() >= period.first_day()
                    && one.month.last_day() <= period.last_day()
            };
            let name = |county: &str| if rule.per_county { county.to_owned() } else { String::new() };
            // By the name without case, so that two spellings are one county; the registration's spelling counts.
            let mut places: BTreeMap<String, (String, bool, bool)> = BTreeMap::new();
            for one in registered.iter().filter(holds) {
                let county = name(&one.county);
                places.entry(county.to_lowercase()).or_insert((county, true, false));
            }
            for one in worked.iter().filter(within) {
                let county = name(&one.county);
                places.entry(county.to_lowercase()).or_insert((county, false, false)).2 = true;
            }
            all.extend(places.into_values().map(|(county, registered, worked)| Owed {
                jurisdiction,
                rule,
                county,
                period,
                registered,
                worked,
            }));
        }
    }
    all.sort_by_key(|one| one.period.last_day());
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn registered(state: &str, county: &str, from: &str, until: &str) -> Registered {
        Registered { state: state.into(), county: county.into(), from: day(from), until: day(until) }
    }

    fn worked(state: &str, county: &str, month: &str) -> Worked {
        Worked { state: state.into(), county: county.into(), month: Month::parse(month).unwrap() }
    }

    fn keys(owed: &[Owed]) -> Vec<(&'static str, String, String)> {
        owed.iter().map(Owed::key).collect()
    }

    fn key(rule: &'static str, county: &str, period: &str) -> (&'static str, String, String) {
        (rule, county.to_owned(), period.to_owned())
    }

    #[test]
    fn a_day_of_registration_owes_the_month_and_work_owes_it_too() {
        let places = [registered("CA", "Kern", "2026-08-31", "2026-09-01")];
        let work = [
            worked("CA", "KERN", "2026-09"),
            worked("CA", "Napa", "2026-10"),
            worked("KS", "Riley", "2026-10"),
        ];
        let found = owed(day("2026-08-01"), day("2026-10-31"), &places, &work);
        assert_eq!(
            keys(&found),
            [
                key("ca-monthly", "kern", "2026-08"),
                key("ca-monthly", "kern", "2026-09"),
                key("ca-monthly", "napa", "2026-10")
            ]
        );
        assert_eq!(found[1].county, "Kern", "the registration's spelling counts");
        assert!(found[1].worked && found[1].registered && !found[0].worked && !found[2].registered);
    }

    #[test]
    fn a_year_is_owed_once_for_the_whole_state() {
        let places = [registered("NY", "", "2025-01-01", "2026-12-31")];
        let work = [
            worked("NY", "Erie", "2025-04"),
            worked("NY", "Kings", "2025-05"),
            worked("ME", "York", "2025-05"),
        ];
        let found = owed(day("2025-11-01"), day("2026-11-25"), &places, &work);
        assert_eq!(
            keys(&found),
            [key("me-yearly", "", "2025"), key("ny-yearly", "", "2025"), key("ny-yearly", "", "2026")]
        );
    }

    #[test]
    fn days_are_counted_down_and_on() {
        let places = [registered("CA", "Kern", "2026-01-01", "2026-12-31")];
        let found = owed(day("2026-01-01"), day("2026-01-31"), &places, &[]);
        let standing = |today: &str| found[0].standing(day(today));
        assert_eq!(standing("2026-01-31"), Standing::Running);
        assert_eq!(standing("2026-02-01"), Standing::Left(9));
        assert_eq!(standing("2026-02-10"), Standing::Left(0));
        assert_eq!(standing("2026-02-11"), Standing::Late(1));
        assert!(standing("2026-02-01").presses() && !standing("2026-01-31").presses());
    }

    #[test]
    fn what_was_not_found_is_not_made_up() {
        let places = [
            registered("NH", "", "2025-01-01", "2025-12-31"),
            registered("ME", "", "2025-01-01", "2025-12-31"),
        ];
        let found = owed(day("2025-12-31"), day("2026-03-01"), &places, &[worked("NH", "Coos", "2025-06")]);
        let standing: Vec<_> =
            found.iter().map(|one| (one.rule.code, one.standing(day("2026-03-01")))).collect();
        assert_eq!(standing, [("me-yearly", Standing::MaybeNone), ("nh-yearly", Standing::NoDay)]);
    }
}
