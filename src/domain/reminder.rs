//! When a customer is reminded that a plant's protection ends, and of which plants in one message.
//!
//! The company sets days before a treatment is due and days after protection has run out: the *steps*,
//! in the order in which they come. A step that falls on a quiet day moves to the next day that is not. Of several
//! steps whose day has come only the newest is said: after a standstill one message goes out and no heap of
//! them. A step that is older than [`STALE_DAYS`] is not said at all.
//!
//! A site gets one message a day at most: all its plants of which something is to be said stand in it, and those
//! that are due within [`TOGETHER_DAYS`] of the first one with them.
use super::calendar::{add_days, sub_days};
use chrono::{Datelike, NaiveDate};

/// Plants due within so many days after the first one are named with it, in days (common practice, no published
/// source).
pub const TOGETHER_DAYS: u32 = 30;
/// A step so many days old is passed over, in days: who has not been reminded for as long is called, not written to.
pub const STALE_DAYS: i64 = 30;

/// The company's dates.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Terms {
    /// Days before a treatment is due, the longest first.
    pub before: Vec<u32>,
    /// Days after protection has run out, the shortest first.
    pub after: Vec<u32>,
    /// ISO weekdays (1 is Monday) on which nothing goes out; never all seven.
    pub quiet_weekdays: Vec<u32>,
    /// Single days on which nothing goes out.
    pub quiet_dates: Vec<NaiveDate>,
}

/// A plant whose protection ends and about which nobody has decided yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plant {
    /// The day for which the next treatment is due.
    pub due_on: NaiveDate,
    /// The first day without protection.
    pub lapses_on: NaiveDate,
    /// The [mark](Step::mark) of the latest step said in this season; none: nothing was said yet.
    pub said: Option<i32>,
}

/// What kind of step it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// So many days before the treatment is due.
    Before(u32),
    /// So many days after protection ran out.
    After(u32),
}

impl Step {
    /// Where it stands in the season, whatever the company's other dates are: the days before count below zero.
    /// What was said keeps its place when the company changes its dates.
    #[must_use]
    pub fn mark(self) -> i32 {
        let days = |days: u32| i32::try_from(days).unwrap_or(i32::MAX - 1);
        match self {
            Self::Before(n) => -days(n),
            Self::After(n) => days(n) + 1,
        }
    }
}

/// A message that is to go out: its step, and which plants it names, by their place in the list asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Round {
    pub step: Step,
    /// The day on which it was to go out.
    pub on: NaiveDate,
    /// The first is the one whose dates decide.
    pub plants: Vec<usize>,
    /// What counts as said of each of them from now on, as [marks](Step::mark).
    pub marks: Vec<i32>,
}

impl Terms {
    /// The steps in the order in which they come.
    #[must_use]
    pub fn steps(&self) -> Vec<Step> {
        let before = self.before.iter().map(|days| Step::Before(*days));
        let mut all: Vec<Step> = before.chain(self.after.iter().map(|days| Step::After(*days))).collect();
        all.sort_by_key(|step| step.mark());
        all
    }

    /// Whether nothing goes out on this day.
    #[must_use]
    pub fn is_quiet(&self, day: NaiveDate) -> bool {
        self.quiet_weekdays.contains(&day.weekday().number_from_monday()) || self.quiet_dates.contains(&day)
    }

    /// The day on which a step of this plant goes out: its own, or the first after it that is not quiet.
    #[must_use]
    pub fn day_of(&self, step: Step, plant: &Plant) -> NaiveDate {
        let own = match step {
            Step::Before(days) => sub_days(plant.due_on, days),
            Step::After(days) => add_days(plant.lapses_on.max(plant.due_on), days),
        };
        // A year of single quiet days at most: then the rule of weekdays alone leaves a day.
        let after = (0..=366).map(|more| add_days(own, more)).find(|day| !self.is_quiet(*day));
        after.unwrap_or(own)
    }

    /// The newest step of this plant whose day has come, with its day.
    #[must_use]
    pub fn newest(&self, plant: &Plant, today: NaiveDate) -> Option<(Step, NaiveDate)> {
        let mut days = self.steps().into_iter().map(|step| (step, self.day_of(step, plant)));
        days.rfind(|(_, day)| *day <= today)
    }

    /// The message that goes out today to a site with these plants; none: nothing is to be said today.
    #[must_use]
    pub fn round(&self, plants: &[Plant], today: NaiveDate) -> Option<Round> {
        if self.is_quiet(today) {
            return None;
        }
        let mut order: Vec<usize> = (0..plants.len()).collect();
        order.sort_by_key(|at| (plants[*at].due_on, *at));
        let unsaid = |at: usize, mark: i32| plants[at].said.is_none_or(|said| said < mark);
        let fresh = |at: usize| {
            let (step, on) = self.newest(&plants[at], today)?;
            ((today - on).num_days() <= STALE_DAYS && unsaid(at, step.mark())).then_some((step, on))
        };
        let first = *order.iter().find(|at| fresh(**at).is_some())?;
        let (step, on) = fresh(first)?;
        let last = add_days(plants[first].due_on, TOGETHER_DAYS);
        let mut round = Round { step, on, plants: vec![first], marks: vec![step.mark()] };
        for at in order.into_iter().filter(|at| *at != first) {
            let own = fresh(at).map(|(step, _)| step.mark());
            let with = plants[at].due_on >= plants[first].due_on
                && plants[at].due_on <= last
                && unsaid(at, step.mark());
            if let Some(mark) = own.max(with.then_some(step.mark())) {
                round.plants.push(at);
                round.marks.push(mark);
            }
        }
        Some(round)
    }

