//! Two heads, one older than the other: the proof that nothing under the older one was changed before the newer.
use super::{AT, moment, text};
use crate::{
    actions::evidence as verbs,
    db::Conn,
    domain::{
        chain::hex,
        growth::{self, Growth},
        head::Head,
    },
    web::{AppState, Error, Result, page::Page, session::Actor},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Response},
};
use chrono::SecondsFormat;
use uuid::Uuid;

/// The proof in words, and as a text.
pub(super) struct Grown {
    pub from: String,
    pub to: String,
    pub lists: Vec<Line>,
    pub text: String,
}

/// One of the two lists.
pub(super) struct Line {
    pub name: &'static str,
    pub older: u64,
    pub newer: u64,
    pub older_root: String,
    pub newer_root: String,
    pub way: Vec<String>,
    pub holds: bool,
}

impl Grown {
    /// Whether both lists only grew.
    pub fn holds(&self) -> bool {
        self.lists.iter().all(|line| line.holds)
    }
}

fn line(of: &Growth) -> Line {
    Line {
        name: if of.list == "records" { "Versions of records" } else { "Lines of the audit" },
        older: of.older.0,
        newer: of.newer.0,
        older_root: hex(&of.older.1),
        newer_root: hex(&of.newer.1),
        way: of.way.iter().flatten().map(|hash| hex(hash)).collect(),
        holds: of.holds(),
    }
}

/// Between two heads, whichever is given first.
///
/// # Errors
/// When the database does not answer.
pub(super) async fn between(conn: &mut Conn, actor: &Actor, one: &Head, other: &Head) -> Result<Grown> {
    let (older, newer) = growth::in_order(one, other);
    let lists = verbs::growth(conn, older, newer).await?;
    let exact = |head: &Head| head.taken_at.to_rfc3339_opts(SecondsFormat::Secs, true);
    Ok(Grown {
        from: moment(older.taken_at, actor),
        to: moment(newer.taken_at, actor),
        text: growth::text(&newer.company, &exact(older), &exact(newer), &lists),
        lists: lists.iter().map(line).collect(),
    })
}

#[derive(Template, WebTemplate)]
#[template(path = "evidence/growth.html")]
struct GrowthPage {
    page: Page,
    grown: Grown,
    id: Uuid,
    older: Uuid,
}

/// GET /evidence/heads/{id}/growth/{older} : with `.txt` as a file.
pub async fn show(
    State(state): State<AppState>,
    actor: Actor,
    Path((id, name)): Path<(Uuid, String)>,
) -> Result<Response> {
    let bare = name.strip_suffix(".txt");
    let older: Uuid = bare.unwrap_or(&name).parse().map_err(|_| Error::NotFound)?;
    let mut conn = state.pool.acquire().await?;
    let (one, other) = (verbs::head(&mut conn, older).await?, verbs::head(&mut conn, id).await?);
    let grown = between(&mut conn, &actor, &one, &other).await?;
    if bare.is_some() {
        let detail = serde_json::json!({ "from": older, "to": id });
        verbs::exported(&actor.doer(), &mut conn, "head", detail).await?;
        return text(&format!("growth_{}.txt", other.taken_at.format("%Y-%m-%d")), grown.text);
    }
    let page = Page::of(&actor, "From head to head", AT);
    Ok(GrowthPage { page, grown, id, older }.into_response())
}
