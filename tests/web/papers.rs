//! The company's papers and incidents: entering, striking out, what is warned about, and lapsed certifications.
use crate::{
    places,
    support::{Answer, Visitor, World},
    yard::{Yard, book, certify, refused},
};
use axum::http::StatusCode;
use chrono::Duration;
use plantward::domain::user::Role;
use uuid::Uuid;

const MISSING: &str = "01890a5d-ac96-774b-bcce-b302099a8057";

async fn enter(who: &Visitor, id: Uuid, kind: &str, fields: &[(&str, &str)]) -> Answer {
    let id = id.to_string();
    let mut all = vec![("id", id.as_str()), ("kind", kind)];
    all.extend(fields);
    who.post("/papers", &all).await
}

const POLICY: [(&str, &str); 6] = [
    ("title", "Harbor Lantern Mutual"),
    ("number", "L-990-17"),
    ("amount", "1000000"),
    ("on_day", "2026-01-01"),
    ("last_day", "2026-12-31"),
    ("words", "Liability"),
];

#[tokio::test]
async fn insurance_is_warned_about_so_many_days_before_its_last_one() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    assert!(maren.get("/papers").await.page().contains("Nothing lapses in the next 60 days."));
    let id = Uuid::now_v7();
    for _ in 0..2 {
        enter(&tobias, id, "insurance", &POLICY).await.went_to("/papers");
    }
    let page = maren.get("/papers").await;
    for said in
        ["$1,000,000, policy L-990-17", "36 days left", "Insurance: Harbor Lantern Mutual L-990-17, last day"]
    {
        let said = said.trim_start_matches('$');
        assert!(page.page().contains(said), "{said}\n{}", page.body);
    }
    let first = maren.get("/due").await;
    assert!(first.page().contains("Harbor Lantern Mutual"), "on the owner's first page as well");
    assert!(!tobias.get("/due").await.page().contains("Harbor Lantern Mutual"));
    assert_eq!(tobias.post("/papers/warnings", &[("days", "30")]).await.status, StatusCode::NOT_FOUND);
    maren.post("/papers/warnings", &[("days", "30")]).await.went_to("/papers");
    assert!(!maren.get("/due").await.page().contains("Harbor Lantern Mutual"), "36 days are far off now");
    assert!(maren.post("/papers/warnings", &[("days", "0")]).await.body.contains("from 1 to 730"));
    world.clock.advance(Duration::days(37));
    // So long a time ends every session.
    let (maren, tobias) =
        (world.sign_in("Maren Weir", Role::Owner).await, world.sign_in("Tobias Weir", Role::Office).await);
    assert!(maren.get("/papers").await.page().contains("Lapsed since Dec 31, 2026"));
    // A newer policy takes the warning away.
    let mut next = POLICY;
    (next[3], next[4]) = (("on_day", "2027-01-01"), ("last_day", "2027-12-31"));
    enter(&tobias, Uuid::now_v7(), "insurance", &next).await.went_to("/papers");
    assert!(!maren.get("/due").await.page().contains("Harbor Lantern Mutual"));
}

#[tokio::test]
async fn a_wrong_paper_is_struck_out_and_stays_readable() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let id = Uuid::now_v7();
    enter(&tobias, id, "insurance", &POLICY).await.went_to("/papers");
    let strikes = format!("/papers/{id}/strikes");
    assert!(tobias.post(&strikes, &[]).await.body.contains("Say why the paper is struck out."));
    tobias.post(&strikes, &[("reason", "Another policy's number")]).await.went_to("/papers");
    let page = maren.get("/papers").await;
    for said in
        ["<s>Harbor Lantern Mutual</s>", "Another policy&#39;s number (Tobias Fenn)", "policy L-990-17"]
    {
        assert!(page.page().contains(said), "{said}\n{}", page.body);
    }
    assert!(!maren.get("/due").await.page().contains("Harbor"), "struck out, it warns of nothing");
    assert_eq!(tobias.post(&strikes, &[("reason", "again")]).await.status, StatusCode::NOT_FOUND);
    assert_eq!(places::deeds(&world, "paper", &id.to_string()).await, ["entered", "struck out"]);
    for change in ["update paper set amount = 2", "delete from paper", "update paper set struck_reason = 'x'"]
    {
        let refused = sqlx::query(change).execute(&world.pool).await.unwrap_err();
        assert_eq!(plantward::db::broken_constraint(&refused), Some("paper_stays"), "{change}");
    }
}

