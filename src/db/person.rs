//! People who sign in, their invitations and their certifications.
use super::Conn;
use crate::domain::{permission, user::Role};
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

/// The language in which they read the field pages.
///
/// # Errors
/// `person_language_known` for a tag that no texts are written in.
pub async fn set_language(conn: &mut Conn, id: Uuid, tag: &str) -> sqlx::Result<()> {
    sqlx::query("update person set language = $2 where id = $1").bind(id).bind(tag).execute(conn).await?;
    Ok(())
}

/// The secret of the key that seals their unsent work on a phone; `fresh` becomes it where there is none yet.
///
/// # Errors
/// When the database does not answer.
pub async fn phone_key(conn: &mut Conn, id: Uuid, fresh: &[u8]) -> sqlx::Result<Option<Vec<u8>>> {
    let known: Option<Option<Vec<u8>>> = sqlx::query_scalar("select phone_key from person where id = $1")
        .bind(id)
        .fetch_optional(&mut *conn)
        .await?;
    match known {
        Some(None) => {
            let made =
                "update person set phone_key = coalesce(phone_key, $2) where id = $1 returning phone_key";
            sqlx::query_scalar(made).bind(id).bind(fresh).fetch_optional(conn).await
        }
        known => Ok(known.flatten()),
    }
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

/// Whether somebody signs in, or did, with that address.
///
/// # Errors
/// When the database does not answer.
pub async fn has_address(conn: &mut Conn, email: &str) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar("select exists (select 1 from person where lower(email) = lower($1))");
    found.bind(email).fetch_one(conn).await
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

/// The categories, lower case, in which a person at work is certified in that state on that day.
///
/// # Errors
/// When the database does not answer.
pub async fn categories_on(
    conn: &mut Conn,
    person: Uuid,
    state: &str,
    on: NaiveDate,
) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar(
        "select distinct lower(category) from certification
         where person_id = $1 and state = $2 and $3 between valid_from and expires_on order by 1",
    )
    .bind(person)
    .bind(state)
    .bind(on)
    .fetch_all(conn)
    .await
}

/// The categories in which anybody at work is certified in that state on that day.
///
/// # Errors
/// When the database does not answer.
pub async fn company_categories(conn: &mut Conn, state: &str, on: NaiveDate) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar(
        "select distinct lower(c.category) from certification c join person p on p.id = c.person_id
         where p.retired_at is null and c.state = $1 and $2 between c.valid_from and c.expires_on order by 1",
    )
    .bind(state)
    .bind(on)
    .fetch_all(conn)
    .await
}

/// State and category of every certification that somebody at work holds that day.
///
/// # Errors
/// When the database does not answer.
pub async fn company_certifications(conn: &mut Conn, on: NaiveDate) -> sqlx::Result<Vec<(String, String)>> {
    sqlx::query_as(
        "select distinct c.state::text, lower(c.category) from certification c join person p on p.id = c.person_id
         where p.retired_at is null and $1 between c.valid_from and c.expires_on order by 1, 2",
    )
    .bind(on)
    .fetch_all(conn)
    .await
}

/// A course that somebody took.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Course {
    pub id: Uuid,
    pub person_id: Uuid,
    pub state: String,
    pub name: String,
    pub taken_on: NaiveDate,
    /// Nothing: it counts a year.
    pub valid_until: Option<NaiveDate>,
    /// Number of the proof.
    pub proof: String,
}

impl Course {
    /// The last day on which it counts.
    #[must_use]
    pub fn last_day(&self) -> NaiveDate {
        self.taken().last_day()
    }

    /// As the rules ask about it.
    #[must_use]
    pub fn taken(&self) -> permission::Course {
        permission::Course { state: self.state.clone(), on: self.taken_on, until: self.valid_until }
    }
}

/// The courses of one person, newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn courses(conn: &mut Conn, person: Uuid) -> sqlx::Result<Vec<Course>> {
    sqlx::query_as(
        "select id, person_id, state, name, taken_on, valid_until, proof
         from course where person_id = $1 order by taken_on desc, id",
    )
    .bind(person)
    .fetch_all(conn)
    .await
}

/// The courses of that state which people at work took, newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn company_courses(conn: &mut Conn, state: &str) -> sqlx::Result<Vec<Course>> {
    sqlx::query_as(
        "select c.id, c.person_id, c.state, c.name, c.taken_on, c.valid_until, c.proof
         from course c join person p on p.id = c.person_id
         where p.retired_at is null and c.state = $1 order by c.taken_on desc, c.id",
    )
    .bind(state)
    .fetch_all(conn)
    .await
}

/// The states of which people at work took courses.
///
/// # Errors
/// When the database does not answer.
pub async fn course_states(conn: &mut Conn) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar(
        "select distinct c.state::text from course c join person p on p.id = c.person_id
         where p.retired_at is null order by 1",
    )
    .fetch_all(conn)
    .await
}

/// Enters a course.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert_course(conn: &mut Conn, c: &Course) -> sqlx::Result<()> {
    sqlx::query(
        "insert into course (id, person_id, state, name, taken_on, valid_until, proof)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(c.id)
    .bind(c.person_id)
    .bind(&c.state)
    .bind(&c.name)
    .bind(c.taken_on)
    .bind(c.valid_until)
    .bind(&c.proof)
    .execute(conn)
    .await?;
    Ok(())
}
