//! California's monthly summary of one county: the sheet to be mailed, and the same rows as a file.
use super::{AT, AT_LOG, holds, lacks, log, month_words, standing};
use crate::{
    db::{
        Conn,
        company::{self, Company},
        registration::{self, Registration},
        report::{self, Filter, Line},
    },
    domain::{
        cell::Cell,
        filing::{
            Month,
            california::{self as rule, Item},
            source::{CALIFORNIA, Ground},
        },
        quantity::{Amount, AmountUnit, MassUnit, from_decimal},
    },
    output::table::Format,
    web::{
        AppState, Error, Result,
        export::{self, Ready, Source},
        page::Page,
        session::Actor,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Redirect, Response},
};
use chrono::NaiveDate;
use serde::Deserialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// What the sheet says when there was nothing.
const NIL: &str = "No pest control work was done in this county in this month.";
/// Names of counties are shorter.
const LONGEST: usize = 80;

/// Which county and month.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    county: String,
    month: String,
}

/// An address of the summary of this county and month.
pub(super) fn address(path: &str, county: &str, month: Month) -> String {
    let ask = [("county", county), ("month", &month.code())];
    format!("{path}?{}", serde_urlencoded::to_string(ask).unwrap_or_default())
}

/// A row of the sheet, with what is to be said about it.
struct Row {
    own: rule::Row,
    remarks: String,
}

/// A record that lacks something.
struct Lacking {
    record: Uuid,
    on: NaiveDate,
    customer: String,
    words: String,
}

/// Everything that the sheet and the file say.
struct Sums {
    company: Company,
    county: String,
    month: Month,
    registration: Option<Registration>,
    rows: Vec<Row>,
    nil: bool,
    lacking: Vec<Lacking>,
}

/// Reads and adds up; `None` when the address names no month, or no county in which the company was ever
/// registered or at work: nobody is owed a summary of another one.
async fn sums(conn: &mut Conn, ask: &Ask) -> Result<Option<Sums>> {
    let asked = ask.county.trim();
    let Some(month) = Month::parse(&ask.month) else { return Ok(None) };
    if asked.is_empty() || asked.chars().count() > LONGEST || asked.chars().any(char::is_control) {
        return Ok(None);
    }
    let company = company::find(conn).await?.ok_or(Error::NotFound)?;
    let filter = Filter {
        from: month.first_day(),
        until: month.last_day(),
        state: "CA".to_owned(),
        county: asked.to_owned(),
    };
    let lines = report::lines(conn, &filter, None, None).await?;
    let own = |one: &Registration| one.state == "CA" && one.county.to_lowercase() == asked.to_lowercase();
    let registrations: Vec<Registration> = registration::list(conn).await?.into_iter().filter(own).collect();
    if registrations.is_empty() && lines.is_empty() && !report::ever_worked(conn, "CA", asked).await? {
        return Ok(None);
    }
    let registration = registrations.into_iter().find(|one| holds(one, month));
    // Two spellings of a county are one county; the registration's counts.
    let recorded = lines.first().map(|line| line.site_county.clone());
    let county = registration.as_ref().map(|one| one.county.clone()).or(recorded);
    let county = county.unwrap_or_else(|| asked.to_owned());
    Ok(Some(add_up(company, county, month, registration, &lines)))
}

fn add_up(
    company: Company,
    county: String,
    month: Month,
    registration: Option<Registration>,
    lines: &[Line],
) -> Sums {
    let mut lacking = lacking(lines);
    let (mut items, mut odd) = (vec![], vec![]);
    for line in lines {
        match item(line, &county) {
            Some(item) => items.push(item),
            None => odd.push(line),
        }
    }
    lacking.extend(odd.iter().map(|line| {
        let words = format!("{}: {} is no unit that can be added up", line.product_name, line.unit);
        Lacking { words, ..of(line) }
    }));
    let (summaries, _) = rule::summaries(month, std::slice::from_ref(&county), &items);
    let summary = summaries.into_iter().find(|one| one.county == county);
    let nil = lines.is_empty();
    let rows = summary.map(|one| one.rows).unwrap_or_default().into_iter();
    let rows = rows.map(|own| Row { remarks: remarks(&own, lines), own }).collect();
    Sums { company, county, month, registration, rows, nil, lacking }
}

