//! The kept answers of the due engine, and the list that is read from them.
use super::Conn;
use chrono::NaiveDate;
use sqlx::{PgPool, Postgres, Transaction};
use uuid::Uuid;

/// The engine's answer for one plant, as it is kept.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Kept {
    pub plant_id: Uuid,
    pub site_id: Uuid,
    pub computed_for: NaiveDate,
    pub protected_until: Option<NaiveDate>,
    pub wanted_on: NaiveDate,
    pub allowed_on: Option<NaiveDate>,
    pub due_on: Option<NaiveDate>,
    pub gap_days: Option<i32>,
    pub held_by: Vec<String>,
    pub why: Vec<String>,
}

/// A kept answer and the parcel that its plant stands on.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct KeptOn {
    pub parcel_id: Uuid,
    #[sqlx(flatten)]
    pub kept: Kept,
}

/// Keeps these answers for the plants of these parcels and forgets all others of them. What is
/// kept already is not written again.
///
/// # Errors
/// When the database does not answer.
pub async fn replace(conn: &mut Conn, parcels: &[Uuid], answers: &[Kept]) -> sqlx::Result<()> {
    sqlx::query(
        "delete from due using site where due.site_id = site.id and site.parcel_id = any($1)
            and due.plant_id <> all($2)",
    )
    .bind(parcels)
    .bind(answers.iter().map(|a| a.plant_id).collect::<Vec<_>>())
    .execute(&mut *conn)
    .await?;
    sqlx::query(
        "insert into due as d (plant_id, site_id, computed_for, protected_until, wanted_on, allowed_on, due_on,
            gap_days, held_by, why)
         select * from jsonb_to_recordset($1) as x (plant_id uuid, site_id uuid, computed_for date,
            protected_until date, wanted_on date, allowed_on date, due_on date, gap_days integer, held_by text[],
            why text[])
         on conflict (plant_id) do update set site_id = excluded.site_id,
            computed_for = excluded.computed_for, protected_until = excluded.protected_until,
            wanted_on = excluded.wanted_on, allowed_on = excluded.allowed_on, due_on = excluded.due_on,
            gap_days = excluded.gap_days, held_by = excluded.held_by, why = excluded.why
         where d is distinct from excluded",
    )
    .bind(sqlx::types::Json(answers))
    .execute(conn)
    .await?;
    Ok(())
}

/// The kept answers of the plants of these parcels, each with its parcel, by plant.
///
/// # Errors
/// When the database does not answer.
pub async fn of_parcels(conn: &mut Conn, parcels: &[Uuid]) -> sqlx::Result<Vec<KeptOn>> {
    sqlx::query_as(
        "select s.parcel_id, d.plant_id, d.site_id, d.computed_for, d.protected_until, d.wanted_on, d.allowed_on,
            d.due_on, d.gap_days, d.held_by, d.why
         from due d join site s on s.id = d.site_id where s.parcel_id = any($1) order by d.plant_id",
    )
    .bind(parcels)
    .fetch_all(conn)
    .await
}

/// Each plant of these parcels with its site.
///
/// # Errors
/// When the database does not answer.
pub async fn sites_of_plants(conn: &mut Conn, parcels: &[Uuid]) -> sqlx::Result<Vec<(Uuid, Uuid)>> {
    sqlx::query_as(
        "select p.id, p.site_id from plant p join site s on s.id = p.site_id where s.parcel_id = any($1)",
    )
    .bind(parcels)
    .fetch_all(conn)
    .await
}

/// Whether any answer is from another day than this one.
///
/// # Errors
/// When the database does not answer.
pub async fn any_stale(conn: &mut Conn, today: NaiveDate) -> sqlx::Result<bool> {
    sqlx::query_scalar(
        "select exists (select 1 from due where computed_for < $1)
            or exists (select 1 from due where computed_for > $1)",
    )
    .bind(today)
    .fetch_one(conn)
    .await
}

