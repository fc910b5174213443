//! Texts of several fonts: digits that are raised and parts that are struck out, which `calamine` gives like all
//! others. Here is also where an `.xls` and an `.xlsb` hold them.

use super::displayed::{begins_as_number, raised};
use super::strings::Raised;
use super::workbook::struck;

/// What a font does to the text that it shows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Font {
    pub(super) is_raised: bool,
    pub(super) is_struck: bool,
}

impl Font {
    /// By its flags and what it says of raised text (MS-XLS 2.4.122, MS-XLSB 2.4.148).
    pub(super) fn of(flags: Option<u16>, script: Option<u16>) -> Self {
        Self {
            is_raised: script == Some(1),
            is_struck: flags.is_some_and(|flags| flags & 8 != 0),
        }
    }

    pub(super) const fn is_plain(self) -> bool {
        !self.is_raised && !self.is_struck
    }
}

/// A text of several fonts, piece by piece.
#[derive(Default)]
pub(super) struct RichText {
    /// As it stands.
    plain: String,
    /// With raised digits as such.
    with_raised: String,
    has_struck: bool,
}

impl RichText {
    pub(super) fn push(&mut self, text: &str, font: Font) {
        self.plain.push_str(text);
        match font.is_raised {
            true => self.with_raised.push_str(&raised(text)),
            false => self.with_raised.push_str(text),
        }
        self.has_struck |= font.is_struck && !text.is_empty();
    }

    /// What a reader sees. Raised digits count behind a number; elsewhere they are of a formula ("SO4 2-").
    pub(super) fn seen(self) -> String {
        if self.has_struck {
            struck(&self.plain)
        } else if begins_as_number(&self.plain) {
            self.with_raised
        } else {
            self.plain
        }
    }

    /// Adds it to those that a reader sees otherwise than they stand, if it is one.
    pub(super) fn add_to(self, found: &mut Raised) {
        let plain = self.plain.clone();
        let seen = self.seen();
        if seen != plain {
            found.insert(plain.into(), seen.into());
        }
    }
}

/// Adds a text to those that a reader sees otherwise than they stand, if it is one. `units` are of UTF-16; each of
/// `runs` says from which of them on which font shows them.
pub(super) fn add(units: &[u16], runs: &[(u16, u16)], fonts: &[Font], to: &mut Raised) {
    let (mut rich, mut font, mut from) = (RichText::default(), Font::default(), 0);
    let ends = runs.iter().map(|(start, _)| usize::from(*start));
    let next = runs.iter().map(|(_, font)| fonts.get(usize::from(*font)));
    for (end, next) in ends.zip(next).chain([(units.len(), None)]) {
        let text = String::from_utf16_lossy(units.get(from..end).unwrap_or_default());
        rich.push(&text, font);
        from = from.max(end);
        font = next.copied().unwrap_or_default();
    }
    rich.add_to(to);
}

/// The texts of an `.xls`, which go on from one record into the next: its table and the records behind it.
pub(super) struct Segments<'s> {
    rest: &'s [u8],
    next: std::vec::IntoIter<&'s [u8]>,
}

impl<'s> Segments<'s> {
    pub(super) fn of(records: Vec<&'s [u8]>) -> Self {
        Self {
            rest: &[],
            next: records.into_iter(),
        }
    }

    /// Adds the texts that are seen otherwise than they stand (MS-XLS 2.4.265, 2.5.293). What breaks off ends
    /// them.
    pub(super) fn read(mut self, fonts: &[Font], to: &mut Raised) {
        const COUNTS: usize = 8;
        if self.skip(COUNTS).is_none() {
            return;
        }
        while self.text(fonts, to).is_some() {}
    }

    fn text(&mut self, fonts: &[Font], to: &mut Raised) -> Option<()> {
        let (count, flags) = (self.word()?, self.byte()?);
        let runs = if flags & 8 != 0 { self.word()? } else { 0 };
        let after = match flags & 4 {
            0 => 0,
            _ => usize::from(self.word()?) | usize::from(self.word()?) << 16,
        };
        let units = self.units(count, flags)?;
        let runs: Vec<(u16, u16)> = (0..runs)
            .map(|_| Some((self.word()?, self.word()?)))
            .collect::<Option<_>>()?;
        if !runs.is_empty() {
            add(&units, &runs, fonts, to);
        }
        self.skip(after)
    }

    /// Where the units go on in another record, it says anew how wide they are.
    fn units(&mut self, count: u16, mut flags: u8) -> Option<Vec<u16>> {
        let mut units = Vec::new();
        while units.len() < usize::from(count) {
            if self.rest.is_empty() {
                self.rest = self.next.next()?;
                flags = self.byte()?;
            }
            units.push(match flags & 1 {
                0 => u16::from(self.byte()?),
                _ => self.word()?,
            });
        }
        Some(units)
    }

    fn byte(&mut self) -> Option<u8> {
        while self.rest.is_empty() {
            self.rest = self.next.next()?;
        }
        let (first, rest) = self.rest.split_first()?;
        self.rest = rest;
        Some(*first)
    }

    fn word(&mut self) -> Option<u16> {
        Some(u16::from_le_bytes([self.byte()?, self.byte()?]))
    }

    fn skip(&mut self, mut bytes: usize) -> Option<()> {
        while bytes > self.rest.len() {
            bytes -= self.rest.len();
            self.rest = self.next.next()?;
        }
        self.rest = &self.rest[bytes..];
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FONTS: [Font; 3] = [
        Font {
            is_raised: false,
            is_struck: false,
        },
        Font {
            is_raised: true,
            is_struck: false,
        },
        Font {
            is_raised: false,
            is_struck: true,
        },
    ];

    fn seen(text: &str, runs: &[(u16, u16)]) -> Option<String> {
        let mut found = Raised::new();
        let units: Vec<u16> = text.encode_utf16().collect();
        add(&units, runs, &FONTS, &mut found);
        found.get(text).map(ToString::to_string)
    }

    #[test]
    fn runs_say_what_a_reader_sees() {
        for (text, runs, expected) in [
            ("7.51", &[(3_u16, 1_u16)] as &[_], Some("7.5¹")),
            ("7.51", &[(3, 0)], None),
            ("SO42-", &[(3, 1)], None),
            ("8090", &[(0, 2), (2, 0)], Some("(8090, struck out)")),
            ("7.5", &[(3, 1)], None),
            ("7.5", &[(9, 1), (2, 9)], None),
        ] {
            assert_eq!(seen(text, runs).as_deref(), expected, "{text} {runs:?}");
        }
    }

    #[test]
    fn texts_go_on_from_record_to_record() {
        // "7.51" with its last digit raised, its units in two records of different widths; then "a".
        let first = [&[0; 8][..], &[4, 0, 8, 1, 0], b"7."].concat();
        let second = [&[1][..], b"5\x001\x00", &[3, 0, 1, 0], &[1, 0, 0], b"a"].concat();
        let mut found = Raised::new();
        Segments::of(vec![&first, &second]).read(&FONTS, &mut found);
        assert_eq!(found.get("7.51").map(|text| &**text), Some("7.5¹"));
        for cut in 0..second.len() {
            let segments = Segments::of(vec![&first, &second[..cut]]);
            segments.read(&FONTS, &mut Raised::new());
        }
    }
}
