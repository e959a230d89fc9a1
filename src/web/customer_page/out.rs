//! The end of offers: the page of that address, and the one click of a mail program (RFC 8058).
use super::{Frame, ended};
use crate::{
    actions::{customer_mail as verbs, reminder::house},
    db::customer_mail,
    texts::Language,
    web::{AppState, Result},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    body::Bytes,
    extract::{Path, State},
    http::{HeaderMap, header},
    response::{IntoResponse, Response},
};

#[derive(Template, WebTemplate)]
#[template(path = "customer_page/out.html")]
struct OutPage {
    frame: Frame,
    link: String,
    done: bool,
}

async fn page(state: &AppState, link: String) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let Some(customer) = verbs::whose_offers(&mut conn, &state.nobody(), &link).await? else {
        drop(conn);
        return ended(state).await;
    };
    let own = customer_mail::find(&mut conn, customer).await?;
    let language = Language::from_code(&own.language).unwrap_or_default();
    let frame = Frame::new(language, house(&mut conn).await?, "out-title");
    Ok(OutPage { frame, link, done: own.offers_stopped_at.is_some() }.into_response())
}

/// GET /u/{link} : asks, and changes nothing. Programs that look at every link of a mail end nothing by it.
pub async fn show(State(state): State<AppState>, Path(link): Path<String>) -> Result<Response> {
    page(&state, link).await
}

/// POST /u/{link} : one click in a mail program, or the button of the page. The address is the only authority:
/// RFC 8058 asks for no cookie, no sign-in and no further step.
pub async fn end_offers(
    State(state): State<AppState>,
    Path(link): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Result<Response> {
    let kind = headers.get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok()).unwrap_or_default();
    let how = match sent(kind, &body).as_deref() {
        Some("List-Unsubscribe=One-Click") => "by one click in their mail",
        Some("end=yes") => "on the page that their mail led to",
        // Anything else is not what a mail program or our page sends; it is shown the page.
        _ => return page(&state, link).await,
    };
    match verbs::end_offers(&state.nobody(), &link, how).await {
        Ok(()) => page(&state, link).await,
        Err(crate::actions::Error::NotFound) => ended(&state).await,
        Err(e) => Err(e.into()),
    }
}

/// The one field that was sent, as `name=value`; RFC 8058, 3.2 allows both kinds of form.
fn sent(kind: &str, body: &[u8]) -> Option<String> {
    let text = std::str::from_utf8(body).ok()?;
    if kind.starts_with("application/x-www-form-urlencoded") {
        return Some(text.to_owned());
    }
    let boundary =
        kind.strip_prefix("multipart/form-data;")?.split("boundary=").nth(1)?.trim_matches(['"', ' ']);
    let part = text.split(&format!("--{boundary}")).nth(1)?;
    let (head, value) = part.split_once("\r\n\r\n")?;
    let name = head.split("name=\"").nth(1)?.split('"').next()?;
    Some(format!("{name}={}", value.trim_end_matches("\r\n")))
}

#[cfg(test)]
mod tests {
    use super::sent;

    /// RFC 8058, 8.2 and 8.3, as published examples have the two kinds.
    #[test]
    fn both_kinds_of_form_are_read() {
        let wanted = Some("List-Unsubscribe=One-Click".to_owned());
        assert_eq!(sent("application/x-www-form-urlencoded", b"List-Unsubscribe=One-Click"), wanted);
        let parts = b"--b1\r\nContent-Disposition: form-data; name=\"List-Unsubscribe\"\r\n\r\nOne-Click\r\n--b1--\r\n";
        assert_eq!(sent("multipart/form-data; boundary=b1", parts), wanted);
        assert_eq!(sent("text/plain", b"List-Unsubscribe=One-Click"), None);
        assert_eq!(sent("multipart/form-data; boundary=b1", b"--b1"), None);
    }
}
