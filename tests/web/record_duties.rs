//! What a state asks of records: in which time they are written, what they hold, how long they are kept.
use crate::{
    support::{Visitor, World},
    yard::{Yard, book, certify, certify_in},
};
use plantward::domain::user::Role;
use uuid::Uuid;

/// A hedge in that state with a visit on November 25, 2026, done by somebody certified there.
async fn visit(state: &'static str, restricted: bool) -> (World, Visitor, Yard, Uuid, String) {
    let world = World::new().await;
    let (owner, ines) = (world.owner().await, world.technician().await);
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    certify(&world, ines.id).await;
    // Booked where it may be; the days of records are what is looked at here.
    let (path, answer) = book(&owner, &yard, (ines.id, None), "2026-11-25", hedge).await;
    answer.went_to(&path);
    for person in [ines.id, owner.id] {
        certify_in(&world, person, state).await;
    }
    yard.moved_to(&world, state).await;
    if restricted {
        // A signed entry does not change: the rule of the table is lifted for this one row.
        for text in [
            "alter table label_version disable trigger label_version_signed_stays",
            "update label_version set restricted_use = true",
            "alter table label_version enable trigger label_version_signed_stays",
        ] {
            sqlx::query(text).execute(&world.pool).await.unwrap();
        }
    }
    (world, owner, yard, hedge, path)
}

/// Sources: Minn. Stat. 18B.37 (5 days); 7 Pa. Code 128.35 (24 hours); Wisconsin ATCP 29.33 (same day); Florida
/// 5E-9.032, restricted-use products (2 working days: Wednesday, November 25 to Friday; holidays are not left out).
/// California states no day, and ours is the same day.
#[tokio::test]
async fn a_visit_that_is_not_recorded_is_counted_down() {
    for (state, restricted, last, left, next) in [
        ("MN", false, "Nov 30, 2026 by Minn. Stat. 18B.37", "5 days left", "4 days left"),
        ("PA", false, "Nov 26, 2026 by 7 Pa. Code 128.35", "1 day left", "Today is the last day"),
        ("WI", false, "Nov 25, 2026 by Wisconsin ATCP 29.21", "Today is the last day", "1 day late"),
        ("FL", true, "Nov 27, 2026 by Florida 5E-9.032", "2 days left", "1 day left"),
        ("FL", false, "Nov 25, 2026: no rule known here states a day", "Today is the last day", "1 day late"),
    ] {
        let (world, owner, _, _, path) = visit(state, restricted).await;
        for page in ["/records/unsigned", path.as_str()] {
            let page = owner.get(page).await;
            assert!(page.page().contains(last) && page.page().contains(left), "{state}: {}", page.body);
        }
        assert!(owner.get("/records/unsigned").await.page().contains(&format!("href=\"{path}/records\"")));
        world.clock.set("2026-11-26T18:00:00Z".parse().unwrap());
        let tomorrow = world.sign_in("Visitor", Role::Office).await.get("/records/unsigned").await;
        assert!(tomorrow.page().contains(next), "{state}: {}", tomorrow.body);
    }
}

#[tokio::test]
async fn visits_of_other_days_and_recorded_ones_are_not_counted_down() {
    let (world, owner, _, _, path) = visit("MN", false).await;
    world.clock.set("2026-11-24T18:00:00Z".parse().unwrap());
    let before = world.sign_in("Visitor", Role::Office).await;
    assert!(!before.get("/records/unsigned").await.page().contains("18B.37"), "its day has not come");
    assert!(!before.get(&path).await.page().contains("Record by"), "its day has not come");
    world.clock.set("2026-11-25T18:00:00Z".parse().unwrap());
    owner.post(&format!("{path}/cancellations"), &[("reason", "rain")]).await.went_to(&path);
    assert!(!owner.get("/records/unsigned").await.page().contains("18B.37"));
}

/// ORS 634.146 asks for supplier and equipment, which no record here holds; three years. Minn. Stat. 18B.37: wind and
/// temperature; five years (from memory).
#[tokio::test]
async fn a_record_says_what_it_lacks_and_what_is_kept_elsewhere() {
    for (state, missing, elsewhere, kept) in [
        (
            "OR",
            None,
            Some("Supplier of the pesticide: keep the invoice"),
            "Nov 25, 2029 by ORS 634.146 (checked)",
        ),
        (
            "MN",
            Some("wind speed: asked by Minn. Stat. 18B.37"),
            None,
            "Nov 25, 2031 by Minn. Stat. 18B.37 subd. 2 (unverified)",
        ),
    ] {
        let (_, owner, yard, hedge, _) = visit(state, false).await;
        let id = Uuid::now_v7().to_string();
        let (site, label_use, plant, own) =
            (yard.site.to_string(), yard.label_use.to_string(), hedge.to_string(), owner.id.to_string());
        let fields = [
            ("id", id.as_str()),
            ("site", &site),
            ("origin", "own"),
            ("on", "2026-11-25"),
            ("applicator", &own),
            ("started_at", "09:00"),
            ("finished_at", "09:30"),
            ("rows", "1"),
            ("plant-0", &plant),
            ("use-0", &label_use),
            ("measure-0", "8"),
            ("amount-0", "24"),
            ("unit-0", "mL"),
            ("step", "save"),
        ];
        owner.post_sure("/records", &fields).await.went_to(&format!("/records/{id}"));
        let page = owner.get(&format!("/records/{id}")).await;
        for words in [missing, elsewhere].into_iter().flatten() {
            assert!(page.page().contains(words), "{state}: {words} in {}", page.body);
        }
        assert!(page.page().contains(kept) && page.page().contains("we keep it until Nov 25, 2033"));
        assert!(
            !page.page().contains("Needs a licensed answer"),
            "{state}: else a flag alone keeps it from that word"
        );
        assert!(!page.page().contains(">Complete</span>"), "{state} is not called complete");
        assert!(page.page().contains(&format!("href=\"/filings/states/{state}\"")));
        let amend = page.page().matches(&format!("href=\"/records/{id}/amendments\"")).count();
        assert_eq!(
            amend,
            1 + usize::from(missing.is_some()),
            "what is missing has a way to mend it beside it"
        );
    }
}
