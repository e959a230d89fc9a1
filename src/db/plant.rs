//! Plants: one record is one plant, or several alike such as a hedge of forty.
use super::{
    Conn,
    seek::{Chunk, Order, Seek, push_words_within},
};
use crate::domain::plant::{Kind, Measure};
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use sqlx::QueryBuilder;
use uuid::Uuid;

/// A plant record.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Plant {
    pub id: Uuid,
    pub site_id: Uuid,
    /// Where on the site, such as "front hedge".
    pub place: String,
    pub host_plant: String,
    #[sqlx(try_from = "String")]
    pub kind: Kind,
    /// So many alike plants.
    pub count: i32,
    pub height_ft: Option<Decimal>,
    /// Trunk diameters in inches.
    pub stems_in: Vec<Decimal>,
    /// How several stems count: `sum`, `quadratic` or `largest-plus-half`.
    pub stem_rule: Option<String>,
    /// Girth of the trunk in inches, instead of its diameter.
    pub girth_in: Option<Decimal>,
    /// Treated ground.
    pub ground: Option<Decimal>,
    /// `sqft`, `acre` or `m2`.
    pub ground_unit: Option<String>,
    pub target_pest: String,
    /// `yes`, `no` or `unknown`.
    pub eaten: String,
    /// `yes`, `no` or `unknown`.
    pub food_in_root_zone: String,
    /// Usual bloom, as MM-DD.
    pub bloom_from: Option<String>,
    pub bloom_to: Option<String>,
    pub in_bloom: bool,
    /// Usual harvest, as MM-DD.
    pub harvest_from: Option<String>,
    pub harvest_to: Option<String>,
    /// A day that is set for the harvest.
    pub harvest_on: Option<NaiveDate>,
    pub product_id: Option<Uuid>,
    /// The use's code on the product's label.
    pub use_code: Option<String>,
    /// In the use's unit; nothing: the lowest of the band.
    pub planned_rate: Option<Decimal>,
    pub first_wanted: Option<NaiveDate>,
    pub retired_at: Option<DateTime<Utc>>,
    pub retired_reason: String,
}

impl Plant {
    /// What was measured.
    #[must_use]
    pub fn measure(&self) -> Measure {
        Measure {
            height_ft: self.height_ft,
            stems_in: self.stems_in.clone(),
            stem_rule: self.stem_rule.clone(),
            girth_in: self.girth_in,
            ground: self.ground,
            ground_unit: self.ground_unit.clone(),
        }
    }
}

/// A plant with its treatment in words and what the due engine last said of it.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    #[sqlx(flatten)]
    pub plant: Plant,
    pub street: String,
    pub city: String,
    pub product_name: Option<String>,
    pub use_name: Option<String>,
    /// What the use multiplies its rate with: code of a `MeasureBasis`, such as `height-ft`.
    pub use_measure: Option<String>,
    /// The unit of the use's rate.
    pub use_unit: Option<String>,
    /// Whether the product has a signed label.
    pub signed: bool,
    /// Whether the product is retired: then the plant stands without treatment.
    pub product_retired: bool,
    pub protected_until: Option<NaiveDate>,
    pub due_on: Option<NaiveDate>,
    pub held_by: Option<Vec<String>>,
}

const COLUMNS: &str = "p.id, p.site_id, p.place, p.host_plant, p.kind, p.count, p.height_ft, p.stems_in,
    p.stem_rule, p.target_pest, p.eaten, p.food_in_root_zone, p.bloom_from, p.bloom_to, p.in_bloom,
    p.product_id, p.use_code, p.planned_rate, p.first_wanted, p.retired_at, p.retired_reason, p.girth_in,
    p.ground, p.ground_unit, p.harvest_from, p.harvest_to, p.harvest_on";
const LINE: &str = ", s.street, s.city, r.name as product_name, u.name as use_name, u.measure as use_measure,
    u.rate_unit as use_unit, v.signed_at is not null as signed, r.retired_at is not null as product_retired, d.protected_until, d.due_on, d.held_by
    from plant p join site s on s.id = p.site_id
    left join product r on r.id = p.product_id
    left join lateral (select id, signed_at from label_version l where l.product_id = p.product_id
        order by l.signed_at is not null desc, l.number desc limit 1) v on true
    left join label_use u on u.label_version_id = v.id and u.code = p.use_code
    left join due d on d.plant_id = p.id where ";
