//! The cells of each list, one row for each line of its page.
use crate::{
    db::{audit, customer, due, plant, site},
    domain::cell::Cell,
    web::{audit as audit_page, due as due_page, words},
};
use chrono::{Days, NaiveDate};
use chrono_tz::Tz;
use rust_decimal::Decimal;

pub(super) const DUE: [&str; 16] = [
    "Day",
    "State",
    "Reason",
    "Protected until",
    "Allowed from",
    "Due",
    "Days without protection",
    "Host plant",
    "Plants",
    "Place",
    "Street",
    "City",
    "Service area",
    "Customer",
    "Booked for",
    "Booked with",
];

fn day(day: Option<NaiveDate>) -> Cell {
    day.map_or(Cell::Empty, Cell::Day)
}

fn count(count: impl Into<Decimal>) -> Cell {
    Cell::number(count.into())
}

pub(super) fn due(row: &due::Row, today: NaiveDate) -> Vec<Cell> {
    let (_, state) = due_page::standing(row, today, due_page::monday(today) + Days::new(6));
    let reason =
        row.held_by.first().map_or_else(|| due_page::since(row), |rule| words::held(rule).to_owned());
    vec![
        Cell::Day(row.list_on),
        Cell::text(state),
        Cell::text(reason),
        day(row.protected_until),
        day(row.allowed_on),
        day(row.due_on),
        row.gap_days.map_or(Cell::Empty, count),
        Cell::text(&row.host_plant),
        count(row.count),
        Cell::text(&row.place),
        Cell::text(&row.street),
        Cell::text(&row.city),
        Cell::text(&row.service_area),
        Cell::text(&row.customer),
        day(row.visit_on),
        Cell::text(row.visit_by.clone().unwrap_or_default()),
    ]
}

pub(super) const CUSTOMERS: [&str; 10] =
    ["Name", "E-mail", "Phone", "Street", "City", "State", "ZIP", "Note", "Sites in use", "Customer"];

pub(super) fn customer(line: &customer::Line) -> Vec<Cell> {
    let c = &line.customer;
    let said = [&c.name, &c.email, &c.phone, &c.street, &c.city, &c.state, &c.zip, &c.note];
    let retired = if c.retired_at.is_some() { "retired" } else { "in care" };
    said.into_iter().map(Cell::text).chain([count(line.sites), Cell::text(retired)]).collect()
}

pub(super) const SITES: [&str; 9] =
    ["Street", "Name", "City", "State", "County", "Service area", "Customer", "Plants in use", "Site"];

pub(super) fn site(line: &site::Line) -> Vec<Cell> {
    let said = [
        &line.street,
        &line.name,
        &line.city,
        &line.state,
        &line.county,
        &line.service_area,
        &line.customer_name,
    ];
    let retired = if line.retired_at.is_some() { "retired" } else { "in use" };
    said.into_iter().map(Cell::text).chain([count(line.plants), Cell::text(retired)]).collect()
}

pub(super) const PLANTS: [&str; 17] = [
    "Host plant",
    "Kind",
    "Plants",
    "Place",
    "Street",
    "City",
    "Height ft",
    "Measured",
    "Target pest",
    "Eaten",
    "Product",
    "Use",
    "Planned rate",
    "Rate unit",
    "Protected until",
    "Due",
    "State",
];

pub(super) fn plant(line: &plant::Line) -> Vec<Cell> {
    let p = &line.plant;
    let held = line.held_by.as_deref().and_then(|codes| codes.first());
    let state = match (p.retired_at, held) {
        (Some(_), _) => "retired",
        (None, Some(code)) => words::held(code),
        (None, None) => "in care",
    };
    vec![
        Cell::text(&p.host_plant),
        Cell::text(p.kind.code()),
        count(p.count),
        Cell::text(&p.place),
        Cell::text(&line.street),
        Cell::text(&line.city),
        Cell::maybe(p.height_ft),
        Cell::text(p.measure().words()),
        Cell::text(&p.target_pest),
        Cell::text(&p.eaten),
        Cell::text(line.product_name.clone().unwrap_or_default()),
        Cell::text(line.use_name.clone().unwrap_or_default()),
        Cell::maybe(p.planned_rate),
        Cell::text(p.planned_rate.and(line.use_unit.as_deref()).map(words::unit).unwrap_or_default()),
        day(line.protected_until),
        day(line.due_on),
        Cell::text(state),
    ]
}

pub(super) const AUDIT: [&str; 9] =
    ["Day", "Time", "Who", "Did", "To what", "Identifier", "In detail", "Row", "Place in the chain"];

pub(super) fn audit(line: &audit::Line, zone: Tz) -> Vec<Cell> {
    let local = line.at.with_timezone(&zone);
    vec![
        Cell::Day(local.date_naive()),
        Cell::text(local.format("%H:%M:%S%.f").to_string()),
        Cell::text(line.person.clone().unwrap_or_default()),
        Cell::text(&line.deed),
        Cell::text(&line.noun),
        Cell::text(line.noun_id.map(|id| id.to_string()).unwrap_or_default()),
        Cell::text(audit_page::told(&line.deed, &line.detail)),
        count(line.id),
        line.seq.map_or(Cell::Empty, count),
    ]
}
