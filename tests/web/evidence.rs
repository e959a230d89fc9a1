//! Heads of the chains, comparing with them, and a record's proof checked with nothing but SHA-256.
use crate::{
    reports::ground::Ground,
    support::{Visitor, World},
};
use axum::http::StatusCode;
use plantward::{db, domain::user::Role};
use sha2::{Digest, Sha256};

pub async fn start(records: usize) -> (World, Visitor, Ground, Vec<uuid::Uuid>) {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    let mut ids = vec![];
    for n in 0..records {
        let record = ground.record("2026-10-05", vec![ground.item(1, n % 3, "24.5", "mL")]);
        ids.push(crate::reports::ground::write(&world, &record).await);
    }
    (world, office, ground, ids)
}

/// Takes a head on the page; its file's text.
pub async fn take(office: &Visitor) -> String {
    let answer = office.post("/evidence/heads", &[]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.body);
    let at = answer.location().to_owned();
    let page = office.get(&at).await;
    let file = office.get(&format!("{at}.txt")).await;
    assert_eq!(file.headers["content-type"], "text/plain; charset=utf-8");
    let root = value(file.page(), "records-root");
    assert!(page.page().contains(&root), "the paper says what the file says");
    file.body
}

pub fn value(text: &str, name: &str) -> String {
    let line = text.lines().find_map(|line| line.strip_prefix(&format!("{name}: ")));
    line.unwrap_or_else(|| panic!("no {name} in\n{text}")).to_owned()
}

pub async fn compare(office: &Visitor, head: &str) -> String {
    office.post("/evidence/checks", &[("head", head)]).await.page().to_owned()
}

/// Whoever owns the database can do anything to it.
pub async fn tamper(world: &World, statement: &str) {
    let mut tx = world.pool.begin().await.unwrap();
    sqlx::raw_sql("set local session_replication_role = replica").execute(&mut *tx).await.unwrap();
    let done = sqlx::raw_sql(sqlx::AssertSqlSafe(statement.to_owned())).execute(&mut *tx).await.unwrap();
    assert!(done.rows_affected() > 0, "{statement}");
    tx.commit().await.unwrap();
}

/// The newest version of each record; then none of them is there any more.
pub async fn taken_out(world: &World, ids: &[uuid::Uuid]) -> Vec<db::record::Version> {
    let mut records = vec![];
    let mut conn = world.pool.acquire().await.unwrap();
    for id in ids {
        records.push(db::record::newest(&mut conn, *id).await.unwrap().unwrap());
    }
    drop(conn);
    tamper(world, "delete from application_item; delete from application_record").await;
    records
}

#[tokio::test]
async fn a_head_stays_true_while_the_lists_grow() {
    let (world, office, ground, _) = start(3).await;
    let first = take(&office).await;
    assert_eq!(
        (value(&first, "company"), value(&first, "records")),
        ("Bellwether Plant Care".into(), "3".into())
    );
    assert_eq!(value(&first, "taken"), "2026-11-25T18:00:00Z");
    crate::reports::ground::write(&world, &ground.record("2026-10-06", vec![ground.item(1, 0, "1", "mL")]))
        .await;
    let second = take(&office).await;
    assert_eq!(value(&second, "records"), "4");
    assert_ne!(value(&first, "records-root"), value(&second, "records-root"));
    for head in [&first, &second] {
        let page = compare(&office, head).await;
        assert!(page.contains("Nothing was changed."), "{page}");
    }
    assert!(office.get("/evidence").await.page().contains(&value(&second, "records-root")[..16]));
}

#[tokio::test]
async fn a_chain_that_was_written_anew_from_the_start_is_found_and_the_row_named() {
    let (world, office, _, ids) = start(5).await;
    let head = take(&office).await;
    assert!(compare(&office, &head).await.contains("Nothing was changed."));
    // The third record gets another amount, and every link after it is made anew as the program would.
    let mut records = taken_out(&world, &ids).await;
    records[2].items[0].amount = "99".parse().unwrap();
    for record in &records {
        crate::reports::ground::write(&world, record).await;
    }
    assert!(
        db::chain::verify(&world.pool, None).await.unwrap().faults.is_empty(),
        "from inside nothing is wrong"
    );
    let page = compare(&office, &head).await;
    assert!(
        page.contains("Records: place 3 is not what it was when the head was taken; all before it is."),
        "{page}"
    );
    assert!(!page.contains("Nothing was changed."));
}

#[tokio::test]
async fn a_cut_off_end_is_found() {
    let (world, office, _, ids) = start(4).await;
    let head = take(&office).await;
    tamper(&world, &format!("delete from application_item where record_id = '{0}'; delete from application_record where id = '{0}'", ids[3])).await;
    assert!(db::chain::verify(&world.pool, None).await.unwrap().faults.is_empty());
    let page = compare(&office, &head).await;
    assert!(page.contains("Records: places 4 to 4 are gone: the head was taken over 4 entries."), "{page}");
}