#[tokio::test]
async fn each_kind_asks_for_what_it_must_hold() {
    let world = World::new().await;
    let (maren, tobias, ines) = (world.owner().await, world.office().await, world.technician().await);
    let yard = Yard::new(&world, &maren).await;
    let certification = certify(&world, ines.id).await;
    let (product, certification) = (yard.product.to_string(), certification.to_string());
    let (trainer, trained) = (maren.id.to_string(), ines.id.to_string());
    for (kind, fields, told) in [
        ("insurance", &[("amount", "0")][..], "This must be more than zero."),
        ("insurance", &[("on_day", "2027-01-01")], "The last day comes before the first."),
        ("restricted-purchase", &[("product", "")], "Please choose one of these."),
        ("restricted-purchase", &[("unit", "hogshead")], "Please choose one of these."),
        ("restricted-purchase", &[("on_day", "2026-11-26")], "This day is still to come."),
        ("training-units", &[("certification", "")], "Please choose one of these."),
        ("training-units", &[("number", "")], "Please fill this in."),
        ("label-review", &[("people", "")], "Choose at least one person who took part."),
        ("handler-training", &[("trainer", "")], "Please choose one of these."),
    ] {
        let mut all = POLICY.to_vec();
        all.extend([("product", product.as_str()), ("unit", "gal"), ("certification", &certification)]);
        all.extend([("trainer", trainer.as_str()), ("people", &trained)]);
        all.retain(|(name, _)| fields.iter().all(|(own, _)| own != name));
        all.extend(fields);
        let answer = enter(&tobias, Uuid::now_v7(), kind, &all).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{kind} {fields:?}");
        assert!(answer.body.contains(told), "{kind} {fields:?}: {told}\n{}", answer.body);
        all.retain(|(name, _)| fields.iter().all(|(own, _)| own != name));
        let mend = fields.iter().map(|(name, _)| match *name {
            "amount" => ("amount", "4"),
            "product" => ("product", product.as_str()),
            "unit" => ("unit", "qt"),
            "certification" => ("certification", certification.as_str()),
            "number" => ("number", "2026-114"),
            "people" => ("people", trained.as_str()),
            "trainer" => ("trainer", trainer.as_str()),
            _ => ("on_day", "2026-11-25"),
        });
        all.extend(mend.collect::<Vec<_>>());
        enter(&tobias, Uuid::now_v7(), kind, &all).await.went_to("/papers");
    }
    assert_eq!(enter(&tobias, Uuid::now_v7(), "diploma", &POLICY).await.status, StatusCode::NOT_FOUND);
    assert_eq!(tobias.get("/papers/new?kind=diploma").await.status, StatusCode::NOT_FOUND);
    for kind in ["insurance", "restricted-purchase", "training-units", "label-review", "handler-training"] {
        tobias.get(&format!("/papers/new?kind={kind}")).await.page();
        assert_eq!(ines.get(&format!("/papers/new?kind={kind}")).await.status, StatusCode::NOT_FOUND);
    }
    let page = tobias.get("/papers").await;
    for said in ["took part: Ines Okoro", "dealer&#39;s licence L-990-17", "held by Maren Quist"] {
        assert!(page.page().contains(said), "{said}\n{}", page.body);
    }
}

