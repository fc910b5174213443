//! Folding: two spellings of one text become one. For comparing; what the report wrote is kept beside.
//!
//! Weaker than `crate::text` on purpose: no compatibility forms, because `10³` must not become `103`, nor
//! sample `B²` sample `B2`.

use std::borrow::Cow;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// Characters that show nothing and get into cells through copying: byte order mark, zero-width
/// spaces and joiners, direction marks, soft hyphen. Not the marks that turn the order of what follows: 80 is
/// seen where 08 stands behind one.
pub(super) const fn is_invisible(c: char) -> bool {
    matches!(
        c,
        '\u{feff}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202c}' | '\u{2060}' | '\u{ad}' | '\0'
    )
}

/// White space of every kind, and what shows nothing.
pub(super) fn is_blank(c: char) -> bool {
    c.is_whitespace() || is_invisible(c)
}

/// Signs that people and fonts use for a minus or a hyphen.
pub(super) const fn is_dash(c: char) -> bool {
    matches!(
        c,
        '-' | '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{fe58}' | '\u{fe63}' | '\u{ff0d}'
    )
}

/// A full-width character's plain twin; every other character is its own.
pub(super) fn narrow(c: char) -> char {
    match c {
        '\u{ff01}'..='\u{ff5e}' => char::from_u32(u32::from(c) - 0xfee0)
            .expect("the full-width forms lie 0xfee0 above printable ASCII"),
        _ => c,
    }
}

/// Trims, and turns every run of white space into one space. Case and signs stay.
pub fn squash(text: &str) -> Cow<'_, str> {
    let trimmed = text.trim_matches(is_blank);
    if is_squashed(trimmed.as_bytes()) {
        return Cow::Borrowed(trimmed);
    }
    let plain = !trimmed.contains(|c: char| is_blank(c) && c != ' ') && !trimmed.contains("  ");
    if plain {
        return Cow::Borrowed(trimmed);
    }
    let mut out = String::with_capacity(trimmed.len());
    for c in trimmed.chars().filter(|c| !is_invisible(*c)) {
        if !c.is_whitespace() {
            out.push(c);
        } else if !out.ends_with(' ') {
            out.push(' ');
        }
    }
    Cow::Owned(out)
}

/// Whether a trimmed text has nothing but ASCII that shows, and single spaces: so it is with nearly all.
fn is_squashed(text: &[u8]) -> bool {
    text.iter().all(|byte| (b' '..=b'~').contains(byte))
        && !text.windows(2).any(|pair| pair == b"  ")
}

/// Folds case, white space, width, dashes and accents. Digits and their signs stay as they are, so
/// that `BH 1` and `BH 11`, `26-118` and `26118` remain different.
pub fn fold(text: &str) -> String {
    if text.is_ascii() {
        return fold_ascii(text);
    }
    fold_any(text)
}

/// Of the characters below, ASCII has blanks and letters; nearly all texts have nothing else.
fn fold_ascii(text: &str) -> String {
    let text = text.trim_matches(is_blank);
    if is_squashed(text.as_bytes()) {
        return text.to_ascii_lowercase();
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if !is_blank(c) {
            out.push(c.to_ascii_lowercase());
        } else if !is_invisible(c) && !out.ends_with(' ') {
            out.push(' ');
        }
    }
    out
}

fn fold_any(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim_matches(is_blank).nfd() {
        if is_combining_mark(c) || is_invisible(c) {
            continue;
        }
        match narrow(c) {
            c if c.is_whitespace() => {
                if !out.ends_with(' ') {
                    out.push(' ');
                }
            }
            c if is_dash(c) => out.push('-'),
            // Letters with a stroke are no letter with a mark in Unicode; people leave it out.
            'ł' | 'Ł' => out.push('l'),
            'ø' | 'Ø' => out.push('o'),
            'ß' => out.push_str("ss"),
            'æ' | 'Æ' => out.push_str("ae"),
            'œ' | 'Œ' => out.push_str("oe"),
            c => out.extend(c.to_lowercase()),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spellings_of_one_text_fold_to_one() {
        for (text, folded) in [
            ("  Bore\u{a0}hole  1 ", "bore hole 1"),
            ("26–118", "26-118"),
            ("26−118", "26-118"),
            ("ＢＨ１", "bh1"),
            ("Forêt", "foret"),
            ("Wykryto ŁÓDŹ", "wykryto lodz"),
            ("Straße", "strasse"),
            ("påvist", "pavist"),
            ("\u{feff}A\u{200b}B", "ab"),
        ] {
            assert_eq!(fold(text), folded, "{text:?}");
        }
    }

    proptest! {
        #[test]
        fn ascii_folds_as_any_text(text in "[ -~\0\t\r\n\x0b\x0c\x1f]{0,12}") {
            prop_assert_eq!(fold_ascii(&text), fold_any(&text));
        }
    }

    #[test]
    fn digits_are_never_folded_away() {
        assert_ne!(fold("BH 1"), fold("BH 11"));
        assert_ne!(fold("26-118"), fold("26118"));
    }

    #[test]
    fn squash_keeps_case_and_borrows_what_is_clean() {
        assert!(matches!(squash(" Na mg/l "), Cow::Borrowed("Na mg/l")));
        assert_eq!(squash("Na\u{a0} \nmg/l"), "Na mg/l");
    }
}
