//! What came from the field and could not be recorded: kept as it was sent until somebody has read it.
use super::AT;
use crate::{
    actions::completion as verbs,
    db::completion::{self, Kept},
    web::{
        AppState, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// No page holds more; those settled make room.
const MOST: i64 = 100;

#[derive(Template, WebTemplate)]
#[template(path = "record/kept.html")]
struct KeptPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
}

struct Row {
    of: Kept,
    came: String,
    /// What was sent, a line for each part.
    lines: String,
    /// Name of the answer's field.
    field: String,
}

async fn page(state: &AppState, actor: &Actor, form: Form) -> Result<KeptPage> {
    let kept = completion::waiting(&mut *state.pool.acquire().await?, MOST).await?;
    let row = |of: Kept| {
        let came = of.received_at.with_timezone(&actor.time_zone).format("%b %-d, %Y, %H:%M").to_string();
        let lines = serde_json::from_str::<serde_json::Value>(&of.sent)
            .and_then(|sent| serde_json::to_string_pretty(&sent))
            .unwrap_or_else(|_| of.sent.clone());
        Row { came, lines, field: format!("words-{}", of.id), of }
    };
    Ok(KeptPage {
        page: Page::of(actor, "Kept from the field", AT),
        form,
        rows: kept.into_iter().map(row).collect(),
    })
}

/// GET /records/kept
pub async fn kept(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    Ok(page(&state, &actor, Form::default()).await?.into_response())
}

/// POST /records/kept/{id}
pub async fn settle(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let field = format!("words-{id}");
    let words = form.required(&field);
    if form.is_good() {
        match verbs::settle(&actor.doer(), id, &words).await {
            Ok(()) => return Ok(session::done(&state, "/records/kept", "Settled.")),
            Err(e) => form.absorb(e)?,
        }
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&state, &actor, form).await?).into_response())
}
