//! The plain facts about one property from which doses, caps and due dates
//! follow. The server fills them from its database, the command line from a
//! scenario; both then call the same functions.

use super::calendar::YearlySpan;
use super::due::Allocation;
use super::label::Product;
use super::permission::{Applicator, Exemption, ListedPest, RuleBook};
use super::quantity::{Amount, Area, Exact};
use chrono::NaiveDate;

/// The land.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SiteFacts {
    /// Two-letter code; without it no state rule is checked.
    pub state: Option<String>,
    /// County, for rules that are narrower than a state.
    pub county: Option<String>,
    /// City or town, for rules that are narrower still.
    pub municipality: Option<String>,
    /// Is the land farmed, a nursery or a greenhouse?
    pub agricultural: bool,
    /// Pests that states list for their exemptions.
    pub listed_pests: Vec<ListedPest>,
    /// The area that caps are counted on. None: no cap can be checked.
    pub cap_area: Option<Area>,
    /// From which day on every application on the land is known.
    pub history_known_from: Option<NaiveDate>,
    /// Exemptions that a regulator has granted for this land.
    pub exemptions: Vec<Exemption>,
    /// The rules of states, with what licensed persons answered about them.
    pub rules: RuleBook,
    /// How the plants share what a cap leaves.
    pub sharing: Allocation,
}

/// Do people eat from the plant, or from plants in its root zone?
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Eaten {
    /// No.
    #[default]
    No,
    /// Yes.
    Yes,
    /// Nobody has asked yet, which is no "no".
    Unknown,
}

impl Eaten {
    /// The code used in JSON and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::No => "no",
            Self::Yes => "yes",
            Self::Unknown => "unknown",
        }
    }

    /// The answer of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::No, Self::Yes, Self::Unknown].into_iter().find(|eaten| eaten.code() == code)
    }
}

/// A plant record and how it is meant to be treated next.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlantFacts {
    /// Unique on the site.
    pub id: String,
    /// Name for sentences; the id where there is none.
    pub name: Option<String>,
    /// The use meant for its next treatment.
    pub use_id: String,
    /// Rate within the band; none: the lowest.
    pub rate: Option<Exact>,
    /// Height in feet or diameter in inches, as the use asks; above zero.
    pub measure: Exact,
    /// How many alike plants this record stands for; at least 1.
    pub count: u32,
    /// When a plant that was never treated should be protected first.
    pub first_wanted: Option<NaiveDate>,
    /// Host plant, lower case.
    pub host: Option<String>,
    /// Is it known to be in bloom now?
    pub in_bloom: bool,
    /// When it blooms in most years.
    pub bloom: Vec<YearlySpan>,
    /// What it is treated against, for rules that exempt listed pests.
    pub pest: Option<String>,
    /// Do people eat from it?
    pub eaten: Eaten,
    /// When it is harvested in most years.
    pub harvest: Vec<YearlySpan>,
    /// A day for which the harvest is set.
    pub harvest_on: Option<NaiveDate>,
    /// A retired plant is never due; its applications stay in the ledger.
    pub active: bool,
}

impl PlantFacts {
    /// Name for sentences.
    pub fn words(&self) -> &str {
        self.name.as_deref().unwrap_or(&self.id)
    }
}

/// An application that was made, or (among the reservations) one that is booked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Application {
    /// The plant; none: another use on the same land, such as the lawn. A
    /// plant that is not among the facts is kept in the ledger all the same.
    pub plant: Option<String>,
    /// The product.
    pub product: String,
    /// The use it followed; none: see [`super::due`].
    pub use_id: Option<String>,
    /// The day.
    pub on: NaiveDate,
    /// How much product.
    pub amount: Amount,
}

/// All facts about one property.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Facts {
    /// The day from which is looked.
    pub today: NaiveDate,
    /// The land.
    pub site: SiteFacts,
    /// Who would apply.
    pub applicator: Applicator,
    /// Every product that a plant, the history or a reservation names.
    pub products: Vec<Product>,
    /// The plants.
    pub plants: Vec<PlantFacts>,
    /// What was applied, in any order, days after today included.
    pub history: Vec<Application>,
    /// What is booked: it reserves the cap and is no history.
    pub reservations: Vec<Application>,
}
