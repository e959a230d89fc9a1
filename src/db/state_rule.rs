//! What licensed persons answered about rules of states, and the pests that states list.
use super::Conn;
use crate::domain::permission::{Answer, RuleAnswer};
use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

/// An answer as it was given.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Given {
    pub id: Uuid,
    pub rule: String,
    /// `holds`, `set-aside` or `open` (as if nobody had answered).
    pub answer: String,
    pub citation: String,
    pub verified_on: Option<NaiveDate>,
    pub reason: String,
    pub answered_by: Uuid,
    /// Number of the certification by which they answered.
    pub certification: String,
    pub answered_at: DateTime<Utc>,
    #[sqlx(default)]
    pub answered_by_name: String,
}

impl Given {
    /// The answer as the engine takes it; `open` is none.
    #[must_use]
    pub fn answer(&self) -> Option<RuleAnswer> {
        let answer = match (self.answer.as_str(), self.verified_on) {
            ("holds", Some(on)) => Answer::Holds { citation: self.citation.clone(), on },
            ("set-aside", _) => Answer::SetAside { reason: self.reason.clone() },
            _ => return None,
        };
        Some(RuleAnswer { rule: self.rule.clone(), answer })
    }
}

const GIVEN: &str =
    "select a.id, a.rule, a.answer, a.citation, a.verified_on, a.reason, a.answered_by, a.certification,
    a.answered_at, p.name as answered_by_name from state_rule_answer a join person p on p.id = a.answered_by";

/// The newest answer about each rule.
///
/// # Errors
/// When the database does not answer.
pub async fn newest(conn: &mut Conn) -> sqlx::Result<Vec<Given>> {
    let text = format!(
        "select distinct on (rule) * from ({GIVEN}) as given order by rule, answered_at desc, id desc"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).fetch_all(conn).await
}

/// Every answer about a rule, the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn answers(conn: &mut Conn, rule: &str) -> sqlx::Result<Vec<Given>> {
    let text = format!("{GIVEN} where a.rule = $1 order by a.answered_at desc, a.id desc");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(rule).fetch_all(conn).await
}

/// Adds an answer.
///
/// # Errors
/// `state_rule_answer_pkey` when it is already there.
pub async fn insert(conn: &mut Conn, a: &Given) -> sqlx::Result<()> {
    sqlx::query(
        "insert into state_rule_answer (id, rule, answer, citation, verified_on, reason, answered_by, certification,
            answered_at) values ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    )
    .bind(a.id)
    .bind(&a.rule)
    .bind(&a.answer)
    .bind(&a.citation)
    .bind(a.verified_on)
    .bind(&a.reason)
    .bind(a.answered_by)
    .bind(&a.certification)
    .bind(a.answered_at)
    .execute(conn)
    .await?;
    Ok(())
}

/// A pest of a state's list.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Pest {
    pub id: Uuid,
    pub state: String,
    /// Lower case.
    pub pest: String,
    pub source: String,
    /// `checked`, `part-checked` or `unverified`.
    pub mark: String,
    pub entered_by_name: String,
    pub entered_at: DateTime<Utc>,
}

/// The lists as they stand, by state.
///
/// # Errors
/// When the database does not answer.
pub async fn pests(conn: &mut Conn) -> sqlx::Result<Vec<Pest>> {
    sqlx::query_as(
        "select l.id, l.state, l.pest, l.source, l.mark, p.name as entered_by_name, l.entered_at
         from listed_pest l join person p on p.id = l.entered_by
         where l.removed_at is null order by l.state, l.pest",
    )
    .fetch_all(conn)
    .await
}

/// Enters a pest.
///
/// # Errors
/// `listed_pest_once` when the state's list has it, `listed_pest_pkey` when the form was sent before.
pub async fn insert_pest(
    conn: &mut Conn,
    id: Uuid,
    state: &str,
    pest: &str,
    source: &str,
    mark: &str,
    by: (Uuid, DateTime<Utc>),
) -> sqlx::Result<()> {
    sqlx::query(
        "insert into listed_pest (id, state, pest, source, mark, entered_by, entered_at)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(id)
    .bind(state)
    .bind(pest)
    .bind(source)
    .bind(mark)
    .bind(by.0)
    .bind(by.1)
    .execute(conn)
    .await?;
    Ok(())
}

/// Takes a pest off its list; the state whose list it was, if it stood there.
///
/// # Errors
/// When the database does not answer.
pub async fn remove_pest(
    conn: &mut Conn,
    id: Uuid,
    by: Uuid,
    at: DateTime<Utc>,
) -> sqlx::Result<Option<(String, String)>> {
    sqlx::query_as(
        "update listed_pest set removed_by = $2, removed_at = $3 where id = $1 and removed_at is null
         returning state::text, pest",
    )
    .bind(id)
    .bind(by)
    .bind(at)
    .fetch_optional(conn)
    .await
}
