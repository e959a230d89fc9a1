//! Signatures under versions of records.
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A signature.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Signature {
    pub version: i32,
    pub person_id: Uuid,
    /// `applicator` or `supervisor`.
    pub capacity: String,
    /// As it was typed.
    pub name: String,
    pub certification: String,
    pub record_hash: Vec<u8>,
    pub signed_at: DateTime<Utc>,
}

/// Puts the signature under the version as it is hashed.
///
/// # Errors
/// `record_signature_once` when somebody signed it in that capacity.
pub async fn insert(conn: &mut Conn, record: Uuid, s: &Signature) -> sqlx::Result<()> {
    sqlx::query(
        "insert into record_signature (id, record_id, version, person_id, capacity, name, certification, record_hash,
            signed_at)
         select $1, id, version, $4, $5, $6, $7, hash, $8 from application_record where id = $2 and version = $3",
    )
    .bind(Uuid::now_v7())
    .bind(record)
    .bind(s.version)
    .bind(s.person_id)
    .bind(&s.capacity)
    .bind(&s.name)
    .bind(&s.certification)
    .bind(s.signed_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Every signature under any version of the record, in their order.
///
/// # Errors
/// When the database does not answer.
pub async fn of_record(conn: &mut Conn, record: Uuid) -> sqlx::Result<Vec<Signature>> {
    sqlx::query_as("select * from record_signature where record_id = $1 order by signed_at, id")
        .bind(record)
        .fetch_all(conn)
        .await
}

/// A record of ours whose newest version lacks a signature.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Unsigned {
    pub id: Uuid,
    pub version: i32,
    pub applied_on: NaiveDate,
    pub site_address: String,
    pub site_state: String,
    pub customer_name: String,
    pub applicator_id: Option<Uuid>,
    pub applicator_name: String,
    pub applicator_certification: String,
    pub supervisor_id: Option<Uuid>,
    pub supervisor_name: String,
    pub restricted: bool,
    /// The applicator signed this version.
    pub applicator_signed: bool,
    /// A supervisor signed this version.
    pub supervisor_signed: bool,
}

/// Records of ours with who signed their newest version; those without conditions were not written in the field.
const SIGNED: &str = "select r.id, r.version, r.applied_on, r.site_address, r.site_state::text as site_state,
        r.customer_name, r.applicator_id, r.applicator_name, r.applicator_certification, r.supervisor_id,
        r.supervisor_name,
        exists (select 1 from application_item i join label_version l on l.id = i.label_version_id
            where i.record_id = r.id and i.version = r.version and l.restricted_use) as restricted,
        exists (select 1 from record_signature s where s.record_id = r.id and s.version = r.version
            and s.capacity = 'applicator') as applicator_signed,
        exists (select 1 from record_signature s where s.record_id = r.id and s.version = r.version
            and s.capacity = 'supervisor') as supervisor_signed
    from application_now r where r.origin = 'own' and r.conditions is not null";

/// Records written in the field whose applicator has not signed, or whose applicator is not certified and
/// whose supervisor has not signed; the oldest first. Records without conditions were not written there.
///
/// # Errors
/// When the database does not answer.
pub async fn unsigned(conn: &mut Conn, only: Option<Uuid>, at_most: i64) -> sqlx::Result<Vec<Unsigned>> {
    let text = format!(
        "select * from ({SIGNED} and ($1::uuid is null or r.id = $1)) as u
         where not applicator_signed or (applicator_certification = '' and not supervisor_signed)
         order by applied_on, id limit $2"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(only).bind(at_most).fetch_all(conn).await
}

/// Those of them that wait for this person's own signature, as applicator or as the supervisor who is named.
///
/// # Errors
/// When the database does not answer.
pub async fn to_sign(conn: &mut Conn, person: Uuid, at_most: i64) -> sqlx::Result<Vec<Unsigned>> {
    let text = format!(
        "select * from ({SIGNED} and (r.applicator_id = $1 or r.supervisor_id = $1)) as u
         where (applicator_id = $1 and not applicator_signed)
            or (supervisor_id = $1 and applicator_certification = '' and not supervisor_signed)
         order by applied_on, id limit $2"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(person).bind(at_most).fetch_all(conn).await
}
