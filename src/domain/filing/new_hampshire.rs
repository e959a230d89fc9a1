//! New Hampshire: records of Pes 901.02 and the yearly form, as far as a fact sheet gives them. Neither the due day
//! nor the time of keeping was found: nothing here is ever called complete.

use super::{
    Element, Every, FilingRule, Jurisdiction, Nil, Weekend,
    draft::{Draft, Gap, Input, Work, lacking},
    maine::records,
    new_york::Address,
    source::Ground,
    sums::{COMMON, Sum, fitting, sums},
};
use crate::domain::{
    cell::Cell,
    permission::Mark::PartChecked,
    quantity::{Exact, fixed_half_up},
    record::{Field, RecordRule},
};
use num_bigint::BigInt;

/// What New Hampshire asks, as far as it was seen.
pub const NEW_HAMPSHIRE: Jurisdiction = Jurisdiction {
    code: "NH",
    name: "New Hampshire",
    record: RecordRule {
        state: "NH",
        restricted_only: false,
        elements: &[
            Element::field("Site, address and town", &[Field::Treated, Field::SiteAddress]),
            Element::field("Pesticide", &[Field::Product]),
            Element::label("Formulation"),
            Element::field("Dosage", &[Field::Rate]),
            Element::field("Method", &[Field::Method]),
            Element::field("Date", &[Field::Date]),
            Element::field("Target", &[Field::TargetPest]),
            Element::field("Registrants", &[Field::Applicator]),
        ],
        source: "New Hampshire Pes 901.02",
        mark: PartChecked,
        by: None,
        keep: None,
    },
    filing: Some(FilingRule {
        code: "nh-yearly",
        title: "Yearly report of pesticide use",
        every: Every::Year,
        per_county: false,
        due: None,
        weekend: Weekend::NotSeen,
        nil: Nil::NotFound,
        goes_to: "the state's division of pesticide control",
        unread: &[
            "The due day was not found: ask the state.",
            "The form's layout was not read, only the list of what it asks.",
            "Whether a report is owed for a year without work was not found.",
        ],
        source: "New Hampshire Pes 901.02, fact sheet",
        mark: PartChecked,
        layout,
    }),
    gaps: &[
        "The rule was read in a fact sheet.",
        "How long records are kept and by when they are written was not found.",
    ],
    grounds: &[Ground::partly(
        "The form asks for the firm, the year, towns, licensees, trade name, content of active ingredient, \
            registration number, major site, acres and total product.",
        "New Hampshire, fact sheet on Pes 901.02",
    )],
};

const COLUMNS: [&str; 10] = [
    "Town",
    "Major site",
    "Trade name",
    "Active ingredient",
    "EPA Reg. No.",
    "Total product",
    "Unit",
    "Acres",
    "Applications",
    "Remarks",
];

/// Town, site, registration number, product and its ingredients.
type Key = (String, String, String, String, String);

fn layout(input: &Input<'_>) -> Draft {
    let mut gaps = lacking(input.work);
    let key = |item: &Work| {
        let town = Address::read(&item.site_address).map(|one| one.municipality).unwrap_or_default();
        let number = item.registration_number.clone();
        (town, item.treated.clone(), number, item.product.clone(), item.ingredients.clone())
    };
    let (found, odd) = sums(input.work, key);
    gaps.extend(odd);
    for sum in &found {
        let unknown = sum.area_sqft().1;
        gaps.extend(unknown.into_iter().map(|work| Gap::of(work, "the area treated is missing".to_owned())));
        if sum.key.0.is_empty() {
            let told = |work: &&Work| Gap::of(work, "the town cannot be read from the address".to_owned());
            gaps.extend(sum.work.iter().map(told));
        }
    }
    let licensees = input.maker.certified.iter().map(|(name, number)| format!("{name} {number}"));
    Draft {
        head: vec![
            ("Firm", input.maker.name.clone()),
            ("Address", input.maker.address.clone()),
            ("Year", input.period.code()),
            ("Licensees", licensees.collect::<Vec<_>>().join(", ")),
        ],
        columns: &COLUMNS,
        rows: found.iter().map(row).collect(),
        nil: input.work.is_empty().then_some("No pesticide was used in New Hampshire in this year."),
        gaps,
        text: None,
        file: format!("new-hampshire_{}.csv", input.period.code()),
    }
}

fn row(sum: &Sum<'_, Key>) -> Vec<Cell> {
    let (town, site, number, product, ingredients) = &sum.key;
    let (value, unit) = fitting(&sum.amount, &COMMON).unwrap_or_default();
    let (area, unknown) = sum.area_sqft();
    // 43,560 square feet an acre.
    let acres = area / Exact::from(BigInt::from(43_560));
    let remarks = if unknown.is_empty() {
        String::new()
    } else {
        format!("the area of {} is not known", records(unknown.len()))
    };
    vec![
        Cell::text(town),
        Cell::text(site),
        Cell::text(product),
        Cell::text(ingredients),
        Cell::text(number),
        Cell::Number(fixed_half_up(&value, 4)),
        Cell::text(unit),
        if unknown.is_empty() { Cell::Number(fixed_half_up(&acres, 4)) } else { Cell::Empty },
        Cell::Number(sum.applications().to_string()),
        Cell::text(remarks),
    ]
}
