//! Every line of the router's table, opened by every kind of person.
use crate::support::World;
use axum::http::{Method, StatusCode};
use plantward::web::{guard::Who, router};

/// An address of the line with every part filled in by something that does not exist.
fn address(path: &str) -> String {
    let parts = path
        .split('/')
        .map(|part| if part.starts_with('{') { "01890a5d-ac96-774b-bcce-b302099a8057" } else { part });
    parts.collect::<Vec<_>>().join("/")
}

#[tokio::test]
async fn every_line_admits_its_people_and_nobody_else() {
    let world = World::new().await;
    let people = [
        (None, world.stranger()),
        (Some(plantward::domain::user::Role::Technician), world.technician().await),
        (Some(plantward::domain::user::Role::Office), world.office().await),
        (Some(plantward::domain::user::Role::Owner), world.owner().await),
    ];
    let mut opened = 0;
    for line in router::table() {
        for (role, visitor) in &people {
            // Signing out would end the very session that opens the next lines.
            if line.path.ends_with("sign-out") || line.path == "/account/sign-outs" {
                continue;
            }
            let fields: &[(&str, &str)] =
                if line.method == Method::GET { &[] } else { &[("csrf", "token-of-the-form")] };
            let fields = (line.method != Method::GET).then_some(fields);
            let answer = visitor.send(line.method.clone(), &address(line.path), fields).await;
            let at = format!("{} {} as {role:?}: {}", line.method, line.path, answer.status);
            if line.who.admits(*role) {
                assert_ne!(answer.status, StatusCode::UNAUTHORIZED, "{at}");
                assert!(!answer.location().starts_with("/sign-in?next"), "{at}");
                assert!(!answer.status.is_server_error(), "{at}\n{}", answer.body);
            } else if role.is_some() {
                assert_eq!(answer.status, StatusCode::NOT_FOUND, "{at}");
            } else if line.method == Method::GET {
                assert!(answer.location().starts_with("/sign-in?next"), "{at}");
            } else {
                assert_eq!(answer.status, StatusCode::UNAUTHORIZED, "{at}");
            }
            let policy = answer.headers.get("content-security-policy").expect(&at).to_str().unwrap();
            assert!(policy.starts_with("default-src 'none'"), "{at}");
            opened += 1;
        }
    }
    assert!(opened > 80, "the table was walked: {opened}");
}

#[test]
fn only_these_doors_stand_open_to_strangers() {
    let open: Vec<_> = router::table().into_iter().filter(|l| l.who == Who::Anyone).map(|l| l.path).collect();
    assert_eq!(
        open,
        [
            "/healthz",
            "/readyz",
            "/static/{hash}/{name}",
            "/field",
            "/field-worker.js",
            "/manifest.webmanifest",
            "/sign-in",
            "/sign-in",
            "/invitation/{secret}",
            "/invitation/{secret}",
            "/setup/{secret}",
            "/setup/{secret}",
            "/calendars/{secret}",
            "/c/{link}",
            "/c/{link}/answers",
            "/c/{link}/details",
            "/c/{link}/neighbours",
            "/u/{link}",
            "/u/{link}",
            "/inspection/{secret}",
            "/inspection/{secret}/records/{id}",
            "/inspection/{secret}/records/{id}/proof",
            "/inspection/{secret}/files/{name}"
        ]
    );
}

#[tokio::test]
async fn errors_carry_the_headers_too() {
    let world = World::new().await;
    let visitor = world.stranger();
    for (method, path, status) in [
        (Method::GET, "/no-such-page", StatusCode::NOT_FOUND),
        (Method::PUT, "/sign-in", StatusCode::METHOD_NOT_ALLOWED),
        (Method::GET, "/static/0/app.css", StatusCode::NOT_FOUND),
    ] {
        let answer = visitor.send(method, path, None).await;
        assert_eq!(answer.status, status, "{path}");
        assert_eq!(answer.headers["x-content-type-options"], "nosniff", "{path}");
        assert!(answer.headers.contains_key("content-security-policy"), "{path}");
    }
}

/// What nobody can read is answered by a page of ours, in the frame of whoever asked, and never by a failure.
#[tokio::test]
async fn unreadable_addresses_and_forms_get_a_page() {
    let world = World::new().await;
    let owner = world.owner().await;
    for path in ["/people/x", "/label-versions/x", "/customers/%ff", "/sites/%00", "/due?area=a&area=b"] {
        let answer = owner.get(path).await;
        assert!(answer.status.is_client_error(), "{path}: {}", answer.status);
        assert!(answer.body.contains("Bellwether Plant Care") && answer.body.contains("Sign out"), "{path}");
    }
    for path in ["/due?area=%00", "/records?county=%00&state=CA", "/records?q=%00", "/products?q=%00"] {
        owner.get(path).await.page();
    }
    for week in ["-262143-01-01", "%2B262142-12-31", "0001-01-01", "nonsense"] {
        owner.get(&format!("/due?show=week&week={week}")).await.page();
    }
    let stranger = world.stranger();
    let nul = stranger.post_bare("/sign-in", &[("email", "a\0@b.test"), ("password", "x")]).await;
    assert_eq!(nul.status, StatusCode::UNPROCESSABLE_ENTITY);
    let answer = stranger.get("/people/x").await;
    assert_eq!(answer.location(), "/sign-in?next=%2Fpeople%2Fx", "a stranger learns nothing");
    let head = stranger.send(Method::HEAD, "/due", None).await;
    assert_eq!(head.status, StatusCode::SEE_OTHER);
}
