//! The sketch map of a technician's day as SVG text.
use super::{escape, safe_id};
use crate::output::sketch::{Anchor, Shape, Sketch};
use std::fmt::Write as _;

/// The day's way. `id` is unique on the page; `desc` says in words what is drawn (the table beside it lists
/// the stops).
#[must_use]
pub fn map(id: &str, title: &str, desc: &str, drawn: &Sketch) -> String {
    let id = safe_id(id);
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = write!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" class="picture map" viewBox="0 0 {} {}" role="img" aria-labelledby="{id}-title {id}-desc"><title id="{id}-title">{}</title><desc id="{id}-desc">{}</desc>"#,
        drawn.width,
        drawn.height,
        escape(title),
        escape(desc)
    );
    for shape in &drawn.shapes {
        write_shape(&mut out, shape);
    }
    out.push_str("</svg>");
    out
}

fn write_shape(out: &mut String, shape: &Shape) {
    let _ = match shape {
        Shape::Line { points, width, dashed } => {
            let dash = if *dashed { r#" stroke-dasharray="5 4""# } else { "" };
            write!(out, r#"<polyline class="way" points="{}" stroke-width="{width}"{dash}/>"#, joined(points))
        }
        Shape::Area { points, ink } => {
            let class = if *ink { "ink" } else { "spot" };
            write!(out, r#"<polygon class="{class}" points="{}"/>"#, joined(points))
        }
        Shape::Disc { at: (x, y), radius } => {
            write!(out, r#"<circle class="spot" cx="{x:.1}" cy="{y:.1}" r="{radius}"/>"#)
        }
        Shape::Text { at: (x, y), anchor, strong, words, .. } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            let class = if *strong { "strong" } else { "plain-words" };
            write!(
                out,
                r#"<text class="{class}" x="{x:.1}" y="{y:.1}" text-anchor="{anchor}">{}</text>"#,
                escape(words)
            )
        }
    };
}

fn joined(points: &[(f32, f32)]) -> String {
    points.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::sketch::{Place, Stop, sketch};

    #[test]
    fn the_map_is_well_formed_and_named() {
        let place = |latitude, longitude| Place { latitude, longitude };
        let stops: Vec<Stop> =
            (1..=3).map(|n| Stop { number: n, place: Some(place(35.4, -120.6 + 0.01 * n as f64)) }).collect();
        let drawn = sketch(Some(place(35.41, -120.7)), &stops).told(|words| words.replace("mile", "legua"));
        let svg = map("day/1", "The way <of> Ines", "Three stops.", &drawn);
        assert!(svg.contains("legua") && !svg.contains("mile"), "its words are those that it was given");
        let read = roxmltree::Document::parse(&svg).unwrap();
        let all = |tag: &str| read.descendants().filter(|n| n.tag_name().name() == tag).count();
        assert_eq!((all("circle"), all("title"), all("desc")), (3, 1, 1));
        assert!(all("polyline") >= 3, "the way, the way back and the scale");
        assert!(!svg.contains("style=") && !svg.contains("NaN"));
    }
}
