//! Is a label entry whole enough to be signed?
//!
//! Signing says "this is what the label in hand says". An entry with gaps would be
//! signed as if the label had them, so gaps come first. Where a label is silent, the
//! entry says so in words; an empty field means that nobody looked.

use super::dose::{grams_per_unit, product_in};
use super::label::{CapOf, Ingredient, Product, ProductForm};
use super::quantity::{Amount, AmountUnit, Exact, MassUnit, VolumeUnit};
use num_traits::One;

/// What the entry says besides the figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Words<'a> {
    /// Certification category.
    pub category: &'a str,
    /// Protective clothing.
    pub clothing: &'a str,
    /// Precautions for people, water, pollinators.
    pub precautions: &'a str,
    /// First aid.
    pub first_aid: &'a str,
}

/// What is missing before the entry can be signed, in plain words; empty: nothing.
///
/// A poured product whose ingredient is stated in percent alone is not whole: percent
/// is by mass, and without the mass of a gallon no dose gives an amount of ingredient.
/// A label whose rates are
/// ingredient per area must print the weight per volume (40 CFR 156.10(g), from memory).
pub fn missing(product: &Product, words: Words<'_>) -> Vec<String> {
    let mut gaps = Vec::new();
    for (text, name) in [
        (words.category, "the certification category"),
        (words.clothing, "the protective clothing"),
        (words.precautions, "the precautions"),
        (words.first_aid, "the first aid"),
    ] {
        if text.trim().is_empty() {
            gaps.push(name.to_owned());
        }
    }
    if product.ingredients.is_empty() {
        gaps.push("an active ingredient with its strength".to_owned());
    }
    gaps.extend(product.ingredients.iter().filter_map(|held| strength_gap(product, held)));
    if product.uses.is_empty() {
        gaps.push("a use with its rate".to_owned());
    }
    for item in &product.uses {
        if !is_measured_so(product, item.rate.unit) {
            let kind = match (&product.pieces, product.form) {
                (Some(pieces), _) => format!("in {}s", pieces.unit.code()),
                (None, ProductForm::Liquid) => "by volume".to_owned(),
                (None, ProductForm::Dry) => "by weight".to_owned(),
            };
            gaps.push(format!("a rate {kind} for the use by {}", item.method.replace('-', " ")));
        }
    }
    for cap in product.caps.iter().filter(|cap| cap.of == CapOf::Product) {
        let one = Amount::new(Exact::one(), product.shown_unit());
        if product_in(product, &one, cap.unit.base().1).is_err() {
            gaps.push(format!("what it takes to count this product against its cap of {}", cap.words()));
        }
    }
    gaps
}

fn is_measured_so(product: &Product, unit: AmountUnit) -> bool {
    match (&product.pieces, unit) {
        (Some(pieces), AmountUnit::Piece(piece)) => pieces.unit == piece,
        (Some(_), _) | (None, AmountUnit::Piece(_)) => false,
        (None, _) => unit.is_volume() == (product.form == ProductForm::Liquid),
    }
}

/// What keeps the ingredient's mass in a dose from being known.
pub fn strength_gap(product: &Product, held: &Ingredient) -> Option<String> {
    let own = match (&product.pieces, product.form) {
        (Some(pieces), _) => AmountUnit::Piece(pieces.unit),
        (None, ProductForm::Liquid) => AmountUnit::Volume(VolumeUnit::Millilitre),
        (None, ProductForm::Dry) => AmountUnit::Mass(MassUnit::Gram),
    };
    grams_per_unit(product, held, own).err()?;
    let name = &held.name;
    Some(match (&product.pieces, product.form) {
        (Some(pieces), _) => {
            let piece = pieces.unit.code();
            format!("the strength of {name} as a mass in one {piece}, or what one {piece} weighs")
        }
        (None, ProductForm::Liquid) => {
            format!("the strength of {name} as lb/gal or g/L, since this product is poured, or its density")
        }
        (None, ProductForm::Dry) => {
            format!("the strength of {name} in percent, since this product is weighed")
        }
    })
}

#[cfg(test)]
mod tests {
    use super::super::label::{
        BloomRule, Cap, CapYear, FoodCover, MeasureBasis, PeriodUnit, Pieces, Protection, RateBand, Strength,
        Use,
    };
    use super::super::quantity::{AreaUnit, PieceUnit, parse};
    use super::*;

