//! Label files and safety data sheets. They are brought and never changed; the newest of its kind counts.
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A file without its bytes.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Document {
    pub id: Uuid,
    /// Code of a `Kind`.
    pub kind: String,
    pub product_id: Uuid,
    pub label_version_id: Option<Uuid>,
    pub file_name: String,
    /// SHA-256.
    pub hash: Vec<u8>,
    pub bytes: i64,
    pub brought_by: Uuid,
    pub brought_by_name: String,
    pub brought_at: DateTime<Utc>,
}

const COLUMNS: &str = "d.id, d.kind, d.product_id, d.label_version_id, d.file_name, d.hash,
    length(d.content)::bigint as bytes, d.brought_by, p.name as brought_by_name, d.brought_at";

/// Keeps a file.
///
/// # Errors
/// `document_pkey` when its id is taken.
pub async fn insert(conn: &mut Conn, new: &Document, content: &[u8]) -> sqlx::Result<()> {
    sqlx::query(
        "insert into document (id, kind, product_id, label_version_id, file_name, hash, content, brought_by, brought_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(new.id)
    .bind(&new.kind)
    .bind(new.product_id)
    .bind(new.label_version_id)
    .bind(&new.file_name)
    .bind(&new.hash)
    .bind(content)
    .bind(new.brought_by)
    .bind(new.brought_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// A file without its bytes.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Document>> {
    let text =
        format!("select {COLUMNS} from document d join person p on p.id = d.brought_by where d.id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// Its bytes.
///
/// # Errors
/// When the database does not answer.
pub async fn content(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Vec<u8>>> {
    sqlx::query_scalar("select content from document where id = $1").bind(id).fetch_optional(conn).await
}

/// Data sheets of a product, and the label files of that version; the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn of(conn: &mut Conn, product: Uuid, version: Option<Uuid>) -> sqlx::Result<Vec<Document>> {
    let text = format!(
        "select {COLUMNS} from document d join person p on p.id = d.brought_by
         where d.product_id = $1 and (d.label_version_id is null or d.label_version_id = $2)
         order by d.kind, d.brought_at desc, d.id desc"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(product).bind(version).fetch_all(conn).await
}

/// A file that a phone keeps for a label version.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Wanted {
    pub id: Uuid,
    pub label_version: Uuid,
    pub kind: String,
    pub hash: Vec<u8>,
    pub bytes: i64,
}

/// The newest of each kind for every label version that the person's visits name: those booked until that day,
/// late ones included, and today's that are done.
///
/// # Errors
/// When the database does not answer.
pub async fn wanted(
    conn: &mut Conn,
    person: Uuid,
    today: NaiveDate,
    until: NaiveDate,
) -> sqlx::Result<Vec<Wanted>> {
    sqlx::query_as(
        "with named as (
            select distinct l.id as version, l.product_id from visit v join planned_dose p on p.visit_id = v.id
                join label_use u on u.id = p.label_use_id join label_version l on l.id = u.label_version_id
            where v.technician_id = $1 and v.on_date <= $3
                and (v.status = 'booked' or (v.status = 'done' and v.on_date = $2)))
         select distinct on (n.version, d.kind) d.id, n.version as label_version, d.kind, d.hash,
            length(d.content)::bigint as bytes
         from named n join document d on d.product_id = n.product_id
            and (d.label_version_id is null or d.label_version_id = n.version)
         order by n.version, d.kind, d.brought_at desc, d.id desc",
    )
    .bind(person)
    .bind(today)
    .bind(until)
    .fetch_all(conn)
    .await
}
