//! What is known of a plant record, turned into what the engine asks.

use super::facts::Eaten;
use super::label::MeasureBasis;
use super::measure::{StemRule, combined_diameter};
use super::quantity::Exact;
use num_traits::One;

/// Whether people may eat what a drench reaches: the plant itself or a food
/// plant in its root zone. One "yes" is enough, and one "unknown" is no "no".
pub fn food_reached(plant: Eaten, root_zone: Eaten) -> Eaten {
    match (plant, root_zone) {
        (Eaten::Yes, _) | (_, Eaten::Yes) => Eaten::Yes,
        (Eaten::No, Eaten::No) => Eaten::No,
        _ => Eaten::Unknown,
    }
}

/// The measure that a use asks of a plant: height in feet, or one trunk
/// diameter in inches from its stems. None where it was not measured so, or
/// where several stems have no rule.
pub fn measure_for(
    basis: MeasureBasis,
    height_ft: Option<Exact>,
    stems_in: &[Exact],
    rule: Option<StemRule>,
) -> Option<Exact> {
    match (basis, stems_in) {
        (MeasureBasis::HeightFt, _) => height_ft,
        (MeasureBasis::DiameterIn, []) => None,
        (MeasureBasis::DiameterIn, [one]) => Some(one.clone()),
        (MeasureBasis::DiameterIn, several) => rule.map(|rule| combined_diameter(several, rule)),
        (MeasureBasis::Plant | MeasureBasis::Container, _) => Some(Exact::one()),
        // A girth or an area of ground is not among what is kept of a plant.
        (MeasureBasis::CircumferenceIn | MeasureBasis::ThousandSquareFeet | MeasureBasis::Acre, _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::quantity::parse;

    #[test]
    fn unknown_is_not_no() {
        assert_eq!(food_reached(Eaten::No, Eaten::Unknown), Eaten::Unknown);
        assert_eq!(food_reached(Eaten::Unknown, Eaten::Yes), Eaten::Yes);
        assert_eq!(food_reached(Eaten::No, Eaten::No), Eaten::No);
    }

    #[test]
    fn a_tree_of_several_stems_needs_a_rule() {
        let stems = ["5", "6", "8"].map(|s| parse(s).unwrap());
        let measure = |rule| measure_for(MeasureBasis::DiameterIn, None, &stems, rule);
        assert_eq!(measure(None), None);
        assert_eq!(measure(Some(StemRule::Sum)), Some(parse("19").unwrap()));
        assert_eq!(measure_for(MeasureBasis::DiameterIn, None, &stems[..1], None), Some(parse("5").unwrap()));
        assert_eq!(measure_for(MeasureBasis::HeightFt, None, &stems, None), None, "unknown is not zero");
    }
}
