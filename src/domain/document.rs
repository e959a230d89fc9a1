//! The files that belong to a label entry: the label itself and the product's safety data sheet.

/// What a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The label of one label version.
    Label,
    /// The safety data sheet of a product (29 CFR 1910.1200(g)).
    SafetyDataSheet,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 2] = [Self::Label, Self::SafetyDataSheet];

    /// The code used in forms, in the interface and in the database.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Label => "label",
            Self::SafetyDataSheet => "safety-data-sheet",
        }
    }

    /// The kind of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }

    /// As people say it.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Label => "Label",
            Self::SafetyDataSheet => "Safety data sheet",
        }
    }
}

/// So many bytes may a file have: it lies on phones.
pub const MOST_BYTES: usize = 8 << 20;

/// Why bytes are not taken as a PDF, in words for whoever chose the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// Nothing in it.
    #[error("The file is empty.")]
    Empty,
    /// It does not begin as a PDF does.
    #[error("This is no PDF. Choose the label or the data sheet as a PDF file.")]
    NotPdf,
    /// It begins as a PDF and does not end as one.
    #[error("This PDF breaks off before its end. Save it anew and choose it again.")]
    Cut,
    /// More than `MOST_BYTES`.
    #[error("The file is larger than 8 MB. Phones keep it: choose a smaller one.")]
    TooLarge,
}

/// So far from its end a file may say that it is over.
const TAIL: usize = 1024;

/// Whether the bytes may be a whole PDF: head `%PDF-1.x` or `%PDF-2.0`, a `startxref` and `%%EOF` near the end
/// (ISO 32000-2:2020, 7.5.2 and 7.5.5). What is between is for the reader's program.
///
/// # Errors
/// What is wrong with them.
pub fn check_pdf(bytes: &[u8]) -> Result<(), Fault> {
    let holds = |part: &[u8], words: &[u8]| part.windows(words.len()).any(|at| at == words);
    if bytes.is_empty() {
        return Err(Fault::Empty);
    }
    if bytes.len() > MOST_BYTES {
        return Err(Fault::TooLarge);
    }
    if !bytes.starts_with(b"%PDF-1.") && !bytes.starts_with(b"%PDF-2.") {
        return Err(Fault::NotPdf);
    }
    let tail = &bytes[bytes.len().saturating_sub(TAIL)..];
    if holds(tail, b"startxref") && holds(tail, b"%%EOF") { Ok(()) } else { Err(Fault::Cut) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_read_back() {
        for kind in Kind::ALL {
            assert_eq!(Kind::from_code(kind.code()), Some(kind));
        }
        assert_eq!(Kind::from_code("photo"), None);
    }

    #[test]
    fn only_whole_pdfs_pass() {
        let file = |head: &str, end: &str| format!("{head}\n1 0 obj\nendobj\n{end}\n").into_bytes();
        let end = "startxref\n9\n%%EOF";
        assert_eq!(check_pdf(&file("%PDF-1.7", end)), Ok(()));
        assert_eq!(check_pdf(&file("%PDF-2.0", end)), Ok(()));
        for (bytes, fault) in [
            (vec![], Fault::Empty),
            (file("%PDF-3.0", end), Fault::NotPdf),
            (file("<html>", end), Fault::NotPdf),
            (file("PK\u{3}\u{4}", end), Fault::NotPdf),
            (file("%PDF-1.7", "startxref\n9"), Fault::Cut),
            (file("%PDF-1.7", "%%EOF"), Fault::Cut),
            // Its end is somewhere, but not where it stops.
            (file("%PDF-1.7", &format!("{end}{}", " ".repeat(TAIL))), Fault::Cut),
            ([file("%PDF-1.7", end), vec![b' '; MOST_BYTES]].concat(), Fault::TooLarge),
        ] {
            assert_eq!(check_pdf(&bytes), Err(fault));
        }
    }
}
