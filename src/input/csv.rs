//! Lines of cells, parted by commas, semicolons or tabs, after RFC 4180: quotes where a cell holds the mark itself,
//! a quote or a line end. Lines may be of any length.
use super::{Each, LONGEST_LINE, Refused, Stop, refused};
use crate::domain::import::MOST_COLUMNS;
use csv::{ByteRecord, ReaderBuilder};
use std::{
    cell::RefCell,
    collections::VecDeque,
    io::{self, Read},
    rc::Rc,
};

/// The mark that parts the cells of this text: the commonest of the three in its first line, outside quotes.
#[must_use]
pub fn delimiter(text: &str) -> u8 {
    let mut counts = [(b',', 0), (b';', 0), (b'\t', 0)];
    let mut quoted = false;
    for byte in text.bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b'\n' if !quoted && counts.iter().any(|(_, n)| *n > 0) => break,
            _ if quoted => {}
            other => counts.iter_mut().filter(|(mark, _)| *mark == other).for_each(|(_, n)| *n += 1),
        }
    }
    let most = counts.iter().map(|(_, n)| *n).max().unwrap_or_default();
    counts.iter().find(|(_, n)| *n == most).map_or(b',', |(mark, _)| *mark)
}

/// Where lines end in what was handed on.
#[derive(Default)]
struct Ends {
    /// How much was handed on since the last record.
    since: usize,
    /// How much was handed on in all.
    all: u64,
    /// Places of line ends that are not counted yet, and whether the last byte was a carriage return, which ends a
    /// line alone or together with a line feed.
    ends: VecDeque<u64>,
    returned: bool,
    /// How many line ends were counted.
    passed: u32,
}

impl Ends {
    fn take(&mut self, bytes: &[u8]) {
        for byte in bytes {
            if self.returned && *byte != b'\n' {
                self.ends.push_back(self.all - 1);
            }
            self.returned = *byte == b'\r';
            if *byte == b'\n' {
                self.ends.push_back(self.all);
            }
            self.all += 1;
        }
        self.since += bytes.len();
    }

    /// The line at which a record begins that ends before that place and has so many line ends in it.
    fn line(&mut self, end: u64, within: u32) -> u32 {
        let mut last = None;
        while self.ends.front().is_some_and(|at| *at < end) {
            last = self.ends.pop_front();
            self.passed += 1;
        }
        let own = last.is_some_and(|at| at + 1 == end);
        (1 + self.passed).saturating_sub(u32::from(own) + within)
    }
}

/// Ends where a line has no end.
struct Bounded<R> {
    from: R,
    ends: Rc<RefCell<Ends>>,
}

impl<R: Read> Read for Bounded<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.ends.borrow().since > LONGEST_LINE {
            return Err(io::Error::new(io::ErrorKind::InvalidData, "endless"));
        }
        let count = self.from.read(into)?;
        self.ends.borrow_mut().take(&into[..count]);
        Ok(count)
    }
}

/// Line ends within a record's cells.
fn line_ends(record: &ByteRecord) -> u32 {
    let bytes = record.as_slice();
    let feeds = bytes.iter().filter(|byte| **byte == b'\n').count();
    let alone = bytes.windows(2).filter(|two| two[0] == b'\r' && two[1] != b'\n').count();
    u32::try_from(feeds + alone).unwrap_or(u32::MAX)
}

/// What our own files put before a cell that a program would run as a formula is taken away again.
fn plain(cell: &str) -> String {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) => rest.to_owned(),
        _ => cell.to_owned(),
    }
}

/// Hands on line by line. The number is that of the line at which it begins, the first being 1.
///
/// # Errors
/// When a line has no end, has too many cells, or the bytes cannot be read.
pub fn rows(from: impl Read, delimiter: u8, stop: &Stop, each: &mut Each<'_>) -> Result<(), Refused> {
    let ends = Rc::new(RefCell::new(Ends::default()));
    let bounded = Bounded { from, ends: ends.clone() };
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .buffer_capacity(64 << 10)
        .from_reader(bounded);
    let mut record = ByteRecord::new();
    let mut last = 1;
    loop {
        ends.borrow_mut().since = 0;
        let more = reader.read_byte_record(&mut record);
        match more {
            Ok(true) => {}
            Ok(false) => return Ok(()),
            Err(_) => {
                return refused(format!(
                    "After line {last} a line does not end. Is a quotation mark open there, or is this another kind \
                     of file?"
                ));
            }
        }
        let line = ends.borrow_mut().line(reader.position().byte(), line_ends(&record));
        last = line;
        if record.len() > MOST_COLUMNS {
            let count = record.len();
            return refused(format!("Line {line} has {count} columns; at most {MOST_COLUMNS} are read."));
        }
        let cells = record.iter().map(|cell| plain(&String::from_utf8_lossy(cell))).collect();
        if stop.is_asked() || !each(line, cells) {
            return Ok(());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Vec<(u32, Vec<String>)>, Refused> {
        let mut found = vec![];
        rows(text.as_bytes(), delimiter(text), &Stop::default(), &mut |line, cells| {
            found.push((line, cells));
            true
        })?;
        Ok(found)
    }

    #[test]
    fn marks_are_found_and_lines_keep_their_numbers() {
        assert_eq!(delimiter("a;b;c\n1,5;2,5;3,5\n"), b';');
        assert_eq!(delimiter("a\tb\n"), b'\t');
        assert_eq!(delimiter("\"a;b;c\",d\n"), b',');
        assert_eq!(delimiter("alone\n"), b',');
        let rows = read("a,b\r\n\"two\nlines\",x\r\n\r\nlast,'=1+1\n").unwrap();
        let lines: Vec<u32> = rows.iter().map(|(line, _)| *line).collect();
        assert_eq!(lines, [1, 2, 5], "an empty line is counted and not handed on");
        assert_eq!((rows[1].1[0].as_str(), rows[2].1[1].as_str()), ("two\nlines", "=1+1"));
        for end in ["\n", "\r\n", "\r"] {
            let text = ["a,b", "c,d", "", "e,\"f", "g\"", "h,i"].join(end);
            let lines: Vec<u32> = read(&text).unwrap().iter().map(|(line, _)| *line).collect();
            assert_eq!(lines, [1, 2, 4, 6], "{end:?}");
            let lines: Vec<u32> = read(&(text + end)).unwrap().iter().map(|(line, _)| *line).collect();
            assert_eq!(lines, [1, 2, 4, 6], "{end:?} at the end too");
        }
    }

    #[test]
    fn an_open_quote_and_a_million_columns_end_at_a_limit() {
        let open = format!("a,b\n1,\"{}", "x".repeat(3 * LONGEST_LINE));
        assert!(read(&open).unwrap_err().0.starts_with("After line 1 a line does not end."));
        let wide = ",".repeat(300_000);
        assert!(read(&wide).unwrap_err().0.contains("columns; at most 200"));
        assert_eq!(read("").unwrap(), []);
    }
}
