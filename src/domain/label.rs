//! What a product's label says, as far as the arithmetic needs it.
//!
//! Ids are plain texts here: the server fills in its UUIDs, the command line
//! whatever its scenario calls them.

use super::calendar::{YearlySpan, add_days, add_months};
use super::quantity::{AmountUnit, AreaUnit, Exact, MassUnit, PieceUnit, VolumeUnit, plain};
use chrono::NaiveDate;

/// Methods that forms offer. A label may name another.
pub const METHODS: &[&str] = &[
    "basal-drench",
    "soil-drench",
    "soil-injection",
    "trunk-injection",
    "trunk-spray",
    "foliar-spray",
    "broadcast",
];

/// Whether the product is poured or weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProductForm {
    /// Measured by volume.
    Liquid,
    /// Measured by mass.
    Dry,
}

impl ProductForm {
    /// The code used in JSON and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::Liquid => "liquid",
            Self::Dry => "dry",
        }
    }

    /// The form of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Liquid, Self::Dry].into_iter().find(|form| form.code() == code)
    }
}

/// How much active ingredient a product holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Strength {
    /// Mass of ingredient in a volume of product, such as 2 lb/gal or 240 g/L.
    PerVolume {
        /// In `mass` per `volume`.
        value: Exact,
        /// Unit of the ingredient.
        mass: MassUnit,
        /// Unit of the product.
        volume: VolumeUnit,
    },
    /// Mass of ingredient in a hundred parts by mass of product.
    Percent(Exact),
    /// Mass of ingredient in one packet or tablet.
    PerPiece {
        /// In `mass` per `piece`.
        value: Exact,
        /// Unit of the ingredient.
        mass: MassUnit,
        /// The piece.
        piece: PieceUnit,
    },
}

/// What a product that comes in pieces is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pieces {
    /// Packet or tablet.
    pub unit: PieceUnit,
    /// Grams of product in one, where the label states it.
    pub grams: Option<Exact>,
}

impl Strength {
    /// For people: `2 lb/gal`, `75 percent`.
    pub fn words(&self) -> String {
        match self {
            Self::PerVolume { value, mass, volume } => {
                format!("{} {}/{}", plain(value), mass.code(), volume.code())
            }
            Self::Percent(value) => format!("{} percent", plain(value)),
            Self::PerPiece { value, mass, piece } => {
                format!("{} {}/{}", plain(value), mass.code(), piece.code())
            }
        }
    }
}

/// An active ingredient of a product.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ingredient {
    /// Common name, lower case. Ledgers of several products meet by this name.
    pub name: String,
    /// Mode of action group (IRAC and its sisters), such as `4A`.
    pub group: Option<String>,
    /// How much of it the product holds.
    pub strength: Strength,
}

/// What "a year" means in a cap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CapYear {
    /// 1 January to 31 December.
    Calendar,
    /// Any twelve months.
    Rolling,
    /// The label does not say: both are kept.
    Unstated,
}

impl CapYear {
    /// The code used in JSON and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::Calendar => "calendar",
            Self::Rolling => "rolling-12-months",
            Self::Unstated => "unstated",
        }
    }

    /// The year of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Calendar, Self::Rolling, Self::Unstated].into_iter().find(|year| year.code() == code)
    }
}

/// What a cap counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CapOf {
    /// An active ingredient, by name, over all products and all uses.
    Ingredient(String),
    /// The product itself, whatever it holds.
    Product,
}

/// An annual cap: the most of an active ingredient, or of the product, that an
/// area may get in a year.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cap {
    /// What is counted.
    pub of: CapOf,
    /// In `unit` per `area`.
    pub amount: Exact,
    /// Unit of what is counted; a mass for an ingredient.
    pub unit: AmountUnit,
    /// Unit of the ground.
    pub area: AreaUnit,
    /// What a year is.
    pub year: CapYear,
}

impl Cap {
    /// What is allowed per square metre, in the base unit of `unit`: grams,
    /// millilitres or pieces.
    pub fn per_square_metre(&self) -> Exact {
        &self.amount * self.unit.base().0 / self.area.square_metres()
    }

    /// Does it count this ingredient?
    pub fn counts(&self, ingredient: &str) -> bool {
        matches!(&self.of, CapOf::Ingredient(name) if name == ingredient)
    }

    /// For people: `0.4 lb/acre`.
    pub fn words(&self) -> String {
        format!("{} {}/{}", plain(&self.amount), self.unit.code(), self.area.code())
    }
}

