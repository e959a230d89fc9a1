//! Route sheets: a technician's day with its stops in order, what goes onto the truck and what the labels say,
//! as a page and as a file to print.
mod load;
mod paper;
mod stop;

pub use load::LoadLine;
pub use stop::StopLine;

use super::{
    AppState, Error, Result,
    page::Page,
    session::Actor,
    visits::field::{self, Label},
};
use crate::web::files;
use crate::{
    db::{
        Conn, duty,
        person::{self, Person},
        sheet, vehicle, working,
    },
    domain::user::Role,
    output::{sketch, svg},
    texts::Language,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Redirect, Response},
};
use chrono::{Datelike, Days, NaiveDate};
use uuid::Uuid;

/// Route sheets belong to the visits.
const AT: &str = "/visits";
/// The list of days reaches so far.
const AHEAD: u64 = 28;

/// A technician's day as page and paper show it.
pub struct Day {
    pub technician: Person,
    pub on: NaiveDate,
    pub company: String,
    /// The language of whoever reads it.
    pub language: Language,
    /// The vehicle in words; none is entered.
    pub vehicle: Option<String>,
    pub start: Option<sketch::Place>,
    pub reserve: u32,
    pub stops: Vec<StopLine>,
    pub loads: Vec<LoadLine>,
    pub labels: Vec<Label>,
}

impl Day {
    /// `Route sheet, Ines Okoro, Wed, Nov 25, 2026`
    #[must_use]
    pub fn title(&self) -> String {
        self.named("sheet-title")
    }

    /// That text of this technician and day.
    fn named(&self, text: &str) -> String {
        self.language.filled(text, &[("name", &self.technician.name), ("day", &self.words())])
    }

    /// `Wed, Nov 25, 2026`
    #[must_use]
    pub fn words(&self) -> String {
        let weekday = self.language.say(&format!("sheet-weekday-{}", self.on.weekday().number_from_monday()));
        format!("{weekday}, {}", self.language.day(&self.on))
    }

    /// `3 stops`
    #[must_use]
    pub fn count(&self) -> String {
        self.language.say_of("sheet-stops", "count", self.stops.len())
    }

    /// The stops on a sketch.
    fn sketch(&self) -> sketch::Sketch {
        sketch::sketch(self.start, &self.places()).told(|words| self.language.said(words))
    }

    /// The stops for the sketch.
    #[must_use]
    pub fn places(&self) -> Vec<sketch::Stop> {
        self.stops.iter().map(|s| sketch::Stop { number: s.number, place: s.place }).collect()
    }

    /// What the sketch shows, for those who do not see it.
    #[must_use]
    pub fn sketch_words(&self) -> String {
        let unknown: Vec<String> =
            self.stops.iter().filter(|s| s.place.is_none()).map(|s| s.number.to_string()).collect();
        let start = if self.start.is_some() { "sheet-sketch" } else { "sheet-sketch-no-start" };
        let words = self.language.say(start);
        if unknown.is_empty() {
            return words;
        }
        let lacking = self.language.say_of("sheet-sketch-lacking", "stops", unknown.join(", "));
        format!("{words} {lacking}")
    }
}

/// The one door to a day: the office sees everybody's, a technician their own.
fn door(actor: &Actor, technician: Uuid) -> Result<()> {
    let theirs = actor.role != Role::Technician || technician == actor.id;
    if theirs { Ok(()) } else { Err(Error::NotFound) }
}

