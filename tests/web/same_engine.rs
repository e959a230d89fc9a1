//! The same property, once from the database and once as a scenario of the command line: both ask one engine and
//! must get one answer, word for word.
use crate::support::World;
use crate::yard::{Yard, certify_in};
use plantward::{calc, db::fact, domain::due::outlook};
use serde_json::{Value, json};
use sqlx::PgPool;
use uuid::Uuid;

/// A product whose use goes by the trunk, covers eaten fruit, and keeps clear of bloom.
struct Orchard {
    product: Uuid,
    label_use: Uuid,
}

async fn run(pool: &PgPool, sql: &'static str, ids: &[Uuid]) {
    let query = ids.iter().fold(sqlx::query(sql), |query, id| query.bind(*id));
    query.execute(pool).await.unwrap();
}

async fn orchard(world: &World, owner: Uuid) -> Orchard {
    let [product, label, label_use] = std::array::from_fn(|_| Uuid::now_v7());
    let p = &world.pool;
    run(
        p,
        "insert into product (id, name, registration_number, form, created_at)
         values ($1, 'Trunkward 4F', '99999-14', 'liquid', now())",
        &[product],
    )
    .await;
    run(
        p,
        "insert into label_version (id, product_id, number, label_date, category, excluded_hosts, entered_by, entered_at)
         values ($1, $2, 1, '2026-01-01', 'landscape maintenance', '{linden}', $3, now())",
        &[label, product, owner],
    )
    .await;
    run(
        p,
        "insert into label_ingredient (label_version_id, position, name, irac_group, strength, strength_unit)
         values ($1, 1, 'dinotefuran', '4A', 2, 'lb/gal')",
        &[label],
    )
    .await;
    run(
        p,
        "insert into label_use (id, label_version_id, code, name, method, measure, rate_low, rate_high, rate_unit,
            protection_value, protection_unit, uptake_days, barred_in_bloom, covers_food, preharvest_days)
         values ($1, $2, 'trunk', 'Fruit trees', 'soil-drench', 'diameter-in', 3, 6, 'mL', 12, 'month', 14, true, true, 21)",
        &[label_use, label],
    )
    .await;
    let certification = certify_in(world, owner, "ME").await;
    run(
        p,
        "update label_version set signed_by = $2, signed_certification_id = $3, signed_at = now() where id = $1",
        &[label, owner, certification],
    )
    .await;
    Orchard { product, label_use }
}

/// A plant of the yard with these columns beside the usual ones.
async fn plant(world: &World, yard: &Yard, product: Uuid, code: &str, extra: &Value) -> Uuid {
    let id = Uuid::now_v7();
    let mut row = json!({
        "id": id, "site_id": yard.site, "place": "lawn", "kind": "tree", "count": 1, "stems_in": [], "target_pest": "",
        "eaten": "no", "food_in_root_zone": "no", "in_bloom": false, "product_id": product, "use_code": code,
        "retired_reason": "", "created_at": "2026-01-01T00:00:00Z",
    });
    for (name, value) in extra.as_object().unwrap() {
        row[name] = value.clone();
    }
    sqlx::query("insert into plant select * from jsonb_populate_record(null::plant, $1)")
        .bind(row)
        .execute(&world.pool)
        .await
        .unwrap();
    id
}

fn product(id: Uuid, name: &str, ingredient: &str, caps: &Value, one_use: &Value) -> Value {
    let registered = |state: &str| json!({ "state": state });
    json!({
        "id": id, "name": name, "form": "liquid",
        "ingredients": [{ "name": ingredient, "group": "4A", "strength": { "value": "2", "unit": "lb/gal" } }],
        "caps": caps, "uses": [one_use], "registrations": [registered("ME")],
    })
}

