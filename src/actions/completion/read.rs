//! A completion in the words of a record: what was applied, what was skipped, and what the phone did not know.
use super::{Bloom, CLOCK_SECONDS, Completion, Did, Note, PlantDone, Rain, Sent, Slope, Soil, Wind, note};
use crate::{
    actions::{
        Doer, Error, Result,
        record::{Applied, Done, Skip, Stop},
    },
    db::{
        Conn,
        record::{self, choice_on},
        visit::{self, Dose, Visit},
    },
    domain::record::{Conditions, Told},
};
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;

/// The visit was given to somebody else.
pub const REASSIGNED: &str = "visit-reassigned";
/// The visit was cancelled.
pub const CANCELLED: &str = "visit-cancelled";
/// The visit has a record already.
pub const TWICE: &str = "recorded-twice";
/// The phone showed another label than the one in force that day.
pub const REPLACED: &str = "label-replaced";

/// A completion, read.
pub struct Read {
    pub done: Done,
    pub notes: Vec<Note>,
}

/// Reads it against the visit as it stands now.
pub async fn read(
    doer: &Doer,
    tx: &mut Conn,
    today: NaiveDate,
    zone: Tz,
    sent: &Sent,
    c: &Completion,
    visit: &Visit,
) -> Result<Read> {
    let mut notes = vec![];
    let mut stop = stop(doer, today, zone, sent, c, &mut notes)?;
    if doer.person == Some(visit.technician_id) {
        // Named when the visit was booked; the phone may name another.
        stop.supervisor = stop.supervisor.or(visit.supervisor_id);
    }
    let doses = visit::doses(tx, visit.id).await?;
    let (mut applied, mut skipped, mut replaced) = (vec![], vec![], vec![]);
    for plant in &c.plants {
        let dose = doses.iter().find(|d| d.plant_id == plant.plant && d.label_use_id == plant.label_use);
        if plant.did == Did::Skipped {
            skipped.push(skip(plant, &mut notes));
            continue;
        }
        applied.push(apply(plant, dose)?);
        let shown = plant.label_version.or(dose.map(|d| d.label_version_id));
        let choice = choice_on(tx, plant.label_use, stop.on).await?.ok_or(Error::NotFound)?;
        if shown.is_some_and(|shown| shown != choice.label_version_id)
            && !replaced.contains(&choice.product_name)
        {
            replaced.push(choice.product_name);
        }
    }
    let flags = changed(doer, tx, visit, &replaced, stop.on).await?;
    let conditions = conditions(sent, c);
    Ok(Read { done: Done { id: c.id, stop, applied, skipped, conditions, flags }, notes })
}

/// What has become of the visit and its labels since the phone had them.
async fn changed(
    doer: &Doer,
    tx: &mut Conn,
    visit: &Visit,
    replaced: &[String],
    on: NaiveDate,
) -> Result<Vec<(&'static str, String)>> {
    let mut flags = vec![];
    if doer.person != Some(visit.technician_id) {
        let words =
            format!("The visit had been given to {} when this came from the field.", visit.technician_name);
        flags.push((REASSIGNED, words));
    }
    if visit.status == "cancelled" {
        let words = "The visit had been cancelled when this came from the field.".to_owned();
        flags.push((CANCELLED, words));
    }
    if record::of_visit(tx, visit.id).await?.is_some() {
        let words = "The visit has another record already. Both are kept and both count; if the work was done once, \
            withdraw one of them.";
        flags.push((TWICE, words.to_owned()));
    }
    for product in replaced {
        let words = format!(
            "In the field another label entry of {product} was shown than the one in force on {on}; the record \
             names the one in force."
        );
        flags.push((REPLACED, words));
    }
    Ok(flags)
}

fn stop(
    doer: &Doer,
    today: NaiveDate,
    zone: Tz,
    sent: &Sent,
    c: &Completion,
    notes: &mut Vec<Note>,
) -> Result<Stop> {
    let finished = ours(sent, c.completed_at).with_timezone(&zone).date_naive();
    let mut on = c.stop.on.unwrap_or(finished);
    let mut lines: Vec<String> =
        Some(c.note.trim()).filter(|n| !n.is_empty()).map(str::to_owned).into_iter().collect();
    if on > today {
        lines.push(format!(
            "By the phone it was done on {on}, a day to come; it is entered for the day it came."
        ));
        let words = format!("The phone's day, {on}, is still to come.");
        notes.push(note("clock", words, "Set the phone's clock."));
        on = today;
    }
    if sent.ahead().abs() > CLOCK_SECONDS {
        let words = format!("The phone's clock is {} seconds off.", sent.ahead());
        notes.push(note("clock", words, "Set the phone's clock."));
    }
    let (mut started_at, mut finished_at) = (c.stop.started_at, c.stop.finished_at);
    if let (Some(from), Some(to)) = (started_at, finished_at)
        && to < from
    {
        let words = format!("It was sent with {from} as its start and {to} as its end, which do not fit.");
        lines.push(words.clone());
        notes.push(note("missing-field", words, "Amend the record."));
        (started_at, finished_at) = (None, None);
    }
    Ok(Stop {
        origin: "own".to_owned(),
        on,
        started_at,
        finished_at,
        applicator: Some(doer.person.ok_or(Error::NotFound)?),
        other_name: String::new(),
        other_certification: String::new(),
        supervisor: c.stop.supervisor,
        wind_direction: c.stop.wind_direction.map(wind).unwrap_or_default().to_owned(),
        wind_mph: c.stop.wind_mph,
        temperature_f: c.stop.temperature_f,
        area_treated_sqft: None,
        note: lines.join("\n"),
    })
}

