//! Takes headings apart. A heading is read only when every token of it is explained: one name, at most
//! one unit, basis, fraction and temperature, and words known to say nothing else. What is left over
//! makes the whole heading unknown; nothing is found inside a longer word.

use super::analyte::Fraction;
use super::context::HeadingContext;
use super::heading::{Heading, Meaning};
use super::marks::{basis_ends, footnote_at, leads_to_temperature, temperature_at};
use super::tokens::{Kind, Tokens};
use super::words::{Around, Hit, Named};
use super::{Basis, Field, Unit, Vocabulary};
use std::cell::Cell;

/// Longer texts are sentences, not headings.
const LONGEST_HEADING: usize = 40;
/// A heading that cannot be explained within this many steps is not explained.
const MOST_STEPS: u32 = 600;

/// One run of tokens explained.
#[derive(Clone, Debug)]
pub(super) enum Piece {
    Name {
        hit: Hit,
        sure: bool,
    },
    Unit {
        unit: Unit,
        basis: Option<Basis>,
        weak: bool,
    },
    /// `stated`: introduced by 'as'.
    Basis {
        basis: Basis,
        stated: bool,
    },
    Fraction(Fraction),
    Temperature(f64),
    Nothing,
}

#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub(super) piece: Piece,
    pub(super) from: usize,
    pub(super) to: usize,
}

pub(super) struct Reader<'v> {
    pub(super) vocabulary: &'v Vocabulary,
    context: &'v HeadingContext,
    /// Whether the context was asked for anything.
    asked: Cell<bool>,
}

/// A species in the signs of quantity calculus or of its concentration: "c(Ca)/(mg/L)", "ρ(NO3-)/mg·L-1",
/// "[SO4]2- (mg/l)", as journals and Chinese standards write them, or all its signs made points; the same with its
/// own signs.
fn unwrapped(text: &str) -> Option<String> {
    // "Ca..mg.L.1." is what a statistics language makes of "Ca (mg L-1)": all signs are points.
    if let Some((name, unit)) = text
        .split_once("..")
        .filter(|(_, unit)| !unit.contains(".."))
    {
        let unit = unit.trim_end_matches('.');
        return Some(match unit.strip_suffix(".1") {
            Some(per) => format!("{name} ({} -1)", per.replace('.', " ")).replace(" -1", "-1"),
            None => format!("{name} ({})", unit.replace('.', "/")),
        });
    }
    let (open, close) = ["c(", "C(", "ρ(", "["].iter().find_map(|sign| {
        let rest = text.strip_prefix(sign)?;
        Some((rest, if *sign == "[" { ']' } else { ')' }))
    })?;
    let mut depth = 0usize;
    let end = open.find(|c: char| match c {
        '(' => {
            depth += 1;
            false
        }
        c if c == close && depth == 0 => true,
        ')' => {
            depth = depth.saturating_sub(1);
            false
        }
        _ => false,
    })?;
    let (species, rest) = (&open[..end], &open[end + close.len_utf8()..]);
    // A charge behind the bracket belongs to the species, a stroke leads to the unit.
    let rest = rest
        .strip_prefix('/')
        .map_or_else(|| rest.to_owned(), |unit| format!(" {unit}"));
    Some(format!("{species}{rest}"))
}

impl<'v> Reader<'v> {
    pub(super) fn new(vocabulary: &'v Vocabulary, context: &'v HeadingContext) -> Self {
        Self {
            vocabulary,
            context,
            asked: Cell::new(false),
        }
    }

    pub(super) fn context(&self) -> &HeadingContext {
        self.asked.set(true);
        self.context
    }

    /// Whether another context could have made a difference to what was read.
    pub(super) const fn has_asked(&self) -> bool {
        self.asked.get()
    }

    pub(super) fn heading(&self, tokens: &Tokens) -> Heading {
        if tokens.len() == 0 || tokens.len() > LONGEST_HEADING {
            return Heading::default();
        }
        // Words of identity are compared whole, before anything is taken apart.
        if let Some(heading) = self.field(tokens) {
            return heading;
        }
        let explained = |tokens: &Tokens| self.explain(tokens, 0, &mut Vec::new(), &mut 0);
        let text = || tokens.text(0, tokens.len());
        let read = explained(tokens)
            .or_else(|| explained(&Tokens::of(&unwrapped(&text())?)))
            .unwrap_or_default();
        // 'Bore' is boron in French and a borehole in English: what nothing settles is the word.
        match (&read.meaning, self.word(tokens)) {
            (Meaning::Ambiguous(_), Some(field)) => Heading {
                meaning: Meaning::Field(field),
                ..Heading::default()
            },
            _ => read,
        }
    }

