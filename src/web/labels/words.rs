//! The choices of the label forms, and codes in words. The codes are the rules' own.
pub use crate::web::pour::number;
use crate::{
    domain::{
        label::{CapYear, METHODS, MeasureBasis, PeriodUnit},
        product_kind::ProductKind,
        quantity::{AmountUnit, AreaUnit, MassUnit, VolumeUnit, from_decimal},
    },
    web::words,
};
use rust_decimal::Decimal;

/// Pairs of code and words, as select boxes take them.
pub type Choices = Vec<(String, String)>;

/// Signal words that labels carry.
pub const SIGNAL_WORDS: [(&str, &str); 4] = [
    ("CAUTION", "CAUTION"),
    ("WARNING", "WARNING"),
    ("DANGER", "DANGER"),
    ("DANGER-POISON", "DANGER-POISON"),
];

/// Units in which a label states how strong the product is, those of its kind first used first. A percentage
/// is by mass: of what is poured it takes the density, of pieces the mass of one.
pub fn strength_units(kind: ProductKind) -> &'static [&'static str] {
    match kind {
        ProductKind::Liquid => &["lb/gal", "oz/gal", "g/L", "g/mL", "percent"],
        ProductKind::Dry => &["percent"],
        ProductKind::Packet => &["percent", "g/packet", "mg/packet", "oz/packet"],
        ProductKind::Tablet => &["percent", "g/tablet", "mg/tablet", "oz/tablet"],
    }
}

/// More than this no product holds: nothing but ingredient, or a mass that would be denser than any
/// liquid sold (a gallon of water weighs 8.3 lb; 20 lb/gal is about 2400 g/L); no packet or tablet holds a
/// kilogram. A bound against slips, our own choice, no published source.
pub fn strongest(unit: &str) -> Decimal {
    match unit {
        "percent" => Decimal::from(100),
        "lb/gal" => Decimal::from(20),
        "oz/gal" => Decimal::from(320),
        "g/L" => Decimal::from(2400),
        "g/mL" => Decimal::new(24, 1),
        _ if unit.starts_with("mg/") => Decimal::from(1_000_000),
        _ if unit.starts_with("oz/") => Decimal::from(35),
        _ => Decimal::from(1000),
    }
}

/// Units of density.
pub const DENSITY_UNITS: [&str; 3] = ["g/mL", "kg/L", "lb/gal"];

/// Units in which a label states what a packet or tablet weighs.
pub const PIECE_UNITS: [&str; 4] = ["g", "mg", "oz", "lb"];

/// What a cap may count in, over the units of ground that labels use; of the product itself its own units too.
pub fn cap_units(kind: ProductKind) -> Choices {
    let masses = [MassUnit::Pound, MassUnit::Ounce, MassUnit::Gram, MassUnit::Kilogram];
    let own = kind.units().into_iter().filter(|unit| !matches!(unit, AmountUnit::Mass(_)));
    let counted: Vec<AmountUnit> = masses.into_iter().map(AmountUnit::Mass).chain(own).collect();
    let of = |unit: AmountUnit| {
        let area = move |area: &AreaUnit| {
            let code = format!("{}/{}", unit.code(), area.code());
            let words = format!("{}/{}", words::unit(unit.code()), words::area(area.code()));
            (code, words)
        };
        AREAS.iter().map(area).collect::<Vec<_>>()
    };
    counted.into_iter().flat_map(of).collect()
}

/// Units of ground, the acre of most labels first.
const AREAS: [AreaUnit; 6] = [
    AreaUnit::Acre,
    AreaUnit::ThousandSquareFeet,
    AreaUnit::Hectare,
    AreaUnit::SquareFoot,
    AreaUnit::SquareYard,
    AreaUnit::SquareMetre,
];

/// A cap's unit in words: `fl oz/1,000 sq ft`.
pub fn cap_unit(code: &str) -> String {
    code.split_once('/').map_or_else(
        || code.to_owned(),
        |(unit, area)| format!("{}/{}", words::unit(unit), words::area(area)),
    )
}

