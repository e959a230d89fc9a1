//! What was done of the notices and signs that the law asks for at a visit. Rows are added and stay: which of them
//! counts follows from the visit's day (`domain::notice::standing`).
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// Something that was done of a duty, or why the law leaves it open.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Done {
    pub visit_id: Uuid,
    /// Code of a rule of `domain::notice`.
    pub code: String,
    /// The visit's day when it was done.
    pub for_day: NaiveDate,
    pub done_at: DateTime<Utc>,
    pub by: String,
    pub how: String,
    /// Not done, and not asked for: `how` says why.
    pub excused: bool,
}

/// What was done of these visits' duties, what was noted first at the front.
///
/// # Errors
/// When the database does not answer.
pub async fn of_visits(conn: &mut Conn, visits: &[Uuid]) -> sqlx::Result<Vec<Done>> {
    sqlx::query_as(
        "select d.visit_id, d.code, d.for_day, d.done_at, p.name as by, d.how, d.excused
         from visit_duty d join person p on p.id = d.done_by
         where d.visit_id = any($1) order by d.visit_id, d.code, d.noted_at",
    )
    .bind(visits)
    .fetch_all(conn)
    .await
}

/// A deed to be written down.
#[derive(Debug, Clone)]
pub struct New<'a> {
    pub visit: Uuid,
    pub code: &'a str,
    pub for_day: NaiveDate,
    pub done_at: DateTime<Utc>,
    pub by: Uuid,
    pub how: &'a str,
    pub excused: bool,
}

/// Writes a deed down; false: the very same moment has one.
///
/// # Errors
/// `visit_duty_done_before_noted` when it is still to come.
pub async fn insert(conn: &mut Conn, new: &New<'_>, noted_at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into visit_duty (visit_id, code, for_day, done_at, done_by, how, excused, noted_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8) on conflict do nothing",
    )
    .bind(new.visit)
    .bind(new.code)
    .bind(new.for_day)
    .bind(new.done_at)
    .bind(new.by)
    .bind(new.how)
    .bind(new.excused)
    .bind(noted_at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// A visit with what decides which duties it has.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Asked {
    pub id: Uuid,
    pub on_date: NaiveDate,
    pub status: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub county: String,
    pub customer: String,
    pub technician: String,
    /// Of what it means to apply or applied, each once.
    pub methods: Vec<String>,
}

/// The visits of these days, in their order, after this one.
///
/// # Errors
/// When the database does not answer.
pub async fn asked(
    conn: &mut Conn,
    (from, until): (NaiveDate, NaiveDate),
    after: Option<(NaiveDate, Uuid)>,
    at_most: i64,
) -> sqlx::Result<Vec<Asked>> {
    let (day, visit) = after.unzip();
    sqlx::query_as(
        "select v.id, v.on_date, v.status, s.street, s.city, s.state, s.county, c.name as customer,
            t.name as technician, array(select distinct u.method from planned_dose d
                join label_use u on u.id = d.label_use_id
                where d.visit_id = v.id and d.status in ('planned', 'applied') order by 1) as methods
         from visit v join site s on s.id = v.site_id join customer c on c.id = s.customer_id
            join person t on t.id = v.technician_id
         where v.on_date between $1 and $2 and ($3::date is null or (v.on_date, v.id) > ($3, $4))
         order by v.on_date, v.id limit $5",
    )
    .bind(from)
    .bind(until)
    .bind(day)
    .bind(visit)
    .bind(at_most)
    .fetch_all(conn)
    .await
}

/// How many notices were written for a duty of a visit, and how they stand.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Notices {
    pub visit_id: String,
    pub code: String,
    pub status: String,
    pub count: i64,
}

/// The notices of these visits, by their cause: `notice`, visit, code, day, to whom.
///
/// # Errors
/// When the database does not answer.
pub async fn notices(conn: &mut Conn, visits: &[Uuid]) -> sqlx::Result<Vec<Notices>> {
    sqlx::query_as(
        "select split_part(cause, ' ', 2) as visit_id, split_part(cause, ' ', 3) as code, status, count(*) as count
         from message where kind = 'notice' and site_id in (select site_id from visit where id = any($1))
            and split_part(cause, ' ', 2) = any(select v::text from unnest($1) v)
         group by 1, 2, 3 order by 1, 2, 3",
    )
    .bind(visits)
    .fetch_all(conn)
    .await
}
