//! Which day of a visit its customer was told by mail.
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A yes that stands for plants of a visit, and what was told of it.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Answered {
    pub answer_id: Uuid,
    pub customer_id: Uuid,
    pub site_id: Uuid,
    /// Host plant and place of each plant of the visit that it is about.
    pub plants: Vec<String>,
    /// The name of its event, where this visit has one already.
    pub uid: Option<Uuid>,
    /// Another visit that is to come has the answer's own name.
    pub taken: bool,
    /// What was told of this visit last; none: nothing yet, or that it is cancelled.
    pub told_on: Option<NaiveDate>,
}

/// The yeses of the site's customer that stand for plants of this visit.
///
/// # Errors
/// When the database does not answer.
pub async fn answers(conn: &mut Conn, visit: Uuid) -> sqlx::Result<Vec<Answered>> {
    sqlx::query_as(
        "select a.id as answer_id, a.customer_id, a.site_id,
            array_agg(p.host_plant || ', ' || p.place order by lower(p.place), p.id) as plants,
            t.uid, t.on_date as told_on,
            exists (select 1 from visit_told o join visit v on v.id = o.visit_id and v.status = 'booked'
                where o.uid = a.id and o.visit_id <> $1 and o.on_date is not null
                    and not exists (select 1 from visit_told n where n.uid = o.uid and n.sequence > o.sequence)) as taken
         from planned_dose d join plant p on p.id = d.plant_id join standing_answer s on s.plant_id = p.id
            join customer_answer a on a.id = s.answer_id join site on site.id = a.site_id
            left join lateral (select o.uid, o.on_date from visit_told o
                where o.visit_id = $1 and o.answer_id = a.id order by o.sequence desc limit 1) t on true
         where d.visit_id = $1 and d.status in ('planned', 'released') and a.kind <> 'no'
            and a.customer_id = site.customer_id
         group by a.id, a.customer_id, a.site_id, t.uid, t.on_date order by a.id",
    )
    .bind(visit)
    .fetch_all(conn)
    .await
}

/// The next number of an event of that name.
///
/// # Errors
/// When the database does not answer.
pub async fn next(conn: &mut Conn, uid: Uuid) -> sqlx::Result<i32> {
    sqlx::query_scalar("select coalesce(max(sequence), 0) + 1 from visit_told where uid = $1")
        .bind(uid)
        .fetch_one(conn)
        .await
}

/// What was told.
#[derive(Debug, Clone)]
pub struct New {
    pub uid: Uuid,
    pub sequence: i32,
    pub visit: Uuid,
    pub answer: Uuid,
    pub on: Option<NaiveDate>,
    pub message: Uuid,
}

/// Keeps it.
///
/// # Errors
/// `visit_told_pkey` when that number is taken.
pub async fn insert(conn: &mut Conn, new: &New) -> sqlx::Result<()> {
    sqlx::query(
        "insert into visit_told (uid, sequence, visit_id, answer_id, on_date, message_id)
         values ($1, $2, $3, $4, $5, $6)",
    )
    .bind(new.uid)
    .bind(new.sequence)
    .bind(new.visit)
    .bind(new.answer)
    .bind(new.on)
    .bind(new.message)
    .execute(conn)
    .await?;
    Ok(())
}

/// Withdraws what was told of that event and is not out yet; what a worker has in hand goes out.
///
/// # Errors
/// When the database does not answer.
pub async fn withdraw_unsent(conn: &mut Conn, uid: Uuid, why: &str, at: DateTime<Utc>) -> sqlx::Result<u64> {
    let done = sqlx::query(
        "update message set status = 'withdrawn', closed_at = $3, last_answer = $2 where id in (
            select m.id from message m join visit_told t on t.message_id = m.id
            where t.uid = $1 and m.status in ('waiting', 'letter') for update of m skip locked)",
    )
    .bind(uid)
    .bind(why)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected())
}
