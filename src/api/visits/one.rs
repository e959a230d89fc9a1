//! One visit as the phone holds it: exact figures, so that another measure gives another dose without signal.
use crate::texts::Language;
use crate::{
    api::{
        problem::Result,
        shapes::{AskedField, Cap, Dose, Label, Neighbour, Site, Visit},
    },
    db::{
        Conn, fact, label, neighbour, product, record, site,
        sync::{self, Touched},
        visit::{self, Dose as Row, Visit as Found},
    },
    domain::{
        book::Book,
        cap::{CapStanding, EarlierUse},
        dose::product_for,
        facts::Facts,
        label::Product,
        permission::Applicator,
        quantity::{Amount, AmountUnit, Exact, fixed_down, floor_at, from_decimal, to_decimal},
        record::{Field, rules_for},
    },
    web::{pour, session::Actor},
};
use num_bigint::BigInt;
use num_traits::Zero;
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Everything about it.
pub async fn whole(conn: &mut Conn, actor: &Actor, touched: &Touched, of: &Found) -> Result<Visit> {
    let rows = visit::doses(conn, of.id).await?;
    let labels: Vec<Uuid> = rows.iter().map(|d| d.label_version_id).collect();
    let restricted = !record::restricted_among(conn, &labels).await?.is_empty();
    let facts = fact::of_parcel(conn, of.parcel_id, actor.today, Applicator::default()).await?;
    let own = record::person_on(conn, of.technician_id, &of.state, of.on_date).await?;
    let mut doses = Vec::with_capacity(rows.len());
    for row in rows {
        let left = left_for(&facts, of, &row)?;
        doses.push(dose(row, left));
    }
    Ok(Visit {
        id: of.id,
        on: of.on_date,
        status: of.status.clone(),
        stop_number: touched.stop_number,
        arrives_at: touched.arrives_at,
        leaves_at: touched.leaves_at,
        note: of.note.clone(),
        site: place(conn, of).await?,
        caps: caps(&facts)?,
        asked: asked(&of.state, restricted),
        supervisor: of.supervisor_id,
        supervisor_name: of.supervisor_name.clone().unwrap_or_default(),
        certified: own.is_some_and(|named| !named.number.is_empty()),
        record: record::of_visit(conn, of.id).await?,
        doses,
    })
}

async fn place(conn: &mut Conn, of: &Found) -> Result<Site> {
    let more = sync::place(conn, of.site_id).await?;
    let emergency_place = if more.emergency_place.is_empty() {
        sync::help(conn).await?.emergency_place
    } else {
        more.emergency_place
    };
    Ok(Site {
        id: of.site_id,
        name: of.site_name.clone(),
        street: of.street.clone(),
        city: of.city.clone(),
        state: of.state.clone(),
        zip: of.zip.clone(),
        county: of.county.clone(),
        latitude: more.latitude,
        longitude: more.longitude,
        access_note: of.access_note.clone(),
        hours: site::windows(conn, of.site_id).await?.iter().map(site::Window::words).collect(),
        customer_name: of.customer_name.clone(),
        customer_phone: of.customer_phone.clone(),
        water_distance_ft: of.water_distance_ft,
        notice_hours: more.notice_hours,
        notice_reason: more.notice_reason,
        neighbours: neighbour::of_site(conn, of.site_id).await?.into_iter().map(told).collect(),
        emergency_place,
    })
}

fn told(n: neighbour::Neighbour) -> Neighbour {
    Neighbour { id: n.id, name: n.name, address: n.address, phone: n.phone, note: n.note }
}

fn dose(d: Row, left: Option<Decimal>) -> Dose {
    let times = from_decimal(d.measure) * BigInt::from(d.count) / from_decimal(d.rate_per);
    let band = d.water_low.zip(d.water_high).zip(d.water_unit.as_deref());
    let water = band.and_then(|((low, high), unit)| pour::water(Language::English, low, high, unit, &times));
    Dose {
        plant: d.plant_id,
        label_use: d.label_use_id,
        label_version: d.label_version_id,
        place: d.place,
        host_plant: d.host_plant,
        kind: d.plant_kind,
        target_pest: d.target_pest,
        plant_note: d.plant_note,
        product: d.product_name,
        registration_number: d.registration_number,
        use_name: d.use_name,
        method: d.method,
        measure_basis: d.measure_basis,
        measure: d.measure,
        count: d.count,
        rate: d.rate,
        rate_per: d.rate_per,
        rate_low: d.rate_low,
        rate_high: d.rate_high,
        amount: d.amount,
        pour: pour::amount(d.amount, &d.unit),
        unit: d.unit,
        water_low: d.water_low,
        water_high: d.water_high,
        water_unit: d.water_unit,
        water: water.unwrap_or_default(),
        status: d.status,
        left,
    }
}

