//! Money: US dollars in whole cents.
//!
//! The one rule of rounding: the amount of one line of an estimate, a statement or a bill is worked out exactly
//! and rounded to the cent, halves away from zero. Sums add the rounded lines, so that what stands on paper adds
//! up. Taxes are no matter of this program.

use super::quantity::Exact;
use num_bigint::BigInt;
use num_traits::{Signed, Zero};
use rust_decimal::Decimal;
use std::iter::Sum;
use std::ops::{Add, Sub};

/// An amount in US dollars, exact to the cent.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Money(BigInt);

impl Money {
    /// Nothing at all.
    #[must_use]
    pub fn zero() -> Self {
        Self(BigInt::zero())
    }

    /// So many dollars, rounded to the cent, halves away from zero.
    #[must_use]
    pub fn rounded(dollars: &Exact) -> Self {
        Self((dollars * Exact::from(BigInt::from(100))).round().to_integer())
    }

    /// In dollars.
    #[must_use]
    pub fn exact(&self) -> Exact {
        Exact::new(self.0.clone(), BigInt::from(100))
    }

    /// As the database keeps it, if it fits there.
    #[must_use]
    pub fn decimal(&self) -> Option<Decimal> {
        self.plain().parse().ok()
    }

    /// Whether it is below zero.
    #[must_use]
    pub fn is_negative(&self) -> bool {
        self.0.is_negative()
    }

    /// For files: `-1234.50`.
    #[must_use]
    pub fn plain(&self) -> String {
        let (whole, cents) = self.parts();
        format!("{}{whole}.{cents:02}", if self.is_negative() { "-" } else { "" })
    }

    /// For people: `$1,234.50`, `-$0.05`.
    #[must_use]
    pub fn words(&self) -> String {
        let (whole, cents) = self.parts();
        let digits = whole.to_string();
        let mut grouped = String::new();
        for (i, digit) in digits.chars().enumerate() {
            if i > 0 && (digits.len() - i) % 3 == 0 {
                grouped.push(',');
            }
            grouped.push(digit);
        }
        format!("{}${grouped}.{cents:02}", if self.is_negative() { "-" } else { "" })
    }

    fn parts(&self) -> (BigInt, u32) {
        let (all, hundred) = (self.0.abs(), BigInt::from(100));
        let cents = u32::try_from(&all % &hundred).unwrap_or_default();
        (all / hundred, cents)
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::zero(), Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::super::quantity::parse;
    use super::*;

    fn money(text: &str) -> Money {
        Money::rounded(&parse(text).unwrap())
    }

    #[test]
    fn halves_go_away_from_zero() {
        // The rule of the head of this file; Python's decimal with ROUND_HALF_UP gives the same.
        for (dollars, plain) in [
            ("0.005", "0.01"),
            ("0.0049999", "0.00"),
            ("-0.005", "-0.01"),
            ("1.115", "1.12"),
            ("2.675", "2.68"),
            ("19.99", "19.99"),
            ("1234567.894", "1234567.89"),
        ] {
            assert_eq!(money(dollars).plain(), plain, "{dollars}");
        }
    }

    #[test]
    fn lines_add_up_as_they_are_printed() {
        let third = Exact::new(BigInt::from(100), BigInt::from(3));
        let lines: Vec<Money> = (0..3).map(|_| Money::rounded(&third)).collect();
        let total: Money = lines.into_iter().sum();
        assert_eq!(total.plain(), "99.99", "three lines of 33.33, not the third of 100 three times");
        assert_eq!((total - money("100")).words(), "-$0.01");
    }

    #[test]
    fn people_read_thousands_and_files_do_not() {
        assert_eq!(
            (money("1234.5").words(), money("1234.5").plain()),
            ("$1,234.50".into(), "1234.50".into())
        );
        assert_eq!(money("1000000").words(), "$1,000,000.00");
        assert_eq!(money("-0.05").words(), "-$0.05");
        assert_eq!(money("12.30").decimal().unwrap().to_string(), "12.30");
        assert_eq!(Money::rounded(&money("7.77").exact()), money("7.77"));
    }
}
