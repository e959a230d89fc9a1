//! A technician's day as a sketch: north up, a scale in miles, the stops numbered in their order, the start
//! place as a square, straight lines from one to the next. It shows the order and the distances, not the roads.
//!
//! Degrees become places of the picture by an equirectangular projection: a degree of longitude is as long
//! as a degree of latitude times the cosine of the middle latitude, which is off by less than a thousandth
//! over the distances of a working day.

/// A place in degrees north and east.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub latitude: f64,
    pub longitude: f64,
}

/// A stop of the day: its number in the order, and where it is; none: nobody knows, and it is left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    pub number: usize,
    pub place: Option<Place>,
}

/// What the day looks like, in units of the picture, y downwards.
#[derive(Debug, Clone, PartialEq)]
pub struct Sketch {
    pub width: f32,
    pub height: f32,
    pub shapes: Vec<Shape>,
}

/// A mark of a sketch.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    Line {
        points: Vec<(f32, f32)>,
        width: f32,
        dashed: bool,
    },
    /// Filled with ink or with paper, and outlined.
    Area {
        points: Vec<(f32, f32)>,
        ink: bool,
    },
    /// Filled with paper, and outlined.
    Disc {
        at: (f32, f32),
        radius: f32,
    },
    Text {
        at: (f32, f32),
        size: f32,
        anchor: Anchor,
        strong: bool,
        words: String,
    },
}

/// Where a text stands to its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

const WIDTH: f32 = 520.0;
const HEIGHT: f32 = 340.0;
/// Room for the marks at the edge, and below for the scale.
const EDGE: f64 = 34.0;
const FOOT: f64 = 40.0;
const RADIUS: f32 = 10.0;
const SIZE: f32 = 11.0;
/// Miles in a degree of latitude: 69.0, of a sphere with the mean radius of 3,958.8 miles (IUGG).
const MILES_A_DEGREE: f64 = 3958.8 * std::f64::consts::PI / 180.0;

impl Sketch {
    /// The same sketch with its words as readers of another language read them.
    #[must_use]
    pub fn told(mut self, said: impl Fn(&str) -> String) -> Self {
        for shape in &mut self.shapes {
            if let Shape::Text { words, .. } = shape {
                *words = said(words);
            }
        }
        self
    }
}

/// Draws the day. Stops at one place share a mark that holds all their numbers.
#[must_use]
pub fn sketch(start: Option<Place>, stops: &[Stop]) -> Sketch {
    let known: Vec<Place> = start.into_iter().chain(stops.iter().filter_map(|s| s.place)).collect();
    let Some(view) = View::around(&known) else {
        let words = "No position is known.".to_owned();
        let at = (WIDTH / 2.0, 40.0);
        let text = Shape::Text { at, size: 12.0, anchor: Anchor::Middle, strong: false, words };
        return Sketch { width: WIDTH, height: 80.0, shapes: vec![text] };
    };
    let mut shapes = vec![];
    let way: Vec<(f32, f32)> = known.iter().map(|p| view.at(*p)).collect();
    if way.len() > 1 {
        shapes.push(Shape::Line { points: way.clone(), width: 1.6, dashed: false });
    }
    if let (Some(_), Some(first), Some(last), true) = (start, way.first(), way.last(), way.len() > 1) {
        shapes.push(Shape::Line { points: vec![*last, *first], width: 1.2, dashed: true });
    }
    if let Some(start) = start {
        shapes.extend(square(view.at(start)));
    }
    let mut marks = gathered(stops, &view);
    spread(&mut marks, start.map(|s| view.at(s)));
    for mark in &marks {
        mark.draw(&mut shapes);
    }
    shapes.extend(scale_bar(&view));
    shapes.extend(north());
    Sketch { width: WIDTH, height: HEIGHT, shapes }
}

/// How degrees become places.
struct View {
    west: f64,
    north: f64,
    /// Miles a degree of longitude at the middle latitude.
    across: f64,
    /// Units a mile.
    scale: f64,
    indent: (f64, f64),
}