fn book(facts: &Facts) -> Result<Book<'_>> {
    Ok(Book::new(facts).map_err(|errors| anyhow::anyhow!("facts do not fit together: {errors:?}"))?)
}

/// The most of the dose's product that every cap still allows today, with this dose's own reservation given
/// back; rounded down to two decimals of its unit.
fn left_for(facts: &Facts, of: &Found, dose: &Row) -> Result<Option<Decimal>> {
    let Ok(unit) = AmountUnit::from_code(&dose.unit) else { return Ok(None) };
    let mut facts = facts.clone();
    let (plant, item) = (dose.plant_id.to_string(), dose.label_use_id.to_string());
    facts.reservations.retain(|r| {
        !(r.on == of.on_date && r.plant.as_deref() == Some(&plant) && r.use_id.as_deref() == Some(&item))
    });
    let holds = |p: &&Product| p.uses.iter().any(|u| u.id == item);
    let Some(product) = facts.products.iter().find(holds) else { return Ok(None) };
    let mut least: Option<Exact> = None;
    for standing in book(&facts)?.standings() {
        let Some(free) = in_product(product, &standing, unit) else { continue };
        least = Some(least.map_or(free.clone(), |least| least.min(free)));
    }
    Ok(least.and_then(|value| to_decimal(&floor_at(&value, 2))))
}

/// What the cap leaves as an amount of this product; none: the cap does not bind it or has no area.
fn in_product(product: &Product, standing: &CapStanding, unit: AmountUnit) -> Option<Exact> {
    let free = (standing.remaining.as_ref()? - &standing.reserved).max(Exact::zero());
    if let Some(counted) = &standing.product {
        let same = counted.id == product.id;
        return same.then(|| Amount::new(free, counted.unit).in_unit(unit).ok()).flatten().map(|a| a.value);
    }
    let held = product.ingredients.iter().find(|i| i.name == standing.ingredient)?;
    Some(product_for(product, held, &free, unit).ok()?.value)
}

/// Every cap on the land.
fn caps(facts: &Facts) -> Result<Vec<Cap>> {
    let number = |value: &Exact| fixed_down(value, 2).parse::<Decimal>().unwrap_or_default();
    let one = |standing: CapStanding| {
        let left = standing.remaining.as_ref().map(|r| (r - &standing.reserved).max(Exact::zero()));
        let unit = standing.unit();
        let words = match &left {
            None => format!("{}: the cap cannot be checked, no area is known.", standing.ingredient),
            Some(free) => format!("{}: {} {unit} left.", standing.ingredient, fixed_down(free, 2)),
        };
        Cap {
            used: number(&standing.used),
            reserved: number(&standing.reserved),
            left: left.as_ref().map(number),
            unit: unit.to_owned(),
            unconfirmed: standing.earlier_use == EarlierUse::Unconfirmed,
            ingredient: standing.ingredient,
            words,
        }
    };
    Ok(book(facts)?.standings().into_iter().map(one).collect())
}

/// Fields of the record that a rule of the state, or a federal one, asks for.
fn asked(state: &str, restricted: bool) -> Vec<AskedField> {
    let fields = [
        (Field::StartTime, "started_at"),
        (Field::EndTime, "finished_at"),
        (Field::WindDirection, "wind_direction"),
        (Field::WindSpeed, "wind_mph"),
        (Field::AirTemperature, "temperature_f"),
        (Field::Mixture, "water"),
    ];
    let rules = rules_for(state, restricted);
    let told = |(field, name): (Field, &str)| {
        let rule = rules.iter().find(|rule| rule.asks(field))?;
        Some(AskedField {
            field: name.to_owned(),
            words: format!("{}, asked by {} ({})", field.words(), rule.state, rule.source),
        })
    };
    fields.into_iter().filter_map(told).collect()
}

/// What each of these label versions says.
pub async fn labels(conn: &mut Conn, versions: BTreeSet<Uuid>) -> Result<Vec<Label>> {
    let mut said = vec![];
    for version in versions {
        let Some(found) = label::load(conn, version).await? else { continue };
        let Some(product) = product::find(conn, found.version.product_id).await? else { continue };
        let v = found.version;
        said.push(Label {
            id: v.id,
            product: product.name,
            registration_number: product.registration_number,
            number: v.number,
            signal_word: v.signal_word,
            clothing: v.clothing,
            precautions: v.precautions,
            first_aid: v.first_aid,
            restricted: v.restricted_use,
            signed: v.signed_at.is_some(),
        });
    }
    Ok(said)
}
