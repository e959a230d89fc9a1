//! The facts of every parcel of the company, in the order of parcels, as of one moment.
//!
//! What was applied is by far the most, and it is written in the order of days: it is sorted once by
//! parcel and streams in on a connection of its own. The rest is read share by share beside it.
use super::{
    Conn,
    gathered::{Companies, Gathered},
    rows::{self, AppliedRow},
};
use crate::domain::facts::Facts;
use chrono::NaiveDate;
use futures_util::{
    TryStreamExt,
    stream::{BoxStream, Peekable, StreamExt},
};
use std::pin::Pin;
use uuid::Uuid;

/// Everything that was applied, as it streams in.
pub struct Every<'c> {
    applied: Peekable<BoxStream<'c, sqlx::Result<AppliedRow>>>,
}

impl<'c> Every<'c> {
    /// Begins the pass; the connection serves nothing else meanwhile.
    pub fn begin(conn: &'c mut Conn) -> Self {
        Self { applied: rows::all_applied(conn).peekable() }
    }

    /// The rows of the next parcels, which follow on those asked for before; the other facts are read
    /// over `conn`, which sees the same moment.
    ///
    /// # Errors
    /// When the database does not answer, or a row cannot be.
    pub async fn next(&mut self, conn: &mut Conn, parcels: &[Uuid], today: NaiveDate) -> sqlx::Result<Share> {
        let mut applied = vec![];
        while let (Some(last), Some(Ok(row))) = (parcels.last(), Pin::new(&mut self.applied).peek().await)
            && row.parcel_id <= *last
        {
            applied.extend(self.applied.try_next().await?);
        }
        if let Some(Err(_)) = Pin::new(&mut self.applied).peek().await {
            self.applied.try_next().await?;
        }
        let gathered = Gathered::with(conn, parcels, applied, today).await?;
        let companies = gathered.companies(conn, today).await?;
        Ok(Share { parcels: parcels.to_vec(), companies, gathered, today })
    }
}

/// The rows of some parcels; what they mean is worked out without the database.
pub struct Share {
    parcels: Vec<Uuid>,
    companies: Companies,
    gathered: Gathered,
    today: NaiveDate,
}

impl Share {
    /// The facts of each parcel.
    ///
    /// # Errors
    /// A decode error when a row cannot be.
    pub fn facts(self) -> sqlx::Result<Vec<(Uuid, Facts)>> {
        self.gathered.take_all(&self.parcels, self.today, &self.companies)
    }
}
