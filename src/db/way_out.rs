//! Ways out that were chosen for plants, and records that were split.
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// What a plant is meant to get.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Meant {
    pub product: Option<Uuid>,
    pub use_code: Option<String>,
    pub rate: Option<Decimal>,
    pub count: i32,
}

/// A choice, with what was meant before and since.
#[derive(Debug, Clone)]
pub struct Choice {
    pub id: Uuid,
    pub plant: Uuid,
    pub kind: String,
    pub by: Uuid,
    pub on: NaiveDate,
    pub was: Meant,
    pub now: Meant,
    /// The record that took the other part.
    pub part: Option<Uuid>,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    plant_id: Uuid,
    kind: String,
    chosen_by: Uuid,
    chosen_on: NaiveDate,
    was_product: Option<Uuid>,
    was_use: Option<String>,
    was_rate: Option<Decimal>,
    was_count: i32,
    now_product: Option<Uuid>,
    now_use: Option<String>,
    now_rate: Option<Decimal>,
    now_count: i32,
    part_plant: Option<Uuid>,
}

impl From<Row> for Choice {
    fn from(r: Row) -> Self {
        let was = Meant { product: r.was_product, use_code: r.was_use, rate: r.was_rate, count: r.was_count };
        let now = Meant { product: r.now_product, use_code: r.now_use, rate: r.now_rate, count: r.now_count };
        let (plant, by, on) = (r.plant_id, r.chosen_by, r.chosen_on);
        Self { id: r.id, plant, kind: r.kind, by, on, was, now, part: r.part_plant }
    }
}

/// Keeps a choice.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(conn: &mut Conn, c: &Choice, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into way_out_choice (id, plant_id, kind, chosen_by, chosen_on, chosen_at, was_product, was_use,
            was_rate, was_count, now_product, now_use, now_rate, now_count, part_plant)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)",
    )
    .bind(c.id)
    .bind(c.plant)
    .bind(&c.kind)
    .bind(c.by)
    .bind(c.on)
    .bind(at)
    .bind(c.was.product)
    .bind(&c.was.use_code)
    .bind(c.was.rate)
    .bind(c.was.count)
    .bind(c.now.product)
    .bind(&c.now.use_code)
    .bind(c.now.rate)
    .bind(c.now.count)
    .bind(c.part)
    .execute(conn)
    .await?;
    Ok(())
}

/// One choice that was not taken back.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Choice>> {
    let row: Option<Row> =
        sqlx::query_as("select * from way_out_choice where id = $1 and taken_back_at is null")
            .bind(id)
            .fetch_optional(conn)
            .await?;
    Ok(row.map(Choice::from))
}

/// The latest choice of each of these plants that was made on that day and not taken back.
///
/// # Errors
/// When the database does not answer.
pub async fn of_day(conn: &mut Conn, plants: &[Uuid], on: NaiveDate) -> sqlx::Result<Vec<Choice>> {
    let rows: Vec<Row> = sqlx::query_as(
        "select * from (select distinct on (plant_id) * from way_out_choice
            where plant_id = any($1) and chosen_on = $2 and taken_back_at is null
            order by plant_id, chosen_at desc, id desc) c order by chosen_at desc",
    )
    .bind(plants)
    .bind(on)
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Choice::from).collect())
}

/// Notes that a choice was taken back.
///
/// # Errors
/// When the database does not answer.
pub async fn take_back(conn: &mut Conn, id: Uuid, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query("update way_out_choice set taken_back_at = $2 where id = $1")
        .bind(id)
        .bind(at)
        .execute(conn)
        .await?;
    Ok(())
}

/// Notes that a plant is a part of what another record was until that day.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn split(conn: &mut Conn, part: Uuid, from: Uuid, on: NaiveDate) -> sqlx::Result<()> {
    sqlx::query("insert into plant_split (plant_id, from_plant, split_on) values ($1, $2, $3)")
        .bind(part)
        .bind(from)
        .bind(on)
        .execute(conn)
        .await?;
    Ok(())
}

/// Whether anything was applied to the plant itself or is booked for it.
///
/// # Errors
/// When the database does not answer.
pub async fn is_in_use(conn: &mut Conn, plant: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from application_item where plant_id = $1)
            or exists (select 1 from planned_dose d join visit v on v.id = d.visit_id and v.status = 'booked'
                where d.plant_id = $1 and d.status = 'planned')",
    )
    .bind(plant)
    .fetch_one(conn)
    .await
}
