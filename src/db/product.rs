//! Products and where they are registered.
use super::Conn;
use crate::domain::product_kind::ProductKind;
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A product; what its label says is a label version's matter.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Product {
    pub id: Uuid,
    pub name: String,
    pub registration_number: String,
    /// `liquid` (measured by volume), `dry` (weighed), `packet` or `tablet`.
    pub form: String,
    /// What one `price_unit` of it costs, in the company's currency; both or none.
    pub price: Option<Decimal>,
    pub price_unit: Option<String>,
    pub retired_at: Option<DateTime<Utc>>,
}

impl Product {
    /// What it comes in, which decides its units.
    #[must_use]
    pub fn kind(&self) -> ProductKind {
        ProductKind::from_code(&self.form).unwrap_or(ProductKind::Liquid)
    }
}

const COLUMNS: &str =
    "select id, name, registration_number, form, price, price_unit, retired_at from product";

/// A line of the list of products.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Listed {
    pub id: Uuid,
    pub name: String,
    pub registration_number: String,
    pub form: String,
    pub retired_at: Option<DateTime<Utc>>,
    /// Number of the label version in force.
    pub in_force: Option<i32>,
    /// Whether a draft waits for its signature.
    pub has_draft: bool,
    /// The state of the registration to be shown: the company's own, else the one that ends first.
    pub registered_in: Option<String>,
    pub registered_until: Option<NaiveDate>,
}

/// Which part of the list is wanted.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Any part of the name or the registration number; empty: all.
    pub words: String,
    /// Retired products as well.
    pub retired_too: bool,
    /// Only what comes after this product.
    pub after: Option<Uuid>,
    /// Only what comes before this product, nearest first.
    pub before: Option<Uuid>,
}

const LISTED: &str = "select p.id, p.name, p.registration_number, p.form, p.retired_at,
        (select f.number from label_in_force f where f.product_id = p.id) as in_force,
        exists (select 1 from label_version v where v.product_id = p.id and v.signed_at is null) as has_draft,
        r.state as registered_in, r.expires_on as registered_until
     from product p
     left join lateral (select state, expires_on from product_registration o where o.product_id = p.id
        order by o.state is distinct from (select c.state from company c), o.expires_on, o.state limit 1) r on true
     where ($1 = '' or lower(p.name || ' ' || p.registration_number) like '%' || $1 || '%')
       and ($2 or p.retired_at is null)";

/// Products by name, at most `limit` of them.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, wanted: &Wanted, limit: i64) -> sqlx::Result<Vec<Listed>> {
    // The pivot is looked up inside the query, so an address carries an id and no name.
    let (pivot, compare, order) = match (wanted.after, wanted.before) {
        (_, Some(id)) => (Some(id), "<", "desc"),
        (after, None) => (after, ">", "asc"),
    };
    let text = format!(
        "{LISTED} and ($3::uuid is null or (lower(p.name), p.id) {compare}
            (select lower(a.name), a.id from product a where a.id = $3))
         order by lower(p.name) {order}, p.id {order} limit $4"
    );
    let words = wanted.words.to_lowercase().replace('\\', "\\\\").replace('%', "\\%").replace('_', "\\_");
    sqlx::query_as(sqlx::AssertSqlSafe(text))
        .bind(words)
        .bind(wanted.retired_too)
        .bind(pivot)
        .bind(limit)
        .fetch_all(conn)
        .await
}

/// One product.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Product>> {
    sqlx::query_as(sqlx::AssertSqlSafe(format!("{COLUMNS} where id = $1")))
        .bind(id)
        .fetch_optional(conn)
        .await
}

/// One product, its row locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Product>> {
    sqlx::query_as(sqlx::AssertSqlSafe(format!("{COLUMNS} where id = $1 for update")))
        .bind(id)
        .fetch_optional(conn)
        .await
}

