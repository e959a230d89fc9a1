//! What customers answered on their own page.
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// An answer to be kept.
#[derive(Debug, Clone)]
pub struct New {
    pub id: Uuid,
    pub customer_id: Uuid,
    pub site_id: Uuid,
    /// `yes`, `other` or `no`.
    pub kind: &'static str,
    pub wanted_on: Option<NaiveDate>,
    /// Code of a reason; empty unless it is a no.
    pub reason: String,
    pub note: String,
}

/// Keeps an answer about these plants, each with its season; false: it is kept already.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(
    conn: &mut Conn,
    new: &New,
    plants: &[(Uuid, NaiveDate)],
    at: DateTime<Utc>,
) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into customer_answer (id, customer_id, site_id, kind, wanted_on, reason, note, given_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8) on conflict (id) do nothing",
    )
    .bind(new.id)
    .bind(new.customer_id)
    .bind(new.site_id)
    .bind(new.kind)
    .bind(new.wanted_on)
    .bind(&new.reason)
    .bind(&new.note)
    .bind(at)
    .execute(&mut *conn)
    .await?;
    if done.rows_affected() == 0 {
        return Ok(false);
    }
    let (ids, seasons): (Vec<Uuid>, Vec<NaiveDate>) = plants.iter().copied().unzip();
    sqlx::query(
        "insert into customer_answer_plant (answer_id, plant_id, season)
         select $1, plant, season from unnest($2::uuid[], $3::date[]) as x (plant, season)",
    )
    .bind(new.id)
    .bind(ids)
    .bind(seasons)
    .execute(conn)
    .await?;
    Ok(true)
}

/// An answer in a list.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    pub id: Uuid,
    pub customer_id: Uuid,
    pub customer_name: String,
    pub site_id: Uuid,
    pub street: String,
    pub kind: String,
    pub wanted_on: Option<NaiveDate>,
    pub reason: String,
    pub note: String,
    pub given_at: DateTime<Utc>,
    pub settled_at: Option<DateTime<Utc>>,
    pub plants: Vec<Uuid>,
    /// The day of the next booked visit to one of its plants.
    pub visit_on: Option<NaiveDate>,
    pub visit_id: Option<Uuid>,
}

const LINE: &str =
    "select a.id, a.customer_id, c.name as customer_name, a.site_id, s.street, a.kind, a.wanted_on, a.reason,
        a.note, a.given_at, a.settled_at,
        array(select p.plant_id from customer_answer_plant p where p.answer_id = a.id order by 1) as plants,
        b.on_date as visit_on, b.id as visit_id
    from customer_answer a join customer c on c.id = a.customer_id join site s on s.id = a.site_id
    left join lateral (
        select v.id, v.on_date from customer_answer_plant p
            join planned_dose d on d.plant_id = p.plant_id and d.status = 'planned'
            join visit v on v.id = d.visit_id and v.status = 'booked'
        where p.answer_id = a.id order by v.on_date, v.id limit 1) b on true ";

/// Answers that nobody has dealt with, the oldest first; or all, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, open: bool, limit: i64) -> sqlx::Result<Vec<Line>> {
    let rest = if open {
        "where a.settled_at is null order by a.given_at, a.id"
    } else {
        "order by a.given_at desc, a.id"
    };
    let text = format!("{LINE} {rest} limit $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(limit).fetch_all(conn).await
}

/// A customer's answers, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn of_customer(conn: &mut Conn, customer: Uuid, limit: i64) -> sqlx::Result<Vec<Line>> {
    let text = format!("{LINE} where a.customer_id = $1 order by a.given_at desc, a.id limit $2");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(customer).bind(limit).fetch_all(conn).await
}

/// How many answers nobody has dealt with; counted to a thousand.
///
/// # Errors
/// When the database does not answer.
pub async fn open_count(conn: &mut Conn) -> sqlx::Result<i64> {
    sqlx::query_scalar(
        "select count(*) from (select 1 from customer_answer where settled_at is null limit 1000) x",
    )
    .fetch_one(conn)
    .await
}

/// Notes that somebody has dealt with an answer; false: somebody had, or it is not there.
///
/// # Errors
/// When the database does not answer.
pub async fn settle(conn: &mut Conn, id: Uuid, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update customer_answer set settled_at = $3, settled_by = $2 where id = $1 and settled_at is null",
    )
    .bind(id)
    .bind(by)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// A plant as its customer sees it.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct OwnPlant {
    pub plant_id: Uuid,
    pub host_plant: String,
    pub place: String,
    pub count: i32,
    pub protected_until: Option<NaiveDate>,
    pub due_on: Option<NaiveDate>,
    pub allowed_on: Option<NaiveDate>,
    pub visit_on: Option<NaiveDate>,
    /// What they answered for this season, and for when.
    pub answer: Option<String>,
    pub answer_on: Option<NaiveDate>,
}

/// The plants in use of a site, by place.
///
/// # Errors
/// When the database does not answer.
pub async fn own_plants(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<OwnPlant>> {
    sqlx::query_as(
        "select p.id as plant_id, p.host_plant, p.place, p.count, d.protected_until, d.due_on, d.allowed_on,
            (select min(v.on_date) from planned_dose b join visit v on v.id = b.visit_id and v.status = 'booked'
                where b.plant_id = p.id and b.status = 'planned') as visit_on,
            a.kind as answer, a.wanted_on as answer_on
         from plant p left join due d on d.plant_id = p.id
         left join standing_answer a on a.plant_id = p.id
         where p.site_id = $1 and p.retired_at is null order by lower(p.place), p.id",
    )
    .bind(site)
    .fetch_all(conn)
    .await
}

/// A treatment of a site as its customer sees it.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Treatment {
    pub plant_id: Uuid,
    pub applied_on: NaiveDate,
    pub product_name: String,
    pub registration_number: String,
    pub target_pest: String,
    pub host_plant: String,
    pub plant_words: String,
    pub precautions: String,
    pub applicator_name: String,
}

/// What was applied at a site since this day, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn treatments(conn: &mut Conn, site: Uuid, since: NaiveDate) -> sqlx::Result<Vec<Treatment>> {
    sqlx::query_as(
        "select i.plant_id, r.applied_on, i.product_name, i.registration_number, i.target_pest, i.host_plant,
            i.plant_words, v.precautions, r.applicator_name
         from application_now r join application_item i on i.record_id = r.id and i.version = r.version
            join label_version v on v.id = i.label_version_id
         where r.site_id = $1 and r.applied_on >= $2 and r.origin = 'own' and i.plant_id is not null
         order by r.applied_on desc, r.id, i.position",
    )
    .bind(site)
    .bind(since)
    .fetch_all(conn)
    .await
}
