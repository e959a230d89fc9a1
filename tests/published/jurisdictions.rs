//! Every jurisdiction against the list that its rule publishes. The lists are those of the sources named beside them,
//! item by item; a field that a rule does not ask for must not be asked.

use crate::support::day;
use plantward::domain::filing::{ALL, Jurisdiction, federal::FORMER, find};
use plantward::domain::permission::Mark;
use plantward::domain::record::Field::{self, *};
use std::collections::BTreeSet;

fn state(code: &str) -> &'static Jurisdiction {
    find(code).unwrap()
}

/// The record holds these fields and no others, and these parts are kept outside it.
fn asks(code: &str, fields: &[Field], outside: usize) {
    let rule = &state(code).record;
    let asked: BTreeSet<Field> = rule.fields().collect();
    assert_eq!(asked, fields.iter().copied().collect(), "{code}, {}", rule.source);
    assert_eq!(rule.outside().count(), outside, "{code}, {}", rule.source);
}

/// 3 CCR 6624(b): (1) date and time; (2) operator of the property; (3) location; (4) crop, commodity or site;
/// (5) acreage or units treated; (6) pesticide with its registration number and amount used.
#[test]
fn california() {
    asks(
        "CA",
        &[Date, StartTime, Customer, SiteAddress, Treated, Size, Product, RegistrationNumber, Amount],
        0,
    );
}

/// ECL 33-1205(1): registration number; product name; quantity; date applied; location by address with a five-digit
/// zip; and to be kept: dosage rates, methods, target organisms.
#[test]
fn new_york() {
    asks(
        "NY",
        &[RegistrationNumber, Product, Amount, Date, SiteAddress, SiteZip, Rate, Method, TargetPest],
        0,
    );
}

/// 7 Pa. Code 128.35: date, hour completed where a re-entry time applies; customer's name and address and the site's;
/// brand; registration number; total amount; dosage or rate; name and number of each person; for crops the site.
#[test]
fn pennsylvania() {
    let fields = [
        Date,
        Customer,
        CustomerAddress,
        SiteAddress,
        Product,
        RegistrationNumber,
        Amount,
        Rate,
        Applicator,
        CertificationNumber,
    ];
    asks("PA", &fields, 2);
}

/// 5E-9.032: licensee's name and number; person who applied; date, start and end time; site; crop or site type; size;
/// brand and registration number; total formulated product; method; person authorising.
#[test]
fn florida() {
    let fields = [
        CertificationNumber,
        Applicator,
        Date,
        StartTime,
        EndTime,
        SiteAddress,
        Treated,
        Size,
        Product,
        RegistrationNumber,
        Amount,
        Method,
        Supervisor,
    ];
    asks("FL", &fields, 0);
    assert!(state("FL").record.restricted_only);
}

/// 4 TAC 7.33: date; start time; customer; location; product, registration number, rate per unit, mix volume per unit,
/// target pest; site; total area; wind direction and velocity; air temperature; method; aircraft number; applicator's
/// name and licence and person applying; permit number; evidence of training under supervision.
#[test]
fn texas() {
    let fields = [
        Date,
        StartTime,
        Customer,
        SiteAddress,
        Product,
        RegistrationNumber,
        Rate,
        Mixture,
        TargetPest,
        Treated,
        Size,
        WindDirection,
        WindSpeed,
        AirTemperature,
        Method,
        Applicator,
        CertificationNumber,
    ];
    asks("TX", &fields, 3);
}

/// ATCP 29.21 and 29.33: applicator's names; customer's name and address; crop or site; location; month, day, year,
/// start and end time; brand or common name and registration number; quantity; place of mixing and loading.
#[test]
fn wisconsin() {
    let fields = [
        Applicator,
        Customer,
        CustomerAddress,
        Treated,
        SiteAddress,
        Date,
        StartTime,
        EndTime,
        Product,
        RegistrationNumber,
        Amount,
    ];
    asks("WI", &fields, 1);
}

/// Minn. Stat. 18B.37 subd. 2: date; time completed; brand, registration number, rate; number of units; temperature,
/// wind speed and direction; location; customer's name and address; applicator, company, licence, address.
#[test]
fn minnesota() {
    let fields = [
        Date,
        EndTime,
        Product,
        RegistrationNumber,
        Rate,
        Size,
        AirTemperature,
        WindSpeed,
        WindDirection,
        SiteAddress,
        Customer,
        CustomerAddress,
        Applicator,
        CertificationNumber,
    ];
    asks("MN", &fields, 0);
}

/// 01-026 ch. 50: town and location, site, target, customer and address; size or number; date and time; brand;
/// registration number; ingredient; re-entry interval; method; diluent other than water; applicator and number; firm;
/// rate.
#[test]
fn maine() {
    let fields = [
        SiteAddress,
        Treated,
        TargetPest,
        Customer,
        CustomerAddress,
        Size,
        Date,
        StartTime,
        Product,
        RegistrationNumber,
        Method,
        Applicator,
        CertificationNumber,
        Rate,
    ];
    asks("ME", &fields, 2);
}