/// Takes hold of parcels after this one whose answers are from another day, some at a time and in
/// order. Those that another transaction holds are passed over. Gives the last parcel looked at,
/// none at the end of all, and those that are held now.
///
/// # Errors
/// When the database does not answer.
pub async fn take_stale(
    conn: &mut Conn,
    today: NaiveDate,
    after: Option<Uuid>,
    limit: i64,
) -> sqlx::Result<(Option<Uuid>, Vec<Uuid>)> {
    let held: Vec<Uuid> = sqlx::query_scalar(
        "select p.id from parcel p where ($2::uuid is null or p.id > $2) and exists (
            select 1 from due d join site s on s.id = d.site_id
            where s.parcel_id = p.id and d.computed_for <> $1)
         order by p.id limit $3 for update skip locked",
    )
    .bind(today)
    .bind(after)
    .bind(limit)
    .fetch_all(&mut *conn)
    .await?;
    // Asked again now that they are held: another worker may have been done with one of them between
    // the look and the hold, and its work must not be done twice.
    let stale = sqlx::query_scalar(
        "select distinct s.parcel_id from due d join site s on s.id = d.site_id
         where s.parcel_id = any($2) and d.computed_for <> $1 order by 1",
    )
    .bind(today)
    .bind(&held)
    .fetch_all(conn)
    .await?;
    Ok((held.last().copied(), stale))
}

/// Two transactions that only read and see the same moment of the whole database.
///
/// # Errors
/// When the database does not answer.
pub async fn one_moment(pool: &PgPool) -> sqlx::Result<[Transaction<'static, Postgres>; 2]> {
    const BEGIN: &str = "begin isolation level repeatable read read only";
    let mut first = pool.begin_with(BEGIN).await?;
    // The rows of all parcels are sorted there; the figure is for each of the few workers that sort.
    sqlx::query("set local work_mem = '64MB'").execute(&mut *first).await?;
    let moment: String = sqlx::query_scalar("select pg_export_snapshot()").fetch_one(&mut *first).await?;
    let mut second = pool.begin_with(BEGIN).await?;
    // The server gave this name itself; a statement of this kind takes no parameter.
    let text = format!("set transaction snapshot '{moment}'");
    sqlx::query(sqlx::AssertSqlSafe(text)).execute(&mut *second).await?;
    Ok([first, second])
}

/// Every parcel after this one, in order, some at a time.
///
/// # Errors
/// When the database does not answer.
pub async fn parcels_after(conn: &mut Conn, after: Option<Uuid>, limit: i64) -> sqlx::Result<Vec<Uuid>> {
    sqlx::query_scalar("select id from parcel where $1::uuid is null or id > $1 order by id limit $2")
        .bind(after)
        .bind(limit)
        .fetch_all(conn)
        .await
}

/// Parcels on which a plant is treated with the product, or was.
///
/// # Errors
/// When the database does not answer.
pub async fn parcels_with_product(conn: &mut Conn, product: Uuid) -> sqlx::Result<Vec<Uuid>> {
    sqlx::query_scalar(
        "select s.parcel_id from plant p join site s on s.id = p.site_id where p.product_id = $1
         union
         select r.parcel_id from application_item i
            join application_record r on r.id = i.record_id and r.version = i.version where i.product_id = $1
         order by 1",
    )
    .bind(product)
    .fetch_all(conn)
    .await
}

/// Parcels in these states.
///
/// # Errors
/// When the database does not answer.
pub async fn parcels_in_states(conn: &mut Conn, states: &[String]) -> sqlx::Result<Vec<Uuid>> {
    sqlx::query_scalar("select distinct parcel_id from site where state = any($1) order by 1")
        .bind(states)
        .fetch_all(conn)
        .await
}

