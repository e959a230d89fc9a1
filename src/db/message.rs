//! The outbox: what is written to customers, and what became of it.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// A message with all its words.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Message {
    pub id: Uuid,
    /// Its name in the world, with angle brackets, for ever.
    pub message_id: String,
    /// Nobody: it goes to somebody of ours, to look at.
    pub customer_id: Option<Uuid>,
    pub site_id: Option<Uuid>,
    /// `reminder`, `answer`, `notice`, `test` or `head`.
    pub kind: String,
    /// Why there is this message; there is no other one for the same cause.
    pub cause: String,
    pub language: String,
    /// Empty: it goes as a letter.
    pub recipient: String,
    pub recipient_name: String,
    pub subject: String,
    pub body_text: String,
    pub body_html: String,
    pub link: String,
    pub unsubscribe: String,
    pub calendar: String,
    /// A file that goes with it: its name and its text; empty: none.
    pub file_name: String,
    pub file_text: String,
    /// Code of a `domain::message::Status`.
    pub status: String,
    pub tries: i32,
    pub next_try: DateTime<Utc>,
    pub expires_at: Option<DateTime<Utc>>,
    pub last_answer: String,
    pub created_at: DateTime<Utc>,
    pub closed_at: Option<DateTime<Utc>>,
}

const ALL: &str = "select id, message_id, customer_id, site_id, kind, cause, language, recipient, recipient_name, subject,
    body_text, body_html, link, unsubscribe, calendar, file_name, file_text, status, tries, next_try, expires_at, last_answer, created_at,
    closed_at from message ";

/// Puts a message into the outbox; false: there is one for this cause already.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn insert(conn: &mut Conn, m: &Message) -> sqlx::Result<bool> {
    let done = sqlx::query(
        "insert into message (id, message_id, customer_id, site_id, kind, cause, language, recipient, recipient_name,
            subject, body_text, body_html, link, unsubscribe, calendar, status, next_try, expires_at, created_at,
            file_name, file_text)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21)
         on conflict on constraint message_cause_once do nothing",
    )
    .bind(m.id)
    .bind(&m.message_id)
    .bind(m.customer_id)
    .bind(m.site_id)
    .bind(&m.kind)
    .bind(&m.cause)
    .bind(&m.language)
    .bind(&m.recipient)
    .bind(&m.recipient_name)
    .bind(&m.subject)
    .bind(&m.body_text)
    .bind(&m.body_html)
    .bind(&m.link)
    .bind(&m.unsubscribe)
    .bind(&m.calendar)
    .bind(&m.status)
    .bind(m.next_try)
    .bind(m.expires_at)
    .bind(m.created_at)
    .bind(&m.file_name)
    .bind(&m.file_text)
    .execute(conn)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Takes hold of the message whose turn it is, until the transaction ends. What another worker holds is passed
/// over; offers are so too unless `offers` is set.
///
/// # Errors
/// When the database does not answer.
pub async fn take(conn: &mut Conn, now: DateTime<Utc>, offers: bool) -> sqlx::Result<Option<Message>> {
    let text = format!(
        "{ALL} where status = 'waiting' and next_try <= $1 and ($2 or unsubscribe = '') order by next_try, id limit 1
         for update skip locked"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(now).bind(offers).fetch_optional(conn).await
}

/// Whether there is a message for that cause.
///
/// # Errors
/// When the database does not answer.
pub async fn has_cause(conn: &mut Conn, cause: &str) -> sqlx::Result<bool> {
    let found = sqlx::query_scalar("select exists (select 1 from message where cause = $1)");
    found.bind(cause).fetch_one(conn).await
}

/// One message.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Message>> {
    let text = format!("{ALL} where id = $1");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// One message, held until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Message>> {
    let text = format!("{ALL} where id = $1 for update");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(conn).await
}

/// The message of that name in the world, held until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock_named(conn: &mut Conn, message_id: &str) -> sqlx::Result<Option<Message>> {
    let text = format!("{ALL} where message_id = $1 for update");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(message_id).fetch_optional(conn).await
}

/// What became of a message.
#[derive(Debug, Clone)]
pub struct Outcome<'a> {
    pub status: &'a str,
    pub tries: i32,
    pub next_try: DateTime<Utc>,
    pub last_answer: &'a str,
    pub closed_at: Option<DateTime<Utc>>,
    pub recipient: &'a str,
}

