//! The rows behind the facts of some parcels: one query each, however many parcels.
use super::Conn;
use crate::domain::site::{AreaKind, Areas, cap_area};
use chrono::NaiveDate;
use futures_util::stream::BoxStream;
use rust_decimal::Decimal;
use uuid::Uuid;

#[derive(sqlx::FromRow)]
pub struct LandRow {
    pub parcel_id: Uuid,
    lot_sqft: Option<Decimal>,
    landscaped_sqft: Option<Decimal>,
    treated_bed_sqft: Option<Decimal>,
    cap_area: Option<String>,
    pub sharing: String,
    pub history_known_from: Option<NaiveDate>,
    pub state: Option<String>,
    pub county: Option<String>,
    pub municipality: Option<String>,
    /// Whether every site on the parcel is farmed.
    pub agricultural: bool,
}

impl LandRow {
    /// The area that caps are counted on.
    pub fn cap_area_sqft(&self) -> Option<Decimal> {
        let areas = Areas {
            lot: self.lot_sqft,
            landscaped: self.landscaped_sqft,
            treated_bed: self.treated_bed_sqft,
        };
        let choice = self.cap_area.as_deref().and_then(AreaKind::from_code);
        cap_area(&areas, choice).map(|area| area.value)
    }
}

pub async fn lands(conn: &mut Conn, parcels: &[Uuid]) -> sqlx::Result<Vec<LandRow>> {
    sqlx::query_as(
        "select l.id as parcel_id, l.lot_sqft, l.landscaped_sqft, l.treated_bed_sqft, l.cap_area, l.sharing,
            l.history_known_from,
            s.state, s.county, s.municipality,
            coalesce((select bool_and(agricultural) from site where parcel_id = l.id), false) as agricultural
         from parcel l left join lateral
            (select state, county, coalesce(nullif(municipality, ''), city) as municipality
             from site where parcel_id = l.id order by created_at, id limit 1) s on true
         where l.id = any($1)",
    )
    .bind(parcels)
    .fetch_all(conn)
    .await
}

/// The state of a parcel, of which there is one.
pub async fn state(conn: &mut Conn, parcel: Uuid) -> sqlx::Result<String> {
    let land = lands(conn, &[parcel]).await?.pop().ok_or(sqlx::Error::RowNotFound)?;
    Ok(land.state.unwrap_or_default())
}

#[derive(sqlx::FromRow)]
pub struct PlantRow {
    pub parcel_id: Uuid,
    pub id: Uuid,
    pub place: String,
    pub host_plant: String,
    pub count: i32,
    pub height_ft: Option<Decimal>,
    pub stems_in: Vec<Decimal>,
    pub stem_rule: Option<String>,
    pub girth_in: Option<Decimal>,
    pub ground: Option<Decimal>,
    pub ground_unit: Option<String>,
    pub target_pest: String,
    pub harvest_from: Option<String>,
    pub harvest_to: Option<String>,
    pub harvest_on: Option<NaiveDate>,
    pub eaten: String,
    pub food_in_root_zone: String,
    pub bloom_from: Option<String>,
    pub bloom_to: Option<String>,
    pub in_bloom: bool,
    pub product_id: Uuid,
    pub use_code: String,
    pub planned_rate: Option<Decimal>,
    pub first_wanted: Option<NaiveDate>,
    /// The record of which it is a part, and since when.
    pub split_from: Option<Uuid>,
    pub split_on: Option<NaiveDate>,
}

/// Plants in use that have a treatment, on sites in use. One whose product is retired has none: nothing is
/// planned with it.
pub async fn plants(conn: &mut Conn, parcels: &[Uuid]) -> sqlx::Result<Vec<PlantRow>> {
    sqlx::query_as(
        "select s.parcel_id, p.id, p.place, p.host_plant, p.count, p.height_ft, p.stems_in, p.stem_rule, p.eaten,
            p.food_in_root_zone, p.bloom_from, p.bloom_to, p.in_bloom, p.product_id, p.use_code, p.planned_rate,
            p.first_wanted, p.girth_in, p.ground, p.ground_unit, p.target_pest, p.harvest_from, p.harvest_to,
            p.harvest_on, t.from_plant as split_from, t.split_on
         from plant p join site s on s.id = p.site_id join product r on r.id = p.product_id
            left join plant_split t on t.plant_id = p.id
         where s.parcel_id = any($1) and p.retired_at is null and s.retired_at is null and r.retired_at is null
         order by p.id",
    )
    .bind(parcels)
    .fetch_all(conn)
    .await
}

