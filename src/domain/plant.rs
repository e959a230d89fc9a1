//! What a plant is, how it was measured, and what the engine asks of it.

use super::facts::Eaten;
use super::label::MeasureBasis;
use super::measure::{StemRule, combined_diameter, diameter_from_circumference};
use super::quantity::{Area, AreaUnit, Exact, from_decimal};
use num_traits::{One, Zero};
use rust_decimal::Decimal;
use serde::Serialize;
use std::fmt::Write;

/// The plant's habit; it suggests how to measure and does not bind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A single shrub.
    Shrub,
    /// Alike plants in a row.
    Hedge,
    /// With a trunk.
    Tree,
    /// A palm.
    Palm,
}

/// A code that names no kind.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("unknown kind of plant {0:?}")]
pub struct UnknownKind(pub String);

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 4] = [Self::Shrub, Self::Hedge, Self::Tree, Self::Palm];

    /// The code used in the database and in forms.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Shrub => "shrub",
            Self::Hedge => "hedge",
            Self::Tree => "tree",
            Self::Palm => "palm",
        }
    }

    /// The kind of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }
}

impl TryFrom<String> for Kind {
    type Error = UnknownKind;
    fn try_from(code: String) -> Result<Self, UnknownKind> {
        Self::from_code(&code).ok_or(UnknownKind(code))
    }
}

/// What was measured: a height, the trunk at 4.5 ft by its diameters or its girth, the treated ground, some of
/// these or nothing yet.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Measure {
    /// Feet.
    pub height_ft: Option<Decimal>,
    /// Diameter of each stem in inches.
    pub stems_in: Vec<Decimal>,
    /// Code of the rule by which several stems count as one; needed from two stems on.
    pub stem_rule: Option<String>,
    /// Girth of the trunk in inches, instead of its diameter.
    pub girth_in: Option<Decimal>,
    /// Treated ground, in `ground_unit`.
    pub ground: Option<Decimal>,
    /// Code of the unit of the ground: one of [`GROUND_UNITS`].
    pub ground_unit: Option<String>,
}

/// Units in which treated ground is written down.
pub const GROUND_UNITS: [AreaUnit; 3] = [AreaUnit::SquareFoot, AreaUnit::Acre, AreaUnit::SquareMetre];

impl Measure {
    /// As people write it, such as "8 ft" or "stems 5, 6, 8 in"; empty when nothing was measured.
    #[must_use]
    pub fn words(&self) -> String {
        let mut out = String::new();
        if let Some(height) = self.height_ft {
            let _ = write!(out, "{} ft", height.normalize());
        }
        if let Some(girth) = self.girth_in {
            let comma = if out.is_empty() { "" } else { ", " };
            let _ = write!(out, "{comma}girth {} in", girth.normalize());
        }
        if !self.stems_in.is_empty() {
            let lead = match (out.is_empty(), self.stems_in.len()) {
                (true, 1) => "trunk ",
                (true, _) => "stems ",
                (false, 1) => ", trunk ",
                (false, _) => ", stems ",
            };
            let _ = write!(out, "{lead}{} in", stems_words(&self.stems_in));
        }
        if let Some((ground, unit)) = self.ground.zip(self.ground_unit.as_deref()) {
            let comma = if out.is_empty() { "" } else { ", " };
            let _ = write!(out, "{comma}ground {} {}", ground.normalize(), unit.replace("sqft", "sq ft"));
        }
        out
    }

    /// Whether the figure is there that a rate per `basis` (code of a [`MeasureBasis`]) multiplies.
    #[must_use]
    pub fn has(&self, basis: &str) -> bool {
        MeasureBasis::from_code(basis).is_some_and(|basis| self.for_basis(basis).is_some())
    }

    /// The figure that a rate per `basis` multiplies: height in feet, trunk in inches, ground in the unit of
    /// the rate, or one for a plant as such. None where it was not measured so, or where several stems have no
    /// rule. A girth gives the diameter; a diameter gives no girth, which would be another figure than the tape's.
    #[must_use]
    pub fn for_basis(&self, basis: MeasureBasis) -> Option<Exact> {
        match basis {
            MeasureBasis::HeightFt => self.height_ft.map(from_decimal),
            MeasureBasis::DiameterIn => self.diameter(),
            MeasureBasis::CircumferenceIn => self.girth_in.map(from_decimal),
            MeasureBasis::Plant | MeasureBasis::Container => Some(Exact::one()),
            MeasureBasis::ThousandSquareFeet | MeasureBasis::Acre => {
                let unit = AreaUnit::from_code(self.ground_unit.as_deref()?).ok()?;
                let ground = Area::new(from_decimal(self.ground?), unit);
                Some(ground.square_metres() / basis.ground()?.square_metres())
            }
        }
    }

