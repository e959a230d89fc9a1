//! Pages of placed marks become the file's bytes.
use super::{
    Sheet, Tongue,
    font::{Fonts, Weight},
    layout::{Look, MARGIN, Mark, PAPER, Pages},
    tree::{Node, Tree},
};
use crate::output::{
    qr::{QUIET, Qr},
    sketch::{Anchor, Shape, Sketch},
};
use anyhow::{Context, anyhow};
use krilla::{
    Document, SerializeSettings,
    color::rgb,
    geom::{Path, PathBuilder, Point, Rect},
    metadata::Metadata,
    num::NormalizedF32,
    page::PageSettings,
    paint::{Fill, FillRule, Stroke, StrokeDash},
    surface::Surface,
    tagging::{Artifact, ArtifactType, ContentTag, SpanTag},
    text::TextDirection,
};

/// The whole file.
pub fn document(sheet: &Sheet, tongue: Tongue, fonts: &Fonts, pages: Pages) -> anyhow::Result<Vec<u8>> {
    let settings = SerializeSettings { enable_tagging: true, ..SerializeSettings::default() };
    let mut document = Document::new_with(settings);
    let mut tree = pages.tree;
    for marks in &pages.pages {
        let size = PageSettings::from_wh(PAPER.0, PAPER.1).context("a page without a size")?;
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        draw_page(&mut surface, fonts, marks, &mut tree);
        surface.finish();
        page.finish();
    }
    let metadata = Metadata::new()
        .title(sheet.title.clone())
        .language(tongue.tag.to_owned())
        .authors(vec![sheet.owner.clone()])
        .creator("Plantward".to_owned());
    document.set_metadata(metadata);
    document.set_tag_tree(tree.finish(tongue.tag));
    document.finish().map_err(|e| anyhow!("the sheet cannot be written: {e:?}"))
}

/// Marks that follow each other and belong together are tagged as one.
fn draw_page(surface: &mut Surface<'_>, fonts: &Fonts, marks: &[Mark], tree: &mut Tree) {
    for group in marks.chunk_by(|one, next| one.node == next.node) {
        let node: Option<Node> = group.first().and_then(|mark| mark.node);
        let tag = match node {
            Some(_) if group.iter().all(|m| matches!(m.look, Look::Text { .. })) => {
                ContentTag::Span(SpanTag::empty())
            }
            Some(_) => ContentTag::Other,
            None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Other)),
        };
        let drawn = surface.start_tagged(tag);
        for mark in group {
            draw(surface, fonts, mark);
        }
        surface.end_tagged();
        if let Some(node) = node {
            tree.mark(node, drawn);
        }
    }
}

fn draw(surface: &mut Surface<'_>, fonts: &Fonts, mark: &Mark) {
    match &mark.look {
        Look::Text { weight, size, words } => text(surface, fonts, *weight, *size, (mark.x, mark.y), words),
        Look::Rect { width, height, gray } => {
            let mut path = PathBuilder::new();
            if let Some(rect) = Rect::from_xywh(mark.x, mark.y, *width, *height) {
                path.push_rect(rect);
            }
            fill(surface, path.finish(), *gray);
        }
        Look::Code { qr, side } => code(surface, qr, (mark.x, mark.y), *side),
        Look::Sketch { sketch, scale } => {
            let pen = Pen { fonts, origin: (MARGIN, mark.y), scale: *scale };
            pen.sketch(surface, sketch);
        }
    }
}

fn paint(gray: u8) -> Fill {
    Fill {
        paint: rgb::Color::new(gray, gray, gray).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }
}

fn text(surface: &mut Surface<'_>, fonts: &Fonts, weight: Weight, size: f32, at: (f32, f32), words: &str) {
    if words.is_empty() {
        return;
    }
    surface.set_stroke(None);
    surface.set_fill(Some(paint(0)));
    let at = Point::from_xy(at.0, at.1);
    match fonts.glyphs(weight, words) {
        Some(glyphs) => surface.draw_glyphs(at, &glyphs, fonts.font(weight), words, size, false),
        None => surface.draw_text(at, fonts.font(weight), size, words, false, TextDirection::Auto),
    }
}

