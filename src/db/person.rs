//! People who sign in, their invitations and their certifications.
use super::Conn;
use crate::domain::user::Role;
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// A person of the company.
#[derive(Debug, Clone)]
pub struct Person {
    pub id: Uuid,
    pub name: String,
    pub email: String,
    pub role: Role,
    pub service_area: String,
    /// Whether the invitation was taken up.
    pub has_password: bool,
    pub retired_at: Option<DateTime<Utc>>,
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    name: String,
    email: String,
    role: String,
    service_area: String,
    has_password: bool,
    retired_at: Option<DateTime<Utc>>,
}

impl TryFrom<Row> for Person {
    type Error = sqlx::Error;
    fn try_from(r: Row) -> Result<Self, sqlx::Error> {
        let role = role_of(&r.role)?;
        Ok(Person {
            id: r.id,
            name: r.name,
            email: r.email,
            role,
            service_area: r.service_area,
            has_password: r.has_password,
            retired_at: r.retired_at,
        })
    }
}

/// The role that a column names; anything else is a row that cannot be.
pub(super) fn role_of(text: &str) -> sqlx::Result<Role> {
    Role::from_code(text).ok_or_else(|| sqlx::Error::Decode(format!("unknown role {text:?}").into()))
}

/// Everybody, those at work first, by name.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn) -> sqlx::Result<Vec<Person>> {
    let rows: Vec<Row> = sqlx::query_as(
        "select id, name, email, role, service_area, password_hash is not null as has_password, retired_at
         from person order by retired_at is not null, lower(name), id",
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Person::try_from).collect()
}

/// One person.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Person>> {
    let row: Option<Row> = sqlx::query_as(
        "select id, name, email, role, service_area, password_hash is not null as has_password, retired_at
         from person where id = $1",
    )
    .bind(id)
    .fetch_optional(conn)
    .await?;
    row.map(Person::try_from).transpose()
}

/// Whether anybody was ever entered.
///
/// # Errors
/// When the database does not answer.
pub async fn anyone(conn: &mut Conn) -> sqlx::Result<bool> {
    sqlx::query_scalar("select exists (select 1 from person)").fetch_one(conn).await
}

/// What sign-in needs of the person with this e-mail: id and password hash.
///
/// # Errors
/// When the database does not answer.
pub async fn secret_of(conn: &mut Conn, email: &str) -> sqlx::Result<Option<(Uuid, String)>> {
    sqlx::query_as(
        "select id, password_hash from person
         where email = $1 and password_hash is not null and retired_at is null",
    )
    .bind(email)
    .fetch_optional(conn)
    .await
}

/// Enters a person without a password.
///
/// # Errors
/// When the e-mail is taken (`person_email_once`) or another rule of the table breaks.
pub async fn insert(conn: &mut Conn, p: &Person, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into person (id, name, email, role, service_area, created_at) values ($1, $2, $3, $4, $5, $6)",
    )
    .bind(p.id)
    .bind(&p.name)
    .bind(&p.email)
    .bind(p.role.code())
    .bind(&p.service_area)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes name, role and service area.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn update(conn: &mut Conn, id: Uuid, name: &str, role: Role, area: &str) -> sqlx::Result<()> {
    sqlx::query("update person set name = $2, role = $3, service_area = $4 where id = $1")
        .bind(id)
        .bind(name)
        .bind(role.code())
        .bind(area)
        .execute(conn)
        .await?;
    Ok(())
}

/// Sets the password hash.
///
/// # Errors
/// When the database does not answer.
pub async fn set_password(conn: &mut Conn, id: Uuid, hash: &str) -> sqlx::Result<()> {
    sqlx::query("update person set password_hash = $2 where id = $1")
        .bind(id)
        .bind(hash)
        .execute(conn)
        .await?;
    Ok(())
}

/// Retires a person or takes them back.
///
/// # Errors
/// When the database does not answer.
pub async fn set_retired(conn: &mut Conn, id: Uuid, at: Option<DateTime<Utc>>) -> sqlx::Result<()> {
    sqlx::query("update person set retired_at = $2 where id = $1").bind(id).bind(at).execute(conn).await?;
    Ok(())
}

/// How many owners at work there are, their rows locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock_owners(conn: &mut Conn) -> sqlx::Result<usize> {
    let rows: Vec<Uuid> = sqlx::query_scalar(
        "select id from person where role = 'owner' and retired_at is null order by id for update",
    )
    .fetch_all(conn)
    .await?;
    Ok(rows.len())
}

/// A certification as entered.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Certification {
    pub id: Uuid,
    pub person_id: Uuid,
    pub state: String,
    pub category: String,
    pub number: String,
    pub valid_from: NaiveDate,
    pub expires_on: NaiveDate,
}

/// The certifications of one person, newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn certifications(conn: &mut Conn, person: Uuid) -> sqlx::Result<Vec<Certification>> {
    sqlx::query_as(
        "select id, person_id, state, category, number, valid_from, expires_on
         from certification where person_id = $1 order by expires_on desc, id",
    )
    .bind(person)
    .fetch_all(conn)
    .await
}

/// Enters a certification.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert_certification(conn: &mut Conn, c: &Certification) -> sqlx::Result<()> {
    sqlx::query(
        "insert into certification (id, person_id, state, category, number, valid_from, expires_on)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(c.id)
    .bind(c.person_id)
    .bind(&c.state)
    .bind(&c.category)
    .bind(&c.number)
    .bind(c.valid_from)
    .bind(c.expires_on)
    .execute(conn)
    .await?;
    Ok(())
}

/// The states in which somebody at work is certified that day.
///
/// # Errors
/// When the database does not answer.
pub async fn certified_states(conn: &mut Conn, on: NaiveDate) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar(
        "select distinct c.state::text from certification c join person p on p.id = c.person_id
         where p.retired_at is null and $1 between c.valid_from and c.expires_on order by 1",
    )
    .bind(on)
    .fetch_all(conn)
    .await
}

/// How many visits are booked for a person.
///
/// # Errors
/// When the database does not answer.
pub async fn booked_visits(conn: &mut Conn, id: Uuid) -> sqlx::Result<i64> {
    sqlx::query_scalar("select count(*) from visit where technician_id = $1 and status = 'booked'")
        .bind(id)
        .fetch_one(conn)
        .await
}
