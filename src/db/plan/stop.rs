//! The stops of a plan.
use crate::db::Conn;
use chrono::{NaiveDate, NaiveTime};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A stop with all that its site and its visit say about when it may be.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Stop {
    pub id: Uuid,
    pub site_id: Uuid,
    pub parcel_id: Uuid,
    pub visit_id: Option<Uuid>,
    pub service_minutes: i32,
    pub load_gal: Decimal,
    pub technician_id: Option<Uuid>,
    pub on_date: Option<NaiveDate>,
    pub position: Option<i32>,
    pub arrives_at: Option<NaiveTime>,
    pub starts_at: Option<NaiveTime>,
    pub leaves_at: Option<NaiveTime>,
    pub locked: bool,
    pub unserved_why: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub county: String,
    pub customer: String,
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
    pub priority: i16,
    pub notice_hours: Option<i32>,
    pub notice_reason: String,
    /// Of the booked visit; nothing where there is none.
    pub visit_status: Option<String>,
    pub booked_on: Option<NaiveDate>,
    pub booked_technician: Option<Uuid>,
    pub booked_name: Option<String>,
    pub booked_place: Option<i32>,
    pub supervisor_id: Option<Uuid>,
    pub promised: bool,
    pub waiting: bool,
    pub waiting_reason: String,
    /// Plants to be treated, and the earliest day on which one of them is due.
    pub plants: i64,
    pub due_on: Option<NaiveDate>,
}

impl Stop {
    /// Whether somebody goes there.
    #[must_use]
    pub fn is_placed(&self) -> bool {
        self.position.is_some()
    }
}

const STOP: &str = "select t.id, t.site_id, s.parcel_id, t.visit_id, t.service_minutes, t.load_gal, t.technician_id,
        t.on_date, t.position, t.arrives_at, t.starts_at, t.leaves_at, t.locked, t.unserved_why, s.street, s.city,
        s.state, s.county, c.name as customer, s.latitude, s.longitude, s.priority, s.notice_hours, s.notice_reason,
        v.status as visit_status, v.on_date as booked_on, v.technician_id as booked_technician,
        b.name as booked_name, v.stop_number as booked_place, v.supervisor_id, coalesce(v.promised, false) as promised,
        v.waiting_since is not null as waiting, coalesce(v.waiting_reason, '') as waiting_reason,
        coalesce(p.plants, 0) as plants, p.due_on
     from plan_stop t join site s on s.id = t.site_id join customer c on c.id = s.customer_id
        left join visit v on v.id = t.visit_id left join person b on b.id = v.technician_id
        left join lateral (select count(*) as plants, min(d.due_on) as due_on from
            (select pd.plant_id from planned_dose pd where pd.visit_id = t.visit_id and pd.status = 'planned'
             union select sp.plant_id from plan_stop_plant sp where sp.stop_id = t.id and t.visit_id is null) x
            left join due d on d.plant_id = x.plant_id) p on true
     where ";

