//! The same scenario through the forms and the database and through the command line: the same dose, the same
//! cap, the same due day. The figures are those of a label, typed in twice, and nothing is converted here.
//!
//! Strengths, rates and caps are invented; the units that they come in are those that labels use.
use crate::{
    support::{
        Visitor, World,
        product::{CATEGORY, Fields, drench, label, product},
    },
    yard::Yard,
};
use plantward::{
    actions::record::{Applied, Stop, enter},
    db::{fact, label as labels},
    domain::{
        due::{Outlook, outlook},
        facts::{Facts, PlantFacts},
        quantity::{fixed_half_up, parse, plain},
    },
};
use serde_json::{Value, json};
use uuid::Uuid;

/// What a label says, in its own words.
struct Case {
    form: &'static str,
    strength: (&'static str, &'static str),
    density: Option<(&'static str, &'static str)>,
    piece: Option<(&'static str, &'static str)>,
    /// Of the ingredient: amount, unit, year.
    cap: (&'static str, &'static str, &'static str),
    /// Of the product: amount, unit.
    own_cap: Option<(&'static str, &'static str)>,
    measure: &'static str,
    rate: (&'static str, &'static str, &'static str),
    per: &'static str,
    seasons: &'static [(&'static str, &'static str)],
    times: Option<&'static str>,
    /// The plant's own figure, and how many alike.
    plant: (&'static str, u32),
    /// What it got on May 2, 2026.
    earlier: (&'static str, &'static str),
}

const LIQUID: Case = Case {
    form: "liquid",
    strength: ("21.4", "percent"),
    density: Some(("9.34", "lb/gal")),
    piece: None,
    cap: ("0.4", "lb/acre", "unstated"),
    own_cap: None,
    measure: "height-ft",
    rate: ("3", "6", "mL"),
    per: "1",
    seasons: &[],
    times: None,
    plant: ("8", 3),
    earlier: ("72", "mL"),
};

/// Every form, every basis, every kind of cap.
fn cases() -> Vec<Case> {
    let packet = Case {
        form: "packet",
        strength: ("75", "percent"),
        density: None,
        piece: Some(("1.6", "oz")),
        measure: "diameter-in",
        rate: ("1", "2", "packet"),
        per: "30",
        times: Some("1"),
        plant: ("20", 1),
        earlier: ("1", "packet"),
        ..LIQUID
    };
    let tablet = Case {
        form: "tablet",
        strength: ("0.5", "g/tablet"),
        density: None,
        cap: ("1", "oz/1000sqft", "calendar"),
        own_cap: Some(("30", "tablet/1000sqft")),
        measure: "container",
        rate: ("2", "3", "tablet"),
        plant: ("1", 40),
        earlier: ("80", "tablet"),
        ..LIQUID
    };
    let lawn = Case {
        form: "dry",
        strength: ("0.5", "percent"),
        density: None,
        cap: ("448", "g/ha", "rolling-12-months"),
        own_cap: Some(("6", "lb/1000sqft")),
        measure: "area-1000sqft",
        rate: ("1.5", "3", "lb"),
        seasons: &[("03-15", "06-15"), ("08-15", "10-15")],
        times: Some("2"),
        plant: ("8.5", 1),
        earlier: ("25.5", "lb"),
        ..LIQUID
    };
    let girth = Case {
        strength: ("20", "oz/gal"),
        density: None,
        own_cap: Some(("2", "qt/acre")),
        measure: "circumference-in",
        rate: ("1", "2.5", "floz"),
        per: "12",
        plant: ("31", 2),
        earlier: ("6", "floz"),
        ..LIQUID
    };
    let acre = Case {
        strength: ("0.24", "g/mL"),
        density: None,
        measure: "area-acre",
        rate: ("10", "25.6", "floz"),
        plant: ("0.25", 1),
        earlier: ("3", "floz"),
        ..LIQUID
    };
    let whole =
        Case { measure: "plant", density: Some(("1.12", "g/mL")), own_cap: Some(("4", "lb/acre")), ..LIQUID };
    vec![LIQUID, packet, tablet, lawn, girth, acre, Case { plant: ("1", 9), ..whole }]
}

impl Case {
    fn label(&self, id: Uuid) -> Fields {
        let mut all = label(id)
            .with("excluded_hosts", "")
            .with("ingredient-1-strength", self.strength.0)
            .with("ingredient-1-unit", self.strength.1)
            .with("cap-1-amount", self.cap.0)
            .with("cap-1-unit", self.cap.1)
            .with("cap-1-year", self.cap.2);
        if let Some((value, unit)) = self.density {
            all = all.with("density", value).with("density_unit", unit);
        }
        if let Some((value, unit)) = self.piece {
            all = all.with("piece", value).with("piece_unit", unit);
        }
        if let Some((amount, unit)) = self.own_cap {
            all = all.with("cap-2-counts", "product").with("cap-2-amount", amount);
            all = all.with("cap-2-unit", unit).with("cap-2-year", "calendar");
        }
        all
    }

    fn item(&self) -> Fields {
        let mut all = drench(Uuid::now_v7())
            .with("measure", self.measure)
            .with("rate_low", self.rate.0)
            .with("rate_high", self.rate.1)
            .with("rate_unit", self.rate.2)
            .with("rate_per", if self.per == "1" { "" } else { self.per })
            .with("water_low", "")
            .with("water_high", "")
            .with("max_per_year", self.times.unwrap_or_default())
            .with("season_from", "")
            .with("season_to", "");
        for ((from, to), (a, b)) in
            self.seasons.iter().zip([("season_from", "season_to"), ("season2_from", "season2_to")])
        {
            all = all.with(a, from).with(b, to);
        }
        all
    }

    /// For the command line.
    fn scenario(&self) -> Value {
        let figure = |(value, unit): (&str, &str)| json!({ "value": value, "unit": unit });
        let mut caps =
            vec![json!({ "ingredient": "imidacloprid", "amount": figure((self.cap.0, self.cap.1)),
            "year": self.cap.2 })];
        caps.extend(
            self.own_cap.map(|own| json!({ "of": "product", "amount": figure(own), "year": "calendar" })),
        );
        let seasons: Vec<Value> =
            self.seasons.iter().map(|(from, to)| json!({ "from": from, "to": to })).collect();
        let mut item = json!({ "id": "u", "method": "basal-drench", "measure": self.measure,
            "rate": { "low": self.rate.0, "high": self.rate.1, "unit": self.rate.2, "per": self.per },
            "protection": { "value": 12, "unit": "month" }, "uptake_days": 14, "min_interval_days": 300,
            "bloom": "not-in-bloom", "season": seasons });
        if let Some(times) = self.times {
            item["max_per_year"] = json!(times.parse::<u32>().unwrap());
        }
        let mut held = json!({ "id": "p", "form": self.form, "caps": caps, "uses": [item],
            "registrations": [{ "state": "CA" }],
            "ingredients": [{ "name": "imidacloprid", "group": "4A", "strength": figure(self.strength) }] });
        for (key, value) in [("density", self.density), ("piece", self.piece)] {
            if let Some(value) = value {
                held[key] = figure(value);
            }
        }
        let mut plant = json!({ "id": "a", "use": "u", "count": self.plant.1 });
        if !matches!(self.measure, "plant" | "container") {
            plant["measure"] = json!(self.plant.0);
        }
        json!({ "today": "2026-11-25", "products": [held], "plants": [plant],
            "site": { "state": "CA", "county": "San Luis Obispo", "history_known_from": "2020-01-01",
                "cap_area": { "value": "10890", "unit": "sqft" } },
            "history": [{ "plant": "a", "product": "p", "use": "u", "on": "2026-05-02",
                "amount": figure(self.earlier) }] })
    }
}

/// Types the product and its label in, signs it, and plants what gets it.
async fn typed_in(world: &World, owner: &Visitor, yard: &Yard, case: &Case, number: usize) -> (Uuid, Uuid) {
    let (of, version) = (Uuid::now_v7(), Uuid::now_v7());
    let new = product(of, &format!("Rootguard {number}"), &format!("99999-{}", 600 + number));
    new.with("form", case.form).send(owner, "/products").await.went_to(&format!("/products/{of}"));
    let at = format!("/label-versions/{version}");
    case.label(version).send(owner, &format!("/products/{of}/label-versions")).await.went_to(&at);
    case.item().send(owner, &format!("{at}/uses")).await.went_to(&at);
    owner.sign_label(version).await.went_to(&at);
    Fields::of(&[("state", "CA"), ("expires_on", "2027-12-31")])
        .send(owner, &format!("/products/{of}/registrations"))
        .await
        .went_to(&format!("/products/{of}"));
    let id = Uuid::now_v7();
    let (measure, count) = case.plant;
    sqlx::query(
        "insert into plant (id, site_id, place, host_plant, kind, count, height_ft, stems_in, eaten,
            food_in_root_zone, product_id, use_code, created_at)
         values ($1, $2, 'Gate', 'Podocarpus', 'tree', $3, case when $4 = 'height-ft' then $5::numeric end,
            case when $4 = 'diameter-in' then array[$5::numeric] else '{}' end, 'no', 'no', $6, 'shrub-drench', now())",
    )
    .bind(id)
    .bind(yard.site)
    .bind(i32::try_from(count).unwrap())
    .bind(case.measure)
    .bind(measure.parse::<rust_decimal::Decimal>().unwrap())
    .bind(of)
    .execute(&world.pool)
    .await
    .unwrap();
    let used = labels::load(&mut world.pool.acquire().await.unwrap(), version).await.unwrap().unwrap();
    record(world, owner, yard, case, (id, used.uses[0].id)).await;
    (id, used.uses[0].id)
}

/// Writes down what the plant got in May.
async fn record(world: &World, owner: &Visitor, yard: &Yard, case: &Case, (plant, label_use): (Uuid, Uuid)) {
    let stop = Stop {
        origin: "own".into(),
        on: "2026-05-02".parse().unwrap(),
        started_at: None,
        finished_at: None,
        applicator: Some(owner.id),
        other_name: String::new(),
        other_certification: String::new(),
        supervisor: None,
        wind_direction: String::new(),
        wind_mph: None,
        temperature_f: None,
        area_treated_sqft: None,
        note: String::new(),
    };
    let applied = Applied {
        plant: Some(plant),
        words: String::new(),
        label_use,
        measure: Some(case.plant.0.parse().unwrap()),
        count: i32::try_from(case.plant.1).unwrap(),
        amount: case.earlier.0.parse().unwrap(),
        unit: case.earlier.1.into(),
        water: None,
        water_unit: None,
        lot: String::new(),
    };
    let doer = plantward::actions::Doer { person: Some(owner.id), ..world.doer() };
    let today = "2026-11-25".parse().unwrap();
    enter(&doer, today, Uuid::now_v7(), yard.site, &stop, &[applied]).await.unwrap();
}

/// What the rules make of the rows. A girth and treated ground are given where the plant's row holds none.
async fn by_database(world: &World, yard: &Yard, case: &Case, (plant, label_use): (Uuid, Uuid)) -> Value {
    let mut conn = world.pool.acquire().await.unwrap();
    let today = "2026-11-25".parse().unwrap();
    let applicator = fact::company_as_applicator(&mut conn, yard.parcel, today).await.unwrap();
    let mut facts: Facts = fact::of_parcel(&mut conn, yard.parcel, today, applicator).await.unwrap();
    if !facts.plants.iter().any(|p| p.id == plant.to_string()) {
        assert!(
            !matches!(case.measure, "height-ft" | "diameter-in" | "plant" | "container"),
            "{}",
            case.measure
        );
        facts.plants.push(PlantFacts {
            id: plant.to_string(),
            use_id: label_use.to_string(),
            measure: parse(case.plant.0).unwrap(),
            count: case.plant.1,
            host: Some("podocarpus".into()),
            active: true,
            ..PlantFacts::default()
        });
    }
    said(&outlook(&facts).unwrap(), &plant.to_string())
}

fn said(found: &Outlook, plant: &str) -> Value {
    let due = found.due.iter().find(|due| due.plant == plant).unwrap();
    let rules: Vec<&str> = due.held_by.iter().map(|rule| rule.code()).collect();
    let cap =
        |cap: &plantward::domain::cap::CapStanding| cap.remaining.as_ref().map(|left| fixed_half_up(left, 6));
    json!({
        "product": { "value": plain(&due.dose.product.value), "unit": due.dose.product.unit.code() },
        "grams": fixed_half_up(&due.dose.grams_of("imidacloprid"), 6),
        "left": found.caps.iter().map(cap).collect::<Vec<_>>(),
        "product_left": found.product_caps.iter().map(cap).collect::<Vec<_>>(),
        "protected_until": due.protected_until, "wanted_on": due.wanted_on,
        "allowed_on": due.allowed_on, "due_on": due.due_on, "held_by": rules, "gap_days": due.gap_days,
    })
}

/// What the command line makes of the scenario.
fn by_command_line(case: &Case) -> Value {
    let text = plantward::calc::run(&case.scenario().to_string()).unwrap_or_else(|errors| panic!("{errors}"));
    let answer: Value = serde_json::from_str(&text).unwrap();
    let (dose, due) = (&answer["doses"][0], &answer["due"][0]);
    let left = |list: &str, key: &str| -> Vec<Value> {
        let all = answer[list].as_array().cloned().unwrap_or_default();
        all.iter().map(|one| one[key].clone()).collect()
    };
    json!({
        "product": dose["product"],
        "grams": dose["ingredients"]["imidacloprid"]["value"],
        "left": left("caps", "remaining_g"),
        "product_left": left("product_caps", "remaining"),
        "protected_until": due["protected_until"], "wanted_on": due["wanted_on"],
        "allowed_on": due["allowed_on"], "due_on": due["due_on"], "held_by": due["held_by"],
        "gap_days": due["gap_days"],
    })
}

#[tokio::test]
async fn forms_and_database_answer_as_the_command_line_does() {
    let mut held = std::collections::BTreeSet::new();
    for (number, case) in cases().into_iter().enumerate() {
        let world = World::new().await;
        let owner = world.owner().await;
        world.certify(owner.id, CATEGORY, "2027-12-31").await;
        let yard = Yard::new(&world, &owner).await;
        let planted = typed_in(&world, &owner, &yard, &case, number).await;
        let found = by_database(&world, &yard, &case, planted).await;
        let expected = by_command_line(&case);
        assert_eq!(found, expected, "{} {}", case.form, case.measure);
        assert!(!found["left"].as_array().unwrap().is_empty(), "{}: a cap was checked", case.form);
        assert_eq!(found["product_left"].as_array().unwrap().len(), usize::from(case.own_cap.is_some()));
        held.insert(found["held_by"].to_string());
    }
    assert!(held.len() > 1, "some are held and some are not: {held:?}");
}
