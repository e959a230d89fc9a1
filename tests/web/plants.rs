//! Plants: entering, measuring, treating, retiring, and who may.
use crate::places::{self, IDS, plant_fields, with};
use crate::support::{Visitor, World};
use axum::http::StatusCode;

const SITE: &str = IDS[1];
const HEDGE: &str = IDS[2];

/// Tobias of the office, and Odile Farrant's site.
async fn tamber_lane(world: &World) -> Visitor {
    let tobias = world.office().await;
    places::customer(&tobias, IDS[0], "Odile Farrant").await;
    places::site(&tobias, IDS[0], SITE, "14 Tamber Lane").await;
    tobias
}

#[tokio::test]
async fn a_hedge_of_forty_is_entered_once() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    let path = format!("/sites/{SITE}/plants");
    assert!(tobias.get(&format!("{path}/new")).await.page().contains("value=\"unknown\" checked"));
    for _ in 0..2 {
        tobias.post(&path, &plant_fields(HEDGE, "front hedge")).await.went_to(&format!("/sites/{SITE}"));
    }
    let page = tobias.get(&format!("/sites/{SITE}")).await;
    assert_eq!(page.page().matches(&format!("/plants/{HEDGE}")).count(), 1);
    for told in ["hedge of 40", "8 ft", "No treatment chosen", "no pest named"] {
        assert!(page.body.contains(told), "{told}\n{}", page.body);
    }
    let plant = tobias.get(&format!("/plants/{HEDGE}")).await;
    assert!(plant.page().contains("eugenia, front hedge") && plant.body.contains("No first day is set."));
    assert!(
        tobias.get(&format!("{path}/new")).await.page().contains("<option value=\"eugenia\">"),
        "hosts in use"
    );
    assert_eq!(places::deeds(&world, "plant", HEDGE).await, ["entered"]);
}

#[tokio::test]
async fn a_plant_form_with_mistakes_comes_back_as_typed() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    let path = format!("/sites/{SITE}/plants");
    let good = plant_fields(HEDGE, "front hedge");
    for (name, typed, told) in [
        ("place", "", "Please fill this in."),
        ("kind", "moss", "choose one of these"),
        ("count", "0", "Count one or more."),
        ("count", "forty", "not a number of plants"),
        ("height_ft", "-8", "more than zero"),
        ("height_ft", "401", "as tall as that"),
        ("stems", "5, six", "is not a number"),
        ("stems", "5, 6, 8", "Say how several stems count"),
        ("eaten", "maybe", "choose one of these"),
        ("bloom_from", "04-15", "a first and a last day"),
        ("bloom_to", "02-30", "Write month and day"),
        ("treatment", "nonsense", "choose one of these"),
        ("treatment", "01980000-0000-7000-8000-000000000009:hedge", "not on the product"),
        ("planned_rate", "4", "Choose the treatment"),
        ("first_wanted", "2026-02-30", "not a date"),
    ] {
        let refused = tobias.post(&path, &with(&good, name, typed)).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{name} {typed}");
        assert!(refused.body.contains(told), "{told}\n{}", refused.body);
        let kept = if matches!(name, "kind" | "eaten") { "front hedge" } else { typed };
        assert!(name == "treatment" || refused.body.contains(&format!("value=\"{kept}\"")), "{name} {typed}");
    }
    let nul =
        tobias.post(&path, &with(&good, "treatment", "01980000-0000-7000-8000-000000000009:a\0b")).await;
    assert_eq!(nul.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(places::deeds(&world, "plant", HEDGE).await.is_empty());
}

#[tokio::test]
async fn several_stems_count_by_a_rule_and_the_audit_says_who_chose_it() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    places::plant(&tobias, SITE, HEDGE, "back fence").await;
    let path = format!("/plants/{HEDGE}");
    let mut fields = with(&plant_fields(HEDGE, "back fence"), "kind", "tree");
    fields.extend([
        ("stems", "5, 6.5 8"),
        ("stem_rule", "quadratic"),
        ("bloom_from", "02-29"),
        ("bloom_to", "04-01"),
    ]);
    tobias.change(&path, &fields).await.went_to(&path);
    let page = tobias.get(&path).await;
    for told in ["8 ft, stems 5, 6.5, 8 in", "same cross-section", "Feb 29 to Apr 1", "40 trees"] {
        assert!(page.page().contains(told), "{told}\n{}", page.body);
    }
    assert!(tobias.get(&format!("{path}/edit")).await.page().contains("value=\"5, 6.5, 8\""));
    let detail = places::last_detail(&world, "plant", HEDGE).await;
    assert!(detail.contains("\"stem_rule\": [null, \"quadratic\"]") && !detail.contains("place"), "{detail}");
    let who: uuid::Uuid = sqlx::query_scalar("select person_id from audit order by id desc limit 1")
        .fetch_one(&world.pool)
        .await
        .unwrap();
    assert_eq!(who, tobias.id);
    tobias.change(&path, &with(&fields, "stems", "9")).await.went_to(&path);
    assert!(tobias.get(&path).await.page().contains("trunk 9 in"));
    let rule: Option<String> =
        sqlx::query_scalar("select stem_rule from plant").fetch_one(&world.pool).await.unwrap();
    assert_eq!(rule, None, "one stem needs no rule");
}

