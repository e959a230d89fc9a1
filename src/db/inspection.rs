//! Links for inspectors: their scope, their end, and the records that they open.
use super::{Conn, record::Head};
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A link, without its secret.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Link {
    pub id: Uuid,
    /// For whom it was made.
    pub reader: String,
    pub state: String,
    /// Empty: every county of the state.
    pub county: String,
    pub from_day: NaiveDate,
    pub until_day: NaiveDate,
    /// The last day on which it opens.
    pub last_day: NaiveDate,
    pub made_at: DateTime<Utc>,
    pub revoked_at: Option<DateTime<Utc>>,
}

/// A link with how it was used.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Used {
    #[sqlx(flatten)]
    pub link: Link,
    pub made_by: String,
    pub uses: i64,
    pub last_use: Option<DateTime<Utc>>,
}

/// Keeps a new link.
///
/// # Errors
/// When a rule of the table breaks (`inspection_link_pkey`: the same form twice).
pub async fn insert(conn: &mut Conn, link: &Link, secret_hash: &[u8], by: Uuid) -> sqlx::Result<()> {
    sqlx::query(
        "insert into inspection_link (id, secret_hash, reader, state, county, from_day, until_day, last_day, made_by,
            made_at) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
    )
    .bind(link.id)
    .bind(secret_hash)
    .bind(&link.reader)
    .bind(&link.state)
    .bind(&link.county)
    .bind(link.from_day)
    .bind(link.until_day)
    .bind(link.last_day)
    .bind(by)
    .bind(link.made_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// The link of this secret, while it opens.
///
/// # Errors
/// When the database does not answer.
pub async fn open(conn: &mut Conn, secret_hash: &[u8], today: NaiveDate) -> sqlx::Result<Option<Link>> {
    sqlx::query_as(
        "select id, reader, state, county, from_day, until_day, last_day, made_at, revoked_at from inspection_link
         where secret_hash = $1 and revoked_at is null and last_day >= $2",
    )
    .bind(secret_hash)
    .bind(today)
    .fetch_optional(conn)
    .await
}

/// Every link, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn) -> sqlx::Result<Vec<Used>> {
    sqlx::query_as(
        "select l.id, l.reader, l.state, l.county, l.from_day, l.until_day, l.last_day, l.made_at, l.revoked_at,
            p.name as made_by, u.uses, u.last_use
         from inspection_link l join person p on p.id = l.made_by
            left join lateral (select count(*) as uses, max(a.at) as last_use from audit a
                where a.noun = 'inspection link' and a.noun_id = l.id and a.deed = 'opened') u on true
         order by l.made_at desc, l.id desc limit 200",
    )
    .fetch_all(conn)
    .await
}

/// Revokes a link; whether it stood.
///
/// # Errors
/// When the database does not answer.
pub async fn revoke(conn: &mut Conn, id: Uuid, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "update inspection_link set revoked_at = $3, revoked_by = $2 where id = $1 and revoked_at is null",
    )
    .bind(id)
    .bind(by)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() > 0)
}

/// Whether there is such a link at all.
///
/// # Errors
/// When the database does not answer.
pub async fn exists(conn: &mut Conn, id: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar("select exists (select 1 from inspection_link where id = $1)")
        .bind(id)
        .fetch_one(conn)
        .await
}

/// Versions that lie within a link's scope.
macro_rules! within {
    ($version:literal) => {
        concat!(
            $version,
            ".origin = 'own' and ",
            $version,
            ".site_state = $1 and ($2 = '' or lower(",
            $version,
            ".site_county) = lower($2)) and ",
            $version,
            ".applied_on between $3 and $4"
        )
    };
}

/// The newest versions of the company's records of which any version lies within the scope, so that one that was
/// amended out of it, or withdrawn, is not missing. By day, after this place.
///
/// # Errors
/// When the database does not answer.
pub async fn records(
    conn: &mut Conn,
    link: &Link,
    after: Option<(NaiveDate, Uuid)>,
    at_most: i64,
) -> sqlx::Result<Vec<Head>> {
    let (day, id) = after.unzip();
    sqlx::query_as(concat!(
        "select r.* from application_record r
         where not exists (select 1 from application_record n where n.id = r.id and n.version > r.version)
            and r.id in (select v.id from application_record v where ",
        within!("v"),
        ") and ($5::date is null or (r.applied_on, r.id) > ($5, $6))
         order by r.applied_on, r.id limit $7"
    ))
    .bind(&link.state)
    .bind(&link.county)
    .bind(link.from_day)
    .bind(link.until_day)
    .bind(day)
    .bind(id)
    .bind(at_most)
    .fetch_all(conn)
    .await
}

/// Whether any version of the record lies within the scope.
///
/// # Errors
/// When the database does not answer.
pub async fn covers(conn: &mut Conn, link: &Link, record: Uuid) -> sqlx::Result<bool> {
    sqlx::query_scalar(concat!(
        "select exists (select 1 from application_record v where v.id = $5 and ",
        within!("v"),
        ")"
    ))
    .bind(&link.state)
    .bind(&link.county)
    .bind(link.from_day)
    .bind(link.until_day)
    .bind(record)
    .fetch_one(conn)
    .await
}