/// What the rate is multiplied with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasureBasis {
    /// Height of a shrub, in feet.
    HeightFt,
    /// Diameter of a trunk, in inches.
    DiameterIn,
    /// Girth of a trunk, in inches.
    CircumferenceIn,
    /// The plant as such, whatever its size.
    Plant,
    /// The pot or tub.
    Container,
    /// Treated ground, in thousands of square feet.
    ThousandSquareFeet,
    /// Treated ground, in acres.
    Acre,
}

impl MeasureBasis {
    /// The code used in JSON and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::HeightFt => "height-ft",
            Self::DiameterIn => "diameter-in",
            Self::CircumferenceIn => "circumference-in",
            Self::Plant => "plant",
            Self::Container => "container",
            Self::ThousandSquareFeet => "area-1000sqft",
            Self::Acre => "area-acre",
        }
    }

    /// The basis of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|basis| basis.code() == code)
    }

    /// Every basis.
    pub const ALL: [Self; 7] = [
        Self::HeightFt,
        Self::DiameterIn,
        Self::CircumferenceIn,
        Self::Plant,
        Self::Container,
        Self::ThousandSquareFeet,
        Self::Acre,
    ];

    /// The unit that the rate is given per.
    pub fn unit_words(self) -> &'static str {
        match self {
            Self::HeightFt => "ft",
            Self::DiameterIn => "in",
            Self::CircumferenceIn => "in of girth",
            Self::Plant => "plant",
            Self::Container => "container",
            Self::ThousandSquareFeet => "1000 sqft",
            Self::Acre => "acre",
        }
    }

    /// The unit of the ground, where the rate goes by ground.
    pub fn ground(self) -> Option<AreaUnit> {
        match self {
            Self::ThousandSquareFeet => Some(AreaUnit::ThousandSquareFeet),
            Self::Acre => Some(AreaUnit::Acre),
            _ => None,
        }
    }

    /// Is one of it simply one, with nothing to measure?
    pub fn is_count(self) -> bool {
        matches!(self, Self::Plant | Self::Container)
    }
}

/// The lowest and highest rate of a use, product per foot or per inch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RateBand {
    /// Lowest rate, above zero.
    pub low: Exact,
    /// Highest rate, not below `low`.
    pub high: Exact,
    /// Unit of the product.
    pub unit: AmountUnit,
}

impl RateBand {
    /// Is this rate within the band, both ends included?
    pub fn holds(&self, rate: &Exact) -> bool {
        &self.low <= rate && rate <= &self.high
    }
}

/// Carrier water per foot or per inch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WaterBand {
    /// Least water.
    pub low: Exact,
    /// Most water.
    pub high: Exact,
    /// Unit of the water.
    pub unit: VolumeUnit,
}

/// A unit in which labels and bulletins state how long something lasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PeriodUnit {
    /// Days.
    Day,
    /// Seven days.
    Week,
    /// Months of the calendar.
    Month,
    /// Twelve months of the calendar.
    Year,
}

impl PeriodUnit {
    /// The code used in JSON and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::Week => "week",
            Self::Month => "month",
            Self::Year => "year",
        }
    }

    /// The unit of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Day, Self::Week, Self::Month, Self::Year].into_iter().find(|u| u.code() == code)
    }
}

/// How long one application protects.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Protection {
    /// In `unit`.
    pub value: u32,
    /// Days, weeks, months or years.
    pub unit: PeriodUnit,
}

impl Protection {
    /// The day on which protection that began on `day` ends. Months clamp to
    /// the end of the month.
    pub fn end(self, day: NaiveDate) -> NaiveDate {
        match self.unit {
            PeriodUnit::Day => add_days(day, self.value),
            PeriodUnit::Week => add_days(day, self.value.saturating_mul(7)),
            PeriodUnit::Month => add_months(day, self.value),
            PeriodUnit::Year => add_months(day, self.value.saturating_mul(12)),
        }
    }

    /// For people: `12 months`.
    pub fn words(self) -> String {
        let plural = if self.value == 1 { "" } else { "s" };
        format!("{} {}{plural}", self.value, self.unit.code())
    }
}

/// What a use says about plants in flower.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BloomRule {
    /// The label sets no bloom rule for this use.
    #[default]
    None,
    /// Not while the plant is in bloom.
    NotInBloom,
    /// Not while the plant is in bloom, nor in so many days before.
    NotBeforeBloom {
        /// Days before the first day of bloom.
        lead_days: u32,
    },
}

impl BloomRule {
    /// Days before bloom that are forbidden too; none: no rule.
    pub fn lead_days(self) -> Option<u32> {
        match self {
            Self::None => None,
            Self::NotInBloom => Some(0),
            Self::NotBeforeBloom { lead_days } => Some(lead_days),
        }
    }
}

