//! Pictures as SVG text for a page, drawn from finished figures.
//!
//! Places along the bar are percentages and heights are pixels, so a picture fills any width while
//! its text keeps its size. Colours come from the classes of the style sheet under `.picture`;
//! hatching and position carry the meaning, so it survives print and does not hang on colour.
//! A table or sentence with the same figures belongs beside every picture.

mod gauge;
mod map;
mod steps;
mod strip;

pub use gauge::{Amount, Gauge, Reading, gauge};
pub use map::map;
pub use steps::{Steps, steps};
pub use strip::{Application, Span, SpanKind, Strip, around, strip};

use std::fmt::Write as _;

/// Text made safe for SVG and HTML, in content and in attributes. Control characters that XML
/// cannot carry are dropped.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}

/// An identifier that is sound in an attribute and in `url(#...)`. Callers keep their ids apart by
/// letters, digits, `-` and `_`; everything else becomes `-`.
fn safe_id(id: &str) -> String {
    let tail = id.chars().map(|c| if c.is_ascii_alphanumeric() || c == '_' { c } else { '-' });
    std::iter::once('p').chain(tail).collect()
}

/// A share of the width as a percentage with two decimals, kept on the picture.
fn percent(share: f64) -> String {
    let kept = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
    format!("{:.2}%", kept * 100.0)
}

/// What every picture has around its marks.
struct Frame<'a> {
    id: &'a str,
    class: &'a str,
    height: u32,
    title: &'a str,
    desc: &'a str,
}

impl Frame<'_> {
    /// The whole picture: name and description for people who hear it, the patterns, the marks.
    fn around(&self, marks: &str) -> String {
        let (id, class, height) = (self.id, self.class, self.height);
        let mut out = String::with_capacity(marks.len() + 900);
        // Writing to a String cannot fail.
        let _ = write!(
            out,
            r##"<svg xmlns="http://www.w3.org/2000/svg" class="picture {class}" width="100%" height="{height}" role="img" aria-labelledby="{id}-title {id}-desc"><title id="{id}-title">{}</title><desc id="{id}-desc">{}</desc><defs><pattern id="{id}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line class="hatch" x1="1" y1="0" x2="1" y2="6"/></pattern><pattern id="{id}-cross" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="cross" d="M1 0V6M0 1H6"/></pattern></defs>{marks}</svg>"##,
            escape(self.title),
            escape(self.desc),
        );
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_stays_one_line() {
        assert_eq!(escape("a<b> & \"c\" 'd'\n\u{1}e"), "a&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39; e");
    }

    #[test]
    fn ids_begin_with_a_letter_and_hold_nothing_odd() {
        assert_eq!(safe_id("0190-ab_C"), "p0190-ab_C");
        assert_eq!(safe_id("a b)\"#é"), "pa-b----");
    }

    #[test]
    fn shares_stay_on_the_picture() {
        assert_eq!(percent(0.12345), "12.35%");
        assert_eq!(percent(-0.5), "0.00%");
        assert_eq!(percent(7.0), "100.00%");
        assert_eq!(percent(f64::NAN), "0.00%");
        assert_eq!(percent(f64::INFINITY), "0.00%");
    }
}
