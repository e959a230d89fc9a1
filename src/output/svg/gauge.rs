//! The cap gauge of one site and active ingredient: used, reserved, free, the limit, the overrun.

use std::fmt::Write as _;

use super::{Frame, escape, percent, safe_id};

/// An exact amount in words, and how much of the limit it is, for drawing only.
#[derive(Debug, Clone, PartialEq)]
pub struct Amount {
    /// As it is to be read, unit included: "31.2 g".
    pub words: String,
    /// Share of the limit; 1.0 is the limit.
    pub share: f64,
}

/// What is known about the cap. Whether it is broken is decided by exact sums elsewhere and comes
/// in as words: the shares here are too coarse to tell a dose at the limit from one just above.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// The limit is known.
    Measured {
        used: Amount,
        /// Planned doses that hold their place.
        reserved: Amount,
        /// The limit in words: "limit 45.35 g".
        limit: String,
        /// What is left, rounded down, in words: "14.1 g left".
        left: String,
        /// Set when used and reserved together pass the limit: "3.2 g over the limit".
        over: Option<String>,
    },
    /// The area that the cap counts by is not known.
    Unchecked {
        /// "cannot be checked: no area"
        why: String,
        /// What was used so far, in words; no share of an unknown limit can be drawn.
        used: String,
    },
}

/// Everything the gauge shows, already decided and worded.
#[derive(Debug, Clone)]
pub struct Gauge<'a> {
    /// Unique on the page; letters, digits, `-` and `_`.
    pub id: &'a str,
    /// The name of the picture, such as "Annual cap, imidacloprid".
    pub title: &'a str,
    /// What the picture says, in a sentence or two.
    pub desc: &'a str,
    pub reading: Reading,
    /// Set while nobody has answered what was applied before the history begins:
    /// "earlier use unconfirmed".
    pub unconfirmed: Option<&'a str>,
}

const TOP: u32 = 22;
const HIGH: u32 = 22;
const BASE: u32 = TOP + HIGH;
const LINE: u32 = 18;
/// The limit stands at four fifths, so that gauges compare at a glance; a larger overrun pushes
/// it to the left.
const ROOM: f64 = 1.25;
/// An amount that is not zero never vanishes.
const SLIVER: f64 = 0.008;

/// The gauge as SVG text.
pub fn gauge(gauge: &Gauge<'_>) -> String {
    let id = safe_id(gauge.id);
    let mut marks = String::new();
    match &gauge.reading {
        Reading::Measured { used, reserved, limit, left, over } => {
            let bar = Bar::new(used.share, reserved.share, over.is_some());
            draw_bar(&mut marks, &bar, used, reserved, &id);
            draw_limit(&mut marks, &bar, limit);
            let words = over.as_ref().unwrap_or(left);
            draw_words(&mut marks, BASE + LINE, "strong", words);
        }
        Reading::Unchecked { why, used } => draw_unchecked(&mut marks, why, used),
    }
    let mut height = BASE + LINE + 6;
    if let Some(words) = gauge.unconfirmed {
        draw_words(&mut marks, BASE + 2 * LINE, "doubt", words);
        height += LINE;
    }
    Frame { id: &id, class: "gauge", height, title: gauge.title, desc: gauge.desc }.around(&marks)
}

/// Ends of the parts as shares of the width, from left to right.
struct Bar {
    used: f64,
    reserved: f64,
    limit: f64,
    /// End of what was used beyond the limit, and of what is reserved beyond it.
    over_used: f64,
    over_reserved: f64,
}

impl Bar {
    fn new(used: f64, reserved: f64, over: bool) -> Self {
        let (used, reserved) = (sound(used), sound(reserved));
        let total = used + reserved;
        let scale = if over { total.max(ROOM) } else { ROOM };
        let limit = 1.0 / scale;
        let mut used_end = (used / scale).min(limit);
        if used > 0.0 {
            used_end = used_end.max(SLIVER);
        }
        let mut reserved_end = (total / scale).min(limit).max(used_end);
        if reserved > 0.0 && reserved_end < limit {
            reserved_end = reserved_end.max(used_end + SLIVER);
        }
        let (mut over_used, mut over_reserved) = (limit, limit);
        if over {
            over_used = (used / scale).max(limit);
            over_reserved = (total / scale).max(limit);
            if over_reserved - limit < SLIVER {
                over_reserved = limit + SLIVER;
                // The part that passes is the one that stands last.
                if reserved <= 0.0 {
                    over_used = over_reserved;
                }
            }
        }
        Self { used: used_end, reserved: reserved_end, limit, over_used, over_reserved }
    }
}

