//! Choosing a way out for a plant that a cap or a rule holds back, trying another treatment, and taking
//! either back.
use super::{Doer, Error, Result, due, plant as plants, visit::decimal};
use crate::{
    db::{
        Conn, fact,
        plant::{self, Plant},
        way_out::{self, Choice, Meant},
    },
    domain::{
        cover::{covers_host, covers_pest},
        facts::Facts,
        label::MeasureBasis,
        quantity::{Exact, from_decimal, plain},
        way_out::{Kind, Means, WayOut, ways_out},
    },
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde_json::json;
use uuid::Uuid;

/// A way out with the label entry's own words.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Names it while nothing changes: what it does, with which use, at which rate, for how many.
    pub key: String,
    pub way: WayOut,
    pub product: Uuid,
    pub use_code: String,
    /// What the label states its rates for.
    pub rate_per: Decimal,
    pub use_name: String,
    /// The host plants that the label's entry names.
    pub hosts: String,
}

/// What may be offered to this plant: uses of signed labels whose entry names it and its pest.
///
/// # Errors
/// When the facts do not fit together.
pub fn offers(facts: &Facts, known: &fact::Offerable, plant: &Plant) -> Result<Vec<Offer>> {
    let suits = |u: &&fact::OfferedUse| {
        covers_host(&u.hosts, &plant.host_plant, plant.kind) && covers_pest(&u.pests, &plant.target_pest)
    };
    let offered: Vec<String> = known.uses.iter().filter(suits).map(|u| u.id.clone()).collect();
    let measures = measures(plant);
    let means = Means {
        products: &known.products,
        measures: &measures,
        prices: &known.prices,
        offered: Some(&offered),
    };
    let ways = ways_out(facts, &plant.id.to_string(), &means).map_err(|errors| {
        let words: Vec<String> = errors.iter().map(ToString::to_string).collect();
        anyhow::anyhow!("facts do not fit together: {}", words.join("; "))
    })?;
    Ok(ways.into_iter().filter_map(|way| offer(way, known)).collect())
}

fn offer(way: WayOut, known: &fact::Offerable) -> Option<Offer> {
    let item = known.uses.iter().find(|u| u.id == way.use_id)?;
    let counts: Vec<String> = way.parts.iter().map(|part| part.count.to_string()).collect();
    let rate = plain(&way.parts.first()?.dose.rate);
    Some(Offer {
        key: format!("{}:{}:{rate}:{}", way.kind.code(), way.use_id, counts.join("+")),
        product: item.product,
        use_code: item.code.clone(),
        rate_per: item.rate_per,
        use_name: item.name.clone(),
        hosts: item.hosts.clone(),
        way,
    })
}

/// Every measure that is kept of the plant.
#[must_use]
pub fn measures(plant: &Plant) -> Vec<(MeasureBasis, Exact)> {
    let measure = plant.measure();
    let measured = [
        MeasureBasis::HeightFt,
        MeasureBasis::DiameterIn,
        MeasureBasis::CircumferenceIn,
        MeasureBasis::ThousandSquareFeet,
        MeasureBasis::Acre,
    ];
    measured.into_iter().filter_map(|basis| Some((basis, measure.for_basis(basis)?))).collect()
}

/// Chooses the way out of that key for a plant; says what happened.
///
/// # Errors
/// When it is no longer offered, or the plant is booked.
pub async fn choose(doer: &Doer, id: Uuid, key: &str) -> Result<String> {
    let mut tx = doer.pool.begin().await?;
    let was = plants::hold(&mut tx, id).await?;
    not_booked(&mut tx, id).await?;
    let today = doer.today(&mut tx).await?;
    let parcel = crate::db::site::find(&mut tx, was.site_id).await?.ok_or(Error::NotFound)?.parcel_id;
    let applicator = fact::company_as_applicator(&mut tx, parcel, today).await?;
    let facts = fact::of_parcel(&mut tx, parcel, today, applicator).await?;
    let known = fact::offerable(&mut tx, today).await?;
    let found = offers(&facts, &known, &was)?.into_iter().find(|one| one.key == key);
    let found = found.ok_or_else(|| {
        Error::refused("This way out is no longer offered: the land, the plant or a label changed meanwhile.")
    })?;
    let part = &found.way.parts[0];
    let mut now = Plant {
        product_id: Some(found.product),
        use_code: Some(found.use_code.clone()),
        planned_rate: Some(decimal(&(&part.dose.rate * from_decimal(found.rate_per)))?),
        ..was.clone()
    };
    let mut rest = None;
    if let [first, second] = found.way.parts.as_slice()
        && first.count + second.count == u32::try_from(was.count).unwrap_or(0)
    {
        now.count = i32::try_from(first.count).unwrap_or(was.count);
        rest = Some(split(doer, &mut tx, &was, &now, second.allowed_on, today).await?);
    }
    write(doer, &mut tx, (&was, &now), (found.way.kind.code(), today), rest).await?;
    tx.commit().await?;
    Ok(words(found.way.kind, rest.is_some()))
}

