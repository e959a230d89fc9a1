//! Tables that are brought to us, over HTTP as a browser sends them.
mod hostile;
mod records;
mod rows;
mod workbooks;

use crate::support::{Answer, Visitor, World};
use axum::http::Method;
use plantward::actions::import;
use uuid::Uuid;

/// Sends a file as a browser does; the table's address where it was taken.
pub async fn bring(office: &Visitor, kind: &str, name: &str, bytes: &[u8]) -> (String, Answer) {
    let id = Uuid::now_v7().to_string();
    let answer = bring_as(office, &id, kind, name, bytes).await;
    (format!("/imports/{id}"), answer)
}

pub async fn bring_as(office: &Visitor, id: &str, kind: &str, name: &str, bytes: &[u8]) -> Answer {
    let mut body = vec![];
    for (field, value) in [("csrf", office.csrf.as_str()), ("id", id), ("kind", kind)] {
        let part =
            format!("--frontier\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n");
        body.extend(part.into_bytes());
    }
    let head = format!(
        "--frontier\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\
         Content-Type: application/octet-stream\r\n\r\n"
    );
    body.extend(head.into_bytes());
    body.extend_from_slice(bytes);
    body.extend_from_slice(b"\r\n--frontier--\r\n");
    let kind = &b"multipart/form-data; boundary=frontier"[..];
    office.request(Method::POST, "/imports", &[], Some((kind, body))).await
}

/// The columns as they were guessed, sent back, and every line checked.
pub async fn check(world: &World, office: &Visitor, at: &str) -> Answer {
    let page = office.get(at).await;
    let chosen = selected(page.page());
    let fields: Vec<(&str, &str)> =
        chosen.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    office.post(&format!("{at}/columns"), &fields).await.went_to(at);
    assert!(import::work_one(&world.doer()).await.unwrap());
    office.get(at).await
}

/// Brings the checked rows in.
pub async fn bring_in(world: &World, office: &Visitor, at: &str) -> Answer {
    office.post(&format!("{at}/rows"), &[]).await.went_to(at);
    assert!(import::work_one(&world.doer()).await.unwrap());
    office.get(at).await
}

/// All of it: brought, checked, in.
pub async fn whole(world: &World, office: &Visitor, kind: &str, text: &str) -> String {
    let (at, brought) = bring(office, kind, "table.csv", text.as_bytes()).await;
    brought.went_to(&at);
    let checked = check(world, office, &at).await;
    assert!(checked.body.contains("Bring in "), "{}", checked.body);
    let done = bring_in(world, office, &at).await;
    assert!(done.body.contains("Undo: take the rows back"), "{}", done.body);
    at
}

/// What each select of the page has chosen.
fn selected(page: &str) -> Vec<(String, String)> {
    let form = page.split("/columns\">").nth(1).expect("the form of the columns");
    form.split("<select ")
        .skip(1)
        .map(|part| {
            let part = part.split("</select>").next().unwrap();
            let name = part.split("name=\"").nth(1).unwrap().split('"').next().unwrap();
            let option = part.split("<option ").skip(1).find(|option| option.contains(" selected"));
            let value = option.map_or("", |o| o.split("value=\"").nth(1).unwrap().split('"').next().unwrap());
            (name.to_owned(), value.to_owned())
        })
        .collect()
}

pub async fn count(world: &World, sql: &'static str) -> i64 {
    sqlx::query_scalar(sql).fetch_one(&world.pool).await.unwrap()
}
