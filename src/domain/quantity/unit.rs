//! Units and the one table of their sizes.
//!
//! Constants: the US gallon is 231 cubic inches and the pound 453.59237 g
//! (NIST Handbook 44, Appendix C; figures from memory). The acre is 43,560
//! square feet of the international foot, 0.3048 m, since the survey foot was
//! retired after 2022.

use super::exact::Exact;
use num_bigint::BigInt;
use num_traits::One;

/// Why two units do not go together, or a text is no unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum UnitError {
    /// A volume where a mass is needed, or the reverse (`oz` is a mass, `floz` a volume).
    #[error("volumes, masses and pieces do not convert into each other")]
    Mixed,
    /// No unit of that name.
    #[error("is no known unit")]
    Unknown,
}

fn ratio(numerator: u64, denominator: u64) -> Exact {
    Exact::new(BigInt::from(numerator), BigInt::from(denominator))
}

/// Defines a unit enum with its codes, in the order in which forms offer them.
macro_rules! unit {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $code:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name { $($(#[$vdoc])* $variant),+ }
        impl $name {
            /// Every unit, in the order in which forms offer them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The code used in JSON, in the database and on pages.
            pub fn code(self) -> &'static str {
                match self { $(Self::$variant => $code),+ }
            }

            /// The unit of that code.
            ///
            /// # Errors
            /// [`UnitError::Unknown`].
            pub fn from_code(code: &str) -> Result<Self, UnitError> {
                match code { $($code => Ok(Self::$variant),)+ _ => Err(UnitError::Unknown) }
            }
        }
    };
}

unit! {
    /// Units of volume.
    VolumeUnit {
        /// Millilitre.
        Millilitre = "mL",
        /// Litre.
        Litre = "L",
        /// US fluid ounce, 1/128 gallon.
        FluidOunce = "floz",
        /// US teaspoon, 1/768 gallon.
        Teaspoon = "tsp",
        /// US tablespoon, 1/256 gallon.
        Tablespoon = "tbsp",
        /// US cup, 1/16 gallon.
        Cup = "cup",
        /// US liquid pint, 1/8 gallon.
        Pint = "pt",
        /// US liquid quart, 1/4 gallon.
        Quart = "qt",
        /// US gallon.
        Gallon = "gal",
    }
}

unit! {
    /// Units of mass.
    MassUnit {
        /// Gram.
        Gram = "g",
        /// Milligram.
        Milligram = "mg",
        /// Kilogram.
        Kilogram = "kg",
        /// Avoirdupois ounce, 1/16 pound.
        Ounce = "oz",
        /// Avoirdupois pound.
        Pound = "lb",
    }
}

unit! {
    /// Units of area.
    AreaUnit {
        /// Square foot.
        SquareFoot = "sqft",
        /// A thousand square feet.
        ThousandSquareFeet = "1000sqft",
        /// Square yard.
        SquareYard = "sqyd",
        /// Acre of 43,560 international square feet.
        Acre = "acre",
        /// Square metre.
        SquareMetre = "m2",
        /// Hectare.
        Hectare = "ha",
    }
}

unit! {
    /// Units of length.
    LengthUnit {
        /// International foot.
        Foot = "ft",
        /// Inch.
        Inch = "in",
        /// Metre.
        Metre = "m",
        /// Centimetre.
        Centimetre = "cm",
    }
}

impl VolumeUnit {
    /// Millilitres in one of this unit.
    pub fn millilitres(self) -> Exact {
        let gallon = ratio(3_785_411_784, 1_000_000);
        match self {
            Self::Millilitre => Exact::one(),
            Self::Litre => ratio(1000, 1),
            Self::Teaspoon => gallon / BigInt::from(768),
            Self::Tablespoon => gallon / BigInt::from(256),
            Self::FluidOunce => gallon / BigInt::from(128),
            Self::Cup => gallon / BigInt::from(16),
            Self::Pint => gallon / BigInt::from(8),
            Self::Quart => gallon / BigInt::from(4),
            Self::Gallon => gallon,
        }
    }
}

impl MassUnit {
    /// Grams in one of this unit.
    pub fn grams(self) -> Exact {
        let pound = ratio(45_359_237, 100_000);
        match self {
            Self::Gram => Exact::one(),
            Self::Milligram => ratio(1, 1000),
            Self::Kilogram => ratio(1000, 1),
            Self::Ounce => pound / BigInt::from(16),
            Self::Pound => pound,
        }
    }
}

impl AreaUnit {
    /// Square metres in one of this unit.
    pub fn square_metres(self) -> Exact {
        let square_foot = ratio(3048 * 3048, 100_000_000);
        match self {
            Self::SquareFoot => square_foot,
            Self::ThousandSquareFeet => square_foot * BigInt::from(1000),
            Self::SquareYard => square_foot * BigInt::from(9),
            Self::Acre => square_foot * BigInt::from(43_560),
            Self::SquareMetre => Exact::one(),
            Self::Hectare => ratio(10_000, 1),
        }
    }
}

impl LengthUnit {
    /// Metres in one of this unit.
    pub fn metres(self) -> Exact {
        match self {
            Self::Foot => ratio(3048, 10_000),
            Self::Inch => ratio(254, 10_000),
            Self::Metre => Exact::one(),
            Self::Centimetre => ratio(1, 100),
        }
    }
}

unit! {
    /// Products that come in pieces, which are never divided.
    PieceUnit {
        /// A packet of powder.
        Packet = "packet",
        /// A tablet.
        Tablet = "tablet",
    }
}

/// A unit in which product is measured: a volume, a mass or whole pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum AmountUnit {
    /// Liquids.
    Volume(VolumeUnit),
    /// Dry products.
    Mass(MassUnit),
    /// Products in pieces.
    Piece(PieceUnit),
}

