//! Lists as files: the rows that a page shows, all of them, in the cells that every kind of file has.
pub mod job;
pub mod part;
mod rows;
mod source;

pub use part::Asked;
pub use source::{Ready, Source};

use super::{
    AppState, Error, Result, audit, due, files, filings::log as state_log, form::Form, papers::notices,
    reports::log, session::Actor,
};
use crate::{
    actions::evidence,
    domain::{cell::Cell, filing, user::Role},
    output::table::{About, File, Format},
};
use axum::{
    body::Bytes,
    extract::{Path, RawQuery, State},
    response::{IntoResponse, Redirect, Response},
};
use chrono::NaiveDate;
use part::Fit;
use serde_json::json;
use std::{
    io::{self, Write},
    ops::Range,
    time::Duration,
};
use tokio::{runtime::Handle, sync::mpsc};

/// So many rows go from the database to the writer at once.
const HANDFUL: usize = 64;
/// So many handfuls may wait for the writer before the database waits too.
const HANDFULS: usize = 4;
/// So many pieces may wait for the reader before the writer waits too.
const PIECES: usize = 2;
/// A piece has at most about this many bytes.
const PIECE: usize = 64 * 1024;
/// A reader that takes no piece for so long is given up, for it holds a connection.
const PATIENCE: Duration = Duration::from_secs(60);

/// For whom a file is made.
#[derive(Debug, Clone)]
pub struct Reader {
    pub company: String,
    /// Who is said to have prepared it.
    pub name: String,
    pub today: NaiveDate,
    pub time_zone: chrono_tz::Tz,
}

impl Reader {
    fn of(actor: &Actor) -> Self {
        Self {
            company: actor.company.clone(),
            name: actor.name.clone(),
            today: actor.today,
            time_zone: actor.time_zone,
        }
    }
}

