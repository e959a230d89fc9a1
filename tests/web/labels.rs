//! Typing a label in, comparing and signing it, and what a signature keeps.
use crate::support::{
    World,
    product::{CATEGORY, drench, label, product},
    seen,
};
use axum::http::StatusCode;
use plantward::{
    db::label as labels,
    domain::{label::METHODS, user::Role},
};
use uuid::Uuid;

fn at(version: Uuid) -> String {
    format!("/label-versions/{version}")
}

#[tokio::test]
async fn a_label_is_typed_in_and_read_back_as_typed() {
    let world = World::new().await;
    let office = world.office().await;
    let (of, version) = world.drafted(&office).await;
    let shown = office.get(&at(version)).await;
    for words in [
        "Draft, not signed",
        "3 to 6 mL per ft of height",
        "0.5 to 1 gal per ft of height",
        "12 months",
        "Not while the plant is in bloom",
        "Only from Mar 1 to Nov 30",
        "Does not cover bearing food plants",
        "2 lb/gal",
        "0.4 lb/acre",
        "the label does not say which",
        "linden, tilia cordata",
        "The label itself is the law",
    ] {
        assert!(shown.page().contains(words), "{words}");
    }
    let form = office.get(&format!("{}/edit", at(version))).await;
    assert!(form.page().contains("value=\"imidacloprid\"") && form.page().contains("value=\"4A\""));
    assert!(form.page().contains("name=\"ingredient-4-name\""), "three spare rows");
    let loaded = labels::load(&mut world.pool.acquire().await.unwrap(), version).await.unwrap().unwrap();
    let many = labels::load_many(&mut world.pool.acquire().await.unwrap(), &[of]).await.unwrap();
    assert_eq!(many, [loaded]);
}

#[tokio::test]
async fn a_draft_and_its_use_sent_twice_are_one() {
    let world = World::new().await;
    let office = world.office().await;
    let (of, version) = world.drafted(&office).await;
    let (again, extra) = (label(version), drench(Uuid::now_v7()).with("code", "tree-drench"));
    again.send(&office, &format!("/products/{of}/label-versions")).await.went_to(&at(version));
    for _ in 0..2 {
        extra.send(&office, &format!("{}/uses", at(version))).await.went_to(&at(version));
    }
    let mut conn = world.pool.acquire().await.unwrap();
    let all = labels::load_many(&mut conn, &[of]).await.unwrap();
    assert_eq!((all.len(), all[0].uses.len(), all[0].ingredients.len()), (1, 2, 1));
    let gone = all[0].use_of("tree-drench").unwrap().id;
    for _ in 0..2 {
        let path = format!("{}/uses/{gone}/removals", at(version));
        office.post(&path, &[]).await.went_to(&at(version));
    }
    assert_eq!(labels::load(&mut conn, version).await.unwrap().unwrap().uses.len(), 1);
}

#[tokio::test]
async fn a_label_with_mistakes_comes_back_with_each_at_its_row() {
    let world = World::new().await;
    let office = world.office().await;
    let (of, _) = world.drafted(&office).await;
    let bad = label(Uuid::now_v7())
        .with("label_date", "")
        .with("ingredient-1-unit", "percent")
        .with("ingredient-2-name", "imidacloprid")
        .with("ingredient-2-strength", "strong")
        .with("ingredient-5-strength", "1")
        .with("cap-1-name", "dinotefuran")
        .with("cap-1-amount", "-1")
        .with("cap-2-name", "imidacloprid");
    let answer = bad.send(&office, &format!("/products/{of}/label-versions")).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    for field in [
        "label_date",
        "ingredient-1-unit",
        "ingredient-2-name",
        "ingredient-2-strength",
        "ingredient-5-name",
        "cap-1-name",
        "cap-1-amount",
        "cap-2-amount",
        "cap-2-unit",
        "cap-2-year",
    ] {
        assert_eq!(answer.body.matches(&format!("id=\"f-{field}-wrong\"")).count(), 1, "{field}");
    }
    assert!(answer.body.contains("value=\"strong\"") && answer.body.contains("waterproof gloves"));
}

