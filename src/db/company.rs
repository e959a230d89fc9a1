//! The company: one row.
use super::Conn;
use chrono_tz::Tz;

/// Name, address and licence as they stand on pages, mails and reports.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Company {
    pub name: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub zip: String,
    pub phone: String,
    pub license_number: String,
    pub time_zone: String,
    pub emergency_phone: String,
}

/// The company, or nothing before the first set-up.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn) -> sqlx::Result<Option<Company>> {
    sqlx::query_as(
        "select name, street, city, state, zip, phone, license_number, time_zone, emergency_phone from company",
    )
    .fetch_optional(conn)
    .await
}

/// Writes the company's row, replacing the one there.
///
/// # Errors
/// When the database does not answer or a field breaks a rule of the table.
pub async fn save(conn: &mut Conn, c: &Company) -> sqlx::Result<()> {
    sqlx::query(
        "insert into company (name, street, city, state, zip, phone, license_number, time_zone, emergency_phone)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9)
         on conflict (only_row) do update set name = excluded.name, street = excluded.street,
            city = excluded.city, state = excluded.state, zip = excluded.zip, phone = excluded.phone,
            license_number = excluded.license_number, time_zone = excluded.time_zone,
            emergency_phone = excluded.emergency_phone",
    )
    .bind(&c.name)
    .bind(&c.street)
    .bind(&c.city)
    .bind(&c.state)
    .bind(&c.zip)
    .bind(&c.phone)
    .bind(&c.license_number)
    .bind(&c.time_zone)
    .bind(&c.emergency_phone)
    .execute(conn)
    .await?;
    Ok(())
}

/// The time zone in which the company counts its days; before the set-up, Greenwich.
///
/// # Errors
/// When the database does not answer.
pub async fn time_zone(conn: &mut Conn) -> sqlx::Result<Tz> {
    let zone: Option<String> =
        sqlx::query_scalar("select time_zone from company").fetch_optional(conn).await?;
    Ok(zone.and_then(|z| z.parse().ok()).unwrap_or(Tz::UTC))
}