fn words(kind: Kind, split: bool) -> String {
    match (kind, split) {
        (Kind::LowerRate, _) => "The lower rate is set.",
        (Kind::OtherMethod | Kind::OtherProduct, _) => "The other treatment is set.",
        (Kind::Split, true) => "The record is split in two; the second part waits for its own day.",
        (Kind::Split, false) => "Half of the rate is set; the rest follows when the plant is due again.",
    }
    .to_owned()
}

/// The part that waits becomes a record of its own, with the past of the whole.
async fn split(
    doer: &Doer,
    tx: &mut Conn,
    was: &Plant,
    now: &Plant,
    wanted: NaiveDate,
    today: NaiveDate,
) -> Result<Uuid> {
    let part = Plant {
        id: Uuid::now_v7(),
        place: format!("{}, second part", was.place),
        count: was.count - now.count,
        first_wanted: Some(wanted),
        ..now.clone()
    };
    plant::insert(tx, &part, doer.clock.now()).await?;
    way_out::split(tx, part.id, was.id, today).await?;
    let detail = json!({ "site": part.site_id, "measure": part.measure(), "split from": was.id });
    doer.note(tx, "entered", "plant", part.id, detail).await?;
    Ok(part.id)
}

/// Gives a plant another use and rate, as tried out before.
///
/// # Errors
/// When the label does not allow it (fields `treatment`, `rate`), or the plant is booked.
pub async fn try_out(
    doer: &Doer,
    id: Uuid,
    treatment: Option<(Uuid, String)>,
    rate: Option<Decimal>,
) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let was = plants::hold(&mut tx, id).await?;
    not_booked(&mut tx, id).await?;
    let today = doer.today(&mut tx).await?;
    let mut now = Plant { planned_rate: rate, ..was.clone() };
    if let Some((product, code)) = treatment {
        (now.product_id, now.use_code) = (Some(product), Some(code));
    }
    plants::must_suit_the_label(&mut tx, &now, Some(&was)).await?;
    write(doer, &mut tx, (&was, &now), ("tried", today), None).await?;
    tx.commit().await?;
    Ok(())
}

async fn not_booked(tx: &mut Conn, id: Uuid) -> Result<()> {
    match plant::booked_days(tx, id).await?.first() {
        None => Ok(()),
        Some(day) => Err(Error::refused(format!(
            "It is booked for {}. Cancel that visit or take the plant off it first.",
            day.format("%b %-d, %Y")
        ))),
    }
}

async fn write(
    doer: &Doer,
    tx: &mut Conn,
    (was, now): (&Plant, &Plant),
    (kind, on): (&str, NaiveDate),
    part: Option<Uuid>,
) -> Result<()> {
    let choice = Choice {
        id: Uuid::now_v7(),
        plant: was.id,
        kind: kind.to_owned(),
        by: doer.person.ok_or(Error::NotFound)?,
        on,
        was: meant(was),
        now: meant(now),
        part,
    };
    plant::update(tx, now).await?;
    way_out::insert(tx, &choice, doer.clock.now()).await?;
    let detail = json!({ "kind": kind, "was": choice.was, "now": choice.now, "part": part });
    doer.note(tx, "way out chosen", "plant", was.id, detail).await?;
    due::recompute_site(tx, doer, was.site_id).await
}

fn meant(plant: &Plant) -> Meant {
    Meant {
        product: plant.product_id,
        use_code: plant.use_code.clone(),
        rate: plant.planned_rate,
        count: plant.count,
    }
}

/// Takes a choice back: the plant is meant to get again what it was before.
///
/// # Errors
/// When the plant was changed since, or the part that was split off is in use.
pub async fn take_back(doer: &Doer, id: Uuid, choice: Uuid) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let plant = plants::hold(&mut tx, id).await?;
    let made =
        way_out::find(&mut tx, choice).await?.filter(|made| made.plant == id).ok_or(Error::NotFound)?;
    if meant(&plant) != made.now {
        return Err(Error::refused("The plant was changed since; change it on its own form."));
    }
    not_booked(&mut tx, id).await?;
    if let Some(part) = made.part {
        if way_out::is_in_use(&mut tx, part).await? {
            return Err(Error::refused(
                "The second part was treated or booked since; it stays a record of its own.",
            ));
        }
        plant::set_retired(
            &mut tx,
            part,
            Some(doer.clock.now()),
            "Joined again with the record it was split from.",
        )
        .await?;
        doer.note(&mut tx, "retired", "plant", part, json!({ "joined with": id })).await?;
    }
    let was = Plant {
        product_id: made.was.product,
        use_code: made.was.use_code.clone(),
        planned_rate: made.was.rate,
        count: made.was.count,
        ..plant.clone()
    };
    plant::update(&mut tx, &was).await?;
    way_out::take_back(&mut tx, choice, doer.clock.now()).await?;
    doer.note(&mut tx, "way out taken back", "plant", id, json!({ "choice": choice, "now": made.was }))
        .await?;
    due::recompute_site(&mut tx, doer, plant.site_id).await?;
    tx.commit().await?;
    Ok(())
}
