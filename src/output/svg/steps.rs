//! A curve that only falls, in steps, with its uncertainty hatched around it.

use super::{Frame, escape, percent, safe_id};
use std::fmt::Write as _;

/// What is drawn. Shares are from nought to one.
#[derive(Debug)]
pub struct Steps<'a> {
    pub id: &'a str,
    pub title: &'a str,
    pub desc: &'a str,
    /// Where the axis ends, in days.
    pub until: u32,
    /// Where the curve ends: nobody looked later.
    pub longest: u32,
    /// Day, share, lower and upper end of the interval from that day on.
    pub steps: &'a [(u32, f64, f64, f64)],
    /// A day that is marked, such as the label's, with its words.
    pub mark: Option<(u32, &'a str)>,
}

const TOP: f64 = 22.0;
const HIGH: f64 = 150.0;
const HEIGHT: u32 = 212;
/// The axis says so many days at most five times.
const TICKS: u32 = 5;

/// The curve as SVG text.
pub fn steps(curve: &Steps<'_>) -> String {
    let id = safe_id(curve.id);
    let mut marks = String::new();
    axis(&mut marks, curve.until);
    let whole = (0, 1.0, 1.0, 1.0);
    let from = std::iter::once(&whole).chain(curve.steps);
    let ends = curve.steps.iter().map(|step| step.0).chain([curve.longest]);
    let mut before: Option<f64> = None;
    for ((day, share, low, high), end) in from.zip(ends) {
        let (x, until) = (place(*day, curve.until), place(end, curve.until));
        band(&mut marks, (x, until), (*low, *high), &id);
        if let Some(before) = before {
            line(&mut marks, "now", (x, x), (before, *share));
        }
        line(&mut marks, "now", (x, until), (*share, *share));
        before = Some(*share);
    }
    if let Some((day, words)) = curve.mark {
        mark(&mut marks, place(day, curve.until), words);
    }
    Frame { id: &id, class: "steps", height: HEIGHT, title: curve.title, desc: curve.desc }.around(&marks)
}

/// The share of the width at which a day lies; a little is kept for the words of the left axis.
fn place(day: u32, until: u32) -> f64 {
    let share = if until == 0 { 0.0 } else { f64::from(day) / f64::from(until) };
    0.09 + 0.88 * share.clamp(0.0, 1.0)
}

fn level(share: f64) -> f64 {
    TOP + HIGH * (1.0 - share.clamp(0.0, 1.0))
}

fn line(out: &mut String, class: &str, x: (f64, f64), share: (f64, f64)) {
    let (x1, x2) = (percent(x.0), percent(x.1));
    let (y1, y2) = (level(share.0), level(share.1));
    let _ = write!(out, r#"<line class="{class}" x1="{x1}" x2="{x2}" y1="{y1:.1}" y2="{y2:.1}"/>"#);
}

fn band(out: &mut String, x: (f64, f64), share: (f64, f64), id: &str) {
    let (width, high) = (x.1 - x.0, HIGH * (share.1 - share.0));
    if width <= 0.0 || high <= 0.0 {
        return;
    }
    let (x, y, width) = (percent(x.0), level(share.1), percent(width));
    let _ = write!(
        out,
        r##"<rect class="band" fill="url(#{id}-hatch)" x="{x}" y="{y:.1}" width="{width}" height="{high:.1}"/>"##
    );
}

fn axis(out: &mut String, until: u32) {
    for (share, words) in [(1.0, "100 %"), (0.5, "50 %"), (0.0, "0 %")] {
        line(out, "year", (place(0, 1), place(1, 1)), (share, share));
        let y = level(share) + 4.0;
        let _ = write!(out, r#"<text x="0" y="{y:.1}">{words}</text>"#);
    }
    let y = TOP + HIGH + 18.0;
    for tick in 0..=TICKS {
        let day = until * tick / TICKS;
        let anchor = if tick == TICKS { "end" } else { "middle" };
        let x = percent(place(day, until));
        let _ = write!(out, r#"<text x="{x}" y="{y}" text-anchor="{anchor}">{day} d</text>"#);
    }
}

fn mark(out: &mut String, x: f64, words: &str) {
    let anchor = if x < 0.5 { "start" } else { "end" };
    let (x, below, words) = (percent(x), TOP + HIGH, escape(words));
    let _ = write!(
        out,
        r#"<line class="unknown" x1="{x}" x2="{x}" y1="{TOP}" y2="{below}"/><text x="{x}" y="14" text-anchor="{anchor}">{words}</text>"#
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(list: &[(u32, f64, f64, f64)], longest: u32, until: u32) -> String {
        let curve = Steps {
            id: "c/1",
            title: "Tea scale <2>",
            desc: "falls",
            until,
            longest,
            steps: list,
            mark: Some((365, "label: 365 days")),
        };
        let svg = steps(&curve);
        roxmltree::Document::parse(&svg).expect("well-formed");
        svg
    }

    #[test]
    fn each_step_is_one_fall_and_one_level() {
        let svg = drawn(&[(100, 0.5, 0.2, 0.8), (300, 0.25, 0.1, 0.6)], 400, 400);
        assert_eq!(svg.matches(r#"class="now""#).count(), 5, "three levels and two falls: {svg}");
        assert_eq!(svg.matches(r#"class="band""#).count(), 2, "before the first step nothing is uncertain");
        assert!(svg.contains("Tea scale &lt;2&gt;") && svg.contains("label: 365 days"));
        // The level of a half lies in the middle of the height, from day 100 of 400 to day 300.
        assert!(svg.contains(r#"x1="31.00%" x2="75.00%" y1="97.0" y2="97.0""#), "{svg}");
    }

    #[test]
    fn a_curve_of_nothing_is_a_picture_all_the_same() {
        for svg in [drawn(&[], 0, 0), drawn(&[], 90, 365), drawn(&[(30, 0.0, 0.0, 0.0)], 30, 365)] {
            assert!(!svg.contains("NaN"), "{svg}");
        }
    }
}
