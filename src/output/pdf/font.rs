//! The two faces that every sheet is set in, how wide their words are, and where lines break.
use anyhow::Context;
use krilla::text::Font;
use rustybuzz::UnicodeBuffer;

static PLAIN: &[u8] = include_bytes!("../../../static/fonts/DejaVuSansCondensed.ttf");
static STRONG: &[u8] = include_bytes!("../../../static/fonts/DejaVuSansCondensed-Bold.ttf");

/// Which of the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    Plain,
    Strong,
}

/// Both faces, ready to measure and to draw.
pub struct Fonts {
    plain: Face,
    strong: Face,
}

struct Face {
    font: Font,
    shape: rustybuzz::Face<'static>,
}

impl Face {
    fn load(bytes: &'static [u8]) -> anyhow::Result<Self> {
        let font = Font::new(bytes.into(), 0).context("a font of the program cannot be drawn")?;
        let shape =
            rustybuzz::Face::from_slice(bytes, 0).context("a font of the program cannot be shaped")?;
        Ok(Self { font, shape })
    }
}

impl Fonts {
    pub fn load() -> anyhow::Result<Self> {
        Ok(Self { plain: Face::load(PLAIN)?, strong: Face::load(STRONG)? })
    }

    fn face(&self, weight: Weight) -> &Face {
        match weight {
            Weight::Plain => &self.plain,
            Weight::Strong => &self.strong,
        }
    }

    /// The face as the writer takes it.
    pub fn font(&self, weight: Weight) -> Font {
        self.face(weight).font.clone()
    }

    /// How wide the words are, in points.
    pub fn width(&self, weight: Weight, size: f32, words: &str) -> f32 {
        let face = &self.face(weight).shape;
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(words);
        let shaped = rustybuzz::shape(face, &[], buffer);
        let units: i32 = shaped.glyph_positions().iter().map(|p| p.x_advance).sum();
        // A line's advance fits exactly: a page is some ten thousand units wide.
        #[expect(clippy::cast_precision_loss)]
        let units = units as f32;
        #[expect(clippy::cast_precision_loss)]
        let per_em = face.units_per_em() as f32;
        units / per_em * size
    }

    /// The words in lines no wider than `width`. A word that is wider than a line is cut.
    pub fn wrap(&self, weight: Weight, size: f32, words: &str, width: f32) -> Vec<String> {
        let mut lines = vec![];
        for paragraph in words.lines() {
            let mut line = String::new();
            for word in paragraph.split_whitespace() {
                let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
                if self.width(weight, size, &longer) <= width {
                    line = longer;
                    continue;
                }
                if !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                }
                line = self.cut(weight, size, word, width, &mut lines);
            }
            lines.push(line);
        }
        lines
    }

    /// Puts whole lines of a long word to `lines` and gives back its end.
    fn cut(&self, weight: Weight, size: f32, word: &str, width: f32, lines: &mut Vec<String>) -> String {
        let mut held = String::new();
        for letter in word.chars() {
            held.push(letter);
            if held.chars().count() > 1 && self.width(weight, size, &held) > width {
                held.pop();
                lines.push(std::mem::replace(&mut held, letter.to_string()));
            }
        }
        held
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_fit_and_hold_every_letter() {
        let fonts = Fonts::load().unwrap();
        let words = "Keep people and pets out until dry; Donaudampfschifffahrtsgesellschaftskapitänsmütze, then go on.";
        for width in [40.0, 90.0, 200.0] {
            let lines = fonts.wrap(Weight::Plain, 9.0, words, width);
            for line in &lines {
                assert!(fonts.width(Weight::Plain, 9.0, line) <= width, "{line:?} in {width}");
            }
            let letters = |text: &str| text.split_whitespace().collect::<String>();
            assert_eq!(letters(&lines.concat()), letters(words), "{width}");
        }
        assert_eq!(fonts.wrap(Weight::Plain, 9.0, "one\n\ntwo", 200.0), ["one", "", "two"]);
    }

    #[test]
    fn widths_grow_with_size_and_weight() {
        let fonts = Fonts::load().unwrap();
        let width = fonts.width(Weight::Plain, 10.0, "MMM");
        assert!((width - fonts.width(Weight::Plain, 5.0, "MMM") * 2.0).abs() < 1e-4);
        assert!(fonts.width(Weight::Strong, 10.0, "MMM") > width);
        assert!((fonts.width(Weight::Plain, 10.0, "") - 0.0).abs() < 1e-6);
    }
}
