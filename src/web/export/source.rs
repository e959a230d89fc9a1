//! Which list, what it says of itself, and its rows from the database one after another.
use super::{Reader, Rows, rows};
use crate::{
    db::{
        Conn,
        audit::{self, After},
        customer, due, plant, report,
        seek::Seek,
        site,
    },
    domain::cell::Cell,
    output::table::{About, Format, PAPER_ROWS},
    web::{
        Error, Result,
        filings::log::StateLog,
        papers::notices::{self, NoticeLog},
        reports::cells,
        words,
    },
};
use chrono::Days;
use futures_util::TryStreamExt;

/// So many rows are read at once where a list is read in parts.
const BATCH: i64 = 1_000;

/// A list that leaves the house.
#[derive(Debug, Clone)]
pub enum Source {
    /// The application log.
    Log(report::Filter),
    Due(due::Filter),
    Customers {
        words: String,
        retired: bool,
    },
    Sites {
        words: String,
        retired: bool,
    },
    Plants {
        words: String,
        retired: bool,
    },
    Audit(audit::Filter),
    /// The application log of a state, with what its rule asks for.
    StateLog(StateLog),
    /// Posting and notices of visits.
    Notices(NoticeLog),
    /// Rows that are worked out already, such as a filing.
    Ready(Box<Ready>),
}

/// A list whose rows are there.
#[derive(Debug, Clone)]
pub struct Ready {
    pub title: String,
    pub period: String,
    pub stem: String,
    pub columns: Vec<&'static str>,
    pub cautions: Vec<String>,
    pub rows: Vec<Vec<Cell>>,
}

const LICENSED: &str =
    "The label and local rules decide; a licensed person answers for what is planned and what was applied.";

const OF_STATE: &str = "The live rule decides what a record must hold. Newest versions of our own records; what is \
    missing or kept elsewhere stands in its own columns.";

/// Which part of the log, in words.
fn applied(f: &report::Filter) -> String {
    let place = [(&f.county, " County"), (&f.state, "")];
    let place = place.iter().filter(|(v, _)| !v.is_empty()).map(|(v, end)| format!(", {v}{end}"));
    format!("{} to {}{}", words::day(f.from), words::day(f.until), place.collect::<String>())
}

/// Which part of the due list, in words.
fn wanted(f: &due::Filter) -> String {
    let held = if f.held_until.is_some() { "Held back, wanted " } else { "Wanted " };
    let from = f.from.map_or(String::new(), |day| format!("from {} ", words::day(day)));
    let until = f.until.or(f.held_until);
    let until = until.map_or("on any day".to_owned(), |day| format!("until {}", words::day(day)));
    let only = [&f.area, &f.host].into_iter().filter(|v| !v.is_empty()).map(|v| format!(", {v}"));
    format!("{held}{from}{until}{}", only.collect::<String>())
}

/// Which days of the audit, in words and for the file's name.
fn audited(f: &audit::Filter, reader: &Reader) -> (String, String) {
    let day = |at: chrono::DateTime<chrono::Utc>| at.with_timezone(&reader.time_zone).date_naive();
    let from = f.from.map(day);
    let until = f.before.map(day).and_then(|day| day.checked_sub_days(Days::new(1)));
    let words = match (from, until) {
        (Some(a), Some(b)) => format!("{} to {}", words::day(a), words::day(b)),
        (Some(a), None) => format!("From {}", words::day(a)),
        (None, Some(b)) => format!("Until {}", words::day(b)),
        (None, None) => "From the start".to_owned(),
    };
    let start = from.map_or("start".to_owned(), |day| day.to_string());
    (words, format!("audit_{start}_{}", until.unwrap_or(reader.today)))
}

