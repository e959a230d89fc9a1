//! Writes: gather, decide, write, commit. Each verb is one transaction with its audit row.
pub mod account;
pub mod agreement;
pub mod answer;
pub mod calendar_feed;
pub mod company;
pub mod completion;
pub mod customer;
pub mod customer_mail;
pub mod day_hold;
mod diff;
pub mod document;
pub mod due;
pub mod duty;
pub mod error;
pub mod estimate;
pub mod evidence;
pub mod exemption;
pub mod export_job;
pub mod filing;
pub mod flag;
pub mod head_mail;
pub mod help;
pub mod import;
pub mod incident;
pub mod inspection;
pub mod kit;
pub mod label;
pub mod licensed;
pub mod look;
pub mod mail_terms;
pub mod message;
pub mod neighbour;
pub mod neighbour_proposal;
pub mod paper;
pub mod parcel;
pub mod password;
pub mod person;
pub mod phone_key;
pub mod photo;
pub mod plan;
pub mod plant;
pub mod product;
pub mod record;
pub mod registration;
pub mod reminder;
pub mod renewal;
pub mod secret;
pub mod signature;
pub mod site;
pub mod state_rule;
pub mod travel;
pub mod vehicle;
pub mod visit;
pub mod way_out;
pub mod working;

pub use error::{Error, Result};

use crate::{
    clock::Clock,
    db::{self, Conn, audit},
    travel_service::Service,
};
use chrono::NaiveDate;
use serde_json::Value;
use sqlx::PgPool;
use std::sync::Arc;
use uuid::Uuid;

/// Where the pages are when nobody says otherwise.
const HERE: &str = "http://127.0.0.1:8080";

/// What every verb needs: where to write, when it is, and who asks.
#[derive(Debug, Clone)]
pub struct Doer {
    pub pool: PgPool,
    pub clock: Clock,
    /// Nobody: the program itself, or a visitor with a link.
    pub person: Option<Uuid>,
    /// Who knows the roads; nobody is set: travel is estimated.
    pub travel: Option<Service>,
    /// The start of every link in what is written to customers.
    pub base: Arc<str>,
}

impl Doer {
    /// Where links lead, without the scheme: what is sent from here is named after it.
    #[must_use]
    pub fn host(&self) -> &str {
        self.base.split("://").nth(1).unwrap_or(&self.base)
    }

    /// The program itself at work.
    #[must_use]
    pub fn program(pool: &PgPool, clock: &Clock) -> Self {
        Self { pool: pool.clone(), clock: clock.clone(), person: None, travel: None, base: HERE.into() }
    }

    /// The same world with the address under which people reach the pages.
    #[must_use]
    pub fn with_base(self, base: &str) -> Self {
        Self { base: base.into(), ..self }
    }

    /// The same world with a service that knows the roads.
    #[must_use]
    pub fn with_travel(self, travel: Option<Service>) -> Self {
        Self { travel, ..self }
    }

    /// The same verb's world with this person as the one who acts.
    #[must_use]
    pub fn acting(&self, person: Uuid) -> Self {
        Self { person: Some(person), ..self.clone() }
    }

    /// The day it is where the company works.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn today(&self, conn: &mut Conn) -> Result<NaiveDate> {
        Ok(self.clock.today(db::company::time_zone(conn).await?))
    }

    /// Writes the deed down in its own transaction.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn note(&self, tx: &mut Conn, deed: &str, noun: &str, id: Uuid, detail: Value) -> Result<()> {
        let (at, person) = (self.clock.now(), self.person);
        Ok(audit::write(tx, audit::Deed { at, person, deed, noun, noun_id: Some(id), detail }).await?)
    }
}
