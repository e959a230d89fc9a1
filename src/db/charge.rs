//! Services that were done, with what is needed to say what each is charged.
use super::{Conn, agreement::Agreement};
use crate::domain::{
    agreement::Terms,
    charge::{Service, Treated},
    plant::Measure,
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, HashMap};
use uuid::Uuid;

/// A record of a service.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct Head {
    pub id: Uuid,
    pub version: i32,
    pub site_id: Uuid,
    pub applied_on: NaiveDate,
    pub customer_name: String,
    pub customer_address: String,
    pub site_address: String,
}

/// A service and what is charged by it.
#[derive(Debug, Clone)]
pub struct Done {
    pub head: Head,
    pub service: Service,
}

#[derive(sqlx::FromRow)]
struct ItemRow {
    record_id: Uuid,
    plant_id: Option<Uuid>,
    plant_words: String,
    host_plant: String,
    item_measure: Option<Decimal>,
    measure_basis: String,
    item_count: i32,
    height_ft: Option<Decimal>,
    stems_in: Option<Vec<Decimal>>,
    stem_rule: Option<String>,
    girth_in: Option<Decimal>,
}

impl ItemRow {
    /// As it was measured that day where the record says so, else as the plant stands.
    fn measure(&self) -> Measure {
        let mut measure = Measure {
            height_ft: self.height_ft,
            stems_in: self.stems_in.clone().unwrap_or_default(),
            stem_rule: self.stem_rule.clone(),
            girth_in: self.girth_in,
            ground: None,
            ground_unit: None,
        };
        match self.measure_basis.as_str() {
            "height-ft" => measure.height_ft = self.item_measure.or(measure.height_ft),
            "diameter-in" => {
                if let Some(inches) = self.item_measure {
                    (measure.stems_in, measure.girth_in) = (vec![inches], None);
                }
            }
            _ => {}
        }
        measure
    }

    fn words(&self) -> String {
        let words = [self.host_plant.as_str(), self.plant_words.as_str()];
        let filled: Vec<&str> = words.into_iter().filter(|w| !w.is_empty()).collect();
        if filled.is_empty() { "other ground".to_owned() } else { filled.join(", ") }
    }
}

/// An earlier treatment.
#[derive(sqlx::FromRow)]
struct Earlier {
    site_id: Uuid,
    plant_id: Option<Uuid>,
    applied_on: NaiveDate,
    record_id: Uuid,
}

/// Our own services of a period that count, by day and customer.
///
/// # Errors
/// When the database does not answer.
pub async fn of_period(conn: &mut Conn, from: NaiveDate, until: NaiveDate) -> sqlx::Result<Vec<Done>> {
    let heads: Vec<Head> = sqlx::query_as(
        "select id, version, site_id, applied_on, customer_name, customer_address, site_address
         from application_now where origin = 'own' and applied_on between $1 and $2
         order by applied_on, customer_name, id",
    )
    .bind(from)
    .bind(until)
    .fetch_all(&mut *conn)
    .await?;
    whole(conn, heads).await
}

/// One service, if it counts and is our own.
///
/// # Errors
/// When the database does not answer.
pub async fn of_record(conn: &mut Conn, id: Uuid) -> sqlx::Result<Option<Done>> {
    let heads: Vec<Head> = sqlx::query_as(
        "select id, version, site_id, applied_on, customer_name, customer_address, site_address
         from application_now where origin = 'own' and id = $1",
    )
    .bind(id)
    .fetch_all(&mut *conn)
    .await?;
    Ok(whole(conn, heads).await?.pop())
}

async fn whole(conn: &mut Conn, heads: Vec<Head>) -> sqlx::Result<Vec<Done>> {
    let ids: Vec<Uuid> = heads.iter().map(|h| h.id).collect();
    let sites: Vec<Uuid> = heads.iter().map(|h| h.site_id).collect();
    let mut items = items(conn, &ids).await?;
    let agreements: Vec<Agreement> = sqlx::query_as(
        "select id, site_id, plant_id, basis, price, starts_on, ends_on, ended_reason, note
         from agreement where site_id = any($1)",
    )
    .bind(&sites)
    .fetch_all(&mut *conn)
    .await?;
    let yearly: Vec<Uuid> =
        agreements.iter().filter(|a| a.basis.code() == "year").map(|a| a.site_id).collect();
    let earlier: Vec<Earlier> = sqlx::query_as(
        "select r.site_id, i.plant_id, r.applied_on, r.id as record_id
         from application_now r join application_item i on i.record_id = r.id and i.version = r.version
         where r.origin = 'own' and r.site_id = any($1)",
    )
    .bind(&yearly)
    .fetch_all(conn)
    .await?;
    let done = heads.into_iter().map(|head| {
        let own = items.remove(&head.id).unwrap_or_default();
        Done { service: service(&head, own, &agreements, &earlier), head }
    });
    Ok(done.collect())
}

async fn items(conn: &mut Conn, records: &[Uuid]) -> sqlx::Result<HashMap<Uuid, Vec<ItemRow>>> {
    let rows: Vec<ItemRow> = sqlx::query_as(
        "select i.record_id, i.plant_id, i.plant_words, i.host_plant, i.measure as item_measure, i.measure_basis,
            i.count as item_count, p.height_ft, p.stems_in, p.stem_rule, p.girth_in
         from application_now r join application_item i on i.record_id = r.id and i.version = r.version
         left join plant p on p.id = i.plant_id
         where r.id = any($1) order by i.record_id, i.position",
    )
    .bind(records)
    .fetch_all(conn)
    .await?;
    let mut by_record: HashMap<Uuid, Vec<ItemRow>> = HashMap::new();
    for row in rows {
        by_record.entry(row.record_id).or_default().push(row);
    }
    Ok(by_record)
}

fn service(head: &Head, items: Vec<ItemRow>, agreements: &[Agreement], earlier: &[Earlier]) -> Service {
    let held = |plant: Option<Uuid>| -> Option<Terms> {
        let own = agreements.iter().filter(|a| a.site_id == head.site_id && a.plant_id == plant);
        own.map(Agreement::terms).find(|terms| terms.holds_on(head.applied_on))
    };
    // Two services of one day: the one whose record came first counts as the earlier one.
    let before =
        |e: &&Earlier| e.site_id == head.site_id && (e.applied_on, e.record_id) < (head.applied_on, head.id);
    let days = |plant: Option<Uuid>| -> Vec<NaiveDate> {
        let own = earlier.iter().filter(before).filter(|e| plant.is_none() || e.plant_id == plant);
        own.map(|e| e.applied_on).collect()
    };
    // A plant that got two products is one plant.
    let mut plants: BTreeMap<(usize, Option<Uuid>), ItemRow> = BTreeMap::new();
    let mut order: Vec<Uuid> = vec![];
    for (position, item) in items.into_iter().enumerate() {
        let place = match item.plant_id {
            None => position,
            Some(id) => match order.iter().position(|own| *own == id) {
                Some(_) => continue,
                None => {
                    order.push(id);
                    position
                }
            },
        };
        plants.insert((place, item.plant_id), item);
    }
    let treated = plants.into_iter().map(|((_, plant), item)| Treated {
        words: item.words(),
        count: u32::try_from(item.item_count).unwrap_or_default(),
        measure: plant.map(|_| item.measure()),
        own: plant.and_then(|id| held(Some(id))),
        earlier: plant.map(|id| days(Some(id))).unwrap_or_default(),
    });
    Service { on: head.applied_on, site: held(None), treated: treated.collect(), earlier: days(None) }
}
