//! How long it takes from place to place: from the travel service where one is set, kept for some months, and
//! else, or while it does not answer, estimated from great circles.
use super::{Doer, Result};
use crate::{
    db::travel::{self, Leg, Spot},
    domain::route::travel::{Driving, Position},
    travel_service::Legs,
};
use chrono::Days;
use std::collections::HashMap;

/// Roads change: a kept leg is asked for anew after so long.
const DAYS_KEPT: u64 = 90;

/// All legs between some places, in their order.
#[derive(Debug, Clone, PartialEq)]
pub struct Matrix {
    pub minutes: Vec<Vec<f64>>,
    pub miles: Vec<Vec<f64>>,
    pub source: Source,
}

/// Where the figures come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// Great circles; no service is set.
    Estimate,
    /// The service, now or within the last months.
    Service,
    /// Great circles, because the service gave no answer: why.
    Instead(String),
}

impl Source {
    /// The source as a sentence for whoever reads the plan.
    #[must_use]
    pub fn words(&self) -> String {
        let estimate = "Travel is estimated from straight lines, 1.3 times as long and at 30 miles an hour.";
        match self {
            Self::Estimate => estimate.to_owned(),
            Self::Service => "Travel is what the travel service answered.".to_owned(),
            Self::Instead(why) => format!("The travel service gave no answer: {why}. {estimate}"),
        }
    }
}

/// All legs between these places, in degrees north and east. A service that fails is named in the source and
/// stops nothing.
///
/// # Errors
/// When the database does not answer.
pub async fn matrix(doer: &Doer, points: &[(f64, f64)]) -> Result<Matrix> {
    let Some(service) = &doer.travel else { return Ok(estimate(points, Source::Estimate)) };
    let spots: Vec<Spot> = points.iter().map(spot).collect();
    let mut unique = spots.clone();
    unique.sort_unstable();
    unique.dedup();
    let now = doer.clock.now();
    let kept = {
        let mut conn = doer.pool.acquire().await?;
        travel::between(&mut conn, &unique, now - Days::new(DAYS_KEPT)).await?
    };
    if let Some(matrix) = of_kept(&spots, &kept) {
        return Ok(matrix);
    }
    // Each place once, as the table holds it: the same question gives the same rows.
    let asked: Vec<(f64, f64)> = unique.iter().map(|s| (degrees(s.0), degrees(s.1))).collect();
    match service.legs(&asked).await {
        Ok(legs) => {
            let rows = rows(&unique, &legs);
            let mut tx = doer.pool.begin().await?;
            travel::keep(&mut tx, &rows, now).await?;
            tx.commit().await?;
            Ok(of_kept(&spots, &rows).unwrap_or_else(|| estimate(points, Source::Estimate)))
        }
        Err(trouble) => {
            tracing::warn!(%trouble, "travel is estimated");
            Ok(estimate(points, Source::Instead(trouble.to_string())))
        }
    }
}

fn estimate(points: &[(f64, f64)], source: Source) -> Matrix {
    let driving = Driving::default();
    let place = |&(latitude, longitude): &(f64, f64)| Position { latitude, longitude };
    let row = |from: &(f64, f64)| points.iter().map(|to| driving.miles(place(from), place(to))).collect();
    let miles: Vec<Vec<f64>> = points.iter().map(row).collect();
    let time = |row: &Vec<f64>| row.iter().map(|far| far / driving.miles_per_hour * 60.0).collect();
    Matrix { minutes: miles.iter().map(time).collect(), miles, source }
}

#[expect(clippy::cast_possible_truncation, reason = "a degree is at most 180 millions of them")]
fn spot(point: &(f64, f64)) -> Spot {
    let millionths = |degrees: f64| (degrees * 1e6).round() as i32;
    (millionths(point.0), millionths(point.1))
}

fn degrees(millionths: i32) -> f64 {
    f64::from(millionths) / 1e6
}

fn rows(spots: &[Spot], legs: &Legs) -> Vec<Leg> {
    let mut rows = vec![];
    for (from, (minutes, miles)) in spots.iter().zip(legs.minutes.iter().zip(&legs.miles)) {
        for (to, (minutes, miles)) in spots.iter().zip(minutes.iter().zip(miles)) {
            rows.push(Leg {
                from_latitude: from.0,
                from_longitude: from.1,
                to_latitude: to.0,
                to_longitude: to.1,
                minutes: *minutes,
                miles: *miles,
            });
        }
    }
    rows
}

/// The matrix, if every leg is known; from a place to itself always is.
fn of_kept(spots: &[Spot], kept: &[Leg]) -> Option<Matrix> {
    let known: HashMap<(Spot, Spot), (f64, f64)> = kept
        .iter()
        .map(|l| {
            let (from, to) = ((l.from_latitude, l.from_longitude), (l.to_latitude, l.to_longitude));
            ((from, to), (l.minutes, l.miles))
        })
        .collect();
    let leg = |from: &Spot, to: &Spot| {
        if from == to { Some((0.0, 0.0)) } else { known.get(&(*from, *to)).copied() }
    };
    let (mut minutes, mut miles) = (vec![], vec![]);
    for from in spots {
        let row: Option<Vec<(f64, f64)>> = spots.iter().map(|to| leg(from, to)).collect();
        let (time, way) = row?.into_iter().unzip();
        minutes.push(time);
        miles.push(way);
    }
    Some(Matrix { minutes, miles, source: Source::Service })
}
