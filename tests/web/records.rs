//! Records without a visit, flags and their answers, and the chain.
use crate::{
    support::{Answer, Visitor, World},
    yard::{Yard, certify},
};
use axum::http::StatusCode;
use plantward::db;
use uuid::Uuid;

/// A record as the form sends it: this much product on this plant.
pub async fn record(
    who: &Visitor,
    yard: &Yard,
    plant: Option<Uuid>,
    amount: &str,
    more: &[(&str, &str)],
) -> (String, Answer) {
    let id = Uuid::now_v7().to_string();
    let (site, label_use, own) = (yard.site.to_string(), yard.label_use.to_string(), who.id.to_string());
    let plant = plant.map(|p| p.to_string()).unwrap_or_default();
    let mut fields = vec![
        ("id", id.as_str()),
        ("site", &site),
        ("origin", "own"),
        ("on", "2026-11-25"),
        ("applicator", &own),
        ("rows", "1"),
        ("plant-0", &plant),
        ("use-0", &label_use),
        ("amount-0", amount),
        ("unit-0", "mL"),
        ("step", "save"),
    ];
    for (name, value) in more {
        fields.retain(|(n, _)| n != name);
        fields.push((name, value));
    }
    let answer = who.post_sure("/records", &fields).await;
    (format!("/records/{id}"), answer)
}

#[tokio::test]
async fn a_hedge_over_the_cap_is_a_fact_with_a_flag() {
    let world = World::new().await;
    let owner = world.owner().await;
    let office = world.office().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    let (path, answer) =
        record(&owner, &yard, Some(hedge), "300", &[("measure-0", "8"), ("count-0", "5")]).await;
    answer.went_to(&path);
    let shown = owner.get(&path).await;
    for words in [
        "Over the annual cap",
        "Outside the label",
        "Not answered",
        "120 mL to 240 mL",
        "Missing",
        "start time",
    ] {
        assert!(shown.page().contains(words), "{words}: {}", shown.body);
    }
    assert!(office.get("/records?show=flagged").await.page().contains("Flagged"));
    assert!(!shown.body.contains(">Complete<"), "a flag is open: {}", shown.body);
    let flags: Vec<Uuid> =
        sqlx::query_scalar("select id from record_flag order by rule").fetch_all(&world.pool).await.unwrap();
    assert_eq!(flags.len(), 2);
    assert!(!office.get(&path).await.page().contains("Answer the flag"), "no certification, no form");
    for flag in &flags {
        let (address, field) = (format!("/flags/{flag}/answers"), format!("answer-{flag}"));
        let refused = office.post(&address, &[(&field, "we will see")]).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(refused.body.contains("certification that is current"), "{}", refused.body);
        let silent = owner.post(&address, &[(&field, "")]).await;
        assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
        owner.post(&address, &[(&field, "Told the county; no more this year.")]).await.went_to(&path);
    }
    let answered = office.get(&path).await;
    assert!(answered.page().contains("Told the county") && !answered.body.contains("Not answered"));
    assert!(office.get("/records?show=flagged").await.page().contains("No records"));
    assert_eq!(
        yard.due_on(&world, hedge).await.unwrap().to_string(),
        "2027-11-25",
        "protected for its year, whatever was over the cap"
    );
}

#[tokio::test]
async fn the_lawn_of_another_company_counts_and_a_withdrawal_takes_it_out() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    assert_eq!(yard.due_on(&world, hedge).await.unwrap().to_string(), "2026-11-25");
    let more = [
        ("origin", "other-company"),
        ("other_name", "Lawn crew"),
        ("words-0", "front lawn"),
        ("on", "2026-06-01"),
    ];
    let (path, answer) = record(&owner, &yard, None, "150", &more).await;
    answer.went_to(&path);
    let shown = owner.get(&path).await;
    assert!(
        shown.page().contains("another company") && shown.body.contains("Against a state rule"),
        "{}",
        shown.body
    );
    assert_eq!(
        yard.due_on(&world, hedge).await.unwrap().to_string(),
        "2027-01-01",
        "120 mL no longer fit this year"
    );
    let amendments = format!("{path}/amendments");
    let fields = [("version", "1"), ("step", "withdraw"), ("reason", "it was the neighbour's lawn")];
    owner.post(&amendments, &fields).await.went_to(&path);
    assert_eq!(yard.due_on(&world, hedge).await.unwrap().to_string(), "2026-11-25");
    let withdrawn = owner.get(&path).await;
    assert!(withdrawn.page().contains("Withdrawn") && withdrawn.body.contains("Overtaken by an amendment"));
}

