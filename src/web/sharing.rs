//! How the plants of a parcel share what a cap leaves: the order of the day wanted, or the one with the
//! fewest days without protection, side by side.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    protection,
    session::{self, Actor},
    sites,
};
use crate::{
    actions::parcel as verbs,
    db::{
        parcel::{self, Parcel},
        site::Site,
    },
    domain::{
        book::Book,
        due::{Allocation, Burden, Comparison, Due, compare},
        facts::Facts,
        hold::Rule,
    },
    texts::Language,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use fluent_bundle::FluentArgs;
use uuid::Uuid;

/// So many trials of sharing a page may cost.
const TRIALS: usize = 4_000;
/// The page of the choice itself looks longer.
const TRIALS_OF_CHOICE: usize = 60_000;

/// What other sharing would change, in one line; none: nothing worth a word.
#[must_use]
pub fn hint(language: Language, facts: &Facts, due_held_by_cap: bool) -> Option<String> {
    if facts.site.sharing == Allocation::LeastGap {
        return Some(language.say("sharing-hint-least"));
    }
    if !due_held_by_cap {
        return None;
    }
    let book = Book::new(facts).ok()?;
    let found = compare(&book, TRIALS);
    found.helps().then(|| {
        let (usual, fairest) = (cost(language, found.usual()), cost(language, found.fairest()));
        language.fill("sharing-hint", &FluentArgs::from_iter([("usual", usual), ("fairest", fairest)]))
    })
}

/// "42 days without protection, 1 plant without any day".
fn cost(language: Language, burden: Burden) -> String {
    let days = language.say_of("sharing-days", "count", burden.gap_days);
    if burden.never == 0 {
        return days;
    }
    let mut args = FluentArgs::from_iter([("days", days)]);
    args.set("count", burden.never);
    language.fill("sharing-and-never", &args)
}

/// A plant under both ways of sharing.
struct Row {
    name: String,
    in_order: String,
    least_gap: String,
    differs: bool,
}

#[derive(Template, WebTemplate)]
#[template(path = "site/sharing.html")]
struct SharingPage {
    page: Page,
    form: Form,
    site: Site,
    land: Parcel,
    rows: Vec<Row>,
    usual: String,
    fairest: String,
    helps: bool,
    exact: bool,
}

fn day_words(language: Language, due: &Due) -> String {
    let Some(day) = due.due_on.map(|day| language.day(&day)) else { return language.say("sharing-no-day") };
    match due.gap_days {
        Some(0) | None => day,
        Some(days) => {
            let gap = language.say_of("sharing-days", "count", days);
            language.fill("sharing-day-gap", &FluentArgs::from_iter([("day", day), ("gap", gap)]))
        }
    }
}

fn rows(language: Language, book: &Book<'_>, found: &Comparison) -> Vec<Row> {
    let by_cap = |due: &Due| due.held_by.contains(&Rule::Cap);
    let pairs = found.in_order.iter().zip(&found.least_gap);
    let pairs = pairs.filter(|(a, b)| by_cap(a) || by_cap(b) || a.due_on != b.due_on);
    let row = |(a, b): (&Due, &Due)| Row {
        name: book.planting(&a.plant).map_or_else(String::new, |one| one.plant.words().to_owned()),
        in_order: day_words(language, a),
        least_gap: day_words(language, b),
        differs: a.due_on != b.due_on,
    };
    pairs.map(row).collect()
}

async fn page(state: &AppState, actor: &Actor, id: Uuid, form: Form) -> Result<SharingPage> {
    let (mut conn, language) = (state.pool.acquire().await?, actor.reads());
    let site = sites::door(&mut conn, actor, id).await?;
    let land = parcel::find(&mut conn, site.parcel_id).await?.ok_or(Error::NotFound)?;
    let facts = protection::facts(&mut conn, land.id, actor.today).await?;
    drop(conn);
    let book =
        Book::new(&facts).map_err(|errors| anyhow::anyhow!("facts do not fit together: {errors:?}"))?;
    let found = compare(&book, TRIALS_OF_CHOICE);
    Ok(SharingPage {
        page: Page::of(actor, language.say("sharing-title"), "/sites"),
        form: form.speaking(language),
        rows: rows(language, &book, &found),
        usual: cost(language, found.usual()),
        fairest: cost(language, found.fairest()),
        helps: found.helps(),
        exact: found.exact,
        site,
        land,
    })
}

/// GET /sites/{id}/sharings
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut shown = page(&state, &actor, id, Form::default()).await?;
    shown.form = Form::filled([("sharing", shown.land.sharing.code())]);
    Ok(shown.into_response())
}

/// POST /sites/{id}/sharings
pub async fn choose(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    sites::door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let sharing = form.choice("sharing", Allocation::from_code);
    if let (true, Some(sharing)) = (form.is_good(), sharing) {
        let office = actor.role.may_plan();
        match verbs::choose_sharing(&actor.doer(), id, sharing, office, actor.today).await {
            Ok(()) => return Ok(session::done(&state, &format!("/sites/{id}"), "The sharing is chosen.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, id, form).await?).into_response())
}
