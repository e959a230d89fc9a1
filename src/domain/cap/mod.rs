//! The annual cap: how much of an ingredient the land may still get.
//!
//! The cap is a ledger of the land, not a rule per plant: it adds up the active
//! ingredient of every product and every use on the property (Purdue Extension
//! on per-acre restrictions says so). Comparisons are exact; a sum equal to the
//! cap is within it. What is left is rounded down when it is printed.

mod ledger;
mod room;
mod standing;

pub use ledger::{Basis, Ledger, Span, first_free};
pub use room::Room;
pub use standing::{CapStanding, Dated, EarlierUse, standings};

use super::dose::product_in;
use super::facts::SiteFacts;
use super::label::{Cap, CapOf, CapYear, Product};
use super::quantity::{Amount, AmountUnit, Exact, fixed_down, fixed_up};
use chrono::NaiveDate;

/// So many decimals people get to read; comparisons never see them.
const SHOWN_PLACES: usize = 2;

/// What is used or needed, for people: rounded up.
pub fn used_words(amount: &Exact) -> String {
    fixed_up(amount, SHOWN_PLACES)
}

/// What is allowed or left, for people: rounded down.
pub fn allowed_words(amount: &Exact) -> String {
    fixed_down(amount, SHOWN_PLACES)
}

/// A cap of some product, worked out for the land.
#[derive(Debug, Clone)]
pub struct SiteCap {
    /// As the label states it.
    pub cap: Cap,
    /// The product whose label states it.
    pub product: String,
    /// Grams (of product: millilitres, grams or pieces) allowed on this land in
    /// a year; none: no area is known.
    pub allowed: Option<Exact>,
}

impl SiteCap {
    /// The windows that this cap asks to be kept.
    pub fn bases(&self) -> &'static [Basis] {
        match self.cap.year {
            CapYear::Calendar => &[Basis::Calendar],
            CapYear::Rolling => &[Basis::Rolling],
            CapYear::Unstated => &[Basis::Calendar, Basis::Rolling],
        }
    }
}

/// An amount of a product and what it holds.
#[derive(Debug, Clone, Copy)]
pub struct Poured<'a> {
    /// The product.
    pub product: &'a Product,
    /// How much of it.
    pub amount: &'a Amount,
    /// Grams of each ingredient.
    pub ingredients: &'a [(String, Exact)],
}

/// A product that its own label caps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CappedProduct {
    /// Id of the product.
    pub id: String,
    /// Millilitres, grams or pieces: in what it is counted.
    pub unit: AmountUnit,
}

/// An ingredient or a product that some cap binds: its caps and all that was
/// or will be applied of it.
#[derive(Debug, Clone)]
pub struct Substance {
    /// Name of the ingredient; of the product, where that is what is counted.
    pub name: String,
    /// The product, where that is what is counted.
    pub product: Option<CappedProduct>,
    /// All caps on it, of whatever product; every one holds.
    pub caps: Vec<SiteCap>,
    /// Facts and reservations, in grams or as the product is counted.
    pub ledger: Ledger,
}

impl Substance {
    /// The days within `range` on which `grams` more would break a cap.
    pub fn barred(&self, grams: &Exact, range: Span) -> Vec<Span> {
        let mut spans = Vec::new();
        for cap in &self.caps {
            let Some(allowed) = &cap.allowed else { continue };
            for basis in cap.bases() {
                spans.extend(self.ledger.barred(*basis, &(allowed - grams), range));
            }
        }
        spans
    }

    /// The unit of its figures.
    pub fn unit(&self) -> &'static str {
        self.product.as_ref().map_or("g", |product| product.unit.code())
    }

    /// How much of it a dose holds; none: nothing that it counts.
    pub fn held(&self, poured: &Poured<'_>) -> Option<Exact> {
        match &self.product {
            None => {
                poured.ingredients.iter().find(|(name, _)| *name == self.name).map(|(_, grams)| grams.clone())
            }
            Some(capped) if capped.id == poured.product.id => {
                product_in(poured.product, poured.amount, capped.unit).ok()
            }
            Some(_) => None,
        }
    }

    /// Does any cap on it lack an area to be counted on?
    pub fn area_unknown(&self) -> bool {
        self.caps.iter().any(|cap| cap.allowed.is_none())
    }

    /// The least that is left under every cap in every window that holds
    /// `day`; below zero where facts broke a cap, none without an area.
    pub fn room_on(&self, day: NaiveDate) -> Option<Exact> {
        let windows = self.caps.iter().flat_map(|cap| cap.bases().iter().map(move |basis| (cap, *basis)));
        let rooms = windows.map(|(cap, basis)| {
            let (_, used) = self.ledger.fullest_window(basis, day);
            cap.allowed.as_ref().map(|allowed| allowed - used)
        });
        rooms.min_by(Option::cmp).flatten()
    }

    /// Which cap forbids `grams` more on `day`, in plain words.
    pub fn refusal_words(&self, grams: &Exact, day: NaiveDate, area: &str) -> Vec<String> {
        let mut words = Vec::new();
        for cap in &self.caps {
            let Some(allowed) = &cap.allowed else { continue };
            for basis in cap.bases() {
                let (window, used) = self.ledger.fullest_window(*basis, day);
                if &used + grams <= *allowed {
                    continue;
                }
                let unit = self.unit();
                words.push(format!(
                    "Annual cap of {}: {} on {area} is {} {unit} in {}. {} {unit} are applied, booked or meant for plants \
                     before it from {} to {}, this dose holds {} {unit}, together {} {unit}. Rule: label of {}.",
                    self.name,
                    cap.cap.words(),
                    allowed_words(allowed),
                    basis.words(),
                    used_words(&used),
                    window.from,
                    window.to,
                    used_words(grams),
                    used_words(&(&used + grams)),
                    cap.product,
                ));
            }
        }
        words
    }
}

/// The substances that any cap of these products binds, with empty ledgers, in
/// the order in which the labels state them.
pub fn substances(site: &SiteFacts, products: &[Product]) -> Vec<Substance> {
    let area = site.cap_area.as_ref().map(|area| area.square_metres());
    let mut found: Vec<Substance> = Vec::new();
    for product in products {
        for cap in &product.caps {
            let bound = SiteCap {
                cap: cap.clone(),
                product: product.words().to_owned(),
                allowed: area.as_ref().map(|area| cap.per_square_metre() * area),
            };
            let (name, capped) = match &cap.of {
                CapOf::Ingredient(name) => (name.clone(), None),
                CapOf::Product => {
                    let unit = cap.unit.base().1;
                    (product.words().to_owned(), Some(CappedProduct { id: product.id.clone(), unit }))
                }
            };
            let same = |one: &&mut Substance| one.product == capped && (capped.is_some() || one.name == name);
            match found.iter_mut().find(same) {
                Some(one) => one.caps.push(bound),
                None => found.push(Substance {
                    name,
                    product: capped,
                    caps: vec![bound],
                    ledger: Ledger::default(),
                }),
            }
        }
    }
    found
}
