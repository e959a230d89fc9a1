//! Times along one technician-day, by how many breaks have been taken.
//!
//! Every step of a day (drive, take a break, wait, work) turns an earlier
//! arrival into an end that is no later, so two rows of times decide exactly
//! whether a stop fits between two others: how early one can be done with the
//! first, and how late one may arrive at the second. With breaks there is one
//! such time per number of breaks taken.

use super::model::{DayModel, StopModel};
use super::problem::{Break, MAX_BREAKS, Span};

/// Times by the number of breaks taken.
pub type Times = [i64; MAX_BREAKS + 1];

/// No way to be there with so many breaks taken.
pub const NEVER: i64 = i64::MAX / 4;
/// No arrival is early enough.
pub const TOO_LATE: i64 = i64::MIN / 4;

/// The day's first times: at the start place, no break taken (or as many as fit at once).
pub fn leaving(day: &DayModel) -> Times {
    let mut times = [NEVER; MAX_BREAKS + 1];
    times[0] = day.window.from;
    pause(&day.breaks, &mut times);
    times
}

/// Breaks that are taken here: none, or one, or more.
pub fn pause(breaks: &[Break], times: &mut Times) {
    for (taken, pause) in breaks.iter().enumerate() {
        if let Some(end) = end_of(pause, times[taken]) {
            times[taken + 1] = times[taken + 1].min(end);
        }
    }
}

/// When a break is over for somebody who is free at `time`; `None`: it is too late for it.
pub fn end_of(pause: &Break, time: i64) -> Option<i64> {
    let start = time.max(pause.start.from);
    (start <= pause.start.to).then_some(start + pause.length)
}

/// Done with a stop (and with the breaks after it), from done with the place before.
pub fn serve(breaks: &[Break], before: &Times, drive: i64, stop: &StopModel) -> Times {
    let mut times = before.map(|time| if time >= NEVER { NEVER } else { time + drive });
    pause(breaks, &mut times);
    for time in &mut times {
        *time = match stop.start(*time) {
            Some(start) if *time < NEVER => start + stop.service,
            _ => NEVER,
        };
    }
    pause(breaks, &mut times);
    times
}

/// How late one may be at the end place: within hours, and before the latest start of a break that
/// has not been taken.
pub fn ending(day: &DayModel) -> Times {
    let mut times = [TOO_LATE; MAX_BREAKS + 1];
    times[day.breaks.len()] = day.window.to;
    for (taken, pause) in day.breaks.iter().enumerate() {
        times[taken] = day.window.to.min(pause.start.to);
    }
    unpause(&day.breaks, &mut times);
    times
}

/// The reverse of [`pause`]: how late one may be free, breaks still to be taken here or not.
fn unpause(breaks: &[Break], times: &mut Times) {
    for (taken, pause) in breaks.iter().enumerate().rev() {
        let Span { from, to } = pause.start;
        let latest = times[taken + 1].saturating_sub(pause.length).min(to);
        if latest >= from {
            times[taken] = times[taken].max(latest);
        }
    }
}

/// The reverse of [`serve`]: how late one may arrive at a stop, from how late at the next place.
pub fn serve_back(breaks: &[Break], after: &Times, drive: i64, stop: &StopModel) -> Times {
    let mut times = after.map(|time| if time <= TOO_LATE { TOO_LATE } else { time - drive });
    unpause(breaks, &mut times);
    for time in &mut times {
        let latest = if *time <= TOO_LATE { None } else { stop.latest_start(*time - stop.service) };
        *time = latest.unwrap_or(TOO_LATE);
    }
    unpause(breaks, &mut times);
    times
}

/// Do earliest and latest times meet for some number of breaks, with a drive between?
pub fn meet(earliest: &Times, drive: i64, latest: &Times) -> bool {
    earliest.iter().zip(latest).any(|(early, late)| *early < NEVER && early + drive <= *late)
}
