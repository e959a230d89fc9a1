//! Characters out of bytes: UTF-8, UTF-16 of both orders, and what Windows wrote before (code page 1252).
//!
//! A file with a mark at its start says what it is. Without one it is UTF-8 when every byte fits, UTF-16 when
//! every other byte of its start is zero, and Windows-1252 otherwise.
use std::io::{self, Read};

/// How the bytes of a file stand for characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    Utf8,
    Utf16Le,
    Utf16Be,
    Windows1252,
}

impl Encoding {
    /// Every encoding.
    pub const ALL: [Self; 4] = [Self::Utf8, Self::Utf16Le, Self::Utf16Be, Self::Windows1252];

    /// The code used in the database.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Utf8 => "utf-8",
            Self::Utf16Le => "utf-16le",
            Self::Utf16Be => "utf-16be",
            Self::Windows1252 => "windows-1252",
        }
    }

    /// The encoding of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.code() == code)
    }
}

/// Looks at a file piece by piece and says at its end how it is written.
#[derive(Debug, Default)]
pub struct Sniffer {
    start: Vec<u8>,
    /// The end of the last piece, where a character was cut in two.
    cut: Vec<u8>,
    broken: bool,
}

impl Sniffer {
    /// Looks at the next piece.
    pub fn take(&mut self, piece: &[u8]) {
        if self.start.len() < 1024 {
            self.start.extend(piece.iter().take(1024 - self.start.len()));
        }
        if self.broken {
            return;
        }
        let mut bytes = std::mem::take(&mut self.cut);
        bytes.extend_from_slice(piece);
        match std::str::from_utf8(&bytes) {
            Ok(_) => {}
            // The character that is cut in two waits for the next piece.
            Err(e) if e.error_len().is_none() => self.cut = bytes.split_off(e.valid_up_to()),
            Err(_) => self.broken = true,
        }
    }

    /// How the file is written.
    #[must_use]
    pub fn end(&self) -> Encoding {
        let zeros =
            |odd: usize| self.start.iter().skip(odd).step_by(2).filter(|byte| **byte == 0).count() * 3;
        match self.start[..] {
            [0xFF, 0xFE, ..] => Encoding::Utf16Le,
            [0xFE, 0xFF, ..] => Encoding::Utf16Be,
            _ if zeros(1) > self.start.len() => Encoding::Utf16Le,
            _ if zeros(0) > self.start.len() => Encoding::Utf16Be,
            _ if self.broken || !self.cut.is_empty() => Encoding::Windows1252,
            _ => Encoding::Utf8,
        }
    }
}

/// The characters of code page 1252 from 0x80 to 0x9F; the five that it leaves open are shown as such.
/// Source: the table that the Unicode Consortium publishes (MAPPINGS/VENDORS/MICSFT/WINDOWS/CP1252.TXT), from memory and
/// compared in a test with another library's table.
const HIGH: [char; 32] = [
    '€', '\u{FFFD}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{FFFD}', 'Ž', '\u{FFFD}',
    '\u{FFFD}', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{FFFD}', 'ž', 'Ÿ',
];

/// Reads a file of any encoding as UTF-8, its mark left out.
#[derive(Debug)]
pub struct Decoder<R> {
    from: R,
    encoding: Encoding,
    raw: Vec<u8>,
    ready: Vec<u8>,
    given: usize,
    begun: bool,
}

impl<R: Read> Decoder<R> {
    /// A reader over bytes of that encoding.
    pub fn new(from: R, encoding: Encoding) -> Self {
        Self { from, encoding, raw: vec![], ready: vec![], given: 0, begun: false }
    }

    /// Fills `ready` with the next characters; false at the end.
    fn fill(&mut self) -> io::Result<bool> {
        let held = self.raw.len();
        self.raw.resize(held + (64 << 10), 0);
        let count = self.from.read(&mut self.raw[held..])?;
        self.raw.truncate(held + count);
        let ended = count == 0;
        if ended && self.raw.is_empty() {
            return Ok(false);
        }
        self.ready.clear();
        self.given = 0;
        let used = self.decode(ended);
        self.raw.drain(..used);
        if !self.begun && !self.ready.is_empty() {
            self.begun = true;
            if self.ready.starts_with("\u{FEFF}".as_bytes()) {
                self.given = 3;
            }
        }
        Ok(!ended || !self.ready.is_empty())
    }