fn fill(surface: &mut Surface<'_>, path: Option<Path>, gray: u8) {
    let Some(path) = path else { return };
    surface.set_stroke(None);
    surface.set_fill(Some(paint(gray)));
    surface.draw_path(&path);
}

/// The quiet border is part of the side: nothing else is drawn there.
fn code(surface: &mut Surface<'_>, qr: &Qr, at: (f32, f32), side: f32) {
    #[expect(clippy::cast_precision_loss, reason = "a code has at most 177 squares a side")]
    let number = |n: usize| n as f32;
    let square = side / number(qr.side + QUIET);
    let mut path = PathBuilder::new();
    for (column, row, length) in qr.runs() {
        let x = at.0 + number(column) * square;
        let y = at.1 + number(row) * square;
        if let Some(rect) = Rect::from_xywh(x, y, number(length) * square, square) {
            path.push_rect(rect);
        }
    }
    fill(surface, path.finish(), 0);
}

/// Draws a sketch's shapes onto the page.
struct Pen<'a> {
    fonts: &'a Fonts,
    origin: (f32, f32),
    scale: f32,
}

impl Pen<'_> {
    fn at(&self, (x, y): (f32, f32)) -> (f32, f32) {
        (self.origin.0 + x * self.scale, self.origin.1 + y * self.scale)
    }

    fn sketch(&self, surface: &mut Surface<'_>, sketch: &Sketch) {
        for shape in &sketch.shapes {
            match shape {
                Shape::Line { points, width, dashed } => self.line(surface, points, *width, *dashed),
                Shape::Area { points, ink } => self.area(surface, points, *ink),
                Shape::Disc { at, radius } => self.disc(surface, *at, *radius),
                Shape::Text { at, size, anchor, strong, words } => {
                    let weight = if *strong { Weight::Strong } else { Weight::Plain };
                    let size = size * self.scale;
                    let wide = self.fonts.width(weight, size, words);
                    let (x, y) = self.at(*at);
                    let x = match anchor {
                        Anchor::Start => x,
                        Anchor::Middle => x - wide / 2.0,
                        Anchor::End => x - wide,
                    };
                    text(surface, self.fonts, weight, size, (x, y), words);
                }
            }
        }
    }

    fn path(&self, points: &[(f32, f32)], close: bool) -> Option<Path> {
        let mut path = PathBuilder::new();
        for (number, point) in points.iter().enumerate() {
            let (x, y) = self.at(*point);
            if number == 0 { path.move_to(x, y) } else { path.line_to(x, y) }
        }
        if close {
            path.close();
        }
        path.finish()
    }

    fn stroke(&self, width: f32, dashed: bool) -> Stroke {
        let dash =
            dashed.then(|| StrokeDash { array: vec![4.0 * self.scale, 3.0 * self.scale], offset: 0.0 });
        Stroke {
            paint: rgb::Color::new(0, 0, 0).into(),
            width: width * self.scale,
            dash,
            ..Stroke::default()
        }
    }

    fn line(&self, surface: &mut Surface<'_>, points: &[(f32, f32)], width: f32, dashed: bool) {
        let Some(path) = self.path(points, false) else { return };
        surface.set_fill(None);
        surface.set_stroke(Some(self.stroke(width, dashed)));
        surface.draw_path(&path);
    }

    fn area(&self, surface: &mut Surface<'_>, points: &[(f32, f32)], ink: bool) {
        let Some(path) = self.path(points, true) else { return };
        surface.set_fill(Some(paint(if ink { 0 } else { 255 })));
        surface.set_stroke(Some(self.stroke(1.2, false)));
        surface.draw_path(&path);
    }

    /// A disc as four curves; 0.5523 is the usual handle of a quarter circle.
    fn disc(&self, surface: &mut Surface<'_>, at: (f32, f32), radius: f32) {
        let ((x, y), r) = (self.at(at), radius * self.scale);
        let k = r * 0.5523;
        let mut path = PathBuilder::new();
        path.move_to(x + r, y);
        path.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
        path.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
        path.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
        path.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
        path.close();
        let Some(path) = path.finish() else { return };
        surface.set_fill(Some(paint(255)));
        surface.set_stroke(Some(self.stroke(1.5, false)));
        surface.draw_path(&path);
    }
}
