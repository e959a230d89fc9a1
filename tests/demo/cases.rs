//! The case of each scene.
use crate::support::Demo;
use chrono::{Datelike, Days, Months, NaiveDate};
use plantward::domain::cap::EarlierUse;
use rust_decimal::Decimal;
use uuid::Uuid;

#[tokio::test]
async fn plants_are_overdue_due_this_week_and_coming() {
    for demo in Demo::on_each_day().await {
        let today = demo.today;
        let late = demo.due("22 Fountain Road", "Street hedge").await;
        assert!(late.due_on.unwrap() < today && late.held_by.is_empty(), "{today}: {late:?}");
        let soon = demo.due("5 Poplar Rise", "North wall").await;
        assert!(soon.held_by.is_empty(), "{today}: {soon:?}");
        assert!(
            soon.due_on.unwrap() >= today && soon.due_on.unwrap() <= today + Days::new(6),
            "{today}: {soon:?}"
        );
        let later = demo.due("39 Hollow Road", "Lawn").await.due_on.unwrap();
        assert!(later > today + Days::new(14) && later < today + Days::new(35), "{today}: {later}");
        let overdue: i64 = sqlx::query_scalar("select count(*) from due where due_on < $1")
            .bind(today)
            .fetch_one(&demo.pool)
            .await
            .unwrap();
        assert!((20..200).contains(&overdue), "{today}: {overdue} overdue");
    }
}

#[tokio::test]
async fn a_hedge_of_forty_never_fits_the_small_lot() {
    for demo in Demo::on_each_day().await {
        let hedge = demo.due("12 Lantern Row", "Boundary hedge").await;
        assert_eq!((hedge.held_by, hedge.allowed_on), (vec!["cap".to_owned()], None), "{}", demo.today);
        let shrub = demo.due("12 Lantern Row", "By the gate").await;
        assert!(shrub.held_by.is_empty(), "{}: {shrub:?}", demo.today);
    }
    let demo = Demo::on("2026-11-25").await;
    let dose: (i32, Decimal) = sqlx::query_as(
        "select p.count, p.height_ft * p.count * 3 from plant p join site s on s.id = p.site_id
         where s.street = '12 Lantern Row' and p.kind = 'hedge'",
    )
    .fetch_one(&demo.pool)
    .await
    .unwrap();
    // 720 mL at 3 mL a foot: arithmetic.
    assert_eq!(dose, (40, Decimal::from(720)));
}

#[tokio::test]
async fn without_an_area_the_cap_cannot_be_checked() {
    for demo in Demo::on_each_day().await {
        for place in ["Drive, left", "Porch"] {
            let held = demo.due("4 Millstone Lane", place).await;
            assert_eq!((held.held_by, held.allowed_on), (vec!["area-unknown".to_owned()], None));
        }
        assert!(demo.due("4 Millstone Lane", "Kitchen wall").await.held_by.is_empty(), "oil has no cap");
    }
}

#[tokio::test]
async fn earlier_use_is_answered_for_most_land() {
    for demo in Demo::on_each_day().await {
        let open = demo.count("select count(*) from parcel where history_known_from is null").await;
        assert!((4..=12).contains(&open), "{open}");
        let caps = demo.outlook("31 Wren Street").await.caps;
        assert!(!caps.is_empty() && caps.iter().all(|cap| cap.earlier_use == EarlierUse::Unconfirmed));
        let caps = demo.outlook("5 Poplar Rise").await.caps;
        assert!(!caps.is_empty() && caps.iter().all(|cap| cap.earlier_use == EarlierUse::Unquestioned));
    }
}

#[tokio::test]
async fn cap_areas_are_chosen_with_a_reason() {
    let demo = Demo::on("2026-11-25").await;
    let chosen: Vec<(String, String, String)> = sqlx::query_as(
        "select s.street, l.cap_area, p.name from parcel l join site s on s.parcel_id = l.id
         join person p on p.id = l.cap_area_chosen_by where l.cap_area_reason <> '' order by 1",
    )
    .fetch_all(&demo.pool)
    .await
    .unwrap();
    let one = |street: &str, area: &str| (street.to_owned(), area.to_owned(), "Maren Quist".to_owned());
    assert_eq!(chosen, [one("17 Harrow Court", "landscaped"), one("8 Harrow Court", "lot")]);
    // 0.4 lb/acre on 40,000 sq ft (arithmetic): 166.608 g, not the smaller areas' share.
    let caps = demo.outlook("8 Harrow Court").await.caps;
    let allowed = plantward::domain::quantity::fixed_half_up(caps[0].cap.allowed.as_ref().unwrap(), 3);
    assert_eq!(allowed, "166.609");
    let unchosen = "select count(*) from parcel where landscaped_sqft is not null and cap_area is null";
    assert!(demo.count(unchosen).await >= 10);
}

