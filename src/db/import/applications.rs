//! What past applications name: sites, plants, products with their uses, people. All of it at once: a table names the
//! same few again and again.
use super::{Import, within};
use crate::db::Conn;
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

/// A site that a line may name.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct KnownSite {
    pub id: Uuid,
    pub parcel_id: Uuid,
    /// In lower case.
    pub street: String,
    pub city: String,
    /// Number of the old books.
    pub number: Option<String>,
}

/// A plant that a line may name.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct KnownPlant {
    pub id: Uuid,
    pub site_id: Uuid,
    /// In lower case.
    pub place: String,
    pub count: i32,
}

/// A product that a line may name.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct KnownProduct {
    pub id: Uuid,
    /// In lower case.
    pub name: String,
    pub registration_number: String,
    pub form: String,
}

/// A use of its newest label.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct KnownUse {
    pub id: Uuid,
    pub product_id: Uuid,
    pub code: String,
    /// In lower case.
    pub name: String,
}

/// Somebody of ours.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct KnownPerson {
    pub id: Uuid,
    /// In lower case.
    pub name: String,
}

/// Everything that lines may name.
#[derive(Debug, Clone, Default)]
pub struct Known {
    pub sites: Vec<KnownSite>,
    pub plants: Vec<KnownPlant>,
    pub products: Vec<KnownProduct>,
    pub uses: Vec<KnownUse>,
    pub people: Vec<KnownPerson>,
}

/// Everything that these lines name: sites by street or number, all products and people.
///
/// # Errors
/// When the database does not answer.
pub async fn known(conn: &mut Conn, streets: &[String], numbers: &[String]) -> sqlx::Result<Known> {
    let sites: Vec<KnownSite> = sqlx::query_as(
        "select s.id, s.parcel_id, lower(s.street) as street, lower(s.city) as city, k.key as number from site s
         left join import_key k on k.kind = 'sites' and k.noun_id = s.id
         where lower(s.street) = any($1) or k.key = any($2)",
    )
    .bind(streets)
    .bind(numbers)
    .fetch_all(&mut *conn)
    .await?;
    let ids: Vec<Uuid> = sites.iter().map(|site| site.id).collect();
    let plants = sqlx::query_as(
        "select id, site_id, lower(place) as place, count from plant where site_id = any($1)
         order by retired_at is not null, created_at, id",
    )
    .bind(ids)
    .fetch_all(&mut *conn)
    .await?;
    let products = sqlx::query_as("select id, lower(name) as name, registration_number, form from product")
        .fetch_all(&mut *conn)
        .await?;
    let uses = sqlx::query_as(
        "select u.id, l.product_id, u.code, lower(u.name) as name from label_use u
         join label_version l on l.id = u.label_version_id
         where l.id = (select n.id from label_version n where n.product_id = l.product_id
            order by n.signed_at is not null desc, n.number desc limit 1) order by u.code",
    )
    .fetch_all(&mut *conn)
    .await?;
    let people = sqlx::query_as("select id, lower(name) as name from person").fetch_all(conn).await?;
    Ok(Known { sites, plants, products, uses, people })
}

/// Which of these (site, day, product, amount, plant; by their place in the lists) are recorded already.
///
/// # Errors
/// When the database does not answer.
pub async fn recorded(
    conn: &mut Conn,
    lines: &[(Uuid, NaiveDate, Uuid, Decimal, Option<Uuid>)],
) -> sqlx::Result<Vec<bool>> {
    let sites: Vec<Uuid> = lines.iter().map(|l| l.0).collect();
    let days: Vec<NaiveDate> = lines.iter().map(|l| l.1).collect();
    let products: Vec<Uuid> = lines.iter().map(|l| l.2).collect();
    let amounts: Vec<Decimal> = lines.iter().map(|l| l.3).collect();
    let plants: Vec<Option<Uuid>> = lines.iter().map(|l| l.4).collect();
    sqlx::query_scalar(
        "select exists (select 1 from application_now r
            join application_item i on i.record_id = r.id and i.version = r.version
            where r.site_id = l.site and r.applied_on = l.day and i.product_id = l.product and i.amount = l.amount
              and i.plant_id is not distinct from l.plant)
         from unnest($1::uuid[], $2::date[], $3::uuid[], $4::numeric[], $5::uuid[])
            with ordinality as l (site, day, product, amount, plant, place) order by l.place",
    )
    .bind(sites)
    .bind(days)
    .bind(products)
    .bind(amounts)
    .bind(plants)
    .fetch_all(conn)
    .await
}

/// The records that came of a table, with their parcels, by parcel.
///
/// # Errors
/// When the database does not answer.
pub async fn records_of(conn: &mut Conn, import: &Import) -> sqlx::Result<Vec<(Uuid, Uuid)>> {
    sqlx::query_as(
        "select id, parcel_id from application_record where id between $1 and $2 and version = 1
         order by parcel_id, id",
    )
    .bind(within(import.batch, 0))
    .bind(within(import.batch, u32::MAX))
    .fetch_all(conn)
    .await
}
