//! Making estimates from what was measured, accepting and withdrawing them; and the company's price list.
use super::{Doer, Error, Result, agreement as agreements, diff};
use crate::{
    db::{
        Conn,
        agreement::Agreement,
        broken_constraint, customer,
        estimate::{self, Cost, Estimate, Line},
        fact, person, plant,
        price_list::{self, PriceList},
        site::{self, Site},
        working,
    },
    domain::{
        agreement::{PlantPrice, PriceBasis, Terms, Work, quote},
        book::{Book, Planting},
        estimate::{Pricing, Rates, product_cost, time_cost},
        money::Money,
        plant::Measure,
        quantity::{Exact, fixed_half_up, from_decimal, plain, to_decimal},
        way_out::Price,
    },
};
use chrono::NaiveDate;
use num_traits::{ToPrimitive, Zero};
use rust_decimal::Decimal;
use serde_json::json;
use std::collections::BTreeSet;
use uuid::Uuid;

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Asked {
    pub id: Uuid,
    pub site: Uuid,
    pub plants: Vec<Uuid>,
    pub pricing: Pricing,
    pub rates: Rates,
    pub valid_until: NaiveDate,
    pub note: String,
}

/// A plant with what is planned for it.
struct Planned {
    plant: plant::Plant,
    measure: Measure,
    terms: Terms,
    words: String,
    use_id: Option<Uuid>,
    /// What its product costs; else what is not known.
    cost: Result<Exact, String>,
}

/// Makes an estimate; the same form twice makes one.
///
/// # Errors
/// When a plant has no treatment or was not measured as the price asks (field `plants`), or a price is missing
/// (its field).
pub async fn make(doer: &Doer, asked: &Asked) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    make_in(&mut tx, doer, asked).await?;
    tx.commit().await?;
    Ok(())
}

/// The same within a transaction.
///
/// # Errors
/// As [`make`].
pub async fn make_in(tx: &mut Conn, doer: &Doer, asked: &Asked) -> Result<()> {
    if estimate::find(tx, asked.id).await?.is_some() {
        return Ok(());
    }
    let today = doer.today(tx).await?;
    if asked.valid_until < today {
        return Err(Error::field("valid_until", "This day is past."));
    }
    let site = site::find(tx, asked.site).await?.ok_or(Error::NotFound)?;
    let planned = planned(tx, &site, asked, today).await?;
    let work: Vec<Work<'_>> = planned
        .iter()
        .map(|p| Work {
            count: u32::try_from(p.plant.count).unwrap_or_default(),
            measure: &p.measure,
            own: (!p.terms.basis.is_whole()).then_some(&p.terms),
        })
        .collect();
    let whole = planned.first().map(|p| &p.terms).filter(|t| t.basis.is_whole());
    let quote = quote(whole, &work);
    let mut lines = vec![];
    for (position, (one, price)) in planned.iter().zip(&quote.plants).enumerate() {
        lines.push(line(position, one, price)?);
    }
    let uses: Vec<Uuid> = planned.iter().filter_map(|p| p.use_id).collect();
    let versions = estimate::versions_of_uses(tx, &uses).await?;
    for (line, one) in lines.iter_mut().zip(&planned) {
        line.label_version_id = versions.iter().find(|(id, _)| Some(*id) == one.use_id).map(|(_, v)| *v);
    }
    let total = quote.total.as_ref().and_then(Money::decimal).ok_or_else(|| {
        Error::field("plants", "Choose at least one plant, each with a price that can be worked out.")
    })?;
    let by = doer.person.ok_or(Error::NotFound)?;
    let new = head(tx, &site, asked, (by, today), (quote.whole.map(|(_, sum)| sum), total)).await?;
    let cost = cost(tx, &site, &planned).await?;
    estimate::insert(tx, &new, by, &lines, &cost).await.map_err(refusal)?;
    let detail = json!({ "site": site.id, "total": new.total, "plants": lines.len() });
    doer.note(tx, "made", "estimate", new.id, detail).await
}

fn refusal(error: sqlx::Error) -> Error {
    match broken_constraint(&error) {
        Some("estimate_pkey") => Error::entered(),
        _ => error.into(),
    }
}

