//! Amounts as a person can measure them: product to what the cup shows, water in cups and gallons, and
//! what an annual cap still leaves.
use super::words;
use crate::domain::{
    book::Book,
    cap::EarlierUse,
    dose::product_for,
    facts::Facts,
    label::{MeasureBasis, Product},
    quantity::{Amount, AmountUnit, Exact, VolumeUnit, fixed_down, floor_at, from_decimal, plain},
};
use crate::texts::Language;
use fluent_bundle::FluentArgs;
use num_bigint::BigInt;
use num_traits::{One, Zero};
use rust_decimal::Decimal;

/// `24 mL`: rounded down to a tenth where the exact figure has more decimals, so that nobody pours more.
#[must_use]
pub fn amount(value: Decimal, unit: &str) -> String {
    amount_in(Language::English, value, unit)
}

/// The same in that language.
#[must_use]
pub fn amount_in(language: Language, value: Decimal, unit: &str) -> String {
    shown_in(language, &from_decimal(value), unit)
}

/// The same for an exact amount.
#[must_use]
pub fn exact(amount: &Amount) -> String {
    exact_in(Language::English, amount)
}

/// The same in that language.
#[must_use]
pub fn exact_in(language: Language, amount: &Amount) -> String {
    shown_in(language, &amount.value, amount.unit.code())
}

/// The same for a figure that need not be a decimal.
#[must_use]
pub fn shown(value: &Exact, unit: &str) -> String {
    shown_in(Language::English, value, unit)
}

/// The same in that language.
#[must_use]
pub fn shown_in(language: Language, value: &Exact, unit: &str) -> String {
    let coarse = matches!(unit, "mL" | "g" | "mg");
    let down = floor_at(value, if coarse { 1 } else { 2 });
    let said = said(language, &down, unit);
    if down == *value { said } else { language.say_of("rounded-down", "amount", said) }
}

/// As it is written down, unrounded: `24 mL`, `3 packets`.
#[must_use]
pub fn written(value: Decimal, unit: &str) -> String {
    said(Language::English, &from_decimal(value), unit)
}

/// The same in that language.
#[must_use]
pub fn written_in(language: Language, value: Decimal, unit: &str) -> String {
    said(language, &from_decimal(value), unit)
}

fn said(language: Language, value: &Exact, unit: &str) -> String {
    format!("{} {}", plain(value), unit_in(language, unit, *value == Exact::one()))
}

/// The unit of one or of several; only pieces are words, which languages have each of their own.
#[must_use]
pub fn unit_in(language: Language, unit: &str, one: bool) -> String {
    match unit {
        "packet" | "tablet" => language.say_of(unit, "count", if one { 1 } else { 2 }),
        "cup" => language.say_of("unit-cup", "count", if one { 1 } else { 2 }),
        other => words::unit(other).to_owned(),
    }
}

/// A number without padding zeros.
#[must_use]
pub fn number(value: Decimal) -> String {
    value.normalize().to_string()
}

/// `8 ft`, `12 in`, `2,500 sq ft`, `each plant as it is`
#[must_use]
pub fn measure(value: Decimal, basis: &str) -> String {
    measure_in(Language::English, value, basis)
}

/// The same in that language.
#[must_use]
pub fn measure_in(language: Language, value: Decimal, basis: &str) -> String {
    if measure_unit(basis).is_empty() && MeasureBasis::from_code(basis).is_some() {
        return language.say("as-it-is");
    }
    MeasureBasis::from_code(basis).map_or_else(|| number(value), |basis| basis.measured(&from_decimal(value)))
}

/// `4.5 mL per ft`, `2 packets per plant`, or `1.5 oz per 30 in` where the rate is stated so.
#[must_use]
pub fn rate(value: Decimal, unit: &str, basis: &str, per: Decimal) -> String {
    rate_in(Language::English, value, unit, basis, per)
}

/// The same in that language.
#[must_use]
pub fn rate_in(language: Language, value: Decimal, unit: &str, basis: &str, per: Decimal) -> String {
    let mut args = FluentArgs::new();
    args.set("amount", written_in(language, value, unit));
    let counted = measure_unit(basis).is_empty() && per == Decimal::ONE;
    args.set("what", if counted { language.say("one-plant") } else { after_per(basis, per) });
    language.fill("rate-per", &args)
}

/// What the rate is stated for: `ft`, `30 in`, `plant`.
fn after_per(basis: &str, per: Decimal) -> String {
    MeasureBasis::from_code(basis)
        .map_or_else(|| basis.to_owned(), |basis| basis.after_per(&from_decimal(per)))
}

