//! What services of a period are charged, as a page and as a file for whoever keeps the books; and the statement
//! of one service as paper for its customer.
use crate::{
    actions::{estimate::times_words, evidence},
    db::{
        charge::{self, Done},
        record,
    },
    domain::{
        agreement::PriceBasis,
        cell::Cell,
        charge::{Charge, charges},
        filing::Month,
        money::Money,
        quantity::{plain, to_decimal},
    },
    output::{
        csv::Sheet,
        pdf::{self, Block, Column, Part, Table, strong},
    },
    web::{
        AppState, Error, Result,
        agreements::dollars,
        estimates, files,
        form::Form,
        page::Page,
        pour,
        session::Actor,
        visits::field::{self, Label},
        words,
    },
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Path, Query, State},
    http::StatusCode,
    response::{IntoResponse, Response},
};
use chrono::{Days, NaiveDate};
use serde::Deserialize;
use serde_json::json;
use uuid::Uuid;

/// The columns of the file.
const COLUMNS: [&str; 12] = [
    "service_date",
    "record",
    "customer",
    "customer_address",
    "site_address",
    "description",
    "basis",
    "quantity",
    "unit_price_usd",
    "amount_usd",
    "currency",
    "note",
];
/// A page or file holds so many days at most, so that it fits memory.
const LONGEST: u64 = 366;

/// Which days; the month before this one where nothing is said.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ask {
    from: String,
    until: String,
}

impl Ask {
    fn read(&self, today: NaiveDate) -> (Form, NaiveDate, NaiveDate) {
        let this = Month::of(today).first_day();
        let last = this.pred_opt().map_or(this, |day| Month::of(day).first_day());
        let end = Month::of(last).last_day();
        let or = |text: &str, day: NaiveDate| if text.is_empty() { day.to_string() } else { text.to_owned() };
        let mut form = Form::filled([("from", or(&self.from, last)), ("until", or(&self.until, end))]);
        let (from, until) = (form.date("from").unwrap_or(last), form.date("until").unwrap_or(end));
        if until < from {
            form.fail("until", "The last day comes before the first.");
        } else if from.checked_add_days(Days::new(LONGEST)).is_none_or(|most| until >= most) {
            form.fail("until", "Ask for a year at most.");
        }
        (form, from, until)
    }
}

/// A line of the page.
struct Row {
    record: Uuid,
    on: NaiveDate,
    customer: String,
    site: String,
    what: String,
    how: String,
    amount: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "report/charges.html")]
struct ChargesPage {
    page: Page,
    form: Form,
    rows: Vec<Row>,
    total: String,
    unknown: usize,
    file: String,
}

fn how(charge: &Charge) -> String {
    let counted = charge.price.as_ref().zip(charge.times.as_ref()).map(|((basis, price), times)| {
        let price = to_decimal(price).map_or_else(|| plain(price), dollars);
        format!("{} at {price}", times_words(*basis, times))
    });
    let parts: Vec<String> =
        counted.into_iter().chain((!charge.note.is_empty()).then(|| words::sentence(&charge.note))).collect();
    parts.join("; ")
}

fn rows(done: &Done) -> Vec<Row> {
    let row = |charge: Charge| Row {
        record: done.head.id,
        on: done.head.applied_on,
        customer: done.head.customer_name.clone(),
        site: done.head.site_address.clone(),
        how: how(&charge),
        amount: charge.amount.as_ref().map_or_else(|| "not known".to_owned(), Money::words),
        what: charge.words,
    };
    charges(&done.service).into_iter().map(row).collect()
}

/// GET /reports/charges
pub async fn show(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let (form, from, until) = ask.read(actor.today);
    let mut all = vec![];
    if form.is_good() {
        all = charge::of_period(&mut *state.pool.acquire().await?, from, until).await?;
    }
    let lines: Vec<Charge> = all.iter().flat_map(|done| charges(&done.service)).collect();
    let total: Money = lines.iter().filter_map(|c| c.amount.clone()).sum();
    let status = if form.is_good() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let shown = ChargesPage {
        page: Page::of(&actor, "Charges", super::AT),
        rows: all.iter().flat_map(rows).collect(),
        total: total.words(),
        unknown: lines.iter().filter(|c| c.amount.is_none()).count(),
        file: format!("/reports/charges.csv?from={from}&until={until}"),
        form,
    };
    Ok((status, shown).into_response())
}

fn cells(done: &Done, charge: &Charge) -> [Cell; 12] {
    let number = |text: Option<String>| text.map_or(Cell::Empty, Cell::Number);
    let price = charge.price.as_ref();
    [
        Cell::Day(done.head.applied_on),
        Cell::text(done.head.id.to_string()),
        Cell::text(&done.head.customer_name),
        Cell::text(&done.head.customer_address),
        Cell::text(&done.head.site_address),
        Cell::text(&charge.words),
        Cell::text(price.map_or("", |(basis, _): &(PriceBasis, _)| basis.words())),
        number(charge.times.as_ref().map(plain)),
        number(price.map(|(_, one)| plain(one))),
        number(charge.amount.as_ref().map(Money::plain)),
        Cell::text("USD"),
        Cell::text(&charge.note),
    ]
}

