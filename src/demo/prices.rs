//! What the demo's customers have agreed to pay: every kind of price, one that was raised, and sites without.
use super::{
    chance::Chance,
    days::{ago, ahead, at, months_before},
    people::People,
    world::{Place, Plant, World},
};
use crate::{
    actions::{Doer, estimate::Asked},
    clock::Clock,
    db::{
        Conn,
        agreement::{self, Agreement},
        estimate,
        price_list::{self, PriceList},
    },
    domain::{
        agreement::PriceBasis,
        calendar::sub_days,
        estimate::{Pricing, Rates},
        quantity::from_decimal,
    },
};
use rust_decimal::Decimal;
use uuid::Uuid;

/// Where its ids start.
const OWN: u64 = 0x7072_6963_6573_2121;

/// What a site of each kind pays: basis and cents.
const PRICES: [(PriceBasis, i64); 4] = [
    (PriceBasis::Foot, 425),
    (PriceBasis::Visit, 18_500),
    (PriceBasis::Year, 42_000),
    (PriceBasis::Plant, 2_250),
];
/// Dollars for an inch of trunk, in thousandths: parts of a cent are usual there.
const INCH: i64 = 11_375;

/// Enters them with ids of their own, so that everything else falls as it fell without them.
pub async fn enter(tx: &mut Conn, w: &World, people: &People) -> sqlx::Result<()> {
    let mut chance = Chance::new(OWN);
    for (number, place) in w.places.iter().enumerate() {
        // Every sixth has agreed to nothing yet.
        if number % 6 == 5 {
            continue;
        }
        let (basis, cents) = PRICES[number % PRICES.len()];
        let new = fresh(&mut chance, place, None, basis, Decimal::new(cents, 2));
        if number % 7 == 3 {
            raised(tx, &mut chance, w, people, new).await?;
        } else {
            insert(tx, people, &new).await?;
        }
        if basis == PriceBasis::Foot {
            for tree in w.plants.iter().filter(|p| p.place == number && is_tree(p)) {
                let price = Decimal::new(INCH, 3);
                insert(tx, people, &fresh(&mut chance, place, Some(tree.id), PriceBasis::Inch, price))
                    .await?;
            }
        }
    }
    Ok(())
}

fn is_tree(plant: &Plant) -> bool {
    !plant.stems.is_empty()
}

fn fresh(
    chance: &mut Chance,
    place: &Place,
    plant_id: Option<Uuid>,
    basis: PriceBasis,
    price: Decimal,
) -> Agreement {
    Agreement {
        id: chance.id(),
        site_id: place.id,
        plant_id,
        basis,
        price: price.normalize(),
        starts_on: place.since,
        ends_on: None,
        ended_reason: String::new(),
        note: String::new(),
    }
}

/// The price of old, and the one that took its place a while ago or will in a month.
async fn raised(
    tx: &mut Conn,
    chance: &mut Chance,
    w: &World,
    people: &People,
    old: Agreement,
) -> sqlx::Result<()> {
    let from = if chance.between(0, 1) == 0 { months_before(w.today, 4) } else { ahead(w.today, 30) };
    let reason = format!("Another price holds from {from}");
    insert(tx, people, &Agreement { ends_on: Some(sub_days(from, 1)), ended_reason: reason, ..old.clone() })
        .await?;
    let price = (old.price * Decimal::new(106, 2)).round_dp(2).normalize();
    let note = "Told by letter.".to_owned();
    insert(tx, people, &Agreement { id: chance.id(), price, starts_on: from, note, ..old }).await
}

async fn insert(tx: &mut Conn, people: &People, a: &Agreement) -> sqlx::Result<()> {
    agreement::insert(tx, a, people.office, at(sub_days(a.starts_on, 3).min(a.starts_on), 11, 15)).await
}

/// The price list, an estimate that waits for its answer and one that was withdrawn.
pub async fn estimates(tx: &mut Conn, w: &World, people: &People, doer: &Doer) -> anyhow::Result<()> {
    let cents = |cents: i64| Some(Decimal::new(cents, 2).normalize());
    let list = PriceList {
        foot: cents(450),
        inch: cents(1_200),
        plant: cents(2_400),
        visit: cents(19_500),
        year: None,
        hour_cost: cents(4_850),
    };
    price_list::save(tx, &list).await?;
    // Two mornings ago.
    let clock = Clock::fixed(at(ago(w.today, 2), 10, 0));
    let office = Doer { clock, ..doer.acting(people.office) };
    let mut chance = Chance::new(OWN ^ 1);
    let mut made = vec![];
    // Sites that have agreed to nothing yet.
    for number in (5..w.places.len()).step_by(6) {
        let own =
            w.plants.iter().filter(|p| p.place == number && p.treatment.is_some() && p.retired.is_none());
        let named = [(PriceBasis::Foot, 450_i64), (PriceBasis::Inch, 1_200)];
        let asked = Asked {
            id: chance.id(),
            site: w.places[number].id,
            plants: own.map(|p| p.id).collect(),
            pricing: Pricing::BySize,
            rates: Rates {
                named: named.map(|(basis, cents)| (basis, from_decimal(Decimal::new(cents, 2)))).to_vec(),
            },
            valid_until: ahead(w.today, 30),
            note: "One visit; we ring the day before.".to_owned(),
        };
        // A plant that is not measured as the price asks leaves its site without an estimate.
        if asked.plants.len() > 2 && crate::actions::estimate::make_in(tx, &office, &asked).await.is_ok() {
            made.push(asked.id);
        }
        if made.len() == 3 {
            break;
        }
    }
    if let Some(id) = made.last() {
        let at = office.clock.now();
        estimate::withdraw(tx, *id, people.office, at, "The customer wants the hedge counted anew.").await?;
    }
    Ok(())
}
