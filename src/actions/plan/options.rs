//! Where and when a stop may be: which technician's day, and at which hours, with the reason against each.
use super::{rules::Fits, travel::Roads};
use crate::{
    db::plan::{Day, Hold, SiteWindow, Stop},
    domain::{notice, route::Span},
};
use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Timelike};

/// Seconds of a day.
pub const DAY: i64 = 86_400;

/// What stands around a plan: all that the options of a stop follow from besides its own rules.
#[derive(Debug, Clone)]
pub struct Around {
    pub monday: NaiveDate,
    /// The company's clock.
    pub now: NaiveDateTime,
    pub days: Vec<Day>,
    pub holds: Vec<Hold>,
    pub roads: Roads,
    pub windows: Vec<SiteWindow>,
}

impl Around {
    /// Seconds from the week's first midnight to that time of that day.
    #[must_use]
    pub fn seconds(&self, on: NaiveDate, at: NaiveTime) -> i64 {
        (on - self.monday).num_days() * DAY + i64::from(at.num_seconds_from_midnight())
    }

    /// The other way round.
    #[must_use]
    pub fn time_of(&self, seconds: i64) -> NaiveTime {
        let of_day = u32::try_from(seconds.rem_euclid(DAY)).unwrap_or(0);
        NaiveTime::from_num_seconds_from_midnight_opt(of_day, 0).unwrap_or(NaiveTime::MIN)
    }

    /// When everybody who must hear of it beforehand can have heard.
    fn told(&self, stop: &Stop) -> Option<NaiveDateTime> {
        self.now.checked_add_signed(TimeDelta::hours(i64::from(stop.notice_hours?)))
    }

    /// Why the stop may not stand on that technician's day; nothing: it may. Without `fits` the rules of the
    /// label and the state are not asked.
    #[must_use]
    pub fn why_not(&self, stop: &Stop, fits: Option<&Fits>, day: &Day) -> Option<String> {
        let on = day.on_date;
        if on < self.now.date() {
            return Some("This day is over.".to_owned());
        }
        if let Some(promised) = stop.booked_on.filter(|_| stop.promised && !stop.waiting)
            && promised != on
        {
            return Some(format!("The customer was promised {promised}."));
        }
        if let Some(hold) = self.holds.iter().find(|hold| stands(hold, stop, on)) {
            return Some(format!("Nothing is applied there on {on}: {}.", hold.reason.trim_end_matches('.')));
        }
        if let Some(told) = self.told(stop).filter(|told| told.date() > on) {
            let hours = stop.notice_hours.unwrap_or_default();
            let because = stop.notice_reason.trim_end_matches('.');
            return Some(format!(
                "Notice must be given {hours} hours before ({because}): not before {}.",
                told.date()
            ));
        }
        if let Some(why) = self.too_soon_by_law(stop, on) {
            return Some(why);
        }
        fits?.why_not(on, day.technician_id).map(str::to_owned)
    }

    /// Why a day that is new to the stop comes too soon for a notice by law; the release looks at the hour besides,
    /// and at what was told already.
    fn too_soon_by_law(&self, stop: &Stop, on: NaiveDate) -> Option<String> {
        let rule = notice::longest_lead(&stop.state, &stop.county).filter(|_| stop.booked_on != Some(on))?;
        let first = self.now.checked_add_signed(rule.lead())?.date();
        (first > on).then(|| {
            let (what, hours) = (rule.duty.words(), rule.lead_hours);
            format!("{what}, {hours} hours ahead by law ({}): not before {first}.", rule.source)
        })
    }

    /// When work may start there in this week, so that it is done before the site closes.
    #[must_use]
    pub fn starts(&self, stop: &Stop) -> Vec<Span> {
        let service = i64::from(stop.service_minutes) * 60;
        let own: Vec<&SiteWindow> = self.windows.iter().filter(|w| w.site_id == stop.site_id).collect();
        let mut spans: Vec<Span> = if own.is_empty() {
            vec![Span::new(0, 7 * DAY)]
        } else {
            let of = |w: &&SiteWindow| {
                let on =
                    self.monday.checked_add_days(Days::new(u64::try_from(w.weekday - 1).unwrap_or(0)))?;
                let span = Span::new(self.seconds(on, w.opens), self.seconds(on, w.closes) - service);
                (span.from <= span.to).then_some(span)
            };
            own.iter().filter_map(of).collect()
        };
        if let Some(told) = self.told(stop) {
            let earliest = self.seconds(told.date(), told.time());
            spans.retain_mut(|span| {
                span.from = span.from.max(earliest);
                span.from <= span.to
            });
        }
        merged(spans)
    }

    /// What stands in the way whatever the day: no position, or hours too short for the work.
    #[must_use]
    pub fn trouble(&self, stop: &Stop) -> Option<String> {
        if stop.latitude.is_none() {
            return Some(
                "Its position is not known; enter latitude and longitude on the site's page.".to_owned(),
            );
        }
        if !self.starts(stop).is_empty() {
            return None;
        }
        let open: Vec<&SiteWindow> = self.windows.iter().filter(|w| w.site_id == stop.site_id).collect();
        let longest = open.iter().map(|w| (w.closes - w.opens).num_minutes()).max().unwrap_or_default();
        if !open.is_empty() && longest < i64::from(stop.service_minutes) {
            return Some(format!(
                "The work takes {} minutes, and the site is never open for longer than {longest}; change its hours, \
                 or the minutes of a stop there.",
                stop.service_minutes
            ));
        }
        Some("Notice cannot be given in time for any hour of this week in which the site is open.".to_owned())
    }
}

/// Whether a hold stands against this stop that day.
fn stands(hold: &Hold, stop: &Stop, on: NaiveDate) -> bool {
    let same = |own: Option<&str>, there: &str| own.is_none_or(|own| own.eq_ignore_ascii_case(there));
    hold.on_date == on
        && same(hold.state.as_deref(), &stop.state)
        && same(hold.county.as_deref(), &stop.county)
}

/// In time order and apart.
fn merged(mut spans: Vec<Span>) -> Vec<Span> {
    spans.sort_by_key(|span| (span.from, span.to));
    let mut apart: Vec<Span> = vec![];
    for span in spans {
        match apart.last_mut().filter(|last| last.to >= span.from - 1) {
            Some(last) => last.to = last.to.max(span.to),
            None => apart.push(span),
        }
    }
    apart
}

/// The Monday of the week of that day.
#[must_use]
pub fn monday_of(day: NaiveDate) -> NaiveDate {
    day - TimeDelta::days(i64::from(day.weekday().num_days_from_monday()))
}
