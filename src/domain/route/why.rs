//! Why a stop stays out: the most telling reason that is true.

use super::day::Day;
use super::model::{Model, UNLIMITED, has_skills, holds, may_take, meets};
use super::plan::Why;
use super::problem::{LOADS, Stop};

/// The reason why that stop is not in the plan with these orders.
pub fn why(model: &Model<'_>, orders: &[Vec<u32>], stop: usize) -> Why {
    let asked = &model.problem.stops[stop];
    let reason = alone(model, stop);
    if asked.locked.is_some() {
        return Why::LockFails(reason.map(Box::new));
    }
    reason.unwrap_or_else(|| beside_others(model, orders, stop))
}

/// A reason that holds even if no other stop were planned.
fn alone(model: &Model<'_>, stop: usize) -> Option<Why> {
    let problem = model.problem;
    let asked = &problem.stops[stop];
    if problem.days.is_empty() {
        return Some(Why::NoDays);
    }
    let listed = |day: &usize| {
        asked.only.as_ref().is_none_or(|only| only.contains(day))
            && asked.locked.is_none_or(|lock| lock.day == *day)
    };
    let days: Vec<usize> = (0..problem.days.len()).filter(listed).collect();
    if days.is_empty() {
        return Some(Why::NoneAllowed);
    }
    let starts = asked.starts();
    if starts.is_empty() {
        return Some(Why::NoWindow);
    }
    let any = |test: &dyn Fn(usize) -> bool| days.iter().any(|day| test(*day));
    if !any(&|day| has_skills(asked, &problem.days[day])) {
        return Some(Why::NoSkill(lacking(asked, model, &days)));
    }
    if let Some(release) = asked.release
        && !any(&|day| release <= problem.days[day].day)
    {
        return Some(Why::NotReleased { release });
    }
    if !any(&|day| holds(asked, &problem.days[day])) {
        let over = |load: &usize| {
            days.iter()
                .all(|day| problem.days[*day].capacity[*load].is_some_and(|most| asked.load[*load] > most))
        };
        return Some((0..LOADS).find(over).map_or(Why::NoDayMeetsAll, |load| Why::OverTank { load }));
    }
    if !any(&|day| meets(&starts, &problem.days[day])) {
        return Some(Why::OutsideHours);
    }
    let reachable = |day: usize| fits_empty(model, day, stop);
    if !any(&reachable) {
        return Some(Why::TooFar);
    }
    let all = |day: usize| may_take(asked, day, &problem.days[day]) && reachable(day);
    (!any(&all)).then_some(Why::NoDayMeetsAll)
}

/// Skills that none of these days brings; all that are asked for if only their union is missing.
fn lacking(asked: &Stop, model: &Model<'_>, days: &[usize]) -> Vec<String> {
    let nobody = |skill: &&String| !days.iter().any(|day| model.problem.days[*day].skills.contains(skill));
    let missing: Vec<String> = asked.skills.iter().filter(nobody).cloned().collect();
    if missing.is_empty() { asked.skills.clone() } else { missing }
}

/// Would the stop alone keep the hours of that day?
fn fits_empty(model: &Model<'_>, day: usize, stop: usize) -> bool {
    let mut empty = Day::new(model, day);
    empty.order.push(u32::try_from(stop).unwrap_or(0));
    empty.refresh(model);
    empty.keeps_time(model)
}

/// Full tanks or full days.
fn beside_others(model: &Model<'_>, orders: &[Vec<u32>], stop: usize) -> Why {
    let index = u32::try_from(stop).unwrap_or(0);
    let time_alone = |day: &u32| {
        let mut filled = Day::new(model, *day as usize);
        filled.order.clone_from(&orders[*day as usize]);
        filled.refresh(model);
        filled.load = [-UNLIMITED; LOADS];
        filled.best_place(model, index, None).is_some()
    };
    if model.ways[stop].days.iter().any(time_alone) { Why::TanksFull } else { Why::DaysFull }
}
