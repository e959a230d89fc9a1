//! Columns of a state's log: one or two for each field that its rule asks for, in the rule's order, then what it asks
//! of label and company, what is kept elsewhere, and what is missing.
use crate::{
    db::{
        Conn,
        company::Company,
        label,
        record::{self, Item, Version},
    },
    domain::{
        cell::Cell,
        filing::{Jurisdiction, Kept},
        record::Field,
    },
    web::{reports::lacks, words},
};
use chrono::NaiveTime;
use rust_decimal::Decimal;
use std::collections::{HashMap, HashSet};
use uuid::Uuid;

/// What stands where a rule asks for something that no record here holds.
const ELSEWHERE: &str = "kept outside the record";

/// The columns of one state's log.
pub struct Columns {
    state: &'static str,
    fields: Vec<Field>,
    asks_label: bool,
    outside: Vec<&'static str>,
    company: Company,
    /// Active ingredients of the label entries seen so far.
    ingredients: HashMap<Uuid, String>,
}

impl Columns {
    /// As its rule asks.
    pub fn of(of: &Jurisdiction, company: Company) -> Self {
        let fields = fields(of);
        Self {
            state: of.code,
            fields,
            asks_label: asks_label(of),
            outside: outside(of),
            company,
            ingredients: HashMap::new(),
        }
    }

    /// Looks a label entry up, once.
    pub async fn know(&mut self, conn: &mut Conn, version: Uuid) -> sqlx::Result<()> {
        if self.asks_label && !self.ingredients.contains_key(&version) {
            let held = label::load(conn, version).await?;
            let parts = held.iter().flat_map(|label| &label.ingredients);
            let said: Vec<String> =
                parts.map(|i| format!("{} {} {}", i.name, i.strength.normalize(), i.strength_unit)).collect();
            self.ingredients.insert(version, said.join(", "));
        }
        Ok(())
    }

    /// The cells of one product of one record.
    pub fn cells(&self, version: &Version, item: &Item, restricted: bool) -> Vec<Cell> {
        let alone = Version { head: version.head.clone(), items: vec![item.clone()] };
        let present = record::present(&alone);
        let state = if self.state == "US" { version.head.site_state.as_str() } else { self.state };
        let own = self.fields.iter().flat_map(|field| cells(*field, version, item));
        let label = self
            .asks_label
            .then(|| Cell::text(self.ingredients.get(&item.label_version_id).cloned().unwrap_or_default()));
        let c = &self.company;
        let ends = [
            Cell::text(&c.name),
            Cell::text(format!("{}, {}, {} {}", c.street, c.city, c.state, c.zip)),
            Cell::text(&c.license_number),
            Cell::text(format!("{} version {}", version.head.id, version.head.version)),
            Cell::text(lacks(state, restricted, present).join("; ")),
        ];
        let outside = self.outside.iter().map(|_| Cell::text(ELSEWHERE));
        own.chain(label).chain(outside).chain(ends).collect()
    }
}

/// The fields that the rule asks for, each once.
fn fields(of: &Jurisdiction) -> Vec<Field> {
    let mut fields: Vec<Field> = vec![];
    for field in of.record.fields() {
        // The zip is part of the address.
        if !fields.contains(&field) && field != Field::SiteZip {
            fields.push(field);
        }
    }
    fields
}

fn asks_label(of: &Jurisdiction) -> bool {
    of.record.elements.iter().any(|element| element.kept == Kept::Label)
}

fn outside(of: &Jurisdiction) -> Vec<&'static str> {
    of.record.outside().map(|(words, _)| words).collect()
}

/// The names of a state's columns.
pub fn names_of(of: &Jurisdiction) -> Vec<&'static str> {
    let own: Vec<&'static str> =
        fields(of).into_iter().flat_map(|field| names(field).iter().copied()).collect();
    let label = asks_label(of).then_some("Active ingredients");
    let ends = ["Company", "Company address", "Licence number", "Record", "Missing"];
    own.into_iter().chain(label).chain(outside(of)).chain(ends).collect()
}

/// Which of the labels are of restricted-use products.
pub async fn restricted(conn: &mut Conn, batch: &[Version]) -> sqlx::Result<HashSet<Uuid>> {
    let all: Vec<Uuid> = batch.iter().flat_map(|v| v.items.iter().map(|i| i.label_version_id)).collect();
    Ok(record::restricted_among(conn, &all).await?.into_iter().collect())
}

