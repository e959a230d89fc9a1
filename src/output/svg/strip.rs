//! The protection strip of one plant: when it was treated, how long that protects, what stays open.

use std::fmt::Write as _;

use chrono::{Datelike, Months, NaiveDate};

use super::{Frame, escape, percent, safe_id};

/// What a stretch of time is to the plant. Time outside every span is unprotected and stays open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpanKind {
    /// The product protects.
    Protected,
    /// Applied, but the plant is still taking the product up.
    Uptake,
}

/// A stretch of days, the first one in it and the last one not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Span {
    pub kind: SpanKind,
    pub from: NaiveDate,
    /// The first day that no longer belongs to it.
    pub until: NaiveDate,
    /// Said when pointed at, dates as people write them.
    pub words: String,
}

/// One application on the time line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Application {
    pub on: NaiveDate,
    /// Said when pointed at: the date as people write it, product and amount.
    pub words: String,
}

/// Everything the strip shows, already decided and worded.
#[derive(Debug, Clone)]
pub struct Strip<'a> {
    /// Unique on the page; letters, digits, `-` and `_`.
    pub id: &'a str,
    /// The name of the picture, such as "Protection of camellia, 3 plants".
    pub title: &'a str,
    /// What the picture says, in a sentence or two.
    pub desc: &'a str,
    /// First day shown.
    pub from: NaiveDate,
    /// The day after the last one shown; must be later than `from`.
    pub until: NaiveDate,
    pub today: NaiveDate,
    /// Stands at the mark of today, such as "today, Nov 25".
    pub today_words: &'a str,
    pub spans: &'a [Span],
    pub applications: &'a [Application],
}

/// The usual window: fifteen months back, so that the last yearly treatment of an overdue plant is
/// still seen, and twelve ahead. At the ends of the calendar it stops at today.
pub fn around(today: NaiveDate) -> (NaiveDate, NaiveDate) {
    (
        today.checked_sub_months(Months::new(15)).unwrap_or(today),
        today.checked_add_months(Months::new(12)).unwrap_or(today),
    )
}

const TOP: u32 = 26;
const HIGH: u32 = 18;
const BASE: u32 = TOP + HIGH;
const HEIGHT: u32 = BASE + 24;
/// From here to the right end a year's name would leave the picture.
const LAST_YEAR_NAME: f64 = 0.88;
/// The first year is named at the left end if the next one begins at least this far on.
const ROOM_FOR_FIRST_YEAR: f64 = 0.15;

/// The strip as SVG text. Spans are cut at the window; what lies outside it is not drawn.
pub fn strip(strip: &Strip<'_>) -> String {
    let id = safe_id(strip.id);
    let mut marks = String::new();
    let _ = write!(marks, r#"<rect class="bed" x="0" y="{TOP}" width="100%" height="{HIGH}"/>"#);
    // Uptake goes over protection: in those days the plant is not yet safe.
    for kind in [SpanKind::Protected, SpanKind::Uptake] {
        for span in strip.spans.iter().filter(|s| s.kind == kind) {
            draw_span(&mut marks, strip, span, &id);
        }
    }
    draw_years(&mut marks, strip);
    for application in strip.applications {
        draw_application(&mut marks, strip, application);
    }
    draw_today(&mut marks, strip);
    Frame { id: &id, class: "strip", height: HEIGHT, title: strip.title, desc: strip.desc }.around(&marks)
}

impl Strip<'_> {
    /// Where a day lies along the window; below 0 and above 1 outside it.
    fn share(&self, day: NaiveDate) -> f64 {
        let whole = (self.until - self.from).num_days().max(1);
        // Day counts of a few years are far below what f64 holds exactly.
        (day - self.from).num_days() as f64 / whole as f64
    }

    fn shows(&self, day: NaiveDate) -> bool {
        self.from <= day && day < self.until
    }
}

