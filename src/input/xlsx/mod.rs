//! Workbooks of Office Open XML. [`guard`] looks at the archive before anybody unpacks it, and lets through only what
//! holds nothing but plain tables of a bearable size.
mod guard;

pub use guard::guard;

use super::{Each, LONGEST_LINE, Refused, Stop, refused};
use crate::domain::import::MOST_COLUMNS;
use calamine::{DataRef, ExcelDateTime, Reader, Xlsx};
use std::{
    io::Cursor,
    panic::{AssertUnwindSafe, catch_unwind},
};

/// So many bytes may a workbook have.
pub const MOST_BYTES: usize = 32 << 20;

fn unreadable<T>(_: T) -> Refused {
    Refused(
        "The workbook is damaged and cannot be read. Open it, save it anew, and bring it again.".to_owned(),
    )
}

/// A library that meets a damaged file must not take the program with it.
fn guarded<T>(read: impl FnOnce() -> Result<T, Refused>) -> Result<T, Refused> {
    catch_unwind(AssertUnwindSafe(read)).unwrap_or_else(|panic| Err(unreadable(panic)))
}

fn open(bytes: &[u8]) -> Result<Xlsx<Cursor<&[u8]>>, Refused> {
    Xlsx::new(Cursor::new(bytes)).map_err(unreadable)
}

/// The names of its sheets. The workbook was guarded before.
///
/// # Errors
/// When it is damaged or has no sheet.
pub fn sheets(bytes: &[u8]) -> Result<Vec<String>, Refused> {
    guarded(|| {
        let names = open(bytes)?.sheet_names();
        if names.is_empty() { refused("The workbook has no sheet.") } else { Ok(names) }
    })
}

/// Hands on a sheet row by row; the number is the row's own. The workbook was guarded before.
///
/// # Errors
/// When it is damaged, has no such sheet, or a row is too wide or too long.
pub fn rows(bytes: &[u8], sheet: &str, stop: &Stop, each: &mut Each<'_>) -> Result<(), Refused> {
    guarded(|| read(bytes, sheet, stop, each))
}

fn read(bytes: &[u8], sheet: &str, stop: &Stop, each: &mut Each<'_>) -> Result<(), Refused> {
    let mut book = open(bytes)?;
    if !book.sheet_names().iter().any(|name| name == sheet) {
        return refused(format!("The workbook has no sheet {sheet:?}."));
    }
    let mut cells = book.worksheet_cells_reader(sheet).map_err(unreadable)?;
    let (mut line, mut row, mut length) = (0, Vec::new(), 0);
    while let Some(cell) = cells.next_cell().map_err(unreadable)? {
        let (at, column) = cell.get_position();
        let at = at.saturating_add(1);
        if at != line {
            if !row.is_empty() && (stop.is_asked() || !each(line, std::mem::take(&mut row))) {
                return Ok(());
            }
            (line, length) = (at, 0);
        }
        let text = words(cell.get_value());
        if text.is_empty() {
            continue;
        }
        let column = column as usize;
        if column >= MOST_COLUMNS {
            return refused(format!(
                "Row {line} has a cell in column {}; at most {MOST_COLUMNS} are read.",
                column + 1
            ));
        }
        length += text.len();
        if length > LONGEST_LINE {
            return refused(format!("Row {line} holds more than a million characters; that is no table."));
        }
        if row.len() <= column {
            row.resize(column + 1, String::new());
        }
        row[column] = text;
    }
    if !row.is_empty() {
        each(line, row);
    }
    Ok(())
}

/// A cell as people see it; a day as 2026-05-15, a time as 09:30.
fn words(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Empty => String::new(),
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => number.to_string(),
        DataRef::String(text) => text.clone(),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(yes) => (if *yes { "yes" } else { "no" }).to_owned(),
        DataRef::DateTime(at) => date_words(*at),
        DataRef::DateTimeIso(text) => text.clone(),
        DataRef::DurationIso(text) => text.clone(),
        DataRef::Error(error) => format!("{error:?}"),
    }
}

/// Excel counts days from the end of 1899; below one it is a time alone.
fn date_words(at: ExcelDateTime) -> String {
    if !(0.0..2_958_466.0).contains(&at.as_f64()) {
        return at.as_f64().to_string();
    }
    let (year, month, day, hour, minute, second, _) = at.to_ymd_hms_milli();
    let time = format!("{hour:02}:{minute:02}");
    if at.as_f64() < 1.0 {
        time
    } else if (hour, minute, second) == (0, 0, 0) {
        format!("{year:04}-{month:02}-{day:02}")
    } else {
        format!("{year:04}-{month:02}-{day:02} {time}")
    }
}
