//! A technician without a certification, under somebody who has one: enough where the state says so, and never
//! where it asks for the person applying.
//!
//! Massachusetts restricts the use to certified applicators or those under them (state restricted use since
//! 1 July 2022); California asks for a certified person (FAC 12838(c)(2)).
use crate::support::{Visitor, World};
use crate::yard::{Yard, book, certify_in, refused};
use uuid::Uuid;

async fn company(state: &'static str) -> (World, Visitor, Visitor, Visitor, Yard) {
    let world = World::new().await;
    let owner = world.owner().await;
    let (office, ines) = (world.office().await, world.technician().await);
    let yard = Yard::new(&world, &owner).await;
    if state != "CA" {
        certify_in(&world, owner.id, state).await;
        yard.moved_to(&world, state).await;
    }
    (world, owner, office, ines, yard)
}

#[tokio::test]
async fn where_supervision_is_enough_a_certified_supervisor_must_be_named() {
    let (world, owner, office, ines, yard) = company("MA").await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    let (_, alone) = book(&office, &yard, (ines.id, None), "2026-12-01", hedge).await;
    assert!(refused(&alone).contains("state restricted use"), "{}", alone.body);
    let (_, uncertified) = book(&office, &yard, (ines.id, Some(office.id)), "2026-12-01", hedge).await;
    assert!(refused(&uncertified).contains("holds no certification of MA"));
    let (_, herself) = book(&office, &yard, (ines.id, Some(ines.id)), "2026-12-01", hedge).await;
    assert!(refused(&herself).contains("Nobody supervises themselves"));
    let (visit, booked) = book(&office, &yard, (ines.id, Some(owner.id)), "2026-11-25", hedge).await;
    booked.went_to(&visit);
    assert!(office.get(&visit).await.page().contains("Ines Okoro under Maren Quist"));
    recorded(&world, &ines, &owner, &visit, hedge).await;
}

async fn recorded(world: &World, ines: &Visitor, owner: &Visitor, visit: &str, hedge: Uuid) {
    let form = ines.get(&format!("{visit}/records")).await;
    assert!(form.page().contains(&format!("<option value=\"{}\" selected>", owner.id)), "{}", form.body);
    let (record, did, supervisor) =
        (Uuid::now_v7().to_string(), format!("did-{hedge}"), owner.id.to_string());
    let fields = [
        ("id", record.as_str()),
        ("on", "2026-11-25"),
        ("started_at", "09:30"),
        (&did, "planned"),
        ("supervisor", &supervisor),
    ];
    ines.post(&format!("{visit}/records"), &fields).await.went_to(&format!("/records/{record}"));
    let flags: Vec<String> =
        sqlx::query_scalar("select rule from record_flag").fetch_all(&world.pool).await.unwrap();
    assert!(flags.is_empty(), "{flags:?}");
}

#[tokio::test]
async fn where_the_person_applying_is_meant_supervision_never_helps() {
    let (world, owner, office, ines, yard) = company("CA").await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    let (_, under) = book(&office, &yard, (ines.id, Some(owner.id)), "2026-12-01", hedge).await;
    assert!(refused(&under).contains("FAC 12838(c)(2)"), "{}", under.body);
    let (visit, booked) = book(&office, &yard, (owner.id, None), "2026-12-01", hedge).await;
    booked.went_to(&visit);
    let (technician, supervisor) = (ines.id.to_string(), owner.id.to_string());
    let fields = [("on", "2026-12-02"), ("technician", technician.as_str()), ("supervisor", &supervisor)];
    let moved = office.post(&format!("{visit}/moves"), &fields).await;
    assert!(refused(&moved).contains("FAC 12838(c)(2)"));
}
