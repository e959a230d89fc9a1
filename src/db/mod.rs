//! The only SQL. One file per noun, private row shapes, a connection as argument:
//! the caller decides what is one transaction.
pub mod agreement;
pub mod answer;
pub mod audit;
pub mod calendar_feed;
pub mod chain;
pub mod charge;
pub mod company;
pub mod completion;
pub mod customer;
pub mod customer_mail;
pub mod day_hold;
pub mod demo;
pub mod document;
pub mod due;
pub mod duty;
pub mod estimate;
pub mod export_job;
pub mod fact;
pub mod filing;
pub mod flag;
pub mod head;
pub mod head_mail;
pub mod import;
pub mod incident;
pub mod inspection;
pub mod invitation;
pub mod kit;
pub mod label;
pub mod ledger;
pub mod look;
pub mod mail_terms;
pub mod message;
pub mod migration;
pub mod neighbour;
pub mod neighbour_proposal;
pub mod offer_day;
pub mod paper;
pub mod parcel;
pub mod person;
pub mod photo;
pub mod plan;
pub mod plant;
pub mod price_list;
pub mod product;
pub mod record;
pub mod registration;
pub mod reminder;
pub mod renewal;
pub mod report;
pub mod role;
pub mod seek;
pub mod session;
pub mod sheet;
pub mod signature;
pub mod site;
pub mod state_rule;
pub mod sync;
pub mod travel;
pub mod treatment;
pub mod unrecorded;
pub mod vehicle;
pub mod verify;
pub mod visit;
pub mod visit_told;
pub mod way_out;
pub mod working;

/// The connection that every query takes.
pub type Conn = sqlx::PgConnection;

/// Whether statements of this transaction are planned once on a connection, or for each of their values. Some
/// twenty statements that look up a few rows by their keys are planned longer than they run.
///
/// # Errors
/// When the database does not answer.
pub async fn plan_statements_once(conn: &mut Conn, once: bool) -> sqlx::Result<()> {
    let text = if once {
        "set local plan_cache_mode = force_generic_plan"
    } else {
        "set local plan_cache_mode = auto"
    };
    sqlx::query(text).execute(conn).await?;
    Ok(())
}

/// Strikes a row out by this statement, in whose name, when and why; whether it stood.
async fn struck_out(
    conn: &mut Conn,
    text: &'static str,
    id: uuid::Uuid,
    (by, at, reason): (uuid::Uuid, chrono::DateTime<chrono::Utc>, &str),
) -> sqlx::Result<bool> {
    let done = sqlx::query(text).bind(id).bind(by).bind(at).bind(reason).execute(conn).await?;
    Ok(done.rows_affected() == 1)
}

/// The named constraint that a failed write ran into, if it was one.
#[must_use]
pub fn broken_constraint(error: &sqlx::Error) -> Option<&str> {
    error.as_database_error().and_then(|e| e.constraint())
}
