//! The lines of a plan's timetable.
use crate::{
    actions::plan::{Shown, ShownDay},
    db::plan::Stop,
    output::{
        sketch::{self, Place},
        svg,
    },
    web::{pour, words},
};
use chrono::{NaiveDate, NaiveTime};
use uuid::Uuid;

/// One technician's day.
pub struct DayRows {
    pub id: String,
    pub title: String,
    pub about: String,
    pub rows: Vec<StopRow>,
    pub minutes: i32,
    pub miles: String,
    pub water: String,
    /// Where the day's sheet is, made of what is released.
    pub sheet: String,
    /// The day's way as a sketch.
    pub map: String,
}

/// One stop.
pub struct StopRow {
    pub id: Uuid,
    pub site: Uuid,
    pub visit: Option<Uuid>,
    pub number: usize,
    pub times: String,
    pub street: String,
    pub city: String,
    pub customer: String,
    pub plants: String,
    /// Kind and words of where it stands.
    pub state: (&'static str, String),
    /// What else must be known of it.
    pub notes: Vec<String>,
    pub why: String,
    pub locked: bool,
    /// Its buttons are shown.
    pub open: bool,
    /// Where it is changed.
    pub href: String,
}

impl DayRows {
    /// The day's lines.
    pub fn of(day: &ShownDay, shown: &Shown, monday: NaiveDate) -> Self {
        let d = &day.day;
        let mut about = format!("{} to {}", time(d.starts), time(d.ends));
        if let Some((from, until)) = d.break_from.zip(d.break_until).filter(|_| d.break_minutes > 0) {
            about.push_str(&format!(
                ", {} minutes of break between {} and {}",
                d.break_minutes,
                time(from),
                time(until)
            ));
        }
        let water = match d.tank_gal {
            Some(tank) => format!("{} of {} gal", pour::number(day.water_gal), pour::number(tank)),
            None => format!("{} gal; no tank is entered", pour::number(day.water_gal)),
        };
        let mut rows: Vec<StopRow> = day.stops.iter().map(|stop| StopRow::of(stop, shown, monday)).collect();
        for (number, row) in (1..).zip(&mut rows) {
            row.number = number;
            row.open = row.open && !day.is_past;
        }
        Self {
            id: format!("d-{}-{}", d.on_date, d.technician_id),
            title: format!("{}, {}", d.on_date.format("%A, %b %-d"), d.technician_name),
            about,
            rows,
            minutes: day.driven.minutes(),
            miles: day.driven.tenths().to_string(),
            water,
            sheet: format!("/route-sheets/{}/{}", d.technician_id, d.on_date),
            map: drawn(day),
        }
    }
}

fn drawn(day: &ShownDay) -> String {
    let d = &day.day;
    let place = |latitude, longitude| Place { latitude, longitude };
    let stops: Vec<sketch::Stop> = (1..)
        .zip(&day.stops)
        .map(|(number, s)| sketch::Stop {
            number,
            place: s.latitude.zip(s.longitude).map(|(n, e)| place(n, e)),
        })
        .collect();
    let title = format!("The way of {} on {}", d.technician_name, words::day(d.on_date));
    let count = if stops.len() == 1 { "1 stop".to_owned() } else { format!("{} stops", stops.len()) };
    let desc = format!("{count} in the order of the table, from the start and back, in straight lines.");
    let id = format!("map-{}-{}", d.on_date, d.technician_id);
    let start = place(d.start_latitude, d.start_longitude);
    svg::map(&id, &title, &desc, &sketch::sketch(Some(start), &stops))
}

impl StopRow {
    /// The stop's line.
    pub fn of(stop: &Stop, shown: &Shown, monday: NaiveDate) -> Self {
        let today = shown.now.date();
        let mut notes = vec![];
        if stop.promised && !stop.waiting {
            notes.push("The customer was promised this day.".to_owned());
        }
        if stop.waiting {
            let promised = if stop.promised { "; tell the customer, who was promised that day" } else { "" };
            let on = stop.booked_on.map(words::day).unwrap_or_default();
            notes.push(format!(
                "Sent back from {on}: {}{promised}.",
                stop.waiting_reason.trim_end_matches('.')
            ));
        }
        if let Some(hours) = stop.notice_hours {
            notes.push(format!("Notice {hours} hours before: {}.", stop.notice_reason.trim_end_matches('.')));
        }
        for one in shown.apart.get(&stop.site_id).into_iter().flatten() {
            notes.push(format!("Not part of it: {one}."));
        }
        Self {
            id: stop.id,
            site: stop.site_id,
            visit: stop.visit_id,
            number: 0,
            times: times(stop),
            street: stop.street.clone(),
            city: stop.city.clone(),
            customer: stop.customer.clone(),
            plants: plants(stop, today),
            state: state(stop),
            notes,
            why: words::sentence(&stop.unserved_why),
            locked: stop.locked,
            open: stop.visit_status.as_deref() != Some("done"),
            href: format!("/plans/{monday}/stops/{}", stop.id),
        }
    }
}

fn plants(stop: &Stop, today: NaiveDate) -> String {
    let count = format!("{} plant record{}", stop.plants, if stop.plants == 1 { "" } else { "s" });
    match stop.due_on {
        Some(due) if due < today => format!("{count}, overdue {}", words::days((today - due).num_days())),
        Some(due) => format!("{count}, due {}", words::day(due)),
        None => count,
    }
}

fn times(stop: &Stop) -> String {
    match (stop.arrives_at, stop.starts_at, stop.leaves_at) {
        (Some(arrives), Some(starts), Some(leaves)) if starts > arrives => {
            format!("{} (begins {}) to {}", time(arrives), time(starts), time(leaves))
        }
        (Some(arrives), _, Some(leaves)) => format!("{} to {}", time(arrives), time(leaves)),
        _ => String::new(),
    }
}

fn state(stop: &Stop) -> (&'static str, String) {
    let by = |stop: &Stop| stop.booked_name.clone().unwrap_or_default();
    match (stop.visit_status.as_deref(), stop.booked_on) {
        (Some("done"), _) => ("done", "Done".to_owned()),
        (Some("cancelled"), _) => ("off", "Cancelled".to_owned()),
        (Some(_), Some(_)) if stop.waiting => ("due", "Waits to be planned anew".to_owned()),
        (Some(_), Some(on))
            if stop.booked_on == stop.on_date && stop.booked_technician == stop.technician_id =>
        {
            ("done", format!("Booked for {}", words::day(on)))
        }
        (Some(_), Some(on)) => ("soon", format!("Booked for {}, {}", words::day(on), by(stop))),
        _ => ("draft", "Not booked yet".to_owned()),
    }
}

/// `8:05 am`
pub fn time(at: NaiveTime) -> String {
    at.format("%-I:%M %P").to_string()
}
