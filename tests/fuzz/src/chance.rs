//! Choices out of bytes, so that the fuzzer can change one choice by changing one byte. Where the bytes are used up
//! every choice is the first.

use arbitrary::Unstructured;

/// Numbers at which something is likely to break.
const ODD: [f64; 20] = [
    0.0,
    -0.0,
    1.0,
    -1.0,
    1e-12,
    1e-9,
    1e-3,
    0.1,
    10.0,
    2_000.0,
    1e6,
    1e7,
    -1e7,
    1e12,
    1e15,
    1e18,
    f64::MIN_POSITIVE,
    f64::MAX,
    f64::INFINITY,
    f64::NAN,
];

/// Bytes as choices.
pub struct Chance<'a>(Unstructured<'a>);

impl<'a> Chance<'a> {
    /// Choices from the start of the bytes.
    pub fn new(bytes: &'a [u8]) -> Self {
        Self(Unstructured::new(bytes))
    }

    /// 0 to `count` - 1.
    pub fn below(&mut self, count: usize) -> usize {
        self.0.int_in_range(0..=count.saturating_sub(1)).unwrap_or(0)
    }

    /// True about so many times of a hundred.
    pub fn percent(&mut self, percent: usize) -> bool {
        self.below(100) >= 100 - percent
    }

    /// One of a list.
    pub fn pick<T: Clone>(&mut self, items: &[T]) -> T {
        items[self.below(items.len())].clone()
    }

    /// Mostly a number of the list, now and then any at all.
    pub fn number(&mut self, usual: &[f64]) -> f64 {
        match self.below(64) {
            62 => self.pick(&ODD),
            63 => self.0.arbitrary().unwrap_or(0.0),
            _ => self.pick(usual),
        }
    }

    /// Nothing, or such a number.
    pub fn maybe(&mut self, percent: usize, usual: &[f64]) -> Option<f64> {
        self.percent(percent).then(|| self.number(usual))
    }
}
