//! Measure times rate: how much product, how much ingredient, how much water.

use super::label::{Ingredient, Product, Strength, Use};
use super::quantity::{Amount, AmountUnit, Exact, plain, times};
use num_bigint::BigInt;
use num_traits::{One, Zero};
use std::cell::RefCell;
use std::rc::Rc;

/// Why ingredient cannot be computed from product.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DoseError {
    /// The amount is a volume and the strength counts by mass, or the reverse.
    #[error(
        "the strength of {ingredient} ({strength}) and an amount in {unit} need the product's density to meet"
    )]
    NoDensity {
        /// Name of the ingredient.
        ingredient: String,
        /// Its strength in words.
        strength: String,
        /// Code of the unit of the amount.
        unit: &'static str,
    },
    /// An amount in pieces, or a strength per piece, without the mass of one.
    #[error(
        "the strength of {ingredient} ({strength}) and an amount in {unit} need the mass of one piece to meet"
    )]
    NoPieceMass {
        /// Name of the ingredient, or of the product where a cap counts it.
        ingredient: String,
        /// Its strength in words.
        strength: String,
        /// Code of the unit of the amount.
        unit: &'static str,
    },
    /// Pieces are not divided, and no whole number of them lies in the band.
    #[error("no whole number of {unit}s lies within the band of {low} to {high} for one plant")]
    NotWhole {
        /// Least for one plant, as a decimal.
        low: String,
        /// Most for one plant, as a decimal.
        high: String,
        /// Code of the unit.
        unit: &'static str,
    },
}

/// Carrier water of a dose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Water {
    /// Least water.
    pub low: Amount,
    /// Most water.
    pub high: Amount,
}

/// What is to be poured for one plant record, all its alike plants together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dose {
    /// Rate, in the rate's unit per foot or inch.
    pub rate: Exact,
    /// Product, in the rate's unit.
    pub product: Amount,
    /// Grams of each ingredient, in the order of the label.
    pub ingredients: Vec<(String, Exact)>,
    /// The same measure at the lowest rate.
    pub low: Amount,
    /// The same measure at the highest rate.
    pub high: Amount,
    /// Carrier water, where the label gives it.
    pub water: Option<Water>,
}

impl Dose {
    /// Grams of all ingredients together.
    pub fn total_grams(&self) -> Exact {
        self.ingredients.iter().map(|(_, grams)| grams).sum()
    }

    /// Grams of one ingredient; zero when the product does not hold it.
    pub fn grams_of(&self, ingredient: &str) -> Exact {
        let held = self.ingredients.iter().filter(|(name, _)| name == ingredient);
        held.map(|(_, grams)| grams).sum()
    }
}

/// The dose for a plant of this measure, `count` times; the lowest rate where
/// none is given. The rate is not checked against the band here.
///
/// # Errors
/// [`DoseError`] when the ingredient cannot be computed.
pub fn dose(
    product: &Product,
    item: &Use,
    measure: &Exact,
    count: u32,
    rate: Option<&Exact>,
) -> Result<Dose, DoseError> {
    dose_with(&Strengths::default(), product, item, measure, count, rate)
}

/// [`dose`] with strengths that are remembered between calls.
///
/// # Errors
/// As [`dose`].
pub fn dose_with(
    strengths: &Strengths,
    product: &Product,
    item: &Use,
    measure: &Exact,
    count: u32,
    rate: Option<&Exact>,
) -> Result<Dose, DoseError> {
    let times = measure * BigInt::from(count);
    let at = |rate: &Exact| Amount::new(rate * &times, item.rate.unit);
    let rate = rate.unwrap_or(&item.rate.low).clone();
    let amount = match item.rate.unit {
        AmountUnit::Piece(_) => whole_pieces(item, measure, &rate, count)?,
        _ => at(&rate),
    };
    let water = item.water.as_ref().map(|band| Water {
        low: Amount::new(&band.low * &times, AmountUnit::Volume(band.unit)),
        high: Amount::new(&band.high * &times, AmountUnit::Volume(band.unit)),
    });
    Ok(Dose {
        ingredients: strengths.ingredients(product, &amount)?,
        low: at(&item.rate.low),
        high: at(&item.rate.high),
        product: amount,
        water,
        rate,
    })
}

/// The whole number of pieces for each plant that is nearest to the rate and
/// within the band, for all alike plants together; of two as near the smaller.
fn whole_pieces(item: &Use, measure: &Exact, rate: &Exact, count: u32) -> Result<Amount, DoseError> {
    let (low, high) = (&item.rate.low * measure, &item.rate.high * measure);
    let half = Exact::new(BigInt::from(1), BigInt::from(2));
    let (least, most) = (low.ceil(), high.floor());
    if least > most {
        let (low, high) = (plain(&low), plain(&high));
        return Err(DoseError::NotWhole { low, high, unit: item.rate.unit.code() });
    }
    let nearest = (rate * measure - half).ceil().max(least).min(most);
    Ok(Amount::new(nearest * BigInt::from(count), item.rate.unit))
}