/// GET /exports/{list}.{csv,xlsx,pdf} : with what the list's own page is narrowed to.
pub async fn file(
    State(state): State<AppState>,
    actor: Actor,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response> {
    let query = query.unwrap_or_default();
    match of_name(&actor, &name, &query)? {
        Some((source, format)) => of_actor(&state, &actor, source, format, &Asked::of(&name, &query)).await,
        // The list's page says what is wrong with the period.
        None => Ok(Redirect::to(&page_of(&name, &query)).into_response()),
    }
}

/// The page of a list that has no such period.
fn page_of(name: &str, query: &str) -> String {
    match name.split('.').next() {
        Some("state-log") => {
            let ask: state_log::Ask = serde_urlencoded::from_str(query).unwrap_or_default();
            format!("/filings/states/{}", ask.state)
        }
        Some("log") => format!("/reports/log?{query}"),
        Some("notices") => format!("/papers/notices?{query}"),
        _ => format!("/audit?{query}"),
    }
}

/// The list and the kind of file that an address names; none where its period cannot be.
fn of_name(actor: &Actor, name: &str, query: &str) -> Result<Option<(Source, Format)>> {
    let (list, format) = name.split_once('.').ok_or(Error::NotFound)?;
    let format = Format::from_code(format).ok_or(Error::NotFound)?;
    let pairs: Vec<(String, String)> = serde_urlencoded::from_str(query).unwrap_or_default();
    let mut form = Form::filled(pairs);
    let (words, retired) = (form.value("q").to_owned(), form.is("retired", "yes"));
    let source = match list {
        "log" => {
            let ask: log::Ask = serde_urlencoded::from_str(query).unwrap_or_default();
            let (read, filter) = ask.read(actor.today);
            if !read.is_good() {
                return Ok(None);
            }
            Source::Log(filter)
        }
        "state-log" => {
            let ask: state_log::Ask = serde_urlencoded::from_str(query).unwrap_or_default();
            if filing::find(&ask.state).is_none() {
                return Err(Error::NotFound);
            }
            match ask.read(actor.today) {
                Some(log) => Source::StateLog(log),
                None => return Ok(None),
            }
        }
        "notices" => {
            let ask: notices::Ask = serde_urlencoded::from_str(query).unwrap_or_default();
            let (read, log) = ask.read(actor.today);
            if !read.is_good() {
                return Ok(None);
            }
            Source::Notices(log)
        }
        "due" => {
            let ask: due::Ask = serde_urlencoded::from_str(query).unwrap_or_default();
            if ask.show == "unplanned" {
                return Err(Error::NotFound);
            }
            Source::Due(ask.filter(actor.today))
        }
        "customers" => Source::Customers { words, retired },
        "sites" => Source::Sites { words, retired },
        "plants" => Source::Plants { words, retired },
        "audit" if actor.role == Role::Owner => {
            let filter = audit::filter(&mut form, actor.time_zone);
            if !form.is_good() {
                return Ok(None);
            }
            Source::Audit(filter)
        }
        _ => return Err(Error::NotFound),
    };
    Ok(Some((source, format)))
}

/// The file for somebody who is signed in; that they took it is written down first. What is too long for paper is
/// offered in parts.
///
/// # Errors
/// When the database does not answer.
pub async fn of_actor(
    state: &AppState,
    actor: &Actor,
    source: Source,
    format: Format,
    asked: &Asked,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let about = source.about(&Reader::of(actor));
    let (about, rows) = match part::fit(&mut conn, &source, format, asked).await? {
        Fit::Whole => (about, part::WHOLE),
        Fit::Part(part) => (part.told(about), part.rows()),
        Fit::TooLong(all) => return Ok(part::offered(actor, about, all, asked)),
    };
    let detail = json!({ "format": format.code(), "file": about.stem, "narrowed to": about.period });
    evidence::exported(&actor.doer(), &mut conn, source.noun(), detail).await?;
    drop(conn);
    answer(state, (source, rows), about, Reader::of(actor), format)
}

/// The file, piece by piece as it is taken.
///
/// # Errors
/// When its name holds what no header may.
pub fn answer(
    state: &AppState,
    (source, wanted): (Source, Range<usize>),
    about: About,
    reader: Reader,
    format: Format,
) -> Result<Response> {
    let name = format!("{}.{}", about.stem, format.code());
    let (give, take) = mpsc::channel(PIECES);
    let (rows, written) = mpsc::channel(HANDFULS);
    let pool = state.pool.clone();
    tokio::spawn(async move {
        let mut rows = Rows::new(rows, wanted, None);
        let outcome = async {
            let mut conn = pool.acquire().await?;
            source.pour(&mut conn, &reader, &mut rows).await?;
            rows.end().await
        };
        if let Err(reason) = outcome.await {
            tracing::error!(%reason, "a download broke off");
        }
    });
    let handle = Handle::current();
    tokio::task::spawn_blocking(move || {
        let pieces = Pieces { held: Vec::with_capacity(PIECE), give: give.clone(), handle: handle.clone() };
        if let Err(reason) = write(format, about, written, pieces) {
            tracing::error!(%reason, "a file was not written to its end");
            // The reader must see that the file is not whole; if it is gone, nobody needs to.
            let _ = handle.block_on(give.send(Err(io::Error::other("the file broke off"))));
        }
    });
    let body = files::streamed(take);
    match format {
        Format::Pdf => files::inline(&name, format.media_type(), body),
        _ => files::attachment(&name, format.media_type(), body),
    }
}

/// What goes from the database to the writer.
enum Batch {
    Rows(Vec<Vec<Cell>>),
    /// Nothing comes any more; without it the rows broke off.
    End,
}

/// Takes rows for the writer.
pub struct Rows {
    handful: Vec<Vec<Cell>>,
    give: mpsc::Sender<Batch>,
    /// Who counts them, for a file in the background.
    watch: Option<job::Watch>,
    /// Which of the list's rows the file holds, and how many went by.
    wanted: Range<usize>,
    passed: usize,
}

impl Rows {
    fn new(give: mpsc::Sender<Batch>, wanted: Range<usize>, watch: Option<job::Watch>) -> Self {
        Self { handful: vec![], give, watch, wanted, passed: 0 }
    }

    /// Adds a row, and waits while the writer is behind.
    ///
    /// # Errors
    /// When nobody takes the file any more.
    pub async fn row(&mut self, cells: Vec<Cell>) -> anyhow::Result<()> {
        self.passed += 1;
        if !self.wanted.contains(&(self.passed - 1)) {
            return Ok(());
        }
        self.handful.push(cells);
        if self.handful.len() >= HANDFUL { self.hand_over().await } else { Ok(()) }
    }

    async fn hand_over(&mut self) -> anyhow::Result<()> {
        let rows = std::mem::replace(&mut self.handful, Vec::with_capacity(HANDFUL));
        if let Some(watch) = &mut self.watch {
            watch.passed(rows.len()).await?;
        }
        self.give.send(Batch::Rows(rows)).await.map_err(|_| anyhow::anyhow!("nobody takes the file any more"))
    }

    async fn end(mut self) -> anyhow::Result<()> {
        self.hand_over().await?;
        self.give.send(Batch::End).await.map_err(|_| anyhow::anyhow!("nobody takes the file any more"))
    }
}

fn write(
    format: Format,
    about: About,
    mut rows: mpsc::Receiver<Batch>,
    pieces: Pieces,
) -> anyhow::Result<()> {
    let mut file = File::begin(format, about, pieces)?;
    loop {
        match rows.blocking_recv() {
            Some(Batch::Rows(rows)) => rows.into_iter().try_for_each(|row| file.row(row))?,
            Some(Batch::End) => break,
            None => anyhow::bail!("the rows broke off"),
        }
    }
    file.end()?.flush()?;
    Ok(())
}

/// Bytes on their way to the reader.
struct Pieces {
    held: Vec<u8>,
    give: mpsc::Sender<io::Result<Bytes>>,
    handle: Handle,
}

impl Write for Pieces {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.held.extend_from_slice(bytes);
        if self.held.len() >= PIECE / 2 {
            self.flush()?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.held.is_empty() {
            return Ok(());
        }
        let piece = Bytes::from(std::mem::replace(&mut self.held, Vec::with_capacity(PIECE)));
        let sent = self.handle.block_on(tokio::time::timeout(PATIENCE, self.give.send(Ok(piece))));
        match sent {
            Ok(Ok(())) => Ok(()),
            Ok(Err(_)) => Err(io::ErrorKind::BrokenPipe.into()),
            Err(_) => Err(io::ErrorKind::TimedOut.into()),
        }
    }
}