/// The unit on the tape; nothing where plants are merely counted.
#[must_use]
pub fn measure_unit(basis: &str) -> &'static str {
    match MeasureBasis::from_code(basis) {
        Some(MeasureBasis::HeightFt) => "ft",
        Some(MeasureBasis::DiameterIn | MeasureBasis::CircumferenceIn) => "in",
        Some(MeasureBasis::ThousandSquareFeet) => "thousand sq ft",
        Some(MeasureBasis::Acre) => "acres",
        Some(MeasureBasis::Plant | MeasureBasis::Container) | None => "",
    }
}

/// `6 to 9 mL per ft`, `1 to 2 oz per 30 in`
#[must_use]
pub fn band(low: Decimal, high: Decimal, unit: &str, basis: &str, per: Decimal) -> String {
    format!("{} to {} per {}", number(low), written(high, unit), after_per(basis, per))
}

/// Carrier water for so many feet or inches, as it is measured on the spot: quarter cups, and gallons
/// where that is more than a gallon. The least is rounded up, the most down.
#[must_use]
pub fn water(language: Language, low: Decimal, high: Decimal, unit: &str, times: &Exact) -> Option<String> {
    let unit = VolumeUnit::from_code(unit).ok()?;
    let whole = |each: Decimal| Amount::new(from_decimal(each) * times, AmountUnit::Volume(unit));
    carrier(language, &whole(low), &whole(high))
}

/// The same for a band of water that is worked out already.
#[must_use]
pub fn carrier(language: Language, low: &Amount, high: &Amount) -> Option<String> {
    let cups =
        |amount: &Amount| amount.in_unit(AmountUnit::Volume(VolumeUnit::Cup)).ok().map(|cups| cups.value);
    let (low, high) = (quarters_up(&cups(low)?), quarters_down(&cups(high)?));
    let high = high.max(low.clone());
    let said = range(language, &low, &high, "cups");
    let gallon = Exact::from(BigInt::from(16));
    if high < gallon {
        return Some(said);
    }
    // Nobody measures more than a gallon by the cup.
    let cups = if low < gallon { format!(" ({said})") } else { String::new() };
    let gallons = |cups: &Exact| cups / BigInt::from(16);
    let (low, high) = (quarters_up(&gallons(&low)), quarters_down(&gallons(&high)));
    let high = high.max(low.clone());
    Some(format!("{}{cups}", range(language, &low, &high, "gallons")))
}

/// `unit` names the text: `cups`, `gallons`.
fn range(language: Language, low: &Exact, high: &Exact, unit: &str) -> String {
    let mut args = FluentArgs::new();
    args.set("low", quarters(low));
    args.set("high", quarters(high));
    let said = if low == high { quarters(low) } else { language.fill("from-to", &args) };
    args.set("said", said);
    args.set("count", if *high > Exact::one() { 2 } else { 1 });
    language.fill(unit, &args)
}

fn quarters_down(value: &Exact) -> Exact {
    let four = BigInt::from(4);
    Exact::new((value * &four).floor().to_integer(), four)
}

fn quarters_up(value: &Exact) -> Exact {
    let four = BigInt::from(4);
    Exact::new((value * &four).ceil().to_integer(), four)
}

/// `1 1/4`: as the cup is marked.
fn quarters(value: &Exact) -> String {
    let whole = value.floor();
    let part = match plain(&(value - &whole)).as_str() {
        "0.25" => "1/4",
        "0.5" => "1/2",
        "0.75" => "3/4",
        _ => "",
    };
    match (whole.is_zero(), part) {
        (_, "") => plain(&whole),
        (true, part) => part.to_owned(),
        (false, part) => format!("{} {part}", plain(&whole)),
    }
}

/// What is left of each cap that binds these products, bookings taken off, in the product's own unit too.
///
/// # Errors
/// When the facts do not fit together.
pub fn left(language: Language, facts: &Facts, products: &[String]) -> anyhow::Result<Vec<String>> {
    let book = Book::new(facts).map_err(|errors| anyhow::anyhow!("facts do not fit together: {errors:?}"))?;
    let mut lines = vec![];
    for standing in book.standings() {
        let holds = |product: &&Product| match &standing.product {
            Some(counted) => counted.id == product.id && products.contains(&product.id),
            None => {
                products.contains(&product.id)
                    && product.ingredients.iter().any(|i| i.name == standing.ingredient)
            }
        };
        let Some(product) = facts.products.iter().find(holds) else { continue };
        let name = &standing.ingredient;
        let mut args = FluentArgs::new();
        args.set("name", name.as_str());
        let mut line = match &standing.remaining {
            None => language.fill("cap-unchecked", &args),
            Some(remaining) => {
                let free = (remaining - &standing.reserved).max(Exact::zero());
                let unit = unit_in(language, standing.unit(), false);
                args.set("left", format!("{} {unit}", fixed_down(&free, 2)));
                args.set("product", product.words());
                match in_product(language, product, name, &free).filter(|_| standing.product.is_none()) {
                    Some(amount) => {
                        args.set("amount", amount);
                        language.fill("cap-left-of-product", &args)
                    }
                    None => language.fill("cap-of", &args),
                }
            }
        } + ".";
        if standing.earlier_use == EarlierUse::Unconfirmed {
            line.push(' ');
            line.push_str(&language.say("cap-unconfirmed"));
        }
        lines.push(line);
    }
    Ok(lines)
}

