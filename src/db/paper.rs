//! Papers that the company keeps, and what of them and of certifications runs out.
use super::Conn;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A paper.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Paper {
    pub id: Uuid,
    /// Code of a `Kind`.
    pub kind: String,
    pub title: String,
    pub number: String,
    pub on_day: NaiveDate,
    pub last_day: Option<NaiveDate>,
    pub amount: Option<Decimal>,
    pub unit: Option<String>,
    pub words: String,
    pub product_id: Option<Uuid>,
    pub certification_id: Option<Uuid>,
    pub trainer_id: Option<Uuid>,
}

/// A line of a list.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    #[sqlx(flatten)]
    pub paper: Paper,
    pub product: Option<String>,
    pub trainer: Option<String>,
    /// Whose certification, and which.
    pub certification: Option<String>,
    /// Who took part.
    pub people: Vec<String>,
    pub entered_by: String,
    pub struck_by: Option<String>,
    pub struck_reason: String,
}

const COLUMNS: &str =
    "p.id, p.kind, p.title, p.number, p.on_day, p.last_day, p.amount, p.unit, p.words, p.product_id,
    p.certification_id, p.trainer_id";

/// Papers of a kind, the newest first; those struck out stand where they stood.
///
/// # Errors
/// When the database does not answer.
pub async fn of_kind(conn: &mut Conn, kind: &str, at_most: i64) -> sqlx::Result<Vec<Line>> {
    let text = format!(
        "select {COLUMNS}, d.name || ' (' || d.registration_number || ')' as product, t.name as trainer,
            h.name || ', ' || c.state || ' ' || c.category || ' ' || c.number as certification,
            array(select a.name from paper_person k join person a on a.id = k.person_id where k.paper_id = p.id
                order by a.name) as people,
            e.name as entered_by, s.name as struck_by, p.struck_reason
         from paper p join person e on e.id = p.entered_by left join person s on s.id = p.struck_by
         left join product d on d.id = p.product_id left join person t on t.id = p.trainer_id
         left join certification c on c.id = p.certification_id left join person h on h.id = c.person_id
         where p.kind = $1 order by p.on_day desc, p.id desc limit $2"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(kind).bind(at_most).fetch_all(conn).await
}

/// One paper.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Paper>> {
    let text = format!("select {COLUMNS} from paper p where p.id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// Enters a paper with those who took part.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(
    conn: &mut Conn,
    p: &Paper,
    people: &[Uuid],
    by: Uuid,
    at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query(
        "insert into paper (id, kind, title, number, on_day, last_day, amount, unit, words, product_id, certification_id,
            trainer_id, entered_by, entered_at) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)",
    )
    .bind(p.id)
    .bind(&p.kind)
    .bind(&p.title)
    .bind(&p.number)
    .bind(p.on_day)
    .bind(p.last_day)
    .bind(p.amount)
    .bind(&p.unit)
    .bind(&p.words)
    .bind(p.product_id)
    .bind(p.certification_id)
    .bind(p.trainer_id)
    .bind(by)
    .bind(at)
    .execute(&mut *conn)
    .await?;
    sqlx::query("insert into paper_person (paper_id, person_id) select $1, * from unnest($2::uuid[])")
        .bind(p.id)
        .bind(people)
        .execute(conn)
        .await?;
    Ok(())
}

/// Strikes a paper out; whether it stood.
///
/// # Errors
/// When the database does not answer.
pub async fn strike(
    conn: &mut Conn,
    id: Uuid,
    by: Uuid,
    at: DateTime<Utc>,
    reason: &str,
) -> sqlx::Result<bool> {
    let text = "update paper set struck_by = $2, struck_at = $3, struck_reason = $4 where id = $1 and struck_at is null";
    super::struck_out(conn, text, id, (by, at, reason)).await
}

/// A certification that nobody has renewed yet, with its training units.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Held {
    pub id: Uuid,
    pub person_id: Uuid,
    pub person: String,
    pub state: String,
    pub category: String,
    pub number: String,
    pub valid_from: NaiveDate,
    pub expires_on: NaiveDate,
    pub units_needed: Option<Decimal>,
    pub units_earned: Decimal,
}

/// The newest certification of each person at work by state and category, the first to run out first.
///
/// # Errors
/// When the database does not answer.
pub async fn certifications(conn: &mut Conn) -> sqlx::Result<Vec<Held>> {
    sqlx::query_as(
        "select c.id, c.person_id, p.name as person, c.state::text as state, c.category, c.number, c.valid_from,
            c.expires_on, c.units_needed,
            coalesce((select sum(u.amount) from paper u where u.certification_id = c.id and u.kind = 'training-units'
                and u.struck_at is null), 0) as units_earned
         from certification c join person p on p.id = c.person_id
         where p.retired_at is null and not exists (select 1 from certification n where n.person_id = c.person_id
            and n.state = c.state and lower(n.category) = lower(c.category)
            and (n.expires_on, n.id) > (c.expires_on, c.id))
         order by c.expires_on, p.name, c.id",
    )
    .fetch_all(conn)
    .await
}

/// Says how many training units a certification's renewal asks for; how many it said before.
///
/// # Errors
/// When the database does not answer, or there is no such certification.
pub async fn set_units_needed(
    conn: &mut Conn,
    certification: Uuid,
    needed: Option<Decimal>,
) -> sqlx::Result<Option<Option<Decimal>>> {
    let was: Option<Option<Decimal>> =
        sqlx::query_scalar("select units_needed from certification where id = $1 for update")
            .bind(certification)
            .fetch_optional(&mut *conn)
            .await?;
    sqlx::query("update certification set units_needed = $2 where id = $1")
        .bind(certification)
        .bind(needed)
        .execute(conn)
        .await?;
    Ok(was)
}

