//! How far it is from place to place where no service of roads answers: the great circle, stretched.

/// A road is so much longer than the straight line. Common practice, no published source.
pub const ROAD_FACTOR: f64 = 1.3;
/// Miles an hour, on the average of town and country. Common practice, no published source.
pub const MILES_AN_HOUR: f64 = 30.0;
/// Mean radius of the Earth in miles: 6,371.0088 km (IUGG).
const RADIUS_MILES: f64 = 3_958.761_3;

/// Miles between two places in degrees north and east, over the sphere (haversine).
#[must_use]
pub fn miles(from: (f64, f64), to: (f64, f64)) -> f64 {
    let (a, b) = (from.0.to_radians(), to.0.to_radians());
    let (up, across) = (((b - a) / 2.0).sin(), ((to.1 - from.1).to_radians() / 2.0).sin());
    let half = (up * up + a.cos() * b.cos() * across * across).clamp(0.0, 1.0);
    2.0 * RADIUS_MILES * half.sqrt().asin()
}

/// Miles of road and minutes of driving, estimated.
#[must_use]
pub fn drive(from: (f64, f64), to: (f64, f64)) -> (f64, f64) {
    let miles = ROAD_FACTOR * miles(from, to);
    (miles, miles / MILES_AN_HOUR * 60.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A degree of a meridian on that sphere: 6,371.0088 km x pi / 180 = 111.195 km = 69.0934 miles.
    #[test]
    fn a_degree_of_the_meridian_is_sixty_nine_miles() {
        assert!((miles((35.0, -120.6), (36.0, -120.6)) - 69.0934).abs() < 0.001);
        // Along a parallel it shrinks with the cosine: at 60 degrees to half.
        let ratio = miles((60.0, 0.0), (60.0, 0.1)) / miles((0.0, 0.0), (0.0, 0.1));
        assert!((ratio - 0.5).abs() < 1e-4, "{ratio}");
        assert!((miles((0.0, 179.5), (0.0, -179.5)) - 69.0934).abs() < 0.001, "over the date line");
    }

    #[test]
    fn there_and_back_are_alike_and_nowhere_is_nothing() {
        let (a, b) = ((35.48, -120.68), (35.41, -120.60));
        assert_eq!(drive(a, b), drive(b, a));
        assert_eq!(drive(a, a), (0.0, 0.0));
        let (miles, minutes) = drive(a, b);
        assert!((minutes - miles * 2.0).abs() < 1e-9, "thirty miles an hour");
    }
}
