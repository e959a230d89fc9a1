//! Tables out of files that are brought to us. Nothing in such a file is trusted: what it says of its own size
//! is checked before anything is unpacked, and every read ends at a limit.

pub mod csv;
pub mod text;
pub mod xlsx;

use std::sync::atomic::{AtomicBool, Ordering};

/// What a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Lines of cells, parted by a character.
    Csv,
    /// A workbook of Office Open XML.
    Xlsx,
}

impl Format {
    /// The code used in the database.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Csv => "csv",
            Self::Xlsx => "xlsx",
        }
    }
}

/// Why a file is not read, in words for whoever brought it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Refused(pub String);

pub(crate) fn refused<T>(words: impl Into<String>) -> Result<T, Refused> {
    Err(Refused(words.into()))
}

/// What a reader does with each line: its number in the file and its cells. False ends the reading.
pub type Each<'a> = dyn FnMut(u32, Vec<String>) -> bool + 'a;

/// So many bytes may one line take.
pub const LONGEST_LINE: usize = 1 << 20;

/// A flag by which a reader is told to stop.
#[derive(Debug, Default)]
pub struct Stop(AtomicBool);

impl Stop {
    /// Asks it to stop.
    pub fn ask(&self) {
        self.0.store(true, Ordering::Relaxed);
    }
    /// Whether it was asked.
    #[must_use]
    pub fn is_asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Says from its first bytes what a file is.
///
/// # Errors
/// When it is neither, with what it probably is.
pub fn format(start: &[u8]) -> Result<Format, Refused> {
    let begins = |magic: &[u8]| start.starts_with(magic);
    if begins(b"PK\x03\x04") {
        return Ok(Format::Xlsx);
    }
    if begins(b"\xD0\xCF\x11\xE0") {
        return refused(
            "This is a workbook with a password, or of the old kind (.xls). Save it as .xlsx without a password, or \
             as CSV.",
        );
    }
    let other = [
        (&b"%PDF"[..], "a PDF"),
        (b"PK", "an archive that holds nothing"),
        (b"\x1F\x8B", "a packed file"),
        (b"Rar!", "a packed file"),
        (b"7z\xBC\xAF", "a packed file"),
        (b"\x89PNG", "a picture"),
        (b"\xFF\xD8\xFF", "a picture"),
        (b"GIF8", "a picture"),
        (b"\x7FELF", "a program"),
        (b"MZ\x90", "a program"),
        (b"SQLite format", "a database"),
        (b"{\\rtf", "a letter"),
        (b"<!DOCTYPE", "a web page"),
        (b"<html", "a web page"),
        (b"<?xml", "XML"),
    ];
    if let Some((_, name)) = other.iter().find(|(magic, _)| begins(magic)) {
        return refused(format!("This is {name}, and no table. Bring a CSV or an XLSX file."));
    }
    if start.is_empty() {
        return refused("The file is empty.");
    }
    Ok(Format::Csv)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_known_by_what_they_begin_with() {
        assert_eq!(format(b"PK\x03\x04rest"), Ok(Format::Xlsx));
        assert_eq!(format(b"name,street\r\n"), Ok(Format::Csv));
        assert!(format(b"\xD0\xCF\x11\xE0\xA1\xB1").unwrap_err().0.contains("password"));
        for (start, words) in [(&b"%PDF-1.7"[..], "a PDF"), (b"\x89PNG\r\n", "a picture"), (b"", "empty")] {
            assert!(format(start).unwrap_err().0.contains(words));
        }
    }
}
