//! Drafts, their parts and the signature. Whatever is signed is out of reach: the
//! database refuses with `label_version_signed_stays`.
use super::super::Conn;
use super::{Cap, Ingredient, Use, Version};
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// The number that the product's next version gets; the caller holds the product's row.
///
/// # Errors
/// When the database does not answer.
pub async fn next_number(conn: &mut Conn, product: Uuid) -> sqlx::Result<i32> {
    sqlx::query_scalar("select coalesce(max(number), 0) + 1 from label_version where product_id = $1")
        .bind(product)
        .fetch_one(conn)
        .await
}

/// Locks a version until the transaction ends, so that nobody signs while somebody types; whether it is there.
///
/// # Errors
/// When the database does not answer.
pub async fn lock_version(conn: &mut Conn, id: Uuid) -> sqlx::Result<bool> {
    let found: Option<Uuid> = sqlx::query_scalar("select id from label_version where id = $1 for update")
        .bind(id)
        .fetch_optional(conn)
        .await?;
    Ok(found.is_some())
}

/// Puts the head of a draft in. Names, signature and state are not read from `v`.
///
/// # Errors
/// `label_version_pkey` when it was sent before.
pub async fn insert_version(conn: &mut Conn, v: &Version) -> sqlx::Result<()> {
    sqlx::query(
        "insert into label_version (id, product_id, number, label_date, category, restricted_use, signal_word,
            clothing, precautions, first_aid, excluded_hosts, entered_by, entered_at, density, density_unit,
            piece_mass, piece_unit)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17)",
    )
    .bind(v.id)
    .bind(v.product_id)
    .bind(v.number)
    .bind(v.label_date)
    .bind(&v.category)
    .bind(v.restricted_use)
    .bind(&v.signal_word)
    .bind(&v.clothing)
    .bind(&v.precautions)
    .bind(&v.first_aid)
    .bind(&v.excluded_hosts)
    .bind(v.entered_by)
    .bind(v.entered_at)
    .bind(v.density)
    .bind(&v.density_unit)
    .bind(v.piece_mass)
    .bind(&v.piece_unit)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes the head of a draft.
///
/// # Errors
/// `label_version_signed_stays` once it is signed.
pub async fn update_version(conn: &mut Conn, v: &Version) -> sqlx::Result<()> {
    sqlx::query(
        "update label_version set label_date = $2, category = $3, restricted_use = $4, signal_word = $5,
            clothing = $6, precautions = $7, first_aid = $8, excluded_hosts = $9, density = $10, density_unit = $11,
            piece_mass = $12, piece_unit = $13
         where id = $1",
    )
    .bind(v.id)
    .bind(v.label_date)
    .bind(&v.category)
    .bind(v.restricted_use)
    .bind(&v.signal_word)
    .bind(&v.clothing)
    .bind(&v.precautions)
    .bind(&v.first_aid)
    .bind(&v.excluded_hosts)
    .bind(v.density)
    .bind(&v.density_unit)
    .bind(v.piece_mass)
    .bind(&v.piece_unit)
    .execute(conn)
    .await?;
    Ok(())
}

/// Puts these ingredients and caps in the place of those there; positions are counted anew.
///
/// # Errors
/// `label_version_signed_stays` once it is signed, `label_ingredient_once` when a name is twice in it.
pub async fn replace_parts(
    conn: &mut Conn,
    version: Uuid,
    ingredients: &[Ingredient],
    caps: &[Cap],
) -> sqlx::Result<()> {
    sqlx::query("delete from label_cap where label_version_id = $1")
        .bind(version)
        .execute(&mut *conn)
        .await?;
    sqlx::query("delete from label_ingredient where label_version_id = $1")
        .bind(version)
        .execute(&mut *conn)
        .await?;
    for (position, i) in (1_i32..).zip(ingredients) {
        sqlx::query(
            "insert into label_ingredient (label_version_id, position, name, irac_group, strength, strength_unit)
             values ($1, $2, $3, $4, $5, $6)",
        )
        .bind(version)
        .bind(position)
        .bind(&i.name)
        .bind(&i.irac_group)
        .bind(i.strength)
        .bind(&i.strength_unit)
        .execute(&mut *conn)
        .await?;
    }
    for (position, c) in (1_i32..).zip(caps) {
        sqlx::query(
            "insert into label_cap (label_version_id, position, ingredient, amount, unit, year, counts)
             values ($1, $2, $3, $4, $5, $6, $7)",
        )
        .bind(version)
        .bind(position)
        .bind(&c.ingredient)
        .bind(c.amount)
        .bind(&c.unit)
        .bind(&c.year)
        .bind(&c.counts)
        .execute(&mut *conn)
        .await?;
    }
    Ok(())
}

