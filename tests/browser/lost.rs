//! What a phone sends more than once, and what somebody left on it: an answer that never arrives, and work that the
//! owner opens because whoever did it does not come back.
use crate::support::{Browser, Gate, House, Screen};
use serde_json::{Value, json};
use uuid::Uuid;

impl House {
    /// The technician's first stop that is still to come: id, street, doses.
    async fn next_stop(&self) -> (Uuid, String, i64) {
        sqlx::query_as(
            "select v.id, s.street, count(*) from visit v join site s on s.id = v.site_id join planned_dose d on d.visit_id = v.id
             where v.technician_id = $1::uuid and v.status = 'booked' and v.on_date between $2 and $2 + 7
             group by v.id, s.street order by v.on_date, v.id limit 1",
        )
        .bind(self.id_of("technician").await)
        .bind(self.today)
        .fetch_one(&self.pool)
        .await
        .unwrap()
    }

    /// Records of that visit, and completions that came for it: how many, from whom, in what state.
    async fn came_of(&self, visit: Uuid) -> (i64, Vec<(String, String)>) {
        let records = sqlx::query_scalar("select count(*) from application_record where visit_id = $1")
            .bind(visit)
            .fetch_one(&self.pool)
            .await
            .unwrap();
        let sent = sqlx::query_as(
            "select p.name, c.state from completion c join person p on p.id = c.person_id where c.visit_id = $1 order by c.id",
        )
        .bind(visit)
        .fetch_all(&self.pool)
        .await
        .unwrap();
        (records, sent)
    }
}

/// Records the stop as planned.
async fn records(phone: &Browser, visit: Uuid, doses: i64) {
    phone.script(&format!("location.hash = '#stop-{visit}'"), vec![]).await;
    phone.waits_for("In an emergency").await;
    phone.tap("I looked: no bloom, soil moist, no rain. Begin", 0).await;
    for at in 0..doses {
        phone.tap("Done as planned", usize::try_from(at).unwrap()).await;
    }
    phone.script("document.getElementById('finish').click()", vec![]).await;
    tokio::time::sleep(std::time::Duration::from_millis(300)).await;
    if phone.text().await.contains("A rule of the state wants this written down") {
        phone.tap("Finish without it", 0).await;
    }
    phone.waits_for("My visits").await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_answer_that_never_arrives_makes_no_second_record() {
    let house = House::now().await;
    let gate = Gate::before(house.address).await;
    let (visit, street, doses) = house.next_stop().await;
    let mut phone = Browser::at(gate.address, Screen::Phone, "field-lost", None).await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&street).await;
    phone.is_kept().await;
    gate.loses(2);
    records(&phone, visit, doses).await;
    // It arrives, nobody hears of it, it is sent again under the same key: twice, and the third time is answered.
    for _ in 0..400 {
        if gate.lost() == 2 {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    assert_eq!(gate.lost(), 2, "both answers were lost on the way");
    let (records, sent) = house.came_of(visit).await;
    assert_eq!((records, sent.len()), (1, 1), "the first one arrived");
    assert_eq!(phone.stored("outbox").await.len(), 1, "the phone keeps it until it hears");
    phone.waits_for("Everything is accepted.").await;
    assert_eq!(house.came_of(visit).await, (records, sent), "and the others changed nothing");
    let items = phone.stored("outbox").await;
    assert_eq!((items.len(), &items[0]["state"]), (1, &json!("accepted")));
    let problems = plantward::db::chain::verify(&house.pool, None).await.unwrap().faults;
    assert_eq!(problems, Vec::<String>::new());
    phone.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_owner_opens_what_somebody_left_and_it_is_sent_under_their_name() {
    let house = House::now().await;
    let gate = Gate::before(house.address).await;
    let (visit, street, doses) = house.next_stop().await;
    let mut phone = Browser::at(gate.address, Screen::Phone, "field-left", None).await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for(&street).await;
    phone.is_kept().await;
    gate.shut();
    records(&phone, visit, doses).await;
    phone.waits_for("1 completion is on this phone").await;
    phone.tap("Sign out", 0).await;
    phone.waits_for("One completion is still locked on this phone").await;
    gate.open();

    // The office cannot: it has no key and is offered none.
    phone.open("/account").await;
    phone.leaves().await;
    phone.sign_in(house.person("office")).await;
    phone.open_field().await;
    phone.tap("Sent and unsent", 0).await;
    phone.waits_for("Locked").await;
    assert!(!phone.text().await.contains("Open it as the owner"));
    phone.open("/account").await;
    phone.leaves().await;
    assert_eq!(house.came_of(visit).await, (0, vec![]));

    phone.sign_in(house.person("owner")).await;
    phone.open_field().await;
    phone.tap("Sent and unsent", 0).await;
    phone.waits_for("Open it as the owner").await;
    phone.is_accessible("the owner may open it").await;
    phone.tap("Open it as the owner", 0).await;
    phone.waits_for("The server keeps it as it was sent; the office reads it and records the visit.").await;
    phone.is_accessible("opened by the owner").await;
    let owner = house.person("owner").name.clone();
    assert_eq!(house.came_of(visit).await, (0, vec![(owner.clone(), "kept".to_owned())]));
    // What the technician wrote is in it, word for word, and their signature.
    let sent: String = sqlx::query_scalar("select sent::text from completion where visit_id = $1")
        .bind(visit)
        .fetch_one(&house.pool)
        .await
        .unwrap();
    let sent: Value = serde_json::from_str(&sent).unwrap();
    assert_eq!(sent["signature"]["name"], json!(house.person("technician").name));
    assert_eq!(sent["plants"].as_array().unwrap().len(), usize::try_from(doses).unwrap());
    let noted: Vec<String> = sqlx::query_scalar(
        "select p.name from audit a join person p on p.id = a.person_id where a.deed = 'opened unsent work'",
    )
    .fetch_all(&house.pool)
    .await
    .unwrap();
    assert_eq!(noted, [owner], "that it was opened is written down");
    // The key does not stay.
    let keys = "const done = arguments[0]; const asked = indexedDB.open('plantward-field'); asked.onsuccess = () => { \
        const all = asked.result.transaction('keys').objectStore('keys').getAllKeys(); all.onsuccess = () => { asked.result.close(); done(all.result); }; }";
    assert_eq!(phone.later(keys, vec![]).await, json!([house.id_of("owner").await]));
    phone.close().await;
}

impl Browser {
    /// Ends the session, where the page still has one.
    async fn leaves(&self) {
        // Where somebody left without signal, the page does it by itself.
        self.script("document.querySelector('form[action=\"/sign-out\"] button')?.click()", vec![]).await;
        for _ in 0..100 {
            if self.path().await.starts_with("/sign-in") {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
        panic!("not signed out but at {}", self.path().await);
    }
}