#[tokio::test]
async fn one_flag_waits_and_one_is_answered() {
    for demo in Demo::on_each_day().await {
        let flags: Vec<(String, String, String, bool)> = sqlx::query_as(
            "select r.site_address, f.rule, f.words, f.answered_at is not null from record_flag f
             join application_now r on r.id = f.record_id and r.version = f.version order by 1",
        )
        .fetch_all(&demo.pool)
        .await
        .unwrap();
        let seen: Vec<(&str, &str, bool)> = flags
            .iter()
            .map(|(at, rule, _, answered)| (at.split(',').next().unwrap(), rule.as_str(), *answered))
            .collect();
        assert_eq!(seen, [("27 Thistle Way", "cap", false), ("9 Quarry Bend", "cap", true)]);
        assert!(flags.iter().all(|(_, _, words, _)| words.contains("Annual cap of imidacloprid")));
        let licensed =
            "select count(*) from record_flag f join certification c on c.id = f.answered_certification_id
            where c.person_id = f.answered_by and f.answer <> ''";
        assert_eq!(demo.count(licensed).await, 1);
    }
}

#[tokio::test]
async fn an_amended_record_keeps_what_it_said() {
    let demo = Demo::on("2026-11-25").await;
    let versions: Vec<(i32, Decimal, Option<Decimal>, String)> = sqlx::query_as(
        "select r.version, i.amount, r.wind_mph, r.amend_reason from application_record r
         join application_item i on i.record_id = r.id and i.version = r.version and i.position = 1
         where r.id in (select id from application_record where version > 1) order by r.version",
    )
    .fetch_all(&demo.pool)
    .await
    .unwrap();
    assert_eq!(versions.len(), 2);
    assert_eq!((versions[0].1, versions[0].2), (Decimal::from(24), None));
    assert_eq!(versions[1].1, Decimal::from(18));
    assert!(
        versions[1].2.is_some() && versions[0].3.is_empty() && versions[1].3.contains("18 mL, not 24 mL")
    );
}

#[tokio::test]
async fn the_lawn_companys_grub_treatment_counts() {
    for demo in Demo::on_each_day().await {
        let hedge = demo.due("60 Meadow End", "Meadow side").await;
        assert_eq!(hedge.held_by, ["cap"], "{}", demo.today);
        let again = hedge.allowed_on.expect("allowed once the lawn's year is over");
        assert!(hedge.wanted_on < demo.today && again > demo.today + Days::new(300), "{again}");
        let lawn = "select count(*) from application_now r join application_item i on i.record_id = r.id
            where r.origin = 'other-company' and i.plant_id is null and i.method = 'broadcast' and i.unit = 'lb'";
        assert_eq!(demo.count(lawn).await, 1);
    }
}

#[tokio::test]
async fn last_months_filing_has_gaps() {
    for demo in Demo::on_each_day().await {
        let first = demo.today.with_day(1).unwrap();
        let before = first.checked_sub_months(Months::new(1)).unwrap();
        let gaps = "select count(*) from application_now where site_county = 'San Luis Obispo' and origin = 'own'
            and started_at is null and applicator_certification = '' and applied_on >= $1 and applied_on < $2";
        let count: i64 =
            sqlx::query_scalar(gaps).bind(before).bind(first).fetch_one(&demo.pool).await.unwrap();
        assert!(count >= 1, "{}", demo.today);
        let all: i64 = sqlx::query_scalar(gaps)
            .bind(NaiveDate::from_ymd_opt(2000, 1, 1))
            .bind(demo.today)
            .fetch_one(&demo.pool)
            .await
            .unwrap();
        assert_eq!(all, 2);
    }
}

#[tokio::test]
async fn olive_linden_and_rose_are_refused() {
    for demo in Demo::on_each_day().await {
        let held = async |place: &str| demo.due("2 Orchard Terrace", place).await.held_by;
        assert_eq!(held("Courtyard").await, ["food-plant"], "olive");
        assert_eq!(held("Avenue").await, ["host-excluded"], "linden");
        assert_eq!(held("Arch").await, ["bloom"], "rose");
        assert_eq!(held("Herb bed edge").await, ["food-plant"], "nobody has asked");
        assert!(held("Doorway").await.is_empty());
    }
}