/// Units of a rate that fit the product.
pub fn rate_units(kind: ProductKind) -> Choices {
    kind.units().iter().map(|u| (u.code().to_owned(), words::units(u.code(), false).to_owned())).collect()
}

/// Units of carrier water, those that the tables take.
pub fn water_units() -> Choices {
    let volumes = [
        VolumeUnit::Millilitre,
        VolumeUnit::Litre,
        VolumeUnit::FluidOunce,
        VolumeUnit::Pint,
        VolumeUnit::Quart,
        VolumeUnit::Gallon,
    ];
    volumes.iter().map(|u| (u.code().to_owned(), words::unit(u.code()).to_owned())).collect()
}

/// The methods.
pub fn methods() -> Choices {
    METHODS.iter().map(|m| ((*m).to_owned(), method(m))).collect()
}

/// `basal-drench` as `Basal drench`.
pub fn method(code: &str) -> String {
    let mut letters = code.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    first.into_iter().chain(letters.map(|c| if c == '-' { ' ' } else { c })).collect()
}

/// What the rate is multiplied with.
pub fn measures() -> Choices {
    let words = |basis: MeasureBasis| match basis {
        MeasureBasis::HeightFt => "Foot of height (shrubs, hedges)",
        MeasureBasis::DiameterIn => "Inch of trunk diameter at 4.5 ft (trees)",
        MeasureBasis::CircumferenceIn => "Inch of trunk girth at 4.5 ft (trees)",
        MeasureBasis::Plant => "Plant, whatever its size",
        MeasureBasis::Container => "Container",
        MeasureBasis::ThousandSquareFeet => "1,000 sq ft of treated ground",
        MeasureBasis::Acre => "Acre of treated ground",
    };
    MeasureBasis::ALL.iter().map(|basis| (basis.code().to_owned(), words(*basis).to_owned())).collect()
}

/// What the rate is stated for, in words: `ft of height`, `30 in of trunk girth`.
pub fn per(measure: &str, per: Decimal) -> String {
    MeasureBasis::from_code(measure)
        .map_or_else(|| measure.to_owned(), |basis| basis.on_label(&from_decimal(per)))
}

/// Units of a protection period.
pub fn periods() -> Choices {
    let all = [PeriodUnit::Day, PeriodUnit::Week, PeriodUnit::Month, PeriodUnit::Year];
    all.iter().map(|u| (u.code().to_owned(), format!("{}s", u.code()))).collect()
}

/// What a cap's year is, short enough for a row.
pub fn years() -> Choices {
    let all = [
        (CapYear::Calendar, "Calendar year"),
        (CapYear::Rolling, "Any 12 months"),
        (CapYear::Unstated, "Not stated"),
    ];
    all.iter().map(|(y, words)| (y.code().to_owned(), (*words).to_owned())).collect()
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
    codes.iter().map(|c| ((*c).to_owned(), (*c).to_owned())).collect()
}

/// Is this code among the choices? Then it is given back.
pub fn chosen(of: &Choices, code: &str) -> Option<String> {
    of.iter().map(|(c, _)| c).find(|c| *c == code).cloned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_become_words() {
        assert_eq!(method("basal-drench"), "Basal drench");
        assert_eq!(rate_units(ProductKind::Liquid)[2], ("floz".to_owned(), "fl oz".to_owned()));
        assert_eq!(rate_units(ProductKind::Packet), [("packet".to_owned(), "packets".to_owned())]);
        assert_eq!(cap_unit("floz/1000sqft"), "fl oz/1,000 sq ft");
    }

    #[test]
    fn units_offered_fit_the_product() {
        for kind in ProductKind::ALL {
            for (code, _) in rate_units(kind) {
                assert!(kind.is_measured_in(AmountUnit::from_code(&code).unwrap()), "{code}");
            }
            assert!(cap_units(kind).iter().any(|(code, _)| code == "lb/acre"));
        }
        let gallons = |kind| cap_units(kind).iter().any(|(code, _)| code == "gal/acre");
        assert!(
            gallons(ProductKind::Liquid) && !gallons(ProductKind::Dry),
            "volume is never mixed with mass"
        );
        assert_eq!(strength_units(ProductKind::Dry), ["percent"]);
    }
}
