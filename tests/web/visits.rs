//! Booking, doing and recording visits.
use crate::{
    support::{Visitor, World},
    yard::{Yard, certify},
};
use axum::http::StatusCode;
use chrono::TimeDelta;
use uuid::Uuid;

/// A booking of these plants at these rates, as the form sends it.
fn booking(yard: &Yard, technician: Uuid, on: &str, plants: &[(Uuid, &str)]) -> Vec<(String, String)> {
    let mut fields = vec![
        ("id".to_owned(), Uuid::now_v7().to_string()),
        ("site".to_owned(), yard.site.to_string()),
        ("technician".to_owned(), technician.to_string()),
        ("on".to_owned(), on.to_owned()),
        ("step".to_owned(), "book".to_owned()),
    ];
    for (plant, rate) in plants {
        fields.push(("plant".to_owned(), plant.to_string()));
        fields.push((format!("rate-{plant}"), (*rate).to_owned()));
    }
    fields
}

async fn send(who: &Visitor, path: &str, fields: &[(String, String)]) -> crate::support::Answer {
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    who.post(path, &fields).await
}

fn set(fields: &mut [(String, String)], name: &str, value: &str) {
    fields.iter_mut().find(|(n, _)| n == name).unwrap().1 = value.to_owned();
}

/// The usual company: an owner, a certified technician, an office.
async fn company() -> (World, Visitor, Visitor, Visitor, Yard) {
    let world = World::new().await;
    let owner = world.owner().await;
    let (office, ines) = (world.office().await, world.technician().await);
    certify(&world, ines.id).await;
    let yard = Yard::new(&world, &owner).await;
    (world, owner, office, ines, yard)
}

/// Books one hedge for a technician; the visit's address.
async fn booked(
    office: &Visitor,
    yard: &Yard,
    technician: Uuid,
    on: &str,
    plant: Uuid,
    rate: &str,
) -> String {
    let fields = booking(yard, technician, on, &[(plant, rate)]);
    let answer = send(office, "/visits", &fields).await;
    let path = format!("/visits/{}", fields[0].1);
    answer.went_to(&path);
    path
}