impl View {
    fn around(places: &[Place]) -> Option<Self> {
        let sound = |p: &&Place| p.latitude.is_finite() && p.longitude.is_finite();
        let places: Vec<&Place> = places.iter().filter(sound).collect();
        let first = places.first()?;
        let (mut south, mut north) = (first.latitude, first.latitude);
        let (mut west, mut east) = (first.longitude, first.longitude);
        for place in &places {
            (south, north) = (south.min(place.latitude), north.max(place.latitude));
            (west, east) = (west.min(place.longitude), east.max(place.longitude));
        }
        let across = MILES_A_DEGREE * f64::midpoint(south, north).to_radians().cos().max(0.01);
        let (wide, high) = ((east - west) * across, (north - south) * MILES_A_DEGREE);
        let room = (f64::from(WIDTH) - 2.0 * EDGE, f64::from(HEIGHT) - 2.0 * EDGE - FOOT);
        // A single stop is drawn as if a quarter mile lay around it.
        let scale = (room.0 / wide.max(0.25)).min(room.1 / high.max(0.25));
        let indent = (EDGE + (room.0 - wide * scale) / 2.0, EDGE + (room.1 - high * scale) / 2.0);
        Some(Self { west, north, across, scale, indent })
    }

    fn at(&self, place: Place) -> (f32, f32) {
        let x = self.indent.0 + (place.longitude - self.west) * self.across * self.scale;
        let y = self.indent.1 + (self.north - place.latitude) * MILES_A_DEGREE * self.scale;
        #[expect(clippy::cast_possible_truncation, reason = "places of a picture of some hundred units")]
        let at = (x as f32, y as f32);
        at
    }
}

/// A mark of one or several stops, drawn at `at` and, if it had to give way, tied to its `place`.
#[derive(Debug, Clone)]
struct Mark {
    place: (f32, f32),
    at: (f32, f32),
    numbers: Vec<usize>,
}

/// Stops within a mark's breadth of each other on the ground are one mark.
fn gathered(stops: &[Stop], view: &View) -> Vec<Mark> {
    let mut marks: Vec<Mark> = vec![];
    for stop in stops {
        let Some(place) = stop.place.map(|p| view.at(p)) else { continue };
        match marks.iter_mut().find(|m| distance(m.place, place) < 2.0) {
            Some(mark) => mark.numbers.push(stop.number),
            None => marks.push(Mark { place, at: place, numbers: vec![stop.number] }),
        }
    }
    marks
}

/// Marks that would cover each other or the start move off their places until they are apart.
fn spread(marks: &mut [Mark], start: Option<(f32, f32)>) {
    for number in 0..marks.len() {
        let (before, rest) = marks.split_at_mut(number);
        let Some(mark) = rest.first_mut() else { continue };
        let free = |at: (f32, f32)| {
            let inside = at.0 > RADIUS && at.0 < WIDTH - RADIUS && at.1 > RADIUS && at.1 < HEIGHT - 46.0;
            let wide = mark.half();
            let apart = before.iter().all(|other| {
                (other.at.0 - at.0).abs() > wide + other.half() + 1.0
                    || (other.at.1 - at.1).abs() > 2.0 * RADIUS + 1.0
            });
            inside && apart && start.is_none_or(|s| distance(s, at) > RADIUS + 12.0)
        };
        // Rings around the place, each direction once, the nearest free one.
        let rings = (0_u8..14).flat_map(|ring| (0_u8..16).map(move |turn| (ring, turn)));
        let tried = rings.map(|(ring, turn)| {
            let (far, angle) = (f32::from(ring) * 8.0, f32::from(turn) * std::f32::consts::TAU / 16.0);
            (mark.place.0 + far * angle.cos(), mark.place.1 + far * angle.sin())
        });
        let found = tried.into_iter().find(|at| free(*at));
        if let Some(at) = found {
            mark.at = at;
        }
    }
}

