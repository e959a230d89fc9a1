//! Products, their registrations by state, and who may touch them.
use crate::support::{
    World,
    product::{Fields, product},
};
use axum::http::StatusCode;
use uuid::Uuid;

#[tokio::test]
async fn a_product_sent_twice_is_entered_once() {
    let world = World::new().await;
    let office = world.office().await;
    let id = Uuid::now_v7();
    let form = product(id, "Rootguard Two", "99999-12");
    for _ in 0..2 {
        form.send(&office, "/products").await.went_to(&format!("/products/{id}"));
    }
    let list = office.get("/products").await;
    assert_eq!(list.page().matches("Rootguard Two").count(), 1);
    assert!(list.page().contains("No label entered") && list.page().contains("99999-12"));
    let deeds: i64 = sqlx::query_scalar("select count(*) from audit where noun_id = $1 and deed = 'entered'")
        .bind(id)
        .fetch_one(&world.pool)
        .await
        .unwrap();
    assert_eq!(deeds, 1);
}

#[tokio::test]
async fn what_cannot_be_a_product_comes_back_as_typed() {
    let world = World::new().await;
    let office = world.office().await;
    let bad = product(Uuid::now_v7(), "", "99999/12").with("form", "gas");
    let answer = bad.send(&office, "/products").await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    for field in ["name", "registration_number", "form"] {
        assert!(answer.body.contains(&format!("id=\"f-{field}-wrong\"")), "{field}");
    }
    assert!(answer.body.contains("value=\"99999/12\""));
    product(Uuid::now_v7(), "Rootguard Two", "99999-12").send(&office, "/products").await;
    let taken = product(Uuid::now_v7(), "Another", "99999-12").send(&office, "/products").await;
    assert_eq!(taken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(taken.body.contains("already entered") && taken.body.contains("Another"));
}

#[tokio::test]
async fn a_state_entered_again_gets_a_new_day_and_warns_when_it_ends() {
    let world = World::new().await;
    let office = world.office().await;
    let id = Uuid::now_v7();
    product(id, "Rootguard Two", "99999-12").send(&office, "/products").await;
    let (page, to) = (format!("/products/{id}"), format!("/products/{id}/registrations"));
    let register = |day: &str| Fields::of(&[("state", "ca"), ("expires_on", day)]);
    for (day, words) in [
        ("2026-11-24", "Expired Nov 24, 2026"),
        ("2026-11-25", "Last day is today"),
        ("2027-01-24", "60 days left, until Jan 24, 2027"),
        ("2027-12-31", "Until Dec 31, 2027"),
    ] {
        register(day).send(&office, &to).await.went_to(&page);
        let shown = office.get(&page).await;
        assert!(shown.page().contains(words), "{words}");
        assert_eq!(shown.page().matches("<dt>CA</dt>").count(), 1);
    }
    register("2027-12-31").send(&office, &to).await.went_to(&page);
    let days: Vec<serde_json::Value> = sqlx::query_scalar(
        "select detail->'expires_on' from audit where noun_id = $1 and deed = 'registration entered' order by id",
    )
    .bind(id)
    .fetch_all(&world.pool)
    .await
    .unwrap();
    assert_eq!(days.len(), 4, "the same day sent again is no deed");
    assert_eq!(days[1], serde_json::json!(["2026-11-24", "2026-11-25"]));
    let bad = Fields::of(&[("state", "California"), ("expires_on", "soon")]).send(&office, &to).await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(bad.body.contains("f-state-wrong") && bad.body.contains("value=\"California\""));
    assert!(bad.body.contains("f-expires_on-wrong"));
}

#[tokio::test]
async fn retired_products_leave_the_list_and_come_back() {
    let world = World::new().await;
    let office = world.office().await;
    let id = Uuid::now_v7();
    product(id, "Rootguard Two", "99999-12").send(&office, "/products").await;
    let page = format!("/products/{id}");
    for _ in 0..2 {
        office.post(&format!("{page}/retirements"), &[]).await.went_to(&page);
    }
    assert!(!office.get("/products").await.page().contains("Rootguard"));
    assert!(office.get("/products?show=all").await.page().contains("Retired"));
    office.post(&format!("{page}/returns"), &[]).await.went_to(&page);
    assert!(office.get("/products").await.page().contains("Rootguard"));
}

#[tokio::test]
async fn technicians_read_products_and_change_none() {
    let world = World::new().await;
    let office = world.office().await;
    let (id, _) = world.drafted(&office).await;
    let ines = world.technician().await;
    let page = format!("/products/{id}");
    let shown = ines.get(&page).await;
    assert!(shown.page().contains("99999-12") && shown.page().contains("No signed label yet"));
    assert!(!shown.page().contains("/edit") && !shown.page().contains("Type in a label"));
    for path in ["/edit", "/label-versions/new"] {
        assert_eq!(ines.get(&format!("{page}{path}")).await.status, StatusCode::NOT_FOUND);
    }
    let again = product(id, "Mine now", "99999-12").send(&ines, &page).await;
    assert_eq!(again.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_form_stays_once_a_label_is_written_for_it() {
    let world = World::new().await;
    let office = world.office().await;
    let (id, _) = world.drafted(&office).await;
    let page = format!("/products/{id}");
    let to = product(id, "Rootguard Too", "99999-13");
    to.change(&office, &page).await.went_to(&page);
    assert!(office.get(&page).await.page().contains("Rootguard Too"));
    let dry = to.with("form", "dry").change(&office, &page).await;
    assert_eq!(dry.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(dry.body.contains("written for the other form"));
}

#[tokio::test]
async fn the_list_is_searched_and_turned_page_by_page_both_ways() {
    let world = World::new().await;
    let office = world.office().await;
    sqlx::query(
        "insert into product (id, name, registration_number, form, created_at)
         select gen_random_uuid(), 'Drench ' || lpad(n::text, 3, '0'), '99999-' || n, 'liquid', now()
         from generate_series(1, 120) n",
    )
    .execute(&world.pool)
    .await
    .unwrap();
    let first = office.get("/products").await;
    assert!(first.page().contains("Drench 050") && !first.page().contains("Drench 051"));
    assert!(!first.page().contains("rel=\"prev\""));
    let link = |page: &str, rel: &str| {
        let end = page.find(&format!("\" rel=\"{rel}\"")).unwrap();
        let start = page[..end].rfind("href=\"").unwrap() + 6;
        page[start..end].replace("&#38;", "&")
    };
    let second = office.get(&link(first.page(), "next")).await;
    assert!(second.page().contains("Drench 051") && second.page().contains("Drench 100"));
    let third = office.get(&link(second.page(), "next")).await;
    assert!(third.page().contains("Drench 120") && !third.page().contains("rel=\"next\""));
    let back = office.get(&link(third.page(), "prev")).await;
    assert!(back.page().contains("Drench 051") && back.page().contains("Drench 100"));
    let home = office.get(&link(back.page(), "prev")).await;
    assert!(home.page().contains("Drench 001") && !home.page().contains("rel=\"prev\""));
    let found = office.get("/products?q=99999-77").await;
    assert!(found.page().contains("Drench 077") && !found.page().contains("Drench 078"));
    assert!(
        office.get("/products?q=%25").await.page().contains("No product fits"),
        "a percent sign is no joker"
    );
}

#[tokio::test]
async fn the_list_shows_the_companys_own_state_first_and_names_it() {
    let world = World::new().await;
    let office = world.office().await;
    let id = Uuid::now_v7();
    product(id, "Rootguard Two", "99999-12").send(&office, "/products").await;
    let to = format!("/products/{id}/registrations");
    for (state, day, words) in [
        ("NY", "2027-12-31", "New York: Until Dec 31, 2027"),
        ("NV", "2025-12-31", "Nevada: Expired Dec 31, 2025"),
        ("CA", "2028-12-31", "California: Until Dec 31, 2028"),
    ] {
        Fields::of(&[("state", state), ("expires_on", day)]).send(&office, &to).await;
        assert!(office.get("/products").await.page().contains(words), "{words}");
    }
    for (name, typed) in [("state", "ZZ"), ("expires_on", "1999-12-31")] {
        let bad = Fields::of(&[("state", "CA"), ("expires_on", "2028-12-31")]).with(name, typed);
        let bad = bad.send(&office, &to).await;
        assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY, "{typed}");
        assert!(bad.body.contains(&format!("f-{name}-wrong")), "{typed}");
    }
}