    const WORDS: Words<'_> = Words {
        category: "landscape maintenance",
        clothing: "Long sleeves, gloves",
        precautions: "Keep out of water",
        first_aid: "None stated",
    };

    fn drench(unit: &str) -> Use {
        Use {
            id: "drench".into(),
            method: "basal-drench".into(),
            measure: MeasureBasis::HeightFt,
            rate: RateBand {
                low: parse("3").unwrap(),
                high: parse("6").unwrap(),
                unit: AmountUnit::from_code(unit).unwrap(),
            },
            water: None,
            protection: Protection { value: 12, unit: PeriodUnit::Month },
            uptake_days: 14,
            min_interval_days: 0,
            max_per_year: None,
            season: vec![],
            bloom: BloomRule::NotInBloom,
            food: FoodCover::NotCovered,
            excluded_hosts: vec![],
            foliar_rest_days: None,
            no_group_repeat: false,
        }
    }

    fn two_pounds() -> Strength {
        Strength::PerVolume { value: parse("2").unwrap(), mass: MassUnit::Pound, volume: VolumeUnit::Gallon }
    }

    fn product(form: ProductForm, strength: Strength, unit: &str) -> Product {
        Product {
            id: "p".into(),
            name: None,
            form,
            density: None,
            pieces: None,
            registrations: None,
            ingredients: vec![Ingredient { name: "imidacloprid".into(), group: None, strength }],
            caps: vec![],
            uses: vec![drench(unit)],
            signed: false,
        }
    }

    #[test]
    fn a_whole_entry_lacks_nothing() {
        assert!(missing(&product(ProductForm::Liquid, two_pounds(), "mL"), WORDS).is_empty());
        let weighed = Strength::Percent(parse("75").unwrap());
        assert!(missing(&product(ProductForm::Dry, weighed, "g"), WORDS).is_empty());
    }

    #[test]
    fn an_empty_entry_says_everything_that_it_lacks() {
        let mut bare = product(ProductForm::Liquid, two_pounds(), "mL");
        bare.ingredients.clear();
        bare.uses.clear();
        let gaps = missing(&bare, Words::default());
        assert_eq!(
            gaps,
            [
                "the certification category",
                "the protective clothing",
                "the precautions",
                "the first aid",
                "an active ingredient with its strength",
                "a use with its rate"
            ]
        );
        let blank = Words { clothing: " \n", ..WORDS };
        assert_eq!(missing(&product(ProductForm::Liquid, two_pounds(), "mL"), blank).len(), 1);
    }

    #[test]
    fn density_and_the_mass_of_a_piece_fill_the_gap() {
        let percent = || Strength::Percent(parse("21.4").unwrap());
        let mut poured = product(ProductForm::Liquid, percent(), "mL");
        assert_eq!(missing(&poured, WORDS).len(), 1);
        poured.density = Some(parse("1.2").unwrap());
        assert!(missing(&poured, WORDS).is_empty());
        let mut packet = product(ProductForm::Dry, percent(), "packet");
        packet.pieces = Some(Pieces { unit: PieceUnit::Packet, grams: None });
        assert!(missing(&packet, WORDS)[0].ends_with("in one packet, or what one packet weighs"));
        packet.pieces = Some(Pieces { unit: PieceUnit::Packet, grams: Some(parse("45").unwrap()) });
        assert!(missing(&packet, WORDS).is_empty());
        packet.pieces = Some(Pieces { unit: PieceUnit::Tablet, grams: Some(parse("45").unwrap()) });
        assert_eq!(missing(&packet, WORDS), ["a rate in tablets for the use by basal drench"]);
    }

    #[test]
    fn a_cap_on_the_product_must_be_countable() {
        let mut poured = product(ProductForm::Liquid, two_pounds(), "mL");
        let cap = |unit: &str| Cap {
            of: CapOf::Product,
            amount: parse("3").unwrap(),
            unit: AmountUnit::from_code(unit).unwrap(),
            area: AreaUnit::Acre,
            year: CapYear::Calendar,
        };
        poured.caps = vec![cap("gal")];
        assert!(missing(&poured, WORDS).is_empty());
        poured.caps = vec![cap("lb")];
        assert!(missing(&poured, WORDS)[0].contains("its cap of 3 lb/acre"));
    }

    #[test]
    fn strength_and_rate_must_fit_what_is_measured() {
        let percent = Strength::Percent(parse("21.4").unwrap());
        let poured = missing(&product(ProductForm::Liquid, percent, "oz"), WORDS);
        assert!(poured[0].contains("lb/gal or g/L") && poured[1].contains("by volume"), "{poured:?}");
        let weighed = missing(&product(ProductForm::Dry, two_pounds(), "floz"), WORDS);
        assert!(weighed[0].contains("in percent") && weighed[1].contains("by weight"), "{weighed:?}");
    }
}
