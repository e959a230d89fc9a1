//! What a workbook must be before anything of it is unpacked: its table of contents says how large everything is,
//! and what says too much, or says it falsely, is turned away.
//!
//! Limits are our own choice, far above any list that a small company keeps.
use super::{
    super::{Refused, refused},
    MOST_BYTES,
};
use crate::domain::import::MOST_LINES;
use std::io::{Cursor, Read};
use zip::{ZipArchive, read::ZipFile};

/// So many parts may a workbook have.
const MOST_PARTS: usize = 2_000;
/// So many bytes in all, unpacked.
const MOST_UNPACKED: u64 = 400 << 20;
/// So many bytes of texts that cells share: they are held at once.
const MOST_TEXTS: u64 = 64 << 20;
/// A part of more than a megabyte may be packed to this share of itself and no tighter; tables come to a tenth or a
/// thirtieth, and nothing but repetition to a thousandth.
const TIGHTEST: u64 = 250;
/// The last column that the format knows (XFD) and its last row.
const FORMAT_COLUMNS: u64 = 16_384;

const DAMAGED: &str =
    "The workbook is damaged and cannot be read. Open it, save it anew, and bring it again.";

/// Refuses what is no plain workbook: packed too tightly or too large, protected, with macros, with archives in it, with
/// declarations of entities, or with sizes that are not true.
///
/// # Errors
/// With words for whoever brought it.
pub fn guard(bytes: &[u8]) -> Result<(), Refused> {
    if bytes.len() > MOST_BYTES {
        return refused("The workbook is larger than 32 MB. Save the sheet as CSV instead.");
    }
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| Refused(DAMAGED.to_owned()))?;
    contents(&mut archive)?;
    for number in 0..archive.len() {
        let part = archive.by_index(number).map_err(|_| Refused(DAMAGED.to_owned()))?;
        look_into(part)?;
    }
    Ok(())
}

/// What the table of contents says; nothing is unpacked.
fn contents(archive: &mut ZipArchive<Cursor<&[u8]>>) -> Result<(), Refused> {
    if archive.len() > MOST_PARTS {
        return refused(format!("The workbook has {} parts; that is no plain table.", archive.len()));
    }
    let (mut all, mut is_workbook) = (0_u64, false);
    for number in 0..archive.len() {
        let part = archive.by_index_raw(number).map_err(|_| Refused(DAMAGED.to_owned()))?;
        let name = name_of(&part)?;
        all = all.saturating_add(part.size());
        is_workbook |= name == "xl/workbook.xml";
        if part.encrypted() {
            return refused("The workbook is protected by a password. Save it without one.");
        }
        if part.size() > 1 << 20 && part.size() / part.compressed_size().max(1) > TIGHTEST {
            return refused(format!(
                "The part {name} would unpack to {} times its size; no table does that.",
                part.size() / part.compressed_size().max(1)
            ));
        }
        if name.ends_with("sharedstrings.xml") && part.size() > MOST_TEXTS {
            return refused("The workbook holds more than 64 MB of text. Save the sheet as CSV instead.");
        }
        if name.contains("vbaproject") || name.starts_with("xl/macrosheets") {
            return refused("The workbook has macros. Save it as a plain .xlsx without them.");
        }
        let nested = [".zip", ".xlsx", ".xlsm", ".xls", ".docx", ".7z", ".rar", ".gz", ".jar"];
        if nested.iter().any(|end| name.ends_with(end)) {
            return refused("The workbook has other files in it. Save the sheet alone, or as CSV.");
        }
    }
    if all > MOST_UNPACKED {
        return refused(format!(
            "The workbook would unpack to {} MB; at most {} are read. Save the sheet as CSV instead.",
            all >> 20,
            MOST_UNPACKED >> 20
        ));
    }
    if is_workbook { Ok(()) } else { refused("This archive is no workbook. Bring a CSV or an XLSX file.") }
}

fn name_of<R: Read>(part: &ZipFile<'_, R>) -> Result<String, Refused> {
    let name = part.name().map_err(|_| Refused(DAMAGED.to_owned()))?;
    Ok(name.trim_start_matches('/').replace('\\', "/").to_lowercase())
}

/// Unpacks a part piece by piece, keeps nothing, and ends as soon as it is not what its entry says.
fn look_into<R: Read>(mut part: ZipFile<'_, R>) -> Result<(), Refused> {
    let (name, said) = (name_of(&part)?, part.size());
    let is_xml = name.ends_with(".xml") || name.ends_with(".rels") || name.ends_with(".vml");
    let mut piece = vec![0; 64 << 10];
    let (mut seen, mut tail) = (0_u64, Vec::new());
    loop {
        let count = part.read(&mut piece).map_err(|_| Refused(DAMAGED.to_owned()))?;
        if count == 0 {
            break;
        }
        let begins = seen == 0;
        seen += count as u64;
        if seen > said {
            return refused(format!("The part {name} is larger than the workbook says. It is not read."));
        }
        if begins && piece[..count].starts_with(b"PK\x03\x04") {
            return refused("The workbook has other files in it. Save the sheet alone, or as CSV.");
        }
        if is_xml {
            tail.extend_from_slice(&piece[..count]);
            plain_xml(&tail, begins)?;
            // What could be cut in two at the seam.
            tail.drain(..tail.len().saturating_sub(128));
        }
    }
    if seen == said { Ok(()) } else { refused(DAMAGED) }
}

/// Plain tables declare nothing: no document type, no entity, no other way of writing, no other columns than there are.
fn plain_xml(text: &[u8], begins: bool) -> Result<(), Refused> {
    if text.contains(&0) || (begins && (text.starts_with(b"\xFF\xFE") || text.starts_with(b"\xFE\xFF"))) {
        return refused(
            "The workbook is written in an unusual way. Open it, save it anew, and bring it again.",
        );
    }
    let mut rest = text;
    while let Some(at) = rest.windows(2).position(|two| two == b"<!") {
        let what = &rest[at + 2..];
        if ["DOCTYPE", "ENTITY", "ELEMENT", "ATTLIST"].iter().any(|word| starts_like(what, word)) {
            return refused(
                "The workbook declares entities of its own, which no table needs. It is not read.",
            );
        }
        rest = what;
    }
    if begins
        && let Some((columns, rows)) = dimension(text)
        && (columns > FORMAT_COLUMNS || rows > u64::from(MOST_LINES) + 48_576)
    {
        return refused(format!(
            "The workbook says that a sheet has {columns} columns and {rows} rows. It is not read."
        ));
    }
    Ok(())
}

fn starts_like(text: &[u8], word: &str) -> bool {
    text.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word.as_bytes()))
}

/// Columns and rows that a sheet says it has.
fn dimension(text: &[u8]) -> Option<(u64, u64)> {
    let text = String::from_utf8_lossy(text);
    let said = text.split_once("<dimension")?.1.split_once("ref=\"")?.1;
    let last = said.split_once('"')?.0.rsplit(':').next()?;
    let letters = last.bytes().take_while(u8::is_ascii_alphabetic);
    let columns = letters.fold(0_u64, |sum, letter| {
        sum.saturating_mul(26).saturating_add(u64::from(letter.to_ascii_uppercase() - b'A') + 1)
    });
    let rows = last.trim_start_matches(|c: char| c.is_ascii_alphabetic()).parse().ok()?;
    Some((columns, rows))
}
