//! What a rate is multiplied with, in words: as a label states it, as a tape or a count shows it.

use super::label::MeasureBasis;
use super::quantity::{Exact, plain};
use num_traits::One;

/// The square feet in the thousand that lawn labels speak of.
const THOUSAND: i64 = 1000;

impl MeasureBasis {
    /// After "per" on a label: `ft of height`, `30 in of trunk diameter`, `1,000 sq ft`. `per` is the number
    /// that the rate is stated for, mostly one.
    #[must_use]
    pub fn on_label(self, per: &Exact) -> String {
        match self {
            Self::HeightFt => counted(per, "ft of height"),
            Self::DiameterIn => counted(per, "in of trunk diameter"),
            Self::CircumferenceIn => counted(per, "in of trunk girth"),
            other => other.after_per(per),
        }
    }

    /// After "per" where space is short: `ft`, `30 in`, `in of girth`, `plant`.
    #[must_use]
    pub fn after_per(self, per: &Exact) -> String {
        match self {
            Self::HeightFt => counted(per, "ft"),
            Self::DiameterIn => counted(per, "in"),
            Self::CircumferenceIn => counted(per, "in of girth"),
            Self::Plant => several(per, "plant"),
            Self::Container => several(per, "container"),
            Self::ThousandSquareFeet => format!("{} sq ft", grouped(&(per * thousand()))),
            Self::Acre => several(per, "acre"),
        }
    }

    /// A plant's own measure: `8 ft`, `12 in`, `girth 31 in`, `2,500 sq ft`; of what is merely counted `each
    /// plant as it is`.
    #[must_use]
    pub fn measured(self, value: &Exact) -> String {
        match self {
            Self::HeightFt => format!("{} ft", plain(value)),
            Self::DiameterIn => format!("{} in", plain(value)),
            Self::CircumferenceIn => format!("girth {} in", plain(value)),
            Self::Plant => "each plant as it is".to_owned(),
            Self::Container => "each container as it is".to_owned(),
            Self::ThousandSquareFeet => format!("{} sq ft", grouped(&(value * thousand()))),
            Self::Acre => format!("{} acre{}", plain(value), if value.is_one() { "" } else { "s" }),
        }
    }
}

fn thousand() -> Exact {
    Exact::from(num_bigint::BigInt::from(THOUSAND))
}

/// `ft`, or `30 in` where it is not one.
fn counted(per: &Exact, unit: &str) -> String {
    if per.is_one() { unit.to_owned() } else { format!("{} {unit}", plain(per)) }
}

/// `acre`, or `2 acres`.
fn several(per: &Exact, unit: &str) -> String {
    if per.is_one() { unit.to_owned() } else { format!("{} {unit}s", plain(per)) }
}

/// With a comma between its thousands.
fn grouped(value: &Exact) -> String {
    let text = plain(value);
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    let mut out = String::new();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    out + rest
}

#[cfg(test)]
mod tests {
    use super::super::quantity::parse;
    use super::*;

    #[test]
    fn every_basis_says_what_it_counts_and_for_how_many() {
        let (one, thirty) = (parse("1").unwrap(), parse("30").unwrap());
        for (basis, per_one, per_thirty, measured) in [
            (MeasureBasis::HeightFt, "ft of height", "30 ft of height", "2.5 ft"),
            (MeasureBasis::DiameterIn, "in of trunk diameter", "30 in of trunk diameter", "2.5 in"),
            (MeasureBasis::CircumferenceIn, "in of trunk girth", "30 in of trunk girth", "girth 2.5 in"),
            (MeasureBasis::Plant, "plant", "30 plants", "each plant as it is"),
            (MeasureBasis::Container, "container", "30 containers", "each container as it is"),
            (MeasureBasis::ThousandSquareFeet, "1,000 sq ft", "30,000 sq ft", "2,500 sq ft"),
            (MeasureBasis::Acre, "acre", "30 acres", "2.5 acres"),
        ] {
            assert_eq!(basis.on_label(&one), per_one);
            assert_eq!(basis.on_label(&thirty), per_thirty);
            assert_eq!(basis.measured(&parse("2.5").unwrap()), measured);
        }
        assert_eq!(MeasureBasis::Acre.measured(&one), "1 acre");
        assert_eq!(MeasureBasis::DiameterIn.after_per(&thirty), "30 in");
    }
}
