//! The application log of one state with the parts that its rule asks for, as a file of any kind.
use super::columns::{Columns, names_of, restricted};
use crate::{
    db::{
        Conn, company,
        record::{self, After, Filter, Version},
        sync,
    },
    domain::filing::{self, Jurisdiction},
    web::{export::Rows, form::Form, words},
};
use chrono::NaiveDate;
use serde::Deserialize;
use sqlx::Connection;

/// So many records are held at once.
const BATCH: i64 = 200;

/// Which state and days; without days the year so far.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    pub state: String,
    from: String,
    until: String,
}

/// The log of a state over some days.
#[derive(Debug, Clone, Copy)]
pub struct StateLog {
    pub of: &'static Jurisdiction,
    pub from: NaiveDate,
    pub until: NaiveDate,
}

impl Ask {
    /// What is asked for; none: there is no such state, or its days are none.
    #[must_use]
    pub fn read(self, today: NaiveDate) -> Option<StateLog> {
        let of = filing::find(&self.state)?;
        let first = filing::Period::of(filing::Every::Year, today).first_day();
        let mut form = Form::filled([("from", self.from), ("until", self.until)]);
        let (from, until) = (form.date("from").unwrap_or(first), form.date("until").unwrap_or(today));
        (form.is_good() && from <= until).then_some(StateLog { of, from, until })
    }
}

impl StateLog {
    /// Its columns.
    #[must_use]
    pub fn columns(&self) -> Vec<&'static str> {
        names_of(self.of)
    }

    /// `Log for Texas`
    #[must_use]
    pub fn title(&self) -> String {
        format!("Application log for {}", self.of.name)
    }

    /// `Jan 1, 2026 to Nov 25, 2026`
    #[must_use]
    pub fn period(&self) -> String {
        format!("{} to {}", words::day(self.from), words::day(self.until))
    }

    /// The file's name up to its dot.
    #[must_use]
    pub fn stem(&self) -> String {
        format!("log_{}_{}_{}", self.of.code, self.from, self.until)
    }

    fn filter(&self) -> Filter {
        let state = if self.of.code == filing::federal::FEDERAL.code { "" } else { self.of.code };
        Filter {
            from: Some(self.from),
            until: Some(self.until),
            state: state.to_owned(),
            ..Filter::default()
        }
    }

    /// How many rows it has.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn count(&self, conn: &mut Conn) -> sqlx::Result<i64> {
        record::own_rows(conn, &self.filter(), self.of.record.restricted_only).await
    }

    /// Reads the records of one moment in batches, and hands them on no faster than they are taken.
    ///
    /// # Errors
    /// When the database does not answer, or nobody takes the rows any more.
    pub async fn pour(&self, conn: &mut Conn, into: &mut Rows) -> anyhow::Result<()> {
        let mut tx = conn.begin().await?;
        sync::as_of_now(&mut tx).await?;
        let company = company::find(&mut tx).await?.ok_or_else(|| anyhow::anyhow!("there is no company"))?;
        let mut columns = Columns::of(self.of, company);
        let filter = self.filter();
        let mut after = None;
        loop {
            let batch = record::report(&mut tx, &filter, after, BATCH).await?;
            let Some(last) = batch.last() else { return Ok(()) };
            after = Some(After { applied_on: last.head.applied_on, id: last.head.id });
            self.write(&mut tx, &mut columns, into, &batch).await?;
        }
    }

    /// Our own work only; of a rule for restricted products only those products.
    async fn write(
        &self,
        conn: &mut Conn,
        columns: &mut Columns,
        into: &mut Rows,
        batch: &[Version],
    ) -> anyhow::Result<()> {
        let ruled = restricted(conn, batch).await?;
        for version in batch.iter().filter(|version| version.head.origin == "own") {
            for item in &version.items {
                let held = ruled.contains(&item.label_version_id);
                if self.of.record.restricted_only && !held {
                    continue;
                }
                columns.know(conn, item.label_version_id).await?;
                into.row(columns.cells(version, item, held)).await?;
            }
        }
        Ok(())
    }
}
