//! Chance that falls the same way every time: ids and choices of the demo.
use uuid::Uuid;

/// A small generator (splitmix64). Good enough to scatter a demo, useless for secrets.
#[derive(Debug, Clone)]
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// An id that looks like any other.
    pub fn id(&mut self) -> Uuid {
        let bytes = (u128::from(self.next()) << 64 | u128::from(self.next())).to_be_bytes();
        uuid::Builder::from_random_bytes(bytes).into_uuid()
    }

    /// A whole number from `low` up to and including `high`.
    pub fn between(&mut self, low: u32, high: u32) -> u32 {
        let span = u64::from(high - low) + 1;
        low + u32::try_from(self.next() % span).unwrap_or_default()
    }

    /// One of these.
    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.between(0, u32::try_from(from.len() - 1).unwrap_or_default()) as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_ids() {
        let (mut one, mut other) = (Chance::new(7), Chance::new(7));
        let ids: Vec<Uuid> = (0..100).map(|_| one.id()).collect();
        assert!(ids.iter().all(|id| *id == other.id()));
        let mut distinct = ids.clone();
        distinct.sort_unstable();
        distinct.dedup();
        assert_eq!(distinct.len(), 100);
        assert_eq!(ids[0].get_version_num(), 4);
        assert_ne!(ids[0], Chance::new(8).id());
    }

    #[test]
    fn numbers_keep_their_bounds() {
        let mut chance = Chance::new(1);
        let seen: Vec<u32> = (0..200).map(|_| chance.between(3, 6)).collect();
        assert!((3..=6).all(|n| seen.contains(&n)) && seen.iter().all(|n| (3..=6).contains(n)));
    }
}
