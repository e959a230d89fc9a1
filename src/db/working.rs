//! When, from where and with which vehicle a person works, and what the company counts on for a day.
use super::Conn;
use chrono::NaiveTime;
use rust_decimal::Decimal;
use uuid::Uuid;

/// The usual hours of one weekday; 1 is Monday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Day {
    pub weekday: i16,
    pub starts: NaiveTime,
    pub ends: NaiveTime,
    /// Minutes; zero: none, and then it lies nowhere.
    pub break_minutes: i32,
    pub break_from: Option<NaiveTime>,
    pub break_until: Option<NaiveTime>,
}

/// Where a day begins and ends, and in which vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, sqlx::FromRow)]
pub struct Way {
    pub vehicle_id: Option<Uuid>,
    /// Degrees; none: the company's place.
    pub start_latitude: Option<f64>,
    pub start_longitude: Option<f64>,
}

/// What one form holds of a person.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize)]
pub struct Working {
    pub way: Way,
    pub days: Vec<Day>,
}

/// A person's working week; none: there is no such person.
///
/// # Errors
/// When the database does not answer.
pub async fn of_person(conn: &mut Conn, person: Uuid) -> sqlx::Result<Option<Working>> {
    let way = "select vehicle_id, start_latitude, start_longitude from person where id = $1";
    let Some(way) = sqlx::query_as(way).bind(person).fetch_optional(&mut *conn).await? else {
        return Ok(None);
    };
    let days = sqlx::query_as(
        "select weekday, starts, ends, break_minutes, break_from, break_until from working_day
         where person_id = $1 order by weekday",
    )
    .bind(person)
    .fetch_all(conn)
    .await?;
    Ok(Some(Working { way, days }))
}

/// Holds the person's row until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, person: Uuid) -> sqlx::Result<()> {
    sqlx::query("select 1 from person where id = $1 for update").bind(person).execute(conn).await?;
    Ok(())
}

/// Puts this in the place of what was there.
///
/// # Errors
/// When a rule of the tables breaks.
pub async fn save(conn: &mut Conn, person: Uuid, working: &Working) -> sqlx::Result<()> {
    sqlx::query("update person set vehicle_id = $2, start_latitude = $3, start_longitude = $4 where id = $1")
        .bind(person)
        .bind(working.way.vehicle_id)
        .bind(working.way.start_latitude)
        .bind(working.way.start_longitude)
        .execute(&mut *conn)
        .await?;
    sqlx::query("delete from working_day where person_id = $1").bind(person).execute(&mut *conn).await?;
    for day in &working.days {
        sqlx::query(
            "insert into working_day (person_id, weekday, starts, ends, break_minutes, break_from, break_until)
             values ($1, $2, $3, $4, $5, $6, $7)",
        )
        .bind(person)
        .bind(day.weekday)
        .bind(day.starts)
        .bind(day.ends)
        .bind(day.break_minutes)
        .bind(day.break_from)
        .bind(day.break_until)
        .execute(&mut *conn)
        .await?;
    }
    Ok(())
}

/// What the company counts on when days are planned.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, sqlx::FromRow)]
pub struct Terms {
    /// Degrees of the place where days begin; none: nobody has said.
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
    /// Minutes for coming and going at a stop.
    pub stop_minutes: i32,
    /// Minutes for each plant.
    pub plant_minutes: Decimal,
    /// Per cent carried beyond the sum of the doses.
    pub load_reserve_percent: i32,
}

/// The company's terms; none before the first set-up.
///
/// # Errors
/// When the database does not answer.
pub async fn terms(conn: &mut Conn) -> sqlx::Result<Option<Terms>> {
    sqlx::query_as(
        "select latitude, longitude, stop_minutes, plant_minutes, load_reserve_percent from company",
    )
    .fetch_optional(conn)
    .await
}

/// As [`terms`], and the row is held until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock_terms(conn: &mut Conn) -> sqlx::Result<Option<Terms>> {
    sqlx::query("select 1 from company for update").execute(&mut *conn).await?;
    terms(conn).await
}

/// Changes the terms.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn save_terms(conn: &mut Conn, t: &Terms) -> sqlx::Result<()> {
    sqlx::query(
        "update company set latitude = $1, longitude = $2, stop_minutes = $3, plant_minutes = $4,
            load_reserve_percent = $5",
    )
    .bind(t.latitude)
    .bind(t.longitude)
    .bind(t.stop_minutes)
    .bind(t.plant_minutes)
    .bind(t.load_reserve_percent)
    .execute(conn)
    .await?;
    Ok(())
}
