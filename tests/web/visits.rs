//! Booking, doing and recording visits.
use crate::{
    support::{Visitor, World},
    yard::{Yard, certify},
};
use axum::http::{Method, StatusCode, header};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
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
    assert!(asked.page().contains("Check the dose") && asked.body.contains("Record with this dose"));
    assert!(!asked.body.contains("class=\"wrong\""), "an offer is no mistake: {}", asked.body);
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

#[tokio::test]
async fn a_dose_is_offered_anew_when_the_measure_changes_once_more() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let visit = format!("{}/records", booked(&office, &yard, ines.id, "2026-11-25", hedge, "3").await);
    let id = Uuid::now_v7().to_string();
    let [did, measure, amount, offered] =
        ["did", "measure", "amount", "offered"].map(|what| format!("{what}-{hedge}"));
    let send = |tall: &'static str, poured: &'static str, of: &'static str| {
        let fields = [
            ("id", id.as_str()),
            ("on", "2026-11-25"),
            (did.as_str(), "other"),
            (measure.as_str(), tall),
            (amount.as_str(), poured),
            (offered.as_str(), of),
        ];
        let (ines, visit) = (ines.clone(), visit.clone());
        let fields = fields.map(|(n, v)| (n.to_owned(), v.to_owned()));
        async move { send(&ines, &visit, &fields).await }
    };
    let hidden = |measure: &str| format!("name=\"{offered}\" value=\"{measure}\"");
    let first = send("10", "", "").await;
    assert!(first.page().contains("value=\"30\"") && first.body.contains(&hidden("10")), "{}", first.body);
    // The 30 mL were for ten feet; for four feet at 3 mL they are 12.
    let again = send("4", "30", "10").await;
    assert!(again.page().contains("value=\"12\"") && again.body.contains(&hidden("4")), "{}", again.body);
    assert_eq!(count(&world, "select count(*) from application_record").await, 0);
    send("4.0", "12", "4").await.went_to(&format!("/records/{id}"));
    assert!(ines.get(&format!("/records/{id}")).await.page().contains("12 mL"));
}

#[tokio::test]
async fn a_day_far_from_the_visits_is_asked_about_once_and_flagged() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let visit = format!("{}/records", booked(&office, &yard, ines.id, "2026-11-25", hedge, "3").await);
    let (id, did) = (Uuid::now_v7().to_string(), format!("did-{hedge}"));
    let mut fields = vec![("id", id.as_str()), (did.as_str(), "planned"), ("on", "1990-01-01")];
    let asked = ines.post(&visit, &fields).await;
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(asked.body.contains("The visit is booked for Nov 25, 2026"), "{}", asked.body);
    assert!(asked.body.contains("name=\"confirmed\" value=\"1990-01-01\""), "{}", asked.body);
    fields.push(("confirmed", "1991-01-01"));
    let other = ines.post(&visit, &fields).await;
    assert_eq!(other.status, StatusCode::UNPROCESSABLE_ENTITY, "another day was confirmed");
    fields[2].1 = "2026-11-26";
    assert!(ines.post(&visit, &fields).await.body.contains("This day is still to come"));
    (fields[2].1, fields[3].1) = ("1990-01-01", "1990-01-01");
    ines.post(&visit, &fields).await.went_to(&format!("/records/{id}"));
    let shown = office.get(&format!("/records/{id}")).await;
    for words in [
        "No certification was in force that day",
        "No label entry was signed by that day",
        "signed on Jan 1, 2026",
        "Not answered",
    ] {
        assert!(shown.page().contains(words), "{words}: {}", shown.body);
    }
}

