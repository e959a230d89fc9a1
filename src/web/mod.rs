//! Pages and forms: who asks, the one door to the noun, a read, the rules, a template.
pub mod account;
pub mod company;
pub mod customers;
pub mod due;
pub mod error;
pub mod field;
pub mod form;
pub mod guard;
pub mod help;
pub mod home;
pub mod labels;
pub mod page;
pub mod pager;
pub mod people;
pub mod plants;
pub mod pour;
pub mod products;
pub mod protection;
pub mod records;
pub mod reports;
pub mod router;
pub mod seen;
pub mod session;
pub mod sites;
pub mod state_rules;
pub mod statics;
pub mod visits;
pub mod words;

use crate::{actions::Doer, clock::Clock, config::ServeConfig};
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
}

impl AppState {
    /// The actions' world, with nobody acting.
    #[must_use]
    pub fn nobody(&self) -> Doer {
        Doer::program(&self.pool, &self.clock)
    }
}
