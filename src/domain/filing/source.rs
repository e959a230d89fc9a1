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

/// The grounds of California's monthly summary.
pub const CALIFORNIA: [Ground; 6] = [
    Ground {
        words: "One summary for each county and month, to the county agricultural commissioner, by the 10th of the \
            following month; the postmark counts.",
        source: "3 CCR 6627, as the state's licensing manual gives it",
        mark: Mark::PartChecked,
    },
    Ground {
        words: "It is owed in every county of registration also when no work was done.",
        source: "3 CCR 6627, as the state's licensing manual gives it",
        mark: Mark::PartChecked,
    },
    Ground {
        words: "It names the business and its address, county, month, product, registration number and amount, and \
            the site unless a use code stands for it.",
        source: "3 CCR 6627, as the state's licensing manual gives it",
        mark: Mark::PartChecked,
    },
    Ground {
        words: "Use code 30 stands for landscape maintenance.",
        source: "3 CCR 6627, form PR-ENF-060, from memory",
        mark: Mark::Unverified,
    },
    Ground {
        words: "Units LB, OZ, PT, QT and GA, and the number of applications for landscape work.",
        source: "form PR-ENF-060, from memory",
        mark: Mark::Unverified,
    },
    Ground { words: "What each application record must hold.", source: "3 CCR 6624(b)", mark: Mark::Checked },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_from_memory_is_never_marked_as_read() {
        for ground in CALIFORNIA {
            let remembered = ground.source.contains("memory");
            assert_eq!(remembered, ground.mark == Mark::Unverified, "{}", ground.words);
        }
    }
}
