//! Days on hold: what goes back to be planned, what is refused, what stands again.
use crate::sheets::Day;
use axum::http::StatusCode;
use uuid::Uuid;

async fn hold(day: &Day, on: &str, place: &str, reason: &str) -> Uuid {
    let id = Uuid::now_v7();
    let name = id.to_string();
    let fields = [("id", name.as_str()), ("on", on), ("place", place), ("reason", reason)];
    for _ in 0..2 {
        day.office.post("/day-holds", &fields).await.went_to("/day-holds");
    }
    id
}

const WAITING: &str = "select count(*) from visit where waiting_since is not null";
const RESERVED: &str = "select count(*) from planned_dose where status = 'planned'";

#[tokio::test]
async fn a_rained_out_day_sends_its_visits_back_and_keeps_their_doses() {
    let day = Day::new().await;
    let (front, back) =
        (day.yard.hedge(&day.world, "front", 1).await, day.yard.hedge(&day.world, "back", 1).await);
    let visit = day.book(front, "2026-11-30", "3").await;
    day.book(back, "2026-12-01", "3").await;
    let placed = hold(&day, "2026-11-30", "CA San Luis Obispo", "soil saturated").await;
    assert_eq!((day.count(WAITING).await, day.count(RESERVED).await), (1, 2));
    assert_eq!(day.count("select count(*) from day_hold").await, 1, "sent twice, placed once");
    let path = format!("/visits/{visit}");
    for (who, page, words) in [
        (&day.office, "/visits", "Waits for another day"),
        (&day.office, "/day-holds", "1 visit waits"),
        (&day.office, path.as_str(), "It waits for another day: soil saturated"),
        (&day.ines, path.as_str(), "Do not go: it waits for another day."),
        (&day.ines, "/visits", "soil saturated"),
        (&day.office, "/due?show=all", "waits for another day: soil saturated"),
    ] {
        let shown = who.get(page).await;
        assert!(shown.page().contains(words), "{words} on {page}: {}", shown.body);
    }
    let sheet = day.office.get(&format!("/route-sheets/{}/2026-11-30", day.ines.id)).await;
    assert!(sheet.page().contains("Waiting for another day: soil saturated"));
    // Another day, and it waits no longer; nothing goes back to the day on hold.
    let by = day.ines.id.to_string();
    day.office
        .post(&format!("{path}/moves"), &[("on", "2026-12-02"), ("technician", &by)])
        .await
        .went_to(&path);
    assert_eq!((day.count(WAITING).await, day.count(RESERVED).await), (0, 2));
    let again = day.office.post(&format!("{path}/moves"), &[("on", "2026-11-30"), ("technician", &by)]).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    let why = "Nov 30, 2026 is on hold in San Luis Obispo County, CA: soil saturated.";
    assert!(again.body.contains(why), "{}", again.body);
    let hedge = day.yard.hedge(&day.world, "side", 1).await;
    let (refused, _) = day.try_book(hedge, "2026-11-30", "3", &[]).await;
    assert!(refused.status == StatusCode::UNPROCESSABLE_ENTITY && refused.body.contains(why));
    day.office.post(&format!("/day-holds/{placed}/lifts"), &[]).await.went_to("/day-holds");
    day.book(hedge, "2026-11-30", "3").await;
    let deeds = "select count(*) from audit where noun = 'day hold' and deed in ('placed', 'lifted')";
    assert_eq!(day.count(deeds).await, 2);
}

#[tokio::test]
async fn what_is_over_waits_no_longer() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front", 1).await;
    let visit = day.book(hedge, "2026-11-25", "3").await;
    hold(&day, "2026-11-25", "everywhere", "soil saturated").await;
    // A fact is never refused: what was poured all the same is recorded.
    let (id, did) = (Uuid::now_v7().to_string(), format!("did-{hedge}"));
    let fields =
        [("id", id.as_str()), ("on", "2026-11-25"), ("started_at", "09:30"), (did.as_str(), "planned")];
    day.ines.post(&format!("/visits/{visit}/records"), &fields).await.went_to(&format!("/records/{id}"));
    let done = day.office.get("/visits?show=done").await;
    assert!(
        done.page().contains("14 Tamber Lane") && !done.body.contains("Waits for another day"),
        "{}",
        done.body
    );
    assert_eq!(day.count(WAITING).await, 0);
}

