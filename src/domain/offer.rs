//! Days that can be offered to a customer who wants another one than the day due.
use super::calendar::add_days;
use chrono::{Datelike, NaiveDate};

/// So many days ahead a customer may choose, in days.
pub const DAYS_AHEAD: u32 = 70;
/// The first day offered lies so many days ahead, in days: the week is planned before it begins.
pub const FIRST_AHEAD: u32 = 3;
/// So many days are offered at most; more is no choice but a calendar.
pub const MOST: usize = 10;
/// What the way to one more stop takes, in minutes, where no plan has worked it out yet (common practice, no
/// published source).
pub const WAY_MINUTES: i64 = 20;

/// A technician's weekday: how many minutes of work it holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WorkingDay {
    /// Which technician, by any number.
    pub who: usize,
    /// 1 is Monday.
    pub weekday: u32,
    /// Minutes without the break.
    pub minutes: i64,
}

/// A technician's day that is taken up in part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    pub who: usize,
    pub on: NaiveDate,
    /// Minutes at the stops and on the way to them.
    pub minutes: i64,
}

/// What is asked about.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// The first day on which every plant in question may be treated.
    pub allowed_on: Option<NaiveDate>,
    /// Minutes that the stop takes, the way to it not counted.
    pub minutes: i64,
    /// Weekdays on which the site may be entered; none: any.
    pub weekdays: Vec<u32>,
    /// Days on hold there.
    pub held: Vec<NaiveDate>,
}

/// The days that have room, the earliest first: somebody works, the site is open, nothing is on hold, the rules
/// allow it. No hours entered for anybody: no day can be offered.
#[must_use]
pub fn days(today: NaiveDate, asked: &Asked, working: &[WorkingDay], taken: &[Taken]) -> Vec<NaiveDate> {
    let first = add_days(today, FIRST_AHEAD).max(asked.allowed_on.unwrap_or(today));
    let last = add_days(today, DAYS_AHEAD);
    let has_room = |day: &NaiveDate| {
        let weekday = day.weekday().number_from_monday();
        let open = asked.weekdays.is_empty() || asked.weekdays.contains(&weekday);
        open && !asked.held.contains(day)
            && working.iter().filter(|w| w.weekday == weekday).any(|w| {
                let used: i64 =
                    taken.iter().filter(|t| t.who == w.who && t.on == *day).map(|t| t.minutes).sum();
                used + asked.minutes + WAY_MINUTES <= w.minutes
            })
    };
    first.iter_days().take_while(|day| *day <= last).filter(has_room).take(MOST).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// 2026-11-25 is a Wednesday.
    #[test]
    fn a_day_is_offered_where_somebody_has_room_and_nothing_stands_against_it() {
        let today = day("2026-11-25");
        let working = [1, 2, 3].map(|weekday| WorkingDay { who: 0, weekday, minutes: 120 });
        let asked = Asked { minutes: 60, held: vec![day("2026-12-01")], ..Asked::default() };
        let full = [Taken { who: 0, on: day("2026-11-30"), minutes: 41 }];
        let found = days(today, &asked, &working, &full);
        assert_eq!(found[..2], [day("2026-12-02"), day("2026-12-07")], "full, on hold, then a Wednesday");
        assert_eq!(found.len(), MOST);
        let room = [Taken { minutes: 40, ..full[0] }];
        assert_eq!(days(today, &asked, &working, &room)[0], day("2026-11-30"), "exactly enough is enough");
        let tuesdays = Asked { weekdays: vec![2], ..asked.clone() };
        assert_eq!(days(today, &tuesdays, &working, &[])[0], day("2026-12-08"));
        let later = Asked { allowed_on: Some(day("2027-01-15")), ..asked };
        assert_eq!(days(today, &later, &working, &[])[0], day("2027-01-18"));
    }

    #[test]
    fn where_no_hours_are_known_no_day_is_offered() {
        assert!(days(day("2026-11-25"), &Asked::default(), &[], &[]).is_empty());
        let far = Asked { allowed_on: Some(day("2028-01-01")), ..Asked::default() };
        let always = (1..=7).map(|weekday| WorkingDay { who: 0, weekday, minutes: 480 }).collect::<Vec<_>>();
        assert!(days(day("2026-11-25"), &far, &always, &[]).is_empty(), "too far ahead to promise");
    }
}
