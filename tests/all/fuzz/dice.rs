//! Chance that is the same in every run, and what it does to texts and bytes.

use super::pieces;

/// Small numbers in a row that looks random.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        // Neighbouring seeds must not give neighbouring rows (the finalizer of SplitMix64).
        let mut z = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        Self((z ^ (z >> 31)) | 1)
    }

    /// Below `sides`, which is not 0.
    pub(crate) fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % sides as u64) as usize
    }

    pub(crate) fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.roll(of.len())]
    }

    /// Pieces from all lists, in any order, with a change or two.
    pub(crate) fn text(&mut self, lists: &[&[&str]]) -> String {
        let mut text = String::new();
        for _ in 0..=self.roll(5) {
            let list = self.pick(lists);
            let piece = self.pick(list);
            text.push_str(piece);
            if self.roll(3) == 0 {
                let between = *self.pick(pieces::BETWEEN);
                text.push_str(between);
            }
        }
        if self.roll(3) == 0 {
            self.change_text(&mut text);
        }
        text
    }

    /// One or two characters are taken out, doubled, exchanged or put in.
    pub(crate) fn change_text(&mut self, text: &mut String) {
        let mut chars: Vec<char> = text.chars().collect();
        for _ in 0..=self.roll(2) {
            let at = self.roll(chars.len() + 1);
            match self.roll(4) {
                0 if at < chars.len() => {
                    chars.remove(at);
                }
                1 if at < chars.len() => chars.insert(at, chars[at]),
                2 if at < chars.len() => chars[at] = self.odd_char(),
                _ => {
                    let c = self.odd_char();
                    chars.insert(at, c);
                }
            }
        }
        *text = chars.into_iter().collect();
    }

    fn odd_char(&mut self) -> char {
        match self.roll(4) {
            0 => *self.pick(pieces::ODD_CHARS),
            1 => char::from_u32(self.roll(0x11_0000) as u32).unwrap_or('\u{fffd}'),
            _ => char::from(32 + self.roll(95) as u8),
        }
    }

    /// Bytes are changed, cut, taken out or overlaid with numbers that readers take for sizes.
    pub(crate) fn change_bytes(&mut self, bytes: &mut Vec<u8>) {
        for _ in 0..=self.roll(3) {
            if bytes.is_empty() {
                return;
            }
            let at = self.roll(bytes.len());
            match self.roll(4) {
                0 => bytes[at] = self.roll(256) as u8,
                1 => bytes.truncate(at.max(bytes.len() / 2)),
                2 => {
                    let end = (at + self.roll(20)).min(bytes.len());
                    bytes.drain(at..end);
                }
                _ => {
                    let odd = *self.pick(pieces::ODD_BYTES);
                    let end = (at + odd.len()).min(bytes.len());
                    bytes.splice(at..end, odd.iter().copied());
                }
            }
        }
    }
}
