//! The client of a service that knows the roads: one question for all legs between some places.
//!
//! The question is a POST of `{"points": [[latitude, longitude], …]}`, the answer
//! `{"minutes": [[…], …], "miles": [[…], …]}`: row by row from each place to each, as many rows and columns as
//! places. What does not fit that is no answer.
use serde::{Deserialize, Serialize};
use std::time::Duration;

/// An answer is read up to so many bytes: two thousand places need some sixty millions.
const LARGEST: usize = 96 * 1024 * 1024;
/// Nobody drives longer within a working week.
const LONGEST_MINUTES: f64 = 7.0 * 24.0 * 60.0;
/// Half way around the Earth.
const FARTHEST_MILES: f64 = 12_500.0;

/// A service at its address. Copies share their connections.
#[derive(Debug, Clone)]
pub struct Service {
    client: reqwest::Client,
    url: String,
}

/// All legs between the places of a question, in its order.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Legs {
    pub minutes: Vec<Vec<f64>>,
    pub miles: Vec<Vec<f64>>,
}

#[derive(Serialize)]
struct Question<'a> {
    points: &'a [(f64, f64)],
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    #[error("it did not answer in time")]
    Slow,
    #[error("it cannot be reached")]
    Unreachable,
    #[error("it answered with status {0}")]
    Status(u16),
    #[error("it answered something that cannot be read")]
    Unreadable,
    #[error("its answer has other rows or columns than there are places")]
    Size,
    #[error("its answer holds a time or a distance that cannot be")]
    Figure,
}

impl Trouble {
    /// Whether the same question may be answered a moment later.
    fn may_pass(&self) -> bool {
        match self {
            Self::Slow | Self::Unreachable => true,
            Self::Status(code) => *code >= 500 || *code == 429,
            Self::Unreadable | Self::Size | Self::Figure => false,
        }
    }
}

impl Service {
    /// The service at this address; a question waits at most so long for its answer.
    ///
    /// # Errors
    /// When the machine lacks what https needs.
    pub fn new(url: &str, patience: Duration) -> anyhow::Result<Self> {
        let client = reqwest::Client::builder()
            .timeout(patience)
            .connect_timeout(patience)
            .redirect(reqwest::redirect::Policy::none())
            .user_agent("plantward")
            .build()?;
        Ok(Self { client, url: url.to_owned() })
    }

    /// Asks for all legs between these places, once more where the first time may have been bad luck.
    ///
    /// # Errors
    /// [`Trouble`].
    pub async fn legs(&self, points: &[(f64, f64)]) -> Result<Legs, Trouble> {
        match self.ask(points).await {
            Err(trouble) if trouble.may_pass() => {
                tracing::warn!(%trouble, "the travel service is asked once more");
                self.ask(points).await
            }
            answer => answer,
        }
    }

    async fn ask(&self, points: &[(f64, f64)]) -> Result<Legs, Trouble> {
        let sent = self.client.post(&self.url).json(&Question { points }).send().await;
        let mut answer = sent.map_err(|e| transport(&e))?;
        if !answer.status().is_success() {
            return Err(Trouble::Status(answer.status().as_u16()));
        }
        let mut body = vec![];
        while let Some(piece) = answer.chunk().await.map_err(|e| transport(&e))? {
            if body.len() + piece.len() > LARGEST {
                return Err(Trouble::Unreadable);
            }
            body.extend_from_slice(&piece);
        }
        let legs: Legs = serde_json::from_slice(&body).map_err(|_| Trouble::Unreadable)?;
        checked(legs, points.len())
    }
}

fn transport(error: &reqwest::Error) -> Trouble {
    if error.is_timeout() { Trouble::Slow } else { Trouble::Unreachable }
}

fn checked(mut legs: Legs, places: usize) -> Result<Legs, Trouble> {
    for (table, most) in [(&mut legs.minutes, LONGEST_MINUTES), (&mut legs.miles, FARTHEST_MILES)] {
        if table.len() != places || table.iter().any(|row| row.len() != places) {
            return Err(Trouble::Size);
        }
        if table.iter().flatten().any(|figure| !(0.0..=most).contains(figure)) {
            return Err(Trouble::Figure);
        }
        // From a place to itself nobody drives, whatever the service says.
        table.iter_mut().enumerate().for_each(|(at, row)| {
            if let Some(figure) = row.get_mut(at) {
                *figure = 0.0;
            }
        });
    }
    Ok(legs)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_fits_its_question_or_is_none() {
        let read = |text: &str, places| {
            serde_json::from_str::<Legs>(text)
                .map_err(|_| Trouble::Unreadable)
                .and_then(|l| checked(l, places))
        };
        let good = r#"{"minutes": [[0.5, 7], [8, 0]], "miles": [[0, 3.5], [4, 0]]}"#;
        assert_eq!(read(good, 2).unwrap().minutes, [[0.0, 7.0], [8.0, 0.0]]);
        assert!(matches!(read(good, 3), Err(Trouble::Size)));
        let ragged = r#"{"minutes": [[0, 7], [8]], "miles": [[0, 3], [4, 0]]}"#;
        assert!(matches!(read(ragged, 2), Err(Trouble::Size)));
        for bad in ["-1", "1e9", "1e400", "null"] {
            let text = format!(r#"{{"minutes": [[0, {bad}], [8, 0]], "miles": [[0, 3], [4, 0]]}}"#);
            assert!(read(&text, 2).is_err(), "{bad}");
        }
    }
}
