//! A random property, as the scenario text of the command line and as facts.

use chrono::{Datelike, Days, Months, NaiveDate};
use plantward::domain::calendar::{MonthDay, YearlySpan};
use plantward::domain::facts::{Application, Eaten, Facts, PlantFacts, SiteFacts};
use plantward::domain::label as l;
use plantward::domain::permission::Applicator;
use plantward::domain::quantity::{Amount, AmountUnit, Area, AreaUnit, Exact, MassUnit, VolumeUnit};
use serde_json::{Value, json};

/// Grams are counted in parts so fine that all amounts below are whole numbers.
pub const PER_GRAM: i128 = 3_785_411_784 * 43_560 * 1_000_000;

const ML: AmountUnit = AmountUnit::Volume(VolumeUnit::Millilitre);

fn whole(value: i128) -> Exact {
    Exact::from(num_bigint::BigInt::from(value))
}

#[derive(Debug, Clone)]
pub struct Item {
    pub protection: (u32, usize),
    pub uptake: u32,
    pub interval: u32,
    pub max: Option<u32>,
    pub season: Option<(u32, u32)>,
    pub band: (i128, i128),
    /// A foliar spray, else a drench.
    pub foliar: bool,
    /// Days without foliar use of group 4 after it.
    pub rest: Option<u32>,
    /// Does the label refuse to repeat a group?
    pub refuses: bool,
}

#[derive(Debug, Clone)]
pub struct Plant {
    pub item: usize,
    pub measure: i128,
    pub count: i128,
    pub high: bool,
    pub wanted: Option<i64>,
    pub active: bool,
}

#[derive(Debug, Clone)]
pub struct Applied {
    pub plant: Option<usize>,
    pub product: usize,
    pub item: Option<usize>,
    pub day: i64,
    pub amount: i128,
}

#[derive(Debug, Clone)]
pub struct Cap {
    pub product: usize,
    pub second: bool,
    pub tenths: i128,
    pub year: usize,
}

#[derive(Debug, Clone)]
pub struct World {
    pub metric: bool,
    pub area: Option<i128>,
    pub today: i64,
    pub unsigned: bool,
    pub strengths: [i128; 3],
    /// The group of each product, out of `GROUPS`.
    pub groups: [usize; 2],
    pub items: Vec<Item>,
    pub plants: Vec<Plant>,
    pub history: Vec<Applied>,
    pub booked: Vec<Applied>,
    pub caps: Vec<Cap>,
}

pub const YEARS: [&str; 3] = ["calendar", "rolling-12-months", "unstated"];
pub const GROUPS: [Option<&str>; 4] = [None, Some("4A"), Some("4C"), Some("28")];
pub const UNITS: [&str; 4] = ["day", "week", "month", "year"];

const METHODS: [&str; 2] = ["basal-drench", "foliar-spray"];

pub fn date(offset: i64) -> NaiveDate {
    // Around a leap day, so that it is met often.
    NaiveDate::from_ymd_opt(2024, 2, 29).unwrap() + chrono::Duration::days(offset)
}

pub fn a_year_later(day: NaiveDate) -> NaiveDate {
    NaiveDate::from_ymd_opt(day.year() + 1, day.month(), day.day())
        .unwrap_or_else(|| NaiveDate::from_ymd_opt(day.year() + 1, 3, 1).unwrap())
}

pub fn protected(day: NaiveDate, (value, unit): (u32, usize)) -> NaiveDate {
    match unit {
        0 => day + Days::new(value.into()),
        1 => day + Days::new(u64::from(value) * 7),
        2 => day + Months::new(value),
        _ => day + Months::new(value * 12),
    }
}

/// Uses 0 and 1 are those of product 0, uses 2 and 3 those of product 1.
pub fn product_of(item: usize) -> usize {
    item / 2
}

impl World {
    /// Parts of ingredient x and y in so much product. Product 0 holds x,
    /// product 1 holds x and y.
    pub fn parts(&self, product: usize, amount: i128) -> [i128; 2] {
        // Metric: g/L and mL. Otherwise lb/gal and mL.
        let per = if self.metric { PER_GRAM / 1000 } else { PER_GRAM / 3_785_411_784 * 453_592_370 };
        let [a, b, c] = self.strengths.map(|strength| strength * amount * per);
        if product == 0 { [a, 0] } else { [b, c] }
    }

    /// Parts that a cap allows.
    pub fn allowed(&self, cap: &Cap) -> Option<i128> {
        // Metric: tenths of g/ha on hectares. Otherwise tenths of lb/acre on square feet.
        let area = self.area?;
        let per = if self.metric { PER_GRAM / 10 } else { PER_GRAM / 43_560 / 1_000_000 * 45_359_237 };
        Some(cap.tenths * area * per)
    }

