//! Doses, water and the rates of bulletins.

use crate::support::{answer, drench, exact, scenario, with_plants};
use plantward::domain::quantity::{fixed_half_up, plain};
use serde_json::{Value, json};

fn tree_product(form: &str, strength: Value, low: &str, high: &str, unit: &str) -> Value {
    let mut product = drench();
    product["form"] = json!(form);
    product["ingredients"][0]["strength"] = strength;
    product["uses"] = json!([{
        "id": "tree", "method": "soil-drench", "measure": "diameter-in",
        "rate": { "low": low, "high": high, "unit": unit },
        "protection": { "value": 12, "unit": "month" }
    }]);
    product
}

fn of(product: Value, inches: &str, rate: &str) -> Value {
    let mut one = with_plants(scenario("1", "acre"), 1, "tree", inches, rate);
    one["products"] = json!([product]);
    answer(&one)
}

fn grams(answer: &Value) -> f64 {
    answer["doses"][0]["ingredients"]["imidacloprid"]["value"].as_str().unwrap().parse().unwrap()
}

/// Common practice, no published source: an 8 ft shrub takes 24 mL at 3 mL a
/// foot, and up to 48 mL is within the band; water 8 to 16 fl oz a foot.
#[test]
fn an_eight_foot_shrub_takes_24_to_48_millilitres() {
    let mut product = drench();
    product["uses"][0]["water"] = json!({ "low": "8", "high": "16", "unit": "floz" });
    let mut one = with_plants(scenario("1", "acre"), 1, "shrub", "8", "3");
    one["products"] = json!([product]);
    let dose = &answer(&one)["doses"][0];
    assert_eq!(dose["product"], json!({ "value": "24", "unit": "mL" }));
    assert_eq!(dose["band"], json!({ "low": "24", "high": "48", "unit": "mL" }));
    assert_eq!(dose["water"], json!({ "low": "64", "high": "128", "unit": "floz" }));
}

/// Rate: ESA 2014 abstract 79870 (0.8 or 1.6 g a 2.54 cm basal drench against
/// hemlock woolly adelgid); cap: Purdue Extension, 0.4 lb an acre and year.
#[test]
fn hemlock_rates_allow_226_80_or_113_40_inches_an_acre() {
    let cap = exact("0.4") * exact("453.59237");
    assert_eq!(fixed_half_up(&(&cap / exact("0.8")), 2), "226.80");
    assert_eq!(fixed_half_up(&(&cap / exact("1.6")), 2), "113.40");
    // The same through the core: 226 one-inch trees fit an acre, 227 do not.
    let product = tree_product("dry", json!({ "value": "100", "unit": "percent" }), "0.8", "1.6", "g");
    let mut one = with_plants(scenario("1", "acre"), 227, "tree", "1", "0.8");
    one["products"] = json!([product.clone()]);
    assert_eq!(crate::support::allowed_today(&answer(&one)), 226);
    let mut one = with_plants(scenario("1", "acre"), 114, "tree", "1", "1.6");
    one["products"] = json!([product]);
    assert_eq!(crate::support::allowed_today(&answer(&one)), 113);
}

/// Rate: multi-state emerald ash borer bulletin of 2009, 75 percent powder at 1
/// or 2 oz for 30 inches.
#[test]
fn powder_of_75_percent_for_thirty_inches() {
    let product = tree_product("dry", json!({ "value": "75", "unit": "percent" }), "0.03", "0.07", "oz");
    let one = of(product.clone(), "30", "0.0333333333333");
    assert!((grams(&one) / 30.0 - 0.70874).abs() < 5e-6);
    let two = of(product, "30", "0.0666666666667");
    assert!((grams(&two) / 30.0 - 1.41748).abs() < 5e-6);
}

/// Packet: Georgia hemlock woolly adelgid sheet, a 1.6 oz packet of 75 percent
/// powder for 45 inches on average.
#[test]
fn a_packet_of_one_point_six_ounces() {
    let packet = exact("1.6") * exact("28.349523125") * exact("0.75");
    assert_eq!(fixed_half_up(&packet, 4), "34.0194");
    assert_eq!(fixed_half_up(&(&packet / exact("45")), 4), "0.7560");
    let cap = exact("0.4") * exact("453.59237");
    assert_eq!(fixed_half_up(&(cap / &packet), 3), "5.333");
    let product = tree_product("dry", json!({ "value": "75", "unit": "percent" }), "0.8", "1.6", "oz");
    let answer = of(product, "1", "1.6");
    assert_eq!(answer["doses"][0]["ingredients"]["imidacloprid"]["value"], "34.019428");
    // 0.4 lb of ingredient is 8.5333 oz of the powder.
    assert_eq!(answer["caps"][0]["remaining_product"]["p"], json!({ "value": "8.5333", "unit": "oz" }));
}

/// Rate: Arboriculture & Urban Forestry 36(5), 2010, 1.42 g a 2.54 cm.
#[test]
fn a_twelve_inch_tree_at_the_research_rate() {
    let product = tree_product("dry", json!({ "value": "100", "unit": "percent" }), "1.42", "1.42", "g");
    assert_eq!(grams(&of(product, "12", "1.42")), 17.04);
}

/// Rate: Purdue Extension, emamectin benzoate 4 percent: 10 mL hold 0.4 g, which
/// is a density of 1 g/mL.
#[test]
fn an_injection_of_five_millilitres_an_inch() {
    let mut product = tree_product("liquid", json!({ "value": "4", "unit": "percent" }), "2.5", "10", "mL");
    product["density"] = json!({ "value": "1", "unit": "g/mL" });
    let answer = of(product, "20", "5");
    assert_eq!(answer["doses"][0]["product"], json!({ "value": "100", "unit": "mL" }));
    assert_eq!(grams(&answer), 4.0);
}

/// Label text on imidacloprid soil drenches: at least 10 gallons of water for
/// 1000 square feet of root zone.
#[test]
fn a_drench_over_250_square_feet_takes_two_and_a_half_gallons() {
    assert_eq!(plain(&(exact("10") * exact("250") / exact("1000"))), "2.5");
}

/// Arithmetic: a hedge of 40 plants of 6 ft at 3 and 6 mL a foot, and the area
/// that the cap of 0.4 lb an acre asks for.
#[test]
fn a_hedge_of_forty_needs_nearly_an_acre() {
    for (rate, ml, lb, acres, enough) in
        [("3", "720", "0.380408", "0.951019", "0.95102"), ("6", "1440", "0.760816", "1.902039", "1.90204")]
    {
        let hedge = |area: &str| {
            let mut one = with_plants(scenario(area, "acre"), 1, "shrub", "6", rate);
            one["plants"][0]["count"] = json!(40);
            answer(&one)
        };
        let answer = hedge(enough);
        assert_eq!(answer["doses"][0]["product"]["value"], ml);
        let pounds = exact(ml) * exact("2") / exact("3785.411784");
        assert_eq!(fixed_half_up(&pounds, 6), lb);
        assert_eq!(fixed_half_up(&(&pounds / exact("0.4")), 6), acres);
        assert_eq!(answer["due"][0]["held_by"], json!([]));
        let smaller = plain(&(exact(acres) - exact("0.000001")));
        assert_eq!(hedge(&smaller)["due"][0]["held_by"], json!(["cap"]));
    }
}
