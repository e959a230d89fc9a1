//! What a customer decides on their own page: yes, another day, no; and what they tell us of themselves.
use super::{
    Doer, Error, Result, customer_mail as wishes, mail_terms as terms, message,
    reminder::{self as reminders, house},
    renewal,
};
use crate::{
    db::{
        Conn, answer,
        customer::{self, Customer},
        customer_mail, offer_day,
        reminder::{self, Row},
        site,
    },
    domain::offer::{self, Asked, Taken, WorkingDay},
    mail::{
        day,
        words::{self, Said},
    },
    output::ical,
    texts::Language,
};
use chrono::{Days, NaiveDate};
use serde_json::json;
use uuid::Uuid;

/// A decision about the plants of a site.
#[derive(Debug, Clone)]
pub struct Decision {
    /// Named by the form before it is sent, so that sending twice is once.
    pub id: Uuid,
    pub site: Uuid,
    pub plants: Vec<Uuid>,
    pub choice: Choice,
    pub note: String,
}

/// What was decided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Choice {
    /// Come when it is due.
    Yes,
    /// Come on this day.
    Other(NaiveDate),
    /// Do not come; the code of a reason.
    No(String),
}

/// The reasons of a no, by code; the words stand in the texts.
pub const REASONS: [&str; 8] = [
    "price",
    "moving",
    "by-themselves",
    "other-company",
    "plants-gone",
    "not-content",
    "no-chemicals",
    "other",
];

/// The plants about which a customer may decide now: due within this many days, or past it.
pub const DECIDE_AHEAD: u64 = 120;

/// The plants of a site about which nobody has decided.
///
/// # Errors
/// When the database does not answer.
pub async fn open_rows(conn: &mut Conn, site: Uuid, today: NaiveDate) -> Result<Vec<Row>> {
    let from = today - Days::new(800);
    Ok(reminder::open_plants(conn, from, today + Days::new(DECIDE_AHEAD), Some(site)).await?)
}

/// The days that can be offered for these plants.
///
/// # Errors
/// When the database does not answer.
pub async fn offered(conn: &mut Conn, site: Uuid, rows: &[Row], today: NaiveDate) -> Result<Vec<NaiveDate>> {
    let until = today + Days::new(offer::DAYS_AHEAD.into());
    let plants = rows.iter().map(|r| i64::from(r.count)).sum();
    let (minutes, weekdays) = offer_day::stop(conn, site, plants).await?;
    let asked = Asked {
        allowed_on: rows.iter().filter_map(|r| r.allowed_on).max(),
        minutes,
        weekdays: weekdays.into_iter().filter_map(|day| u32::try_from(day).ok()).collect(),
        held: offer_day::held(conn, site, today, until).await?,
    };
    let hours = offer_day::working(conn).await?;
    let mut people: Vec<Uuid> = hours.iter().map(|w| w.person_id).collect();
    people.dedup();
    let who = |id: Uuid| people.iter().position(|one| *one == id);
    let working: Vec<WorkingDay> = hours
        .iter()
        .filter_map(|w| {
            let weekday = u32::try_from(w.weekday).ok()?;
            Some(WorkingDay { who: who(w.person_id)?, weekday, minutes: w.minutes })
        })
        .collect();
    let booked = offer_day::booked(conn, today, until).await?;
    let taken: Vec<Taken> = booked
        .iter()
        .filter_map(|b| {
            let minutes = b.minutes + b.stops * offer::WAY_MINUTES;
            Some(Taken { who: who(b.person_id)?, on: b.on_date, minutes })
        })
        .collect();
    Ok(offer::days(today, &asked, &working, &taken))
}

/// Keeps a customer's decision, and writes to them what follows from it.
///
/// # Errors
/// Not found when the site is not theirs; refused when nothing is open there, or the day is not offered any more
/// (field `day`).
pub async fn decide(doer: &Doer, customer: Uuid, decision: &Decision) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let who = customer::lock(&mut tx, customer).await?.ok_or(Error::NotFound)?;
    let place = site::find(&mut tx, decision.site).await?.ok_or(Error::NotFound)?;
    if place.customer_id != customer || place.retired_at.is_some() {
        return Err(Error::NotFound);
    }
    let today = doer.today(&mut tx).await?;
    let mut rows = open_rows(&mut tx, decision.site, today).await?;
    let offered = offered(&mut tx, decision.site, &rows, today).await?;
    rows.retain(|r| decision.plants.contains(&r.plant_id));
    if rows.is_empty() {
        // The same form again, or somebody booked it meanwhile: the page says what stands.
        return Ok(());
    }
    let due = rows.iter().map(|r| r.due_on).min().unwrap_or(today);
    let (kind, wanted_on, reason) = match &decision.choice {
        Choice::Yes => ("yes", Some(due.max(today)), ""),
        Choice::Other(day) if offered.contains(day) => ("other", Some(*day), ""),
        Choice::Other(_) => return Err(Error::field("day", "answer-day-gone")),
        Choice::No(reason) => ("no", None, reason.as_str()),
    };
    let new = answer::New {
        id: decision.id,
        customer_id: customer,
        site_id: decision.site,
        kind,
        wanted_on,
        reason: reason.to_owned(),
        note: decision.note.clone(),
    };
    let plants: Vec<_> = rows.iter().map(|r| (r.plant_id, r.season)).collect();
    if !answer::insert(&mut tx, &new, &plants, doer.clock.now()).await? {
        return Ok(());
    }
    let event = renewal::Said {
        id: new.id,
        site: place.id,
        kind: match kind {
            "yes" => "accepted",
            "other" => "other-day",
            _ => "declined",
        },
        wished_on: new.wanted_on.filter(|_| kind == "other"),
        reason: (kind == "no").then_some(reason),
        words: &new.note,
        came_by: "link",
        price: None,
    };
    renewal::note(&mut tx, doer, &event).await?;
    thank(&mut tx, doer, &who, (&place, &rows), &new).await?;
    doer.note(&mut tx, "answered", "customer", customer, json!({ "answer": new.id, "kind": kind })).await?;
    tx.commit().await?;
    Ok(())
}

