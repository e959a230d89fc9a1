//! The roads between all places of a plan, asked for once and used by every question about it.
use crate::{
    actions::{
        Doer, Result,
        travel::{self, Source},
    },
    domain::route::MAX_TRAVEL,
};

/// A place in degrees north and east.
pub type Position = (f64, f64);

/// Travel between the places of a plan, there and back.
#[derive(Debug, Clone, PartialEq)]
pub struct Roads {
    places: Vec<Position>,
    seconds: Vec<Vec<i64>>,
    miles: Vec<Vec<f64>>,
    /// Where the figures come from.
    pub source: Source,
}

impl Roads {
    /// Every leg between these places.
    ///
    /// # Errors
    /// When the database does not answer; a travel service that fails is named in the source.
    pub async fn between(doer: &Doer, mut places: Vec<Position>) -> Result<Self> {
        places.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        places.dedup();
        let found = travel::matrix(doer, &places).await?;
        let seconds = found.minutes.iter().map(|row| row.iter().map(|m| seconds(*m)).collect()).collect();
        Ok(Self { places, seconds, miles: found.miles, source: found.source })
    }

    /// The number of a place; one that nobody knows is where the first one is.
    pub fn number(&self, place: Position) -> usize {
        self.places.iter().position(|known| *known == place).unwrap_or(0)
    }

    /// Seconds and miles from one place to another, by their numbers.
    pub fn leg(&self, from: usize, to: usize) -> (i64, f64) {
        let seconds = self.seconds.get(from).and_then(|row| row.get(to)).copied();
        let miles = self.miles.get(from).and_then(|row| row.get(to)).copied();
        (seconds.unwrap_or(0), miles.unwrap_or(0.0))
    }
}

#[expect(clippy::cast_possible_truncation, reason = "kept within what the planner takes")]
#[expect(clippy::cast_precision_loss, reason = "the longest travel is far below two to the 52nd")]
fn seconds(minutes: f64) -> i64 {
    (minutes * 60.0).round().clamp(0.0, MAX_TRAVEL as f64) as i64
}