async fn day(state: &AppState, actor: &Actor, technician: Uuid, on: NaiveDate) -> Result<Day> {
    door(actor, technician)?;
    let mut conn = state.pool.acquire().await?;
    let technician = person::find(&mut conn, technician).await?.ok_or(Error::NotFound)?;
    let terms = working::terms(&mut conn).await?.unwrap_or_default();
    let own = working::of_person(&mut conn, technician.id).await?.unwrap_or_default();
    let vehicle = vehicle::of_person(&mut conn, technician.id).await?;
    let stops = sheet::stops(&mut conn, technician.id, on).await?;
    let visits: Vec<Uuid> = stops.iter().map(|s| s.id).collect();
    let sites: Vec<Uuid> = stops.iter().map(|s| s.site_id).collect();
    let doses = sheet::doses(&mut conn, &visits).await?;
    let done = duty::of_visits(&mut conn, &visits).await?;
    let weekday = i16::try_from(on.weekday().number_from_monday()).unwrap_or(1);
    let hours = sheet::hours(&mut conn, &sites, weekday).await?;
    let labels = field::labels(&mut conn, doses.iter().map(|d| d.dose.label_version_id)).await?;
    let reserve = u32::try_from(terms.load_reserve_percent).unwrap_or(0);
    let base = state.config.base_url();
    let start = own.way.start_latitude.zip(own.way.start_longitude).or(terms.latitude.zip(terms.longitude));
    let language = actor.reads();
    let laws = stop::LawDay { on, zone: actor.time_zone, done: &done, language };
    let made: Result<Vec<StopLine>> = stops
        .into_iter()
        .enumerate()
        .map(|(place, stop)| StopLine::of(place + 1, stop, &doses, &hours, (&base, &laws)))
        .collect();
    Ok(Day {
        on,
        company: actor.company.clone(),
        start: start.map(|(latitude, longitude)| sketch::Place { latitude, longitude }),
        loads: load::lines(language, &doses, reserve, vehicle.as_ref()),
        vehicle: vehicle.map(|v| {
            let tank = v.tank_gal.normalize().to_string();
            language.filled("sheet-vehicle", &[("name", &v.name), ("tank", &tank)])
        }),
        language,
        reserve,
        stops: made?,
        labels,
        technician,
    })
}

/// What the labels' part of the page takes.
struct Said {
    labels: Vec<Label>,
}

#[derive(Template, WebTemplate)]
#[template(path = "sheet/show.html")]
struct ShowPage {
    page: Page,
    day: Day,
    map: String,
    /// What the load sheet's figures are.
    reserve: String,
    /// The labels, as the pages of a visit show them.
    work: Said,
    /// The same address, as a file.
    file: String,
}

/// GET /route-sheets/{technician}/{day} : the page, or with `.pdf` the file.
pub async fn show(
    State(state): State<AppState>,
    actor: Actor,
    Path((technician, date)): Path<(Uuid, String)>,
) -> Result<Response> {
    let bare = date.strip_suffix(".pdf");
    let on: NaiveDate = bare.unwrap_or(&date).parse().map_err(|_| Error::NotFound)?;
    if !(1990..2200).contains(&on.year()) {
        return Err(Error::NotFound);
    }
    let mut day = day(&state, &actor, technician, on).await?;
    if bare.is_some() {
        return file(day).await;
    }
    let map = svg::map("route", &day.language.say("sheet-way"), &day.sketch_words(), &day.sketch());
    let file = format!("/route-sheets/{technician}/{on}.pdf");
    let (page, reserve) = (Page::of(&actor, day.title(), AT), paper::reserve(&day));
    let work = Said { labels: std::mem::take(&mut day.labels) };
    Ok(ShowPage { page, day, map, reserve, work, file }.into_response())
}

async fn file(day: Day) -> Result<Response> {
    files::pdf(&format!("route-sheet-{}.pdf", day.on), move || paper::write(&day)).await
}

#[derive(Template, WebTemplate)]
#[template(path = "sheet/list.html")]
struct ListPage {
    page: Page,
    days: Vec<sheet::BookedDay>,
}

/// GET /route-sheets : the days ahead on which somebody has visits; a technician is led to their own today.
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    if actor.role == Role::Technician {
        return Ok(Redirect::to(&format!("/route-sheets/{}/{}", actor.id, actor.today)).into_response());
    }
    let conn: &mut Conn = &mut *state.pool.acquire().await?;
    let days = sheet::booked_days(conn, actor.today, actor.today + Days::new(AHEAD)).await?;
    Ok(ListPage { page: Page::of(&actor, "Route sheets", AT), days }.into_response())
}
