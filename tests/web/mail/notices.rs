//! Notices by law: asked for by state and county, holding the visit where the rule was read at its source, and
//! written to whoever wants no offers too.
use super::yard::Mailed;
use crate::yard::{book, certify_in};
use uuid::Uuid;

/// A booked visit in Colorado, where listed people hear of it and signs are posted.
async fn in_colorado() -> (Mailed, String) {
    let m = Mailed::new().await;
    let plant = m.yard.hedge(&m.world, "front", 2).await;
    let ines = m.world.technician().await;
    certify_in(&m.world, ines.id, "CO").await;
    certify_in(&m.world, m.owner.id, "CO").await;
    m.yard.moved_to(&m.world, "CO").await;
    let (path, answer) = book(&m.office, &m.yard, (ines.id, None), "2026-12-01", plant).await;
    answer.went_to(&path);
    (m, path)
}

#[tokio::test]
async fn a_notice_holds_the_visit_until_it_is_done() {
    let (m, path) = in_colorado().await;
    let page = m.office.get(&path).await;
    for said in [
        "Do not begin before this is done",
        "date and time are given to listed residents",
        "Holds the visit",
        "Colorado CRS 35-10-112, checked",
        "The live rule decides",
    ] {
        assert!(page.page().contains(said), "{said}: {}", page.body);
    }
    let technician: Uuid =
        sqlx::query_scalar("select technician_id from visit").fetch_one(&m.world.pool).await.unwrap();
    let sheet = format!("/route-sheets/{technician}/2026-12-01");
    assert!(m.office.get(&sheet).await.page().contains("OPEN: do not begin before it is done"));
    let none = m.office.post(&format!("{path}/duties/co-registry"), &[]).await;
    assert_eq!(none.status.as_u16(), 422, "it says how it was done");
    m.office.post(&format!("{path}/duties/co-registry"), &[("how", "letters by hand")]).await.went_to(&path);
    m.office.post(&format!("{path}/duties/co-sign"), &[("how", "two at the drive")]).await.went_to(&path);
    let page = m.office.get(&path).await;
    assert!(
        !page.page().contains("Do not begin") && page.body.contains("Tobias Fenn: letters by hand"),
        "{}",
        page.body
    );
    assert!(m.office.get(&sheet).await.page().contains("Colorado CRS 35-10-112): done"));
    let other = m.office.post(&format!("{path}/duties/me-sign"), &[("how", "x")]).await;
    assert_eq!(other.status.as_u16(), 404, "no duty of this visit");
}

/// Colorado CRS 35-10-112: WARNING in 60 point, PESTICIDES APPLIED in 24 point, the applicator's name in 18 point.
#[tokio::test]
async fn the_sign_sheet_has_the_words_of_the_rule_in_their_size() {
    let (m, path) = in_colorado().await;
    assert!(m.office.get(&path).await.page().contains(&format!("href=\"{path}/signs\"")));
    let sheet = m.office.get(&format!("{path}/signs")).await;
    for part in [
        "<p class=\"sign-60\">WARNING</p>",
        "<p class=\"sign-24\">PESTICIDES APPLIED</p>",
        "<p class=\"sign-18\">Ines Okoro</p>",
        "Dec 1, 2026, time:",
        "EPA Reg. No. 99999-12",
        "Keep people and pets out until dry",
        "Colorado CRS 35-10-112, checked",
    ] {
        assert!(sheet.page().contains(part), "{part}: {}", sheet.body);
    }
    let sizes =
        plantward::domain::notice::RULES.iter().filter_map(|rule| rule.sign).flat_map(|sign| sign.lines);
    let css = include_str!("../../../static/app.css");
    for (words, points) in sizes {
        assert!(css.contains(&format!(".sign-{points} {{ font-size: {points}pt;")), "{words}");
    }
    m.yard.moved_to(&m.world, "WI").await;
    assert_eq!(m.office.get(&format!("{path}/signs")).await.status.as_u16(), 404, "no sign is asked for");
}

