//! Comma-separated files after RFC 4180: a header row, CR LF, quotes where needed, UTF-8.
//!
//! Spreadsheet programs run a cell that begins like a formula. Such text gets a
//! leading apostrophe; numbers stay numbers, negative ones too.

use crate::domain::cell::Cell;
use csv::{Terminator, Writer, WriterBuilder};
use std::borrow::Cow;

/// A file in the making: rows go in, pieces of bytes come out.
#[derive(Debug)]
pub struct Sheet {
    writer: Writer<Vec<u8>>,
    columns: usize,
    length: usize,
}

fn writer() -> Writer<Vec<u8>> {
    WriterBuilder::new().terminator(Terminator::CRLF).flexible(true).from_writer(Vec::new())
}

impl Sheet {
    /// A file with these columns; their names are its first row.
    ///
    /// # Errors
    /// Not in practice: the bytes go to memory.
    pub fn new(columns: &[&str]) -> csv::Result<Self> {
        let mut sheet = Self { writer: writer(), columns: columns.len(), length: 0 };
        sheet.write(columns.iter().map(|&name| Cow::Borrowed(name)))?;
        Ok(sheet)
    }

    /// Adds a row; a row with too few cells is filled up with empty ones.
    ///
    /// # Errors
    /// Not in practice: the bytes go to memory.
    pub fn row(&mut self, cells: &[Cell]) -> csv::Result<()> {
        let missing = self.columns.saturating_sub(cells.len());
        self.write(cells.iter().map(inert).chain(std::iter::repeat_n(Cow::Borrowed(""), missing)))
    }

    fn write<'c>(&mut self, cells: impl Iterator<Item = Cow<'c, str>>) -> csv::Result<()> {
        for cell in cells {
            self.length += cell.len() + 1;
            self.writer.write_field(cell.as_bytes())?;
        }
        // The row ends here.
        self.writer.write_record(None::<&[u8]>)
    }

    /// About how many bytes wait to be taken.
    #[must_use]
    pub fn length(&self) -> usize {
        self.length
    }

    /// Takes what is written so far; later rows follow it without a gap.
    ///
    /// # Errors
    /// Not in practice: the bytes go to memory.
    pub fn take(&mut self) -> std::io::Result<Vec<u8>> {
        self.length = 0;
        std::mem::replace(&mut self.writer, writer()).into_inner().map_err(csv::IntoInnerError::into_error)
    }
}

/// The cell's text, made harmless for spreadsheet programs.
fn inert(cell: &Cell) -> Cow<'_, str> {
    match cell {
        Cell::Text(words) if words.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) => {
            Cow::Owned(format!("'{words}"))
        }
        other => other.plain(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(rows: &[Vec<Cell>]) -> String {
        let mut sheet = Sheet::new(&["name", "figure"]).unwrap();
        for row in rows {
            sheet.row(row).unwrap();
        }
        String::from_utf8(sheet.take().unwrap()).unwrap()
    }

    #[test]
    fn text_is_quoted_where_it_must_be() {
        let row = vec![Cell::text("Farrant, \"Odile\"\nsecond line"), Cell::Number("2.5".into())];
        assert_eq!(file(&[row]), "name,figure\r\n\"Farrant, \"\"Odile\"\"\nsecond line\",2.5\r\n");
    }

    #[test]
    fn formulas_become_text_and_negative_numbers_stay_numbers() {
        for bad in ["=1+1", "+1", "-1", "@x", "\tx", "\rx"] {
            let text = file(&[vec![Cell::text(bad), Cell::Number("-4".into())]]);
            let mut reader = csv::Reader::from_reader(text.as_bytes());
            let row = reader.records().next().unwrap().unwrap();
            assert_eq!((&row[0], &row[1]), (format!("'{bad}").as_str(), "-4"));
        }
    }

    #[test]
    fn pieces_join_without_a_gap_and_short_rows_are_filled() {
        let mut sheet = Sheet::new(&["a", "b"]).unwrap();
        assert_eq!(sheet.length(), 4);
        let mut bytes = sheet.take().unwrap();
        assert_eq!(sheet.length(), 0);
        sheet.row(&[Cell::text("x")]).unwrap();
        sheet.row(&[Cell::Day("2026-10-05".parse().unwrap()), Cell::Empty]).unwrap();
        bytes.extend(sheet.take().unwrap());
        assert_eq!(String::from_utf8(bytes).unwrap(), "a,b\r\nx,\r\n2026-10-05,\r\n");
    }
}