    pub fn dose(&self, plant: &Plant) -> i128 {
        let (low, high) = self.items[plant.item].band;
        plant.measure * plant.count * if plant.high { high } else { low }
    }

    pub fn item_of(&self, fact: &Applied) -> usize {
        let day = date(fact.day);
        let own = fact.plant.map(|plant| self.plants[plant].item);
        match (fact.item, own) {
            (Some(item), _) => fact.product * 2 + item,
            (None, Some(item)) if product_of(item) == fact.product => item,
            _ => {
                let (first, second) = (fact.product * 2, fact.product * 2 + 1);
                let end = |item: usize| protected(day, self.items[item].protection);
                if end(second) >= end(first) { second } else { first }
            }
        }
    }

    pub fn text(&self) -> String {
        let (strength, cap, area) =
            if self.metric { ("g/L", "g/ha", "ha") } else { ("lb/gal", "lb/acre", "sqft") };
        let ingredient = |name: &str, value: i128, group: Option<&str>| json!({ "name": name, "group": group, "strength": { "value": value.to_string(), "unit": strength } });
        let [first, second] = self.groups.map(|n| GROUPS[n]);
        let uses = |product: usize| -> Value {
            [product * 2, product * 2 + 1].into_iter().map(|n| self.use_text(n)).collect()
        };
        let caps = |product: usize| -> Value {
            let own = self.caps.iter().filter(|cap| cap.product == product);
            own.map(|one| {
                let amount = format!("{}.{}", one.tenths / 10, one.tenths % 10);
                json!({ "ingredient": if one.second { "y" } else { "x" }, "amount": { "value": amount, "unit": cap }, "year": YEARS[one.year] })
            })
            .collect()
        };
        let [a, b, c] = self.strengths;
        let mut scenario = json!({
            "today": date(self.today),
            "site": {},
            "products": [
                { "id": "p0", "form": "liquid", "ingredients": [ingredient("x", a, first)], "caps": caps(0), "uses": uses(0), "signed": !self.unsigned },
                { "id": "p1", "form": "liquid", "ingredients": [ingredient("x", b, second), ingredient("y", c, None)], "caps": caps(1), "uses": uses(1) }
            ],
            "plants": self.plants.iter().enumerate().map(|(n, one)| self.plant_text(n, one)).collect::<Value>(),
            "history": self.history.iter().map(Self::applied_text).collect::<Value>(),
            "reservations": self.booked.iter().map(Self::applied_text).collect::<Value>(),
        });
        if let Some(value) = self.area {
            scenario["site"]["cap_area"] = json!({ "value": value.to_string(), "unit": area });
        }
        scenario.to_string()
    }

    pub fn use_text(&self, n: usize) -> Value {
        let item = &self.items[n];
        let mut text = json!({
            "id": format!("u{n}"), "method": METHODS[usize::from(item.foliar)], "no_group_repeat": item.refuses, "measure": "height-ft",
            "rate": { "low": item.band.0.to_string(), "high": item.band.1.to_string(), "unit": "mL" },
            "protection": { "value": item.protection.0, "unit": UNITS[item.protection.1] },
            "uptake_days": item.uptake, "min_interval_days": item.interval, "max_per_year": item.max
        });
        if let Some(days) = item.rest {
            text["foliar_rest_days"] = json!(days);
        }
        if let Some((from, to)) = item.season {
            text["season"] = json!({ "from": format!("{from:02}-01"), "to": format!("{to:02}-28") });
        }
        text
    }

    pub fn plant_text(&self, n: usize, plant: &Plant) -> Value {
        let mut text = json!({
            "id": format!("a{n}"), "use": format!("u{}", plant.item),
            "measure": plant.measure.to_string(), "count": plant.count, "active": plant.active
        });
        if plant.high {
            text["rate"] = json!(self.items[plant.item].band.1.to_string());
        }
        if let Some(wanted) = plant.wanted {
            text["first_wanted"] = json!(date(wanted));
        }
        text
    }

    pub fn applied_text(fact: &Applied) -> Value {
        json!({
            "plant": fact.plant.map(|n| format!("a{n}")),
            "product": format!("p{}", fact.product),
            "use": fact.item.map(|n| format!("u{}", fact.product * 2 + n)),
            "on": date(fact.day),
            "amount": { "value": fact.amount.to_string(), "unit": "mL" }
        })
    }
}