    /// The one diameter in inches; so thin a trunk that it rounds to nothing has none.
    fn diameter(&self) -> Option<Exact> {
        let stems: Vec<Exact> = self.stems_in.iter().map(|stem| from_decimal(*stem)).collect();
        let diameter = match stems.as_slice() {
            [] => diameter_from_circumference(&from_decimal(self.girth_in?)),
            [one] => one.clone(),
            several => combined_diameter(several, StemRule::from_code(self.stem_rule.as_deref()?)?),
        };
        (!diameter.is_zero()).then_some(diameter)
    }
}

/// What must be measured for a rate per `basis`, in a word or two; empty where nothing need be.
#[must_use]
pub fn figure_words(basis: MeasureBasis) -> &'static str {
    match basis {
        MeasureBasis::HeightFt => "height",
        MeasureBasis::DiameterIn => "trunk",
        MeasureBasis::CircumferenceIn => "girth",
        MeasureBasis::ThousandSquareFeet | MeasureBasis::Acre => "treated ground",
        MeasureBasis::Plant | MeasureBasis::Container => "",
    }
}

/// The stems as they are typed: "5, 6, 8".
#[must_use]
pub fn stems_words(stems: &[Decimal]) -> String {
    stems.iter().map(|s| s.normalize().to_string()).collect::<Vec<_>>().join(", ")
}

/// Why a list of stems cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StemsError {
    /// A part is no number.
    #[error("{0:?} is not a number; write the diameters in inches, for example 5, 6, 8.")]
    NotANumber(String),
    /// A stem of zero, below zero, or thicker than any trunk.
    #[error("A trunk of {0} inches cannot be.")]
    OutOfRange(Decimal),
    /// More stems than one plant has.
    #[error("More than 40 stems; enter them as several plants.")]
    TooMany,
}

/// Reads stems as typed, divided by commas, semicolons or spaces. Nothing typed is no stem.
///
/// # Errors
/// [`StemsError`] when a part is no diameter in inches.
pub fn parse_stems(text: &str) -> Result<Vec<Decimal>, StemsError> {
    let parts = text.split(|c: char| matches!(c, ',' | ';') || c.is_whitespace()).filter(|p| !p.is_empty());
    let read = |part: &str| {
        let inches: Decimal = part.parse().map_err(|_| StemsError::NotANumber(part.to_owned()))?;
        let sensible = inches > Decimal::ZERO && inches <= Decimal::from(600) && inches.scale() <= 4;
        if sensible { Ok(inches) } else { Err(StemsError::OutOfRange(inches)) }
    };
    let stems: Vec<Decimal> = parts.map(read).collect::<Result<_, _>>()?;
    if stems.len() > 40 { Err(StemsError::TooMany) } else { Ok(stems) }
}

