//! The list of tables, and bringing another one.
use super::{AT, UPLOAD, badge};
use crate::{
    actions::import::Upload,
    db::import::{self, Import},
    domain::import::{Column, Kind},
    web::{
        AppState, Error, Result,
        brought::short,
        form::Form,
        page::Page,
        session::{self, Actor},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{
        FromRequest, Multipart, Query, Request, State,
        multipart::{Field, MultipartRejection},
    },
    http::StatusCode,
    response::{IntoResponse, Response},
};
use serde::Deserialize;
use subtle::ConstantTimeEq;
use uuid::Uuid;

/// So many tables are listed.
const SHOWN: i64 = 50;

#[derive(Template, WebTemplate)]
#[template(path = "import/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    kinds: Vec<(&'static str, &'static str)>,
    rows: Vec<(Import, (&'static str, &'static str))>,
    /// What each kind takes.
    takes: Vec<(Kind, &'static [Column])>,
}

async fn list_page(state: &AppState, actor: &Actor, form: Form) -> Result<ListPage> {
    let rows = import::newest(&mut *state.pool.acquire().await?, SHOWN).await?;
    Ok(ListPage {
        page: Page::of(actor, "Tables from elsewhere", AT),
        form,
        kinds: Kind::ALL.map(|kind| (kind.code(), kind.title())).to_vec(),
        rows: rows.into_iter().map(|row| (badge(&row), row)).map(|(badge, row)| (row, badge)).collect(),
        takes: Kind::ALL.map(|kind| (kind, kind.columns())).to_vec(),
    })
}

/// What the address of the list names.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    kind: String,
}

/// GET /imports?kind=
pub async fn list(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let mut form = Form::for_new();
    form.set("kind", ask.kind);
    Ok(list_page(&state, &actor, form).await?.into_response())
}

/// POST /imports : the file comes last, so that everything else is known before it is read.
pub async fn create(State(state): State<AppState>, actor: Actor, request: Request) -> Result<Response> {
    let unreadable = |_: MultipartRejection| Error::Unreadable("It is not a form with a file.");
    let mut parts = Multipart::from_request(request, &state).await.map_err(unreadable)?;
    let mut form = Form::default();
    loop {
        let part =
            parts.next_field().await.map_err(|_| Error::Unreadable("The file broke off on its way."))?;
        let Some(mut part) = part else { break };
        let name = part.name().unwrap_or_default().to_owned();
        if name != "file" {
            form.set(&name, short(&mut part).await?);
            continue;
        }
        let given = form.value("csrf").as_bytes();
        if !bool::from(given.ct_eq(actor.csrf.as_bytes())) {
            return Err(Error::Forbidden);
        }
        return match keep(&actor, &mut form, part).await? {
            Some(id) => {
                Ok(session::done(&state, &format!("{UPLOAD}/{id}"), "The file is here. Next: its columns."))
            }
            None => again(&state, &actor, form).await,
        };
    }
    let given = form.value("csrf").as_bytes();
    if !bool::from(given.ct_eq(actor.csrf.as_bytes())) {
        return Err(Error::Forbidden);
    }
    form.fail("file", "Choose a file.");
    again(&state, &actor, form).await
}

/// Keeps the file; nothing: it was refused, and the form says why.
async fn keep(actor: &Actor, form: &mut Form, mut file: Field<'_>) -> Result<Option<Uuid>> {
    let id = form.id()?;
    let kind = form.choice("kind", Kind::from_code);
    let name = file.file_name().unwrap_or_default().to_owned();
    if name.is_empty() {
        form.fail("file", "Choose a file.");
    }
    let Some(kind) = kind.filter(|_| form.is_good()) else { return Ok(None) };
    let doer = actor.doer();
    let mut upload = match Upload::begin(&doer, id, kind, &name).await {
        Ok(begun) => begun,
        Err(e) => {
            form.absorb_new(e, &format!("{UPLOAD}/{id}"))?;
            return Ok(None);
        }
    };
    while let Some(piece) =
        file.chunk().await.map_err(|_| Error::Unreadable("The file broke off on its way."))?
    {
        if let Err(e) = upload.piece(&piece).await {
            form.absorb(e)?;
            return Ok(None);
        }
    }
    match upload.finish(&doer).await {
        Ok(_) => Ok(Some(id)),
        Err(e) => {
            form.absorb(e)?;
            Ok(None)
        }
    }
}

/// The list with what is wrong. A browser does not give a file back, so it must be chosen anew.
async fn again(state: &AppState, actor: &Actor, mut form: Form) -> Result<Response> {
    if form.error(crate::actions::error::ENTERED).is_none() {
        form.set("id", Uuid::now_v7().to_string());
    }
    Ok((StatusCode::UNPROCESSABLE_ENTITY, list_page(state, actor, form).await?).into_response())
}
