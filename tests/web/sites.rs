//! Sites: entering them with their land, changing hands, licensed answers, who may see them.
use crate::places::{self, IDS, site_fields, with};
use crate::support::World;
use axum::http::StatusCode;

const FARRANT: &str = IDS[0];
const TAMBER: &str = IDS[1];

#[tokio::test]
async fn a_new_site_says_what_is_not_known_about_it() {
    let world = World::new().await;
    let tobias = world.office().await;
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    let form = tobias.get(&format!("/customers/{FARRANT}/sites/new")).await;
    assert!(form.page().contains("value=\"14 Tamber Lane\""), "the customer's address is offered");
    let path = format!("/customers/{FARRANT}/sites");
    for _ in 0..2 {
        tobias.post(&path, &site_fields(TAMBER, "14 Tamber Lane")).await.went_to(&format!("/sites/{TAMBER}"));
    }
    let page = tobias.get(&format!("/sites/{TAMBER}")).await;
    for told in [
        "annual cap cannot be checked",
        "Earlier use unconfirmed",
        "No position yet",
        "Distance to water unknown",
        "Odile Farrant",
        "any working hour",
    ] {
        assert!(page.page().contains(told), "{told}\n{}", page.body);
    }
    let parcels: i64 =
        sqlx::query_scalar("select count(*) from parcel").fetch_one(&world.pool).await.unwrap();
    assert_eq!(parcels, 1, "sent twice, entered once");
    assert_eq!(tobias.get("/sites").await.page().matches(&format!("href=\"/sites/{TAMBER}\"")).count(), 1);
    assert!(tobias.get(&format!("/customers/{FARRANT}")).await.page().contains(TAMBER));
}

