//! Spills and other incidents, and by when a state wants to hear of them.

use super::permission::Mark;
use chrono::{DateTime, Duration, Utc};

/// What kind of incident it is: code and words.
pub const KINDS: [(&str, &str); 4] = [
    ("spill", "Spill"),
    ("exposure", "Somebody or an animal was exposed"),
    ("drift", "Product went where it was not meant to"),
    ("other", "Something else"),
];

/// When and how a state wants to hear of an incident.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Duty {
    /// Two letters.
    pub state: &'static str,
    /// Hours from the incident; none: no time was read, report without waiting.
    pub hours: Option<i64>,
    /// How, in words.
    pub how: &'static str,
    /// Where that is written.
    pub source: &'static str,
    /// How far it was checked.
    pub mark: Mark,
}

/// The duties that were read. A state that is not here may ask for a report all the same.
pub const DUTIES: [Duty; 2] = [
    Duty {
        state: "MA",
        hours: Some(48),
        how: "Report it to the state within 48 hours.",
        source: "333 CMR 10.14",
        mark: Mark::Checked,
    },
    Duty {
        state: "ME",
        hours: None,
        how: "Report it to the state by telephone without waiting; no number of hours was read.",
        source: "a summary of the states' yearly duties; Maine's rule itself was not read",
        mark: Mark::PartChecked,
    },
];

/// The duty of that state, if one was read.
#[must_use]
pub fn duty(state: &str) -> Option<&'static Duty> {
    DUTIES.iter().find(|duty| duty.state == state)
}

/// Where the report of an incident stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It was reported in time, or no time was read.
    Reported,
    /// It was reported after its hours had passed.
    ReportedLate,
    /// So many minutes are left; a started minute is not left.
    Left(i64),
    /// It should have been reported so many minutes ago.
    Overdue(i64),
    /// To be reported without waiting.
    AtOnce,
    /// No duty of this state was read: somebody must look.
    Unknown,
}

/// Where the report stands now. `reported_at` is the first report to anybody. The exact end of the time is still
/// in time.
#[must_use]
pub fn stands(
    state: &str,
    happened_at: DateTime<Utc>,
    reported_at: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
) -> Standing {
    let end = duty(state).and_then(|duty| duty.hours).map(|hours| happened_at + Duration::hours(hours));
    match (reported_at, end) {
        (Some(at), Some(end)) if at > end => Standing::ReportedLate,
        (Some(_), _) => Standing::Reported,
        (None, Some(end)) if now > end => Standing::Overdue((now - end).num_minutes()),
        (None, Some(end)) => Standing::Left((end - now).num_minutes()),
        (None, None) if duty(state).is_some() => Standing::AtOnce,
        (None, None) => Standing::Unknown,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    #[test]
    fn massachusetts_counts_forty_eight_hours() {
        // 333 CMR 10.14: incidents within 48 hours. The clock change of November 1, 2026 lies within: hours are
        // hours, whatever the wall says.
        let happened = at("2026-10-31T18:00:00Z");
        for (now, stand) in [
            ("2026-10-31T18:00:00Z", Standing::Left(48 * 60)),
            ("2026-11-02T17:59:30Z", Standing::Left(0)),
            ("2026-11-02T18:00:00Z", Standing::Left(0)),
            ("2026-11-02T18:00:01Z", Standing::Overdue(0)),
            ("2026-11-03T18:30:00Z", Standing::Overdue(24 * 60 + 30)),
        ] {
            assert_eq!(stands("MA", happened, None, at(now)), stand, "{now}");
        }
        let late = stands("MA", happened, Some(at("2026-11-02T18:00:01Z")), at("2026-12-01T00:00:00Z"));
        assert_eq!(late, Standing::ReportedLate);
        let good = stands("MA", happened, Some(at("2026-11-02T18:00:00Z")), at("2026-12-01T00:00:00Z"));
        assert_eq!(good, Standing::Reported);
    }

    #[test]
    fn a_state_that_nobody_read_is_unknown_and_not_free() {
        let happened = at("2026-10-31T18:00:00Z");
        let now = at("2027-10-31T18:00:00Z");
        assert_eq!(stands("ME", happened, None, now), Standing::AtOnce);
        assert_eq!(stands("CA", happened, None, now), Standing::Unknown);
        assert_eq!(stands("CA", happened, Some(now), now), Standing::Reported);
        assert!(DUTIES.iter().all(|duty| (duty.mark == Mark::Checked) == duty.hours.is_some()));
    }
}
