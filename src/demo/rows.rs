//! The world as rows of its tables.
use super::{
    days::{ago, at},
    people::{People, end_of_next_year},
    product::Shelf,
    world::{Call, Plant, World},
};
use crate::db::{
    Conn,
    demo::{Table, fill},
};
use chrono::NaiveDate;
use serde_json::{Value, json};
use uuid::Uuid;

/// Enters the counties in which the company is registered.
pub async fn counties(conn: &mut Conn, w: &mut World) -> anyhow::Result<()> {
    let (from, until) = (ago(w.today, 1400), end_of_next_year(w.today));
    let row = |id: Uuid, county: &str, number: &str| {
        json!({ "id": id, "state": "CA", "county": county, "number": number, "valid_from": from,
            "expires_on": until })
    };
    let rows = [
        row(w.chance.id(), "San Luis Obispo", "40-990-77"),
        row(w.chance.id(), "Santa Barbara", "42-990-31"),
    ];
    Ok(fill(conn, Table::CountyRegistration, &rows).await?)
}

/// Enters customers, parcels, sites and plants.
pub async fn land(conn: &mut Conn, w: &World, people: &People, shelf: &Shelf) -> anyhow::Result<()> {
    fill(conn, Table::Customer, &customers(w)).await?;
    fill(conn, Table::Parcel, &parcels(w, people)).await?;
    fill(conn, Table::Site, &sites(w)).await?;
    let windows =
        w.places.iter().enumerate().filter(|(number, _)| number % 8 == 3).map(
            |(_, place)| json!({ "site_id": place.id, "weekday": 2, "opens": "09:00", "closes": "15:30" }),
        );
    fill(conn, Table::SiteWindow, &windows.collect::<Vec<_>>()).await?;
    let plants: anyhow::Result<Vec<Value>> = w.plants.iter().map(|p| plant(w, p, shelf)).collect();
    Ok(fill(conn, Table::Plant, &plants?).await?)
}

fn customers(w: &World) -> Vec<Value> {
    let row = |(number, c): (usize, &super::world::Customer)| {
        let mail: String =
            c.name.to_lowercase().chars().map(|l| if l.is_ascii_alphanumeric() { l } else { '.' }).collect();
        json!({ "id": c.id, "name": c.name, "email": format!("{}@customer.test", mail.replace("..", ".")),
            "phone": format!("805-555-01{:02}", number % 100), "street": c.street, "city": c.town.name,
            "state": "CA", "zip": c.town.zip, "note": c.note, "created_at": at(c.since, 11, 0) })
    };
    w.customers.iter().enumerate().map(row).collect()
}

fn parcels(w: &World, people: &People) -> Vec<Value> {
    let owner = people.owner.id;
    let row = |l: &super::world::Land| {
        json!({ "id": l.id, "lot_sqft": l.lot, "landscaped_sqft": l.landscaped, "treated_bed_sqft": l.bed,
            "cap_area": l.choice.map(|(area, _)| area), "cap_area_chosen_by": l.choice.map(|_| owner),
            "cap_area_chosen_at": l.choice.map(|_| at(ago(w.today, 700), 15, 0)),
            "cap_area_reason": l.choice.map_or("", |(_, why)| why), "history_known_from": l.known_from,
            "history_answered_by": l.known_from.map(|_| owner) })
    };
    w.lands.iter().map(row).collect()
}

fn sites(w: &World) -> Vec<Value> {
    let row = |(number, p): (usize, &super::world::Place)| {
        let (notice, why, priority) = super::week::wishes(number);
        let area =
            if p.town.county == "Santa Barbara" || p.town.name == "Oak Lantern" { "South" } else { "North" };
        json!({ "id": p.id, "customer_id": w.customers[p.customer].id, "parcel_id": w.lands[p.land].id,
            "name": p.name, "street": p.street, "city": p.town.name, "state": "CA", "zip": p.town.zip,
            "county": p.town.county, "latitude": p.north, "longitude": p.west, "agricultural": false,
            "water_distance_ft": p.water_ft, "access_note": p.access, "service_area": area,
            "notice_hours": notice, "notice_reason": why, "priority": priority,
            "created_at": at(p.since, 11, 30) })
    };
    w.places.iter().enumerate().map(row).collect()
}

