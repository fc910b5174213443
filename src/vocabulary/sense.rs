//! Whether the pieces of a heading make sense together, and what they then say.

use super::analyte::{AnalyteId, Fraction};
use super::heading::{Heading, Meaning};
use super::reader::{Piece, Placed, Reader};
use super::tables::{Candidate, SheetKind};
use super::tokens::Tokens;
use super::words::{Hit, Named};
use super::{Basis, Dimension, Refusal, Silent, Unit};

/// Which of two names says what is counted.
enum Of {
    /// The first, or they say the same.
    One,
    Second,
    /// They contradict each other.
    Neither,
}

/// Whether the piece that says something before the token at `from` is a unit.
fn follows_unit(pieces: &[Placed], from: usize) -> bool {
    (pieces.iter().rev())
        .filter(|placed| placed.to <= from)
        .find(|placed| !matches!(placed.piece, Piece::Nothing))
        .is_some_and(|placed| matches!(placed.piece, Piece::Unit { .. }))
}

impl Reader<'_> {
    pub(super) fn assemble(&self, tokens: &Tokens, pieces: &[Placed]) -> Option<Heading> {
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
        // 'mg/l N', 'mg/l NO3-N': a unit cell with its species, not a name.
        let unit_first = pieces
            .iter()
            .find(|p| !matches!(p.piece, Piece::Nothing))
            .is_some_and(|p| matches!(p.piece, Piece::Unit { .. }));
        if unit_first
            && stated.is_none()
            && let [(hit, _, from, to), rest @ ..] = names.as_slice()
            && rest.len() < 2
            && names.iter().all(|(hit, ..)| hit.symbol)
        {
            let (basis, end) = match rest {
                [] => (self.species_of(hit, &tokens.text(*from, *to))?, *to),
                [(.., end), ..] => (self.counted_in(tokens, &names)?, *end),
            };
            bare = merge(bare, Some((basis, tokens.text(*from, end))))?;
            names.clear();
        }
        let is_stated = stated.is_some();
        let explicit = merge(stated, merge(in_unit, bare)?)?;
        let Some(primary) = self.primary(tokens, &names) else {
            if !names.is_empty() || heading.fraction.is_some() {
                return None;
            }
            // A unit or a basis alone. 'SO3 mg/l' is an unknown name with its unit.
            let name_first = heading.unit.is_some() && explicit.is_some() && !unit_first;
            if name_first && !is_stated
                || heading.unit.is_none() && explicit.is_none()
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
        let hit_end = to;
        let mut suffix = None;
        let mut is_doubtful = false;
        let mut fraction = hit.fraction;
        for (i, (other, _, from, to)) in names.iter().enumerate() {
            if i == primary {
                continue;
            }
            let text = tokens.text(*from, *to);
            let species = (other.symbol
                && other.named == hit.named
                && (other.basis.is_some() || hit.basis.is_some())
                && follows_unit(pieces, *from))
            .then(|| self.species_of(other, &text))
            .flatten();
            if let Some(basis) = species {
                // 'PO4 (mg/l P2O5)', 'Azoto amoniacal (mg/l NH4)': the unit says as what, whatever the name is.
                suffix = merge(suffix, Some((basis, text)))?;
            } else if other.named == hit.named || self.agrees(hit, other) {
                // Name and symbol together: the symbol names the species counted.
                match self.of_two(tokens, (hit, hit_end), (other, *from)) {
                    Of::One => {
                        implied = implied.or_else(|| other.basis.clone().map(|b| (b, text)));
                    }
                    Of::Second => implied = self.species_of(other, &text).map(|b| (b, text)),
                    Of::Neither => is_doubtful = true,
                }
                fraction = fraction.or(other.fraction);
            } else {
                let basis = self.as_basis(hit, other, &text)?;
                suffix = merge(suffix, Some((basis, text)))?;
            }
        }
        let explicit = merge(explicit, suffix)?;
        let named_basis = explicit.is_some();
        if is_doubtful && !named_basis {
            return None;
        }
        heading.basis_implied = !named_basis;
        let basis = explicit.or(implied);
        let heading_fraction = match (heading.fraction, fraction) {
            (Some(a), Some(b)) if a != b => return None,
            (a, b) => a.or(b),
        };
        heading.fraction = heading_fraction;
        let (meaning, extra) = self.settle(
            hit,
            &heading,
            basis.as_ref().map(|(b, _)| b).filter(|_| named_basis),
        )?;
        heading.meaning = meaning;
        if !sure && heading.unit.is_none() {
            return None;
        }
        (heading.basis, heading.basis_text) = split(basis);
        if let Some(candidate) = extra {
            if heading.basis.is_none() {
                heading.basis.clone_from(&candidate.basis);
                heading.basis_text = candidate.basis.as_ref().map(|_| tokens.text(from, to));
                heading.basis_implied = true;
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
        // A name of one meaning goes before one of several: in 'P-PO4' phosphate leads.
        let one = |i: &usize| matches!(names[*i].0.named, Named::Analyte(_));
        let first = (0..names.len()).filter(one);
        let then = (0..names.len()).filter(|i| !one(i));
        first.chain(then).find(|&i| {
            names.iter().enumerate().all(|(j, (other, _, from, to))| {
                i == j
                    || other.named == names[i].0.named
                    || self.agrees(names[i].0, other)
                    || self
                        .as_basis(names[i].0, other, &tokens.text(*from, *to))
                        .is_some()
            })
        })
    }

    /// The species that two symbols name together: 'NO3-N', 'N-NO3'.
    pub(super) fn counted_in(
        &self,
        tokens: &Tokens,
        names: &[(&Hit, bool, usize, usize)],
    ) -> Option<Basis> {
        let primary = self.primary(tokens, names)?;
        let mut others = (names.iter().enumerate()).filter(|(i, _)| *i != primary);
        let (_, (other, _, from, to)) = others.next()?;
        self.as_basis(names[primary].0, other, &tokens.text(*from, *to))
    }

    /// Which of two names of one analyte says what is counted, where they imply different species. `hit` ends
    /// before the token `end`, `other` begins at `from`.
    fn of_two(
        &self,
        tokens: &Tokens,
        (hit, end): (&Hit, usize),
        (other, from): (&Hit, usize),
    ) -> Of {
        let own = match &hit.named {
            Named::Analyte(id) => self.vocabulary.analyte(*id).basis.as_ref(),
            Named::Ambiguous(_) => None,
        };
        // A symbol without a species of its own is that of the analyte; a name may leave it open.
        let counted = |hit: &Hit| {
            hit.basis
                .clone()
                .or_else(|| own.filter(|_| hit.symbol).cloned())
        };
        let (Some(a), Some(b)) = (counted(hit), counted(other)) else {
            return Of::One;
        };
        if a == b {
            return Of::One;
        }
        // A symbol takes a sign behind it for its charge.
        let end = end - usize::from(tokens.list[end - 1].is('-'));
        let between = (end.min(from)..from).map(|i| tokens.list[i].text.as_str());
        let is_element = |basis: &Basis| !basis.0.chars().skip(1).any(|c| !c.is_lowercase());
        // 'SiO2-Si' is the element of a species, as 'NO3-N' is.
        if between.eq(["-"]) && (is_element(&a) != is_element(&b)) {
            return if is_element(&b) { Of::Second } else { Of::One };
        }
        // 'SiO2 (Si)' as 'NO3 (N)'; 'Silicon (SiO2)' and 'Si/SiO2' say two things.
        if own == Some(&a)
            && tokens.list[..from]
                .last()
                .is_some_and(|t| t.is('(') || t.is('['))
        {
            Of::Second
        } else {
            Of::Neither
        }
    }

    /// An ambiguous name beside one of its own candidates: 'titre hydrotimétrique (TH)', 'Chloor (Cl)'.
    fn agrees(&self, hit: &Hit, other: &Hit) -> bool {
        let (Named::Analyte(id), Named::Ambiguous(index)) = (&hit.named, &other.named) else {
            return false;
        };
        self.vocabulary.ambiguities[*index]
            .candidates
            .iter()
            .any(|c| c.analyte == *id && c.basis.is_none())
    }

    /// The species that a symbol stands for.
    fn species_of(&self, hit: &Hit, text: &str) -> Option<Basis> {
        let own = match &hit.named {
            Named::Analyte(id) => self.vocabulary.analyte(*id).basis.clone(),
            Named::Ambiguous(_) => None,
        };
        let basis = hit
            .basis
            .clone()
            .or(own)
            .unwrap_or_else(|| Basis(text.to_string()));
        self.vocabulary.bases.contains(&basis).then_some(basis)
    }

    /// Read beside `hit`, the name `other` is only the basis: 'N' beside nitrate, 'HCO3' beside alkalinity.
    fn as_basis(&self, hit: &Hit, other: &Hit, text: &str) -> Option<Basis> {
        if !other.symbol {
            return None;
        }
        let id = match hit.named {
            Named::Analyte(id) => id,
            Named::Ambiguous(index) => {
                let candidates = &self.vocabulary.ambiguities[index].candidates;
                let basis = self.species_of(other, text)?;
                return candidates
                    .iter()
                    .any(|c| self.takes(c.analyte, &basis))
                    .then_some(basis);
            }
        };
        let analyte = self.vocabulary.analyte(id);
        let canonical = analyte.basis.as_ref()?;
        let (basis, own) = match &other.named {
            // One letter: N, P, S; small where all symbols of the sheet are ('no3_n').
            Named::Ambiguous(_) => {
                let known = |basis: &&Basis| basis.0.eq_ignore_ascii_case(text);
                let basis = analyte.bases.iter().find(known).cloned();
                (basis.unwrap_or_else(|| Basis(text.to_string())), false)
            }
            Named::Analyte(other_id) => {
                let other_basis = self.vocabulary.analyte(*other_id).basis.as_ref();
                let basis = other
                    .basis
                    .clone()
                    .unwrap_or_else(|| Basis(text.to_string()));
                let own = other_basis == Some(&basis);
                (basis, own)
            }
        };
        // 'Hardness Ca' is calcium hardness; 'alkalinity HCO3' and 'BOD O2' name a basis.
        let usual = match basis.0.as_str() {
            "HCO3" => !hit.symbol,
            "O2" => canonical.0 == "O2",
            _ => false,
        };
        (analyte.bases.contains(&basis) && (!own || usual)).then_some(basis)
    }

    /// Decides an ambiguous label by what stands beside it and by the sheet.
    fn settle(
        &self,
        hit: &Hit,
        heading: &Heading,
        named: Option<&Basis>,
    ) -> Option<(Meaning, Option<&Candidate>)> {
        let index = match hit.named {
            Named::Analyte(id) => return Some((Meaning::Analyte(id), None)),
            Named::Ambiguous(index) => index,
        };
        let candidates = &self.vocabulary.ambiguities[index].candidates;
        // °F beside hardness is a degree of hardness.
        let dimensions = |c: &Candidate, unit: &Unit| {
            let degree = unit.code == "[degF]" && c.dimensions.contains(&Dimension::Hardness);
            c.dimensions.contains(&unit.dimension) || degree
        };
        let possible: Vec<&Candidate> = candidates
            .iter()
            .filter(|c| {
                heading.unit.as_ref().is_none_or(|unit| {
                    self.fits(c.analyte, unit) && (c.dimensions.is_empty() || dimensions(c, unit))
                }) && named.is_none_or(|basis| self.takes(c.analyte, basis))
            })
            .collect();
        let spoken_for: Vec<&Candidate> = possible
            .iter()
            .copied()
            .filter(|c| {
                let by_unit = heading.unit.as_ref().is_some_and(|u| {
                    // A label with one candidate needs only a unit that fits.
                    dimensions(c, u) && (decisive(u.dimension) || candidates.len() == 1)
                });
                let by_language = c.languages.iter().any(|l| self.context().speaks(l));
                // 'EC' beside 'E. coli' is not that once more.
                let is_named = |other: &Candidate| self.context().names(other.analyte);
                let mut rivals = (candidates.iter())
                    .filter(|other| other.sheet.is_some() && other.analyte != c.analyte);
                let by_sheet = match c.sheet {
                    Some(SheetKind::Elements) => self.context().elements,
                    // 'TH' and 'CE' in a list of elements in capitals are thorium and cerium.
                    Some(SheetKind::Ions) => {
                        rivals.any(is_named)
                            || self.context().ions
                                && !(self.context().elements && self.context().all_capitals)
                    }
                    Some(SheetKind::Hygiene) => self.context().hygiene && !is_named(c),
                    None => false,
                };
                let plain = |u: &Unit| matches!(u.dimension, Dimension::Charge | Dimension::Amount);
                let by_statement =
                    c.stated && (named.is_some() || heading.unit.as_ref().is_some_and(plain));
                by_unit || by_language || by_sheet || by_statement
            })
            .collect();
        match (spoken_for.as_slice(), possible.is_empty()) {
            ([one], _) => Some((Meaning::Analyte(one.analyte), Some(one))),
            (_, true) => None,
            // Of several, the basis that the heading names leaves one.
            ([], _) if possible.len() == 1 && named.is_some() && candidates.len() > 1 => {
                Some((Meaning::Analyte(possible[0].analyte), Some(possible[0])))
            }
            _ => {
                let ids = possible.iter().map(|c| c.analyte).collect();
                Some((Meaning::Ambiguous(ids), None))
            }
        }
    }

    fn takes(&self, id: AnalyteId, basis: &Basis) -> bool {
        self.vocabulary.words.find_unit("mg/L").is_some_and(|s| {
            self.vocabulary
                .convert(id, &s.unit, Some(basis), None)
                .is_ok()
        })
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
        if heading
            .basis
            .as_ref()
            .is_some_and(|basis| !self.takes(id, basis))
        {
            return None;
        }
        // Total carbon dioxide counts bicarbonate and carbonate too.
        if analyte.code == "carbon_dioxide" && heading.fraction == Some(Fraction::Total) {
            return None;
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
