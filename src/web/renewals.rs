//! Renewals: which sites are due to lapse, who was reminded, who said what, what was lost and why, and the money
//! at stake; an answer that came by telephone is entered here.
use super::{
    AppState, Result,
    form::{Form, Posted},
    page::Page,
    session::{self, Actor},
    sites, words,
};
use crate::{
    actions::renewal::{self as verbs, Said},
    db::{
        Conn, agreement,
        renewal::{self, Event, Gone, Renewable},
        site::Site,
    },
    domain::{
        calendar::{add_days, sub_days},
        money::Money,
        quantity::{fixed_half_up, from_decimal},
        renewal::{
            Answer, Counts, GRACE_DAYS, Group, Known, REASONS, SIGHT_DAYS, Stand, Treatment,
            by_year_and_technician, stand,
        },
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{Datelike, NaiveDate};
use std::collections::HashMap;
use uuid::Uuid;

const AT: &str = "/customers";
/// Years of which the rate is shown.
const YEARS: i32 = 3;
/// Sites that were retired within so many days are listed.
const GONE_DAYS: u32 = 365;

const KINDS: [(&str, &str); 4] = [
    ("accepted", "Yes"),
    ("other-day", "Yes, on another day"),
    ("declined", "No"),
    ("taken-back", "The last answer is taken back"),
];
const WAYS: [(&str, &str); 3] =
    [("telephone", "By telephone"), ("mail", "By mail"), ("in-person", "In person")];

/// A site of the list.
struct Row {
    site: Renewable,
    state: (&'static str, String),
    why: String,
    price: String,
}

/// Rows that have something in common, and their money.
struct Part {
    title: &'static str,
    rows: Vec<Row>,
    money: String,
    unknown: usize,
}

/// A line of the rates.
struct Rate {
    year: String,
    who: String,
    counts: Counts,
    rate: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "renewal/list.html")]
struct ListPage {
    page: Page,
    parts: Vec<Part>,
    gone: Vec<Gone>,
    rates: Vec<Rate>,
    grace: u32,
    sight: u32,
}

#[derive(Template, WebTemplate)]
#[template(path = "renewal/site.html")]
struct SitePage {
    page: Page,
    form: Form,
    site: Site,
    row: Option<Row>,
    events: Vec<(String, String)>,
    kinds: [(&'static str, &'static str); 4],
    ways: [(&'static str, &'static str); 3],
    reasons: [(&'static str, &'static str); 9],
}

fn reason_words(code: &str) -> &'static str {
    REASONS.iter().find(|(own, _)| *own == code).map_or("", |(_, words)| *words)
}

/// The day of an event where the company works.
fn day_of(event: &Event, actor: &Actor) -> NaiveDate {
    event.happened_at.with_timezone(&actor.time_zone).date_naive()
}

/// What of the events counts since the last treatment; they are the newest first.
fn known(site: &Renewable, events: &[&Event], actor: &Actor) -> Known {
    let fresh: Vec<&&Event> = events.iter().filter(|e| day_of(e, actor) >= site.last_on).collect();
    let newest = fresh.iter().find(|e| e.kind != "reminded");
    let answer = newest.and_then(|e| match e.kind.as_str() {
        "accepted" => Some(Answer::Accepted),
        "other-day" => e.wished_on.map(Answer::OtherDay),
        "declined" => Some(Answer::Declined(e.reason.clone().unwrap_or_default())),
        _ => None,
    });
    Known {
        renewal_on: site.renewal_on,
        protected_until: site.protected_until,
        answer,
        reminded_on: fresh.iter().find(|e| e.kind == "reminded").map(|e| day_of(e, actor)),
        booked_on: site.booked_on,
    }
}

fn badge(stand: &Stand, renewal_on: NaiveDate, today: NaiveDate) -> (&'static str, String) {
    match stand {
        Stand::NotYet => ("soon", "Not in sight yet".to_owned()),
        Stand::DueToLapse if renewal_on < today => ("late", "Due to lapse, overdue".to_owned()),
        Stand::DueToLapse => ("due", "Due to lapse".to_owned()),
        Stand::Reminded(day) => ("due", format!("Reminded on {}", words::day(*day))),
        Stand::OtherDay(day) => ("due", format!("Wishes {}", words::day(*day))),
        Stand::Accepted => ("done", "Accepted, to be booked".to_owned()),
        Stand::Booked(day) => ("done", format!("Booked for {}", words::day(*day))),
        Stand::Declined(_) => ("off", "Declined".to_owned()),
        Stand::Lost(day) => ("off", format!("Protection ended {}", words::day(*day))),
    }
}

/// Each site with where it stands, why, and what its next treatment costs.
async fn standing(
    conn: &mut Conn,
    actor: &Actor,
    sites: Vec<Renewable>,
) -> Result<Vec<(Stand, Row, Option<Money>)>> {
    let ids: Vec<Uuid> = sites.iter().map(|s| s.site_id).collect();
    let events = renewal::events(conn, &ids).await?;
    let mut by_site: HashMap<Uuid, Vec<&Event>> = HashMap::new();
    for event in &events {
        by_site.entry(event.site_id).or_default().push(event);
    }
    let prices = agreement::next_of(conn, &ids, actor.today).await?;
    let one = |site: Renewable| {
        let own = by_site.get(&site.site_id).map_or(&[][..], Vec::as_slice);
        let stand = stand(&known(&site, own, actor), actor.today);
        let price = prices.get(&site.site_id).and_then(|next| next.quote.total.clone());
        let said = own.iter().find(|e| e.kind != "reminded").map(|e| e.words.clone()).unwrap_or_default();
        let why = match &stand {
            Stand::Declined(reason) if said.is_empty() => reason_words(reason).to_owned(),
            Stand::Declined(reason) => format!("{}: {said}", reason_words(reason)),
            Stand::Lost(_) => "No answer, and nobody came".to_owned(),
            _ => said,
        };
        let row = Row {
            state: badge(&stand, site.renewal_on, actor.today),
            why,
            price: price.as_ref().map_or_else(|| "not known".to_owned(), Money::words),
            site,
        };
        (stand, row, price)
    };
    Ok(sites.into_iter().map(one).collect())
}

fn parts(all: Vec<(Stand, Row, Option<Money>)>) -> Vec<Part> {
    let titles = [
        (Group::Open, "Money at stake"),
        (Group::Accepted, "Accepted"),
        (Group::Declined, "Declined"),
        (Group::Lost, "Lost without a word"),
    ];
    let mut parts: Vec<(Group, Part, Money)> = titles
        .into_iter()
        .map(|(group, title)| {
            (group, Part { title, rows: vec![], money: String::new(), unknown: 0 }, Money::zero())
        })
        .collect();
    for (stand, row, price) in all {
        let Some((_, part, sum)) = parts.iter_mut().find(|(group, ..)| *group == stand.group()) else {
            continue;
        };
        match price {
            Some(price) => *sum = sum.clone() + price,
            None => part.unknown += 1,
        }
        part.rows.push(row);
    }
    parts.into_iter().map(|(_, part, sum)| Part { money: sum.words(), ..part }).collect()
}

async fn rates(conn: &mut Conn, today: NaiveDate) -> Result<Vec<Rate>> {
    let from = NaiveDate::from_ymd_opt(today.year() - YEARS + 1, 1, 1).unwrap_or(today);
    let found = renewal::treatments(conn, from, today).await?;
    let treatments: Vec<Treatment> = found
        .into_iter()
        .map(|(technician, protected_until, next_on)| Treatment { technician, protected_until, next_on })
        .collect();
    let rate = |counts: &Counts| {
        counts.rate().map_or_else(|| "not decided".to_owned(), |r| format!("{} %", fixed_half_up(&r, 1)))
    };
    let mut rows = vec![];
    for (year, all, people) in by_year_and_technician(&treatments, today) {
        rows.push(Rate {
            year: year.to_string(),
            who: "Everybody".to_owned(),
            rate: rate(&all),
            counts: all,
        });
        rows.extend(people.into_iter().map(|(who, counts)| Rate {
            year: year.to_string(),
            who,
            rate: rate(&counts),
            counts,
        }));
    }
    Ok(rows)
}

/// GET /renewals
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let sites = renewal::renewable(&mut conn, add_days(actor.today, SIGHT_DAYS), None).await?;
    let all = standing(&mut conn, &actor, sites).await?;
    let since = sub_days(actor.today, GONE_DAYS).and_time(chrono::NaiveTime::MIN).and_utc();
    Ok(ListPage {
        page: Page::of(&actor, "Renewals", AT),
        parts: parts(all),
        gone: renewal::gone(&mut conn, since).await?,
        rates: rates(&mut conn, actor.today).await?,
        grace: GRACE_DAYS,
        sight: SIGHT_DAYS,
    }
    .into_response())
}

