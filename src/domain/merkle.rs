//! A Merkle tree over a list that only grows, hashed as RFC 9162 (section 2.1) says.
//!
//! A leaf is SHA-256 over a zero byte and the entry, a node SHA-256 over a one byte and its two children. With
//! the root of the whole a short proof shows that an entry stands at its place (inclusion), or that a longer
//! list begins with a shorter one (consistency).

use sha2::{Digest, Sha256};
use std::ops::Range;

/// SHA-256.
pub type Hash = [u8; 32];

/// The hash of an entry.
#[must_use]
pub fn leaf(entry: &[u8]) -> Hash {
    Sha256::new().chain_update([0]).chain_update(entry).finalize().into()
}

/// The hash of two neighbours.
#[must_use]
pub fn node(left: &Hash, right: &Hash) -> Hash {
    Sha256::new().chain_update([1]).chain_update(left).chain_update(right).finalize().into()
}

/// The tree of the entries so far. It holds no more than one hash for each bit of its size.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tree {
    size: u64,
    /// Roots of the full subtrees, the largest first: one for each bit of the size that is set.
    peaks: Vec<Hash>,
}

impl Tree {
    /// Adds the hash of the next entry.
    pub fn push(&mut self, leaf: Hash) {
        let (mut hash, mut full) = (leaf, self.size);
        while full & 1 == 1 {
            if let Some(left) = self.peaks.pop() {
                hash = node(&left, &hash);
            }
            full >>= 1;
        }
        self.peaks.push(hash);
        self.size += 1;
    }

    /// How many entries there are.
    #[must_use]
    pub fn size(&self) -> u64 {
        self.size
    }

    /// The root; of no entry at all it is the hash of nothing.
    #[must_use]
    pub fn root(&self) -> Hash {
        let mut peaks = self.peaks.iter().rev();
        let Some(last) = peaks.next() else { return Sha256::digest([]).into() };
        peaks.fold(*last, |right, left| node(left, &right))
    }
}

/// The largest power of two below `size`, which is at least 2.
fn split(size: u64) -> u64 {
    1 << (u64::BITS - 1 - (size - 1).leading_zeros())
}

/// The parts of the list whose roots prove that the entry at `index` (from 0) stands in a list of `size`
/// entries, in the order of the proof. None where there is no such entry.
#[must_use]
pub fn inclusion(index: u64, size: u64) -> Vec<Range<u64>> {
    let (mut parts, mut from, mut until) = (vec![], 0, size);
    if index >= size {
        return parts;
    }
    while until - from > 1 {
        let middle = from + split(until - from);
        if index < middle {
            parts.push(middle..until);
            until = middle;
        } else {
            parts.push(from..middle);
            from = middle;
        }
    }
    parts.reverse();
    parts
}

/// The parts of the list whose roots prove that a list of `size` entries begins with its first `first`
/// entries, in the order of the proof. None where nothing needs a proof: `first` is 0 or not below `size`.
#[must_use]
pub fn consistency(first: u64, size: u64) -> Vec<Range<u64>> {
    let (mut parts, mut from, mut until, mut whole) = (vec![], 0, size, true);
    if first == 0 || first >= size {
        return parts;
    }
    while first != until {
        let middle = from + split(until - from);
        if first <= middle {
            parts.push(middle..until);
            until = middle;
        } else {
            parts.push(from..middle);
            from = middle;
            whole = false;
        }
    }
    if !whole {
        parts.push(from..until);
    }
    parts.reverse();
    parts
}

/// Collects the roots of parts of a list while its entries pass by.
#[derive(Debug)]
pub struct Roots {
    parts: Vec<(Range<u64>, Tree)>,
    at: u64,
}

impl Roots {
    /// For these parts.
    #[must_use]
    pub fn of(parts: Vec<Range<u64>>) -> Self {
        Self { parts: parts.into_iter().map(|part| (part, Tree::default())).collect(), at: 0 }
    }