    /// Each run of tokens with what it was taken for.
    pub(super) fn explained(&self, text: &str) -> Vec<(String, String)> {
        let tokens = Tokens::of(text);
        if tokens.len() == 0 || tokens.len() > LONGEST_HEADING || self.field(&tokens).is_some() {
            return Vec::new();
        }
        let mut pieces = Vec::new();
        if self.explain(&tokens, 0, &mut pieces, &mut 0).is_none() {
            return Vec::new();
        }
        let told = |placed: &Placed| match &placed.piece {
            Piece::Name { hit, .. } => Some(self.told_name(hit)),
            Piece::Unit { unit, basis, .. } => Some(match basis {
                Some(basis) => format!("unit {}, counted as {basis}", unit.code),
                None => format!("unit {}", unit.code),
            }),
            Piece::Basis { basis, .. } => Some(format!("counted as {basis}")),
            Piece::Fraction(fraction) => Some(fraction.to_string()),
            Piece::Temperature(t) => Some(format!("at {t} °C")),
            Piece::Nothing => tokens.list[placed.from..placed.to]
                .iter()
                .any(|t| t.kind != Kind::Mark)
                .then(|| "says nothing of what it is".to_string()),
        };
        pieces
            .iter()
            .filter_map(|p| told(p).map(|told| (tokens.text(p.from, p.to), told)))
            .collect()
    }

    fn told_name(&self, hit: &Hit) -> String {
        let kind = if hit.symbol { "symbol" } else { "name" };
        match &hit.named {
            Named::Analyte(id) => format!("{kind} of {}", self.vocabulary.analyte(*id).code),
            Named::Ambiguous(_) => format!("{kind} with several meanings"),
        }
    }

    fn field(&self, tokens: &Tokens) -> Option<Heading> {
        let words = &self.vocabulary.words;
        let mut to = tokens.len();
        while to > 1
            && (tokens.list[to - 1].is(':')
                || tokens.list[to - 1].is('.')
                || tokens.list[to - 1].is('*'))
        {
            to -= 1;
        }
        let whole = tokens.word_key(0, to);
        if self.names_analyte(tokens, to) {
            return None;
        }
        // "VALUE_VALEUR": the same word in two languages.
        let twice = || {
            let mut halves = (1..to).filter(|at| tokens.list[*at].gap).filter_map(|at| {
                let first = words.find_field(&tokens.word_key(0, at))?;
                (words.find_field(&tokens.word_key(at, to)) == Some(first)).then_some(first)
            });
            halves.next()
        };
        if let Some(field) = words.find_field(&whole).or_else(twice) {
            return Some(Heading {
                meaning: Meaning::Field(field),
                ..Heading::default()
            });
        }
        // A bracket at the end: 'Sampled (dd.mm.yyyy)', 'LOD (mg/l)'.
        let open = tokens.list[..to]
            .iter()
            .rposition(|t| t.is('(') || t.is('['))?;
        let closed = tokens.list[to - 1].is(')') || tokens.list[to - 1].is(']');
        if open == 0 || !closed {
            return None;
        }
        if self.names_analyte(tokens, open) {
            return None;
        }
        let field = words.find_field(&tokens.word_key(0, open))?;
        let mut heading = Heading {
            meaning: Meaning::Field(field),
            ..Heading::default()
        };
        if let Some(found) = words.find_unit(&tokens.unit_key(open + 1, to - 1)) {
            heading.unit = Some(found.unit.clone());
            heading.unit_text = Some(tokens.text(open + 1, to - 1));
        }
        Some(heading)
    }

    /// The whole heading as a word of identity.
    fn word(&self, tokens: &Tokens) -> Option<Field> {
        let key = tokens.word_key(0, tokens.len());
        self.vocabulary.words.find_field(&key)
    }

    fn names_analyte(&self, tokens: &Tokens, to: usize) -> bool {
        let words = &self.vocabulary.words;
        words.find_name(&tokens.word_key(0, to)).is_some()
            || tokens.symbol_key(0, to).is_some_and(|key| {
                words.find_symbol(&key).is_some()
                    || words.find_caseless(&key).is_some() && self.context().all_small
            })
    }

