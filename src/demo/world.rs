//! The demo company's customers, land, sites, plants and past visits, before they become rows.
use super::{
    chance::Chance,
    days::{ago, month_day},
};
use crate::domain::calendar::{MonthDay, YearlySpan};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use uuid::Uuid;

/// A town of the demo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Town {
    pub name: &'static str,
    pub county: &'static str,
    pub zip: &'static str,
    /// Hundredths of a degree north and west, where its invented centre lies.
    pub north: u32,
    pub west: u32,
}

pub const QUILLAN: Town =
    Town { name: "Quillan Springs", county: "San Luis Obispo", zip: "93499", north: 3548, west: 12068 };
pub const LANTERN: Town =
    Town { name: "Oak Lantern", county: "San Luis Obispo", zip: "93498", north: 3541, west: 12060 };
pub const TAMSIN: Town =
    Town { name: "Tamsin Wells", county: "Santa Barbara", zip: "93199", north: 3490, west: 12045 };

#[derive(Debug, Clone)]
pub struct Customer {
    pub id: Uuid,
    pub name: String,
    pub street: String,
    pub town: Town,
    pub note: String,
    pub since: NaiveDate,
}

#[derive(Debug, Clone)]
pub struct Land {
    pub id: Uuid,
    pub lot: Option<u32>,
    pub landscaped: Option<u32>,
    pub bed: Option<u32>,
    /// Which area the owner chose for the annual caps, and why.
    pub choice: Option<(&'static str, &'static str)>,
    /// None: nobody has answered for earlier use.
    pub known_from: Option<NaiveDate>,
}

#[derive(Debug, Clone)]
pub struct Place {
    pub id: Uuid,
    pub customer: usize,
    pub land: usize,
    pub name: String,
    pub street: String,
    pub town: Town,
    pub north: String,
    pub west: String,
    pub access: String,
    pub water_ft: Option<u32>,
    pub since: NaiveDate,
}

#[derive(Debug, Clone)]
pub struct Plant {
    pub id: Uuid,
    pub place: usize,
    pub spot: String,
    pub host: &'static str,
    pub kind: &'static str,
    pub count: u32,
    pub height: Option<Decimal>,
    pub stems: Vec<Decimal>,
    pub pest: &'static str,
    pub eaten: &'static str,
    pub food: &'static str,
    pub bloom: Option<(String, String)>,
    pub in_bloom: bool,
    /// Product key and use code.
    pub treatment: Option<(&'static str, &'static str)>,
    pub rate: Option<Decimal>,
    pub first_wanted: Option<NaiveDate>,
    pub retired: Option<(NaiveDate, &'static str)>,
}

impl Plant {
    /// One plant, or a row of them, measured by height and drenched.
    pub fn tall(spot: &str, host: &'static str, pest: &'static str, count: u32, feet: u32) -> Self {
        Self {
            id: Uuid::nil(),
            place: 0,
            spot: spot.to_owned(),
            host,
            kind: if count > 1 { "hedge" } else { "shrub" },
            count,
            height: Some(feet.into()),
            stems: vec![],
            pest,
            eaten: "no",
            food: "no",
            bloom: None,
            in_bloom: false,
            treatment: Some((super::product::key::DRENCH, "shrubs")),
            rate: None,
            first_wanted: None,
            retired: None,
        }
    }

    /// A tree, measured by its stems and drenched.
    pub fn tree(spot: &str, host: &'static str, pest: &'static str, inches: &[u32]) -> Self {
        Self {
            kind: "tree",
            height: None,
            stems: inches.iter().map(|i| Decimal::from(*i)).collect(),
            treatment: Some((super::product::key::DRENCH, "trees")),
            ..Self::tall(spot, host, pest, 1, 1)
        }
    }

    pub fn with(mut self, product: &'static str, code: &'static str) -> Self {
        self.treatment = Some((product, code));
        self
    }

    pub fn wanted(mut self, on: NaiveDate) -> Self {
        self.first_wanted = Some(on);
        self
    }

    /// Whether its usual bloom holds that day.
    pub fn blooms_on(&self, day: NaiveDate) -> bool {
        let span = self.bloom.as_ref().and_then(|(from, to)| {
            Some(YearlySpan { from: MonthDay::parse(from)?, to: MonthDay::parse(to)? })
        });
        span.is_some_and(|span| span.holds(day))
    }