/// N.J.A.C. 7:30-7.3, in part: date, hour completed and re-entry time; address, municipality, county; brand,
/// ingredient, registration number; total concentrate and diluent; area where the rate is for an area; applicator.
#[test]
fn new_jersey() {
    let fields = [
        Date,
        SiteAddress,
        County,
        Product,
        RegistrationNumber,
        Amount,
        Mixture,
        Applicator,
        CertificationNumber,
    ];
    asks("NJ", &fields, 2);
}

/// 333 CMR 10.14, in part: place; date; brand; registration number; amount; purpose; method; persons; accidents;
/// insurance; illnesses.
#[test]
fn massachusetts() {
    let fields = [
        SiteAddress,
        Date,
        Product,
        RegistrationNumber,
        Amount,
        TargetPest,
        Method,
        Applicator,
        CertificationNumber,
    ];
    asks("MA", &fields, 3);
}

/// CGS 22a-66g and 23-61k: supervisor's and operator's name and number; kind and amount; date and place; pest; crop or
/// site; list of names and numbers of pesticides; list of applicators.
#[test]
fn connecticut() {
    let fields = [
        Supervisor,
        Applicator,
        CertificationNumber,
        Product,
        Amount,
        Date,
        SiteAddress,
        TargetPest,
        Treated,
    ];
    asks("CT", &fields, 0);
}

/// ORS 634.146: customer; location; date and time; supplier; trade name and strength; amount or concentration; property
/// or crop; equipment; applicators.
#[test]
fn oregon() {
    asks("OR", &[Customer, SiteAddress, Date, StartTime, Product, Amount, Treated, Applicator], 2);
    assert!(
        state("OR").filing.is_none(),
        "OAR 603-057-0410 is suspended without a working system: off by default"
    );
}

/// Pes 901.02, fact sheet: site, address, town; pesticide and formulation; dosage; method; date; target; registrants.
#[test]
fn new_hampshire() {
    asks("NH", &[Treated, SiteAddress, Product, Rate, Method, Date, TargetPest, Applicator], 0);
    assert!(!state("NH").is_whole());
}

/// The agency's form to WAC 16-228-1320: applicator, person applying, site, area, product, number, total amount, rate,
/// concentration, address, wind direction and speed, temperature, apparatus number, method.
#[test]
fn washington() {
    let fields = [
        Applicator,
        CertificationNumber,
        Treated,
        Size,
        Product,
        RegistrationNumber,
        Amount,
        Rate,
        SiteAddress,
        WindDirection,
        WindSpeed,
        AirTemperature,
        Method,
        Date,
    ];
    asks("WA", &fields, 1);
}

/// 40 CFR 171.303(b)(7), as restated: customer's name and address; location; size; crop or site (from memory); time and
/// date; brand; registration number; amount; applicator's or supervisor's name and number, noncertified applicator.
#[test]
fn federal_law() {
    let fields = [
        Customer,
        CustomerAddress,
        SiteAddress,
        Size,
        Treated,
        Date,
        StartTime,
        Product,
        RegistrationNumber,
        Amount,
        Applicator,
        CertificationNumber,
    ];
    asks("US", &fields, 0);
    assert!(state("US").record.restricted_only && state("US").record.mark == Mark::PartChecked);
}

/// 90 FR, FR Doc 2025-08220: 7 CFR part 110 ended on 11 July 2025. No rule of today rests on it.
#[test]
fn the_former_federal_rule_is_history_only() {
    assert!(FORMER.held_on(day("2025-07-10")) && !FORMER.held_on(day("2025-07-11")));
    assert_eq!(FORMER.elements.len(), 5);
    for one in ALL {
        let filing = one.filing.as_ref().map_or("", |rule| rule.source);
        assert!(!one.record.source.contains("110") && !filing.contains("7 CFR 110"), "{}", one.name);
    }
}

/// Deadlines for Friday 15 May 2026 as the sources state them (see `records.rs` for the days); which states state none.
#[test]
fn what_a_source_does_not_state_is_not_made_up() {
    let none: Vec<&str> = ALL.iter().filter(|one| one.record.by.is_none()).map(|one| one.code).collect();
    assert_eq!(none, ["US", "CA", "CT", "MA", "NH", "NY", "OR", "TX"]);
    let unknown: Vec<&str> = ALL.iter().filter(|one| one.record.keep.is_none()).map(|one| one.code).collect();
    assert_eq!(unknown, ["NH"]);
    for one in ALL.iter().filter(|one| one.record.by.is_none() && one.code != "US") {
        assert!(!one.is_whole(), "{} says that no day was found", one.name);
    }
}
