//! Application records: the log, the door to one record, and the pages of writing and amending.
pub(super) mod changes;
mod complete;
mod edit;
mod field;
mod kept;
mod rows;
pub(super) mod show;
mod unsigned;

pub use edit::{amend, amend_form, create, new_form};
pub use field::{photo, sign};
pub use kept::{kept, settle};
pub use show::{answer, show};
pub use unsigned::unsigned;
pub(in crate::web) use unsigned::{countdown, limit_words};

use super::{AppState, Error, Result, form::Form, page::Page, session::Actor, visits::read_after};
use crate::{
    db::{
        Conn,
        record::{self, After, Filter, Line},
    },
    domain::user::Role,
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Response},
};
use std::collections::HashSet;
use uuid::Uuid;

const AT: &str = "/records";
/// Rows a page; one more is read to know whether there is a next one.
const PAGE: i64 = 50;

/// The one door to a record: the office sees all of them, a technician those that they applied or wrote.
pub(super) async fn door(conn: &mut Conn, actor: &Actor, id: Uuid) -> Result<()> {
    let theirs = record::applicator_of(conn, id).await?;
    let may = !theirs.is_empty() && (actor.role != Role::Technician || theirs.contains(&actor.id));
    if may { Ok(()) } else { Err(Error::NotFound) }
}

struct Row {
    id: Uuid,
    on: chrono::NaiveDate,
    address: String,
    customer: String,
    applicator: String,
    what: String,
    other_company: bool,
    withdrawn: bool,
    version: i32,
    open_flags: i64,
    missing: usize,
}

#[derive(Template, WebTemplate)]
#[template(path = "record/list.html")]
struct ListPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
    products: Vec<(String, String)>,
    next: Option<String>,
}

/// GET /records?from=..&until=..&state=..&county=..&product=..&q=..&show=flagged
pub async fn list(
    State(state): State<AppState>,
    actor: Actor,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response> {
    let mut form = Form::filled(asked);
    let filter = read_filter(&mut form);
    // What cannot be read narrows nothing; the page says so at the field.
    let after = read_after(form.value("after")).map(|(applied_on, id)| After { applied_on, id });
    let mut conn = state.pool.acquire().await?;
    let mut lines = record::list(&mut conn, &filter, after, PAGE + 1).await?;
    let next = next_page(&mut lines, &form);
    let versions: Vec<Uuid> =
        lines.iter().flat_map(|l| l.version.items.iter().map(|i| i.label_version_id)).collect();
    let restricted: HashSet<Uuid> =
        record::restricted_among(&mut conn, &versions).await?.into_iter().collect();
    let choices = record::choices(&mut conn).await?;
    let mut products: Vec<(String, String)> =
        choices.into_iter().map(|c| (c.product_id.to_string(), c.product_name)).collect();
    products.dedup();
    let rows = lines.into_iter().map(|line| row(line, &restricted)).collect();
    Ok(ListPage { page: Page::of(&actor, "Application records", AT), form, rows, products, next }
        .into_response())
}

fn read_filter(form: &mut Form) -> Filter {
    Filter {
        from: form.date("from"),
        until: form.date("until"),
        state: form.value("state").to_uppercase(),
        county: form.text("county"),
        product: form.value("product").parse().ok(),
        search: form.text("q"),
        flagged: form.value("show") == "flagged",
        person: None,
    }
}

fn next_page(lines: &mut Vec<Line>, form: &Form) -> Option<String> {
    let page = usize::try_from(PAGE).unwrap_or(usize::MAX);
    if lines.len() <= page {
        return None;
    }
    lines.truncate(page);
    let last = &lines.last()?.version.head;
    let mut query: Vec<(String, String)> = form
        .values
        .iter()
        .filter(|(name, value)| name != "after" && !value.trim().is_empty())
        .cloned()
        .collect();
    query.push(("after".into(), format!("{}.{}", last.applied_on, last.id)));
    Some(format!("/records?{}", serde_urlencoded::to_string(query).ok()?))
}

fn row(line: Line, restricted: &HashSet<Uuid>) -> Row {
    let (head, items) = (&line.version.head, &line.version.items);
    let what: Vec<String> = items
        .iter()
        .take(3)
        .map(|i| {
            let plant = if i.host_plant.is_empty() { &i.plant_words } else { &i.host_plant };
            format!("{plant}: {} of {}", super::pour::amount(i.amount, &i.unit), i.product_name)
        })
        .collect();
    let more = if items.len() > 3 { format!("; and {} more", items.len() - 3) } else { String::new() };
    let ruled = items.iter().any(|i| restricted.contains(&i.label_version_id));
    Row {
        id: head.id,
        on: head.applied_on,
        address: head.site_address.clone(),
        customer: head.customer_name.clone(),
        applicator: head.applicator_name.clone(),
        what: format!("{}{more}", what.join("; ")),
        other_company: head.origin == "other-company",
        withdrawn: head.withdrawn,
        version: head.version,
        open_flags: if head.withdrawn { 0 } else { line.open_flags },
        missing: if head.withdrawn || head.origin == "other-company" {
            0
        } else {
            complete::missing(&line.version, ruled).len()
        },
    }
}
