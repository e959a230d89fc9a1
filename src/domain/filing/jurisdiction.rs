//! What is known of one jurisdiction.

use super::{
    draft::{Draft, Input},
    period::{Every, Period},
    source::Ground,
};
use crate::domain::{
    permission::Mark,
    record::{Field, RecordRule},
};
use chrono::NaiveDate;

/// Where a part that a rule asks for is kept in this house.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// In the record itself: all of these fields.
    Record(&'static [Field]),
    /// In the label entry that the record names.
    Label,
    /// With the company or its people: it stands on every sheet.
    Company,
    /// Nowhere: it is kept outside, as the words say.
    Outside(&'static str),
}

/// One part of what a rule asks a record to hold, in our words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Element {
    /// What is asked.
    pub words: &'static str,
    /// Where it is kept.
    pub kept: Kept,
}

impl Element {
    /// A part that the record holds in these fields.
    pub const fn field(words: &'static str, fields: &'static [Field]) -> Self {
        Self { words, kept: Kept::Record(fields) }
    }

    /// A part that follows from the label entry.
    pub const fn label(words: &'static str) -> Self {
        Self { words, kept: Kept::Label }
    }

    /// A part that stands with the company.
    pub const fn company(words: &'static str) -> Self {
        Self { words, kept: Kept::Company }
    }

    /// A part that has no place here, and where it is kept instead.
    pub const fn outside(words: &'static str, instead: &'static str) -> Self {
        Self { words, kept: Kept::Outside(instead) }
    }
}

/// Is a report owed for a period without work?
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nil {
    /// Yes.
    Owed,
    /// It was not found out.
    NotFound,
}

/// What becomes of a due day on a Saturday, a Sunday or a public holiday.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weekend {
    /// No rule was seen: the day stands.
    NotSeen,
    /// It may wait for the next business day. An unverified rule moves nothing: the page only names it.
    NextBusinessDay(Mark, &'static str),
}

/// A report that is owed to a regulator.
#[derive(Debug, Clone, Copy)]
pub struct FilingRule {
    /// Its code in addresses and in the database, such as `ca-monthly`.
    pub code: &'static str,
    /// Its name in our words.
    pub title: &'static str,
    /// The time it covers.
    pub every: Every,
    /// One for each county, or one for the whole state?
    pub per_county: bool,
    /// The last day on which it may be sent, before any weekend rule. None: it was not found.
    pub due: Option<fn(Period) -> NaiveDate>,
    /// The weekend rule.
    pub weekend: Weekend,
    /// Is it owed without work?
    pub nil: Nil,
    /// To whom and how.
    pub goes_to: &'static str,
    /// What of it could not be read. While anything stands here, no report of this rule is called complete.
    pub unread: &'static [&'static str],
    /// Where it is written.
    pub source: &'static str,
    /// How far that was checked.
    pub mark: Mark,
    /// Puts what was applied into the layout.
    pub layout: fn(&Input<'_>) -> Draft,
}

impl FilingRule {
    /// The last day for a period: moved to the next business day only where the jurisdiction's rule was read.
    pub fn due_on(&self, period: Period) -> Option<NaiveDate> {
        let day = self.due.map(|due| due(period))?;
        Some(match self.weekend {
            Weekend::NextBusinessDay(Mark::Checked | Mark::PartChecked, _) => {
                super::business_day::or_next(day)
            }
            Weekend::NextBusinessDay(Mark::Unverified, _) | Weekend::NotSeen => day,
        })
    }

    /// What there is to say where the due day is no business day; none: it is one, or none is known.
    pub fn weekend_words(&self, period: Period) -> Option<String> {
        let day = self.due.map(|due| due(period))?;
        let next = super::business_day::or_next(day);
        if next == day {
            return None;
        }
        let falls = format!("{day} is a {}", super::business_day::what(day));
        Some(match self.weekend {
            Weekend::NotSeen => format!("{falls}. No rule was seen that lets it wait: send it by then."),
            Weekend::NextBusinessDay(Mark::Unverified, source) => format!(
                "{falls}. It may be allowed to wait until {next} ({source}, unverified): send it by the earlier day."
            ),
            Weekend::NextBusinessDay(mark, source) => {
                format!("{falls}; it may wait until {next} ({source}, {}).", mark.words())
            }
        })
    }
}

/// A state, or the federation.
#[derive(Debug, Clone, Copy)]
pub struct Jurisdiction {
    /// Two capital letters; `US` for federal law.
    pub code: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What it asks of records.
    pub record: RecordRule,
    /// The report that it wants from time to time; none was found.
    pub filing: Option<FilingRule>,
    /// What of its record rule could not be read, and what it asks beside it that is not prepared here.
    pub gaps: &'static [&'static str],
    /// What else its pages rest on.
    pub grounds: &'static [Ground],
}

impl Jurisdiction {
    /// Was all of it read, and has all that it asks a place here?
    pub fn is_whole(&self) -> bool {
        self.gaps.is_empty() && self.record.outside().next().is_none()
    }
}
