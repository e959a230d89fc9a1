//! Reading the audit, newest first.
use crate::db::Conn;
use chrono::{DateTime, Utc};
use serde_json::Value;
use sqlx::{Postgres, QueryBuilder};
use uuid::Uuid;

/// Which rows. Empty texts and `None` narrow nothing.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    pub from: Option<DateTime<Utc>>,
    /// The first moment after the period.
    pub before: Option<DateTime<Utc>>,
    pub person: Option<Uuid>,
    /// Rows of nobody: the program itself, or a visitor with a link.
    pub nobody: bool,
    pub noun: String,
    pub noun_id: Option<Uuid>,
    pub trail: Trail,
}

/// What kind of deed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Trail {
    #[default]
    All,
    Seen,
    Exported,
    /// Neither seen nor exported.
    Changed,
}

/// Where the page before ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct After {
    pub at: DateTime<Utc>,
    pub id: i64,
}

/// A row of the audit.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    pub id: i64,
    pub at: DateTime<Utc>,
    pub person: Option<String>,
    pub deed: String,
    pub noun: String,
    pub noun_id: Option<Uuid>,
    pub detail: Value,
    /// Its place in the chain; none: it waits to be linked.
    pub seq: Option<i64>,
}

/// The audit, newest first, after this place.
///
/// # Errors
/// When the database does not answer.
pub async fn list(
    conn: &mut Conn,
    filter: &Filter,
    after: Option<After>,
    at_most: i64,
) -> sqlx::Result<Vec<Line>> {
    let mut query = QueryBuilder::new(
        "select a.id, a.at, p.name as person, a.deed, a.noun, a.noun_id, a.detail, l.seq
         from audit a left join person p on p.id = a.person_id left join audit_link l on l.audit_id = a.id
         where true",
    );
    narrow(&mut query, filter);
    if let Some(after) = after {
        query.push(" and (a.at, a.id) < (").push_bind(after.at).push(", ").push_bind(after.id).push(")");
    }
    query.push(" order by a.at desc, a.id desc limit ").push_bind(at_most);
    query.build_query_as().fetch_all(conn).await
}

/// How many rows the whole list holds.
///
/// # Errors
/// When the database does not answer.
pub async fn count(conn: &mut Conn, filter: &Filter) -> sqlx::Result<i64> {
    let mut query = QueryBuilder::new("select count(*) from audit a where true");
    narrow(&mut query, filter);
    query.build_query_scalar().fetch_one(conn).await
}

fn narrow(query: &mut QueryBuilder<Postgres>, filter: &Filter) {
    if let Some(from) = filter.from {
        query.push(" and a.at >= ").push_bind(from);
    }
    if let Some(before) = filter.before {
        query.push(" and a.at < ").push_bind(before);
    }
    if filter.nobody {
        query.push(" and a.person_id is null");
    } else if let Some(person) = filter.person {
        query.push(" and a.person_id = ").push_bind(person);
    }
    if !filter.noun.is_empty() {
        query.push(" and a.noun = ").push_bind(filter.noun.clone());
    }
    if let Some(id) = filter.noun_id {
        query.push(" and a.noun_id = ").push_bind(id);
    }
    query.push(match filter.trail {
        Trail::All => "",
        Trail::Seen => " and a.deed = 'seen'",
        Trail::Exported => " and a.deed = 'exported'",
        Trail::Changed => " and a.deed not in ('seen', 'exported')",
    });
}

/// The nouns that occur, each looked up once in the index.
///
/// # Errors
/// When the database does not answer.
pub async fn nouns(conn: &mut Conn) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar(
        "with recursive found as (
            (select noun from audit order by noun limit 1)
            union all
            select (select a.noun from audit a where a.noun > found.noun order by a.noun limit 1)
            from found where found.noun is not null)
         select noun from found where noun is not null",
    )
    .fetch_all(conn)
    .await
}

/// Everybody who ever had an account, by name.
///
/// # Errors
/// When the database does not answer.
pub async fn people(conn: &mut Conn) -> sqlx::Result<Vec<(Uuid, String)>> {
    sqlx::query_as("select id, name from person order by lower(name), id").fetch_all(conn).await
}
