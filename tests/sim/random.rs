//! Seeded randomness that is the same on every machine and with every version of every library:
//! a seed that failed must fail again, and the report on alarms must come out the same.

/// `SplitMix64`: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA
/// 2014, figure 17 (constants from memory; the stream is all that is asked of them).
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        let mut random = Self(seed);
        // Neighbouring seeds part at once.
        random.0 = random.next() ^ seed.rotate_left(32);
        random
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From 0 to `n`, without it.
    pub fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n.max(1) as u64).unwrap()
    }

    /// From `least` to `most`, both with.
    pub fn between(&mut self, least: i64, most: i64) -> i64 {
        let span = u64::try_from(most - least).unwrap() + 1;
        least + i64::try_from(self.next() % span).unwrap()
    }

    pub fn chance(&mut self, percent: u64) -> bool {
        self.next() % 100 < percent
    }

    pub fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }

    pub fn shuffle<T>(&mut self, of: &mut [T]) {
        for n in (1..of.len()).rev() {
            let other = self.below(n + 1);
            of.swap(n, other);
        }
    }

    /// From 0 to 1, without it.
    pub fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normal, mean 0, deviation 1: twelve shares less six (Irwin and Hall), so that no function
    /// of a mathematical library, which may differ between machines, is asked.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.share()).sum::<f64>() - 6.0
    }
}