/// Whether people may eat what a drench reaches: the plant itself or a food
/// plant in its root zone. One "yes" is enough, and one "unknown" is no "no".
pub fn food_reached(plant: Eaten, root_zone: Eaten) -> Eaten {
    match (plant, root_zone) {
        (Eaten::Yes, _) | (_, Eaten::Yes) => Eaten::Yes,
        (Eaten::No, Eaten::No) => Eaten::No,
        _ => Eaten::Unknown,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::quantity::parse;

    fn inches(parts: &[&str]) -> Vec<Decimal> {
        parts.iter().map(|p| p.parse().unwrap()).collect()
    }

    #[test]
    fn stems_are_read_as_people_write_them() {
        assert_eq!(parse_stems("5, 6, 8").unwrap(), inches(&["5", "6", "8"]));
        assert_eq!(parse_stems(" 5.25;6  8 ").unwrap(), inches(&["5.25", "6", "8"]));
        assert_eq!(parse_stems("").unwrap(), vec![]);
        assert_eq!(parse_stems("5, six").unwrap_err(), StemsError::NotANumber("six".into()));
        for bad in ["0", "-3", "5, 0", "601", "1.00001"] {
            assert!(matches!(parse_stems(bad), Err(StemsError::OutOfRange(_))), "{bad}");
        }
        assert_eq!(parse_stems(&"4 ".repeat(41)), Err(StemsError::TooMany));
    }

    #[test]
    fn a_measure_says_itself_in_words() {
        let words = |height: Option<&str>, stems: &[&str]| {
            let height_ft = height.map(|h| h.parse().unwrap());
            Measure { height_ft, stems_in: inches(stems), ..Measure::default() }.words()
        };
        assert_eq!(words(Some("8.50"), &[]), "8.5 ft");
        assert_eq!(words(None, &["10"]), "trunk 10 in");
        assert_eq!(words(None, &["5", "6"]), "stems 5, 6 in");
        assert_eq!(words(Some("20"), &["5", "6"]), "20 ft, stems 5, 6 in");
        assert_eq!(words(None, &[]), "");
    }

    #[test]
    fn a_rate_asks_for_its_own_figure() {
        let tall = Measure { height_ft: Some(Decimal::from(8)), ..Measure::default() };
        let thick = Measure { stems_in: inches(&["5"]), ..Measure::default() };
        assert!(tall.has("height-ft") && !tall.has("diameter-in"));
        assert!(thick.has("diameter-in") && !thick.has("height-ft"));
    }

    #[test]
    fn kinds_read_back() {
        for kind in Kind::ALL {
            assert_eq!(Kind::try_from(kind.code().to_owned()), Ok(kind));
        }
        assert_eq!(Kind::try_from("moss".to_owned()), Err(UnknownKind("moss".into())));
    }

    #[test]
    fn unknown_is_not_no() {
        assert_eq!(food_reached(Eaten::No, Eaten::Unknown), Eaten::Unknown);
        assert_eq!(food_reached(Eaten::Unknown, Eaten::Yes), Eaten::Yes);
        assert_eq!(food_reached(Eaten::No, Eaten::No), Eaten::No);
    }

    #[test]
    fn a_tree_of_several_stems_needs_a_rule() {
        let of = |stems: &[&str], rule: Option<&str>| Measure {
            stems_in: inches(stems),
            stem_rule: rule.map(str::to_owned),
            ..Measure::default()
        };
        let diameter = |m: Measure| m.for_basis(MeasureBasis::DiameterIn);
        assert_eq!(diameter(of(&["5", "6", "8"], None)), None);
        assert_eq!(diameter(of(&["5", "6", "8"], Some("sum"))), Some(parse("19").unwrap()));
        assert_eq!(diameter(of(&["5"], None)), Some(parse("5").unwrap()));
        assert_eq!(of(&["5"], None).for_basis(MeasureBasis::HeightFt), None, "unknown is not zero");
        assert_eq!(of(&["5"], None).for_basis(MeasureBasis::CircumferenceIn), None);
    }

    #[test]
    fn a_girth_is_a_trunk_too() {
        let girth = |inches: &str| Measure { girth_in: Some(inches.parse().unwrap()), ..Measure::default() };
        // 31.4159265 / pi, to four decimals.
        let tree = girth("31.4159265");
        assert_eq!(tree.for_basis(MeasureBasis::DiameterIn), Some(parse("10").unwrap()));
        assert_eq!(tree.for_basis(MeasureBasis::CircumferenceIn), Some(parse("31.4159265").unwrap()));
        assert_eq!(girth("0.0001").for_basis(MeasureBasis::DiameterIn), None, "too thin to be a trunk");
        assert_eq!(girth("30.0").words(), "girth 30 in");
    }

    #[test]
    fn treated_ground_comes_in_the_unit_of_the_rate() {
        let ground = |value: &str, unit: &str| Measure {
            ground: Some(value.parse().unwrap()),
            ground_unit: Some(unit.to_owned()),
            ..Measure::default()
        };
        // 43,560 sq ft an acre; the international foot is 0.3048 m (NIST Handbook 44, Appendix C).
        let acre = ground("1", "acre");
        assert_eq!(acre.for_basis(MeasureBasis::ThousandSquareFeet), Some(parse("43.56").unwrap()));
        assert_eq!(ground("43560", "sqft").for_basis(MeasureBasis::Acre), Some(parse("1").unwrap()));
        assert_eq!(
            ground("92.90304", "m2").for_basis(MeasureBasis::ThousandSquareFeet),
            Some(parse("1").unwrap())
        );
        assert_eq!(acre.for_basis(MeasureBasis::Plant), Some(parse("1").unwrap()));
        assert_eq!(ground("5000", "sqft").words(), "ground 5000 sq ft");
        assert!(!acre.has("height-ft") && acre.has("area-acre") && !acre.has("no-such-basis"));
    }
}
