//! Uses that a record may name, and the label that was in force on its day.
use crate::db::Conn;
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

/// A use with what a record copies of its label and product.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Choice {
    pub label_use_id: Uuid,
    pub label_version_id: Uuid,
    pub product_id: Uuid,
    pub product_name: String,
    pub registration_number: String,
    /// `liquid`, `dry`, `packet` or `tablet`.
    pub form: String,
    pub signed: bool,
    pub use_name: String,
    pub method: String,
    /// Code of a `MeasureBasis`, such as `height-ft`.
    pub measure: String,
    pub rate_low: Decimal,
    pub rate_high: Decimal,
    pub rate_unit: String,
    /// For how many feet, inches and so on the rate is stated.
    pub rate_per: Decimal,
}

const CHOICE: &str = "select u.id as label_use_id, l.id as label_version_id, r.id as product_id,
        r.name as product_name, r.registration_number, r.form, l.signed_at is not null as signed,
        u.name as use_name, u.method, u.measure, u.rate_low, u.rate_high, u.rate_unit, u.rate_per
     from label_use u join label_version l on l.id = u.label_version_id join product r on r.id = l.product_id";

/// The uses of each product's label in force; of its newest entry where none is signed yet.
///
/// # Errors
/// When the database does not answer.
pub async fn choices(conn: &mut Conn) -> sqlx::Result<Vec<Choice>> {
    let text = format!(
        "{CHOICE} where l.id = (select n.id from label_version n where n.product_id = r.id
            order by n.signed_at is not null desc, n.number desc limit 1)
         order by lower(r.name), lower(u.name), u.id"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).fetch_all(conn).await
}

/// The use of that id, as the label in force on that day has it: the newest version signed by then, else
/// the first signed one, else the use itself. `None`: no such use.
///
/// # Errors
/// When the database does not answer.
pub async fn choice_on(conn: &mut Conn, label_use: Uuid, on: NaiveDate) -> sqlx::Result<Option<Choice>> {
    let text = format!(
        "{CHOICE} join label_use given on given.id = $1 and given.code = u.code
         join label_version gl on gl.id = given.label_version_id and gl.product_id = l.product_id
         left join company on true
         cross join lateral (select
            coalesce((l.signed_at at time zone coalesce(company.time_zone, 'UTC'))::date <= $2, false) as by_then) w
         where l.signed_at is not null or u.id = given.id
         order by w.by_then desc, case when w.by_then then l.number end desc, l.signed_at is null, l.number
         limit 1"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(label_use).bind(on).fetch_optional(conn).await
}

/// The use of that id, whichever label it stands on.
///
/// # Errors
/// When the database does not answer.
pub async fn choice_of(conn: &mut Conn, label_use: Uuid) -> sqlx::Result<Option<Choice>> {
    let text = format!("{CHOICE} where u.id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(label_use).fetch_optional(conn).await
}

/// Which of these label versions were not signed yet at the end of that day, with the day of their
/// signature where there is one by now.
///
/// # Errors
/// When the database does not answer.
pub async fn unsigned_on(
    conn: &mut Conn,
    versions: &[Uuid],
    on: NaiveDate,
) -> sqlx::Result<Vec<(Uuid, Option<NaiveDate>)>> {
    sqlx::query_as(
        "select id, day from (select l.id,
                (l.signed_at at time zone coalesce(company.time_zone, 'UTC'))::date as day
             from label_version l left join company on true where l.id = any($1)) as signed
         where day is null or day > $2 order by id",
    )
    .bind(versions)
    .bind(on)
    .fetch_all(conn)
    .await
}

/// A plant in the words that a record keeps.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Planted {
    pub id: Uuid,
    pub site_id: Uuid,
    pub place: String,
    pub host_plant: String,
    pub kind: String,
    pub target_pest: String,
    pub count: i32,
    pub retired: bool,
}

/// The plants of a site, retired ones last.
///
/// # Errors
/// When the database does not answer.
pub async fn plants(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Planted>> {
    sqlx::query_as(
        "select id, site_id, place, host_plant, kind, target_pest, count, retired_at is not null as retired
         from plant where site_id = $1 order by retired_at is not null, lower(place), id",
    )
    .bind(site)
    .fetch_all(conn)
    .await
}

/// Gives the plant the measure that was taken on the spot: its height, its one trunk's diameter or girth, or the
/// treated ground.
///
/// # Errors
/// When the measure is not above zero.
pub async fn set_measure(conn: &mut Conn, plant: Uuid, basis: &str, measure: Decimal) -> sqlx::Result<()> {
    sqlx::query(
        "update plant set height_ft = case when $2 = 'height-ft' then $3 else height_ft end,
            stems_in = case $2 when 'diameter-in' then array[$3] when 'circumference-in' then '{}' else stems_in end,
            stem_rule = case when $2 in ('diameter-in', 'circumference-in') then null else stem_rule end,
            girth_in = case $2 when 'circumference-in' then $3 when 'diameter-in' then null else girth_in end,
            ground = case $2 when 'area-1000sqft' then $3 * 1000 when 'area-acre' then $3 else ground end,
            ground_unit = case $2 when 'area-1000sqft' then 'sqft' when 'area-acre' then 'acre' else ground_unit end
         where id = $1",
    )
    .bind(plant)
    .bind(basis)
    .bind(measure)
    .execute(conn)
    .await?;
    Ok(())
}