/// The stops of a plan: by day and order, then those that nobody serves.
///
/// # Errors
/// When the database does not answer.
pub async fn stops(conn: &mut Conn, plan: Uuid) -> sqlx::Result<Vec<Stop>> {
    let text = format!(
        "{STOP} t.plan_id = $1 order by t.on_date, t.technician_id, t.position, lower(s.street), t.id"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(plan).fetch_all(conn).await
}

/// One stop of a plan.
///
/// # Errors
/// When the database does not answer.
pub async fn stop(conn: &mut Conn, plan: Uuid, id: Uuid) -> sqlx::Result<Option<Stop>> {
    let text = format!("{STOP} t.plan_id = $1 and t.id = $2");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(plan).bind(id).fetch_optional(conn).await
}

/// A stop to be entered, with the plants of one that is not booked yet.
#[derive(Debug, Clone)]
pub struct NewStop {
    pub id: Uuid,
    pub site_id: Uuid,
    pub visit_id: Option<Uuid>,
    pub service_minutes: i32,
    pub load_gal: Decimal,
    pub plants: Vec<Uuid>,
    pub unserved_why: String,
}

/// Enters a stop that has no place yet.
///
/// # Errors
/// `plan_stop_visit_once` when the visit stands in the plan already.
pub async fn insert_stop(conn: &mut Conn, plan: Uuid, new: &NewStop) -> sqlx::Result<()> {
    sqlx::query(
        "insert into plan_stop (id, plan_id, site_id, visit_id, service_minutes, load_gal, unserved_why)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(new.id)
    .bind(plan)
    .bind(new.site_id)
    .bind(new.visit_id)
    .bind(new.service_minutes)
    .bind(new.load_gal)
    .bind(&new.unserved_why)
    .execute(&mut *conn)
    .await?;
    sqlx::query("insert into plan_stop_plant (stop_id, plant_id) select $1, unnest($2::uuid[])")
        .bind(new.id)
        .bind(&new.plants)
        .execute(conn)
        .await?;
    Ok(())
}

/// Where a stop stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Placed {
    pub technician: Uuid,
    pub on: NaiveDate,
    pub position: i32,
    pub arrives_at: NaiveTime,
    pub starts_at: NaiveTime,
    pub leaves_at: NaiveTime,
}

/// Gives a stop its place, or none and the reason.
///
/// # Errors
/// When the day is not one of the plan's.
pub async fn place(conn: &mut Conn, id: Uuid, at: Option<Placed>, why: &str) -> sqlx::Result<()> {
    sqlx::query(
        "update plan_stop set technician_id = $2, on_date = $3, position = $4, arrives_at = $5, starts_at = $6,
            leaves_at = $7, unserved_why = $8, locked = locked and $4 is not null where id = $1",
    )
    .bind(id)
    .bind(at.map(|p| p.technician))
    .bind(at.map(|p| p.on))
    .bind(at.map(|p| p.position))
    .bind(at.map(|p| p.arrives_at))
    .bind(at.map(|p| p.starts_at))
    .bind(at.map(|p| p.leaves_at))
    .bind(why)
    .execute(conn)
    .await?;
    Ok(())
}

/// Writes words at a stop that keeps its place.
///
/// # Errors
/// When the database does not answer.
pub async fn say_why(conn: &mut Conn, id: Uuid, why: &str) -> sqlx::Result<()> {
    sqlx::query("update plan_stop set unserved_why = $2 where id = $1")
        .bind(id)
        .bind(why)
        .execute(conn)
        .await?;
    Ok(())
}

/// Gives a stop that keeps its day and time another number, with words at it.
///
/// # Errors
/// `plan_stop_placed_whole` when it stands nowhere.
pub async fn number(conn: &mut Conn, id: Uuid, position: i32, why: &str) -> sqlx::Result<()> {
    sqlx::query("update plan_stop set position = $2, unserved_why = $3 where id = $1")
        .bind(id)
        .bind(position)
        .bind(why)
        .execute(conn)
        .await?;
    Ok(())
}

/// Locks a stop where it is, or frees it.
///
/// # Errors
/// `plan_stop_locked_placed` when it stands nowhere.
pub async fn lock_stop(conn: &mut Conn, id: Uuid, locked: bool) -> sqlx::Result<()> {
    sqlx::query("update plan_stop set locked = $2 where id = $1").bind(id).bind(locked).execute(conn).await?;
    Ok(())
}

/// Takes a stop out of the plan.
///
/// # Errors
/// When the database does not answer.
pub async fn delete_stop(conn: &mut Conn, id: Uuid) -> sqlx::Result<()> {
    sqlx::query("delete from plan_stop where id = $1").bind(id).execute(conn).await?;
    Ok(())
}

/// Takes every stop out of the plan that is neither locked nor behind us.
///
/// # Errors
/// When the database does not answer.
pub async fn delete_loose(conn: &mut Conn, plan: Uuid, today: NaiveDate) -> sqlx::Result<()> {
    sqlx::query(
        "delete from plan_stop t where plan_id = $1 and not locked and (on_date is null or on_date >= $2)
            and not exists (select 1 from visit v where v.id = t.visit_id and v.status = 'done')",
    )
    .bind(plan)
    .bind(today)
    .execute(conn)
    .await?;
    Ok(())
}

/// The plants to be treated at a stop that is not booked yet.
///
/// # Errors
/// When the database does not answer.
pub async fn plants_of(conn: &mut Conn, plan: Uuid) -> sqlx::Result<Vec<(Uuid, Uuid)>> {
    sqlx::query_as(
        "select p.stop_id, p.plant_id from plan_stop_plant p join plan_stop t on t.id = p.stop_id
         left join due d on d.plant_id = p.plant_id where t.plan_id = $1 order by p.stop_id, d.due_on, p.plant_id",
    )
    .bind(plan)
    .fetch_all(conn)
    .await
}

/// Writes down which visit a stop became.
///
/// # Errors
/// `plan_stop_visit_once` when another stop of the plan has it.
pub async fn set_visit(conn: &mut Conn, id: Uuid, visit: Uuid) -> sqlx::Result<()> {
    sqlx::query("update plan_stop set visit_id = $2 where id = $1")
        .bind(id)
        .bind(visit)
        .execute(conn)
        .await?;
    Ok(())
}

/// Gives a visit its place in the technician's day; it waits no more.
///
/// # Errors
/// When the database does not answer.
pub async fn set_visit_times(
    conn: &mut Conn,
    visit: Uuid,
    number: i32,
    arrives: NaiveTime,
    leaves: NaiveTime,
) -> sqlx::Result<()> {
    sqlx::query(
        "update visit set stop_number = $2, arrives_at = $3, leaves_at = $4, waiting_since = null, waiting_reason = ''
         where id = $1 and status = 'booked'",
    )
    .bind(visit)
    .bind(number)
    .bind(arrives)
    .bind(leaves)
    .execute(conn)
    .await?;
    Ok(())
}
