//! One list of cells as a file: comma-separated, a workbook, or a sheet to print. The same rows give the same
//! cells in each.
mod paper;
mod xlsx;

use super::csv;
use crate::domain::cell::Cell;
use chrono::NaiveDate;
use std::io::Write;

/// So many rows fit a file that is to be printed.
pub const PAPER_ROWS: usize = 5_000;
/// A piece of a comma-separated file has about this many bytes.
const PIECE: usize = 32 * 1024;

/// What the list is, as its files say it.
#[derive(Debug, Clone)]
pub struct About {
    pub title: String,
    pub company: String,
    /// `Oct 1, 2026 to Oct 31, 2026`, or what else it was narrowed to.
    pub period: String,
    pub prepared_by: String,
    pub prepared_on: NaiveDate,
    /// What stands on paper before the rows.
    pub cautions: Vec<String>,
    pub columns: Vec<&'static str>,
    /// The file's name up to its dot.
    pub stem: String,
}

/// How a list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    Csv,
    Xlsx,
    Pdf,
}

impl Format {
    /// Reads `csv`, `xlsx` or `pdf`.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Csv, Self::Xlsx, Self::Pdf].into_iter().find(|format| format.code() == code)
    }

    /// The ending of its files.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Xlsx => "xlsx",
            Self::Pdf => "pdf",
        }
    }

    /// What browsers call it.
    #[must_use]
    pub fn media_type(self) -> &'static str {
        match self {
            Self::Csv => "text/csv; charset=utf-8",
            Self::Xlsx => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            Self::Pdf => "application/pdf",
        }
    }
}

/// A file in the making. Comma-separated rows go on at once; a workbook keeps its rows in a file of the system's
/// temporary folder; a sheet to print holds them, and takes no more than [`PAPER_ROWS`].
pub struct File<W> {
    kind: Kind,
    about: About,
    into: W,
}

enum Kind {
    Csv(Box<csv::Sheet>),
    Xlsx(Box<xlsx::Book>),
    Paper(Vec<Vec<Cell>>),
}

impl<W: Write + Send> File<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// When the temporary folder cannot be written to, or nobody takes the file.
    pub fn begin(format: Format, about: About, mut into: W) -> anyhow::Result<Self> {
        let kind = match format {
            Format::Csv => {
                let mut sheet = csv::Sheet::new(&about.columns)?;
                // The names of the columns go ahead: the reader need not wait for the first row to see the file begin.
                into.write_all(&sheet.take()?)?;
                into.flush()?;
                Kind::Csv(Box::new(sheet))
            }
            Format::Xlsx => Kind::Xlsx(Box::new(xlsx::Book::begin(&about)?)),
            Format::Pdf => Kind::Paper(vec![]),
        };
        Ok(Self { kind, about, into })
    }

    /// Adds a row.
    ///
    /// # Errors
    /// When it cannot be written, or a sheet to print has too many rows.
    pub fn row(&mut self, cells: Vec<Cell>) -> anyhow::Result<()> {
        match &mut self.kind {
            Kind::Csv(sheet) => {
                sheet.row(&cells)?;
                if sheet.length() >= PIECE {
                    self.into.write_all(&sheet.take()?)?;
                }
            }
            Kind::Xlsx(book) => book.row(&cells)?,
            Kind::Paper(rows) => {
                anyhow::ensure!(rows.len() < PAPER_ROWS, "more than {PAPER_ROWS} rows are no sheet to print");
                rows.push(cells);
            }
        }
        Ok(())
    }

    /// Writes what is left.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn end(mut self) -> anyhow::Result<W> {
        match self.kind {
            Kind::Csv(mut sheet) => self.into.write_all(&sheet.take()?)?,
            Kind::Xlsx(book) => book.end(&self.about, &mut self.into)?,
            Kind::Paper(rows) => self.into.write_all(&paper::write(&self.about, &rows)?)?,
        }
        Ok(self.into)
    }
}

#[cfg(test)]
mod tests;
