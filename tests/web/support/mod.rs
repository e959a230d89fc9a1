//! The harness: a world with people in it, and the verbs that a visitor has.
pub mod product;

use axum::{
    Router,
    body::Body,
    http::{HeaderMap, Method, Request, StatusCode, header},
};
use chrono::{DateTime, Utc};
use clap::Parser;
use http_body_util::BodyExt;
use plantward::{
    actions::{Doer, account, person},
    clock::Clock,
    config::{Command, CommandLine},
    db::{self, person::Person},
    domain::user::Role,
    web::{self, AppState},
};
use sqlx::PgPool;
use std::sync::Arc;
use tower::ServiceExt;
use uuid::Uuid;

/// Everybody in the tests uses it.
pub const PASSWORD: &str = "five green hedges in a row";

/// One company, its clock stopped at ten in the morning of 25 November 2026 in California.
pub struct World {
    /// As the owner of the tables; the service itself has less to say.
    pub pool: PgPool,
    pub clock: Clock,
    pub state: AppState,
    pub app: Router,
}

/// Somebody (or nobody) at a browser.
#[derive(Clone)]
pub struct Visitor {
    app: Router,
    pub id: Uuid,
    pub cookie: Option<String>,
    pub csrf: String,
}

/// What the page's form was opened with; nothing where it carries no such field.
pub fn seen(page: &str) -> String {
    let rest = page.split("name=\"seen\" value=\"").nth(1).unwrap_or_default();
    rest.split('"').next().unwrap_or_default().to_owned()
}

/// What came back.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: String,
}

impl World {
    /// The company without people.
    pub async fn empty() -> Self {
        let pool = crate::database::database().await;
        let served = crate::database::served(&pool).await;
        let start: DateTime<Utc> = "2026-11-25T18:00:00Z".parse().unwrap();
        let clock = Clock::fixed(start);
        let line = CommandLine::try_parse_from(["plantward", "serve"]).unwrap();
        let Command::Serve(config) = line.command else { panic!("serve was asked for") };
        let state =
            AppState { pool: served.clone(), clock: clock.clone(), config: Arc::new(config), travel: None };
        Self { pool, clock, app: web::app(state.clone()), state }
    }

    /// The company with its own row.
    pub async fn new() -> Self {
        let world = Self::empty().await;
        let company = db::company::Company {
            name: "Bellwether Plant Care".into(),
            street: "3 Orchard Row".into(),
            city: "Quillan Springs".into(),
            state: "CA".into(),
            zip: "93499".into(),
            phone: "805-555-0100".into(),
            license_number: "MB-00000".into(),
            time_zone: "America/Los_Angeles".into(),
            emergency_phone: "805-555-0199".into(),
        };
        db::company::save(&mut world.pool.acquire().await.unwrap(), &company).await.unwrap();
        world
    }

    /// The actions' world with nobody acting.
    pub fn doer(&self) -> Doer {
        self.state.nobody()
    }

    /// Enters a person and signs them in, without the cost of a password hash.
    pub async fn sign_in(&self, name: &str, role: Role) -> Visitor {
        self.sign_in_as(self.person(name, role).await).await
    }

    /// A session of somebody who is known.
    pub async fn sign_in_as(&self, id: Uuid) -> Visitor {
        let secret = plantward::actions::secret::fresh().unwrap();
        let hash = plantward::actions::secret::hash(&secret);
        let mut conn = self.pool.acquire().await.unwrap();
        let now = self.clock.now();
        db::session::insert(&mut conn, &hash, id, "token-of-the-form", "test", now).await.unwrap();
        Visitor {
            app: self.app.clone(),
            id,
            cookie: Some(format!("plantward={secret}")),
            csrf: "token-of-the-form".into(),
        }
    }

    /// Enters a person who has not chosen a password yet; their id.
    pub async fn person(&self, name: &str, role: Role) -> Uuid {
        let email = format!("{}@bellwether.test", name.to_lowercase().replace(' ', "."));
        let new = Person {
            id: Uuid::now_v7(),
            name: name.into(),
            email,
            role,
            service_area: String::new(),
            has_password: false,
            retired_at: None,
        };
        person::invite(&self.doer(), &new).await.unwrap();
        new.id
    }

    pub async fn owner(&self) -> Visitor {
        self.sign_in("Maren Quist", Role::Owner).await
    }

    pub async fn office(&self) -> Visitor {
        self.sign_in("Tobias Fenn", Role::Office).await
    }

    pub async fn technician(&self) -> Visitor {
        self.sign_in("Ines Okoro", Role::Technician).await
    }

    /// Nobody in particular.
    pub fn stranger(&self) -> Visitor {
        Visitor { app: self.app.clone(), id: Uuid::nil(), cookie: None, csrf: String::new() }
    }

    /// A person with the common password, taken up through a real invitation.
    pub async fn with_password(&self, name: &str, role: Role) -> Uuid {
        let id = self.person(name, role).await;
        let link = person::invite_again(&self.doer(), id).await.unwrap();
        account::accept(&self.doer(), &link, PASSWORD.into()).await.unwrap();
        id
    }
}

impl Visitor {
    pub async fn get(&self, path: &str) -> Answer {
        self.send(Method::GET, path, None).await
    }

    /// Asks as every browser does: compressed. The answer's text stays compressed bytes.
    pub async fn get_compressed(&self, path: &str) -> Answer {
        let request = Request::get(path)
            .header(header::ACCEPT_ENCODING, "gzip")
            .header(header::COOKIE, self.cookie.clone().unwrap_or_default());
        self.answer(request.body(Body::empty()).unwrap()).await
    }