    /// The hash of the next entry of the list.
    pub fn push(&mut self, leaf: Hash) {
        let at = self.at;
        self.parts.iter_mut().filter(|(part, _)| part.contains(&at)).for_each(|(_, tree)| tree.push(leaf));
        self.at += 1;
    }

    /// The roots in the order of the parts; none: the list ended too early.
    #[must_use]
    pub fn roots(&self) -> Option<Vec<Hash>> {
        let root =
            |(part, tree): &(Range<u64>, Tree)| (tree.size() == part.end - part.start).then(|| tree.root());
        self.parts.iter().map(root).collect()
    }
}

/// Both places a level up, and on while the first is a left child that has no sibling of its own size.
fn climb(at: &mut u64, last: &mut u64) {
    while *at & 1 == 0 && *at != 0 {
        *at >>= 1;
        *last >>= 1;
    }
}

/// Does the path prove that the entry of this hash stands at `index` (from 0) of a list of `size` entries with
/// this root?
#[must_use]
pub fn is_included(index: u64, size: u64, leaf: Hash, path: &[Hash], root: &Hash) -> bool {
    if index >= size {
        return false;
    }
    let (mut at, mut last, mut hash) = (index, size - 1, leaf);
    for sibling in path {
        if last == 0 {
            return false;
        }
        if at & 1 == 1 || at == last {
            hash = node(sibling, &hash);
            climb(&mut at, &mut last);
        } else {
            hash = node(&hash, sibling);
        }
        at >>= 1;
        last >>= 1;
    }
    last == 0 && hash == *root
}

