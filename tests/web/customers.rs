//! Customers: entering, changing, finding, retiring.
use crate::places::{self, IDS, customer_fields, site_fields};
use crate::support::World;
use axum::http::StatusCode;

#[tokio::test]
async fn odile_becomes_a_customer_once_even_if_her_form_is_sent_twice() {
    let world = World::new().await;
    let tobias = world.office().await;
    let fields = customer_fields(IDS[0], "Odile Farrant");
    for _ in 0..2 {
        tobias.post("/customers", &fields).await.went_to(&format!("/customers/{}", IDS[0]));
    }
    let list = tobias.get("/customers").await;
    assert_eq!(places::linked(list.page(), "/customers/"), [IDS[0]], "sent twice, entered once");
    let page = tobias.get(&format!("/customers/{}", IDS[0])).await;
    assert!(page.page().contains("14 Tamber Lane") && page.body.contains("None yet."));
    let deeds = places::deeds(&world, "customer", IDS[0]).await;
    assert_eq!(deeds, ["entered"]);
}

#[tokio::test]
async fn a_form_with_mistakes_comes_back_as_typed() {
    let world = World::new().await;
    let tobias = world.office().await;
    let mut fields = customer_fields(IDS[0], "");
    fields.retain(|(name, _)| !matches!(*name, "email" | "state"));
    fields.extend([("email", "odile at home"), ("state", "Calif"), ("note", "two <dogs>")]);
    let refused = tobias.post("/customers", &fields).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    for kept in ["odile at home", "Calif", "two &#60;dogs&#62;", "14 Tamber Lane", IDS[0]] {
        assert!(refused.body.contains(kept), "{kept}\n{}", refused.body);
    }
    for told in ["Please fill this in.", "This is not an e-mail address.", "two letters"] {
        assert!(refused.body.contains(told), "{told}");
    }
    let name = "n".repeat(201);
    let long = tobias.post("/customers", &customer_fields(IDS[0], &name)).await;
    assert_eq!(long.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(long.body.contains("at most 200 characters") && long.body.contains(&name));
}

#[tokio::test]
async fn a_change_keeps_the_rest_and_the_audit_names_fields_without_addresses() {
    let world = World::new().await;
    let tobias = world.office().await;
    places::customer(&tobias, IDS[0], "Odile Farrant").await;
    let path = format!("/customers/{}", IDS[0]);
    assert!(tobias.get(&format!("{path}/edit")).await.page().contains("post@example.test"));
    tobias.change(&path, &[("name", "Odile Farrant-Weir"), ("city", "Quillan Springs")]).await.went_to(&path);
    let page = tobias.get(&path).await;
    assert!(page.page().contains("Odile Farrant-Weir") && !page.body.contains("post@example.test"));
    let detail = places::last_detail(&world, "customer", IDS[0]).await;
    assert!(detail.contains("email") && !detail.contains("post@example.test"), "{detail}");
    let wrong = tobias.post(&path, &[("name", "")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    let nobody = tobias.post(&format!("/customers/{}", IDS[9]), &[("name", "")]).await;
    assert_eq!(nobody.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn search_takes_every_word_as_it_is() {
    let world = World::new().await;
    let tobias = world.office().await;
    for (id, name) in IDS.iter().zip(["Odile Farrant", "Bram Odell", "Sunvale 100% Homes"]) {
        places::customer(&tobias, id, name).await;
    }
    let found = async |q: &str| {
        let page =
            tobias.get(&format!("/customers?{}", serde_urlencoded::to_string([("q", q)]).unwrap())).await;
        let names = ["Odile Farrant", "Bram Odell", "Sunvale 100% Homes"];
        names.into_iter().filter(|n| page.page().contains(&format!(">{n}</a>"))).collect::<Vec<_>>()
    };
    assert_eq!(found("od").await, ["Odile Farrant", "Bram Odell"]);
    assert_eq!(found("TAMBER farr").await, ["Odile Farrant"], "words in any order, in any column");
    assert_eq!(found("0%").await, ["Sunvale 100% Homes"], "a percent sign is a percent sign");
    assert_eq!(found("_").await, Vec::<&str>::new());
    assert_eq!(found("\0' or true --").await, Vec::<&str>::new());
    assert!(tobias.get("/customers?q=zzz").await.page().contains("No customer matches"));
    assert!(tobias.get("/customers?after=nonsense").await.page().contains("Odile"));
}

#[tokio::test]
async fn pages_lead_forth_and_back_without_losing_anybody() {
    let world = World::new().await;
    let tobias = world.office().await;
    // 130 people, ten of each name: equal names must not be skipped or shown twice.
    sqlx::query(
        "insert into customer (id, name, created_at)
         select gen_random_uuid(), 'Person ' || lpad((n / 10)::text, 3, '0'), now() from generate_series(0, 129) n",
    )
    .execute(&world.pool)
    .await
    .unwrap();
    let (mut at, mut forth) = ("/customers".to_owned(), vec![]);
    loop {
        let page = tobias.get(&at).await;
        forth.push(places::linked(page.page(), "/customers/"));
        match places::rel(&page.body, "next") {
            Some(next) => at = next,
            None => break,
        }
    }
    assert_eq!(forth.iter().map(Vec::len).collect::<Vec<_>>(), [50, 50, 30]);
    let mut all = forth.concat();
    all.sort();
    all.dedup();
    assert_eq!(all.len(), 130, "everybody once");
    let mut back = vec![];
    while let Some(earlier) = places::rel(&tobias.get(&at).await.body, "prev") {
        back.push(places::linked(tobias.get(&earlier).await.page(), "/customers/"));
        at = earlier;
    }
    assert_eq!(back, [forth[1].clone(), forth[0].clone()], "the same pages on the way back");
}

#[tokio::test]
async fn who_still_has_visits_or_sites_is_not_retired() {
    let world = World::new().await;
    let (tobias, ines) = (world.office().await, world.technician().await);
    places::customer(&tobias, IDS[0], "Odile Farrant").await;
    places::site(&tobias, IDS[0], IDS[1], "14 Tamber Lane").await;
    places::visit(&world, IDS[1], ines.id, tobias.id, "booked").await;
    let path = format!("/customers/{}", IDS[0]);
    let refused = tobias.post(&format!("{path}/retirements"), &[]).await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    assert!(
        refused.body.contains("Ines Okoro is booked for 14 Tamber Lane on Nov 30, 2026"),
        "{}",
        refused.body
    );
    assert!(refused.body.contains("cancel the visit first"));
    places::cancel_visits(&world).await;
    let refused = tobias.post(&format!("{path}/retirements"), &[]).await;
    assert!(refused.body.contains("in use (1, such as 14 Tamber Lane)"), "{}", refused.body);
    tobias.post(&format!("/sites/{}/retirements", IDS[1]), &[]).await.went_to(&format!("/sites/{}", IDS[1]));
    for _ in 0..2 {
        tobias.post(&format!("{path}/retirements"), &[]).await.went_to(&path);
    }
    assert!(!tobias.get("/customers").await.page().contains(IDS[0]));
    assert!(tobias.get("/customers?retired=yes").await.page().contains("Retired"));
    let late = tobias.post(&format!("{path}/sites"), &site_fields(IDS[2], "9 Lark Way")).await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(late.body.contains("Odile Farrant is retired"));
    let site_back = tobias.post(&format!("/sites/{}/returns", IDS[1]), &[]).await;
    assert_eq!(site_back.status, StatusCode::CONFLICT, "the customer comes back first");
    tobias.post(&format!("{path}/returns"), &[]).await.went_to(&path);
    tobias.post(&format!("/sites/{}/returns", IDS[1]), &[]).await.went_to(&format!("/sites/{}", IDS[1]));
    assert_eq!(places::deeds(&world, "customer", IDS[0]).await, ["entered", "retired", "taken back"]);
}