const ORDER: Order = Order { table: "plant", alias: "p", column: "host_plant" };

/// Where a word may stand: in the plant's own words, or in the street or name of its site.
const SEARCHED: [&str; 2] = [
    "select id from plant where lower(host_plant || ' ' || place || ' ' || target_pest) like $",
    "select o.id from plant o join site h on h.id = o.site_id
     where lower(h.name || ' ' || h.street) like $ and
        lower(h.name || ' ' || h.street || ' ' || h.city || ' ' || h.county) like $",
];

fn lines() -> QueryBuilder<sqlx::Postgres> {
    QueryBuilder::new(format!("select {COLUMNS}{LINE}"))
}

/// A page of plants by host plant, those that match every word of `searched`.
///
/// # Errors
/// When the database does not answer.
pub async fn list(conn: &mut Conn, seek: Seek, searched: &str, retired: bool) -> sqlx::Result<Chunk<Line>> {
    let mut query = lines();
    query.push(if retired { "true" } else { "p.retired_at is null" });
    push_words_within(&mut query, "p.id", searched, &SEARCHED);
    ORDER.push_start(&mut query, seek);
    ORDER.push_end(&mut query, seek);
    Ok(seek.chunk(query.build_query_as().fetch_all(conn).await?))
}

/// How many of them the whole list holds.
///
/// # Errors
/// When the database does not answer.
pub async fn count(conn: &mut Conn, searched: &str, retired: bool) -> sqlx::Result<i64> {
    let mut query = QueryBuilder::new("select count(*) from plant p where ");
    query.push(if retired { "true" } else { "p.retired_at is null" });
    push_words_within(&mut query, "p.id", searched, &SEARCHED);
    query.build_query_scalar().fetch_one(conn).await
}

/// Every plant of a site, those in use first.
///
/// # Errors
/// When the database does not answer.
pub async fn of_site(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Line>> {
    let mut query = lines();
    query.push("p.site_id = ").push_bind(site);
    query.push(" order by p.retired_at is not null, lower(p.place), lower(p.host_plant), p.id");
    query.build_query_as().fetch_all(conn).await
}

/// One plant with its treatment in words.
///
/// # Errors
/// When the database does not answer.
pub async fn line(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Line>> {
    let mut query = lines();
    query.push("p.id = ").push_bind(id);
    query.build_query_as().fetch_optional(conn).await
}

/// One plant.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Plant>> {
    let mut query = QueryBuilder::new(format!("select {COLUMNS} from plant p where p.id = "));
    query.push_bind(id);
    query.build_query_as().fetch_optional(conn).await
}

/// One plant, locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Plant>> {
    let mut query = QueryBuilder::new(format!("select {COLUMNS} from plant p where p.id = "));
    query.push_bind(id).push(" for no key update");
    query.build_query_as().fetch_optional(conn).await
}

