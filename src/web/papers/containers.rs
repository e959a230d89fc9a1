//! Labels for service containers: what is in a jug that is not the one it was bought in.
use super::{
    super::{AppState, Result, files::pdf, page::Page, session::Actor},
    AT,
};
use crate::{
    db::{
        company::{self, Company},
        paper::{self, Contained},
    },
    output::pdf::{self as sheets, Block, Column, Part, Sheet, Table},
};
use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::{Query, State},
    response::{IntoResponse, Response},
};

#[derive(Template, WebTemplate)]
#[template(path = "paper/containers.html")]
struct ContainersPage {
    page: Page,
    products: Vec<Contained>,
}

/// GET /papers/container-labels
pub async fn container_labels(State(state): State<AppState>, actor: Actor) -> Result<Response> {
    let products = paper::contained(&mut *state.pool.acquire().await?).await?;
    Ok(ContainersPage { page: Page::of(&actor, "Labels for service containers", AT), products }
        .into_response())
}

/// GET /papers/container-labels/paper?product=..&product=..&copies=..
pub async fn container_sheet(
    State(state): State<AppState>,
    Query(asked): Query<Vec<(String, String)>>,
) -> Result<Response> {
    let mut conn = state.pool.acquire().await?;
    let mut products = paper::contained(&mut conn).await?;
    let company = company::find(&mut conn).await?.ok_or(super::super::Error::NotFound)?;
    drop(conn);
    let chosen: Vec<&str> = asked.iter().filter(|(n, _)| n == "product").map(|(_, v)| v.as_str()).collect();
    if !chosen.is_empty() {
        products.retain(|p| chosen.contains(&p.product_id.to_string().as_str()));
    }
    let copies = asked.iter().find(|(n, _)| n == "copies").and_then(|(_, v)| v.parse().ok()).unwrap_or(2);
    pdf("container-labels.pdf", move || write(&company, &products, usize::clamp(copies, 1, 20))).await
}

fn write(company: &Company, products: &[Contained], copies: usize) -> anyhow::Result<Vec<u8>> {
    let title = "Labels for service containers".to_owned();
    let mut blocks = vec![
        Block::Title(title.clone()),
        Block::Words(sheets::plain(
            "Cut along the lines and fix one to each container that is not the one the product was bought in. Write \
             on it what was mixed and when. The whole label is kept with the product.",
        )),
    ];
    for product in products {
        let cell = label(company, product);
        let rows = (0..copies.div_ceil(2)).map(|_| vec![cell.clone(), cell.clone()]).collect();
        let columns = vec![Column::of(&product.name, 1.0), Column::of("", 1.0)];
        blocks.push(Block::Table(Table { columns, rows }));
    }
    sheets::write(&Sheet {
        title,
        owner: company.name.clone(),
        foot: "The label and local rules decide; a licensed person answers.".to_owned(),
        blocks,
    })
}

fn label(company: &Company, p: &Contained) -> Vec<Part> {
    let mut parts = vec![Part::Strong(p.name.clone())];
    let restricted = if p.restricted_use { " RESTRICTED USE." } else { "" };
    let signal = if p.signal_word.is_empty() { "No signal word" } else { &p.signal_word };
    parts.push(Part::Strong(format!("{signal}.{restricted} Keep out of reach of children.")));
    parts.push(Part::Plain(format!("EPA Reg. No. {}", p.registration_number)));
    parts.push(Part::Plain(format!("Active: {}", p.ingredients.join("; "))));
    for (head, words) in [("Wear", &p.clothing), ("First aid", &p.first_aid)] {
        if !words.is_empty() {
            parts.push(Part::Small(format!("{head}: {words}")));
        }
    }
    parts.push(Part::Plain("Mixed: ______ of product in ______ of water on ____________".to_owned()));
    parts.push(Part::Small(format!(
        "{}, {}, {}, {} {}. {}{}",
        company.name,
        company.street,
        company.city,
        company.state,
        company.zip,
        company.phone,
        if company.emergency_phone.is_empty() {
            String::new()
        } else {
            format!("; in an emergency {}", company.emergency_phone)
        }
    )));
    parts
}