fn scenario(yard: &Yard, orchard: &Orchard, plants: &[Value], extra: &Value) -> Value {
    let shrub = json!({
        "id": yard.label_use, "method": "basal-drench", "measure": "height-ft",
        "rate": { "low": "3", "high": "6", "unit": "mL" }, "water": { "low": "250", "high": "500", "unit": "mL" },
        "protection": { "value": 12, "unit": "month" }, "uptake_days": 0, "min_interval_days": 0, "max_per_year": null,
    });
    let trunk = json!({
        "id": orchard.label_use, "method": "soil-drench", "measure": "diameter-in",
        "rate": { "low": "3", "high": "6", "unit": "mL" }, "protection": { "value": 12, "unit": "month" },
        "uptake_days": 14, "min_interval_days": 0, "max_per_year": null, "bloom": "not-in-bloom",
        "covers_food": true, "pre_harvest_days": 21, "excluded_hosts": ["linden"],
    });
    let caps = json!([{ "ingredient": "imidacloprid", "amount": { "value": "0.4", "unit": "lb/acre" },
        "year": "calendar" }]);
    json!({
        "today": "2026-11-25",
        "site": {
            "state": "ME", "county": "San Luis Obispo", "municipality": "Oak Lantern", "agricultural": false,
            "cap_area": { "value": "10890", "unit": "sqft" }, "history_known_from": "2020-01-01",
            "exemptions": extra["exemptions"], "listed_pests": extra["listed_pests"],
            "rule_answers": extra["rule_answers"],
        },
        "applicator": extra["applicator"],
        "products": [
            product(yard.product, "Rootward 2F", "imidacloprid", &caps, &shrub),
            product(orchard.product, "Trunkward 4F", "dinotefuran", &json!([]), &trunk),
        ],
        "plants": plants,
        "history": [],
    })
}

/// What both say of each plant, by plant.
async fn both(world: &World, yard: &Yard, technician: Uuid, scenario: &Value) -> (Value, Value) {
    let today = "2026-11-25".parse().unwrap();
    let mut conn = world.pool.acquire().await.unwrap();
    let applicator = fact::applicator(&mut conn, technician, None, "ME", today).await.unwrap();
    let facts = fact::of_parcel(&mut conn, yard.parcel, today, applicator).await.unwrap();
    let told = |due: plantward::domain::due::Due| {
        json!({
            "plant": due.plant, "protected_until": due.protected_until, "wanted_on": due.wanted_on,
            "allowed_on": due.allowed_on, "due_on": due.due_on, "gap_days": due.gap_days, "why": due.why,
            "held_by": due.held_by.iter().map(|rule| rule.code()).collect::<Vec<_>>(),
        })
    };
    let ours: Vec<Value> = outlook(&facts).unwrap().due.into_iter().map(told).collect();
    let theirs: Value = serde_json::from_str(&calc::run(&scenario.to_string()).unwrap()).unwrap();
    (json!(ours), theirs["due"].clone())
}

/// Four trees and a hedge: height, girth, bloom, harvest, pest and host each decide somewhere.
async fn five(world: &World, yard: &Yard, o: &Orchard) -> Vec<Value> {
    let tree = "trunk";
    let by_girth = json!({ "host_plant": "Apple", "girth_in": 31.4159265, "eaten": "yes", "harvest_from": "12-01",
        "harvest_to": "12-31", "target_pest": "Hemlock woolly adelgid" });
    let by_stems = json!({ "host_plant": "Plum", "stems_in": [3, 4], "stem_rule": "quadratic", "bloom_from": "11-01",
        "bloom_to": "12-10", "target_pest": "hemlock woolly adelgid" });
    let linden = json!({ "host_plant": "Linden", "girth_in": 31.4159265 });
    let set = json!({ "host_plant": "Pear", "stems_in": [5], "eaten": "yes", "harvest_on": "2026-12-05",
        "target_pest": "scale" });
    let hedge = yard.hedge(world, "front hedge", 2).await;
    let ids = [
        plant(world, yard, o.product, tree, &by_girth).await,
        plant(world, yard, o.product, tree, &by_stems).await,
        plant(world, yard, o.product, tree, &linden).await,
        plant(world, yard, o.product, tree, &set).await,
    ];
    let tree = |n: usize, name: &str, extra: Value| {
        let mut one = json!({ "id": ids[n], "name": format!("{name}, lawn"), "use": o.label_use, "host": name.to_lowercase() });
        one.as_object_mut().unwrap().extend(extra.as_object().unwrap().clone());
        one
    };
    vec![
        json!({ "id": hedge, "name": "Podocarpus, front hedge", "use": yard.label_use, "measure": "8", "count": 2,
            "host": "podocarpus", "pest": "aphids" }),
        tree(
            0,
            "Apple",
            json!({ "circumference": "31.4159265", "eaten": "yes", "pest": "hemlock woolly adelgid",
            "harvest": { "from": "12-01", "to": "12-31" } }),
        ),
        tree(
            1,
            "Plum",
            json!({ "stems": ["3", "4"], "stem_rule": "quadratic", "pest": "hemlock woolly adelgid",
            "bloom": { "from": "11-01", "to": "12-10" } }),
        ),
        tree(2, "Linden", json!({ "circumference": "31.4159265" })),
        tree(
            3,
            "Pear",
            json!({ "measure": "5", "eaten": "yes", "harvest_on": "2026-12-05", "pest": "scale" }),
        ),
    ]
}

