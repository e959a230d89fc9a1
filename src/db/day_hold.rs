//! Days on hold: nothing is applied then, everywhere or in one county, because of the weather or the soil.
use super::Conn;
use chrono::{DateTime, Datelike, NaiveDate, Utc};
use uuid::Uuid;

/// A hold with the names of who placed and lifted it.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Hold {
    pub id: Uuid,
    pub on_date: NaiveDate,
    /// State and county; none: everywhere.
    pub state: Option<String>,
    pub county: Option<String>,
    pub reason: String,
    pub placed_by: String,
    pub lifted_by: Option<String>,
    /// Booked visits that wait because of it.
    pub waiting: i64,
}

impl Hold {
    /// `everywhere`, or `in San Luis Obispo County, CA`
    #[must_use]
    pub fn place_words(&self) -> String {
        match (&self.state, &self.county) {
            (Some(state), Some(county)) => format!("in {county} County, {state}"),
            _ => "everywhere".to_owned(),
        }
    }
}

/// A hold to be placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct New {
    pub id: Uuid,
    pub on_date: NaiveDate,
    /// State and county; none: everywhere.
    pub place: Option<(String, String)>,
    pub reason: String,
}

const HOLD: &str = "select h.id, h.on_date, h.state::text as state, h.county, h.reason, p.name as placed_by,
        l.name as lifted_by, (select count(*) from visit v join site s on s.id = v.site_id
            where v.on_date = h.on_date and v.status = 'booked' and v.waiting_reason = h.reason
                and (h.state is null or (s.state = h.state and lower(s.county) = lower(h.county)))) as waiting
    from day_hold h join person p on p.id = h.placed_by left join person l on l.id = h.lifted_by where ";

/// Whoever books or moves a visit to the day keeps its holds as they are until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn share(conn: &mut Conn, on: NaiveDate) -> sqlx::Result<()> {
    let lock = "select pg_advisory_xact_lock_shared(hashtext('day_hold'), $1)";
    sqlx::query(lock).bind(on.num_days_from_ce()).execute(conn).await?;
    Ok(())
}

/// Whoever places or lifts a hold waits for bookings of the day, and they for it.
///
/// # Errors
/// When the database does not answer.
pub async fn own(conn: &mut Conn, on: NaiveDate) -> sqlx::Result<()> {
    let lock = "select pg_advisory_xact_lock(hashtext('day_hold'), $1)";
    sqlx::query(lock).bind(on.num_days_from_ce()).execute(conn).await?;
    Ok(())
}

/// The hold that stands for a place on that day, the first that was placed.
///
/// # Errors
/// When the database does not answer.
pub async fn covering(
    conn: &mut Conn,
    on: NaiveDate,
    state: &str,
    county: &str,
) -> sqlx::Result<Option<Hold>> {
    let text = format!(
        "{HOLD} h.on_date = $1 and h.lifted_at is null
            and (h.state is null or (h.state = $2 and lower(h.county) = lower($3)))
         order by h.placed_at, h.id limit 1"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(on).bind(state).bind(county).fetch_optional(conn).await
}

/// One hold.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Hold>> {
    let text = format!("{HOLD} h.id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// The holds from that day on, the next one first.
///
/// # Errors
/// When the database does not answer.
pub async fn from(conn: &mut Conn, day: NaiveDate) -> sqlx::Result<Vec<Hold>> {
    let text = format!("{HOLD} h.on_date >= $1 order by h.on_date, h.placed_at, h.id limit 500");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(day).fetch_all(conn).await
}

/// Places a hold.
///
/// # Errors
/// `day_hold_pkey` when it is there already.
pub async fn insert(conn: &mut Conn, new: &New, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<()> {
    let (state, county) = new.place.clone().unzip();
    sqlx::query(
        "insert into day_hold (id, on_date, state, county, reason, placed_by, placed_at)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(new.id)
    .bind(new.on_date)
    .bind(state)
    .bind(county)
    .bind(&new.reason)
    .bind(by)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Lifts a hold; whether it still stood.
///
/// # Errors
/// When the database does not answer.
pub async fn lift(conn: &mut Conn, id: Uuid, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done =
        sqlx::query("update day_hold set lifted_by = $2, lifted_at = $3 where id = $1 and lifted_at is null")
            .bind(id)
            .bind(by)
            .bind(at)
            .execute(conn)
            .await?;
    Ok(done.rows_affected() == 1)
}

/// Sets the day's booked visits under the hold waiting, those that wait already excepted; how many.
///
/// # Errors
/// When the database does not answer.
pub async fn send_back(conn: &mut Conn, hold: &Hold, at: DateTime<Utc>) -> sqlx::Result<u64> {
    let done = sqlx::query(
        "update visit v set waiting_since = $4, waiting_reason = $5 from site s
         where s.id = v.site_id and v.on_date = $1 and v.status = 'booked' and v.waiting_since is null
            and ($2::text is null or (s.state = $2 and lower(s.county) = lower($3)))",
    )
    .bind(hold.on_date)
    .bind(&hold.state)
    .bind(&hold.county)
    .bind(at)
    .bind(&hold.reason)
    .execute(conn)
    .await?;
    Ok(done.rows_affected())
}

/// The day's visits that wait for the hold's reason wait no longer; how many.
///
/// # Errors
/// When the database does not answer.
pub async fn call_back(conn: &mut Conn, hold: &Hold) -> sqlx::Result<u64> {
    let done = sqlx::query(
        "update visit v set waiting_since = null, waiting_reason = '' from site s
         where s.id = v.site_id and v.on_date = $1 and v.status = 'booked' and v.waiting_reason = $4
            and ($2::text is null or (s.state = $2 and lower(s.county) = lower($3)))",
    )
    .bind(hold.on_date)
    .bind(&hold.state)
    .bind(&hold.county)
    .bind(&hold.reason)
    .execute(conn)
    .await?;
    Ok(done.rows_affected())
}

/// The other holds that still stand on the day, the first that was placed first.
///
/// # Errors
/// When the database does not answer.
pub async fn standing(conn: &mut Conn, on: NaiveDate) -> sqlx::Result<Vec<Hold>> {
    let text = format!("{HOLD} h.on_date = $1 and h.lifted_at is null order by h.placed_at, h.id");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(on).fetch_all(conn).await
}

/// State and county of every place with sites in use.
///
/// # Errors
/// When the database does not answer.
pub async fn counties(conn: &mut Conn) -> sqlx::Result<Vec<(String, String)>> {
    sqlx::query_as(
        "select distinct on (state, lower(county)) state::text, county from site where retired_at is null
         order by state, lower(county), county",
    )
    .fetch_all(conn)
    .await
}