#[tokio::test]
async fn a_hedge_from_the_booking_to_the_amended_record() {
    let (world, owner, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    // 5 plants x 8 ft x 5 mL = 200 mL; the cap leaves 189.27 mL.
    let mut fields = booking(&yard, ines.id, "2026-11-25", &[(hedge, "5")]);
    let refused = send(&office, "/visits", &fields).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", refused.body);
    assert!(refused.body.contains("Annual cap of imidacloprid"), "{}", refused.body);
    assert!(refused.body.contains("A rate of at most 4.7317 mL per ft fits."), "{}", refused.body);
    set(&mut fields, &format!("rate-{hedge}"), "4.5");
    let visit = format!("/visits/{}", fields[0].1);
    for _ in 0..2 {
        send(&office, "/visits", &fields).await.went_to(&visit);
    }
    assert_eq!(count(&world, "select count(*) from visit").await, 1, "sent twice, booked once");
    assert!(office.get(&visit).await.page().contains("180 mL"));
    let stop = ines.get(&visit).await;
    for words in
        ["180 mL", "36 mL for each of the 5", "Gate on the left", "Long sleeves", "First aid", "gallons"]
    {
        assert!(stop.page().contains(words), "{words}: {}", stop.body);
    }
    let record = Uuid::now_v7().to_string();
    let form = ines.get(&format!("{visit}/records")).await;
    assert!(!form.page().contains("checked"), "nothing is chosen beforehand");
    let did = format!("did-{hedge}");
    let mut fields =
        vec![("id", record.as_str()), ("on", "2026-11-25"), ("started_at", "09:30"), ("wind_mph", "breezy")];
    let lacking = ines.post(&format!("{visit}/records"), &fields).await;
    assert_eq!(lacking.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        lacking.body.contains("Choose what was done") && lacking.body.contains("breezy"),
        "{}",
        lacking.body
    );
    fields[3].1 = "4";
    fields.push((&did, "planned"));
    let path = format!("/records/{record}");
    for _ in 0..2 {
        ines.post(&format!("{visit}/records"), &fields).await.went_to(&path);
    }
    assert_eq!(count(&world, "select count(*) from application_record").await, 1, "sent twice, kept once");
    let shown = ines.get(&path).await;
    for words in ["180 mL", "Complete", "3 CCR 6624(b)", "EPA Reg. No.", "99999-12", "QA-", "4 mph"] {
        assert!(shown.page().contains(words), "{words}: {}", shown.body);
    }
    assert!(!shown.body.contains("Not answered"));
    assert_eq!(yard.due_on(&world, hedge).await.unwrap().to_string(), "2027-11-25", "a year on");
    amend_it(&owner, &path, &record, hedge, &yard).await;
    let both = ines.get(&path).await;
    for words in ["<del>180 mL</del>", "175 mL", "Version 2", "the cup was read wrong", "Maren Quist"] {
        assert!(both.page().contains(words), "{words}: {}", both.body);
    }
    assert!(office.get("/records?q=tamber").await.page().contains("175 mL"));
    assert!(!office.get("/records?county=Kern").await.page().contains("175 mL"));
    assert!(office.get("/visits?show=done").await.page().contains("14 Tamber Lane"));
}

async fn amend_it(owner: &Visitor, path: &str, record: &str, hedge: Uuid, yard: &Yard) {
    let form = owner.get(&format!("{path}/amendments")).await;
    assert!(form.page().contains("value=\"180\""), "{}", form.body);
    let (hedge, label_use) = (hedge.to_string(), yard.label_use.to_string());
    let applicator = form.body.split("<option value=\"").find(|o| o.contains("selected>Ines Okoro")).unwrap();
    let applicator = &applicator[..36];
    let mut fields = vec![
        ("id", record),
        ("version", "1"),
        ("rows", "2"),
        ("origin", "own"),
        ("on", "2026-11-25"),
        ("applicator", applicator),
        ("started_at", "09:30"),
        ("plant-0", &hedge),
        ("use-0", &label_use),
        ("measure-0", "8"),
        ("count-0", "5"),
        ("amount-0", "175"),
        ("unit-0", "mL"),
        ("step", "save"),
    ];
    let silent = owner.post(&format!("{path}/amendments"), &fields).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY, "an amendment says why");
    fields.push(("reason", "the cup was read wrong"));
    for _ in 0..2 {
        owner.post(&format!("{path}/amendments"), &fields).await.went_to(path);
    }
    fields.pop();
    fields.push(("reason", "once more"));
    let late = owner.post(&format!("{path}/amendments"), &fields).await;
    assert!(late.body.contains("amended meanwhile"), "{}", late.body);
}

async fn count(world: &World, sql: &'static str) -> i64 {
    sqlx::query_scalar(sql).fetch_one(&world.pool).await.unwrap()
}

#[tokio::test]
async fn eight_at_once_cannot_overshoot_the_cap() {
    let (world, _, office, ines, yard) = company().await;
    let mut fields = vec![];
    for n in 0..8 {
        // 1 plant x 8 ft x 6 mL = 48 mL each; 189.27 mL hold three of them.
        let hedge = yard.hedge(&world, &format!("hedge {n}"), 1).await;
        fields.push(booking(&yard, ines.id, "2026-12-01", &[(hedge, "6")]));
    }
    let tasks: Vec<_> = fields
        .into_iter()
        .map(|fields| {
            let office = office.clone();
            tokio::spawn(async move { send(&office, "/visits", &fields).await.status })
        })
        .collect();
    let mut made = 0;
    for task in tasks {
        match task.await.unwrap() {
            StatusCode::SEE_OTHER => made += 1,
            status => assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY),
        }
    }
    assert_eq!(made, 3);
    assert_eq!(count(&world, "select count(*) from planned_dose where status = 'planned'").await, 3);
}