fn item(line: &Line, county: &str) -> Option<Item> {
    let amount = by_weight(line)?;
    Some(Item {
        record: line.record_id.to_string(),
        county: Some(county.to_owned()),
        on: line.applied_on,
        product: line.product_name.clone(),
        registration_number: Some(line.registration_number.clone()),
        amount,
    })
}

/// The amount; the form counts by weight and volume alone, so packets count by what one weighs. None where the
/// label does not state that.
fn by_weight(line: &Line) -> Option<Amount> {
    let unit = AmountUnit::from_code(&line.unit).ok()?;
    let amount = from_decimal(line.amount);
    if !unit.is_piece() {
        return Some(Amount::new(amount, unit));
    }
    let one = MassUnit::from_code(line.piece_unit.as_deref()?).ok()?;
    Some(Amount::new(amount * from_decimal(line.piece_mass?), AmountUnit::Mass(one)))
}

fn of(line: &Line) -> Lacking {
    Lacking {
        record: line.record_id,
        on: line.applied_on,
        customer: line.customer_name.clone(),
        words: String::new(),
    }
}

fn lacks_of(line: &Line) -> Vec<String> {
    lacks(&line.site_state, line.restricted_use, line.present())
}

/// Each record that lacks something, once, with all that its lines lack.
fn lacking(lines: &[Line]) -> Vec<Lacking> {
    let mut found: BTreeMap<(NaiveDate, Uuid), (Lacking, Vec<String>)> = BTreeMap::new();
    for line in lines {
        for words in lacks_of(line) {
            let key = (line.applied_on, line.record_id);
            let (_, said) = found.entry(key).or_insert_with(|| (of(line), vec![]));
            if !said.contains(&words) {
                said.push(words);
            }
        }
    }
    found.into_values().map(|(one, said)| Lacking { words: said.join("; "), ..one }).collect()
}

/// What stands beside a row: it is added up whatever its records lack.
fn remarks(row: &rule::Row, lines: &[Line]) -> String {
    let own = lines.iter().filter(|line| {
        let volume = AmountUnit::from_code(&line.unit).map(AmountUnit::is_volume);
        let row_volume = matches!(row.unit, rule::FormUnit::Pt | rule::FormUnit::Qt | rule::FormUnit::Ga);
        line.registration_number == row.registration_number
            && line.product_name == row.product
            && volume == Ok(row_volume)
    });
    let mut lacking: Vec<Uuid> = own.filter(|line| !lacks_of(line).is_empty()).map(|l| l.record_id).collect();
    lacking.dedup();
    let mut said = vec![];
    match lacking.len() {
        0 => {}
        1 => said.push("1 record lacks something".to_owned()),
        more => said.push(format!("{more} records lack something")),
    }
    if row.amount.bytes().all(|digit| matches!(digit, b'0' | b'.')) {
        said.push("less than half of the last digit shown".to_owned());
    }
    said.join("; ")
}

#[derive(Template, WebTemplate)]
#[template(path = "report/california.html")]
struct SheetPage {
    page: Page,
    sums: Sums,
    month: String,
    due_on: NaiveDate,
    badge: &'static str,
    standing: String,
    nil_words: &'static str,
    grounds: [Ground; 6],
    file: String,
    workbook: String,
    paper: String,
    log: String,
    enter: String,
    prepared_by: String,
    today: NaiveDate,
    /// Whether the month is over: only then is there something to sign.
    over: bool,
}

