//! Sheets as PDF bytes: headings, words, tables whose heads stand on every page, QR codes and sketches.
//!
//! Letter paper upright. The same sheet gives the same bytes. The file is tagged: a reader by ear gets
//! headings, paragraphs and tables in their order, and not the page's own head and foot.
mod draw;
mod font;
mod layout;
mod tree;

use super::{qr::Qr, sketch::Sketch};

/// A whole document.
#[derive(Debug, Clone)]
pub struct Sheet {
    pub title: String,
    /// Stands at the right of every page's head: the company.
    pub owner: String,
    /// Stands at the left of every page's foot.
    pub foot: String,
    pub blocks: Vec<Block>,
}

/// A part of a sheet, from top to bottom.
#[derive(Debug, Clone)]
pub enum Block {
    /// The sheet's own heading, once.
    Title(String),
    Heading(String),
    Words(Vec<Part>),
    Table(Table),
    /// A picture that is drawn as wide as the page or `width` points, with words that stand for it.
    Sketch {
        sketch: Sketch,
        words: String,
    },
    NewPage,
}

/// Rows under a head that is repeated on every page they reach.
#[derive(Debug, Clone)]
pub struct Table {
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
}

/// A column's head and how much of the width it takes, as a share of all columns' shares.
#[derive(Debug, Clone)]
pub struct Column {
    pub title: String,
    pub share: f32,
    /// Numbers stand at the right.
    pub right: bool,
}

impl Column {
    /// A column of words.
    #[must_use]
    pub fn of(title: &str, share: f32) -> Self {
        Self { title: title.to_owned(), share, right: false }
    }

    /// A column of numbers.
    #[must_use]
    pub fn number(title: &str, share: f32) -> Self {
        Self { right: true, ..Self::of(title, share) }
    }
}

/// What stands in a cell, line under line.
pub type Cell = Vec<Part>;

/// A piece of text or a picture that begins a line of its own.
#[derive(Debug, Clone)]
pub enum Part {
    Plain(String),
    Strong(String),
    Small(String),
    Code(Qr),
}

/// A cell of plain words.
#[must_use]
pub fn plain(words: impl Into<String>) -> Cell {
    vec![Part::Plain(words.into())]
}

/// A cell of strong words.
#[must_use]
pub fn strong(words: impl Into<String>) -> Cell {
    vec![Part::Strong(words.into())]
}

/// The language that a sheet is written in.
#[derive(Debug, Clone, Copy)]
pub struct Tongue {
    /// Its tag, which the file names to readers by ear: `en-US`.
    pub tag: &'static str,
    /// Which page of how many, at the foot of each.
    pub folio: fn(usize, usize) -> String,
}

/// English, as in the United States.
pub const ENGLISH: Tongue = Tongue { tag: "en-US", folio: |page, of| format!("Page {page} of {of}") };

/// The bytes of a sheet in English.
///
/// # Errors
/// When the fonts that the program carries cannot be read, or the writer refuses the document.
pub fn write(sheet: &Sheet) -> anyhow::Result<Vec<u8>> {
    write_in(ENGLISH, sheet)
}

/// The bytes of a sheet in that language.
///
/// # Errors
/// As [`write`].
pub fn write_in(tongue: Tongue, sheet: &Sheet) -> anyhow::Result<Vec<u8>> {
    let fonts = font::Fonts::load()?;
    let pages = layout::Layout::new(&fonts).of(sheet, tongue);
    draw::document(sheet, tongue, &fonts, pages)
}

#[cfg(test)]
mod tests;
