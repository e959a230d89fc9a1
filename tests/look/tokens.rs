//! The colour tokens against the contrast that WCAG 2.2 asks for: relative luminance and contrast
//! ratio as defined there; 4.5 for text (1.4.3), 7 on field pages (1.4.6), 3 for edges (1.4.11).

use std::collections::HashMap;

const SHEET: &str = include_str!("../../static/app.css");

type Tokens = HashMap<&'static str, f64>;

/// Relative luminance of `#rgb` or `#rrggbb`.
fn luminance(colour: &str) -> f64 {
    let digits = colour.trim_start_matches('#');
    let step = digits.len() / 3;
    let channel = |at: usize| {
        let part = digits[at * step..(at + 1) * step].repeat(3 - step);
        let share = f64::from(u8::from_str_radix(&part, 16).expect("hexadecimal")) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(0) + 0.7152 * channel(1) + 0.0722 * channel(2)
}

fn contrast(a: f64, b: f64) -> f64 {
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// The token blocks in the order of the sheet, each with the luminance of its colours.
fn blocks() -> Vec<(&'static str, Tokens)> {
    let mut found = Vec::new();
    for (at, _) in SHEET.match_indices('{') {
        let body = &SHEET[at + 1..at + SHEET[at..].find('}').expect("closed")];
        let tokens: Tokens = body
            .split(';')
            .filter_map(|line| line.trim().strip_prefix("--")?.split_once(": #"))
            .map(|(name, colour)| (name, luminance(colour)))
            .collect();
        if !body.contains('{') && tokens.contains_key("ground") {
            let selector = SHEET[..at].trim_end().rsplit([' ', '\n']).next().expect("a selector");
            found.push((selector, tokens));
        }
    }
    found
}

#[test]
fn the_measure_itself_is_right() {
    // WCAG 2.2: black on white is 21 to 1. #767676 on white is the known border of 4.5.
    assert!((contrast(luminance("#000"), luminance("#ffffff")) - 21.0).abs() < 1e-9);
    let border = contrast(luminance("#767676"), luminance("#fff"));
    assert!(border > 4.5 && border < 4.6, "{border}");
}

#[test]
fn text_and_edges_have_contrast_in_every_version() {
    let blocks = blocks();
    let names: Vec<_> = blocks.iter().map(|(name, _)| *name).collect();
    assert_eq!(
        names,
        [":root", ":root", ".field", ".field", ".field"],
        "light, dark, field, field dark, print"
    );
    for (at, (name, token)) in blocks.iter().enumerate() {
        let text = if *name == ".field" { 7.0 } else { 4.5 };
        let pairs = [
            ("ink", "ground", text),
            ("ink", "raised", text),
            ("ink", "alarm-wash", text),
            ("soft", "ground", text),
            ("soft", "raised", text),
            ("accent", "ground", text),
            ("accent", "raised", text),
            ("on-accent", "accent", text),
            ("alarm", "ground", text),
            ("alarm", "raised", text),
            ("alarm", "alarm-wash", text),
            ("edge", "ground", 3.0),
            ("edge", "raised", 3.0),
        ];
        for (front, back, least) in pairs {
            let ratio = contrast(token[front], token[back]);
            assert!(ratio >= least, "block {at} {name}: {front} on {back} is {ratio:.2}, needs {least}");
        }
    }
}

#[test]
fn only_tokens_name_colours() {
    for (at, line) in SHEET.lines().enumerate() {
        let bare = line.split("--").next().expect("a first piece");
        let names_one = bare.contains("#") || ["rgb(", "hsl("].iter().any(|f| line.contains(f));
        assert!(!names_one, "line {} names a colour outside the tokens: {line}", at + 1);
    }
}