fn distance(a: (f32, f32), b: (f32, f32)) -> f32 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

impl Mark {
    fn words(&self) -> String {
        self.numbers.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
    }

    /// Half the mark's breadth: a disc for one number, a box for several.
    fn half(&self) -> f32 {
        let letters = f32::from(u16::try_from(self.words().len()).unwrap_or(u16::MAX));
        if self.numbers.len() == 1 { RADIUS } else { letters * SIZE * 0.31 + 5.0 }
    }

    fn draw(&self, shapes: &mut Vec<Shape>) {
        let (x, y) = self.at;
        if distance(self.at, self.place) > 1.0 {
            shapes.push(Shape::Line { points: vec![self.place, self.at], width: 0.8, dashed: false });
            shapes.push(Shape::Area { points: corners(self.place, 1.5, 1.5), ink: true });
        }
        if self.numbers.len() == 1 {
            shapes.push(Shape::Disc { at: self.at, radius: RADIUS });
        } else {
            shapes.push(Shape::Area { points: corners(self.at, self.half(), RADIUS), ink: false });
        }
        let at = (x, y + SIZE * 0.36);
        shapes.push(Shape::Text {
            at,
            size: SIZE,
            anchor: Anchor::Middle,
            strong: true,
            words: self.words(),
        });
    }
}

fn corners((x, y): (f32, f32), wide: f32, high: f32) -> Vec<(f32, f32)> {
    vec![(x - wide, y - high), (x + wide, y - high), (x + wide, y + high), (x - wide, y + high)]
}

fn square(at: (f32, f32)) -> [Shape; 1] {
    [Shape::Area { points: corners(at, 6.0, 6.0), ink: true }]
}

/// A length of 1, 2 or 5 times a power of ten that takes up to a third of the width.
fn scale_bar(view: &View) -> [Shape; 2] {
    let most = f64::from(WIDTH) / 3.0 / view.scale;
    let power = 10_f64.powf(most.log10().floor());
    let miles = [5.0, 2.0, 1.0].into_iter().map(|m| m * power).find(|m| *m <= most).unwrap_or(power);
    #[expect(clippy::cast_possible_truncation, reason = "at most a third of the width")]
    let long = (miles * view.scale) as f32;
    let (x, y) = (14.0, HEIGHT - 14.0);
    let points = vec![(x, y - 5.0), (x, y), (x + long, y), (x + long, y - 5.0)];
    let unit = if (miles - 1.0).abs() < 1e-9 { "mile" } else { "miles" };
    let words = format!("{} {unit}", (miles * 1e6).round() / 1e6);
    [
        Shape::Line { points, width: 1.4, dashed: false },
        Shape::Text { at: (x + long + 6.0, y), size: SIZE, anchor: Anchor::Start, strong: false, words },
    ]
}

