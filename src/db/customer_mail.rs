//! What a customer wants to hear, and in which language.
use super::Conn;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// A customer's wishes; without a row English and everything.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Wishes {
    /// `en` or `es`.
    pub language: String,
    /// No reminders for now, by the office.
    pub paused: bool,
    /// Since when no offers, by the customer.
    pub offers_stopped_at: Option<DateTime<Utc>>,
    /// In words: by which way they said so.
    pub offers_stopped_how: String,
    /// How often the links of their page were ended.
    pub link_generation: i32,
}

impl Default for Wishes {
    fn default() -> Self {
        Self {
            language: "en".to_owned(),
            paused: false,
            offers_stopped_at: None,
            offers_stopped_how: String::new(),
            link_generation: 0,
        }
    }
}

/// A customer's wishes.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, customer: Uuid) -> sqlx::Result<Wishes> {
    let found = sqlx::query_as(
        "select language, paused, offers_stopped_at, offers_stopped_how, link_generation
         from customer_mail where customer_id = $1",
    )
    .bind(customer)
    .fetch_optional(conn)
    .await?;
    Ok(found.unwrap_or_default())
}

/// Keeps a customer's wishes; the count of ended links never goes back.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn save(conn: &mut Conn, customer: Uuid, w: &Wishes) -> sqlx::Result<()> {
    sqlx::query(
        "insert into customer_mail as m (customer_id, language, paused, offers_stopped_at, offers_stopped_how,
            link_generation) values ($1, $2, $3, $4, $5, $6)
         on conflict (customer_id) do update set language = excluded.language, paused = excluded.paused,
            offers_stopped_at = excluded.offers_stopped_at, offers_stopped_how = excluded.offers_stopped_how,
            link_generation = greatest(m.link_generation, excluded.link_generation)",
    )
    .bind(customer)
    .bind(&w.language)
    .bind(w.paused)
    .bind(w.offers_stopped_at)
    .bind(&w.offers_stopped_how)
    .bind(w.link_generation)
    .execute(conn)
    .await?;
    Ok(())
}
