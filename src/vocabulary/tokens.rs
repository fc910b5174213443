//! A heading cut into tokens, and the keys under which runs of tokens are looked up. Knows no words.

use crate::text::{fold, squash};
use compact_str::CompactString;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Word,
    Number,
    Mark,
}

#[derive(Clone, Debug)]
pub(super) struct Token {
    pub(super) kind: Kind,
    pub(super) text: CompactString,
    folded: CompactString,
    /// A space or an underscore stands before it.
    pub(super) gap: bool,
    /// Place in the prepared text.
    pub(super) span: (usize, usize),
}

impl Token {
    pub(super) fn is(&self, mark: char) -> bool {
        self.kind == Kind::Mark && self.text.starts_with(mark)
    }
}

/// Signs over letters that are none themselves (Thai, Devanagari).
const fn is_vowel_mark(c: char) -> bool {
    matches!(c, '\u{e47}'..='\u{e4e}' | '\u{94d}')
}

/// Letters of Chinese and Japanese, and Korean syllables, which are written without spaces.
const fn is_ideograph(c: char) -> bool {
    matches!(c, '\u{3040}'..='\u{30ff}' | '\u{3400}'..='\u{9fff}' | '\u{ac00}'..='\u{d7af}')
}

/// A text and its tokens.
#[derive(Debug)]
pub(super) struct Tokens {
    prepared: String,
    pub(super) list: Vec<Token>,
}

/// Squashed, with `^` before what stood raised, so that charges and exponents keep apart from the
/// digits that squashing brings down beside them.
fn prepare(text: &str) -> String {
    if text.is_ascii() {
        return squash(text).into_owned();
    }
    let mut out = String::with_capacity(text.len() + 4);
    let mut raised = false;
    for c in text.chars() {
        let up = matches!(c, '⁰' | '¹' | '²' | '³' | '⁴'..='⁹' | '⁺' | '⁻' | '⁼');
        if up && !raised {
            out.push('^');
        }
        raised = up;
        out.push(match c {
            '·' | '•' | '∙' | '⋅' => '.',
            '⁼' => '=',
            c => c,
        });
    }
    squash(&out).into_owned()
}

impl Tokens {
    pub(super) fn of(text: &str) -> Self {
        let prepared = prepare(text);
        let mut list: Vec<Token> = Vec::new();
        let mut gap = false;
        let mut chars = prepared.char_indices().peekable();
        while let Some((start, first)) = chars.next() {
            if first == ' ' || first == '_' {
                gap = true;
                continue;
            }
            let kind = match first {
                c if c.is_alphabetic() => Kind::Word,
                c if c.is_ascii_digit() => Kind::Number,
                _ => Kind::Mark,
            };
            let mut end = start + first.len_utf8();
            let mut last = first;
            if kind != Kind::Mark {
                while let Some(&(at, c)) = chars.peek() {
                    let same = match kind {
                        // A capital after a small letter starts a word of its own: 'mgL', 'NaCl'.
                        // A Chinese word ends where Latin letters begin: '以CaCO3计'.
                        Kind::Word => {
                            (c.is_alphabetic() || is_vowel_mark(c))
                                && !(last.is_lowercase() && c.is_uppercase())
                                && is_ideograph(last) == is_ideograph(c)
                        }
                        _ => c.is_ascii_digit(),
                    };
                    if !same {
                        break;
                    }
                    end = at + c.len_utf8();
                    last = c;
                    chars.next();
                }
            }
            let text = &prepared[start..end];
            list.push(Token {
                kind,
                text: text.into(),
                folded: folded(text),
                gap,
                span: (start, end),
            });
            gap = false;
        }
        Self { prepared, list }
    }

    pub(super) fn len(&self) -> usize {
        self.list.len()
    }

    /// The text of a run of tokens as it stood, without our own marks.
    pub(super) fn text(&self, from: usize, to: usize) -> String {
        match (
            self.list.get(from),
            to.checked_sub(1).and_then(|i| self.list.get(i)),
        ) {
            (Some(first), Some(last)) if from < to => {
                self.prepared[first.span.0..last.span.1].replace('^', "")
            }
            _ => String::new(),
        }
    }

    /// Key of a word label: no spaces, hyphens, dots or apostrophes inside, no case, no accents. A
    /// sign at the front counts ('-p-Wert').
    pub(super) fn word_key(&self, from: usize, to: usize) -> String {
        let mut key = String::new();
        for (i, token) in self.list[from..to].iter().enumerate() {
            let first = i == 0;
            match token.kind {
                Kind::Mark => match token.text.as_str() {
                    "." | "'" | "^" => {}
                    "-" if !first => {}
                    "," if !first => {}
                    mark => key.push_str(mark),
                },
                _ => key.push_str(&token.folded),
            }
        }
        key
    }

    /// Key of a symbol: case kept; hyphens and dots inside fall away. `None` when a space stands inside.
    pub(super) fn symbol_key(&self, from: usize, to: usize) -> Option<String> {
        let mut key = String::new();
        for (i, token) in self.list[from..to].iter().enumerate() {
            if i > 0 && token.gap {
                return None;
            }
            match token.text.as_str() {
                "." | "^" => {}
                "-" if i > 0 && i + 1 < to - from => {}
                text => key.push_str(text),
            }
        }
        Some(key)
    }

    /// Key of a unit, case kept: no spaces, dots or raising marks.
    pub(super) fn unit_key(&self, from: usize, to: usize) -> String {
        self.list[from..to]
            .iter()
            .filter(|t| !t.is('.') && !t.is('^'))
            .map(|t| t.text.as_str())
            .collect()
    }
}

/// One token folded: most are of ASCII, and short enough to need no allocation.
fn folded(text: &str) -> CompactString {
    if !text.is_ascii() {
        return fold(text).into();
    }
    let mut folded = CompactString::from(text);
    folded.make_ascii_lowercase();
    folded
}

/// Keys of a whole text of a table.
pub(super) fn word_key(text: &str) -> String {
    let tokens = Tokens::of(text);
    tokens.word_key(0, tokens.len())
}

pub(super) fn unit_key(text: &str) -> String {
    let mut key = prepare(text);
    key.retain(|c| !matches!(c, ' ' | '_' | '.' | '^'));
    key
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_key_of_a_unit_is_that_of_its_tokens(text in "[a-zA-Zµ0-9 _.^/·²³⁻¹°()-]{0,12}") {
            let tokens = Tokens::of(&text);
            prop_assert_eq!(unit_key(&text), tokens.unit_key(0, tokens.len()));
        }
    }
}