/// The plants in their order with treatment, terms and cost.
async fn planned(tx: &mut Conn, site: &Site, asked: &Asked, today: NaiveDate) -> Result<Vec<Planned>> {
    let applicator = fact::company_as_applicator(tx, site.parcel_id, today).await?;
    let facts = fact::of_parcel(tx, site.parcel_id, today, applicator).await?;
    let prices = fact::offerable(tx, today).await?.prices;
    let book = Book::new(&facts).map_err(|e| anyhow::anyhow!("facts do not fit together: {e:?}"))?;
    let mut all = vec![];
    for id in &asked.plants {
        let plant = plant::find(tx, *id).await?.filter(|p| p.site_id == site.id && p.retired_at.is_none());
        let plant =
            plant.ok_or_else(|| Error::field("plants", "A plant is not in use on this site any more."))?;
        let name = format!("{}, {}", plant.host_plant, plant.place);
        let planting = book.planting(&id.to_string()).ok_or_else(|| {
            Error::field(
                "plants",
                format!("{name}: choose a treatment and measure it first; no dose is known."),
            )
        })?;
        let measure = plant.measure();
        let basis = asked.pricing.basis(&measure);
        let terms = asked.rates.terms(basis, today).ok_or_else(|| {
            Error::field(rate_field(basis), format!("{name} needs the price per {}.", basis.words()))
        })?;
        let cost = cost_of(planting, &prices);
        let method = planting.item.method.replace('-', " ");
        let pest = if plant.target_pest.is_empty() {
            String::new()
        } else {
            format!(" against {}", plant.target_pest)
        };
        let words = format!("{}, {method}{pest}", planting.product.words());
        let use_id = planting.item.id.parse().ok();
        all.push(Planned { plant, measure, terms, words, use_id, cost });
    }
    Ok(all)
}

/// The form's field of a basis' price.
#[must_use]
pub fn rate_field(basis: PriceBasis) -> &'static str {
    match basis {
        PriceBasis::Foot => "rate_foot",
        PriceBasis::Inch => "rate_inch",
        PriceBasis::Plant => "rate_plant",
        PriceBasis::Visit => "rate_visit",
        PriceBasis::Year => "rate_year",
    }
}

fn cost_of(one: &Planting<'_>, prices: &[Price]) -> Result<Exact, String> {
    let price = prices.iter().find(|price| price.product == one.product.id);
    let price = price.ok_or_else(|| format!("no price of {} is entered", one.product.words()))?;
    product_cost(&one.dose.product, price)
        .ok_or_else(|| format!("the price of {} is for another kind of unit", one.product.words()))
}

fn line(position: usize, one: &Planned, price: &PlantPrice) -> Result<Line> {
    let name = format!("{}, {}", one.plant.host_plant, one.plant.place);
    let (counted, amount) = match price {
        PlantPrice::Amount { basis, times, amount, .. } => (times_words(*basis, times), amount.decimal()),
        PlantPrice::Within(basis) => (format!("within the {}", basis.words()), None),
        PlantPrice::Unknown(why) => {
            return Err(Error::field("plants", format!("{name}: {why}. Measure it, or price by the plant.")));
        }
    };
    Ok(Line {
        position: i32::try_from(position).unwrap_or(i32::MAX),
        plant_id: one.plant.id,
        plant: if one.plant.count > 1 { format!("{name}, {} alike", one.plant.count) } else { name },
        planned: one.words.clone(),
        label_version_id: None,
        basis: one.terms.basis,
        price: to_decimal(&one.terms.price).unwrap_or_default(),
        counted,
        amount,
    })
}

/// `48 ft`, `9.99 in`, `6 plants`: a trunk that was reckoned from its girth has no end of decimals.
#[must_use]
pub fn times_words(basis: PriceBasis, times: &Exact) -> String {
    let text = plain(times);
    let text = if text.len() > 8 { fixed_half_up(times, 2) } else { text };
    match basis {
        PriceBasis::Foot => format!("{text} ft"),
        PriceBasis::Inch => format!("{text} in"),
        PriceBasis::Plant if text == "1" => "1 plant".to_owned(),
        PriceBasis::Plant => format!("{text} plants"),
        PriceBasis::Visit | PriceBasis::Year => format!("1 {}", basis.words()),
    }
}

async fn head(
    tx: &mut Conn,
    site: &Site,
    asked: &Asked,
    (by, today): (Uuid, NaiveDate),
    (whole, total): (Option<Money>, Decimal),
) -> Result<Estimate> {
    let customer = customer::find(tx, site.customer_id).await?.ok_or(Error::NotFound)?;
    let made_by_name = person::find(tx, by).await?.ok_or(Error::NotFound)?.name;
    let joined = |parts: [&str; 3], zip: &str| {
        let filled: Vec<&str> = parts.into_iter().filter(|p| !p.is_empty()).collect();
        format!("{} {zip}", filled.join(", ")).trim().to_owned()
    };
    Ok(Estimate {
        id: asked.id,
        number: 0,
        site_id: site.id,
        customer_id: customer.id,
        customer_address: joined([&customer.street, &customer.city, &customer.state], &customer.zip),
        customer_name: customer.name,
        site_address: joined([&site.street, &site.city, &site.state], &site.zip),
        made_by_name,
        made_on: today,
        valid_until: asked.valid_until,
        pricing: asked.pricing.code().to_owned(),
        whole: whole.and_then(|sum| sum.decimal()),
        total,
        note: asked.note.clone(),
        accepted_at: None,
        withdrawn_at: None,
        withdrawn_reason: String::new(),
    })
}