fn plant(w: &World, p: &Plant, shelf: &Shelf) -> anyhow::Result<Value> {
    let product = p.treatment.map(|(key, _)| shelf.get(key)).transpose()?.map(|held| held.product.id);
    let bloom = p.bloom.as_ref();
    Ok(json!({ "id": p.id, "site_id": w.places[p.place].id, "place": p.spot, "host_plant": p.host,
        "kind": p.kind, "count": p.count, "height_ft": p.height, "stems_in": p.stems,
        "stem_rule": (p.stems.len() > 1).then_some("sum"), "target_pest": p.pest, "eaten": p.eaten,
        "food_in_root_zone": p.food, "bloom_from": bloom.map(|b| &b.0), "bloom_to": bloom.map(|b| &b.1),
        "in_bloom": p.in_bloom, "product_id": product, "use_code": p.treatment.map(|(_, code)| code),
        "planned_rate": p.rate, "first_wanted": p.first_wanted,
        "retired_at": p.retired.map(|(day, _)| at(day, 12, 0)),
        "retired_reason": p.retired.map_or("", |(_, why)| why),
        "created_at": at(w.places[p.place].since, 12, 0) }))
}

/// A line of the audit.
pub fn deed(day: NaiveDate, person: Uuid, deed: &str, noun: &str, id: Uuid, detail: &Value) -> Value {
    json!({ "at": at(day, 16, 40), "person_id": person, "deed": deed, "noun": noun, "noun_id": id, "detail": detail })
}

/// Writes down who entered, signed, chose and answered what.
pub async fn audit(
    conn: &mut Conn,
    w: &World,
    people: &People,
    shelf: &Shelf,
    calls: &[(Call, Uuid)],
) -> anyhow::Result<()> {
    let owner = people.owner.id;
    let none = json!({});
    let mut rows = vec![];
    for person in &people.technicians {
        rows.push(deed(
            ago(w.today, 4 * 365),
            owner,
            "invited",
            "person",
            person.id,
            &json!({ "role": "technician" }),
        ));
    }
    for held in shelf.all() {
        rows.push(deed(ago(w.today, 4 * 365), people.office, "entered", "product", held.product.id, &none));
        for version in &held.versions {
            let signed =
                version.signed_on.map(|day| deed(day, owner, "signed", "label version", version.id, &none));
            rows.extend(signed);
        }
    }
    rows.extend(w.customers.iter().map(|c| deed(c.since, people.office, "entered", "customer", c.id, &none)));
    for land in &w.lands {
        let answered = land.known_from.map(|from| json!({ "known_from": from }));
        rows.extend(answered.map(|detail| {
            deed(ago(w.today, 690), owner, "earlier use answered", "parcel", land.id, &detail)
        }));
        let chosen = land.choice.map(|(area, why)| json!({ "area": area, "reason": why }));
        rows.extend(
            chosen
                .map(|detail| deed(ago(w.today, 700), owner, "cap area chosen", "parcel", land.id, &detail)),
        );
    }
    for p in w.plants.iter() {
        let retired = p
            .retired
            .map(|(day, why)| deed(day, people.office, "retired", "plant", p.id, &json!({ "reason": why })));
        rows.extend(retired);
    }
    for (call, record) in calls {
        let who = people.technicians[call.technician].id;
        rows.push(deed(call.on, who, "recorded", "record", *record, &none));
    }
    rows.sort_by_cached_key(|row| row["at"].as_str().unwrap_or_default().to_owned());
    Ok(fill(conn, Table::Audit, &rows).await?)
}
