//! What goes onto the truck for a day: the sum of the doses and the company's reserve on top.
//!
//! The reserve makes the load larger than what may be poured; the doses stay what they are. Sums are exact.

use super::dose::{Dose, Water};
use super::pour::{Load, load};
use super::quantity::{Amount, Exact, floor_at, plain};
use num_bigint::BigInt;
use num_traits::One;

/// A planned dose of one plant record, all its alike plants together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Product.
    pub product: Amount,
    /// Least and most carrier water; none: the label states none.
    pub water: Option<(Amount, Amount)>,
}

/// The sum for one product and use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carry {
    /// What the doses need.
    pub needed: Load,
    /// What is carried: the same with the reserve, filled into the tank.
    pub carried: Load,
}

/// Adds parts of one product and use up. `reserve` is in per cent; `tank` is what the vehicle holds. None
/// without a part, or where their units do not meet.
#[must_use]
pub fn carry(parts: &[Part], reserve: u32, tank: Option<&Amount>) -> Option<Carry> {
    let factor = Exact::one() + Exact::new(BigInt::from(reserve), BigInt::from(100));
    let sum = |factor: &Exact, tank| {
        let doses: Vec<Dose> = parts.iter().map(|part| as_dose(part, factor)).collect();
        load(&doses, tank)
    };
    Some(Carry { needed: sum(&Exact::one(), None)?, carried: sum(&factor, tank)? })
}

fn as_dose(part: &Part, factor: &Exact) -> Dose {
    let times = |amount: &Amount| Amount::new(&amount.value * factor, amount.unit);
    let product = times(&part.product);
    let water = part.water.as_ref().map(|(low, high)| Water { low: times(low), high: times(high) });
    let (low, high) = (product.clone(), product.clone());
    Dose { rate: Exact::one(), product, ingredients: vec![], low, high, water }
}

/// An amount to be carried, rounded up to what a jug shows: whole pieces, else one decimal place from ten
/// on and two below.
#[must_use]
pub fn words_up(amount: &Amount) -> String {
    let small = amount.value < Exact::from(BigInt::from(10));
    let places = match (amount.unit.is_piece(), small) {
        (true, _) => 0,
        (false, true) => 2,
        (false, false) => 1,
    };
    let up = -floor_at(&-amount.value.clone(), places);
    format!("{} {}", plain(&up), amount.unit.code())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::quantity::{AmountUnit, parse};

    fn amount(value: &str, unit: &str) -> Amount {
        Amount::new(parse(value).unwrap(), AmountUnit::from_code(unit).unwrap())
    }

    fn part(product: &str, unit: &str, water: Option<(&str, &str)>) -> Part {
        let water = water.map(|(low, high)| (amount(low, "gal"), amount(high, "gal")));
        Part { product: amount(product, unit), water }
    }

    #[test]
    fn the_reserve_lies_on_top_of_the_exact_sum() {
        let parts = [part("180", "mL", Some(("10", "20"))), part("23.37", "mL", Some(("1", "2")))];
        let carry = carry(&parts, 10, Some(&amount("8", "gal"))).unwrap();
        assert_eq!(carry.needed.product, amount("203.37", "mL"));
        assert_eq!(carry.carried.product, amount("223.707", "mL"), "203.37 x 1.1");
        assert_eq!(carry.carried.water, Some((amount("12.1", "gal"), amount("24.2", "gal"))));
        // 12.1 / 8 and 24.2 / 8 tanks, filled up.
        assert_eq!(carry.carried.tanks, Some((2, 4)));
        assert_eq!((carry.needed.tanks, words_up(&carry.carried.product)), (None, "223.8 mL".into()));
        assert_eq!(super::carry(&parts, 0, None).unwrap().carried.product, amount("203.37", "mL"));
    }

    #[test]
    fn different_volumes_meet_and_volume_and_mass_do_not() {
        let mixed = [part("1", "floz", None), part("29.5735295625", "mL", None)];
        assert_eq!(carry(&mixed, 0, None).unwrap().needed.product, amount("2", "floz"));
        assert_eq!(carry(&mixed, 0, None).unwrap().needed.water, None);
        assert_eq!(carry(&[part("1", "floz", None), part("1", "oz", None)], 0, None), None);
        assert_eq!(carry(&[], 0, None), None);
    }

    #[test]
    fn what_is_carried_is_rounded_up() {
        for (value, unit, words) in [
            ("3.3", "each", "4 each"),
            ("4", "each", "4 each"),
            ("9.991", "g", "10 g"),
            ("1.201", "floz", "1.21 floz"),
            ("10.01", "mL", "10.1 mL"),
        ] {
            let Ok(unit) = AmountUnit::from_code(unit) else { continue };
            assert_eq!(words_up(&Amount::new(parse(value).unwrap(), unit)), words);
        }
    }
}
