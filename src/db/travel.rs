//! Legs that a travel service answered, kept so that it is asked once. Places are in millionths of a degree.
use super::Conn;
use chrono::{DateTime, Utc};

/// A place: millionths of a degree north and east.
pub type Spot = (i32, i32);

/// A leg.
#[derive(Debug, Clone, Copy, PartialEq, sqlx::FromRow)]
pub struct Leg {
    pub from_latitude: i32,
    pub from_longitude: i32,
    pub to_latitude: i32,
    pub to_longitude: i32,
    pub minutes: f64,
    pub miles: f64,
}

/// The kept legs between any two of these places that were asked for since then.
///
/// # Errors
/// When the database does not answer.
pub async fn between(conn: &mut Conn, spots: &[Spot], since: DateTime<Utc>) -> sqlx::Result<Vec<Leg>> {
    let (north, east): (Vec<i32>, Vec<i32>) = spots.iter().copied().unzip();
    sqlx::query_as(
        "with spot as (select * from unnest($1::integer[], $2::integer[]) as s (north, east))
         select t.from_latitude, t.from_longitude, t.to_latitude, t.to_longitude, t.minutes, t.miles
         from spot f join travel t on t.from_latitude = f.north and t.from_longitude = f.east
            join spot u on u.north = t.to_latitude and u.east = t.to_longitude
         where t.asked_at >= $3",
    )
    .bind(north)
    .bind(east)
    .bind(since)
    .fetch_all(conn)
    .await
}

/// Keeps these legs in the place of older ones.
///
/// # Errors
/// When the database does not answer.
pub async fn keep(conn: &mut Conn, legs: &[Leg], at: DateTime<Utc>) -> sqlx::Result<()> {
    let whole = |pick: fn(&Leg) -> i32| legs.iter().map(pick).collect::<Vec<i32>>();
    let figures = |pick: fn(&Leg) -> f64| legs.iter().map(pick).collect::<Vec<f64>>();
    sqlx::query(
        "insert into travel (from_latitude, from_longitude, to_latitude, to_longitude, minutes, miles, asked_at)
         select n, e, m, f, t, d, $7 from unnest($1::integer[], $2::integer[], $3::integer[], $4::integer[],
            $5::double precision[], $6::double precision[]) as l (n, e, m, f, t, d)
         on conflict (from_latitude, from_longitude, to_latitude, to_longitude) do update
            set minutes = excluded.minutes, miles = excluded.miles, asked_at = excluded.asked_at",
    )
    .bind(whole(|l| l.from_latitude))
    .bind(whole(|l| l.from_longitude))
    .bind(whole(|l| l.to_latitude))
    .bind(whole(|l| l.to_longitude))
    .bind(figures(|l| l.minutes))
    .bind(figures(|l| l.miles))
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}