fn event_words(event: &Event, actor: &Actor) -> (String, String) {
    let what = match event.kind.as_str() {
        "reminded" => "Reminded".to_owned(),
        "accepted" => "Yes".to_owned(),
        "other-day" => {
            format!("Yes, wishes {}", event.wished_on.map(words::day).unwrap_or_default())
        }
        "declined" => format!("No: {}", reason_words(event.reason.as_deref().unwrap_or_default())),
        _ => "The answer was taken back".to_owned(),
    };
    let way = match event.came_by.as_str() {
        "link" => "through the customer's link",
        "telephone" => "by telephone",
        "mail" => "by mail",
        "in-person" => "in person",
        _ => "by the program",
    };
    let price = event.price.map_or_else(String::new, |price| {
        format!("; price then {}", Money::rounded(&from_decimal(price)).words())
    });
    let due = event.due_on.map_or_else(String::new, |day| format!("; due {}", words::day(day)));
    let said = if event.words.is_empty() { String::new() } else { format!(": {}", event.words) };
    (words::day(day_of(event, actor)), format!("{what}, {way}{due}{price}{said}"))
}

async fn site_page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<SitePage> {
    let mut conn = state.pool.acquire().await?;
    let site = sites::door(&mut conn, actor, id).await?;
    let ever = NaiveDate::from_ymd_opt(9999, 12, 31).unwrap_or(actor.today);
    let found = renewal::renewable(&mut conn, ever, Some(id)).await?;
    let row = standing(&mut conn, actor, found).await?.pop().map(|(_, row, _)| row);
    let events = renewal::of_site(&mut conn, id).await?;
    Ok(SitePage {
        page: Page::of(actor, "Renewal", AT),
        form,
        row,
        events: events.iter().map(|e| event_words(e, actor)).collect(),
        kinds: KINDS,
        ways: WAYS,
        reasons: REASONS,
        site,
    })
}