    /// The days from `today` to `until` on which something would be said if nothing changes meanwhile, with what.
    #[must_use]
    pub fn ahead(&self, plants: &[Plant], today: NaiveDate, until: NaiveDate) -> Vec<(NaiveDate, Round)> {
        let mut plants = plants.to_vec();
        let mut all = vec![];
        for day in today.iter_days().take_while(|day| *day <= until) {
            while let Some(round) = self.round(&plants, day) {
                for (at, mark) in round.plants.iter().zip(&round.marks) {
                    plants[*at].said = Some(*mark);
                }
                all.push((day, round));
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn terms() -> Terms {
        Terms { before: vec![45, 21, 7], after: vec![14], quiet_weekdays: vec![6, 7], quiet_dates: vec![] }
    }

    fn plant(due: &str, lapses: &str) -> Plant {
        Plant { due_on: day(due), lapses_on: day(lapses), said: None }
    }

    /// 2027-03-01 is a Monday: 45 days before it is Friday 15 January, 21 before Monday 8 February, 7 before
    /// Monday 22 February; 14 after Monday 15 March is Monday 29 March.
    #[test]
    fn a_plant_is_reminded_of_on_the_companys_dates() {
        let all = terms().ahead(&[plant("2027-03-01", "2027-03-15")], day("2026-12-01"), day("2027-12-31"));
        let days: Vec<String> = all.iter().map(|(on, _)| on.to_string()).collect();
        assert_eq!(days, ["2027-01-15", "2027-02-08", "2027-02-22", "2027-03-29"]);
        assert_eq!(all[3].1.step, Step::After(14));
    }

    #[test]
    fn a_quiet_day_moves_a_step_to_the_next_day_that_is_not() {
        // Saturday 16 January, then Sunday, then a holiday on Monday.
        let mut terms = terms();
        terms.quiet_dates = vec![day("2027-01-18")];
        let plant = plant("2027-03-02", "2027-03-16");
        assert_eq!(terms.day_of(Step::Before(45), &plant), day("2027-01-19"));
        assert_eq!(terms.round(std::slice::from_ref(&plant), day("2027-01-18")), None);
        assert!(terms.round(&[plant], day("2027-01-19")).is_some());
    }

    #[test]
    fn after_a_standstill_only_the_newest_step_is_said() {
        let plants = [plant("2027-03-01", "2027-03-15")];
        let late = terms().round(&plants, day("2027-02-23")).unwrap();
        assert_eq!(late.step, Step::Before(7), "the steps of 45 and 21 days are passed over");
        let said = [Plant { said: Some(late.step.mark()), ..plants[0].clone() }];
        assert_eq!(terms().round(&said, day("2027-02-24")), None);
        assert_eq!(
            terms().round(&plants, day("2028-03-01")),
            None,
            "what lapsed a year ago is not written about"
        );
    }

    #[test]
    fn plants_that_are_due_about_the_same_time_stand_in_one_message() {
        let mut plants = vec![
            plant("2027-03-20", "2027-04-03"),
            plant("2027-03-01", "2027-03-15"),
            plant("2027-05-01", "2027-05-15"),
        ];
        let first = terms().round(&plants, day("2027-01-15")).unwrap();
        assert_eq!(first.plants, [1, 0], "the third is due two months later");
        for (at, mark) in first.plants.iter().zip(first.marks) {
            plants[*at].said = Some(mark);
        }
        assert_eq!(terms().round(&plants, day("2027-02-03")), None, "the second was named already");
        let all = terms().ahead(&plants, day("2027-01-16"), day("2027-12-31"));
        let seven: Vec<_> = all.iter().filter(|(_, r)| r.step == Step::Before(7)).collect();
        assert_eq!(seven.len(), 2, "the two that go together, then the third");
    }

    #[test]
    fn a_site_gets_one_message_a_day_with_all_that_is_to_be_said() {
        // The first lapsed fourteen days ago, the second is due in 45 days.
        let plants = [plant("2027-01-25", "2027-02-08"), plant("2027-04-08", "2027-04-22")];
        let all = terms().ahead(&plants, day("2027-02-22"), day("2027-02-28"));
        assert_eq!(all.len(), 1, "{all:?}");
        assert_eq!((all[0].1.plants.clone(), all[0].1.marks.clone()), (vec![0, 1], vec![15, -45]));
        assert_eq!(all[0].1.step, Step::After(14));
    }

    #[test]
    fn a_step_after_the_lapse_counts_from_the_later_of_lapse_and_due_day() {
        let held = plant("2027-06-01", "2027-03-15");
        assert_eq!(terms().day_of(Step::After(14), &held), day("2027-06-15"));
    }
}
