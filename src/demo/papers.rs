//! The demo company's papers: insurance that ends soon, trainings, training units, a purchase, a spill and a paper
//! that was struck out.
use super::{
    chance::Chance,
    days::{ago, ahead, at, months_before},
    people::People,
    product::{Shelf, key},
};
use crate::db::{
    Conn,
    incident::{self, Entry, Incident},
    paper::{self, Paper},
};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Where its ids start.
const OWN: u64 = 0x7061_7065_7273_2121;

/// Enters them, with ids of their own.
pub async fn enter(tx: &mut Conn, people: &People, shelf: &Shelf, today: NaiveDate) -> anyhow::Result<()> {
    let mut chance = Chance::new(OWN);
    let product = shelf.get(key::DRENCH)?.product.id;
    let (insured, struck) = insurance(&mut chance, today);
    for one in [&insured, &struck] {
        insert(tx, one, &[], people).await?;
    }
    let when = at(ago(today, 40), 9, 30);
    paper::strike(tx, struck.id, people.owner.id, when, "Typed with one naught too many.").await?;
    let team: Vec<Uuid> = people.technicians.iter().map(|t| t.id).collect();
    for (kind, title, days, who) in [
        ("handler-training", "Mixing, spills and protective clothing", 330, &team[..]),
        ("label-review", "Labels of the drenches gone through page by page", 90, &team[..2]),
    ] {
        let mut one = fresh(&mut chance, kind, title, ago(today, days));
        one.trainer_id = Some(people.owner.id);
        insert(tx, &one, who, people).await?;
    }
    for (member, units) in people.technicians.iter().chain([&people.owner]).zip([8_i64, 20, 6, 12]) {
        paper::set_units_needed(tx, member.certification_id, Some(20.into())).await?;
        let mut one = fresh(&mut chance, "training-units", "Soil, water and what leaches", ago(today, 200));
        one.number = format!("2026-{}", 100 + units);
        one.amount = Some(Decimal::from(units));
        one.certification_id = Some(member.certification_id);
        insert(tx, &one, &[], people).await?;
    }
    purchase(tx, &mut chance, people, product, today).await?;
    spill(tx, &mut chance, people, product, today).await?;
    Ok(())
}

fn fresh(chance: &mut Chance, kind: &str, title: &str, on_day: NaiveDate) -> Paper {
    Paper {
        id: chance.id(),
        kind: kind.to_owned(),
        title: title.to_owned(),
        number: String::new(),
        on_day,
        last_day: None,
        amount: None,
        unit: None,
        words: String::new(),
        product_id: None,
        certification_id: None,
        trainer_id: None,
    }
}

/// The policy that holds for five weeks more, and one that was typed wrong.
fn insurance(chance: &mut Chance, today: NaiveDate) -> (Paper, Paper) {
    let policy = |chance: &mut Chance, dollars: i64| Paper {
        number: "L-990-17".to_owned(),
        last_day: Some(ahead(today, 36)),
        amount: Some(Decimal::from(dollars)),
        words: "Liability for bodily injury and damage to property.".to_owned(),
        ..fresh(chance, "insurance", "Harbor Lantern Mutual", months_before(ahead(today, 37), 12))
    };
    (policy(chance, 1_000_000), policy(chance, 10_000_000))
}

async fn purchase(
    tx: &mut Conn,
    chance: &mut Chance,
    people: &People,
    product: Uuid,
    today: NaiveDate,
) -> sqlx::Result<()> {
    let one = Paper {
        number: "PD-99104".to_owned(),
        amount: Some(Decimal::from(4)),
        unit: Some("qt".to_owned()),
        product_id: Some(product),
        words: format!("Under {}.", people.owner.number),
        ..fresh(chance, "restricted-purchase", "Quillan Farm Supply", ago(today, 120))
    };
    insert(tx, &one, &[], people).await
}

async fn spill(
    tx: &mut Conn,
    chance: &mut Chance,
    people: &People,
    product: Uuid,
    today: NaiveDate,
) -> sqlx::Result<()> {
    let day = ago(today, 12);
    let one = Incident {
        id: chance.id(),
        kind: "spill".to_owned(),
        happened_at: at(day, 14, 20),
        state: "CA".to_owned(),
        place: "3 Orchard Row, loading bay".to_owned(),
        what: "A jug tipped over while the tank was filled; it ran onto concrete and no further.".to_owned(),
        product_id: Some(product),
        amount: "about half a gallon of mix".to_owned(),
        people: "Nobody was touched by it.".to_owned(),
        done: "Taken up with absorbent clay, bagged and labelled.".to_owned(),
    };
    let by = people.technicians[0].id;
    incident::insert(tx, &one, by, at(day, 15, 5)).await?;
    let report = Entry {
        id: chance.id(),
        incident_id: one.id,
        kind: "reported".to_owned(),
        at: at(day, 16, 30),
        reported_to: "the county agricultural commissioner, by telephone".to_owned(),
        words: "They asked for the photographs, which were sent.".to_owned(),
        entered_by_name: String::new(),
        entered_at: at(day, 16, 45),
    };
    incident::add(tx, &report, people.owner.id).await?;
    Ok(())
}

async fn insert(tx: &mut Conn, one: &Paper, who: &[Uuid], people: &People) -> sqlx::Result<()> {
    paper::insert(tx, one, who, people.office, at(one.on_day, 16, 0)).await
}
