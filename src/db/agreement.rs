//! Agreements on prices, and what the next treatment of a site costs by them.
use super::Conn;
use crate::domain::{
    agreement::{PriceBasis, Quote, TOGETHER_DAYS, Terms, Work, quote, renewal_day},
    calendar::add_days,
    plant::Measure,
    quantity::from_decimal,
};
use chrono::{DateTime, NaiveDate, Utc};
use rust_decimal::Decimal;
use std::collections::HashMap;
use uuid::Uuid;

/// An agreement.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, sqlx::FromRow)]
pub struct Agreement {
    pub id: Uuid,
    pub site_id: Uuid,
    /// Nothing: every plant of the site without an agreement of its own.
    pub plant_id: Option<Uuid>,
    #[sqlx(try_from = "String")]
    pub basis: PriceBasis,
    /// US dollars for one of the basis.
    pub price: Decimal,
    pub starts_on: NaiveDate,
    /// Last day; nothing: from year to year.
    pub ends_on: Option<NaiveDate>,
    pub ended_reason: String,
    pub note: String,
}

impl Agreement {
    /// As the rules see it.
    #[must_use]
    pub fn terms(&self) -> Terms {
        let price = from_decimal(self.price);
        Terms { basis: self.basis, price, starts_on: self.starts_on, ends_on: self.ends_on }
    }
}

/// A line of a site's list.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Line {
    #[sqlx(flatten)]
    pub agreement: Agreement,
    /// The plant in words; nothing: the whole site.
    pub plant: Option<String>,
    pub entered_by: String,
}

const COLUMNS: &str =
    "a.id, a.site_id, a.plant_id, a.basis, a.price, a.starts_on, a.ends_on, a.ended_reason, a.note";

fn select(rest: &str) -> sqlx::AssertSqlSafe<String> {
    sqlx::AssertSqlSafe(format!("select {COLUMNS} from agreement a where {rest}"))
}

/// The agreements of a site: those of the whole site first, of each the newest first.
///
/// # Errors
/// When the database does not answer.
pub async fn of_site(conn: &mut Conn, site: Uuid) -> sqlx::Result<Vec<Line>> {
    let text = format!(
        "select {COLUMNS}, p.host_plant || ', ' || p.place as plant, e.name as entered_by
         from agreement a left join plant p on p.id = a.plant_id join person e on e.id = a.entered_by
         where a.site_id = $1
         order by a.plant_id is not null, lower(p.host_plant), a.plant_id, a.starts_on desc, a.id"
    );
    sqlx::query_as(sqlx::AssertSqlSafe(text)).bind(site).fetch_all(conn).await
}