#[tokio::test]
async fn training_units_are_counted_towards_what_a_renewal_asks() {
    let world = World::new().await;
    let (maren, ines) = (world.owner().await, world.technician().await);
    let certification = certify(&world, ines.id).await;
    let units = format!("/certifications/{certification}/units");
    let field = format!("units-{certification}");
    maren.post(&units, &[(&field, "20")]).await.went_to("/papers");
    let wrong = maren.post(&units, &[(&field, "many")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.body.contains("many") || wrong.body.contains("This is not a number"));
    let fields = |amount: &'static str| {
        [("title", "Soil"), ("number", "P-1"), ("amount", amount), ("on_day", "2026-06-01")]
    };
    let chosen = certification.to_string();
    let (good, bad) = (Uuid::now_v7(), Uuid::now_v7());
    for (id, amount) in [(good, "12.5"), (bad, "7.5")] {
        let all = [fields(amount).as_slice(), &[("certification", chosen.as_str())]].concat();
        enter(&maren, id, "training-units", &all).await.went_to("/papers");
    }
    assert!(maren.get("/papers").await.page().contains("20 earned of 20"));
    maren.post(&format!("/papers/{bad}/strikes"), &[("reason", "no proof")]).await.went_to("/papers");
    assert!(maren.get("/papers").await.page().contains("12.5 earned of 20, 7.5 missing"));
    assert_eq!(
        maren.post(&format!("/certifications/{MISSING}/units"), &[]).await.status,
        StatusCode::NOT_FOUND
    );
}

/// Who is certified to the end of November is booked and moved up to that day and not beyond.
#[tokio::test]
async fn whose_certification_lapses_is_not_planned_after_its_last_day() {
    let world = World::new().await;
    let (maren, tobias, ines) = (world.owner().await, world.office().await, world.technician().await);
    let yard = Yard::new(&world, &maren).await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let certification = certify(&world, ines.id).await;
    sqlx::query("update certification set expires_on = '2026-11-30' where id = $1")
        .bind(certification)
        .execute(&world.pool)
        .await
        .unwrap();
    let (_, late) = book(&tobias, &yard, (ines.id, None), "2026-12-01", hedge).await;
    assert!(refused(&late).contains("FAC 12838(c)(2)"), "{}", late.body);
    let (visit, good) = book(&tobias, &yard, (ines.id, None), "2026-11-30", hedge).await;
    good.went_to(&visit);
    let technician = ines.id.to_string();
    let moved =
        tobias.post(&format!("{visit}/moves"), &[("on", "2026-12-01"), ("technician", &technician)]).await;
    assert!(refused(&moved).contains("FAC 12838(c)(2)"), "{}", moved.body);
    let page = maren.get("/due").await;
    assert!(page.page().contains("Ines Okoro: certification"), "the owner sees it on the first page");
}

#[tokio::test]
async fn container_labels_say_what_is_in_the_jug() {
    let world = World::new().await;
    let (maren, tobias, ines) = (world.owner().await, world.office().await, world.technician().await);
    let yard = Yard::new(&world, &maren).await;
    assert!(tobias.get("/papers/container-labels").await.page().contains("Rootward 2F"));
    let path = format!("/papers/container-labels/paper?product={}&copies=3", yard.product);
    let text = tobias.paper(&path).await;
    for said in
        ["EPA Reg. No. 99999-12", "CAUTION", "imidacloprid 2 lb/gal", "805-555-0199", "Wear: Long sleeves"]
    {
        assert_eq!(text.matches(said).count(), 4, "two rows of two: {said}\n{text}");
    }
    let nothing = tobias.paper(&format!("/papers/container-labels/paper?product={MISSING}")).await;
    assert!(!nothing.contains("Rootward"));
    assert_eq!(ines.get(&path).await.status, StatusCode::NOT_FOUND);
}

async fn spill(who: &Visitor, id: Uuid, fields: &[(&str, &str)]) -> Answer {
    let id = id.to_string();
    let mut all = vec![
        ("id", id.as_str()),
        ("kind", "spill"),
        ("on", "2026-11-24"),
        ("hour", "14:30"),
        ("place", "Loading bay"),
        ("state", "MA"),
        ("what", "A jug <tipped> over"),
    ];
    all.retain(|(name, _)| fields.iter().all(|(own, _)| own != name));
    all.extend(fields);
    who.post("/incidents", &all).await
}

