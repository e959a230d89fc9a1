//! The sheet from which a visit's signs are made: the words whose size a rule sets, in that size, and the rest that
//! the rule wants, as far as it is known. The rule itself decides what a sign is made of and how it stands.
use super::{
    AT, door,
    field::{self, Work},
};
use crate::{
    actions::duty as verbs,
    db::{
        company::{self, Company},
        visit::{self, Visit},
    },
    domain::notice::{Duty, Rule},
    web::{AppState, Error, Result, page::Page, session::Actor},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Response},
};
use uuid::Uuid;

#[derive(Template, WebTemplate)]
#[template(path = "visit/signs.html")]
struct SignsPage {
    page: Page,
    visit: Visit,
    company: Company,
    rules: Vec<&'static Rule>,
    work: Work,
}

/// GET /visits/{id}/signs
pub async fn show(State(state): State<AppState>, actor: Actor, Path(id): Path<Uuid>) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let visit = door(&mut conn, &actor, id).await?;
    let doses = visit::doses(&mut conn, id).await?;
    let mut rules = verbs::required(&visit, &doses);
    rules.retain(|rule| rule.duty == Duty::Sign);
    if rules.is_empty() {
        return Err(Error::NotFound);
    }
    let company = company::find(&mut conn).await?.ok_or(Error::NotFound)?;
    let work = field::work(&mut conn, &visit, actor.today, actor.reads()).await?;
    let page = Page::of(&actor, actor.reads().say("sign-sheet"), AT);
    Ok(SignsPage { page, visit, company, rules, work }.into_response())
}