#[tokio::test]
async fn ending_offers_ends_no_notice() {
    let (m, path) = in_colorado().await;
    let wishes = format!("/customers/{}/wishes", m.customer);
    m.office.post(&wishes, &[("language", "en"), ("paused", "yes")]).await;
    let nobody = m.office.post(&format!("{path}/duties/co-registry/notices"), &[]).await;
    assert!(nobody.body.contains("No neighbour is on the site"), "{}", nobody.body);
    for (name, email) in [("Ida Marrow", "ida@marrow.test"), ("Per Lund", "")] {
        sqlx::query(
            "insert into site_neighbour (id, site_id, name, address, phone, email, note, entered_at)
             values (gen_random_uuid(), $1, $2, '16 Tamber Lane', '', $3, '', now())",
        )
        .bind(m.yard.site)
        .bind(name)
        .bind(email)
        .execute(&m.world.pool)
        .await
        .unwrap();
    }
    for _ in 0..2 {
        m.office.post(&format!("{path}/duties/co-registry/notices"), &[]).await.went_to(&path);
    }
    let written: Vec<(String, String, String)> = sqlx::query_as(
        "select status, unsubscribe, body_text from message where kind = 'notice' order by status",
    )
    .fetch_all(&m.world.pool)
    .await
    .unwrap();
    assert_eq!(written.len(), 2, "each neighbour once");
    assert_eq!((written[0].0.as_str(), written[1].0.as_str()), ("letter", "waiting"));
    for (_, unsubscribe, text) in &written {
        assert!(unsubscribe.is_empty(), "it is no offer");
        assert!(
            text.contains("on Dec 1, 2026 we apply pesticides") && text.contains("El 1 dic 2026"),
            "{text}"
        );
        assert!(text.contains("99999-12"), "{text}");
    }
    m.office.post(&wishes, &[("language", "en")]).await;
    assert_eq!(m.count("select count(*) from message where status = 'withdrawn'").await, 0);
}

#[tokio::test]
async fn the_log_of_posting_and_notices_says_what_was_done_and_what_was_not() {
    let (m, path) = in_colorado().await;
    let visit = path.rsplit('/').next().unwrap().to_owned();
    m.office
        .post(&format!("{path}/duties/co-sign"), &[("how", "two at the drive; photo 17")])
        .await
        .went_to(&path);
    let page = m.office.get("/papers/notices?from=2026-11-01&until=2026-12-31").await;
    for said in [
        "Tobias Fenn: two at the drive; photo 17",
        "To be done before the work",
        "Colorado CRS 35-10-112",
        &visit,
    ] {
        assert!(page.page().contains(said), "{said}: {}", page.body);
    }
    assert!(m.office.get("/papers").await.page().contains("href=\"/papers/notices\""));
    // The day goes by, and nobody noted the other one.
    m.world.clock.advance(chrono::TimeDelta::days(8));
    let office = m.world.sign_in_as(m.office.id).await;
    let at = "/exports/notices.FMT?from=2026-11-01&until=2026-12-31";
    let rows = crate::reports::reading::named(office.get(&at.replace("FMT", "csv")).await.page());
    assert_eq!(rows.len(), 2, "{rows:?}");
    let of =
        |duty: &str| rows.iter().find(|row| row["What"].contains(duty)).unwrap_or_else(|| panic!("{rows:?}"));
    let (sign, registry) = (of("signs"), of("registry"));
    let cells = [
        "Day of the visit",
        "State",
        "Technician",
        "State of it",
        "Done on",
        "Done at",
        "Done by",
        "How, and proof",
    ];
    assert_eq!(
        cells.map(|c| sign[c].as_str()),
        [
            "2026-12-01",
            "CO",
            "Ines Okoro",
            "Done",
            "2026-11-25",
            "10:00",
            "Tobias Fenn",
            "two at the drive; photo 17"
        ]
    );
    assert_eq!(
        cells.map(|c| registry[c].as_str()),
        ["2026-12-01", "CO", "Ines Okoro", "Not noted", "", "", "", ""]
    );
    assert_eq!((registry["Mark"].as_str(), registry["Written notices"].as_str()), ("checked", ""));
    let book = crate::exports::bytes(&m.world, &office, &at.replace("FMT", "xlsx")).await.0;
    let sheet = crate::exports::bytes(&m.world, &office, &at.replace("FMT", "csv")).await.0;
    assert_eq!(crate::exports::book_cells(&book), crate::exports::csv_cells(&sheet));
    assert!(office.paper(&at.replace("FMT", "pdf")).await.contains("35-10-112"));
    let wrong = office.get("/papers/notices?from=2026-12-31&until=2026-11-01").await;
    assert_eq!(wrong.status.as_u16(), 422);
    let noted = m.count("select count(*) from audit where noun = 'posting and notices'").await;
    assert_eq!(
        noted, 5,
        "two looks (one of the office before) and three kinds of file, one of them twice, are written down"
    );
}
