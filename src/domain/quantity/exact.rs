//! Reading decimals exactly and printing them with a stated rounding.

use num_bigint::BigInt;
use num_integer::Integer;
use num_rational::BigRational;
use num_traits::{One, Signed, ToPrimitive, Zero};
use rust_decimal::Decimal;

/// An exact number. Sums, products, quotients and comparisons lose nothing.
pub type Exact = BigRational;

/// The longest decimal that is read; longer ones are no measurement.
const LONGEST: usize = 60;

/// Why a text is not a decimal number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NumberError {
    /// Anything but digits with at most one point and a leading minus.
    #[error("is not a decimal number")]
    NotDecimal,
    /// More than 60 characters.
    #[error("has more than 60 characters")]
    TooLong,
}

/// Reads a plain decimal such as `3`, `0.25` or `-1.5`, without exponent,
/// grouping or white space.
///
/// # Errors
/// [`NumberError`] for anything else, `NaN` and infinities included.
pub fn parse(text: &str) -> Result<Exact, NumberError> {
    if text.len() > LONGEST {
        return Err(NumberError::TooLong);
    }
    let (negative, digits) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, "0"));
    let all_digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if !all_digits(whole) || !all_digits(fraction) {
        return Err(NumberError::NotDecimal);
    }
    let joined = format!("{whole}{fraction}");
    let number: BigInt = joined.parse().map_err(|_| NumberError::NotDecimal)?;
    let value = Exact::new(number, power_of_ten(fraction.len()));
    Ok(if negative { -value } else { value })
}

/// The exact value of a database decimal.
pub fn from_decimal(value: Decimal) -> Exact {
    // A decimal has 96 bits and at most 28 places: both parts are machine words.
    reduced(value.mantissa(), 10_i128.pow(value.scale()))
}

/// `one * other`, which lose nothing. Figures that people measure fit machine words, whose divisors are found
/// many times faster than those of numbers of any size.
pub fn times(one: &Exact, other: &Exact) -> Exact {
    let small = |part: &BigInt| part.to_i64().map(i128::from);
    let parts = [one.numer(), one.denom(), other.numer(), other.denom()].map(small);
    match parts {
        // Products of two 64-bit words fit 128 bits.
        [Some(a), Some(b), Some(c), Some(d)] => {
            let (across, back) = (a.gcd(&d), c.gcd(&b));
            lowest((a / across) * (c / back), (b / back) * (d / across))
        }
        _ => one * other,
    }
}

/// The fraction in lowest terms; the denominator is above zero.
fn reduced(numer: i128, denom: i128) -> Exact {
    let common = numer.gcd(&denom);
    lowest(numer / common, denom / common)
}

/// A fraction that is in lowest terms already.
fn lowest(numer: i128, denom: i128) -> Exact {
    Exact::new_raw(BigInt::from(numer), BigInt::from(denom))
}

/// The database decimal of an exact value, if it is a finite decimal that fits
/// in 28 digits.
pub fn to_decimal(value: &Exact) -> Option<Decimal> {
    Decimal::from_str_exact(&finite(value)?).ok()
}

/// So many decimals are kept of a figure that has no end, such as an ounce for thirty inches.
const KEPT: usize = 9;

/// The figure as a row can hold it: exact where it is a decimal, else what is below it by less than a
/// billionth, so that nobody pours more.
pub fn kept(value: &Exact) -> Exact {
    if to_decimal(value).is_some() { value.clone() } else { floor_at(value, KEPT) }
}

/// With exactly `places` decimals, halves away from zero; never `-0`.
pub fn fixed_half_up(value: &Exact, places: usize) -> String {
    // On the parts: a product of rationals would look for a common divisor each time.
    let twice = value.numer().abs() * power_of_ten(places) * BigInt::from(2) / value.denom();
    let units = (twice + BigInt::one()) / BigInt::from(2);
    point(&units, places, value.is_negative())
}

/// With exactly `places` decimals, towards smaller numbers.
pub fn fixed_down(value: &Exact, places: usize) -> String {
    let units = (value.numer() * power_of_ten(places)).div_floor(value.denom());
    point(&units.abs(), places, units.is_negative())
}

/// With exactly `places` decimals, towards larger numbers.
pub fn fixed_up(value: &Exact, places: usize) -> String {
    let units = -(-value.numer() * power_of_ten(places)).div_floor(value.denom());
    point(&units.abs(), places, units.is_negative())
}

/// The largest multiple of 10^-`places` that is not above `value`.
pub fn floor_at(value: &Exact, places: usize) -> Exact {
    let scale = power_of_ten(places);
    Exact::new((value * &scale).floor().to_integer(), scale)
}

/// The shortest exact decimal; a value that is no finite decimal (a third) is
/// printed to 12 decimals, half up.
pub fn plain(value: &Exact) -> String {
    finite(value).unwrap_or_else(|| fixed_half_up(value, 12))
}

