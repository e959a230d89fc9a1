//! Unit sizes against pint (PyPI), a reference library for units. Its table,
//! made by `scripts/pint-table`, stands in `pint.json`; where `python3` can
//! import pint, it is asked itself.
//!
//! pint's acre is of the US survey foot, about 4 parts in a million more than
//! the acre of the international foot that the engine counts with.

use plantward::domain::quantity::{AreaUnit, Exact, LengthUnit, MassUnit, VolumeUnit, parse};
use serde_json::Value;
use std::process::Command;

/// Of pint's decimals the last of 28 digits may be rounded.
const TOLERANCE: &str = "0.00000000000000000001";

fn table() -> Value {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/scripts/pint-table");
    let asked = Command::new("python3").arg(script).output();
    match asked {
        Ok(done) if done.status.success() => serde_json::from_slice(&done.stdout).unwrap(),
        _ => {
            eprintln!(
                "PINT IS NOT INSTALLED: the units are checked against the table that pint 0.24.4 gave, not against pint itself"
            );
            serde_json::from_str(include_str!("pint.json")).unwrap()
        }
    }
}

/// Of pint's numbers those with an exponent too.
fn exact(text: &str) -> Exact {
    let (digits, exponent) = text.split_once(['E', 'e']).unwrap_or((text, "0"));
    let ten = Exact::from(num_bigint::BigInt::from(10));
    parse(digits).unwrap() * ten.pow(exponent.parse().unwrap())
}

fn relative(ours: &Exact, theirs: &Exact) -> Exact {
    let difference = ours / theirs - parse("1").unwrap();
    if difference < Exact::default() { -difference } else { difference }
}

#[test]
fn every_unit_has_the_size_that_pint_gives_it() {
    let table = table();
    let sizes = table["sizes"].as_object().unwrap();
    let volumes = VolumeUnit::ALL.iter().map(|unit| (unit.code(), unit.millilitres()));
    let masses = MassUnit::ALL.iter().map(|unit| (unit.code(), unit.grams()));
    let areas = AreaUnit::ALL.iter().map(|unit| (unit.code(), unit.square_metres()));
    let lengths = LengthUnit::ALL.iter().map(|unit| (unit.code(), unit.metres()));
    let mut checked = 0;
    for (code, ours) in volumes.chain(masses).chain(areas).chain(lengths) {
        let theirs = exact(sizes[code].as_str().unwrap());
        let off = relative(&ours, &theirs);
        checked += 1;
        if code == "acre" {
            assert!(
                off > parse("0.0000039").unwrap() && off < parse("0.0000041").unwrap(),
                "the survey foot"
            );
            assert!(ours < theirs);
        } else {
            assert!(off < parse(TOLERANCE).unwrap(), "{code}: {ours} and {theirs}");
        }
    }
    assert_eq!(checked, sizes.len());
}

#[test]
fn strengths_agree_with_pint() {
    let table = table();
    for (text, theirs) in table["grams_per_millilitre"].as_object().unwrap() {
        let (value, unit) = text.split_once(' ').unwrap();
        let (mass, volume) = unit.split_once('/').unwrap();
        let ours = parse(value).unwrap() * MassUnit::from_code(mass).unwrap().grams()
            / VolumeUnit::from_code(volume).unwrap().millilitres();
        assert!(relative(&ours, &exact(theirs.as_str().unwrap())) < parse(TOLERANCE).unwrap(), "{text}");
    }
}
