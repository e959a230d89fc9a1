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

/// A site whose plants were treated by us, as its renewal asks.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Renewable {
    pub site_id: Uuid,
    pub street: String,
    pub city: String,
    pub customer_id: Uuid,
    pub customer: String,
    /// Whoever treated it last, and when.
    pub technician: String,
    pub last_on: NaiveDate,
    pub booked_on: Option<NaiveDate>,
    pub renewal_on: NaiveDate,
    /// When the last of its plants loses its protection.
    pub protected_until: Option<NaiveDate>,
}

/// Sites in use that come due up to that day and that we treated before, or one of them; the first due first.
///
/// # Errors
/// When the database does not answer.
pub async fn renewable(
    conn: &mut Conn,
    until: NaiveDate,
    site: Option<Uuid>,
) -> sqlx::Result<Vec<Renewable>> {
    sqlx::query_as(
        "select s.id as site_id, s.street, s.city, c.id as customer_id, c.name as customer, l.technician, l.last_on,
            (select min(v.on_date) from visit v where v.site_id = s.id and v.status = 'booked') as booked_on,
            d.renewal_on, d.protected_until
         from (select site_id, min(list_on) as renewal_on, max(protected_until) as protected_until
               from due where $2::uuid is null or site_id = $2 group by site_id) d
         join site s on s.id = d.site_id join customer c on c.id = s.customer_id
         join lateral (select r.applicator_name as technician, r.applied_on as last_on from application_now r
               where r.site_id = s.id and r.origin = 'own' order by r.applied_on desc, r.id desc limit 1) l on true
         where s.retired_at is null and d.renewal_on <= $1
         order by d.renewal_on, lower(s.street), s.id",
    )
    .bind(until)
    .bind(site)
    .fetch_all(conn)
    .await
}

/// The events of these sites, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn events(conn: &mut Conn, sites: &[Uuid]) -> sqlx::Result<Vec<Event>> {
    sqlx::query_as(
        "select id, site_id, customer_id, kind, due_on, wished_on, reason, words, came_by, price, entered_by,
            happened_at
         from renewal_event where site_id = any($1) order by happened_at desc, id desc",
    )
    .bind(sites)
    .fetch_all(conn)
    .await
}

/// A site that was retired.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Gone {
    pub site_id: Uuid,
    pub street: String,
    pub city: String,
    pub customer: String,
    pub retired_at: DateTime<Utc>,
}

/// Sites that were treated by us and retired since then.
///
/// # Errors
/// When the database does not answer.
pub async fn gone(conn: &mut Conn, since: DateTime<Utc>) -> sqlx::Result<Vec<Gone>> {
    sqlx::query_as(
        "select s.id as site_id, s.street, s.city, c.name as customer, s.retired_at
         from site s join customer c on c.id = s.customer_id
         where s.retired_at >= $1 and exists (select 1 from application_now r
            where r.site_id = s.id and r.origin = 'own') order by s.retired_at desc, s.id",
    )
    .bind(since)
    .fetch_all(conn)
    .await
}

/// Our treatments whose protection ended or ends between these days: who did it, until when it protected, and when
/// one of its plants was next treated by us. The protection is that of the label's use it followed, the longest of
/// the record.
///
/// # Errors
/// When the database does not answer.
pub async fn treatments(
    conn: &mut Conn,
    from: NaiveDate,
    until: NaiveDate,
) -> sqlx::Result<Vec<(String, NaiveDate, Option<NaiveDate>)>> {
    sqlx::query_as(
        "with ended as (
            select r.id, r.applicator_name, r.applied_on, array_agg(distinct i.plant_id) as plants,
                max((r.applied_on + make_interval(
                    months => case when u.protection_unit = 'month' then u.protection_value else 0 end,
                    days => case u.protection_unit when 'day' then u.protection_value
                        when 'week' then 7 * u.protection_value else 0 end,
                    years => case when u.protection_unit = 'year' then u.protection_value else 0 end))::date) as until
            from application_now r
            join application_item i on i.record_id = r.id and i.version = r.version and i.plant_id is not null
            join label_use u on u.id = i.label_use_id
            where r.origin = 'own' group by r.id, r.applicator_name, r.applied_on)
         select e.applicator_name, e.until, (select min(n.applied_on) from application_item k
                join application_now n on n.id = k.record_id and n.version = k.version
                where k.plant_id = any(e.plants) and n.origin = 'own' and n.applied_on > e.applied_on)
         from ended e where e.until between $1 and $2",
    )
    .bind(from)
    .bind(until)
    .fetch_all(conn)
    .await
}