    /// Depth first, longest pieces first; the first whole explanation that makes sense.
    fn explain(
        &self,
        tokens: &Tokens,
        from: usize,
        pieces: &mut Vec<Placed>,
        steps: &mut u32,
    ) -> Option<Heading> {
        *steps += 1;
        if *steps > MOST_STEPS {
            return None;
        }
        if from == tokens.len() {
            return self.assemble(tokens, pieces);
        }
        for (to, piece) in self.pieces_at(tokens, from, pieces) {
            pieces.push(Placed { piece, from, to });
            if let Some(heading) = self.explain(tokens, to, pieces, steps) {
                return Some(heading);
            }
            pieces.pop();
        }
        None
    }

    fn pieces_at(&self, tokens: &Tokens, from: usize, before: &[Placed]) -> Vec<(usize, Piece)> {
        let words = &self.vocabulary.words;
        let mut found = Vec::new();
        let end = tokens.len().min(from + words.longest);
        let introduced = self.is_introduced(tokens, before);
        let mut is_basis = false;
        if let Some((to, t)) = temperature_at(tokens, from) {
            found.push((to, Piece::Temperature(t)));
        }
        for to in (from + 1..=end).rev() {
            let word_key = tokens.word_key(from, to);
            let symbol_key = tokens.symbol_key(from, to);
            let as_what = || {
                self.stated_basis(&word_key, symbol_key.as_deref())
                    .or_else(|| self.species_with_sign(tokens, (from, to)))
            };
            if introduced && let Some(basis) = as_what() {
                is_basis = true;
                found.extend(basis_ends(tokens, to).map(|to| {
                    (
                        to,
                        Piece::Basis {
                            basis: basis.clone(),
                            stated: true,
                        },
                    )
                }));
            }
            // What follows 'as' is what is counted, not one more name: 'NO3-N as NO3'.
            if is_basis {
                continue;
            }
            let last_is_word =
                tokens.list[to - 1].kind != Kind::Mark || tokens.list[to - 1].is(')');
            // 'TIN' is not the metal just because 'tin' is: the exact symbol goes first.
            let exact = symbol_key.as_deref().and_then(|k| words.find_symbol(k));
            if (last_is_word || tokens.list[from].kind == Kind::Mark)
                && let Some(hit) = words.find_name(&word_key)
                && exact.is_none_or(|e| e.named == hit.named)
            {
                found.push((
                    to,
                    Piece::Name {
                        hit: hit.clone(),
                        sure: true,
                    },
                ));
            }
            if let Some(key) = &symbol_key {
                self.symbols_at(tokens, from, to, key, &mut found);
            }
            if let Some(s) = words.find_unit(&tokens.unit_key(from, to)) {
                found.push((
                    to,
                    Piece::Unit {
                        unit: s.unit.clone(),
                        basis: s.basis.clone(),
                        weak: s.weak,
                    },
                ));
            } else if let Some((unit, basis)) = self.unit_with_species(tokens, from, to) {
                found.push((
                    to,
                    Piece::Unit {
                        unit,
                        basis: Some(basis),
                        weak: false,
                    },
                ));
            }
            if let Some(basis) = symbol_key.as_deref().and_then(|k| self.bare_basis(k)) {
                found.push((
                    to,
                    Piece::Basis {
                        basis,
                        stated: false,
                    },
                ));
            }
            for around in words.find_around(&word_key) {
                found.push((
                    to,
                    match around {
                        Around::Fraction(f) => Piece::Fraction(*f),
                        Around::Aside => Piece::Nothing,
                        Around::Intro if self.leads_to_basis(tokens, to) => Piece::Nothing,
                        Around::At if leads_to_temperature(tokens, to) => Piece::Nothing,
                        Around::Intro | Around::At => continue,
                    },
                ));
            }
        }
        if let Some(to) = footnote_at(tokens, from) {
            found.push((to, Piece::Nothing));
        }
        let first = &tokens.list[from];
        // '_f' behind a name is 'field' in some files and 'filtered' in others: it says nothing.
        if from > 0 && first.text == "f" && first.gap && from + 1 == tokens.len() {
            found.push((from + 1, Piece::Nothing));
        }
        if first.kind == Kind::Mark && ",;:|()[]{}-/.\"'*†‡#^".contains(first.text.as_str()) {
            found.push((from + 1, Piece::Nothing));
        }
        found
    }

