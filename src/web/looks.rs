//! Looks at a plant for its pest: the list, writing one down, striking one out.
use super::{
    AppState, Error, Result,
    form::{Form, Posted},
    page::Page,
    plants,
    session::{self, Actor},
};
use crate::{
    actions::look as verbs,
    db::{
        Conn,
        look::{self, Line, PlantLook},
        plant::Plant,
    },
    domain::user::Role,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// By the names of their texts.
const SEEN: [(&str, &str); 2] = [("no", "look-none-seen"), ("yes", "look-seen")];

#[derive(Template, WebTemplate)]
#[template(path = "plant/looks.html")]
struct LooksPage {
    page: Page,
    form: Form,
    plant: Plant,
    rows: Vec<Line>,
    seen: [(&'static str, String); 2],
    strikes: bool,
}

async fn page(conn: &mut Conn, actor: &Actor, id: Uuid, form: Form) -> Result<LooksPage> {
    let (plant, _) = plants::door(conn, actor, id).await?;
    let at = if actor.role == Role::Technician { "/visits" } else { "/plants" };
    Ok(LooksPage {
        page: Page::of(actor, actor.reads().say("look-title"), at),
        form: form.speaking(actor.reads()),
        rows: look::of_plant(conn, id).await?,
        seen: SEEN.map(|(code, text)| (code, actor.reads().say(text))),
        strikes: actor.role != Role::Technician,
        plant,
    })
}

/// GET /plants/{id}/looks
pub async fn list(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let mut shown = page(&mut conn, &actor, id, Form::for_new()).await?;
    shown.form.set("on", actor.today.to_string());
    shown.form.set("pest", shown.plant.target_pest.clone());
    Ok(shown.into_response())
}

/// POST /plants/{id}/looks
pub async fn create(
    State(state): State<AppState>,
    actor: Actor,
    Path(plant_id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    plants::door(&mut *state.pool.acquire().await?, &actor, plant_id).await?;
    let seen = form.choice("seen", |code| SEEN.iter().any(|(own, _)| *own == code).then_some(code == "yes"));
    let new = PlantLook {
        id: form.id()?,
        plant_id,
        on_date: form.required_date("on").unwrap_or_default(),
        pest: form.required_line("pest"),
        seen: seen.unwrap_or_default(),
        words: form.text("words"),
    };
    let at = format!("/plants/{plant_id}/looks");
    if form.is_good() {
        match verbs::enter(&actor.doer(), &new).await {
            Ok(()) => return Ok(session::done(&state, &at, "The look is written down.")),
            Err(e) => form.absorb_new(e, &at)?,
        }
    }
    let again = page(&mut *state.pool.acquire().await?, &actor, plant_id, form).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// POST /looks/{id}/strikes
pub async fn strike(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let held = look::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    let reason = form.required_line("reason");
    if form.is_good() {
        verbs::strike(&actor.doer(), id, &reason).await?;
        let at = format!("/plants/{}/looks", held.plant_id);
        return Ok(session::done(&state, &at, "Struck out. It stays readable."));
    }
    let mut again = Form::for_new();
    again.fail("form", "Say why the look is struck out.");
    let shown = page(&mut *state.pool.acquire().await?, &actor, held.plant_id, again).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, shown).into_response())
}
