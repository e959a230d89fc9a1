//! Rates by girth, plant, container and ground; packets and tablets; caps on
//! the product; what a cup shows. Rates and contents where no source is named
//! are invented; their arithmetic is that of the units.

use crate::support::{answer, drench, mistakes, scenario};
use serde_json::{Value, json};

fn product(form: &str, strength: Value, item: Value) -> Value {
    let mut product = drench();
    product["form"] = json!(form);
    product["ingredients"][0]["strength"] = strength;
    let mut item = item;
    item["id"] = json!("u");
    item["method"] = json!("soil-drench");
    item["protection"] = json!({ "value": 12, "unit": "month" });
    product["uses"] = json!([item]);
    product
}

fn with(product: Value, plant: Value) -> Value {
    let mut one = scenario("1", "acre");
    one["products"] = json!([product]);
    let mut plant = plant;
    plant["id"] = json!("a");
    plant["use"] = json!("u");
    one["plants"] = json!([plant]);
    one
}

fn dose(product: Value, plant: Value) -> (Value, f64) {
    let dose = answer(&with(product, plant))["doses"][0].clone();
    let grams = dose["ingredients"]["imidacloprid"]["value"].as_str().unwrap().parse().unwrap();
    (dose["product"].clone(), grams)
}

fn rate(measure: &str, low: &str, high: &str, unit: &str) -> Value {
    json!({ "measure": measure, "rate": { "low": low, "high": high, "unit": unit } })
}

fn two_pounds() -> Value {
    json!({ "value": "2", "unit": "lb/gal" })
}

/// Label text of a consumer product of 1.47 percent: 1 fl oz for each inch of
/// girth. Its density is not stated; 1.0 g/mL is assumed.
#[test]
fn an_inch_of_girth_takes_a_fluid_ounce() {
    let mut one = product(
        "liquid",
        json!({ "value": "1.47", "unit": "percent" }),
        rate("circumference-in", "1", "1", "floz"),
    );
    one["density"] = json!({ "value": "1", "unit": "g/mL" });
    let (amount, grams) = dose(one, json!({ "circumference": "29" }));
    assert_eq!(amount, json!({ "value": "29", "unit": "floz" }));
    assert!((grams - 29.0 * 29.5735295625 * 0.0147).abs() < 1e-6);
}

#[test]
fn plants_and_containers_are_counted_without_a_measure() {
    for measure in ["plant", "container"] {
        let one = product("liquid", two_pounds(), rate(measure, "2", "4", "mL"));
        let (amount, _) = dose(one, json!({ "count": 7, "rate": "3" }));
        assert_eq!(amount, json!({ "value": "21", "unit": "mL" }));
    }
}

/// 0.6 fl oz a thousand square feet, and 25.6 fl oz an acre, on 10,890 square
/// feet, a quarter of an acre.
#[test]
fn ground_is_read_in_any_unit() {
    let ground = || json!({ "area": { "value": "10890", "unit": "sqft" } });
    let one = product("liquid", two_pounds(), rate("area-1000sqft", "0.6", "0.6", "floz"));
    assert_eq!(dose(one, ground()).0, json!({ "value": "6.534", "unit": "floz" }));
    let one = product("liquid", two_pounds(), rate("area-acre", "25.6", "25.6", "floz"));
    let (amount, grams) = dose(one, ground());
    assert_eq!(amount, json!({ "value": "6.4", "unit": "floz" }));
    // The cap of 0.4 lb an acre, on a quarter of one.
    assert!((grams - 45.359237).abs() < 1e-6);
}

/// Georgia hemlock sheet: a packet of 1.6 oz of 75 percent powder.
#[test]
fn packets_are_poured_whole_and_inside_the_band() {
    let packet = || {
        let band = json!({ "measure": "diameter-in", "rate": { "low": "1", "high": "2", "unit": "packet", "per": "30" } });
        let mut one = product("packet", json!({ "value": "75", "unit": "percent" }), band);
        one["piece"] = json!({ "value": "1.6", "unit": "oz" });
        one
    };
    // 20 inches: from two thirds to one and a third of a packet.
    let (amount, grams) = dose(packet(), json!({ "measure": "20" }));
    assert_eq!(amount, json!({ "value": "1", "unit": "packet" }));
    assert!((grams - 34.019428).abs() < 1e-6);
    // 50 inches at the high rate: three and a third, so three.
    let (amount, _) = dose(packet(), json!({ "measure": "50", "rate": "2" }));
    assert_eq!(amount["value"], "3");
    // Two alike trees get one each, not their half share.
    let (amount, _) = dose(packet(), json!({ "measure": "20", "count": 2 }));
    assert_eq!(amount["value"], "2");
    // 10 inches: from a third to two thirds, and no whole packet.
    assert_eq!(mistakes(&with(packet(), json!({ "measure": "10" }))), ["/plants/0/use"]);
    let mut massless = packet();
    massless.as_object_mut().unwrap().remove("piece");
    assert_eq!(
        mistakes(&with(massless, json!({ "measure": "20" }))),
        ["/products/0/ingredients/0/strength/unit"]
    );
}

