//! What changed for one technician's phone since it asked the last time.
use super::Conn;
use crate::texts::Language;
use chrono::{NaiveDate, NaiveTime};
use uuid::Uuid;

/// How far a phone has read: which database, the oldest transaction that was still at work then, the last day that
/// it was given, and in which language.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cursor {
    /// A database restored elsewhere counts its transactions anew.
    pub system: i64,
    pub oldest: i64,
    pub until: NaiveDate,
    pub language: Language,
}

impl std::fmt::Display for Cursor {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:x}.{:x}.{}.{}", self.system, self.oldest, self.until, self.language.code())
    }
}

impl std::str::FromStr for Cursor {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        let mut parts = text.splitn(4, '.');
        let mut number = || {
            let digits = parts.next().filter(|d| d.bytes().all(|b| b.is_ascii_hexdigit()));
            // The system's number uses all 64 bits.
            digits.and_then(|d| u64::from_str_radix(d, 16).ok()).map(u64::cast_signed).ok_or(())
        };
        let (system, oldest) = (number()?, number()?);
        let until = parts.next().and_then(|d| d.parse().ok()).ok_or(())?;
        let language = parts.next().and_then(Language::from_code).ok_or(())?;
        Ok(Self { system, oldest, until, language })
    }
}

/// A transaction in which everything is read as of one moment.
///
/// # Errors
/// When the database does not answer.
pub async fn as_of_now(conn: &mut Conn) -> sqlx::Result<()> {
    sqlx::query("set transaction isolation level repeatable read read only").execute(conn).await?;
    Ok(())
}

/// Where the next reader begins. Read in the same snapshot as the changes: every transaction older than the
/// oldest one at work has ended, so that what it changed is among them.
///
/// # Errors
/// When the database does not answer.
pub async fn cursor(conn: &mut Conn, until: NaiveDate, language: Language) -> sqlx::Result<Cursor> {
    let (system, oldest): (i64, i64) = sqlx::query_as(
        "select system_identifier, pg_snapshot_xmin(pg_current_snapshot())::text::bigint from pg_control_system()",
    )
    .fetch_one(conn)
    .await?;
    Ok(Cursor { system, oldest, until, language })
}

/// A visit that may concern the phone.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Touched {
    pub id: Uuid,
    pub technician_id: Uuid,
    pub on_date: NaiveDate,
    pub status: String,
    pub stop_number: Option<i32>,
    pub arrives_at: Option<NaiveTime>,
    pub leaves_at: Option<NaiveTime>,
}

/// The person's visits that a phone should hold: booked until that day, late ones included, and today's that
/// are done.
///
/// # Errors
/// When the database does not answer.
pub async fn all(
    conn: &mut Conn,
    person: Uuid,
    today: NaiveDate,
    until: NaiveDate,
) -> sqlx::Result<Vec<Touched>> {
    sqlx::query_as(
        "select id, technician_id, on_date, status, stop_number, arrives_at, leaves_at from visit
         where technician_id = $1 and on_date <= $3 and (status = 'booked' or (status = 'done' and on_date = $2))
         order by on_date, stop_number nulls last, id",
    )
    .bind(person)
    .bind(today)
    .bind(until)
    .fetch_all(conn)
    .await
}

/// Visits that are or were the person's and changed since the cursor, and those that came near only because
/// days went by.
///
/// # Errors
/// When the database does not answer.
pub async fn since(conn: &mut Conn, person: Uuid, cursor: Cursor) -> sqlx::Result<Vec<Touched>> {
    sqlx::query_as(
        "select id, technician_id, on_date, status, stop_number, arrives_at, leaves_at from visit
         where id in (select visit_id from visit_change where technician_id = $1 and changed_by >= $2::text::xid8)
            or (technician_id = $1 and status = 'booked' and on_date > $3)
         order by on_date, stop_number nulls last, id",
    )
    .bind(person)
    .bind(cursor.oldest.to_string())
    .bind(cursor.until)
    .fetch_all(conn)
    .await
}

/// Forgets changes that a later one of the same visit for the same phone stands for; how many. Whoever reads
/// from an earlier cursor is told of the visit by the later one.
///
/// # Errors
/// When the database does not answer.
pub async fn forget_overtaken(conn: &mut Conn) -> sqlx::Result<u64> {
    let done = sqlx::query(
        "delete from visit_change c where exists (
            select 1 from visit_change n where n.visit_id = c.visit_id and n.technician_id = c.technician_id
                and (n.changed_by > c.changed_by or (n.changed_by = c.changed_by and n.id > c.id)))",
    )
    .execute(conn)
    .await?;
    Ok(done.rows_affected())
}

/// What a phone shows of a visit's place beyond the visit itself.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Place {
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
    pub notice_hours: Option<i32>,
    pub notice_reason: String,
    pub emergency_place: String,
}

/// The place of a visit.
///
/// # Errors
/// `RowNotFound` when there is no such site.
pub async fn place(conn: &mut Conn, site: Uuid) -> sqlx::Result<Place> {
    sqlx::query_as(
        "select latitude, longitude, notice_hours, notice_reason, emergency_place from site where id = $1",
    )
    .bind(site)
    .fetch_one(conn)
    .await
}

/// Where help is, as the company has entered it.
#[derive(Debug, Clone, Default, sqlx::FromRow)]
pub struct Help {
    pub poison_center_phone: String,
    pub emergency_place: String,
}

/// Where help is; before the set-up nothing.
///
/// # Errors
/// When the database does not answer.
pub async fn help(conn: &mut Conn) -> sqlx::Result<Help> {
    let found = sqlx::query_as("select poison_center_phone, emergency_place from company")
        .fetch_optional(conn)
        .await?;
    Ok(found.unwrap_or_default())
}

/// Writes down where help is.
///
/// # Errors
/// When the database does not answer.
pub async fn save_help(conn: &mut Conn, help: &Help) -> sqlx::Result<()> {
    sqlx::query("update company set poison_center_phone = $1, emergency_place = $2")
        .bind(&help.poison_center_phone)
        .bind(&help.emergency_place)
        .execute(conn)
        .await?;
    Ok(())
}

/// Writes down where help is nearest to a site; empty: where the company says.
///
/// # Errors
/// When the database does not answer.
pub async fn save_emergency_place(conn: &mut Conn, site: Uuid, place: &str) -> sqlx::Result<()> {
    sqlx::query("update site set emergency_place = $2 where id = $1")
        .bind(site)
        .bind(place)
        .execute(conn)
        .await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cursor_is_read_back_and_anything_else_is_none() {
        let until = "2026-12-02".parse().unwrap();
        let cursor = Cursor { system: -5, oldest: 7_000_000_000, until, language: Language::Spanish };
        assert_eq!(cursor.to_string().parse(), Ok(cursor));
        for text in [
            "",
            "1",
            "1.2",
            "1.2.x",
            "g.2.2026-12-02",
            "+1.2.2026-12-02",
            "1.2.2026-12-02.3",
            "1..2026-12-02",
        ] {
            assert_eq!(text.parse::<Cursor>(), Err(()), "{text}");
        }
    }
}
