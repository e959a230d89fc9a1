//! The interface of the field page: completions, visits, photos and signatures as a phone sends them.
mod documents;
mod meanwhile;
mod outbox;
mod photos;
mod reading;
mod record;
mod signatures;
mod visits;

use crate::{
    support::{Answer, Visitor, World},
    yard::{Yard, certify},
};
use axum::http::{Method, StatusCode};
use plantward::{
    actions::visit::{Booking, Wanted, book},
    api,
};
use serde_json::{Value, json};
use uuid::Uuid;

/// The usual company, a hedge of three on Tamber Lane, and Ines on her way to it today.
pub struct Day {
    pub world: World,
    pub owner: Visitor,
    pub office: Visitor,
    pub ines: Visitor,
    pub yard: Yard,
    pub hedge: Uuid,
    pub visit: Uuid,
}

/// The stopped clock's moment and day.
pub const NOW: &str = "2026-11-25T18:00:00Z";
pub const TODAY: &str = "2026-11-25";

impl Day {
    pub async fn new() -> Self {
        let world = World::new().await;
        let owner = world.owner().await;
        let (office, ines) = (world.office().await, world.technician().await);
        certify(&world, ines.id).await;
        let yard = Yard::new(&world, &owner).await;
        let hedge = yard.hedge(&world, "front", 3).await;
        let mut day = Self { world, owner, office, ines, yard, hedge, visit: Uuid::nil() };
        day.visit = day.booked(day.ines.id, TODAY, &[day.hedge]).await;
        day
    }

    /// Books these plants for a technician.
    pub async fn booked(&self, technician: Uuid, on: &str, plants: &[Uuid]) -> Uuid {
        let id = Uuid::now_v7();
        let doses = plants.iter().map(|p| Wanted { plant: *p, rate: None }).collect();
        let booking = Booking {
            promised: false,
            id,
            site: self.yard.site,
            technician,
            supervisor: None,
            on: on.parse().unwrap(),
            at: None,
            excuse: String::new(),
            note: String::new(),
            doses,
        };
        let doer = self.world.doer().acting(self.owner.id);
        let refused = book(&doer, TODAY.parse().unwrap(), &booking).await.unwrap();
        assert!(refused.is_empty(), "{refused:?}");
        id
    }

    /// A completion of the visit as planned, with everything said.
    pub fn done(&self) -> Value {
        json!({
            "id": Uuid::now_v7(), "visit": self.visit, "completed_at": "2026-11-25T17:55:00Z",
            "plants": [{ "plant": self.hedge, "label_use": self.yard.label_use, "did": "planned", "water": "12",
                "lot": "L-4471" }],
            "stop": { "started_at": "09:10:00", "finished_at": "09:40:00", "wind_direction": "NW", "wind_mph": "4.5",
                "temperature_f": "61" },
            "site": { "bloom": "none", "soil": "moist", "rain": "none", "water_distance_ft": "120",
                "well_distance_ft": "300", "slope": "gentle", "utility_ticket": "T-0815" },
            "neighbours_told": [{ "who": "16 Tamber Lane", "at": "2026-11-25T16:50:00Z" }],
            "signs_posted": 2, "beneficials": "lacewings", "pests": "aphids", "photos": [], "note": "Gate closed again",
            "signature": { "name": "Ines Okoro", "at": "2026-11-25T17:55:00Z" },
        })
    }

    /// How many records there are.
    pub async fn records(&self) -> i64 {
        sqlx::query_scalar("select count(distinct id) from application_record")
            .fetch_one(&self.world.pool)
            .await
            .unwrap()
    }

    /// Rules of the flags that were raised, in order of their names.
    pub async fn flags(&self) -> Vec<String> {
        sqlx::query_scalar("select rule from record_flag order by rule")
            .fetch_all(&self.world.pool)
            .await
            .unwrap()
    }
}

/// A batch as the phone sends it at this moment by its own clock.
pub fn batch(sent_at: &str, items: &[(&str, &Value)]) -> Value {
    let items: Vec<Value> =
        items.iter().map(|(key, completion)| json!({ "key": key, "completion": completion })).collect();
    json!({ "sent_at": sent_at, "items": items })
}