#[tokio::test]
async fn a_use_with_mistakes_comes_back_with_each_at_its_field() {
    let world = World::new().await;
    let office = world.office().await;
    let (_, version) = world.drafted(&office).await;
    let uses = format!("{}/uses", at(version));
    let bad = drench(Uuid::now_v7())
        .with("code", "Shrub/Drench")
        .with("method", "wishing")
        .with("rate_low", "7")
        .with("rate_unit", "oz")
        .with("water_high", "")
        .with("protection_value", "0")
        .with("uptake_days", "")
        .with("max_per_year", "often")
        .with("season_to", "02-30")
        .with("covers_food", "yes");
    let answer = bad.send(&office, &uses).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    for field in [
        "code",
        "method",
        "rate_high",
        "rate_unit",
        "water_high",
        "protection_value",
        "uptake_days",
        "max_per_year",
        "season_to",
        "preharvest_days",
    ] {
        assert_eq!(answer.body.matches(&format!("id=\"f-{field}-wrong\"")).count(), 1, "{field}");
    }
    assert!(answer.body.contains("value=\"often\""));
    let taken = drench(Uuid::now_v7()).send(&office, &uses).await;
    assert_eq!(taken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(taken.body.contains("has a use with this code already"));
}

#[tokio::test]
async fn the_table_takes_every_method_that_the_form_offers() {
    let world = World::new().await;
    let office = world.office().await;
    let (_, version) = world.drafted(&office).await;
    let form = office.get(&format!("{}/uses/new", at(version))).await;
    for unit in ["mL", "L", "floz", "pt", "qt", "gal"] {
        assert!(form.page().contains(&format!("<option value=\"{unit}\"")), "{unit}");
    }
    assert!(!form.page().contains("<option value=\"oz\""), "a poured product is not weighed");
    for (n, method) in METHODS.iter().enumerate() {
        let one = drench(Uuid::now_v7()).with("code", &format!("use-{n}")).with("method", method);
        one.send(&office, &format!("{}/uses", at(version))).await.went_to(&at(version));
    }
}

#[tokio::test]
async fn only_a_current_certification_in_the_category_signs_whatever_the_role() {
    let world = World::new().await;
    let (owner, office, ines) = (world.owner().await, world.office().await, world.technician().await);
    let (of, version) = world.drafted(&office).await;
    world.certify(owner.id, "structural", "2027-12-31").await;
    world.certify(ines.id, CATEGORY, "2026-11-24").await;
    let refused = owner.sign_label(version).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("You are certified in structural."));
    let refused = office.sign_label(version).await;
    assert!(refused.body.contains("None is entered for you."), "{}", refused.body);
    let refused = ines.sign_label(version).await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    assert!(refused.body.contains("Yours holds from Jan 1, 2025 to Nov 24, 2026."));
    assert_eq!(ines.get(&at(version)).await.status, StatusCode::NOT_FOUND, "a draft is not hers to see");
    world.certify(ines.id, "Landscape Maintenance ", "2027-12-31").await;
    assert!(ines.get(&at(version)).await.page().contains("I have compared this entry"));
    let unticked = ines.post(&format!("{}/signatures", at(version)), &[]).await;
    assert_eq!(unticked.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(unticked.body.contains("f-compared-wrong"));
    for _ in 0..2 {
        ines.sign_label(version).await.went_to(&at(version));
    }
    let shown = owner.get(&at(version)).await;
    assert!(
        shown.page().contains("Ines Okoro compared it with the label in hand and signed on Nov 25, 2026")
    );
    assert!(office.get(&format!("/products/{of}")).await.page().contains("Signed, in force"));
    assert!(office.get("/products").await.page().contains("Version 1 in force"));
    let signatures: i64 =
        sqlx::query_scalar("select count(*) from audit where noun_id = $1 and deed = 'signed'")
            .bind(version)
            .fetch_one(&world.pool)
            .await
            .unwrap();
    assert_eq!(signatures, 1);
}

#[tokio::test]
async fn a_certification_that_ran_out_signs_no_more() {
    let world = World::new().await;
    let owner = world.owner().await;
    let (_, version) = world.drafted(&owner).await;
    world.certify(owner.id, CATEGORY, "2026-11-25").await;
    assert!(!owner.get(&at(version)).await.page().contains("You cannot sign it"));
    // It is ten in the morning: its last day ends after fourteen hours, not sooner.
    for hours in [7, 6] {
        world.clock.advance(chrono::Duration::hours(hours));
        assert!(!owner.get(&at(version)).await.page().contains("You cannot sign it"));
    }
    world.clock.advance(chrono::Duration::hours(2));
    let refused = owner.sign_label(version).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("to Nov 25, 2026."));
    assert!(owner.get(&at(version)).await.page().contains("You cannot sign it"));
}