/// Everything that is kept about the due days of the company, in one text.
async fn kept(world: &World) -> String {
    sqlx::query_scalar("select coalesce(jsonb_agg(d order by d.plant_id), '[]')::text from due d")
        .fetch_one(&world.pool)
        .await
        .unwrap()
}

#[tokio::test]
async fn what_is_amended_and_amended_back_leaves_every_due_day_as_it_was() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let front = yard.hedge(&world, "front hedge", 1).await;
    yard.hedge(&world, "side hedge", 5).await;
    let unrecorded = kept(&world).await;
    let first = [("measure-0", "8"), ("on", "2026-06-01"), ("count-0", "1")];
    let (path, answer) = record(&owner, &yard, Some(front), "24", &first).await;
    answer.went_to(&path);
    let before = kept(&world).await;
    assert_ne!(before, unrecorded, "a record moves the day");
    let (plant, label_use, own) = (front.to_string(), yard.label_use.to_string(), owner.id.to_string());
    let amend = async |version: &str, on: &str, amount: &str| {
        let fields = [
            ("version", version),
            ("rows", "1"),
            ("origin", "own"),
            ("on", on),
            ("applicator", &own),
            ("plant-0", &plant),
            ("use-0", &label_use),
            ("measure-0", "8"),
            ("count-0", "1"),
            ("amount-0", amount),
            ("unit-0", "mL"),
            ("step", "save"),
            ("reason", "misread the sheet"),
        ];
        owner.post_sure(&format!("{path}/amendments"), &fields).await.went_to(&path);
        kept(&world).await
    };
    let more = amend("1", "2026-06-01", "150").await;
    assert_ne!(more, before, "what is left for the side hedge is less");
    let earlier = amend("2", "2025-06-01", "24").await;
    assert_ne!(earlier, before, "protection ended already");
    assert_eq!(amend("3", "2026-06-01", "24").await, before, "amending back restores");
    let fields = [("version", "4"), ("step", "withdraw"), ("reason", "it never happened")];
    owner.post_sure(&format!("{path}/amendments"), &fields).await.went_to(&path);
    assert_eq!(kept(&world).await, unrecorded, "and so does withdrawing");
}

#[tokio::test]
async fn what_cannot_be_read_is_refused_and_stays_as_typed() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    for (name, value, words) in [
        ("amount-0", "a cupful", "This is not a number"),
        ("amount-0", "", "Write how much product was applied."),
        ("unit-0", "bucket", "Please choose one of these."),
        ("unit-0", "oz", "is poured: write its amount as a volume"),
        ("on", "2026-11-26", "This day is still to come"),
        ("temperature_f", "999", "out of range"),
        ("finished_at", "noon", "This is not a time"),
    ] {
        let (_, refused) =
            record(&owner, &yard, Some(hedge), "60", &[(name, value), ("note", "kept as typed")]).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}={value}");
        assert!(refused.body.contains(words), "{name}={value}: {}", refused.body);
        assert!(refused.body.contains("kept as typed"), "{name}={value}");
    }
    let (_, row) = record(&owner, &yard, Some(hedge), "60", &[("step", "row")]).await;
    assert!(row.page().contains("Item 2"), "a further row, nothing written");
    let rows: i64 =
        sqlx::query_scalar("select count(*) from application_record").fetch_one(&world.pool).await.unwrap();
    assert_eq!(rows, 0);
}