#[tokio::test]
async fn the_audit_is_under_the_head_too() {
    let (world, office, _, ids) = start(1).await;
    office.get(&format!("/records/{}", ids[0])).await.page();
    let head = take(&office).await;
    let rows: u64 = value(&head, "audit").parse().unwrap();
    assert!(rows >= 2, "people were invited and a record was seen: {rows}");
    let target: (i64, i64) = sqlx::query_as(
        "select l.seq, a.id from audit a join audit_link l on l.audit_id = a.id where a.deed = 'seen'",
    )
    .fetch_one(&world.pool)
    .await
    .unwrap();
    tamper(&world, &format!("update audit set person_id = null where id = {}", target.1)).await;
    let said = format!("Audit: place {}, audit row {}: it is not as it was written.", target.0, target.1);
    let page = compare(&office, &head).await;
    assert!(page.contains(&said), "{said}\n{page}");
    // Its link made anew, the row is sound from inside, and still not what the head says.
    tamper(&world, &format!("delete from audit_link where seq >= {0}; insert into audit_unlinked select id from audit where id not in (select audit_id from audit_link) on conflict do nothing", target.0)).await;
    plantward::actions::evidence::link_audit(&world.doer()).await.unwrap();
    assert!(db::audit::verify(&world.pool, None).await.unwrap().faults.is_empty());
    let page = compare(&office, &head).await;
    assert!(page.contains(&format!("Audit: place {} is not what it was", target.0)), "{page}");
    // A row that never gets a link.
    tamper(&world, "insert into audit (at, deed, noun) values (now(), 'put in', 'by hand')").await;
    let wrong = db::audit::verify(&world.pool, None).await.unwrap().faults;
    assert!(wrong[0].contains("no link covers it"), "{wrong:?}");
}

#[tokio::test]
async fn what_is_no_head_is_refused_at_its_field_as_typed() {
    let (_, office, _, _) = start(1).await;
    for (text, said) in [
        ("", "This is no head"),
        ("plantward-head-1\nrecords: many", "Line 2 of the head cannot be read."),
        ("plantward-head-1\ncompany: x", "The head has no line taken."),
    ] {
        let answer = office.post("/evidence/checks", &[("head", text)]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.body.contains(said) && answer.body.contains(text), "{said}\n{}", answer.body);
    }
}

pub fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
}

/// Checks a proof as its own text says, with nothing of the program's: section 2.1.3.2 of RFC 9162 for the way.
pub fn is_proved(proof: &str) -> bool {
    let field = |part: &str, name: &str| -> String {
        part.lines().find_map(|l| l.strip_prefix(&format!("{name} "))).unwrap().to_owned()
    };
    let (size, root) = (field(proof, "size").parse::<u64>().unwrap(), bytes(&field(proof, "root")));
    let versions: Vec<&str> = proof.split("\nversion ").skip(1).collect();
    !versions.is_empty()
        && versions.into_iter().all(|part| {
            let place: u64 = field(part, "place").parse().unwrap();
            let text = field(part, "text");
            let line = format!("plantward-chain-1\n{}\n{place}\n{text}", field(part, "before"));
            let hash = Sha256::digest(line.as_bytes()).to_vec();
            let mut up = Sha256::digest([&[0][..], &hash].concat()).to_vec();
            let (mut at, mut last) = (place - 1, size - 1);
            for way in part.lines().filter_map(|l| l.strip_prefix("way ")) {
                let way = bytes(way);
                if at % 2 == 1 || at == last {
                    up = Sha256::digest([&[1][..], &way, &up].concat()).to_vec();
                    while at % 2 == 0 && at != 0 {
                        (at, last) = (at / 2, last / 2);
                    }
                } else {
                    up = Sha256::digest([&[1][..], &up, &way].concat()).to_vec();
                }
                (at, last) = (at / 2, last / 2);
            }
            hash == bytes(&field(part, "hash")) && last == 0 && up == root
        })
}

#[tokio::test]
async fn a_records_proof_can_be_checked_by_anybody() {
    let (world, office, _, ids) = start(6).await;
    let mut conn = world.pool.acquire().await.unwrap();
    let mut amended = db::record::newest(&mut conn, ids[1]).await.unwrap().unwrap();
    drop(conn);
    amended.head.version = 2;
    amended.head.amend_reason = "The wind was left out.".into();
    amended.head.wind_mph = Some("3".parse().unwrap());
    crate::reports::ground::write(&world, &amended).await;
    for id in &ids {
        let file = office.get(&format!("/records/{id}/proof")).await;
        let proof = file.page();
        assert!(is_proved(proof), "{proof}");
        assert_eq!(proof.matches("\nversion ").count(), if *id == ids[1] { 2 } else { 1 });
        assert!(!is_proved(&proof.replace("24.5", "24.6")), "another amount is not proved");
        let place: u64 = proof.lines().find_map(|l| l.strip_prefix("place ")).unwrap().parse().unwrap();
        let moved = proof.replace(&format!("\nplace {place}\n"), &format!("\nplace {}\n", place % 6 + 1));
        assert!(!is_proved(&moved), "another place is not proved");
    }
    let technician = world.sign_in("Dario Lenz", Role::Technician).await;
    let answer = technician.get(&format!("/records/{}/proof", ids[0])).await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND, "whose record it is not does not learn of it");
}
