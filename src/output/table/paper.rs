//! A list as a sheet to print. Few columns are a table; many are told cell by cell under their names, since no
//! paper is as wide as they are.
use super::About;
use crate::{
    domain::cell::Cell,
    output::pdf::{self, Block, Column, Part, Sheet, Table, plain},
};

/// More columns than this do not fit beside one another.
const BESIDE: usize = 9;
/// A wide row is told in so many columns.
const PILES: usize = 3;

/// The file's bytes.
pub(super) fn write(about: &About, rows: &[Vec<Cell>]) -> anyhow::Result<Vec<u8>> {
    let count = if rows.len() == 1 { "1 row".to_owned() } else { format!("{} rows", rows.len()) };
    let mut blocks = vec![Block::Title(about.title.clone())];
    let period = if about.period.is_empty() { String::new() } else { format!("{}. ", about.period) };
    let on = about.prepared_on.format("%b %-d, %Y");
    let mut opening = plain(format!("{period}{count}. Prepared by {} on {on}.", about.prepared_by));
    opening.extend(about.cautions.iter().map(|caution| Part::Plain(caution.clone())));
    blocks.push(Block::Words(opening));
    if rows.is_empty() {
        blocks.push(Block::Words(plain("No row.")));
    } else if about.columns.len() <= BESIDE {
        blocks.push(Block::Table(beside(&about.columns, rows)));
    } else {
        blocks.push(Block::Table(piled(&about.columns, rows)));
    }
    pdf::write(&Sheet {
        title: about.title.clone(),
        owner: about.company.clone(),
        foot: "The label and local rules decide; a licensed person answers.".to_owned(),
        blocks,
    })
}

fn beside(columns: &[&str], rows: &[Vec<Cell>]) -> Table {
    let column = |(at, name): (usize, &&str)| {
        let cells = || rows.iter().filter_map(|row| row.get(at));
        let longest = cells().map(|cell| cell.plain().chars().count()).max().unwrap_or(0);
        let letters = u16::try_from(longest.max(name.chars().count()).clamp(6, 30)).unwrap_or(30);
        let share = f32::from(letters);
        let number = cells().any(|cell| matches!(cell, Cell::Number(_)));
        if number { Column::number(name, share) } else { Column::of(name, share) }
    };
    Table {
        columns: columns.iter().enumerate().map(column).collect(),
        rows: rows.iter().map(|row| row.iter().map(|cell| plain(cell.plain())).collect()).collect(),
    }
}

fn piled(columns: &[&str], rows: &[Vec<Cell>]) -> Table {
    let each = columns.len().div_ceil(PILES);
    let head = |names: &[&str]| {
        let (first, last) = (names.first().unwrap_or(&""), names.last().unwrap_or(&""));
        Column::of(&format!("{first} to {last}"), 3.0)
    };
    let mut heads = vec![Column::number("Row", 0.5)];
    heads.extend(columns.chunks(each).map(head));
    let row = |(number, row): (usize, &Vec<Cell>)| {
        let told: Vec<(&&str, &Cell)> = columns.iter().zip(row).collect();
        let pile = |cells: &[(&&str, &Cell)]| {
            let said = cells.iter().filter(|(_, cell)| !cell.is_empty());
            said.map(|(name, cell)| Part::Plain(format!("{name}: {}", line(cell)))).collect::<pdf::Cell>()
        };
        let mut cells = vec![plain((number + 1).to_string())];
        cells.extend(told.chunks(each).map(pile));
        cells
    };
    Table { columns: heads, rows: rows.iter().enumerate().map(row).collect() }
}

/// A cell as one line, so that its name stands before all of it.
fn line(cell: &Cell) -> String {
    cell.plain().split_whitespace().collect::<Vec<_>>().join(" ")
}