#[tokio::test]
async fn some_plants_cannot_be_computed() {
    let demo = Demo::on("2026-11-25").await;
    for place in ["Front lawn edge", "Behind the shed"] {
        assert!(demo.maybe_due("71 Bell Lane", place).await.is_none(), "{place}");
    }
    assert!(demo.maybe_due("71 Bell Lane", "Steps").await.is_some());
    assert_eq!(demo.count("select count(*) from plant where product_id is null").await, 1);
    let unmeasured = "select count(*) from plant where height_ft is null and stems_in = '{}'";
    assert_eq!(demo.count(unmeasured).await, 1);
}

#[tokio::test]
async fn a_replaced_hedge_keeps_its_past() {
    let demo = Demo::on("2026-11-25").await;
    assert!(demo.maybe_due("16 Cedar Steps", "Road hedge").await.is_none());
    assert!(demo.maybe_due("16 Cedar Steps", "Road hedge, replanted").await.is_some());
    let past = "select count(*) from application_item i join plant p on p.id = i.plant_id
        where p.retired_at is not null and p.retired_reason <> ''";
    assert_eq!(demo.count(past).await, 2);
}

#[tokio::test]
async fn two_customers_share_one_ledger() {
    let demo = Demo::on("2026-11-25").await;
    let shared: Vec<(Uuid, i64, i64)> = sqlx::query_as(
        "select parcel_id, count(*), count(distinct customer_id) from site group by parcel_id having count(*) > 1",
    )
    .fetch_all(&demo.pool)
    .await
    .unwrap();
    assert_eq!(shared, [(demo.parcel("101 Twin Gate").await, 2, 2)]);
    assert_eq!(demo.parcel("101 Twin Gate, rear").await, shared[0].0);
    let facts = demo.facts(shared[0].0).await;
    assert_eq!((facts.plants.len(), facts.history.len()), (3, 6));
}

#[tokio::test]
async fn an_unsigned_label_holds_and_a_draft_does_not() {
    for demo in Demo::on_each_day().await {
        let held = demo.due("14 Sorrel Close", "Greenhouse side").await;
        assert_eq!((held.held_by, held.allowed_on), (vec!["label-unsigned".to_owned()], None));
        assert!(demo.due("14 Sorrel Close", "Well").await.held_by.is_empty());
    }
    let demo = Demo::on("2026-11-25").await;
    let drafts: Vec<(String, i32, bool)> = sqlx::query_as(
        "select p.name, v.number, exists (select 1 from label_in_force f where f.product_id = p.id)
         from label_version v join product p on p.id = v.product_id where v.signed_at is null order by 1",
    )
    .fetch_all(&demo.pool)
    .await
    .unwrap();
    assert_eq!(drafts, [("Brindle 20 SG".to_owned(), 2, true), ("Sedgemoor 17".to_owned(), 1, false)]);
    let signed =
        "select count(*) from label_version v join certification c on c.id = v.signed_certification_id
        where c.category = v.category and c.person_id = v.signed_by and v.signed_at is not null";
    let all = demo.count("select count(*) from label_version where signed_at is not null").await;
    assert_eq!(demo.count(signed).await, all);
    let invented = "select count(*) from label_version where precautions not like 'Invented entry%'";
    assert_eq!(demo.count(invented).await, 0);
    assert_eq!(demo.count("select count(*) from product where registration_number !~ '^99999-'").await, 0);
    let expired: i64 = sqlx::query_scalar("select count(*) from product_registration where expires_on < $1")
        .bind(demo.today)
        .fetch_one(&demo.pool)
        .await
        .unwrap();
    assert_eq!(expired, 2);
}

#[tokio::test]
async fn last_years_dose_holds_the_hedge_until_its_year_is_over() {
    for demo in Demo::on_each_day().await {
        let hedge = demo.due("7 Gable Street", "Gable hedge").await;
        assert_eq!(hedge.held_by, ["cap"], "{}", demo.today);
        let until = hedge.allowed_on.unwrap();
        assert!(until > demo.today && until <= demo.today + Days::new(12), "{}: {until}", demo.today);
        assert!(hedge.why.iter().any(|line| line.contains("pass without protection")), "{:?}", hedge.why);
    }
}

