//! Takes headings apart. A heading is read only when every token of it is explained: one name, at most
//! one unit, basis, fraction and temperature, and words known to say nothing else. What is left over
//! makes the whole heading unknown; nothing is found inside a longer word.

use super::analyte::{AnalyteId, Fraction};
use super::context::HeadingContext;
use super::heading::{Heading, Meaning};
use super::tables::{Candidate, SheetKind};
use super::tokens::{Kind, Tokens};
use super::words::{Around, Hit, Named};
use super::{Basis, Dimension, Refusal, Silent, Unit, Vocabulary};

/// Longer texts are sentences, not headings.
const LONGEST_HEADING: usize = 40;
/// A heading that cannot be explained within this many steps is not explained.
const MOST_STEPS: u32 = 4000;

/// One run of tokens explained.
#[derive(Clone, Debug)]
enum Piece {
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
struct Placed {
    piece: Piece,
    from: usize,
    to: usize,
}

pub(super) struct Reader<'v> {
    pub(super) vocabulary: &'v Vocabulary,
    pub(super) context: &'v HeadingContext,
}

impl Reader<'_> {
    pub(super) fn heading(&self, text: &str) -> Heading {
        let tokens = Tokens::of(text);
        if tokens.len() == 0 || tokens.len() > LONGEST_HEADING {
            return Heading::default();
        }
        // Words of identity are compared whole, before anything is taken apart.
        if let Some(heading) = self.field(&tokens) {
            return heading;
        }
        let mut steps = 0;
        let mut pieces = Vec::new();
        self.explain(&tokens, 0, &mut pieces, &mut steps)
            .unwrap_or_else(|| self.unknown(&tokens))
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
        let as_analyte = words.find_name(&whole).is_some()
            || tokens
                .symbol_key(0, to)
                .is_some_and(|k| words.find_symbol(&k).is_some());
        if as_analyte {
            return None;
        }
        if let Some(field) = words.find_field(&whole) {
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
        let introduced = before.last().is_some_and(|p| {
            matches!(p.piece, Piece::Nothing)
                && words
                    .find_around(&tokens.word_key(p.from, p.to))
                    .contains(&Around::Intro)
        }) || before.len() >= 2 && {
            // 'as (N)'
            let (a, b) = (&before[before.len() - 2], &before[before.len() - 1]);
            b.to == b.from + 1
                && tokens.list[b.from].is('(')
                && matches!(a.piece, Piece::Nothing)
                && words
                    .find_around(&tokens.word_key(a.from, a.to))
                    .contains(&Around::Intro)
        };
        if let Some((to, t)) = temperature_at(tokens, from) {
            found.push((to, Piece::Temperature(t)));
        }
        for to in (from + 1..=end).rev() {
            let word_key = tokens.word_key(from, to);
            let symbol_key = tokens.symbol_key(from, to);
            if introduced {
                if let Some(basis) = self.stated_basis(&word_key, symbol_key.as_deref()) {
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
            }
            let last_is_word =
                tokens.list[to - 1].kind != Kind::Mark || tokens.list[to - 1].is(')');
            if last_is_word || tokens.list[from].kind == Kind::Mark {
                if let Some(hit) = words.find_name(&word_key) {
                    found.push((
                        to,
                        Piece::Name {
                            hit: hit.clone(),
                            sure: true,
                        },
                    ));
                }
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

    /// `mg N/l`, `mgO2/l`, `µg P per litre`.
    fn unit_with_species(&self, tokens: &Tokens, from: usize, to: usize) -> Option<(Unit, Basis)> {
        if to - from < 4 {
            return None;
        }
        let units = &self.vocabulary.units;
        let head = tokens.unit_key(from, from + 1);
        let numerator = units.numerators.iter().find(|p| p.text == head)?;
        (from + 2..to - 1).find_map(|slash| {
            let joiner = &tokens.list[slash];
            if !(joiner.is('/') || joiner.text == "per") {
                return None;
            }
            let tail = tokens.unit_key(slash + 1, to);
            let per = units.pers.iter().find(|p| p.text == tail)?;
            let key = tokens.symbol_key(from + 1, slash)?;
            let basis = self.vocabulary.bases.iter().find(|b| b.0 == key)?.clone();
            let unit = self.vocabulary.composed(numerator, per)?;
            Some((unit, basis))
        })
    }

    fn symbols_at(
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
            self.context.all_capitals
        } else {
            self.context.all_small
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
        if number(at).is_some_and(&fits) && token(at + 1).is_some_and(|t| t.is(mark)) {
            close(at + 2);
        }
        let run = (at..tokens.len())
            .take_while(|i| tokens.list[*i].is(mark))
            .count();
        if run > 0 {
            // +2
            if run == 1 && number(at + 1).is_some_and(&fits) {
                close(at + 2);
            }
            if run == 1 || u32::try_from(run).is_ok_and(&fits) {
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

    fn assemble(&self, tokens: &Tokens, pieces: &[Placed]) -> Option<Heading> {
        let mut heading = Heading::default();
        let mut names: Vec<(&Hit, bool, usize, usize)> = Vec::new();
        let mut bare: Option<(Basis, String)> = None;
        let mut stated: Option<(Basis, String)> = None;
        let mut in_unit: Option<(Basis, String)> = None;
        let mut weak_unit = false;
        let mut temperature = None;
        for placed in pieces {
            let text = || tokens.text(placed.from, placed.to);
            match &placed.piece {
                Piece::Name { hit, sure } => names.push((hit, *sure, placed.from, placed.to)),
                Piece::Unit { unit, basis, weak } => {
                    if heading.unit.as_ref().is_some_and(|u| u != unit) {
                        return None;
                    }
                    heading.unit = Some(unit.clone());
                    heading.unit_text = Some(text());
                    weak_unit = *weak;
                    if let Some(basis) = basis {
                        in_unit = Some((basis.clone(), text()));
                    }
                }
                Piece::Basis {
                    basis,
                    stated: introduced,
                } => {
                    let slot = if *introduced { &mut stated } else { &mut bare };
                    if slot.as_ref().is_some_and(|(b, _)| b != basis) {
                        return None;
                    }
                    *slot = Some((basis.clone(), text()));
                }
                Piece::Fraction(f) => {
                    if heading.fraction.is_some_and(|g| g != *f) {
                        return None;
                    }
                    heading.fraction = Some(*f);
                }
                Piece::Temperature(t) => temperature = Some(*t),
                Piece::Nothing => {}
            }
        }
        let explicit = merge(stated, merge(in_unit, bare)?)?;
        let Some(primary) = self.primary(tokens, &names) else {
            if !names.is_empty() || heading.fraction.is_some() {
                return None;
            }
            // A unit or a basis alone.
            if heading.unit.is_none() && explicit.is_none()
                || weak_unit && explicit.is_none() && tokens.len() > 1
            {
                return None;
            }
            (heading.basis, heading.basis_text) = split(explicit);
            heading.reference_temperature = temperature;
            return Some(heading);
        };
        let (hit, sure, from, to) = names[primary];
        let mut implied = hit.basis.clone().map(|b| (b, tokens.text(from, to)));
        let mut suffix = None;
        let mut fraction = hit.fraction;
        for (i, (other, _, from, to)) in names.iter().enumerate() {
            if i == primary {
                continue;
            }
            let text = tokens.text(*from, *to);
            if other.named == hit.named {
                // Name and symbol together: the symbol names the species counted.
                implied = implied.or_else(|| other.basis.clone().map(|b| (b, text)));
                fraction = fraction.or(other.fraction);
            } else {
                let basis = self.as_basis(hit, other, &text)?;
                suffix = merge(suffix, Some((basis, text)))?;
            }
        }
        let explicit = merge(explicit, suffix)?;
        let named_basis = explicit.is_some();
        let basis = explicit.or(implied);
        let heading_fraction = match (heading.fraction, fraction) {
            (Some(a), Some(b)) if a != b => return None,
            (a, b) => a.or(b),
        };
        heading.fraction = heading_fraction;
        let settled = self.settle(hit, &heading, named_basis)?;
        let (meaning, extra) = settled;
        heading.meaning = meaning;
        if !sure && heading.unit.is_none() {
            return None;
        }
        (heading.basis, heading.basis_text) = split(basis);
        if let Some(candidate) = extra {
            if heading.basis.is_none() {
                heading.basis.clone_from(&candidate.basis);
                heading.basis_text = candidate.basis.as_ref().map(|_| tokens.text(from, to));
            }
            heading.fraction = heading.fraction.or(candidate.fraction);
        }
        if let Meaning::Analyte(id) = heading.meaning {
            self.finish(id, &mut heading, temperature, weak_unit)?;
        }
        Some(heading)
    }

    /// Which of several names is the one that the others only qualify.
    fn primary(&self, tokens: &Tokens, names: &[(&Hit, bool, usize, usize)]) -> Option<usize> {
        (0..names.len()).find(|&i| {
            names.iter().enumerate().all(|(j, (other, _, from, to))| {
                i == j
                    || other.named == names[i].0.named
                    || self
                        .as_basis(names[i].0, other, &tokens.text(*from, *to))
                        .is_some()
            })
        })
    }

    /// Read beside `hit`, the name `other` is only the basis: 'N' beside nitrate, 'HCO3' beside alkalinity.
    fn as_basis(&self, hit: &Hit, other: &Hit, text: &str) -> Option<Basis> {
        let Named::Analyte(id) = hit.named else {
            return None;
        };
        let analyte = self.vocabulary.analyte(id);
        let canonical = analyte.basis.as_ref()?;
        if !other.symbol {
            return None;
        }
        let basis = match &other.named {
            // One letter: N, P, S.
            Named::Ambiguous(_) => Basis(text.to_string()),
            Named::Analyte(_) => other
                .basis
                .clone()
                .or_else(|| Some(Basis(text.to_string())))?,
        };
        if !analyte.bases.contains(&basis) || basis == *canonical {
            return None;
        }
        match &other.named {
            Named::Ambiguous(_) => Some(basis),
            Named::Analyte(other_id) => {
                let own = self.vocabulary.analyte(*other_id).basis.as_ref() == Some(&basis);
                // 'Hardness Ca' is calcium hardness; 'alkalinity HCO3' is a basis.
                (!own || basis.0 == "HCO3" && !hit.symbol).then_some(basis)
            }
        }
    }

    /// Decides an ambiguous label by what stands beside it and by the sheet.
    fn settle(
        &self,
        hit: &Hit,
        heading: &Heading,
        named_basis: bool,
    ) -> Option<(Meaning, Option<&Candidate>)> {
        let index = match hit.named {
            Named::Analyte(id) => return Some((Meaning::Analyte(id), None)),
            Named::Ambiguous(index) => index,
        };
        let candidates = &self.vocabulary.ambiguities[index].candidates;
        let dimension = heading.unit.as_ref().map(|u| u.dimension);
        let possible: Vec<&Candidate> = candidates
            .iter()
            .filter(|c| {
                heading.unit.as_ref().is_none_or(|unit| {
                    self.fits(c.analyte, unit)
                        && (c.dimensions.is_empty() || c.dimensions.contains(&unit.dimension))
                })
            })
            .collect();
        let spoken_for: Vec<&Candidate> = possible
            .iter()
            .copied()
            .filter(|c| {
                let by_unit = dimension.is_some_and(|d| c.dimensions.contains(&d) && decisive(d));
                let by_language = c.languages.iter().any(|l| self.context.speaks(l));
                let by_sheet = match c.sheet {
                    Some(SheetKind::Elements) => self.context.elements,
                    Some(SheetKind::Ions) => self.context.ions,
                    Some(SheetKind::Hygiene) => self.context.hygiene,
                    None => false,
                };
                let by_statement = c.stated
                    && (named_basis
                        || matches!(dimension, Some(Dimension::Charge | Dimension::Amount)));
                by_unit || by_language || by_sheet || by_statement
            })
            .collect();
        match (spoken_for.as_slice(), possible.is_empty()) {
            ([one], _) => Some((Meaning::Analyte(one.analyte), Some(one))),
            (_, true) => None,
            _ => {
                let ids = possible.iter().map(|c| c.analyte).collect();
                Some((Meaning::Ambiguous(ids), None))
            }
        }
    }

    fn fits(&self, id: AnalyteId, unit: &Unit) -> bool {
        let analyte = self.vocabulary.analyte(id);
        let basis = analyte.basis.as_ref();
        self.vocabulary.convert(id, unit, basis, None) != Err(Refusal::UnitUnfit)
            || self.vocabulary.convert(id, unit, None, None) != Err(Refusal::UnitUnfit)
    }

    /// What the analyte makes of unit, basis, fraction and temperature.
    fn finish(
        &self,
        id: AnalyteId,
        heading: &mut Heading,
        temperature: Option<f64>,
        weak_unit: bool,
    ) -> Option<()> {
        let mut id = id;
        if let Some(unit) = &heading.unit {
            let instead = &self.vocabulary.analyte(id).instead;
            if let Some((_, other)) = instead.iter().find(|(d, _)| *d == unit.dimension) {
                id = *other;
                heading.basis = None;
                heading.basis_text = None;
            }
            let fits = self.fits(id, unit);
            // 'Na %' is a share of sodium, not sodium.
            if !fits && (weak_unit || matches!(unit.dimension, Dimension::Percent | Dimension::One))
            {
                return None;
            }
        }
        let analyte = self.vocabulary.analyte(id);
        if let Some(basis) = &heading.basis {
            let hardness = match (analyte.code.as_str(), basis.0.as_str()) {
                ("calcium", "CaCO3") => self.vocabulary.find("hardness_calcium"),
                ("magnesium", "CaCO3") => self.vocabulary.find("hardness_magnesium"),
                _ => None,
            };
            if let Some(hardness) = hardness {
                id = hardness;
            } else if analyte.basis.is_none() {
                // A basis where there can be none: not this analyte.
                return None;
            }
        }
        let analyte = self.vocabulary.analyte(id);
        if let Some(basis) = &heading.basis {
            let unit = self
                .vocabulary
                .words
                .find_unit("mg/L")
                .map(|s| s.unit.clone())?;
            if self.vocabulary.convert(id, &unit, Some(basis), None) == Err(Refusal::BasisUnfit) {
                return None;
            }
        }
        if !analyte.has_fractions {
            heading.fraction = None;
        }
        if analyte.code == "conductivity" {
            heading.reference_temperature = temperature;
        }
        // A name that is the species itself needs no basis said.
        if heading.basis.is_none() && analyte.silent == Silent::Refused {
            heading.basis_text = None;
        }
        heading.meaning = Meaning::Analyte(id);
        Some(())
    }

    fn unknown(&self, tokens: &Tokens) -> Heading {
        Heading {
            nearest: self
                .vocabulary
                .nearest_label(&tokens.word_key(0, tokens.len())),
            ..Heading::default()
        }
    }
}

/// A mass unit speaks for half of chemistry; the others settle something.
const fn decisive(dimension: Dimension) -> bool {
    !matches!(dimension, Dimension::Mass | Dimension::Amount)
}

fn split(basis: Option<(Basis, String)>) -> (Option<Basis>, Option<String>) {
    match basis {
        Some((basis, text)) => (Some(basis), Some(text)),
        None => (None, None),
    }
}

/// One of two; `None` outside when they contradict each other.
#[expect(
    clippy::option_option,
    reason = "no basis and contradicting bases are two things"
)]
fn merge(
    a: Option<(Basis, String)>,
    b: Option<(Basis, String)>,
) -> Option<Option<(Basis, String)>> {
    match (a, b) {
        (Some(a), Some(b)) if a.0 != b.0 => None,
        (a, b) => Some(a.or(b)),
    }
}

/// `CL` can only be chlorine badly written; `CO`, `PB` and `NI` are also formulas, so they need more.
fn may_be_capitals(key: &str) -> bool {
    key.len() == 2
        && key.chars().all(|c| c.is_ascii_uppercase())
        && super::formula::Formula::parse(key).is_none()
}

/// After a basis a charge sign may stand: 'as NO3-'.
fn basis_ends(tokens: &Tokens, to: usize) -> impl Iterator<Item = usize> {
    let signed = tokens
        .list
        .get(to)
        .is_some_and(|t| (t.is('-') || t.is('+')) && !t.gap);
    signed.then_some(to + 1).into_iter().chain([to])
}

/// `25 °C`, `25°C`, `25 deg C`, or a bare 20 or 25 at the end of a conductivity's name.
fn temperature_at(tokens: &Tokens, from: usize) -> Option<(usize, f64)> {
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
        Some("deg" | "grad" | "Grad" | "grados" | "gradi")
            if token(to + 1).is_some_and(|t| t.text == "C") =>
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

fn leads_to_temperature(tokens: &Tokens, from: usize) -> bool {
    temperature_at(tokens, from).is_some()
        || tokens.list.get(from).is_some_and(|t| t.is('='))
            && temperature_at(tokens, from + 1).is_some()
}

/// `*`, `1)`, `(1)`, `(a)`, `[2]`, a raised digit: only behind everything else. `(m)` and `(p)` are no
/// footnotes but alkalinities.
fn footnote_at(tokens: &Tokens, from: usize) -> Option<usize> {
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
        (*to..tokens.len())
            .all(|i| tokens.list[i].kind == Kind::Mark || footnote_at(tokens, i).is_some())
    })
}
