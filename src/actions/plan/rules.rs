//! On which technicians' days the rules let a stop's doses be planned; what a stop takes from the truck.
use super::super::{Error, Result, visit as verbs};
use crate::{
    db::{
        Conn, fact,
        plan::{Day, Left},
        visit::{self, Bookable},
    },
    domain::{
        facts::Facts,
        permission::Applicator,
        plan::PlannedDose,
        quantity::{AmountUnit, Exact, floor_at, to_decimal},
    },
};
use chrono::NaiveDate;
use num_traits::Zero;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, HashMap, hash_map::Entry};
use uuid::Uuid;

/// A stop about which the rules are asked.
#[derive(Debug, Clone)]
pub struct Asked {
    pub stop: Uuid,
    pub site: Uuid,
    pub parcel: Uuid,
    pub state: String,
    /// Who answers for a technician without a certification, where somebody was named.
    pub supervisor: Option<Uuid>,
    pub doses: Doses,
}

/// What is to be applied there.
#[derive(Debug, Clone)]
pub enum Doses {
    /// The doses of a visit that is booked for that day; what it reserves does not stand in its own way.
    Booked(NaiveDate, Vec<Left>),
    /// These plants, all of them.
    All(Vec<Uuid>),
    /// As many of these plants as one day allows, the first ones before the others.
    Most(Vec<Uuid>),
}

/// The answer for one stop.
#[derive(Debug, Clone, Default)]
pub struct Fits {
    /// The plants that it is about.
    pub plants: Vec<Uuid>,
    /// How many single plants their records stand for.
    pub count: i32,
    /// Carrier water at the high end of the label, rounded up.
    pub water_gal: Decimal,
    /// Per day and technician: why not; nothing: it may be done.
    pub days: BTreeMap<(NaiveDate, Uuid), Option<String>>,
}

impl Fits {
    /// Why that technician may not do it that day; nothing: they may.
    #[must_use]
    pub fn why_not(&self, on: NaiveDate, technician: Uuid) -> Option<&str> {
        match self.days.get(&(on, technician)) {
            Some(why) => why.as_deref(),
            None => Some("This day is not part of the plan."),
        }
    }
}

/// What one day says of each plant.
type Answers = Vec<(Uuid, Result<PlannedDose, String>)>;

/// A technician's day, and what the rules know of the technician then.
type Who<'a> = (&'a Day, Applicator);

/// Asks the rules for every stop on every technician's day. Stops of one parcel share its caps: what an
/// earlier one takes is reserved before the next is asked about. Nothing is written.
///
/// # Errors
/// When the database does not answer, or a site is gone.
pub async fn fits(
    conn: &mut Conn,
    today: NaiveDate,
    days: &[Day],
    asked: &[Asked],
) -> Result<HashMap<Uuid, Fits>> {
    let mut by_parcel: BTreeMap<Uuid, Vec<&Asked>> = BTreeMap::new();
    for one in asked {
        by_parcel.entry(one.parcel).or_default().push(one);
    }
    let mut people: HashMap<(String, Option<Uuid>), Vec<Who<'_>>> = HashMap::new();
    let mut found = HashMap::new();
    let Some(last) = days.iter().map(|day| day.on_date).max() else { return Ok(found) };
    for (parcel, stops) in by_parcel {
        // A registration that ends within the week bars the days after its end, and no day before.
        let mut facts = fact::for_day(conn, parcel, today, last, Applicator::default()).await?;
        let mut plants: HashMap<Uuid, Vec<Bookable>> = HashMap::new();
        for one in stops {
            if let Entry::Vacant(free) = plants.entry(one.site) {
                free.insert(visit::bookable(conn, one.site).await?);
            }
            let key = (one.state.clone(), one.supervisor);
            if let Entry::Vacant(free) = people.entry(key.clone()) {
                free.insert(whoever(conn, days, one).await?);
            }
            let known = plants.get(&one.site).map(Vec::as_slice).unwrap_or_default();
            let people = people.get(&key).map(Vec::as_slice).unwrap_or_default();
            found.insert(one.stop, of_stop(&mut facts, known, one, people)?);
        }
    }
    Ok(found)
}

/// Each technician's day with the technician as the rules of the stop's state see them.
async fn whoever<'a>(conn: &mut Conn, days: &'a [Day], asked: &Asked) -> Result<Vec<Who<'a>>> {
    let mut all = vec![];
    for day in days {
        let supervisor = asked.supervisor.filter(|other| *other != day.technician_id);
        let who = fact::applicator(conn, day.technician_id, supervisor, &asked.state, day.on_date).await?;
        all.push((day, who));
    }
    Ok(all)
}

