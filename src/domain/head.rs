//! The head of the chains: what is kept outside the database so that whoever can write to the database, and
//! change it from the start, is found out.
//!
//! There are two lists that only grow: every version of every record, and every line of the audit. A head
//! states of each how long it was, the root of its Merkle tree and its last hash, at some moment. Marks name the
//! hash at places between, so that the first wrong row can be told more closely.

use super::{
    chain::hex,
    merkle::{Hash, Tree, leaf},
};
use chrono::{DateTime, SecondsFormat, Utc};
use std::fmt::Write;

/// The first line of a head's file.
const FORMAT: &str = "plantward-head-1";
/// No more marks than this in one head: it must fit a mail and a form.
pub const MARKS: u64 = 1000;

/// One list as it stood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// How many entries.
    pub size: u64,
    /// Root of the Merkle tree over the hashes of the entries.
    pub root: Hash,
    /// Hash of the last entry; zeros where there is none.
    pub last: Hash,
    /// Places (from 1) and the hashes there, in order.
    pub marks: Vec<(u64, Hash)>,
}

/// Both lists as they stood at one moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    pub company: String,
    pub taken_at: DateTime<Utc>,
    pub records: Part,
    pub audit: Part,
}

/// From mark to mark in a list of this length.
#[must_use]
pub fn step(size: u64) -> u64 {
    size.div_ceil(MARKS).max(1)
}

/// Follows a list from its start and gives its part of a head.
#[derive(Debug, Clone, Default)]
pub struct Walk {
    tree: Tree,
    last: Hash,
}

impl Walk {
    /// The next entry's hash.
    pub fn push(&mut self, hash: Hash) {
        self.tree.push(leaf(&hash));
        self.last = hash;
    }

    /// How far it came.
    #[must_use]
    pub fn size(&self) -> u64 {
        self.tree.size()
    }

    /// The hash before the next entry.
    #[must_use]
    pub fn last(&self) -> &Hash {
        &self.last
    }

    /// The list as it is now, without marks.
    #[must_use]
    pub fn part(&self) -> Part {
        Part { size: self.tree.size(), root: self.tree.root(), last: self.last, marks: vec![] }
    }
}

/// Compares a list with what was kept of it, entry by entry.
#[derive(Debug)]
pub struct Against {
    kept: Part,
    /// Up to here the list is as it was.
    sure: u64,
    next_mark: usize,
    wrong: Option<String>,
}

impl Against {
    /// A list that is about to be walked.
    #[must_use]
    pub fn of(kept: Part) -> Self {
        Self { kept, sure: 0, next_mark: 0, wrong: None }
    }

    /// The walk as it stands after each entry.
    pub fn passed(&mut self, walk: &Walk) {
        let (at, hash) = (walk.size(), walk.last());
        if self.wrong.is_some() {
            return;
        }
        if let Some((place, mark)) = self.kept.marks.get(self.next_mark)
            && *place == at
        {
            self.next_mark += 1;
            self.judge(at, mark == hash);
        }
        if at == self.kept.size && self.wrong.is_none() {
            self.judge(at, self.kept.last == *hash && self.kept.root == walk.part().root);
        }
    }

    fn judge(&mut self, at: u64, same: bool) {
        if same {
            self.sure = at;
            return;
        }
        let first = self.sure + 1;
        self.wrong = Some(if first == at {
            format!("place {at} is not what it was when the head was taken; all before it is")
        } else {
            format!(
                "one of the places {first} to {at} is not what it was when the head was taken; all before them is"
            )
        });
    }

    /// What is wrong, when the list is at its end after `size` entries.
    #[must_use]
    pub fn end(self, size: u64) -> Option<String> {
        let missing = || {
            let first = size + 1;
            format!("places {first} to {} are gone: the head was taken over {0} entries", self.kept.size)
        };
        self.wrong.or_else(|| (size < self.kept.size).then(missing))
    }
}

/// Why a text is no head.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    /// It does not begin as a head does.
    #[error("this is no head: its first line is not {FORMAT}")]
    Other,
    /// A line that says nothing known.
    #[error("line {0} of the head cannot be read")]
    Line(usize),
    /// Something is left out.
    #[error("the head has no line {0}")]
    Missing(&'static str),
}

