//! Signing in and out, links, limits.
use crate::support::{PASSWORD, World};
use axum::http::StatusCode;
use chrono::TimeDelta;
use plantward::{actions::account, domain::user::Role};

#[tokio::test]
async fn the_first_start_makes_the_company_and_its_owner_once() {
    let world = World::empty().await;
    let link = account::setup_link(&world.doer()).await.unwrap().expect("nobody is entered yet");
    let path = format!("/setup/{link}");
    let visitor = world.stranger();
    assert!(visitor.get(&path).await.page().contains("Set up your company"));
    let fields = [
        ("company", "Bellwether Plant Care"),
        ("street", "3 Orchard Row"),
        ("city", "Quillan Springs"),
        ("state", "ca"),
        ("zip", "93499"),
        ("phone", "805-555-0100"),
        ("time_zone", "America/Los_Angeles"),
        ("name", "Maren Quist"),
        ("email", "Maren@Bellwether.test"),
    ];
    let short = [&fields[..], &[("password", "short"), ("again", "short")]].concat();
    let refused = visitor.post_bare(&path, &short).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("at least 15 characters") && refused.body.contains("3 Orchard Row"));
    let good = [&fields[..], &[("password", PASSWORD), ("again", PASSWORD)]].concat();
    visitor.post_bare(&path, &good).await.went_to("/sign-in");
    assert_eq!(visitor.get(&path).await.status, StatusCode::GONE);
    assert_eq!(visitor.post_bare(&path, &good).await.status, StatusCode::GONE);
    assert!(account::setup_link(&world.doer()).await.unwrap().is_none());
    let signed_in =
        visitor.post_bare("/sign-in", &[("email", "maren@bellwether.test"), ("password", PASSWORD)]).await;
    signed_in.went_to("/");
    let cookie = signed_in.headers["set-cookie"].to_str().unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Lax"), "{cookie}");
}

#[tokio::test]
async fn an_invitation_works_once_and_for_seven_days() {
    let world = World::new().await;
    let owner = world.owner().await;
    let page = owner
        .post(
            "/people",
            &[
                ("id", "01890a5d-ac96-774b-bcce-b302099a8057"),
                ("name", "Ines Okoro"),
                ("email", "ines@bellwether.test"),
                ("role", "technician"),
            ],
        )
        .await;
    let link = page.page().split("/invitation/").nth(1).unwrap().split('<').next().unwrap().to_owned();
    let path = format!("/invitation/{link}");
    let ines = world.stranger();
    assert!(ines.get(&path).await.page().contains("Welcome, Ines Okoro"));
    let differ = ines.post_bare(&path, &[("password", PASSWORD), ("again", "something else entirely")]).await;
    assert!(differ.body.contains("The two passwords differ."));
    ines.post_bare(&path, &[("password", PASSWORD), ("again", PASSWORD)]).await.went_to("/sign-in");
    assert_eq!(ines.get(&path).await.status, StatusCode::GONE);

    let late = owner
        .post(
            "/people",
            &[
                ("id", "01890a5d-ac96-774b-bcce-b302099a8058"),
                ("name", "Per Aldous"),
                ("email", "per@bellwether.test"),
                ("role", "office"),
            ],
        )
        .await;
    let late = late.page().split("/invitation/").nth(1).unwrap().split('<').next().unwrap().to_owned();
    world.clock.advance(TimeDelta::days(7) + TimeDelta::seconds(1));
    assert_eq!(ines.get(&format!("/invitation/{late}")).await.status, StatusCode::GONE);
}

#[tokio::test]
async fn sign_in_pauses_after_six_failures_and_resumes_after_a_quarter_of_an_hour() {
    let world = World::new().await;
    world.with_password("Tobias Fenn", Role::Office).await;
    let visitor = world.stranger();
    let wrong = [("email", "tobias.fenn@bellwether.test"), ("password", "not the password at all")];
    for _ in 0..6 {
        assert_eq!(visitor.post_bare("/sign-in", &wrong).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    }
    let right = [("email", "tobias.fenn@bellwether.test"), ("password", PASSWORD)];
    assert_eq!(visitor.post_bare("/sign-in", &right).await.status, StatusCode::TOO_MANY_REQUESTS);
    world.clock.advance(TimeDelta::minutes(16));
    visitor.post_bare("/sign-in", &right).await.went_to("/");
}

#[tokio::test]
async fn a_session_ends_when_idle_when_old_and_when_told() {
    let world = World::new().await;
    let owner = world.owner().await;
    world.clock.advance(world.state.config.session_idle() + TimeDelta::seconds(1));
    assert_eq!(owner.get("/people").await.location(), "/sign-in?next=%2Fpeople");

    let office = world.office().await;
    let step = world.state.config.session_idle() - TimeDelta::seconds(1);
    let mut age = TimeDelta::zero();
    while age + step < world.state.config.session_limit() {
        world.clock.advance(step);
        age += step;
        office.get("/people").await.page();
    }
    world.clock.advance(world.state.config.session_limit() - age);
    assert_eq!(office.get("/people").await.status, StatusCode::SEE_OTHER, "the absolute limit");

    let ines = world.technician().await;
    ines.post("/account/sign-outs", &[]).await.went_to("/sign-in");
    assert_eq!(ines.get("/account").await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_write_needs_our_page_and_its_token() {
    let world = World::new().await;
    let owner = world.owner().await;
    let fields = [("name", "X"), ("email", "x@bellwether.test"), ("role", "office")];
    assert_eq!(owner.post_bare("/people", &fields).await.status, StatusCode::FORBIDDEN);
    assert_eq!(world.stranger().post("/people", &fields).await.status, StatusCode::UNAUTHORIZED);
}
