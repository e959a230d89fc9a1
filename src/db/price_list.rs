//! What the company asks where nothing is agreed, and what an hour costs it.
use super::Conn;
use rust_decimal::Decimal;

/// US dollars for one of each; nothing: not said.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct PriceList {
    pub foot: Option<Decimal>,
    pub inch: Option<Decimal>,
    pub plant: Option<Decimal>,
    pub visit: Option<Decimal>,
    pub year: Option<Decimal>,
    /// What an hour of a technician costs the company; only its owner sees it.
    pub hour_cost: Option<Decimal>,
}

/// The list; an empty one before it was ever saved.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn) -> sqlx::Result<PriceList> {
    let found = sqlx::query_as("select foot, inch, plant, visit, year, hour_cost from price_list");
    Ok(found.fetch_optional(conn).await?.unwrap_or_default())
}

/// Puts this list in the place of the old one.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn save(conn: &mut Conn, list: &PriceList) -> sqlx::Result<()> {
    sqlx::query(
        "insert into price_list (foot, inch, plant, visit, year, hour_cost) values ($1, $2, $3, $4, $5, $6)
         on conflict (only_row) do update set foot = $1, inch = $2, plant = $3, visit = $4, year = $5, hour_cost = $6",
    )
    .bind(list.foot)
    .bind(list.inch)
    .bind(list.plant)
    .bind(list.visit)
    .bind(list.year)
    .bind(list.hour_cost)
    .execute(conn)
    .await?;
    Ok(())
}