impl Head {
    /// The head as a file: lines of a name, a colon and a value.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = format!("{FORMAT}\n");
        // Writing into a String cannot fail.
        let _ = writeln!(out, "company: {}", self.company.replace(['\n', '\r'], " "));
        let _ = writeln!(out, "taken: {}", self.taken_at.to_rfc3339_opts(SecondsFormat::Secs, true));
        for (name, part) in [("records", &self.records), ("audit", &self.audit)] {
            let _ = writeln!(out, "{name}: {}", part.size);
            let _ = writeln!(out, "{name}-root: {}", hex(&part.root));
            let _ = writeln!(out, "{name}-last: {}", hex(&part.last));
        }
        for (name, part) in [("records", &self.records), ("audit", &self.audit)] {
            for (place, hash) in &part.marks {
                let _ = writeln!(out, "{name}-mark: {place} {}", hex(hash));
            }
        }
        out
    }

    /// Reads a head's file. Line ends may be of any kind, and empty lines do not count.
    ///
    /// # Errors
    /// [`Unreadable`], with the line.
    pub fn parse(text: &str) -> Result<Self, Unreadable> {
        let mut lines = text.lines().enumerate().map(|(n, line)| (n + 1, line.trim()));
        if lines.next().map(|(_, line)| line.trim_start_matches('\u{feff}')) != Some(FORMAT) {
            return Err(Unreadable::Other);
        }
        let mut read = Read::default();
        for (number, line) in lines.filter(|(_, line)| !line.is_empty()) {
            let said = line.split_once(':').and_then(|(name, value)| read.line(name, value.trim()));
            said.ok_or(Unreadable::Line(number))?;
        }
        let [records, audit] = read.parts;
        Ok(Self {
            company: read.company.ok_or(Unreadable::Missing("company"))?,
            taken_at: read.taken_at.ok_or(Unreadable::Missing("taken"))?,
            records: records.part(["records", "records-root", "records-last"])?,
            audit: audit.part(["audit", "audit-root", "audit-last"])?,
        })
    }
}

#[derive(Default)]
struct Read {
    company: Option<String>,
    taken_at: Option<DateTime<Utc>>,
    parts: [ReadPart; 2],
}

#[derive(Default)]
struct ReadPart {
    size: Option<u64>,
    root: Option<Hash>,
    last: Option<Hash>,
    marks: Vec<(u64, Hash)>,
}

impl Read {
    /// Takes a line in; none: it says nothing known.
    fn line(&mut self, name: &str, value: &str) -> Option<()> {
        match name {
            "company" => self.company = Some(value.to_owned()),
            "taken" => {
                let at = DateTime::parse_from_rfc3339(value).ok()?;
                self.taken_at = Some(at.with_timezone(&Utc));
            }
            _ => {
                let (list, what) = name.split_once('-').unwrap_or((name, ""));
                let part = match list {
                    "records" => &mut self.parts[0],
                    "audit" => &mut self.parts[1],
                    _ => return None,
                };
                part.line(what, value)?;
            }
        }
        Some(())
    }
}

impl ReadPart {
    fn line(&mut self, what: &str, value: &str) -> Option<()> {
        match what {
            "" => self.size = Some(value.parse().ok()?),
            "root" => self.root = Some(from_hex(value)?),
            "last" => self.last = Some(from_hex(value)?),
            "mark" => {
                let (place, hash) = value.split_once(' ')?;
                let place = place.parse().ok()?;
                let grows = self.marks.last().is_none_or(|(before, _)| *before < place);
                self.marks.push(grows.then_some(()).and(Some((place, from_hex(hash)?)))?);
            }
            _ => return None,
        }
        Some(())
    }