/// Fields put into a good form, and what is said about them; nothing said: it is taken.
type Mistake = (&'static [(&'static str, &'static str)], &'static [&'static str]);

#[tokio::test]
async fn a_site_form_with_mistakes_comes_back_as_typed() {
    let world = World::new().await;
    let tobias = world.office().await;
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    let path = format!("/customers/{FARRANT}/sites");
    let good = site_fields(TAMBER, "14 Tamber Lane");
    let cases: [Mistake; 12] = [
        (
            &[("lot_sqft", "5000"), ("treated_bed_sqft", "6000")],
            &["The lot (5,000 sq ft) is smaller than the treated bed on it (6,000 sq ft)."],
        ),
        (&[("access_note", "gate \u{202E}left")], &["a character in here that cannot be shown"]),
        (&[("name", "Club\u{200B}house")], &["a character in here that cannot be shown"]),
        (&[("latitude", "north")], &["not a position", "latitude and longitude, or neither"]),
        (&[("latitude", "91"), ("longitude", "NaN")], &["from -90 to 90", "from -180 to 180"]),
        (&[("water_distance_ft", "-3")], &["zero or more"]),
        (&[("lot_sqft", "0")], &["more than zero"]),
        (&[("window_day", "1"), ("window_from", "08:00"), ("window_to", "")], &["needs a day, from and to"]),
        (
            &[("window_day", "1"), ("window_from", "12:00"), ("window_to", "08:00")],
            &["end before they begin"],
        ),
        (
            &[("window_day", "9"), ("window_from", "8 am"), ("window_to", "nine")],
            &["needs a day, from and to"],
        ),
        (
            &[
                ("window_day", "2"),
                ("window_from", "08:00"),
                ("window_to", "11:00"),
                ("window_day", "2"),
                ("window_from", "10:59"),
                ("window_to", "12:00"),
            ],
            &["overlap on one day"],
        ),
        (&[("parcel_street", "written, but the parcel is its own")], &[]),
    ];
    for (wrong, told) in cases {
        let mut fields = good.clone();
        fields.extend(wrong);
        let answer = tobias.post(&path, &fields).await;
        if told.is_empty() {
            answer.went_to(&format!("/sites/{TAMBER}"));
            continue;
        }
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong:?}");
        for words in told {
            assert!(answer.body.contains(words), "{words}\n{}", answer.body);
        }
        let in_inputs = |name: &str| !matches!(name, "window_day" | "access_note");
        for (name, typed) in wrong.iter().filter(|(name, typed)| in_inputs(name) && !typed.is_empty()) {
            assert!(answer.body.contains(&format!("value=\"{typed}\"")), "{name}: {typed}\n{}", answer.body);
        }
    }
    let none = tobias.post(&path, &[("id", IDS[5])]).await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(none.body.matches("class=\"wrong\"").count(), 5, "street, city, state, zip and county");
}

#[tokio::test]
async fn a_change_keeps_customer_and_land_and_is_written_down() {
    let world = World::new().await;
    let tobias = world.office().await;
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    places::site(&tobias, FARRANT, TAMBER, "14 Tamber Lane").await;
    let path = format!("/sites/{TAMBER}");
    let mut fields = site_fields(TAMBER, "14 Tamber Lane");
    fields.extend([
        ("latitude", "35.2828"),
        ("longitude", "-120.6596"),
        ("water_distance_ft", "0"),
        ("lot_sqft", "10890"),
        ("treated_bed_sqft", "400.5"),
        ("access_note", "Gate on the left"),
        ("window_day", "3"),
        ("window_from", "08:30"),
        ("window_to", "13:00"),
    ]);
    tobias.change(&path, &fields).await.went_to(&path);
    let page = tobias.get(&path).await;
    for told in [
        "35.2828, -120.6596",
        "on the site",
        "10,890 sq ft",
        "400.5 sq ft",
        "Wednesday 8:30 am to 1:00 pm",
        "Gate on the left",
        "smallest known area holds until a licensed person chooses",
        "treated bed, 400.5 sq ft",
    ] {
        assert!(page.page().contains(told), "{told}\n{}", page.body);
    }
    assert!(!page.body.contains("cannot be checked") && !page.body.contains("No position yet"));
    let form = tobias.get(&format!("{path}/edit")).await;
    for kept in ["35.2828", "08:30", "13:00", "10890", "400.5"] {
        assert!(form.page().contains(&format!("value=\"{kept}\"")), "{kept}");
    }
    let detail = places::last_detail(&world, "site", TAMBER).await;
    assert!(detail.contains("\"treated_bed\": [null, \"400.5\"]") && !detail.contains("street"), "{detail}");
    tobias.change(&path, &site_fields(TAMBER, "14 Tamber Lane")).await.went_to(&path);
    assert!(tobias.get(&path).await.page().contains("any working hour"), "hours can be taken away again");
}

#[tokio::test]
async fn two_sites_on_one_parcel_share_its_areas_and_answers() {
    let world = World::new().await;
    let (tobias, maren) = (world.office().await, world.owner().await);
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    let path = format!("/customers/{FARRANT}/sites");
    let front = with(&site_fields(TAMBER, "14 Tamber Lane"), "lot_sqft", "20000");
    tobias.post(&path, &front).await.went_to(&format!("/sites/{TAMBER}"));
    places::site(&tobias, FARRANT, IDS[2], "140 Tamber Lane").await;
    let back = with(&site_fields(IDS[3], "14 Tamber Lane, rear house"), "parcel", "shared");
    let ask = async |street| tobias.post(&path, &with(&back, "parcel_street", street)).await;
    for (street, told) in [
        ("", "Please fill this in."),
        ("Nowhere Road", "No site has such a street"),
        ("tamber", "Choose the site that lies on the same parcel."),
    ] {
        let refused = ask(street).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{street}");
        assert!(refused.body.contains(told), "{told}\n{}", refused.body);
    }
    let choice = ask("tamber").await;
    assert!(
        choice.body.contains(&format!("value=\"{TAMBER}\""))
            && choice.body.contains(&format!("value=\"{}\"", IDS[2]))
    );
    let own_area = with(&with(&back, "parcel_street", "14 tamber lane"), "lot_sqft", "5");
    assert!(tobias.post(&path, &own_area).await.body.contains("areas are those of the shared parcel"));
    ask("14 tamber lane").await.went_to(&format!("/sites/{}", IDS[3]));
    assert_eq!(places::parcel_of(&world, TAMBER).await, places::parcel_of(&world, IDS[3]).await);
    assert_ne!(places::parcel_of(&world, TAMBER).await, places::parcel_of(&world, IDS[2]).await);
    let chosen = with(&with(&back, "parcel_street", "tamber"), "parcel_site", IDS[2]);
    tobias.post(&path, &with(&chosen, "id", IDS[4])).await.went_to(&format!("/sites/{}", IDS[4]));
    assert_eq!(places::parcel_of(&world, IDS[4]).await, places::parcel_of(&world, IDS[2]).await);
    let page = tobias.get(&format!("/sites/{}", IDS[3])).await;
    assert!(page.page().contains("20,000 sq ft") && page.body.contains("share one ledger"));
    assert!(tobias.get(&format!("/sites/{}/edit", IDS[3])).await.page().contains("Shared with 1 other"));
    places::certify(&world, maren.id, "2027-06-30").await;
    let answer = [("known_from", "2025-01-01"), ("reason", "Asked Odile Farrant")];
    maren
        .post(&format!("/sites/{}/earlier-uses", IDS[3]), &answer)
        .await
        .went_to(&format!("/sites/{}", IDS[3]));
    assert!(tobias.get(&format!("/sites/{TAMBER}")).await.page().contains("Jan 1, 2025"));
}

#[tokio::test]
async fn a_site_changes_hands_and_keeps_plants_and_land() {
    let world = World::new().await;
    let tobias = world.office().await;
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    places::customer(&tobias, IDS[2], "Bram Odell").await;
    places::customer(&tobias, IDS[3], "Cosmo Retter").await;
    places::site(&tobias, FARRANT, TAMBER, "14 Tamber Lane").await;
    places::plant(&tobias, TAMBER, IDS[4], "front hedge").await;
    tobias.post(&format!("/customers/{}/retirements", IDS[3]), &[]).await;
    let (path, parcel) = (format!("/sites/{TAMBER}/customers"), places::parcel_of(&world, TAMBER).await);
    let found = tobias.get(&format!("{path}?q=o")).await;
    assert!(found.page().contains("Bram Odell (14 Tamber Lane, Quillan Springs)"));
    assert!(!found.body.contains("Cosmo Retter") && !found.body.contains(&format!("value=\"{FARRANT}\"")));
    for (customer, told) in [
        ("", "choose one"),
        (IDS[9], "no such customer"),
        (IDS[3], "Cosmo Retter is retired"),
        ("x'", "choose one"),
    ] {
        let refused = tobias.post(&path, &[("customer", customer), ("q", "bram")]).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{customer}");
        assert!(
            refused.body.contains(told) && refused.body.contains("Bram Odell"),
            "{told}\n{}",
            refused.body
        );
    }
    for _ in 0..2 {
        tobias.post(&path, &[("customer", IDS[2])]).await.went_to(&format!("/sites/{TAMBER}"));
    }
    let page = tobias.get(&format!("/sites/{TAMBER}")).await;
    assert!(page.page().contains("Bram Odell") && page.body.contains("front hedge"));
    assert_eq!(places::parcel_of(&world, TAMBER).await, parcel, "the ledger belongs to the land");
    assert!(!tobias.get(&format!("/customers/{FARRANT}")).await.page().contains(TAMBER));
    assert_eq!(places::deeds(&world, "site", TAMBER).await, ["entered", "given to another customer"]);
    let detail = places::last_detail(&world, "site", TAMBER).await;
    assert!(detail.contains(FARRANT) && detail.contains(IDS[2]), "{detail}");
}

#[tokio::test]
async fn only_a_certified_person_chooses_the_area_for_the_cap() {
    let world = World::new().await;
    let (tobias, maren) = (world.office().await, world.owner().await);
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    places::site(&tobias, FARRANT, TAMBER, "14 Tamber Lane").await;
    let (site, path) = (format!("/sites/{TAMBER}"), format!("/sites/{TAMBER}/cap-areas"));
    assert!(tobias.get(&path).await.page().contains("No area is known"));
    let fields = site_fields(TAMBER, "14 Tamber Lane");
    let fields = with(&with(&fields, "lot_sqft", "10890"), "treated_bed_sqft", "400");
    tobias.change(&site, &fields).await.went_to(&site);
    assert!(tobias.get(&path).await.page().contains("treated bed: 400 sq ft; holds now"));
    let choice = [("cap_area", "lot"), ("reason", "The label speaks of the property")];
    let refused = tobias.post(&path, &choice).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("no certification is entered for you"), "{}", refused.body);
    assert!(refused.body.contains("The label speaks of the property"), "the reason is kept");
    places::certify(&world, tobias.id, "2026-11-24").await;
    assert!(tobias.post(&path, &choice).await.body.contains("your last certification ended on Nov 24, 2026"));
    places::certify(&world, maren.id, "2026-11-25").await;
    for wrong in [[("cap_area", "roof"), ("reason", "x")], [("cap_area", "lot"), ("reason", " ")]] {
        assert_eq!(maren.post(&path, &wrong).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    }
    let unknown = maren.post(&path, &[("cap_area", "landscaped"), ("reason", "x")]).await;
    assert!(unknown.body.contains("This area is not known yet"), "{}", unknown.body);
    maren.post(&path, &choice).await.went_to(&site);
    let page = tobias.get(&site).await;
    assert!(page.page().contains("lot, 10,890 sq ft"), "{}", page.body);
    assert!(page.body.contains("Chosen by Maren Quist: The label speaks of the property"));
    let parcel = places::parcel_of(&world, TAMBER).await.to_string();
    let detail = places::last_detail(&world, "parcel", &parcel).await;
    assert!(detail.contains("[null, \"lot\"]") && detail.contains("QA-00017"), "{detail}");
    let cleared = tobias.change(&site, &with(&fields, "lot_sqft", "")).await;
    assert_eq!(cleared.status, StatusCode::UNPROCESSABLE_ENTITY, "the chosen area cannot become unknown");
    assert!(cleared.body.contains("A licensed person must choose another one first."));
}

#[tokio::test]
async fn only_a_certified_person_answers_about_earlier_use() {
    let world = World::new().await;
    let (tobias, ines) = (world.office().await, world.technician().await);
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    places::site(&tobias, FARRANT, TAMBER, "14 Tamber Lane").await;
    let (site, path) = (format!("/sites/{TAMBER}"), format!("/sites/{TAMBER}/earlier-uses"));
    let answer = [("known_from", "2024-03-01"), ("reason", "Asked the owner")];
    let refused = tobias.post(&path, &answer).await;
    assert!(
        refused.body.contains("no certification is entered for you") && refused.body.contains("2024-03-01")
    );
    places::certify(&world, ines.id, "2027-06-30").await;
    assert_eq!(ines.post(&path, &answer).await.status, StatusCode::NOT_FOUND, "certified, but never there");
    places::visit(&world, TAMBER, ines.id, tobias.id, "booked").await;
    for (day, told) in [("2026-11-26", "still to come"), ("", "fill this in"), ("March", "not a date")] {
        let refused = ines.post(&path, &[("known_from", day), ("reason", "Asked the owner")]).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(refused.body.contains(told) && refused.body.contains("Asked the owner"), "{told}");
    }
    ines.post(&path, &answer).await.went_to(&site);
    let page = tobias.get(&site).await;
    assert!(page.page().contains("Mar 1, 2024") && page.body.contains("Answered by Ines Okoro"));
    assert!(!page.body.contains("Earlier use unconfirmed"));
}

#[tokio::test]
async fn a_technician_sees_the_sites_of_their_visits_and_no_others() {
    let world = World::new().await;
    let (tobias, ines) = (world.office().await, world.technician().await);
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    places::site(&tobias, FARRANT, TAMBER, "14 Tamber Lane").await;
    let path = format!("/sites/{TAMBER}");
    assert_eq!(ines.get(&path).await.status, StatusCode::NOT_FOUND);
    let other = world.sign_in("Per Aldous", plantward::domain::user::Role::Technician).await;
    places::visit(&world, TAMBER, other.id, tobias.id, "booked").await;
    places::visit(&world, TAMBER, ines.id, tobias.id, "cancelled").await;
    assert_eq!(ines.get(&path).await.status, StatusCode::NOT_FOUND, "a cancelled visit opens nothing");
    places::visit(&world, TAMBER, ines.id, tobias.id, "done").await;
    let page = ines.get(&path).await;
    assert!(page.page().contains("14 Tamber Lane") && page.body.contains("Odile Farrant"));
    for hidden in ["/edit", "/retirements", "/customers", "plants/new"] {
        assert!(!page.body.contains(&format!("{path}{hidden}")), "{hidden}");
    }
    assert!(!page.body.contains("plants/new"));
    assert_eq!(ines.post(&path, &site_fields(TAMBER, "x")).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_site_with_a_booked_visit_is_not_retired() {
    let world = World::new().await;
    let (tobias, ines) = (world.office().await, world.technician().await);
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    places::site(&tobias, FARRANT, TAMBER, "14 Tamber Lane").await;
    let path = format!("/sites/{TAMBER}");
    for _ in 0..2 {
        places::visit(&world, TAMBER, ines.id, tobias.id, "booked").await;
    }
    let refused = tobias.post(&format!("{path}/retirements"), &[]).await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    assert!(refused.body.contains("on Nov 30, 2026, and 1 more. Record or cancel the visit first."));
    places::cancel_visits(&world).await;
    for _ in 0..2 {
        tobias.post(&format!("{path}/retirements"), &[]).await.went_to(&path);
    }
    assert!(!tobias.get("/sites").await.page().contains(TAMBER));
    let plant = tobias.post(&format!("{path}/plants"), &places::plant_fields(IDS[4], "front hedge")).await;
    assert_eq!(plant.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(plant.body.contains("The site is retired. Bring it back first."));
    tobias.post(&format!("{path}/returns"), &[]).await.went_to(&path);
    assert!(tobias.get("/sites?q=tamber+quillan").await.page().contains(TAMBER));
    assert_eq!(places::deeds(&world, "site", TAMBER).await, ["entered", "retired", "taken back"]);
}

#[tokio::test]
async fn a_site_lies_in_a_state_and_has_a_zip() {
    let world = World::new().await;
    let tobias = world.office().await;
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    let path = format!("/customers/{FARRANT}/sites");
    for (name, typed, told) in
        [("state", "ZZ", "two letters"), ("zip", "9349", "five digits"), ("zip", "93499-12", "five digits")]
    {
        let refused = tobias.post(&path, &with(&site_fields(TAMBER, "14 Tamber Lane"), name, typed)).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{typed}");
        assert!(
            refused.body.contains(told) && refused.body.contains(&format!("value=\"{typed}\"")),
            "{typed}"
        );
    }
    let nine = with(&site_fields(TAMBER, "14 Tamber Lane"), "zip", "93499-1234");
    tobias.post(&path, &nine).await.went_to(&format!("/sites/{TAMBER}"));
}

#[tokio::test]
async fn a_search_finds_sites_by_their_customer() {
    let world = World::new().await;
    let tobias = world.office().await;
    places::customer(&tobias, FARRANT, "Odile Farrant").await;
    places::customer(&tobias, IDS[2], "Bram Odell").await;
    places::site(&tobias, FARRANT, TAMBER, "14 Tamber Lane").await;
    places::site(&tobias, IDS[2], IDS[3], "9 Mill Row").await;
    for (q, farrant, odell) in [
        ("farrant", true, false),
        ("farrant+tamber", true, false),
        ("farrant+mill", false, false),
        ("od", true, true),
        ("mill", false, true),
        ("example.test", false, false),
    ] {
        let page = tobias.get(&format!("/sites?q={q}")).await;
        let found = (page.page().contains(TAMBER), page.body.contains(IDS[3]));
        assert_eq!(found, (farrant, odell), "{q}");
    }
}
