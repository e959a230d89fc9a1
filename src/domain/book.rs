//! The facts of one property with every reference looked up and every amount
//! turned into grams: what the due dates, plans and flags are worked out from.

use super::calendar::limit_start;
use super::cap::{CapStanding, Dated, Ledger, Poured, Substance, standings, substances};
use super::dose::{Dose, DoseError, Strengths, dose_with, product_in};
use super::facts::{Application, Facts, PlantFacts};
use super::hold::{Case, Repeat, repeats};
use super::label::{CapOf, Product, Use};
use super::quantity::{Amount, Exact};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// A fact that cannot be used, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{list}[{index}].{member}: {words}")]
pub struct FactError {
    /// `plants`, `history` or `reservations`.
    pub list: &'static str,
    /// Position in that list.
    pub index: usize,
    /// The member that is wrong.
    pub member: &'static str,
    /// What is wrong, in plain words.
    pub words: String,
}

/// An application or a booking, looked up.
#[derive(Debug, Clone)]
pub struct Entry<'a> {
    /// As it was given.
    pub fact: &'a Application,
    /// Its product.
    pub product: &'a Product,
    /// The use it followed, where one can be told.
    pub item: Option<&'a Use>,
    /// Grams of each ingredient.
    pub ingredients: Vec<(String, Exact)>,
}

/// A plant with its product, its use and its dose.
#[derive(Debug, Clone)]
pub struct Planting<'a> {
    /// As it was given.
    pub plant: &'a PlantFacts,
    /// The product of its use.
    pub product: &'a Product,
    /// The use meant for it.
    pub item: &'a Use,
    /// The dose at its rate.
    pub dose: Dose,
}

/// All facts of one property, looked up.
#[derive(Debug, Clone)]
pub struct Book<'a> {
    /// As they were given.
    pub facts: &'a Facts,
    /// The plants, in the order given.
    pub plantings: Vec<Planting<'a>>,
    /// What was applied, in the order given.
    pub applied: Vec<Entry<'a>>,
    /// What is booked, in the order given.
    pub booked: Vec<Entry<'a>>,
    /// Every ingredient that a cap binds, with facts and bookings.
    pub substances: Vec<Substance>,
}

struct Index<'a> {
    products: BTreeMap<&'a str, &'a Product>,
    uses: BTreeMap<&'a str, (&'a Product, &'a Use)>,
    plants: BTreeMap<&'a str, &'a PlantFacts>,
    strengths: Strengths,
}

impl<'a> Index<'a> {
    fn new(facts: &'a Facts) -> Self {
        let uses =
            facts.products.iter().flat_map(|product| product.uses.iter().map(move |item| (product, item)));
        Self {
            products: facts.products.iter().map(|product| (product.id.as_str(), product)).collect(),
            uses: uses.map(|(product, item)| (item.id.as_str(), (product, item))).collect(),
            plants: facts.plants.iter().map(|plant| (plant.id.as_str(), plant)).collect(),
            strengths: Strengths::default(),
        }
    }

