//! The time of day, handed in wherever it is needed: the only place that reads the system's.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;

/// A clock. Copies of a fixed one share their time, so that a test moves it for everybody.
#[derive(Debug, Clone)]
pub struct Clock(Source);

#[derive(Debug, Clone)]
enum Source {
    System,
    Fixed(Arc<Mutex<DateTime<Utc>>>),
}

impl Clock {
    /// The machine's clock.
    #[must_use]
    pub fn system() -> Self {
        Self(Source::System)
    }

    /// A clock that stands still until it is set.
    #[must_use]
    pub fn fixed(at: DateTime<Utc>) -> Self {
        Self(Source::Fixed(Arc::new(Mutex::new(at))))
    }

    /// This moment.
    #[must_use]
    #[expect(clippy::disallowed_methods, reason = "the one caller of the machine's clock")]
    pub fn now(&self) -> DateTime<Utc> {
        match &self.0 {
            Source::System => Utc::now(),
            Source::Fixed(at) => *lock(at),
        }
    }

    /// The calendar day on which this moment falls in the company's time zone: the day that
    /// records, limits and due dates count by.
    #[must_use]
    pub fn today(&self, zone: Tz) -> NaiveDate {
        self.now().with_timezone(&zone).date_naive()
    }

    /// Sets a fixed clock, in all its copies.
    ///
    /// # Panics
    /// The system's clock cannot be set.
    pub fn set(&self, to: DateTime<Utc>) {
        match &self.0 {
            Source::System => panic!("only a fixed clock can be set"),
            Source::Fixed(at) => *lock(at) = to,
        }
    }

    /// Moves a fixed clock forward (or back), in all its copies.
    ///
    /// # Panics
    /// The system's clock cannot be moved.
    pub fn advance(&self, by: TimeDelta) {
        self.set(self.now() + by);
    }
}

/// A moment is whole whatever happened to the thread that held the lock.
fn lock(at: &Mutex<DateTime<Utc>>) -> MutexGuard<'_, DateTime<Utc>> {
    at.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::TimeZone;

    #[test]
    fn copies_of_a_fixed_clock_move_together() {
        let clock = Clock::fixed(Utc.with_ymd_and_hms(2026, 3, 1, 8, 0, 0).unwrap());
        let copy = clock.clone();
        clock.advance(TimeDelta::hours(2));
        assert_eq!(copy.now(), Utc.with_ymd_and_hms(2026, 3, 1, 10, 0, 0).unwrap());
    }

    #[test]
    fn the_day_is_the_companys_not_greenwichs() {
        // One o'clock at night in Greenwich is the afternoon before in California.
        let clock = Clock::fixed(Utc.with_ymd_and_hms(2026, 1, 1, 1, 0, 0).unwrap());
        let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
        assert_eq!(clock.today(chrono_tz::America::Los_Angeles), day(2025, 12, 31));
        assert_eq!(clock.today(chrono_tz::UTC), day(2026, 1, 1));
    }
}