impl Visitor {
    /// Asks the interface with the session's token, and checks that the answer is one that the interface's own
    /// description names for that address.
    pub async fn api(&self, method: Method, path: &str, body: Option<&Value>) -> Answer {
        let body = body.map(|b| (b"application/json".as_slice(), b.to_string().into_bytes()));
        self.api_raw(method, path, &[], body).await
    }

    pub async fn api_raw(
        &self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        body: Option<(&[u8], Vec<u8>)>,
    ) -> Answer {
        let mut all = vec![("x-plantward-token", self.csrf.as_str())];
        all.extend(headers);
        let answer = self.request(method.clone(), path, &all, body).await;
        documented(&method, path, &answer);
        answer
    }

    /// Sends completions; the outcomes.
    pub async fn complete(&self, batch: &Value) -> Vec<Value> {
        let answer = self.api(Method::POST, "/api/completions", Some(batch)).await;
        assert_eq!(answer.status, StatusCode::OK, "{}", answer.body);
        answer.json()["outcomes"].as_array().unwrap().clone()
    }

    /// Sends one under a key of its own; its outcome.
    pub async fn complete_one(&self, completion: &Value) -> Value {
        let key = Uuid::now_v7().to_string();
        self.complete(&batch(NOW, &[(&key, completion)])).await.remove(0)
    }
}

impl Answer {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.body))
    }

    /// Fails unless it is a problem with this status.
    pub fn is_problem(&self, status: u16) -> Value {
        assert_eq!(self.status.as_u16(), status, "{}", self.body);
        assert_eq!(self.headers["content-type"], "application/problem+json");
        let problem = self.json();
        assert_eq!(problem["status"], status);
        assert!(!problem["detail"].as_str().unwrap().is_empty());
        problem
    }
}

/// Codes of an outcome's notes.
pub fn codes(outcome: &Value) -> Vec<&str> {
    outcome["notes"].as_array().unwrap().iter().map(|n| n["code"].as_str().unwrap()).collect()
}

/// Fails where the description does not name the address, the method or the answer's status and kind.
fn documented(method: &Method, path: &str, answer: &Answer) {
    let document = serde_json::to_value(api::document()).unwrap();
    let path = path.split('?').next().unwrap();
    let template = match path {
        path if path.starts_with("/api/documents/") => "/api/documents/{id}",
        path if path.starts_with("/api/photos/") => "/api/photos/{id}",
        path if path.starts_with("/api/phone-keys/") => "/api/phone-keys/{person}",
        path => path,
    };
    let operation = &document["paths"][template][method.as_str().to_lowercase()];
    assert!(operation.is_object(), "{method} {template} is not described");
    let named = &operation["responses"][answer.status.as_str()];
    assert!(
        named.is_object(),
        "{method} {template} answers {} and does not say so: {}",
        answer.status,
        answer.body
    );
    let kind = answer.headers["content-type"].to_str().unwrap().split(';').next().unwrap();
    assert!(named["content"][kind].is_object(), "{method} {template} {}: {kind}", answer.status);
}

#[tokio::test]
async fn every_line_is_described_and_closed_to_strangers() {
    let day = Day::new().await;
    let document = serde_json::to_value(api::document()).unwrap();
    let mut described = 0;
    for line in api::table() {
        let operation = &document["paths"][line.path][line.method.as_str().to_lowercase()];
        assert!(operation.is_object(), "{} {}", line.method, line.path);
        described += 1;
        let nobody = Uuid::now_v7().to_string();
        let path = line.path.replace("{id}", &nobody).replace("{person}", &nobody);
        let stranger = day.world.stranger();
        let answer = stranger.request(line.method.clone(), &path, &[], None).await;
        if line.open {
            assert_eq!(answer.status, StatusCode::OK);
        } else {
            answer.is_problem(401);
        }
        if !line.open && line.method != Method::GET {
            let bare = day.ines.request(line.method.clone(), &path, &[], None).await;
            bare.is_problem(403);
            let wrong = [("x-plantward-token", "of another session")];
            day.ines.request(line.method.clone(), &path, &wrong, None).await.is_problem(403);
        }
    }
    let all = document["paths"].as_object().unwrap().values();
    assert_eq!(
        described,
        all.map(|p| p.as_object().unwrap().len()).sum::<usize>(),
        "nothing else is described"
    );
    let shown = day.world.stranger().request(Method::GET, "/api/openapi.json", &[], None).await;
    assert_eq!(shown.json(), document);
}

