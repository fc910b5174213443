//! Chance that is the same for the same seed (SplitMix64, public domain).

pub(super) struct Chance(u64);

impl Chance {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub(super) fn below(&mut self, n: usize) -> usize {
        (self.next() % n as u64) as usize
    }

    /// True once in `n`.
    pub(super) fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    pub(super) fn of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }

    pub(super) fn shuffle<T>(&mut self, all: &mut [T]) {
        for i in (1..all.len()).rev() {
            all.swap(i, self.below(i + 1));
        }
    }
}