#[tokio::test]
async fn an_incident_counts_its_hours_down_and_keeps_what_was_written() {
    let world = World::new().await;
    let (maren, ines) = (world.owner().await, world.technician().await);
    let id = Uuid::now_v7();
    let path = format!("/incidents/{id}");
    spill(&ines, id, &[]).await.went_to(&path);
    // Ten in the morning of the 25th is 19 h 30 min after half past two of the 24th; 48 hours less that.
    let page = maren.get(&path).await;
    for said in ["28 h 30 min left to report it", "333 CMR 10.14; checked", "A jug &#60;tipped&#62; over"] {
        assert!(page.page().contains(said), "{said}\n{}", page.body);
    }
    assert!(maren.get("/due").await.page().contains("nobody has reported it yet"));
    let (entry, entries) = (Uuid::now_v7().to_string(), format!("{path}/entries"));
    let report = [
        ("id", entry.as_str()),
        ("kind", "reported"),
        ("on", "2026-11-25"),
        ("hour", "09:00"),
        ("words", "They wrote it down"),
    ];
    assert!(maren.post(&entries, &report).await.body.contains("Say to whom it was reported"));
    let named = [report.as_slice(), &[("reported_to", "the state by telephone")]].concat();
    let early: Vec<_> =
        named.iter().map(|&(n, v)| if n == "on" { (n, "2026-11-23") } else { (n, v) }).collect();
    assert!(maren.post(&entries, &early).await.body.contains("This lies before the incident."));
    maren.post(&entries, &named).await.went_to(&path);
    let page = ines.get(&path).await;
    assert!(
        page.page().contains("Reported to the state by telephone") && !page.body.contains("left to report")
    );
    let other = Uuid::now_v7().to_string();
    let correction = [
        ("id", other.as_str()),
        ("kind", "correction"),
        ("on", "2026-11-25"),
        ("hour", "09:30"),
        ("words", "It was two jugs"),
    ];
    ines.post(&entries, &correction).await.went_to(&path);
    let page = ines.get(&path).await;
    assert!(page.page().contains("It was two jugs") && page.body.contains("A jug &#60;tipped&#62; over"));
    for change in ["update incident set what = 'x'", "delete from incident_entry"] {
        let refused = sqlx::query(change).execute(&world.pool).await.unwrap_err();
        assert_eq!(plantward::db::broken_constraint(&refused), Some("paper_stays"), "{change}");
    }
    let dario = world.sign_in("Dario Velm", Role::Technician).await;
    assert_eq!(dario.get(&path).await.status, StatusCode::NOT_FOUND, "another technician's incident");
    assert!(!dario.get("/incidents").await.page().contains("Loading bay"));
}

#[tokio::test]
async fn hours_of_an_incident_are_real_ones_and_past() {
    let world = World::new().await;
    let maren = world.owner().await;
    for (field, value, told) in [
        ("on", "2026-11-26", "This has not happened yet."),
        ("hour", "half past", "This is not a time"),
        ("hour", "", "Please fill this in."),
        ("state", "QQ", "two letters"),
        ("what", "", "Please fill this in."),
    ] {
        let answer = spill(&maren, Uuid::now_v7(), &[(field, value)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} {value}");
        assert!(answer.body.contains(told), "{field} {value}: {told}");
    }
    // On March 8, 2026 the clocks of California went from two to three.
    let gone = spill(&maren, Uuid::now_v7(), &[("on", "2026-03-08"), ("hour", "02:30")]).await;
    assert!(gone.body.contains("it did not exist that day"));
    let id = Uuid::now_v7();
    spill(&maren, id, &[("on", "2026-11-01"), ("hour", "01:30"), ("state", "CA")])
        .await
        .went_to(&format!("/incidents/{id}"));
    let at: String =
        sqlx::query_scalar("select happened_at::text from incident").fetch_one(&world.pool).await.unwrap();
    assert!(at.starts_with("2026-11-01 08:30:00"), "the first of two hours: {at}");
    assert!(maren.get(&format!("/incidents/{id}")).await.page().contains("was not read here"));
}
