//! An amount outside the label's band is asked about before it is recorded, and recorded when it is confirmed.
use crate::{
    support::{Answer, Visitor, World},
    yard::{Yard, book, certify},
};
use axum::http::StatusCode;
use uuid::Uuid;

/// A hedge of three, eight feet high: the band of 3 to 6 mL a foot is 72 to 144 mL.
struct Hedge {
    world: World,
    office: Visitor,
    owner: Visitor,
    ines: Visitor,
    yard: Yard,
    plant: Uuid,
}

impl Hedge {
    async fn new() -> Self {
        let world = World::new().await;
        let owner = world.owner().await;
        let (office, ines) = (world.office().await, world.technician().await);
        certify(&world, ines.id).await;
        let yard = Yard::new(&world, &owner).await;
        let plant = yard.hedge(&world, "front hedge", 3).await;
        Self { world, office, owner, ines, yard, plant }
    }

    async fn booked(&self) -> String {
        let (visit, answer) =
            book(&self.office, &self.yard, (self.ines.id, None), "2026-11-25", self.plant).await;
        answer.went_to(&visit);
        visit
    }

    async fn records(&self) -> i64 {
        sqlx::query_scalar("select count(*) from application_record")
            .fetch_one(&self.world.pool)
            .await
            .unwrap()
    }

    async fn flags(&self, record: &str) -> Vec<String> {
        sqlx::query_scalar("select rule from record_flag where record_id = $1::uuid order by rule")
            .bind(record)
            .fetch_all(&self.world.pool)
            .await
            .unwrap()
    }

    /// The visit's form as the technician sends it.
    async fn poured(&self, visit: &str, id: &str, amount: &str, more: &[(&str, &str)]) -> Answer {
        let key = |what: &str| format!("{what}-{}", self.plant);
        let (did, measure, poured, water) = (key("did"), key("measure"), key("amount"), key("water"));
        let mut fields = vec![
            ("id", id),
            ("on", "2026-11-25"),
            (did.as_str(), "other"),
            (&measure, "8"),
            (&poured, amount),
            (&water, "12"),
            ("note", "Gate closed again"),
        ];
        fields.extend(more);
        self.ines.post(&format!("{visit}/records"), &fields).await
    }
}

/// What the form carries on about its question: name and value.
fn asked(answer: &Answer) -> (String, String) {
    let part = answer.body.split("name=\"band-").nth(1).expect("what was asked about");
    let (name, rest) = part.split_once('"').unwrap();
    let value = rest.split("value=\"").nth(1).unwrap().split('"').next().unwrap();
    (format!("band-{name}"), value.to_owned())
}

#[tokio::test]
async fn a_technician_is_asked_once_under_and_over_the_band() {
    let hedge = Hedge::new().await;
    for (amount, outside) in [("71.9", true), ("72", false), ("144", false), ("144.1", true), ("20", true)] {
        // Every time anew: the one before is withdrawn.
        let visit = hedge.booked().await;
        let (id, before) = (Uuid::now_v7().to_string(), hedge.records().await);
        let first = hedge.poured(&visit, &id, amount, &[]).await;
        if outside {
            assert_eq!(first.status, StatusCode::UNPROCESSABLE_ENTITY, "{amount}: {}", first.body);
            let question = format!("{amount} mL is outside the label&#39;s band of 72 mL to 144 mL");
            assert!(first.body.contains(&question), "{question}: {}", first.body);
            assert!(first.body.contains("send it again and it is recorded as it was"));
            assert!(
                first.body.contains(&format!("value=\"{amount}\""))
                    && first.body.contains("Gate closed again")
            );
            assert_eq!(hedge.records().await, before, "nothing is saved before the answer");
            let (name, value) = asked(&first);
            // Another amount is another question; back to the first one it is asked anew.
            let other = hedge.poured(&visit, &id, "999", &[(&name, &value)]).await;
            assert!(other.body.contains("999 mL is outside the label"), "{}", other.body);
            assert_eq!(hedge.records().await, before);
            let confirmed = hedge.poured(&visit, &id, amount, &[(&name, &value)]).await;
            confirmed.went_to(&format!("/records/{id}"));
            // Sent once more by a slow hand: still one.
            hedge.poured(&visit, &id, amount, &[(&name, &value)]).await.went_to(&format!("/records/{id}"));
            assert_eq!(hedge.flags(&id).await, ["rate-band"], "a fact, flagged as ever: {amount}");
        } else {
            first.went_to(&format!("/records/{id}"));
            assert_eq!(hedge.flags(&id).await, Vec::<String>::new(), "{amount}");
        }
        assert_eq!(hedge.records().await, before + 1);
        let withdraw = [("version", "1"), ("reason", "Another try"), ("step", "withdraw")];
        hedge
            .owner
            .post(&format!("/records/{id}/amendments"), &withdraw)
            .await
            .went_to(&format!("/records/{id}"));
    }
}