/// Puts a use in.
///
/// # Errors
/// `label_use_pkey` when it was sent before, `label_use_code_once` when the code is taken.
pub async fn insert_use(conn: &mut Conn, u: &Use) -> sqlx::Result<()> {
    let text = "insert into label_use (id, label_version_id, code, name, hosts, pests, method, measure, rate_low,
            rate_high, rate_unit, water_low, water_high, water_unit, protection_value, protection_unit, uptake_days,
            min_interval_days, max_per_year, season_from, season_to, barred_in_bloom, covers_food, preharvest_days,
            rate_per, season2_from, season2_to, bloom_lead_days, foliar_rest_days, no_group_repeat)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21,
            $22, $23, $24, $25, $26, $27, $28, $29, $30)";
    bound(text, u).execute(conn).await?;
    Ok(())
}

/// Changes a use of a draft.
///
/// # Errors
/// `label_version_signed_stays` once its version is signed, `label_use_code_once` when the code is taken.
pub async fn update_use(conn: &mut Conn, u: &Use) -> sqlx::Result<()> {
    let text = "update label_use set code = $3, name = $4, hosts = $5, pests = $6, method = $7, measure = $8,
            rate_low = $9, rate_high = $10, rate_unit = $11, water_low = $12, water_high = $13, water_unit = $14,
            protection_value = $15, protection_unit = $16, uptake_days = $17, min_interval_days = $18,
            max_per_year = $19, season_from = $20, season_to = $21, barred_in_bloom = $22, covers_food = $23,
            preharvest_days = $24, rate_per = $25, season2_from = $26, season2_to = $27, bloom_lead_days = $28,
            foliar_rest_days = $29, no_group_repeat = $30
         where id = $1 and label_version_id = $2";
    bound(text, u).execute(conn).await?;
    Ok(())
}

fn bound<'q>(
    text: &'static str,
    u: &'q Use,
) -> sqlx::query::Query<'q, sqlx::Postgres, sqlx::postgres::PgArguments> {
    sqlx::query(text)
        .bind(u.id)
        .bind(u.label_version_id)
        .bind(&u.code)
        .bind(&u.name)
        .bind(&u.hosts)
        .bind(&u.pests)
        .bind(&u.method)
        .bind(&u.measure)
        .bind(u.rate_low)
        .bind(u.rate_high)
        .bind(&u.rate_unit)
        .bind(u.water_low)
        .bind(u.water_high)
        .bind(&u.water_unit)
        .bind(u.protection_value)
        .bind(&u.protection_unit)
        .bind(u.uptake_days)
        .bind(u.min_interval_days)
        .bind(u.max_per_year)
        .bind(&u.season_from)
        .bind(&u.season_to)
        .bind(u.barred_in_bloom)
        .bind(u.covers_food)
        .bind(u.preharvest_days)
        .bind(u.rate_per)
        .bind(&u.season2_from)
        .bind(&u.season2_to)
        .bind(u.bloom_lead_days)
        .bind(u.foliar_rest_days)
        .bind(u.no_group_repeat)
}

/// Takes a use out of a draft.
///
/// # Errors
/// `label_version_signed_stays` once its version is signed.
pub async fn delete_use(conn: &mut Conn, id: Uuid) -> sqlx::Result<()> {
    sqlx::query("delete from label_use where id = $1").bind(id).execute(conn).await?;
    Ok(())
}

/// Signs a version under a certification.
///
/// # Errors
/// `label_version_signed_stays` when it is signed already.
pub async fn sign(
    conn: &mut Conn,
    id: Uuid,
    person: Uuid,
    certification: Uuid,
    at: DateTime<Utc>,
) -> sqlx::Result<()> {
    sqlx::query(
        "update label_version set signed_by = $2, signed_certification_id = $3, signed_at = $4 where id = $1",
    )
    .bind(id)
    .bind(person)
    .bind(certification)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}