#[tokio::test]
async fn a_visit_of_a_later_day_says_so_before_it_is_recorded() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let visit = booked(&office, &yard, ines.id, "2026-11-28", hedge, "3").await;
    let path = format!("{visit}/records");
    let (theirs, offices) = (ines.get(&path).await, office.get(&path).await);
    assert!(theirs.page().contains("It is booked for a later day") && theirs.body.contains("Nov 28, 2026"));
    assert!(theirs.body.contains("Ask the office to move it"), "{}", theirs.body);
    assert!(offices.page().contains(&format!("href=\"{visit}#f-on\"")), "{}", offices.body);
    let (id, did) = (Uuid::now_v7().to_string(), format!("did-{hedge}"));
    let mut fields = vec![("id", id.as_str()), (did.as_str(), "planned"), ("on", "2026-11-25")];
    let asked = ines.post(&path, &fields).await;
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY, "three days early: asked about");
    assert!(asked.body.contains("It is booked for a later day") && asked.body.contains("booked for Nov 28"));
    fields.push(("confirmed", "2026-11-25"));
    ines.post(&path, &fields).await.went_to(&format!("/records/{id}"));
}

#[tokio::test]
async fn days_too_far_ahead_and_retired_products_are_not_booked() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    for (day, words) in [
        ("2199-05-01", "at most 18 months ahead, until May 25, 2028"),
        ("2028-05-26", "at most 18 months ahead"),
        ("2026-11-24", "today or later"),
    ] {
        let refused = send(&office, "/visits", &booking(&yard, ines.id, day, &[(hedge, "3")])).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{day}");
        assert!(
            refused.body.contains("id=\"f-on-wrong\"") && refused.body.contains(words),
            "{}",
            refused.body
        );
    }
    sqlx::query("update product set retired_at = now()").execute(&world.pool).await.unwrap();
    let refused = send(&office, "/visits", &booking(&yard, ines.id, "2026-12-01", &[(hedge, "3")])).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let words = "Podocarpus, front hedge: Rootward 2F is retired";
    assert!(refused.body.contains(words) && refused.body.contains("product is retired"), "{}", refused.body);
    assert_eq!(count(&world, "select count(*) from visit").await, 0);
}

#[tokio::test]
async fn a_form_that_was_used_already_never_passes_for_another() {
    let (world, _, office, ines, yard) = company().await;
    let (front, back) = (yard.hedge(&world, "front", 1).await, yard.hedge(&world, "back", 1).await);
    let mut fields = booking(&yard, ines.id, "2026-11-25", &[(front, "3")]);
    let visit = format!("/visits/{}", fields[0].1);
    send(&office, "/visits", &fields).await.went_to(&visit);
    set(&mut fields, &format!("rate-{front}"), "4");
    let other = send(&office, "/visits", &fields).await;
    assert_eq!(other.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        other.body.contains("already booked")
            && other.body.contains(&format!("id=\"f-id\" href=\"{visit}\""))
    );
    let second = booked(&office, &yard, ines.id, "2026-11-25", back, "3").await;
    let (id, did, did_back) = (Uuid::now_v7().to_string(), format!("did-{front}"), format!("did-{back}"));
    let mut fields =
        vec![("id", id.as_str()), ("on", "2026-11-25"), (did.as_str(), "planned"), ("wind_mph", "3")];
    let record = format!("/records/{id}");
    for _ in 0..2 {
        ines.post(&format!("{visit}/records"), &fields).await.went_to(&record);
    }
    fields[3].1 = "9";
    let other = ines.post(&format!("{visit}/records"), &fields).await;
    assert_eq!(other.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(other.body.contains("already recorded") && other.body.contains(&record), "{}", other.body);
    fields[2].0 = &did_back;
    let used = ines.post(&format!("{second}/records"), &fields).await;
    assert_eq!(used.status, StatusCode::UNPROCESSABLE_ENTITY, "the id of another visit's record");
    assert!(used.body.contains("This form was used already; open it anew."), "{}", used.body);
    assert_eq!(count(&world, "select count(*) from application_record").await, 1);
}

#[tokio::test]
async fn worked_out_doses_are_a_good_page_with_refusals_at_their_plants() {
    let (world, _, office, ines, yard) = company().await;
    let good = yard.hedge(&world, "a good hedge", 1).await;
    let large = yard.hedge(&world, "a large hedge", 20).await;
    let mut fields = booking(&yard, ines.id, "2026-12-01", &[(large, "3"), (good, "3")]);
    set(&mut fields, "step", "check");
    let shown = send(&office, "/visits", &fields).await;
    for words in [
        "24 mL of product",
        "Refused for Podocarpus, a large hedge:",
        "Annual cap of imidacloprid",
        "Due today",
        "Held back",
        "Long sleeves, gloves",
        "Keep people and pets out",
        "1 can be booked, 1 refused",
    ] {
        assert!(shown.page().contains(words), "{words}: {}", shown.body);
    }
    assert!(!shown.body.contains("Not saved yet"), "{}", shown.body);
    let at = |words: &str| shown.body.find(words).unwrap();
    let rows = [
        at("id=\"f-on\""),
        at("id=\"f-technician\""),
        at(&format!("id=\"p-{good}")),
        at(&format!("id=\"p-{large}")),
    ];
    assert!(rows.is_sorted(), "day and technician first, held plants last: {rows:?}");
    set(&mut fields, "step", "book");
    let refused = send(&office, "/visits", &fields).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        refused.body.contains("Podocarpus, a large hedge: Annual cap"),
        "the summary names it: {}",
        refused.body
    );
    send(&office, "/visits", &booking(&yard, ines.id, "2026-12-01", &[(good, "3")])).await;
    let booked = office.get(&format!("/visits/new?site={}", yard.site)).await;
    assert!(booked.page().contains("Booked for Dec 1, 2026"), "{}", booked.body);
}

