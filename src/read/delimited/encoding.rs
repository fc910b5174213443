//! Bytes of a text become characters. What decides, in this order: a byte order mark, the shape of
//! UTF-16, UTF-8 that holds strictly, the encoding that a mapping states, and last Windows-1252, which whoever knows
//! words can hold against others. Nothing is guessed from letter frequencies: `µg` in Windows-1252 looks like
//! Chinese to such a guess.

use super::dos;
use std::borrow::Cow;

/// An encoding that a mapping may state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Encoding(Known);

#[derive(Clone, Copy, Debug, PartialEq)]
enum Known {
    /// Of the WHATWG Encoding Standard.
    Standard(&'static encoding_rs::Encoding),
    Dos(&'static dos::CodePage),
}

impl Encoding {
    pub const UTF_8: Self = Self(Known::Standard(encoding_rs::UTF_8));
    pub const WINDOWS_1252: Self = Self(Known::Standard(encoding_rs::WINDOWS_1252));

    /// Reads a label of the WHATWG Encoding Standard (`utf-8`, `latin1`, `windows-1250`), or `cp437`
    /// or `cp850`. `None` when the label is none of these.
    pub fn parse(label: &str) -> Option<Self> {
        dos::CodePage::parse(label)
            .map(Known::Dos)
            .or_else(|| {
                encoding_rs::Encoding::for_label_no_replacement(label.as_bytes())
                    .map(Known::Standard)
            })
            .map(Self)
    }

    /// What laboratories write besides UTF-8 and Windows-1252, likeliest first. `streamed`: only those in which a long
    /// text can be read; `latin`: only those that differ from Windows-1252 by a few letters.
    pub fn others(streamed: bool, latin: bool) -> impl Iterator<Item = Self> {
        const LATIN: [&str; 4] = ["windows-1250", "windows-1254", "windows-1257", "iso-8859-2"];
        const FURTHER: [&str; 15] = [
            "windows-1251",
            "windows-1253",
            "cp850",
            "cp437",
            "macintosh",
            "windows-1255",
            "windows-1256",
            "windows-874",
            "koi8-r",
            "koi8-u",
            "shift_jis",
            "gb18030",
            "big5",
            "euc-kr",
            "euc-jp",
        ];
        let further = if latin { &[][..] } else { &FURTHER };
        (LATIN.iter().chain(further))
            .filter_map(|label| Self::parse(label))
            .filter(move |encoding| !streamed || encoding.can_be_streamed())
    }

    /// What a text that was taken for Windows-1252 says in this encoding; `None` where its bytes say nothing in it.
    pub fn retaken(self, text: &str) -> Option<String> {
        let (bytes, _, was_other) = encoding_rs::WINDOWS_1252.encode(text);
        let (text, is_broken) = match self.0 {
            Known::Standard(encoding) => encoding.decode_without_bom_handling(&bytes),
            Known::Dos(page) => (page.decode(&bytes), false),
        };
        let is_text = !was_other && !is_broken && !text.contains(is_new_control);
        is_text.then(|| text.into_owned())
    }

    pub fn name(self) -> &'static str {
        match self.0 {
            Known::Standard(encoding) => encoding.name(),
            Known::Dos(page) => page.name,
        }
    }

    /// Whether each byte below 0x80 is the ASCII character and nothing else, so that separators and
    /// line ends can be found before decoding.
    pub(super) fn keeps_ascii(self) -> bool {
        match self.0 {
            Known::Standard(encoding) => {
                encoding.is_single_byte() || encoding == encoding_rs::UTF_8
            }
            Known::Dos(_) => true,
        }
    }

    /// Whether a text too long to be held can be read in it.
    pub(super) fn can_be_streamed(self) -> bool {
        self.keeps_ascii() || Utf16::is(self).is_some()
    }

    pub(super) fn decode(self, bytes: &[u8]) -> Cow<'_, str> {
        match self.0 {
            Known::Standard(encoding) => encoding.decode_without_bom_handling(bytes).0,
            Known::Dos(page) => page.decode(bytes),
        }
    }
}

/// Of Unicode's second row of control characters, which no text has.
const fn is_new_control(c: char) -> bool {
    matches!(c, '\u{80}'..='\u{9f}')
}

/// How a text is to be decoded, decided once from all of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Decoding {
    /// The whole text in one encoding, after a mark of so many bytes. `assumed` when nothing but
    /// the last resort spoke for it.
    One {
        encoding: Encoding,
        mark: usize,
        assumed: bool,
    },
    /// Lines that are UTF-8 among lines that are not; the latter are taken as Windows-1252.
    ByLine { other: u64, mark: usize },
}

