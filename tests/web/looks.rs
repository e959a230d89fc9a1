//! Looks at plants, and what they say of how long protection lasted.
use crate::{
    places,
    records::record,
    support::{Answer, Visitor, World},
    yard::Yard,
};
use axum::http::StatusCode;
use uuid::Uuid;

async fn look(who: &Visitor, plant: Uuid, id: Uuid, fields: &[(&str, &str)]) -> Answer {
    let id = id.to_string();
    let mut all = vec![("id", id.as_str()), ("on", "2026-11-20"), ("pest", "Aphids"), ("seen", "no")];
    all.retain(|(name, _)| fields.iter().all(|(own, _)| own != name));
    all.extend(fields);
    who.post(&format!("/plants/{plant}/looks"), &all).await
}

async fn looked(who: &Visitor, plant: Uuid, on: &str, seen: &str) {
    let at = format!("/plants/{plant}/looks");
    look(who, plant, Uuid::now_v7(), &[("on", on), ("seen", seen)]).await.went_to(&at);
}

#[tokio::test]
async fn a_look_is_written_down_once_and_struck_out_readably() {
    let world = World::new().await;
    let (maren, tobias, ines) = (world.owner().await, world.office().await, world.technician().await);
    let yard = Yard::new(&world, &maren).await;
    let plant = yard.hedge(&world, "front hedge", 1).await;
    let at = format!("/plants/{plant}/looks");
    assert!(tobias.get(&at).await.page().contains("value=\"aphids\""), "the plant's own pest stands there");
    assert_eq!(ines.get(&at).await.status, StatusCode::NOT_FOUND, "no visit of hers");
    places::visit(&world, &yard.site.to_string(), ines.id, tobias.id, "booked").await;
    let id = Uuid::now_v7();
    for _ in 0..2 {
        look(&ines, plant, id, &[("words", "old <scales>")]).await.went_to(&at);
    }
    let other = look(&ines, plant, id, &[("seen", "yes")]).await;
    assert_eq!(other.status, StatusCode::UNPROCESSABLE_ENTITY, "something else under the same name");
    for (field, value, told) in [
        ("seen", "", "Please choose one of these."),
        ("on", "2026-11-26", "This day is still to come."),
        ("pest", "", "Please fill this in."),
    ] {
        let answer =
            look(&tobias, plant, Uuid::now_v7(), &[(field, value), ("words", "typed <already>")]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}");
        assert!(answer.body.contains(told) && answer.body.contains("typed &#60;already&#62;"), "{field}");
    }
    let strikes = format!("/looks/{id}/strikes");
    assert_eq!(ines.post(&strikes, &[("reason", "x")]).await.status, StatusCode::NOT_FOUND);
    assert!(tobias.post(&strikes, &[]).await.body.contains("Say why"));
    tobias.post(&strikes, &[("reason", "another hedge")]).await.went_to(&at);
    let page = tobias.get(&at).await;
    assert!(page.page().contains("<s>Aphids</s>") && page.body.contains("another hedge (Tobias Fenn)"));
    let refused = sqlx::query("update plant_look set seen = true").execute(&world.pool).await.unwrap_err();
    assert_eq!(plantward::db::broken_constraint(&refused), Some("plant_look_stays"));
    assert_eq!(places::deeds(&world, "plant", &plant.to_string()).await, ["inspected", "look struck out"]);
}

#[tokio::test]
async fn the_curve_counts_looks_of_each_treatment_and_leaves_out_what_nobody_saw() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &maren).await;
    assert!(tobias.get("/survival").await.page().contains("Nothing was inspected yet"));
    // Three plants drenched on 2025-11-20 at 3 mL a foot; the label says 12 months.
    let mut plants = vec![];
    for place in ["one", "two", "three", "four"] {
        let plant = yard.hedge(&world, place, 1).await;
        let (path, answer) =
            record(&maren, &yard, Some(plant), "24", &[("measure-0", "8"), ("on", "2025-11-20")]).await;
        answer.went_to(&path);
        plants.push(plant);
    }
    looked(&tobias, plants[0], "2026-02-28", "no").await;
    looked(&tobias, plants[0], "2026-06-08", "yes").await;
    looked(&tobias, plants[1], "2026-09-16", "no").await;
    looked(&tobias, plants[2], "2026-11-20", "no").await;
    let page = tobias.get("/survival").await;
    // Days 200 (seen), 300 and 365 (not seen): of three, two thirds last longer than 200 days. The fourth was not
    // looked at. Interval of 2/3 with variance 1/6 on the scale of log(-log): 5 % to 95 %, as lifelines has it.
    for said in [
        "3 treatments watched, the pest seen after 1 of them",
        "On day 365, when the label&#39;s protection ends: 67 % (5 % to 95 %)",
        "3 mL per ft",
        "not reached",
        "few",
        "class=\"band\"",
    ] {
        let plain = said.replace("&#39;", "'");
        assert!(page.page().contains(said) || page.body.contains(&plain), "{said}\n{}", page.body);
    }
    // A struck look counts no more: then the first plant was seen without a pest to the last.
    let id: Uuid =
        sqlx::query_scalar("select id from plant_look where seen").fetch_one(&world.pool).await.unwrap();
    tobias.post(&format!("/looks/{id}/strikes"), &[("reason", "ants")]).await;
    let page = tobias.get("/survival").await;
    assert!(page.page().contains("the pest seen after 0 of them"), "{}", page.body);
    assert_eq!(world.technician().await.get("/survival").await.status, StatusCode::NOT_FOUND);
}
