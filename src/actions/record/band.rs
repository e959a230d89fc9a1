//! What is about to be recorded and leaves its label's band: asked about before it is saved. It is a fact and is
//! recorded when it is sent again; the flag that it raises then is another matter.
use super::Applied;
use crate::{
    actions::{Doer, Error, Result},
    db::{Conn, fact, record},
    domain::{
        facts::Facts,
        permission::Applicator,
        pour::leaves_band,
        quantity::{Amount, AmountUnit, Exact, from_decimal},
    },
};
use chrono::NaiveDate;
use uuid::Uuid;

/// An amount that leaves the band.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outside {
    /// Its place among what was applied.
    pub at: usize,
    /// The band for the plants of the item together.
    pub low: Exact,
    pub high: Exact,
    /// The unit of the label's rate.
    pub unit: String,
}

/// Everything on the way into a record that leaves the band of the label in force on that day.
///
/// # Errors
/// When the site or a use is not there.
pub async fn outside_band(
    doer: &Doer,
    today: NaiveDate,
    site: Uuid,
    on: NaiveDate,
    applied: &[Applied],
) -> Result<Vec<Outside>> {
    let mut conn = doer.pool.acquire().await?;
    // What was not measured on the spot is compared as the plant was measured before.
    let unmeasured = applied.iter().any(|one| one.plant.is_some() && one.measure.is_none());
    let facts = if unmeasured { Some(known(&mut conn, site, today).await?) } else { None };
    let mut found = vec![];
    for (at, one) in applied.iter().enumerate() {
        let label = record::choice_on(&mut conn, one.label_use, on).await?.ok_or(Error::NotFound)?;
        let units = (AmountUnit::from_code(&label.rate_unit), AmountUnit::from_code(&one.unit));
        let (Ok(unit), Ok(own)) = units else { continue };
        let Some((measure, count)) = measured(one, facts.as_ref()) else { continue };
        let per = from_decimal(label.rate_per);
        let band = (from_decimal(label.rate_low) / &per, from_decimal(label.rate_high) / &per);
        let poured = Amount::new(from_decimal(one.amount), own);
        if let Some((low, high)) = leaves_band((&band.0, &band.1), unit, &measure, count, &poured) {
            found.push(Outside { at, low, high, unit: label.rate_unit });
        }
    }
    Ok(found)
}

async fn known(conn: &mut Conn, site: Uuid, today: NaiveDate) -> Result<Facts> {
    let place = record::place(conn, site).await?.ok_or(Error::NotFound)?;
    Ok(fact::of_parcel(conn, place.parcel_id, today, Applicator::default()).await?)
}

/// Measure and number of the plants; none: other ground, or nobody has measured.
fn measured(one: &Applied, facts: Option<&Facts>) -> Option<(Exact, u32)> {
    let plant = one.plant?.to_string();
    if let Some(measure) = one.measure {
        return Some((from_decimal(measure), u32::try_from(one.count).ok()?));
    }
    let known = facts?.plants.iter().find(|p| p.id == plant)?;
    Some((known.measure.clone(), known.count))
}
