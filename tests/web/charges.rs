//! What services are charged: the page, the file for the bookkeeper and the statement for the customer.
use crate::{
    records::record,
    support::{Visitor, World},
    yard::Yard,
};
use axum::http::StatusCode;
use uuid::Uuid;

const NOVEMBER: &str = "/reports/charges?from=2026-11-01&until=2026-11-30";

async fn agree(who: &Visitor, yard: &Yard, basis: &str, price: &str) {
    let (id, at) = (Uuid::now_v7().to_string(), format!("/sites/{}/agreements", yard.site));
    let fields = [("id", id.as_str()), ("basis", basis), ("price", price), ("starts_on", "2026-01-05")];
    who.post(&at, &fields).await.went_to(&at);
}

/// The file's rows after its head, by the names of its columns.
async fn rows(who: &Visitor, path: &str) -> Vec<std::collections::HashMap<String, String>> {
    let file = who.get(&path.replace("charges?", "charges.csv?")).await;
    let disposition = file.headers["content-disposition"].to_str().unwrap().to_owned();
    assert!(disposition.contains("charges_2026-"), "{disposition}");
    csv::Reader::from_reader(file.page().as_bytes()).deserialize().map(Result::unwrap).collect()
}

#[tokio::test]
async fn a_service_is_charged_by_what_was_poured_that_day() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &maren).await;
    let hedge = yard.hedge(&world, "front hedge", 5).await;
    let measured = [("measure-0", "7.5"), ("count-0", "5")];
    let (path, answer) = record(&maren, &yard, Some(hedge), "112.5", &measured).await;
    answer.went_to(&path);
    let unknown = rows(&tobias, NOVEMBER).await;
    assert_eq!((unknown[0]["amount_usd"].as_str(), unknown[0]["note"].as_str()), ("", "no price is agreed"));
    assert!(tobias.get(NOVEMBER).await.page().contains("1 line has no price yet"));
    agree(&tobias, &yard, "foot", "4.333").await;
    // 5 x 7.5 ft at 4.333: 162.4875, to the cent 162.49.
    let known = rows(&tobias, NOVEMBER).await;
    assert_eq!(known.len(), 1);
    for (column, value) in [
        ("service_date", "2026-11-25"),
        ("customer", "Odile Farrant"),
        ("basis", "foot of height"),
        ("quantity", "37.5"),
        ("unit_price_usd", "4.333"),
        ("amount_usd", "162.49"),
        ("currency", "USD"),
    ] {
        assert_eq!(known[0][column], value, "{column}: {known:?}");
    }
    assert_eq!(known[0]["record"], path.rsplit('/').next().unwrap());
    let page = tobias.get(NOVEMBER).await;
    assert!(page.page().contains("37.5 ft at $4.333") && page.body.contains("$162.49"), "{}", page.body);
    let paper = tobias.paper(&format!("{path}/statement")).await;
    for said in [
        "Service statement, Nov 25, 2026",
        "Odile Farrant",
        "112.5 mL",
        "EPA Reg. No. 99999-12",
        "aphids",
        "$162.49",
        "Applied by Maren Quist (QA-",
        "Keep people and pets out until dry",
        "Prepared by Tobias Fenn",
        "a licensed person answers",
        "Page 1 of 1",
    ] {
        assert!(paper.contains(said), "{said}\n{paper}");
    }
}

#[tokio::test]
async fn a_year_is_charged_with_its_first_service_only() {
    let world = World::new().await;
    let (maren, tobias) = (world.owner().await, world.office().await);
    let yard = Yard::new(&world, &maren).await;
    let (front, back) =
        (yard.hedge(&world, "front hedge", 1).await, yard.hedge(&world, "back hedge", 1).await);
    agree(&tobias, &yard, "year", "420").await;
    let (_, first) =
        record(&maren, &yard, Some(front), "24", &[("measure-0", "8"), ("on", "2026-06-01")]).await;
    first.went_to_a_record();
    let (path, second) = record(&maren, &yard, Some(back), "24", &[("measure-0", "8")]).await;
    second.went_to(&path);
    let sums = async |from: &str, until: &str| {
        let all = rows(&tobias, &format!("/reports/charges?from={from}&until={until}")).await;
        all.iter().map(|r| r["amount_usd"].clone()).collect::<Vec<_>>()
    };
    assert_eq!(sums("2026-06-01", "2026-06-30").await, ["0.00", "420.00"]);
    assert_eq!(sums("2026-11-01", "2026-11-30").await, ["0.00", "0.00"]);
    let november = rows(&tobias, NOVEMBER).await;
    assert!(november[1]["note"].contains("charged with the service of 2026-06-01"), "{november:?}");
    assert!(tobias.get(NOVEMBER).await.page().contains("service of Jun 1, 2026"));
    // Withdrawn, the first service is none, and the year is charged with the second.
    let june = tobias.get("/reports/charges?from=2026-06-01&until=2026-06-30").await;
    let at = june.page().find("/records/").unwrap();
    let record = june.body[at..].split('"').next().unwrap().to_owned();
    let withdraw = [("version", "1"), ("step", "withdraw"), ("reason", "twice")];
    maren.post(&format!("{record}/amendments"), &withdraw).await.went_to(&record);
    assert_eq!(sums("2026-11-01", "2026-11-30").await, ["0.00", "420.00"]);
    assert_eq!(tobias.get(&format!("{record}/statement")).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn formulas_are_inert_and_days_are_checked() {
    let world = World::new().await;
    let (maren, tobias, ines) = (world.owner().await, world.office().await, world.technician().await);
    let yard = Yard::new(&world, &maren).await;
    sqlx::query("update customer set name = '=1+1'").execute(&world.pool).await.unwrap();
    let hedge = yard.hedge(&world, "front hedge", 1).await;
    let (path, answer) = record(&maren, &yard, Some(hedge), "24", &[("measure-0", "8")]).await;
    answer.went_to(&path);
    assert_eq!(rows(&tobias, NOVEMBER).await[0]["customer"], "'=1+1");
    for (from, until, told) in [
        ("2026-11-30", "2026-11-01", "The last day comes before the first."),
        ("2025-11-01", "2026-11-30", "Ask for a year at most."),
        ("soon", "2026-11-30", "This is not a date"),
    ] {
        for file in ["charges", "charges.csv"] {
            let answer = tobias.get(&format!("/reports/{file}?from={from}&until={until}")).await;
            assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{from} {until}");
            assert!(answer.body.contains(told), "{told}");
        }
    }
    for closed in ["/reports/charges", "/reports/charges.csv", &format!("{path}/statement")] {
        assert_eq!(ines.get(closed).await.status, StatusCode::NOT_FOUND, "{closed}");
    }
}
