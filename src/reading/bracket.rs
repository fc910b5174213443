//! Brackets and footnote marks around a number.

use super::fold::is_blank;
use super::number::superscript_digit;

/// The inside of a text that is one bracket from its first to its last character.
pub(super) fn whole(text: &str) -> Option<&str> {
    let (inner, after) = leading(text)?;
    after.trim_matches(is_blank).is_empty().then_some(inner)
}

/// The inside of a bracket at the head of `text`, and what follows it. Nested brackets are none of
/// ours.
pub(super) fn leading(text: &str) -> Option<(&str, &str)> {
    let close = match text.chars().next()? {
        '(' => ')',
        '[' => ']',
        _ => return None,
    };
    let end = text.find(close)?;
    let inner = &text[1..end];
    (!inner.contains(['(', '['])).then_some((inner, &text[end + 1..]))
}

/// A footnote mark at the head of `text`: `*`, `¹`, `(a)`, `1)`, `a)`. Gives what follows it.
pub(super) fn note(text: &str) -> Option<&str> {
    let first = text.chars().next()?;
    if matches!(first, '*' | '†' | '‡' | '§' | '#' | '!') || superscript_digit(first).is_some()
    {
        return Some(&text[first.len_utf8()..]);
    }
    if matches!(first, 'ª' | 'ᵃ' | 'ᵇ' | 'ᶜ') {
        return Some(&text[first.len_utf8()..]);
    }
    if let Some((inner, after)) = leading(text) {
        let mut inside = inner.trim_matches(is_blank).chars();
        let single = inside
            .next()
            .is_some_and(|c| c.is_ascii_alphanumeric() || c == '*');
        return (single && inside.next().is_none()).then_some(after);
    }
    // "1)" or "a)" set off from the number by a blank.
    let mut rest = text.char_indices().skip(1);
    if first.is_ascii_alphanumeric() && rest.next() == Some((1, ')')) {
        return Some(&text[2..]);
    }
    None
}
