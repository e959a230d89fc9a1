//! Calendars of technicians for other programs. Only the hash of the address's secret is kept.
use super::Conn;
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use uuid::Uuid;

/// Whose calendar an address is.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Owner {
    pub person_id: Uuid,
    pub name: String,
    pub company: String,
    /// Code of the language that they read: the office reads English.
    pub language: String,
}

/// Since when a person has a calendar's address; none: they have none.
///
/// # Errors
/// When the database does not answer.
pub async fn made_at(conn: &mut Conn, person: Uuid) -> sqlx::Result<Option<DateTime<Utc>>> {
    sqlx::query_scalar("select made_at from calendar_feed where person_id = $1 and revoked_at is null")
        .bind(person)
        .fetch_optional(conn)
        .await
}

/// Whose address it is, while it stands and they are at work.
///
/// # Errors
/// When the database does not answer.
pub async fn owner(conn: &mut Conn, secret_hash: &[u8]) -> sqlx::Result<Option<Owner>> {
    sqlx::query_as(
        "select f.person_id, p.name, coalesce((select name from company), '') as company,
            case when p.role = 'technician' then p.language else 'en' end as language
         from calendar_feed f join person p on p.id = f.person_id
         where f.secret_hash = $1 and f.revoked_at is null and p.retired_at is null",
    )
    .bind(secret_hash)
    .fetch_optional(conn)
    .await
}

/// Keeps a new address; the old one must be revoked before.
///
/// # Errors
/// `calendar_feed_one_at_a_time` when one stands.
pub async fn insert(
    conn: &mut Conn,
    person: Uuid,
    secret_hash: &[u8],
    at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query("insert into calendar_feed (id, person_id, secret_hash, made_at) values ($1, $2, $3, $4)")
        .bind(Uuid::now_v7())
        .bind(person)
        .bind(secret_hash)
        .bind(at)
        .execute(conn)
        .await?;
    Ok(())
}

/// Revokes a person's address; whether there was one.
///
/// # Errors
/// When the database does not answer.
pub async fn revoke(conn: &mut Conn, person: Uuid, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done =
        sqlx::query("update calendar_feed set revoked_at = $2 where person_id = $1 and revoked_at is null")
            .bind(person)
            .bind(at)
            .execute(conn)
            .await?;
    Ok(done.rows_affected() > 0)
}

/// A booked or done visit as a calendar needs it.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Visit {
    pub id: Uuid,
    pub on_date: NaiveDate,
    pub arrives_at: Option<NaiveTime>,
    pub leaves_at: Option<NaiveTime>,
    pub waits: bool,
    pub address: String,
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
    /// Plants, those of a hedge counted each.
    pub plants: i64,
}

/// A technician's visits in this span by day.
///
/// # Errors
/// When the database does not answer.
pub async fn visits(
    conn: &mut Conn,
    person: Uuid,
    from: NaiveDate,
    until: NaiveDate,
) -> sqlx::Result<Vec<Visit>> {
    sqlx::query_as(
        "select v.id, v.on_date, v.arrives_at, v.leaves_at, v.waiting_since is not null as waits,
            concat(s.street, ', ', s.city, ', ', s.state, ' ', s.zip) as address, s.latitude, s.longitude,
            (select coalesce(sum(d.count), 0) from planned_dose d where d.visit_id = v.id) as plants
         from visit v join site s on s.id = v.site_id
         where v.technician_id = $1 and v.on_date between $2 and $3 and v.status in ('booked', 'done')
         order by v.on_date, v.stop_number nulls last, v.booked_at, v.id",
    )
    .bind(person)
    .bind(from)
    .bind(until)
    .fetch_all(conn)
    .await
}