/// The same property as facts, without the detour over text.
impl World {
    pub fn facts(&self) -> Facts {
        let unit = if self.metric { AreaUnit::Hectare } else { AreaUnit::SquareFoot };
        Facts {
            today: date(self.today),
            site: SiteFacts {
                cap_area: self.area.map(|value| Area::new(whole(value), unit)),
                ..SiteFacts::default()
            },
            applicator: Applicator::default(),
            products: vec![self.product(0), self.product(1)],
            plants: self.plants.iter().enumerate().map(|(n, one)| self.plant_facts(n, one)).collect(),
            history: self.history.iter().map(Self::application).collect(),
            reservations: self.booked.iter().map(Self::application).collect(),
        }
    }

    fn product(&self, n: usize) -> l::Product {
        let [a, b, c] = self.strengths;
        let strength = |value: i128| {
            let (mass, volume) = if self.metric {
                (MassUnit::Gram, VolumeUnit::Litre)
            } else {
                (MassUnit::Pound, VolumeUnit::Gallon)
            };
            l::Strength::PerVolume { value: whole(value), mass, volume }
        };
        let held: &[(&str, i128)] = if n == 0 { &[("x", a)] } else { &[("x", b), ("y", c)] };
        let ingredient = |(name, value): &(&str, i128)| l::Ingredient {
            name: (*name).to_owned(),
            group: (*name == "x").then(|| GROUPS[self.groups[n]]).flatten().map(str::to_owned),
            strength: strength(*value),
        };
        l::Product {
            id: format!("p{n}"),
            name: None,
            form: l::ProductForm::Liquid,
            density: None,
            pieces: None,
            registrations: None,
            ingredients: held.iter().map(ingredient).collect(),
            caps: self.caps.iter().filter(|cap| cap.product == n).map(|cap| self.cap(cap)).collect(),
            uses: [n * 2, n * 2 + 1].map(|n| self.item(n)).to_vec(),
            signed: n == 1 || !self.unsigned,
        }
    }

    fn cap(&self, cap: &Cap) -> l::Cap {
        let (mass, area) =
            if self.metric { (MassUnit::Gram, AreaUnit::Hectare) } else { (MassUnit::Pound, AreaUnit::Acre) };
        l::Cap {
            of: l::CapOf::Ingredient(if cap.second { "y" } else { "x" }.to_owned()),
            amount: whole(cap.tenths) / whole(10),
            unit: AmountUnit::Mass(mass),
            area,
            year: l::CapYear::from_code(YEARS[cap.year]).unwrap(),
        }
    }

    fn item(&self, n: usize) -> l::Use {
        let item = &self.items[n];
        let span = |(from, to)| YearlySpan {
            from: MonthDay::new(from, 1).unwrap(),
            to: MonthDay::new(to, 28).unwrap(),
        };
        l::Use {
            id: format!("u{n}"),
            method: METHODS[usize::from(item.foliar)].into(),
            measure: l::MeasureBasis::HeightFt,
            rate: l::RateBand { low: whole(item.band.0), high: whole(item.band.1), unit: ML },
            water: None,
            protection: l::Protection {
                value: item.protection.0,
                unit: l::PeriodUnit::from_code(UNITS[item.protection.1]).unwrap(),
            },
            uptake_days: item.uptake,
            min_interval_days: item.interval,
            max_per_year: item.max,
            season: item.season.map(span).into_iter().collect(),
            bloom: l::BloomRule::None,
            food: l::FoodCover::NotCovered,
            excluded_hosts: Vec::new(),
            foliar_rest_days: item.rest,
            no_group_repeat: item.refuses,
        }
    }

    fn plant_facts(&self, n: usize, plant: &Plant) -> PlantFacts {
        PlantFacts {
            id: format!("a{n}"),
            name: None,
            use_id: format!("u{}", plant.item),
            rate: plant.high.then(|| whole(self.items[plant.item].band.1)),
            measure: whole(plant.measure),
            count: u32::try_from(plant.count).unwrap(),
            first_wanted: plant.wanted.map(date),
            host: None,
            in_bloom: false,
            bloom: Vec::new(),
            eaten: Eaten::No,
            active: plant.active,
            ..PlantFacts::default()
        }
    }

    fn application(fact: &Applied) -> Application {
        Application {
            plant: fact.plant.map(|n| format!("a{n}")),
            product: format!("p{}", fact.product),
            use_id: fact.item.map(|n| format!("u{}", fact.product * 2 + n)),
            on: date(fact.day),
            amount: Amount::new(whole(fact.amount), ML),
        }
    }
}
