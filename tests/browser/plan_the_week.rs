//! The owner's Monday: the week is planned, changed by keyboard, locked, planned anew around the lock and
//! released; the technician sees it in order on a phone.
use crate::support::{Browser, House, Screen};
use chrono::{Datelike, Days};
use std::time::Duration;

#[tokio::test(flavor = "multi_thread")]
async fn from_the_due_list_to_the_technicians_order() {
    let house = House::open().await;
    let monday = house.today.week(chrono::Weekday::Mon).first_day() + Days::new(7);
    assert_eq!(monday.weekday(), chrono::Weekday::Mon);
    let week = format!("/plans/{monday}");
    let mut owner = Browser::start(&house, Screen::Desk, "week").await;
    owner.sign_in(house.person("owner")).await;
    owner.sees("Plan the week").await;
    owner.open(&week).await;
    owner.sees("sites with plants due by").await;
    owner.select("seconds", "5").await;
    owner.picture("before").await;
    owner.passes_axe("before").await;
    owner.press("Plan the week").await;
    owner.sees("percent").await;
    owner.picture("being calculated").await;
    owner.passes_axe("being calculated").await;
    finished(&mut owner, &week).await;
    owner.sees("Before the calculation").await;
    owner.picture("the week").await;
    owner.passes_axe("the week").await;
    owner.fits_its_width().await;

    // By keyboard alone: the first stop's button is reached with the tab key and pressed with the space bar.
    let street = house.first_of(monday).await;
    owner.key_to("later", &street).await;
    owner.sees(&format!("{street} comes later")).await;
    owner.key_to("lock", &street).await;
    owner.sees(&format!("{street} is locked")).await;
    let locked = house.stands(monday, &street).await;
    owner.press("Plan around what is locked").await;
    finished(&mut owner, &week).await;
    assert_eq!(house.stands(monday, &street).await, locked, "a locked stop stays");
    owner.picture("around the lock").await;
    owner.press("Release to the technicians").await;
    owner.sees("released to the technicians").await;
    owner.picture("released").await;
    let (technician, day, ..) = house.stands(monday, &street).await;
    owner.open(&format!("/route-sheets/{technician}/{day}")).await;
    owner.picture("route sheet").await;
    owner.passes_axe("route sheet").await;
    let paper = owner.paper("route-sheet").await;
    assert!(paper.contains(&street) && paper.contains("The label and local rules decide"), "{paper}");
    assert!(!paper.contains("Sign out"), "navigation stays off the paper: {paper}");
    owner.close().await;

    // The same pages in a narrow window.
    let mut narrow = Browser::start(&house, Screen::Phone, "week-narrow").await;
    narrow.sign_in(house.person("owner")).await;
    for (path, words) in [("/plans", "weeks"), (week.as_str(), "the week"), ("/plans/2027-01-04", "before")] {
        narrow.open(path).await;
        narrow.picture(words).await;
        narrow.fits_its_width().await;
    }
    narrow.open(&house.stop_of(monday, &street).await).await;
    narrow.sees("Move it").await;
    narrow.picture("move").await;
    narrow.passes_axe("move").await;
    narrow.fits_its_width().await;
    narrow.close().await;

    let mut technician = Browser::start(&house, Screen::Phone, "week-seen").await;
    technician.sign_in(house.person("technician")).await;
    technician.open("/visits").await;
    let order = house.order_of("technician", monday).await;
    assert!(!order.is_empty(), "the technician has stops");
    let text = technician.text().await;
    let places: Vec<usize> =
        order.iter().map(|words| text.find(words).unwrap_or_else(|| panic!("{words}\n{text}"))).collect();
    assert!(places.is_sorted(), "{order:?}\n{text}");
    technician.picture("in order").await;
    technician.fits_its_width().await;
    technician.close().await;
}

/// Looks again until the calculation has ended.
async fn finished(owner: &mut Browser, week: &str) {
    for _ in 0..120 {
        owner.open(week).await;
        if !owner.text().await.contains("The week is being calculated") {
            return;
        }
        tokio::time::sleep(Duration::from_millis(500)).await;
    }
    panic!("the calculation does not end");
}
