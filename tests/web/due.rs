//! The due list: what stands where and why, what it can be narrowed to, and how days follow the clock.
use crate::{support::World, yard::Yard};
use chrono::TimeDelta;
use plantward::actions::due;
use uuid::Uuid;

/// The rows of the list as text between tags, one string a row.
fn rows(page: &str) -> Vec<String> {
    let body = page.split("<tbody>").nth(1).map_or("", |b| b.split("</tbody>").next().unwrap());
    let plain = |row: &str| {
        let mut text = String::new();
        let mut inside = false;
        for c in row.chars() {
            match c {
                '<' => inside = true,
                '>' => inside = false,
                c if !inside => text.push(c),
                _ => {}
            }
        }
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    body.split("<tr>").skip(1).map(plain).collect()
}

async fn set_first_wanted(world: &World, yard: &Yard, plant: Uuid, day: &str) {
    sqlx::query("update plant set first_wanted = $2::date where id = $1")
        .bind(plant)
        .bind(day)
        .execute(&world.pool)
        .await
        .unwrap();
    let mut tx = world.pool.begin().await.unwrap();
    due::recompute_parcel(&mut tx, &world.doer(), yard.parcel).await.unwrap();
    tx.commit().await.unwrap();
}

#[tokio::test]
async fn each_plant_stands_at_its_day_with_its_reason() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    // 24 mL and 48 mL are wanted at the low rate of 3 mL a foot; 168 mL more would pass the 189.27 mL of the year.
    let late = yard.hedge(&world, "Street side", 1).await;
    let soon = yard.hedge(&world, "Pool side", 2).await;
    let big = yard.hedge(&world, "Long side", 7).await;
    set_first_wanted(&world, &yard, late, "2026-11-20").await;
    set_first_wanted(&world, &yard, soon, "2026-12-05").await;
    set_first_wanted(&world, &yard, big, "2026-12-06").await;
    let page = owner.get("/due?show=all").await.page().to_owned();
    let rows = rows(&page);
    assert_eq!(rows.len(), 3);
    assert!(rows[0].contains("Overdue 5 days") && rows[0].contains("Nov 20, 2026"), "{}", rows[0]);
    assert!(rows[1].contains("In 10 days"), "{}", rows[1]);
    assert!(
        rows[2].contains("Held back until Jan 1, 2027"),
        "the calendar year's cap opens again: {}",
        rows[2]
    );
    assert!(rows[2].contains("The annual cap of the land leaves too little"), "{}", rows[2]);
    assert!(page.contains("1 overdue") && page.contains("1 held back"));
    assert_eq!(owner.get("/due?show=held").await.page().matches("Long side").count(), 1);
    assert_eq!(owner.get("/due?show=overdue").await.page().matches("Pool side").count(), 0);
    let week = owner.get("/due?show=week&week=2026-12-02").await;
    assert_eq!(week.page().matches("Pool side").count(), 1, "Saturday of the week of December 2");
    assert_eq!(week.page().matches("Street side").count(), 0);
}

#[tokio::test]
async fn the_list_narrows_to_an_area_and_a_host_plant() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let plant = yard.hedge(&world, "Street side", 1).await;
    sqlx::query("update site set service_area = 'North'").execute(&world.pool).await.unwrap();
    for (query, seen) in [
        ("area=North", 1),
        ("area=South", 0),
        ("host=podocarpus", 1),
        ("host=rose", 0),
        ("area=North&host=podocarpus&show=nonsense&week=never&after=nowhere", 1),
    ] {
        let page = owner.get(&format!("/due?{query}")).await;
        let link = format!("/plants/{plant}");
        assert_eq!(page.page().matches(&link).count(), seen, "{query}");
    }
}