    /// Whether 'as' stands before: directly, before a bracket ('as (N)'), or before a unit ('as mg/L HCO3').
    fn is_introduced(&self, tokens: &Tokens, before: &[Placed]) -> bool {
        before
            .iter()
            .rev()
            .take(3)
            .find(|p| {
                let bracket = tokens.list[p.from].is('(') || tokens.list[p.from].is(':');
                !bracket && !matches!(p.piece, Piece::Unit { .. })
            })
            .is_some_and(|p| {
                matches!(p.piece, Piece::Nothing)
                    && self
                        .vocabulary
                        .words
                        .find_around(&tokens.word_key(p.from, p.to))
                        .contains(&Around::Intro)
            })
    }

    /// A basis after 'as'; case does not matter there.
    fn stated_basis(&self, word_key: &str, symbol_key: Option<&str>) -> Option<Basis> {
        if let Some(basis) = self.vocabulary.words.find_species(word_key) {
            return Some(basis.clone());
        }
        let key = symbol_key?.to_lowercase();
        self.vocabulary
            .bases
            .iter()
            .find(|b| b.0.to_lowercase() == key)
            .cloned()
    }

    /// A formula that stands for a basis without 'as': exact, or longer than an element's symbol.
    fn bare_basis(&self, key: &str) -> Option<Basis> {
        self.vocabulary
            .bases
            .iter()
            .find(|b| b.0 == key || key.len() > 3 && b.0.eq_ignore_ascii_case(key))
            // What is also a name is weighed as a name: 'hardness Ca' is not hardness as Ca.
            .filter(|b| self.vocabulary.words.find_symbol(&b.0).is_none())
            .cloned()
    }

    fn leads_to_basis(&self, tokens: &Tokens, from: usize) -> bool {
        let from = if tokens
            .list
            .get(from)
            .is_some_and(|t| t.is('(') || t.is(':'))
        {
            from + 1
        } else {
            from
        };
        let end = tokens.len().min(from + 8);
        (from + 1..=end).any(|to| {
            let symbol = tokens.symbol_key(from, to);
            self.stated_basis(&tokens.word_key(from, to), symbol.as_deref()).is_some()
                // 'as mg/L HCO3'
                || self.vocabulary.words.find_unit(&tokens.unit_key(from, to)).is_some()
        })
    }

    /// `NO3-N`, `N-NO3` between the tokens.
    fn species_with_sign(&self, tokens: &Tokens, (from, to): (usize, usize)) -> Option<Basis> {
        let sign = (from + 1..to - 1).find(|i| tokens.list[*i].is('-'))?;
        let hit = |from, to| {
            self.vocabulary
                .words
                .find_symbol(&tokens.symbol_key(from, to)?)
        };
        let (first, second) = (hit(from, sign)?, hit(sign + 1, to)?);
        self.counted_in(
            tokens,
            &[(first, true, from, sign), (second, true, sign + 1, to)],
        )
    }

    /// `mg N/l`, `mgO2/l`, `µg P per litre`, `mg N L-1`, `mg{NO3}/L`.
    fn unit_with_species(&self, tokens: &Tokens, from: usize, to: usize) -> Option<(Unit, Basis)> {
        if to - from < 4 {
            return None;
        }
        let units = &self.vocabulary.units;
        let head = tokens.unit_key(from, from + 1);
        let numerator = units.numerators.iter().find(|p| p.text == head)?;
        let raised = (tokens.list[to - 1].text == "1" && tokens.list[to - 2].is('-'))
            .then(|| to - 2 - usize::from(tokens.list[to - 3].is('^')));
        (from + 2..to - 1).find_map(|slash| {
            let joiner = &tokens.list[slash];
            let tail = match raised {
                _ if joiner.is('/') || joiner.text == "per" => tokens.unit_key(slash + 1, to),
                Some(end) if slash < end => tokens.unit_key(slash, end),
                _ => return None,
            };
            let per = units.pers.iter().find(|p| p.text == tail)?;
            let (first, last) = (&tokens.list[from + 1], &tokens.list[slash - 1]);
            let inside = if first.is('(') && last.is(')') || first.is('{') && last.is('}') {
                (from + 2, slash - 1)
            } else {
                (from + 1, slash)
            };
            if inside.0 >= inside.1 {
                return None;
            }
            let key = tokens.symbol_key(inside.0, inside.1)?;
            let plain = self.vocabulary.bases.iter().find(|b| b.0 == key).cloned();
            let basis = plain.or_else(|| self.species_with_sign(tokens, inside))?;
            let unit = self.vocabulary.composed(numerator, per)?;
            Some((unit, basis))
        })
    }
}
