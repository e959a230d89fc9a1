//! One table: its columns, what is wrong with its lines, and what is to become of it.
use super::{AT, UPLOAD, badge};
use crate::{
    actions::{self, import as verbs},
    db::import::{self, Import, Wrong},
    domain::import::{Column, Mapping},
    web::{
        AppState, Error, Result,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};
use serde::Deserialize;
use uuid::Uuid;

/// So many lines with faults stand on one page.
const SHOWN: i64 = 50;
/// A page that waits looks again after so many seconds.
const AGAIN: &str = "2";

/// A column of ours, and where it stands in the file.
struct Asked {
    column: &'static Column,
    /// The name of its field in the form, which is its code.
    samples: Vec<String>,
}

/// A line with faults.
struct Bad {
    line: i32,
    /// Column in words, value, what to do.
    faults: Vec<(&'static str, String, String)>,
}

#[derive(Template, WebTemplate)]
#[template(path = "import/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    import: Import,
    state: (&'static str, &'static str),
    columns: Vec<Asked>,
    /// The columns of the file: value and words.
    heads: Vec<(String, String)>,
    sheets: Vec<(String, String)>,
    bad: Vec<Bad>,
    /// The address of further lines with faults.
    more: Option<String>,
    still: bool,
}

/// What the address names.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    after: String,
    still: String,
}

/// GET /imports/{id}?after=&still=
pub async fn show(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    page(&state, &actor, id, None, &ask).await
}

async fn page(
    state: &AppState,
    actor: &Actor,
    id: Uuid,
    failed: Option<Form>,
    ask: &Ask,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let import = import::find(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let after = ask.after.parse().unwrap_or_default();
    let faults = if import.bad > 0 { import::faults(&mut conn, id, after, SHOWN).await? } else { vec![] };
    drop(conn);
    let status = if failed.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let still = !ask.still.is_empty() || failed.is_some();
    let goes_on = import.goes_on() && !still;
    let mut response = (status, built(actor, import, failed, faults, still)).into_response();
    if goes_on {
        response.headers_mut().insert(header::REFRESH, HeaderValue::from_static(AGAIN));
    }
    Ok(response)
}

fn built(actor: &Actor, import: Import, failed: Option<Form>, faults: Vec<Wrong>, still: bool) -> ShowPage {
    let mapping = import.columns();
    let form = failed.unwrap_or_else(|| filled(&import, &mapping));
    let named = |(at, head): (usize, &String)| {
        let place = at + 1;
        let words =
            if head.trim().is_empty() { format!("column {place}") } else { format!("{place}: {head}") };
        (at.to_string(), words)
    };
    let asked = |(column, at): (&'static Column, &Option<usize>)| Asked {
        column,
        samples: at.map_or_else(Vec::new, |at| {
            import
                .samples
                .iter()
                .filter_map(|line| line.get(at))
                .filter(|cell| !cell.is_empty())
                .cloned()
                .collect()
        }),
    };
    let bad = lines(&import, faults);
    let full = i64::try_from(bad.len()).unwrap_or_default() >= SHOWN;
    let more = bad.last().filter(|_| full).map(|last| format!("{UPLOAD}/{}?after={}", import.id, last.line));
    ShowPage {
        page: Page::of(actor, format!("{}: {}", import.of().title(), import.file_name), AT),
        form,
        state: badge(&import),
        columns: import.of().columns().iter().zip(&mapping).map(asked).collect(),
        heads: import.heads.iter().enumerate().map(named).collect(),
        sheets: import.sheets.iter().map(|name| (name.clone(), name.clone())).collect(),
        bad,
        more,
        still,
        import,
    }
}

fn filled(import: &Import, mapping: &Mapping) -> Form {
    let columns = import.of().columns().iter().zip(mapping);
    let mut form = Form::filled(
        columns.map(|(column, at)| (column.code, at.map_or_else(String::new, |at| at.to_string()))),
    );
    form.set("sheet", import.sheet.clone());
    form
}

fn lines(import: &Import, faults: Vec<Wrong>) -> Vec<Bad> {
    let mut bad: Vec<Bad> = vec![];
    for fault in faults {
        let column = import.of().columns().iter().find(|column| column.code == fault.column_code);
        let said = (column.map_or("The line", |column| column.words), fault.value, fault.words);
        match bad.last_mut().filter(|last| last.line == fault.line) {
            Some(last) => last.faults.push(said),
            None => bad.push(Bad { line: fault.line, faults: vec![said] }),
        }
    }
    bad
}

/// Goes back to the table's page, or shows it with the refusal.
async fn after(
    state: &AppState,
    actor: &Actor,
    id: Uuid,
    mut form: Form,
    done: actions::Result<String>,
) -> Result<Response> {
    match done {
        Ok(words) => Ok(session::done(state, &format!("{UPLOAD}/{id}"), &words)),
        Err(e) => {
            form.absorb(e)?;
            page(state, actor, id, Some(form), &Ask::default()).await
        }
    }
}

/// POST /imports/{id}/columns
pub async fn name(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let found = import::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    let mut mapping: Mapping = vec![];
    for column in found.of().columns() {
        let at = form.optional::<usize>(column.code, "Choose one of these columns.");
        if at.is_some_and(|at| at >= found.heads.len()) {
            form.fail(column.code, "Choose one of these columns.");
        }
        mapping.push(at);
    }
    if !form.is_good() {
        return page(&state, &actor, id, Some(form), &Ask::default()).await;
    }
    let done = verbs::name_columns(&actor.doer(), id, &mapping).await;
    after(&state, &actor, id, form, done.map(|()| "Every line is being checked.".to_owned())).await
}

/// POST /imports/{id}/sheets
pub async fn choose_sheet(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(form): Posted,
) -> Result<Response> {
    let done = verbs::read_sheet(&actor.doer(), id, form.value("sheet")).await;
    after(&state, &actor, id, form, done.map(|()| "This sheet is read now.".to_owned())).await
}

/// POST /imports/{id}/rows
pub async fn bring_in(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(form): Posted,
) -> Result<Response> {
    let done = verbs::ask_for_rows(&actor.doer(), id).await;
    after(&state, &actor, id, form, done.map(|()| "The rows are being brought in.".to_owned())).await
}

/// POST /imports/{id}/ends
pub async fn end(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(form): Posted,
) -> Result<Response> {
    let done = verbs::stop(&actor.doer(), id).await;
    after(&state, &actor, id, form, done.map(|()| "It ends; nothing of it is written.".to_owned())).await
}

/// POST /imports/{id}/returns
pub async fn undo(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(form): Posted,
) -> Result<Response> {
    let done = verbs::undo(&actor.doer(), id).await;
    let words = |count| format!("Taken back: {count} rows.");
    after(&state, &actor, id, form, done.map(words)).await
}
