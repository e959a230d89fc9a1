//! Prices by each basis, unknown parts, and the years of an agreement.

use super::super::quantity::{parse, plain};
use super::*;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn terms(basis: PriceBasis, price: &str) -> Terms {
    Terms { basis, price: parse(price).unwrap(), starts_on: day("2024-02-29"), ends_on: None }
}

fn tall(feet: &str) -> Measure {
    Measure { height_ft: Some(feet.parse().unwrap()), ..Measure::default() }
}

fn trunk(inches: &[&str]) -> Measure {
    let stems_in = inches.iter().map(|inch| inch.parse().unwrap()).collect();
    Measure { stems_in, stem_rule: Some("sum".into()), ..Measure::default() }
}

fn amount(price: &PlantPrice) -> String {
    match price {
        PlantPrice::Amount { amount, .. } => amount.plain(),
        PlantPrice::Within(basis) => format!("within the {}", basis.code()),
        PlantPrice::Unknown(why) => why.to_string(),
    }
}

#[test]
fn each_basis_counts_what_it_says() {
    let (hedge, tree, bare) = (tall("6.5"), trunk(&["5", "6.25"]), Measure::default());
    // A hedge of forty at 6.5 ft has 260 ft; stems of 5 and 6.25 in add up to 11.25 in.
    for (basis, price, of_hedge, of_tree, of_bare) in [
        (PriceBasis::Foot, "0.375", "97.50", "the price is by the foot and no height is measured", "height"),
        (PriceBasis::Inch, "4.333", "the price is by the inch and no trunk is measured", "48.75", "trunk"),
        (PriceBasis::Plant, "12.5", "500.00", "12.50", "12.50"),
        (PriceBasis::Visit, "185", "within the visit", "within the visit", "within the visit"),
        (PriceBasis::Year, "420", "within the year", "within the year", "within the year"),
    ] {
        let site = terms(basis, price);
        let work =
            [(40, &hedge), (1, &tree), (1, &bare)].map(|(count, measure)| Work { count, measure, own: None });
        let quote = quote(Some(&site), &work);
        let said: Vec<String> = quote.plants.iter().map(amount).collect();
        assert_eq!((said[0].as_str(), said[1].as_str()), (of_hedge, of_tree), "{basis:?}");
        assert!(said[2].contains(of_bare), "{basis:?}: {}", said[2]);
    }
}

#[test]
fn one_sum_is_counted_once_and_own_agreements_on_top() {
    let (hedge, palm) = (tall("6"), tall("12"));
    let (site, own) = (terms(PriceBasis::Visit, "150"), terms(PriceBasis::Foot, "3.125"));
    let under_site = Work { count: 40, measure: &hedge, own: None };
    let by_itself = Work { count: 1, measure: &palm, own: Some(&own) };
    let all = quote(Some(&site), &[under_site.clone(), under_site.clone(), by_itself.clone()]);
    assert_eq!(all.whole, Some((PriceBasis::Visit, Money::rounded(&parse("150").unwrap()))));
    assert_eq!(all.total.unwrap().plain(), "187.50", "150 once, and 12 ft at 3.125");
    let alone = quote(Some(&site), std::slice::from_ref(&by_itself));
    assert_eq!(
        (alone.whole, alone.total.unwrap().plain()),
        (None, "37.50".into()),
        "no plant is under the visit"
    );
}

#[test]
fn an_unknown_part_leaves_the_whole_unknown_and_not_zero() {
    let (hedge, bare) = (tall("6"), Measure::default());
    let own = terms(PriceBasis::Plant, "10");
    let priced = Work { count: 2, measure: &hedge, own: Some(&own) };
    let nothing = Work { count: 1, measure: &bare, own: None };
    let part = quote(None, &[priced.clone(), nothing]);
    assert_eq!((part.known.plain(), part.total), ("20.00".into(), None));
    assert_eq!(quote(None, &[priced]).total.unwrap().plain(), "20.00");
    let empty = quote(Some(&own), &[]);
    assert_eq!((empty.total, empty.known), (None, Money::zero()), "nothing to treat has no price");
    let free = terms(PriceBasis::Plant, "0");
    let gift = Work { count: 3, measure: &hedge, own: Some(&free) };
    assert_eq!(quote(None, &[gift]).total.unwrap().plain(), "0.00", "a price of zero is a price");
}

#[test]
fn years_are_counted_from_the_first_day() {
    let mut terms = terms(PriceBasis::Year, "420");
    for (on, from, last) in [
        ("2024-02-29", "2024-02-29", "2025-02-27"),
        ("2025-02-27", "2024-02-29", "2025-02-27"),
        ("2025-02-28", "2025-02-28", "2026-02-27"),
        ("2028-02-28", "2027-02-28", "2028-02-28"),
        ("2028-02-29", "2028-02-29", "2029-02-27"),
    ] {
        assert_eq!(terms.year_of(day(on)), Some((day(from), day(last))), "{on}");
    }
    assert_eq!(terms.year_of(day("2024-02-28")), None);
    terms.ends_on = Some(day("2026-06-30"));
    for (on, holds) in
        [("2024-02-28", false), ("2024-02-29", true), ("2026-06-30", true), ("2026-07-01", false)]
    {
        assert_eq!(terms.holds_on(day(on)), holds, "{on}");
    }
}

#[test]
fn years_follow_each_other_without_gap_or_overlap() {
    for start in ["2024-02-29", "2023-12-31", "2024-01-01", "2025-08-31"] {
        let terms = Terms { starts_on: day(start), ..terms(PriceBasis::Year, "1") };
        let (mut on, mut last) = (day(start), None);
        while on < day("2033-01-01") {
            let (from, until) = terms.year_of(on).unwrap();
            assert!(from <= on && on <= until, "{start} {on}");
            if let Some(last) = last.filter(|l| *l != until) {
                assert_eq!(Some(from), NaiveDate::succ_opt(&last), "{start} {on}");
            }
            last = Some(until);
            on = on.succ_opt().unwrap();
        }
    }
}

#[test]
fn the_first_plant_due_makes_the_renewal() {
    let due = ["2027-03-02", "2026-12-24", "2027-01-01"].map(day);
    assert_eq!(renewal_day(due), Some(day("2026-12-24")));
    assert_eq!(renewal_day([]), None);
}

#[test]
fn a_girth_is_priced_by_its_diameter() {
    let girth = Measure { girth_in: Some("31.4".parse().unwrap()), ..Measure::default() };
    let work = Work { count: 1, measure: &girth, own: None };
    let inches = times(PriceBasis::Inch, &work).unwrap();
    assert!(
        plain(&inches).starts_with("9.99"),
        "31.4 in around is just under 10 in through: {}",
        plain(&inches)
    );
}