fn draw_span(out: &mut String, strip: &Strip<'_>, span: &Span, id: &str) {
    let from = strip.share(span.from).max(0.0);
    let width = strip.share(span.until).min(1.0) - from;
    if width <= 0.0 {
        return;
    }
    let (x, width, words) = (percent(from), percent(width), escape(&span.words));
    let place = format!(r#"x="{x}" y="{TOP}" width="{width}" height="{HIGH}""#);
    let _ = match span.kind {
        SpanKind::Protected => {
            write!(out, r#"<rect class="solid" {place}><title>{words}</title></rect>"#)
        }
        SpanKind::Uptake => write!(
            out,
            r##"<rect class="bed" {place}/><rect class="hatched" {place} fill="url(#{id}-hatch)"><title>{words}</title></rect>"##
        ),
    };
}

fn draw_years(out: &mut String, strip: &Strip<'_>) {
    let first = strip.from.year();
    let starts: Vec<(i32, f64)> = (first..=strip.until.year())
        .filter_map(|year| Some((year, NaiveDate::from_ymd_opt(year, 1, 1)?)))
        .filter(|(_, day)| strip.shows(*day))
        .map(|(year, day)| (year, strip.share(day)))
        .collect();
    let y = BASE + 18;
    if starts.first().is_none_or(|(_, share)| *share >= ROOM_FOR_FIRST_YEAR) {
        let _ = write!(out, r#"<text x="0" y="{y}">{first}</text>"#);
    }
    for (year, share) in starts {
        let x = percent(share);
        let (above, below) = (TOP, BASE + 20);
        let _ = write!(out, r#"<line class="year" x1="{x}" x2="{x}" y1="{above}" y2="{below}"/>"#);
        if share <= LAST_YEAR_NAME {
            let _ = write!(out, r#"<text x="{x}" dx="4" y="{y}">{year}</text>"#);
        }
    }
}

fn draw_application(out: &mut String, strip: &Strip<'_>, application: &Application) {
    if !strip.shows(application.on) {
        return;
    }
    let x = percent(strip.share(application.on));
    let (above, below) = (TOP - 4, BASE + 4);
    let words = escape(&application.words);
    let _ = write!(
        out,
        r#"<g class="application"><title>{words}</title><line class="halo" x1="{x}" x2="{x}" y1="{above}" y2="{below}"/><line class="tick" x1="{x}" x2="{x}" y1="{above}" y2="{below}"/><circle class="knob" cx="{x}" cy="{above}" r="4"/></g>"#
    );
}

fn draw_today(out: &mut String, strip: &Strip<'_>) {
    if !strip.shows(strip.today) {
        return;
    }
    let share = strip.share(strip.today);
    let anchor = match share {
        s if s < 0.2 => "start",
        s if s > 0.8 => "end",
        _ => "middle",
    };
    let (x, words, above, below) = (percent(share), escape(strip.today_words), TOP - 4, BASE + 4);
    let _ = write!(
        out,
        r#"<line class="halo" x1="{x}" x2="{x}" y1="{above}" y2="{below}"/><line class="now" x1="{x}" x2="{x}" y1="{above}" y2="{below}"/><text class="strong" x="{x}" y="14" text-anchor="{anchor}">{words}</text>"#
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().expect("a date")
    }

    fn span(kind: SpanKind, from: &str, until: &str) -> Span {
        Span { kind, from: day(from), until: day(until), words: format!("{from} to {until}") }
    }

    fn drawn(spans: &[Span], applications: &[Application]) -> String {
        strip(&Strip {
            id: "a1",
            title: "Protection of rose & <lilac>",
            desc: "Protected \"until\" Nov 12.",
            from: day("2025-11-25"),
            until: day("2027-11-25"),
            today: day("2026-11-25"),
            today_words: "today, Nov 25",
            spans,
            applications,
        })
    }

    /// (class, x, width) of every rectangle with that class.
    fn bars(svg: &str, class: &str) -> Vec<(String, String)> {
        let doc = roxmltree::Document::parse(svg).expect("well-formed");
        doc.descendants()
            .filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "rect")))
            .filter(|n| n.attribute("class") == Some(class))
            .map(|n| (n.attribute("x").unwrap().into(), n.attribute("width").unwrap().into()))
            .collect()
    }

    #[test]
    fn it_is_a_named_image() {
        let svg = drawn(&[], &[]);
        let doc = roxmltree::Document::parse(&svg).expect("well-formed");
        let root = doc.root_element();
        assert_eq!(root.attribute("role"), Some("img"));
        let named = root.attribute("aria-labelledby").expect("named");
        let texts: Vec<_> = named
            .split(' ')
            .map(|id| doc.descendants().find(|n| n.attribute("id") == Some(id)).unwrap().text().unwrap())
            .collect();
        assert_eq!(texts, ["Protection of rose & <lilac>", "Protected \"until\" Nov 12."]);
        assert!(!svg.contains("style="));
    }

    #[test]
    fn without_history_the_strip_is_open() {
        let svg = drawn(&[], &[]);
        assert!(bars(&svg, "solid").is_empty() && bars(&svg, "hatched").is_empty());
        assert_eq!(bars(&svg, "bed").len(), 1);
        assert!(!svg.contains("class=\"application\""));
        assert!(svg.contains("today, Nov 25"));
    }

    #[test]
    fn spans_lie_where_their_days_are() {
        // 730 days; the span begins on day 73 and lasts 365 of them.
        let svg = drawn(&[span(SpanKind::Protected, "2026-02-06", "2027-02-06")], &[]);
        assert_eq!(bars(&svg, "solid"), [("10.00%".into(), "50.00%".into())]);
    }

    #[test]
    fn spans_are_cut_at_the_window() {
        let spans = [
            span(SpanKind::Protected, "2020-01-01", "2026-02-06"),
            span(SpanKind::Uptake, "2027-09-13", "2031-01-01"),
        ];
        let svg = drawn(&spans, &[]);
        assert_eq!(bars(&svg, "solid"), [("0.00%".into(), "10.00%".into())]);
        assert_eq!(bars(&svg, "hatched"), [("90.00%".into(), "10.00%".into())]);
    }

    #[test]
    fn what_lies_outside_the_window_is_not_drawn() {
        let spans = [
            span(SpanKind::Protected, "2020-01-01", "2025-11-25"),
            span(SpanKind::Protected, "2027-11-25", "2028-11-25"),
            span(SpanKind::Uptake, "2026-05-01", "2026-05-01"),
            span(SpanKind::Protected, "2026-05-02", "2026-05-01"),
        ];
        let old = [Application { on: day("2025-11-24"), words: "old".into() }];
        let svg = drawn(&spans, &old);
        assert!(bars(&svg, "solid").is_empty() && bars(&svg, "hatched").is_empty());
        assert!(!svg.contains("class=\"application\""));
    }

    #[test]
    fn every_application_is_a_tick_that_says_its_date() {
        let ticks = [
            Application { on: day("2025-11-25"), words: "Nov 25, 2025: 54 mL".into() },
            Application { on: day("2026-11-25"), words: "Nov 25, 2026: <54 mL>".into() },
        ];
        let svg = drawn(&[], &ticks);
        let doc = roxmltree::Document::parse(&svg).expect("well-formed");
        let said: Vec<_> = doc
            .descendants()
            .filter(|n| n.attribute("class") == Some("application"))
            .map(|n| n.first_element_child().unwrap().text().unwrap())
            .collect();
        assert_eq!(said, ["Nov 25, 2025: 54 mL", "Nov 25, 2026: <54 mL>"]);
        assert!(svg.contains(r#"cx="0.00%""#) && svg.contains(r#"cx="50.00%""#));
    }

    #[test]
    fn hatching_points_at_its_own_picture() {
        let svg = drawn(&[span(SpanKind::Uptake, "2026-01-01", "2026-02-01")], &[]);
        assert!(svg.contains("fill=\"url(#pa1-hatch)\"") && svg.contains("id=\"pa1-hatch\""));
    }

    #[test]
    fn years_are_named_where_there_is_room() {
        let svg = drawn(&[], &[]);
        assert!(svg.contains(">2026</text>") && svg.contains(">2027</text>"));
        assert!(!svg.contains(">2025</text>"), "2025 has only five hundredths of the width");
        let (from, until) = around(day("2026-06-15"));
        let late = strip(&Strip {
            id: "b",
            title: "t",
            desc: "d",
            from,
            until,
            today: day("2026-06-15"),
            today_words: "today",
            spans: &[],
            applications: &[],
        });
        assert!(late.contains(r#"<text x="0" y="62">2025</text>"#));
    }

    #[test]
    fn the_window_holds_the_last_year_and_the_next() {
        assert_eq!(around(day("2026-11-25")), (day("2025-08-25"), day("2027-11-25")));
        assert_eq!(around(day("2028-02-29")), (day("2026-11-29"), day("2029-02-28")));
    }

    #[test]
    fn a_window_without_days_still_draws() {
        let at = day("2026-11-25");
        let svg = strip(&Strip {
            id: "b",
            title: "t",
            desc: "d",
            from: at,
            until: at,
            today: at,
            today_words: "today",
            spans: &[span(SpanKind::Protected, "2020-01-01", "2030-01-01")],
            applications: &[],
        });
        roxmltree::Document::parse(&svg).expect("well-formed");
    }
}
