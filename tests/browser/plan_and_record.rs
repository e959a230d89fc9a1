//! The main job: an overdue hedge is found, another is seen held by the cap, the first is booked, recorded
//! on a phone, and comes back a year on; the log goes out as a file.
use crate::support::{Browser, House, Screen};
use chrono::NaiveDate;

#[tokio::test(flavor = "multi_thread")]
async fn from_the_due_list_to_the_log() {
    let house = House::open().await;
    let mut owner = Browser::start(&house, Screen::Desk, "plan").await;
    owner.sign_in(house.person("owner")).await;
    owner.picture("Due").await;

    // Why one hedge is held.
    owner.open("/due?show=held&host=eugenia").await;
    owner.sees("The annual cap of the land leaves too little").await;
    owner.follow("12 Lantern Row").await;
    owner.sees("held back with no day in sight").await;
    owner.open_every_reason().await;
    owner.sees("Cap of imidacloprid").await;
    owner.picture("held by the cap").await;

    // An overdue plant, booked for today.
    owner.open("/due?show=overdue").await;
    owner.follow("22 Fountain Road").await;
    owner.sees("Overdue").await;
    owner.picture("overdue site").await;
    let (site, plant) = house.overdue_at("22 Fountain Road").await;
    owner.open(&format!("/visits/new?site={site}&plant={plant}&day={}", house.today)).await;
    owner.select("technician", &house.id_of("technician").await).await;
    owner.press("Work the doses out").await;
    owner.sees("The dose").await;
    owner.press("Book the visit").await;
    let visit = owner.path().await;
    assert!(visit.starts_with("/visits/"), "{visit}");
    owner.fits_its_width().await;

    // The technician does it, on a phone.
    let mut technician = Browser::start(&house, Screen::Phone, "record").await;
    technician.sign_in(house.person("technician")).await;
    technician.fits_its_width().await;
    technician.open(&visit).await;
    technician.sees("22 Fountain Road").await;
    technician.sees("gloves").await;
    technician.picture("the stop").await;
    technician.fits_its_width().await;
    technician.open(&format!("{visit}/records")).await;
    technician.press("Record the visit").await;
    technician.sees("Choose what was done").await;
    technician.choose_first("planned").await;
    technician.fill_time("started_at", "09:30").await;
    technician.fill_time("finished_at", "09:50").await;
    technician.select("wind_direction", "W").await;
    technician.fill("wind_mph", "3").await;
    technician.fill("temperature_f", "61").await;
    technician.press("Record the visit").await;
    technician.sees("Complete").await;
    technician.fits_its_width().await;
    technician.close().await;

    // Its day has moved a year on, and it says why.
    let due = house.due_of(plant).await;
    let next_year = house.today.checked_add_months(chrono::Months::new(12)).unwrap();
    assert!(due > house.today + chrono::TimeDelta::days(300) && due <= next_year, "{due}");
    owner.open(&format!("/sites/{site}")).await;
    owner.open_every_reason().await;
    owner.sees("Last application on Nov 25, 2026").await;
    owner.picture("a year on").await;

    // The log goes out.
    let first = NaiveDate::from_ymd_opt(2026, 11, 1).unwrap();
    owner.open(&format!("/reports/log?from={first}&until={}", house.today)).await;
    owner.sees("22 Fountain Road").await;
    owner.picture("the log").await;
    let csv = owner.download(&format!("/reports/log.csv?from={first}&until={}", house.today)).await;
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert!(rows.iter().any(|row| row.iter().any(|cell| cell.contains("22 Fountain Road"))), "{csv}");
    owner.close().await;
}
