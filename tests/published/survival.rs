//! How long protection lasted, against lifelines (PyPI), a reference library for survival, and a published worked
//! example. The library's table, made by `scripts/survival-table`, stands in `lifelines.json`; where `python3` can
//! import lifelines, it is asked itself.

use plantward::domain::survival::{Curve, Watched, curve};
use serde_json::Value;
use std::process::Command;

/// Both count in doubles, in another order.
const TOLERANCE: f64 = 1e-9;

fn table() -> Value {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/scripts/survival-table");
    match Command::new("python3").arg(script).output() {
        Ok(done) if done.status.success() => serde_json::from_slice(&done.stdout).unwrap(),
        _ => {
            eprintln!(
                "LIFELINES IS NOT INSTALLED: curves are checked against the table that lifelines 0.30.3 gave, not \
                 against lifelines itself"
            );
            serde_json::from_str(include_str!("lifelines.json")).unwrap()
        }
    }
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= TOLERANCE
}

fn curve_of(case: &Value) -> Curve {
    let times = case["times"].as_array().unwrap().iter().map(|t| t.as_u64().unwrap());
    let seen = case["seen"].as_array().unwrap().iter().map(|s| s.as_u64().unwrap() == 1);
    let all: Vec<Watched> =
        times.zip(seen).map(|(days, seen)| Watched { days: u32::try_from(days).unwrap(), seen }).collect();
    curve(&all)
}

#[test]
fn every_step_is_that_of_the_reference_library() {
    let table = table();
    let cases = table["cases"].as_object().unwrap();
    assert!(cases.len() >= 11, "the table was read: {}", cases.len());
    let mut compared = 0;
    for (name, case) in cases {
        let ours = curve_of(case);
        let theirs = case["steps"].as_array().unwrap();
        assert_eq!(ours.steps.len(), theirs.len(), "{name}");
        for (step, row) in ours.steps.iter().zip(theirs) {
            let figure = |column: usize| row[column].as_f64().unwrap();
            assert_eq!(f64::from(step.day), figure(0), "{name}");
            assert_eq!(
                (f64::from(step.at_risk), f64::from(step.seen)),
                (figure(1), figure(2)),
                "{name} {step:?}"
            );
            for (ours, column) in [(step.share, 3), (step.low, 4), (step.high, 5)] {
                assert!(
                    near(ours, figure(column)),
                    "{name}, day {}: {ours} is not {}",
                    step.day,
                    figure(column)
                );
                compared += 1;
            }
        }
        let half = |day: Option<u32>| day.map(f64::from);
        assert_eq!(half(ours.median), case["median"].as_f64(), "{name}");
        assert_eq!(half(ours.median_low), case["median_low"].as_f64(), "{name}");
        assert_eq!(half(ours.median_high), case["median_high"].as_f64(), "{name}");
    }
    assert!(compared > 300, "figures were compared: {compared}");
}

/// Weeks of remission under 6-mercaptopurine and under placebo: Freireich and others, Blood 21 (1963), 699-716. The
/// times are those that lifelines ships. The shares and Greenwood's standard errors to three decimals are those of
/// the textbook table of the treated group, from memory; the shares are confirmed by hand: 18/21, x 16/17, x 14/15,
/// x 11/12, x 10/11, x 6/7, x 5/6.
#[test]
fn the_published_remission_times_give_the_published_table() {
    let weeks = [6, 6, 6, 7, 10, 13, 16, 22, 23];
    let censored = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35];
    let seen = weeks.map(|days| Watched { days, seen: true });
    let all: Vec<Watched> =
        seen.into_iter().chain(censored.map(|days| Watched { days, seen: false })).collect();
    let treated = curve(&all);
    let published = [
        (6, 21, 3, 0.857),
        (7, 17, 1, 0.807),
        (10, 15, 1, 0.753),
        (13, 12, 1, 0.690),
        (16, 11, 1, 0.627),
        (22, 7, 1, 0.538),
        (23, 6, 1, 0.448),
    ];
    assert_eq!(treated.steps.len(), published.len());
    for (step, (week, at_risk, seen, share)) in treated.steps.iter().zip(published) {
        assert_eq!((step.day, step.at_risk, step.seen), (week, at_risk, seen));
        assert!((step.share - share).abs() < 0.0005, "week {week}: {} is not {share}", step.share);
        assert!(step.low < step.share && step.share < step.high);
    }
    assert_eq!((treated.watched, treated.seen, treated.median), (21, 9, Some(23)));
    let placebo = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23];
    let placebo = curve(&placebo.map(|days| Watched { days, seen: true }));
    assert_eq!(placebo.median, Some(8), "the published median under placebo");
}

/// Without a censored one the curve is the plain share of those that lasted longer.
#[test]
fn without_censoring_it_is_the_share_that_is_left() {
    for many in [1_u32, 3, 10, 77] {
        let all: Vec<Watched> = (1..=many).map(|n| Watched { days: n * 7 % 31 + 1, seen: true }).collect();
        for step in curve(&all).steps {
            let left = all.iter().filter(|one| one.days > step.day).count();
            assert!(near(step.share, left as f64 / f64::from(many)), "{many}: {step:?}");
        }
    }
}
