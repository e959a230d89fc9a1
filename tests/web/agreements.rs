//! What customers agree to pay: entering, raising, changing, ending, and the price of the next treatment.
use crate::{
    places,
    support::{Answer, Visitor, World, seen},
    yard::Yard,
};
use axum::http::StatusCode;
use chrono::NaiveDate;
use plantward::db::agreement;
use uuid::Uuid;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

async fn enter(who: &Visitor, yard: &Yard, id: Uuid, fields: &[(&str, &str)]) -> Answer {
    let id = id.to_string();
    let mut all =
        vec![("id", id.as_str()), ("basis", "foot"), ("price", "4.25"), ("starts_on", "2026-01-05")];
    all.retain(|(name, _)| fields.iter().all(|(own, _)| own != name));
    all.extend(fields);
    who.post(&format!("/sites/{}/agreements", yard.site), &all).await
}

async fn total(world: &World, yard: &Yard) -> Option<String> {
    let mut conn = world.pool.acquire().await.unwrap();
    let next = agreement::next(&mut conn, yard.site, day("2026-11-25")).await.unwrap()?;
    next.quote.total.map(|sum| sum.plain())
}

fn at(yard: &Yard) -> String {
    format!("/sites/{}/agreements", yard.site)
}

#[tokio::test]
async fn the_next_treatment_is_priced_by_what_was_agreed() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &maren).await;
    let hedge = yard.hedge(&world, "Front hedge", 6).await;
    let patio = yard.hedge(&world, "Patio", 1).await;
    let page = tobias.get(&at(&yard)).await;
    assert!(page.page().contains("no price is agreed") && page.body.contains("Price not known"));
    assert_eq!(total(&world, &yard).await, None, "unknown is not zero");
    enter(&tobias, &yard, Uuid::now_v7(), &[("price", "0.375")]).await.went_to(&at(&yard));
    // 6 x 8 ft and 8 ft: 48 x 0.375 = 18.00, 8 x 0.375 = 3.00.
    assert_eq!(total(&world, &yard).await.as_deref(), Some("21.00"));
    let own = [("plant", patio.to_string())];
    let own: Vec<(&str, &str)> = own.iter().map(|(n, v)| (*n, v.as_str())).collect();
    let fields = [own.as_slice(), &[("basis", "plant"), ("price", "55")]].concat();
    enter(&tobias, &yard, Uuid::now_v7(), &fields).await.went_to(&at(&yard));
    assert_eq!(total(&world, &yard).await.as_deref(), Some("73.00"));
    let page = tobias.get(&at(&yard)).await;
    for said in ["48 ft at $0.375", "$18.00", "1 at $55.00", "$73.00", "Podocarpus, Patio", "halves up"] {
        assert!(page.page().contains(said), "{said}\n{}", page.body);
    }
    sqlx::query("update plant set height_ft = null, girth_in = 20 where id = $1")
        .bind(hedge)
        .execute(&world.pool)
        .await
        .unwrap();
    assert_eq!(total(&world, &yard).await, None, "without a height a price by the foot is not known");
    assert!(tobias.get(&at(&yard)).await.page().contains("no height is measured"));
}

#[tokio::test]
async fn a_new_price_takes_the_place_of_the_old_one_from_its_day() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &maren).await;
    yard.hedge(&world, "Front hedge", 1).await;
    let (old, new) = (Uuid::now_v7(), Uuid::now_v7());
    enter(&tobias, &yard, old, &[("basis", "visit"), ("price", "150")]).await.went_to(&at(&yard));
    enter(&tobias, &yard, old, &[("basis", "visit"), ("price", "150")]).await.went_to(&at(&yard));
    assert_eq!(total(&world, &yard).await.as_deref(), Some("150.00"));
    let raise = [("basis", "visit"), ("price", "165.5"), ("starts_on", "2026-12-01")];
    enter(&tobias, &yard, new, &raise).await.went_to(&at(&yard));
    assert_eq!(total(&world, &yard).await.as_deref(), Some("150.00"), "the day of the treatment decides");
    let mut conn = world.pool.acquire().await.unwrap();
    let ended = agreement::find(&mut conn, old).await.unwrap().unwrap();
    assert_eq!(ended.ends_on, Some(day("2026-11-30")), "no day has two prices, and none has none");
    let next = agreement::next(&mut conn, yard.site, day("2026-12-01")).await.unwrap().unwrap();
    assert_eq!(next.quote.total.unwrap().plain(), "165.50");
    assert_eq!(places::deeds(&world, "agreement", &old.to_string()).await, ["entered", "ended"]);
    // One that begins before the open one has nothing to end, and would hold beside it.
    let early = enter(&tobias, &yard, Uuid::now_v7(), &[("starts_on", "2026-11-01")]).await;
    assert_eq!(early.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(early.body.contains("Another agreement for the same holds from Jan 5, 2026 until Nov 30, 2026"));
    let other = enter(&tobias, &yard, new, &[("price", "9")]).await;
    assert!(other.body.contains("already entered"), "another form under the same name");
}

