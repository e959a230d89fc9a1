//! Customers, sites, plants and products: from a list to rows and back again.
use super::{bring, bring_as, bring_in, check, count, whole};
use crate::support::World;
use axum::http::StatusCode;
use plantward::actions::import;
use uuid::Uuid;

const CUSTOMERS: &str = "Customer No.,Customer Name,E-Mail,Phone Number,Street Address,Town,ST,Zip Code,Notes\r\n\
    K-1,Odile Farrant,ODILE@farrant.test,805-555-0123,14 Tamber Lane,Quillan Springs,ca,93499,\"Gate, left\"\r\n\
    K-2,Zoë Muñoz,,805-555-0124,2 Mill Road,Quillan Springs,CA,93499,'=1+1\r\n";
const SITES: &str = "site no;customer no;street;city;state;zip;county;lot\r\n\
    S-1;K-1;14 Tamber Lane;Quillan Springs;CA;93499;San Luis Obispo;10,890\r\n\
    S-2;K-2;2 Mill Road;Quillan Springs;CA;93499;San Luis Obispo;\r\n";
const PLANTS: &str = "site id\tlocation\tspecies\ttype\tqty\theight\tdbh\tstem rule\tpest\tedible\r\n\
    S-1\tfront hedge\tPodocarpus\tHedge\t40\t8\t\t\taphids\tno\r\n\
    S-1\tback yard\tAsh\ttree\t\t\t5, 6, 8\tsum\twhitefly\t?\r\n";