/// GET /reports/charges.csv
pub async fn file(State(state): State<AppState>, actor: Actor, Query(ask): Query<Ask>) -> Result<Response> {
    let (form, from, until) = ask.read(actor.today);
    if !form.is_good() {
        return show(State(state), actor, Query(ask)).await;
    }
    let mut conn = state.pool.acquire().await?;
    let all = charge::of_period(&mut conn, from, until).await?;
    evidence::exported(&actor.doer(), &mut conn, "charges", json!({ "from": from, "until": until })).await?;
    drop(conn);
    let mut sheet = Sheet::new(&COLUMNS).map_err(anyhow::Error::from)?;
    for done in &all {
        for charge in charges(&done.service) {
            sheet.row(&cells(done, &charge)).map_err(anyhow::Error::from)?;
        }
    }
    let bytes = sheet.take().map_err(anyhow::Error::from)?;
    files::attachment(&format!("charges_{from}_{until}.csv"), "text/csv; charset=utf-8", bytes)
}

/// GET /records/{id}/statement : what was done, with what, and what it is charged, as paper for the customer.
pub async fn statement(
    State(state): State<AppState>,
    actor: Actor,
    Path(id): Path<Uuid>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let done = charge::of_record(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let version = record::newest(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let labels = field::labels(&mut conn, version.items.iter().map(|i| i.label_version_id)).await?;
    evidence::exported(&actor.doer(), &mut conn, "statement", json!({ "record": id })).await?;
    drop(conn);
    let name = format!("service-statement_{}.pdf", done.head.applied_on);
    let (company, by, today) = (actor.company.clone(), actor.name.clone(), actor.today);
    files::pdf(&name, move || paper(&company, (&by, today), &done, &version, &labels)).await
}

fn paper(
    company: &str,
    (by, today): (&str, NaiveDate),
    done: &Done,
    version: &record::Version,
    labels: &[Label],
) -> anyhow::Result<Vec<u8>> {
    let head = &version.head;
    let title = format!("Service statement, {}", words::day(head.applied_on));
    let certified = |number: &str| if number.is_empty() { String::new() } else { format!(" ({number})") };
    let mut opening = vec![
        Part::Strong(head.customer_name.clone()),
        Part::Plain(head.customer_address.clone()),
        Part::Plain(format!("Treated at {} on {}", head.site_address, words::day(head.applied_on))),
        Part::Plain(format!(
            "Applied by {}{}",
            head.applicator_name,
            certified(&head.applicator_certification)
        )),
    ];
    if !head.supervisor_name.is_empty() {
        let number = certified(&head.supervisor_certification);
        opening.push(Part::Plain(format!("Supervised by {}{number}", head.supervisor_name)));
    }
    let mut blocks = vec![
        Block::Title(title.clone()),
        Block::Words(opening),
        Block::Heading("What was applied".to_owned()),
        Block::Table(applied(version)),
        Block::Heading("What it costs".to_owned()),
        Block::Table(charged(done)),
        Block::Words(vec![
            Part::Small(
                "US dollars before any tax. Each line is rounded to the cent, halves up; the sum adds the rounded \
                 lines. What has been paid is not part of this statement."
                    .to_owned(),
            ),
            Part::Small(format!("Prepared by {by} on {}; record version {}.", words::day(today), head.version)),
        ]),
    ];
    blocks.extend(estimates::said(labels));
    pdf::write(&pdf::Sheet {
        title,
        owner: company.to_owned(),
        foot: "The label and local rules decide; a licensed person answers.".to_owned(),
        blocks,
    })
}

fn applied(version: &record::Version) -> Table {
    let columns = vec![
        Column::of("Plant", 2.4),
        Column::of("Against", 1.8),
        Column::of("Product", 2.6),
        Column::number("Amount", 1.4),
        Column::of("Method", 1.6),
    ];
    let row = |i: &record::Item| {
        let plant = if i.host_plant.is_empty() { i.plant_words.clone() } else { i.host_plant.clone() };
        let product = vec![
            Part::Plain(i.product_name.clone()),
            Part::Small(format!("EPA Reg. No. {}", i.registration_number)),
        ];
        vec![
            strong(plant),
            pdf::plain(i.target_pest.clone()),
            product,
            pdf::plain(pour::written(i.amount, &i.unit)),
            pdf::plain(i.method.replace('-', " ")),
        ]
    };
    Table { columns, rows: version.items.iter().map(row).collect() }
}

fn charged(done: &Done) -> Table {
    let columns = vec![Column::of("For", 3.0), Column::of("Counted", 4.0), Column::number("US dollars", 1.6)];
    let lines = charges(&done.service);
    let mut cells: Vec<Vec<pdf::Cell>> = rows(done)
        .into_iter()
        .map(|row| vec![strong(row.what), pdf::plain(row.how), pdf::plain(row.amount)])
        .collect();
    let known: Money = lines.iter().filter_map(|c| c.amount.clone()).sum();
    let whole = lines.iter().all(|c| c.amount.is_some());
    let head = if whole { "Together" } else { "Known so far" };
    cells.push(vec![strong(head), pdf::plain(""), strong(known.words())]);
    Table { columns, rows: cells }
}
