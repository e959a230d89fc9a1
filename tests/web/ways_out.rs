//! Ways out, other figures, fairer sharing and cups, as the office finds and chooses them.
use crate::{
    support::{Visitor, World},
    yard::{Yard, certify},
};
use axum::http::StatusCode;
use plantward::actions::due;
use uuid::Uuid;

/// Records so much of the yard's product, on a plant or on other ground.
async fn applied(by: &Visitor, yard: &Yard, plant: Option<(Uuid, i32)>, on: &str, ml: &str) {
    let id = Uuid::now_v7().to_string();
    let (site, item, own) = (yard.site.to_string(), yard.label_use.to_string(), by.id.to_string());
    let (plant, count) = plant.map_or_else(Default::default, |(p, n)| (p.to_string(), n.to_string()));
    let measure = if plant.is_empty() { "" } else { "8" };
    let fields = [
        ("id", id.as_str()),
        ("site", &site),
        ("origin", "own"),
        ("on", on),
        ("applicator", &own),
        ("rows", "1"),
        ("plant-0", &plant),
        ("use-0", &item),
        ("amount-0", ml),
        ("unit-0", "mL"),
        ("measure-0", measure),
        ("count-0", &count),
        ("words-0", if plant.is_empty() { "lawn" } else { "" }),
        ("step", "save"),
    ];
    by.post_sure("/records", &fields).await.went_to(&format!("/records/{id}"));
}

/// A signed product beside the yard's, without a cap, for these hosts.
async fn other_product(world: &World, owner: &Visitor, name: &str, number: &str, hosts: &str) -> Uuid {
    let [product, label, item] = std::array::from_fn(|_| Uuid::now_v7());
    let certification = certify(world, owner.id).await;
    let script = format!(
        "insert into product (id, name, registration_number, form, created_at)
            values ('{product}', '{name}', '{number}', 'liquid', now());
         insert into label_version (id, product_id, number, label_date, category, entered_by, entered_at)
            values ('{label}', '{product}', 1, '2026-01-01', 'landscape maintenance', '{by}', now());
         insert into label_ingredient (label_version_id, position, name, irac_group, strength, strength_unit)
            values ('{label}', 1, 'azadirachtin', 'UN', 1, 'lb/gal');
         insert into label_use (id, label_version_id, code, name, hosts, pests, method, measure, rate_low, rate_high,
            rate_unit, protection_value, protection_unit)
            values ('{item}', '{label}', 'spray', 'Foliar spray', '{hosts}', 'Aphids, scales', 'foliar-spray', 'height-ft',
            2, 4, 'mL', 6, 'month');
         insert into product_registration values ('{product}', 'CA', '2027-12-31');
         update label_version set signed_by = '{by}', signed_certification_id = '{certification}', signed_at = now()
            where id = '{label}';",
        by = owner.id
    );
    sqlx::raw_sql(sqlx::AssertSqlSafe(script)).execute(&world.pool).await.unwrap();
    item
}

/// The keys of the ways out that a page offers.
fn keys(page: &str) -> Vec<String> {
    let mark = "name=\"way\" value=\"";
    page.split(mark).skip(1).map(|rest| rest.split('"').next().unwrap_or_default().to_owned()).collect()
}

/// What the plants of the yard are meant to get, the newest last: use, rate, count, whether in care.
async fn meant(world: &World) -> Vec<(String, Option<String>, i32, bool)> {
    sqlx::query_as(
        "select use_code, trim_scale(planned_rate)::text, count, retired_at is null from plant order by id",
    )
    .fetch_all(&world.pool)
    .await
    .unwrap()
}

async fn nothing_differs(world: &World) {
    assert_eq!(due::differences(&world.doer()).await.unwrap(), Vec::<String>::new());
}

/// 100 mL of 189.27 mL went onto other ground; a hedge of seven takes 168 mL at the lowest rate.
async fn held_hedge(world: &World, owner: &Visitor, yard: &Yard) -> (Uuid, String) {
    applied(owner, yard, None, "2026-11-01", "100").await;
    let hedge = yard.hedge(world, "Long side", 7).await;
    (hedge, format!("/plants/{hedge}"))
}

