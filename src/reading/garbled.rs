//! Texts that are no number: what broke them, as far as that can be seen. Suggestions only.

use super::fold::{fold, narrow};
use super::value::Unread;

/// A reason closer to what the user sees, for texts that are no number at all.
pub(super) fn refine(text: &str, unread: Unread) -> Unread {
    if !matches!(unread, Unread::NotANumber) {
        return unread;
    }
    let folded = fold(text);
    let bare = folded.trim_start_matches(['+', '-']);
    if matches!(
        bare,
        "nan" | "inf" | "infinity" | "∞" | "1.#inf" | "1.#qnan" | "-nan(ind)"
    ) {
        return Unread::NotFinite;
    }
    if folded.starts_with('#') && folded.ends_with(['!', '?', '/', 'a'])
        || folded.starts_with("err:")
    {
        return Unread::FormulaError;
    }
    match garbled(text) {
        Some(suggestion) => Unread::Garbled(suggestion),
        None => Unread::NotANumber,
    }
}

/// What a broken number may have been: letters that look like digits, doubled signs, lost signs.
fn garbled(text: &str) -> Option<String> {
    if text.len() > 16 {
        return None;
    }
    let mut repaired = String::with_capacity(text.len());
    let mut digits = 0;
    for c in text.chars() {
        let c = match narrow(c) {
            'O' | 'o' | 'Q' | 'D' => '0',
            'l' | 'I' | '|' | 'i' | '!' => '1',
            'Z' | 'z' => '2',
            'S' | 's' => '5',
            'B' => '8',
            c => c,
        };
        match c {
            '0'..='9' => digits += 1,
            '.' | ',' | ' ' | '<' | '-' => {}
            _ => return None,
        }
        let doubled = matches!(c, '.' | ',') && repaired.ends_with(c);
        if !doubled {
            repaired.push(c);
        }
    }
    let has_digit = text.contains(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','));
    (digits > 0 && has_digit && repaired != text || repaired.contains(' ') && digits > 1)
        .then_some(repaired)
}