impl Decoding {
    /// Decides for a text that is in memory. `stated` is the mapping's word.
    pub(super) fn of(bytes: &[u8], stated: Option<Encoding>) -> Self {
        if let Some((encoding, mark)) = encoding_rs::Encoding::for_bom(bytes) {
            let encoding = Encoding(Known::Standard(encoding));
            if encoding != Encoding::UTF_8 || std::str::from_utf8(bytes).is_ok() {
                return Self::One {
                    encoding,
                    mark,
                    assumed: false,
                };
            }
            return Self::tally(bytes).decide(mark, stated);
        }
        if let Some(encoding) = utf_16_by_shape(bytes) {
            return Self::One {
                encoding,
                mark: 0,
                assumed: false,
            };
        }
        if let Some(encoding) = stated.filter(|e| !e.keeps_ascii()) {
            return Self::One {
                encoding,
                mark: 0,
                assumed: false,
            };
        }
        if std::str::from_utf8(bytes).is_ok() {
            // Valid UTF-8 beyond ASCII is practically never anything else, so it outweighs a mapping
            // written for the laboratory's older files.
            return Self::One {
                encoding: Encoding::UTF_8,
                mark: 0,
                assumed: false,
            };
        }
        Self::tally(bytes).decide(0, stated)
    }

    fn tally(bytes: &[u8]) -> LineTally {
        let mut tally = LineTally::default();
        tally.add(bytes);
        tally
    }

    pub(super) fn is_utf_8(self) -> bool {
        matches!(self, Self::One { encoding, .. } if encoding == Encoding::UTF_8)
    }

    pub(super) const fn mark(self) -> usize {
        match self {
            Self::One { mark, .. } | Self::ByLine { mark, .. } => mark,
        }
    }

    /// Decodes bytes that begin and end at line ends (the mark already taken off).
    pub(super) fn decode(self, bytes: &[u8]) -> Cow<'_, str> {
        match self {
            Self::One { encoding, .. } => encoding.decode(bytes),
            Self::ByLine { .. } => {
                let mut text = String::with_capacity(bytes.len() + bytes.len() / 16);
                for line in bytes.split_inclusive(|b| matches!(b, b'\n' | b'\r')) {
                    match std::str::from_utf8(line) {
                        Ok(line) => text.push_str(line),
                        Err(_) => text.push_str(&Encoding::WINDOWS_1252.decode(line)),
                    }
                }
                Cow::Owned(text)
            }
        }
    }
}

/// A text in UTF-16 that becomes UTF-8 block by block.
pub(super) struct Utf16 {
    encoding: Encoding,
    /// Bytes of the byte order mark.
    pub(super) mark: usize,
    decoder: encoding_rs::Decoder,
}

impl Utf16 {
    /// `None` where the beginning of a text, or the mapping's word, is for another encoding.
    pub(super) fn of(head: &[u8], stated: Option<Encoding>) -> Option<Self> {
        let Decoding::One { encoding, mark, .. } =
            Decoding::of(&head[..head.len() / 2 * 2], stated)
        else {
            return None;
        };
        Some(Self {
            encoding,
            mark,
            decoder: Self::is(encoding)?.new_decoder_without_bom_handling(),
        })
    }

    fn is(encoding: Encoding) -> Option<&'static encoding_rs::Encoding> {
        match encoding.0 {
            Known::Standard(known) => {
                let is_it = known == encoding_rs::UTF_16LE || known == encoding_rs::UTF_16BE;
                is_it.then_some(known)
            }
            Known::Dos(_) => None,
        }
    }

    /// How a part of the file is decoded that begins and ends at a character.
    pub(super) const fn decoding(&self) -> Decoding {
        Decoding::One {
            encoding: self.encoding,
            mark: self.mark,
            assumed: false,
        }
    }

    /// Appends the next bytes of the file, the mark taken off. What is no character becomes U+FFFD, as many
    /// as it has pairs of bytes.
    pub(super) fn decode(&mut self, bytes: &[u8], is_last: bool, into: &mut Vec<u8>) {
        // Three bytes for each pair, the longest that it becomes, and a pair begun before.
        let mut text = String::with_capacity(bytes.len() / 2 * 3 + 16);
        let _ = self.decoder.decode_to_string(bytes, &mut text, is_last);
        into.extend_from_slice(text.as_bytes());
    }

    /// Bytes that a text takes in the file. `text` is UTF-8 and does not end inside a character.
    pub(super) fn bytes_of(text: &[u8]) -> usize {
        let text = String::from_utf8_lossy(text);
        2 * text.chars().map(char::len_utf16).sum::<usize>()
    }
}

/// Which lines hold characters beyond ASCII.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct LineTally {
    /// Some are UTF-8.
    utf8: bool,
    /// How many are not.
    other: u64,
}

impl LineTally {
    /// Adds bytes that begin and end at line ends.
    pub(super) fn add(&mut self, bytes: &[u8]) {
        if bytes.is_ascii() {
            return;
        }
        if std::str::from_utf8(bytes).is_ok() {
            self.utf8 = true;
            return;
        }
        for line in bytes.split(|b| matches!(b, b'\n' | b'\r')) {
            if line.is_ascii() {
                continue;
            }
            match std::str::from_utf8(line) {
                Ok(_) => self.utf8 = true,
                Err(_) => self.other += 1,
            }
        }
    }

