//! Signing in, what each role finds, and what is closed to them.
use crate::support::{Browser, House, Screen};

#[tokio::test(flavor = "multi_thread")]
async fn each_role_finds_its_own_door() {
    let house = House::open().await;
    let mut browser = Browser::start(&house, Screen::Desk, "roles").await;
    browser.open("/customers").await;
    browser.sees("Sign in").await;
    browser.fill("email", &house.person("office").email).await;
    browser.fill("password", "not the password of anybody").await;
    browser.press("Sign in").await;
    browser.sees("E-mail and password do not belong together.").await;
    browser.fill("password", &house.person("office").password).await;
    browser.press("Sign in").await;
    assert_eq!(browser.path().await, "/customers", "sign-in leads to where one wanted to go");
    browser.open("/people").await;
    let text = browser.text().await;
    assert!(!text.contains("Invite a person"), "only the owner invites");
    browser.open("/people/new").await;
    browser.sees("Nothing here").await;
    browser.open("/account").await;
    browser.press("Sign out").await;

    browser.sign_in(house.person("owner")).await;
    assert_eq!(browser.path().await, "/due");
    browser.open("/people").await;
    browser.follow("Invite a person").await;
    browser.fill("name", "Noor Halloran").await;
    browser.press("Make the invitation").await;
    browser.sees("Please fill this in.").await;
    browser.fill("email", "noor.halloran@bellwether.test").await;
    browser.choose("role", "technician").await;
    browser.press("Make the invitation").await;
    browser.sees("/invitation/").await;
    let text = browser.text().await;
    let link = text.split("/invitation/").nth(1).unwrap().split_whitespace().next().unwrap().to_owned();
    browser.press("Sign out").await;
    browser.close().await;

    let mut phone = Browser::start(&house, Screen::Phone, "invited").await;
    phone.open(&format!("/invitation/{link}")).await;
    phone.fits_its_width().await;
    phone.fill("password", "seven quiet camellias").await;
    phone.fill("again", "seven quiet camellias").await;
    phone.press("Set the password").await;
    phone.fill("email", "noor.halloran@bellwether.test").await;
    phone.fill("password", "seven quiet camellias").await;
    phone.press("Sign in").await;
    assert_eq!(phone.path().await, "/visits", "a technician starts with the day's visits");
    phone.fits_its_width().await;
    for closed in ["/due", "/customers", "/filings", "/people"] {
        phone.open(closed).await;
        phone.sees("Nothing here").await;
    }
    phone.close().await;
}
