//! Symbols of elements and ions in a heading: their letter case, their charge in all its spellings.

use super::formula::Formula;
use super::reader::{Piece, Reader};
use super::tokens::{Kind, Tokens};
use super::words::{Hit, Named};

impl Reader<'_> {
    pub(super) fn symbols_at(
        &self,
        tokens: &Tokens,
        from: usize,
        to: usize,
        key: &str,
        found: &mut Vec<(usize, Piece)>,
    ) {
        let words = &self.vocabulary.words;
        let exact = words.find_symbol(key);
        let hit = exact.or_else(|| {
            words
                .find_caseless(key)
                .filter(|_| tokens.list[from].kind == Kind::Word)
        });
        if let Some(hit) = hit {
            let sure = exact.is_some() || self.believes_case(key);
            if sure || may_be_capitals(key) {
                let piece = || Piece::Name {
                    hit: hit.clone(),
                    sure,
                };
                let mut ends = self.charge_ends(tokens, to, hit, key);
                ends.push(to);
                found.extend(ends.into_iter().map(|to| (to, piece())));
            }
        }
        // 'SO42-': subscript and charge run together.
        let last = &tokens.list[to - 1];
        if last.kind == Kind::Number && last.text.len() == 2 && key.len() > 2 {
            let (short, size) = key.split_at(key.len() - 1);
            let (hit, size) = (words.find_symbol(short), size.parse::<i8>());
            if let (Some(hit), Ok(size)) = (hit, size) {
                let charge = match hit.named {
                    Named::Analyte(id) => self.vocabulary.analyte(id).charge,
                    Named::Ambiguous(_) => 0,
                };
                let phosphate = hit.basis.as_ref().is_some_and(|b| b.0 == "PO4") && size <= 3;
                let sign = if charge > 0 { '+' } else { '-' };
                let signed = tokens.list.get(to).is_some_and(|t| t.is(sign));
                if signed && (i16::from(charge).abs() == i16::from(size) || phosphate) {
                    found.push((
                        to + 1,
                        Piece::Name {
                            hit: hit.clone(),
                            sure: true,
                        },
                    ));
                }
            }
        }
        // A lost subscript leaves a symbol that only its charge makes certain.
        if let Some(id) = words.charged.get(key) {
            let analyte = self.vocabulary.analyte(*id);
            let hit = Hit {
                named: Named::Analyte(*id),
                basis: analyte.basis.clone(),
                fraction: None,
                symbol: true,
            };
            for end in self.charge_ends(tokens, to, &hit, key) {
                found.push((
                    end,
                    Piece::Name {
                        hit: hit.clone(),
                        sure: true,
                    },
                ));
            }
        }
    }

    /// Whether a symbol in the wrong case is meant as one: `hco3` always, `ca` where the sheet's other
    /// headings are all in small letters, `CA` where they are all capitals.
    fn believes_case(&self, key: &str) -> bool {
        let letters = key.chars().filter(|c| c.is_alphabetic()).count();
        let digits = key.chars().any(|c| c.is_ascii_digit());
        let one_case = !key.chars().any(char::is_uppercase) || !key.chars().any(char::is_lowercase);
        if !one_case {
            return false;
        }
        if letters >= 2 && digits && !key.eq_ignore_ascii_case("co2") {
            return true;
        }
        if key.chars().any(char::is_uppercase) {
            self.context().all_capitals
        } else {
            self.context().all_small
        }
    }

    /// Where a charge that fits the ion can end: `2+`, `+2`, `++`, `(2+)`, `=`, `-`.
    fn charge_ends(&self, tokens: &Tokens, from: usize, hit: &Hit, key: &str) -> Vec<usize> {
        let Named::Analyte(id) = hit.named else {
            return Vec::new();
        };
        let analyte = self.vocabulary.analyte(id);
        let mut ends = Vec::new();
        let charge = match analyte.code.as_str() {
            "sulfide" => -2,
            _ => analyte.charge,
        };
        if charge == 0 {
            return ends;
        }
        let (mark, size) = (
            if charge > 0 { '+' } else { '-' },
            u32::from(charge.unsigned_abs()),
        );
        // Phosphate is charged by pH, iron by oxygen; journals print what they like.
        let sizes: &[u32] = match (analyte.code.as_str(), key) {
            ("phosphate", _) => &[1, 2, 3],
            ("iron", _) => &[2, 3],
            _ => &[],
        };
        let fits = |n: u32| n == size || sizes.contains(&n);
        let token = |i: usize| tokens.list.get(i);
        let number = |i: usize| {
            token(i)
                .filter(|t| t.kind == Kind::Number)
                .and_then(|t| t.text.parse::<u32>().ok())
        };
        let mut at = from;
        let open = token(at).is_some_and(|t| t.is('(') || t.is('['));
        at += usize::from(open);
        at += usize::from(token(at).is_some_and(|t| t.is('^')));
        let mut close = |at: usize| {
            if !open {
                ends.push(at);
            } else if token(at).is_some_and(|t| t.is(')') || t.is(']')) {
                ends.push(at + 1);
            }
        };
        // 2+
        if number(at).is_some_and(fits) && token(at + 1).is_some_and(|t| t.is(mark)) {
            close(at + 2);
        }
        let run = (at..tokens.len())
            .take_while(|i| tokens.list[*i].is(mark))
            .count();
        if run > 0 {
            // +2
            if run == 1 && number(at + 1).is_some_and(fits) {
                close(at + 2);
            }
            if run == 1 || u32::try_from(run).is_ok_and(fits) {
                close(at + run);
            }
        }
        if mark == '-' && size == 2 && token(at).is_some_and(|t| t.is('=')) {
            close(at + 1);
        }
        // A raised sign that got lost: 'Ca2' for Ca2+. Only metals of charge 2 without digits of their own.
        let lost = !open
            && charge == 2
            && key.len() <= 2
            && token(at).is_some_and(|t| !t.gap)
            && number(at) == Some(2);
        if lost {
            ends.push(at + 1);
        }
        ends
    }
}

/// `CL` can only be chlorine badly written; `CO`, `PB` and `NI` are also formulas, so they need more.
fn may_be_capitals(key: &str) -> bool {
    key.len() == 2 && key.chars().all(|c| c.is_ascii_uppercase()) && Formula::parse(key).is_none()
}