    /// The bytes of an answer as they travel, which must be a good one.
    pub async fn get_bytes(&self, path: &str) -> Vec<u8> {
        let request = Request::get(path).header(header::ACCEPT_ENCODING, "gzip").body(Body::empty()).unwrap();
        let response = self.app.clone().oneshot(request).await.unwrap();
        assert_eq!(response.status(), StatusCode::OK, "{path}");
        response.into_body().collect().await.unwrap().to_bytes().to_vec()
    }

    /// The bytes of a file that is given out.
    pub async fn file(&self, path: &str) -> Vec<u8> {
        let request = Request::get(path).header(header::COOKIE, self.cookie.clone().unwrap_or_default());
        let answer = self.app.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
        assert_eq!(answer.status(), StatusCode::OK, "{path}");
        answer.into_body().collect().await.unwrap().to_bytes().to_vec()
    }

    /// The text of a PDF as poppler reads it, its pages one after the other.
    pub async fn paper(&self, path: &str) -> String {
        let request = Request::get(path).header(header::COOKIE, self.cookie.clone().unwrap_or_default());
        let answer = self.app.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
        assert_eq!(answer.status(), StatusCode::OK, "{path}");
        assert_eq!(answer.headers()[header::CONTENT_TYPE], "application/pdf");
        let bytes = answer.into_body().collect().await.unwrap().to_bytes();
        let mut file = tempfile::NamedTempFile::new().unwrap();
        std::io::Write::write_all(&mut file, &bytes).unwrap();
        let mut reader = std::process::Command::new("pdftotext");
        let run = reader.args(["-layout", "-enc", "UTF-8"]).arg(file.path()).arg("-").output();
        let run = run.expect("pdftotext is needed to check what is printed: install poppler-utils");
        assert!(run.status.success());
        String::from_utf8(run.stdout).unwrap()
    }

    /// Opens the edit form of a record and sends it with these fields.
    pub async fn change(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let seen = seen(&self.get(&format!("{path}/edit")).await.body);
        let mut fields = fields.to_vec();
        fields.push(("seen", &seen));
        self.post(path, &fields).await
    }

    /// Sends a form with the session's token.
    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut fields = fields.to_vec();
        fields.push(("csrf", &self.csrf));
        self.send(Method::POST, path, Some(&fields)).await
    }

    /// Sends a form with the session's token, and once more where it asks whether an amount outside the band was
    /// really poured.
    pub async fn post_sure(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let answer = self.post(path, fields).await;
        if !answer.body.contains("send it again and it is recorded as it was") {
            return answer;
        }
        let part =
            |text: &str, from: &str| text.split(from).nth(1).unwrap().split('"').next().unwrap().to_owned();
        let asked: Vec<(String, String)> = answer
            .body
            .split("name=\"band-")
            .skip(1)
            .map(|one| (format!("band-{}", one.split('"').next().unwrap()), part(one, "value=\"")))
            .collect();
        let asked = asked.iter().map(|(name, value)| (name.as_str(), value.as_str()));
        self.post(path, &fields.iter().copied().chain(asked).collect::<Vec<_>>()).await
    }

    /// Sends a form as it is.
    pub async fn post_bare(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.send(Method::POST, path, Some(fields)).await
    }

    pub async fn send(&self, method: Method, path: &str, fields: Option<&[(&str, &str)]>) -> Answer {
        let mut request = Request::builder().method(method).uri(path).header(header::HOST, "127.0.0.1:8080");
        if let Some(cookie) = &self.cookie {
            request = request.header(header::COOKIE, cookie);
        }
        let body = match fields {
            None => Body::empty(),
            Some(fields) => {
                request = request.header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
                Body::from(serde_urlencoded::to_string(fields).unwrap())
            }
        };
        self.answer(request.body(body).unwrap()).await
    }

    /// Asks as a program does: with these headers, and a body of that kind.
    pub async fn request(
        &self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        body: Option<(&[u8], Vec<u8>)>,
    ) -> Answer {
        let mut request = Request::builder().method(method).uri(path).header(header::HOST, "127.0.0.1:8080");
        if let Some(cookie) = &self.cookie {
            request = request.header(header::COOKIE, cookie);
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let body = match body {
            None => Body::empty(),
            Some((kind, bytes)) => {
                request = request.header(header::CONTENT_TYPE, kind);
                Body::from(bytes)
            }
        };
        self.answer(request.body(body).unwrap()).await
    }

    async fn answer(&self, request: Request<Body>) -> Answer {
        let response = self.app.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = body.collect().await.unwrap().to_bytes();
        let body = String::from_utf8_lossy(&bytes).into_owned();
        Answer { status: parts.status, headers: parts.headers, body }
    }
}

impl Answer {
    /// Where a redirect leads.
    pub fn location(&self) -> &str {
        self.headers.get(header::LOCATION).map_or("", |v| v.to_str().unwrap())
    }

    /// The page, which must be a good one.
    pub fn page(&self) -> &str {
        assert_eq!(self.status, StatusCode::OK, "{}", self.body);
        &self.body
    }

    /// Fails unless the write went through and sent the browser on.
    pub fn went_to(&self, path: &str) {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.body);
        assert_eq!(self.location(), path);
    }
}

impl Answer {
    /// Fails unless the write went through and leads to a record.
    pub fn went_to_a_record(&self) {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.body);
        assert!(self.location().starts_with("/records/"), "{}", self.location());
    }
}
