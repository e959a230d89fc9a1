//! The two faces that every sheet is set in, how wide their words are, and where lines break.
use anyhow::Context;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, GlyphBuffer, GlyphInfo, GlyphPosition, ShapePlan, UnicodeBuffer, script};
use std::{cell::RefCell, collections::HashMap};

static PLAIN: &[u8] = include_bytes!("../../../static/fonts/DejaVuSansCondensed.ttf");
static STRONG: &[u8] = include_bytes!("../../../static/fonts/DejaVuSansCondensed-Bold.ttf");

/// Letters, digits and signs below this are written from left to right: Basic Latin to Latin Extended-B.
const LATIN_END: char = '\u{250}';

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
    /// How Latin words are shaped; made once, for making it costs more than shaping a word.
    latin: ShapePlan,
    /// Advances of words that were measured, in units of the face: a list says the same words in every row.
    measured: RefCell<HashMap<String, i32>>,
}

impl Face {
    fn load(bytes: &'static [u8]) -> anyhow::Result<Self> {
        let font = Font::new(bytes.into(), 0).context("a font of the program cannot be drawn")?;
        let shape =
            rustybuzz::Face::from_slice(bytes, 0).context("a font of the program cannot be shaped")?;
        let latin = ShapePlan::new(&shape, Direction::LeftToRight, Some(script::LATIN), None, &[]);
        Ok(Self { font, shape, latin, measured: RefCell::default() })
    }

    /// The glyphs of words whose letters are all Latin; of others none.
    fn latin(&self, words: &str) -> Option<GlyphBuffer> {
        if !words.chars().all(|letter| letter < LATIN_END) {
            return None;
        }
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(words);
        buffer.set_direction(Direction::LeftToRight);
        buffer.set_script(script::LATIN);
        Some(rustybuzz::shape_with_plan(&self.shape, &self.latin, buffer))
    }

    /// The advance of the words, in units of the face.
    fn advance(&self, words: &str) -> i32 {
        let shaped = self.latin(words).unwrap_or_else(|| {
            let mut buffer = UnicodeBuffer::new();
            buffer.push_str(words);
            rustybuzz::shape(&self.shape, &[], buffer)
        });
        shaped.glyph_positions().iter().map(|p| p.x_advance).sum()
    }

    /// The same of a word, remembered.
    fn word(&self, word: &str) -> i32 {
        if let Some(known) = self.measured.borrow().get(word) {
            return *known;
        }
        let advance = self.advance(word);
        self.measured.borrow_mut().insert(word.to_owned(), advance);
        advance
    }

    fn points(&self, units: i32, size: f32) -> f32 {
        // A line's advance fits exactly: a page is some ten thousand units wide.
        #[expect(clippy::cast_precision_loss)]
        let (units, per_em) = (units as f32, self.shape.units_per_em() as f32);
        units / per_em * size
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

    /// The glyphs of words as the writer takes them; none where it must shape them itself, for they are not Latin.
    pub fn glyphs(&self, weight: Weight, words: &str) -> Option<Vec<KrillaGlyph>> {
        let face = self.face(weight);
        let shaped = face.latin(words)?;
        let starts: Vec<usize> = shaped.glyph_infos().iter().map(|info| info.cluster as usize).collect();
        let ems = |units: i32| face.points(units, 1.0);
        let glyph = |(at, (info, place)): (usize, (&GlyphInfo, &GlyphPosition))| {
            let start = starts[at];
            // Several glyphs of one letter share its bytes.
            let end = starts[at..].iter().find(|other| **other != start).copied().unwrap_or(words.len());
            let advance = ems(place.x_advance);
            let (x, y, down) = (ems(place.x_offset), ems(place.y_offset), ems(place.y_advance));
            KrillaGlyph::new(GlyphId::new(info.glyph_id), advance, x, y, down, start..end, None)
        };
        Some(shaped.glyph_infos().iter().zip(shaped.glyph_positions()).enumerate().map(glyph).collect())
    }

    /// How wide the words are, in points.
    pub fn width(&self, weight: Weight, size: f32, words: &str) -> f32 {
        let face = self.face(weight);
        face.points(face.advance(words), size)
    }

    /// The words in lines no wider than `width`. A word that is wider than a line is cut. A line is as wide as its
    /// words and the blanks between them: the faces draw no word nearer to a blank.
    pub fn wrap(&self, weight: Weight, size: f32, words: &str, width: f32) -> Vec<String> {
        let face = self.face(weight);
        let blank = face.word(" ");
        let mut lines = vec![];
        for paragraph in words.lines() {
            let (mut line, mut long) = (String::new(), 0);
            for word in paragraph.split_whitespace() {
                let (gap, own) = (if line.is_empty() { 0 } else { blank }, face.word(word));
                if face.points(long + gap + own, size) <= width {
                    if !line.is_empty() {
                        line.push(' ');
                    }
                    line.push_str(word);
                    long += gap + own;
                    continue;
                }
                if !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                }
                line = self.cut(weight, size, word, width, &mut lines);
                long = face.word(&line);
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
    use krilla::text::Glyph;

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
    fn each_glyph_stands_for_its_letters_and_other_scripts_are_left_to_the_writer() {
        let fonts = Fonts::load().unwrap();
        let words = "Ñandú, office: 12.5 fl oz";
        let glyphs = fonts.glyphs(Weight::Plain, words).unwrap();
        let said: String = glyphs.iter().map(|glyph| &words[glyph.text_range()]).collect();
        assert_eq!(said, words);
        let wide: f32 = glyphs.iter().map(|glyph| glyph.x_advance(9.0)).sum();
        assert!((wide - fonts.width(Weight::Plain, 9.0, words)).abs() < 1e-3);
        assert!(fonts.glyphs(Weight::Plain, "Δρυς").is_none());
        assert!(fonts.width(Weight::Plain, 9.0, "Δρυς") > 1.0);
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
