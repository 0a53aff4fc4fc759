//! Seeded chance of the tests' own (SplitMix64, from memory of the published algorithm), so that every run tries the
//! same frames.

/// A stream of numbers from one seed.
pub struct Chance(u64);

impl Chance {
    /// A stream of its own for each seed.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d_4c95_7f2d)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// Between `low` and `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Between `low` and `high`, even in the logarithm.
    pub fn decades(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// One of 0 to `count` - 1.
    pub fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }

    /// True with a chance in 100.
    pub fn percent(&mut self, chance: usize) -> bool {
        self.below(100) < chance
    }

    /// A direction, even over the sphere.
    pub fn direction(&mut self) -> [f64; 3] {
        let z = self.between(-1.0, 1.0);
        let (sine, cosine) = self.between(0.0, std::f64::consts::TAU).sin_cos();
        let flat = (1.0 - z * z).sqrt();
        [flat * cosine, flat * sine, z]
    }

    /// A vector of the given length in any direction.
    pub fn vector(&mut self, length: f64) -> [f64; 3] {
        self.direction().map(|part| part * length)
    }

    /// The numbers 0 to `count` - 1 in a chance order.
    pub fn shuffled(&mut self, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..count).collect();
        for last in (1..count).rev() {
            order.swap(last, self.below(last + 1));
        }
        order
    }
}
