//! What the company measures with and mixes in.
use super::Conn;
use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A cup, a syringe, a scale, or a tank.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Item {
    pub id: Uuid,
    /// `vessel` or `tank`.
    pub kind: String,
    pub name: String,
    /// From mark to mark; a tank has none.
    pub mark: Option<Decimal>,
    /// How much it holds; a tank always says so.
    pub holds: Option<Decimal>,
    pub unit: String,
}

/// All that is in use: what measures finest first, then tanks by what they hold.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn) -> sqlx::Result<Vec<Item>> {
    sqlx::query_as(
        "select id, kind, name, mark, holds, unit from kit where retired_at is null
         order by kind desc, unit, mark, holds, lower(name), id",
    )
    .fetch_all(conn)
    .await
}

/// One of them, if it is in use.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Item>> {
    sqlx::query_as("select id, kind, name, mark, holds, unit from kit where id = $1 and retired_at is null")
        .bind(id)
        .fetch_optional(conn)
        .await
}

/// Enters one.
///
/// # Errors
/// `kit_pkey` when it is there already, `kit_mark_fits` when a mark is more than it holds.
pub async fn insert(conn: &mut Conn, item: &Item, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into kit (id, kind, name, mark, holds, unit, created_at) values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(item.id)
    .bind(&item.kind)
    .bind(&item.name)
    .bind(item.mark)
    .bind(item.holds)
    .bind(&item.unit)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes one.
///
/// # Errors
/// As [`insert`].
pub async fn update(conn: &mut Conn, item: &Item) -> sqlx::Result<()> {
    sqlx::query("update kit set name = $2, mark = $3, holds = $4, unit = $5 where id = $1")
        .bind(item.id)
        .bind(&item.name)
        .bind(item.mark)
        .bind(item.holds)
        .bind(&item.unit)
        .execute(conn)
        .await?;
    Ok(())
}

/// Takes one out of use, or back.
///
/// # Errors
/// When the database does not answer.
pub async fn set_retired(conn: &mut Conn, id: Uuid, at: Option<DateTime<Utc>>) -> sqlx::Result<()> {
    sqlx::query("update kit set retired_at = $2 where id = $1").bind(id).bind(at).execute(conn).await?;
    Ok(())
}
