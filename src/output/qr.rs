//! QR codes: an address as squares that a phone's camera reads from the screen or from paper.
use super::svg::escape;
use std::fmt::Write as _;

/// A code without its quiet border.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Qr {
    /// Squares a side.
    pub side: usize,
    dark: Vec<bool>,
    /// What it says.
    pub text: String,
}

/// So many squares stay empty around it (ISO/IEC 18004: four).
pub const QUIET: usize = 4;

impl Qr {
    /// The code of an address, with a quarter of its squares to spare for dirt and folds.
    ///
    /// # Errors
    /// When the text is too long for any code.
    pub fn of(text: &str) -> anyhow::Result<Self> {
        let code = qrcode::QrCode::with_error_correction_level(text, qrcode::EcLevel::M)?;
        let dark = code.to_colors().into_iter().map(|c| c == qrcode::Color::Dark).collect();
        Ok(Self { side: code.width(), dark, text: text.to_owned() })
    }

    /// The runs of dark squares in each row: column, row and length.
    #[must_use]
    pub fn runs(&self) -> Vec<(usize, usize, usize)> {
        let mut runs: Vec<(usize, usize, usize)> = vec![];
        for (row, squares) in self.dark.chunks(self.side.max(1)).enumerate() {
            for (column, _) in squares.iter().enumerate().filter(|(_, dark)| **dark) {
                match runs.last_mut() {
                    Some((from, at, length)) if *at == row && *from + *length == column => *length += 1,
                    _ => runs.push((column, row, 1)),
                }
            }
        }
        runs
    }

    /// The code as SVG text; black on white whatever the page's colours, or no camera reads it.
    #[must_use]
    pub fn svg(&self, title: &str) -> String {
        let whole = self.side + 2 * QUIET;
        let mut path = String::new();
        for (column, row, length) in self.runs() {
            let _ = write!(path, "M{} {}h{length}v1h-{length}z", column + QUIET, row + QUIET);
        }
        let title = escape(title);
        format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" class="qr" viewBox="0 0 {whole} {whole}" width="120" height="120" role="img" aria-label="{title}" shape-rendering="crispEdges"><rect width="{whole}" height="{whole}" fill="#fff"/><path d="{path}" fill="#000"/></svg>"##
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_cover_exactly_the_dark_squares() {
        let qr = Qr::of("https://plants.example.com/visits/01890a5d-ac96-774b-bcce-b302099a8057").unwrap();
        let dark = qr.dark.iter().filter(|d| **d).count();
        assert_eq!(qr.runs().iter().map(|r| r.2).sum::<usize>(), dark);
        for (column, row, length) in qr.runs() {
            assert!((column..column + length).all(|c| qr.dark[row * qr.side + c]));
        }
        // ISO/IEC 18004: a finder of seven dark squares stands in three of the corners.
        let last = qr.side - 7;
        for (column, row) in [(0, 0), (last, 0), (0, last)] {
            assert!((0..7).all(|i| qr.dark[row * qr.side + column + i]), "{column} {row}");
        }
        assert!(!(0..7).all(|i| qr.dark[last * qr.side + last + i]));
    }

    #[test]
    fn the_picture_is_well_formed_and_says_what_it_is() {
        let svg = Qr::of("http://127.0.0.1:8080/visits/1").unwrap().svg("Opens \"this\" <visit>");
        let read = roxmltree::Document::parse(&svg).unwrap();
        assert_eq!(read.root_element().attribute("aria-label"), Some("Opens \"this\" <visit>"));
        assert!(!svg.contains("style="));
    }
}
