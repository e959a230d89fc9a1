//! From an older head to a newer one: the proof that a list only grew, checked with nothing but SHA-256.
use crate::{
    evidence::{bytes, compare, start, take, taken_out, value},
    reports::ground,
};
use axum::http::StatusCode;
use sha2::{Digest, Sha256};

/// Section 2.1.4.2 of RFC 9162 step by step: both roots from the way, for each list of the text.
fn is_grown(proof: &str, older: &str, newer: &str) -> bool {
    let pair = |left: &[u8], right: &[u8]| Sha256::digest([&[1][..], left, right].concat()).to_vec();
    let lists: Vec<&str> = proof.split("\nlist ").skip(1).collect();
    assert_eq!(lists.len(), 2, "records and audit");
    lists.into_iter().all(|part| {
        let name = part.lines().next().unwrap();
        let field = |key: &str| part.lines().find_map(|l| l.strip_prefix(key)).unwrap().trim().to_owned();
        let (first, second): (u64, u64) =
            (field("older-size").parse().unwrap(), field("newer-size").parse().unwrap());
        let roots = (bytes(&field("older-root")), bytes(&field("newer-root")));
        let held = |head: &str| {
            (value(head, name).parse::<u64>().unwrap(), bytes(&value(head, &format!("{name}-root"))))
        };
        if held(older) != (first, roots.0.clone()) || held(newer) != (second, roots.1.clone()) {
            return false;
        }
        let mut way: Vec<Vec<u8>> = part.lines().filter_map(|l| l.strip_prefix("way ")).map(bytes).collect();
        if first == 0 || first == second {
            return way.is_empty() && (first == 0 || roots.0 == roots.1);
        }
        if first.is_power_of_two() {
            way.insert(0, roots.0.clone());
        }
        let (mut fn_, mut sn) = (first - 1, second - 1);
        while fn_ % 2 == 1 {
            (fn_, sn) = (fn_ / 2, sn / 2);
        }
        let (mut fr, mut sr) = (way[0].clone(), way[0].clone());
        for c in &way[1..] {
            if sn == 0 {
                return false;
            }
            if fn_ % 2 == 1 || fn_ == sn {
                (fr, sr) = (pair(c, &fr), pair(c, &sr));
                while fn_ % 2 == 0 && fn_ != 0 {
                    (fn_, sn) = (fn_ / 2, sn / 2);
                }
            } else {
                sr = pair(&sr, c);
            }
            (fn_, sn) = (fn_ / 2, sn / 2);
        }
        sn == 0 && fr == roots.0 && sr == roots.1
    })
}

/// The address of the newest head's proof, as the list of heads names it.
async fn newest(office: &crate::support::Visitor) -> String {
    let list = office.get("/evidence").await;
    let rest = list.page().split("/growth/").next().unwrap();
    let id = rest.rsplit("/evidence/heads/").next().unwrap().to_owned();
    let older = list.body.split("/growth/").nth(1).unwrap().split('"').next().unwrap().to_owned();
    format!("/evidence/heads/{id}/growth/{older}")
}

#[tokio::test]
async fn the_way_from_head_to_head_is_checked_by_anybody() {
    let (world, office, ground, _) = start(1).await;
    let mut heads = vec![take(&office).await];
    for n in [1, 2, 0, 4, 3, 11] {
        for _ in 0..n {
            ground::write(&world, &ground.record("2026-10-06", vec![ground.item(1, 0, "1", "mL")])).await;
        }
        heads.push(take(&office).await);
        let at = newest(&office).await;
        let file = office.get(&format!("{at}.txt")).await;
        let (older, newer) = (&heads[heads.len() - 2], &heads[heads.len() - 1]);
        assert!(is_grown(file.page(), older, newer), "{}", file.body);
        let page = office.get(&at).await;
        assert_eq!(page.page().matches("Only grew").count(), 2, "{}", page.body);
        for way in file.body.lines().filter_map(|l| l.strip_prefix("way ")) {
            assert!(page.body.contains(way), "the page shows {way}");
            let other = format!("{}{}", &way[1..], &way[..1]);
            let bent = file.body.replacen(way, &other, 1);
            assert!(other == way || !is_grown(&bent, older, newer), "another way proves nothing");
        }
        assert!(heads.len() < 3 || !is_grown(&file.body, &heads[0], newer), "nor for another head");
    }
    let answer = office.get("/evidence/heads/01890a5d-ac96-774b-bcce-b302099a8057/growth/x").await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn two_heads_that_were_kept_outside_are_put_beside_each_other() {
    let (world, office, ground, ids) = start(3).await;
    let first = take(&office).await;
    ground::write(&world, &ground.record("2026-10-06", vec![ground.item(1, 0, "1", "mL")])).await;
    let second = take(&office).await;
    for (one, other) in [(&first, &second), (&second, &first)] {
        let page = office.post("/evidence/checks", &[("head", one), ("other", other)]).await;
        assert!(page.page().contains("Nothing was changed."), "{}", page.body);
        assert_eq!(page.body.matches("Only grew").count(), 2);
        let proof = page.body.split("plantward-growth-1").nth(1).unwrap().split("</pre>").next().unwrap();
        assert!(is_grown(proof, &first, &second), "{proof}");
    }
    assert!(!compare(&office, &first).await.contains("Only grew"), "one head alone leads nowhere");
    // Between the two heads the chain was written anew: each list is sound in itself, and the second head was taken
    // over it, so that only the first one and the way between find it.
    let mut records = taken_out(&world, &ids).await;
    records[1].items[0].amount = "99".parse().unwrap();
    for record in &records {
        ground::write(&world, record).await;
    }
    ground::write(&world, &ground.record("2026-10-06", vec![ground.item(1, 0, "1", "mL")])).await;
    let third = take(&office).await;
    assert!(compare(&office, &third).await.contains("Nothing was changed."));
    let page = office.post("/evidence/checks", &[("head", &first), ("other", &third)]).await;
    assert!(page.page().contains("Records: place 2 is not what it was"), "{}", page.body);
    assert_eq!((page.body.matches("Not proved").count(), page.body.matches("Only grew").count()), (1, 1));
}

#[tokio::test]
async fn a_second_text_that_is_no_head_is_said_at_its_field() {
    let (_, office, _, _) = start(1).await;
    let head = take(&office).await;
    let answer = office.post("/evidence/checks", &[("head", &head), ("other", "hello")]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.body.contains("id=\"f-other-wrong\"") && answer.body.contains("This is no head"));
    assert!(
        answer.body.contains("hello") && answer.body.contains(&value(&head, "records-root")),
        "nothing is lost"
    );
}
