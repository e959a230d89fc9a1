//! What days are planned with: people's hours, vehicles, the company's terms, a site's own words.
use crate::{sheets::Day, support::seen};
use axum::http::StatusCode;
use uuid::Uuid;

#[tokio::test]
async fn a_working_week_is_entered_and_read_back() {
    let day = Day::new().await;
    let truck = Uuid::now_v7();
    day.run("insert into vehicle (id, name, tank_gal) values ($1, 'White pickup', 50)", &[truck]).await;
    let path = format!("/people/{}/working-week", day.ines.id);
    let opened = seen(day.office.get(&path).await.page());
    let truck = truck.to_string();
    let mut fields = vec![
        ("seen", opened.as_str()),
        ("starts-1", "07:30"),
        ("ends-1", "16:00"),
        ("break-1", "30"),
        ("from-1", "11:30"),
        ("until-1", "13:00"),
        ("starts-3", "08:00"),
        ("ends-3", "12:00"),
        ("vehicle", &truck),
        ("latitude", "35.5"),
        ("longitude", "-120.6"),
    ];
    day.office.post(&path, &fields).await.went_to(&format!("/people/{}", day.ines.id));
    let page = day.office.get(&path).await;
    for value in
        ["value=\"07:30\"", "value=\"13:00\"", "value=\"30\"", "value=\"35.5\"", "White pickup, tank 50 gal"]
    {
        assert!(page.page().contains(value), "{value}: {}", page.body);
    }
    assert_eq!(day.count("select count(*) from working_day").await, 2, "two days, and none of the others");
    fields[2].1 = "17:00";
    let stale = day.office.post(&path, &fields).await;
    assert!(
        stale.status == StatusCode::UNPROCESSABLE_ENTITY && stale.body.contains("Saved meanwhile: 16:00")
    );
    assert_eq!(day.ines.get(&path).await.status, StatusCode::NOT_FOUND, "the office plans");
}

#[tokio::test]
async fn a_week_that_cannot_be_is_refused_at_its_field() {
    let day = Day::new().await;
    let path = format!("/people/{}/working-week", day.ines.id);
    for (fields, field, words) in [
        (vec![("starts-2", "08:00")], "ends-2", "A working day has a begin and an end"),
        (vec![("starts-2", "08:00"), ("ends-2", "08:00")], "ends-2", "ends before it begins"),
        (vec![("starts-2", "8 o'clock"), ("ends-2", "12:00")], "starts-2", "This is not a time"),
        (
            vec![
                ("starts-2", "08:00"),
                ("ends-2", "16:00"),
                ("break-2", "45"),
                ("from-2", "12:00"),
                ("until-2", "12:30"),
            ],
            "until-2",
            "45 minutes do not fit",
        ),
        (
            vec![
                ("starts-2", "08:00"),
                ("ends-2", "16:00"),
                ("break-2", "30"),
                ("from-2", "07:00"),
                ("until-2", "12:30"),
            ],
            "from-2",
            "outside the working hours",
        ),
        (
            vec![("starts-2", "08:00"), ("ends-2", "16:00"), ("from-2", "12:00")],
            "break-2",
            "how many minutes",
        ),
        (vec![("starts-2", "08:00"), ("ends-2", "16:00"), ("break-2", "900")], "break-2", "from 0 to 240"),
        (vec![("latitude", "35")], "latitude", "latitude and longitude, or neither"),
        (vec![("vehicle", "01890a5d-ac96-774b-bcce-b302099a8057")], "vehicle", "a vehicle that is in use"),
    ] {
        let opened = seen(day.office.get(&path).await.page());
        let mut sent = fields.clone();
        sent.push(("seen", &opened));
        let answer = day.office.post(&path, &sent).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(answer.body.contains(&format!("id=\"f-{field}-wrong\"")), "{field}: {}", answer.body);
        assert!(answer.body.contains(words), "{words}: {}", answer.body);
        let kept = fields[0].1.replace('\'', "&#39;");
        // A vehicle that there is not stands among no choices.
        assert!(field == "vehicle" || answer.body.contains(&kept), "nothing typed is lost: {kept}");
    }
    assert_eq!(day.count("select count(*) from working_day").await, 0);
}