    pub(super) fn decide(self, mark: usize, stated: Option<Encoding>) -> Decoding {
        match (self.utf8, self.other, stated) {
            (_, 0, _) => Decoding::One {
                encoding: Encoding::UTF_8,
                mark,
                assumed: false,
            },
            (_, _, Some(encoding)) => Decoding::One {
                encoding,
                mark,
                assumed: false,
            },
            (false, _, None) => Decoding::One {
                encoding: Encoding::WINDOWS_1252,
                mark,
                assumed: true,
            },
            (true, other, None) => Decoding::ByLine { other, mark },
        }
    }
}

/// UTF-16 without a mark: text of western languages then has a NUL in nearly every second byte,
/// always on the same side.
pub(super) fn utf_16_by_shape(bytes: &[u8]) -> Option<Encoding> {
    const LOOK_AT: usize = 4096;
    let head = &bytes[..bytes.len().min(LOOK_AT)];
    if head.len() < 4 || bytes.len() % 2 == 1 {
        return None;
    }
    let pairs = head.len() / 2;
    let nul = |side: usize| {
        head.iter()
            .skip(side)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let (even, odd) = (nul(0), nul(1));
    if odd * 10 >= pairs * 7 && even * 20 <= pairs {
        Some(Encoding(Known::Standard(encoding_rs::UTF_16LE)))
    } else if even * 10 >= pairs * 7 && odd * 20 <= pairs {
        Some(Encoding(Known::Standard(encoding_rs::UTF_16BE)))
    } else {
        None
    }
}

/// Whether the text shows what a wrong encoding leaves behind: the replacement character, `Â` or
/// `Ã` before another sign (UTF-8 read as Windows-1252), or `æg/` (a DOS page read likewise, where
/// `µ` is 0xE6). Gives the word in which it stands.
pub(super) fn doubtful_word(text: &str) -> Option<&str> {
    let at = text
        .find('\u{fffd}')
        .or_else(|| text.find("æg/"))
        .or_else(|| text.find("æS/"))
        .or_else(|| {
            text.char_indices().find_map(|(at, c)| {
                let next = text[at + c.len_utf8()..].chars().next();
                let is_remnant = matches!(c, 'Â' | 'Ã')
                    && next.is_some_and(|n| {
                        matches!(
                            n,
                            '\u{a1}'
                                ..='\u{bf}'
                                    | '€'
                                    | '‚'
                                    | '„'
                                    | '…'
                                    | '†'
                                    | '‡'
                                    | '‰'
                                    | 'Š'
                                    | '‹'
                                    | 'Œ'
                        )
                    });
                is_remnant.then_some(at)
            })
        })?;
    let from = text[..at]
        .rfind(|c: char| c.is_whitespace() || ",;|\"".contains(c))
        .map_or(0, |i| {
            i + text[i..].chars().next().map_or(1, char::len_utf8)
        });
    let rest = &text[at..];
    let to = rest
        .find(|c: char| c.is_whitespace() || ",;|\"".contains(c))
        .map_or(text.len(), |i| at + i);
    Some(&text[from..to])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decoded(bytes: &[u8], stated: Option<&str>) -> String {
        let decoding = Decoding::of(bytes, stated.and_then(Encoding::parse));
        decoding.decode(&bytes[decoding.mark()..]).into_owned()
    }

    #[test]
    fn bytes_become_the_characters_meant() {
        for (name, bytes, stated, text) in [
            ("ascii", &b"pH;7"[..], None, "pH;7"),
            ("utf-8", "µg/L;°C".as_bytes(), None, "µg/L;°C"),
            ("utf-8 with mark", b"\xef\xbb\xbfpH", None, "pH"),
            ("windows-1252", b"pH;\xb5g/L;\xb0C", None, "pH;µg/L;°C"),
            ("utf-16 little with mark", b"\xff\xfep\0H\0", None, "pH"),
            ("utf-16 big with mark", b"\xfe\xff\0p\0H", None, "pH"),
            (
                "utf-16 little without mark",
                b"p\0H\0;\x007\0\n\0",
                None,
                "pH;7\n",
            ),
            ("utf-16 big without mark", b"\0p\0H\0;\x007", None, "pH;7"),
            ("dos page as stated", b"\xe6g/L", Some("cp850"), "µg/L"),
            (
                "utf-8 against the mapping",
                "µg/L".as_bytes(),
                Some("cp850"),
                "µg/L",
            ),
            (
                "lines in two encodings",
                b"a\xc2\xb5\nb\xb5\n",
                None,
                "aµ\nbµ\n",
            ),
            ("empty", b"", None, ""),
        ] {
            assert_eq!(decoded(bytes, stated), text, "{name}");
        }
    }

    #[test]
    fn err_a_label_that_is_no_encoding_is_none() {
        assert_eq!(Encoding::parse("klingon"), None);
        assert_eq!(Encoding::parse(""), None);
    }

    #[test]
    fn remnants_of_a_wrong_encoding_are_seen() {
        for (text, word) in [
            ("pH; æg/L;x", Some("æg/L")),
            ("Ca mg/L", None),
            ("Âµg/L", Some("Âµg/L")),
            ("Temp Â°C", Some("Â°C")),
            ("Ægir", None),
            ("São Paulo; Água", None),
            ("a\u{fffd}b", Some("a\u{fffd}b")),
        ] {
            assert_eq!(doubtful_word(text), word, "{text}");
        }
    }
}
