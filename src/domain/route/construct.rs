//! The beginning of every plan: locked stops that keep their order.

use super::state::State;

/// Puts the stops that are locked in an order on their days; what cannot be kept there stays out.
pub fn pin(state: &mut State<'_, '_>) {
    let model = state.model;
    let mut pinned: Vec<(u32, u32)> = Vec::new();
    for stop in &state.absent {
        if let Some(rank) = model.ways[*stop as usize].pinned {
            pinned.push((rank, *stop));
        }
    }
    pinned.sort_unstable();
    state.begin();
    for (_, stop) in pinned {
        let Some(day) = model.ways[stop as usize].days.first() else { continue };
        let day = *day as usize;
        if !state.days[day].holds(model, &model.stops[stop as usize].load) {
            continue;
        }
        let end = state.days[day].order.len();
        state.insert(stop, day, end);
        if state.days[day].keeps_time(model) {
            state.absent.retain(|absent| *absent != stop);
        } else {
            state.change(day, |order| {
                order.pop();
            });
            state.absent.retain(|absent| *absent != stop);
            state.removed(stop);
        }
    }
}
