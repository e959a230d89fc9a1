//! Ways out when the cap or a rule holds a plant: less of the same, another
//! product, another method, or a part now and a part in a later year.
//!
//! Each is worked out as if it alone were chosen: every other plant keeps the
//! day that it would get, so no way out takes anything from another plant.

use super::book::{Book, FactError, Planting};
use super::calendar::{add_days, add_months, limit_end};
use super::cap::{Span, Substance};
use super::dose::{Dose, dose, grams_per_unit};
use super::due::{HORIZON_MONTHS, days, first_allowed};
use super::facts::{Application, Facts, PlantFacts};
use super::hold::{Bar, bars, repeat_cautions};
use super::label::{MeasureBasis, Product, Use};
use super::quantity::{AmountUnit, Exact, floor_at, plain};
use chrono::NaiveDate;
use num_bigint::BigInt;
use num_traits::ToPrimitive;

/// What is done differently.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A lower rate inside the band.
    LowerRate,
    /// The same ingredient by another method.
    OtherMethod,
    /// A product without the ingredients of this one.
    OtherProduct,
    /// A part now, the rest in a later year.
    Split,
}

impl Kind {
    /// The code used in forms and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::LowerRate => "lower-rate",
            Self::OtherMethod => "other-method",
            Self::OtherProduct => "other-product",
            Self::Split => "split",
        }
    }
}

/// What a product costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Price {
    /// The product.
    pub product: String,
    /// For one `unit`, in any currency.
    pub amount: Exact,
    /// The unit.
    pub unit: AmountUnit,
}

/// A dose and its day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The first day that keeps every rule.
    pub allowed_on: NaiveDate,
    /// When it is due.
    pub due_on: NaiveDate,
    /// How many of the alike plants.
    pub count: u32,
    /// The dose for all of them.
    pub dose: Dose,
}

/// One way out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WayOut {
    /// What is done differently.
    pub kind: Kind,
    /// Id of the product.
    pub product: String,
    /// Id of the use.
    pub use_id: String,
    /// One part, or two where it is split.
    pub parts: Vec<Part>,
    /// Days without protection until the last part works.
    pub gap_days: i64,
    /// Price of all parts, where the product's is known.
    pub cost: Option<Exact>,
    /// In plain words.
    pub words: String,
    /// What speaks against it without forbidding it.
    pub warnings: Vec<String>,
}

/// What else is known for finding ways out.
#[derive(Debug, Clone, Copy, Default)]
pub struct Means<'a> {
    /// Products beside those among the facts.
    pub products: &'a [Product],
    /// Other measures of the plant, such as its diameter beside its height.
    pub measures: &'a [(MeasureBasis, Exact)],
    /// Prices.
    pub prices: &'a [Price],
    /// Ids of the uses that may be offered; none: every use of a signed product.
    pub offered: Option<&'a [String]>,
}

/// The ways out for a plant, those with the fewest days without protection and
/// the earliest day first. None where it is not held back, or not known.
///
/// # Errors
/// Facts that do not fit together; see [`Book::new`].
pub fn ways_out(facts: &Facts, plant: &str, means: &Means<'_>) -> Result<Vec<WayOut>, Vec<FactError>> {
    let book = Book::new(facts)?;
    let all = days(&book, facts.site.sharing);
    let Some(held) = all.iter().find(|due| due.plant == plant && !due.held_by.is_empty()) else {
        return Ok(Vec::new());
    };
    let alone = alone(facts, &book, plant, &all, means.products);
    let book = Book::new(&alone)?;
    let Some(own) = book.planting(plant) else { return Ok(Vec::new()) };
    let wanted = Wanted {
        book: &book,
        means,
        first: held.wanted_on.max(facts.today),
        wanted_on: held.wanted_on,
        protected_until: held.protected_until,
    };
    let mut found = wanted.lower_rate(own);
    found.extend(wanted.others(own));
    found.extend(wanted.split(own));
    // The same with the same dose on the same day is no way out.
    found.retain(|way| {
        way.kind != Kind::LowerRate || held.allowed_on.is_none_or(|day| way.parts[0].allowed_on < day)
    });
    found.sort_by_key(|way| (way.gap_days, way.parts[0].allowed_on, way.kind, way.use_id.clone()));
    Ok(found)
}