/// The exact decimal of a value whose denominator has no factor but 2 and 5.
fn finite(value: &Exact) -> Option<String> {
    let twos = usize::try_from(value.denom().trailing_zeros().unwrap_or(0)).ok()?;
    let (fives, rest) = strip(value.denom() >> twos, 5);
    if !rest.is_one() {
        return None;
    }
    let places = twos.max(fives);
    let units = value.numer() * power_of_ten(places) / value.denom();
    Some(point(&units.abs(), places, units.is_negative()))
}

/// How often `factor` divides `number`, and what is left of it.
fn strip(mut number: BigInt, factor: u32) -> (usize, BigInt) {
    let mut times = 0;
    if number.is_one() {
        return (times, number);
    }
    loop {
        let (quotient, remainder) = number.div_rem(&BigInt::from(factor));
        if !remainder.is_zero() {
            return (times, number);
        }
        number = quotient;
        times += 1;
    }
}

fn power_of_ten(places: usize) -> BigInt {
    BigInt::from(10).pow(places.to_u32().unwrap_or(u32::MAX))
}

/// Sets the decimal point `places` digits from the right.
fn point(units: &BigInt, places: usize, negative: bool) -> String {
    let sign = if negative && !units.is_zero() { "-" } else { "" };
    let digits = format!("{units:0>width$}", width = places + 1, units = units.to_string());
    let (whole, fraction) = digits.split_at(digits.len() - places);
    if places == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{fraction}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exact(text: &str) -> Exact {
        parse(text).unwrap()
    }

    #[test]
    fn reads_plain_decimals_only() {
        assert_eq!(exact("0.250"), Exact::new(1.into(), 4.into()));
        assert_eq!(exact("-1.5"), Exact::new((-3).into(), 2.into()));
        for wrong in ["", ".", "1.", ".5", "1e3", "NaN", "inf", "+1", " 1", "1,5", "--1", "1.2.3"] {
            assert_eq!(parse(wrong), Err(NumberError::NotDecimal), "{wrong}");
        }
        assert_eq!(parse(&"9".repeat(61)), Err(NumberError::TooLong));
    }

    #[test]
    fn prints_with_the_stated_rounding() {
        assert_eq!(fixed_half_up(&exact("0.0000005"), 6), "0.000001");
        assert_eq!(fixed_half_up(&exact("0.00000049"), 6), "0.000000");
        assert_eq!(fixed_half_up(&exact("-0.0000005"), 6), "-0.000001");
        assert_eq!(fixed_half_up(&exact("-0.0000004"), 6), "0.000000");
        assert_eq!(fixed_down(&exact("86.58899"), 4), "86.5889");
        assert_eq!(fixed_down(&exact("-0.00001"), 4), "-0.0001");
        assert_eq!(fixed_down(&exact("7.9"), 0), "7");
        assert_eq!(floor_at(&exact("7.96"), 1), exact("7.9"));
    }

    #[test]
    fn products_are_those_of_numbers_of_any_size() {
        let parts = [
            "0",
            "1",
            "-1",
            "0.5",
            "-2.25",
            "453.59237",
            "3785.411784",
            "9223372036854775807",
            "12345678901234567890.5",
        ];
        for (one, other) in parts.iter().flat_map(|one| parts.map(|other| (exact(one), exact(other)))) {
            for (a, b) in [(one.clone(), other.clone()), (one / &exact("3785.411784"), other)] {
                let (found, known) = (times(&a, &b), &a * &b);
                assert_eq!((found.numer(), found.denom()), (known.numer(), known.denom()), "{a} times {b}");
            }
        }
        for text in ["0", "-0.50", "79228162514264337593543950335", "0.0000000000000000000000000001"] {
            let found = from_decimal(Decimal::from_str_exact(text).unwrap());
            assert_eq!((found.numer(), found.denom()), (exact(text).numer(), exact(text).denom()));
        }
    }

    #[test]
    fn prints_exact_decimals_without_padding() {
        assert_eq!(plain(&exact("24.000")), "24");
        assert_eq!(plain(&exact("0.0625")), "0.0625");
        assert_eq!(plain(&exact("-10.50")), "-10.5");
        assert_eq!(plain(&exact("0")), "0");
        assert_eq!(plain(&Exact::new(1.into(), 3.into())), "0.333333333333");
    }

    #[test]
    fn database_decimals_survive_the_round_trip() {
        let decimal = Decimal::from_str_exact("12.3400").unwrap();
        assert_eq!(plain(&from_decimal(decimal)), "12.34");
        assert_eq!(to_decimal(&exact("12.34")), Some(Decimal::from_str_exact("12.34").unwrap()));
        let third = Exact::new(1.into(), 3.into());
        assert_eq!((to_decimal(&third), plain(&kept(&third))), (None, "0.333333333".to_owned()));
        assert_eq!(kept(&exact("0.0000000001")), exact("0.0000000001"), "what has an end is kept whole");
    }
}