#[tokio::test]
async fn an_uncertified_applicator_is_flagged_and_named_with_the_supervisor() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    let (helper, boss) = (world.technician().await.id.to_string(), owner.id.to_string());
    let more = [("applicator", helper.as_str()), ("supervisor", &boss), ("measure-0", "8")];
    let (path, answer) = record(&owner, &yard, Some(hedge), "150", &more).await;
    answer.went_to(&path);
    let shown = owner.get(&path).await;
    for words in ["Against a state rule", "Supervising applicator", "Maren Quist", "Ines Okoro"] {
        assert!(shown.page().contains(words), "{words}: {}", shown.body);
    }
    certify(&world, helper.parse().unwrap()).await;
    assert!(
        owner.get(&path).await.page().contains("Against a state rule"),
        "a later certification changes no fact"
    );
}

#[tokio::test]
async fn rows_stay_and_a_forged_one_is_named() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    for amount in ["20", "30.50", "40"] {
        let (path, answer) =
            record(&owner, &yard, Some(hedge), amount, &[("wind_mph", "2.50"), ("note", "gate \"B\"\nopen")])
                .await;
        answer.went_to(&path);
    }
    assert_eq!(db::chain::verify(&world.pool, None).await.unwrap().faults, Vec::<String>::new());
    for change in [
        "update application_record set note = 'nothing'",
        "delete from application_item",
        "truncate application_record cascade",
        "update application_item set amount = 1",
    ] {
        let error = sqlx::query(change).execute(&world.pool).await.unwrap_err();
        assert_eq!(db::broken_constraint(&error), Some("application_record_stays"), "{change}");
    }
    for sql in [
        "alter table application_item disable trigger all",
        "update application_item set amount = 10
            where record_id = (select id from application_record where seq = 2)",
        "alter table application_item enable trigger all",
    ] {
        sqlx::query(sql).execute(&world.pool).await.unwrap();
    }
    let wrong = db::chain::verify(&world.pool, None).await.unwrap().faults;
    assert_eq!(wrong.len(), 1, "{wrong:?}");
    assert!(
        wrong[0].starts_with("place 2, record ") && wrong[0].ends_with("differs from its columns or items"),
        "{wrong:?}"
    );
}

#[tokio::test]
async fn a_removed_row_and_a_rewritten_text_break_the_chain() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    for amount in ["20", "30", "40"] {
        record(&owner, &yard, Some(hedge), amount, &[]).await.1.went_to_a_record();
    }
    let run = |sql: &'static str| sqlx::query(sql).execute(&world.pool);
    for table in [
        "alter table application_record disable trigger all",
        "alter table application_item disable trigger all",
    ] {
        run(table).await.unwrap();
    }
    run("update application_record set body = replace(body, '\"40\"', '\"4\"') where seq = 3").await.unwrap();
    let wrong = db::chain::verify(&world.pool, None).await.unwrap().faults;
    assert!(
        wrong.iter().any(|w| w.starts_with("place 3") && w.ends_with("its hash does not fit its text")),
        "{wrong:?}"
    );
    run("delete from record_flag").await.unwrap();
    run("delete from application_item where record_id = (select id from application_record where seq = 2)")
        .await
        .unwrap();
    run("delete from application_record where seq = 2").await.unwrap();
    let wrong = db::chain::verify(&world.pool, None).await.unwrap().faults;
    assert!(wrong[0].contains("a gap: the place before it is 1"), "{wrong:?}");
}

#[tokio::test]
async fn the_log_turns_its_pages_without_losing_a_record() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    for n in 0..60 {
        let words = format!("bed {n}");
        record(&owner, &yard, None, "0.5", &[("words-0", &words)]).await.1.went_to_a_record();
    }
    let first = owner.get("/records?state=ca").await;
    let next =
        first.page().split("href=\"").find(|h| h.starts_with("/records?") && h.contains("after=")).unwrap();
    let next = next.split('"').next().unwrap().replace("&amp;", "&").replace("&#38;", "&");
    let second = owner.get(&next).await;
    assert_eq!(first.body.matches("/records/0").count() + second.page().matches("/records/0").count(), 60);
    let mut conn = world.pool.acquire().await.unwrap();
    let filter =
        db::record::Filter { state: "CA".into(), county: "san luis obispo".into(), ..Default::default() };
    let (mut after, mut seen) = (None, 0);
    loop {
        let batch = db::record::report(&mut conn, &filter, after, 25).await.unwrap();
        let Some(last) = batch.last() else { break };
        after = Some(db::record::After { applied_on: last.head.applied_on, id: last.head.id });
        seen += batch.len();
    }
    assert_eq!(seen, 60);
}

