//! The travel service, played by a little server that answers well, slowly, wrongly or not at all.
use crate::support::World;
use axum::{
    Json, Router,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Response},
    routing::post,
};
use plantward::{
    actions::{
        Doer,
        travel::{Source, matrix},
    },
    travel_service::Service,
};
use serde_json::{Value, json};
use std::{
    sync::{
        Arc, Mutex,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};

const PATIENCE: Duration = Duration::from_millis(400);
/// The company's yard, and two streets of the town.
const PLACES: [(f64, f64); 3] = [(35.48, -120.68), (35.41, -120.6), (35.5, -120.7)];

/// What the little server does to its next questions, and what it was asked.
#[derive(Clone, Default)]
struct Roads {
    moods: Arc<Mutex<Vec<Mood>>>,
    asked: Arc<Mutex<Vec<Value>>>,
    count: Arc<AtomicUsize>,
}

#[derive(Clone)]
enum Mood {
    Slow,
    Status(u16),
    Says(&'static str),
    Redirects,
}

async fn answer(State(roads): State<Roads>, Json(question): Json<Value>) -> Response {
    roads.count.fetch_add(1, Ordering::SeqCst);
    roads.asked.lock().unwrap().push(question.clone());
    let mood = {
        let mut moods = roads.moods.lock().unwrap();
        if moods.is_empty() { None } else { Some(moods.remove(0)) }
    };
    match mood {
        Some(Mood::Slow) => tokio::time::sleep(PATIENCE * 3).await,
        Some(Mood::Status(code)) => return StatusCode::from_u16(code).unwrap().into_response(),
        Some(Mood::Says(text)) => return text.into_response(),
        Some(Mood::Redirects) => return axum::response::Redirect::temporary("/elsewhere").into_response(),
        None => {}
    }
    // From place i to place j: 10 i + j minutes, half as many miles.
    let places = question["points"].as_array().unwrap().len();
    let table = |factor: f64| -> Vec<Vec<f64>> {
        (0..places).map(|i| (0..places).map(|j| factor * (10 * i + j) as f64).collect()).collect()
    };
    Json(json!({ "minutes": table(1.0), "miles": table(0.5) })).into_response()
}

impl Roads {
    /// The server at a free port, and the world that asks it.
    async fn open(&self, world: &World) -> Doer {
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        let url = format!("http://{}/matrix", listener.local_addr().unwrap());
        let app = Router::new().route("/matrix", post(answer)).with_state(self.clone());
        tokio::spawn(async move { axum::serve(listener, app).await.unwrap() });
        world.doer().with_travel(Some(Service::new(&url, PATIENCE).unwrap()))
    }

    fn will(&self, moods: &[Mood]) {
        moods.clone_into(&mut self.moods.lock().unwrap());
    }

    fn count(&self) -> usize {
        self.count.load(Ordering::SeqCst)
    }
}

#[tokio::test]
async fn what_the_service_answers_is_kept_and_asked_once() {
    let (world, roads) = (World::new().await, Roads::default());
    let doer = roads.open(&world).await;
    let first = matrix(&doer, &PLACES).await.unwrap();
    assert_eq!(first.source, Source::Service);
    // The places are sorted for the question (35.41, 35.48, 35.5): the first asked is the second there.
    assert_eq!(first.minutes, [[0.0, 10.0, 12.0], [1.0, 0.0, 2.0], [21.0, 20.0, 0.0]]);
    assert_eq!(first.miles[0], [0.0, 5.0, 6.0]);
    let asked = roads.asked.lock().unwrap()[0].clone();
    assert_eq!(asked, json!({ "points": [[35.41, -120.6], [35.48, -120.68], [35.5, -120.7]] }));
    assert_eq!(matrix(&doer, &PLACES).await.unwrap(), first);
    let two = matrix(&doer, &[PLACES[2], PLACES[0], PLACES[2]]).await.unwrap();
    assert_eq!(
        two.minutes,
        [[0.0, 21.0, 0.0], [12.0, 0.0, 12.0], [0.0, 21.0, 0.0]],
        "a place twice is one place"
    );
    assert_eq!(roads.count(), 1, "asked once");
    matrix(&doer, &[PLACES[0], (35.6, -120.5)]).await.unwrap();
    assert_eq!(roads.count(), 2, "a new place is asked for");
    world.clock.advance(chrono::TimeDelta::days(91));
    matrix(&doer, &PLACES).await.unwrap();
    assert_eq!(roads.count(), 3, "roads change within months");
}

#[tokio::test]
async fn bad_luck_is_asked_once_more() {
    let (world, roads) = (World::new().await, Roads::default());
    let doer = roads.open(&world).await;
    for (mood, extra) in [(Mood::Status(503), 0.01), (Mood::Status(429), 0.02), (Mood::Slow, 0.03)] {
        roads.will(&[mood]);
        let before = roads.count();
        let found = matrix(&doer, &[PLACES[0], (36.0 + extra, -120.0)]).await.unwrap();
        assert_eq!((found.source, roads.count() - before), (Source::Service, 2));
    }
}

#[tokio::test]
async fn a_service_that_fails_is_named_and_stops_nothing() {
    let (world, roads) = (World::new().await, Roads::default());
    let doer = roads.open(&world).await;
    let estimate = matrix(&world.doer(), &PLACES).await.unwrap();
    assert_eq!(estimate.source, Source::Estimate);
    // From 35.48, -120.68 to 35.41, -120.60: 0.07 and 0.08 degrees, at 69.0934 miles a degree and the cosine of
    // 35.445 degrees 4.8366 and 4.5030 miles, 6.608 together; times 1.3 are 8.591 miles, twice that in minutes.
    assert!((estimate.miles[0][1] - 8.591).abs() < 0.01 && (estimate.minutes[0][1] - 17.18).abs() < 0.02);
    let wrong = [
        (vec![Mood::Slow, Mood::Slow], "it did not answer in time", 2),
        (vec![Mood::Status(500), Mood::Status(502)], "status 502", 2),
        (vec![Mood::Status(404)], "status 404", 1),
        (vec![Mood::Redirects], "status 307", 1),
        (vec![Mood::Says("<html>")], "cannot be read", 1),
        (vec![Mood::Says(r#"{"minutes": []}"#)], "cannot be read", 1),
        (vec![Mood::Says(r#"{"minutes": [[0]], "miles": [[0]]}"#)], "rows or columns", 1),
        (
            vec![Mood::Says(
                r#"{"minutes": [[0,-1,1],[1,0,1],[1,1,0]], "miles": [[0,1,1],[1,0,1],[1,1,0]]}"#,
            )],
            "cannot be",
            1,
        ),
    ];
    for (moods, words, times) in wrong {
        roads.will(&moods);
        let before = roads.count();
        let found = matrix(&doer, &PLACES).await.unwrap();
        let Source::Instead(why) = &found.source else { panic!("{words}: {found:?}") };
        assert!(why.contains(words), "{words}: {why}");
        assert!(found.source.words().contains("estimated from straight lines"), "{}", found.source.words());
        assert_eq!((found.minutes, found.miles), (estimate.minutes.clone(), estimate.miles.clone()));
        assert_eq!(roads.count() - before, times, "{words}");
    }
    let kept: i64 = sqlx::query_scalar("select count(*) from travel").fetch_one(&world.pool).await.unwrap();
    assert_eq!(kept, 0, "nothing wrong is kept");
}

#[tokio::test]
async fn nobody_at_the_address_is_no_answer() {
    let world = World::new().await;
    let free = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap().local_addr().unwrap();
    let doer = world.doer().with_travel(Some(Service::new(&format!("http://{free}/"), PATIENCE).unwrap()));
    let found = matrix(&doer, &PLACES).await.unwrap();
    assert_eq!(found.source, Source::Instead("it cannot be reached".into()));
    assert_eq!(matrix(&doer, &[]).await.unwrap().minutes.len(), 0);
}
