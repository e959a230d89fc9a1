//! Records that were split: a part got what the whole record got before.
use super::rows::PlantRow;
use crate::domain::{
    facts::Application,
    quantity::{Amount, Exact},
};
use num_traits::Zero;

/// Adds to the history of each part what the record it came from had until the split, with no amount: that
/// counts once, under the record that got it.
pub fn share_the_past(plants: &[PlantRow], history: &mut Vec<Application>) {
    let mut parts: Vec<&PlantRow> = plants.iter().filter(|p| p.split_from.is_some()).collect();
    // A part of a part takes what its own whole had taken over before.
    parts.sort_by_key(|p| (p.split_on, p.id));
    for part in parts {
        let (Some(from), Some(day)) = (part.split_from, part.split_on) else { continue };
        let from = from.to_string();
        let past: Vec<Application> = history
            .iter()
            .filter(|a| a.plant.as_deref() == Some(&from) && a.on <= day)
            .map(|a| Application {
                plant: Some(part.id.to_string()),
                amount: Amount::new(Exact::zero(), a.amount.unit),
                ..a.clone()
            })
            .collect();
        history.extend(past);
    }
}
