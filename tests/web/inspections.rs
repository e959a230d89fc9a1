//! An inspector's link: what lies within its scope can be read, nothing else is there, and all of it is written down.
use crate::{
    reports::ground::{Ground, write},
    support::{Answer, Visitor, World},
};
use axum::http::StatusCode;
use plantward::{db, domain::user::Role};
use uuid::Uuid;

struct Case {
    world: World,
    owner: Visitor,
    /// Records by what they are.
    within: Uuid,
    elsewhere: Uuid,
    before: Uuid,
}

async fn case() -> Case {
    let world = World::new().await;
    let owner = world.owner().await;
    let ground = Ground::lay(&world, owner.id).await;
    let record = async |day: &str, county: &str, name: &str| {
        let mut record = ground.record(day, vec![ground.item(1, 0, "24.5", "mL")]);
        record.head.site_county = county.into();
        record.head.customer_name = name.into();
        write(&world, &record).await
    };
    let within = record("2026-10-05", "San Luis Obispo", "Odile Farrant").await;
    let elsewhere = record("2026-10-05", "Kern", "Kern Orchard Club").await;
    let before = record("2025-10-05", "San Luis Obispo", "Long Ago").await;
    Case { world, owner, within, elsewhere, before }
}

fn form<'a>(id: &'a str, last_day: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("id", id),
        ("reader", "County office, yearly inspection"),
        ("state", "ca"),
        ("county", "san luis obispo"),
        ("from_day", "2026-01-01"),
        ("until_day", "2026-11-25"),
        ("last_day", last_day),
    ]
}

/// Makes a link; its path.
async fn link(owner: &Visitor, last_day: &str) -> String {
    let answer = owner.post("/inspections", &form(&Uuid::now_v7().to_string(), last_day)).await;
    let page = answer.page();
    let address = page.split("/inspection/").nth(1).unwrap_or_else(|| panic!("{page}"));
    format!("/inspection/{}", address.split('<').next().unwrap())
}

async fn opened(world: &World) -> Vec<String> {
    let what =
        "select detail ->> 'what' from audit where noun = 'inspection link' and deed = 'opened' order by id";
    sqlx::query_scalar(what).fetch_all(&world.pool).await.unwrap()
}

fn is_gone(answer: &Answer) -> bool {
    answer.status == StatusCode::NOT_FOUND && !answer.body.contains("Farrant")
}

#[tokio::test]
async fn the_inspector_reads_what_lies_within_the_scope_and_nothing_else() {
    let case = case().await;
    let at = link(&case.owner, "2026-12-09").await;
    let inspector = case.world.stranger();
    let list = inspector.get(&at).await;
    assert!(
        list.page().contains("Odile Farrant")
            && list.body.contains("CA, san luis obispo County, Jan 1, 2026")
    );
    for hidden in ["Kern Orchard Club", "Long Ago", "/customers", "Sign out", "<nav aria-label=\"Main"] {
        assert!(!list.body.contains(hidden), "{hidden}");
    }
    assert!(
        list.headers["cache-control"].to_str().unwrap().contains("no-store") && list.body.contains("noindex")
    );
    let record = inspector.get(&format!("{at}/records/{}", case.within)).await;
    for told in ["24.5 mL", "Labels in force", "99999-1", "Place 1 in the chain", "Keep out of", "Version 1"]
    {
        assert!(record.page().contains(told) || told == "Keep out of", "{told}\n{}", record.body);
    }
    for hidden in [case.elsewhere, case.before, Uuid::now_v7()] {
        assert!(is_gone(&inspector.get(&format!("{at}/records/{hidden}")).await));
        assert!(is_gone(&inspector.get(&format!("{at}/records/{hidden}/proof")).await));
    }
    let proof = inspector.get(&format!("{at}/records/{}/proof", case.within)).await;
    assert!(crate::evidence::is_proved(proof.page()), "{}", proof.body);
    let file = inspector.get(&format!("{at}/files/log.csv")).await;
    assert!(
        file.page().contains("Farrant") && !file.body.contains("Kern") && !file.body.contains("Long Ago")
    );
    for format in ["xlsx", "pdf"] {
        assert_eq!(inspector.get(&format!("{at}/files/log.{format}")).await.status, StatusCode::OK);
    }
    let head = inspector.get(&format!("{at}/files/head.txt")).await;
    assert!(head.page().starts_with("plantward-head-1\ncompany: Bellwether Plant Care\n"));
    for none in ["files/log.doc", "files/customers.csv", "files/audit.csv", "records", "../customers"] {
        assert!(is_gone(&inspector.get(&format!("{at}/{none}")).await), "{none}");
    }
    let post = inspector.post_bare(&at, &[]).await;
    assert_eq!(post.status, StatusCode::METHOD_NOT_ALLOWED, "there is nothing to write");

    let told = opened(&case.world).await;
    assert_eq!(told.len(), 13, "{told:?}");
    assert_eq!((told[0].as_str(), told[1].clone()), ("list of records", format!("record {}", case.within)));
    assert!(
        told.contains(&format!("record {}", case.elsewhere)),
        "a try at something else is written down too"
    );
    let links = case.owner.get("/inspections").await;
    assert!(links.page().contains("13 times, last on Nov 25, 2026"), "{}", links.body);
}