/// Product in millilitres, grams or pieces, as `like` counts; for caps that
/// count the product itself.
///
/// # Errors
/// [`DoseError`] when density or mass of a piece are needed and not known.
pub fn product_in(product: &Product, amount: &Amount, like: AmountUnit) -> Result<Exact, DoseError> {
    let (name, strength) = (product.words().to_owned(), format!("counted in {}", like.code()));
    let no_density = || DoseError::NoDensity {
        ingredient: name.clone(),
        strength: strength.clone(),
        unit: amount.unit.code(),
    };
    let no_mass = || DoseError::NoPieceMass {
        ingredient: name.clone(),
        strength: strength.clone(),
        unit: amount.unit.code(),
    };
    let (factor, own) = amount.unit.base();
    let value = &amount.value * factor;
    let density = || product.density.clone().ok_or_else(no_density);
    let piece = || product.pieces.as_ref().and_then(|one| one.grams.clone()).ok_or_else(no_mass);
    match (own, like) {
        (AmountUnit::Volume(_), AmountUnit::Volume(_)) | (AmountUnit::Mass(_), AmountUnit::Mass(_)) => {
            Ok(value)
        }
        (AmountUnit::Volume(_), AmountUnit::Mass(_)) => Ok(value * density()?),
        (AmountUnit::Mass(_), AmountUnit::Volume(_)) => Ok(value / density()?),
        (AmountUnit::Piece(_), AmountUnit::Mass(_)) => Ok(value * piece()?),
        (AmountUnit::Mass(_), AmountUnit::Piece(_)) => Ok(value / piece()?),
        (AmountUnit::Piece(a), AmountUnit::Piece(b)) if a == b => Ok(value),
        _ => Err(no_mass()),
    }
}

/// Grams of each ingredient in an amount of product, in the order of the label.
///
/// # Errors
/// [`DoseError`] when the units do not meet.
pub fn ingredients(product: &Product, amount: &Amount) -> Result<Vec<(String, Exact)>, DoseError> {
    Strengths::default().ingredients(product, amount)
}

/// Name of each ingredient and its grams in one unit of product.
type PerUnit = Rc<[(String, Exact)]>;

/// Grams of ingredient per unit of product, worked out once for each product
/// and unit of one set of facts.
#[derive(Debug, Default)]
pub struct Strengths {
    known: RefCell<Vec<(String, AmountUnit, PerUnit)>>,
}

impl Strengths {
    /// As [`ingredients`]; products are told apart by their id.
    ///
    /// # Errors
    /// [`DoseError`] when the units do not meet.
    pub fn ingredients(&self, product: &Product, amount: &Amount) -> Result<Vec<(String, Exact)>, DoseError> {
        let per_unit = self.per_unit(product, amount.unit)?;
        Ok(per_unit.iter().map(|(name, grams)| (name.clone(), times(grams, &amount.value))).collect())
    }

    fn per_unit(&self, product: &Product, unit: AmountUnit) -> Result<PerUnit, DoseError> {
        let same = |(id, of, _): &&(String, AmountUnit, PerUnit)| *of == unit && *id == product.id;
        if let Some((_, _, known)) = self.known.borrow().iter().find(same) {
            return Ok(Rc::clone(known));
        }
        let grams = |one: &Ingredient| Ok((one.name.clone(), grams_per_unit(product, one, unit)?));
        let found: PerUnit = product.ingredients.iter().map(grams).collect::<Result<_, DoseError>>()?;
        self.known.borrow_mut().push((product.id.clone(), unit, Rc::clone(&found)));
        Ok(found)
    }
}

/// Grams of an ingredient in one `unit` of product.
///
/// # Errors
/// [`DoseError`] when the units do not meet.
pub fn grams_per_unit(
    product: &Product,
    ingredient: &Ingredient,
    unit: AmountUnit,
) -> Result<Exact, DoseError> {
    let density = || {
        product.density.clone().ok_or_else(|| DoseError::NoDensity {
            ingredient: ingredient.name.clone(),
            strength: ingredient.strength.words(),
            unit: unit.code(),
        })
    };
    let piece = || {
        product.pieces.as_ref().and_then(|one| one.grams.clone()).ok_or_else(|| DoseError::NoPieceMass {
            ingredient: ingredient.name.clone(),
            strength: ingredient.strength.words(),
            unit: unit.code(),
        })
    };
    match (&ingredient.strength, unit) {
        (Strength::PerPiece { value, mass, .. }, unit) => {
            let pieces = match unit {
                AmountUnit::Piece(_) => Exact::one(),
                AmountUnit::Mass(unit) => unit.grams() / piece()?,
                AmountUnit::Volume(unit) => unit.millilitres() * density()? / piece()?,
            };
            Ok(value * mass.grams() * pieces)
        }
        (Strength::PerVolume { value, mass, volume }, unit) => {
            let per_millilitre = value * mass.grams() / volume.millilitres();
            let millilitres = match unit {
                AmountUnit::Volume(unit) => unit.millilitres(),
                AmountUnit::Mass(unit) => unit.grams() / density()?,
                AmountUnit::Piece(_) => piece()? / density()?,
            };
            Ok(per_millilitre * millilitres)
        }
        (Strength::Percent(value), unit) => {
            let grams = match unit {
                AmountUnit::Mass(unit) => unit.grams(),
                AmountUnit::Volume(unit) => unit.millilitres() * density()?,
                AmountUnit::Piece(_) => piece()?,
            };
            Ok(value * grams / BigInt::from(100))
        }
    }
}

/// How much product, in `unit`, holds `grams` of an ingredient. Not rounded.
///
/// # Errors
/// [`DoseError`] when the units do not meet.
pub fn product_for(
    product: &Product,
    ingredient: &Ingredient,
    grams: &Exact,
    unit: AmountUnit,
) -> Result<Amount, DoseError> {
    let per_unit = grams_per_unit(product, ingredient, unit)?;
    let value = if per_unit.is_zero() { Exact::zero() } else { grams / per_unit };
    Ok(Amount::new(value, unit))
}
