//! A workbook: numbers are numbers, days are days, and text is text whatever it begins with. Rows go to a
//! temporary file as they come.
use super::About;
use crate::domain::cell::Cell;
use chrono::{Datelike, NaiveDate};
use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};
use std::io::Write;

/// Rows of a worksheet, its head included; what is more goes on in another one.
const SHEET_ROWS: u32 = 1_048_576;
/// Letters of a cell. Longer text is cut, and says so.
const LONGEST: usize = 32_767;
const CUT: &str = " [cut here; the comma-separated file has all of it]";

pub(super) struct Book {
    book: Workbook,
    columns: Vec<&'static str>,
    /// The worksheet at work and its next row.
    sheet: usize,
    row: u32,
    limit: u32,
    bold: Format,
    day: Format,
}

impl Book {
    pub(super) fn begin(about: &About) -> Result<Self, XlsxError> {
        Self::with_limit(about, SHEET_ROWS)
    }

    pub(super) fn with_limit(about: &About, limit: u32) -> Result<Self, XlsxError> {
        let mut this = Self {
            book: Workbook::new(),
            columns: about.columns.clone(),
            sheet: 0,
            row: 0,
            limit,
            bold: Format::new().set_bold(),
            day: Format::new().set_num_format("yyyy-mm-dd"),
        };
        this.add_sheet()?;
        Ok(this)
    }

    fn add_sheet(&mut self) -> Result<(), XlsxError> {
        let sheet = self.book.add_worksheet_with_constant_memory()?;
        sheet.set_freeze_panes(1, 0)?;
        for (column, name) in (0..).zip(&self.columns) {
            sheet.set_column_width(column, width(name))?;
            sheet.write_string_with_format(0, column, *name, &self.bold)?;
        }
        self.row = 1;
        Ok(())
    }

    pub(super) fn row(&mut self, cells: &[Cell]) -> Result<(), XlsxError> {
        if self.row == self.limit {
            self.sheet += 1;
            self.add_sheet()?;
        }
        let sheet = self.book.worksheet_from_index(self.sheet)?;
        for (column, cell) in (0..).zip(cells) {
            write(sheet, (self.row, column), cell, &self.day)?;
        }
        self.row += 1;
        Ok(())
    }

    /// Adds the sheet that says what the list is, and writes the file.
    pub(super) fn end(mut self, about: &About, into: &mut (impl Write + Send)) -> anyhow::Result<()> {
        let sheet = self.book.add_worksheet_with_constant_memory()?;
        sheet.set_name("About")?;
        sheet.set_column_width(0, 16)?;
        sheet.set_column_width(1, 80)?;
        let on = about.prepared_on.to_string();
        let facts = [
            ("List", &about.title),
            ("Company", &about.company),
            ("Period", &about.period),
            ("Prepared by", &about.prepared_by),
            ("Prepared on", &on),
        ];
        let cautions = about.cautions.iter().map(|caution| ("Note", caution));
        for (row, (name, value)) in (0..).zip(facts.into_iter().chain(cautions)) {
            sheet.write_string_with_format(row, 0, name, &self.bold)?;
            sheet.write_string(row, 1, fitting(value))?;
        }
        self.book.save_to_writer(into)?;
        Ok(())
    }
}

fn width(name: &str) -> f64 {
    let letters = u32::try_from(name.chars().count()).unwrap_or(20);
    f64::from(letters.clamp(10, 28) + 2)
}

/// The text, no longer than a cell can hold.
fn fitting(text: &str) -> String {
    if text.encode_utf16().count() <= LONGEST {
        return text.to_owned();
    }
    // No letter takes more than two of the units that the limit counts.
    let kept: String = text.chars().take((LONGEST - CUT.len()) / 2).collect();
    kept + CUT
}

fn write(sheet: &mut Worksheet, at: (u32, u16), cell: &Cell, day: &Format) -> Result<(), XlsxError> {
    match cell {
        Cell::Empty => {}
        Cell::Text(words) => {
            sheet.write_string(at.0, at.1, fitting(words))?;
        }
        Cell::Number(digits) => match exact(digits) {
            Some(number) => {
                sheet.write_number(at.0, at.1, number)?;
            }
            None => {
                sheet.write_string(at.0, at.1, digits)?;
            }
        },
        Cell::Day(on) if is_known(*on) => {
            sheet.write_datetime_with_format(at.0, at.1, on, day)?;
        }
        Cell::Day(on) => {
            sheet.write_string(at.0, at.1, on.to_string())?;
        }
    }
    Ok(())
}

/// The number, where a workbook keeps every digit of it; else it stays text, so that nothing is rounded.
fn exact(digits: &str) -> Option<f64> {
    let significant = digits.trim_start_matches(['-', '0', '.']).chars().filter(char::is_ascii_digit).count();
    let number: f64 = digits.parse().ok()?;
    let unpadded =
        if digits.contains('.') { digits.trim_end_matches('0').trim_end_matches('.') } else { digits };
    (significant <= 15 && number.is_finite() && number.to_string() == unpadded).then_some(number)
}

/// Days before March 1900 are counted in different ways by different programs, and after 9999 by none.
fn is_known(on: NaiveDate) -> bool {
    NaiveDate::from_ymd_opt(1900, 3, 1).is_some_and(|first| on >= first) && on.year() <= 9999
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stay_whole_or_stay_text() {
        for (digits, kept) in [
            ("24.5", true),
            ("-4", true),
            ("0", true),
            ("0.000125", true),
            ("123456789012345", true),
            ("1234567890123456", false),
            ("0.1234567890123456", false),
            ("1e5", false),
            ("2.50", true),
            ("10", true),
            ("007", false),
        ] {
            assert_eq!(exact(digits).is_some(), kept, "{digits}");
        }
    }

    #[test]
    fn text_that_is_too_long_is_cut_and_says_so() {
        assert_eq!(fitting("short"), "short");
        let cut = fitting(&"🌳".repeat(20_000));
        assert!(cut.encode_utf16().count() <= LONGEST && cut.ends_with(CUT));
    }
}
