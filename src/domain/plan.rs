//! May a dose be planned for a day? Yes with the dose, or no with each reason
//! and the way out.

use super::book::{Book, FactError, Planting};
use super::calendar::add_months;
use super::cap::{Poured, Span, Substance};
use super::dose::{Dose, dose, grams_per_unit};
use super::due::{HORIZON_MONTHS, first_allowed};
use super::facts::{Facts, PlantFacts};
use super::hold::{Case, Rule, bars, cautions, repeats, words};
use super::label::{Product, Use};
use super::quantity::{Amount, Exact, floor_at, plain};
use chrono::NaiveDate;
use num_bigint::BigInt;
use num_traits::One;

/// What is to be planned.
#[derive(Debug, Clone, Copy)]
pub struct Ask<'a> {
    /// The plant.
    pub plant: &'a str,
    /// The use; none: the one meant for the plant.
    pub use_id: Option<&'a str>,
    /// The rate; none: the plant's, else the lowest.
    pub rate: Option<&'a Exact>,
    /// The day.
    pub on: NaiveDate,
}

/// A dose that keeps every rule on its day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlannedDose {
    /// The dose.
    pub dose: Dose,
    /// What must be kept in mind, such as state rules and days before harvest.
    pub cautions: Vec<String>,
}

/// Why a plan is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The rule that it would break.
    pub rule: Rule,
    /// How, in plain words, with figures and source.
    pub words: String,
    /// What would do instead, where something would.
    pub way_out: Option<String>,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// The facts do not fit together.
    #[error("the facts of this property do not fit together")]
    Facts(Vec<FactError>),
    /// The plant or the use is not among the facts.
    #[error("no {0} of that id")]
    Unknown(&'static str),
    /// Every rule that the plan would break.
    #[error("the plan would break a rule")]
    Refused(Vec<Refusal>),
}

/// May this dose be planned for that day? All facts and all reservations
/// count, those of the same plant included; a caller who moves a booking
/// leaves the old one out.
///
/// # Errors
/// [`PlanError`], with every rule that the plan would break and the way out.
pub fn may_plan(facts: &Facts, ask: &Ask<'_>) -> Result<PlannedDose, PlanError> {
    let book = Book::new(facts).map_err(PlanError::Facts)?;
    may_plan_in(&book, ask)
}

/// [`may_plan`] for facts that are already looked up, as when a whole visit is
/// planned.
///
/// # Errors
/// As [`may_plan`].
pub fn may_plan_in(book: &Book<'_>, ask: &Ask<'_>) -> Result<PlannedDose, PlanError> {
    let one = planting(book, ask)?;
    if !one.item.rate.holds(&one.dose.rate) {
        return Err(PlanError::Refused(vec![outside_band(&one)]));
    }
    let past = Book::days_of(&book.applied, ask.plant, &one.product.id);
    let booked = Book::days_of(&book.booked, ask.plant, &one.product.id);
    let repeats = book.repeats_of(&one);
    let case = book.case(&one, &book.substances, &past, &booked, &repeats);
    let horizon = add_months(book.facts.today, HORIZON_MONTHS);
    let bars = bars(&case, Span { from: ask.on, to: horizon.max(ask.on) });
    let broken: Vec<Rule> = bars.iter().filter(|bar| bar.holds(ask.on)).map(|bar| bar.rule).collect();
    if broken.is_empty() {
        return Ok(PlannedDose { cautions: cautions(&case, ask.on), dose: one.dose.clone() });
    }
    let later = first_allowed(&bars, Span { from: ask.on, to: horizon });
    let refusals = broken.into_iter().map(|rule| Refusal {
        rule,
        words: words(&case, rule, ask.on).join(" "),
        way_out: way_out(&case, &one, rule, ask.on, later),
    });
    Err(PlanError::Refused(refusals.collect()))
}