    fn part(self, names: [&'static str; 3]) -> Result<Part, Unreadable> {
        Ok(Part {
            size: self.size.ok_or(Unreadable::Missing(names[0]))?,
            root: self.root.ok_or(Unreadable::Missing(names[1]))?,
            last: self.last.ok_or(Unreadable::Missing(names[2]))?,
            marks: self.marks,
        })
    }
}

/// Reads 64 hexadecimal digits.
#[must_use]
pub fn from_hex(text: &str) -> Option<Hash> {
    if text.len() != 64 || !text.is_ascii() {
        return None;
    }
    let mut hash = [0; 32];
    for (byte, at) in hash.iter_mut().zip((0..64).step_by(2)) {
        *byte = u8::from_str_radix(&text[at..at + 2], 16).ok()?;
    }
    Some(hash)
}

#[cfg(test)]
mod tests {
    use super::*;
    use sha2::{Digest, Sha256};

    fn hash(n: u64) -> Hash {
        Sha256::digest(n.to_be_bytes()).into()
    }

    fn list(size: u64, marked: &[u64]) -> Part {
        let (mut walk, mut marks) = (Walk::default(), vec![]);
        for n in 1..=size {
            walk.push(hash(n));
            if marked.contains(&n) {
                marks.push((n, hash(n)));
            }
        }
        Part { marks, ..walk.part() }
    }

    /// What is said of a list of hashes that was changed from this place on.
    fn said(kept: &Part, size: u64, changed_from: u64) -> Option<String> {
        let (mut walk, mut against) = (Walk::default(), Against::of(kept.clone()));
        for n in 1..=size {
            walk.push(if n < changed_from { hash(n) } else { hash(n + 1_000_000) });
            against.passed(&walk);
        }
        against.end(size)
    }

    #[test]
    fn a_head_survives_paper_and_mail() {
        let head = Head {
            company: "Bellwether\nPlant Care: trees".into(),
            taken_at: "2026-11-25T18:00:00Z".parse().unwrap(),
            records: list(12, &[4, 8, 12]),
            audit: list(0, &[]),
        };
        let text = head.text();
        let read = Head::parse(&text.replace('\n', "\r\n\r\n")).unwrap();
        assert_eq!(read, Head { company: "Bellwether Plant Care: trees".into(), ..head });
        for (bad, said) in [
            ("hello", "this is no head: its first line is not plantward-head-1"),
            (&text.replace("records: 12", "records: twelve"), "line 4 of the head cannot be read"),
            (&text.replace("audit-root", "audit-toor"), "line 8 of the head cannot be read"),
            (&text.replace("records-mark: 8", "records-mark: 4"), "line 11 of the head cannot be read"),
            (&text.lines().take(5).collect::<Vec<_>>().join("\n"), "the head has no line records-last"),
        ] {
            assert_eq!(Head::parse(bad).unwrap_err().to_string(), said);
        }
    }

    #[test]
    fn the_first_wrong_place_is_told_as_closely_as_the_marks_allow() {
        let kept = list(12, &[4, 8, 12]);
        assert_eq!(said(&kept, 12, 99), None);
        assert_eq!(said(&kept, 20, 13), None, "what came later is not the head's business");
        let between =
            "one of the places 5 to 8 is not what it was when the head was taken; all before them is";
        for from in 5..=8 {
            assert_eq!(said(&kept, 12, from).unwrap(), between);
        }
        let all = list(12, &(1..=12).collect::<Vec<_>>());
        for from in 1..=12 {
            let told = said(&all, 15, from).unwrap();
            assert!(told.starts_with(&format!("place {from} is not what it was")), "{told}");
        }
        let bare = said(&list(12, &[]), 12, 3).unwrap();
        assert!(bare.starts_with("one of the places 1 to 12 "), "{bare}");
    }

    #[test]
    fn a_list_that_was_cut_off_is_found() {
        let kept = list(12, &[4, 8]);
        assert_eq!(
            said(&kept, 9, 99).unwrap(),
            "places 10 to 12 are gone: the head was taken over 12 entries"
        );
        assert!(said(&kept, 7, 1).unwrap().starts_with("one of the places 1 to 4"), "changed and cut off");
        assert_eq!(said(&list(0, &[]), 0, 99), None);
    }

    #[test]
    fn marks_are_no_more_than_fit_a_form() {
        for size in [0, 1, 999, 1000, 1001, 123_456, 10_000_000] {
            assert!(size / step(size) <= MARKS, "{size}");
        }
        assert_eq!((step(1000), step(1001)), (1, 2), "up to a thousand entries each one is named");
    }
}
