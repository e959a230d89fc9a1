//! Which limits a recorded version broke.
use crate::{
    actions::{Doer, Result, duty},
    db::{
        Conn, fact, flag,
        record::{self, Item, Version},
    },
    domain::{
        dose::dose,
        facts::{Facts, PlantFacts},
        hold::Rule,
        label::Product,
        permission::Applicator,
        plan::{Flag, flags},
        quantity::{from_decimal, kept},
    },
};
use chrono::NaiveDate;

/// Nobody who was there held a certification of the state on that day.
pub const NO_CERTIFICATION: &str = "no-certification";
/// The label entry was signed only after that day.
pub const LABEL_LATER: &str = "label-later";
/// A notice or sign that the law asks for before the work was not done, or not in time.
pub const NOTICE_LACKED: &str = "notice-lacked";

/// A flag's rule and words.
type Raised = (&'static str, String);

/// Judges the version, which is among the parcel's facts by now, and raises a flag for each limit that it
/// broke; how many.
pub async fn raise(tx: &mut Conn, doer: &Doer, today: NaiveDate, version: &Version) -> Result<usize> {
    if version.head.withdrawn {
        return Ok(0);
    }
    let applicator = applicator(tx, version).await?;
    let facts = fact::of_parcel(tx, version.head.parcel_id, today, applicator).await?;
    raise_with(tx, doer, &facts, version).await
}

/// The same for versions of one parcel, all of which are among its facts by now: these are gathered once.
pub async fn raise_all(
    tx: &mut Conn,
    doer: &Doer,
    today: NaiveDate,
    versions: &[Version],
) -> Result<Vec<usize>> {
    let Some(first) = versions.first() else { return Ok(vec![]) };
    let mut facts = fact::of_parcel(tx, first.head.parcel_id, today, Applicator::default()).await?;
    let mut broken = Vec::with_capacity(versions.len());
    for version in versions {
        facts.applicator = applicator(tx, version).await?;
        broken.push(raise_with(tx, doer, &facts, version).await?);
    }
    Ok(broken)
}

async fn raise_with(tx: &mut Conn, doer: &Doer, facts: &Facts, version: &Version) -> Result<usize> {
    let mut found: Vec<Raised> = vec![];
    for item in &version.items {
        for flag in broken(facts, version.head.applied_on, item)? {
            let flag = (flag.rule.code(), flag.words);
            if !found.contains(&flag) {
                found.push(flag);
            }
        }
    }
    found.extend(uncertified(version));
    found.extend(label_later(tx, version).await?);
    found.extend(duty::lacked(tx, version).await?.into_iter().map(|words| (NOTICE_LACKED, words)));
    for (rule, words) in &found {
        let (id, number) = (version.head.id, version.head.version);
        flag::raise(tx, id, number, rule, words, doer.clock.now()).await?;
    }
    Ok(found.len())
}

/// Who applied, as the record says: what they and their supervisor held that day. Of somebody who is not one of
/// our people only what is written in the record is known.
async fn applicator(tx: &mut Conn, version: &Version) -> Result<Applicator> {
    let h = &version.head;
    if let Some(id) = h.applicator_id {
        return Ok(fact::applicator(tx, id, h.supervisor_id, &h.site_state, h.applied_on).await?);
    }
    let certified = !h.applicator_certification.is_empty();
    Ok(Applicator { certified, ..Applicator::default() })
}

/// Our own work by nobody who was certified that day, and under nobody who was.
fn uncertified(version: &Version) -> Option<Raised> {
    let h = &version.head;
    let held = !h.applicator_certification.is_empty() || !h.supervisor_certification.is_empty();
    if h.origin != "own" || held {
        return None;
    }
    let words = format!(
        "On {} no certification of {} was in force for {}, and no certified supervisor is named.",
        h.applied_on, h.site_state, h.applicator_name
    );
    Some((NO_CERTIFICATION, words))
}

/// Our own work by a label entry that was signed only later. One that nobody has signed at all is the
/// engine's own flag.
async fn label_later(tx: &mut Conn, version: &Version) -> Result<Option<Raised>> {
    let h = &version.head;
    let labels: Vec<_> = version.items.iter().map(|i| i.label_version_id).collect();
    if h.origin != "own" {
        return Ok(None);
    }
    let unsigned = record::unsigned_on(tx, &labels, h.applied_on).await?;
    let mut said: Vec<String> = vec![];
    for (label, day) in unsigned {
        let item = version.items.iter().find(|i| i.label_version_id == label);
        if let (Some(item), Some(day)) = (item, day) {
            said.push(format!(
                "On {} no label entry of {} was signed; the first one was signed on {day}.",
                h.applied_on, item.product_name
            ));
        }
    }
    Ok((!said.is_empty()).then(|| (LABEL_LATER, said.join(" "))))
}

fn broken(facts: &Facts, on: NaiveDate, item: &Item) -> Result<Vec<Flag>> {
    let (plant, item_use) = (item.plant_id.map(|p| p.to_string()), item.label_use_id.map(|u| u.to_string()));
    let amount = from_decimal(item.amount);
    let position = facts.history.iter().position(|fact| {
        fact.on == on
            && fact.plant == plant
            && fact.use_id == item_use
            && fact.amount.value == amount
            && fact.amount.unit.code() == item.unit
    });
    let position =
        position.ok_or_else(|| anyhow::anyhow!("the new record is not among the parcel's facts"))?;
    let mut facts = as_it_was(facts, item);
    let divided = band(&mut facts, position, item);
    let found = flags(&facts, position).map_err(|faults| {
        let words: Vec<String> = faults.iter().map(ToString::to_string).collect();
        anyhow::anyhow!("facts do not fit together: {}", words.join("; "))
    })?;
    Ok(found.into_iter().chain(divided).collect())
}

/// Makes the band comparable. An amount that no row can hold exactly stands for the lowest dose where that is
/// less than a billionth above it; a plant for which no whole number of packets lies within the band has no
/// dose at all, and whatever was used on it is outside the band.
fn band(facts: &mut Facts, position: usize, item: &Item) -> Option<Flag> {
    let (plant, use_id) = (item.plant_id?.to_string(), item.label_use_id?.to_string());
    let known = facts.plants.iter().find(|p| p.id == plant)?;
    let find = |product: &Product| product.find_use(&use_id).cloned().map(|item| (product.clone(), item));
    let (product, used) = facts.products.iter().find_map(find)?;
    match dose(&product, &used, &known.measure, known.count, None) {
        Ok(own) => {
            let fact = &mut facts.history[position].amount;
            if fact.unit == own.low.unit && fact.value == kept(&own.low.value) {
                *fact = own.low;
            }
            None
        }
        Err(why) => {
            facts.plants.retain(|p| p.id != plant);
            let poured = facts.history[position].amount.words();
            Some(Flag { rule: Rule::RateBand, words: format!("{poured} was applied, but {why}.") })
        }
    }
}

/// The facts with the plant as it was measured for this application.
fn as_it_was(facts: &Facts, item: &Item) -> Facts {
    let mut facts = facts.clone();
    let (Some(plant), Some(use_id)) = (item.plant_id, item.label_use_id) else { return facts };
    let (id, use_id) = (plant.to_string(), use_id.to_string());
    let Some(measure) = item.measure else {
        // Without a measure no band can be compared; everything else still holds.
        return facts;
    };
    let count = u32::try_from(item.count).unwrap_or(1);
    if let Some(known) = facts.plants.iter_mut().find(|p| p.id == id) {
        // A record keeps so many decimals of a measure that has no end.
        if kept(&known.measure) != from_decimal(measure) {
            known.measure = from_decimal(measure);
        }
        known.count = count;
        return facts;
    }
    // A plant that is retired by now, or is meant for no treatment.
    facts.plants.push(PlantFacts {
        id,
        name: Some(format!("{}, {}", item.host_plant, item.plant_words)),
        use_id,
        measure: from_decimal(measure),
        count,
        host: Some(item.host_plant.to_lowercase()),
        active: false,
        ..PlantFacts::default()
    });
    facts
}
