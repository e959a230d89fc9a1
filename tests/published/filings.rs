//! Filings owed to regulators.

use plantward::domain::filing::Month;
use plantward::domain::filing::california::{self, summaries};
use plantward::domain::filing::new_york::{self, Line};

/// 3 CCR 6627: by the 10th of the following month, also without work.
#[test]
fn california_wants_january_by_10_february_and_a_nil_report() {
    let january = Month::parse("2026-01").unwrap();
    assert_eq!(california::due_on(january).to_string(), "2026-02-10");
    assert_eq!(california::due_on(Month::parse("2026-12").unwrap()).to_string(), "2027-01-10");
    assert_eq!(california::due_on(Month::parse("2026-05").unwrap()).to_string(), "2026-06-10");
    const { assert!(california::NIL_REQUIRED) };
    let registered = ["San Luis Obispo".to_owned(), "Kern".to_owned()];
    let (summaries, _) = summaries(january, &registered, &[]);
    assert_eq!(summaries.len(), 2);
    assert!(summaries.iter().all(|one| one.is_nil() && one.due_on.to_string() == "2026-02-10"));
}

/// New York ECL 33-1205(1): yearly by 1 February, nil reports too.
#[test]
fn new_york_wants_a_year_by_1_february() {
    assert_eq!(new_york::due_on(2025).unwrap().to_string(), "2026-02-01");
    assert_eq!(new_york::due_on(2026).unwrap().to_string(), "2027-02-01");
    const { assert!(new_york::NIL_REQUIRED) };
}

/// The line of the New York text file specification, with the product's name
/// and number replaced.
const LINE: &str = "0|C1234567|19999|99999-365|EXAMPLE|9|LB|4/13/2022||55|123 Main Road|Scarsdale|10583";

/// New York pesticide reporting, text file specification of Form 26.
#[test]
fn a_new_york_line_keeps_its_thirteen_fields() {
    let line = Line::parse(LINE).unwrap();
    assert_eq!(line.check(), []);
    assert_eq!(line.0[8], "");
    let text = line.text();
    assert_eq!(text.matches('|').count(), 12);
    assert!(text.ends_with("10583\r\n"));
    assert_eq!(text.trim_end(), LINE);
    assert_eq!(Line::parse("0|C1"), None);
}

/// As above, and the regulator's list of common errors.
#[test]
fn a_new_york_line_with_a_wrong_field_is_rejected() {
    let long = "1".repeat(51);
    for (position, wrong, field) in [
        (6, "EA", "unit"),
        (6, "BLOCK", "unit"),
        (6, "STATION", "unit"),
        (10, "P.O. Box 7", "street address"),
        (10, "PO BOX 7", "street address"),
        (10, long.as_str(), "street address"),
        (2, "1999", "business registration number"),
        (1, "X1234567", "certification ID"),
        (12, "1058", "zip"),
        (9, "63", "county code"),
    ] {
        let mut line = Line::parse(LINE).unwrap();
        line.0[position] = wrong.to_owned();
        let rejected = line.check();
        assert_eq!(rejected.len(), 1, "{wrong}: {rejected:?}");
        assert_eq!(rejected[0].field, field);
    }
    let mut line = Line::parse(LINE).unwrap();
    line.0[10] = "1".repeat(50);
    line.0[2] = String::new();
    assert_eq!(line.check(), []);
}
