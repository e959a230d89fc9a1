//! What plain SQL says of the same rows.

use anyhow::ensure;
use chrono::NaiveDate;
use plantward::db::{Conn, fact};
use plantward::domain::{
    book::Book,
    quantity::{Exact, from_decimal, parse},
};
use rust_decimal::Decimal;
use sqlx::PgPool;
use std::collections::HashMap;
use uuid::Uuid;

/// Grams in one unit of each product: by the strengths of `ground.sql` and the definitions of the
/// gallon (231 cubic inches of 2.54 cm) and the pound (0.45359237 kg).
const GRAMS: &str =
    "case when g.strength_unit = 'lb/gal' then i.amount * g.strength * 453.59237 / 3785.411784
    when g.strength_unit = 'g/L' then i.amount * g.strength / 1000 else i.amount * g.strength / 100 end";

/// One GROUP BY over every application: grams by parcel, ingredient and calendar year.
pub async fn floor(pool: &PgPool) -> anyhow::Result<i64> {
    let text = format!(
        "select count(*) from (
            select r.parcel_id, g.name, extract(year from r.applied_on), sum({GRAMS})
            from application_now r
                join application_item i on i.record_id = r.id and i.version = r.version
                join label_ingredient g on g.label_version_id = i.label_version_id
            group by 1, 2, 3) x"
    );
    Ok(sqlx::query_scalar(sqlx::AssertSqlSafe(text)).fetch_one(pool).await?)
}

/// Is what the engine counts what SQL counts? Sums of this calendar year on each of some parcels; of
/// every plant the end of protection.
pub async fn check(pool: &PgPool, today: NaiveDate) -> anyhow::Result<()> {
    let protected: i64 = sqlx::query_scalar(
        "with ends as (
            select i.plant_id, max((r.applied_on + make_interval(
                days => case u.protection_unit when 'day' then 1 when 'week' then 7 else 0 end * u.protection_value,
                months => case u.protection_unit when 'month' then 1 when 'year' then 12 else 0 end * u.protection_value
            ))::date) as until
            from application_now r join application_item i on i.record_id = r.id and i.version = r.version
                join label_use u on u.id = i.label_use_id group by 1)
         select count(*) from due d left join ends e using (plant_id) where e.until is distinct from d.protected_until",
    )
    .fetch_one(pool)
    .await?;
    ensure!(protected == 0, "{protected} plants whose protection ends on another day by plain SQL");
    let parcels = some_parcels(pool, 500).await?;
    let text = format!(
        "select r.parcel_id, g.name, sum({GRAMS}) filter (where extract(year from r.applied_on) = extract(year from $2)),
            sum({GRAMS}) filter (where r.applied_on > ($2 - interval '1 year'))
         from application_now r
            join application_item i on i.record_id = r.id and i.version = r.version
            join label_ingredient g on g.label_version_id = i.label_version_id
         where r.parcel_id = any($1) and r.applied_on <= $2 group by 1, 2"
    );
    let sums: Vec<(Uuid, String, Option<Decimal>, Option<Decimal>)> =
        sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(&parcels).bind(today).fetch_all(pool).await?;
    let sums: HashMap<(Uuid, String), [Exact; 2]> = sums
        .into_iter()
        .map(|(parcel, name, year, rolling)| {
            ((parcel, name), [year, rolling].map(|sum| from_decimal(sum.unwrap_or_default())))
        })
        .collect();
    let mut conn = pool.acquire().await?;
    let near = parse("0.000001")?;
    let mut seen = 0;
    for (parcel, facts) in fact::of_parcels(&mut conn, &parcels, today).await? {
        let book = Book::new(&facts).map_err(|errors| anyhow::anyhow!("{errors:?}"))?;
        for cap in book.standings() {
            let sums = sums.get(&(parcel, cap.ingredient.clone())).cloned().unwrap_or_default();
            // The tightest cap is shown, so it is the larger sum where both windows count.
            let calendar = cap.cap.bases().len() == 1;
            let sql = if calendar || sums[0] > sums[1] { &sums[0] } else { &sums[1] };
            let off = if cap.used > *sql { &cap.used - sql } else { sql - &cap.used };
            ensure!(off < near, "{parcel} {}: {} and {sql}", cap.ingredient, cap.used);
            seen += 1;
        }
    }
    println!("plain SQL agrees on the protection of every plant and on {seen} sums of caps");
    Ok(())
}

/// Parcels all over the table.
pub async fn some_parcels(pool: &PgPool, number: i64) -> anyhow::Result<Vec<Uuid>> {
    Ok(sqlx::query_scalar("select id from parcel order by md5(id::text) limit $1")
        .bind(number)
        .fetch_all(pool)
        .await?)
}

/// Takes back what [`one_more`] entered.
pub async fn none_more(conn: &mut Conn) -> anyhow::Result<()> {
    let items = "delete from application_item i using application_record r
        where r.id = i.record_id and r.version = i.version and r.seq < 0";
    sqlx::raw_sql(items).execute(&mut *conn).await?;
    sqlx::raw_sql("delete from application_record where seq < 0").execute(conn).await?;
    Ok(())
}

/// One application more on the parcel: its newest record once again, today. No trigger sees it, then or later on
/// this connection.
pub async fn one_more(tx: &mut Conn, parcel: Uuid, today: NaiveDate, seq: i64) -> anyhow::Result<()> {
    sqlx::raw_sql("set session_replication_role = replica").execute(&mut *tx).await?;
    let (id, newest) = (Uuid::now_v7(), newest(tx, parcel).await?);
    sqlx::query(
        "insert into application_record (id, version, seq, site_id, parcel_id, origin, applied_on, customer_name,
            customer_address, site_address, site_state, site_county, applicator_name, recorded_by, recorded_at, body,
            previous_hash, hash)
         select $1, 1, $4, site_id, parcel_id, origin, $3, customer_name, customer_address, site_address, site_state,
            site_county, applicator_name, recorded_by, recorded_at, body, previous_hash, hash
         from application_record where id = $2 and version = 1",
    )
    .bind(id)
    .bind(newest)
    .bind(today)
    .bind(seq)
    .execute(&mut *tx)
    .await?;
    sqlx::query(
        "insert into application_item (record_id, version, position, plant_id, product_id, label_version_id,
            label_use_id, product_name, registration_number, method, amount, unit)
         select $1, 1, position, plant_id, product_id, label_version_id, label_use_id, product_name,
            registration_number, method, amount, unit
         from application_item where record_id = $2 and version = 1",
    )
    .bind(id)
    .bind(newest)
    .execute(&mut *tx)
    .await?;
    Ok(())
}

async fn newest(tx: &mut Conn, parcel: Uuid) -> anyhow::Result<Uuid> {
    let text = "select id from application_record where parcel_id = $1 order by applied_on desc, id limit 1";
    Ok(sqlx::query_scalar(text).bind(parcel).fetch_one(tx).await?)
}
