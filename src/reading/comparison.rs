//! Signs and words before a number that say on which side of it the true value lies, or that it is an
//! estimate, in nine languages. Common practice, no single source.

use super::fold::{fold, is_blank};
use super::value::Bound;

/// A comparison sign or word at the head; gives the bound and the rest.
pub(super) fn comparison(text: &str) -> Option<(Bound, &str)> {
    const SIGNS: [(&str, Bound); 18] = [
        ("<=", Bound::Below),
        ("=<", Bound::Below),
        ("<<", Bound::Below),
        ("<", Bound::Below),
        ("≤", Bound::Below),
        ("⩽", Bound::Below),
        ("\u{ff1c}", Bound::Below),
        ("‹", Bound::Below),
        ("&lt;", Bound::Below),
        ("&le;", Bound::Below),
        (">=", Bound::Above),
        (">", Bound::Above),
        ("≥", Bound::Above),
        ("⩾", Bound::Above),
        ("\u{ff1e}", Bound::Above),
        ("›", Bound::Above),
        ("&gt;", Bound::Above),
        ("&ge;", Bound::Above),
    ];
    for (sign, bound) in SIGNS {
        if let Some(rest) = text.strip_prefix(sign) {
            return Some((bound, rest.trim_start_matches(is_blank)));
        }
    }
    let split = text.find(|c: char| c.is_ascii_digit())?;
    if !text.starts_with(char::is_alphabetic) {
        return None;
    }
    let folded = fold(&text[..split]);
    let at = COMPARISONS
        .binary_search_by_key(&folded.trim(), |(text, _)| text)
        .ok()?;
    Some((COMPARISONS[at].1, &text[split..]))
}

/// The bound of a text that is nothing but a comparison sign; `None` for every other.
pub fn sign(text: &str) -> Option<Bound> {
    comparison(text)
        .filter(|(_, rest)| rest.is_empty())
        .map(|(bound, _)| bound)
}

/// The bound that a text of nothing but words for one means ("less than", "GT").
pub fn bound_word(text: &str) -> Option<Bound> {
    let folded = fold(text);
    let at = COMPARISONS.binary_search_by_key(&folded.trim(), |(text, _)| text);
    at.ok().map(|at| COMPARISONS[at].1)
}

/// Sorted; folded.
const COMPARISONS: &[(&str, Bound)] = &[
    ("above", Bound::Above),
    ("below", Bound::Below),
    ("greater than", Bound::Above),
    ("groesser als", Bound::Above),
    ("grosser als", Bound::Above),
    ("groter dan", Bound::Above),
    ("gt", Bound::Above),
    ("inf. a", Bound::Below),
    ("inferieur a", Bound::Below),
    ("inferior a", Bound::Below),
    ("inferiore a", Bound::Below),
    ("kleiner", Bound::Below),
    ("kleiner als", Bound::Below),
    ("kleiner dan", Bound::Below),
    ("less than", Bound::Below),
    ("lt", Bound::Below),
    ("maior que", Bound::Above),
    ("mas de", Bound::Above),
    ("mayor a", Bound::Above),
    ("mayor que", Bound::Above),
    ("meer dan", Bound::Above),
    ("menor a", Bound::Below),
    ("menor de", Bound::Below),
    ("menor que", Bound::Below),
    ("menos de", Bound::Below),
    ("menos que", Bound::Below),
    ("mer an", Bound::Above),
    ("mer enn", Bound::Above),
    ("mere end", Bound::Above),
    ("minder dan", Bound::Below),
    ("mindre an", Bound::Below),
    ("mindre end", Bound::Below),
    ("mindre enn", Bound::Below),
    ("moins de", Bound::Below),
    ("more than", Bound::Above),
    ("onder", Bound::Below),
    ("over", Bound::Above),
    ("plus de", Bound::Above),
    ("ponizej", Bound::Below),
    ("powyzej", Bound::Above),
    ("sup. a", Bound::Above),
    ("superieur a", Bound::Above),
    ("superior a", Bound::Above),
    ("superiore a", Bound::Above),
    ("uber", Bound::Above),
    ("under", Bound::Below),
    ("unter", Bound::Below),
    ("более", Bound::Above),
    ("больше", Bound::Above),
    ("менее", Bound::Below),
    ("меньше", Bound::Below),
    ("не более", Bound::Below),
    ("свыше", Bound::Above),
];

/// Signs and words of an estimate before the number.
pub(super) fn approximation(text: &str) -> Option<&str> {
    if let Some(rest) = text.strip_prefix(['~', '≈', '∼', '≅', '≃']) {
        return Some(rest);
    }
    let split = text.find(|c: char| c.is_ascii_digit())?;
    let folded = fold(&text[..split]);
    is_estimate_word(&folded).then_some(&text[split..])
}

/// In nine languages, with and without the point of an abbreviation.
pub fn is_estimate_word(text: &str) -> bool {
    matches!(
        fold(text).trim().trim_end_matches('.'),
        "ca" | "c"
            | "circa"
            | "cirka"
            | "approx"
            | "approximately"
            | "about"
            | "est"
            | "estimated"
            | "estimate"
            | "etwa"
            | "ungefahr"
            | "geschatzt"
            | "ongeveer"
            | "geschat"
            | "env"
            | "environ"
            | "estime"
            | "aprox"
            | "aproximadamente"
            | "estimado"
            | "stimato"
            | "omkring"
            | "okolo"
            | "ok"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_sorted_unique_and_folded() {
        assert!(COMPARISONS.windows(2).all(|pair| pair[0].0 < pair[1].0));
        assert!(COMPARISONS.iter().all(|(text, _)| &fold(text) == text));
    }
}
