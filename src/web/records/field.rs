//! What a record holds from the field: photos and signatures; signing it.
use super::door;
use crate::{
    actions::signature as verbs,
    db::{
        Conn, photo,
        record::{Head, Link, Version},
        signature,
    },
    web::{
        AppState, Error, Result,
        form::{Form, Posted},
        session::{self, Actor},
    },
};
use axum::{
    extract::{Path, State},
    http::header,
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// Photos and signatures as the record's page shows them.
pub struct FromTheField {
    /// Each with its words for those who do not see it.
    pub photos: Vec<(Uuid, String)>,
    /// Taken, and still on a phone.
    pub photos_to_come: usize,
    pub signatures: Vec<String>,
    /// In what capacity this person may sign.
    pub may_sign: Option<&'static str>,
    pub version: i32,
}

/// Reads them.
pub async fn read(
    conn: &mut Conn,
    actor: &Actor,
    head: &Head,
    versions: &[(Version, Link)],
) -> Result<FromTheField> {
    let named = head.conditions.as_ref().map(|c| c.photos.clone()).unwrap_or_default();
    let arrived = photo::arrived(conn, &named).await?;
    let photos: Vec<Uuid> = named.iter().filter(|id| arrived.contains(id)).copied().collect();
    let hash = |number: i32| versions.iter().find(|(v, _)| v.head.version == number).map(|(_, l)| &l.hash);
    let signatures = signature::of_record(conn, head.id).await?;
    let line = |s: &signature::Signature| {
        let fits = hash(s.version).is_some_and(|hash| *hash == s.record_hash);
        signed(actor, s, head.version, fits)
    };
    let all = photos.len().to_string();
    let photo = |(place, id): (usize, Uuid)| {
        let number = (place + 1).to_string();
        (id, actor.reads().filled("record-photo", &[("number", &number), ("all", &all)]))
    };
    Ok(FromTheField {
        photos_to_come: named.len() - photos.len(),
        photos: photos.into_iter().enumerate().map(photo).collect(),
        signatures: signatures.iter().map(line).collect(),
        may_sign: verbs::capacity(conn, head, actor.id).await?.map(|(capacity, _)| capacity),
        version: head.version,
    })
}

/// A signature in a line: who, as what, when, under which version.
fn signed(actor: &Actor, s: &signature::Signature, newest: i32, fits: bool) -> String {
    let language = actor.reads();
    let at = s.signed_at.with_timezone(&actor.time_zone);
    let (day, time) = (language.day(&at.date_naive()), at.format("%H:%M").to_string());
    let capacity = language.say(&format!("record-capacity-{}", s.capacity));
    let mut line = language.filled("record-signed-by", &[("name", &s.name), ("capacity", &capacity)]);
    if !s.certification.is_empty() {
        line += &language.filled("record-signed-number", &[("number", &s.certification)]);
    }
    line += &language.filled("record-signed-at", &[("day", &day), ("time", &time)]);
    if s.version != newest {
        line += &language.filled("record-signed-under", &[("version", &s.version.to_string())]);
    }
    if !fits {
        line += &language.say("record-signed-misfit");
    }
    line
}

/// POST /records/{id}/signatures
pub async fn sign(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    door(&mut *state.pool.acquire().await?, &actor, id).await?;
    let version = form.choice("version", |text| text.parse::<i32>().ok());
    let name = form.required("name");
    if let (true, Some(version)) = (form.is_good(), version) {
        match verbs::sign(&actor.doer(), id, version, &name).await {
            Ok(()) => return Ok(session::done(&state, &after(&form, id), &form.say("record-signed"))),
            Err(e) => form.absorb(e)?,
        }
    }
    super::show::refused(&state, &actor, id, form).await
}

/// Back to where it was signed.
fn after(form: &Form, id: Uuid) -> String {
    if form.value("from") == "list" { "/records/unsigned".to_owned() } else { format!("/records/{id}") }
}

/// GET /records/{id}/photos/{photo}
pub async fn photo(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, photo)): Path<(Uuid, Uuid)>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    door(&mut conn, &actor, id).await?;
    let (kind, content) = photo::of_record(&mut conn, id, photo).await?.ok_or(Error::NotFound)?;
    let about = [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "private, max-age=3600".to_owned())];
    Ok((about, content).into_response())
}