impl Source {
    /// What the audit calls it.
    #[must_use]
    pub fn noun(&self) -> &'static str {
        match self {
            Self::Log(_) => "application log",
            Self::Due(_) => "due list",
            Self::Customers { .. } => "customers",
            Self::Sites { .. } => "sites",
            Self::Plants { .. } => "plants",
            Self::Audit(_) => "audit",
            Self::StateLog(_) => "state log",
            Self::Notices(_) => "posting and notices",
            Self::Ready(_) => "filing",
        }
    }

    /// What its files say of it.
    #[must_use]
    pub fn about(&self, reader: &Reader) -> About {
        let today = reader.today;
        let searched = |words: &str, retired: bool| {
            let found = if words.is_empty() { "All".to_owned() } else { format!("Found by \"{words}\"") };
            let which = if retired { ", retired ones too" } else { ", those in use" };
            format!("{found}{which}, on {}", words::day(today))
        };
        let of =
            |title: &str, period: String, columns: &[&'static str], cautions: &[&str], stem: String| About {
                title: title.to_owned(),
                company: reader.company.clone(),
                period,
                prepared_by: reader.name.clone(),
                prepared_on: today,
                cautions: cautions.iter().map(|&words| words.to_owned()).collect(),
                columns: columns.to_vec(),
                stem,
            };
        match self {
            Self::Log(f) => {
                let cautions = [
                    LICENSED,
                    "Newest versions only; withdrawn records and other companies' work are left out.",
                ];
                of(
                    "Application log",
                    applied(f),
                    &cells::COLUMNS,
                    &cautions,
                    format!("application-log_{}_{}", f.from, f.until),
                )
            }
            Self::Due(f) => of("Due list", wanted(f), &rows::DUE, &[LICENSED], format!("due_{today}")),
            Self::Customers { words, retired } => of(
                "Customers",
                searched(words, *retired),
                &rows::CUSTOMERS,
                &[],
                format!("customers_{today}"),
            ),
            Self::Sites { words, retired } => {
                of("Sites", searched(words, *retired), &rows::SITES, &[], format!("sites_{today}"))
            }
            Self::Plants { words, retired } => {
                of("Plants", searched(words, *retired), &rows::PLANTS, &[LICENSED], format!("plants_{today}"))
            }
            Self::Audit(f) => {
                let (words, stem) = audited(f, reader);
                of("Who did, saw and took out what", words, &rows::AUDIT, &[], stem)
            }
            Self::StateLog(log) => {
                of(&log.title(), log.period(), &log.columns(), &[LICENSED, OF_STATE], log.stem())
            }
            Self::Notices(log) => of(
                "Posting and notices",
                log.period(),
                &notices::COLUMNS,
                &[LICENSED, "The live rules decide; a rule that is marked unverified is from memory."],
                format!("posting-and-notices_{}_{}", log.from, log.until),
            ),
            Self::Ready(ready) => About {
                cautions: ready.cautions.clone(),
                ..of(&ready.title, ready.period.clone(), &ready.columns, &[], ready.stem.clone())
            },
        }
    }

    /// Refuses a list that is too long for paper, before any of it is read, where it cannot be offered in parts.
    ///
    /// # Errors
    /// [`Error::Refused`] with the way out.
    pub async fn must_fit(&self, conn: &mut Conn, format: Format) -> Result<()> {
        if format != Format::Pdf {
            return Ok(());
        }
        let count = self.count(conn).await?;
        if usize::try_from(count).is_ok_and(|count| count <= PAPER_ROWS) {
            return Ok(());
        }
        Err(Error::Refused(format!(
            "These are {count} rows, and paper takes {PAPER_ROWS}. Take the workbook or the CSV file, which hold any \
             number."
        )))
    }

    /// How many rows it has.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn count(&self, conn: &mut Conn) -> Result<i64> {
        Ok(match self {
            Self::Log(filter) => report::totals(conn, filter).await?.0,
            Self::Due(filter) => due::count(conn, filter).await?,
            Self::Customers { words, retired } => customer::count(conn, words, *retired).await?,
            Self::Sites { words, retired } => site::count(conn, words, *retired).await?,
            Self::Plants { words, retired } => plant::count(conn, words, *retired).await?,
            Self::Audit(filter) => audit::count(conn, filter).await?,
            Self::StateLog(log) => log.count(conn).await?,
            Self::Notices(log) => log.count(conn).await?,
            Self::Ready(ready) => i64::try_from(ready.rows.len()).unwrap_or(i64::MAX),
        })
    }

    /// Reads the rows and hands them on.
    ///
    /// # Errors
    /// When the database does not answer, or nobody takes the rows any more.
    pub async fn pour(&self, conn: &mut Conn, reader: &Reader, into: &mut Rows) -> anyhow::Result<()> {
        match self {
            Self::Log(filter) => {
                let (mut lines, mut cells) = (report::stream(conn, filter), cells::Rows::default());
                while let Some(line) = lines.try_next().await? {
                    into.row(cells.row(line)).await?;
                }
            }
            Self::Due(filter) => {
                let mut after = None;
                loop {
                    let lines = due::list(conn, filter, after, BATCH).await?;
                    let Some(last) = lines.last() else { break };
                    after = Some((last.list_on, last.plant_id));
                    for line in &lines {
                        into.row(rows::due(line, reader.today)).await?;
                    }
                }
            }
            Self::Audit(filter) => {
                let mut after = None;
                loop {
                    let lines = audit::list(conn, filter, after, BATCH).await?;
                    let Some(last) = lines.last() else { break };
                    after = Some(After { at: last.at, id: last.id });
                    for line in &lines {
                        into.row(rows::audit(line, reader.time_zone)).await?;
                    }
                }
            }
            Self::StateLog(log) => log.pour(conn, into).await?,
            Self::Notices(log) => log.pour(conn, (reader.today, reader.time_zone), into).await?,
            Self::Ready(ready) => {
                for row in &ready.rows {
                    into.row(row.clone()).await?;
                }
            }
            Self::Customers { .. } | Self::Sites { .. } | Self::Plants { .. } => {
                self.seek(conn, into).await?
            }
        }
        Ok(())
    }

    /// Lists that are read page by page.
    async fn seek(&self, conn: &mut Conn, into: &mut Rows) -> anyhow::Result<()> {
        let mut seek = Seek::First;
        loop {
            let (last, later, page) = match self {
                Self::Customers { words, retired } => {
                    let chunk = customer::list(conn, seek, words, *retired).await?;
                    let last = chunk.rows.last().map(|line| line.customer.id);
                    (last, chunk.later, chunk.rows.iter().map(rows::customer).collect::<Vec<_>>())
                }
                Self::Sites { words, retired } => {
                    let chunk = site::list(conn, seek, words, *retired).await?;
                    let last = chunk.rows.last().map(|line| line.id);
                    (last, chunk.later, chunk.rows.iter().map(rows::site).collect())
                }
                Self::Plants { words, retired } => {
                    let chunk = plant::list(conn, seek, words, *retired).await?;
                    let last = chunk.rows.last().map(|line| line.plant.id);
                    (last, chunk.later, chunk.rows.iter().map(rows::plant).collect())
                }
                _ => return Ok(()),
            };
            for row in page {
                into.row(row).await?;
            }
            match last {
                Some(id) if later => seek = Seek::After(id),
                _ => return Ok(()),
            }
        }
    }
}