#[tokio::test]
async fn what_is_wrong_comes_back_as_typed() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &maren).await;
    for (field, value, told) in [
        ("price", "", "Please fill this in."),
        ("price", "-1", "This must be zero or more."),
        ("price", "four", "This is not a number"),
        ("price", "1.23456", "at most four decimals"),
        ("price", "1000001", "out of range"),
        ("basis", "acre", "Please choose one of these."),
        ("starts_on", "2026-02-30", "This is not a date"),
        ("ends_on", "2025-01-01", "The last day comes before the first."),
        ("plant", "01890a5d-ac96-774b-bcce-b302099a8057", "not in use on the site"),
        ("plant", "x", "Please choose one of these."),
    ] {
        let fields = [(field, value), ("note", "two <visits>")];
        let refused = enter(&tobias, &yard, Uuid::now_v7(), &fields).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} {value}");
        assert!(refused.body.contains(told), "{field} {value}: {told}");
        assert!(refused.body.contains("two &#60;visits&#62;"), "{field}: nothing typed is lost");
    }
    let count: i64 =
        sqlx::query_scalar("select count(*) from agreement").fetch_one(&world.pool).await.unwrap();
    assert_eq!(count, 0);
}

#[tokio::test]
async fn changes_keep_both_figures_and_a_stale_form_overwrites_nothing() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &maren).await;
    let id = Uuid::now_v7();
    enter(&tobias, &yard, id, &[]).await.went_to(&at(&yard));
    let path = format!("/agreements/{id}");
    let opened = seen(&maren.get(&format!("{path}/edit")).await.body);
    let fields = [("basis", "foot"), ("price", "4.75"), ("starts_on", "2026-01-05")];
    tobias.change(&path, &fields).await.went_to(&at(&yard));
    let detail = places::last_detail(&world, "agreement", &id.to_string()).await;
    assert!(detail.contains("4.25") && detail.contains("4.75"), "{detail}");
    let mine = [fields[0], ("price", "5"), fields[2], ("seen", &opened)];
    let stale = maren.post(&path, &mine).await;
    assert_eq!(stale.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(stale.body.contains("Saved meanwhile: 4.75"), "{}", stale.body);
    let early = tobias.post(&format!("{path}/ends"), &[("ends_on", "2026-01-01"), ("reason", "moved")]).await;
    assert!(early.body.contains("The last day comes before the first."));
    let silent = tobias.post(&format!("{path}/ends"), &[("ends_on", "2026-12-31")]).await;
    assert!(silent.body.contains("Say why it ends.") && silent.body.contains("2026-12-31"));
    let end = [("ends_on", "2026-12-31"), ("reason", "House sold")];
    tobias.post(&format!("{path}/ends"), &end).await.went_to(&at(&yard));
    let page = tobias.get(&at(&yard)).await;
    assert!(page.page().contains("House sold") && page.body.contains("In force"), "it holds to its last day");
}

#[tokio::test]
async fn two_prices_at_once_leave_one() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &maren).await;
    let both = tokio::join!(
        enter(&tobias, &yard, Uuid::now_v7(), &[("price", "1")]),
        enter(&maren, &yard, Uuid::now_v7(), &[("price", "2")])
    );
    let good = [both.0.status, both.1.status].iter().filter(|s| **s == StatusCode::SEE_OTHER).count();
    assert_eq!(good, 1, "{} {}", both.0.status, both.1.status);
}

#[tokio::test]
async fn prices_are_not_the_technicians_matter() {
    let world = World::new().await;
    let (maren, ines) = (world.owner().await, world.technician().await);
    let yard = Yard::new(&world, &maren).await;
    enter(&maren, &yard, Uuid::now_v7(), &[]).await.went_to(&at(&yard));
    assert_eq!(ines.get(&at(&yard)).await.status, StatusCode::NOT_FOUND);
    assert_eq!(enter(&ines, &yard, Uuid::now_v7(), &[]).await.status, StatusCode::NOT_FOUND);
    let missing = maren.get("/agreements/01890a5d-ac96-774b-bcce-b302099a8057/edit").await;
    assert_eq!(missing.status, StatusCode::NOT_FOUND);
}
