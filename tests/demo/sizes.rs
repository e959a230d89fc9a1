//! How large the demo is, and who is in it.
use crate::support::Demo;
use plantward::{actions::account, demo};

#[tokio::test]
async fn it_is_as_large_as_a_small_company() {
    let demo = Demo::on("2026-11-25").await;
    assert_eq!(demo.count("select count(*) from customer").await, 60);
    assert_eq!(demo.count("select count(*) from site").await, 90);
    assert_eq!(demo.count("select count(*) from parcel").await, 89);
    let plants = demo.count("select count(*) from plant").await;
    assert!((630..=770).contains(&plants), "{plants} plants");
    let records = demo.count("select count(*) from application_now where origin = 'own'").await;
    assert!((230..=320).contains(&records), "{records} records");
    let span = demo.count("select (max(applied_on) - min(applied_on))::bigint from application_now").await;
    assert!((900..1280).contains(&span), "{span} days of history");
    let several = "select count(*) from (select 1 from site group by customer_id having count(*) > 1) as x";
    assert!(demo.count(several).await >= 5);
}

#[tokio::test]
async fn most_work_is_in_one_county_and_some_in_another() {
    let demo = Demo::on("2026-11-25").await;
    let other = demo.count("select count(*) from site where county = 'Santa Barbara'").await;
    assert!((5..=12).contains(&other), "{other}");
    assert_eq!(demo.count("select count(*) from site where county = 'San Luis Obispo'").await, 90 - other);
    let recorded = "select count(*) from application_now where site_county = 'Santa Barbara'";
    assert!(demo.count(recorded).await > 0);
    assert_eq!(demo.count("select count(*) from county_registration").await, 3);
}

#[tokio::test]
async fn all_five_sign_in_with_the_password_that_is_told() {
    let demo = Demo::fresh("2026-11-25").await;
    let told = demo::fill(&demo.pool, demo.today).await.unwrap();
    assert_eq!(
        told.iter().map(|one| one.role.as_str()).collect::<Vec<_>>(),
        ["owner", "office", "technician", "technician", "technician"]
    );
    for one in &told {
        assert!(one.email.ends_with(".test"), "{}", one.email);
        let answer =
            account::sign_in(&demo.doer(), &one.email, one.password.clone(), "127.0.0.1", "test").await;
        assert!(matches!(answer.unwrap(), account::SignIn::Welcome(_)), "{}", one.email);
    }
}

#[tokio::test]
async fn who_applies_is_certified_and_one_lapses_in_thirty_days() {
    let demo = Demo::on("2026-11-25").await;
    let certified: Vec<(String, i32)> = sqlx::query_as(
        "select p.role, c.expires_on - $1 from person p join certification c on c.person_id = p.id
         where c.state = 'CA' and c.category = 'landscape maintenance' and $1 between c.valid_from and c.expires_on
         order by p.role, c.expires_on desc",
    )
    .bind(demo.today)
    .fetch_all(&demo.pool)
    .await
    .unwrap();
    let roles: Vec<&str> = certified.iter().map(|(role, _)| role.as_str()).collect();
    assert_eq!(roles, ["owner", "technician", "technician", "technician"]);
    assert_eq!(certified[3].1, 30);
    assert!(certified[..3].iter().all(|(_, days)| *days > 365));
}