#[tokio::test]
async fn the_database_and_the_command_line_get_one_answer() {
    let world = World::new().await;
    let owner = world.owner().await;
    let ines = world.technician().await;
    let yard = Yard::new(&world, &owner).await;
    let orchard = orchard(&world, owner.id).await;
    yard.moved_to(&world, "ME").await;
    let p = &world.pool;
    run(p, "update site set municipality = 'Oak Lantern', city = 'Elsewhere' where id = $1", &[yard.site])
        .await;
    let plants = five(&world, &yard, &orchard).await;
    let nothing = json!({ "exemptions": [], "listed_pests": [], "rule_answers": [], "applicator": { "certified": false } });
    let (ours, theirs) = both(&world, &yard, ines.id, &scenario(&yard, &orchard, &plants, &nothing)).await;
    assert_eq!(ours, theirs, "nobody certified, nothing exempt");
    assert!(ours.as_array().unwrap().iter().all(|due| due["held_by"].to_string().contains("permission")));
    certify_in(&world, ines.id, "ME").await;
    run(
        p,
        "insert into listed_pest (id, state, pest, source, mark, entered_by, entered_at)
         values (gen_random_uuid(), 'ME', 'hemlock woolly adelgid', 'the list', 'checked', $1, now()),
            (gen_random_uuid(), 'ME', 'aphids', 'hearsay', 'unverified', $1, now())",
        &[owner.id],
    )
    .await;
    run(
        p,
        "insert into parcel_exemption (id, parcel_id, state, ingredient, valid_from, valid_until, reason, document,
            entered_by, entered_at)
         values (gen_random_uuid(), $1, 'ME', 'imidacloprid', '2027-02-01', '2027-06-30', 'order', '2027-1', $2, now()),
            (gen_random_uuid(), $1, 'ME', null, '2026-01-01', '2026-11-30', 'order', '2026-1', $2, now())",
        &[yard.parcel, owner.id],
    )
    .await;
    let granted = json!({
        "exemptions": [
            { "state": "ME", "ingredient": "imidacloprid", "from": "2027-02-01", "until": "2027-06-30" },
            { "state": "ME", "from": "2026-01-01", "until": "2026-11-30" },
        ],
        "listed_pests": [{ "state": "ME", "pest": "hemlock woolly adelgid" }],
        "rule_answers": [],
        "applicator": { "categories": ["landscape maintenance"] },
    });
    let (ours, theirs) = both(&world, &yard, ines.id, &scenario(&yard, &orchard, &plants, &granted)).await;
    assert_eq!(ours, theirs, "certified, listed and exempt");
    let held: Vec<String> = ours.as_array().unwrap().iter().map(|due| due["held_by"].to_string()).collect();
    for rule in ["pre-harvest", "bloom", "host-excluded"] {
        assert!(held.iter().any(|codes| codes.contains(rule)), "{rule} decides somewhere: {held:?}");
    }
}

#[tokio::test]
async fn an_answered_rule_means_the_same_to_both() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let orchard = orchard(&world, owner.id).await;
    yard.moved_to(&world, "NV").await;
    let plants = five(&world, &yard, &orchard).await;
    sqlx::query(
        "insert into state_rule_answer (id, rule, answer, citation, verified_on, answered_by, certification, answered_at)
         values (gen_random_uuid(), 'nv-limits', 'holds', 'as printed', '2026-11-24', $1, 'QA-1', now())",
    )
    .bind(owner.id)
    .execute(&world.pool)
    .await
    .unwrap();
    let answers = json!([{ "rule": "nv-limits", "citation": "as printed", "on": "2026-11-24" }]);
    let extra = json!({ "exemptions": [], "listed_pests": [], "rule_answers": answers,
        "applicator": { "certified": false } });
    let mut scenario = scenario(&yard, &orchard, &plants, &extra);
    scenario["site"]["state"] = json!("NV");
    scenario["site"]["municipality"] = json!("Quillan Springs");
    for product in scenario["products"].as_array_mut().unwrap() {
        product["registrations"] = json!([{ "state": "NV" }]);
    }
    let nobody = world.technician().await;
    let (ours, theirs) = both(&world, &yard, nobody.id, &scenario).await;
    assert_eq!(ours, theirs);
    assert!(ours.to_string().contains("as printed (verified on 2026-11-24)"), "{ours}");
}
