//! The form of a site: reading it and showing it.
use super::{
    super::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
        words,
    },
    AT,
    badge::DAYS,
};
use crate::{
    actions::site::{self as verbs, Entry, Land},
    db::{
        Conn,
        customer::{self, Customer},
        site,
        site::{Site, Window},
    },
    domain::site::{AreaKind, Areas},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::NaiveTime;
use uuid::Uuid;

/// A line of the hours, as typed.
struct WindowLine {
    day: String,
    from: String,
    to: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "site/edit.html")]
struct EditPage {
    page: Page,
    form: Form,
    /// The site being changed; none yet when entering one.
    id: Option<Uuid>,
    customer: Customer,
    days: [(i16, &'static str); 7],
    windows: Vec<WindowLine>,
    /// Sites whose parcel might be meant.
    matches: Vec<(String, String)>,
    /// How many other sites share the parcel.
    shared_with: usize,
}

fn edit_page(actor: &Actor, form: Form, id: Option<Uuid>, customer: Customer) -> EditPage {
    let title = if id.is_some() { "Change a site" } else { "Add a site" };
    let windows = window_lines(&form);
    let page = Page::of(actor, title, AT);
    EditPage { page, form, id, customer, days: DAYS, windows, matches: vec![], shared_with: 0 }
}

/// The hours as typed, and always two empty lines more.
fn window_lines(form: &Form) -> Vec<WindowLine> {
    let (from, to) = (form.values("window_from"), form.values("window_to"));
    let at = |list: &[&str], i: usize| list.get(i).copied().unwrap_or_default().to_owned();
    let typed = form.values("window_day").into_iter().enumerate();
    let mut lines: Vec<WindowLine> = typed
        .map(|(i, day)| WindowLine { day: day.to_owned(), from: at(&from, i), to: at(&to, i) })
        .filter(|l| !l.day.is_empty() || !l.from.is_empty() || !l.to.is_empty())
        .collect();
    let wanted = (lines.len() + 2).max(3);
    lines.resize_with(wanted, || WindowLine { day: String::new(), from: String::new(), to: String::new() });
    lines
}

fn read_windows(form: &mut Form) -> Vec<Window> {
    let mut out: Vec<Window> = vec![];
    for line in window_lines(form) {
        if line.day.is_empty() && line.from.is_empty() && line.to.is_empty() {
            continue;
        }
        let time = |text: &str| NaiveTime::parse_from_str(text, "%H:%M").ok();
        let weekday = line.day.parse::<i16>().ok().filter(|d| (1..=7).contains(d));
        let (Some(weekday), Some(opens), Some(closes)) = (weekday, time(&line.from), time(&line.to)) else {
            form.fail(
                "windows",
                "Each line of the hours needs a day, from and to, for example Monday 08:00 to 12:00.",
            );
            return out;
        };
        if closes <= opens {
            form.fail("windows", "The hours end before they begin.");
        } else if out.iter().any(|w| w.weekday == weekday && w.opens < closes && opens < w.closes) {
            form.fail("windows", "Two lines of the hours overlap on one day.");
        } else {
            out.push(Window { weekday, opens, closes });
        }
    }
    out.sort_by_key(|w| (w.weekday, w.opens));
    out
}

fn read_areas(form: &mut Form) -> Areas {
    let areas = Areas {
        lot: form.positive("lot_sqft"),
        landscaped: form.positive("landscaped_sqft"),
        treated_bed: form.positive("treated_bed_sqft"),
    };
    for kind in [AreaKind::Landscaped, AreaKind::TreatedBed] {
        let part = areas.get(kind);
        if let Some((lot, part)) = areas.lot.zip(part).filter(|(lot, part)| lot < part) {
            let (lot, part) = (words::sqft(lot), words::sqft(part));
            form.fail(
                "lot_sqft",
                format!("The lot ({lot}) is smaller than the {} on it ({part}).", kind.words()),
            );
            break;
        }
    }
    areas
}

pub(in crate::web) fn read_position(form: &mut Form) -> (Option<f64>, Option<f64>) {
    let mut degrees = |name: &str, limit: f64| {
        let read = form
            .optional::<f64>(name, "This is not a position; write degrees such as 35.2828 or -120.6596.")?;
        if !(-limit..=limit).contains(&read) {
            form.fail(name, format!("Degrees run from -{limit} to {limit}."));
            return None;
        }
        Some(read)
    };
    let (latitude, longitude) = (degrees("latitude", 90.0), degrees("longitude", 180.0));
    if form.value("latitude").is_empty() != form.value("longitude").is_empty() {
        form.fail("latitude", "A position takes latitude and longitude, or neither.");
    }
    (latitude, longitude)
}

/// A form that does not ask leaves a site usual.
fn read_priority(form: &mut Form) -> i16 {
    if form.value("priority").is_empty() {
        return 1;
    }
    form.choice("priority", |text| (1..=3).find(|n| n.to_string() == text)).unwrap_or(1)
}

/// Hours of notice and their reason go together.
fn read_notice(form: &mut Form) -> Option<i32> {
    let hours = form.whole("notice_hours", 1..=720);
    if hours.is_some() && form.value("notice_reason").is_empty() {
        form.fail("notice_reason", "Say who must be told, and by which rule or wish.");
    }
    if form.value("notice_hours").is_empty() && !form.value("notice_reason").is_empty() {
        form.fail("notice_hours", "Say how many hours before the work.");
    }
    hours
}

/// Reads the site itself; what is wrong stays in the form.
fn read(form: &mut Form, id: Uuid, customer_id: Uuid) -> Site {
    let (latitude, longitude) = read_position(form);
    Site {
        id,
        customer_id,
        parcel_id: Uuid::nil(),
        name: form.line("name"),
        street: form.required_line("street"),
        city: form.required_line("city"),
        state: form.state("state"),
        zip: form.required_zip("zip"),
        county: form.required_line("county"),
        municipality: form.line("municipality"),
        latitude,
        longitude,
        agricultural: form.is("agricultural", "yes"),
        water_distance_ft: form.not_negative("water_distance_ft"),
        access_note: form.text("access_note"),
        service_area: form.line("service_area"),
        service_minutes: form.whole("service_minutes", 1..=1440),
        notice_hours: read_notice(form),
        notice_reason: form.text("notice_reason"),
        priority: read_priority(form),
        retired_at: None,
    }
}

/// Reads whose parcel the site lies on. A street that fits several sites comes back as a choice of them.
async fn read_land(conn: &mut Conn, form: &mut Form, matches: &mut Vec<(String, String)>) -> Result<Land> {
    let areas = read_areas(form);
    if !form.is("parcel", "shared") {
        return Ok(Land::Own(areas));
    }
    if areas != Areas::default() {
        form.fail("lot_sqft", "The areas are those of the shared parcel; leave them empty here.");
    }
    let street = form.required_line("parcel_street");
    if form.error("parcel_street").is_some() {
        return Ok(Land::Own(areas));
    }
    let found = site::list(conn, crate::db::seek::Seek::First, &street, true).await?.rows;
    let chosen = form.value("parcel_site").parse::<Uuid>().ok();
    let same = |s: &&site::Line| s.street.to_lowercase() == street.to_lowercase();
    let land = match (chosen, found.iter().filter(same).count()) {
        (Some(id), _) if found.iter().any(|s| s.id == id) => Some(id),
        (None, 1) => found.iter().find(same).map(|s| s.id),
        _ => None,
    };
    let Some(id) = land else {
        *matches = found
            .iter()
            .map(|s| (s.id.to_string(), format!("{}, {} ({})", s.street, s.city, s.customer_name)))
            .collect();
        if found.is_empty() {
            form.fail("parcel_street", "No site has such a street. Write a part of it.");
        } else {
            form.fail("parcel_site", "Choose the site that lies on the same parcel.");
        }
        return Ok(Land::Own(areas));
    };
    Ok(Land::SameAs(id))
}

/// GET /customers/{id}/sites/new
pub async fn new_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(customer): Path<Uuid>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let customer = customer::find(&mut conn, customer).await?.ok_or(Error::NotFound)?;
    let mut form = Form::for_new();
    for (name, value) in [
        ("street", &customer.street),
        ("city", &customer.city),
        ("state", &customer.state),
        ("zip", &customer.zip),
    ] {
        form.set(name, value.as_str());
    }
    form.set("parcel", "own");
    form.set("priority", "1");
    Ok(edit_page(&actor, form, None, customer).into_response())
}

/// POST /customers/{id}/sites
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Path(customer): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let customer = customer::find(&mut conn, customer).await?.ok_or(Error::NotFound)?;
    let id = form.id()?;
    let mut matches = vec![];
    let new = read(&mut form, id, customer.id);
    let windows = read_windows(&mut form);
    let land = read_land(&mut conn, &mut form, &mut matches).await?;
    drop(conn);
    if form.is_good() {
        match verbs::create(&actor.doer(), &new, &land, &windows).await {
            Ok(()) => return Ok(session::done(&state, &format!("/sites/{id}"), "The site is entered.")),
            Err(e) => form.absorb_new(e, &format!("/sites/{id}"))?,
        }
    }
    let again = EditPage { matches, ..edit_page(&actor, form, None, customer) };
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// The form as the site stands now.
fn filled(entry: &Entry) -> Form {
    let Entry { site, areas, windows } = entry;
    let number = |n: Option<rust_decimal::Decimal>| n.map_or_else(String::new, |n| n.normalize().to_string());
    let degrees = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
    let whole = |n: Option<i32>| n.map_or_else(String::new, |n| n.to_string());
    let mut form = Form::filled([
        ("name", site.name.clone()),
        ("street", site.street.clone()),
        ("city", site.city.clone()),
        ("state", site.state.clone()),
        ("zip", site.zip.clone()),
        ("county", site.county.clone()),
        ("municipality", site.municipality.clone()),
        ("latitude", degrees(site.latitude)),
        ("longitude", degrees(site.longitude)),
        ("agricultural", if site.agricultural { "yes".into() } else { String::new() }),
        ("water_distance_ft", number(site.water_distance_ft)),
        ("access_note", site.access_note.clone()),
        ("service_area", site.service_area.clone()),
        ("service_minutes", whole(site.service_minutes)),
        ("notice_hours", whole(site.notice_hours)),
        ("notice_reason", site.notice_reason.clone()),
        ("priority", site.priority.to_string()),
        ("lot_sqft", number(areas.lot)),
        ("landscaped_sqft", number(areas.landscaped)),
        ("treated_bed_sqft", number(areas.treated_bed)),
    ]);
    for w in windows {
        form.values.push(("window_day".into(), w.weekday.to_string()));
        form.values.push(("window_from".into(), w.opens.format("%H:%M").to_string()));
        form.values.push(("window_to".into(), w.closes.format("%H:%M").to_string()));
    }
    form
}

/// The days of the hours by name.
fn day_words(field: &str, value: &str) -> Option<String> {
    let name = |number: &str| DAYS.iter().find(|(n, _)| n.to_string() == number).map(|(_, name)| *name);
    let days: Vec<&str> = value.lines().filter_map(name).collect();
    (field == "window_day").then(|| days.join("; "))
}

async fn change_page(conn: &mut Conn, actor: &Actor, site: &Site, form: Form) -> Result<EditPage> {
    let customer = customer::find(conn, site.customer_id).await?.ok_or(Error::NotFound)?;
    let shared_with = site::neighbours(conn, site).await?.len();
    Ok(EditPage { shared_with, ..edit_page(actor, form, Some(site.id), customer) })
}

/// GET /sites/{id}/edit
pub async fn edit_form(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let site = super::door(&mut conn, &actor, id).await?;
    let form = filled(&verbs::entry(&mut conn, id).await?).remembered();
    Ok(change_page(&mut conn, &actor, &site, form).await?.into_response())
}

/// POST /sites/{id}
pub async fn update(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    super::door(&mut conn, &actor, id).await?;
    let was = verbs::entry(&mut conn, id).await?;
    drop(conn);
    let site = read(&mut form, id, was.site.customer_id);
    let now = Entry { site, areas: read_areas(&mut form), windows: read_windows(&mut form) };
    if form.is_good() && form.is_current(&filled(&was), &filled(&now), day_words) {
        match verbs::change(&actor.doer(), &was, &now).await {
            Ok(()) => return Ok(session::done(&state, &format!("/sites/{id}"), "Changed.")),
            Err(e) => form.absorb(e)?,
        }
    }
    let again = change_page(&mut *state.pool.acquire().await?, &actor, &was.site, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}
