//! The company's vehicles.
use super::Conn;
use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A vehicle.
#[derive(Debug, Clone, PartialEq, serde::Serialize, sqlx::FromRow)]
pub struct Vehicle {
    pub id: Uuid,
    pub name: String,
    /// Gallons of water or mix that it carries on one day.
    pub tank_gal: Decimal,
    pub retired_at: Option<DateTime<Utc>>,
}

/// All of them, those in use first, each with who drives it.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn) -> sqlx::Result<Vec<(Vehicle, Vec<String>)>> {
    #[derive(sqlx::FromRow)]
    struct Row {
        #[sqlx(flatten)]
        vehicle: Vehicle,
        drivers: Vec<String>,
    }
    let rows: Vec<Row> = sqlx::query_as(
        "select v.id, v.name, v.tank_gal, v.retired_at,
            array(select p.name from person p where p.vehicle_id = v.id and p.retired_at is null order by 1) as drivers
         from vehicle v order by v.retired_at is not null, lower(v.name), v.id",
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(|r| (r.vehicle, r.drivers)).collect())
}

/// One vehicle.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Vehicle>> {
    sqlx::query_as("select id, name, tank_gal, retired_at from vehicle where id = $1")
        .bind(id)
        .fetch_optional(conn)
        .await
}

/// One vehicle, locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Vehicle>> {
    sqlx::query_as("select id, name, tank_gal, retired_at from vehicle where id = $1 for update")
        .bind(id)
        .fetch_optional(conn)
        .await
}

/// The vehicle that a person drives.
///
/// # Errors
/// When the database does not answer.
pub async fn of_person(conn: &mut Conn, person: Uuid) -> sqlx::Result<Option<Vehicle>> {
    sqlx::query_as(
        "select v.id, v.name, v.tank_gal, v.retired_at from vehicle v join person p on p.vehicle_id = v.id
         where p.id = $1 and v.retired_at is null",
    )
    .bind(person)
    .fetch_optional(conn)
    .await
}

/// Enters a vehicle.
///
/// # Errors
/// `vehicle_name_once` when the name is taken, `vehicle_pkey` when it is there already.
pub async fn insert(conn: &mut Conn, v: &Vehicle) -> sqlx::Result<()> {
    sqlx::query("insert into vehicle (id, name, tank_gal) values ($1, $2, $3)")
        .bind(v.id)
        .bind(&v.name)
        .bind(v.tank_gal)
        .execute(conn)
        .await?;
    Ok(())
}

/// Changes name, tank and retirement.
///
/// # Errors
/// `vehicle_name_once` when the name is taken.
pub async fn update(conn: &mut Conn, v: &Vehicle) -> sqlx::Result<()> {
    sqlx::query("update vehicle set name = $2, tank_gal = $3, retired_at = $4 where id = $1")
        .bind(v.id)
        .bind(&v.name)
        .bind(v.tank_gal)
        .bind(v.retired_at)
        .execute(conn)
        .await?;
    Ok(())
}

/// Takes it from everybody who drives it.
///
/// # Errors
/// When the database does not answer.
pub async fn take_from_all(conn: &mut Conn, id: Uuid) -> sqlx::Result<u64> {
    let done = sqlx::query("update person set vehicle_id = null where vehicle_id = $1")
        .bind(id)
        .execute(conn)
        .await?;
    Ok(done.rows_affected())
}
