//! From the exact dose to what a cup, a syringe or a tank can show.
//!
//! A vessel shows multiples of its mark. The amount for one plant is rounded to
//! the nearest mark, never out of the label's band; where no mark lies inside
//! the band the vessel cannot show the dose, and says so.

use super::dose::Dose;
use super::quantity::{Amount, AmountUnit, Exact, UnitError, kept, plain};
use num_bigint::BigInt;
use num_traits::{One, ToPrimitive, Zero};

/// A cup, a syringe, a scale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Vessel {
    /// Name, such as `measuring cup`.
    pub name: String,
    /// From mark to mark; above zero.
    pub mark: Amount,
    /// How much it holds, where that is less than any dose.
    pub holds: Option<Amount>,
}

/// A dose as a vessel shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// For one plant, in the unit of the mark.
    pub each: Amount,
    /// For all alike plants of the record.
    pub total: Amount,
    /// The rate that this is, in the rate's unit; for checking caps anew, since
    /// the nearest mark may lie above the dose.
    pub rate: Exact,
    /// How often the vessel is filled for one plant; none: it is not said how
    /// much it holds.
    pub fillings: Option<u64>,
}

/// Why a vessel does not show a dose.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CannotShow {
    /// A cup for a powder, a scale for a liquid.
    #[error("{0} measures another kind of amount")]
    Kind(String),
    /// No mark lies inside the band.
    #[error("{vessel} cannot show it inside the band of {low} to {high}: its marks are {mark} apart")]
    Band {
        /// Name of the vessel.
        vessel: String,
        /// Least for one plant.
        low: String,
        /// Most for one plant.
        high: String,
        /// From mark to mark.
        mark: String,
    },
}

/// What `vessel` shows for the dose of `count` alike plants.
///
/// # Errors
/// [`CannotShow`].
pub fn show(dose: &Dose, count: u32, vessel: &Vessel) -> Result<Shown, CannotShow> {
    let kind = |_: UnitError| CannotShow::Kind(vessel.name.clone());
    let count = BigInt::from(count.max(1));
    let marks = |amount: &Amount| -> Result<Exact, CannotShow> {
        let each = amount.in_unit(vessel.mark.unit).map_err(kind)?.value / &count;
        Ok(each / &vessel.mark.value)
    };
    let (wanted, low, high) = (marks(&dose.product)?, marks(&dose.low)?, marks(&dose.high)?);
    let (least, most) = (low.ceil().max(Exact::one()), high.floor());
    if least > most {
        let words = |amount: &Amount| Amount::new(&amount.value / &count, amount.unit).words();
        return Err(CannotShow::Band {
            vessel: vessel.name.clone(),
            low: words(&dose.low),
            high: words(&dose.high),
            mark: vessel.mark.words(),
        });
    }
    let half = Exact::new(BigInt::one(), BigInt::from(2));
    // Of two marks as near the lower one.
    let nearest = (&wanted - half).ceil().max(least).min(most);
    let each = Amount::new(&nearest * &vessel.mark.value, vessel.mark.unit);
    let holds = vessel.holds.as_ref().and_then(|holds| holds.in_unit(each.unit).ok());
    let fillings =
        holds.filter(|holds| !holds.value.is_zero()).map(|holds| (&each.value / holds.value).ceil());
    Ok(Shown {
        total: Amount::new(&each.value * &count, each.unit),
        rate: if wanted.is_zero() { dose.rate.clone() } else { &dose.rate * nearest / wanted },
        fillings: fillings.and_then(|times| times.to_integer().to_u64()),
        each,
    })
}

/// All doses of one product and use together, and how they go into tanks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Load {
    /// Product, in the unit of the first dose.
    pub product: Amount,
    /// Least and most water, in the unit of the first dose; none where a dose
    /// states none.
    pub water: Option<(Amount, Amount)>,
    /// Tanks that the least and the most water fill.
    pub tanks: Option<(u64, u64)>,
    /// Product for a full tank, with the least and with the most water.
    pub per_tank: Option<(Amount, Amount)>,
}

