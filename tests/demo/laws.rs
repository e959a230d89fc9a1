//! The past is lawful but for what is meant not to be, and everything kept can be worked out again.
use crate::support::Demo;
use chrono::NaiveDate;
use plantward::{
    actions::due,
    db::chain,
    domain::{book::Book, cap::Span, hold::Rule, plan::flags, quantity::parse},
};
use uuid::Uuid;

const ALWAYS: Span = Span { from: NaiveDate::MIN, to: NaiveDate::MAX };

/// Streets whose land has a window over some cap, facts and bookings together.
async fn over_cap(demo: &Demo) -> Vec<String> {
    let lands: Vec<(Uuid, String)> =
        sqlx::query_as("select parcel_id, min(street) from site group by parcel_id order by 2")
            .fetch_all(&demo.pool)
            .await
            .unwrap();
    let mut found = vec![];
    for (parcel, street) in lands {
        let facts = demo.facts(parcel).await;
        let book = Book::new(&facts).unwrap();
        let nothing = parse("0").unwrap();
        if book.substances.iter().any(|one| !one.barred(&nothing, ALWAYS).is_empty()) {
            found.push(street);
        }
    }
    found
}

#[tokio::test]
async fn only_the_two_flagged_sites_are_ever_over_a_cap() {
    for demo in Demo::on_each_day().await {
        assert_eq!(over_cap(&demo).await, ["27 Thistle Way", "9 Quarry Bend"], "{}", demo.today);
    }
}

#[tokio::test]
async fn nothing_else_in_the_past_broke_a_rule() {
    let demo = Demo::on("2026-11-25").await;
    let lands: Vec<(Uuid, String)> =
        sqlx::query_as("select parcel_id, min(street) from site group by parcel_id order by 2")
            .fetch_all(&demo.pool)
            .await
            .unwrap();
    let mut broken = vec![];
    for (parcel, street) in lands {
        let facts = demo.facts(parcel).await;
        for position in 0..facts.history.len() {
            // Replaced plants are not among the facts, and neither is what somebody else applied.
            for flag in flags(&facts, position).unwrap() {
                broken.push((street.clone(), flag.rule));
            }
        }
    }
    broken.sort();
    broken.dedup();
    let meant = [("27 Thistle Way", Rule::Cap), ("9 Quarry Bend", Rule::Cap)];
    assert_eq!(broken, meant.map(|(street, rule)| (street.to_owned(), rule)));
}

#[tokio::test]
async fn the_chain_of_records_is_whole() {
    let demo = Demo::on("2026-11-25").await;
    assert_eq!(chain::verify(&demo.pool, None).await.unwrap().faults, Vec::<String>::new());
    let backwards = "select count(*) from application_record a join application_record b on b.seq = a.seq + 1
        where b.recorded_at < a.recorded_at";
    assert_eq!(demo.count(backwards).await, 0);
    let early = "select count(*) from application_record r join application_item i
            on i.record_id = r.id and i.version = r.version
        join label_version v on v.id = i.label_version_id where v.signed_at > r.recorded_at or v.signed_at is null";
    assert_eq!(demo.count(early).await, 0, "a record follows a label that was signed by then");
    let versions = "select count(distinct label_version_id) from application_item where registration_number = '99999-101'";
    assert_eq!(demo.count(versions).await, 2, "older records keep the older label");
}

#[tokio::test]
async fn the_kept_due_days_can_be_worked_out_again() {
    for demo in Demo::on_each_day().await {
        assert_eq!(due::differences(&demo.doer()).await.unwrap(), Vec::<String>::new());
        let other_day = "select count(*) from due where computed_for <> (select max(computed_for) from due)";
        assert_eq!(demo.count(other_day).await, 0);
        let day: NaiveDate =
            sqlx::query_scalar("select max(computed_for) from due").fetch_one(&demo.pool).await.unwrap();
        assert_eq!(day, demo.today);
    }
}

#[tokio::test]
async fn nothing_happened_in_the_future() {
    for demo in Demo::on_each_day().await {
        let late: i64 = sqlx::query_scalar(
            "select (select count(*) from application_record where applied_on > $1)
                + (select count(*) from visit where status = 'done' and on_date > $1)
                + (select count(*) from audit where at > $1 + time '12:00')",
        )
        .bind(demo.today)
        .fetch_one(&demo.pool)
        .await
        .unwrap();
        assert_eq!(late, 0, "{}", demo.today);
    }
}