    /// Decodes what is whole; how many raw bytes were used.
    fn decode(&mut self, ended: bool) -> usize {
        match self.encoding {
            Encoding::Utf8 => {
                self.ready.extend_from_slice(&self.raw);
                self.raw.len()
            }
            Encoding::Windows1252 => {
                let mut text = String::with_capacity(self.raw.len() + 16);
                text.extend(self.raw.iter().map(|byte| match byte {
                    0x80..=0x9F => HIGH[usize::from(byte - 0x80)],
                    other => char::from(*other),
                }));
                self.ready.extend_from_slice(text.as_bytes());
                self.raw.len()
            }
            Encoding::Utf16Le | Encoding::Utf16Be => self.utf16(ended),
        }
    }

    fn utf16(&mut self, ended: bool) -> usize {
        let little = self.encoding == Encoding::Utf16Le;
        let unit = |pair: &[u8]| {
            let pair = [pair[0], pair[1]];
            if little { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) }
        };
        let mut units: Vec<u16> = self.raw.chunks_exact(2).map(unit).collect();
        // The first half of a pair waits for the second.
        let waits = !ended && units.last().is_some_and(|unit| (0xD800..0xDC00).contains(unit));
        if waits {
            units.pop();
        }
        let text = String::from_utf16_lossy(&units);
        self.ready.extend_from_slice(text.as_bytes());
        if ended { self.raw.len() } else { units.len() * 2 }
    }
}

impl<R: Read> Read for Decoder<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        while self.given >= self.ready.len() {
            if !self.fill()? {
                return Ok(0);
            }
        }
        let count = into.len().min(self.ready.len() - self.given);
        into[..count].copy_from_slice(&self.ready[self.given..self.given + count]);
        self.given += count;
        Ok(count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sniffed(bytes: &[u8], piece: usize) -> Encoding {
        let mut sniffer = Sniffer::default();
        bytes.chunks(piece).for_each(|piece| sniffer.take(piece));
        sniffer.end()
    }

    fn decoded(bytes: &[u8], encoding: Encoding) -> String {
        let mut text = String::new();
        Decoder::new(bytes, encoding).read_to_string(&mut text).unwrap();
        text
    }

    #[test]
    fn every_way_of_writing_is_known_however_the_file_is_cut() {
        let text = "Zoë Muñoz, 3½ ft — €5 🌳\r\nשלום";
        let utf16 = |bytes: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(bytes).collect::<Vec<u8>>();
        let latin: Vec<u8> = b"Zo\xEB Mu\xF1oz \x97 \x805\r\n".to_vec();
        for piece in 1..9 {
            assert_eq!(sniffed(text.as_bytes(), piece), Encoding::Utf8, "{piece}");
            assert_eq!(sniffed(&latin, piece), Encoding::Windows1252, "{piece}");
            let marked = [&[0xFF, 0xFE][..], &utf16(u16::to_le_bytes)].concat();
            assert_eq!(sniffed(&marked, piece), Encoding::Utf16Le);
            assert_eq!(decoded(&marked, Encoding::Utf16Le), text);
        }
        let plain: Vec<u8> = "name,street\n".encode_utf16().flat_map(u16::to_be_bytes).collect();
        assert_eq!(sniffed(&plain, 100), Encoding::Utf16Be);
        assert_eq!(decoded(&utf16(u16::to_be_bytes), Encoding::Utf16Be), text);
        assert_eq!(decoded(&latin, Encoding::Windows1252), "Zoë Muñoz — €5\r\n");
        assert_eq!(decoded("\u{FEFF}name".as_bytes(), Encoding::Utf8), "name");
        assert_eq!(sniffed("tr\u{FC}b".as_bytes().split_last().unwrap().1, 2), Encoding::Utf8);
        assert_eq!(sniffed(b"tr\xC3", 2), Encoding::Windows1252, "a character that is cut off is none");
    }

    #[test]
    fn a_broken_pair_is_shown_as_such_and_nothing_is_lost_at_a_seam() {
        let lone = [0x41, 0x00, 0x00, 0xD8, 0x42, 0x00, 0x43];
        assert_eq!(decoded(&lone, Encoding::Utf16Le), "A\u{FFFD}B");
        let long: Vec<u8> = "🌳".repeat(40_000).encode_utf16().flat_map(u16::to_le_bytes).collect();
        assert_eq!(decoded(&[&[0x41, 0x00][..], &long].concat(), Encoding::Utf16Le).chars().count(), 40_001);
    }
}