/// Whether a use covers plants from which people eat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FoodCover {
    /// Ornamental plants only.
    #[default]
    NotCovered,
    /// Bearing food plants are covered, with days to keep before harvest.
    Covered {
        /// Pre-harvest interval, in days.
        pre_harvest_days: u32,
    },
}

/// One use on a label: method, rate and limits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Use {
    /// Unique over all products.
    pub id: String,
    /// Method, such as `basal-drench`.
    pub method: String,
    /// What the rate is multiplied with.
    pub measure: MeasureBasis,
    /// Product per foot or inch.
    pub rate: RateBand,
    /// Carrier water per foot or inch, where the label gives one.
    pub water: Option<WaterBand>,
    /// How long one application protects.
    pub protection: Protection,
    /// Days that the plant needs to take the product up.
    pub uptake_days: u32,
    /// Days that must lie between two applications of the product to a plant.
    pub min_interval_days: u32,
    /// Applications of the product to one plant in any twelve months; none: no limit stated.
    pub max_per_year: Option<u32>,
    /// Parts of the year in which the use is allowed; empty: the whole year.
    pub season: Vec<YearlySpan>,
    /// What it says about plants in flower.
    pub bloom: BloomRule,
    /// Whether it covers food plants.
    pub food: FoodCover,
    /// Host plants that the label excludes, lower case.
    pub excluded_hosts: Vec<String>,
    /// After this use of a group 4A product, days without a foliar use of group
    /// 4; none: the label states no period.
    pub foliar_rest_days: Option<u32>,
    /// Does the label refuse a plant that had the same mode of action before?
    pub no_group_repeat: bool,
}

/// A state in which a product may be sold and used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Registration {
    /// Two-letter code.
    pub state: String,
    /// First day; none: as long as is known.
    pub from: Option<NaiveDate>,
    /// Last day, which counts; none: no end is known.
    pub until: Option<NaiveDate>,
}

/// A product as its label version in force describes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Product {
    /// Unique.
    pub id: String,
    /// Name for sentences; the id where there is none.
    pub name: Option<String>,
    /// Poured or weighed.
    pub form: ProductForm,
    /// Grams of product per millilitre, needed where a product that is
    /// measured by volume states its strength in percent, or the reverse.
    pub density: Option<Exact>,
    /// Where it comes in packets or tablets: which, and of what mass.
    pub pieces: Option<Pieces>,
    /// The states in which it is registered; none: that was not looked up.
    pub registrations: Option<Vec<Registration>>,
    /// What it holds.
    pub ingredients: Vec<Ingredient>,
    /// Annual caps that its label states.
    pub caps: Vec<Cap>,
    /// Uses that its label allows.
    pub uses: Vec<Use>,
    /// Has a licensed person checked this entry against the label in hand?
    pub signed: bool,
}

impl Product {
    /// Name for sentences.
    pub fn words(&self) -> &str {
        self.name.as_deref().unwrap_or(&self.id)
    }

    /// The use of that id.
    pub fn find_use(&self, id: &str) -> Option<&Use> {
        self.uses.iter().find(|item| item.id == id)
    }

    /// The unit in which remaining capacity is shown: that of its first use,
    /// else mL or g.
    pub fn shown_unit(&self) -> AmountUnit {
        match (self.uses.first(), self.form) {
            (Some(item), _) => item.rate.unit,
            (None, _) if self.pieces.is_some() => {
                AmountUnit::Piece(self.pieces.as_ref().map_or(PieceUnit::Packet, |pieces| pieces.unit))
            }
            (None, ProductForm::Liquid) => AmountUnit::Volume(VolumeUnit::Millilitre),
            (None, ProductForm::Dry) => AmountUnit::Mass(MassUnit::Gram),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn protection_counts_each_unit() {
        let end = |value, unit, day: &str| Protection { value, unit }.end(day.parse().unwrap());
        assert_eq!(end(12, PeriodUnit::Month, "2025-11-25").to_string(), "2026-11-25");
        assert_eq!(end(2, PeriodUnit::Year, "2024-02-29").to_string(), "2026-02-28");
        assert_eq!(end(2, PeriodUnit::Week, "2026-02-20").to_string(), "2026-03-06");
        assert_eq!(end(90, PeriodUnit::Day, "2026-01-01").to_string(), "2026-04-01");
    }

    #[test]
    fn codes_read_back() {
        assert_eq!(CapYear::from_code("rolling-12-months"), Some(CapYear::Rolling));
        assert_eq!(MeasureBasis::from_code("diameter-in"), Some(MeasureBasis::DiameterIn));
        assert_eq!(PeriodUnit::from_code("months"), None);
        assert_eq!(ProductForm::from_code("dry"), Some(ProductForm::Dry));
    }
}