/// The facts with every other plant's day as a reservation, and with the
/// products that might be used.
fn alone(
    facts: &Facts,
    book: &Book<'_>,
    plant: &str,
    all: &[super::due::Due],
    products: &[Product],
) -> Facts {
    let mut alone = facts.clone();
    for due in all.iter().filter(|due| due.plant != plant && due.booked_on.is_none()) {
        let planting = book.planting(&due.plant);
        if let (Some(on), Some(planting)) = (due.allowed_on, planting) {
            alone.reservations.push(Application {
                plant: Some(due.plant.clone()),
                product: planting.product.id.clone(),
                use_id: Some(planting.item.id.clone()),
                on,
                amount: due.dose.product.clone(),
            });
        }
    }
    for product in products {
        if alone.products.iter().all(|known| known.id != product.id) {
            alone.products.push(product.clone());
        }
    }
    alone.reservations.retain(|booked| {
        booked.plant.as_deref() != Some(plant)
            || book.planting(plant).is_none_or(|one| one.product.id != booked.product)
    });
    alone
}

struct Wanted<'w, 'a> {
    book: &'w Book<'a>,
    means: &'w Means<'w>,
    first: NaiveDate,
    wanted_on: NaiveDate,
    protected_until: Option<NaiveDate>,
}

/// A dose that is thought of, with its rules.
struct Thought<'a> {
    planting: Planting<'a>,
    bars: Vec<Bar>,
    day: Option<NaiveDate>,
    warnings: Vec<String>,
}

impl<'a> Wanted<'_, 'a> {
    fn lower_rate(&self, own: &Planting<'a>) -> Vec<WayOut> {
        let band = &own.item.rate;
        let mut rates = vec![band.low.clone()];
        let times = &own.plant.measure * BigInt::from(own.plant.count);
        if let Some(most) = most_product(&self.book.substances, own, self.first) {
            rates.push(floor_at(&(most / times), 4));
        }
        rates.retain(|rate| band.holds(rate) && *rate < own.dose.rate);
        rates.sort_unstable();
        rates.dedup();
        let mut found: Vec<WayOut> = Vec::new();
        // The highest rate of those that come as early is the better dose.
        for rate in rates.iter().rev() {
            let thought =
                self.think(own.plant, own.product, own.item, &own.plant.measure, Some(rate), own.plant.count);
            let way = thought.and_then(|thought| self.way(Kind::LowerRate, vec![thought]));
            let earlier = |way: &WayOut| {
                found.iter().all(|known: &WayOut| way.parts[0].allowed_on < known.parts[0].allowed_on)
            };
            found.extend(way.filter(earlier));
        }
        found
    }

    fn others(&self, own: &Planting<'a>) -> Vec<WayOut> {
        let mut found = Vec::new();
        for product in self.book.facts.products.iter().filter(|product| product.signed) {
            let shares = product
                .ingredients
                .iter()
                .any(|one| own.dose.ingredients.iter().any(|(name, _)| *name == one.name));
            let kind = if shares { Kind::OtherMethod } else { Kind::OtherProduct };
            for item in product.uses.iter().filter(|item| item.id != own.item.id) {
                if self.means.offered.is_some_and(|offered| !offered.contains(&item.id)) {
                    continue;
                }
                if kind == Kind::OtherMethod && item.method == own.item.method {
                    continue;
                }
                let Some(measure) = self.measure(own, item) else { continue };
                let thought = self.think(own.plant, product, item, &measure, None, own.plant.count);
                found.extend(thought.and_then(|thought| self.way(kind, vec![thought])));
            }
        }
        found
    }

    fn measure(&self, own: &Planting<'_>, item: &Use) -> Option<Exact> {
        if item.measure == own.item.measure {
            return Some(own.plant.measure.clone());
        }
        if item.measure.is_count() {
            return Some(Exact::from(BigInt::from(1)));
        }
        self.means
            .measures
            .iter()
            .find(|(basis, _)| *basis == item.measure)
            .map(|(_, measure)| measure.clone())
    }

    /// Some of the alike plants now and the others later, or half the rate
    /// twice where half is still inside the band.
    fn split(&self, own: &Planting<'a>) -> Vec<WayOut> {
        let (plant, product, item) = (own.plant, own.product, own.item);
        let think = |book: &Book<'a>, rate: &Exact, count: u32| {
            let other = Wanted { book, ..*self };
            other.think(plant, product, item, &plant.measure, Some(rate), count)
        };
        let each = &own.dose.rate * &plant.measure;
        let most = most_product(&self.book.substances, own, self.first);
        let fits = most.and_then(|most| (most / each).floor().to_integer().to_u32()).unwrap_or(0);
        let half = &own.dose.rate / BigInt::from(2);
        let (rate, counts) = if plant.count > 1 && (1..plant.count).contains(&fits) {
            (own.dose.rate.clone(), [fits, plant.count - fits])
        } else if item.rate.holds(&half) && !item.rate.unit.is_piece() {
            (half, [plant.count, plant.count])
        } else {
            return Vec::new();
        };
        let Some(first) = think(self.book, &rate, counts[0]) else { return Vec::new() };
        let Some(day) = first.day else { return Vec::new() };
        let mut later = self.book.clone();
        super::book::post(&mut later.substances, day, &first.planting.poured());
        let Some(mut second) = think(&later, &rate, counts[1]) else { return Vec::new() };
        // Only the year after is a split over two years.
        let next = Span { from: limit_end(day), to: self.horizon() };
        second.day = first_allowed(&second.bars, next);
        self.way(Kind::Split, vec![first, second]).into_iter().collect()
    }

    fn horizon(&self) -> NaiveDate {
        add_months(self.book.facts.today, HORIZON_MONTHS)
    }

    fn think(
        &self,
        plant: &'a PlantFacts,
        product: &'a Product,
        item: &'a Use,
        measure: &Exact,
        rate: Option<&Exact>,
        count: u32,
    ) -> Option<Thought<'a>> {
        let dose = dose(product, item, measure, count, rate).ok()?;
        let planting = Planting { plant, product, item, dose };
        let past = Book::days_of(&self.book.applied, &plant.id, &product.id);
        let booked = Book::days_of(&self.book.booked, &plant.id, &product.id);
        let range = Span { from: self.first, to: self.horizon().max(self.first) };
        let repeats = self.book.repeats_of(&planting);
        let case = self.book.case(&planting, &self.book.substances, &past, &booked, &repeats);
        let bars = bars(&case, range);
        let day = first_allowed(&bars, Span { from: self.first, to: self.horizon() });
        let warnings = repeat_cautions(&repeats);
        Some(Thought { bars, day, warnings, planting })
    }

    fn way(&self, kind: Kind, thoughts: Vec<Thought<'_>>) -> Option<WayOut> {
        let last = thoughts.last()?;
        let works = add_days(last.day?, last.planting.item.uptake_days);
        let gap_days = self.protected_until.map_or(0, |end| (works - end).num_days().max(0));
        let (product, item) = (last.planting.product, last.planting.item);
        let (product_id, use_id) = (product.id.clone(), item.id.clone());
        let warnings = last.warnings.clone();
        let parts: Option<Vec<Part>> = thoughts.iter().map(|thought| self.part(thought)).collect();
        let parts = parts?;
        let cost = parts.iter().map(|part| self.cost(product, part)).sum::<Option<Exact>>();
        Some(WayOut {
            words: words(kind, product, item, &parts),
            kind,
            product: product_id,
            use_id,
            parts,
            gap_days,
            cost,
            warnings,
        })
    }

    fn part(&self, thought: &Thought<'_>) -> Option<Part> {
        let allowed_on = thought.day?;
        let one = &thought.planting;
        let each = &one.dose.low.value / &one.item.rate.low;
        let count = each / self.measure(one, one.item).unwrap_or_else(|| one.plant.measure.clone());
        Some(Part {
            allowed_on,
            due_on: if allowed_on == self.first { self.wanted_on } else { allowed_on },
            count: count.to_integer().to_u32().unwrap_or(one.plant.count),
            dose: one.dose.clone(),
        })
    }

    fn cost(&self, product: &Product, part: &Part) -> Option<Exact> {
        let price = self.means.prices.iter().find(|price| price.product == product.id)?;
        Some(part.dose.product.in_unit(price.unit).ok()?.value * &price.amount)
    }
}

