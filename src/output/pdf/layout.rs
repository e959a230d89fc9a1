//! Where everything stands: blocks onto pages, rows under repeated heads, lines into cells.
use super::{
    Block, Cell, Column, Part, Sheet, Table, Tongue,
    font::{Fonts, Weight},
    tree::{Node, Role, Tree},
};
use crate::output::{qr::Qr, sketch::Sketch};

/// Letter paper and its margins, in points.
pub const PAPER: (f32, f32) = (612.0, 792.0);
pub const MARGIN: f32 = 45.0;
const TOP: f32 = 58.0;
const BOTTOM: f32 = PAPER.1 - 52.0;
const WIDTH: f32 = PAPER.0 - 2.0 * MARGIN;
const SIZE: f32 = 9.0;
const SMALL: f32 = 7.5;
/// From line to line, as a multiple of the size.
const LEADING: f32 = 1.3;
/// Between columns, and above and below a row.
const GAP: f32 = 8.0;
const PAD: f32 = 3.0;
/// A code is scanned from the paper at arm's length.
const CODE: f32 = 62.0;

/// Something drawn at a place of a page; what belongs to no node is the page's own.
pub struct Mark {
    pub x: f32,
    pub y: f32,
    pub look: Look,
    pub node: Option<Node>,
}

pub enum Look {
    /// The place is the start of the base line.
    Text {
        weight: Weight,
        size: f32,
        words: String,
    },
    /// Gray: 0 is black.
    Rect {
        width: f32,
        height: f32,
        gray: u8,
    },
    Code {
        qr: Qr,
        side: f32,
    },
    Sketch {
        sketch: Sketch,
        scale: f32,
    },
}

/// All pages and the document's structure.
pub struct Pages {
    pub pages: Vec<Vec<Mark>>,
    pub tree: Tree,
}

pub struct Layout<'a> {
    fonts: &'a Fonts,
    pages: Vec<Vec<Mark>>,
    tree: Tree,
    /// The upper edge of what comes next.
    y: f32,
}

/// A line of a cell: what it is and how high.
#[derive(Clone)]
enum Line {
    Text { weight: Weight, size: f32, words: String },
    Code(Qr),
}

impl Line {
    fn height(&self) -> f32 {
        match self {
            Self::Text { size, .. } => size * LEADING,
            Self::Code(_) => CODE,
        }
    }
}

fn height(lines: &[Line]) -> f32 {
    lines.iter().map(Line::height).sum()
}

impl<'a> Layout<'a> {
    pub fn new(fonts: &'a Fonts) -> Self {
        Self { fonts, pages: vec![vec![]], tree: Tree::default(), y: TOP }
    }

    pub fn of(mut self, sheet: &Sheet, tongue: Tongue) -> Pages {
        for (at, block) in sheet.blocks.iter().enumerate() {
            // A heading is never the last thing on a page.
            let follows = match sheet.blocks.get(at + 1) {
                Some(Block::Table(table)) => self.opening(table),
                _ => 60.0,
            };
            match block {
                Block::Title(words) => self.heading(words, 16.0, Role::Title, follows),
                Block::Heading(words) => self.heading(words, 11.5, Role::Heading, follows),
                Block::Words(parts) => self.words(parts),
                Block::Table(table) => self.table(table),
                Block::Sketch { sketch, words } => self.sketch(sketch, words),
                Block::NewPage => self.next_page(),
            }
        }
        let mut pages = Pages { pages: self.pages, tree: self.tree };
        frame(self.fonts, sheet, tongue, &mut pages.pages);
        pages
    }

    fn put(&mut self, x: f32, y: f32, look: Look, node: Option<Node>) {
        if let Some(page) = self.pages.last_mut() {
            page.push(Mark { x, y, look, node });
        }
    }

    fn next_page(&mut self) {
        if self.y > TOP {
            self.pages.push(vec![]);
            self.y = TOP;
        }
    }

    fn room(&self) -> f32 {
        BOTTOM - self.y
    }

    fn heading(&mut self, words: &str, size: f32, role: Role, follows: f32) {
        let lines = self.fonts.wrap(Weight::Strong, size, words, WIDTH);
        if self.room() < size * LEADING * 2.0 + follows {
            self.next_page();
        }
        if self.y > TOP {
            self.y += size * 0.9;
        }
        let node = self.tree.add(None, role);
        for words in lines {
            self.y += size;
            let look = Look::Text { weight: Weight::Strong, size, words };
            self.put(MARGIN, self.y, look, Some(node));
            self.y += size * 0.35;
        }
        self.y += size * 0.2;
    }