fn in_product(language: Language, product: &Product, ingredient: &str, grams: &Exact) -> Option<String> {
    let held = product.ingredients.iter().find(|i| i.name == ingredient)?;
    let amount = product_for(product, held, grams, product.shown_unit()).ok()?;
    // Packets are not divided.
    let left = floor_at(&amount.value, usize::from(!amount.unit.is_piece()));
    Some(said(language, &left, amount.unit.code()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn d(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    #[test]
    fn nobody_is_told_to_pour_more_than_the_exact_dose() {
        assert_eq!(amount(d("24.00"), "mL"), "24 mL");
        assert_eq!(amount(d("23.37"), "mL"), "23.3 mL (rounded down)");
        assert_eq!(amount(d("1.25"), "floz"), "1.25 fl oz");
    }

    #[test]
    fn water_comes_in_quarter_cups_and_stays_within_its_band() {
        // One US gallon is sixteen cups, one cup eight fluid ounces (NIST Handbook 44, Appendix C; from memory).
        let water = |low, high, unit, times| water(Language::English, low, high, unit, &from_decimal(times));
        assert_eq!(water(d("1"), d("2"), "pt", d("3")).unwrap(), "6 to 12 cups");
        assert_eq!(water(d("250"), d("500"), "mL", d("3")).unwrap(), "3 1/4 to 6 1/4 cups");
        assert_eq!(water(d("0.5"), d("1"), "gal", d("1")).unwrap(), "1/2 to 1 gallon (8 to 16 cups)");
        assert_eq!(water(d("0.5"), d("1"), "gal", d("4")).unwrap(), "2 to 4 gallons");
        assert_eq!(water(d("1"), d("1"), "gal", d("1")).unwrap(), "1 gallon");
        assert_eq!(
            water(d("10"), d("10"), "mL", d("1")).unwrap(),
            "1/4 cup",
            "less than a quarter is a quarter"
        );
        assert_eq!(water(d("1"), d("2"), "bucket", d("1")), None);
    }

    #[test]
    fn spanish_has_words_of_its_own_and_the_same_figures() {
        let es = Language::Spanish;
        assert_eq!(amount_in(es, d("23.37"), "mL"), "23.3 mL (redondeado hacia abajo)");
        assert_eq!(amount_in(es, d("3"), "packet"), "3 sobres");
        assert_eq!(rate_in(es, d("4.5"), "mL", "height-ft", d("1")), "4.5 mL por ft");
        assert_eq!(rate_in(es, d("1"), "tablet", "plant", d("1")), "1 pastilla por planta");
        assert_eq!(measure_in(es, d("1"), "plant"), "cada planta como está");
        let band = water(es, d("0.5"), d("1"), "gal", &from_decimal(d("1"))).unwrap();
        assert_eq!(band, "1/2 a 1 galón (8 a 16 tazas)");
    }

    #[test]
    fn bands_and_measures_name_their_units() {
        let one = d("1");
        assert_eq!(band(d("6.0"), d("12"), "mL", "height-ft", one), "6 to 12 mL per ft");
        assert_eq!(band(one, d("2"), "oz", "circumference-in", d("30")), "1 to 2 oz per 30 in of girth");
        assert_eq!(rate(one, "packet", "plant", one), "1 packet per plant");
        assert_eq!(rate(d("3.5"), "lb", "area-1000sqft", one), "3.5 lb per 1,000 sq ft");
        assert_eq!(measure(d("2.5"), "area-1000sqft"), "2,500 sq ft");
        assert_eq!(measure(one, "plant"), "each plant as it is");
        assert_eq!(amount(d("3"), "packet"), "3 packets");
        assert_eq!(amount(one, "tablet"), "1 tablet");
        assert_eq!(measure(d("12.50"), "diameter-in"), "12.5 in");
        assert_eq!(rate(d("0.10"), "floz", "diameter-in", one), "0.1 fl oz per in");
    }
}