#[tokio::test]
async fn three_lists_build_on_each_other_and_are_taken_back_in_turn() {
    let world = World::new().await;
    let office = world.office().await;
    let customers = whole(&world, &office, "customers", CUSTOMERS).await;
    let (email, note): (String, String) =
        sqlx::query_as("select max(email), max(note) filter (where name like 'Zo%') from customer")
            .fetch_one(&world.pool)
            .await
            .unwrap();
    assert_eq!((email.as_str(), note.as_str()), ("odile@farrant.test", "=1+1"));
    assert_eq!(
        count(&world, "select count(*) from customer where name = 'Zoë Muñoz' and state = 'CA'").await,
        1
    );
    let sites = whole(&world, &office, "sites", SITES).await;
    assert_eq!(
        count(&world, "select count(*) from site s join parcel p on p.id = s.parcel_id join customer c on c.id = s.customer_id
            where s.street = '14 Tamber Lane' and p.lot_sqft = 10890 and c.name = 'Odile Farrant'").await,
        1
    );
    let plants = whole(&world, &office, "plants", PLANTS).await;
    assert_eq!(
        count(&world, "select count(*) from plant where count = 40 and height_ft = 8 and eaten = 'no'").await,
        1
    );
    assert_eq!(
        count(&world, "select count(*) from plant where stems_in = '{5,6,8}' and stem_rule = 'sum' and eaten = 'unknown'").await,
        1
    );
    let audit = "select count(*) from audit where deed = 'rows brought in' and detail ->> 'rows' = '2'";
    assert_eq!(count(&world, audit).await, 3);
    let hangs = office.post(&format!("{customers}/returns"), &[]).await;
    assert_eq!(hangs.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(hangs.body.contains("on its rows hang 2 sites"), "{}", hangs.body);
    let hangs = office.post(&format!("{sites}/returns"), &[]).await;
    assert!(hangs.body.contains("on its rows hang 2 plants"), "{}", hangs.body);
    for at in [&plants, &sites, &customers] {
        for _ in 0..2 {
            office.post(&format!("{at}/returns"), &[]).await.went_to(at);
        }
        assert!(office.get(at).await.page().contains("Taken back"));
    }
    for table in [
        "select count(*) from plant",
        "select count(*) from site",
        "select count(*) from parcel",
        "select count(*) from customer",
        "select count(*) from import_key",
        "select count(*) from import_part",
    ] {
        assert_eq!(count(&world, table).await, 0, "{table}");
    }
}

#[tokio::test]
async fn one_bad_line_keeps_all_out_and_is_given_back_with_its_reason() {
    let world = World::new().await;
    let office = world.office().await;
    let text = "name,state,zip,phone,email\r\nOdile,CA,93499,+1 805,\r\n\r\nZoë,Kalifornia,9,,x\r\nodile,CA,93499,,\r\n,CA,,,\r\n";
    let (at, brought) = bring(&office, "customers", "list.csv", text.as_bytes()).await;
    brought.went_to(&at);
    let checked = check(&world, &office, &at).await;
    let page = checked.page();
    for words in [
        "<q>Kalifornia</q>: Write the two letters",
        "<q>9</q>: A ZIP code has five digits",
        "<q>x</q>: This is not an e-mail address.",
        "The same stands on line 2.",
        "<strong>Name</strong>: Please fill this in.",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
    assert!(!page.contains("Bring in "), "all come in, or none");
    let refused = office.post(&format!("{at}/rows"), &[]).await;
    assert!(refused.body.contains("all come in or none"), "{}", refused.body);
    assert_eq!(count(&world, "select count(*) from customer").await, 0);
    let file = office.get(&format!("{at}/bad.csv")).await;
    let text = file.page().strip_prefix('\u{FEFF}').unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().unwrap();
    let lines: Vec<&str> = rows.iter().map(|row| &row[5]).collect();
    assert_eq!(lines, ["4", "5", "6"], "{text}");
    assert!(rows[0][6].contains("State: Write the two letters") && rows[0][6].contains("ZIP code: "));
    // Mended in that very file, with its further columns, it is taken.
    let mended = text.replace("Kalifornia", "CA").replace(",9,", ",93499,").replace(",x,", ",,");
    let mended: String = mended
        .lines()
        .filter(|line| !line.starts_with("odile") && !line.starts_with(','))
        .fold(String::new(), |all, line| all + line + "\r\n");
    whole(&world, &office, "customers", &mended).await;
    assert_eq!(count(&world, "select count(*) from customer where name = 'Zoë'").await, 1);
}

#[tokio::test]
async fn the_same_again_makes_nothing_twice() {
    let world = World::new().await;
    let office = world.office().await;
    let id = Uuid::now_v7().to_string();
    let at = format!("/imports/{id}");
    bring_as(&office, &id, "customers", "a.csv", CUSTOMERS.as_bytes()).await.went_to(&at);
    let twice = bring_as(&office, &id, "customers", "a.csv", CUSTOMERS.as_bytes()).await;
    assert!(
        twice.body.contains("This file was brought already.") && twice.body.contains(&at),
        "{}",
        twice.body
    );
    check(&world, &office, &at).await;
    for _ in 0..2 {
        office.post(&format!("{at}/rows"), &[]).await.went_to(&at);
    }
    assert!(import::work_one(&world.doer()).await.unwrap());
    assert!(!import::work_one(&world.doer()).await.unwrap());
    let same = bring(&office, "customers", "b.csv", CUSTOMERS.as_bytes()).await.1;
    assert!(same.body.contains("This very file was brought in on"), "{}", same.body);
    // A line more: those that are here are left out, the new one comes.
    let longer = format!("{CUSTOMERS}K-3,Perrin Dale,,,5 Oak Row,Quillan Springs,CA,93499,\r\n");
    let (at, brought) = bring(&office, "customers", "c.csv", longer.as_bytes()).await;
    brought.went_to(&at);
    let page = check(&world, &office, &at).await;
    assert!(page.page().contains("Bring in 1 line<"), "{}", page.body);
    bring_in(&world, &office, &at).await.page();
    assert_eq!(count(&world, "select count(*) from customer").await, 3);
}

#[tokio::test]
async fn what_changed_between_check_and_writing_is_seen() {
    let world = World::new().await;
    let office = world.office().await;
    whole(&world, &office, "customers", CUSTOMERS).await;
    let (at, brought) = bring(&office, "sites", "sites.csv", SITES.as_bytes()).await;
    brought.went_to(&at);
    check(&world, &office, &at).await;
    sqlx::query("delete from import_key where key = 'K-2'").execute(&world.pool).await.unwrap();
    let page = bring_in(&world, &office, &at).await;
    assert!(page.page().contains("Something changed since the lines were checked"), "{}", page.body);
    assert!(page.body.contains("<q>K-2</q>: No customer has this number"));
    assert_eq!(count(&world, "select count(*) from site").await, 0, "none came in");
}

#[tokio::test]
async fn somebody_worked_on_a_row_so_the_table_stays() {
    let world = World::new().await;
    let office = world.office().await;
    let at = whole(&world, &office, "customers", CUSTOMERS).await;
    let id: Uuid = sqlx::query_scalar("select id from customer where name like 'Odile%'")
        .fetch_one(&world.pool)
        .await
        .unwrap();
    office.get(&format!("/customers/{id}")).await.page();
    let fields = [("name", "Odile Farrant"), ("phone", "805-555-0199")];
    office.change(&format!("/customers/{id}"), &fields).await.went_to(&format!("/customers/{id}"));
    let refused = office.post(&format!("{at}/returns"), &[]).await;
    assert!(refused.body.contains("on its rows hang 1 changes by hand"), "{}", refused.body);
    assert_eq!(count(&world, "select count(*) from customer").await, 2);
}

#[tokio::test]
async fn a_visit_is_booked_at_a_site_so_its_table_stays() {
    let world = World::new().await;
    let office = world.office().await;
    whole(&world, &office, "customers", CUSTOMERS).await;
    let at = whole(&world, &office, "sites", SITES).await;
    sqlx::query(
        "insert into visit (id, site_id, technician_id, on_date, booked_by, booked_at)
         select $1, id, $2, '2026-12-01', $2, now() from site order by id limit 1",
    )
    .bind(Uuid::now_v7())
    .bind(office.id)
    .execute(&world.pool)
    .await
    .unwrap();
    let sites = count(&world, "select count(*) from site").await;
    let refused = office.post(&format!("{at}/returns"), &[]).await;
    assert!(refused.body.contains("on its rows hang 1 visits"), "{}", refused.body);
    assert_eq!(count(&world, "select count(*) from site").await, sites);
}

#[tokio::test]
async fn work_is_ended_and_taken_over() {
    let world = World::new().await;
    let office = world.office().await;
    let (at, _) = bring(&office, "customers", "a.csv", CUSTOMERS.as_bytes()).await;
    check(&world, &office, &at).await;
    office.post(&format!("{at}/rows"), &[]).await.went_to(&at);
    office.post(&format!("{at}/ends"), &[]).await.went_to(&at);
    assert!(!import::work_one(&world.doer()).await.unwrap(), "nobody takes what was ended");
    assert!(office.get(&at).await.page().contains("Ended before its time"));
    check(&world, &office, &at).await;
    office.post(&format!("{at}/rows"), &[]).await.went_to(&at);
    // A worker took it and was never heard of again.
    sqlx::query("update import set state = 'writing', started_at = '2026-11-24T00:00:00Z', beat_at = '2026-11-24T00:00:00Z'")
        .execute(&world.pool)
        .await
        .unwrap();
    assert!(import::work_one(&world.doer()).await.unwrap());
    assert_eq!(count(&world, "select count(*) from customer").await, 2);
}

#[tokio::test]
async fn columns_are_named_by_hand_and_a_needed_one_is_asked_for() {
    let world = World::new().await;
    let office = world.office().await;
    let text = "Rufname;Farbe\nOdile;grün\n";
    let (at, _) = bring(&office, "customers", "x.csv", text.as_bytes()).await;
    let asked = office.post(&format!("{at}/columns"), &[("name", "")]).await;
    assert_eq!(asked.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(asked.body.contains("Say in which column of the file this stands."));
    let twice = office.post(&format!("{at}/columns"), &[("name", "0"), ("note", "0")]).await;
    assert!(
        twice.body.contains("is given to &#34;Name&#34; already") || twice.body.contains("already."),
        "{}",
        twice.body
    );
    let beyond = office.post(&format!("{at}/columns"), &[("name", "7")]).await;
    assert_eq!(beyond.status, StatusCode::UNPROCESSABLE_ENTITY);
    office.post(&format!("{at}/columns"), &[("name", "0"), ("note", "1")]).await.went_to(&at);
    assert!(import::work_one(&world.doer()).await.unwrap());
    bring_in(&world, &office, &at).await.page();
    assert_eq!(
        count(&world, "select count(*) from customer where name = 'Odile' and note = 'grün'").await,
        1
    );
}

#[tokio::test]
async fn products_come_with_a_registration_and_templates_name_every_column() {
    let world = World::new().await;
    let office = world.office().await;
    let text = "Product Name,EPA Reg. No.,Formulation,Price,Price per,State,Expires\nRootward 2F,99999-12,liquid,1.85,fl oz,CA,12/31/2027\n";
    whole(&world, &office, "products", text).await;
    assert_eq!(
        count(
            &world,
            "select count(*) from product p join product_registration r on r.product_id = p.id
            where p.price = 1.85 and p.price_unit = 'floz' and r.expires_on = '2027-12-31'"
        )
        .await,
        1
    );
    for kind in plantward::domain::import::Kind::ALL {
        let file = office.get(&format!("/imports/templates/{}.csv", kind.code())).await;
        let heads: Vec<String> = file
            .page()
            .trim_start_matches('\u{FEFF}')
            .trim()
            .split(',')
            .map(|h| h.trim_matches('"').to_owned())
            .collect();
        let found = plantward::domain::import::guess(kind, &heads);
        let unnamed = kind.columns().iter().zip(found).find(|(_, at)| at.is_none());
        assert!(unnamed.is_none() || file.body.contains('"'), "{kind:?}: {unnamed:?}");
    }
}

#[tokio::test]
async fn lists_of_other_times_and_programs_are_read() {
    let world = World::new().await;
    let office = world.office().await;
    let latin = b"Name;Town\r\nZo\xEB Mu\xF1oz;Quillan\r\n".to_vec();
    let wide: Vec<u8> = [0xFF, 0xFE]
        .into_iter()
        .chain("Name\tTown\r\nPerrin Ölmer\tQuillan\r\n".encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    for (bytes, name) in [(latin, "Zoë Muñoz"), (wide, "Perrin Ölmer")] {
        let (at, brought) = bring(&office, "customers", "old.txt", &bytes).await;
        brought.went_to(&at);
        check(&world, &office, &at).await;
        bring_in(&world, &office, &at).await.page();
        let found: i64 = sqlx::query_scalar("select count(*) from customer where name = $1")
            .bind(name)
            .fetch_one(&world.pool)
            .await
            .unwrap();
        assert_eq!(found, 1, "{name}");
    }
    let plain = office.post("/imports", &[("kind", "customers")]).await;
    assert!(plain.status.is_client_error(), "a form without a file: {}", plain.status);
    let mut without_token = office.clone();
    without_token.csrf = "x".into();
    let id = Uuid::now_v7().to_string();
    let foreign = bring_as(&without_token, &id, "customers", "a.csv", b"name\nx\n").await;
    assert_eq!(foreign.status, StatusCode::FORBIDDEN);
}
