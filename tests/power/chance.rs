//! Chance that comes again with its seed.

/// `SplitMix64`. Source: Steele, Lea and Flood (2014), "Fast splittable pseudorandom number
/// generators", OOPSLA; its constants from memory.
#[derive(Debug, Clone)]
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `end`; 0 below 1.
    pub fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % (end.max(1) as u64)).unwrap()
    }

    pub fn coin(&mut self) -> bool {
        self.next() & 1 == 1
    }
}

/// Now, for telling how long things took.
#[expect(
    clippy::disallowed_methods,
    reason = "the machine's own time is measured, no trip's"
)]
pub fn now() -> std::time::Instant {
    std::time::Instant::now()
}

fn variable(name: &str) -> Option<u64> {
    std::env::var_os(name).map(|text| text.to_str().unwrap().parse().unwrap())
}

/// The seed of this run; told, so that a failing one can be run again.
pub fn seed() -> u64 {
    let seed = variable("DECKWATCH_POWER_SEED").unwrap_or(20_260_601);
    eprintln!("DECKWATCH_POWER_SEED={seed}");
    seed
}

/// How many times as long as in CI.
pub fn times() -> usize {
    usize::try_from(variable("DECKWATCH_POWER_TIMES").unwrap_or(1)).unwrap()
}