#[tokio::test]
async fn whatever_is_refused_on_the_way_is_a_problem_too() {
    let day = Day::new().await;
    let ask = async |method: Method, path: &str, headers: &[(&str, &str)]| {
        day.ines.request(method, path, headers, None).await
    };
    ask(Method::GET, "/api/nothing-here", &[]).await.is_problem(404);
    ask(Method::DELETE, "/api/visits", &[]).await.is_problem(405);
    let elsewhere = [("sec-fetch-site", "cross-site"), ("x-plantward-token", "token-of-the-form")];
    ask(Method::POST, "/api/completions", &elsewhere).await.is_problem(403);
    ask(Method::PUT, "/api/photos/not-an-id", &[("x-plantward-token", "token-of-the-form")])
        .await
        .is_problem(400);
    let much = vec![b' '; 3 * 1024 * 1024];
    let kind = Some((b"application/json".as_slice(), much));
    day.ines.api_raw(Method::POST, "/api/completions", &[], kind).await.is_problem(413);
    let form = Some((b"application/x-www-form-urlencoded".as_slice(), b"a=b".to_vec()));
    day.ines.api_raw(Method::POST, "/api/completions", &[], form).await.is_problem(415);
}

#[tokio::test]
async fn the_phone_learns_who_is_signed_in() {
    let day = Day::new().await;
    let answer = day.ines.api(Method::GET, "/api/session", None).await;
    let said = answer.json();
    assert_eq!(said["name"], "Ines Okoro");
    assert_eq!(said["token"], day.ines.csrf);
    assert_eq!((said["today"].as_str(), said["now"].as_str()), (Some(TODAY), Some(NOW)));
    assert_eq!((said["role"].as_str(), said["language"].as_str()), (Some("technician"), Some("en")));
    // As many days without contact as it holds visits ahead.
    assert_eq!(said["holds_until"], "2026-12-02T18:00:00Z");
    assert_eq!(answer.headers["cache-control"], "no-store");
    // An empty battery signs nobody out: fourteen days, as the session itself.
    let cookie = answer.headers["set-cookie"].to_str().unwrap();
    assert!(
        cookie.starts_with(day.ines.cookie.as_deref().unwrap()) && cookie.ends_with("; Max-Age=1209600"),
        "{cookie}"
    );
    assert!(cookie.contains("; HttpOnly") && cookie.contains("SameSite=Lax"), "{cookie}");
}

#[tokio::test]
async fn the_key_of_unsent_work_is_its_persons_and_lent_to_the_owner_in_writing() {
    let day = Day::new().await;
    let key = async |who: &Visitor| {
        let said = who.api(Method::GET, "/api/session", None).await.json();
        said["phone_key"].as_str().unwrap().to_owned()
    };
    let ines = key(&day.ines).await;
    assert_eq!(base64(&ines).len(), 32, "AES-256");
    assert_eq!(key(&day.ines).await, ines, "the same after signing in again");
    assert_ne!(key(&day.owner).await, ines);
    let at = format!("/api/phone-keys/{}", day.ines.id);
    for nobody in [&day.ines, &day.office] {
        nobody.api(Method::POST, &at, None).await.is_problem(404);
    }
    assert_eq!(day.owner.api(Method::POST, &at, None).await.json()["phone_key"], ines.as_str());
    let unknown = format!("/api/phone-keys/{}", Uuid::now_v7());
    day.owner.api(Method::POST, &unknown, None).await.is_problem(404);
    let noted: Vec<Uuid> =
        sqlx::query_scalar("select person_id from audit where deed = 'opened unsent work'")
            .fetch_all(&day.world.pool)
            .await
            .unwrap();
    assert_eq!(noted, [day.owner.id]);
}

fn base64(text: &str) -> Vec<u8> {
    use ::base64::{Engine, engine::general_purpose::STANDARD};
    STANDARD.decode(text).unwrap()
}