/// These products, in no particular order.
///
/// # Errors
/// When the database does not answer.
pub async fn find_many(conn: &mut Conn, ids: &[Uuid]) -> sqlx::Result<Vec<Product>> {
    sqlx::query_as(sqlx::AssertSqlSafe(format!("{COLUMNS} where id = any($1)")))
        .bind(ids)
        .fetch_all(conn)
        .await
}

/// Enters a product.
///
/// # Errors
/// `product_pkey` when it was sent before, `product_registration_once` when the number is taken.
pub async fn insert(conn: &mut Conn, p: &Product, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into product (id, name, registration_number, form, created_at, price, price_unit)
         values ($1, $2, $3, $4, $5, $6, $7)",
    )
    .bind(p.id)
    .bind(&p.name)
    .bind(&p.registration_number)
    .bind(&p.form)
    .bind(at)
    .bind(p.price)
    .bind(&p.price_unit)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes name, registration number, form and price.
///
/// # Errors
/// `product_registration_once` when the number is taken.
pub async fn update(conn: &mut Conn, p: &Product) -> sqlx::Result<()> {
    sqlx::query(
        "update product set name = $2, registration_number = $3, form = $4, price = $5, price_unit = $6
         where id = $1",
    )
    .bind(p.id)
    .bind(&p.name)
    .bind(&p.registration_number)
    .bind(&p.form)
    .bind(p.price)
    .bind(&p.price_unit)
    .execute(conn)
    .await?;
    Ok(())
}

/// Retires a product or takes it back.
///
/// # Errors
/// When the database does not answer.
pub async fn set_retired(conn: &mut Conn, id: Uuid, at: Option<DateTime<Utc>>) -> sqlx::Result<()> {
    sqlx::query("update product set retired_at = $2 where id = $1").bind(id).bind(at).execute(conn).await?;
    Ok(())
}

/// How many plants in use are meant to get this product.
///
/// # Errors
/// When the database does not answer.
pub async fn plants_using(conn: &mut Conn, id: Uuid) -> sqlx::Result<i64> {
    sqlx::query_scalar("select count(*) from plant where product_id = $1 and retired_at is null")
        .bind(id)
        .fetch_one(conn)
        .await
}

/// A state's registration of a product and its days.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Registration {
    pub product_id: Uuid,
    pub state: String,
    /// The first day; none: as long as anybody knows.
    pub valid_from: Option<NaiveDate>,
    /// The last day, which counts.
    pub expires_on: NaiveDate,
}

/// Registrations of these products, by product and state.
///
/// # Errors
/// When the database does not answer.
pub async fn registrations(conn: &mut Conn, products: &[Uuid]) -> sqlx::Result<Vec<Registration>> {
    sqlx::query_as(
        "select product_id, state, valid_from, expires_on from product_registration
         where product_id = any($1) order by product_id, state",
    )
    .bind(products)
    .fetch_all(conn)
    .await
}

/// A registration's first day, where one is known, and its last.
pub type Days = (Option<NaiveDate>, NaiveDate);

/// Enters a state's registration, or its new days; the first and the last day that stood there before.
///
/// # Errors
/// When the state is none.
pub async fn set_registration(conn: &mut Conn, r: &Registration) -> sqlx::Result<Option<Days>> {
    let before = sqlx::query_as(
        "select valid_from, expires_on from product_registration where product_id = $1 and state = $2 for update",
    )
    .bind(r.product_id)
    .bind(&r.state)
    .fetch_optional(&mut *conn)
    .await?;
    sqlx::query(
        "insert into product_registration (product_id, state, expires_on, valid_from) values ($1, $2, $3, $4)
         on conflict (product_id, state) do update set expires_on = excluded.expires_on,
            valid_from = excluded.valid_from",
    )
    .bind(r.product_id)
    .bind(&r.state)
    .bind(r.expires_on)
    .bind(r.valid_from)
    .execute(conn)
    .await?;
    Ok(before)
}