#[tokio::test]
async fn vehicles_come_change_and_go() {
    let day = Day::new().await;
    let id = Uuid::now_v7().to_string();
    let fields = [("id", id.as_str()), ("name", "White pickup"), ("tank_gal", "50")];
    for _ in 0..2 {
        day.office.post("/vehicles", &fields).await.went_to("/vehicles");
    }
    let other = Uuid::now_v7().to_string();
    let taken =
        day.office.post("/vehicles", &[("id", &other), ("name", "White pickup"), ("tank_gal", "-1")]).await;
    assert!(taken.body.contains("must be more than zero"), "{}", taken.body);
    let taken =
        day.office.post("/vehicles", &[("id", &other), ("name", "White pickup"), ("tank_gal", "9")]).await;
    assert!(taken.body.contains("Another vehicle has this name already"), "{}", taken.body);
    let path = format!("/vehicles/{id}");
    let opened = seen(day.office.get(&format!("{path}/edit")).await.page());
    let change = [("seen", opened.as_str()), ("name", "White pickup"), ("tank_gal", "60.5")];
    day.office.post(&path, &change).await.went_to("/vehicles");
    let late =
        day.office.post(&path, &[("seen", opened.as_str()), ("name", "Grey van"), ("tank_gal", "50")]).await;
    assert!(late.status == StatusCode::UNPROCESSABLE_ENTITY && late.body.contains("Saved meanwhile: 60.5"));
    day.run("update person set vehicle_id = $1 where id = $2", &[id.parse().unwrap(), day.ines.id]).await;
    assert!(day.office.get("/vehicles").await.page().contains("Ines Okoro"));
    day.office.post(&format!("{path}/retirements"), &[]).await.went_to("/vehicles");
    let list = day.office.get("/vehicles").await;
    assert!(
        list.page().contains("Retired")
            && list.page().contains("nobody")
            && !list.body.contains("Ines Okoro")
    );
    day.office.post(&format!("{path}/returns"), &[]).await.went_to("/vehicles");
    assert!(day.office.get("/vehicles").await.page().contains("In use"));
    let deeds: Vec<String> =
        sqlx::query_scalar("select deed from audit where noun = 'vehicle' order by at, id")
            .fetch_all(&day.world.pool)
            .await
            .unwrap();
    assert_eq!(deeds, ["entered", "changed", "retired", "taken back"]);
}

#[tokio::test]
async fn the_companys_terms_are_its_owners() {
    let day = Day::new().await;
    let opened = seen(day.owner.get("/company/terms").await.page());
    let mut fields = vec![
        ("seen", opened.as_str()),
        ("latitude", "35.48"),
        ("longitude", "-120.68"),
        ("stop_minutes", "12"),
        ("plant_minutes", "1.5"),
        ("load_reserve_percent", "101"),
    ];
    let wrong = day.owner.post("/company/terms", &fields).await;
    assert!(
        wrong.status == StatusCode::UNPROCESSABLE_ENTITY && wrong.body.contains("from 0 to 100"),
        "{}",
        wrong.body
    );
    fields[5].1 = "15";
    day.owner.post("/company/terms", &fields).await.went_to("/company/terms");
    let page = day.owner.get("/company/terms").await;
    for value in ["value=\"35.48\"", "value=\"12\"", "value=\"1.5\"", "value=\"15\""] {
        assert!(page.page().contains(value), "{value}: {}", page.body);
    }
    fields[3].1 = "13";
    assert!(day.owner.post("/company/terms", &fields).await.body.contains("Saved meanwhile: 12"));
    assert_eq!(day.office.get("/company/terms").await.status, StatusCode::NOT_FOUND);
    // The company's own page leaves them as they are.
    assert_eq!(day.count("select count(*) from company where stop_minutes = 12").await, 1);
}

#[tokio::test]
async fn a_site_says_how_long_and_whom_to_tell() {
    let day = Day::new().await;
    let path = format!("/sites/{}", day.yard.site);
    let own = [
        ("street", "14 Tamber Lane"),
        ("city", "Quillan Springs"),
        ("state", "CA"),
        ("zip", "93499"),
        ("county", "San Luis Obispo"),
        ("access_note", "Gate on the left, dog indoors"),
        ("lot_sqft", "10890"),
    ];
    let with = |more: &[(&'static str, &'static str)]| [&own[..], more].concat();
    let lacking = day.office.change(&path, &with(&[("notice_hours", "24"), ("priority", "1")])).await;
    assert!(lacking.body.contains("Say who must be told"), "{}", lacking.body);
    let odd = day.office.change(&path, &with(&[("service_minutes", "1441"), ("priority", "9")])).await;
    assert!(
        odd.body.contains("from 1 to 1440") && odd.body.contains("Please choose one of these"),
        "{}",
        odd.body
    );
    let good = [
        ("service_minutes", "45"),
        ("notice_hours", "24"),
        ("notice_reason", "the school"),
        ("priority", "3"),
    ];
    day.office.change(&path, &with(&good)).await.went_to(&path);
    let page = day.office.get(&path).await;
    for words in ["45 min", "24 hours before: the school", "first of all"] {
        assert!(page.page().contains(words), "{words}: {}", page.body);
    }
    let form = day.office.get(&format!("{path}/edit")).await;
    assert!(
        form.page().contains("value=\"45\"") && form.page().contains("value=\"3\" checked"),
        "{}",
        form.body
    );
}
