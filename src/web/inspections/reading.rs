//! What is read under an inspector's link: records with all their versions, the labels in force, the proof, files.
//! Nothing else is there, and every look is written down.
use super::scope;
use crate::{
    actions::{evidence, inspection as verbs},
    db::{
        Conn, company,
        inspection::{self, Link},
        label::{self, Label},
        person,
        record::{self, Head, Version},
        report,
    },
    domain::{chain::hex, head},
    output::table::Format,
    texts::Language,
    web::{
        AppState, Error, Result,
        evidence::{text, write_proof},
        export::{self, Reader, Source},
        page::Page,
        records::{
            changes::{self, Change, Said},
            show::{ItemLine, item_line},
        },
        words,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    response::{IntoResponse, Response},
};
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::Deserialize;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Rows a page; one more is read to know whether there is a next one.
const PAGE: usize = 50;

/// The page's frame without a person, in the company's name.
async fn frame(conn: &mut Conn, title: &str) -> Result<(Page, Tz)> {
    let company = company::find(&mut *conn).await?.ok_or(Error::NotFound)?;
    let zone = company::time_zone(conn).await?;
    Ok((Page { company: company.name, ..Page::new(title) }, zone))
}

#[derive(Template, WebTemplate)]
#[template(path = "inspection/list.html")]
struct ListPage {
    page: Page,
    base: String,
    link: Link,
    scope: String,
    rows: Vec<Head>,
    next: Option<String>,
    head: HeadLine,
}

/// A head as the page shows it.
struct HeadLine {
    size: u64,
    root: String,
    taken: String,
}

fn head_line(head: &head::Head, zone: Tz) -> HeadLine {
    HeadLine {
        size: head.records.size,
        root: hex(&head.records.root),
        taken: head.taken_at.with_timezone(&zone).format("%b %-d, %Y, %H:%M").to_string(),
    }
}

/// Where a page goes on.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    after: String,
}

/// GET /inspection/{secret}
pub async fn list(
    State(state): State<AppState>,
    Path(secret): Path<String>,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let doer = state.nobody();
    let link = verbs::open(&doer, &mut conn, &secret, "list of records").await?;
    let after = ask.after.split_once('_').and_then(|(day, id)| Some((day.parse().ok()?, id.parse().ok()?)));
    let limit = i64::try_from(PAGE + 1).unwrap_or(i64::MAX);
    let mut rows = inspection::records(&mut conn, &link, after, limit).await?;
    let more = rows.len() > PAGE;
    rows.truncate(PAGE);
    let base = format!("/inspection/{secret}");
    let next =
        rows.last().filter(|_| more).map(|last| format!("{base}?after={}_{}", last.applied_on, last.id));
    let (page, zone) = frame(&mut conn, "Records for inspection").await?;
    drop(conn);
    let head = evidence::current_head(&doer).await?;
    let head = head_line(&head, zone);
    Ok(ListPage { page, base, scope: scope(&link), link, rows, next, head }.into_response())
}

/// A version beside the one before it.
struct Told {
    number: i32,
    who: String,
    when: String,
    why: String,
    changes: Vec<Change>,
    seq: i64,
    hash: String,
}

/// A label as it was in force.
struct LabelLine {
    product: String,
    registration: String,
    number: i32,
    dated: NaiveDate,
    restricted: bool,
    signed: String,
    said: Vec<Said>,
}

#[derive(Template, WebTemplate)]
#[template(path = "inspection/record.html")]
struct RecordPage {
    page: Page,
    base: String,
    now: Version,
    said: Vec<Said>,
    items: Vec<ItemLine>,
    told: Vec<Told>,
    labels: Vec<LabelLine>,
}

/// GET /inspection/{secret}/records/{id}
pub async fn record(
    State(state): State<AppState>,
    Path((secret, id)): Path<(String, Uuid)>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    within(&state, &mut conn, &secret, id, "record").await?;
    let versions = record::versions(&mut conn, id).await?;
    let now = versions.last().map(|(version, _)| version.clone()).ok_or(Error::NotFound)?;
    let (page, zone) = frame(&mut conn, &format!("Record, {}", now.head.site_address)).await?;
    let mut told = vec![];
    for (position, (version, link)) in versions.iter().enumerate() {
        let before = position.checked_sub(1).and_then(|p| versions.get(p));
        let who = person::find(&mut conn, version.head.recorded_by).await?;
        let when = version.head.recorded_at.with_timezone(&zone);
        told.push(Told {
            number: version.head.version,
            who: who.map(|p| p.name).unwrap_or_default(),
            when: when.format("%b %-d, %Y, %H:%M").to_string(),
            why: version.head.amend_reason.clone(),
            changes: before
                .map(|(before, _)| changes::changes(Language::English, before, version))
                .unwrap_or_default(),
            seq: link.seq,
            hash: hex(&link.hash),
        });
    }
    let named = labels(&mut conn, &versions).await?;
    let items = now.items.iter().map(|item| item_line(Language::English, item, &named)).collect();
    let labels = label_lines(&mut conn, &versions, named, zone).await?;
    let said = changes::head(Language::English, &now.head)
        .into_iter()
        .filter(|(_, value)| !value.is_empty())
        .collect();
    let base = format!("/inspection/{secret}");
    Ok(RecordPage { page, base, said, items, told, labels, now }.into_response())
}