/// Enters a plant.
///
/// # Errors
/// When a rule of the table breaks (`plant_pkey`: the same form twice).
pub async fn insert(conn: &mut Conn, p: &Plant, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into plant (id, site_id, place, host_plant, kind, count, height_ft, stems_in, stem_rule,
            target_pest, eaten, food_in_root_zone, bloom_from, bloom_to, in_bloom, product_id, use_code,
            planned_rate, first_wanted, created_at, girth_in, ground, ground_unit, harvest_from, harvest_to, harvest_on)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22,
            $23, $24, $25, $26)",
    )
    .bind(p.id)
    .bind(p.site_id)
    .bind(&p.place)
    .bind(&p.host_plant)
    .bind(p.kind.code())
    .bind(p.count)
    .bind(p.height_ft)
    .bind(&p.stems_in)
    .bind(&p.stem_rule)
    .bind(&p.target_pest)
    .bind(&p.eaten)
    .bind(&p.food_in_root_zone)
    .bind(&p.bloom_from)
    .bind(&p.bloom_to)
    .bind(p.in_bloom)
    .bind(p.product_id)
    .bind(&p.use_code)
    .bind(p.planned_rate)
    .bind(p.first_wanted)
    .bind(at)
    .bind(p.girth_in)
    .bind(p.ground)
    .bind(&p.ground_unit)
    .bind(&p.harvest_from)
    .bind(&p.harvest_to)
    .bind(p.harvest_on)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes everything but site and retirement.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn update(conn: &mut Conn, p: &Plant) -> sqlx::Result<()> {
    sqlx::query(
        "update plant set place = $2, host_plant = $3, kind = $4, count = $5, height_ft = $6, stems_in = $7,
            stem_rule = $8, target_pest = $9, eaten = $10, food_in_root_zone = $11, bloom_from = $12,
            bloom_to = $13, in_bloom = $14, product_id = $15, use_code = $16, planned_rate = $17,
            first_wanted = $18, girth_in = $19, ground = $20, ground_unit = $21, harvest_from = $22, harvest_to = $23,
            harvest_on = $24 where id = $1",
    )
    .bind(p.id)
    .bind(&p.place)
    .bind(&p.host_plant)
    .bind(p.kind.code())
    .bind(p.count)
    .bind(p.height_ft)
    .bind(&p.stems_in)
    .bind(&p.stem_rule)
    .bind(&p.target_pest)
    .bind(&p.eaten)
    .bind(&p.food_in_root_zone)
    .bind(&p.bloom_from)
    .bind(&p.bloom_to)
    .bind(p.in_bloom)
    .bind(p.product_id)
    .bind(&p.use_code)
    .bind(p.planned_rate)
    .bind(p.first_wanted)
    .bind(p.girth_in)
    .bind(p.ground)
    .bind(&p.ground_unit)
    .bind(&p.harvest_from)
    .bind(&p.harvest_to)
    .bind(p.harvest_on)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes what was measured.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn set_measure(conn: &mut Conn, id: Uuid, m: &Measure) -> sqlx::Result<()> {
    sqlx::query(
        "update plant set height_ft = $2, stems_in = $3, stem_rule = $4, girth_in = $5, ground = $6, ground_unit = $7
         where id = $1",
    )
    .bind(id)
    .bind(m.height_ft)
    .bind(&m.stems_in)
    .bind(&m.stem_rule)
    .bind(m.girth_in)
    .bind(m.ground)
    .bind(&m.ground_unit)
    .execute(conn)
    .await?;
    Ok(())
}

/// Retires a plant with the reason, or takes it back.
///
/// # Errors
/// When the database does not answer.
pub async fn set_retired(
    conn: &mut Conn,
    id: Uuid,
    at: Option<DateTime<Utc>>,
    reason: &str,
) -> sqlx::Result<()> {
    sqlx::query("update plant set retired_at = $2, retired_reason = $3 where id = $1")
        .bind(id)
        .bind(at)
        .bind(reason)
        .execute(conn)
        .await?;
    Ok(())
}

/// The days of booked visits on which the plant is to be treated.
///
/// # Errors
/// When the database does not answer.
pub async fn booked_days(conn: &mut Conn, id: Uuid) -> sqlx::Result<Vec<NaiveDate>> {
    sqlx::query_scalar(
        "select v.on_date from planned_dose d join visit v on v.id = d.visit_id
         where d.plant_id = $1 and d.status = 'planned' and v.status = 'booked' order by v.on_date",
    )
    .bind(id)
    .fetch_all(conn)
    .await
}

/// The host plants in use, one spelling each. It hops from name to name along the index:
/// what it costs depends on the names, not on the plants.
///
/// # Errors
/// When the database does not answer.
pub async fn host_plants(conn: &mut Conn) -> sqlx::Result<Vec<String>> {
    sqlx::query_scalar(
        "with recursive hop as (
            (select lower(host_plant) as key, host_plant from plant order by lower(host_plant), id limit 1)
            union all
            select next.key, next.host_plant from hop cross join lateral (
                select lower(p.host_plant) as key, p.host_plant from plant p
                where lower(p.host_plant) > hop.key order by lower(p.host_plant), p.id limit 1) next)
         select host_plant from hop limit 300",
    )
    .fetch_all(conn)
    .await
}