#[tokio::test]
async fn the_list_goes_on_page_by_page_without_losing_or_doubling() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    yard.hedge(&world, "Street side", 1).await;
    sqlx::query(
        "insert into plant (id, site_id, place, host_plant, kind, count, height_ft, eaten, food_in_root_zone, product_id,
            use_code, first_wanted, created_at)
         select gen_random_uuid(), site_id, 'bed ' || n, host_plant, kind, 1, 1, 'no', 'no', product_id, use_code,
            date '2026-11-01' + n / 10, now() from plant, generate_series(1, 119) n",
    )
    .execute(&world.pool)
    .await
    .unwrap();
    due::recompute_all(&world.doer()).await.unwrap();
    let (mut path, mut seen, mut pages) = ("/due?show=all".to_owned(), vec![], 0);
    loop {
        let page = owner.get(&path).await.page().to_owned();
        let links = page.split("href=\"/plants/").skip(1).map(|rest| rest[..36].to_owned());
        seen.extend(links);
        pages += 1;
        let Some(next) = page.split("rel=\"next\"").next().filter(|_| page.contains("rel=\"next\"")) else {
            break;
        };
        path = next.rsplit("href=\"").next().unwrap().split('"').next().unwrap().replace("&#38;", "&");
    }
    assert_eq!((pages, seen.len()), (3, 120));
    seen.sort();
    seen.dedup();
    assert_eq!(seen.len(), 120, "nothing twice");
}

#[tokio::test]
async fn a_plant_without_treatment_or_measure_is_not_forgotten() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let plant = yard.hedge(&world, "Street side", 1).await;
    assert!(owner.get("/due?show=unplanned").await.page().contains("No plant is forgotten"));
    sqlx::query("update plant set height_ft = null where id = $1")
        .bind(plant)
        .execute(&world.pool)
        .await
        .unwrap();
    due::recompute_all(&world.doer()).await.unwrap();
    let page = owner.get("/due?show=unplanned").await;
    assert!(page.page().contains("Not measured") && page.page().contains("1 without a day"));
}

#[tokio::test]
async fn days_are_computed_again_when_a_new_day_begins() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let plant = yard.hedge(&world, "Street side", 1).await;
    assert!(rows(owner.get("/due").await.page())[0].contains("Due this week"), "wanted today");
    set_first_wanted(&world, &yard, plant, "2026-11-25").await;
    assert_eq!(due::refresh(&world.doer()).await.unwrap(), 0, "nothing is stale");
    world.clock.advance(TimeDelta::days(3));
    assert_eq!(due::refresh(&world.doer()).await.unwrap(), 1);
    let owner = world.sign_in("Per Aldous", plantward::domain::user::Role::Owner).await;
    assert!(rows(owner.get("/due").await.page())[0].contains("Overdue 3 days"));
    assert!(due::differences(&world.doer()).await.unwrap().is_empty());
    sqlx::query("update due set due_on = due_on - 1").execute(&world.pool).await.unwrap();
    let found = due::differences(&world.doer()).await.unwrap();
    assert_eq!(found.len(), 1, "a tampered day is named: {found:?}");
    assert!(found[0].contains(&plant.to_string()));
}

#[tokio::test]
async fn the_site_draws_protection_and_cap_with_the_same_figures_beside() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    yard.hedge(&world, "Street side", 1).await;
    let page = owner.get(&format!("/sites/{}", yard.site)).await.page().to_owned();
    // 0.4 lb/acre on a quarter acre is 0.1 lb, 45.359237 g.
    assert!(page.contains("Allowed in a year, rounded down</th><td class=\"num\">45.35 g"), "{page}");
    assert!(page.contains("Left, rounded down</th><td class=\"num\">45.35 g"));
    assert!(page.contains("0.4 lb/acre on the label of Rootward 2F, on 10,890 sq ft"));
    assert_eq!(page.matches("<svg").count(), 2, "one strip, one gauge");
    sqlx::query("update parcel set lot_sqft = null").execute(&world.pool).await.unwrap();
    let page = owner.get(&format!("/sites/{}", yard.site)).await;
    assert!(page.page().contains("cannot be checked: no area is known"));
}