fn planting<'a>(book: &Book<'a>, ask: &Ask<'_>) -> Result<Planting<'a>, PlanError> {
    let known = book.planting(ask.plant).ok_or(PlanError::Unknown("plant"))?;
    let id = ask.use_id.unwrap_or(&known.item.id);
    let (product, item) = find_use(&book.facts.products, id).ok_or(PlanError::Unknown("use"))?;
    let same_use = id == known.item.id;
    let rate = ask.rate.or(known.plant.rate.as_ref().filter(|_| same_use));
    let dose = dose(product, item, &known.plant.measure, known.plant.count, rate)
        .map_err(|_| PlanError::Unknown("strength"))?;
    Ok(Planting { plant: known.plant, product, item, dose })
}

fn find_use<'a>(products: &'a [Product], id: &str) -> Option<(&'a Product, &'a Use)> {
    products.iter().find_map(|product| Some((product, product.find_use(id)?)))
}

fn outside_band(one: &Planting<'_>) -> Refusal {
    let band = &one.item.rate;
    let unit = band.unit.code();
    let per = one.item.measure.unit_words();
    Refusal {
        rule: Rule::RateBand,
        words: format!(
            "{} {unit} per {per} is outside the band of {} to {} {unit} per {per} on the label of {}.",
            plain(&one.dose.rate),
            plain(&band.low),
            plain(&band.high),
            one.product.words()
        ),
        way_out: Some(format!(
            "Choose a rate from {} to {} {unit} per {per}.",
            plain(&band.low),
            plain(&band.high)
        )),
    }
}

fn way_out(
    case: &Case<'_>,
    one: &Planting<'_>,
    rule: Rule,
    day: NaiveDate,
    later: Option<NaiveDate>,
) -> Option<String> {
    let mut ways = Vec::new();
    if rule == Rule::Cap {
        ways.extend(less(case, one, day));
    }
    let fixed = match rule {
        Rule::LabelUnsigned => {
            Some("Let a person with a current certification check and sign the label entry.")
        }
        Rule::AreaUnknown => Some("Let a licensed person choose the area that caps are counted on."),
        Rule::FoodPlant => {
            Some("Choose a product whose label covers food plants, or ask whether anybody eats from it.")
        }
        Rule::NotRegistered => Some("Choose a product that is registered in the state on the day."),
        Rule::HostExcluded => Some("Choose a product whose label does not exclude this plant."),
        Rule::Permission => Some("Choose an ingredient or an applicator that the state allows."),
        _ => None,
    };
    ways.extend(fixed.map(str::to_owned));
    ways.extend(later.map(|later| format!("The first day that keeps every rule with this dose is {later}.")));
    if ways.is_empty() {
        ways.push("Choose another ingredient or method.".to_owned());
    }
    Some(ways.join(" "))
}

/// A lower rate within the band, or fewer plants, that the cap still allows.
fn less(case: &Case<'_>, one: &Planting<'_>, day: NaiveDate) -> Vec<String> {
    let band = &one.item.rate;
    let (unit, per) = (band.unit.code(), one.item.measure.unit_words());
    let Some(most) = most_product(case, one, day) else { return Vec::new() };
    let mut ways = Vec::new();
    let each = &most / &one.plant.measure;
    let rate = floor_at(&(&each / BigInt::from(one.plant.count)), 4);
    if rate >= band.low && rate < one.dose.rate {
        ways.push(format!("A rate of at most {} {unit} per {per} fits.", plain(&rate)));
    }
    let lowest = (band.low < one.dose.rate).then_some((&band.low, "the lowest rate"));
    for (rate, words) in [(&one.dose.rate, "this rate")].into_iter().chain(lowest) {
        let fits = (&each / rate).floor().to_integer();
        if fits >= BigInt::from(1) && fits < BigInt::from(one.plant.count) {
            ways.push(format!("At {words} {fits} of the {} plants fit.", one.plant.count));
        }
    }
    ways
}

