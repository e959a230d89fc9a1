//! A customer's mail: what went out and what became of it, what they want to hear, and the link to their own page.
use super::page;
use crate::{
    actions::customer_mail::{self as verbs, OfficeWishes},
    db::{
        Conn, answer,
        customer_mail::{self, Wishes},
        message,
    },
    texts::Language,
    web::{
        AppState, Result, answers,
        form::{Form, Posted},
        messages,
        session::{self, Actor},
        words,
    },
};
use axum::{
    extract::{Path, State},
    response::{IntoResponse, Response},
};
use uuid::Uuid;

/// The newest messages on the page.
const SHOWN: i64 = 8;

/// What the customer's page shows of their mail.
pub(super) struct Mail {
    pub(super) wishes: Wishes,
    pub(super) rows: Vec<messages::Row>,
    pub(super) answers: Vec<answers::Row>,
    /// Those of the rows that are not with the customer.
    pub(super) trouble: Vec<(Uuid, String)>,
    /// In words since when and how they ended offers.
    pub(super) stopped: Option<String>,
    pub(super) languages: [(&'static str, &'static str); 2],
    /// The address of their own page, just made.
    pub(super) link: Option<String>,
}

impl Mail {
    pub(super) async fn of(
        conn: &mut Conn,
        actor: &Actor,
        customer: Uuid,
        link: Option<String>,
    ) -> Result<Self> {
        let wishes = customer_mail::find(conn, customer).await?;
        let lines = message::of_customer(conn, customer, SHOWN).await?;
        let rows: Vec<_> = lines.into_iter().map(|line| messages::Row::of(line, actor.time_zone)).collect();
        let answers = answer::of_customer(conn, customer, SHOWN).await?;
        let answers = answers.into_iter().map(|line| answers::Row::of(line, actor.time_zone)).collect();
        let bad = rows.iter().filter(|row| row.badge == "flag");
        let trouble = bad.map(|row| (row.line.id, row.line.last_answer.clone())).collect();
        let stopped = wishes.offers_stopped_at.map(|at| {
            let day = words::day(at.with_timezone(&actor.time_zone).date_naive());
            format!("since {day}: {}", wishes.offers_stopped_how)
        });
        let languages = Language::ALL.map(|one| (one.code(), one.name()));
        Ok(Self { wishes, rows, answers, trouble, stopped, languages, link })
    }

    pub(super) fn form(&self) -> Form {
        let yes = |on: bool| if on { "yes" } else { "" };
        Form::filled([
            ("language", self.wishes.language.as_str()),
            ("paused", yes(self.wishes.paused)),
            ("offers", yes(self.wishes.offers_stopped_at.is_none())),
        ])
    }
}

/// POST /customers/{id}/wishes
pub async fn change_wishes(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    Posted(mut form): Posted,
) -> Result<Response> {
    let language = form.choice("language", Language::from_code);
    if let (true, Some(language)) = (form.is_good(), language) {
        let new =
            OfficeWishes { language, paused: form.is("paused", "yes"), offers: form.is("offers", "yes") };
        verbs::change(&actor.doer(), id, &new).await?;
        return Ok(session::done(&state, &format!("/customers/{id}"), "Their wishes are saved."));
    }
    let again = page(&state, &actor, id, Some(form), None).await?;
    Ok((axum::http::StatusCode::UNPROCESSABLE_ENTITY, again).into_response())
}

/// POST /customers/{id}/links
pub async fn make_link(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    let link = verbs::make_link(&actor.doer(), id).await?;
    Ok(page(&state, &actor, id, None, Some(link)).await?.into_response())
}

/// POST /customers/{id}/links/ends
pub async fn end_links(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
    _form: Posted,
) -> Result<Response> {
    verbs::end_links(&actor.doer(), id).await?;
    let words = "Every link to their page is ended. What goes out from now on carries new ones.";
    Ok(session::done(&state, &format!("/customers/{id}"), words))
}
