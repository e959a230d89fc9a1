//! From the tape to the figure that the rate is multiplied with.
//!
//! Trunks are measured at 4.5 ft. A label speaks of "inches of trunk diameter";
//! how several stems count is the licensed person's choice, so the rule used is
//! kept beside the stems.

use super::quantity::{Exact, parse};
use num_bigint::BigInt;
use num_traits::{One, Zero};

/// Pi to 40 decimals: far finer than the four decimals that are kept.
const PI: &str = "3.1415926535897932384626433832795028841972";

/// How several stems of one tree become one diameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StemRule {
    /// All diameters added.
    Sum,
    /// Square root of the sum of squares: the stem of the same cross-section.
    Quadratic,
    /// The largest, and half of the others.
    LargestPlusHalf,
}

impl StemRule {
    /// Every rule.
    pub const ALL: [Self; 3] = [Self::Sum, Self::Quadratic, Self::LargestPlusHalf];

    /// The code used in JSON and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::Sum => "sum",
            Self::Quadratic => "quadratic",
            Self::LargestPlusHalf => "largest-plus-half",
        }
    }

    /// The rule of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|rule| rule.code() == code)
    }
}

/// The one diameter that stands for several stems, in the unit of the stems;
/// the quadratic one is rounded to 4 decimals, half up.
pub fn combined_diameter(stems: &[Exact], rule: StemRule) -> Exact {
    match rule {
        StemRule::Sum => stems.iter().sum(),
        StemRule::Quadratic => root_half_up(&stems.iter().map(|stem| stem * stem).sum(), 4),
        StemRule::LargestPlusHalf => {
            let all: Exact = stems.iter().sum();
            let largest = stems.iter().max().cloned().unwrap_or_else(Exact::zero);
            (all + largest) / BigInt::from(2)
        }
    }
}

/// Diameter of a trunk from its girth, rounded to 4 decimals, half up.
pub fn diameter_from_circumference(circumference: &Exact) -> Exact {
    let pi = parse(PI).unwrap_or_else(|_| Exact::one());
    let scale = BigInt::from(10_000);
    let half = Exact::new(BigInt::one(), BigInt::from(2));
    let units = (circumference / pi * &scale + half).floor().to_integer();
    Exact::new(units, scale)
}

/// Square root of a number that is not negative, to `places` decimals, half up.
fn root_half_up(value: &Exact, places: u32) -> Exact {
    let scale = BigInt::from(10).pow(places);
    // The wanted k is the largest with (2k - 1)^2 <= 4 * value * scale^2.
    let four_times: Exact = value * (&scale * &scale * BigInt::from(4));
    let root = four_times.floor().to_integer().sqrt();
    Exact::new((root + BigInt::one()) / BigInt::from(2), scale)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::quantity::plain;

    #[test]
    fn the_root_is_rounded_half_up_at_the_boundary() {
        let root = |text: &str| plain(&root_half_up(&parse(text).unwrap(), 4));
        assert_eq!(root("4"), "2");
        assert_eq!(root("0"), "0");
        // 1.00005 squared: the root lies exactly on the half.
        assert_eq!(root("1.0001000025"), "1.0001");
        assert_eq!(root("1.0001000024"), "1");
    }

    #[test]
    fn one_stem_is_itself_under_every_rule() {
        for rule in StemRule::ALL {
            assert_eq!(combined_diameter(&[parse("7.25").unwrap()], rule), parse("7.25").unwrap());
            assert_eq!(StemRule::from_code(rule.code()), Some(rule));
        }
    }
}
