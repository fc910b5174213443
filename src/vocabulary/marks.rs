//! What stands around a name without being a word: temperatures, footnotes, signs behind a basis.

use super::tokens::{Kind, Tokens};

/// After a basis a charge sign may stand: 'as NO3-'.
pub(super) fn basis_ends(tokens: &Tokens, to: usize) -> impl Iterator<Item = usize> {
    let signed = tokens
        .list
        .get(to)
        .is_some_and(|t| (t.is('-') || t.is('+')) && !t.gap);
    signed.then_some(to + 1).into_iter().chain([to])
}

/// `25 °C`, `25°C`, `25 deg C`, or a bare 20 or 25 at the end of a conductivity's name.
pub(super) fn temperature_at(tokens: &Tokens, from: usize) -> Option<(usize, f64)> {
    let token = |i: usize| tokens.list.get(i);
    let first = token(from).filter(|t| t.kind == Kind::Number && t.text.len() <= 3)?;
    let mut t: f64 = first.text.parse().ok()?;
    let mut to = from + 1;
    let fraction = token(to + 1).filter(|t| t.kind == Kind::Number && t.text.len() == 1);
    if let (Some(_), Some(digit)) = (token(to).filter(|t| t.is('.') || t.is(',')), fraction) {
        t += digit.text.parse::<f64>().ok()? / 10.0;
        to += 2;
    }
    let degree = token(to).is_some_and(|t| t.is('°'));
    to += usize::from(degree);
    let word = token(to).map(|t| t.text.as_str());
    match word {
        Some("C" | "c") => Some((to + 1, t)),
        Some("deg" | "degrees" | "degree" | "grad" | "Grad" | "grados" | "gradi")
            if token(to + 1).is_some_and(|t| matches!(t.text.as_str(), "C" | "Celsius")) =>
        {
            Some((to + 2, t))
        }
        Some("degC" | "Celsius") => Some((to + 1, t)),
        _ if degree => Some((to, t)),
        // EC25, Lf20, κ25
        _ if from > 0
            && matches!(first.text.as_str(), "20" | "25")
            && !first.gap
            && to == from + 1 =>
        {
            Some((to, t))
        }
        _ => None,
    }
}

pub(super) fn leads_to_temperature(tokens: &Tokens, from: usize) -> bool {
    temperature_at(tokens, from).is_some()
        || tokens.list.get(from).is_some_and(|t| t.is('='))
            && temperature_at(tokens, from + 1).is_some()
}

/// `1)`, `(1)`, `(a)` behind everything else; `[2]` and a raised digit anywhere behind a name. `(m)` and `(p)` are no
/// footnotes but alkalinities.
pub(super) fn footnote_at(tokens: &Tokens, from: usize) -> Option<usize> {
    if from == 0 {
        return None;
    }
    let token = |i: usize| tokens.list.get(i);
    let open = token(from).is_some_and(|t| t.is('(') || t.is('['));
    let raised = token(from).is_some_and(|t| t.is('^'));
    let at = from + usize::from(open || raised);
    let mark = token(at)?;
    let digit = mark.kind == Kind::Number && mark.text.len() == 1;
    let letter = open && mark.text.len() == 1 && mark.text.chars().all(|c| matches!(c, 'a'..='e'));
    if !(digit || letter) {
        return None;
    }
    let closed = token(at + 1).is_some_and(|t| t.is(')') || t.is(']'));
    match (raised, closed) {
        (true, false) => Some(at + 1),
        (_, true) => Some(at + 2),
        _ => None,
    }
    .filter(|to| {
        let apart = raised || token(from).is_some_and(|t| t.is('['));
        apart
            || (*to..tokens.len())
                .all(|i| tokens.list[i].kind == Kind::Mark || footnote_at(tokens, i).is_some())
    })
}
