//! Big files in the background: asked for, looked at, stopped, taken, removed.
use super::{
    Asked, Batch, HANDFULS, PIECES, Pieces, Reader, Rows, Source, of_name,
    part::{self, Fit},
    write,
};
use crate::web::files;
use crate::{
    actions::{Doer, evidence, export_job as verbs},
    db::export_job::{self, Job},
    domain::user::Role,
    output::table::{About, Format},
    web::{
        AppState, Error, Result,
        form::Posted,
        page::Page,
        session::{self, Actor},
        words,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    body::{Body, Bytes},
    extract::{Path, RawQuery, State},
    response::{IntoResponse, Redirect, Response},
};
use futures_util::stream;
use serde_json::json;
use std::ops::Range;
use tokio::{runtime::Handle, sync::mpsc};
use uuid::Uuid;

/// Progress is written down after so many rows.
const BEAT: i64 = 2_000;
/// A kept piece has at least about this many bytes.
const KEPT: usize = 512 * 1024;

/// POST /exports/{list}.{csv,xlsx,pdf} : the same file, made in the background.
pub async fn begin(
    State(state): State<AppState>,
    actor: Actor,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
    _form: Posted,
) -> Result<Response> {
    let query = query.unwrap_or_default();
    let Some((source, format)) = of_name(&actor, &name, &query)? else {
        return Err(Error::NotFound);
    };
    let (doer, reader) = (actor.doer(), Reader::of(&actor));
    let mut conn = state.pool.acquire().await?;
    let asked = Asked::of(&name, &query);
    let count = source.count(&mut conn).await?;
    let about = source.about(&reader);
    let (about, rows, count) = match part::fit(&mut conn, &source, format, &asked).await? {
        Fit::Whole => (about, part::WHOLE, Some(count)),
        Fit::Part(part) => (part.told(about), part.rows(), i64::try_from(part.rows().len()).ok()),
        Fit::TooLong(all) => return Ok(part::offered(&actor, about, all, &asked)),
    };
    let now = doer.clock.now();
    let job = Job {
        id: Uuid::now_v7(),
        title: format!("{}, {}", about.title, about.period),
        file_name: format!("{}.{}", about.stem, format.code()),
        media_type: format.media_type().to_owned(),
        state: "running".to_owned(),
        stop_asked: false,
        rows_done: 0,
        rows_total: count,
        bytes: 0,
        asked_by: actor.id,
        asked_at: now,
        beat_at: now,
    };
    verbs::begin(&doer, &job).await?;
    let detail = json!({ "format": format.code(), "file": about.stem, "narrowed to": about.period });
    evidence::exported(&doer, &mut conn, source.noun(), detail).await?;
    drop(conn);
    let id = job.id;
    tokio::spawn(make(doer, id, (source, rows), about, (reader, format)));
    Ok(Redirect::to(&format!("/exports/jobs/{id}")).into_response())
}

/// Makes the file to its end, whatever that is.
async fn make(
    doer: Doer,
    id: Uuid,
    source: (Source, Range<usize>),
    about: About,
    (reader, format): (Reader, Format),
) {
    let (give, taken) = mpsc::channel(HANDFULS);
    let (pieces, kept) = mpsc::channel(PIECES);
    let watch = Watch { doer: doer.clone(), id, rows: 0, stopped: false };
    let reading = read(doer.clone(), source, reader, give, watch);
    let writing = tokio::task::spawn_blocking(move || {
        let into = Pieces { held: vec![], give: pieces, handle: Handle::current() };
        write(format, about, taken, into)
    });
    let ((read, rows, stopped), written, kept) = tokio::join!(reading, writing, keep(&doer, id, kept));
    let outcome = read.and(written.unwrap_or_else(|e| Err(e.into()))).and(kept);
    let state = match (&outcome, stopped) {
        (_, true) => "stopped",
        (Ok(()), false) => "done",
        (Err(reason), false) => {
            tracing::error!(%reason, "a file was not made");
            "failed"
        }
    };
    if let Err(reason) = verbs::end(&doer, id, state, rows).await {
        tracing::error!(%reason, "the end of a file was not written down");
    }
}

/// Counts the rows that go by, and looks whether to go on.
pub(super) struct Watch {
    doer: Doer,
    id: Uuid,
    rows: i64,
    stopped: bool,
}

impl Watch {
    pub(super) async fn passed(&mut self, rows: usize) -> anyhow::Result<()> {
        let before = self.rows / BEAT;
        self.rows += i64::try_from(rows).unwrap_or(0);
        if self.rows / BEAT > before && !verbs::beat(&self.doer, self.id, self.rows).await? {
            self.stopped = true;
            anyhow::bail!("somebody stopped it");
        }
        Ok(())
    }
}

async fn read(
    doer: Doer,
    (source, wanted): (Source, Range<usize>),
    reader: Reader,
    give: mpsc::Sender<Batch>,
    watch: Watch,
) -> (anyhow::Result<()>, i64, bool) {
    let mut rows = Rows::new(give, wanted, Some(watch));
    let poured = async {
        let mut conn = doer.pool.acquire().await?;
        source.pour(&mut conn, &reader, &mut rows).await?;
        rows.hand_over().await
    }
    .await;
    let (count, stopped) = rows.watch.take().map_or((0, false), |w| (w.rows, w.stopped));
    let ended = if poured.is_ok() { rows.end().await } else { Ok(()) };
    (poured.and(ended), count, stopped)
}

async fn keep(
    doer: &Doer,
    id: Uuid,
    mut pieces: mpsc::Receiver<std::io::Result<Bytes>>,
) -> anyhow::Result<()> {
    let (mut held, mut position): (Vec<u8>, i32) = (vec![], 0);
    while let Some(piece) = pieces.recv().await {
        held.extend_from_slice(&piece?);
        if held.len() >= KEPT {
            verbs::keep(doer, id, position, &std::mem::take(&mut held)).await?;
            position += 1;
        }
    }
    if !held.is_empty() {
        verbs::keep(doer, id, position, &held).await?;
    }
    Ok(())
}

/// The one door to a job: who asked for it, and the owner.
async fn door(state: &AppState, actor: &Actor, id: Uuid) -> Result<Job> {
    let job = export_job::find(&mut *state.pool.acquire().await?, id).await?.ok_or(Error::NotFound)?;
    if actor.role == Role::Owner || job.asked_by == actor.id { Ok(job) } else { Err(Error::NotFound) }
}

struct Row {
    id: Uuid,
    title: String,
    file: String,
    who: String,
    when: String,
    badge: (&'static str, String),
    runs: bool,
    done: bool,
}

async fn row(actor: &Actor, job: Job) -> Result<Row> {
    let broken = verbs::broke_off(&actor.doer(), &job);
    let percent =
        job.rows_total.filter(|total| *total > 0).map(|total| (job.rows_done * 100 / total).min(100));
    let badge = match (job.state.as_str(), percent) {
        _ if broken => ("late", "Broke off: the program was stopped. Ask for it again.".to_owned()),
        ("running", _) if job.stop_asked => ("held", "Stopping".to_owned()),
        ("running", Some(percent)) => ("soon", format!("{percent} per cent, {} rows", job.rows_done)),
        ("running", None) => ("soon", format!("{} rows so far", job.rows_done)),
        ("done", _) => ("done", format!("Ready: {} rows, {}", job.rows_done, size(job.bytes))),
        ("stopped", _) => ("off", "Stopped".to_owned()),
        _ => ("late", "It could not be made".to_owned()),
    };
    let local = job.asked_at.with_timezone(&actor.time_zone);
    Ok(Row {
        id: job.id,
        who: verbs::asker(&actor.doer(), &job).await?,
        when: format!("{}, {}", words::day(local.date_naive()), local.format("%H:%M")),
        badge,
        runs: job.state == "running",
        done: job.state == "done",
        title: job.title,
        file: job.file_name,
    })
}

fn size(bytes: i64) -> String {
    if bytes < 1_000_000 {
        format!("{} kB", (bytes + 999) / 1000)
    } else {
        format!("{} MB", (bytes + 500_000) / 1_000_000)
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "export/jobs.html")]
struct JobsPage {
    page: Page,
    rows: Vec<Row>,
    /// One job alone is shown.
    one: bool,
}

/// GET /exports
pub async fn list(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let of = (actor.role != Role::Owner).then_some(actor.id);
    let jobs = export_job::list(&mut *state.pool.acquire().await?, of).await?;
    let mut rows = vec![];
    for job in jobs {
        rows.push(row(&actor, job).await?);
    }
    Ok(JobsPage { page: Page::of(&actor, "Files", "/filings"), rows, one: false }.into_response())
}

/// GET /exports/jobs/{id}
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let job = door(&state, &actor, id).await?;
    let title = job.file_name.clone();
    let rows = vec![row(&actor, job).await?];
    Ok(JobsPage { page: Page::of(&actor, title, "/filings"), rows, one: true }.into_response())
}

/// POST /exports/jobs/{id}/ends
pub async fn stop(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let job = door(&state, &actor, id).await?;
    verbs::stop(&actor.doer(), &job).await?;
    Ok(Redirect::to(&format!("/exports/jobs/{id}")).into_response())
}

/// POST /exports/jobs/{id}/removals
pub async fn remove(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let job = door(&state, &actor, id).await?;
    if job.state == "running" && !verbs::broke_off(&actor.doer(), &job) {
        return Err(Error::Refused("It is still being made: stop it first.".to_owned()));
    }
    verbs::remove(&actor.doer(), &job).await?;
    Ok(session::done(&state, "/exports", "The file is removed."))
}

/// GET /exports/jobs/{id}/file
pub async fn take(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let job = door(&state, &actor, id).await?;
    if job.state != "done" {
        return Err(Error::NotFound);
    }
    let detail = json!({ "file": job.file_name, "made before": true });
    evidence::exported(&actor.doer(), &mut *state.pool.acquire().await?, "file", detail).await?;
    let pieces = stream::unfold((state.pool, 0), move |(pool, position)| async move {
        let read = async { export_job::piece(&mut *pool.acquire().await?, id, position).await };
        let piece = read.await.map_err(std::io::Error::other).transpose()?;
        Some((piece.map(Bytes::from), (pool, position + 1)))
    });
    let pieces = futures_util::StreamExt::fuse(pieces);
    files::attachment(&job.file_name, &job.media_type, Body::from_stream(pieces))
}
