//! The cells of the application log: one row for each product of a record. The page and the file show these
//! and no others.
use super::lacks;
use crate::web::words::{sentence, unit};
use crate::{
    db::report::Line,
    domain::{cell::Cell, label::MeasureBasis, record::Field},
};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// The columns, in their order in the file.
pub const COLUMNS: [&str; 31] = [
    "Date",
    "Time",
    "Customer",
    "Site address",
    "County",
    "State",
    "Plant or host",
    "Number of plants",
    "Target pest",
    "Product",
    "EPA Reg. No.",
    "Amount",
    "Amount unit",
    "Measure",
    "Measure unit",
    "Rate",
    "Rate unit",
    "Water",
    "Water unit",
    "Method",
    "Applicator",
    "Certification",
    "Supervisor",
    "Supervisor's certification",
    "Wind from",
    "Wind mph",
    "Air temperature F",
    "Record version",
    "Flags",
    "Missing",
    "Lot",
];

/// Makes the rows of a list out of its lines.
#[derive(Debug, Default)]
pub struct Rows {
    /// What a record lacks, in words, by its state, restricted use and what it holds: the many lines of a list
    /// fall into few kinds.
    lacking: BTreeMap<(String, bool, Vec<Field>), String>,
}

impl Rows {
    /// The cells of a line, one for each column.
    pub fn row(&mut self, line: Line) -> Vec<Cell> {
        let basis = MeasureBasis::from_code(&line.measure_basis);
        let (rate_unit, missing) = (rate_unit(&line, basis), self.lacking(&line));
        let hosted = !line.host_plant.is_empty();
        vec![
            Cell::Day(line.applied_on),
            line.started_at.map_or(Cell::Empty, |time| Cell::text(time.format("%H:%M").to_string())),
            Cell::text(line.customer_name),
            Cell::text(line.site_address),
            Cell::text(line.site_county),
            Cell::text(line.site_state),
            Cell::text(plant(line.host_plant, line.plant_words)),
            if hosted { Cell::number(Decimal::from(line.count)) } else { Cell::Empty },
            Cell::text(line.target_pest),
            Cell::text(line.product_name),
            Cell::text(line.registration_number),
            Cell::number(line.amount),
            Cell::text(unit(&line.unit)),
            Cell::maybe(line.measure),
            line.measure.and(basis).map_or(Cell::Empty, |b| Cell::text(b.unit_words())),
            Cell::maybe(line.rate),
            rate_unit,
            Cell::maybe(line.water),
            Cell::text(line.water.and(line.water_unit.as_deref()).map(unit).unwrap_or_default()),
            Cell::text(line.method.replace('-', " ")),
            Cell::text(line.applicator_name),
            Cell::text(line.applicator_certification),
            Cell::text(line.supervisor_name),
            Cell::text(line.supervisor_certification),
            Cell::text(line.wind_direction),
            Cell::maybe(line.wind_mph),
            Cell::maybe(line.temperature_f),
            Cell::text(version(line.version)),
            if line.flags.is_empty() { Cell::Empty } else { Cell::text(sentence(&line.flags)) },
            missing,
            Cell::text(line.lot),
        ]
    }

    fn lacking(&mut self, line: &Line) -> Cell {
        let kind = (line.site_state.clone(), line.restricted_use, line.present());
        let words = self.lacking.entry(kind).or_insert_with_key(|(state, restricted_use, present)| {
            lacks(state, *restricted_use, present.iter().copied()).join("; ")
        });
        Cell::text(words.as_str())
    }
}

/// Host plant, and where on the site.
fn plant(host: String, words: String) -> String {
    match (host.is_empty(), words.is_empty()) {
        (true, _) => words,
        (_, true) => host,
        _ => format!("{host}, {words}"),
    }
}

fn rate_unit(line: &Line, basis: Option<MeasureBasis>) -> Cell {
    let (Some(_), Some(of)) = (line.rate, line.rate_unit.as_deref()) else { return Cell::Empty };
    Cell::text(basis.map_or_else(|| unit(of).to_owned(), |b| format!("{} per {}", unit(of), b.unit_words())))
}

fn version(number: i32) -> String {
    if number == 1 { "1".to_owned() } else { format!("{number}, amended") }
}
