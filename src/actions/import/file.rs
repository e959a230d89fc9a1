//! The file of a table, read from where it is kept.
use crate::{
    actions::Result,
    db::import::{self, Import},
    input::{Refused, Stop, csv, text, xlsx},
};
use sqlx::PgPool;
use std::{
    io::{self, Read},
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
};
use tokio::sync::mpsc;

/// How a file is read.
#[derive(Debug, Clone)]
pub struct How {
    pub format: String,
    pub encoding: String,
    pub delimiter: u8,
    pub sheet: String,
}

impl From<&Import> for How {
    fn from(i: &Import) -> Self {
        let delimiter = i.delimiter.as_bytes().first().copied().unwrap_or(b',');
        Self { format: i.format.clone(), encoding: i.encoding.clone(), delimiter, sheet: i.sheet.clone() }
    }
}

/// How far the reading is, and whether it is to end.
#[derive(Debug, Default, Clone)]
pub struct Progress {
    pub read: Arc<AtomicU64>,
    pub stop: Arc<Stop>,
}

/// Bytes that come in pieces from another task.
struct Pieces {
    from: mpsc::Receiver<io::Result<Vec<u8>>>,
    piece: Vec<u8>,
    given: usize,
    progress: Progress,
}

impl Read for Pieces {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        while self.given >= self.piece.len() {
            match self.from.blocking_recv() {
                None => return Ok(0),
                Some(piece) => (self.piece, self.given) = (piece?, 0),
            }
        }
        let count = into.len().min(self.piece.len() - self.given);
        into[..count].copy_from_slice(&self.piece[self.given..self.given + count]);
        self.given += count;
        self.progress.read.fetch_add(count as u64, Ordering::Relaxed);
        Ok(count)
    }
}

/// Sends the kept parts of a file until it ends or nobody reads any more.
async fn send_parts(pool: PgPool, id: uuid::Uuid, to: mpsc::Sender<io::Result<Vec<u8>>>) {
    for position in 0.. {
        let found = match pool.acquire().await {
            Ok(mut conn) => import::part(&mut conn, id, position).await,
            Err(e) => Err(e),
        };
        let piece = match found {
            Ok(None) => return,
            Ok(Some(piece)) => Ok(piece),
            Err(e) => Err(io::Error::other(e)),
        };
        let failed = piece.is_err();
        if to.send(piece).await.is_err() || failed {
            return;
        }
    }
}

/// Reads the kept file of a table line by line on a thread of its own.
///
/// # Errors
/// When the database does not answer; within it, why the file is not read.
pub async fn read(
    pool: &PgPool,
    import: &Import,
    progress: Progress,
    each: impl FnMut(u32, Vec<String>) -> bool + Send + 'static,
) -> Result<Result<(), Refused>> {
    let (to, from) = mpsc::channel(2);
    let sending = tokio::spawn(send_parts(pool.clone(), import.id, to));
    let pieces = Pieces { from, piece: vec![], given: 0, progress: progress.clone() };
    let how = How::from(import);
    let reading = tokio::task::spawn_blocking(move || rows(&how, pieces, &progress.stop, each));
    let answer = reading.await.map_err(anyhow::Error::from)?;
    sending.abort();
    Ok(answer)
}

/// Reads bytes line by line, whatever they are.
///
/// # Errors
/// Why the file is not read.
pub fn rows(
    how: &How,
    mut bytes: impl Read,
    stop: &Stop,
    mut each: impl FnMut(u32, Vec<String>) -> bool,
) -> Result<(), Refused> {
    if how.format == "xlsx" {
        let mut whole = vec![];
        bytes
            .read_to_end(&mut whole)
            .map_err(|_| Refused("The file could not be read from where it is kept.".to_owned()))?;
        return xlsx::rows(&whole, &how.sheet, stop, &mut each);
    }
    let encoding = text::Encoding::from_code(&how.encoding).unwrap_or(text::Encoding::Utf8);
    csv::rows(text::Decoder::new(bytes, encoding), how.delimiter, stop, &mut each)
}

/// So many lines are shown to whoever names the columns.
const SHOWN: usize = 4;

/// The first line that holds something, its number, and some lines after it.
pub type Head = (Vec<String>, u32, Vec<Vec<String>>);

/// Finds the line with the heads.
///
/// # Errors
/// When there is no such line, or the file is not read.
pub fn head(how: &How, bytes: impl Read) -> Result<Head, Refused> {
    let (mut heads, mut line, mut samples) = (vec![], 0, vec![]);
    let short = |cells: Vec<String>| -> Vec<String> {
        cells.into_iter().map(|cell| cell.chars().filter(|c| *c != '\0').take(60).collect()).collect()
    };
    rows(how, bytes, &Stop::default(), |at, cells| {
        if cells.iter().all(|cell| cell.trim().is_empty()) {
            return true;
        }
        if line == 0 {
            (line, heads) = (at, short(cells));
        } else {
            samples.push(short(cells));
        }
        samples.len() < SHOWN
    })?;
    if line == 0 {
        return Err(Refused("There is nothing in this table.".to_owned()));
    }
    if samples.is_empty() {
        return Err(Refused("There is a first line with heads and nothing below it.".to_owned()));
    }
    Ok((heads, line, samples))
}
