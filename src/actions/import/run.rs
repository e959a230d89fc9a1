//! Checking the lines of a table, and bringing them in. Both are the same work in one transaction: the lines are read
//! again, judged again, and only then written, so that nothing that changed meanwhile is overlooked.
use super::{
    applications,
    file::{self, Progress},
};
use crate::{
    actions::{Doer, Error, Result, due},
    db::{
        Conn, broken_constraint,
        import::{self, Import, Line, Stage, Wrong},
        ledger,
    },
    domain::import::{Kind, MOST_APPLICATIONS, MOST_LINES, Row, read_row},
    input::Refused,
};
use chrono::TimeDelta;
use serde_json::json;
use sha2::{Digest, Sha256};
use std::{
    sync::{Arc, Mutex, atomic::Ordering},
    time::Duration,
};
use tokio::sync::mpsc;
use uuid::Uuid;

/// Nobody works on a table that has not been heard of for so long.
const SILENCE: TimeDelta = TimeDelta::seconds(60);
/// How often a worker says that it is still there.
const BEAT: Duration = Duration::from_millis(500);
/// So many bytes of lines go to the database at once.
const SENT: usize = 256 << 10;
/// So many faults go to the database at once, and so many are kept in all; those beyond are counted.
const FAULTS: usize = 500;
const MOST_FAULTS: u32 = 200_000;
/// Tables that nobody finished go after so many days.
const KEPT: TimeDelta = TimeDelta::days(30);

/// What came of reading the lines.
#[derive(Debug, Default, Clone, Copy)]
pub(super) struct Counts {
    pub lines: u32,
    pub bad: u32,
    pub present: u32,
}

/// What the reading thread hands over.
enum Read {
    Lines(Line),
    Faults(Vec<Wrong>),
    Row(u32, Row),
}

/// Takes one table that waits and works on it; false: none waits.
///
/// # Errors
/// When the database does not answer.
pub async fn work_one(doer: &Doer) -> Result<bool> {
    let now = doer.clock.now();
    let taken = import::take(&mut *doer.pool.acquire().await?, now - SILENCE, now).await?;
    let Some(taken) = taken else { return Ok(false) };
    let acting = doer.acting(taken.asked_by);
    let progress = Progress::default();
    let mut work = Box::pin(work(&acting, &taken, &progress));
    let mut beats = tokio::time::interval(BEAT);
    let outcome = loop {
        tokio::select! {
            outcome = &mut work => break outcome,
            _ = beats.tick() => if !tell(&acting, &taken, &progress).await? {
                progress.stop.ask();
            },
        }
    };
    drop(work);
    if let Err(reason) = outcome {
        let (state, words) = ended(&progress, reason);
        let failed = Import { state, words, ..taken };
        import::end(&mut *doer.pool.acquire().await?, &failed, doer.clock.now()).await?;
    }
    Ok(true)
}

fn ended(progress: &Progress, reason: Error) -> (String, String) {
    if progress.stop.is_asked() {
        return ("stopped".to_owned(), "Ended before its time; nothing was written.".to_owned());
    }
    match reason {
        Error::Refused { words, .. } => ("failed".to_owned(), words),
        other => {
            tracing::error!(reason = %other, detail = ?other, "a table was not brought in");
            (
                "failed".to_owned(),
                "Something failed on our side; nothing was written. Try once more.".to_owned(),
            )
        }
    }
}

/// Says how far it is; whether to go on.
async fn tell(doer: &Doer, taken: &Import, progress: &Progress) -> Result<bool> {
    let mut conn = doer.pool.acquire().await?;
    let whole = u64::try_from(taken.bytes).unwrap_or(1).max(1);
    let read = progress.read.load(Ordering::Relaxed).min(whole);
    let percent = i32::try_from(read * 80 / whole).unwrap_or(80);
    let ours = import::beat(&mut conn, taken, doer.clock.now(), percent).await?;
    Ok(ours && !import::wants_stop(&mut conn, taken.id).await?)
}

async fn work(doer: &Doer, taken: &Import, progress: &Progress) -> Result<()> {
    import::clear_faults(&mut *doer.pool.acquire().await?, taken.id).await?;
    if taken.of() == Kind::Applications {
        return applications::work(doer, taken, progress).await;
    }
    let mut tx = doer.pool.begin().await?;
    import::open(&mut tx, taken.of()).await?;
    let mut counts = stage(doer, &mut tx, taken, progress).await?;
    counts.present = u32::try_from(import::judge(&mut tx, taken.of()).await?).unwrap_or(u32::MAX);
    counts.bad += found(doer, &mut tx, taken).await?;
    go_on(progress)?;
    if taken.state == "checking" || counts.bad > 0 {
        drop(tx);
        return checked(doer, taken, counts).await;
    }
    let parcels = import::parcels(&mut tx, taken.of()).await?;
    for parcel in &parcels {
        ledger::lock(&mut tx, *parcel).await?;
    }
    let written = import::write(&mut tx, taken, doer.clock.now()).await?;
    for some in parcels.chunks(20) {
        go_on(progress)?;
        due::recompute_held(&mut tx, doer, some).await?;
    }
    finish(doer, tx, taken, counts, written).await
}

