//! Travel between coordinates where no road times are known: the great circle,
//! made longer and driven at one speed.
//!
//! Road factor and speed are common practice, no published source; a company
//! sets its own.

/// Mean radius of the earth in kilometres (IUGG mean radius R1, Moritz, "Geodetic Reference System
/// 1980", Journal of Geodesy 74, 2000).
pub const EARTH_RADIUS_KM: f64 = 6371.0088;
/// Kilometres in a mile (international mile, exact).
pub const KM_PER_MILE: f64 = 1.609_344;

/// A place on earth, in degrees (WGS 84).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Degrees north, -90 to 90.
    pub latitude: f64,
    /// Degrees east, -180 to 180.
    pub longitude: f64,
}

/// How roads are guessed from straight lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Driving {
    /// Miles by road for each mile of the great circle.
    pub road_factor: f64,
    /// Average speed in miles per hour.
    pub miles_per_hour: f64,
}

impl Default for Driving {
    /// 1.3 miles by road for one straight, 30 miles per hour (common practice, no published source).
    fn default() -> Self {
        Self { road_factor: 1.3, miles_per_hour: 30.0 }
    }
}

/// Great-circle distance in miles, by the haversine formula. The earth is taken as a ball, which is
/// right to about half a percent.
pub fn great_circle_miles(from: Position, to: Position) -> f64 {
    let (north_a, north_b) = (from.latitude.to_radians(), to.latitude.to_radians());
    let half_north = (north_b - north_a) / 2.0;
    let half_east = (to.longitude - from.longitude).to_radians() / 2.0;
    let haversine = half_north.sin().powi(2) + north_a.cos() * north_b.cos() * half_east.sin().powi(2);
    2.0 * EARTH_RADIUS_KM * haversine.clamp(0.0, 1.0).sqrt().asin() / KM_PER_MILE
}

impl Driving {
    /// Miles by road between two places.
    pub fn miles(&self, from: Position, to: Position) -> f64 {
        great_circle_miles(from, to) * self.road_factor
    }

    /// Minutes by road between two places, rounded up.
    pub fn minutes(&self, from: Position, to: Position) -> i64 {
        (self.miles(from, to) / self.miles_per_hour * 60.0).ceil() as i64
    }

    /// Minutes between all of these places, row by row.
    pub fn minutes_between(&self, places: &[Position]) -> Vec<Vec<i64>> {
        let row = |from: &Position| places.iter().map(|to| self.minutes(*from, *to)).collect();
        places.iter().map(row).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(latitude: f64, longitude: f64) -> Position {
        Position { latitude, longitude }
    }

    #[test]
    fn a_quarter_of_a_meridian_is_a_quarter_of_the_ball() {
        // By definition of the great circle: a quarter of the circumference.
        let quarter = std::f64::consts::FRAC_PI_2 * EARTH_RADIUS_KM / KM_PER_MILE;
        for (from, to) in [(at(0.0, 10.0), at(90.0, 10.0)), (at(0.0, 170.0), at(0.0, -100.0))] {
            assert!((great_circle_miles(from, to) - quarter).abs() < 1e-9);
        }
        assert!((great_circle_miles(at(0.0, 0.0), at(0.0, 180.0)) - 2.0 * quarter).abs() < 1e-6);
    }

    #[test]
    fn a_published_geodesic_is_met_within_the_error_of_a_ball() {
        // Geodesics on the WGS 84 ellipsoid in metres, by geographiclib 2.1 (C. F. F. Karney). The first
        // is the example of its documentation, Wellington to Salamanca.
        let published = [
            (at(-41.32, 174.81), at(40.96, -5.50), 19_959_679.267),
            (at(35.28, -120.66), at(34.05, -118.24), 260_409.091),
        ];
        for (from, to, metres) in published {
            let (miles, published) = (great_circle_miles(from, to), metres / 1000.0 / KM_PER_MILE);
            assert!((miles / published - 1.0).abs() < 0.005, "{miles} against {published}");
        }
    }

    #[test]
    fn half_a_degree_along_a_parallel_is_driven_in_the_time_that_factor_and_speed_say() {
        let (from, to) = (at(35.0, -120.5), at(35.0, -120.0));
        // One degree of the great circle is 69.09 miles; along a short piece of the 35th parallel it
        // is that times the cosine of 35 degrees.
        let straight = 0.5 * EARTH_RADIUS_KM.to_radians() / KM_PER_MILE * 35_f64.to_radians().cos();
        assert!((great_circle_miles(from, to) - straight).abs() < 0.01);
        let driving = Driving { road_factor: 1.5, miles_per_hour: 45.0 };
        assert!((driving.miles(from, to) - 1.5 * straight).abs() < 0.02);
        assert_eq!(driving.minutes(from, to), (straight * 1.5 / 45.0 * 60.0).ceil() as i64);
        assert_eq!(driving.minutes(from, from), 0);
        let between = driving.minutes_between(&[from, to]);
        assert_eq!(between[0][1], between[1][0]);
    }
}
