//! How long the engine takes for one property: `cargo bench --bench engine`.
//!
//! The property has 40 plants, a history of 200 rows and caps on two
//! ingredients; then the same with ten times the history. Each figure is the
//! median of the rounds, on facts that are already in memory; the fastest round
//! stands beside it, since another program on the machine only ever adds time.

use chrono::{Days, NaiveDate};
use plantward::domain::due::outlook;
use plantward::domain::facts::{Application, Eaten, Facts, PlantFacts, SiteFacts};
use plantward::domain::label::*;
use plantward::domain::permission::Applicator;
use plantward::domain::quantity::{Amount, AmountUnit, Area, AreaUnit, Exact, MassUnit, VolumeUnit, parse};
use std::hint::black_box;
use std::time::Instant;

const ML: AmountUnit = AmountUnit::Volume(VolumeUnit::Millilitre);

fn exact(text: &str) -> Exact {
    parse(text).expect("a decimal")
}

fn item(id: &str) -> Use {
    Use {
        id: id.into(),
        method: "basal-drench".into(),
        measure: MeasureBasis::HeightFt,
        rate: RateBand { low: exact("3"), high: exact("6"), unit: ML },
        water: None,
        protection: Protection { value: 12, unit: PeriodUnit::Month },
        uptake_days: 14,
        min_interval_days: 30,
        max_per_year: Some(2),
        season: Vec::new(),
        bloom: BloomRule::None,
        food: FoodCover::NotCovered,
        excluded_hosts: Vec::new(),
        foliar_rest_days: None,
        no_group_repeat: false,
    }
}

fn product(id: &str, ingredient: &str) -> Product {
    let strength =
        Strength::PerVolume { value: exact("2"), mass: MassUnit::Pound, volume: VolumeUnit::Gallon };
    Product {
        id: id.into(),
        name: None,
        form: ProductForm::Liquid,
        density: None,
        pieces: None,
        registrations: None,
        ingredients: vec![Ingredient { name: ingredient.into(), group: Some("4A".into()), strength }],
        caps: vec![Cap {
            of: CapOf::Ingredient(ingredient.into()),
            amount: exact("0.4"),
            unit: AmountUnit::Mass(MassUnit::Pound),
            area: AreaUnit::Acre,
            year: CapYear::Unstated,
        }],
        uses: vec![item(&format!("{id}-drench"))],
        signed: true,
    }
}

fn plant(n: u64) -> PlantFacts {
    PlantFacts {
        id: format!("plant {n}"),
        name: None,
        use_id: if n.is_multiple_of(3) { "q-drench".into() } else { "p-drench".into() },
        rate: None,
        measure: exact(&format!("{}.5", 4 + n % 7)),
        count: 1,
        first_wanted: None,
        host: None,
        in_bloom: false,
        bloom: Vec::new(),
        eaten: Eaten::No,
        active: true,
        ..PlantFacts::default()
    }
}

/// A property that is always short of its caps, so that every plant waits.
fn facts(plants: u64, rows: u64) -> Facts {
    let today: NaiveDate = "2026-05-15".parse().expect("a day");
    let application = |n: u64| Application {
        plant: Some(format!("plant {}", n % plants)),
        product: if (n % plants).is_multiple_of(3) { "q".into() } else { "p".into() },
        use_id: None,
        on: today - Days::new(n * 1825 / rows),
        amount: Amount::new(exact(&format!("{}.{}", 18 + n % 9, n % 10)), ML),
    };
    Facts {
        today,
        site: SiteFacts {
            state: Some("CA".into()),
            cap_area: Some(Area::new(exact("0.55"), AreaUnit::Acre)),
            ..SiteFacts::default()
        },
        applicator: Applicator::default(),
        products: vec![product("p", "imidacloprid"), product("q", "dinotefuran")],
        plants: (0..plants).map(plant).collect(),
        history: (0..rows).map(application).collect(),
        reservations: Vec::new(),
    }
}

fn measure(plants: u64, rows: u64, rounds: usize) {
    let facts = facts(plants, rows);
    let mut times: Vec<f64> = (0..rounds)
        .map(|_| {
            let start = Instant::now();
            black_box(outlook(black_box(&facts)).expect("facts that fit"));
            start.elapsed().as_secs_f64() * 1000.0
        })
        .collect();
    times.sort_by(f64::total_cmp);
    let (fastest, median) = (times[0], times[rounds / 2]);
    println!("{plants} plants, {rows} rows, 2 caps: {median:.2} ms (fastest {fastest:.2} ms)");
}

fn main() {
    measure(40, 200, 101);
    measure(40, 2000, 31);
    measure(400, 2000, 11);
}