#[tokio::test]
async fn a_treatment_comes_from_a_label_and_its_rate_from_the_band() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    places::certify(&world, tobias.id, "2027-06-30").await;
    let signed = places::product(&world, "Rootward 2F", "99999-1", tobias.id, Some(tobias.id)).await;
    let unsigned = places::product(&world, "Leafhold 75", "99999-2", tobias.id, None).await;
    let form = tobias.get(&format!("/sites/{SITE}/plants/new")).await;
    assert!(form.page().contains("Rootward 2F: Hedges by height, 3 to 6 mL per ft of height</option>"));
    assert!(form.body.contains("(label not signed yet)</option>"));
    let treated = with(&plant_fields(HEDGE, "front hedge"), "treatment", &signed);
    let path = format!("/sites/{SITE}/plants");
    for outside in ["2.999", "6.001"] {
        let refused = tobias.post(&path, &with(&treated, "planned_rate", outside)).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{outside}");
        assert!(refused.body.contains("band is 3 to 6 mL per ft of height"));
        assert!(refused.body.contains(&format!("value=\"{signed}\" selected")), "the choice is kept");
    }
    tobias.post(&path, &with(&treated, "planned_rate", "6.000")).await.went_to(&format!("/sites/{SITE}"));
    let page = tobias.get(&format!("/plants/{HEDGE}")).await;
    assert!(
        page.page().contains("Rootward 2F: Hedges by height") && page.body.contains("<dd>6 mL"),
        "{}",
        page.body
    );
    let plain = with(&plant_fields(IDS[3], "side bed"), "treatment", &unsigned);
    let plain = with(&plain, "height_ft", "");
    tobias.post(&path, &plain).await.went_to(&format!("/sites/{SITE}"));
    let site = tobias.get(&format!("/sites/{SITE}")).await;
    assert!(site.page().contains("Label not signed yet") && site.body.contains("No height measured"));
    // The product is retired: what was chosen may stay, nobody else may choose it.
    sqlx::query("update product set retired_at = now()").execute(&world.pool).await.unwrap();
    let edit = tobias.get(&format!("/plants/{HEDGE}/edit")).await;
    assert!(edit.page().contains("no longer offered"));
    let same = with(&with(&treated, "planned_rate", "6"), "count", "38");
    tobias.change(&format!("/plants/{HEDGE}"), &same).await.went_to(&format!("/plants/{HEDGE}"));
    assert!(!tobias.get(&format!("/sites/{SITE}/plants/new")).await.page().contains("Rootward"));
}

#[tokio::test]
async fn a_technician_measures_where_their_visits_lead_and_changes_nothing_else() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    let ines = world.technician().await;
    places::plant(&tobias, SITE, HEDGE, "front hedge").await;
    let path = format!("/plants/{HEDGE}");
    for closed in [path.clone(), format!("{path}/measures")] {
        assert_eq!(ines.get(&closed).await.status, StatusCode::NOT_FOUND, "{closed}");
    }
    assert_eq!(
        ines.post(&format!("{path}/measures"), &[("height_ft", "9")]).await.status,
        StatusCode::NOT_FOUND
    );
    places::visit(&world, SITE, ines.id, tobias.id, "booked").await;
    let page = ines.get(&path).await;
    assert!(
        page.page().contains("Measure it")
            && !page.body.contains("/edit")
            && !page.body.contains("retirements")
    );
    assert!(ines.get(&format!("{path}/measures")).await.page().contains("value=\"8\""));
    for (fields, told) in [
        (vec![("height_ft", ""), ("stems", "")], "Write a height, the trunk"),
        (vec![("height_ft", ""), ("stems", "4 5"), ("stem_rule", "average")], "choose one of these"),
    ] {
        let refused = ines.post(&format!("{path}/measures"), &fields).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(refused.body.contains(told), "{told}\n{}", refused.body);
    }
    ines.post(&format!("{path}/measures"), &[("height_ft", "9.5")]).await.went_to(&path);
    assert!(ines.get(&path).await.page().contains("9.5 ft"));
    let detail = places::last_detail(&world, "plant", HEDGE).await;
    assert!(detail.contains("\"height_ft\": [\"8\", \"9.5\"]"), "{detail}");
    for (write, fields) in
        [("", vec![("count", "1")]), ("/retirements", vec![("reason", "gone")]), ("/returns", vec![])]
    {
        assert_eq!(
            ines.post(&format!("{path}{write}"), &fields).await.status,
            StatusCode::NOT_FOUND,
            "{write}"
        );
    }
    assert_eq!(ines.get("/plants").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_search_finds_plants_by_their_street() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    places::plant(&tobias, SITE, HEDGE, "front hedge").await;
    for (q, found) in
        [("tamber", true), ("eugenia+14", true), ("14+tamber+hedge", true), ("tamber+oak", false)]
    {
        assert_eq!(tobias.get(&format!("/plants?q={q}")).await.page().contains(HEDGE), found, "{q}");
    }
    assert!(!tobias.get("/plants?q=obispo").await.page().contains(HEDGE), "a county is no street");
}

