//! Customers: who has the sites cared for.
use super::{
    Conn,
    seek::{Chunk, Order, Seek, push_words},
};
use chrono::{DateTime, Utc};
use sqlx::QueryBuilder;
use uuid::Uuid;

/// A customer.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Customer {
    pub id: Uuid,
    pub name: String,
    pub email: String,
    pub phone: String,
    pub street: String,
    pub city: String,
    pub state: String,
    pub zip: String,
    pub note: String,
    pub retired_at: Option<DateTime<Utc>>,
}

/// A line of the list.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    #[sqlx(flatten)]
    pub customer: Customer,
    /// Sites in use.
    pub sites: i64,
}

const ORDER: Order = Order { table: "customer", alias: "c", column: "name" };

/// A page of customers by name, those that match every word of `searched`.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, seek: Seek, searched: &str, retired: bool) -> sqlx::Result<Chunk<Line>> {
    let mut query = QueryBuilder::new(
        "select c.id, c.name, c.email, c.phone, c.street, c.city, c.state, c.zip, c.note, c.retired_at,
                (select count(*) from site s where s.customer_id = c.id and s.retired_at is null) as sites
         from customer c where true",
    );
    if !retired {
        query.push(" and c.retired_at is null");
    }
    push_words(&mut query, "lower(c.name || ' ' || c.street || ' ' || c.city || ' ' || c.email)", searched);
    ORDER.push_start(&mut query, seek);
    ORDER.push_end(&mut query, seek);
    Ok(seek.chunk(query.build_query_as().fetch_all(conn).await?))
}

/// How many of them the whole list holds.
///
/// # Errors
/// When the database does not answer.
pub async fn count(conn: &mut Conn, searched: &str, retired: bool) -> sqlx::Result<i64> {
    let mut query = QueryBuilder::new("select count(*) from customer c where true");
    if !retired {
        query.push(" and c.retired_at is null");
    }
    push_words(&mut query, "lower(c.name || ' ' || c.street || ' ' || c.city || ' ' || c.email)", searched);
    query.build_query_scalar().fetch_one(conn).await
}

/// One customer.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Customer>> {
    sqlx::query_as(
        "select id, name, email, phone, street, city, state, zip, note, retired_at from customer where id = $1",
    )
    .bind(id)
    .fetch_optional(conn)
    .await
}

/// One customer, locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Customer>> {
    sqlx::query_as(
        "select id, name, email, phone, street, city, state, zip, note, retired_at
         from customer where id = $1 for no key update",
    )
    .bind(id)
    .fetch_optional(conn)
    .await
}

/// Enters a customer.
///
/// # Errors
/// When a rule of the table breaks (`customer_pkey`: the same form twice).
pub async fn insert(conn: &mut Conn, c: &Customer, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into customer (id, name, email, phone, street, city, state, zip, note, created_at)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
    )
    .bind(c.id)
    .bind(&c.name)
    .bind(&c.email)
    .bind(&c.phone)
    .bind(&c.street)
    .bind(&c.city)
    .bind(&c.state)
    .bind(&c.zip)
    .bind(&c.note)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes everything but retirement.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn update(conn: &mut Conn, c: &Customer) -> sqlx::Result<()> {
    sqlx::query(
        "update customer set name = $2, email = $3, phone = $4, street = $5, city = $6, state = $7, zip = $8,
                note = $9 where id = $1",
    )
    .bind(c.id)
    .bind(&c.name)
    .bind(&c.email)
    .bind(&c.phone)
    .bind(&c.street)
    .bind(&c.city)
    .bind(&c.state)
    .bind(&c.zip)
    .bind(&c.note)
    .execute(conn)
    .await?;
    Ok(())
}

/// Retires a customer or takes them back.
///
/// # Errors
/// When the database does not answer.
pub async fn set_retired(conn: &mut Conn, id: Uuid, at: Option<DateTime<Utc>>) -> sqlx::Result<()> {
    sqlx::query("update customer set retired_at = $2 where id = $1").bind(id).bind(at).execute(conn).await?;
    Ok(())
}