fn of_stop(facts: &mut Facts, known: &[Bookable], asked: &Asked, people: &[Who<'_>]) -> Result<Fits> {
    let wanted: Vec<(Uuid, Option<Decimal>)> = match &asked.doses {
        Doses::Booked(on, doses) => {
            doses.iter().for_each(|dose| verbs::forget(facts, (dose.plant_id, dose.label_use_id), *on));
            doses.iter().map(|dose| (dose.plant_id, Some(dose.rate))).collect()
        }
        Doses::All(plants) | Doses::Most(plants) => plants.iter().map(|plant| (*plant, None)).collect(),
    };
    let before = facts.reservations.len();
    let mut answers: Vec<(&Who<'_>, Answers)> = vec![];
    for who in people {
        let (day, applicator) = who;
        // Colleagues of whom the rules know the same get the same answer.
        let same =
            answers.iter().find(|((other, known), _)| other.on_date == day.on_date && known == applicator);
        if let Some((_, said)) = same {
            answers.push((who, said.clone()));
            continue;
        }
        facts.applicator = applicator.clone();
        answers.push((who, of_day(facts, known, &wanted, day.on_date)?));
        facts.reservations.truncate(before);
    }
    let good = |said: &Answers| said.iter().filter(|(_, answer)| answer.is_ok()).count();
    // Of the days that allow most, the first.
    let most = answers.iter().max_by_key(|((day, _), said)| (good(said), std::cmp::Reverse(day.on_date)));
    let Some((best, said)) = most else { return Ok(Fits::default()) };
    let chosen: Vec<Uuid> = match &asked.doses {
        Doses::Most(_) => said.iter().filter(|(_, a)| a.is_ok()).map(|(plant, _)| *plant).collect(),
        _ => wanted.iter().map(|(plant, _)| *plant).collect(),
    };
    let of = |((day, _), said): &(&Who<'_>, Answers)| {
        ((day.on_date, day.technician_id), why_not(said, &chosen, known))
    };
    let result = Fits {
        count: known.iter().filter(|p| chosen.contains(&p.plant_id)).map(|p| p.count).sum(),
        water_gal: water(said, &chosen),
        days: answers.iter().map(of).collect(),
        plants: chosen,
    };
    let kept: Vec<_> = wanted.iter().filter(|(plant, _)| result.plants.contains(plant)).copied().collect();
    facts.applicator = best.1.clone();
    of_day(facts, known, &kept, best.0.on_date)?;
    Ok(result)
}

/// Asks for each plant that day, each with the ones before it reserved.
fn of_day(
    facts: &mut Facts,
    known: &[Bookable],
    wanted: &[(Uuid, Option<Decimal>)],
    on: NaiveDate,
) -> Result<Answers> {
    let mut said = vec![];
    for (id, rate) in wanted {
        let plant = known.iter().find(|p| p.plant_id == *id).ok_or(Error::NotFound)?;
        said.push((*id, verbs::plan(facts, plant, *rate, on)?));
    }
    Ok(said)
}

/// Why not all of these plants get their dose that day.
fn why_not(said: &Answers, chosen: &[Uuid], known: &[Bookable]) -> Option<String> {
    if chosen.is_empty() {
        let all: Vec<String> =
            said.iter().filter_map(|(id, a)| Some(named(known, *id, a.as_ref().err()?))).collect();
        let nothing = "There is no plant to treat here any more.".to_owned();
        return Some(if all.is_empty() { nothing } else { all.join(" ") });
    }
    let refused = said.iter().filter(|(id, _)| chosen.contains(id));
    let refused: Vec<String> =
        refused.filter_map(|(id, a)| Some(named(known, *id, a.as_ref().err()?))).collect();
    (!refused.is_empty()).then(|| refused.join(" "))
}

fn named(known: &[Bookable], id: Uuid, words: &str) -> String {
    let plant = known.iter().find(|p| p.plant_id == id);
    plant.map_or_else(|| words.to_owned(), |p| format!("{}, {}: {words}", p.host_plant, p.place))
}

/// Gallons at the high end, rounded up to thousandths.
fn water(said: &Answers, chosen: &[Uuid]) -> Decimal {
    let Ok(gallon) = AmountUnit::from_code("gal") else { return Decimal::ZERO };
    let of = |dose: &PlannedDose| Some(dose.dose.water.as_ref()?.high.in_unit(gallon).ok()?.value);
    let good = said.iter().filter(|(id, _)| chosen.contains(id)).filter_map(|(_, a)| a.as_ref().ok());
    let sum: Exact = good.filter_map(of).fold(Exact::zero(), |sum, one| sum + one);
    let down = floor_at(&sum, 3);
    let up = if down == sum { Decimal::ZERO } else { Decimal::new(1, 3) };
    to_decimal(&down).map_or(Decimal::ZERO, |down| down + up)
}
