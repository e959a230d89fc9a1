//! An estimate as a file to print.
use super::{Estimate, Label, Line, dollars, line_view, money, words};
use crate::output::pdf::{self, Block, Column, Part, Sheet, Table, plain, strong};

/// The file's bytes.
pub(super) fn write(
    company: &str,
    one: &Estimate,
    lines: &[Line],
    labels: &[Label],
) -> anyhow::Result<Vec<u8>> {
    let title = format!("Estimate {}", one.number);
    let mut blocks = vec![Block::Title(title.clone()), Block::Words(opening(one))];
    blocks.push(Block::Table(table(one, lines)));
    if !one.note.is_empty() {
        blocks.push(Block::Words(plain(one.note.clone())));
    }
    blocks.push(Block::Words(vec![
        Part::Small(format!(
            "US dollars before any tax. Each line is rounded to the cent, halves up; the sum adds the rounded \
             lines. The prices stand until {} for the plants as they were measured; a plant that has grown is \
             measured again. A day is promised only once it is booked: label, annual cap and local rules may move it.",
            words::day(one.valid_until)
        )),
        Part::Small(format!("Prepared by {} on {}.", one.made_by_name, words::day(one.made_on))),
    ]));
    blocks.extend(said(labels));
    pdf::write(&Sheet {
        title,
        owner: company.to_owned(),
        foot: "The label and local rules decide; a licensed person answers.".to_owned(),
        blocks,
    })
}

fn opening(one: &Estimate) -> Vec<Part> {
    let stands = match one.withdrawn_at {
        Some(_) => "withdrawn: it stands no more".to_owned(),
        None => format!("stands until {}", words::day(one.valid_until)),
    };
    vec![
        Part::Strong(one.customer_name.clone()),
        Part::Plain(one.customer_address.clone()),
        Part::Plain(format!("For the plants at {}", one.site_address)),
        Part::Plain(format!("Made on {}, {stands}", words::day(one.made_on))),
    ]
}

fn table(one: &Estimate, lines: &[Line]) -> Table {
    let columns = vec![
        Column::of("Plant", 3.0),
        Column::of("What is planned", 3.2),
        Column::of("Counted", 1.4),
        Column::number("Price of one", 1.5),
        Column::number("US dollars", 1.4),
    ];
    let row = |line: &Line| {
        let view = line_view(line);
        let price = if line.basis.is_whole() { String::new() } else { dollars(line.price) };
        vec![strong(view.plant), plain(view.planned), plain(view.counted), plain(price), plain(view.amount)]
    };
    let mut rows: Vec<Vec<pdf::Cell>> = lines.iter().map(row).collect();
    if let Some(sum) = one.whole {
        let what = if one.pricing == "year" { "The year" } else { "The visit" };
        rows.push(vec![strong(what), plain("all plants above"), plain(""), plain(""), plain(money(sum))]);
    }
    rows.push(vec![strong("Together"), plain(""), plain(""), plain(""), strong(money(one.total))]);
    Table { columns, rows }
}

/// What the labels of the products say, for whoever lives there.
pub(in crate::web) fn said(labels: &[Label]) -> Vec<Block> {
    if labels.is_empty() {
        return vec![];
    }
    let mut blocks = vec![Block::Heading("Protective clothing and precautions".to_owned())];
    blocks.extend(labels.iter().map(|label| {
        let signal =
            if label.signal_word.is_empty() { String::new() } else { format!(": {}", label.signal_word) };
        let mut parts = vec![Part::Strong(format!("{}{signal}", label.product))];
        let restricted = if label.restricted { ", restricted use" } else { "" };
        parts.push(Part::Small(format!(
            "EPA Reg. No. {}, label version {}{restricted}",
            label.registration, label.number
        )));
        for (head, words) in
            [("Worn", &label.clothing), ("Precautions", &label.precautions), ("First aid", &label.first_aid)]
        {
            if !words.is_empty() {
                parts.push(Part::Plain(format!("{head}: {words}")));
            }
        }
        Block::Words(parts)
    }));
    blocks
}