/// GET /sites/{id}/renewals
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    Ok(site_page(&state, &actor, id, Form::for_new()).await?.into_response())
}

fn one_of(list: &[(&'static str, &'static str)], code: &str) -> Option<&'static str> {
    list.iter().find(|(own, _)| *own == code).map(|(own, _)| *own)
}

/// POST /sites/{id}/renewals
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Path(site): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    sites::door(&mut *state.pool.acquire().await?, &actor, site).await?;
    let kind = form.choice("kind", |code| one_of(&KINDS, code));
    let came_by = form.choice("came_by", |code| one_of(&WAYS, code));
    let wished_on = match kind {
        Some("other-day") => form.required_date("wished_on"),
        _ => None,
    };
    if wished_on.is_some_and(|day| day < actor.today) {
        form.fail("wished_on", "This day is past.");
    }
    let reason = match kind {
        Some("declined") => form.choice("reason", |code| one_of(&REASONS, code)),
        _ => None,
    };
    let words = form.text("words");
    let id = form.id()?;
    if let (Some(kind), Some(came_by), true) = (kind, came_by, form.is_good()) {
        let said = Said { id, site, kind, wished_on, reason, words: &words, came_by, price: None };
        match verbs::enter(&actor.doer(), &said).await {
            Ok(()) => {
                let at = format!("/sites/{site}/renewals");
                return Ok(session::done(&state, &at, "The answer is written down."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, site_page(&state, &actor, site, form).await?).into_response())
}
