//! What was applied in a place and time, with all that reports ask of it.
use crate::db::{
    Conn,
    report::{fields, narrowed, present},
};
use crate::domain::filing::{
    Month,
    draft::{Work, weighed},
    owed::Worked,
};
use crate::domain::quantity::from_decimal;
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

#[derive(sqlx::FromRow)]
struct Row {
    record_id: Uuid,
    applied_on: NaiveDate,
    customer_name: String,
    site_state: String,
    site_county: String,
    site_address: String,
    area_treated_sqft: Option<Decimal>,
    applicator_name: String,
    applicator_certification: String,
    supervisor_name: String,
    supervisor_certification: String,
    host_plant: String,
    plant_words: String,
    product_name: String,
    registration_number: String,
    amount: Decimal,
    unit: String,
    restricted_use: bool,
    piece_mass: Option<Decimal>,
    piece_unit: Option<String>,
    ingredients: String,
    present: Vec<bool>,
}

impl From<Row> for Work {
    fn from(row: Row) -> Self {
        let supervised = row.applicator_certification.is_empty();
        let (certified, certification) = if supervised {
            (row.supervisor_name, row.supervisor_certification)
        } else {
            (row.applicator_name, row.applicator_certification)
        };
        let piece = row.piece_mass.zip(row.piece_unit.as_deref());
        Self {
            record: row.record_id.to_string(),
            on: row.applied_on,
            customer: row.customer_name,
            state: row.site_state,
            county: row.site_county,
            site_address: row.site_address,
            treated: if row.host_plant.is_empty() { row.plant_words } else { row.host_plant },
            area_sqft: row.area_treated_sqft.map(from_decimal),
            certification,
            certified,
            product: row.product_name,
            registration_number: row.registration_number,
            amount: weighed(row.amount, &row.unit, piece),
            stated: format!("{} {}", row.amount.normalize(), row.unit),
            ingredients: row.ingredients,
            restricted_use: row.restricted_use,
            present: fields(&row.present).into_iter().collect(),
        }
    }
}

/// Every product of every record of the company's own work there and then, newest versions only, in the order of
/// days. An empty county is the whole state.
///
/// # Errors
/// When the database does not answer.
pub async fn work(
    conn: &mut Conn,
    state: &str,
    county: &str,
    (from, until): (NaiveDate, NaiveDate),
) -> sqlx::Result<Vec<Work>> {
    let rows: Vec<Row> = sqlx::query_as(concat!(
        "select r.id as record_id, r.applied_on, r.customer_name, r.site_state::text as site_state, r.site_county,
            r.site_address, r.area_treated_sqft, r.applicator_name, r.applicator_certification, r.supervisor_name,
            r.supervisor_certification, i.host_plant, i.plant_words, i.product_name, i.registration_number, i.amount,
            i.unit, v.restricted_use, v.piece_mass, v.piece_unit,
            coalesce((select string_agg(g.name || ' ' || trim_scale(g.strength)::text || ' ' || g.strength_unit, ', '
                order by g.position) from label_ingredient g where g.label_version_id = v.id), '') as ingredients, ",
        present!(),
        " as present",
        narrowed!(),
        " order by r.applied_on, r.id, i.position"
    ))
    .bind(from)
    .bind(until)
    .bind(state)
    .bind(county)
    .fetch_all(conn)
    .await?;
    Ok(rows.into_iter().map(Work::from).collect())
}

/// In which months between these days the company worked in which county. The places are found by skipping along
/// the index of places, and each month is one probe that ends at its first record: it costs by counties and months,
/// not by records. Two statements, so that the planner knows how few probes there are and compiles nothing.
///
/// # Errors
/// When the database does not answer.
pub async fn worked(conn: &mut Conn, from: NaiveDate, until: NaiveDate) -> sqlx::Result<Vec<Worked>> {
    let places: Vec<(String, String)> = sqlx::query_as(
        "with recursive place as (
            (select site_state, site_county from application_record order by site_state, site_county limit 1)
            union all
            select n.site_state, n.site_county from place p cross join lateral (
                select r.site_state, r.site_county from application_record r
                where (r.site_state, r.site_county) > (p.site_state, p.site_county)
                order by r.site_state, r.site_county limit 1) n)
         select site_state::text, site_county from place order by 1, 2",
    )
    .fetch_all(&mut *conn)
    .await?;
    let months: Vec<NaiveDate> = std::iter::successors(Some(Month::of(from)), |month| Some(month.next()))
        .map(Month::first_day)
        .take_while(|first| *first <= until)
        .collect();
    let asked =
        places.iter().flat_map(|(state, county)| months.iter().map(move |month| (state, county, *month)));
    let (mut states, mut counties, mut firsts) = (vec![], vec![], vec![]);
    for (state, county, month) in asked {
        states.push(state.clone());
        counties.push(county.clone());
        firsts.push(month);
    }
    let rows: Vec<(String, String, NaiveDate)> = sqlx::query_as(
        "select p.state, p.county, p.month
         from unnest($1::text[], $2::text[], $3::date[]) as p(state, county, month)
         cross join lateral (select 1 from application_record r
            where r.site_state = p.state::char(2) and r.site_county = p.county and r.applied_on >= p.month
                and r.applied_on < (p.month + interval '1 month')::date and r.origin = 'own' and not r.withdrawn
                and not (select max(n.version) from application_record n where n.id = r.id) > r.version
            limit 1) as one
         order by 1, 2, 3",
    )
    .bind(states)
    .bind(counties)
    .bind(firsts)
    .fetch_all(conn)
    .await?;
    let made =
        rows.into_iter().map(|(state, county, month)| Worked { state, county, month: Month::of(month) });
    Ok(made.collect())
}

/// Who held a certification of the state on a day of this time, with its number, by name.
///
/// # Errors
/// When the database does not answer.
pub async fn certified(
    conn: &mut Conn,
    state: &str,
    (from, until): (NaiveDate, NaiveDate),
) -> sqlx::Result<Vec<(String, String)>> {
    sqlx::query_as(
        "select distinct p.name, c.number from certification c join person p on p.id = c.person_id
         where c.state = $1 and c.valid_from <= $3 and c.expires_on >= $2 order by p.name, c.number",
    )
    .bind(state)
    .bind(from)
    .bind(until)
    .fetch_all(conn)
    .await
}