    fn words(&mut self, parts: &[Part]) {
        let node = self.tree.add(None, Role::Words);
        for line in self.lines(parts, WIDTH) {
            if self.room() < line.height() {
                self.next_page();
            }
            let y = self.y;
            self.line(&line, (MARGIN, y), WIDTH, false, Some(node));
            self.y += line.height();
        }
        self.y += 4.0;
    }

    fn sketch(&mut self, sketch: &Sketch, words: &str) {
        let scale = (WIDTH / sketch.width).min(1.0);
        if self.room() < sketch.height * scale {
            self.next_page();
        }
        let node = self.tree.add(None, Role::Picture(words.to_owned()));
        let y = self.y;
        self.put(MARGIN, y, Look::Sketch { sketch: sketch.clone(), scale }, Some(node));
        self.y += sketch.height * scale + 6.0;
    }

    fn lines(&self, parts: &[Part], width: f32) -> Vec<Line> {
        let mut lines = vec![];
        for part in parts {
            let (weight, size, words) = match part {
                Part::Plain(words) => (Weight::Plain, SIZE, words),
                Part::Strong(words) => (Weight::Strong, SIZE, words),
                Part::Small(words) => (Weight::Plain, SMALL, words),
                Part::Code(qr) => {
                    lines.push(Line::Code(qr.clone()));
                    continue;
                }
            };
            let wrapped = self.fonts.wrap(weight, size, words, width);
            lines.extend(wrapped.into_iter().map(|words| Line::Text { weight, size, words }));
        }
        lines
    }

    fn line(&mut self, line: &Line, at: (f32, f32), width: f32, right: bool, node: Option<Node>) {
        let (x, y) = at;
        match line {
            Line::Text { weight, size, words } => {
                let indent = if right { width - self.fonts.width(*weight, *size, words) } else { 0.0 };
                let look = Look::Text { weight: *weight, size: *size, words: words.clone() };
                self.put(x + indent, y + size, look, node);
            }
            Line::Code(qr) => self.put(x, y, Look::Code { qr: qr.clone(), side: CODE }, node),
        }
    }
}

/// A table while it is laid out.
struct Grid<'t> {
    columns: &'t [Column],
    /// Left edge and width of each column.
    edges: Vec<(f32, f32)>,
    heads: Vec<Vec<Line>>,
    node: Node,
}