/// What it costs the company, and what of that is not known.
async fn cost(tx: &mut Conn, site: &Site, planned: &[Planned]) -> Result<Cost> {
    let terms = working::terms(tx).await?.unwrap_or_default();
    let plants: i32 = planned.iter().map(|p| p.plant.count).sum();
    let of_plants = (terms.plant_minutes * Decimal::from(plants)).ceil().to_i32().unwrap_or(1440);
    let minutes = site.service_minutes.unwrap_or_else(|| terms.stop_minutes.saturating_add(of_plants));
    let mut lacks: BTreeSet<String> = planned.iter().filter_map(|p| p.cost.clone().err()).collect();
    let products: Exact =
        planned.iter().filter_map(|p| p.cost.as_ref().ok()).fold(Exact::zero(), |sum, one| sum + one);
    let known = lacks.is_empty();
    let hour = price_list::find(tx).await?.hour_cost;
    if hour.is_none() {
        lacks.insert("no cost of an hour is entered".to_owned());
    }
    let time = hour.map(|hour| time_cost(u32::try_from(minutes).unwrap_or_default(), &from_decimal(hour)));
    Ok(Cost {
        product_cost: known.then(|| Money::rounded(&products).decimal()).flatten(),
        time_cost: time.and_then(|sum| sum.decimal()),
        minutes,
        cost_lacks: lacks.into_iter().collect::<Vec<_>>().join("; "),
    })
}

/// Takes an estimate as agreed: its prices become agreements from that day, in the place of older ones.
///
/// # Errors
/// When it is accepted or withdrawn already, or agreements stand in the way (field `starts_on`).
pub async fn accept(doer: &Doer, id: Uuid, starts_on: NaiveDate) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    let held = estimate::lock(&mut tx, id).await?.ok_or(Error::NotFound)?;
    open(&held)?;
    let lines = estimate::lines(&mut tx, id).await?;
    let in_use = plant::of_site(&mut tx, held.site_id).await?;
    let everything = in_use
        .iter()
        .filter(|l| l.plant.retired_at.is_none())
        .all(|l| lines.iter().any(|own| own.plant_id == l.plant.id));
    let basis = |whole: bool| {
        let first = lines.iter().find(|l| l.basis != PriceBasis::Inch || !whole).or(lines.first());
        first.map(|l| l.basis)
    };
    // One price for the whole site where the estimate covers it; trunks beside heights keep their own.
    let of_site = basis(true).filter(|basis| everything || basis.is_whole());
    for line in &lines {
        agreements::end_open(&mut tx, doer, held.site_id, Some(line.plant_id), starts_on).await?;
    }
    let agreed = |plant: Option<Uuid>, line: &Line| Agreement {
        id: Uuid::now_v7(),
        site_id: held.site_id,
        plant_id: plant,
        basis: line.basis,
        price: line.price.normalize(),
        starts_on,
        ends_on: None,
        ended_reason: String::new(),
        note: format!("Estimate {}", held.number),
    };
    if let Some(line) = of_site.and_then(|basis| lines.iter().find(|l| l.basis == basis)) {
        agreements::enter_in(&mut tx, doer, &agreed(None, line)).await?;
    }
    for line in lines.iter().filter(|l| Some(l.basis) != of_site) {
        agreements::enter_in(&mut tx, doer, &agreed(Some(line.plant_id), line)).await?;
    }
    let by = doer.person.ok_or(Error::NotFound)?;
    estimate::accept(&mut tx, id, by, doer.clock.now()).await?;
    doer.note(&mut tx, "accepted", "estimate", id, json!({ "starts_on": starts_on })).await?;
    tx.commit().await?;
    Ok(())
}

/// Withdraws an estimate with the reason.
///
/// # Errors
/// When it is accepted or withdrawn already.
pub async fn withdraw(doer: &Doer, id: Uuid, reason: &str) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    open(&estimate::lock(&mut tx, id).await?.ok_or(Error::NotFound)?)?;
    let by = doer.person.ok_or(Error::NotFound)?;
    estimate::withdraw(&mut tx, id, by, doer.clock.now(), reason).await?;
    doer.note(&mut tx, "withdrawn", "estimate", id, json!({ "reason": reason })).await?;
    tx.commit().await?;
    Ok(())
}

fn open(e: &Estimate) -> Result<()> {
    match e {
        e if e.accepted_at.is_some() => Err(Error::refused("It is accepted already.")),
        e if e.withdrawn_at.is_some() => Err(Error::refused("It is withdrawn. Make a new one.")),
        _ => Ok(()),
    }
}

/// Saves the company's price list, from what the form was opened with.
///
/// # Errors
/// When somebody else saved another one meanwhile.
pub async fn save_prices(doer: &Doer, seen: &PriceList, now: &PriceList) -> Result<()> {
    let mut tx = doer.pool.begin().await?;
    working::lock_terms(&mut tx).await?;
    let was = price_list::find(&mut tx).await?;
    if was != *seen {
        return Err(Error::meanwhile());
    }
    price_list::save(&mut tx, now).await?;
    doer.note(&mut tx, "changed", "price list", Uuid::nil(), diff::changed(&was, now)?.into()).await?;
    tx.commit().await?;
    Ok(())
}
