//! Units and strengths.
//!
//! Source: NIST Handbook 44, Appendix C, and NIST SP 811, Appendix B, for the
//! gallon of 231 cubic inches, the pound of 453.59237 g and the foot of 0.3048 m
//! (constants from memory); the rest is arithmetic on them.

use crate::support::{answer, drench, exact, scenario, with_plants};
use plantward::domain::quantity::{Area, AreaUnit, MassUnit, VolumeUnit, fixed_half_up, plain};
use serde_json::json;

#[test]
fn a_fluid_ounce_is_a_128th_of_231_cubic_inches() {
    assert_eq!(plain(&VolumeUnit::FluidOunce.millilitres()), "29.5735295625");
    let cubic_inch = exact("2.54") * exact("2.54") * exact("2.54");
    assert_eq!(VolumeUnit::Gallon.millilitres(), cubic_inch * exact("231"));
}

#[test]
fn smaller_volumes_follow_from_the_gallon() {
    let printed = |unit: VolumeUnit| plain(&unit.millilitres());
    assert_eq!(printed(VolumeUnit::Gallon), "3785.411784");
    assert_eq!(printed(VolumeUnit::Quart), "946.352946");
    assert_eq!(printed(VolumeUnit::Pint), "473.176473");
    assert_eq!(printed(VolumeUnit::Cup), "236.5882365");
    assert_eq!(printed(VolumeUnit::Tablespoon), "14.78676478125");
    assert_eq!(printed(VolumeUnit::Teaspoon), "4.92892159375");
}

#[test]
fn a_pound_is_453_59237_grams() {
    assert_eq!(plain(&MassUnit::Pound.grams()), "453.59237");
    assert_eq!(plain(&MassUnit::Ounce.grams()), "28.349523125");
}

#[test]
fn an_acre_uses_the_international_foot() {
    let acre = Area::new(exact("1"), AreaUnit::Acre).square_metres();
    assert_eq!(acre, Area::new(exact("43560"), AreaUnit::SquareFoot).square_metres());
    // With the retired survey foot it would be 4046.87261.
    assert_eq!(plain(&acre), "4046.8564224");
}

fn grams(amount: &str, unit: &str) -> String {
    let mut one = with_plants(scenario("1", "acre"), 1, "dot", "1", amount);
    let mut product = drench();
    product["uses"] = json!([{
        "id": "dot", "method": "basal-drench", "measure": "diameter-in",
        "rate": { "low": amount, "high": amount, "unit": unit },
        "protection": { "value": 12, "unit": "month" }
    }]);
    one["products"] = json!([product]);
    let answer = answer(&one);
    answer["doses"][0]["ingredients"]["imidacloprid"]["value"].as_str().unwrap().to_owned()
}

#[test]
fn two_pounds_a_gallon_in_millilitres() {
    let product = drench_product();
    let per_ml = &plantward::domain::dose::ingredients(&product, &amount("1")).unwrap()[0].1;
    assert_eq!(fixed_half_up(per_ml, 9), "0.239652855");
    assert_eq!(grams("3", "mL"), "0.718959");
    assert_eq!(grams("6", "mL"), "1.437917");
}

fn amount(value: &str) -> plantward::domain::quantity::Amount {
    use plantward::domain::quantity::{Amount, AmountUnit};
    Amount::new(exact(value), AmountUnit::Volume(VolumeUnit::Millilitre))
}

fn drench_product() -> plantward::domain::label::Product {
    use plantward::domain::label::{Ingredient, Product, ProductForm, Strength};
    let strength =
        Strength::PerVolume { value: exact("2"), mass: MassUnit::Pound, volume: VolumeUnit::Gallon };
    Product {
        id: "p".into(),
        name: None,
        form: ProductForm::Liquid,
        density: None,
        pieces: None,
        registrations: None,
        ingredients: vec![Ingredient { name: "imidacloprid".into(), group: None, strength }],
        caps: Vec::new(),
        uses: Vec::new(),
        signed: true,
    }
}

#[test]
fn a_tenth_of_a_fluid_ounce_is_not_three_millilitres() {
    assert_eq!(grams("0.1", "floz"), "0.708738");
    assert_eq!(grams("0.2", "floz"), "1.417476");
    let tenth = exact("0.1") * VolumeUnit::FluidOunce.millilitres();
    assert_eq!(fixed_half_up(&tenth, 6), "2.957353");
    assert_eq!(fixed_half_up(&(tenth * exact("2")), 6), "5.914706");
}
