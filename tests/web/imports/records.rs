//! Past applications: links of the chain like any other, flagged, and withdrawn by an amendment.
use super::{bring, check, count, whole};
use crate::{
    support::World,
    yard::{Yard, certify},
};
use plantward::db;

const HEADS: &str =
    "Date,Start,Address,Plant,Other ground,Product,Amount,Units,Technician,License,Qty,Height,Temp,Lot";

fn table(lines: &[&str]) -> String {
    lines.iter().fold(format!("{HEADS}\r\n"), |all, line| all + line + "\r\n")
}

#[tokio::test]
async fn books_of_before_become_records_with_flags_and_due_days() {
    let world = World::new().await;
    let owner = world.owner().await;
    let (office, ines) = (world.office().await, world.technician().await);
    let yard = Yard::new(&world, &owner).await;
    certify(&world, ines.id).await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    yard.hedge(&world, "back hedge", 2).await;
    let before = yard.due_on(&world, hedge).await;
    let text = table(&[
        // 2 x 8 ft x 3 mL, the lowest of the band; the same stop has a second plant.
        "2026-03-02,09:30,14 Tamber Lane,front hedge,,99999-12,48,mL,Ines Caldera,,2,8,64,A-1",
        "2026-03-02,09:30,14 Tamber Lane,back hedge,,Rootward 2F,48,mL,Ines Caldera,,2,8,64,A-1",
        // A quarter acre allows 189.27 mL in a calendar year: this is over it, by somebody who is gone.
        "3/9/2026,,14 Tamber Lane,,back lawn,99999-12,150,mL,Old Hand,QA-1,,,,",
    ]);
    let at = whole(&world, &office, "applications", &text).await;
    assert_eq!(
        count(&world, "select count(*) from application_record").await,
        2,
        "lines of one stop are one record"
    );
    assert_eq!(count(&world, "select count(*) from application_item where lot = 'A-1'").await, 2);
    assert_eq!(
        count(
            &world,
            "select count(*) from application_record where applicator_name = 'Old Hand'
            and applicator_certification = 'QA-1' and applicator_id is null and applied_on = '2026-03-09'"
        )
        .await,
        1
    );
    let rules: Vec<String> =
        sqlx::query_scalar("select rule from record_flag").fetch_all(&world.pool).await.unwrap();
    assert!(rules.iter().any(|rule| rule == "cap"), "over the cap, kept and flagged: {rules:?}");
    assert_ne!(yard.due_on(&world, hedge).await, before, "its day is worked out anew");
    assert!(db::chain::verify(&world.pool, None).await.unwrap().faults.is_empty());
    assert!(plantward::actions::due::compare(&world.doer()).await.unwrap().differences.is_empty());
    undone(&world, &office, &at).await;
    assert_eq!(yard.due_on(&world, hedge).await, before);
}

async fn undone(world: &World, office: &crate::support::Visitor, at: &str) {
    for _ in 0..2 {
        office.post(&format!("{at}/returns"), &[]).await.went_to(at);
    }
    assert_eq!(count(world, "select count(*) from application_record").await, 4, "nothing is deleted");
    assert_eq!(count(world, "select count(*) from application_now").await, 0, "and nothing counts");
    let reasons = "select count(*) from application_record where withdrawn and amend_reason like 'Brought in with the table%'";
    assert_eq!(count(world, reasons).await, 2);
    assert!(db::chain::verify(&world.pool, None).await.unwrap().faults.is_empty());
}

#[tokio::test]
async fn what_cannot_be_read_is_named_line_by_line() {
    let world = World::new().await;
    let owner = world.owner().await;
    let office = world.office().await;
    let yard = Yard::new(&world, &owner).await;
    yard.hedge(&world, "front hedge", 2).await;
    let text = table(&[
        "2026-12-24,,14 Tamber Lane,front hedge,,99999-12,48,mL,Ines,,,,,",
        "2026-03-02,,15 Tamber Lane,front hedge,,99999-12,48,mL,Ines,,,,,",
        "2026-03-02,,14 Tamber Lane,side hedge,,99999-12,48,mL,Ines,,,,,",
        "2026-03-02,,14 Tamber Lane,front hedge,,99999-99,48,mL,Ines,,,,,",
        "2026-03-02,,14 Tamber Lane,front hedge,,99999-12,48,oz,Ines,,,,,",
        "2026-03-02,,14 Tamber Lane,front hedge,,99999-12,48,bucket,Ines,,,,,",
        "2026-03-02,,14 Tamber Lane,,,99999-12,48,mL,,,,,,",
    ]);
    let (at, brought) = bring(&office, "applications", "old.csv", text.as_bytes()).await;
    brought.went_to(&at);
    let page = check(&world, &office, &at).await;
    for words in [
        "This day is still to come",
        "<q>15 Tamber Lane</q>: There is no site of this street.",
        "<q>side hedge</q>: The site has no plant at this place.",
        "<q>99999-99</q>: There is no product",
        "<q>oz</q>: This product is not measured in such a unit.",
        "is no unit that can be read",
        "Say what was treated",
        "Say who applied it.",
    ] {
        assert!(page.page().contains(words), "{words}: {}", page.body);
    }
    assert_eq!(count(&world, "select count(*) from application_record").await, 0);
}

#[tokio::test]
async fn a_record_that_is_here_is_left_out_and_an_amended_one_keeps_its_table() {
    let world = World::new().await;
    let owner = world.owner().await;
    let office = world.office().await;
    let yard = Yard::new(&world, &owner).await;
    yard.hedge(&world, "front hedge", 2).await;
    let line = "2026-03-02,,14 Tamber Lane,front hedge,,99999-12,48,mL,Old Hand,QA-1,,8,,";
    let at = whole(&world, &office, "applications", &table(&[line])).await;
    let longer = table(&[line, "2026-04-02,,14 Tamber Lane,front hedge,,99999-12,47,mL,Old Hand,QA-1,,8,,"]);
    whole(&world, &office, "applications", &longer).await;
    assert_eq!(count(&world, "select count(*) from application_record").await, 2);
    let record: uuid::Uuid =
        sqlx::query_scalar("select id from application_record where applied_on = '2026-03-02'")
            .fetch_one(&world.pool)
            .await
            .unwrap();
    let amend = format!("/records/{record}/amendments");
    let withdrawal = [("version", "1"), ("reason", "a slip"), ("step", "withdraw")];
    owner.post(&amend, &withdrawal).await.went_to(&format!("/records/{record}"));
    let refused = office.post(&format!("{at}/returns"), &[]).await;
    assert!(refused.body.contains("on its rows hang 1 amendments"), "{}", refused.body);
}