#[derive(sqlx::FromRow)]
pub struct AppliedRow {
    pub parcel_id: Uuid,
    pub plant_id: Option<Uuid>,
    pub product_id: Uuid,
    pub label_version_id: Uuid,
    pub label_use_id: Option<Uuid>,
    pub applied_on: NaiveDate,
    pub amount: Decimal,
    pub unit: String,
}

const APPLIED: &str =
    "select r.parcel_id, i.plant_id, i.product_id, i.label_version_id, i.label_use_id, r.applied_on,
    i.amount, i.unit";

/// All that was applied on the land, by whomever, in the version that counts. That version is asked for
/// record by record: the few of a parcel are found by their index then, however many there are in all.
pub async fn applied(conn: &mut Conn, parcels: &[Uuid]) -> sqlx::Result<Vec<AppliedRow>> {
    let text = format!(
        "{APPLIED} from application_record r join application_item i on i.record_id = r.id and i.version = r.version
         where r.parcel_id = any($1) and not r.withdrawn
            and r.version = (select max(n.version) from application_record n where n.id = r.id)
         order by r.applied_on, r.id, i.position"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(parcels).fetch_all(conn).await
}

/// The same of every parcel, parcel by parcel, in one pass over the tables.
pub fn all_applied(conn: &mut Conn) -> BoxStream<'_, sqlx::Result<AppliedRow>> {
    let text = format!(
        "{APPLIED} from application_now r join application_item i on i.record_id = r.id and i.version = r.version
         order by r.parcel_id, r.applied_on, r.id, i.position"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).fetch(conn)
}

#[derive(sqlx::FromRow)]
pub struct BookedRow {
    pub parcel_id: Uuid,
    pub plant_id: Uuid,
    pub product_id: Uuid,
    pub label_version_id: Uuid,
    pub label_use_id: Uuid,
    pub on_date: NaiveDate,
    pub amount: Decimal,
    pub unit: String,
}

/// What booked visits reserve.
pub async fn booked(conn: &mut Conn, parcels: &[Uuid]) -> sqlx::Result<Vec<BookedRow>> {
    sqlx::query_as(
        "select s.parcel_id, d.plant_id, lv.product_id, lv.id as label_version_id, d.label_use_id, v.on_date, d.amount, d.unit
         from visit v join site s on s.id = v.site_id
            join planned_dose d on d.visit_id = v.id and d.status = 'planned'
            join label_use u on u.id = d.label_use_id
            join label_version lv on lv.id = u.label_version_id
         where s.parcel_id = any($1) and v.status = 'booked' order by v.on_date, v.id, d.plant_id, d.label_use_id",
    )
    .bind(parcels)
    .fetch_all(conn)
    .await
}

#[derive(sqlx::FromRow)]
pub struct ProductRow {
    pub id: Uuid,
    pub name: String,
    pub form: String,
}

pub async fn products(conn: &mut Conn, ids: &[Uuid]) -> sqlx::Result<Vec<ProductRow>> {
    sqlx::query_as("select id, name, form from product where id = any($1) order by id")
        .bind(ids)
        .fetch_all(conn)
        .await
}

#[derive(sqlx::FromRow)]
pub struct RegistrationRow {
    pub product_id: Uuid,
    pub state: String,
    pub valid_from: Option<NaiveDate>,
    pub expires_on: NaiveDate,
}

/// From when until when these products are registered, by product and state.
pub async fn registrations(conn: &mut Conn, ids: &[Uuid]) -> sqlx::Result<Vec<RegistrationRow>> {
    sqlx::query_as(
        "select product_id, state::text, valid_from, expires_on from product_registration
         where product_id = any($1) order by 1, 2",
    )
    .bind(ids)
    .fetch_all(conn)
    .await
}