/// Writes down what became of a message that is held.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn settle(conn: &mut Conn, id: Uuid, o: &Outcome<'_>) -> sqlx::Result<()> {
    sqlx::query(
        "update message set status = $2, tries = $3, next_try = $4, last_answer = $5, closed_at = $6, recipient = $7
         where id = $1",
    )
    .bind(id)
    .bind(o.status)
    .bind(o.tries)
    .bind(o.next_try)
    .bind(o.last_answer)
    .bind(o.closed_at)
    .bind(o.recipient)
    .execute(conn)
    .await?;
    Ok(())
}

/// Withdraws what this customer has not got yet of the offers; how many.
///
/// # Errors
/// When the database does not answer.
pub async fn withdraw_offers(
    conn: &mut Conn,
    customer: Uuid,
    why: &str,
    at: DateTime<Utc>,
) -> sqlx::Result<u64> {
    let done = sqlx::query(
        "update message set status = 'withdrawn', closed_at = $3, last_answer = $2
         where customer_id = $1 and unsubscribe <> '' and status in ('waiting', 'letter')",
    )
    .bind(customer)
    .bind(why)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(done.rows_affected())
}

/// Withdraws what waits and is no longer true; how many.
///
/// # Errors
/// When the database does not answer.
pub async fn withdraw_expired(conn: &mut Conn, now: DateTime<Utc>, why: &str) -> sqlx::Result<u64> {
    let done = sqlx::query(
        "update message set status = 'withdrawn', closed_at = $1, last_answer = $2 where id in (
            select id from message where status = 'waiting' and expires_at <= $1 for update skip locked)",
    )
    .bind(now)
    .bind(why)
    .execute(conn)
    .await?;
    Ok(done.rows_affected())
}

/// A line of the outbox.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    pub id: Uuid,
    pub customer_id: Option<Uuid>,
    pub kind: String,
    pub recipient: String,
    pub recipient_name: String,
    pub subject: String,
    pub status: String,
    pub tries: i32,
    pub next_try: DateTime<Utc>,
    pub last_answer: String,
    pub created_at: DateTime<Utc>,
    pub closed_at: Option<DateTime<Utc>>,
}

const LINE: &str =
    "select id, customer_id, kind, recipient, recipient_name, subject, status, tries, next_try, last_answer,
    created_at, closed_at from message ";

/// Which part of the outbox.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// What is not with the customer and somebody must do something about.
    Trouble,
    /// What waits to go out or to be printed.
    Open,
    /// Everything.
    All,
}

/// The newest of that part, before this message.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, part: Part, before: Option<Uuid>, limit: i64) -> sqlx::Result<Vec<Line>> {
    let which = match part {
        Part::Trouble => "status in ('failed', 'bounced')",
        Part::Open => "status in ('waiting', 'letter')",
        Part::All => "true",
    };
    // The id is made from the time, so that its order is that of writing.
    let text = format!("{LINE} where {which} and ($1::uuid is null or id < $1) order by id desc limit $2");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(before).bind(limit).fetch_all(conn).await
}

/// The newest messages to a customer.
///
/// # Errors
/// When the database does not answer.
pub async fn of_customer(conn: &mut Conn, customer: Uuid, limit: i64) -> sqlx::Result<Vec<Line>> {
    let text = format!("{LINE} where customer_id = $1 order by id desc limit $2");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(customer).bind(limit).fetch_all(conn).await
}

/// What can be printed: what has no address, or all that waits as well; the oldest first.
///
/// # Errors
/// When the database does not answer.
pub async fn to_print(conn: &mut Conn, waiting_too: bool, limit: i64) -> sqlx::Result<Vec<Message>> {
    let text = format!(
        "{ALL} where status = 'letter' or ($1 and status = 'waiting' and kind not in ('test', 'head')) order by id limit $2"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(waiting_too).bind(limit).fetch_all(conn).await
}

/// How much of the outbox wants somebody's eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::FromRow)]
pub struct Counts {
    pub waiting: i64,
    pub letters: i64,
    pub trouble: i64,
}

/// The counts.
///
/// # Errors
/// When the database does not answer.
pub async fn counts(conn: &mut Conn) -> sqlx::Result<Counts> {
    sqlx::query_as(
        "select count(*) filter (where status = 'waiting') as waiting,
            count(*) filter (where status = 'letter') as letters,
            count(*) filter (where status in ('failed', 'bounced')) as trouble
         from message where status in ('waiting', 'letter', 'failed', 'bounced')",
    )
    .fetch_one(conn)
    .await
}