#[tokio::test]
async fn a_plant_is_retired_with_a_reason_and_not_while_it_is_to_be_treated() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    places::product(&world, "Rootward 2F", "99999-1", tobias.id, None).await;
    places::plant(&tobias, SITE, HEDGE, "front hedge").await;
    let path = format!("/plants/{HEDGE}");
    let visit = places::visit(&world, SITE, tobias.id, tobias.id, "booked").await;
    sqlx::query(
        "insert into planned_dose (visit_id, plant_id, label_use_id, measure, count, rate, amount, unit)
         select $1, $2, id, 8, 40, 3, 960, 'mL' from label_use",
    )
    .bind(visit)
    .bind(HEDGE.parse::<uuid::Uuid>().unwrap())
    .execute(&world.pool)
    .await
    .unwrap();
    let none = tobias.post(&format!("{path}/retirements"), &[("reason", "")]).await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    let refused = tobias.post(&format!("{path}/retirements"), &[("reason", "dug up")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        refused.body.contains("to be treated on Nov 30, 2026") && refused.body.contains("value=\"dug up\"")
    );
    places::cancel_visits(&world).await;
    for _ in 0..2 {
        tobias
            .post(&format!("{path}/retirements"), &[("reason", "dug up")])
            .await
            .went_to(&format!("/sites/{SITE}"));
    }
    assert!(tobias.get(&path).await.page().contains("Retired: dug up"));
    assert!(!tobias.get("/plants").await.page().contains(HEDGE));
    assert!(tobias.get("/plants?retired=yes&q=hedge").await.page().contains(HEDGE));
    tobias.post(&format!("{path}/returns"), &[]).await.went_to(&path);
    assert!(tobias.get("/plants?q=eugenia+FRONT").await.page().contains(HEDGE));
    assert_eq!(places::deeds(&world, "plant", HEDGE).await, ["entered", "retired", "taken back"]);
}

#[tokio::test]
async fn girth_ground_and_harvest_are_kept_and_asked_back() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    places::plant(&tobias, SITE, HEDGE, "orchard").await;
    let path = format!("/plants/{HEDGE}");
    let mut fields = with(&plant_fields(HEDGE, "orchard"), "kind", "tree");
    let kept = [
        ("girth_in", "31.4159265"),
        ("ground", "1250.5"),
        ("ground_unit", "m2"),
        ("harvest_from", "09-15"),
        ("harvest_to", "11-30"),
        ("harvest_on", "2026-10-03"),
        ("target_pest", "psyllid"),
    ];
    fields.retain(|(name, _)| kept.iter().all(|(other, _)| other != name));
    fields.extend(kept);
    tobias.change(&path, &fields).await.went_to(&path);
    let form = tobias.get(&format!("{path}/edit")).await;
    for (name, value) in kept.iter().filter(|(name, _)| *name != "ground_unit") {
        assert!(form.page().contains(&format!("value=\"{value}\"")), "{name}\n{}", form.body);
    }
    assert!(form.body.contains("<option value=\"m2\" selected>"));
    let page = tobias.get(&path).await;
    for told in [
        "girth 31.4159265 in",
        "a diameter of 10 in",
        "ground 1250.5 m2",
        "Sep 15 to Nov 30",
        "set for",
        "Oct 3, 2026",
    ] {
        assert!(page.page().contains(told), "{told}\n{}", page.body);
    }
    for (name, typed, told) in [
        ("stems", "5", "girth or its diameter, not both"),
        ("girth_in", "1901", "as thick as that"),
        ("ground", "0", "more than zero"),
        ("ground_unit", "rood", "choose one of these"),
        ("harvest_to", "", "a first and a last day"),
        ("harvest_from", "13-01", "Write month and day"),
        ("harvest_on", "soon", "not a date"),
    ] {
        let refused = tobias.change(&path, &with(&fields, name, typed)).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{name} {typed}");
        assert!(refused.body.contains(told), "{told}\n{}", refused.body);
    }
    let alone = [("ground", "2"), ("ground_unit", "acre")];
    tobias.post(&format!("{path}/measures"), &alone).await.went_to(&path);
    assert!(tobias.get(&path).await.page().contains("ground 2 acre"), "measured on the spot");
    assert!(!tobias.get(&path).await.body.contains("girth 31"), "the page of measures holds all of them");
}

#[tokio::test]
async fn two_people_who_change_the_girth_are_told() {
    let world = World::new().await;
    let tobias = tamber_lane(&world).await;
    places::plant(&tobias, SITE, HEDGE, "orchard").await;
    let path = format!("/plants/{HEDGE}");
    let seen = crate::support::seen(&tobias.get(&format!("{path}/edit")).await.body);
    let mut fields = plant_fields(HEDGE, "orchard");
    fields.push(("girth_in", "30"));
    tobias.change(&path, &fields).await.went_to(&path);
    let mut stale = with(&fields, "girth_in", "28");
    stale.push(("seen", &seen));
    let refused = tobias.post(&path, &stale).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("value=\"28\"") && refused.body.contains("30"), "{}", refused.body);
}
