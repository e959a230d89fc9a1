//! That a list of today begins with the list of an older head: the consistency proof of RFC 9162, section 2.1.4.

use super::{
    chain::hex,
    head::{Head, Part},
    merkle::{Hash, is_consistent},
};
use std::fmt::Write;

/// How it is checked, in the proof itself: whoever gets it has nothing else.
const HOW: &str = "\
How to check this with any program that computes SHA-256, for each of the two lists:
1. The older and the newer root must be those of the two heads that you hold.
2. Go through the hashes of the way as RFC 9162, section 2.1.4.2 says, with the older and the newer size: a node
   is the hash of one byte of value 1 and its two children. The result must be both roots.
3. A list that did not grow has no way: its two roots must be equal. An empty list is the beginning of every list.
Then nothing that stood under the older head was changed, removed or moved before the newer one was taken.
";

/// One list between two heads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Growth {
    /// `records` or `audit`.
    pub list: &'static str,
    /// Length and root under the older head.
    pub older: (u64, Hash),
    /// Length and root under the newer one.
    pub newer: (u64, Hash),
    /// The hashes of the proof; none where the list as it is now has no such places.
    pub way: Option<Vec<Hash>>,
}

impl Growth {
    /// Of these two parts, with this way.
    #[must_use]
    pub fn of(list: &'static str, older: &Part, newer: &Part, way: Option<Vec<Hash>>) -> Self {
        Self { list, older: (older.size, older.root), newer: (newer.size, newer.root), way }
    }

    /// Whether the newer list begins with the older one.
    #[must_use]
    pub fn holds(&self) -> bool {
        let ((first, first_root), (size, root)) = (self.older, self.newer);
        match &self.way {
            // Nothing was there that could have been changed. RFC 9162 leaves this case out.
            Some(_) if first == 0 => true,
            Some(way) => is_consistent(first, size, way, &first_root, &root),
            None => false,
        }
    }

    fn text(&self) -> String {
        let ((first, first_root), (size, root)) = (self.older, self.newer);
        let mut out = format!(
            "\nlist {}\nolder-size {first}\nolder-root {}\nnewer-size {size}\nnewer-root {}\n",
            self.list,
            hex(&first_root),
            hex(&root)
        );
        for hash in self.way.iter().flatten() {
            // Writing into a String cannot fail.
            let _ = writeln!(out, "way {}", hex(hash));
        }
        out
    }
}

/// The older of two heads, then the newer: by when they were taken, and in one second by how much they cover.
#[must_use]
pub fn in_order<'a>(one: &'a Head, other: &'a Head) -> (&'a Head, &'a Head) {
    let key = |head: &Head| (head.taken_at, head.audit.size, head.records.size);
    if key(one) <= key(other) { (one, other) } else { (other, one) }
}

/// The proof as a text: of whom, between which moments, and each list.
#[must_use]
pub fn text(company: &str, from: &str, to: &str, lists: &[Growth]) -> String {
    let company = company.replace(['\n', '\r'], " ");
    let parts: String = lists.iter().map(Growth::text).collect();
    format!("plantward-growth-1\n{company}\nolder head taken {from}\nnewer head taken {to}\n\n{HOW}{parts}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::merkle::{Roots, Tree, consistency, leaf};

    fn part(size: u64, changed: Option<u64>) -> Part {
        let mut tree = Tree::default();
        (0..size).for_each(|n| tree.push(entry(n, changed)));
        Part { size, root: tree.root(), last: [0; 32], marks: vec![] }
    }

    fn entry(n: u64, changed: Option<u64>) -> Hash {
        leaf(&if changed == Some(n) { n + 1_000_000 } else { n }.to_be_bytes())
    }

    fn way(first: u64, size: u64, changed: Option<u64>) -> Option<Vec<Hash>> {
        let mut roots = Roots::of(consistency(first, size));
        (0..size).for_each(|n| roots.push(entry(n, changed)));
        roots.roots()
    }

    #[test]
    fn what_only_grew_is_proved_and_what_was_changed_is_not() {
        for (first, size) in [(0, 0), (0, 5), (1, 1), (1, 9), (4, 8), (6, 7), (7, 7), (5, 64)] {
            let grown = |changed| {
                let (older, newer) = (part(first, None), part(size, changed));
                Growth::of("records", &older, &newer, way(first, size, changed)).holds()
            };
            assert!(grown(None), "{first} of {size}");
            for n in 0..first {
                assert!(!grown(Some(n)), "{first} of {size}, entry {n} is another one");
            }
        }
        let shorter = Growth::of("records", &part(5, None), &part(3, None), way(5, 3, None));
        assert!(!shorter.holds(), "a list that lost its end");
        assert!(!Growth::of("records", &part(2, None), &part(3, None), None).holds());
    }
}
