//! Taking the rows of a table back. What hangs on them is named; nothing that somebody worked on is removed.
use super::{Import, within};
use crate::{db::Conn, domain::import::Kind};
use uuid::Uuid;

/// So many of something hang on rows of the table.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Hangs {
    pub what: String,
    pub many: i64,
}

/// The first and the last id that a row of the table may have.
fn span(import: &Import) -> (Uuid, Uuid) {
    (within(import.batch, 0), within(import.batch, u32::MAX))
}

/// What hangs on the rows, and how many of them somebody worked on since.
///
/// # Errors
/// When the database does not answer.
pub async fn hanging(conn: &mut Conn, import: &Import) -> sqlx::Result<Vec<Hangs>> {
    let (from, to) = span(import);
    let text = match import.of() {
        Kind::Customers => {
            "select 'sites' as what, count(*) as many from site where customer_id between $1 and $2
             union all select 'changes by hand', count(*) from audit where noun = 'customer'
                and deed not in ('seen', 'exported') and noun_id between $1 and $2"
        }
        Kind::Sites => {
            "select 'plants' as what, count(*) as many from plant where site_id between $1 and $2
             union all select 'visits', count(*) from visit where site_id between $1 and $2
             union all select 'application records', count(*) from application_record where site_id between $1 and $2
             union all select 'neighbours', count(*) from site_neighbour where site_id between $1 and $2
             union all select 'other sites on the same land', count(*) from site
                where parcel_id between $1 and $2 and id not between $1 and $2
             union all select 'changes by hand', count(*) from audit
                where deed not in ('seen', 'exported') and noun in ('site', 'parcel') and noun_id between $1 and $2"
        }
        Kind::Plants => {
            "select 'planned doses' as what, count(*) as many from planned_dose where plant_id between $1 and $2
             union all select 'application records', count(*) from application_item where plant_id between $1 and $2
             union all select 'changes by hand', count(*) from audit where noun = 'plant'
                and deed not in ('seen', 'exported') and noun_id between $1 and $2"
        }
        Kind::Products => {
            "select 'label versions' as what, count(*) as many from label_version where product_id between $1 and $2
             union all select 'plants', count(*) from plant where product_id between $1 and $2
             union all select 'changes by hand', count(*) from audit where noun = 'product'
                and deed not in ('seen', 'exported') and noun_id between $1 and $2"
        }
        Kind::Applications => {
            "select 'amendments' as what, count(*) as many from application_record
                where id between $1 and $2 and version > 1
             union all select 'signatures', count(*) from record_signature where record_id between $1 and $2
             union all select 'answered flags', count(*) from record_flag
                where record_id between $1 and $2 and answered_at is not null"
        }
    };
    let all: Vec<Hangs> = sqlx::query_as(text).bind(from).bind(to).fetch_all(conn).await?;
    Ok(all.into_iter().filter(|one| one.many > 0).collect())
}

/// Removes the rows; the parcels on which plants stood. Records are never among them.
///
/// # Errors
/// When something else hangs on a row (a foreign key).
pub async fn remove(conn: &mut Conn, import: &Import) -> sqlx::Result<(u64, Vec<Uuid>)> {
    let (from, to) = span(import);
    sqlx::query("delete from import_key where import_id = $1").bind(import.id).execute(&mut *conn).await?;
    let mut parcels = vec![];
    let steps: &[&str] = match import.of() {
        Kind::Customers => &["delete from customer where id between $1 and $2"],
        Kind::Sites => {
            &["delete from site where id between $1 and $2", "delete from parcel where id between $1 and $2"]
        }
        Kind::Plants => {
            parcels = parcels_of_plants(conn, import).await?;
            &[
                "delete from due where plant_id between $1 and $2",
                "delete from plant where id between $1 and $2",
            ]
        }
        Kind::Products => &[
            "delete from product_registration where product_id between $1 and $2",
            "delete from product where id between $1 and $2",
        ],
        Kind::Applications => &[],
    };
    let mut count = 0;
    for step in steps {
        count = sqlx::query(*step).bind(from).bind(to).execute(&mut *conn).await?.rows_affected();
    }
    Ok((count, parcels))
}

/// The parcels on which plants of the table stand.
///
/// # Errors
/// When the database does not answer.
pub async fn parcels_of_plants(conn: &mut Conn, import: &Import) -> sqlx::Result<Vec<Uuid>> {
    let (from, to) = span(import);
    sqlx::query_scalar(
        "select distinct s.parcel_id from plant p join site s on s.id = p.site_id
         where p.id between $1 and $2 order by 1",
    )
    .bind(from)
    .bind(to)
    .fetch_all(conn)
    .await
}

/// Writes down that the rows were taken back.
///
/// # Errors
/// When the database does not answer.
pub async fn undone(
    conn: &mut Conn,
    id: Uuid,
    by: Uuid,
    at: chrono::DateTime<chrono::Utc>,
) -> sqlx::Result<()> {
    sqlx::query("update import set state = 'undone', undone_by = $2, undone_at = $3 where id = $1")
        .bind(id)
        .bind(by)
        .bind(at)
        .execute(conn)
        .await?;
    Ok(())
}