/// Keeps a share drawable. A limit of nothing gives an endless share, which fills the bar.
fn sound(share: f64) -> f64 {
    if share.is_nan() { 0.0 } else { share.clamp(0.0, 1e6) }
}

fn draw_bar(out: &mut String, bar: &Bar, used: &Amount, reserved: &Amount, id: &str) {
    part(out, 0.0, bar.limit, r#"class="bed""#, "");
    part(out, 0.0, bar.used, r#"class="solid""#, &used.words);
    let hatch = format!(r##"class="hatched" fill="url(#{id}-hatch)""##);
    part(out, bar.used, bar.reserved, &hatch, &reserved.words);
    part(out, bar.limit, bar.over_used, r#"class="over""#, &used.words);
    let cross = format!(r##"class="over-planned" fill="url(#{id}-cross)""##);
    part(out, bar.over_used, bar.over_reserved, &cross, &reserved.words);
}

fn part(out: &mut String, from: f64, to: f64, look: &str, words: &str) {
    if to - from <= 0.0 {
        return;
    }
    let (x, width) = (percent(from), percent(to - from));
    let title = if words.is_empty() { String::new() } else { format!("<title>{}</title>", escape(words)) };
    let _ = write!(out, r#"<rect {look} x="{x}" y="{TOP}" width="{width}" height="{HIGH}">{title}</rect>"#);
}

fn draw_limit(out: &mut String, bar: &Bar, words: &str) {
    let (x, above, below, words) = (percent(bar.limit), TOP - 4, BASE + 6, escape(words));
    // Far to the left the words would leave the picture, so they run to the right there.
    let anchor = if bar.limit < 0.4 { "start" } else { "end" };
    let _ = write!(
        out,
        r#"<line class="halo" x1="{x}" x2="{x}" y1="{above}" y2="{below}"/><line class="limit" x1="{x}" x2="{x}" y1="{above}" y2="{below}"/><text x="{x}" y="14" text-anchor="{anchor}">{words}</text>"#
    );
}

fn draw_words(out: &mut String, y: u32, class: &str, words: &str) {
    let _ = write!(out, r#"<text class="{class}" x="0" y="{y}">{}</text>"#, escape(words));
}

fn draw_unchecked(out: &mut String, why: &str, used: &str) {
    let (width, y) = (percent(1.0 / ROOM), TOP + HIGH - 6);
    let _ = write!(
        out,
        r#"<rect class="unknown" x="0" y="{TOP}" width="{width}" height="{HIGH}"/><text class="strong" x="40%" y="{y}" text-anchor="middle">?</text>"#
    );
    draw_words(out, 14, "plain-words", used);
    draw_words(out, BASE + LINE, "strong", why);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(used: f64, reserved: f64, over: Option<&str>) -> String {
        let amount = |share| Amount { words: "an amount".into(), share };
        drawn(
            Reading::Measured {
                used: amount(used),
                reserved: amount(reserved),
                limit: "limit 45.35 g".into(),
                left: "14.1 g left".into(),
                over: over.map(Into::into),
            },
            None,
        )
    }

    fn drawn(reading: Reading, unconfirmed: Option<&str>) -> String {
        let svg = gauge(&Gauge { id: "g/1", title: "Cap <a> & b", desc: "d", reading, unconfirmed });
        roxmltree::Document::parse(&svg).expect("well-formed");
        svg
    }

    /// Start and width in per cent of the part with this class.
    fn part_of(svg: &str, class: &str) -> Option<(f64, f64)> {
        let doc = roxmltree::Document::parse(svg).expect("well-formed");
        let node = doc.descendants().find(|n| {
            n.attribute("class") == Some(class) && n.has_tag_name(("http://www.w3.org/2000/svg", "rect"))
        })?;
        let number = |name| node.attribute(name).unwrap().trim_end_matches('%').parse().unwrap();
        Some((number("x"), number("width")))
    }

    fn limit_at(svg: &str) -> f64 {
        let doc = roxmltree::Document::parse(svg).expect("well-formed");
        let line = doc.descendants().find(|n| n.attribute("class") == Some("limit")).expect("a limit");
        line.attribute("x1").unwrap().trim_end_matches('%').parse().unwrap()
    }

    #[test]
    fn used_reserved_and_free_stand_in_line() {
        let svg = measured(0.5, 0.25, None);
        assert_eq!(part_of(&svg, "solid"), Some((0.0, 40.0)));
        assert_eq!(part_of(&svg, "hatched"), Some((40.0, 20.0)));
        assert!((limit_at(&svg) - 80.0).abs() < 1e-9);
        assert_eq!(part_of(&svg, "over"), None);
        assert!(svg.contains("14.1 g left") && svg.contains("limit 45.35 g"));
    }

    #[test]
    fn nothing_used_is_an_empty_bar() {
        let svg = measured(0.0, 0.0, None);
        assert_eq!(part_of(&svg, "solid"), None);
        assert_eq!(part_of(&svg, "hatched"), None);
        assert_eq!(part_of(&svg, "bed"), Some((0.0, 80.0)));
    }

    #[test]
    fn a_trace_is_still_seen() {
        let svg = measured(1e-9, 1e-9, None);
        assert!(part_of(&svg, "solid").expect("drawn").1 >= 0.5);
        assert!(part_of(&svg, "hatched").expect("drawn").1 >= 0.5);
    }

    #[test]
    fn exactly_at_the_limit_is_not_over() {
        // A share may come out a hair above one; only the exact sum may call it over.
        for share in [1.0, 1.0 + 1e-12] {
            let svg = measured(share, 0.0, None);
            assert_eq!(part_of(&svg, "solid"), Some((0.0, 80.0)));
            assert_eq!(part_of(&svg, "over"), None);
        }
    }

    #[test]
    fn one_microlitre_over_is_seen() {
        let svg = measured(1.0, 0.0, Some("0.0003 g over"));
        let (from, width) = part_of(&svg, "over").expect("drawn");
        assert!(from >= 80.0 && width >= 0.5);
        assert!(svg.contains("0.0003 g over") && !svg.contains("left"));
    }

    #[test]
    fn an_overrun_runs_beyond_the_limit() {
        let svg = measured(1.1, 0.1, Some("over"));
        assert_eq!(part_of(&svg, "solid"), Some((0.0, 80.0)));
        assert_eq!(part_of(&svg, "over"), Some((80.0, 8.0)));
        assert_eq!(part_of(&svg, "over-planned"), Some((88.0, 8.0)));
        assert_eq!(part_of(&svg, "hatched"), None);
    }

    #[test]
    fn what_is_only_reserved_beyond_the_limit_looks_planned() {
        let svg = measured(0.8, 0.3, Some("over"));
        assert_eq!(part_of(&svg, "over"), None);
        assert_eq!(part_of(&svg, "hatched"), Some((64.0, 16.0)));
        assert_eq!(part_of(&svg, "over-planned"), Some((80.0, 8.0)));
    }

    #[test]
    fn a_huge_overrun_still_fits() {
        let svg = measured(4.0, 0.0, Some("over"));
        assert!((limit_at(&svg) - 25.0).abs() < 1e-9);
        assert_eq!(part_of(&svg, "over"), Some((25.0, 75.0)));
        assert!(svg.contains(r#"text-anchor="start">limit"#));
    }

    #[test]
    fn an_unknown_area_draws_no_limit_and_no_share() {
        let reading =
            Reading::Unchecked { why: "cannot be checked: no area".into(), used: "31.2 g used".into() };
        let svg = drawn(reading, Some("earlier use unconfirmed"));
        assert!(!svg.contains("class=\"limit\"") && part_of(&svg, "solid").is_none());
        for words in ["cannot be checked: no area", "31.2 g used", "earlier use unconfirmed"] {
            assert!(svg.contains(words));
        }
    }

    #[test]
    fn unconfirmed_earlier_use_takes_its_own_line() {
        let reading = || Reading::Unchecked { why: "w".into(), used: "u".into() };
        assert!(drawn(reading(), None).contains(r#"height="68""#));
        assert!(drawn(reading(), Some("earlier")).contains(r#"height="86""#));
    }

    #[test]
    fn a_limit_of_nothing_is_all_overrun() {
        let svg = measured(f64::INFINITY, 0.0, Some("over"));
        let (from, width) = part_of(&svg, "over").expect("drawn");
        assert!(from < 0.01 && width > 99.0);
    }

    #[test]
    fn odd_numbers_and_markup_do_no_harm() {
        for share in [f64::NAN, f64::INFINITY, -1.0, 1e300] {
            let svg = measured(share, share, Some("<b>over</b>"));
            assert!(!svg.contains("NaN") && !svg.contains("inf") && !svg.contains("<b>"));
        }
        assert!(measured(0.1, 0.0, None).contains("Cap &lt;a&gt; &amp; b"));
        assert!(measured(0.1, 0.0, None).contains("id=\"pg-1-title\""));
    }
}
