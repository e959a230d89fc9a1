//! The application log, page by page, and the same for reports.
use super::{Head, Item, Version};
use crate::db::Conn;
use chrono::NaiveDate;
use uuid::Uuid;

/// Which records. Empty texts and `None` narrow nothing.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    pub from: Option<NaiveDate>,
    pub until: Option<NaiveDate>,
    pub state: String,
    pub county: String,
    pub product: Option<Uuid>,
    /// Part of the customer's name or the site's address.
    pub search: String,
    /// Only where a flag of the newest version waits for an answer.
    pub flagged: bool,
    /// Only records that this person applied or wrote.
    pub person: Option<Uuid>,
}

/// Where the page before ended: the log runs from the newest day backwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct After {
    pub applied_on: NaiveDate,
    pub id: Uuid,
}

/// A line of the log.
#[derive(Debug, Clone)]
pub struct Line {
    pub version: Version,
    /// Unanswered flags of this version.
    pub open_flags: i64,
}

#[derive(sqlx::FromRow)]
struct Row {
    #[sqlx(flatten)]
    head: Head,
    open_flags: i64,
}

/// The newest version of each record, withdrawn ones included, newest day first.
///
/// # Errors
/// When the database does not answer.
pub async fn list(
    conn: &mut Conn,
    filter: &Filter,
    after: Option<After>,
    at_most: i64,
) -> sqlx::Result<Vec<Line>> {
    let rows: Vec<Row> = sqlx::query_as(
        "select r.*, (select count(*) from record_flag f where f.record_id = r.id and f.version = r.version
                and f.answered_at is null) as open_flags
         from application_record r
         where not exists (select 1 from application_record n where n.id = r.id and n.version > r.version)
            and ($1::date is null or r.applied_on >= $1) and ($2::date is null or r.applied_on <= $2)
            and ($3 = '' or r.site_state = $3) and ($4 = '' or lower(r.site_county) = lower($4))
            and ($5::uuid is null or exists (select 1 from application_item i
                where i.record_id = r.id and i.version = r.version and i.product_id = $5))
            and ($6 = '' or lower(r.customer_name || ' ' || r.site_address) like $6)
            and (not $7 or (not r.withdrawn and exists (select 1 from record_flag f
                where f.record_id = r.id and f.version = r.version and f.answered_at is null)))
            and ($8::uuid is null or r.applicator_id = $8 or r.recorded_by = $8)
            and ($9::date is null or (r.applied_on, r.id) < ($9, $10))
         order by r.applied_on desc, r.id desc limit $11",
    )
    .bind(filter.from)
    .bind(filter.until)
    .bind(&filter.state)
    .bind(&filter.county)
    .bind(filter.product)
    .bind(pattern(&filter.search))
    .bind(filter.flagged)
    .bind(filter.person)
    .bind(after.map(|a| a.applied_on))
    .bind(after.map(|a| a.id))
    .bind(at_most)
    .fetch_all(&mut *conn)
    .await?;
    let (heads, flags): (Vec<_>, Vec<_>) = rows.into_iter().map(|row| (row.head, row.open_flags)).unzip();
    let versions = with_items(conn, heads).await?;
    Ok(versions.into_iter().zip(flags).map(|(version, open_flags)| Line { version, open_flags }).collect())
}

/// What counts in a period, in the order of the days: withdrawn records and
/// older versions are left out. Call it again with the last line until it
/// gives nothing; no more than `at_most` are held at once.
///
/// # Errors
/// When the database does not answer.
pub async fn report(
    conn: &mut Conn,
    filter: &Filter,
    after: Option<After>,
    at_most: i64,
) -> sqlx::Result<Vec<Version>> {
    let heads: Vec<Head> = sqlx::query_as(
        "select r.* from application_now r
         where ($1::date is null or r.applied_on >= $1) and ($2::date is null or r.applied_on <= $2)
            and ($3 = '' or r.site_state = $3) and ($4 = '' or lower(r.site_county) = lower($4))
            and ($5::uuid is null or exists (select 1 from application_item i
                where i.record_id = r.id and i.version = r.version and i.product_id = $5))
            and ($6 = '' or lower(r.customer_name || ' ' || r.site_address) like $6)
            and ($7::date is null or (r.applied_on, r.id) > ($7, $8))
         order by r.applied_on, r.id limit $9",
    )
    .bind(filter.from)
    .bind(filter.until)
    .bind(&filter.state)
    .bind(&filter.county)
    .bind(filter.product)
    .bind(pattern(&filter.search))
    .bind(after.map(|a| a.applied_on))
    .bind(after.map(|a| a.id))
    .bind(at_most)
    .fetch_all(&mut *conn)
    .await?;
    with_items(conn, heads).await
}

/// How many products of our own records such a report holds; `restricted`: only those of restricted use.
///
/// # Errors
/// When the database does not answer.
pub async fn own_rows(conn: &mut Conn, filter: &Filter, restricted: bool) -> sqlx::Result<i64> {
    sqlx::query_scalar(
        "select count(*) from application_now r
            join application_item i on i.record_id = r.id and i.version = r.version
            join label_version v on v.id = i.label_version_id
         where r.origin = 'own' and ($1::date is null or r.applied_on >= $1)
            and ($2::date is null or r.applied_on <= $2) and ($3 = '' or r.site_state = $3)
            and (not $4 or v.restricted_use)",
    )
    .bind(filter.from)
    .bind(filter.until)
    .bind(&filter.state)
    .bind(restricted)
    .fetch_one(conn)
    .await
}

/// What is searched for, anywhere in the text; the signs of the pattern itself mean themselves.
fn pattern(search: &str) -> String {
    if search.is_empty() {
        return String::new();
    }
    let plain = search.to_lowercase().replace('\\', "\\\\").replace('%', "\\%").replace('_', "\\_");
    format!("%{plain}%")
}

#[derive(sqlx::FromRow)]
struct ItemRow {
    record_id: Uuid,
    version: i32,
    #[sqlx(flatten)]
    item: Item,
}

/// Puts the items to their heads, in one further query.
async fn with_items(conn: &mut Conn, heads: Vec<Head>) -> sqlx::Result<Vec<Version>> {
    let (ids, versions): (Vec<Uuid>, Vec<i32>) = heads.iter().map(|h| (h.id, h.version)).unzip();
    let rows: Vec<ItemRow> = sqlx::query_as(
        "select i.* from application_item i
         join unnest($1::uuid[], $2::int[]) as wanted (id, version)
            on i.record_id = wanted.id and i.version = wanted.version
         order by i.record_id, i.version, i.position",
    )
    .bind(ids)
    .bind(versions)
    .fetch_all(conn)
    .await?;
    let mut of: std::collections::HashMap<(Uuid, i32), Vec<Item>> = std::collections::HashMap::new();
    for row in rows {
        of.entry((row.record_id, row.version)).or_default().push(row.item);
    }
    let whole = heads.into_iter().map(|head| {
        let items = of.remove(&(head.id, head.version)).unwrap_or_default();
        Version { head, items }
    });
    Ok(whole.collect())
}