#[test]
fn tablets_may_state_their_content() {
    let band = rate("diameter-in", "1", "2", "tablet");
    let one = product("tablet", json!({ "value": "0.5", "unit": "g/tablet" }), band);
    let (amount, grams) = dose(one, json!({ "measure": "7" }));
    assert_eq!((amount, grams), (json!({ "value": "7", "unit": "tablet" }), 3.5));
}

#[test]
fn kinds_of_amount_never_mix() {
    let wrong = |form: &str, unit: &str| {
        let one = product(form, two_pounds(), rate("height-ft", "1", "2", unit));
        mistakes(&with(one, json!({ "measure": "5" })))
    };
    assert_eq!(wrong("liquid", "oz"), ["/products/0/uses/0/rate/unit"]);
    assert_eq!(wrong("dry", "floz"), ["/products/0/uses/0/rate/unit"]);
    assert_eq!(wrong("packet", "tablet"), ["/products/0/uses/0/rate/unit"]);
    assert_eq!(wrong("liquid", "packet"), ["/products/0/uses/0/rate/unit"]);
    let height = product("liquid", two_pounds(), rate("height-ft", "1", "2", "mL"));
    let girth = mistakes(&with(height.clone(), json!({ "circumference": "5" })));
    let ground = mistakes(&with(height, json!({ "area": { "value": "5", "unit": "acre" } })));
    assert_eq!(
        (girth, ground),
        (vec!["/plants/0/circumference".to_owned()], vec!["/plants/0/area".to_owned()])
    );
}

/// A cap of 0.01 gal of product an acre beside 0.4 lb of ingredient: 37.85 mL
/// against 757.08 mL.
#[test]
fn a_cap_may_count_the_product_and_the_strictest_holds() {
    let mut one = product("liquid", two_pounds(), rate("height-ft", "3", "6", "mL"));
    let cap =
        json!({ "of": "product", "amount": { "value": "0.01", "unit": "gal/acre" }, "year": "calendar" });
    one["caps"].as_array_mut().unwrap().push(cap);
    let mut one = with(one, json!({ "measure": "8" }));
    one["history"] = json!([{ "plant": null, "product": "p", "on": "2026-02-01", "amount": { "value": "13.85411784", "unit": "mL" } }]);
    let found = answer(&one);
    // 24 mL are left exactly, which is the dose.
    assert_eq!(found["product_caps"][0]["remaining"], "24.000000");
    assert_eq!(found["product_caps"][0]["unit"], "mL");
    assert_eq!((found["caps"].as_array().unwrap().len(), &found["due"][0]["held_by"]), (1, &json!([])));
    one["history"][0]["amount"]["value"] = json!("13.85411785");
    let found = answer(&one);
    assert_eq!(
        (&found["due"][0]["held_by"], &found["due"][0]["allowed_on"]),
        (&json!(["cap"]), &json!("2027-01-01"))
    );
    assert!(found["due"][0]["why"].to_string().contains("0.01 gal/acre"));
}

#[test]
fn of_several_caps_the_strictest_is_named_as_such() {
    let mut one = product("liquid", two_pounds(), rate("height-ft", "3", "6", "mL"));
    let cap = json!({ "ingredient": "imidacloprid", "amount": { "value": "0.2", "unit": "lb/acre" }, "year": "calendar" });
    one["caps"].as_array_mut().unwrap().push(cap);
    let found = answer(&with(one, json!({ "measure": "8" })));
    assert_eq!(found["caps"][0]["allowed_g"], "90.718474");
    assert!(
        found["due"][0]["why"].to_string().contains("2 caps on imidacloprid hold; this is the strictest")
    );
}

