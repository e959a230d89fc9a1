//! Why a write did not happen.

/// What a verb answers instead of its result.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The rules refuse it; the words say why and what to do, and name the form's field if there is one.
    #[error("{words}")]
    Refused { field: Option<&'static str>, words: String },
    /// What it was about is not there, or not any more.
    #[error("not found")]
    NotFound,
    /// The database failed.
    #[error(transparent)]
    Database(#[from] sqlx::Error),
    /// Something else of ours failed.
    #[error(transparent)]
    Internal(#[from] anyhow::Error),
}

impl Error {
    /// A refusal as a whole.
    pub fn refused(words: impl Into<String>) -> Self {
        Self::Refused { field: None, words: words.into() }
    }
    /// Somebody else changed it between the reading and the writing.
    #[must_use]
    pub fn meanwhile() -> Self {
        Self::refused("Somebody else changed this meanwhile. Look at it again.")
    }
    /// A new record's name is taken by a record that says something else.
    #[must_use]
    pub fn entered() -> Self {
        Self::field(ENTERED, "This is already entered, and says something else than this form.")
    }
    /// A refusal that belongs to one field of the form.
    pub fn field(field: &'static str, words: impl Into<String>) -> Self {
        Self::Refused { field: Some(field), words: words.into() }
    }
}

/// The field of a new record's name.
pub const ENTERED: &str = "id";

pub type Result<T, E = Error> = std::result::Result<T, E>;