/// Adds doses of one product and use up; none without a dose or where their
/// units do not meet.
pub fn load<'a>(doses: impl IntoIterator<Item = &'a Dose>, tank: Option<&Amount>) -> Option<Load> {
    let doses: Vec<&Dose> = doses.into_iter().collect();
    let first = doses.first()?;
    let sum = |amounts: Vec<&Amount>| -> Option<Amount> {
        let unit = amounts.first()?.unit;
        let values: Result<Vec<Exact>, _> =
            amounts.iter().map(|one| one.in_unit(unit).map(|one| one.value)).collect();
        Some(Amount::new(values.ok()?.iter().sum(), unit))
    };
    let product = sum(doses.iter().map(|dose| &dose.product).collect())?;
    let waters: Option<Vec<_>> = doses.iter().map(|dose| dose.water.as_ref()).collect();
    let water = match (&first.water, waters) {
        (Some(_), Some(all)) => {
            Some((sum(all.iter().map(|w| &w.low).collect())?, sum(all.iter().map(|w| &w.high).collect())?))
        }
        _ => None,
    };
    let filled = |water: &Amount| -> Option<Exact> {
        let tank = tank?.in_unit(water.unit).ok()?;
        (!tank.value.is_zero()).then(|| &water.value / tank.value)
    };
    let of_tanks = |pick: &dyn Fn(Exact) -> Option<Amount>| {
        let (low, high) = water.as_ref()?;
        Some((pick(filled(low)?)?, pick(filled(high)?)?))
    };
    // Less than one tank takes all of the product.
    let per_tank =
        of_tanks(&|times| Some(Amount::new(&product.value / times.max(Exact::one()), product.unit)));
    let tanks = water.as_ref().and_then(|(low, high)| {
        let whole = |water| filled(water)?.ceil().to_integer().to_u64();
        Some((whole(low)?, whole(high)?))
    });
    Some(Load { product, water, tanks, per_tank })
}

/// What to say where the poured amount left the band of the dose; none: it did
/// not.
pub fn outside_band(dose: &Dose, poured: &Amount) -> Option<String> {
    let Ok(same) = poured.in_unit(dose.low.unit) else {
        return Some(format!("{} is no amount by which this dose is measured.", poured.words()));
    };
    let (side, by) = if same.value < dose.low.value {
        ("below", &dose.low.value - &same.value)
    } else if same.value > dose.high.value {
        ("above", &same.value - &dose.high.value)
    } else {
        return None;
    };
    Some(format!(
        "{} poured is {side} the band of {} to {}, by {} {}.",
        poured.words(),
        dose.low.words(),
        dose.high.words(),
        plain(&by),
        dose.low.unit.code()
    ))
}

