//! What a product comes in, which decides its units: those of its rates, its strength and its caps.

use super::label::ProductForm;
use super::quantity::{AmountUnit, MassUnit, PieceUnit, VolumeUnit};

/// Poured, weighed, or in pieces that are never divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProductKind {
    /// Measured by volume.
    Liquid,
    /// Measured by weight.
    Dry,
    /// In packets, each poured whole.
    Packet,
    /// In tablets, each placed whole.
    Tablet,
}

impl ProductKind {
    /// Every kind.
    pub const ALL: [Self; 4] = [Self::Liquid, Self::Dry, Self::Packet, Self::Tablet];

    /// The code used in JSON and the database.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Liquid => "liquid",
            Self::Dry => "dry",
            Self::Packet => "packet",
            Self::Tablet => "tablet",
        }
    }

    /// The kind of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }

    /// Whether it is poured or weighed; pieces are dry.
    #[must_use]
    pub fn form(self) -> ProductForm {
        if self == Self::Liquid { ProductForm::Liquid } else { ProductForm::Dry }
    }

    /// The piece, where it comes in pieces.
    #[must_use]
    pub fn piece(self) -> Option<PieceUnit> {
        match self {
            Self::Liquid | Self::Dry => None,
            Self::Packet => Some(PieceUnit::Packet),
            Self::Tablet => Some(PieceUnit::Tablet),
        }
    }

    /// For people: `in packets`.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Liquid => "liquid",
            Self::Dry => "dry",
            Self::Packet => "in packets",
            Self::Tablet => "in tablets",
        }
    }

    /// The units in which its rates are stated and its doses measured.
    #[must_use]
    pub fn units(self) -> Vec<AmountUnit> {
        match (self, self.piece()) {
            (_, Some(piece)) => vec![AmountUnit::Piece(piece)],
            (Self::Liquid, None) => VolumeUnit::ALL.iter().map(|unit| AmountUnit::Volume(*unit)).collect(),
            _ => MassUnit::ALL.iter().map(|unit| AmountUnit::Mass(*unit)).collect(),
        }
    }

    /// Is it measured in this unit? Volume, weight and pieces never meet.
    #[must_use]
    pub fn is_measured_in(self, unit: AmountUnit) -> bool {
        self.units().contains(&unit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_read_back_and_agree_with_the_form() {
        for kind in ProductKind::ALL {
            assert_eq!(ProductKind::from_code(kind.code()), Some(kind));
        }
        assert_eq!(ProductKind::from_code("gas"), None);
        for form in [ProductForm::Liquid, ProductForm::Dry] {
            assert_eq!(ProductKind::from_code(form.code()).unwrap().form(), form);
        }
    }

    #[test]
    fn every_unit_belongs_to_what_is_measured_in_it() {
        let kinds = |code: &str| {
            let unit = AmountUnit::from_code(code).unwrap();
            ProductKind::ALL.into_iter().filter(|kind| kind.is_measured_in(unit)).collect::<Vec<_>>()
        };
        assert_eq!(kinds("floz"), [ProductKind::Liquid]);
        assert_eq!(kinds("oz"), [ProductKind::Dry]);
        assert_eq!(kinds("packet"), [ProductKind::Packet]);
        assert_eq!(kinds("tablet"), [ProductKind::Tablet]);
    }
}
