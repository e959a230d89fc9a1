//! Looks at plants for their pests, and what they say of treatments.
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A look.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct PlantLook {
    pub id: Uuid,
    pub plant_id: Uuid,
    pub on_date: NaiveDate,
    pub pest: String,
    pub seen: bool,
    pub words: String,
}

/// A look with its names.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    #[sqlx(flatten)]
    pub look: PlantLook,
    pub inspected_by: String,
    pub struck_by: Option<String>,
    pub struck_reason: String,
}

/// The looks at a plant, the newest first; those struck out stand where they stood.
///
/// # Errors
/// When the database does not answer.
pub async fn of_plant(conn: &mut Conn, plant: Uuid) -> sqlx::Result<Vec<Line>> {
    sqlx::query_as(
        "select i.id, i.plant_id, i.on_date, i.pest, i.seen, i.words, p.name as inspected_by, s.name as struck_by,
            i.struck_reason
         from plant_look i join person p on p.id = i.inspected_by left join person s on s.id = i.struck_by
         where i.plant_id = $1 order by i.on_date desc, i.id desc limit 200",
    )
    .bind(plant)
    .fetch_all(conn)
    .await
}

/// One look.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<PlantLook>> {
    sqlx::query_as("select id, plant_id, on_date, pest, seen, words from plant_look where id = $1")
        .bind(id)
        .fetch_optional(conn)
        .await
}

/// Writes a look down; whether it was new.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(conn: &mut Conn, i: &PlantLook, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into plant_look (id, plant_id, on_date, pest, seen, words, inspected_by, entered_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8) on conflict (id) do nothing",
    )
    .bind(i.id)
    .bind(i.plant_id)
    .bind(i.on_date)
    .bind(&i.pest)
    .bind(i.seen)
    .bind(&i.words)
    .bind(by)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Strikes a look out; whether it stood.
///
/// # Errors
/// When the database does not answer.
pub async fn strike(
    conn: &mut Conn,
    id: Uuid,
    by: Uuid,
    at: DateTime<Utc>,
    reason: &str,
) -> sqlx::Result<bool> {
    let text = "update plant_look set struck_by = $2, struck_at = $3, struck_reason = $4 where id = $1 and struck_at is null";
    super::struck_out(conn, text, id, (by, at, reason)).await
}

/// A treatment of a plant with everybody's looks at it for the pest it was meant for.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Treated {
    pub product_id: Uuid,
    pub product: String,
    /// Lower case.
    pub pest: String,
    /// As the record states it; nothing: it was not noted.
    pub rate: Option<Decimal>,
    pub unit: String,
    pub measure_basis: String,
    pub on: NaiveDate,
    pub uptake_days: i32,
    /// Days of protection that the label's use states, from the application.
    pub label_days: i32,
    /// When the plant was next treated, with whatever.
    pub next_on: Option<NaiveDate>,
    pub looked_on: Vec<NaiveDate>,
    pub looked_seen: Vec<bool>,
}

/// Every treatment of ours, with a use of a label, of a plant that somebody looked at since.
///
/// # Errors
/// When the database does not answer.
pub async fn treated(conn: &mut Conn) -> sqlx::Result<Vec<Treated>> {
    sqlx::query_as(
        "select i.product_id, d.name as product, lower(i.target_pest) as pest, i.rate, i.unit, i.measure_basis,
            r.applied_on as on, u.uptake_days,
            (r.applied_on + make_interval(
                months => case when u.protection_unit = 'month' then u.protection_value else 0 end,
                days => case u.protection_unit when 'day' then u.protection_value
                    when 'week' then 7 * u.protection_value else 0 end,
                years => case when u.protection_unit = 'year' then u.protection_value else 0 end))::date
                - r.applied_on as label_days,
            (select min(n.applied_on) from application_item k
                join application_now n on n.id = k.record_id and n.version = k.version
                where k.plant_id = i.plant_id and n.applied_on > r.applied_on) as next_on,
            l.looked_on, l.looked_seen
         from application_now r
         join application_item i on i.record_id = r.id and i.version = r.version and i.plant_id is not null
         join label_use u on u.id = i.label_use_id join product d on d.id = i.product_id
         join lateral (select array_agg(x.on_date order by x.on_date, x.id) as looked_on,
                array_agg(x.seen order by x.on_date, x.id) as looked_seen
            from plant_look x where x.plant_id = i.plant_id and x.struck_at is null and x.on_date > r.applied_on
                and lower(x.pest) = lower(i.target_pest)) l on l.looked_on is not null
         where r.origin = 'own' and i.target_pest <> ''
         order by d.name, pest, i.rate, r.applied_on, r.id, i.position",
    )
    .fetch_all(conn)
    .await
}