#[tokio::test]
async fn visits_are_booked_for_today_and_the_next_days() {
    for demo in Demo::on_each_day().await {
        let visits: Vec<(String, i32, i64)> = sqlx::query_as(
            "select p.name, v.on_date - $1, (select count(*) from planned_dose d
                where d.visit_id = v.id and d.status = 'planned') from visit v
             join person p on p.id = v.technician_id where v.status = 'booked' order by 2, 1",
        )
        .bind(demo.today)
        .fetch_all(&demo.pool)
        .await
        .unwrap();
        let (ines, dario) = ("Ines Okoro", "Dario Velm");
        let days: Vec<(&str, i32)> = visits.iter().map(|(name, day, _)| (name.as_str(), *day)).collect();
        let meant =
            [(dario, 0), (dario, 0), (ines, 0), (ines, 0), (ines, 1), (dario, 2), (ines, 3), (dario, 5)];
        assert_eq!(days, meant, "{}", demo.today);
        assert!(visits.iter().all(|(_, _, doses)| *doses >= 3), "{}: {visits:?}", demo.today);
        let done = demo.count("select count(*) from visit where status = 'done'").await;
        assert!(done > 200, "{done}");
    }
}

#[tokio::test]
async fn deeds_are_written_down() {
    let demo = Demo::on("2026-11-25").await;
    for deed in
        ["signed", "entered", "recorded", "booked", "cap area chosen", "earlier use answered", "retired"]
    {
        let count: i64 =
            sqlx::query_scalar("select count(*) from audit where deed = $1 and person_id is not null")
                .bind(deed)
                .fetch_one(&demo.pool)
                .await
                .unwrap();
        assert!(count > 0, "{deed}");
    }
}

#[tokio::test]
async fn weeks_have_something_to_be_planned_with() {
    for demo in Demo::on_each_day().await {
        let today = demo.today;
        let nowhere = "select count(*) from site where latitude is null";
        assert_eq!(demo.count(nowhere).await, 0, "{today}: every site is somewhere");
        // Within forty miles of the town: 0.6 degrees at most in each direction.
        let far = "select count(*) from site s, company c
            where abs(s.latitude - c.latitude) > 0.62 or abs(s.longitude - c.longitude) > 0.62";
        assert_eq!(demo.count(far).await, 0, "{today}: every site is around the town");
        let idle = "select count(*) from person p where p.role = 'technician' and (p.vehicle_id is null
            or (select count(*) from working_day w where w.person_id = p.id) < 4)";
        assert_eq!(demo.count(idle).await, 0, "{today}: each technician has hours and a vehicle");
        assert!(
            demo.count("select count(*) from visit where promised and status = 'booked'").await > 0,
            "{today}"
        );
        let (held, before): (i64, bool) =
            sqlx::query_as("select count(*), bool_and(on_date < $1) from day_hold where lifted_at is null")
                .bind(today)
                .fetch_one(&demo.pool)
                .await
                .unwrap();
        assert!(held == 1 && before, "{today}: one day of the past is on hold");
    }
}

#[tokio::test]
async fn last_months_reports_are_owed_and_all_others_were_sent() {
    for demo in Demo::on_each_day().await {
        let mut conn = demo.pool.acquire().await.unwrap();
        let stands = plantward::actions::filing::stands(&mut conn, demo.today).await.unwrap();
        let last = demo.today.with_day(1).unwrap().pred_opt().unwrap();
        let open: Vec<(&str, bool)> = stands
            .iter()
            .filter(|one| one.owed.period.last_day() < demo.today && one.is_open())
            .map(|one| {
                assert_eq!(one.owed.period.last_day(), last, "{}", demo.today);
                (one.owed.county.as_str(), one.owed.worked)
            })
            .collect();
        assert_eq!(open, [("Monterey", false), ("San Luis Obispo", true)], "{}", demo.today);
        let sent = stands.iter().filter(|one| one.filed.is_some()).count();
        assert!(sent >= 24, "{}: {sent}", demo.today);
        let code = format!("{}", last.format("%Y-%m"));
        let made = plantward::actions::filing::make(&mut conn, "ca-monthly", "San Luis Obispo", &code)
            .await
            .unwrap();
        assert!(!made.unwrap().draft.gaps.is_empty(), "{}: a record lacks something", demo.today);
    }
}