pub(super) fn go_on(progress: &Progress) -> Result<()> {
    if progress.stop.is_asked() { Err(Error::refused("Ended before its time.")) } else { Ok(()) }
}

/// Writes down what the check found.
pub(super) async fn checked(doer: &Doer, taken: &Import, counts: Counts) -> Result<()> {
    let words = match (taken.state.as_str(), counts.bad) {
        ("writing", 1..) => "Something changed since the lines were checked; nothing was written.",
        _ => "",
    };
    let found = of(taken, counts, "checked", words);
    import::end(&mut *doer.pool.acquire().await?, &found, doer.clock.now()).await?;
    Ok(())
}

fn of(taken: &Import, counts: Counts, state: &str, words: &str) -> Import {
    let number = |count: u32| i32::try_from(count).unwrap_or(i32::MAX);
    Import {
        state: state.to_owned(),
        words: words.to_owned(),
        lines: number(counts.lines),
        good: number(counts.lines.saturating_sub(counts.bad).saturating_sub(counts.present)),
        bad: number(counts.bad),
        present: number(counts.present),
        ..taken.clone()
    }
}

/// Writes down that the rows are here, in the transaction that wrote them.
pub(super) async fn finish(
    doer: &Doer,
    mut tx: sqlx::Transaction<'static, sqlx::Postgres>,
    taken: &Import,
    counts: Counts,
    written: u64,
) -> Result<()> {
    if !import::begin(&mut tx, taken).await? {
        return Err(Error::refused("Ended before its time; nothing was written."));
    }
    import::forget_file(&mut tx, taken.id).await?;
    let done = of(taken, counts, "done", "");
    import::end(&mut tx, &done, doer.clock.now()).await.map_err(|e| match broken_constraint(&e) {
        Some("import_once") => Error::refused("This very file was brought in by somebody else meanwhile."),
        _ => e.into(),
    })?;
    let detail =
        json!({ "kind": taken.kind, "file": taken.file_name, "rows": written, "present": counts.present });
    doer.note(&mut tx, "rows brought in", "import", taken.id, detail).await?;
    tx.commit().await?;
    Ok(())
}

/// Reads every line, sends the good ones to the table of the session and keeps what is wrong with the others.
async fn stage(doer: &Doer, tx: &mut Conn, taken: &Import, progress: &Progress) -> Result<Counts> {
    let kind = taken.of();
    let mut into = Stage::fill(tx, kind).await?;
    let (mut from, reading) = lines(doer, taken, progress, false);
    while let Some(read) = from.recv().await {
        match read {
            Read::Lines(lines) => into.send(lines).await?,
            Read::Faults(faults) => keep(doer, taken.id, &faults).await?,
            Read::Row(..) => {}
        }
    }
    let counts = reading.await.map_err(anyhow::Error::from)??;
    go_on(progress)?;
    into.finish().await?;
    Ok(counts)
}

pub(super) async fn keep(doer: &Doer, id: Uuid, faults: &[Wrong]) -> Result<()> {
    Ok(import::add_faults(&mut *doer.pool.acquire().await?, id, faults).await?)
}

/// The rows of a table that is not staged, with the counts of those that have faults.
pub(super) async fn rows_of(
    doer: &Doer,
    taken: &Import,
    progress: &Progress,
) -> Result<(Vec<(u32, Row)>, Counts)> {
    let (mut from, reading) = lines(doer, taken, progress, true);
    let mut rows = vec![];
    while let Some(read) = from.recv().await {
        match read {
            Read::Row(line, row) => rows.push((line, row)),
            Read::Faults(faults) => keep(doer, taken.id, &faults).await?,
            Read::Lines(_) => {}
        }
    }
    let counts = reading.await.map_err(anyhow::Error::from)??;
    go_on(progress)?;
    Ok((rows, counts))
}

type Reading = tokio::task::JoinHandle<Result<Counts>>;

/// Reads the file on a thread of its own; what it finds comes by the channel.
fn lines(doer: &Doer, taken: &Import, progress: &Progress, whole: bool) -> (mpsc::Receiver<Read>, Reading) {
    let (to, from) = mpsc::channel(4);
    let (pool, taken, progress) = (doer.pool.clone(), taken.clone(), progress.clone());
    let reading = tokio::spawn(async move {
        let told = Arc::new(Mutex::new(Counts::default()));
        let mut reader = Reader::new(&taken, to, whole, told.clone());
        let read = file::read(&pool, &taken, progress, move |line, cells| reader.line(line, &cells));
        read.await?.map_err(|Refused(words)| Error::refused(words))?;
        let counts = told.lock().map(|counts| *counts).unwrap_or_default();
        if counts.lines > most(taken.of()) {
            return Err(Error::refused(format!(
                "The table has more than {} lines. Bring it in parts.",
                most(taken.of())
            )));
        }
        Ok(counts)
    });
    (from, reading)
}

