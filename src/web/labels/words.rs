//! The choices of the label forms, and codes in words. The codes are the rules' own.
use crate::domain::{
    label::{CapYear, METHODS, MeasureBasis, PeriodUnit},
    quantity::{MassUnit, VolumeUnit},
};
pub use crate::web::pour::number;
use crate::web::words::unit;
use rust_decimal::Decimal;

/// Pairs of code and words, as select boxes take them.
pub type Choices = Vec<(&'static str, String)>;

/// Signal words that labels carry.
pub const SIGNAL_WORDS: [(&str, &str); 4] = [
    ("CAUTION", "CAUTION"),
    ("WARNING", "WARNING"),
    ("DANGER", "DANGER"),
    ("DANGER-POISON", "DANGER-POISON"),
];

/// Units in which labels state annual caps.
pub const CAP_UNITS: [&str; 5] = ["lb/acre", "oz/acre", "g/acre", "g/ha", "kg/ha"];

/// Units in which a label states how strong the product is. A percentage is by mass, so it
/// serves only what is weighed; labels of liquids print the mass in a volume beside it.
pub fn strength_units(dry: bool) -> &'static [&'static str] {
    if dry { &["percent"] } else { &["lb/gal", "g/L"] }
}

/// More than this no product holds: nothing but ingredient, or a mass that would be denser than any
/// liquid sold (a gallon of water weighs 8.3 lb; 20 lb/gal is about 2400 g/L). A bound against slips, our
/// own choice, no published source.
pub fn strongest(unit: &str) -> i64 {
    match unit {
        "percent" => 100,
        "lb/gal" => 20,
        _ => 2400,
    }
}

/// Units of volume that the tables take.
const VOLUMES: [VolumeUnit; 6] = [
    VolumeUnit::Millilitre,
    VolumeUnit::Litre,
    VolumeUnit::FluidOunce,
    VolumeUnit::Pint,
    VolumeUnit::Quart,
    VolumeUnit::Gallon,
];
const MASSES: [MassUnit; 4] = [MassUnit::Gram, MassUnit::Kilogram, MassUnit::Ounce, MassUnit::Pound];

/// Units of a rate that fit the product.
pub fn rate_units(dry: bool) -> Choices {
    if dry { MASSES.iter().map(|u| (u.code(), unit(u.code()).to_owned())).collect() } else { water_units() }
}

/// Units of carrier water.
pub fn water_units() -> Choices {
    VOLUMES.iter().map(|u| (u.code(), unit(u.code()).to_owned())).collect()
}

/// The methods.
pub fn methods() -> Choices {
    METHODS.iter().map(|m| (*m, method(m))).collect()
}

/// `basal-drench` as `Basal drench`.
pub fn method(code: &str) -> String {
    let mut letters = code.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    first.into_iter().chain(letters.map(|c| if c == '-' { ' ' } else { c })).collect()
}

/// What the rate is multiplied with.
pub fn measures() -> [(&'static str, &'static str); 2] {
    [
        (MeasureBasis::HeightFt.code(), "Foot of height (shrubs, hedges)"),
        (MeasureBasis::DiameterIn.code(), "Inch of trunk diameter at 4.5 ft (trees)"),
    ]
}

/// `height-ft` as `ft of height`.
pub fn per(measure: &str) -> &'static str {
    if measure == MeasureBasis::HeightFt.code() { "ft of height" } else { "in of trunk diameter" }
}

/// Units of a protection period.
pub fn periods() -> Choices {
    let all = [PeriodUnit::Day, PeriodUnit::Week, PeriodUnit::Month, PeriodUnit::Year];
    all.iter().map(|u| (u.code(), format!("{}s", u.code()))).collect()
}

/// What a cap's year is, short enough for a row.
pub fn years() -> Choices {
    let all = [
        (CapYear::Calendar, "Calendar year"),
        (CapYear::Rolling, "Any 12 months"),
        (CapYear::Unstated, "Not stated"),
    ];
    all.iter().map(|(y, words)| (y.code(), (*words).to_owned())).collect()
}

/// A cap's year in words.
pub fn year(code: &str) -> &'static str {
    match CapYear::from_code(code) {
        Some(CapYear::Calendar) => "a calendar year",
        Some(CapYear::Rolling) => "any 12 months",
        _ => "a year, the label does not say which",
    }
}

/// Codes that are their own words.
pub fn plain(codes: &'static [&'static str]) -> Choices {
    codes.iter().map(|c| (*c, (*c).to_owned())).collect()
}

/// `3 to 6`, or `3` where both ends are the same.
pub fn band(low: Decimal, high: Decimal) -> String {
    if low == high { number(low) } else { format!("{} to {}", number(low), number(high)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_become_words() {
        assert_eq!(method("basal-drench"), "Basal drench");
        assert_eq!(rate_units(false)[2], ("floz", "fl oz".to_owned()), "volume is never mixed with mass");
        assert_eq!(rate_units(true)[2], ("oz", "oz".to_owned()));
        assert_eq!(band(Decimal::new(30, 1), Decimal::new(600, 2)), "3 to 6");
        assert_eq!(band(Decimal::new(30, 1), Decimal::new(3, 0)), "3");
    }

    #[test]
    fn units_offered_fit_the_product() {
        use crate::domain::quantity::AmountUnit;
        assert!(rate_units(true).iter().all(|(code, _)| !AmountUnit::from_code(code).unwrap().is_volume()));
        assert!(rate_units(false).iter().all(|(code, _)| AmountUnit::from_code(code).unwrap().is_volume()));
        assert_eq!(strength_units(true), ["percent"]);
    }
}