#[tokio::test]
async fn the_same_form_leads_to_its_record_and_another_does_not_pass_for_it() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let more = [("measure-0", "8"), ("started_at", "09:30"), ("note", "gate\r\nopen")];
    let (path, answer) = record(&owner, &yard, Some(hedge), "24", &more).await;
    answer.went_to(&path);
    let id = path.trim_start_matches("/records/");
    sqlx::query("update customer set name = 'Odile Farrant-Lisle'").execute(&world.pool).await.unwrap();
    let again = [more[0], more[1], ("note", "gate\nopen"), ("id", id)];
    record(&owner, &yard, Some(hedge), "24.0", &again).await.1.went_to(&path);
    let (_, other) = record(&owner, &yard, Some(hedge), "30", &again).await;
    assert_eq!(other.status, StatusCode::UNPROCESSABLE_ENTITY);
    let link = format!("id=\"f-id\" href=\"{path}\"");
    assert!(other.body.contains("amend it instead") && other.body.contains(&link), "{}", other.body);
    let rows: i64 =
        sqlx::query_scalar("select count(*) from application_record").fetch_one(&world.pool).await.unwrap();
    assert_eq!(rows, 1);
}

#[tokio::test]
async fn an_amendment_that_amends_nothing_is_refused() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let (path, answer) = record(&owner, &yard, Some(hedge), "24", &[("measure-0", "8")]).await;
    answer.went_to(&path);
    let (plant, label_use, own) = (hedge.to_string(), yard.label_use.to_string(), owner.id.to_string());
    let mut fields = vec![
        ("version", "1"),
        ("rows", "2"),
        ("origin", "own"),
        ("on", "2026-11-25"),
        ("applicator", &own),
        ("plant-0", &plant),
        ("use-0", &label_use),
        ("measure-0", "8.0"),
        ("count-0", "1"),
        ("amount-0", "24"),
        ("unit-0", "mL"),
        ("water_unit-0", "cup"),
        ("step", "save"),
        ("reason", "just so"),
    ];
    let refused = owner.post_sure(&format!("{path}/amendments"), &fields).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.body.contains("Nothing is changed"), "{}", refused.body);
    fields.push(("wind_mph", "2"));
    owner.post_sure(&format!("{path}/amendments"), &fields).await.went_to(&path);
}

#[tokio::test]
async fn a_record_speaks_plainly_and_prints_without_buttons() {
    let world = World::new().await;
    let owner = world.owner().await;
    let yard = Yard::new(&world, &owner).await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    let (path, answer) =
        record(&owner, &yard, Some(hedge), "300", &[("measure-0", "8"), ("started_at", "09:30")]).await;
    answer.went_to(&path);
    let shown = owner.get(&path).await;
    for words in [
        "All fields there",
        "<dt>Does it count?</dt><dd class=\"lines\">yes</dd>",
        "Shrubs, basal drench: basal drench",
        "<summary>Proof that it was not changed</summary>",
    ] {
        assert!(shown.page().contains(words), "{words}: {}", shown.body);
    }
    assert!(!shown.body.contains(">Complete<"), "{}", shown.body);
    let main = shown.body.split("<main").nth(1).unwrap();
    let buttons = main.matches("<button").count();
    assert_eq!(
        buttons,
        main.matches("<form class=\"screen-only\"").count(),
        "each stands in what paper leaves out"
    );
    assert!(buttons > 0, "flags wait for an answer");
}