fn most(kind: Kind) -> u32 {
    if kind == Kind::Applications { MOST_APPLICATIONS } else { MOST_LINES }
}

/// Makes rows of lines.
struct Reader {
    kind: Kind,
    head: u32,
    batch: Uuid,
    mapping: Vec<Option<usize>>,
    to: mpsc::Sender<Read>,
    whole: bool,
    ready: Line,
    faults: Vec<Wrong>,
    counts: Counts,
    /// The counts of the whole, when it is read.
    told: Arc<Mutex<Counts>>,
}

impl Reader {
    fn new(taken: &Import, to: mpsc::Sender<Read>, whole: bool, told: Arc<Mutex<Counts>>) -> Self {
        Self {
            kind: taken.of(),
            head: u32::try_from(taken.head_line).unwrap_or_default(),
            batch: taken.batch,
            mapping: taken.columns(),
            to,
            whole,
            ready: Line::default(),
            faults: vec![],
            counts: Counts::default(),
            told,
        }
    }

    /// Takes a line; false: nobody wants more.
    fn line(&mut self, line: u32, cells: &[String]) -> bool {
        if line <= self.head {
            return true;
        }
        let Some(row) = read_row(self.kind, &self.mapping, cells) else { return true };
        self.counts.lines += 1;
        if self.counts.lines > most(self.kind) {
            return false;
        }
        if !row.faults.is_empty() {
            return self.bad(line, row);
        }
        if self.whole {
            return self.to.blocking_send(Read::Row(line, row)).is_ok();
        }
        self.ready.push(self.batch, line, own(self.kind, &row), &row);
        self.ready.bytes.len() < SENT || self.flush()
    }

    fn bad(&mut self, line: u32, row: Row) -> bool {
        self.counts.bad += 1;
        if self.counts.bad > MOST_FAULTS {
            return true;
        }
        let line = i32::try_from(line).unwrap_or(i32::MAX);
        self.faults.extend(row.faults.into_iter().map(|fault| Wrong {
            line,
            column_code: fault.column.to_owned(),
            value: fault.value,
            words: fault.words,
        }));
        self.faults.len() < FAULTS || self.flush()
    }

    fn flush(&mut self) -> bool {
        let (lines, faults) = (std::mem::take(&mut self.ready), std::mem::take(&mut self.faults));
        (lines.count == 0 || self.to.blocking_send(Read::Lines(lines)).is_ok())
            && (faults.is_empty() || self.to.blocking_send(Read::Faults(faults)).is_ok())
    }
}

impl Drop for Reader {
    fn drop(&mut self) {
        self.flush();
        if let Ok(mut told) = self.told.lock() {
            *told = self.counts;
        }
    }
}

/// What makes a line the same as another of its table.
fn own(kind: Kind, row: &Row) -> Uuid {
    let codes: &[&str] = match kind {
        Kind::Customers => &["name", "street", "city"],
        Kind::Sites => &["street", "city", "zip", "name"],
        Kind::Plants => &[
            "site_number",
            "street",
            "city",
            "place",
            "host_plant",
            "height_ft",
            "stems_in",
            "girth_in",
            "ground_sqft",
            "count",
        ],
        Kind::Products => &["registration_number"],
        Kind::Applications => &[],
    };
    let mut digest = Sha256::new();
    for code in codes {
        digest.update(row.get(kind, code).unwrap_or_default().to_lowercase());
        digest.update([0]);
    }
    let bytes: [u8; 32] = digest.finalize().into();
    Uuid::from_bytes(std::array::from_fn(|n| bytes[n]))
}

/// Keeps what was found wrong with the lines as a whole; how many lines.
async fn found(doer: &Doer, tx: &mut Conn, taken: &Import) -> Result<u32> {
    let (mut after, mut count) = (0, 0);
    loop {
        let some = import::faults_found(tx, after, 500).await?;
        let Some(last) = some.last() else { return Ok(count) };
        after = last.line;
        let mut lines: Vec<i32> = some.iter().map(|fault| fault.line).collect();
        lines.dedup();
        count += u32::try_from(lines.len()).unwrap_or(u32::MAX);
        if count <= MOST_FAULTS {
            keep(doer, taken.id, &some).await?;
        }
    }
}

/// Forgets tables that nobody finished for a month; how many.
///
/// # Errors
/// When the database does not answer.
pub async fn prune(doer: &Doer) -> Result<u64> {
    let mut tx = doer.pool.begin().await?;
    let count = import::prune(&mut tx, doer.clock.now() - KEPT).await?;
    tx.commit().await?;
    Ok(count)
}
