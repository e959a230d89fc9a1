//! Reading a record with everything it ever said.
use super::{Head, Item, Version};
use crate::db::Conn;
use uuid::Uuid;

/// Where a version hangs in the chain.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Link {
    pub seq: i64,
    pub hash: Vec<u8>,
    pub previous_hash: Vec<u8>,
}

#[derive(sqlx::FromRow)]
struct HeadRow {
    #[sqlx(flatten)]
    head: Head,
    #[sqlx(flatten)]
    link: Link,
}

#[derive(sqlx::FromRow)]
struct ItemRow {
    version: i32,
    #[sqlx(flatten)]
    item: Item,
}

/// Every version of the record, the first one first; none: no such record.
///
/// # Errors
/// When the database does not answer.
pub async fn versions(conn: &mut Conn, id: Uuid) -> sqlx::Result<Vec<(Version, Link)>> {
    let heads: Vec<HeadRow> =
        sqlx::query_as("select * from application_record where id = $1 order by version")
            .bind(id)
            .fetch_all(&mut *conn)
            .await?;
    let items: Vec<ItemRow> =
        sqlx::query_as("select * from application_item where record_id = $1 order by version, position")
            .bind(id)
            .fetch_all(conn)
            .await?;
    let of =
        |version: i32| items.iter().filter(move |row| row.version == version).map(|row| row.item.clone());
    let whole = heads.into_iter().map(|row| {
        let items = of(row.head.version).collect();
        (Version { head: row.head, items }, row.link)
    });
    Ok(whole.collect())
}

#[derive(sqlx::FromRow)]
struct LinkRow {
    version: i32,
    body: String,
    #[sqlx(flatten)]
    link: Link,
}

/// Every version's number, text as it was hashed and place in the chain, the first one first.
///
/// # Errors
/// When the database does not answer.
pub async fn links(conn: &mut Conn, id: Uuid) -> sqlx::Result<Vec<(i32, String, Link)>> {
    let rows: Vec<LinkRow> = sqlx::query_as(
        "select version, body, seq, hash, previous_hash from application_record where id = $1 order by version",
    )
    .bind(id)
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(|row| (row.version, row.body, row.link)).collect())
}

/// The newest version, withdrawn or not.
///
/// # Errors
/// When the database does not answer.
pub async fn newest(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Version>> {
    let head: Option<Head> =
        sqlx::query_as("select * from application_record where id = $1 order by version desc limit 1")
            .bind(id)
            .fetch_optional(&mut *conn)
            .await?;
    let Some(head) = head else { return Ok(None) };
    let items = items_of(conn, head.id, head.version).await?;
    Ok(Some(Version { head, items }))
}

/// The items of one version, in their order.
///
/// # Errors
/// When the database does not answer.
pub async fn items_of(conn: &mut Conn, id: Uuid, version: i32) -> sqlx::Result<Vec<Item>> {
    sqlx::query_as("select * from application_item where record_id = $1 and version = $2 order by position")
        .bind(id)
        .bind(version)
        .fetch_all(conn)
        .await
}

/// The record that a visit led to.
///
/// # Errors
/// When the database does not answer.
pub async fn of_visit(conn: &mut Conn, visit: Uuid) -> sqlx::Result<Option<Uuid>> {
    sqlx::query_scalar("select id from application_record where visit_id = $1 limit 1")
        .bind(visit)
        .fetch_optional(conn)
        .await
}

/// The records of a site that count, newest day first.
///
/// # Errors
/// When the database does not answer.
pub async fn of_site(conn: &mut Conn, site: Uuid, at_most: i64) -> sqlx::Result<Vec<Head>> {
    sqlx::query_as(
        "select * from application_now where site_id = $1 order by applied_on desc, id desc limit $2",
    )
    .bind(site)
    .bind(at_most)
    .fetch_all(conn)
    .await
}

/// Who applied and who wrote any version of the record: they may see it.
///
/// # Errors
/// When the database does not answer.
pub async fn applicator_of(conn: &mut Conn, id: Uuid) -> sqlx::Result<Vec<Uuid>> {
    sqlx::query_scalar(
        "select applicator_id from application_record where id = $1 and applicator_id is not null
         union select recorded_by from application_record where id = $1",
    )
    .bind(id)
    .fetch_all(conn)
    .await
}