#[tokio::test]
async fn the_phone_says_what_the_state_asks_and_what_the_site_is_like() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let visit = booked(&office, &yard, ines.id, "2026-11-25", hedge, "3").await;
    let form = ines.get(&format!("{visit}/records")).await;
    assert!(form.page().contains("Started, asked by CA (3 CCR 6624(b))</label>"), "{}", form.body);
    assert!(form.body.contains("Finished <span class=\"soft\">(optional)"), "{}", form.body);
    let bare = ines.get(&visit).await;
    for words in ["any working hour", "not known: look before you pour", "Shrubs, basal drench: basal drench"]
    {
        assert!(bare.page().contains(words), "{words}: {}", bare.body);
    }
    for sql in [
        "insert into site_window (site_id, weekday, opens, closes) select id, 3, '08:30', '13:00' from site",
        "update site set water_distance_ft = 120",
    ] {
        sqlx::query(sql).execute(&world.pool).await.unwrap();
    }
    let known = ines.get(&visit).await;
    assert!(known.page().contains("Wednesday 8:30 am to 1:00 pm") && known.body.contains("120 ft away"));
}

/// The product must be registered in the site's state on the visit's day, whatever was the case when it was booked.
#[tokio::test]
async fn a_visit_after_the_end_of_the_registration_is_refused() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let plant = yard.hedge(&world, "Street side", 1).await;
    let technician = owner.id.to_string();
    let (plant, site) = (plant.to_string(), yard.site.to_string());
    let book = |id: &'static str, on: &'static str| {
        let fields = [
            ("id", id),
            ("site", &site),
            ("on", on),
            ("technician", &technician),
            ("plant", &plant),
            ("step", "book"),
        ];
        fields.map(|(k, v)| (k.to_owned(), v.to_owned()))
    };
    let ends =
        |day: &'static str| sqlx::query("update product_registration set expires_on = $1::date").bind(day);
    ends("2026-11-30").execute(&world.pool).await.unwrap();
    let fields = book("01890a5d-ac96-774b-bcce-b302099a8057", "2026-12-01");
    let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
    let refused = owner.post("/visits", &fields).await;
    assert_eq!(refused.status, axum::http::StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("registered"), "{}", refused.body);
    ends("2026-12-01").execute(&world.pool).await.unwrap();
    owner.post("/visits", &fields).await.went_to("/visits/01890a5d-ac96-774b-bcce-b302099a8057");
}