/// The most product, in the rate's unit, that every cap leaves for that day.
fn most_product(case: &Case<'_>, one: &Planting<'_>, day: NaiveDate) -> Option<Exact> {
    let mut most: Option<Exact> = None;
    for ingredient in &one.product.ingredients {
        let same = |bound: &&Substance| bound.product.is_none() && bound.name == ingredient.name;
        let Some(substance) = case.substances.iter().find(same) else {
            continue;
        };
        let per_unit = grams_per_unit(one.product, ingredient, one.item.rate.unit).ok()?;
        let fits = substance.room_on(day)? / per_unit;
        most = Some(most.map_or(fits.clone(), |most| most.min(fits)));
    }
    let of_product =
        |capped: &&Substance| capped.product.as_ref().is_some_and(|one| one.id == case.product.id);
    for substance in case.substances.iter().filter(of_product) {
        let one = Amount::new(Exact::one(), one.item.rate.unit);
        let fits = substance.room_on(day)? / substance.held(&Poured { amount: &one, ..case.poured })?;
        most = Some(most.map_or(fits.clone(), |most| most.min(fits)));
    }
    most
}

/// What a recorded application broke.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flag {
    /// The rule.
    pub rule: Rule,
    /// How, in plain words, with figures and source.
    pub words: String,
}

/// What the application at `position` of the history broke, judged with every
/// other fact, earlier or later. Bookings do not count: they can give way.
/// A fact is never refused; its flags stay until a licensed person answers.
///
/// # Errors
/// Facts that do not fit together; see [`Book::new`].
pub fn flags(facts: &Facts, position: usize) -> Result<Vec<Flag>, Vec<FactError>> {
    let mut others = facts.clone();
    others.reservations.clear();
    if position >= others.history.len() {
        return Ok(Vec::new());
    }
    others.history.remove(position);
    let whole = Book::new(facts)?;
    let rest = Book::new(&others)?;
    let entry = &whole.applied[position];
    let on = entry.fact.on;
    let planting = entry.fact.plant.as_deref().and_then(|id| whole.planting(id));
    let mut past = Vec::new();
    if let Some(id) = entry.fact.plant.as_deref() {
        past = Book::days_of(&rest.applied, id, &entry.product.id);
    }
    let others = rest.applied.iter().filter(|other| {
        entry.fact.plant.is_some() && other.fact.plant == entry.fact.plant && other.fact.on <= on
    });
    let repeats = entry.item.map_or_else(Vec::new, |item| repeats(others, entry.product, item));
    let (earlier, later): (Vec<_>, Vec<_>) = past.into_iter().partition(|day| *day <= on);
    let case = Case {
        site: &facts.site,
        applicator: &facts.applicator,
        plant: planting.map(|one| one.plant),
        product: entry.product,
        item: entry.item,
        poured: entry.poured(),
        substances: &rest.substances,
        past: &earlier,
        booked: &later,
        repeats: &repeats,
    };
    let bars = bars(&case, Span { from: on, to: on });
    let mut flags: Vec<Flag> = bars
        .iter()
        .filter(|bar| bar.holds(on))
        .map(|bar| Flag { rule: bar.rule, words: words(&case, bar.rule, on).join(" ") })
        .collect();
    flags.extend(planting.and_then(|one| band_flag(one.plant, &whole, position)));
    Ok(flags)
}

/// Was more or less poured than the band allows for the plant's measure?
fn band_flag(plant: &PlantFacts, book: &Book<'_>, position: usize) -> Option<Flag> {
    let entry = &book.applied[position];
    let item = entry.item?;
    let own = dose(entry.product, item, &plant.measure, plant.count, None).ok()?;
    let poured = entry.fact.amount.in_unit(item.rate.unit).ok()?;
    if own.low.value <= poured.value && poured.value <= own.high.value {
        return None;
    }
    Some(Flag {
        rule: Rule::RateBand,
        words: format!(
            "{} was applied; the band of this use for {} {} is {} to {}. Rule: label of {}.",
            entry.fact.amount.words(),
            plain(&(&plant.measure * BigInt::from(plant.count))),
            item.measure.unit_words(),
            own.low.words(),
            own.high.words(),
            entry.product.words()
        ),
    })
}