#[tokio::test]
async fn an_entry_with_gaps_is_not_signed() {
    let world = World::new().await;
    let owner = world.owner().await;
    world.certify(owner.id, CATEGORY, "2027-12-31").await;
    let (of, _) = world.drafted(&owner).await;
    let version = Uuid::now_v7();
    let bare = label(version).with("clothing", "").with("precautions", "").with("ingredient-1-name", "");
    let bare = bare.with("ingredient-1-group", "").with("ingredient-1-strength", "");
    let bare = bare.with("cap-1-name", "").with("cap-1-amount", "");
    bare.send(&owner, &format!("/products/{of}/label-versions")).await.went_to(&at(version));
    let refused = owner.sign_label(version).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    for gap in ["the protective clothing", "the precautions", "an active ingredient", "a use with its rate"] {
        assert!(refused.body.contains(&format!("<li>{gap}")), "{gap}");
    }
    assert!(refused.body.contains("The entry still lacks the protective clothing"));
    let shown = owner.get(&at(version)).await;
    assert!(shown.page().contains("Not whole yet") && !shown.page().contains("name=\"compared\""));
}

#[tokio::test]
async fn what_is_signed_stays_by_page_and_by_database() {
    let world = World::new().await;
    let owner = world.owner().await;
    world.certify(owner.id, CATEGORY, "2027-12-31").await;
    let (_, version) = world.drafted(&owner).await;
    owner.sign_label(version).await.went_to(&at(version));
    let mut conn = world.pool.acquire().await.unwrap();
    let before = labels::load(&mut conn, version).await.unwrap().unwrap();
    let use_id = before.uses[0].id;
    let changed = label(version).with("clothing", "None").send(&owner, &at(version)).await;
    assert_eq!(changed.status, StatusCode::CONFLICT);
    assert!(changed.body.contains("signed and stays as it is"));
    for path in [format!("{}/uses", at(version)), format!("/label-uses/{use_id}")] {
        let answer = drench(Uuid::now_v7()).with("code", "other").send(&owner, &path).await;
        assert_eq!(answer.status, StatusCode::CONFLICT, "{path}");
    }
    let removal = owner.post(&format!("{}/uses/{use_id}/removals", at(version)), &[]).await;
    assert_eq!(removal.status, StatusCode::CONFLICT);
    for path in [format!("{}/edit", at(version)), format!("{}/uses/new", at(version))] {
        assert_eq!(owner.get(&path).await.status, StatusCode::CONFLICT, "{path}");
    }
    for text in [
        "update label_version set clothing = 'None'",
        "update label_version set signed_at = null, signed_by = null, signed_certification_id = null",
        "delete from label_version",
        "update label_use set rate_high = 60",
        "delete from label_use",
        "insert into label_cap select label_version_id, 9, ingredient, amount, unit, year from label_cap",
        "delete from label_cap",
        "update label_ingredient set strength = 1",
    ] {
        let refused = sqlx::query(text).execute(&mut *conn).await.unwrap_err();
        assert_eq!(plantward::db::broken_constraint(&refused), Some("label_version_signed_stays"), "{text}");
    }
    assert_eq!(labels::load(&mut conn, version).await.unwrap().unwrap(), before);
}

#[tokio::test]
async fn a_new_version_copies_everything_and_counts_once_it_is_signed() {
    let world = World::new().await;
    let owner = world.owner().await;
    world.certify(owner.id, CATEGORY, "2027-12-31").await;
    let (of, first) = world.drafted(&owner).await;
    owner.sign_label(first).await.went_to(&at(first));
    let (second, third) = (Uuid::now_v7(), Uuid::now_v7());
    for (id, from) in [(second, first), (second, first), (third, first)] {
        let fields = [("id", id.to_string()), ("from", from.to_string())];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
        owner.post(&format!("/products/{of}/label-versions"), &fields).await.went_to(&at(id));
    }
    let mut conn = world.pool.acquire().await.unwrap();
    let all = labels::load_many(&mut conn, &[of]).await.unwrap();
    let heads: Vec<_> = all.iter().map(|l| (l.version.number, l.version.in_force)).collect();
    assert_eq!(heads, [(3, false), (2, false), (1, true)], "a draft changes nothing yet");
    let (copy, source) = (&all[1], &all[2]);
    assert!(copy.version.is_draft());
    assert_eq!(copy.version.excluded_hosts, source.version.excluded_hosts);
    assert_eq!(copy.ingredients[0].strength, source.ingredients[0].strength);
    assert_eq!(copy.caps[0].amount, source.caps[0].amount);
    assert_eq!(
        (&copy.uses[0].code, copy.uses[0].rate_high),
        (&source.uses[0].code, source.uses[0].rate_high)
    );
    assert_ne!(copy.uses[0].id, source.uses[0].id);
    owner.sign_label(third).await.went_to(&at(third));
    let page = owner.get(&format!("/products/{of}")).await;
    assert!(page.page().contains("Signed, replaced") && page.page().contains("Draft, not signed"));
    let late = owner.sign_label(second).await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(late.body.contains("A newer version is in force."));
}