    /// The use that an application followed: the one it names; else the
    /// plant's own if it belongs to that product; else the product's use that
    /// protects longest.
    fn use_of(&self, fact: &Application, product: &'a Product) -> Option<&'a Use> {
        if let Some(id) = fact.use_id.as_deref() {
            return product.find_use(id);
        }
        let plant = fact.plant.as_deref().and_then(|id| self.plants.get(id));
        plant
            .and_then(|plant| product.find_use(&plant.use_id))
            .or_else(|| product.uses.iter().max_by_key(|item| item.protection.end(fact.on)))
    }

    fn entry(&self, fact: &'a Application) -> Result<Entry<'a>, (&'static str, String)> {
        let product = *self
            .products
            .get(fact.product.as_str())
            .ok_or_else(|| ("product", format!("no product {}", fact.product)))?;
        if let Some(id) = fact.use_id.as_deref()
            && product.find_use(id).is_none()
        {
            return Err(("use", format!("{} is no use of {}", id, product.id)));
        }
        let ingredients = self
            .strengths
            .ingredients(product, &fact.amount)
            .map_err(|error| ("amount", error.to_string()))?;
        counted(product, &fact.amount).map_err(|error| ("amount", error.to_string()))?;
        Ok(Entry { fact, product, item: self.use_of(fact, product), ingredients })
    }

    fn planting(&self, plant: &'a PlantFacts) -> Result<Planting<'a>, (&'static str, String)> {
        let (product, item) = *self
            .uses
            .get(plant.use_id.as_str())
            .ok_or_else(|| ("use", format!("no use {}", plant.use_id)))?;
        let dose =
            dose_with(&self.strengths, product, item, &plant.measure, plant.count, plant.rate.as_ref())
                .map_err(|error| ("use", error.to_string()))?;
        counted(product, &dose.product).map_err(|error| ("use", error.to_string()))?;
        Ok(Planting { plant, product, item, dose })
    }
}

/// Can the caps that count this product count this amount of it?
fn counted(product: &Product, amount: &Amount) -> Result<(), DoseError> {
    let mut own = product.caps.iter().filter(|cap| cap.of == CapOf::Product);
    own.try_for_each(|cap| product_in(product, amount, cap.unit.base().1).map(drop))
}

fn gather<'a, F, T>(
    list: &'static str,
    facts: &'a [F],
    errors: &mut Vec<FactError>,
    look_up: impl Fn(&'a F) -> Result<T, (&'static str, String)>,
) -> Vec<T> {
    let mut found = Vec::with_capacity(facts.len());
    for (index, fact) in facts.iter().enumerate() {
        match look_up(fact) {
            Ok(one) => found.push(one),
            Err((member, words)) => errors.push(FactError { list, index, member, words }),
        }
    }
    found
}

impl<'a> Book<'a> {
    /// Looks everything up.
    ///
    /// # Errors
    /// Every reference that leads nowhere and every amount whose unit does not
    /// fit its product. A plant that is not among the facts is no error: its
    /// applications count in the ledger.
    pub fn new(facts: &'a Facts) -> Result<Self, Vec<FactError>> {
        let index = Index::new(facts);
        let mut errors = Vec::new();
        let plantings = gather("plants", &facts.plants, &mut errors, |plant| index.planting(plant));
        let applied = gather("history", &facts.history, &mut errors, |fact| index.entry(fact));
        let booked = gather("reservations", &facts.reservations, &mut errors, |fact| index.entry(fact));
        if !errors.is_empty() {
            return Err(errors);
        }
        let mut book =
            Self { facts, plantings, applied, booked, substances: substances(&facts.site, &facts.products) };
        for entry in book.applied.iter().chain(&book.booked) {
            post(&mut book.substances, entry.fact.on, &entry.poured());
        }
        Ok(book)
    }

    /// The plant of that id.
    pub fn planting(&self, id: &str) -> Option<&Planting<'a>> {
        self.plantings.iter().find(|one| one.plant.id == id)
    }

    /// Days on which a plant got a product, or is booked for it.
    pub fn days_of(entries: &[Entry<'_>], plant: &str, product: &str) -> Vec<NaiveDate> {
        entries.iter().filter(|entry| entry.is_for(plant, product)).map(|entry| entry.fact.on).collect()
    }

    /// The uses of the plant, made or booked, whose mode of action this planting
    /// repeats.
    pub fn repeats_of(&self, one: &Planting<'_>) -> Vec<Repeat> {
        let own = self.applied.iter().chain(&self.booked);
        let own = own.filter(|entry| entry.fact.plant.as_deref() == Some(one.plant.id.as_str()));
        repeats(own, one.product, one.item)
    }

    /// The question whether this planting may get its dose.
    pub fn case<'c>(
        &'c self,
        one: &'c Planting<'a>,
        substances: &'c [Substance],
        past: &'c [NaiveDate],
        booked: &'c [NaiveDate],
        repeats: &'c [Repeat],
    ) -> Case<'c> {
        Case {
            site: &self.facts.site,
            applicator: &self.facts.applicator,
            plant: Some(one.plant),
            product: one.product,
            item: Some(one.item),
            poured: one.poured(),
            substances,
            past,
            booked,
            repeats,
        }
    }

    /// Where each cap stands today.
    pub fn standings(&self) -> Vec<CapStanding> {
        // No window that today lies in reaches farther back.
        let first = limit_start(self.facts.today);
        let dated = |entries: &[Entry<'_>], substance: &Substance| {
            let mut ledger = Ledger::default();
            for entry in entries.iter().filter(|entry| entry.fact.on >= first) {
                let held = substance.held(&entry.poured());
                held.into_iter().for_each(|amount| ledger.add(entry.fact.on, &amount));
            }
            ledger
        };
        let all: Vec<Dated<'_>> = self
            .substances
            .iter()
            .map(|substance| Dated {
                substance,
                applied: dated(&self.applied, substance),
                booked: dated(&self.booked, substance),
            })
            .collect();
        standings(&all, self.facts.today, self.facts.site.history_known_from)
    }
}

impl Planting<'_> {
    /// What its dose pours.
    pub fn poured(&self) -> Poured<'_> {
        Poured { product: self.product, amount: &self.dose.product, ingredients: &self.dose.ingredients }
    }
}

impl Entry<'_> {
    /// What was poured.
    pub fn poured(&self) -> Poured<'_> {
        Poured { product: self.product, amount: &self.fact.amount, ingredients: &self.ingredients }
    }

    /// Did this plant get this product?
    pub fn is_for(&self, plant: &str, product: &str) -> bool {
        self.fact.plant.as_deref() == Some(plant) && self.product.id == product
    }

    /// Grams of an ingredient, if the product holds it.
    pub fn grams_of(&self, name: &str) -> Option<&Exact> {
        self.ingredients.iter().find(|(held, _)| held == name).map(|(_, grams)| grams)
    }

    /// The day on which its protection ends.
    pub fn protected_until(&self) -> Option<NaiveDate> {
        self.item.map(|item| item.protection.end(self.fact.on))
    }
}

/// Writes what is poured into the ledgers of a day.
pub fn post(substances: &mut [Substance], on: NaiveDate, poured: &Poured<'_>) {
    for substance in substances {
        if let Some(held) = substance.held(poured) {
            substance.ledger.add(on, &held);
        }
    }
}

/// Takes what [`post`] wrote out again.
pub fn unpost(substances: &mut [Substance], on: NaiveDate, poured: &Poured<'_>) {
    for substance in substances {
        if let Some(held) = substance.held(poured) {
            substance.ledger.remove(on, &held);
        }
    }
}
