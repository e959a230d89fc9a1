//! Filings owed to regulators.

use crate::support::day;
use plantward::domain::filing::new_york::Line;
use plantward::domain::filing::owed::{Registered, Standing, owed};
use plantward::domain::filing::{Nil, Period, california, draft, new_york, rule};

fn due(code: &str, period: &str) -> Option<String> {
    rule(code).unwrap().1.due_on(Period::parse(period).unwrap()).map(|day| day.to_string())
}

fn input<'a>(
    period: &str,
    county: &'a str,
    maker: &'a draft::Maker,
    work: &'a [draft::Work],
) -> draft::Input<'a> {
    draft::Input { period: Period::parse(period).unwrap(), county, maker, work }
}

/// 3 CCR 6627: by the 10th of the following month, for each county of registration, also without work.
#[test]
fn california_wants_january_by_10_february_and_a_nil_report() {
    for (month, by) in [("2026-01", "2026-02-10"), ("2026-12", "2027-01-10"), ("2026-05", "2026-06-10")] {
        assert_eq!(due("ca-monthly", month).as_deref(), Some(by));
    }
    let registered = ["San Luis Obispo", "Kern"].map(|county| Registered {
        state: "CA".into(),
        county: county.into(),
        from: day("2026-01-01"),
        until: day("2026-12-31"),
    });
    let all = owed(day("2026-01-01"), day("2026-02-10"), &registered, &[]);
    let january: Vec<_> = all.iter().filter(|one| one.period.code() == "2026-01").collect();
    assert_eq!(january.len(), 2);
    for one in january {
        assert_eq!(one.rule.nil, Nil::Owed);
        assert_eq!(one.standing(day("2026-02-10")), Standing::Left(0), "the 10th is the last day");
        assert_eq!(one.standing(day("2026-02-11")), Standing::Late(1));
        let maker = draft::Maker::default();
        let made = (one.rule.layout)(&input("2026-01", &one.county, &maker, &[]));
        assert_eq!(made.nil, Some(california::NIL));
        assert_eq!(made.file_rows().len(), 1, "a row says that there was no work");
    }
}

/// New York ECL 33-1205(1): yearly by 1 February, nil reports too. No weekend rule was read, so that Sunday
/// 1 February 2026 stands; the rule from memory that might move it is named and moves nothing.
#[test]
fn new_york_wants_a_year_by_1_february() {
    assert_eq!(due("ny-yearly", "2025").as_deref(), Some("2026-02-01"));
    assert_eq!(due("ny-yearly", "2026").as_deref(), Some("2027-02-01"));
    let (_, rule) = rule("ny-yearly").unwrap();
    assert_eq!(rule.nil, Nil::Owed);
    let sunday = rule.weekend_words(Period::parse("2025").unwrap()).unwrap();
    assert!(sunday.contains("2026-02-01 is a Sunday") && sunday.contains("unverified"), "{sunday}");
    assert_eq!(rule.weekend_words(Period::parse("2026").unwrap()), None, "1 February 2027 is a Monday");
}

/// Maine 01-026 ch. 50: yearly by 31 January; no weekend rule was seen. New Hampshire: no due day was found.
#[test]
fn maine_wants_a_year_by_31_january_and_new_hampshires_day_was_not_found() {
    assert_eq!(due("me-yearly", "2026").as_deref(), Some("2027-01-31"));
    assert_eq!(due("nh-yearly", "2026"), None);
    let (state, report) = rule("nh-yearly").unwrap();
    assert!(!state.is_whole() && !report.unread.is_empty(), "it is never called complete");
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

/// As above: a report of no work has indicator 3, and nothing but the IDs beside it.
#[test]
fn a_new_york_year_without_work_is_a_line_of_ids() {
    let maker = draft::Maker {
        registration: Some("19999".into()),
        certified: vec![("Maren Quist".into(), "C1234567".into())],
        ..draft::Maker::default()
    };
    let made = (rule("ny-yearly").unwrap().1.layout)(&input("2025", "", &maker, &[]));
    assert_eq!(made.text.as_deref(), Some("3|C1234567|19999||||||||||\r\n"));
    assert!(made.gaps.is_empty() && made.file == "F26_2025.txt", "{:?}", made.gaps);
    let nobody = (rule("ny-yearly").unwrap().1.layout)(&input("2025", "", &draft::Maker::default(), &[]));
    assert_eq!((nobody.text.as_deref(), nobody.gaps.len()), (Some(""), 2));
    assert_eq!(new_york::FIELDS.len(), 13);
}
