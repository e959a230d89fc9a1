//! Sites (properties): where they are, who may see them, when they may be entered.
use super::{
    Conn,
    seek::{Chunk, Order, Seek, push_words_within},
};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use rust_decimal::Decimal;
use sqlx::QueryBuilder;
use uuid::Uuid;

/// A site.
#[derive(Debug, Clone, PartialEq, serde::Serialize, sqlx::FromRow)]
pub struct Site {
    pub id: Uuid,
    pub customer_id: Uuid,
    pub parcel_id: Uuid,
    pub name: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub zip: String,
    pub county: String,
    /// Whose rules hold beside the county's; empty: those of the city.
    pub municipality: String,
    /// Degrees north; given together with the longitude or not at all.
    pub latitude: Option<f64>,
    /// Degrees east.
    pub longitude: Option<f64>,
    /// Farmland: some states ask for other fields in their reports.
    pub agricultural: bool,
    /// Feet to the nearest water; nothing: nobody has looked yet.
    pub water_distance_ft: Option<Decimal>,
    pub access_note: String,
    pub service_area: String,
    /// How long a visit takes; nothing: worked out from its plants.
    pub service_minutes: Option<i32>,
    /// Hours before the work by which neighbours or the state must be told; nothing: nobody.
    pub notice_hours: Option<i32>,
    /// Who is told, and why.
    pub notice_reason: String,
    /// 1 usual, 2 before usual ones, 3 first of all.
    pub priority: i16,
    pub retired_at: Option<DateTime<Utc>>,
}

/// A line of a list of sites.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    pub id: Uuid,
    pub name: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub county: String,
    pub service_area: String,
    pub retired_at: Option<DateTime<Utc>>,
    pub customer_name: String,
    /// Plant records in use.
    pub plants: i64,
}

/// Hours in which a site may be entered; 1 is Monday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::FromRow)]
pub struct Window {
    pub weekday: i16,
    pub opens: NaiveTime,
    pub closes: NaiveTime,
}

/// A visit that is booked and not yet closed.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct OpenVisit {
    pub on_date: NaiveDate,
    pub street: String,
    pub technician: String,
}

const LINE: &str = "select s.id, s.name, s.street, s.city, s.state, s.county, s.service_area, s.retired_at,
        c.name as customer_name,
        (select count(*) from plant p where p.site_id = s.id and p.retired_at is null) as plants
    from site s join customer c on c.id = s.customer_id where ";
/// Where a word may stand: in the site's own words, or in its customer's name.
const SEARCHED: [&str; 2] = [
    "select id from site where lower(name || ' ' || street || ' ' || city || ' ' || county) like $",
    "select o.id from site o join customer h on h.id = o.customer_id
     where lower(h.name) like $ and
        lower(h.name || ' ' || h.street || ' ' || h.city || ' ' || h.email) like $",
];
const ORDER: Order = Order { table: "site", alias: "s", column: "street" };

/// A page of sites by street, those that match every word of `searched`.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, seek: Seek, searched: &str, retired: bool) -> sqlx::Result<Chunk<Line>> {
    let mut query = QueryBuilder::new(LINE);
    query.push(if retired { "true" } else { "s.retired_at is null" });
    push_words_within(&mut query, "s.id", searched, &SEARCHED);
    ORDER.push_start(&mut query, seek);
    ORDER.push_end(&mut query, seek);
    Ok(seek.chunk(query.build_query_as().fetch_all(conn).await?))
}

/// How many of them the whole list holds.
///
/// # Errors
/// When the database does not answer.
pub async fn count(conn: &mut Conn, searched: &str, retired: bool) -> sqlx::Result<i64> {
    let mut query = QueryBuilder::new("select count(*) from site s where ");
    query.push(if retired { "true" } else { "s.retired_at is null" });
    push_words_within(&mut query, "s.id", searched, &SEARCHED);
    query.build_query_scalar().fetch_one(conn).await
}

/// Every site of a customer, those in use first.
///
/// # Errors
/// When the database does not answer.
pub async fn of_customer(conn: &mut Conn, customer: Uuid) -> sqlx::Result<Vec<Line>> {
    let mut query = QueryBuilder::new(LINE);
    query.push("s.customer_id = ").push_bind(customer);
    query.push(" order by s.retired_at is not null, lower(s.street), s.id");
    query.build_query_as().fetch_all(conn).await
}

/// The other sites on the same parcel.
///
/// # Errors
/// When the database does not answer.
pub async fn neighbours(conn: &mut Conn, site: &Site) -> sqlx::Result<Vec<Line>> {
    let mut query = QueryBuilder::new(LINE);
    query.push("s.parcel_id = ").push_bind(site.parcel_id).push(" and s.id <> ").push_bind(site.id);
    query.push(" order by lower(s.street), s.id");
    query.build_query_as().fetch_all(conn).await
}

/// One site.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Site>> {
    sqlx::query_as(
        "select id, customer_id, parcel_id, name, street, city, state, zip, county, latitude, longitude,
                agricultural, water_distance_ft, access_note, service_area, service_minutes, notice_hours,
                notice_reason, priority, retired_at, municipality
         from site where id = $1",
    )
    .bind(id)
    .fetch_optional(conn)
    .await
}

/// One site, locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Site>> {
    sqlx::query("select 1 from site where id = $1 for no key update").bind(id).execute(&mut *conn).await?;
    find(conn, id).await
}

