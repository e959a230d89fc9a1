//! Deadlines, retention, contents of records; signal words.

use crate::support::day;
use plantward::domain::permission::Mark;
use plantward::domain::record::{Field, house_keep_until, keep_until, missing, record_by};
use plantward::domain::signal::{Routes, SignalWord, Toxicity, signal_word};
use std::collections::BTreeSet;

/// Last days to write a record of Friday 15 May 2026. Sources: Florida
/// 5E-9.032(2); 7 Pa. Code 128.35; Minn. Stat. 18B.37; Wisconsin ATCP 29.33;
/// Maine ch. 50; New Jersey and Washington from memory.
#[test]
fn records_are_written_in_time() {
    for (state, restricted, by) in [
        ("FL", true, "2026-05-19"),
        ("PA", false, "2026-05-16"),
        ("MN", false, "2026-05-20"),
        ("WI", false, "2026-05-15"),
        ("ME", false, "2026-05-15"),
        ("NJ", false, "2026-05-16"),
        ("WA", false, "2026-05-15"),
    ] {
        let date = record_by(state, restricted, day("2026-05-15")).unwrap();
        assert_eq!(date.day, day(by), "{state}");
    }
    assert_eq!(record_by("FL", false, day("2026-05-15")), None);
    assert_eq!(record_by("CA", false, day("2026-05-15")), None);
}

/// Sources: New York ECL 33-1205; CGS 22a-66g; Florida 5E-9.032; 4 TAC 7.33;
/// ATCP 29; Maine ch. 50; 7 Pa. Code 128.35; 333 CMR 10.14; ORS 634.146.
/// California, Minnesota, New Jersey and Washington are from memory.
#[test]
fn records_are_kept_long_enough() {
    for (state, until, mark) in [
        ("NY", "2029-05-15", Mark::Checked),
        ("CT", "2031-05-15", Mark::Checked),
        ("PA", "2029-05-15", Mark::Checked),
        ("FL", "2028-05-15", Mark::Checked),
        ("TX", "2028-05-15", Mark::Checked),
        ("WI", "2028-05-15", Mark::PartChecked),
        ("ME", "2028-05-15", Mark::Checked),
        ("MA", "2029-05-15", Mark::Checked),
        ("OR", "2029-05-15", Mark::Checked),
        ("CA", "2028-05-15", Mark::Unverified),
        ("MN", "2031-05-15", Mark::Unverified),
        ("NJ", "2029-05-15", Mark::Unverified),
        ("WA", "2033-05-15", Mark::Unverified),
    ] {
        let date = keep_until(state, state == "FL", day("2026-05-15")).unwrap();
        assert_eq!(date.day, day(until), "{state}");
        assert_eq!(date.mark, mark, "{state}");
        assert!(house_keep_until(day("2026-05-15")) >= date.day);
    }
}

/// 3 CCR 6624(b): date and time, operator of the property, location, site,
/// units treated, pesticide with its number, amount.
#[test]
fn a_californian_record_names_what_it_lacks() {
    let complete = BTreeSet::from([
        Field::Date,
        Field::StartTime,
        Field::Customer,
        Field::SiteAddress,
        Field::Treated,
        Field::Size,
        Field::Product,
        Field::RegistrationNumber,
        Field::Amount,
    ]);
    assert_eq!(missing("CA", false, &complete), []);
    for field in &complete {
        let mut lacking = complete.clone();
        lacking.remove(field);
        let found = missing("CA", false, &lacking);
        assert_eq!(found.iter().map(|one| one.field).collect::<Vec<_>>(), [*field]);
        assert_eq!(found[0].source, "3 CCR 6624(b)");
    }
    // 40 CFR 171.303(b)(7) asks more of restricted-use products.
    let more: Vec<Field> = missing("CA", true, &complete).iter().map(|one| one.field).collect();
    assert_eq!(more, [Field::CustomerAddress, Field::Applicator, Field::CertificationNumber]);
}

/// 4 TAC 7.33: wind and temperature.
#[test]
fn a_texan_record_without_wind_says_so() {
    let fields: Vec<Field> = missing("TX", false, &BTreeSet::new()).iter().map(|one| one.field).collect();
    for field in [Field::WindSpeed, Field::WindDirection, Field::AirTemperature, Field::TargetPest] {
        assert!(fields.contains(&field));
    }
}

/// 40 CFR 156.64: the word goes by the worst of the five routes.
#[test]
fn the_signal_word_goes_by_the_worst_route() {
    let routes = |oral, dermal| Routes { oral: Some(oral), dermal: Some(dermal), ..Routes::default() };
    assert_eq!(signal_word(&routes(Toxicity::II, Toxicity::III)), SignalWord::Warning);
    assert_eq!(signal_word(&routes(Toxicity::III, Toxicity::IV)), SignalWord::Caution);
    assert_eq!(signal_word(&routes(Toxicity::IV, Toxicity::IV)), SignalWord::None);
}