impl AmountUnit {
    /// The code used in JSON, in the database and on pages.
    pub fn code(self) -> &'static str {
        match self {
            Self::Volume(unit) => unit.code(),
            Self::Mass(unit) => unit.code(),
            Self::Piece(unit) => unit.code(),
        }
    }

    /// The unit of that code; `oz` is a mass, `floz` a volume.
    ///
    /// # Errors
    /// [`UnitError::Unknown`].
    pub fn from_code(code: &str) -> Result<Self, UnitError> {
        let volume = VolumeUnit::from_code(code).map(Self::Volume);
        let mass = || MassUnit::from_code(code).map(Self::Mass);
        let piece = |_| PieceUnit::from_code(code).map(Self::Piece);
        volume.or_else(|_| mass()).or_else(piece)
    }

    /// Is it a volume?
    pub fn is_volume(self) -> bool {
        matches!(self, Self::Volume(_))
    }

    /// Is it counted in pieces?
    pub fn is_piece(self) -> bool {
        matches!(self, Self::Piece(_))
    }

    /// Millilitres, grams or pieces in one of this unit, and the unit of that.
    pub fn base(self) -> (Exact, Self) {
        match self {
            Self::Volume(unit) => (unit.millilitres(), Self::Volume(VolumeUnit::Millilitre)),
            Self::Mass(unit) => (unit.grams(), Self::Mass(MassUnit::Gram)),
            Self::Piece(_) => (Exact::one(), self),
        }
    }

    /// By what a figure in this unit is multiplied to be in `other`.
    ///
    /// # Errors
    /// [`UnitError::Mixed`] between a volume, a mass and pieces of either kind.
    pub fn factor_to(self, other: Self) -> Result<Exact, UnitError> {
        match (self, other) {
            (Self::Volume(a), Self::Volume(b)) => Ok(a.millilitres() / b.millilitres()),
            (Self::Mass(a), Self::Mass(b)) => Ok(a.grams() / b.grams()),
            (Self::Piece(a), Self::Piece(b)) if a == b => Ok(Exact::one()),
            _ => Err(UnitError::Mixed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_and_read_back() {
        let mut seen = std::collections::BTreeSet::new();
        for unit in VolumeUnit::ALL {
            assert!(seen.insert(unit.code()));
            assert_eq!(AmountUnit::from_code(unit.code()), Ok(AmountUnit::Volume(*unit)));
        }
        for unit in MassUnit::ALL {
            assert!(seen.insert(unit.code()));
            assert_eq!(AmountUnit::from_code(unit.code()), Ok(AmountUnit::Mass(*unit)));
        }
        assert_eq!(AmountUnit::from_code("ounce"), Err(UnitError::Unknown));
    }
}
