//! Dice of the checks and measurements, apart from the planner's own.

/// A small generator (Marsaglia's xorshift, 2003).
pub struct Dice(u64);

impl Dice {
    pub fn new(number: u64) -> Self {
        Self(number.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn below(&mut self, sides: i64) -> i64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        i64::try_from((self.0 >> 16) % u64::try_from(sides).unwrap()).unwrap()
    }

    pub fn between(&mut self, from: i64, to: i64) -> i64 {
        from + self.below(to - from + 1)
    }

    pub fn one_in(&mut self, of: i64) -> bool {
        self.below(of) == 0
    }
}
