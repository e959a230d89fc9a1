//! The stop as the forms of a record send it: day, times and weather.
use crate::{actions::record::Stop, db::visit::Visit, web::form::Form};
use chrono::{NaiveDate, NaiveTime, TimeDelta};
use fluent_bundle::FluentArgs;
use rust_decimal::Decimal;

/// Where the wind comes from, as the forms offer it.
pub const WINDS: [&str; 9] = ["calm", "N", "NE", "E", "SE", "S", "SW", "W", "NW"];

/// Further from the visit's day than this, the day is asked about once more.
const NEAR: TimeDelta = TimeDelta::days(7);

/// Reads the stop of a visit.
pub fn read_stop(form: &mut Form, visit: &Visit, today: NaiveDate) -> Stop {
    let on = form.required_date("on");
    if let Some(on) = on {
        confirmed(form, visit, on, today);
    }
    Stop {
        origin: "own".to_owned(),
        on: on.unwrap_or(visit.on_date),
        applicator: Some(visit.technician_id),
        other_name: String::new(),
        other_certification: String::new(),
        supervisor: form.optional("supervisor", "Choose one of these people."),
        ..weather(form)
    }
}

/// A day that is far from the visit's is probably a slip: the form comes back once, naming both days, and
/// carries on with this very day when it is sent again.
fn confirmed(form: &mut Form, visit: &Visit, on: NaiveDate, today: NaiveDate) {
    let early = visit.on_date > today;
    let unlikely = early || (on - visit.on_date).abs() > NEAR;
    if on > today || !unlikely || form.value("confirmed") == on.to_string() {
        return;
    }
    form.set("confirmed", on.to_string());
    let mut args = FluentArgs::new();
    args.set("written", form.language.day(&on));
    args.set("booked", form.language.day(&visit.on_date));
    form.fail("on", form.language.fill("day-unlikely", &args));
}

/// Times, wind, temperature and note; the rest is the caller's.
pub fn weather(form: &mut Form) -> Stop {
    Stop {
        origin: String::new(),
        on: NaiveDate::MIN,
        started_at: time(form, "started_at"),
        finished_at: time(form, "finished_at"),
        applicator: None,
        other_name: String::new(),
        other_certification: String::new(),
        supervisor: None,
        wind_direction: wind(form),
        wind_mph: form.not_negative("wind_mph"),
        temperature_f: temperature(form),
        area_treated_sqft: form.positive("area_treated_sqft"),
        note: form.text("note"),
    }
}

fn wind(form: &mut Form) -> String {
    let value = form.value("wind_direction").to_owned();
    if !value.is_empty() && !WINDS.contains(&value.as_str()) {
        form.fail("wind_direction", form.say("form-choose"));
    }
    value
}

/// A time of day as browsers send it, with or without seconds; empty is nothing.
fn time(form: &mut Form, name: &str) -> Option<NaiveTime> {
    let value = form.value(name).to_owned();
    if value.is_empty() {
        return None;
    }
    let read =
        NaiveTime::parse_from_str(&value, "%H:%M").or_else(|_| NaiveTime::parse_from_str(&value, "%H:%M:%S"));
    if read.is_err() {
        form.fail(name, form.say("stop-time"));
    }
    read.ok()
}

/// Degrees Fahrenheit; it may freeze.
fn temperature(form: &mut Form) -> Option<Decimal> {
    let read: Decimal = form.optional("temperature_f", &form.say("stop-temperature"))?;
    if read < Decimal::from(-60) || read > Decimal::from(140) {
        form.fail("temperature_f", form.say("stop-temperature-range"));
        return None;
    }
    Some(read)
}