/// GET /reports/california
pub async fn show(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let Some(sums) = sums(&mut *state.pool.acquire().await?, &ask).await? else {
        return Ok(Redirect::to(AT).into_response());
    };
    let (badge, standing) = standing(sums.month, actor.today);
    let month = month_words(sums.month);
    let place = serde_urlencoded::to_string([("state", "CA"), ("county", &sums.county)]).unwrap_or_default();
    let (first, last) = (sums.month.first_day(), sums.month.last_day());
    Ok(SheetPage {
        page: Page::of(&actor, format!("Monthly summary, {} County, {month}", sums.county), AT),
        due_on: rule::due_on(sums.month),
        file: address("/reports/california.csv", &sums.county, sums.month),
        workbook: address("/reports/california.xlsx", &sums.county, sums.month),
        paper: address("/reports/california.pdf", &sums.county, sums.month),
        log: log::address(AT_LOG, first, last, "CA", &sums.county, None),
        enter: format!("/reports/registrations?{place}"),
        prepared_by: actor.name.clone(),
        today: actor.today,
        over: actor.today > sums.month.last_day(),
        nil_words: NIL,
        grounds: CALIFORNIA,
        sums,
        month,
        badge,
        standing,
    }
    .into_response())
}

/// Columns of the file: each row says for whom, where and when it is.
const COLUMNS: [&str; 13] = [
    "Business",
    "Address",
    "Licence number",
    "County registration",
    "County",
    "Month",
    "Use code",
    "Product",
    "EPA Reg. No.",
    "Amount",
    "Unit",
    "Applications",
    "Remarks",
];

/// GET /reports/california.csv
pub async fn file(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    download(&state, &actor, &ask, Format::Csv).await
}

/// GET /reports/california.xlsx
pub async fn workbook(
    State(state): State<AppState>,
    actor: Actor,
    Query(ask): Query<Ask>,
) -> Result<Response> {
    download(&state, &actor, &ask, Format::Xlsx).await
}

/// GET /reports/california.pdf
pub async fn paper(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    download(&state, &actor, &ask, Format::Pdf).await
}

async fn download(state: &AppState, actor: &Actor, ask: &Ask, format: Format) -> Result<Response> {
    let Some(sums) = sums(&mut *state.pool.acquire().await?, ask).await? else {
        return Ok(Redirect::to(AT).into_response());
    };
    let list = Ready {
        title: format!("Monthly summary, {} County, {}", sums.county, month_words(sums.month)),
        period: month_words(sums.month),
        stem: stem(&sums),
        columns: &COLUMNS,
        cautions: vec![
            "The county's own form decides; a licensed person answers for the figures.".to_owned(),
        ],
        rows: file_rows(&sums, actor.today),
    };
    export::of_actor(state, actor, Source::Ready(Box::new(list)), format).await
}

fn stem(sums: &Sums) -> String {
    let county: Vec<String> =
        sums.county.split(|c: char| !c.is_ascii_alphanumeric()).map(str::to_ascii_lowercase).collect();
    let county = county.iter().filter(|part| !part.is_empty()).cloned().collect::<Vec<_>>().join("-");
    format!("california_{county}_{}", sums.month.code())
}

fn file_rows(sums: &Sums, today: NaiveDate) -> Vec<Vec<Cell>> {
    let c = &sums.company;
    let head = || {
        vec![
            Cell::text(&c.name),
            Cell::text(format!("{}, {}, {} {}", c.street, c.city, c.state, c.zip)),
            Cell::text(&c.license_number),
            Cell::text(sums.registration.as_ref().map(|one| one.number.clone()).unwrap_or_default()),
            Cell::text(&sums.county),
            Cell::text(sums.month.code()),
        ]
    };
    let row = |row: &Row| {
        let own = &row.own;
        let cells = [
            Cell::text(own.use_code),
            Cell::text(&own.product),
            Cell::text(&own.registration_number),
            Cell::Number(own.amount.clone()),
            Cell::text(own.unit.code()),
            Cell::Number(own.applications.to_string()),
            Cell::text(&row.remarks),
        ];
        head().into_iter().chain(cells).collect()
    };
    let mut rows: Vec<Vec<Cell>> = sums.rows.iter().map(row).collect();
    if sums.nil {
        let over = today > sums.month.last_day();
        let words = if over { NIL } else { "Nothing so far; the month is not over." };
        let nothing = std::iter::repeat_n(Cell::Empty, COLUMNS.len() - 7);
        rows.push(head().into_iter().chain(nothing).chain([Cell::text(words)]).collect());
    }
    rows
}