/// The band for `count` plants of that measure, where an amount leaves it: least and most, in `unit`. `band` is stated
/// for one foot, inch and so on. An amount that no row can hold exactly stands for the lowest dose; where no whole
/// number of pieces lies within the band of one plant, every number leaves it. None: it is inside, or is measured
/// otherwise than the band.
pub fn leaves_band(
    band: (&Exact, &Exact),
    unit: AmountUnit,
    measure: &Exact,
    count: u32,
    poured: &Amount,
) -> Option<(Exact, Exact)> {
    let (low, high) = (band.0 * measure, band.1 * measure);
    let undivided = matches!(unit, AmountUnit::Piece(_)) && low.ceil() > high.floor();
    let times = Exact::from(BigInt::from(count));
    let (low, high) = (low * &times, high * &times);
    let given = poured.in_unit(unit).ok()?.value;
    let inside = (low <= given || given == kept(&low)) && given <= high;
    (undivided || !inside).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::dose::Water;
    use crate::domain::quantity::parse;

    fn amount(value: &str, unit: &str) -> Amount {
        Amount::new(parse(value).unwrap(), AmountUnit::from_code(unit).unwrap())
    }

    /// At 3 mL a foot, band 3 to 6.
    fn dose(product: &str, low: &str, high: &str) -> Dose {
        Dose {
            rate: parse("3").unwrap(),
            product: amount(product, "mL"),
            ingredients: Vec::new(),
            low: amount(low, "mL"),
            high: amount(high, "mL"),
            water: Some(Water { low: amount("64", "floz"), high: amount("128", "floz") }),
        }
    }

    fn vessel(mark: &str, unit: &str) -> Vessel {
        Vessel { name: "cup".into(), mark: amount(mark, unit), holds: None }
    }

    #[test]
    fn the_nearest_mark_inside_the_band_is_shown() {
        let shown = |product: &str, mark: &str| {
            show(&dose(product, "24", "48"), 1, &vessel(mark, "mL")).map(|shown| plain(&shown.each.value))
        };
        assert_eq!(shown("24", "5").unwrap(), "25", "20 would be nearer to nothing lawful");
        assert_eq!(shown("26", "5").unwrap(), "25");
        assert_eq!(shown("48", "5").unwrap(), "45");
        assert_eq!(shown("27.5", "5").unwrap(), "25", "of two as near the lower");
        assert_eq!(shown("24", "0.2").unwrap(), "24");
        let refused = shown("24", "50").unwrap_err().to_string();
        assert_eq!(
            refused,
            "cup cannot show it inside the band of 24 mL to 48 mL: its marks are 50 mL apart"
        );
    }

    #[test]
    fn each_of_several_plants_gets_a_mark_and_the_rate_follows() {
        let shown = show(&dose("72", "72", "144"), 3, &vessel("5", "mL")).unwrap();
        assert_eq!((shown.each, shown.total), (amount("25", "mL"), amount("75", "mL")));
        assert_eq!(plain(&shown.rate), "3.125");
    }

    #[test]
    fn a_cup_in_fluid_ounces_shows_no_ounces() {
        let ounces = show(&dose("24", "24", "48"), 1, &vessel("1", "floz")).unwrap();
        assert_eq!(ounces.each, amount("1", "floz"));
        assert_eq!(show(&dose("24", "24", "48"), 1, &vessel("1", "oz")), Err(CannotShow::Kind("cup".into())));
        let syringe = Vessel { holds: Some(amount("12", "mL")), ..vessel("0.2", "mL") };
        assert_eq!(show(&dose("26", "24", "48"), 1, &syringe).unwrap().fillings, Some(3));
    }

    #[test]
    fn tanks_share_the_product_by_their_water() {
        let (one, other) = (dose("24", "24", "48"), dose("30", "24", "48"));
        let load = load([&one, &other], Some(&amount("1", "gal"))).unwrap();
        assert_eq!(load.product, amount("54", "mL"));
        assert_eq!(load.water, Some((amount("128", "floz"), amount("256", "floz"))));
        assert_eq!(load.tanks, Some((1, 2)));
        assert_eq!(load.per_tank, Some((amount("54", "mL"), amount("27", "mL"))));
    }

    #[test]
    fn what_leaves_the_band_is_named() {
        let dose = dose("24", "24", "48");
        assert_eq!(outside_band(&dose, &amount("26", "mL")), None);
        assert!(outside_band(&dose, &amount("48.001", "mL")).unwrap().contains("by 0.001 mL"));
        assert!(outside_band(&dose, &amount("23", "mL")).unwrap().contains("below"));
        assert!(outside_band(&dose, &amount("1", "oz")).is_some());
    }
    #[test]
    fn the_band_is_left_below_and_above_and_by_pieces_that_do_not_fit() {
        let number = |text: &str| parse(text).unwrap();
        let ml = AmountUnit::from_code("mL").unwrap();
        // 3 to 6 mL a foot, three plants of 8 ft: 72 to 144 mL.
        let left = |value: &str, unit: &str| {
            leaves_band((&number("3"), &number("6")), ml, &number("8"), 3, &amount(value, unit))
        };
        for inside in ["72", "100", "144"] {
            assert_eq!(left(inside, "mL"), None, "{inside}");
        }
        for outside in ["71.999", "144.001"] {
            assert_eq!(left(outside, "mL"), Some((number("72"), number("144"))), "{outside}");
        }
        // 4.8 US fl oz are 141.95 mL, 4.9 are 144.9 (29.5735295625 mL each).
        assert_eq!(left("4.8", "floz"), None);
        assert!(left("4.9", "floz").is_some());
        assert_eq!(left("5", "oz"), None, "a mass is not compared with a volume");
        let packet = AmountUnit::from_code("packet").unwrap();
        let pieces = |measure: &str, value: &str| {
            leaves_band(
                (&number("0.4"), &number("0.6")),
                packet,
                &number(measure),
                2,
                &amount(value, "packet"),
            )
        };
        assert_eq!(pieces("2", "2"), None, "one for each of two");
        assert!(pieces("2", "3").is_some());
        assert!(pieces("1", "1").is_some(), "no whole number between 0.4 and 0.6");
        // A third of a mL a foot: what a row holds of it is the lowest dose.
        let third = number("1") / number("3");
        let one =
            |value: &str| leaves_band((&third, &number("1")), ml, &number("1"), 1, &amount(value, "mL"));
        assert_eq!(one("0.333333333"), None);
        assert!(one("0.333333332").is_some());
    }
}