/// What the due list is narrowed to; empty texts narrow nothing.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// First and last day of the list.
    pub from: Option<NaiveDate>,
    pub until: Option<NaiveDate>,
    /// Only what a rule holds back although it is wanted by this day.
    pub held_until: Option<NaiveDate>,
    /// Only what nothing holds back and nobody has booked.
    pub open: bool,
    pub area: String,
    pub host: String,
}

/// A plant in the due list.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Row {
    pub plant_id: Uuid,
    pub site_id: Uuid,
    pub list_on: NaiveDate,
    pub protected_until: Option<NaiveDate>,
    pub allowed_on: Option<NaiveDate>,
    pub due_on: Option<NaiveDate>,
    pub gap_days: Option<i32>,
    pub held_by: Vec<String>,
    pub why: Vec<String>,
    pub place: String,
    pub host_plant: String,
    pub kind: String,
    pub count: i32,
    pub street: String,
    pub city: String,
    pub service_area: String,
    pub customer: String,
    pub visit_id: Option<Uuid>,
    pub visit_on: Option<NaiveDate>,
    pub visit_by: Option<String>,
    /// Why the visit waits to be planned anew; empty: it does not.
    pub visit_waits: Option<String>,
}

/// The list by day, after this place in it, one more than a page holds.
///
/// # Errors
/// When the database does not answer.
pub async fn list(
    conn: &mut Conn,
    filter: &Filter,
    after: Option<(NaiveDate, Uuid)>,
    limit: i64,
) -> sqlx::Result<Vec<Row>> {
    let (day, plant) = after.unzip();
    sqlx::query_as(
        // The page first, so that bookings are looked up for its rows alone.
        "with page as materialized (
            select d.plant_id, d.site_id, d.list_on, d.protected_until, d.allowed_on, d.due_on, d.gap_days, d.held_by,
                d.why, p.place, p.host_plant, p.kind, p.count, s.street, s.city, s.service_area, c.name as customer
            from due d
                join plant p on p.id = d.plant_id
                join site s on s.id = d.site_id
                join customer c on c.id = s.customer_id
            where d.list_on >= coalesce($1, '-infinity'::date) and d.list_on <= coalesce($2, 'infinity'::date)
                and ($3::date is null or (d.held_by <> '{}' and d.wanted_on <= $3))
                and ($4 = '' or s.service_area = $4)
                and ($5 = '' or lower(p.host_plant) = lower($5))
                and ($6::date is null or (d.list_on, d.plant_id) > ($6, $7))
                and (not $9 or (d.held_by = '{}' and not exists (
                    select 1 from planned_dose pd join visit v on v.id = pd.visit_id and v.status = 'booked'
                    where pd.plant_id = d.plant_id and pd.status = 'planned')))
            order by d.list_on, d.plant_id limit $8)
         select page.*, b.id as visit_id, b.on_date as visit_on, b.name as visit_by, b.waiting_reason as visit_waits
         from page left join lateral (
            select v.id, v.on_date, v.waiting_reason, t.name from planned_dose pd
                join visit v on v.id = pd.visit_id and v.status = 'booked'
                join person t on t.id = v.technician_id
            where pd.plant_id = page.plant_id and pd.status = 'planned'
            order by v.on_date, v.id limit 1) b on true
         order by page.list_on, page.plant_id",
    )
    .bind(filter.from)
    .bind(filter.until)
    .bind(filter.held_until)
    .bind(&filter.area)
    .bind(&filter.host)
    .bind(day)
    .bind(plant)
    .bind(limit)
    .bind(filter.open)
    .fetch_all(conn)
    .await
}