/// Common practice, no published source: a cup, a syringe of 12 mL and a tank.
#[test]
fn kit_and_tank_show_the_dose() {
    let mut item = rate("height-ft", "3", "6", "mL");
    item["water"] = json!({ "low": "8", "high": "16", "unit": "floz" });
    let mut one = with(
        product("liquid", two_pounds(), item),
        json!({ "measure": "8", "poured": { "value": "50", "unit": "mL" } }),
    );
    one["kit"] = json!([
        { "name": "cup", "mark": { "value": "5", "unit": "mL" } },
        { "name": "syringe", "mark": { "value": "0.2", "unit": "mL" }, "holds": { "value": "12", "unit": "mL" } },
        { "name": "jug", "mark": { "value": "1", "unit": "cup" } },
        { "name": "scale", "mark": { "value": "1", "unit": "g" } }
    ]);
    one["tank"] = json!({ "value": "1", "unit": "gal" });
    let found = answer(&one);
    let kit = &found["doses"][0]["kit"];
    assert_eq!(kit[0]["each"], json!({ "value": "25", "unit": "mL" }));
    assert_eq!((&kit[1]["each"]["value"], &kit[1]["fillings"]), (&json!("24"), &json!(2)));
    assert!(kit[2]["each"].is_null() && kit[2]["cannot"].as_str().unwrap().contains("inside the band"));
    assert!(kit[3]["cannot"].as_str().unwrap().contains("another kind"));
    assert!(found["doses"][0]["warning"].as_str().unwrap().contains("above the band"));
    // At the high rate 50 mL would be the nearest mark, and above the band.
    let mut high = one.clone();
    high["plants"][0]["rate"] = json!("6");
    assert_eq!(answer(&high)["doses"][0]["kit"][0]["each"]["value"], "45");
    assert_eq!(found["loads"][0]["tanks"], json!([1, 1]));
    assert_eq!(found["loads"][0]["water"], json!({ "low": "64", "high": "128", "unit": "floz" }));
}

#[test]
fn least_gap_is_an_option_of_the_scenario() {
    let mut one =
        with(product("liquid", two_pounds(), rate("height-ft", "3", "6", "mL")), json!({ "measure": "8" }));
    assert!(answer(&one)["allocation"].is_null());
    one["allocation"] = json!("least-gap");
    assert_eq!(answer(&one)["allocation"], json!({ "total_gap_days": 0, "without_a_day": 0, "exact": true }));
    one["allocation"] = json!("fair");
    assert_eq!(mistakes(&one), ["/allocation"]);
}

#[test]
fn registration_bloom_lead_and_harvest_hold_a_dose_back() {
    let plain =
        with(product("liquid", two_pounds(), rate("height-ft", "3", "6", "mL")), json!({ "measure": "8" }));
    let held = |one: &Value| {
        let due = answer(one)["due"][0].clone();
        (due["held_by"].clone(), due["allowed_on"].clone())
    };
    let mut one = plain.clone();
    one["products"][0]["registrations"] =
        json!([{ "state": "KS", "from": "2026-07-01", "until": "2027-06-30" }]);
    assert_eq!(held(&one).0, json!([]), "without a state nothing is asked");
    one["site"]["state"] = json!("KS");
    assert_eq!(held(&one), (json!(["not-registered"]), json!("2026-07-01")));
    one["plants"][0]["first_wanted"] = json!("2027-07-01");
    assert_eq!(held(&one), (json!(["not-registered"]), Value::Null));
    one["products"][0]["registrations"] = json!([{ "state": "MO" }]);
    assert_eq!(held(&one), (json!(["not-registered"]), Value::Null));

    let mut one = plain.clone();
    one["products"][0]["uses"][0]["bloom"] = json!("not-in-bloom");
    one["plants"][0]["bloom"] = json!({ "from": "06-10", "to": "06-30" });
    assert_eq!(held(&one).0, json!([]));
    one["products"][0]["uses"][0]["bloom_lead_days"] = json!(26);
    assert_eq!(held(&one), (json!(["bloom"]), json!("2026-07-01")));
    one["products"][0]["uses"][0]["bloom_lead_days"] = json!(25);
    assert_eq!(held(&one).0, json!([]));

    let mut one = plain;
    one["products"][0]["uses"][0]["covers_food"] = json!(true);
    one["products"][0]["uses"][0]["pre_harvest_days"] = json!(21);
    one["plants"][0]["eaten"] = json!("yes");
    one["plants"][0]["harvest_on"] = json!("2026-06-05");
    assert_eq!(held(&one).0, json!([]), "exactly 21 days before the harvest");
    one["plants"][0]["harvest_on"] = json!("2026-06-04");
    assert_eq!(held(&one), (json!(["pre-harvest"]), json!("2026-06-05")));
    one["plants"][0]["harvest"] = json!({ "from": "06-01", "to": "06-15" });
    assert_eq!(held(&one), (json!(["pre-harvest"]), json!("2026-06-16")));
}
