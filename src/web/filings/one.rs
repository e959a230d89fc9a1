//! One report: before it is sent, as a file, and what was sent.
use super::{AT, badge, title};
use crate::{
    actions::{
        evidence,
        filing::{self as verbs, Made, Sent, Stand},
    },
    db::{
        Conn,
        filing::{self, Change, Filing},
    },
    domain::{
        chain::hex,
        filing::{
            draft::Mend,
            owed::{Owed, Standing},
        },
    },
    output::table::Format,
    web::{
        AppState, Error, Result,
        export::{self, Asked, Ready, Source},
        files::attachment,
        form::{Form, Posted},
        page::Page,
        session::{self, Actor},
        words,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;
use uuid::Uuid;

/// A page holds no more rows; the file holds all.
const MOST: usize = 300;

/// Which county; empty: the whole state.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    county: String,
    /// Which part of a long list on paper.
    part: String,
}

/// The address of a report, or of its file.
pub(super) fn address(rule: &str, period: &str, county: &str, file: &str) -> String {
    let query = if county.is_empty() {
        String::new()
    } else {
        format!("?{}", serde_urlencoded::to_string([("county", county)]).unwrap_or_default())
    };
    format!("{AT}/{rule}/{period}{file}{query}")
}

/// Something missing, with where it is mended.
struct Lacking {
    record: Option<Uuid>,
    on: Option<NaiveDate>,
    customer: String,
    words: String,
    href: String,
    mend: &'static str,
}

#[derive(Template, WebTemplate)]
#[template(path = "filing/show.html")]
struct ShowPage {
    page: Page,
    form: Form,
    made: Made,
    standing: Standing,
    badge: (&'static str, String),
    due: Option<NaiveDate>,
    weekend: Option<String>,
    file: String,
    workbook: String,
    paper: String,
    action: String,
    log: String,
    /// Where the registration is entered.
    enter: String,
    lacking: Vec<Lacking>,
    /// Records that lack something.
    records: usize,
    filed: Vec<Filing>,
    /// What changed since the newest one was sent.
    changes: Vec<Change>,
    /// What would be sent is what was sent.
    same: bool,
    more: usize,
    today: NaiveDate,
    prepared_by: String,
}

impl ShowPage {
    /// Whether the period is over: only then is there something to sign and to send.
    fn over(&self) -> bool {
        self.standing != Standing::Running
    }

    /// Whether figures stand in this column.
    fn is_number(&self, column: &usize) -> bool {
        let cell = self.made.draft.rows.first().and_then(|row| row.get(*column));
        matches!(cell, Some(crate::domain::cell::Cell::Number(_)))
    }

    fn digest(&self) -> String {
        hex(&self.made.sha256)
    }

    /// Nothing is missing, and its rule was read whole.
    fn complete(&self) -> bool {
        self.made.is_complete()
    }
}

/// GET /filings/{rule}/{period}?county=..
pub async fn show(
    State(state): State<AppState>,
    actor: Actor,
    Path((rule, period)): Path<(String, String)>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let Some(made) = verbs::make(&mut conn, &rule, &ask.county, &period).await? else {
        return Ok(Redirect::to(AT).into_response());
    };
    let mut form = Form::for_new();
    form.set("filed_on", actor.today.to_string());
    Ok(page(&mut conn, &actor, made, form).await?.into_response())
}

async fn page(conn: &mut Conn, actor: &Actor, made: Made, mut form: Form) -> Result<ShowPage> {
    let filed = filing::of(conn, made.rule.code, &made.county, &made.period.code()).await?;
    let changes = match filed.first() {
        Some(newest) if newest.changed > 0 => filing::changes(conn, newest.id).await?,
        _ => vec![],
    };
    let owed = Owed {
        jurisdiction: made.jurisdiction,
        rule: made.rule,
        county: made.county.clone(),
        period: made.period,
        registered: made.maker.registration.is_some(),
        worked: !made.work.is_empty(),
    };
    let stand = Stand { standing: owed.standing(actor.today), owed, filed: filed.first().cloned() };
    let same = filed.first().is_some_and(|newest| newest.sha256 == made.sha256);
    let code = made.period.code();
    form.set("county", made.county.clone());
    form.set("number", filed.first().map_or(1, |newest| newest.number + 1).to_string());
    form.set("seen", hex(&made.sha256));
    let name = title(made.jurisdiction, made.rule, &made.county);
    let place = [("state", made.jurisdiction.code), ("county", &made.county)];
    Ok(ShowPage {
        page: Page::of(actor, format!("{name}, {}", made.period.words()), AT),
        form,
        badge: badge(&stand, same),
        standing: stand.standing,
        due: made.rule.due_on(made.period),
        weekend: made.rule.weekend_words(made.period).map(|said| words::sentence(&said)),
        file: address(made.rule.code, &code, &made.county, "/file"),
        workbook: address(made.rule.code, &code, &made.county, "/rows.xlsx"),
        paper: address(made.rule.code, &code, &made.county, "/rows.pdf"),
        action: address(made.rule.code, &code, "", ""),
        log: crate::web::reports::log::address(
            crate::web::reports::AT_LOG,
            made.period.first_day(),
            made.period.last_day(),
            made.jurisdiction.code,
            &made.county,
            None,
        ),
        enter: format!("/reports/registrations?{}", serde_urlencoded::to_string(place).unwrap_or_default()),
        records: made.draft.lacking().len(),
        lacking: lacking(&made),
        more: made.draft.rows.len().saturating_sub(MOST),
        filed,
        changes,
        same,
        today: actor.today,
        prepared_by: actor.name.clone(),
        made,
    })
}

/// What is missing, records in the order of days after what the company lacks.
fn lacking(made: &Made) -> Vec<Lacking> {
    let place = [("state", made.jurisdiction.code), ("county", &made.county)];
    let place = serde_urlencoded::to_string(place).unwrap_or_default();
    let one = |gap: &crate::domain::filing::draft::Gap| {
        let work = gap.record.as_deref().and_then(|id| made.work.iter().find(|item| item.record == id));
        let record: Option<Uuid> = gap.record.as_deref().and_then(|id| id.parse().ok());
        let (href, mend) = match (gap.mend, record) {
            (Mend::Record, Some(id)) => (format!("/records/{id}/amendments"), "Amend it"),
            (Mend::Record, None) => ("/records".to_owned(), "See the records"),
            (Mend::Company, _) => ("/company".to_owned(), "The owner enters it"),
            (Mend::Registration, _) => (format!("/reports/registrations?{place}"), "Enter the registration"),
            (Mend::People, _) => ("/people".to_owned(), "Enter the certification"),
        };
        Lacking {
            record,
            on: work.map(|item| item.on),
            customer: work.map(|item| item.customer.clone()).unwrap_or_default(),
            words: words::sentence(&gap.words),
            href,
            mend,
        }
    };
    let mut all: Vec<Lacking> = made.draft.gaps.iter().map(one).collect();
    all.sort_by_key(|one| (one.on, one.record));
    all.truncate(MOST);
    all
}

/// GET /filings/{rule}/{period}/rows.xlsx?county=.. : the report's rows as a workbook.
pub async fn workbook(
    State(state): State<AppState>,
    actor: Actor,
    Path((rule, period)): Path<(String, String)>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    rows(&state, &actor, (&rule, &period), &ask, Format::Xlsx).await
}

/// GET /filings/{rule}/{period}/rows.pdf?county=.. : the report's rows on paper.
pub async fn paper(
    State(state): State<AppState>,
    actor: Actor,
    Path((rule, period)): Path<(String, String)>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    rows(&state, &actor, (&rule, &period), &ask, Format::Pdf).await
}

async fn rows(
    state: &AppState,
    actor: &Actor,
    (rule, period): (&str, &str),
    ask: &Ask,
    format: Format,
) -> Result<Response> {
    let made = verbs::make(&mut *state.pool.acquire().await?, rule, &ask.county, period).await?;
    let Some(made) = made else { return Ok(Redirect::to(AT).into_response()) };
    let stem = made.draft.file.rsplit_once('.').map_or(made.draft.file.as_str(), |(stem, _)| stem);
    let list = Ready {
        title: title(made.jurisdiction, made.rule, &made.county),
        period: period.to_owned(),
        stem: stem.to_owned(),
        columns: made.draft.file_columns(),
        cautions: vec![
            "The live rule and the regulator's own form decide; a licensed person answers for what is sent."
                .to_owned(),
        ],
        rows: made.draft.file_rows(),
    };
    let own = format!("/filings/{rule}/{period}/rows.{}", format.code());
    let query = serde_urlencoded::to_string([("county", &ask.county)]).unwrap_or_default();
    let asked = Asked { number: ask.part.parse().ok(), address: format!("{own}?{query}"), background: false };
    export::of_actor(state, actor, Source::Ready(Box::new(list)), format, &asked).await
}

/// Writes down that a report's file was taken out.
async fn note(state: &AppState, actor: &Actor, file: &str) -> Result<()> {
    let detail = serde_json::json!({ "file": file });
    Ok(evidence::exported(&actor.doer(), &mut *state.pool.acquire().await?, "filing", detail).await?)
}

/// GET /filings/{rule}/{period}/file?county=..
pub async fn file(
    State(state): State<AppState>,
    actor: Actor,
    Path((rule, period)): Path<(String, String)>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    let made = verbs::make(&mut *state.pool.acquire().await?, &rule, &ask.county, &period).await?;
    let Some(made) = made else { return Ok(Redirect::to(AT).into_response()) };
    note(&state, &actor, &made.draft.file).await?;
    attachment(&made.draft.file, made.media_type, made.content)
}

/// GET /filings/sent/{id} : the bytes as they were sent.
pub async fn sent(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let kept = filing::content(&mut *state.pool.acquire().await?, id).await?;
    let (name, media_type, content) = kept.ok_or(Error::NotFound)?;
    note(&state, &actor, &name).await?;
    attachment(&name, &media_type, content)
}

/// POST /filings/{rule}/{period}
pub async fn mark(
    State(state): State<AppState>,
    actor: Actor,
    Path((rule, period)): Path<(String, String)>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let (filed_on, receipt) = (form.required_date("filed_on"), form.required_line("receipt"));
    let county = form.line("county");
    let seen = unhex(form.value("seen")).ok_or(Error::Unreadable("The form names no content."))?;
    let number = form.value("number").parse().map_err(|_| Error::Unreadable("The form names no number."))?;
    let id = form.id()?;
    if form.is_good() {
        let (rule, period) = (rule.clone(), period.clone());
        let filed_on = filed_on.unwrap_or_default();
        let sent = Sent { id, rule, county: county.clone(), period, filed_on, receipt, number, seen };
        match verbs::keep(&actor.doer(), actor.today, &sent).await {
            Ok(()) => {
                let to = address(&sent.rule, &sent.period, &county, "");
                return Ok(session::done(&state, &to, "Kept as it was sent."));
            }
            Err(e) => form.absorb(e)?,
        }
    }
    for error in &mut form.errors {
        error.message = words::sentence(&error.message);
    }
    let mut conn = state.pool.acquire().await?;
    let made = verbs::make(&mut conn, &rule, &county, &period).await?.ok_or(Error::NotFound)?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&mut conn, &actor, made, form).await?).into_response())
}

/// Bytes from hexadecimal digits.
fn unhex(text: &str) -> Option<Vec<u8>> {
    if text.len() != 64 || !text.is_ascii() {
        return None;
    }
    (0..32).map(|at| u8::from_str_radix(&text[2 * at..2 * at + 2], 16).ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digests_are_read_as_they_are_written() {
        let bytes: Vec<u8> = (0..32).collect();
        assert_eq!(unhex(&hex(&bytes)), Some(bytes));
        for wrong in ["", "00", &"0".repeat(63), &"g".repeat(64), &"é".repeat(32)] {
            assert_eq!(unhex(wrong), None, "{wrong}");
        }
    }
}
