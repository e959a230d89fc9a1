//! What becomes of a message: when it is tried again, and when nobody tries any more.
use chrono::TimeDelta;

/// Where a message stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// It goes out when its time has come.
    Waiting,
    /// The receiving server took it.
    Sent,
    /// The receiving server refused it for good, or days passed in vain.
    Failed,
    /// It was taken and came back.
    Bounced,
    /// There is no address: it is to be printed.
    Letter,
    /// It was printed and posted.
    Posted,
    /// Its cause is gone, or it came too late to be true.
    Withdrawn,
}

impl Status {
    /// The status of that code; none is another's word.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Some(match code {
            "waiting" => Self::Waiting,
            "sent" => Self::Sent,
            "failed" => Self::Failed,
            "bounced" => Self::Bounced,
            "letter" => Self::Letter,
            "posted" => Self::Posted,
            "withdrawn" => Self::Withdrawn,
            _ => return None,
        })
    }

    /// The code used in the database.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Sent => "sent",
            Self::Failed => "failed",
            Self::Bounced => "bounced",
            Self::Letter => "letter",
            Self::Posted => "posted",
            Self::Withdrawn => "withdrawn",
        }
    }

    /// In plain words, as a state.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Waiting => "Waiting to go out",
            Self::Sent => "Sent",
            Self::Failed => "Could not be delivered",
            Self::Bounced => "Came back",
            Self::Letter => "To be posted as a letter",
            Self::Posted => "Posted as a letter",
            Self::Withdrawn => "Withdrawn",
        }
    }

    /// Whether the customer does not have it and somebody must do something.
    #[must_use]
    pub fn is_trouble(self) -> bool {
        matches!(self, Self::Failed | Self::Bounced)
    }

    /// Whether it can still be printed, posted or withdrawn.
    #[must_use]
    pub fn is_open(self) -> bool {
        matches!(self, Self::Waiting | Self::Letter | Self::Failed | Self::Bounced)
    }
}

/// What the receiving server said, as far as it matters here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// It took the message (a reply of the 200s).
    Taken(String),
    /// Not now (a reply of the 400s, RFC 5321, 4.2.1).
    Later(String),
    /// Never (a reply of the 500s).
    Never(String),
    /// Nothing about this message: no connection, no sign-in, cut off. It may have been taken or not.
    Unknown(String),
}

/// How long a message is tried before it counts as undeliverable, in days. RFC 5321, 4.5.4.1: the give-up time
/// "generally needs to be at least 4-5 days".
pub const DAYS_OF_TRYING: i64 = 5;
/// The longest pause between two tries, in minutes.
pub const LONGEST_PAUSE: i64 = 240;

/// The pause after so many tries in vain: a minute, doubled each time, four hours at most. Many short tries come
/// first, since greylisting and brief outages are the usual reasons (common practice, no published source).
#[must_use]
pub fn pause_after(tries: u32) -> TimeDelta {
    let minutes = 1_i64.checked_shl(tries.saturating_sub(1)).unwrap_or(LONGEST_PAUSE);
    TimeDelta::minutes(minutes.clamp(1, LONGEST_PAUSE))
}

/// What follows from an answer to the message's `tries`-th try, so long after it was written.
#[must_use]
pub fn next(answer: &Answer, tries: u32, age: TimeDelta) -> Next {
    match answer {
        Answer::Taken(_) => Next::Close(Status::Sent),
        Answer::Never(_) => Next::Close(Status::Failed),
        Answer::Later(_) | Answer::Unknown(_) if age >= TimeDelta::days(DAYS_OF_TRYING) => {
            Next::Close(Status::Failed)
        }
        Answer::Later(_) | Answer::Unknown(_) => Next::Again(pause_after(tries)),
    }
}

/// What happens to a message after a try.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    /// It is settled.
    Close(Status),
    /// It is tried again after this pause.
    Again(TimeDelta),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_double_and_end_at_four_hours() {
        let minutes: Vec<i64> = (0..12).map(|tries| pause_after(tries).num_minutes()).collect();
        assert_eq!(minutes, [1, 1, 2, 4, 8, 16, 32, 64, 128, 240, 240, 240]);
        assert_eq!(pause_after(u32::MAX).num_minutes(), 240);
    }

    #[test]
    fn only_a_refusal_for_good_or_five_days_end_the_trying() {
        let said = || "450 busy".to_owned();
        let day = TimeDelta::days(1);
        assert_eq!(next(&Answer::Taken(said()), 1, day), Next::Close(Status::Sent));
        assert_eq!(next(&Answer::Never(said()), 1, TimeDelta::zero()), Next::Close(Status::Failed));
        for answer in [Answer::Later(said()), Answer::Unknown(said())] {
            assert_eq!(next(&answer, 3, day), Next::Again(TimeDelta::minutes(4)));
            assert_eq!(next(&answer, 3, day * 5), Next::Close(Status::Failed));
        }
    }

    #[test]
    fn codes_are_read_back() {
        for code in ["waiting", "sent", "failed", "bounced", "letter", "posted", "withdrawn"] {
            assert_eq!(Status::from_code(code).unwrap().code(), code);
        }
        assert_eq!(Status::from_code("lost"), None);
    }
}
