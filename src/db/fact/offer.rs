//! What may be offered in the place of a plant's treatment: every use of every signed label in force.
use super::{Conn, product::Catalogue, registration, rows};
use crate::{
    db::label,
    domain::{
        label::{Product, Registration},
        quantity::{AmountUnit, from_decimal},
        way_out::Price,
    },
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

/// A use of a label in force, in the entry's words.
#[derive(Debug, Clone)]
pub struct OfferedUse {
    /// Id of the use among the facts.
    pub id: String,
    pub product: Uuid,
    pub product_name: String,
    pub code: String,
    /// How many feet, inches and so on its rates are stated for; a plant's rate is kept in the same terms.
    pub rate_per: Decimal,
    pub name: String,
    pub hosts: String,
    pub pests: String,
}

/// All that may be offered.
#[derive(Debug, Clone, Default)]
pub struct Offerable {
    pub products: Vec<Product>,
    pub uses: Vec<OfferedUse>,
    pub prices: Vec<Price>,
}

/// Products in care with a signed label, as that label describes them, for a plan on that day.
///
/// # Errors
/// When the database does not answer; a decode error when a row cannot be.
pub async fn offerable(conn: &mut Conn, on: NaiveDate) -> sqlx::Result<Offerable> {
    let ids = in_force(conn).await?;
    let mut labels = label::load_many(conn, &ids).await?;
    labels.retain(|l| l.version.in_force);
    let registrations: Vec<(Uuid, Registration)> = rows::registrations(conn, &ids)
        .await?
        .into_iter()
        .map(|row| (row.product_id, registration(row, on)))
        .collect();
    let named = rows::products(conn, &ids).await?;
    let name = |id: Uuid| named.iter().find(|p| p.id == id).map(|p| p.name.clone()).unwrap_or_default();
    let uses = labels.iter().flat_map(|l| l.uses.iter().map(move |u| (l.version.product_id, u)));
    let uses = uses.map(|(product, u)| OfferedUse {
        id: u.id.to_string(),
        product,
        product_name: name(product),
        code: u.code.clone(),
        rate_per: u.rate_per,
        name: u.name.clone(),
        hosts: u.hosts.clone(),
        pests: u.pests.clone(),
    });
    let uses = uses.collect();
    let all = ids.iter().copied().collect();
    let products = Catalogue::new(&named, labels, &registrations)?.products_of(&all);
    Ok(Offerable { products, uses, prices: prices(conn, &ids).await? })
}

async fn in_force(conn: &mut Conn) -> sqlx::Result<Vec<Uuid>> {
    sqlx::query_scalar(
        "select f.product_id from label_in_force f join product p on p.id = f.product_id
         where p.retired_at is null order by 1",
    )
    .fetch_all(conn)
    .await
}

/// What the products cost, where a price is entered.
async fn prices(conn: &mut Conn, ids: &[Uuid]) -> sqlx::Result<Vec<Price>> {
    let rows: Vec<(Uuid, Decimal, String)> =
        sqlx::query_as("select id, price, price_unit from product where id = any($1) and price is not null")
            .bind(ids)
            .fetch_all(conn)
            .await?;
    let price = |(id, amount, unit): (Uuid, Decimal, String)| {
        let unit = AmountUnit::from_code(&unit).ok()?;
        Some(Price { product: id.to_string(), amount: from_decimal(amount), unit })
    };
    Ok(rows.into_iter().filter_map(price).collect())
}
