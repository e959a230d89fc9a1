//! What a plant can be treated with: the uses on the products' labels.
use super::Conn;
use crate::domain::{label::MeasureBasis, quantity::from_decimal};
use rust_decimal::Decimal;
use uuid::Uuid;

/// A use of a product, from its newest signed label, or from the newest entry while none is signed.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct Treatment {
    pub product_id: Uuid,
    pub product_name: String,
    pub use_code: String,
    pub use_name: String,
    /// Code of a `MeasureBasis`, such as `height-ft`.
    pub measure: String,
    pub rate_low: Decimal,
    pub rate_high: Decimal,
    pub rate_unit: String,
    /// For how many feet, inches and so on the band is stated.
    pub rate_per: Decimal,
    /// Whether a licensed person has signed the label's entry.
    pub signed: bool,
    /// Whether the product is retired.
    pub retired: bool,
}

const SELECT: &str = "select p.id as product_id, p.name as product_name, u.code as use_code,
        u.name as use_name, u.measure, u.rate_low, u.rate_high, u.rate_unit, u.rate_per,
        v.signed_at is not null as signed,
        p.retired_at is not null as retired
    from product p
    join lateral (select id, signed_at from label_version l where l.product_id = p.id
        order by l.signed_at is not null desc, l.number desc limit 1) v on true
    join label_use u on u.label_version_id = v.id ";

/// Every use of every product that is not retired.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn) -> sqlx::Result<Vec<Treatment>> {
    sqlx::query_as(sqlx::AssertSqlSafe(format!(
        "{SELECT} where p.retired_at is null order by lower(p.name), p.id, lower(u.name), u.code"
    )))
    .fetch_all(conn)
    .await
}

/// One use, whether or not its product is retired.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, product: Uuid, code: &str) -> sqlx::Result<Option<Treatment>> {
    sqlx::query_as(sqlx::AssertSqlSafe(format!("{SELECT} where p.id = $1 and u.code = $2")))
        .bind(product)
        .bind(code)
        .fetch_optional(conn)
        .await
}

impl Treatment {
    /// The rate band in words, such as "3 to 6 mL per ft of height".
    #[must_use]
    pub fn band_words(&self) -> String {
        let per = MeasureBasis::from_code(&self.measure)
            .map_or_else(|| self.measure.clone(), |basis| basis.on_label(&from_decimal(self.rate_per)));
        let (low, high) = (self.rate_low.normalize(), self.rate_high.normalize());
        let band = if low == high { low.to_string() } else { format!("{low} to {high}") };
        let many = matches!(self.rate_unit.as_str(), "packet" | "tablet") && band != "1";
        format!("{band} {}{} per {per}", self.rate_unit, if many { "s" } else { "" })
    }

    /// The value that a form's choice sends.
    #[must_use]
    pub fn choice(&self) -> String {
        format!("{}:{}", self.product_id, self.use_code)
    }
}