/// The most product that every cap leaves on that day; none: no cap, or no area.
fn most_product(substances: &[Substance], one: &Planting<'_>, day: NaiveDate) -> Option<Exact> {
    let room = |ingredient: &super::label::Ingredient| {
        let substance = substances.iter().find(|s| s.product.is_none() && s.name == ingredient.name)?;
        Some(substance.room_on(day)? / grams_per_unit(one.product, ingredient, one.item.rate.unit).ok()?)
    };
    one.product.ingredients.iter().filter_map(room).min()
}

fn words(kind: Kind, product: &Product, item: &Use, parts: &[Part]) -> String {
    let method = item.method.replace('-', " ");
    let first = &parts[0];
    let rate =
        format!("{} {} per {}", plain(&first.dose.rate), item.rate.unit.code(), item.measure.unit_words());
    match kind {
        Kind::LowerRate => {
            format!("{} at {rate}: {} on {}.", product.words(), first.dose.product.words(), first.allowed_on)
        }
        Kind::OtherMethod | Kind::OtherProduct => format!(
            "{} by {method} at {rate}: {} on {}.",
            product.words(),
            first.dose.product.words(),
            first.allowed_on
        ),
        Kind::Split => {
            let part = |part: &Part| {
                format!("{} for {} on {}", part.dose.product.words(), part.count, part.allowed_on)
            };
            let all: Vec<String> = parts.iter().map(part).collect();
            format!("{} at {rate} in two parts: {}.", product.words(), all.join(", then "))
        }
    }
}