/// The door: the link opens, and the record lies within its scope. Otherwise nothing is there.
async fn within(state: &AppState, conn: &mut Conn, secret: &str, id: Uuid, what: &str) -> Result<Link> {
    let link = verbs::open(&state.nobody(), &mut *conn, secret, &format!("{what} {id}")).await?;
    if inspection::covers(conn, &link, id).await? { Ok(link) } else { Err(Error::NotFound) }
}

/// The labels that any version of the record names, each once.
async fn labels(conn: &mut Conn, versions: &[(Version, record::Link)]) -> Result<Vec<Label>> {
    let items = versions.iter().flat_map(|(version, _)| &version.items);
    let named: BTreeSet<Uuid> = items.map(|item| item.label_version_id).collect();
    let mut labels = vec![];
    for id in named {
        labels.extend(label::load(&mut *conn, id).await?);
    }
    Ok(labels)
}

async fn label_lines(
    conn: &mut Conn,
    versions: &[(Version, record::Link)],
    labels: Vec<Label>,
    zone: Tz,
) -> Result<Vec<LabelLine>> {
    let items = || versions.iter().flat_map(|(version, _)| &version.items);
    let mut lines = vec![];
    for label in labels {
        let item = items().find(|item| item.label_version_id == label.version.id);
        let signer = match label.version.signed_by {
            Some(id) => person::find(&mut *conn, id).await?.map(|p| p.name),
            None => None,
        };
        let on = |at: chrono::DateTime<chrono::Utc>| words::day(at.with_timezone(&zone).date_naive());
        lines.push(LabelLine {
            product: item.map(|i| i.product_name.clone()).unwrap_or_default(),
            registration: item.map(|i| i.registration_number.clone()).unwrap_or_default(),
            number: label.version.number,
            dated: label.version.label_date,
            restricted: label.version.restricted_use,
            signed: match (signer, label.version.signed_at) {
                (Some(name), Some(at)) => format!("{name}, {}", on(at)),
                _ => String::new(),
            },
            said: label_said(&label),
        });
    }
    Ok(lines)
}

fn label_said(label: &Label) -> Vec<Said> {
    let v = &label.version;
    let said = [
        ("Signal word", v.signal_word.clone()),
        ("Protective clothing", v.clothing.clone()),
        ("Precautions", v.precautions.clone()),
    ];
    let ingredient = |i: &label::Ingredient| {
        let of = format!("{} {}", i.strength.normalize(), i.strength_unit);
        ("Active ingredient".to_owned(), format!("{}, {of}", i.name))
    };
    let said = said.into_iter().map(|(name, value)| (name.to_owned(), value));
    said.chain(label.ingredients.iter().map(ingredient)).filter(|(_, value)| !value.is_empty()).collect()
}

/// GET /inspection/{secret}/records/{id}/proof
pub async fn proof(
    State(state): State<AppState>,
    Path((secret, id)): Path<(String, Uuid)>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    within(&state, &mut conn, &secret, id, "proof of record").await?;
    drop(conn);
    let head = evidence::current_head(&state.nobody()).await?;
    let mut conn = state.pool.acquire().await?;
    text(&format!("proof_{id}.txt"), write_proof(&mut conn, &head, id).await?)
}

/// GET /inspection/{secret}/files/{name} : the log within the scope as `log.csv`, `log.xlsx` or `log.pdf`, and
/// the head as `head.txt`.
pub async fn file(
    State(state): State<AppState>,
    Path((secret, name)): Path<(String, String)>,
) -> Result<Response> {
    let format = name.strip_prefix("log.").and_then(Format::from_code);
    if format.is_none() && name != "head.txt" {
        return Err(Error::NotFound);
    }
    let mut conn = state.pool.acquire().await?;
    let link = verbs::open(&state.nobody(), &mut conn, &secret, &format!("file {name}")).await?;
    let Some(format) = format else {
        drop(conn);
        let head = evidence::current_head(&state.nobody()).await?;
        return text(&format!("head_{}.txt", head.taken_at.format("%Y-%m-%d")), head.text());
    };
    let filter = report::Filter {
        from: link.from_day,
        until: link.until_day,
        state: link.state.clone(),
        county: link.county.clone(),
    };
    let source = Source::Log(filter);
    source.must_fit(&mut conn, format).await?;
    let (page, zone) = frame(&mut conn, "").await?;
    let today = state.clock.today(zone);
    let reader = Reader {
        company: page.company,
        name: format!("the program for {}", link.reader),
        today,
        time_zone: zone,
    };
    let about = source.about(&reader);
    export::answer(&state, (source, export::part::WHOLE), about, reader, format)
}