#[tokio::test]
async fn technicians_read_signed_labels_and_nobody_else_signs_in_their_name() {
    let world = World::new().await;
    let owner = world.owner().await;
    world.certify(owner.id, CATEGORY, "2027-12-31").await;
    let (of, version) = world.drafted(&owner).await;
    let ines = world.technician().await;
    assert_eq!(ines.get(&at(version)).await.status, StatusCode::NOT_FOUND);
    owner.sign_label(version).await.went_to(&at(version));
    let shown = ines.get(&at(version)).await;
    for words in ["waterproof gloves", "Keep out of lakes", "rinse with water"] {
        assert!(shown.page().contains(words), "{words}");
    }
    assert!(!shown.page().contains("New version"));
    assert!(ines.get(&format!("/products/{of}")).await.page().contains("Signed, in force"));
    world.certify(ines.id, CATEGORY, "2027-12-31").await;
    let second = ines.sign_label(version).await;
    assert_eq!(second.status, StatusCode::CONFLICT);
    assert!(second.body.contains("Somebody else has signed"));
    let per = world.sign_in("Per Aldous", Role::Office).await;
    assert!(per.get(&at(version)).await.page().contains("New version from this one"));
}

#[tokio::test]
async fn a_signature_covers_only_what_the_signer_compared() {
    let world = World::new().await;
    let (owner, office) = (world.owner().await, world.office().await);
    world.certify(owner.id, CATEGORY, "2027-12-31").await;
    let (of, version) = world.drafted(&office).await;
    let mut conn = world.pool.acquire().await.unwrap();
    let use_id = labels::load(&mut conn, version).await.unwrap().unwrap().uses[0].id;
    let edit = format!("/label-uses/{use_id}");
    let opened = seen(owner.get(&at(version)).await.page());
    for change in ["a rate", "a caution", "a cap", "a use more", "a use less", "the product's number"] {
        let before = seen(owner.get(&at(version)).await.page());
        let answer = match change {
            "a rate" => drench(use_id).with("rate_high", "6.5").change(&office, &edit).await,
            "a caution" => label(version).with("precautions", "None.").change(&office, &at(version)).await,
            "a cap" => label(version).with("cap-1-amount", "0.5").change(&office, &at(version)).await,
            "a use more" => {
                let more = drench(of).with("code", "more");
                more.send(&office, &format!("{}/uses", at(version))).await
            }
            "a use less" => office.post(&format!("{}/uses/{of}/removals", at(version)), &[]).await,
            _ => product(of, "Rootguard Two", "99999-13").change(&office, &format!("/products/{of}")).await,
        };
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{change}: {}", answer.body);
        let refused = owner.sign_as_seen(version, &before).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{change}");
        assert!(refused.body.contains("is not the one that you compared"), "{change}");
        assert!(!refused.body.contains("checked"), "it is to be compared again");
    }
    for none in ["", &opened] {
        assert_eq!(owner.sign_as_seen(version, none).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    }
    owner.sign_label(version).await.went_to(&at(version));
}

#[tokio::test]
async fn a_label_that_cannot_be_is_not_entered() {
    let world = World::new().await;
    let office = world.office().await;
    let (of, _) = world.drafted(&office).await;
    let to = format!("/products/{of}/label-versions");
    for (name, typed, unit, told) in [
        ("label_date", "2026-11-26", "lb/gal", "still to come"),
        ("ingredient-1-strength", "20.01", "lb/gal", "stronger than 20 lb/gal"),
        ("ingredient-1-strength", "2400.1", "g/L", "stronger than 2400 g/L"),
    ] {
        let bad =
            label(Uuid::now_v7()).with("ingredient-1-unit", unit).with(name, typed).send(&office, &to).await;
        assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY, "{typed}");
        assert!(bad.body.contains(told) && bad.body.contains(&format!("value=\"{typed}\"")), "{told}");
    }
    let edge = Uuid::now_v7();
    let good = label(edge).with("label_date", "2026-11-25").with("ingredient-1-strength", "20");
    good.send(&office, &to).await.went_to(&at(edge));
    let shown = office.get(&at(edge)).await;
    assert!(shown.page().contains("20 lb/gal"));
}