#[tokio::test]
async fn a_hedge_too_large_for_the_cap_is_split_and_joined_again() {
    let world = World::new().await;
    let (owner, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &owner).await;
    let (hedge, path) = held_hedge(&world, &owner, &yard).await;
    // The yard's label names shrubs and aphids; one for palms is no way out.
    other_product(&world, &owner, "Palmward", "99999-31", "Palms").await;
    let page = tobias.get(&path).await.page().to_owned();
    let split = keys(&page).into_iter().find(|key| key.starts_with("split:")).expect("a split is offered");
    assert!(split.ends_with(":3:3+4"), "89.27 mL hold three plants of 24 mL: {split}");
    assert!(!page.contains("Palmward"), "{page}");
    for told in ["In two parts, over two years", "72 mL for 3 of 7", "96 mL for 4 of 7", "without protection"]
    {
        assert!(page.contains(told), "{told}\n{page}");
    }
    let site = tobias.get(&format!("/sites/{}", yard.site)).await;
    assert_eq!(keys(site.page()), keys(&page), "the site's page offers the same");
    tobias.post(&format!("{path}/ways-out"), &[("way", &split)]).await.went_to(&path);
    assert_eq!(meant(&world).await.iter().map(|m| m.2).collect::<Vec<_>>(), [3, 4]);
    assert_eq!(yard.due_on(&world, hedge).await, Some("2026-11-25".parse().unwrap()));
    nothing_differs(&world).await;
    let page = tobias.get(&path).await.page().to_owned();
    assert!(page.contains("the record was split in two today"), "{page}");
    let back = page.split("/returns\"").next().unwrap().rsplit("action=\"").next().unwrap().to_owned();
    tobias.post(&format!("{back}/returns"), &[]).await.went_to(&path);
    let now = meant(&world).await;
    assert_eq!((now[0].2, now[1].3), (7, false), "joined again, the part is retired");
    assert!(!tobias.get(&path).await.page().contains("Take it back"));
    nothing_differs(&world).await;
    let deeds: Vec<String> = sqlx::query_scalar(
        "select deed from audit where noun_id = $1 and deed like 'way out%' order by at, id",
    )
    .bind(hedge)
    .fetch_all(&world.pool)
    .await
    .unwrap();
    assert_eq!(deeds, ["way out chosen", "way out taken back"]);
}

#[tokio::test]
async fn a_part_keeps_the_past_of_the_whole() {
    let world = World::new().await;
    let (owner, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "Long side", 7).await;
    applied(&owner, &yard, Some((hedge, 7)), "2025-11-01", "168").await;
    applied(&owner, &yard, None, "2026-11-02", "100").await;
    let path = format!("/plants/{hedge}");
    let page = tobias.get(&path).await.page().to_owned();
    let split = keys(&page).into_iter().find(|key| key.starts_with("split:")).expect("a split is offered");
    tobias.post(&format!("{path}/ways-out"), &[("way", &split)]).await.went_to(&path);
    let until: Vec<Option<chrono::NaiveDate>> =
        sqlx::query_scalar("select protected_until from due order by plant_id")
            .fetch_all(&world.pool)
            .await
            .unwrap();
    assert_eq!(until, [Some("2026-11-01".parse().unwrap()); 2], "both parts were drenched a year ago");
    let part: Uuid =
        sqlx::query_scalar("select plant_id from plant_split").fetch_one(&world.pool).await.unwrap();
    let page = tobias.get(&format!("/plants/{part}")).await;
    assert!(page.page().contains("as part of the record that it was split from"), "{}", page.body);
    let site = tobias.get(&format!("/sites/{}", yard.site)).await;
    let used = site.page().split("Used, rounded up").nth(1).unwrap().chars().take(60).collect::<String>();
    // 100 mL hold 23.9653 g (2 lb/gal of 453.59237 g and 3,785.411784 mL), and count once.
    assert!(used.contains("23.97 g"), "{used}");
}