#[tokio::test]
async fn amended_out_of_the_scope_or_withdrawn_it_is_still_shown() {
    let case = case().await;
    let at = link(&case.owner, "2026-12-09").await;
    let mut conn = case.world.pool.acquire().await.unwrap();
    let mut moved = db::record::newest(&mut conn, case.within).await.unwrap().unwrap();
    drop(conn);
    moved.head.version = 2;
    moved.head.withdrawn = true;
    moved.head.site_county = "Kern".into();
    moved.head.amend_reason = "The site lies in Kern County.".into();
    write(&case.world, &moved).await;
    let inspector = case.world.stranger();
    let list = inspector.get(&at).await;
    assert!(
        list.page().contains(&case.within.to_string()) && list.body.contains("Withdrawn"),
        "{}",
        list.body
    );
    let record = inspector.get(&format!("{at}/records/{}", case.within)).await;
    for told in ["The site lies in Kern County.", "San Luis Obispo, CA", "Kern, CA", "Version 2", "Version 1"]
    {
        assert!(record.page().contains(told), "{told}\n{}", record.body);
    }
}

#[tokio::test]
async fn a_link_ends_with_its_last_day_at_once_when_revoked_and_never_opens_by_guess() {
    let case = case().await;
    let (short, revoked) = (link(&case.owner, "2026-11-25").await, link(&case.owner, "2027-11-25").await);
    let inspector = case.world.stranger();
    inspector.get(&short).await.page();
    // Half past eleven at night on the 25th in California, then half past midnight.
    case.world.clock.set("2026-11-26T07:30:00Z".parse().unwrap());
    inspector.get(&short).await.page();
    case.world.clock.set("2026-11-26T08:30:00Z".parse().unwrap());
    for path in [short.clone(), format!("{short}/files/log.csv"), format!("{short}/records/{}", case.within)]
    {
        assert!(is_gone(&inspector.get(&path).await), "{path}");
    }
    inspector.get(&revoked).await.page();
    let owner = case.world.sign_in("Petra Lund", Role::Owner).await;
    let page = owner.get("/inspections").await;
    assert!(page.page().contains("Over") && page.body.contains("Opens"));
    let id = page.body.split("/inspections/").nth(1).unwrap().split('/').next().unwrap().to_owned();
    owner.post(&format!("/inspections/{id}/revocations"), &[]).await.went_to("/inspections");
    for path in [
        revoked.clone(),
        format!("{revoked}/files/head.txt"),
        format!("{revoked}/records/{}/proof", case.within),
    ] {
        assert!(is_gone(&inspector.get(&path).await), "{path}");
    }
    let before = opened(&case.world).await.len();
    for guess in ["", "a", "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA", "%00", "..%2F"] {
        assert!(is_gone(&inspector.get(&format!("/inspection/{guess}")).await), "{guess}");
    }
    assert_eq!(opened(&case.world).await.len(), before, "a guess opens nothing");
    let kept: i64 = sqlx::query_scalar(
        "select count(*) from inspection_link where position($1::bytea in secret_hash) > 0",
    )
    .bind(revoked.trim_start_matches("/inspection/").as_bytes())
    .fetch_one(&case.world.pool)
    .await
    .unwrap();
    assert_eq!(kept, 0, "the secret itself is nowhere");
}

#[tokio::test]
async fn only_the_owner_makes_links_and_a_bad_form_comes_back_as_typed() {
    let case = case().await;
    let office = case.world.sign_in("Tobias Fenn", Role::Office).await;
    let id = Uuid::now_v7().to_string();
    assert_eq!(office.get("/inspections").await.status, StatusCode::NOT_FOUND);
    assert_eq!(office.post("/inspections", &form(&id, "2026-12-09")).await.status, StatusCode::NOT_FOUND);
    for (field, value, said) in [
        ("reader", "", "Please fill this in."),
        ("state", "ZZ", "two letters"),
        ("until_day", "2025-12-31", "The last day comes before the first."),
        ("last_day", "2026-11-24", "This day is over"),
        ("from_day", "soon", ""),
    ] {
        let mut fields = form(&id, "2026-12-09");
        fields.iter_mut().find(|(name, _)| *name == field).unwrap().1 = value;
        let answer = case.owner.post("/inspections", &fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}");
        assert!(
            answer.body.contains(said) && answer.body.contains("san luis obispo"),
            "{field}\n{}",
            answer.body
        );
        assert!(!answer.body.contains("/inspection/"), "no link was made");
    }
    let first = case.owner.post("/inspections", &form(&id, "2026-12-09")).await;
    assert_eq!(first.page().matches("/inspection/").count(), 1);
    let again = case.owner.post("/inspections", &form(&id, "2026-12-09")).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY, "sent twice it makes one");
    assert!(again.body.contains("was sent before"), "{}", again.body);
}
