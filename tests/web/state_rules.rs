//! The table of state rules, and what a licensed person's answer makes of one that ships unverified.
use crate::support::{Visitor, World};
use crate::yard::{Yard, book, refused};
use axum::http::StatusCode;
use plantward::domain::permission::{Mark, RULES};
use uuid::Uuid;

const NEVADA: &str = "/state-rules/nv-limits";

async fn nevada() -> (World, Visitor, Visitor, Visitor, Yard) {
    let world = World::new().await;
    let owner = world.owner().await;
    let (office, ines) = (world.office().await, world.technician().await);
    let yard = Yard::new(&world, &owner).await;
    yard.moved_to(&world, "NV").await;
    (world, owner, office, ines, yard)
}

async fn answer(who: &Visitor, path: &str, fields: &[(&str, &str)]) -> crate::support::Answer {
    let id = Uuid::now_v7().to_string();
    let mut all = vec![("id", id.as_str())];
    all.extend(fields);
    who.post(&format!("{path}/answers"), &all).await
}

#[tokio::test]
async fn every_rule_stands_in_the_table_with_its_source_and_mark() {
    let world = World::new().await;
    let ines = world.technician().await;
    let page = ines.get("/state-rules").await;
    for rule in RULES {
        assert!(page.page().contains(&format!("/state-rules/{}", rule.code)), "{}", rule.code);
        assert!(page.body.contains(rule.source), "{}", rule.source);
        assert!(ines.get(&format!("/state-rules/{}", rule.code)).await.page().contains(rule.words));
    }
    let unverified = RULES.iter().filter(|rule| rule.mark == Mark::Unverified).count();
    assert_eq!(page.body.matches("Unverified</span>").count(), unverified);
    let vermont = ines.get("/state-rules?state=VT").await;
    assert!(vermont.page().contains("1105c") && !vermont.body.contains("FAC 12838"));
    assert!(ines.get("/state-rules?state=KS").await.page().contains("No rule is entered for this state"));
    assert_eq!(ines.get("/state-rules/no-such-rule").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn an_unverified_rule_turned_hard_refuses_and_one_set_aside_asks_nothing() {
    let (world, owner, office, ines, yard) = nevada().await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    let who = (ines.id, None);
    assert_eq!(
        yard.due_on(&world, hedge).await.unwrap().to_string(),
        "2026-11-25",
        "a caution forbids nothing"
    );
    let holds = [("answer", "holds"), ("citation", "Nevada, as printed"), ("verified_on", "2026-11-24")];
    let nobody = answer(&office, NEVADA, &holds).await;
    assert!(refused(&nobody).contains("current certification") && nobody.body.contains("Nevada, as printed"));
    let empty = answer(&owner, NEVADA, &[("answer", "holds")]).await;
    assert!(refused(&empty).contains("Please fill this in."));
    let ahead = answer(
        &owner,
        NEVADA,
        &[("answer", "holds"), ("citation", "as printed"), ("verified_on", "2026-11-26")],
    )
    .await;
    assert!(refused(&ahead).contains("still to come"));
    assert!(refused(&answer(&owner, NEVADA, &[]).await).contains("choose one of these"));
    answer(&owner, NEVADA, &holds).await.went_to(NEVADA);
    let page = owner.get(NEVADA).await;
    for told in ["Verified here", "Maren Quist", "Nevada, as printed", "Nov 24, 2026", "QA-"] {
        assert!(page.page().contains(told), "{told}\n{}", page.body);
    }
    assert_eq!(yard.due_on(&world, hedge).await, None, "nobody is certified in Nevada");
    let (_, hard) = book(&office, &yard, who, "2026-12-01", hedge).await;
    assert!(refused(&hard).contains("Nevada, as printed (verified on Nov 24, 2026)"), "{}", hard.body);
    let aside = [("answer", "set-aside"), ("reason", "repealed, says the agency")];
    answer(&owner, NEVADA, &aside).await.went_to(NEVADA);
    assert!(owner.get("/state-rules?state=NV").await.page().contains("Set aside here"));
    assert_eq!(yard.due_on(&world, hedge).await.unwrap().to_string(), "2026-11-25");
    let (visit, booked) = book(&office, &yard, who, "2026-12-01", hedge).await;
    booked.went_to(&visit);
    answer(&owner, NEVADA, &[("answer", "open"), ("reason", "asked once more")]).await.went_to(NEVADA);
    assert!(owner.get("/state-rules?state=NV").await.page().contains("Unverified"));
    let deeds: i64 =
        sqlx::query_scalar("select count(*) from audit where noun = 'state rule' and person_id = $1")
            .bind(owner.id)
            .fetch_one(&world.pool)
            .await
            .unwrap();
    assert_eq!(deeds, 3);
}

#[tokio::test]
async fn a_checked_rule_cannot_be_set_aside() {
    let world = World::new().await;
    let owner = world.owner().await;
    Yard::new(&world, &owner).await;
    for rule in RULES.iter().filter(|rule| rule.mark != Mark::Unverified) {
        let path = format!("/state-rules/{}", rule.code);
        let page = owner.get(&path).await;
        assert!(page.page().contains("It cannot be set aside") && !page.body.contains("/answers"));
        let tried = answer(&owner, &path, &[("answer", "set-aside"), ("reason", "in the way")]).await;
        assert!(refused(&tried).contains("Only an exemption"), "{}", rule.code);
    }
}