#[tokio::test]
async fn another_product_is_chosen_and_an_old_offer_is_refused() {
    let world = World::new().await;
    let (owner, tobias, ines) = (world.owner().await, world.office().await, world.technician().await);
    let yard = Yard::new(&world, &owner).await;
    let (hedge, path) = held_hedge(&world, &owner, &yard).await;
    let item = other_product(&world, &owner, "Leafward", "99999-32", "Ornamental shrubs").await;
    let page = tobias.get(&path).await.page().to_owned();
    let other = keys(&page).into_iter().find(|key| key.starts_with("other-product:")).expect("it is offered");
    assert!(other.contains(&item.to_string()), "{other}");
    assert!(page.contains("Leafward by foliar spray at 2 mL per ft"), "{page}");
    assert_eq!(
        ines.post(&format!("{path}/ways-out"), &[("way", &other)]).await.status,
        StatusCode::NOT_FOUND
    );
    let stale = tobias.post(&format!("{path}/ways-out"), &[("way", "lower-rate:none:3:7")]).await;
    assert_eq!(stale.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(stale.body.contains("no longer offered"), "{}", stale.body);
    tobias.post(&format!("{path}/ways-out"), &[("way", &other)]).await.went_to(&path);
    assert_eq!(meant(&world).await[0], ("spray".into(), Some("2".into()), 7, true));
    assert_eq!(yard.due_on(&world, hedge).await, Some("2026-11-25".parse().unwrap()));
    let again = tobias.post(&format!("{path}/ways-out"), &[("way", &other)]).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "nothing holds it any more");
    nothing_differs(&world).await;
}