#[tokio::test]
async fn a_hold_elsewhere_holds_nothing_here() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front", 1).await;
    hold(&day, "2026-11-30", "CA Kern", "frozen").await;
    day.book(hedge, "2026-11-30", "3").await;
    assert_eq!(day.count(WAITING).await, 0);
}

#[tokio::test]
async fn two_holds_of_a_day_are_lifted_one_by_one() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front", 1).await;
    day.book(hedge, "2026-11-30", "3").await;
    let county = hold(&day, "2026-11-30", "CA San Luis Obispo", "soil saturated").await;
    let all = hold(&day, "2026-11-30", "everywhere", "heavy rain ahead").await;
    day.office.post(&format!("/day-holds/{county}/lifts"), &[]).await.went_to("/day-holds");
    let reason: String =
        sqlx::query_scalar("select waiting_reason from visit").fetch_one(&day.world.pool).await.unwrap();
    assert_eq!(reason, "heavy rain ahead", "it waits for the other hold");
    day.office.post(&format!("/day-holds/{all}/lifts"), &[]).await.went_to("/day-holds");
    assert_eq!(day.count(WAITING).await, 0);
    let twice = day.office.post(&format!("/day-holds/{all}/lifts"), &[]).await;
    assert!(twice.status.is_client_error() && twice.body.contains("lifted already"), "{}", twice.body);
}

#[tokio::test]
async fn a_hold_says_where_when_and_why() {
    let day = Day::new().await;
    let name = Uuid::now_v7().to_string();
    let lacking =
        day.office.post("/day-holds", &[("id", &name), ("on", "soon"), ("place", "the moon")]).await;
    assert_eq!(lacking.status, StatusCode::UNPROCESSABLE_ENTITY);
    for words in ["This is not a date", "Please choose one of these", "Please fill this in", "value=\"soon\""]
    {
        assert!(lacking.body.contains(words), "{words}: {}", lacking.body);
    }
    let far = [("id", name.as_str()), ("on", "2029-01-01"), ("place", "everywhere"), ("reason", "ice")];
    assert!(day.office.post("/day-holds", &far).await.body.contains("18 months ahead"));
    assert_eq!(day.ines.post("/day-holds", &far).await.status, StatusCode::NOT_FOUND);
}

/// While somebody books a visit to the day its hold waits, and then finds the visit.
#[tokio::test]
async fn no_visit_slips_in_beside_a_hold() {
    let day = Day::new().await;
    let mut hedges = vec![];
    for n in 0..6 {
        hedges.push(day.yard.hedge(&day.world, &format!("hedge {n}"), 1).await);
    }
    let bookings = hedges.iter().map(|hedge| day.try_book(*hedge, "2026-11-30", "3", &[]));
    let name = Uuid::now_v7().to_string();
    let fields = [("id", name.as_str()), ("on", "2026-11-30"), ("place", "everywhere"), ("reason", "rain")];
    let (_, placed) =
        tokio::join!(futures_util::future::join_all(bookings), day.office.post("/day-holds", &fields));
    placed.went_to("/day-holds");
    let free = "select count(*) from visit where on_date = '2026-11-30' and waiting_since is null";
    assert_eq!(day.count(free).await, 0, "each was refused or sent back");
}

#[tokio::test]
async fn what_the_customer_was_told_is_noted() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front", 1).await;
    let (booked, id) = day.try_book(hedge, "2026-11-30", "3", &[("promised", "yes")]).await;
    let path = format!("/visits/{id}");
    booked.went_to(&path);
    assert!(day.office.get(&path).await.page().contains("The customer was told this day: no plan moves it"));
    day.office.post(&format!("{path}/promises"), &[]).await.went_to(&path);
    assert!(day.office.get(&path).await.page().contains("The customer was not told this day"));
    day.office.post(&format!("{path}/promises"), &[("promised", "yes")]).await.went_to(&path);
    assert_eq!(day.count("select count(*) from visit where promised").await, 1);
    assert!(day.office.get("/visits").await.page().contains("promised to the customer"));
    let by = day.ines.id.to_string();
    for (on, still) in [("2026-11-30", 1), ("2026-12-01", 0)] {
        day.office.post(&format!("{path}/moves"), &[("on", on), ("technician", &by)]).await.went_to(&path);
        assert_eq!(
            day.count("select count(*) from visit where promised").await,
            still,
            "told of that day only"
        );
    }
}