#[tokio::test]
async fn it_is_asked_in_spanish_too() {
    let hedge = Hedge::new().await;
    sqlx::query("update person set language = 'es'").execute(&hedge.world.pool).await.unwrap();
    let visit = hedge.booked().await;
    let first = hedge.poured(&visit, &Uuid::now_v7().to_string(), "200", &[]).await;
    let question = "200 mL está fuera del margen de la etiqueta, de 72 mL a 144 mL";
    assert!(first.body.contains(question), "{}", first.body);
}

#[tokio::test]
async fn the_office_is_asked_and_an_amendment_asks_only_about_what_it_changes() {
    let hedge = Hedge::new().await;
    let (id, plant) = (Uuid::now_v7().to_string(), hedge.plant.to_string());
    let (site, label_use, own) =
        (hedge.yard.site.to_string(), hedge.yard.label_use.to_string(), hedge.owner.id.to_string());
    let form = |amount: &'static str, measure: &'static str| {
        vec![
            ("origin", "own"),
            ("on", "2026-11-25"),
            ("applicator", own.as_str()),
            ("rows", "2"),
            ("plant-1", plant.as_str()),
            ("use-1", label_use.as_str()),
            ("amount-1", amount),
            ("unit-1", "floz"),
            ("measure-1", measure),
            ("count-1", if measure.is_empty() { "" } else { "3" }),
            ("step", "save"),
        ]
    };
    let new = async |more: &[(&str, &str)], amount, measure| {
        let fields = [&form(amount, measure)[..], &[("id", id.as_str()), ("site", &site)], more].concat();
        hedge.owner.post("/records", &fields).await
    };
    // 5 fl oz are 147.87 mL (29.5735295625 mL each): over 144. Not measured anew, the plant's own eight feet hold.
    for measure in ["8", ""] {
        let first = new(&[], "5", measure).await;
        assert_eq!(first.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(
            first.body.contains("5 fl oz is outside the label&#39;s band of 72 mL to 144 mL"),
            "{}",
            first.body
        );
        assert!(first.body.contains("href=\"#f-amount-1\""), "at the field of the second item");
    }
    assert_eq!(hedge.records().await, 0);
    let first = new(&[], "5", "8").await;
    let (name, value) = asked_last(&first);
    assert_eq!(name, "band-1");
    new(&[(&name, &value)], "5", "8").await.went_to(&format!("/records/{id}"));
    assert_eq!(hedge.flags(&id).await, ["rate-band"]);

    let path = format!("/records/{id}/amendments");
    let opened = hedge.owner.get(&path).await;
    let (name, value) = asked(&opened);
    let amend = async |version: &'static str, amount: &'static str| {
        let mut fields: Vec<(&str, &str)> = form(amount, "8")
            .into_iter()
            .map(|(n, v)| {
                (
                    match n {
                        "plant-1" => "plant-0",
                        "use-1" => "use-0",
                        "amount-1" => "amount-0",
                        "unit-1" => "unit-0",
                        "measure-1" => "measure-0",
                        "count-1" => "count-0",
                        other => other,
                    },
                    v,
                )
            })
            .collect();
        fields.extend([
            ("id", id.as_str()),
            ("version", version),
            ("reason", "The lot was missing"),
            ("lot-0", "L-7"),
            (&name, &value),
        ]);
        hedge.owner.post(&path, &fields).await
    };
    amend("1", "5").await.went_to(&format!("/records/{id}"));
    let changed = amend("2", "1").await;
    assert!(changed.body.contains("1 fl oz is outside the label&#39;s band"), "{}", changed.body);
    amend("2", "4.5").await.went_to(&format!("/records/{id}"));
}

/// The same of the last item of a form.
fn asked_last(answer: &Answer) -> (String, String) {
    let at = answer.body.rfind("name=\"band-").expect("what was asked about");
    let cut =
        Answer { status: answer.status, headers: answer.headers.clone(), body: answer.body[at..].to_owned() };
    asked(&cut)
}