/// Enters a site.
///
/// # Errors
/// When a rule of the table breaks (`site_pkey`: the same form twice).
pub async fn insert(conn: &mut Conn, s: &Site, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into site (id, customer_id, parcel_id, name, street, city, state, zip, county, latitude,
            longitude, agricultural, water_distance_ft, access_note, service_area, service_minutes, notice_hours,
            notice_reason, priority, created_at, municipality)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21)",
    )
    .bind(s.id)
    .bind(s.customer_id)
    .bind(s.parcel_id)
    .bind(&s.name)
    .bind(&s.street)
    .bind(&s.city)
    .bind(&s.state)
    .bind(&s.zip)
    .bind(&s.county)
    .bind(s.latitude)
    .bind(s.longitude)
    .bind(s.agricultural)
    .bind(s.water_distance_ft)
    .bind(&s.access_note)
    .bind(&s.service_area)
    .bind(s.service_minutes)
    .bind(s.notice_hours)
    .bind(&s.notice_reason)
    .bind(s.priority)
    .bind(at)
    .bind(&s.municipality)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes everything but customer, parcel and retirement.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn update(conn: &mut Conn, s: &Site) -> sqlx::Result<()> {
    sqlx::query(
        "update site set name = $2, street = $3, city = $4, state = $5, zip = $6, county = $7, latitude = $8,
            longitude = $9, agricultural = $10, water_distance_ft = $11, access_note = $12, service_area = $13,
            service_minutes = $14, notice_hours = $15, notice_reason = $16, priority = $17, municipality = $18
         where id = $1",
    )
    .bind(s.id)
    .bind(&s.name)
    .bind(&s.street)
    .bind(&s.city)
    .bind(&s.state)
    .bind(&s.zip)
    .bind(&s.county)
    .bind(s.latitude)
    .bind(s.longitude)
    .bind(s.agricultural)
    .bind(s.water_distance_ft)
    .bind(&s.access_note)
    .bind(&s.service_area)
    .bind(s.service_minutes)
    .bind(s.notice_hours)
    .bind(&s.notice_reason)
    .bind(s.priority)
    .bind(&s.municipality)
    .execute(conn)
    .await?;
    Ok(())
}

/// Gives the site to another customer.
///
/// # Errors
/// When the database does not answer.
pub async fn set_customer(conn: &mut Conn, id: Uuid, customer: Uuid) -> sqlx::Result<()> {
    sqlx::query("update site set customer_id = $2 where id = $1")
        .bind(id)
        .bind(customer)
        .execute(conn)
        .await?;
    Ok(())
}

/// Retires a site or takes it back.
///
/// # Errors
/// When the database does not answer.
pub async fn set_retired(conn: &mut Conn, id: Uuid, at: Option<DateTime<Utc>>) -> sqlx::Result<()> {
    sqlx::query("update site set retired_at = $2 where id = $1").bind(id).bind(at).execute(conn).await?;
    Ok(())
}

/// The hours in which the site may be entered.
///
/// # Errors
/// When the database does not answer.
pub async fn windows(conn: &mut Conn, id: Uuid) -> sqlx::Result<Vec<Window>> {
    sqlx::query_as(
        "select weekday, opens, closes from site_window where site_id = $1 order by weekday, opens",
    )
    .bind(id)
    .fetch_all(conn)
    .await
}

/// Puts these hours in place of those that were there.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn replace_windows(conn: &mut Conn, id: Uuid, windows: &[Window]) -> sqlx::Result<()> {
    sqlx::query("delete from site_window where site_id = $1").bind(id).execute(&mut *conn).await?;
    for w in windows {
        sqlx::query("insert into site_window (site_id, weekday, opens, closes) values ($1, $2, $3, $4)")
            .bind(id)
            .bind(w.weekday)
            .bind(w.opens)
            .bind(w.closes)
            .execute(&mut *conn)
            .await?;
    }
    Ok(())
}

/// Whether this technician was or will be there: a visit of theirs that is booked or done.
///
/// # Errors
/// When the database does not answer.
pub async fn is_visited_by(conn: &mut Conn, id: Uuid, technician: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from visit where site_id = $1 and technician_id = $2
            and status in ('booked', 'done'))",
    )
    .bind(id)
    .bind(technician)
    .fetch_one(conn)
    .await
}

/// The booked visits of one site, the next one first.
///
/// # Errors
/// When the database does not answer.
pub async fn open_visits(conn: &mut Conn, id: Uuid) -> sqlx::Result<Vec<OpenVisit>> {
    sqlx::query_as(
        "select v.on_date, s.street, t.name as technician from visit v
         join site s on s.id = v.site_id join person t on t.id = v.technician_id
         where v.site_id = $1 and v.status = 'booked' order by v.on_date, v.id",
    )
    .bind(id)
    .fetch_all(conn)
    .await
}

/// The booked visits of all sites of a customer, the next one first.
///
/// # Errors
/// When the database does not answer.
pub async fn open_visits_of_customer(conn: &mut Conn, customer: Uuid) -> sqlx::Result<Vec<OpenVisit>> {
    sqlx::query_as(
        "select v.on_date, s.street, t.name as technician from visit v
         join site s on s.id = v.site_id join person t on t.id = v.technician_id
         where s.customer_id = $1 and v.status = 'booked' order by v.on_date, v.id",
    )
    .bind(customer)
    .fetch_all(conn)
    .await
}