/// The mail that answers a decision; a yes carries a calendar file.
async fn thank(
    tx: &mut Conn,
    doer: &Doer,
    who: &Customer,
    (place, rows): (&site::Site, &[Row]),
    new: &answer::New,
) -> Result<()> {
    let own = customer_mail::find(tx, who.id).await?;
    let language = Language::from_code(&own.language).unwrap_or_default();
    let links = terms::links(tx, doer, who.id).await?;
    let company = house(tx).await?;
    let plants: Vec<String> = rows.iter().map(|r| format!("{}, {}", r.host_plant, r.place)).collect();
    let said = Said {
        customer: who.name.clone(),
        street: place.street.clone(),
        on: new.wanted_on,
        plants,
        page: links.page.clone(),
    };
    let calendar = match new.wanted_on {
        None => String::new(),
        Some(on) => {
            let event = ical::Asked {
                id: new.id,
                on,
                summary: format!("{}: {}", company.name, place.street),
                place: format!("{}, {}, {} {}", place.street, place.city, place.state, place.zip),
                description: language.say("calendar-day-not-fixed"),
            };
            ical::write_asked(&company.name, doer.host(), doer.clock.now(), &event)
        }
    };
    let message = message::New {
        id: Uuid::now_v7(),
        customer: Some(who),
        site: Some(place.id),
        kind: "answer",
        cause: format!("answer {}", new.id),
        language,
        recipient: who.email.clone(),
        recipient_name: who.name.clone(),
        written: words::answered(language, &company, &said),
        link: links.page,
        calendar,
        ..message::New::default()
    };
    message::write(tx, doer, message).await?;
    Ok(())
}

/// What a customer tells us of themselves.
#[derive(Debug, Clone)]
pub struct Details {
    pub email: String,
    pub phone: String,
    pub language: Language,
    pub offers: bool,
}

/// Changes what a customer told us; the audit names the fields and not the words.
///
/// # Errors
/// When the customer is not there.
pub async fn tell(doer: &Doer, customer: Uuid, new: &Details) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = customer::lock(&mut tx, customer).await?.ok_or(Error::NotFound)?;
    let old = customer_mail::find(&mut tx, customer).await?;
    let now = Customer { email: new.email.clone(), phone: new.phone.clone(), ..was.clone() };
    let mut own = old.clone();
    own.language = new.language.code().to_owned();
    wishes::set_offers(&mut own, new.offers, "on their own page", doer);
    let mut fields = vec![];
    for (name, changed) in [
        ("email", now.email != was.email),
        ("phone", now.phone != was.phone),
        ("language", own.language != old.language),
        ("offers", own.offers_stopped_at != old.offers_stopped_at),
    ] {
        if changed {
            fields.push(name);
        }
    }
    if !fields.is_empty() {
        customer::update(&mut tx, &now).await?;
        customer_mail::save(&mut tx, customer, &own).await?;
        wishes::withdraw(&mut tx, doer, customer, &own).await?;
        if now.email != was.email && !was.email.is_empty() {
            tell_old_address(&mut tx, doer, &was, own.language.as_str()).await?;
        }
        let detail = json!({ "fields": fields, "by": "the customer" });
        doer.note(&mut tx, "changed", "customer", customer, detail).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// Whoever holds the link can enter another address: the old one hears of it, once for each change.
async fn tell_old_address(tx: &mut Conn, doer: &Doer, was: &Customer, language: &str) -> Result<()> {
    let language = Language::from_code(language).unwrap_or_default();
    let (company, today, id) = (house(tx).await?, doer.today(tx).await?, Uuid::now_v7());
    let message = message::New {
        id,
        customer: Some(was),
        kind: "answer",
        cause: format!("old address {} {id}", was.id),
        language,
        recipient: was.email.clone(),
        recipient_name: was.name.clone(),
        written: day::address_changed(language, &company, &was.name, today),
        ..message::New::default()
    };
    message::write(tx, doer, message).await?;
    Ok(())
}

/// Notes that somebody has done what follows from an answer.
///
/// # Errors
/// When it is not there, or was dealt with already.
pub async fn settle(doer: &Doer, id: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let by = doer.person.ok_or(Error::NotFound)?;
    if !answer::settle(&mut tx, id, by, doer.clock.now()).await? {
        return Err(Error::NotFound);
    }
    doer.note(&mut tx, "settled", "customer answer", id, json!({})).await?;
    tx.commit().await?;
    Ok(())
}

/// Whether a customer is silent towards offers; their page says so.
#[must_use]
pub fn wants_offers(own: &customer_mail::Wishes) -> bool {
    reminders::silence(own) != Some(reminders::Silence::NoOffers)
}