/// A moment by the phone's clock, put right by what the clock was found to be off.
fn ours(sent: &Sent, at: DateTime<Utc>) -> DateTime<Utc> {
    let off = chrono::TimeDelta::try_seconds(sent.ahead()).unwrap_or_default();
    at.checked_sub_signed(off).unwrap_or(at)
}

fn skip(plant: &PlantDone, notes: &mut Vec<Note>) -> Skip {
    let mut reason = plant.reason.trim().to_owned();
    if reason.is_empty() {
        reason = "No reason was given in the field.".to_owned();
        let words = "A plant was skipped without a reason.";
        notes.push(note("missing-field", words, "Tell the office why."));
    }
    Skip { plant: plant.plant, label_use: plant.label_use, reason }
}

/// What one plant got. As planned is what the phone showed, and what was booked where it says nothing.
fn apply(plant: &PlantDone, dose: Option<&Dose>) -> Result<Applied> {
    let as_planned = dose.filter(|_| plant.did == Did::Planned);
    let amount = plant.amount.or(as_planned.map(|d| d.amount));
    let unit = plant.unit.clone().or(dose.map(|d| d.unit.clone()));
    let (Some(amount), Some(unit)) = (amount, unit) else {
        return Err(Error::refused("It does not say how much was applied, and no such dose is planned."));
    };
    if amount <= rust_decimal::Decimal::ZERO {
        return Err(Error::refused("An amount that was applied is above zero."));
    }
    let measure = plant.measure.or(dose.map(|d| d.measure));
    if measure.is_some_and(|m| m <= rust_decimal::Decimal::ZERO) {
        return Err(Error::refused("A height or diameter is above zero."));
    }
    Ok(Applied {
        plant: Some(plant.plant),
        words: String::new(),
        label_use: plant.label_use,
        measure,
        count: dose.map_or(1, |d| d.count),
        amount,
        unit,
        water: plant.water,
        water_unit: plant.water.map(|_| plant.water_unit.clone().unwrap_or_else(|| "cup".to_owned())),
        lot: plant.lot.trim().to_owned(),
    })
}

fn conditions(sent: &Sent, c: &Completion) -> Conditions {
    let micros = |at: DateTime<Utc>| chrono::SubsecRound::trunc_subsecs(at, 6);
    Conditions {
        bloom: c.site.bloom.map(|one| bloom(one).to_owned()),
        soil: c.site.soil.map(|one| soil(one).to_owned()),
        rain: c.site.rain.map(|one| rain(one).to_owned()),
        water_distance_ft: c.site.water_distance_ft,
        well_distance_ft: c.site.well_distance_ft,
        slope: c.site.slope.map(|one| slope(one).to_owned()),
        utility_ticket: c.site.utility_ticket.trim().to_owned(),
        neighbours_told: c
            .neighbours_told
            .iter()
            .map(|n| Told { who: n.who.clone(), at: micros(n.at) })
            .collect(),
        signs_posted: c.signs_posted,
        beneficials: c.beneficials.trim().to_owned(),
        pests: c.pests.trim().to_owned(),
        photos: c.photos.clone(),
        phone_completed_at: Some(micros(c.completed_at)),
        phone_sent_at: Some(micros(sent.sent_at)),
        clock_ahead_seconds: Some(sent.ahead()),
    }
}

fn wind(wind: Wind) -> &'static str {
    match wind {
        Wind::Calm => "calm",
        Wind::N => "N",
        Wind::NE => "NE",
        Wind::E => "E",
        Wind::SE => "SE",
        Wind::S => "S",
        Wind::SW => "SW",
        Wind::W => "W",
        Wind::NW => "NW",
    }
}

fn bloom(bloom: Bloom) -> &'static str {
    match bloom {
        Bloom::None => "none",
        Bloom::Some => "some",
        Bloom::Full => "full",
    }
}

fn soil(soil: Soil) -> &'static str {
    match soil {
        Soil::Dry => "dry",
        Soil::Moist => "moist",
        Soil::Saturated => "saturated",
        Soil::Frozen => "frozen",
    }
}

fn rain(rain: Rain) -> &'static str {
    match rain {
        Rain::None => "none",
        Rain::Expected => "expected",
        Rain::Falling => "falling",
    }
}

fn slope(slope: Slope) -> &'static str {
    match slope {
        Slope::Flat => "flat",
        Slope::Gentle => "gentle",
        Slope::Steep => "steep",
    }
}