/// One agreement.
///
/// # Errors
/// When the database does not answer.
pub async fn find(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Agreement>> {
    sqlx::query_as(select("a.id = $1")).bind(id).fetch_optional(conn).await
}

/// One agreement, locked until the transaction ends.
///
/// # Errors
/// When the database does not answer.
pub async fn lock(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Agreement>> {
    sqlx::query_as(select("a.id = $1 for update")).bind(id).fetch_optional(conn).await
}

/// Those for the same site or plant that hold on some day from `a.starts_on` to its end, without itself.
///
/// # Errors
/// When the database does not answer.
pub async fn overlapping(conn: &mut Conn, a: &Agreement) -> sqlx::Result<Vec<Agreement>> {
    sqlx::query_as(select(
        "a.site_id = $1 and a.plant_id is not distinct from $2 and a.id <> $3
         and (a.ends_on is null or a.ends_on >= $4) and ($5::date is null or a.starts_on <= $5)
         order by a.starts_on",
    ))
    .bind(a.site_id)
    .bind(a.plant_id)
    .bind(a.id)
    .bind(a.starts_on)
    .bind(a.ends_on)
    .fetch_all(conn)
    .await
}

/// Enters one.
///
/// # Errors
/// `agreement_pkey`: the same form twice; `agreement_one_open`: another one holds.
pub async fn insert(conn: &mut Conn, a: &Agreement, by: Uuid, at: DateTime<Utc>) -> sqlx::Result<()> {
    sqlx::query(
        "insert into agreement (id, site_id, plant_id, basis, price, starts_on, ends_on, ended_reason, note,
            entered_by, entered_at) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    )
    .bind(a.id)
    .bind(a.site_id)
    .bind(a.plant_id)
    .bind(a.basis.code())
    .bind(a.price)
    .bind(a.starts_on)
    .bind(a.ends_on)
    .bind(&a.ended_reason)
    .bind(&a.note)
    .bind(by)
    .bind(at)
    .execute(conn)
    .await?;
    Ok(())
}

/// Changes everything but site and plant.
///
/// # Errors
/// When a rule of the table breaks.
pub async fn update(conn: &mut Conn, a: &Agreement) -> sqlx::Result<()> {
    sqlx::query(
        "update agreement set basis = $2, price = $3, starts_on = $4, ends_on = $5, ended_reason = $6, note = $7
         where id = $1",
    )
    .bind(a.id)
    .bind(a.basis.code())
    .bind(a.price)
    .bind(a.starts_on)
    .bind(a.ends_on)
    .bind(&a.ended_reason)
    .bind(&a.note)
    .execute(conn)
    .await?;
    Ok(())
}

/// A plant of the next treatment.
#[derive(Debug, Clone, PartialEq, Eq, sqlx::FromRow)]
pub struct NextPlant {
    pub plant_id: Uuid,
    pub site_id: Uuid,
    pub host_plant: String,
    pub place: String,
    pub count: i32,
    pub height_ft: Option<Decimal>,
    pub stems_in: Vec<Decimal>,
    pub stem_rule: Option<String>,
    pub girth_in: Option<Decimal>,
    /// Where it stands in the list of what is due: its due day, or the day wanted where none is allowed.
    pub list_on: NaiveDate,
    /// Nothing: held back with no day in sight.
    pub due_on: Option<NaiveDate>,
    pub protected_until: Option<NaiveDate>,
}

impl NextPlant {
    /// `Camellia, Patio`
    #[must_use]
    pub fn words(&self) -> String {
        format!("{}, {}", self.host_plant, self.place)
    }

    /// What was measured.
    #[must_use]
    pub fn measure(&self) -> Measure {
        Measure {
            height_ft: self.height_ft,
            stems_in: self.stems_in.clone(),
            stem_rule: self.stem_rule.clone(),
            girth_in: self.girth_in,
            ground: None,
            ground_unit: None,
        }
    }
}

/// The next treatment of a site: the plants that come due together, and what it costs.
#[derive(Debug, Clone)]
pub struct Next {
    /// The renewal date: the first day on which one of its plants is due.
    pub renewal_on: NaiveDate,
    /// When the first of its plants loses its protection.
    pub protected_until: Option<NaiveDate>,
    pub plants: Vec<NextPlant>,
    /// In the order of the plants.
    pub quote: Quote,
    /// The site's own agreement in force on that day, or today if that day is past.
    pub agreement: Option<Agreement>,
}

/// The next treatment of one site; nothing where none of its plants is in the list of what is due.
///
/// # Errors
/// When the database does not answer.
pub async fn next(conn: &mut Conn, site: Uuid, today: NaiveDate) -> sqlx::Result<Option<Next>> {
    Ok(next_of(conn, &[site], today).await?.remove(&site))
}

/// The next treatment of each of these sites, by site.
///
/// # Errors
/// When the database does not answer.
pub async fn next_of(conn: &mut Conn, sites: &[Uuid], today: NaiveDate) -> sqlx::Result<HashMap<Uuid, Next>> {
    let plants: Vec<NextPlant> = sqlx::query_as(
        "select p.id as plant_id, p.site_id, p.host_plant, p.place, p.count, p.height_ft, p.stems_in, p.stem_rule,
            p.girth_in, d.list_on, d.due_on, d.protected_until
         from due d join plant p on p.id = d.plant_id
         where d.site_id = any($1) and p.retired_at is null order by d.list_on, p.id",
    )
    .bind(sites)
    .fetch_all(&mut *conn)
    .await?;
    let agreements = in_force(conn, sites).await?;
    let mut by_site: HashMap<Uuid, Vec<NextPlant>> = HashMap::new();
    for plant in plants {
        by_site.entry(plant.site_id).or_default().push(plant);
    }
    let priced = by_site.into_iter().filter_map(|(site, plants)| {
        Some((site, together(plants, agreements.get(&site).map_or(&[], Vec::as_slice), today)?))
    });
    Ok(priced.collect())
}

/// Agreements of these sites, by site.
async fn in_force(conn: &mut Conn, sites: &[Uuid]) -> sqlx::Result<HashMap<Uuid, Vec<Agreement>>> {
    let all: Vec<Agreement> =
        sqlx::query_as(select("a.site_id = any($1)")).bind(sites).fetch_all(conn).await?;
    let mut by_site: HashMap<Uuid, Vec<Agreement>> = HashMap::new();
    for one in all {
        by_site.entry(one.site_id).or_default().push(one);
    }
    Ok(by_site)
}

/// Of plants in the order of their days, those that are treated with the first one.
fn together(mut plants: Vec<NextPlant>, agreements: &[Agreement], today: NaiveDate) -> Option<Next> {
    let renewal_on = renewal_day(plants.iter().map(|p| p.list_on))?;
    let on = renewal_on.max(today);
    let last = add_days(on, TOGETHER_DAYS);
    plants.retain(|p| p.list_on <= last);
    let protected_until = plants.iter().filter_map(|p| p.protected_until).min();
    let (quote, agreement) = price(&plants, agreements, on);
    Some(Next { renewal_on, protected_until, plants, quote, agreement })
}

/// What treating these plants on that day costs, and the site's own agreement that day.
#[must_use]
pub fn price(plants: &[NextPlant], agreements: &[Agreement], on: NaiveDate) -> (Quote, Option<Agreement>) {
    let held = |plant: Option<Uuid>| {
        agreements.iter().find(|a| a.plant_id == plant && a.terms().holds_on(on)).cloned()
    };
    let site = held(None);
    let owned: Vec<(Measure, Option<Terms>)> =
        plants.iter().map(|p| (p.measure(), held(Some(p.plant_id)).map(|a| a.terms()))).collect();
    let work: Vec<Work<'_>> = plants
        .iter()
        .zip(&owned)
        .map(|(plant, (measure, own))| Work {
            count: u32::try_from(plant.count).unwrap_or_default(),
            measure,
            own: own.as_ref(),
        })
        .collect();
    (quote(site.as_ref().map(Agreement::terms).as_ref(), &work), site)
}