#[tokio::test]
async fn a_visit_is_moved_and_cancelled_and_gives_back_what_it_held() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    let visit = booked(&office, &yard, ines.id, "2026-12-01", hedge, "4.5").await;
    let other = yard.hedge(&world, "back hedge", 1).await;
    let fields = booking(&yard, ines.id, "2026-12-02", &[(other, "6")]);
    assert_eq!(
        send(&office, "/visits", &fields).await.status,
        StatusCode::UNPROCESSABLE_ENTITY,
        "the cap is reserved"
    );
    let technician = ines.id.to_string();
    let moves = format!("{visit}/moves");
    let past = office.post(&moves, &[("on", "2026-11-24"), ("technician", &technician)]).await;
    assert_eq!(past.status, StatusCode::UNPROCESSABLE_ENTITY);
    office.post(&moves, &[("on", "2026-12-03"), ("technician", &technician)]).await.went_to(&visit);
    assert!(office.get(&visit).await.page().contains("Dec 3, 2026"));
    let uncertified = world.person("Jory Stell", plantward::domain::user::Role::Technician).await.to_string();
    let refused = office.post(&moves, &[("on", "2026-12-03"), ("technician", &uncertified)]).await;
    assert!(refused.body.contains("12838(c)(2)"), "California asks for a certification: {}", refused.body);
    let silent = office.post(&format!("{visit}/cancellations"), &[("reason", "")]).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
    office.post(&format!("{visit}/cancellations"), &[("reason", "rain all week")]).await.went_to(&visit);
    assert!(office.get(&visit).await.page().contains("rain all week"));
    send(&office, "/visits", &fields).await.went_to(&format!("/visits/{}", fields[0].1));
}

#[tokio::test]
async fn plants_that_cannot_be_planned_say_what_they_lack() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    for (change, words) in [
        ("update plant set height_ft = null", "height is not measured"),
        ("update plant set height_ft = 8, eaten = 'unknown'", "Nobody has answered yet whether people eat"),
        ("update plant set product_id = null, use_code = null", "No treatment is chosen"),
        ("update plant set retired_at = now()", "retired"),
    ] {
        sqlx::query(change).execute(&world.pool).await.unwrap();
        let refused = send(&office, "/visits", &booking(&yard, ines.id, "2026-12-01", &[(hedge, "6")])).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{change}");
        assert!(refused.body.contains(words), "{change}: {}", refused.body);
    }
}

#[tokio::test]
async fn the_doses_are_worked_out_before_anything_is_booked() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    let mut fields = booking(&yard, ines.id, "2026-12-01", &[(hedge, "4.5")]);
    set(&mut fields, "step", "check");
    let shown = send(&office, "/visits", &fields).await;
    for words in ["72 mL of product", "the band gives 48 mL to 96 mL", "4000 mL to 8000 mL"] {
        assert!(shown.page().contains(words), "{words}: {}", shown.body);
    }
    assert_eq!(count(&world, "select count(*) from visit").await, 0);
    set(&mut fields, &format!("rate-{hedge}"), "7");
    let outside = send(&office, "/visits", &fields).await;
    assert!(outside.body.contains("Choose a rate from 3 to 6 mL per ft."), "{}", outside.body);
    let empty = office.get(&format!("/visits/new?site={}&plant={hedge}&on=2026-12-01", yard.site)).await;
    assert!(
        empty.page().contains("checked") && empty.body.contains("189.2 mL of Rootward 2F"),
        "{}",
        empty.body
    );
}

