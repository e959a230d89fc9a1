//! Spills and other incidents, with what was reported and added since.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// An incident as it was first written down.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Incident {
    pub id: Uuid,
    /// `spill`, `exposure`, `drift` or `other`.
    pub kind: String,
    pub happened_at: DateTime<Utc>,
    pub state: String,
    pub place: String,
    pub what: String,
    pub product_id: Option<Uuid>,
    /// How much, in words.
    pub amount: String,
    /// Who was harmed or exposed.
    pub people: String,
    /// What was done about it.
    pub done: String,
}

/// An incident with its names and where its report stands.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    #[sqlx(flatten)]
    pub incident: Incident,
    pub product: Option<String>,
    pub entered_by: Uuid,
    pub entered_by_name: String,
    pub entered_at: DateTime<Utc>,
    /// The first report to anybody.
    pub reported_at: Option<DateTime<Utc>>,
}

/// Something that was added.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Entry {
    pub id: Uuid,
    pub incident_id: Uuid,
    /// `reported`, `correction` or `addition`.
    pub kind: String,
    pub at: DateTime<Utc>,
    pub reported_to: String,
    pub words: String,
    pub entered_by_name: String,
    pub entered_at: DateTime<Utc>,
}

const LINE: &str = "select i.id, i.kind, i.happened_at, i.state::text as state, i.place, i.what, i.product_id, i.amount,
        i.people, i.done, d.name || ' (' || d.registration_number || ')' as product, i.entered_by,
        p.name as entered_by_name, i.entered_at,
        (select min(e.at) from incident_entry e where e.incident_id = i.id and e.kind = 'reported') as reported_at
    from incident i join person p on p.id = i.entered_by left join product d on d.id = i.product_id ";

/// Incidents, the newest first; of one person, or of everybody.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, of: Option<Uuid>, at_most: i64) -> sqlx::Result<Vec<Line>> {
    let text = format!(
        "{LINE} where $1::uuid is null or i.entered_by = $1 order by i.happened_at desc, i.id limit $2"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(of).bind(at_most).fetch_all(conn).await
}

/// Those that nobody has reported yet.
///
/// # Errors
/// When the database does not answer.
pub async fn unreported(conn: &mut Conn) -> sqlx::Result<Vec<Line>> {
    let text = format!(
        "{LINE} where not exists (select 1 from incident_entry e where e.incident_id = i.id and e.kind = 'reported')
         order by i.happened_at"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).fetch_all(conn).await
}

/// One incident.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Line>> {
    let text = format!("{LINE} where i.id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// What was added to an incident, the oldest first.
///
/// # Errors
/// When the database does not answer.
pub async fn entries(conn: &mut Conn, incident: Uuid) -> sqlx::Result<Vec<Entry>> {
    sqlx::query_as(
        "select e.id, e.incident_id, e.kind, e.at, e.reported_to, e.words, p.name as entered_by_name, e.entered_at
         from incident_entry e join person p on p.id = e.entered_by where e.incident_id = $1
         order by e.entered_at, e.id",
    )
    .bind(incident)
    .fetch_all(conn)
    .await
}

/// Writes an incident down; whether it was new.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(conn: &mut Conn, i: &Incident, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into incident (id, kind, happened_at, state, place, what, product_id, amount, people, done, entered_by,
            entered_at) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) on conflict (id) do nothing",
    )
    .bind(i.id)
    .bind(&i.kind)
    .bind(i.happened_at)
    .bind(&i.state)
    .bind(&i.place)
    .bind(&i.what)
    .bind(i.product_id)
    .bind(&i.amount)
    .bind(&i.people)
    .bind(&i.done)
    .bind(by)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Adds to an incident; whether it was new.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn add(conn: &mut Conn, e: &Entry, by: Uuid) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into incident_entry (id, incident_id, kind, at, reported_to, words, entered_by, entered_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8) on conflict (id) do nothing",
    )
    .bind(e.id)
    .bind(e.incident_id)
    .bind(&e.kind)
    .bind(e.at)
    .bind(&e.reported_to)
    .bind(&e.words)
    .bind(by)
    .bind(e.entered_at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}