/// Something with a last day.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Ending {
    /// What it is, in words.
    pub words: String,
    pub last_day: NaiveDate,
    /// Its page.
    pub href: String,
}

/// Whatever has a last day up to that one and was not renewed: certifications and courses of people at work,
/// insurance, registrations with counties. Trainings are asked for by [`trained`].
///
/// # Errors
/// When the database does not answer.
pub async fn ending(conn: &mut Conn, until: NaiveDate) -> sqlx::Result<Vec<Ending>> {
    sqlx::query_as(
        "with held as (
            select p.name || ': certification ' || c.number || ' (' || c.state || ', ' || c.category || ')' as words,
                max(c.expires_on) over (partition by c.person_id, c.state, lower(c.category)) as newest,
                c.expires_on as last_day, '/people/' || c.person_id as href
            from certification c join person p on p.id = c.person_id where p.retired_at is null
            union all
            select p.name || ': course ' || c.name || ' (' || c.state || ')',
                max(coalesce(c.valid_until, (c.taken_on + interval '1 year' - interval '1 day')::date))
                    over (partition by c.person_id, c.state, lower(c.name)),
                coalesce(c.valid_until, (c.taken_on + interval '1 year' - interval '1 day')::date),
                '/people/' || c.person_id
            from course c join person p on p.id = c.person_id where p.retired_at is null
            union all
            select 'Insurance: ' || i.title || ' ' || i.number, max(i.last_day) over (), i.last_day, '/papers'
            from paper i where i.kind = 'insurance' and i.struck_at is null
            union all
            select 'Registration with ' || r.county || ', ' || r.state || ': ' || r.number,
                max(r.expires_on) over (partition by r.state, lower(r.county)), r.expires_on, '/reports/registrations'
            from county_registration r)
         select words, last_day, href from held where last_day = newest and last_day <= $1 order by last_day, words",
    )
    .bind(until)
    .fetch_all(conn)
    .await
}

/// When somebody at work who handles products last took part in a training of a kind.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Trained {
    pub person: String,
    pub kind: String,
    /// Nothing: never.
    pub last: Option<NaiveDate>,
}

/// Every technician at work with each kind of training.
///
/// # Errors
/// When the database does not answer.
pub async fn trained(conn: &mut Conn) -> sqlx::Result<Vec<Trained>> {
    sqlx::query_as(
        "select p.name as person, k.kind, (select max(t.on_day) from paper t join paper_person a on a.paper_id = t.id
            where a.person_id = p.id and t.kind = k.kind and t.struck_at is null) as last
         from person p cross join (values ('handler-training'), ('label-review')) as k (kind)
         where p.role = 'technician' and p.retired_at is null order by p.name, k.kind",
    )
    .fetch_all(conn)
    .await
}

/// How many different people work under each supervisor in visits that are booked.
///
/// # Errors
/// When the database does not answer.
pub async fn supervised(conn: &mut Conn) -> sqlx::Result<Vec<(String, i64)>> {
    sqlx::query_as(
        "select s.name, count(distinct v.technician_id) from visit v join person s on s.id = v.supervisor_id
         where v.status = 'booked' group by s.id, s.name order by s.name",
    )
    .fetch_all(conn)
    .await
}

/// How many days before its last day a paper is warned about.
///
/// # Errors
/// When the database does not answer.
pub async fn warning_days(conn: &mut Conn) -> sqlx::Result<i32> {
    let found: Option<i32> =
        sqlx::query_scalar("select paper_warning_days from company").fetch_optional(conn).await?;
    Ok(found.unwrap_or(60))
}

/// Changes that.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn set_warning_days(conn: &mut Conn, days: i32) -> sqlx::Result<()> {
    sqlx::query("update company set paper_warning_days = $1").bind(days).execute(conn).await?;
    Ok(())
}

/// Products in use by name.
///
/// # Errors
/// When the database does not answer.
pub async fn products(conn: &mut Conn) -> sqlx::Result<Vec<(Uuid, String)>> {
    sqlx::query_as(
        "select id, name || ' (' || registration_number || ')' from product where retired_at is null
         order by lower(name), id",
    )
    .fetch_all(conn)
    .await
}

/// What stands on the label of a service container.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Contained {
    pub product_id: Uuid,
    pub name: String,
    pub registration_number: String,
    pub signal_word: String,
    pub restricted_use: bool,
    pub clothing: String,
    pub first_aid: String,
    /// Name and strength of each ingredient.
    pub ingredients: Vec<String>,
}

/// Products in use with a signed label.
///
/// # Errors
/// When the database does not answer.
pub async fn contained(conn: &mut Conn) -> sqlx::Result<Vec<Contained>> {
    sqlx::query_as(
        "select p.id as product_id, p.name, p.registration_number, v.signal_word, v.restricted_use, v.clothing,
            v.first_aid, array(select i.name || ' ' || trim_scale(i.strength) || ' ' || i.strength_unit
                from label_ingredient i where i.label_version_id = v.id order by i.position) as ingredients
         from label_in_force f join product p on p.id = f.product_id join label_version v on v.id = f.id
         where p.retired_at is null order by lower(p.name), p.id",
    )
    .fetch_all(conn)
    .await
}