#[tokio::test]
async fn a_new_measure_brings_the_new_dose_and_stays_with_the_plant() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    let visit = booked(&office, &yard, ines.id, "2026-11-25", hedge, "4.5").await;
    let record = Uuid::now_v7().to_string();
    let [did, measure, amount] = ["did", "measure", "amount"].map(|what| format!("{what}-{hedge}"));
    let mut fields =
        vec![("id", record.as_str()), ("on", "2026-11-25"), (did.as_str(), "other"), (measure.as_str(), "9")];
    let asked = ines.post(&format!("{visit}/records"), &fields).await;
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    // 5 x 9 ft x 4.5 mL = 202.5 mL, beyond the 189.27 mL that the cap allows.
    for words in
        ["202.5 mL", "135 mL to 270 mL", "Warning: Annual cap", "A rate of at most 4.206 mL per ft fits"]
    {
        assert!(asked.body.contains(words), "{words}: {}", asked.body);
    }
    assert!(asked.body.contains("value=\"202.5\""), "{}", asked.body);
    fields.push((&amount, "180"));
    ines.post(&format!("{visit}/records"), &fields).await.went_to(&format!("/records/{record}"));
    let height: rust_decimal::Decimal = sqlx::query_scalar("select height_ft from plant where id = $1")
        .bind(hedge)
        .fetch_one(&world.pool)
        .await
        .unwrap();
    assert_eq!(height, rust_decimal::Decimal::from(9));
    assert!(ines.get(&format!("/records/{record}")).await.page().contains("4 mL per ft"));
}

#[tokio::test]
async fn a_plant_that_was_not_done_says_why_and_stays_due() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    let visit = booked(&office, &yard, ines.id, "2026-11-25", hedge, "4.5").await;
    let (record, did, reason) =
        (Uuid::now_v7().to_string(), format!("did-{hedge}"), format!("reason-{hedge}"));
    let mut fields = vec![("id", record.as_str()), ("on", "2026-11-25"), (did.as_str(), "skipped")];
    let silent = ines.post(&format!("{visit}/records"), &fields).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
    fields.push((&reason, "soil saturated"));
    ines.post(&format!("{visit}/records"), &fields).await.went_to(&visit);
    assert!(ines.get(&visit).await.page().contains("Not done: soil saturated"));
    assert_eq!(count(&world, "select count(*) from application_record").await, 0);
    assert_eq!(yard.due_on(&world, hedge).await.unwrap().to_string(), "2026-11-25");
}

#[tokio::test]
async fn a_technician_sees_their_own_visits_only() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let visit = booked(&office, &yard, ines.id, "2026-11-25", hedge, "4.5").await;
    let per = world.sign_in("Per Aldous", plantward::domain::user::Role::Technician).await;
    for path in [visit.clone(), format!("{visit}/records")] {
        assert_eq!(per.get(&path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    let record = Uuid::now_v7().to_string();
    let did = format!("did-{hedge}");
    let fields = [("id", record.as_str()), ("on", "2026-11-25"), (did.as_str(), "planned")];
    assert_eq!(per.post(&format!("{visit}/records"), &fields).await.status, StatusCode::NOT_FOUND);
    assert!(!per.get("/visits").await.page().contains("Tamber"));
    let mine = ines.get("/visits").await;
    assert!(mine.page().contains("Today") && mine.body.contains("class=\"field\""), "{}", mine.body);
    world.clock.advance(TimeDelta::hours(7));
    ines.get("/visits").await.page();
    per.get("/visits").await.page();
    world.clock.advance(TimeDelta::hours(8));
    assert!(ines.get("/visits").await.page().contains("Not recorded yet"));
    ines.post(&format!("{visit}/records"), &fields).await.went_to(&format!("/records/{record}"));
    for path in [format!("/records/{record}"), format!("/records/{record}/amendments")] {
        assert_eq!(per.get(&path).await.status, StatusCode::NOT_FOUND, "{path}");
        ines.get(&path).await.page();
    }
    assert_eq!(ines.get("/records").await.status, StatusCode::NOT_FOUND);
    assert_eq!(ines.get("/visits/new").await.status, StatusCode::NOT_FOUND);
}
