//! Adding a version.
use super::{Head, Item, Version, body};
use crate::db::{Conn, chain};
use chrono::{DateTime, SubsecRound};
use uuid::Uuid;

/// Adds the version at the end of the chain; its place. The caller's
/// transaction holds the chain until it ends, so it must not wait for a parcel
/// after this.
///
/// # Errors
/// `application_record_pkey` when the version is already there, or another rule of the table.
pub async fn insert(conn: &mut Conn, version: &Version) -> sqlx::Result<i64> {
    let mut kept = version.clone();
    // The database keeps microseconds; the text must say what is kept.
    kept.head.recorded_at = DateTime::trunc_subsecs(kept.head.recorded_at, 6);
    let text = body(&kept);
    let link = chain::next(conn, &text).await?;
    insert_head(conn, &kept.head, &text, &link).await?;
    for item in &kept.items {
        insert_item(conn, kept.head.id, kept.head.version, item).await?;
    }
    Ok(link.seq)
}

async fn insert_head(conn: &mut Conn, h: &Head, text: &str, link: &chain::Next) -> sqlx::Result<()> {
    sqlx::query(
        "insert into application_record (id, version, seq, visit_id, site_id, parcel_id, origin, withdrawn,
            applied_on, started_at, finished_at, customer_name, customer_address, site_address, site_state,
            site_county, applicator_id, applicator_name, applicator_certification, supervisor_id,
            supervisor_name, supervisor_certification, wind_direction, wind_mph, temperature_f,
            area_treated_sqft, note, recorded_by, recorded_at, amend_reason, body, previous_hash, hash,
            conditions)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21,
            $22, $23, $24, $25, $26, $27, $28, $29, $30, $31, $32, $33, $34)",
    )
    .bind(h.id)
    .bind(h.version)
    .bind(link.seq)
    .bind(h.visit_id)
    .bind(h.site_id)
    .bind(h.parcel_id)
    .bind(&h.origin)
    .bind(h.withdrawn)
    .bind(h.applied_on)
    .bind(h.started_at)
    .bind(h.finished_at)
    .bind(&h.customer_name)
    .bind(&h.customer_address)
    .bind(&h.site_address)
    .bind(&h.site_state)
    .bind(&h.site_county)
    .bind(h.applicator_id)
    .bind(&h.applicator_name)
    .bind(&h.applicator_certification)
    .bind(h.supervisor_id)
    .bind(&h.supervisor_name)
    .bind(&h.supervisor_certification)
    .bind(&h.wind_direction)
    .bind(h.wind_mph)
    .bind(h.temperature_f)
    .bind(h.area_treated_sqft)
    .bind(&h.note)
    .bind(h.recorded_by)
    .bind(h.recorded_at)
    .bind(&h.amend_reason)
    .bind(text)
    .bind(&link.previous_hash)
    .bind(&link.hash)
    .bind(h.conditions.as_ref().map(sqlx::types::Json))
    .execute(conn)
    .await?;
    Ok(())
}

async fn insert_item(conn: &mut Conn, record: Uuid, version: i32, i: &Item) -> sqlx::Result<()> {
    sqlx::query(
        "insert into application_item (record_id, version, position, plant_id, plant_words, host_plant,
            target_pest, product_id, label_version_id, label_use_id, product_name, registration_number, method,
            measure, measure_basis, count, rate, amount, unit, water, water_unit, lot)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22)",
    )
    .bind(record)
    .bind(version)
    .bind(i.position)
    .bind(i.plant_id)
    .bind(&i.plant_words)
    .bind(&i.host_plant)
    .bind(&i.target_pest)
    .bind(i.product_id)
    .bind(i.label_version_id)
    .bind(i.label_use_id)
    .bind(&i.product_name)
    .bind(&i.registration_number)
    .bind(&i.method)
    .bind(i.measure)
    .bind(&i.measure_basis)
    .bind(i.count)
    .bind(i.rate)
    .bind(i.amount)
    .bind(&i.unit)
    .bind(i.water)
    .bind(&i.water_unit)
    .bind(&i.lot)
    .execute(conn)
    .await?;
    Ok(())
}