fn north() -> [Shape; 2] {
    let (x, y) = (WIDTH - 18.0, HEIGHT - 12.0);
    let arrow = vec![(x, y - 28.0), (x + 5.0, y - 12.0), (x, y - 15.0), (x - 5.0, y - 12.0)];
    let words = "N".to_owned();
    [
        Shape::Area { points: arrow, ink: true },
        Shape::Text { at: (x, y), size: SIZE, anchor: Anchor::Middle, strong: true, words },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(latitude: f64, longitude: f64) -> Place {
        Place { latitude, longitude }
    }

    fn stop(number: usize, latitude: f64, longitude: f64) -> Stop {
        Stop { number, place: Some(place(latitude, longitude)) }
    }

    fn way(sketch: &Sketch) -> Vec<(f32, f32)> {
        let first = sketch.shapes.iter().find_map(|s| match s {
            Shape::Line { points, dashed: false, .. } => Some(points.clone()),
            _ => None,
        });
        first.expect("a way")
    }

    fn bar(sketch: &Sketch) -> (f64, f32) {
        let words = sketch.shapes.iter().find_map(|s| match s {
            Shape::Text { words, .. } if words.contains("mile") => Some(words.clone()),
            _ => None,
        });
        let miles: f64 = words.expect("a scale").split(' ').next().unwrap().parse().unwrap();
        let long = sketch.shapes.iter().rev().find_map(|s| match s {
            Shape::Line { points, .. } if points.len() == 4 => Some(points[2].0 - points[1].0),
            _ => None,
        });
        (miles, long.unwrap())
    }

    /// The haversine distance on the sphere of mean radius, as navigation tables have it.
    fn haversine(a: Place, b: Place) -> f64 {
        let (la, lb) = (a.latitude.to_radians(), b.latitude.to_radians());
        let (dla, dlo) = (lb - la, (b.longitude - a.longitude).to_radians());
        let h = (dla / 2.0).sin().powi(2) + la.cos() * lb.cos() * (dlo / 2.0).sin().powi(2);
        2.0 * 3958.8 * h.sqrt().asin()
    }

    #[test]
    fn north_is_up_and_the_scale_measures_great_circles() {
        let (a, b, c) = (place(35.40, -120.75), place(35.52, -120.55), place(35.30, -120.60));
        let drawn = sketch(Some(a), &[stop(1, b.latitude, b.longitude), stop(2, c.latitude, c.longitude)]);
        let points = way(&drawn);
        assert!(points[1].1 < points[0].1 && points[1].0 > points[0].0, "north-east is up and right");
        assert!(points[2].1 > points[0].1, "south is down");
        let (miles, long) = bar(&drawn);
        for (i, j, from, to) in [(0, 1, a, b), (1, 2, b, c), (0, 2, a, c)] {
            let drawn_miles = f64::from(distance(points[i], points[j]) / long) * miles;
            let true_miles = haversine(from, to);
            assert!((drawn_miles / true_miles - 1.0).abs() < 0.003, "{drawn_miles} for {true_miles}");
        }
    }

    fn texts(sketch: &Sketch) -> Vec<((f32, f32), String)> {
        let all = sketch.shapes.iter().filter_map(|s| match s {
            Shape::Text { at, words, strong: true, .. } if words != "N" => Some((*at, words.clone())),
            _ => None,
        });
        all.collect()
    }

    #[test]
    fn numbers_never_cover_each_other() {
        let near: Vec<Stop> = (1..=40)
            .map(|n| {
                let far = f64::from(u32::try_from(n).unwrap());
                stop(n, 35.48 + 0.0004 * (far * 1.3).sin(), -120.68 + 0.0004 * far.cos())
            })
            .chain([stop(41, 35.60, -120.50)])
            .collect();
        let drawn = sketch(Some(place(35.48, -120.68)), &near);
        let texts = texts(&drawn);
        assert_eq!(texts.iter().map(|(_, w)| w.split(", ").count()).sum::<usize>(), 41, "each is there");
        for (i, (a, _)) in texts.iter().enumerate() {
            for (b, words) in &texts[i + 1..] {
                assert!((a.0 - b.0).abs() > 14.0 || (a.1 - b.1).abs() > 14.0, "{words} at {b:?} and {a:?}");
            }
        }
    }

    #[test]
    fn stops_at_one_place_share_a_mark() {
        let drawn = sketch(None, &[stop(1, 35.4, -120.6), stop(2, 35.5, -120.6), stop(3, 35.4, -120.6)]);
        let words: Vec<String> = texts(&drawn).into_iter().map(|(_, w)| w).collect();
        assert_eq!(words, ["1, 3", "2"]);
    }

    #[test]
    fn unknown_places_are_left_out() {
        let lost = Stop { number: 2, place: None };
        assert_eq!(texts(&sketch(None, &[stop(1, 35.4, -120.6), lost.clone()])).len(), 1);
        assert!(format!("{:?}", sketch(None, &[lost])).contains("No position is known."));
        let odd = sketch(None, &[stop(1, f64::NAN, 0.0)]);
        assert!(!format!("{odd:?}").contains("NaN"));
    }
}