#[tokio::test]
async fn a_technician_who_reads_spanish_finds_no_english_of_ours_on_the_way_through_a_visit() {
    let (world, _, office, ines, yard) = company().await;
    let hedge = yard.hedge(&world, "front hedge", 2).await;
    let visit = booked(&office, &yard, ines.id, "2026-11-25", hedge, "3").await;
    ines.post("/account/languages", &[("language", "es")]).await;
    let page = ines.get(&visit).await;
    for words in [
        "seto de 2, 8 ft",
        "riego en la base",
        "24 mL para cada una de las 2",
        "Prevista",
        "no se sabe",
        "quedan",
    ] {
        assert!(page.page().contains(words), "{words}: {}", page.body);
    }
    for english in ["for each", "Planned", "g left", "against ", " of product"] {
        assert!(!page.body.contains(english), "{english}: {}", page.body);
    }
    let address = format!("{visit}/records");
    let form = ines.get(&address).await;
    assert!(form.page().contains("Comienzo, lo pide CA (3 CCR 6624(b))</label>"), "{}", form.body);
    assert!(form.body.contains("Final <span class=\"soft\">(opcional)"), "{}", form.body);
    let refused = ines.post(&address, &[("id", &Uuid::now_v7().to_string()), ("wind_mph", "much")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    for words in
        ["Todavía sin guardar", "Rellene esto", "Esto no es un número", "Elija qué se hizo: Podocarpus"]
    {
        assert!(refused.body.contains(words), "{words}: {}", refused.body);
    }
    let (did, measure) = (format!("did-{hedge}"), format!("measure-{hedge}"));
    let id = Uuid::now_v7().to_string();
    let mut fields = vec![("id", id.as_str()), ("on", "2026-11-25"), (&did, "other"), (&measure, "9")];
    let offered = ines.post(&address, &fields).await;
    assert!(
        offered.page().contains("Medido 9 ft, previsto para 8 ft: a 3 mL por ft son 54 mL"),
        "{}",
        offered.body
    );
    fields[2].1 = "planned";
    let done = ines.post(&address, &fields).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER);
    // The notice of the next page travels in a cookie.
    let told = done.headers.get_all(header::SET_COOKIE).iter().filter_map(|v| v.to_str().ok());
    let encoded = URL_SAFE_NO_PAD.encode("Registrado.");
    assert!(told.into_iter().any(|cookie| cookie.contains(&encoded)), "{:?}", done.headers);
    let measures = format!("/plants/{hedge}/measures");
    assert!(ines.get(&measures).await.page().contains("Medir una planta"));
    let thin = ines.post(&measures, &[("height_ft", "-1")]).await;
    assert!(thin.body.contains("Tiene que ser más que cero"), "{}", thin.body);
}

#[tokio::test]
async fn the_sign_in_page_speaks_the_language_that_the_browser_asks_for_first() {
    let world = World::new().await;
    let stranger = world.stranger();
    let ask = async |tags: &'static str| {
        stranger.request(Method::GET, "/sign-in", &[("accept-language", tags)], None).await.body
    };
    for tags in ["es-MX,es;q=0.9,en;q=0.8", "fr, ES;q=0.5, en;q=0.1"] {
        let page = ask(tags).await;
        assert!(page.contains("<html lang=\"es\">") && page.contains("Contraseña"), "{tags}: {page}");
        assert!(!page.contains("Password") && !page.contains("Sign in"), "{page}");
    }
    for tags in ["en-US,es;q=0.5", "", "é", "x", "*"] {
        let page = ask(tags).await;
        assert!(page.contains("<html lang=\"en\">") && page.contains("Password"), "{tags}: {page}");
    }
}
