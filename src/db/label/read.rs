//! Label versions, read whole.
use super::super::Conn;
use super::{Cap, Ingredient, Label, Use, Version};
use std::collections::HashMap;
use uuid::Uuid;

/// The view is asked per product, so that it says in one place which version is in force.
const VERSION: &str =
    "select v.id, v.product_id, v.number, v.label_date, v.category, v.restricted_use, v.signal_word,
        v.clothing, v.precautions, v.first_aid, v.excluded_hosts, v.density, v.density_unit, v.piece_mass, v.piece_unit,
        v.entered_by, e.name as entered_by_name, v.entered_at,
        v.signed_by, s.name as signed_by_name,
        v.signed_certification_id, c.number as signed_certification_number, v.signed_at,
        exists (select 1 from label_in_force f where f.product_id = v.product_id and f.id = v.id) as in_force
    from label_version v
    join person e on e.id = v.entered_by
    left join person s on s.id = v.signed_by
    left join certification c on c.id = v.signed_certification_id";

const USE: &str =
    "select id, label_version_id, code, name, hosts, pests, method, measure, rate_low, rate_high, rate_unit,
        rate_per, water_low, water_high, water_unit, protection_value, protection_unit, uptake_days, min_interval_days,
        max_per_year, season_from, season_to, season2_from, season2_to, barred_in_bloom, bloom_lead_days,
        covers_food, preharvest_days, foliar_rest_days, no_group_repeat
    from label_use";

/// The heads of a product's versions, newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn versions_of(conn: &mut Conn, product: Uuid) -> sqlx::Result<Vec<Version>> {
    let text = format!("{VERSION} where v.product_id = $1 order by v.number desc");
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(product).fetch_all(conn).await
}

/// One version with all its parts.
///
/// # Errors
/// When the database does not answer.
pub async fn load(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Label>> {
    let text = format!("{VERSION} where v.id = $1");
    let head: Option<Version> =
        sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(id).fetch_optional(&mut *conn).await?;
    let Some(head) = head else { return Ok(None) };
    Ok(with_parts(conn, vec![head]).await?.pop())
}

/// Every version of these products with all its parts, by product, newest first; four queries.
///
/// # Errors
/// When the database does not answer.
pub async fn load_many(conn: &mut Conn, products: &[Uuid]) -> sqlx::Result<Vec<Label>> {
    let text = format!("{VERSION} where v.product_id = any($1) order by v.product_id, v.number desc");
    let heads = sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(products).fetch_all(&mut *conn).await?;
    with_parts(conn, heads).await
}

/// The version to which a use belongs.
///
/// # Errors
/// When the database does not answer.
pub async fn use_version(conn: &mut Conn, use_id: Uuid) -> sqlx::Result<Option<Uuid>> {
    sqlx::query_scalar("select label_version_id from label_use where id = $1")
        .bind(use_id)
        .fetch_optional(conn)
        .await
}

async fn with_parts(conn: &mut Conn, heads: Vec<Version>) -> sqlx::Result<Vec<Label>> {
    let ids: Vec<Uuid> = heads.iter().map(|h| h.id).collect();
    let ingredients: Vec<Ingredient> = sqlx::query_as(
        "select label_version_id, position, name, irac_group, strength, strength_unit
         from label_ingredient where label_version_id = any($1) order by label_version_id, position",
    )
    .bind(&ids)
    .fetch_all(&mut *conn)
    .await?;
    let caps: Vec<Cap> = sqlx::query_as(
        "select label_version_id, position, counts, ingredient, amount, unit, year
         from label_cap where label_version_id = any($1) order by label_version_id, position",
    )
    .bind(&ids)
    .fetch_all(&mut *conn)
    .await?;
    let text = format!("{USE} where label_version_id = any($1) order by label_version_id, lower(name), code");
    let uses: Vec<Use> = sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(&ids).fetch_all(&mut *conn).await?;
    let mut ingredients = by_version(ingredients, |i| i.label_version_id);
    let mut caps = by_version(caps, |c| c.label_version_id);
    let mut uses = by_version(uses, |u| u.label_version_id);
    let label = |version: Version| Label {
        ingredients: ingredients.remove(&version.id).unwrap_or_default(),
        uses: uses.remove(&version.id).unwrap_or_default(),
        caps: caps.remove(&version.id).unwrap_or_default(),
        version,
    };
    Ok(heads.into_iter().map(label).collect())
}

fn by_version<T>(rows: Vec<T>, of: impl Fn(&T) -> Uuid) -> HashMap<Uuid, Vec<T>> {
    let mut all: HashMap<Uuid, Vec<T>> = HashMap::new();
    for row in rows {
        all.entry(of(&row)).or_default().push(row);
    }
    all
}
