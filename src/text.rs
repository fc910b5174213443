//! Text as people and machines spoil it, made comparable. A leaf: knows no words of the trade.
//!
//! `squash` undoes what typing, spreadsheets and encodings do to one and the same text; `fold` goes on
//! to take away what does not matter for words (case, accents). Neither is ever shown to a user.

use std::borrow::Cow;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// One spelling for look-alikes: compatibility forms (₃, ², ㎎, full width), all dashes and minus
/// signs to `-`, both micro signs to `µ`, ordinal and ring signs to `°`, every run of white space to one
/// space, none at the ends; invisible characters gone. Case and accents stay. Idempotent.
pub fn squash(text: &str) -> Cow<'_, str> {
    if is_plain(text) {
        return Cow::Borrowed(text);
    }
    settle(text, squash_once)
}

/// What one pass takes away can bring others together (a mark that now follows a letter), so passes
/// are made until nothing changes, or nothing is left that a pass changes. Two are enough for all but
/// made-up text; each further one is bounded.
fn settle<'a>(text: &str, pass: impl Fn(&str) -> String) -> Cow<'a, str> {
    const MOST_PASSES: usize = 16;
    let mut settled = text.to_owned();
    for _ in 0..=MOST_PASSES {
        let again = pass(&settled);
        let is_settled = again == settled || is_plain(&again);
        settled = again;
        if is_settled {
            break;
        }
    }
    Cow::Owned(settled)
}

fn squash_once(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    // Signs that NFKC would turn into letters are settled before it.
    let settled = text.chars().map(|c| match c {
        'º' | 'ª' | '˚' | '∘' | 'ᵒ' => '°',
        c => c,
    });
    for c in settled.nfkc() {
        match c {
            '\u{200b}'..='\u{200f}'
            | '\u{2060}'
            | '\u{feff}'
            | '\u{ad}'
            | '\u{202a}'..='\u{202e}' => {}
            '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{fe63}' | '\u{2043}' => out.push('-'),
            '\u{3bc}' | 'µ' => {
                // 'Âµ' is UTF-8 read as Latin-1.
                pop_mojibake(&mut out);
                out.push('µ');
            }
            '°' => {
                pop_mojibake(&mut out);
                out.push('°');
            }
            '’' | '‘' | '´' | '`' | '\u{2032}' => out.push('\''),
            c if c.is_whitespace() || c.is_control() => {
                if !out.is_empty() && !out.ends_with(' ') {
                    out.push(' ');
                }
            }
            c => out.push(c),
        }
    }
    if out.ends_with(' ') {
        out.pop();
    }
    out
}

fn pop_mojibake(out: &mut String) {
    if out.ends_with('Â') {
        out.pop();
    }
}

/// Whether a text has one spelling, which only its case tells from the folded one.
fn is_plain(text: &str) -> bool {
    text.chars()
        .all(|c| matches!(c, ' '..='_' | 'a'..='~' | 'µ' | '°'))
        && !text.starts_with(' ')
        && !text.ends_with(' ')
        && !text.contains("  ")
}

/// The words of a text: runs of letters and digits.
pub fn words(text: &str) -> impl DoubleEndedIterator<Item = &str> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
}

/// `squash`, then lower case without accents: how words are compared. Never for symbols of elements,
/// where case matters. Idempotent.
pub fn fold(text: &str) -> String {
    if is_plain(text) {
        return text.to_ascii_lowercase();
    }
    settle(text, fold_once).into_owned()
}

fn fold_once(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in squash(text).to_lowercase().nfd() {
        match c {
            c if is_combining_mark(c) => {}
            'ø' => out.push('o'),
            'æ' => out.push_str("ae"),
            'œ' => out.push_str("oe"),
            'ß' => out.push_str("ss"),
            'ł' => out.push('l'),
            'đ' | 'ð' => out.push('d'),
            'ı' => out.push('i'),
            // Lower case and decomposition can bring the Greek letter back.
            '\u{3bc}' => out.push('µ'),
            c => out.push(c),
        }
    }
    out
}

/// Signs with which a spreadsheet begins a formula, the full-width ones of East Asian settings included.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// The text as a field of a CSV, with a `'` wherever a spreadsheet would run what follows as a formula. A
/// cell begins with the field, and also behind a `;`, a tab or a line end within it: a spreadsheet set to
/// another separator than the comma cuts there, whatever the quotes say. Idempotent.
pub fn neutralised(text: &str) -> Cow<'_, str> {
    if !text.contains(FORMULA) && !text.starts_with(['\t', '\r', '\n']) {
        return Cow::Borrowed(text);
    }
    let mut safe = String::with_capacity(text.len() + 2);
    let mut begins_cell = true;
    for (at, c) in text.char_indices() {
        let runs = begins_cell && FORMULA.contains(&c);
        if runs || (at == 0 && matches!(c, '\t' | '\r' | '\n')) {
            safe.push('\'');
        }
        safe.push(c);
        // Quotes at the beginning of a cell are taken off it.
        begins_cell = matches!(c, ';' | '\t' | '\r' | '\n') || (begins_cell && c == '"');
    }
    Cow::Owned(safe)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn plain_text_folds_as_any_text(text in "[ -~µ°]{0,12}") {
            prop_assert_eq!(fold(&text), fold_once(&text));
            prop_assert_eq!(squash(&text), squash_once(&text));
        }
    }

    #[test]
    fn squash_makes_one_spelling() {
        for (name, text, expected) in [
            ("subscript", "NO₃", "NO3"),
            ("superscript charge", "SO₄²⁻", "SO42-"),
            ("micro sign", "\u{b5}g/l", "µg/l"),
            ("greek mu", "\u{3bc}g/l", "µg/l"),
            ("latin-1 reading", "Âµg/l", "µg/l"),
            ("square mg", "㎎/l", "mg/l"),
            ("ordinal as degree", "ºdH", "°dH"),
            ("kelvin-like sign", "℃", "°C"),
            ("no-break space", "mg\u{a0}/\u{202f}l", "mg / l"),
            ("minus", "Cl\u{2212}", "Cl-"),
            ("zero width", "Na\u{200b}+", "Na+"),
            ("lines", " Nitrate\r\n\tmg/l ", "Nitrate mg/l"),
            ("plain", "Ca mg/l", "Ca mg/l"),
        ] {
            assert_eq!(squash(text), expected, "{name}");
        }
    }

    #[test]
    fn fold_takes_case_and_accents() {
        for (text, expected) in [
            ("Leitfähigkeit", "leitfahigkeit"),
            ("Gesamthärte", "gesamtharte"),
            ("Opløst ILT", "oplost ilt"),
            ("Żelazo ogólne", "zelazo ogolne"),
            ("Größe", "grosse"),
        ] {
            assert_eq!(fold(text), expected);
        }
    }

    proptest! {
        #[test]
        fn both_are_idempotent(text in any::<String>()) {
            let squashed = squash(&text).into_owned();
            let again = squash(&squashed).into_owned();
            prop_assert_eq!(again, squashed);
            let folded = fold(&text);
            prop_assert_eq!(fold(&folded), folded.clone());
        }
    }
}