#[tokio::test]
async fn other_figures_are_tried_before_they_are_saved() {
    let world = World::new().await;
    let (owner, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "Long side", 4).await;
    other_product(&world, &owner, "Leafward", "99999-32", "Ornamental shrubs").await;
    let path = format!("/sites/{}/what-if", yard.site);
    assert!(!tobias.get(&path).await.page().contains("Before and after"));
    // Half of the lot allows 94.63 mL; four plants take 96 mL at 3 mL a foot.
    let half = tobias.get(&format!("{path}?area=5445&on=2027-01-02")).await.page().to_owned();
    for told in ["45.35 g", "then 22.67 g", "then no day in sight", "is 22.67 g in a calendar year"] {
        assert!(half.contains(told), "{told}\n{half}");
    }
    assert_eq!(yard.due_on(&world, hedge).await, Some("2026-11-25".parse().unwrap()), "nothing is saved");
    let rate = format!("rate-{hedge}");
    for (query, wrong) in [
        (format!("{path}?{rate}=7"), "band is 3 to 6 mL"),
        (format!("{path}?{rate}=much"), "not a number"),
        (format!("{path}?area=-1"), "more than zero"),
        (format!("{path}?on=2026-11-24"), "today or a later day"),
        (format!("{path}?plant={hedge}"), "Choose the treatment"),
    ] {
        let answer = tobias.get(&query).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{query}");
        assert!(answer.body.contains(wrong), "{wrong}\n{}", answer.body);
    }
    let tried = tobias.get(&format!("{path}?{rate}=4.5")).await.page().to_owned();
    assert!(tried.contains("96 mL") && tried.contains("then 144 mL"), "{tried}");
    let save = format!("/plants/{hedge}/tries");
    assert!(tried.contains(&format!("action=\"{save}\"")));
    let refused = tobias.post(&save, &[("treatment", ""), ("planned_rate", "7")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    tobias
        .post(&save, &[("treatment", ""), ("planned_rate", "4.5")])
        .await
        .went_to(&format!("/sites/{}", yard.site));
    assert_eq!(meant(&world).await[0].1.as_deref(), Some("4.5"));
    assert!(tobias.get(&format!("/sites/{}", yard.site)).await.page().contains("Take it back"));
    nothing_differs(&world).await;
}

/// A label that states 30 to 60 mL for ten feet: 4.5 mL a foot that was tried is kept as 45 mL for ten, and
/// read again as 144 mL on four plants of 8 ft.
#[tokio::test]
async fn a_tried_rate_is_kept_in_the_labels_terms() {
    let world = World::new().await;
    let (owner, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "Long side", 4).await;
    // Signed entries never change: the trigger is off for this one row.
    sqlx::query("alter table label_use disable trigger user").execute(&world.pool).await.unwrap();
    sqlx::query("update label_use set rate_per = 10, rate_low = 30, rate_high = 60 where id = $1")
        .bind(yard.label_use)
        .execute(&world.pool)
        .await
        .unwrap();
    let save = format!("/plants/{hedge}/tries");
    tobias
        .post(&save, &[("treatment", ""), ("planned_rate", "4.5")])
        .await
        .went_to(&format!("/sites/{}", yard.site));
    assert_eq!(meant(&world).await[0].1.as_deref(), Some("45"));
    assert!(tobias.get(&format!("/sites/{}", yard.site)).await.page().contains("144 mL"));
    nothing_differs(&world).await;
}

/// A hedge of seven was drenched two days before two hedges of three. 189.27 mL a year hold either the
/// large one or both small ones.
async fn rivals(world: &World, owner: &Visitor, yard: &Yard) -> [Uuid; 3] {
    let large = yard.hedge(world, "Long side", 7).await;
    let small = [yard.hedge(world, "Pool side", 3).await, yard.hedge(world, "Street side", 3).await];
    applied(owner, yard, Some((large, 7)), "2025-11-20", "168").await;
    for one in small {
        applied(owner, yard, Some((one, 3)), "2025-11-22", "72").await;
    }
    [large, small[0], small[1]]
}

#[tokio::test]
async fn a_parcel_may_share_its_cap_with_the_fewest_unprotected_days() {
    let world = World::new().await;
    let (owner, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &owner).await;
    let [large, one, other] = rivals(&world, &owner, &yard).await;
    let site = format!("/sites/{}", yard.site);
    // In the order wanted 5 + 40 + 40 days, otherwise 42 + 3 + 3.
    let hint = "In this order 85 days without protection; shared otherwise 48 days without protection.";
    assert!(tobias.get(&site).await.page().contains(hint));
    let page = tobias.get(&format!("{site}/sharings")).await.page().to_owned();
    assert!(page.contains("Jan 1, 2027, 40 days without protection"), "{page}");
    let bad = tobias.post(&format!("{site}/sharings"), &[("sharing", "by-name")]).await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    let ines = world.technician().await;
    let theirs = ines.post(&format!("{site}/sharings"), &[("sharing", "least-gap")]).await;
    assert_eq!(theirs.status, StatusCode::NOT_FOUND, "not a site of theirs");
    tobias.post(&format!("{site}/sharings"), &[("sharing", "least-gap")]).await.went_to(&site);
    let january = "2027-01-01".parse().unwrap();
    assert_eq!(yard.due_on(&world, large).await, Some(january));
    for small in [one, other] {
        assert_eq!(yard.due_on(&world, small).await, Some("2026-11-22".parse().unwrap()));
    }
    nothing_differs(&world).await;
    let told = tobias.get(&site).await.page().to_owned();
    assert!(told.contains("fewest days without protection") && !told.contains("In this order"), "{told}");
    tobias.post(&format!("{site}/sharings"), &[("sharing", "in-order")]).await.went_to(&site);
    assert_eq!(yard.due_on(&world, one).await, Some(january));
}

#[tokio::test]
async fn a_year_that_the_label_does_not_state_is_drawn_both_ways() {
    let world = World::new().await;
    let (owner, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &owner).await;
    sqlx::raw_sql(
        "alter table label_cap disable trigger label_cap_signed_stays; update label_cap set year = 'unstated';
         alter table label_cap enable trigger label_cap_signed_stays",
    )
    .execute(&world.pool)
    .await
    .unwrap();
    // December counts in the twelve months, not in the calendar year.
    applied(&owner, &yard, None, "2025-12-01", "50").await;
    applied(&owner, &yard, None, "2026-11-01", "100").await;
    let page = tobias.get(&format!("/sites/{}", yard.site)).await.page().to_owned();
    let caps = page.split("<h2>Annual caps</h2>").nth(1).unwrap();
    assert!(caps.contains("both hold; any 12 months is the stricter today"), "{caps}");
    let calendar = caps.find("In a calendar year").expect("the other window stands there too");
    assert!(caps[..calendar].contains("35.95 g") && caps[calendar..].contains("23.97 g"), "{caps}");
    assert_eq!(caps.matches("<svg").count(), 2);
}

#[tokio::test]
async fn a_cup_shows_the_dose_and_a_tank_its_loads() {
    let world = World::new().await;
    let (owner, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "Pool side", 3).await;
    assert!(tobias.get("/kit").await.page().contains("No cups yet"));
    let id = Uuid::now_v7().to_string();
    let cup = |mark: &'static str, holds: &'static str| {
        [
            ("id", id.clone()),
            ("kind", "vessel".into()),
            ("name", "measuring cup".into()),
            ("mark", mark.into()),
            ("holds", holds.into()),
            ("unit", "mL".into()),
        ]
    };
    for (mark, holds, wrong) in
        [("", "250", "how far its marks"), ("5 ml", "", "not a number"), ("300", "250", "more than it holds")]
    {
        let fields = cup(mark, holds);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
        let answer = tobias.post("/kit", &fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{mark}");
        assert!(answer.body.contains(wrong), "{wrong}\n{}", answer.body);
    }
    let fields = cup("5", "20");
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    tobias.post("/kit", &fields).await.went_to("/kit");
    tobias.post("/kit", &fields).await.went_to("/kit");
    let coarse = Uuid::now_v7().to_string();
    let jug = [("id", coarse.as_str()), ("kind", "vessel"), ("name", "jug"), ("mark", "100"), ("unit", "mL")];
    tobias.post("/kit", &jug).await.went_to("/kit");
    let tank_id = Uuid::now_v7().to_string();
    let tank =
        [("id", tank_id.as_str()), ("kind", "tank"), ("name", "small tank"), ("holds", "2"), ("unit", "gal")];
    tobias.post("/kit", &tank).await.went_to("/kit");
    // 24 mL a plant in a band of 24 to 48 mL: 20 mL would be nearer to nothing lawful.
    let page = tobias.get(&format!("/plants/{hedge}")).await.page().to_owned();
    for told in [
        "measuring cup: 25 mL for each, 75 mL in all, filled 2 times.",
        "jug cannot show it inside the band of 24 mL to 48 mL: its marks are 100 mL apart.",
    ] {
        assert!(page.contains(told), "{told}\n{page}");
    }
    let visit = Uuid::now_v7().to_string();
    let (site, own, plant) = (yard.site.to_string(), owner.id.to_string(), hedge.to_string());
    let rate = format!("rate-{hedge}");
    let fields = [
        ("id", visit.as_str()),
        ("site", &site),
        ("on", "2026-11-26"),
        ("technician", &own),
        ("plant", &plant),
        (rate.as_str(), "3"),
        ("step", "book"),
    ];
    tobias.post("/visits", &fields).await.went_to(&format!("/visits/{visit}"));
    let page = tobias.get(&format!("/visits/{visit}")).await.page().to_owned();
    // 24 ft take 6 to 12 L: 1.585 to 3.17 gal (3.785411784 L a gallon).
    for told in [
        "measuring cup: 25 mL for each",
        "72 mL of product, 1 3/4 to 3 gallons",
        "small tank (2 gal): 1 to 2 loads",
    ] {
        assert!(page.contains(told), "{told}\n{page}");
    }
    tobias.post(&format!("/kit/{id}/retirements"), &[]).await.went_to("/kit");
    assert!(!tobias.get(&format!("/plants/{hedge}")).await.page().contains("measuring cup"));
}