/// Names of the columns of a field.
fn names(field: Field) -> &'static [&'static str] {
    match field {
        Field::Date => &["Date"],
        Field::StartTime => &["Start time"],
        Field::EndTime => &["End time"],
        Field::Customer => &["Customer"],
        Field::CustomerAddress => &["Customer's address"],
        Field::SiteAddress | Field::SiteZip => &["Site address"],
        Field::County => &["County"],
        Field::Treated => &["Plant or site treated"],
        Field::Size => &["Area treated, sq ft", "Number of plants"],
        Field::TargetPest => &["Target pest"],
        Field::Product => &["Product"],
        Field::RegistrationNumber => &["EPA Reg. No."],
        Field::Amount => &["Amount", "Amount unit"],
        Field::Rate => &["Rate", "Rate unit"],
        Field::Mixture => &["Water", "Water unit"],
        Field::Method => &["Method"],
        Field::Applicator => &["Applicator"],
        Field::CertificationNumber => &["Certification"],
        Field::Supervisor => &["Supervisor", "Supervisor's certification"],
        Field::WindSpeed => &["Wind mph"],
        Field::WindDirection => &["Wind from"],
        Field::AirTemperature => &["Air temperature F"],
    }
}

/// Its cells, as many as it has columns.
fn cells(field: Field, version: &Version, item: &Item) -> Vec<Cell> {
    let h = &version.head;
    let time = |t: Option<NaiveTime>| t.map_or(Cell::Empty, |t| Cell::text(t.format("%H:%M").to_string()));
    let plants = || item.plant_id.map_or(Cell::Empty, |_| Cell::number(Decimal::from(item.count)));
    let water = || item.water_unit.as_deref().filter(|_| item.water.is_some()).map(words::unit);
    let rate = || item.rate.map_or(Cell::Empty, |_| Cell::text(rate_unit(item)));
    let certified = || {
        let own = &h.applicator_certification;
        Cell::text(if own.is_empty() { &h.supervisor_certification } else { own })
    };
    let plant = || match (item.host_plant.as_str(), item.plant_words.as_str()) {
        ("", words) => words.to_owned(),
        (host, "") => host.to_owned(),
        (host, words) => format!("{host}, {words}"),
    };
    match field {
        Field::Date => vec![Cell::Day(h.applied_on)],
        Field::StartTime => vec![time(h.started_at)],
        Field::EndTime => vec![time(h.finished_at)],
        Field::Customer => vec![Cell::text(&h.customer_name)],
        Field::CustomerAddress => vec![Cell::text(&h.customer_address)],
        Field::SiteAddress | Field::SiteZip => vec![Cell::text(&h.site_address)],
        Field::County => vec![Cell::text(&h.site_county)],
        Field::Treated => vec![Cell::text(plant())],
        Field::Size => vec![Cell::maybe(h.area_treated_sqft), plants()],
        Field::TargetPest => vec![Cell::text(&item.target_pest)],
        Field::Product => vec![Cell::text(&item.product_name)],
        Field::RegistrationNumber => vec![Cell::text(&item.registration_number)],
        Field::Amount => vec![Cell::number(item.amount), Cell::text(words::unit(&item.unit))],
        Field::Rate => vec![Cell::maybe(item.rate), rate()],
        Field::Mixture => vec![Cell::maybe(item.water), Cell::text(water().unwrap_or_default())],
        Field::Method => vec![Cell::text(item.method.replace('-', " "))],
        Field::Applicator => vec![Cell::text(&h.applicator_name)],
        Field::CertificationNumber => vec![certified()],
        Field::Supervisor => vec![Cell::text(&h.supervisor_name), Cell::text(&h.supervisor_certification)],
        Field::WindSpeed => vec![Cell::maybe(h.wind_mph)],
        Field::WindDirection => vec![Cell::text(&h.wind_direction)],
        Field::AirTemperature => vec![Cell::maybe(h.temperature_f)],
    }
}

fn rate_unit(item: &Item) -> String {
    let unit = words::unit(&item.unit);
    crate::domain::label::MeasureBasis::from_code(&item.measure_basis)
        .map_or_else(|| unit.to_owned(), |basis| format!("{unit} per {}", basis.unit_words()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{filing::ALL, record::rules_for};

    #[test]
    fn every_rule_has_columns_for_what_it_asks() {
        for one in ALL {
            for field in one.record.fields() {
                assert!(!names(field).is_empty(), "{}: {}", one.name, field.words());
            }
            // A field that no rule of the state asks for has no column.
            assert_eq!(
                one.record.asks(Field::WindSpeed),
                one.record.asks(Field::WindDirection),
                "{}",
                one.name
            );
        }
        assert!(rules_for("TX", false).iter().all(|rule| rule.asks(Field::WindSpeed)));
    }
}