    /// In flower from three weeks ago to six weeks ahead, and seen so.
    pub fn blooming(mut self, today: NaiveDate) -> Self {
        let to = super::days::ahead(today, 42);
        self.bloom = Some((month_day(ago(today, 21)), month_day(to)));
        self.in_bloom = true;
        self
    }
}

/// What is odd about a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quirk {
    Plain,
    /// No times, wind, area and certification number.
    Gaps,
    /// A second version follows two days later.
    Amended,
    /// The lawn company did it.
    Lawn,
    /// It broke the cap, and nobody has answered.
    Unanswered,
    /// It broke the cap, and the owner has answered.
    Answered,
}

/// A visit of the past.
#[derive(Debug, Clone)]
pub struct Call {
    pub place: usize,
    pub on: NaiveDate,
    pub technician: usize,
    pub plants: Vec<usize>,
    pub quirk: Quirk,
}

/// A site for which a visit is to be booked so many days ahead.
#[derive(Debug, Clone, Copy)]
pub struct Wish {
    pub place: usize,
    pub technician: usize,
    pub in_days: u32,
}

/// Everything together.
#[derive(Debug)]
pub struct World {
    pub today: NaiveDate,
    pub chance: Chance,
    pub customers: Vec<Customer>,
    pub lands: Vec<Land>,
    pub places: Vec<Place>,
    pub plants: Vec<Plant>,
    pub calls: Vec<Call>,
    pub wishes: Vec<Wish>,
}

impl World {
    pub fn new(today: NaiveDate, chance: Chance) -> Self {
        let (customers, lands, places, plants, calls, wishes) = Default::default();
        Self { today, chance, customers, lands, places, plants, calls, wishes }
    }

    pub fn customer(&mut self, name: &str, street: &str, town: Town) -> usize {
        let since = ago(self.today, 1400 - 2 * u32::try_from(self.customers.len()).unwrap_or_default());
        let (id, note) = (self.chance.id(), String::new());
        self.customers.push(Customer {
            id,
            name: name.to_owned(),
            street: street.to_owned(),
            town,
            note,
            since,
        });
        self.customers.len() - 1
    }

    /// A site on a parcel of its own, whose earlier use is known.
    pub fn place(&mut self, customer: usize, street: &str, town: Town, lot: Option<u32>) -> usize {
        let id = self.chance.id();
        let known_from = Some(ago(self.today, 1460));
        self.lands.push(Land { id, lot, landscaped: None, bed: None, choice: None, known_from });
        self.place_on(self.lands.len() - 1, customer, street, town)
    }

    /// A site on a parcel that is there.
    pub fn place_on(&mut self, land: usize, customer: usize, street: &str, town: Town) -> usize {
        let id = self.chance.id();
        let mut scatter = |centre: u32| {
            let fine = centre * 100 + self.chance.between(0, 300);
            Decimal::new(i64::from(fine) - 150, 4).to_string()
        };
        let (north, west) = (scatter(town.north), scatter(town.west));
        self.places.push(Place {
            id,
            customer,
            land,
            name: String::new(),
            street: street.to_owned(),
            town,
            north,
            west: format!("-{west}"),
            access: String::new(),
            water_ft: None,
            since: self.customers[customer].since,
        });
        self.places.len() - 1
    }

    pub fn plant(&mut self, place: usize, plant: Plant) -> usize {
        let id = self.chance.id();
        self.plants.push(Plant { id, place, ..plant });
        self.plants.len() - 1
    }

    pub fn call(&mut self, place: usize, on: NaiveDate, plants: &[usize], quirk: Quirk) {
        let technician = technician_of(self.places[place].town, place);
        self.calls.push(Call { place, on, technician, plants: plants.to_vec(), quirk });
    }

    pub fn land_of(&mut self, place: usize) -> &mut Land {
        &mut self.lands[self.places[place].land]
    }
}

/// Who usually goes there.
fn technician_of(town: Town, place: usize) -> usize {
    match town.name {
        "Quillan Springs" => place % 2,
        "Oak Lantern" => 1,
        _ => 2,
    }
}
