//! What a stop may still take: the room that every cap leaves, and how much of it a product takes. Both are
//! exact and add up over products that hold the same ingredient, wherever the sums are made.

use super::{CapStanding, CappedProduct, Poured, Substance};
use crate::domain::book::Book;
use crate::domain::dose::ingredients;
use crate::domain::label::Product;
use crate::domain::quantity::{Amount, AmountUnit, Exact};
use num_traits::{One, Zero};

/// The room under the caps on one ingredient or product.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Room {
    /// Says what is counted; the same for every visit to the land.
    pub key: String,
    /// Grams, or units of the product, that the tightest cap leaves when all that is booked is applied; below
    /// zero where a cap is broken, none without an area.
    pub free: Option<Exact>,
}

/// The key of an ingredient or of a product that its label caps: an ingredient's name holds no slash.
fn key(name: &str, product: Option<&CappedProduct>) -> String {
    product.map_or_else(|| name.to_owned(), |product| format!("product/{}", product.id))
}

impl CapStanding {
    /// What is counted, by its key.
    pub fn key(&self) -> String {
        key(&self.ingredient, self.product.as_ref())
    }

    /// What is left under this cap and every other one on the same thing when all that is booked is applied.
    pub fn room(&self) -> Room {
        let all = std::iter::once(self).chain(&self.others);
        let free: Option<Vec<Exact>> =
            all.map(|one| one.remaining.as_ref().map(|left| left - &one.reserved)).collect();
        Room { key: self.key(), free: free.and_then(|all| all.into_iter().min()) }
    }
}

impl Book<'_> {
    /// The room under every cap on the land, as of its day.
    pub fn rooms(&self) -> Vec<Room> {
        self.standings().iter().map(CapStanding::room).collect()
    }

    /// What one unit of the product takes of each cap's room, by the cap's key; nothing of those that do not
    /// count it or cannot.
    pub fn draws(&self, product: &Product, unit: AmountUnit) -> Vec<(String, Exact)> {
        let amount = Amount::new(Exact::one(), unit);
        let Ok(held) = ingredients(product, &amount) else { return Vec::new() };
        let poured = Poured { product, amount: &amount, ingredients: &held };
        let draw = |one: &Substance| {
            let per = one.held(&poured).filter(|per| !per.is_zero())?;
            Some((key(&one.name, one.product.as_ref()), per))
        };
        self.substances.iter().filter_map(draw).collect()
    }
}
