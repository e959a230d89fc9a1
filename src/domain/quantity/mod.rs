//! Amounts and sizes, exact from the keyboard to the comparison.
//!
//! Every figure is kept as a rational number. Units are converted in one
//! place ([`unit`]); nothing is rounded before it is printed ([`exact`]).
//! Fluid ounces (volume) and ounces (mass) are different kinds of amount and
//! never meet.

mod exact;
mod unit;

use num_traits::One;

pub use exact::{
    Exact, NumberError, fixed_down, fixed_half_up, fixed_up, floor_at, from_decimal, kept, parse, plain,
    times, to_decimal,
};
pub use unit::{AmountUnit, AreaUnit, LengthUnit, MassUnit, PieceUnit, UnitError, VolumeUnit};

/// An amount of product as it was measured: a value and the unit of the cup or
/// the scale. Volume or mass, never converted one into the other without a
/// density.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amount {
    /// In `unit`.
    pub value: Exact,
    /// The unit in which it was measured.
    pub unit: AmountUnit,
}

impl Amount {
    /// An amount of `value` in `unit`.
    pub fn new(value: Exact, unit: AmountUnit) -> Self {
        Self { value, unit }
    }

    /// The volume in millilitres, if this is a volume.
    pub fn millilitres(&self) -> Option<Exact> {
        match self.unit {
            AmountUnit::Volume(unit) => Some(&self.value * unit.millilitres()),
            AmountUnit::Mass(_) | AmountUnit::Piece(_) => None,
        }
    }

    /// The mass in grams, if this is a mass.
    pub fn grams(&self) -> Option<Exact> {
        match self.unit {
            AmountUnit::Mass(unit) => Some(&self.value * unit.grams()),
            AmountUnit::Volume(_) | AmountUnit::Piece(_) => None,
        }
    }

    /// The same amount in another unit of the same kind.
    ///
    /// # Errors
    /// [`UnitError::Mixed`] when one unit is a volume and the other a mass.
    pub fn in_unit(&self, unit: AmountUnit) -> Result<Self, UnitError> {
        let factor = self.unit.factor_to(unit)?;
        Ok(Self::new(&self.value * factor, unit))
    }

    /// For people and for JSON: the exact decimal and the unit, `24 mL`, `3 packets`.
    pub fn words(&self) -> String {
        // Only pieces are counted as words: nobody writes "3 packet".
        let many = if self.unit.is_piece() && !self.value.is_one() { "s" } else { "" };
        format!("{} {}{many}", plain(&self.value), self.unit.code())
    }
}

/// An area as it was stated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Area {
    /// In `unit`.
    pub value: Exact,
    /// The unit in which it was stated.
    pub unit: AreaUnit,
}

impl Area {
    /// An area of `value` in `unit`.
    pub fn new(value: Exact, unit: AreaUnit) -> Self {
        Self { value, unit }
    }

    /// In square metres.
    pub fn square_metres(&self) -> Exact {
        &self.value * self.unit.square_metres()
    }

    /// For people: `10890 sqft`.
    pub fn words(&self) -> String {
        format!("{} {}", plain(&self.value), self.unit.code())
    }
}

/// A length as it was measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Length {
    /// In `unit`.
    pub value: Exact,
    /// The unit on the tape.
    pub unit: LengthUnit,
}

impl Length {
    /// The same length in another unit.
    pub fn in_unit(&self, unit: LengthUnit) -> Self {
        let value = &self.value * self.unit.metres() / unit.metres();
        Self { value, unit }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amount(value: &str, unit: &str) -> Amount {
        Amount::new(parse(value).unwrap(), AmountUnit::from_code(unit).unwrap())
    }

    #[test]
    fn volumes_convert_and_never_become_masses() {
        let cup = amount("1", "floz");
        let ml = cup.in_unit(AmountUnit::Volume(VolumeUnit::Millilitre)).unwrap();
        assert_eq!(plain(&ml.value), "29.5735295625");
        assert_eq!(cup.in_unit(AmountUnit::Mass(MassUnit::Ounce)), Err(UnitError::Mixed));
        assert!(amount("1", "oz").millilitres().is_none());
    }

    #[test]
    fn lengths_convert_through_the_metre() {
        let tape = Length { value: parse("4.5").unwrap(), unit: LengthUnit::Foot };
        assert_eq!(plain(&tape.in_unit(LengthUnit::Inch).value), "54");
    }
}
