//! What a report rests on: each statement with its source and how far it was checked.

use crate::domain::permission::Mark;

/// One statement about a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ground {
    /// What is said.
    pub words: &'static str,
    /// Where that is written.
    pub source: &'static str,
    /// How far it was checked.
    pub mark: Mark,
}

impl Ground {
    /// A statement that was read.
    pub const fn read(words: &'static str, source: &'static str) -> Self {
        Self { words, source, mark: Mark::Checked }
    }

    /// One that was read in part or in somebody's summary.
    pub const fn partly(words: &'static str, source: &'static str) -> Self {
        Self { words, source, mark: Mark::PartChecked }
    }

    /// One that nobody has read; its source says that it is from memory.
    pub const fn remembered(words: &'static str, source: &'static str) -> Self {
        Self { words, source, mark: Mark::Unverified }
    }
}