impl Layout<'_> {
    fn table(&mut self, table: &Table) {
        if self.room() < self.opening(table) {
            self.next_page();
        }
        let node = self.tree.add(None, Role::Table);
        let grid = self.grid(table, node);
        self.head(&grid, true);
        for row in &table.rows {
            self.row(&grid, row);
        }
        self.y += 8.0;
    }

    fn grid<'t>(&self, table: &'t Table, node: Node) -> Grid<'t> {
        let edges = edges(&table.columns);
        let heads = table.columns.iter().zip(&edges).map(|(column, (_, width))| {
            let size = SMALL + 0.5;
            let wrapped = self.fonts.wrap(Weight::Strong, size, &column.title, *width);
            wrapped.into_iter().map(|words| Line::Text { weight: Weight::Strong, size, words }).collect()
        });
        Grid { columns: &table.columns, heads: heads.collect(), edges, node }
    }

    /// How much a table's head takes with as much of its first row as must stand under it: the whole row, or of one
    /// that is longer than half a page a third of a page.
    fn opening(&self, table: &Table) -> f32 {
        let grid = self.grid(table, Node::default());
        let whole = BOTTOM - TOP - head_height(&grid);
        let first = table.rows.first().map_or(0.0, |row| self.row_height(&grid, row));
        head_height(&grid) + if first <= whole / 2.0 { first } else { first.min(whole / 3.0) }
    }

    fn row_height(&self, grid: &Grid<'_>, row: &[Cell]) -> f32 {
        let cells = row.iter().zip(&grid.edges).map(|(cell, (_, width))| height(&self.lines(cell, *width)));
        cells.fold(0.0, f32::max) + 2.0 * PAD
    }

    /// The head; on later pages it is the page's own and read once only.
    fn head(&mut self, grid: &Grid<'_>, read: bool) {
        let (y, high) = (self.y, head_height(grid));
        self.put(MARGIN, y, Look::Rect { width: WIDTH, height: high, gray: 232 }, None);
        let row = read.then(|| self.tree.add(Some(grid.node), Role::Row));
        self.cells(grid, &grid.heads, row, &Role::HeadCell);
        self.y += high;
    }

    fn cells(&mut self, grid: &Grid<'_>, cells: &[Vec<Line>], row: Option<Node>, role: &Role) {
        for ((lines, (x, width)), column) in cells.iter().zip(&grid.edges).zip(grid.columns) {
            let node = row.map(|row| self.tree.add(Some(row), role.clone()));
            let mut y = self.y + PAD;
            for line in lines {
                self.line(line, (*x, y), *width, column.right, node);
                y += line.height();
            }
        }
    }

    /// A row of up to half a page stays together; a longer one begins where a third of a page is free and
    /// goes on under the next page's head.
    fn row(&mut self, grid: &Grid<'_>, row: &[Cell]) {
        let mut left: Vec<Vec<Line>> =
            row.iter().zip(&grid.edges).map(|(cell, (_, width))| self.lines(cell, *width)).collect();
        let whole = BOTTOM - TOP - head_height(grid);
        while left.iter().any(|lines| !lines.is_empty()) {
            let high = left.iter().map(|lines| height(lines)).fold(0.0, f32::max) + 2.0 * PAD;
            if high > self.room() && (high <= whole / 2.0 || self.room() < whole / 3.0) {
                self.next_page();
                self.head(grid, false);
            }
            let room = self.room() - 2.0 * PAD;
            let now: Vec<Vec<Line>> = left.iter_mut().map(|lines| take(lines, room)).collect();
            if now.iter().all(Vec::is_empty) {
                break; // a line higher than a page: there is none
            }
            let node = self.tree.add(Some(grid.node), Role::Row);
            self.cells(grid, &now, Some(node), &Role::Cell);
            self.y += now.iter().map(|lines| height(lines)).fold(0.0, f32::max) + 2.0 * PAD;
            let y = self.y;
            self.put(MARGIN, y, Look::Rect { width: WIDTH, height: 0.5, gray: 150 }, None);
        }
    }
}

/// Takes as many lines as fit.
fn take(lines: &mut Vec<Line>, room: f32) -> Vec<Line> {
    let mut used = 0.0;
    let fits = lines.iter().take_while(|line| {
        used += line.height();
        used <= room + 0.01
    });
    let count = fits.count();
    let rest = lines.split_off(count);
    std::mem::replace(lines, rest)
}

fn head_height(grid: &Grid<'_>) -> f32 {
    grid.heads.iter().map(|lines| height(lines)).fold(0.0, f32::max) + 2.0 * PAD
}

fn edges(columns: &[Column]) -> Vec<(f32, f32)> {
    let shares: f32 = columns.iter().map(|c| c.share).sum();
    let mut x = MARGIN + 2.0;
    let of = |column: &Column| {
        let width = (WIDTH - 4.0) * column.share / shares;
        let edge = (x, width - GAP);
        x += width;
        edge
    };
    columns.iter().map(of).collect()
}

/// Puts head and foot on every page.
fn frame(fonts: &Fonts, sheet: &Sheet, tongue: Tongue, pages: &mut [Vec<Mark>]) {
    let count = pages.len();
    for (number, page) in pages.iter_mut().enumerate() {
        let mut put = |x: f32, y: f32, weight: Weight, words: &str| {
            let look = Look::Text { weight, size: 8.0, words: words.to_owned() };
            page.push(Mark { x, y, look, node: None });
        };
        let right = |weight: Weight, words: &str| PAPER.0 - MARGIN - fonts.width(weight, 8.0, words);
        put(MARGIN, 36.0, Weight::Strong, &sheet.title);
        put(right(Weight::Plain, &sheet.owner), 36.0, Weight::Plain, &sheet.owner);
        let folio = (tongue.folio)(number + 1, count);
        put(MARGIN, PAPER.1 - 30.0, Weight::Plain, &sheet.foot);
        put(right(Weight::Plain, &folio), PAPER.1 - 30.0, Weight::Plain, &folio);
        for y in [42.0, PAPER.1 - 42.0] {
            let look = Look::Rect { width: WIDTH, height: 0.5, gray: 90 };
            page.push(Mark { x: MARGIN, y, look, node: None });
        }
    }
}
