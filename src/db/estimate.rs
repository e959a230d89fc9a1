//! Estimates as they were given to customers.
use super::Conn;
use crate::domain::agreement::PriceBasis;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// An estimate, without what it costs the company.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Estimate {
    pub id: Uuid,
    pub number: i64,
    pub site_id: Uuid,
    pub customer_id: Uuid,
    pub customer_name: String,
    pub customer_address: String,
    pub site_address: String,
    pub made_by_name: String,
    pub made_on: NaiveDate,
    pub valid_until: NaiveDate,
    /// Code of a `Pricing`.
    pub pricing: String,
    /// The one sum of a visit or a year.
    pub whole: Option<Decimal>,
    pub total: Decimal,
    pub note: String,
    pub accepted_at: Option<DateTime<Utc>>,
    pub withdrawn_at: Option<DateTime<Utc>>,
    pub withdrawn_reason: String,
}

/// A plant of it.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Line {
    pub position: i32,
    pub plant_id: Uuid,
    pub plant: String,
    /// Product and method in words.
    pub planned: String,
    pub label_version_id: Option<Uuid>,
    #[sqlx(try_from = "String")]
    pub basis: PriceBasis,
    /// For one of the basis.
    pub price: Decimal,
    pub counted: String,
    /// Nothing: within the one sum.
    pub amount: Option<Decimal>,
}

/// What it costs the company: only for its owner.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Cost {
    pub product_cost: Option<Decimal>,
    pub time_cost: Option<Decimal>,
    pub minutes: i32,
    /// What is not known.
    pub cost_lacks: String,
}

const COLUMNS: &str =
    "id, number, site_id, customer_id, customer_name, customer_address, site_address, made_by_name,
    made_on, valid_until, pricing, whole, total, note, accepted_at, withdrawn_at, withdrawn_reason";

fn select(rest: &str) -> sqlx::AssertSqlSafe<String> {
    sqlx::AssertSqlSafe(format!("select {COLUMNS} from estimate where {rest}"))
}

/// The estimates of a site, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn of_site(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Estimate>> {
    sqlx::query_as(select("site_id = $1 order by number desc limit 50")).bind(site).fetch_all(conn).await
}

/// One estimate.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Estimate>> {
    sqlx::query_as(select("id = $1")).bind(id).fetch_optional(conn).await
}

/// One estimate, locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Estimate>> {
    sqlx::query_as(select("id = $1 for update")).bind(id).fetch_optional(conn).await
}

/// The plants of an estimate.
///
/// # Errors
/// When the database does not answer.
pub async fn lines(conn: &mut Conn, id: Uuid) -> sqlx::Result<Vec<Line>> {
    sqlx::query_as(
        "select position, plant_id, plant, planned, label_version_id, basis, price, counted, amount
         from estimate_line where estimate_id = $1 order by position",
    )
    .bind(id)
    .fetch_all(conn)
    .await
}

/// What it costs the company.
///
/// # Errors
/// When the database does not answer.
pub async fn cost(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Cost>> {
    sqlx::query_as("select product_cost, time_cost, minutes, cost_lacks from estimate where id = $1")
        .bind(id)
        .fetch_optional(conn)
        .await
}

/// The label versions to which these uses belong, by use.
///
/// # Errors
/// When the database does not answer.
pub async fn versions_of_uses(conn: &mut Conn, uses: &[Uuid]) -> sqlx::Result<Vec<(Uuid, Uuid)>> {
    sqlx::query_as("select id, label_version_id from label_use where id = any($1)")
        .bind(uses)
        .fetch_all(conn)
        .await
}

/// Keeps an estimate; it takes the next number. `by` made it.
///
/// # Errors
/// `estimate_pkey`: the same form twice.
pub async fn insert(
    conn: &mut Conn,
    e: &Estimate,
    by: Uuid,
    lines: &[Line],
    cost: &Cost,
) -> sqlx::Result<()> {
    sqlx::query(
        "insert into estimate (id, site_id, customer_id, customer_name, customer_address, site_address, made_by,
            made_by_name, made_on, valid_until, pricing, whole, total, note, product_cost, time_cost, minutes, cost_lacks)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18)",
    )
    .bind(e.id)
    .bind(e.site_id)
    .bind(e.customer_id)
    .bind(&e.customer_name)
    .bind(&e.customer_address)
    .bind(&e.site_address)
    .bind(by)
    .bind(&e.made_by_name)
    .bind(e.made_on)
    .bind(e.valid_until)
    .bind(&e.pricing)
    .bind(e.whole)
    .bind(e.total)
    .bind(&e.note)
    .bind(cost.product_cost)
    .bind(cost.time_cost)
    .bind(cost.minutes)
    .bind(&cost.cost_lacks)
    .execute(&mut *conn)
    .await?;
    for l in lines {
        sqlx::query(
            "insert into estimate_line (estimate_id, position, plant_id, plant, planned, label_version_id, basis, price,
                counted, amount) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        )
        .bind(e.id)
        .bind(l.position)
        .bind(l.plant_id)
        .bind(&l.plant)
        .bind(&l.planned)
        .bind(l.label_version_id)
        .bind(l.basis.code())
        .bind(l.price)
        .bind(&l.counted)
        .bind(l.amount)
        .execute(&mut *conn)
        .await?;
    }
    Ok(())
}

/// Marks it as accepted.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn accept(conn: &mut Conn, id: Uuid, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query("update estimate set accepted_by = $2, accepted_at = $3 where id = $1")
        .bind(id)
        .bind(by)
        .bind(at)
        .execute(conn)
        .await?;
    Ok(())
}

/// Marks it as withdrawn.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn withdraw(
    conn: &mut Conn,
    id: Uuid,
    by: Uuid,
    at: DateTime<Utc>,
    reason: &str,
) -> sqlx::Result<()> {
    sqlx::query(
        "update estimate set withdrawn_by = $2, withdrawn_at = $3, withdrawn_reason = $4 where id = $1",
    )
    .bind(id)
    .bind(by)
    .bind(at)
    .bind(reason)
    .execute(conn)
    .await?;
    Ok(())
}
