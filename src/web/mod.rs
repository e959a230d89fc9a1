//! Pages and forms: who asks, the one door to the noun, a read, the rules, a template.
pub mod account;
pub mod agreements;
pub mod answers;
pub mod audit;
pub mod band;
pub mod brought;
pub mod calendars;
pub mod company;
pub mod customer_page;
pub mod customers;
pub mod day_holds;
pub mod documents;
pub mod due;
pub mod error;
pub mod estimates;
pub mod evidence;
pub mod export;
pub mod field;
pub mod files;
pub mod filings;
pub mod form;
pub mod guard;
pub mod help;
pub mod home;
pub mod imports;
pub mod incidents;
pub mod inspections;
pub mod kit;
pub mod labels;
pub mod looks;
pub mod messages;
pub mod page;
pub mod pager;
pub mod papers;
pub mod people;
pub mod plans;
pub mod plants;
pub mod pour;
pub mod price_list;
pub mod products;
pub mod protection;
pub mod records;
pub mod reminders;
pub mod renewals;
pub mod reports;
pub mod router;
pub mod seen;
pub mod session;
pub mod sharing;
pub mod sheets;
pub mod sites;
pub mod state_rules;
pub mod statics;
pub mod survival;
pub mod trail;
pub mod vehicles;
pub mod visits;
pub mod ways_out;
pub mod what_if;
pub mod words;
pub mod working;

use crate::{actions::Doer, clock::Clock, config::ServeConfig, travel_service::Service};
use sqlx::PgPool;
use std::sync::Arc;

pub use error::{Error, Result};
pub use router::app;

/// What every handler may reach. Copies share everything; nothing in it changes.
#[derive(Clone, Debug)]
pub struct AppState {
    pub pool: PgPool,
    pub clock: Clock,
    pub config: Arc<ServeConfig>,
    /// Who knows the roads, made once: copies share its connections.
    pub travel: Option<Service>,
}

impl AppState {
    /// The actions' world, with nobody acting.
    #[must_use]
    pub fn nobody(&self) -> Doer {
        let doer = Doer::program(&self.pool, &self.clock).with_travel(self.travel.clone());
        doer.with_base(&self.config.base_url())
    }
}
