//! What happened to the renewal of each site. Events are only added.
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// An event.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Event {
    pub id: Uuid,
    pub site_id: Uuid,
    pub customer_id: Uuid,
    /// `reminded`, `accepted`, `other-day`, `declined` or `taken-back`.
    pub kind: String,
    /// The day on which the site was due then.
    pub due_on: Option<NaiveDate>,
    /// The day that was asked for.
    pub wished_on: Option<NaiveDate>,
    /// Code of the reason why it was declined.
    pub reason: Option<String>,
    pub words: String,
    /// `link`, `telephone`, `mail`, `in-person` or `program`.
    pub came_by: String,
    /// The price that was named, in US dollars.
    pub price: Option<Decimal>,
    /// Nobody: the customer's own hand, or the program.
    pub entered_by: Option<Uuid>,
    pub happened_at: DateTime<Utc>,
}

/// Adds an event; whether it was new, since the same one may be sent twice.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(conn: &mut Conn, e: &Event) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into renewal_event (id, site_id, customer_id, kind, due_on, wished_on, reason, words, came_by, price,
            entered_by, happened_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) on conflict (id) do nothing",
    )
    .bind(e.id)
    .bind(e.site_id)
    .bind(e.customer_id)
    .bind(&e.kind)
    .bind(e.due_on)
    .bind(e.wished_on)
    .bind(&e.reason)
    .bind(&e.words)
    .bind(&e.came_by)
    .bind(e.price)
    .bind(e.entered_by)
    .bind(e.happened_at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// The events of a site, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn of_site(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Event>> {
    sqlx::query_as(
        "select id, site_id, customer_id, kind, due_on, wished_on, reason, words, came_by, price, entered_by,
            happened_at
         from renewal_event where site_id = $1 order by happened_at desc, id desc",
    )
    .bind(site)
    .fetch_all(conn)
    .await
}
