//! A technician's visits with everything that their work needs, as a difference to what the phone holds.
use super::{
    problem::{Problem, Result},
    shapes::{self, Company, Document, Removed, Supervisor, ToSign, Visits},
};
mod one;

use crate::{
    actions::evidence,
    db::{
        Conn, company, document, record, signature,
        sync::{self, Cursor, Touched},
        visit,
    },
    domain::{calendar::add_days, chain::hex},
    web::{AppState, session::Actor},
};
use axum::{
    Json,
    extract::{Query, State, rejection::QueryRejection},
};
use chrono::NaiveDate;
use serde::Deserialize;
use std::collections::BTreeSet;
use uuid::Uuid;

#[derive(Debug, Deserialize)]
pub struct Ask {
    since: Option<String>,
}

/// GET /api/visits
///
/// The visits booked for whoever is signed in, late ones included, until some days ahead, and today's that are
/// done. With a cursor only those that changed since; one that is too old or of another database gives all of
/// them, and says so. Nothing is to be stored on the way.
#[utoipa::path(get, path = "/api/visits", tag = "visits",
    params(("since" = Option<String>, Query, description = "The cursor of the answer before")),
    responses(
        (status = 200, description = "What changed", body = Visits),
        (status = 400, description = "Not a query that can be read", body = shapes::Problem,
            content_type = "application/problem+json"),
        (status = 401, description = "Nobody is signed in", body = shapes::Problem,
            content_type = "application/problem+json")))]
pub async fn since(
    State(state): State<AppState>,
    actor: Actor,
    ask: Result<Query<Ask>, QueryRejection>,
) -> Result<Json<Visits>> {
    let Query(ask) = ask.map_err(|e| Problem::Unreadable(e.body_text()))?;
    let until = add_days(actor.today, state.config.phone_days);
    let mut tx = state.pool.begin().await?;
    sync::as_of_now(&mut tx).await?;
    let now = sync::cursor(&mut tx, until, actor.reads()).await?;
    let then = ask.since.and_then(|text| text.parse::<Cursor>().ok());
    // Who reads another language since then is given everything anew, in words of that language.
    let then = then.filter(|then| {
        then.system == now.system && then.oldest <= now.oldest && then.language == now.language
    });
    let touched = match then {
        Some(then) => sync::since(&mut tx, actor.id, then).await?,
        None => sync::all(&mut tx, actor.id, actor.today, until).await?,
    };
    let (mut visits, mut removed, mut labels) = (vec![], vec![], BTreeSet::new());
    for one in touched {
        if let Some(why) = gone(&one, &actor, until) {
            removed.push(why);
            continue;
        }
        let Some(found) = visit::find(&mut tx, one.id).await? else { continue };
        let shown = one::whole(&mut tx, &actor, &one, &found).await?;
        labels.extend(shown.doses.iter().map(|d| d.label_version));
        visits.push(shown);
    }
    let taken: Vec<Uuid> = visits.iter().map(|v| v.id).collect();
    let states: BTreeSet<String> = visits.iter().map(|v| v.site.state.clone()).collect();
    let answer = Visits {
        cursor: now.to_string(),
        whole: then.is_none(),
        now: state.clock.now(),
        today: actor.today,
        until,
        company: our_company(&mut tx).await?,
        labels: one::labels(&mut tx, labels).await?,
        documents: documents(&mut tx, &actor, until).await?,
        to_sign: to_sign(&mut tx, &actor).await?,
        supervisors: supervisors(&mut tx, &states, actor.today).await?,
        visits,
        removed,
    };
    // What is read for the phone is read as of one moment, in a transaction that writes nothing.
    drop(tx);
    if !taken.is_empty() {
        evidence::taken_by_phone(&actor.doer(), &mut *state.pool.acquire().await?, &taken).await?;
    }
    Ok(Json(answer))
}

/// Why the phone holds this visit no longer.
fn gone(one: &Touched, actor: &Actor, until: NaiveDate) -> Option<Removed> {
    let (why, words) = if one.technician_id != actor.id {
        ("somebody-else", "Somebody else does this visit.")
    } else if one.status == "cancelled" {
        ("cancelled", "This visit is cancelled.")
    } else if one.status == "done" && one.on_date < actor.today {
        ("done", "This visit is done.")
    } else if one.on_date > until {
        ("later", "This visit was moved to a later day.")
    } else {
        return None;
    };
    Some(Removed { id: one.id, why: why.to_owned(), words: actor.reads().said(words) })
}

/// The files that belong to the label versions of all visits that the phone holds.
async fn documents(conn: &mut Conn, actor: &Actor, until: NaiveDate) -> Result<Vec<Document>> {
    let all = document::wanted(conn, actor.id, actor.today, until).await?;
    let named = |d: document::Wanted| Document {
        id: d.id,
        label_version: d.label_version,
        kind: d.kind,
        sha256: hex(&d.hash),
        bytes: d.bytes,
    };
    Ok(all.into_iter().map(named).collect())
}

async fn our_company(conn: &mut Conn) -> Result<Company> {
    let help = sync::help(conn).await?;
    let found = company::find(conn).await?;
    let (name, phone, emergency_phone) =
        found.map(|c| (c.name, c.phone, c.emergency_phone)).unwrap_or_default();
    Ok(Company {
        name,
        phone,
        emergency_phone,
        poison_center_phone: help.poison_center_phone,
        emergency_place: help.emergency_place,
    })
}

/// So many records are named; those signed make room.
const MOST_TO_SIGN: i64 = 50;

async fn to_sign(conn: &mut Conn, actor: &Actor) -> Result<Vec<ToSign>> {
    let all = signature::to_sign(conn, actor.id, MOST_TO_SIGN).await?;
    let named = |of: signature::Unsigned| ToSign {
        record: of.id,
        by: one::due_by(&of.site_state, of.restricted, of.applied_on),
        address: of.site_address,
        on: of.applied_on,
    };
    Ok(all.into_iter().map(named).collect())
}

/// Whoever is certified today in one of these states.
async fn supervisors(conn: &mut Conn, states: &BTreeSet<String>, on: NaiveDate) -> Result<Vec<Supervisor>> {
    let mut all = vec![];
    for state in states {
        let people = record::people_on(conn, state, on).await?;
        let named = people.into_iter().filter(|p| !p.number.is_empty() && !p.retired);
        all.extend(named.map(|p| Supervisor {
            id: p.id,
            name: p.name,
            number: p.number,
            state: state.clone(),
        }));
    }
    Ok(all)
}