/// How many rows the whole list holds.
///
/// # Errors
/// When the database does not answer.
pub async fn count(conn: &mut Conn, filter: &Filter) -> sqlx::Result<i64> {
    sqlx::query_scalar(
        "select count(*) from due d join plant p on p.id = d.plant_id join site s on s.id = d.site_id
         where d.list_on >= coalesce($1, '-infinity'::date) and d.list_on <= coalesce($2, 'infinity'::date)
            and ($3::date is null or (d.held_by <> '{}' and d.wanted_on <= $3))
            and ($4 = '' or s.service_area = $4)
            and ($5 = '' or lower(p.host_plant) = lower($5))
            and (not $6 or (d.held_by = '{}' and not exists (
                select 1 from planned_dose pd join visit v on v.id = pd.visit_id and v.status = 'booked'
                where pd.plant_id = d.plant_id and pd.status = 'planned')))",
    )
    .bind(filter.from)
    .bind(filter.until)
    .bind(filter.held_until)
    .bind(&filter.area)
    .bind(&filter.host)
    .bind(filter.open)
    .fetch_one(conn)
    .await
}

/// A plant for which no day can be worked out.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Unplanned {
    pub plant_id: Uuid,
    pub place: String,
    pub host_plant: String,
    pub kind: String,
    pub count: i32,
    pub has_treatment: bool,
    pub site_id: Uuid,
    pub street: String,
    pub city: String,
    pub customer: String,
}

/// Plants in use that have no answer: no treatment chosen, or not measured.
///
/// # Errors
/// When the database does not answer.
pub async fn unplanned(conn: &mut Conn, after: Option<Uuid>, limit: i64) -> sqlx::Result<Vec<Unplanned>> {
    sqlx::query_as(
        "select p.id as plant_id, p.place, p.host_plant, p.kind, p.count, p.product_id is not null as has_treatment,
            s.id as site_id, s.street, s.city, c.name as customer
         from plant p join site s on s.id = p.site_id join customer c on c.id = s.customer_id
         where p.retired_at is null and s.retired_at is null
            and not exists (select 1 from due d where d.plant_id = p.id)
            and ($1::uuid is null or p.id > $1)
         order by p.id limit $2",
    )
    .bind(after)
    .bind(limit)
    .fetch_all(conn)
    .await
}

/// How much stands where; counted to a thousand, which is enough to know that it is much.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::FromRow)]
pub struct Counts {
    pub overdue: i64,
    pub this_week: i64,
    pub held: i64,
    pub unplanned: i64,
}

/// The counts above the list.
///
/// # Errors
/// When the database does not answer.
pub async fn counts(
    conn: &mut Conn,
    today: NaiveDate,
    week_end: NaiveDate,
    held_until: NaiveDate,
) -> sqlx::Result<Counts> {
    sqlx::query_as(
        "select
            (select count(*) from (select 1 from due d where list_on < $1 and held_by = '{}' and not exists (
                select 1 from planned_dose pd join visit v on v.id = pd.visit_id and v.status = 'booked'
                where pd.plant_id = d.plant_id and pd.status = 'planned') limit 1000) x) as overdue,
            (select count(*) from (select 1 from due where list_on between $1 and $2 and held_by = '{}'
                limit 1000) x) as this_week,
            (select count(*) from (select 1 from due where held_by <> '{}' and wanted_on <= $3 limit 1000) x) as held,
            (select count(*) from (select 1 from plant p join site s on s.id = p.site_id
                where p.retired_at is null and s.retired_at is null
                and not exists (select 1 from due d where d.plant_id = p.id) limit 1000) x) as unplanned",
    )
    .bind(today)
    .bind(week_end)
    .bind(held_until)
    .fetch_one(conn)
    .await
}

/// What the list can be narrowed by: service areas and host plants in use.
///
/// # Errors
/// When the database does not answer.
pub async fn choices(conn: &mut Conn) -> sqlx::Result<(Vec<String>, Vec<String>)> {
    let areas = sqlx::query_scalar(
        "select distinct service_area from site where service_area <> '' and retired_at is null order by 1 limit 200",
    )
    .fetch_all(&mut *conn)
    .await?;
    let hosts = sqlx::query_scalar(
        "select distinct lower(host_plant) from plant where retired_at is null order by 1 limit 500",
    )
    .fetch_all(conn)
    .await?;
    Ok((areas, hosts))
}
