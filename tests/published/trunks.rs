//! Trunk diameters.
//!
//! Sources: diameter at 4.5 ft from the girth by pi (Texas tree guide prints
//! 3.1415 and rounds down; here pi itself and four decimals); several stems by
//! root of the sum of squares, by the largest and half of the others, or by the
//! sum (town ordinances and extension sheets; all three are in use).

use crate::support::{answer, scenario, with_plants};
use serde_json::{Value, json};

fn dose(plant: Value) -> String {
    let mut one = with_plants(scenario("100", "acre"), 1, "tree", "1", "0.2");
    let mut own = json!({ "id": "t", "use": "tree", "rate": "0.4" });
    own.as_object_mut().unwrap().extend(plant.as_object().unwrap().clone());
    one["plants"] = json!([own]);
    // A rate of one makes the dose the diameter.
    one["products"][0]["uses"][1]["rate"] = json!({ "low": "0.4", "high": "1", "unit": "floz" });
    one["plants"][0]["rate"] = json!("1");
    answer(&one)["doses"][0]["product"]["value"].as_str().unwrap().to_owned()
}

#[test]
fn girth_over_pi() {
    assert_eq!(dose(json!({ "circumference": "29" })), "9.231");
    assert_eq!(dose(json!({ "circumference": "50" })), "15.9155");
}

#[test]
fn three_stems_by_each_rule() {
    for (rule, inches) in [("quadratic", "11.1803"), ("sum", "19"), ("largest-plus-half", "13.5")] {
        assert_eq!(dose(json!({ "stems": ["5", "6", "8"], "stem_rule": rule })), inches);
    }
}