/// Does the path prove that the list of `size` entries with root `root` begins with the list of `first` entries
/// with root `first_root`?
#[must_use]
pub fn is_consistent(first: u64, size: u64, path: &[Hash], first_root: &Hash, root: &Hash) -> bool {
    if first == size {
        return path.is_empty() && first_root == root;
    }
    if first == 0 || first > size || path.is_empty() {
        return false;
    }
    let (mut at, mut last) = (first - 1, size - 1);
    while at & 1 == 1 {
        at >>= 1;
        last >>= 1;
    }
    // Where the shorter list is one full tree, its root is the proof's first part and is left out.
    let (start, rest) = if first.is_power_of_two() { (first_root, path) } else { (&path[0], &path[1..]) };
    let (mut short, mut long) = (*start, *start);
    for sibling in rest {
        if last == 0 {
            return false;
        }
        if at & 1 == 1 || at == last {
            short = node(sibling, &short);
            long = node(sibling, &long);
            climb(&mut at, &mut last);
        } else {
            long = node(&long, sibling);
        }
        at >>= 1;
        last >>= 1;
    }
    last == 0 && short == *first_root && long == *root
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::chain::hex;

    fn leaves(count: u64) -> Vec<Hash> {
        (0..count).map(|n| leaf(&n.to_be_bytes())).collect()
    }

    fn tree(leaves: &[Hash]) -> Tree {
        let mut tree = Tree::default();
        leaves.iter().for_each(|leaf| tree.push(*leaf));
        tree
    }

    /// The definition of section 2.1.1 word by word, with no thought for time.
    fn by_definition(leaves: &[Hash]) -> Hash {
        match leaves {
            [] => Sha256::digest([]).into(),
            [one] => *one,
            many => {
                let mut middle = 1;
                while middle * 2 < many.len() {
                    middle *= 2;
                }
                node(&by_definition(&many[..middle]), &by_definition(&many[middle..]))
            }
        }
    }

    fn proof(parts: &[Range<u64>], leaves: &[Hash]) -> Vec<Hash> {
        let mut roots = Roots::of(parts.to_vec());
        leaves.iter().for_each(|leaf| roots.push(*leaf));
        roots.roots().unwrap()
    }

    /// The eight entries and nine roots that open implementations of Certificate Transparency test themselves
    /// with. The figures are written from memory; that they come out proves them.
    #[test]
    fn published_roots_come_out() {
        let entries: [&[u8]; 8] = [
            b"",
            b"\x00",
            b"\x10",
            b"\x20\x21",
            b"\x30\x31",
            b"\x40\x41\x42\x43",
            b"\x50\x51\x52\x53\x54\x55\x56\x57",
            b"\x60\x61\x62\x63\x64\x65\x66\x67\x68\x69\x6a\x6b\x6c\x6d\x6e\x6f",
        ];
        let roots = [
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
            "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
            "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
            "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
            "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
            "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
            "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
            "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
        ];
        let mut growing = Tree::default();
        assert_eq!(hex(&growing.root()), roots[0]);
        for (entry, root) in entries.iter().zip(&roots[1..]) {
            growing.push(leaf(entry));
            assert_eq!(hex(&growing.root()), **root);
        }
    }

    /// Section 2.1.5 draws the tree of seven entries and names the proofs: for d0 [b, h, l], for d3 [c, g, l],
    /// for d4 [f, j, k], for d6 [i, k]; from three entries [c, d, g, l], from four [l], from six [i, j, k].
    #[test]
    fn the_proofs_of_the_standards_example_are_the_named_ones() {
        for (index, parts) in [(0, vec![1..2, 2..4, 4..7]), (3, vec![2..3, 0..2, 4..7])] {
            assert_eq!(inclusion(index, 7), parts);
        }
        assert_eq!(inclusion(4, 7), [5..6, 6..7, 0..4]);
        assert_eq!(inclusion(6, 7), [4..6, 0..4]);
        assert_eq!(consistency(3, 7), [2..3, 3..4, 0..2, 4..7]);
        assert_eq!(consistency(4, 7), vec![4..7; 1]);
        assert_eq!(consistency(6, 7), [4..6, 6..7, 0..4]);
        assert!(inclusion(7, 7).is_empty() && consistency(0, 7).is_empty() && consistency(7, 7).is_empty());
    }

    #[test]
    fn every_entry_of_every_small_list_is_proved_and_nothing_else() {
        for size in 1..=33 {
            let leaves = leaves(size);
            let root = tree(&leaves).root();
            assert_eq!(root, by_definition(&leaves), "{size}");
            for index in 0..size {
                let place = usize::try_from(index).unwrap();
                let path = proof(&inclusion(index, size), &leaves);
                assert!(is_included(index, size, leaves[place], &path, &root), "{index} of {size}");
                assert!(!is_included(index, size, leaf(b"another"), &path, &root));
                assert!(!is_included(size, size, leaves[place], &path, &root));
                for other in (0..size).filter(|other| *other != index) {
                    assert!(!is_included(other, size, leaves[place], &path, &root), "{index} as {other}");
                }
                let longer = [path.clone(), vec![root]].concat();
                assert!(!is_included(index, size, leaves[place], &longer, &root));
                assert!(path.is_empty() || !is_included(index, size, leaves[place], &path[1..], &root));
            }
        }
    }

    #[test]
    fn every_beginning_of_every_small_list_is_proved_and_nothing_else() {
        for size in 1..=33 {
            let leaves = leaves(size);
            let root = tree(&leaves).root();
            for first in 1..=size {
                let short = tree(&leaves[..usize::try_from(first).unwrap()]).root();
                let path = proof(&consistency(first, size), &leaves);
                assert!(is_consistent(first, size, &path, &short, &root), "{first} of {size}");
                assert!(!is_consistent(first, size, &path, &leaf(b"x"), &root));
                assert!(!is_consistent(first, size, &path, &short, &leaf(b"x")));
                assert!(first == size || !is_consistent(first, size, &[], &short, &root));
                assert!(!is_consistent(first, size, &[path, vec![root]].concat(), &short, &root));
            }
            assert!(!is_consistent(size + 1, size, &[root], &root, &root));
        }
    }

    #[test]
    fn a_list_that_ends_too_early_proves_nothing() {
        let mut roots = Roots::of(inclusion(1, 4));
        leaves(3).into_iter().for_each(|leaf| roots.push(leaf));
        assert_eq!(roots.roots(), None);
    }
}
