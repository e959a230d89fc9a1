//! What holds for every plan.

use crate::checker::check;
use crate::oracle::{allowed, carries, in_time};
use crate::support::{Dice, plan, problem};
use proptest::prelude::*;
use serde_json::{Value, json};

struct Locked {
    stop: String,
    technician: String,
    start: Option<i64>,
    /// Locked in the order that the first plan has: that can be kept.
    in_order: bool,
}

/// Locks some stops to where a first plan has them.
fn lock_some(asked: &mut Value, answer: &Value, dice: &mut Dice) -> Vec<Locked> {
    let mut locked = vec![];
    for route in answer["routes"].as_array().unwrap() {
        // A day locked backwards costs more travel: a planner that bends locks would turn it round.
        let (ordered, backwards) = (dice.one_in(2), dice.one_in(2));
        for (order, visit) in route["stops"].as_array().unwrap().iter().enumerate() {
            if dice.one_in(3) {
                continue;
            }
            let id = visit["id"].as_str().unwrap();
            let at: usize = id[1..].parse().unwrap();
            let mut lock = json!({ "technician": route["technician"] });
            let start = (!ordered && dice.one_in(2)).then(|| visit["start"].as_i64().unwrap());
            if let Some(start) = start {
                lock["start"] = json!(start);
            }
            if ordered {
                lock["order"] = json!(if backwards { 1000 - order } else { order });
            }
            asked["stops"][at]["locked"] = lock;
            let technician = route["technician"].as_str().unwrap().to_owned();
            locked.push(Locked { stop: id.to_owned(), technician, start, in_order: ordered && !backwards });
        }
    }
    locked
}

/// Every stop that stays out could not simply be added, and its reason is of the right kind.
fn reasons_are_true(asked: &Value, answer: &Value) -> Result<(), String> {
    let stops = asked["stops"].as_array().unwrap();
    let of = |id: &Value| stops.iter().find(|stop| stop["id"] == *id).unwrap();
    for out in answer["unserved"].as_array().unwrap() {
        let (stop, why) = (of(&out["id"]), out["why"].as_str().unwrap());
        let mut alone = false;
        for day in asked["technicians"].as_array().unwrap().iter().filter(|day| allowed(day, stop)) {
            alone |= carries(day, &[stop]) && in_time(&asked["matrix"], day, &[stop]);
            let routes = answer["routes"].as_array().unwrap();
            let mine = routes.iter().find(|route| route["technician"] == day["id"]);
            let order = mine.map_or(&[][..], |route| route["stops"].as_array().unwrap());
            let order: Vec<&Value> = order.iter().map(|visit| of(&visit["id"])).collect();
            for at in 0..=order.len() {
                let mut with = order.clone();
                with.insert(at, stop);
                if carries(day, &with) && in_time(&asked["matrix"], day, &with) {
                    return Err(format!("{} fits on {} at {at}", out["id"], day["id"]));
                }
            }
        }
        let full = why.contains("full") || why.contains("used up");
        if full != alone {
            return Err(format!("{} alone would fit: {alone}; the reason is: {why}", out["id"]));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 80, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_plan_breaks_a_limit_and_every_reason_is_true(number: u64, stops in 1_usize..30, days in 1_usize..8) {
        let asked = problem(&mut Dice::new(number), stops, days, 150);
        let answer = plan(&asked);
        check(&asked, &answer).map_err(TestCaseError::fail)?;
        reasons_are_true(&asked, &answer).map_err(TestCaseError::fail)?;
    }

    #[test]
    fn the_same_question_has_the_same_plan(number: u64, stops in 1_usize..30, days in 1_usize..8) {
        let asked = problem(&mut Dice::new(number), stops, days, 100);
        prop_assert_eq!(plan(&asked), plan(&asked));
    }

    #[test]
    fn what_is_locked_stays_where_it_is(number: u64, stops in 1_usize..25, days in 1_usize..6) {
        let mut dice = Dice::new(number);
        let mut asked = problem(&mut dice, stops, days, 60);
        let first = plan(&asked);
        let locked = lock_some(&mut asked, &first, &mut dice);
        asked["seed"] = json!(99);
        asked["iterations"] = json!(200);
        let answer = plan(&asked);
        check(&asked, &answer).map_err(TestCaseError::fail)?;
        let matrix = &asked["matrix"];
        let even = (0..=stops).all(|a| (0..a).all(|b| matrix[a][b] == matrix[b][a]));
        for Locked { stop: id, technician, start, in_order } in locked {
            let out = answer["unserved"].as_array().unwrap().iter().find(|out| out["id"] == id.as_str());
            if let Some(out) = out {
                // Locks that cannot all be met are said, never bent.
                prop_assert!(out["why"].as_str().unwrap().contains("locked"), "{}", out);
                prop_assert!(!(in_order && even), "{} could be kept", out);
                continue;
            }
            let routes = answer["routes"].as_array().unwrap();
            let route = routes.iter().find(|route| route["technician"] == technician.as_str()).unwrap();
            let visit = route["stops"].as_array().unwrap().iter().find(|visit| visit["id"] == id.as_str());
            let visit = visit.expect("on its day");
            prop_assert!(start.is_none_or(|start| visit["start"] == start));
        }
    }
}

/// The checker must see what a wrong planner would do.
#[test]
fn planted_mistakes_in_a_plan_are_found() {
    let mut found = 0;
    for number in 0..40 {
        let asked = problem(&mut Dice::new(number), 12, 4, 50);
        let answer = plan(&asked);
        check(&asked, &answer).unwrap();
        let Some(at) = answer["routes"].as_array().unwrap().iter().position(|r| r["stops"][1].is_object())
        else {
            continue;
        };
        let mut planted = vec![answer.clone(); 5];
        planted[0]["routes"][at]["stops"][0]["start"] = json!(-1);
        planted[1]["routes"][at]["stops"][1]["id"] = answer["routes"][at]["stops"][0]["id"].clone();
        planted[2]["travel"] = json!(answer["travel"].as_i64().unwrap() - 1);
        planted[3]["routes"][at]["stops"].as_array_mut().unwrap().remove(0);
        planted[4]["routes"][at]["stops"][0]["arrive"] = json!(0);
        planted[4]["routes"][at]["stops"][0]["start"] = json!(0);
        for wrong in planted {
            assert!(check(&asked, &wrong).is_err(), "{wrong}");
            found += 1;
        }
        let mut stricter = asked.clone();
        let id = answer["routes"][at]["stops"][0]["id"].as_str().unwrap()[1..].parse::<usize>().unwrap();
        stricter["stops"][id]["skills"] = json!(["nobody has this"]);
        assert!(check(&stricter, &answer).unwrap_err().contains("skill"));
    }
    assert!(found > 50);
}
