//! Footnotes and notes that say in which unit or as what numbers are given: "* in µg/L", "¹ expressed as N",
//! "All nitrogen species are given as N". A symbol over a column only names the analyte; a note that says what is
//! counted goes before it.

use super::stated::named;
use super::units::unit_behind_words;
use crate::map::left_out::withdrawn::is_withdrawn;
use crate::map::whose::facts::is_mark;
use crate::text::fold;
use crate::vocabulary::{AnalyteId, Basis, Meaning, Refusal, Unit, Vocabulary};
use std::sync::Arc;

/// Longer texts that begin with a mark are remarks.
const LONGEST_FOOTNOTE: usize = 80;

/// Longer texts are prose, in which a basis is spoken of and not stated.
const LONGEST_NOTE: usize = 200;

/// What is said to the mark of a footnote.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::map) struct Footnote {
    /// As it stands behind labels: "*", "¹", "a)", "(a)" without its opening bracket.
    pub(super) mark: Arc<str>,
    pub(super) unit: Option<Unit>,
    pub(in crate::map) basis: Option<Basis>,
    pub(in crate::map) text: Arc<str>,
}

/// What a note says some analytes are counted as.
#[derive(Clone, Debug, PartialEq)]
pub struct BasisNote {
    /// `None`: all that can be counted so.
    analytes: Option<Vec<AnalyteId>>,
    basis: Basis,
    pub(super) text: Arc<str>,
}

const fn is_raised(c: char) -> bool {
    matches!(c, '¹' | '²' | '³' | '⁴'..='⁹')
}

/// The mark at the beginning of a text, and what follows it.
fn mark_of(text: &str) -> Option<(&str, &str)> {
    let of = |is: fn(char) -> bool| {
        let rest = text.trim_start_matches(is);
        (rest.len() < text.len()).then(|| (&text[..text.len() - rest.len()], rest))
    };
    of(is_mark).or_else(|| of(is_raised)).or_else(|| {
        let inner = text.strip_prefix('(').unwrap_or(text);
        let (mark, rest) = inner.split_once(')')?;
        let is_short = matches!(mark.len(), 1 | 2) && mark.chars().all(char::is_alphanumeric);
        is_short.then(|| (&inner[..=mark.len()], rest))
    })
}

/// The footnote that a text is; `None` for other texts.
pub(in crate::map) fn footnote(vocabulary: &Vocabulary, text: &str) -> Option<Footnote> {
    let (mark, said) = mark_of(text.trim())?;
    let said = said
        .trim_start_matches([':', '=', ' ', '\u{a0}', '–', '-'])
        .trim_end_matches(['.', ' ']);
    if said.is_empty() || said.len() > LONGEST_FOOTNOTE {
        return None;
    }
    let of_unit = vocabulary
        .read_unit(said)
        .or_else(|| unit_behind_words(vocabulary, said).map(|(unit, basis, _)| (unit, basis)));
    let (unit, basis) = match of_unit {
        Some((unit, basis)) => (Some(unit), basis),
        None => (None, None),
    };
    let basis = basis.or_else(|| match stated(vocabulary, said).as_slice() {
        [(_, basis)] => Some(basis.clone()),
        _ => None,
    });
    (unit.is_some() || basis.is_some()).then(|| Footnote {
        mark: mark.into(),
        unit,
        basis,
        text: said.into(),
    })
}

/// The mark of a footnote by which results are taken back ("* result rejected, holding time exceeded").
pub(in crate::map) fn mark_of_withdrawn(text: &str) -> Option<&str> {
    let (mark, said) = mark_of(text.trim())?;
    let said = said.trim_start_matches([':', '=', ' ', '\u{a0}', '–', '-']);
    let of_results = ["result ", "results ", "value ", "sample "]
        .iter()
        .find_map(|start| {
            let (head, rest) = said.split_at_checked(start.len())?;
            head.eq_ignore_ascii_case(start).then_some(rest)
        });
    is_withdrawn(of_results.unwrap_or(said)).then_some(mark)
}

/// The footnote whose mark a label carries, behind its name or at its end.
pub(in crate::map) fn footnote_of<'f>(
    footnotes: &'f [Footnote],
    label: &str,
    fits: impl Fn(&Footnote) -> bool,
) -> Option<&'f Footnote> {
    let is_carried = |mark: &str| {
        let kind = |c: char| is_mark(c) || is_raised(c);
        label.match_indices(mark).any(|(i, _)| {
            let (before, behind) = (&label[..i], &label[i + mark.len()..]);
            let is_alone = mark.ends_with(')') && before.ends_with([' ', '(', '\u{a0}'])
                || !mark.ends_with(')') && !before.ends_with(kind);
            let is_end =
                behind.is_empty() || behind.starts_with([' ', '\u{a0}', '(', '[', ',', ';', ':']);
            !before.trim().is_empty() && is_alone && is_end
        })
    };
    (footnotes.iter()).find(|note| is_carried(&note.mark) && fits(note))
}

/// Words of texts that speak of a basis without stating it. Common practice, no source.
const SPOKEN_OF: &[&str] = &[
    "convert",
    "conversion",
    "multipl",
    "factor",
    "limit",
    "standard",
    "guideline",
    "grenzw",
    "norm",
    "maxim",
    "umrechn",
    "faktor",
    "valeur",
    "limite",
    "seuil",
    "facteur",
    "omreken",
    "conversi",
    "respectively",
    "except",
    "unless",
    "annex",
    "siehe",
    "voir ",
    "see ",
    "not ",
];

/// Beginnings of words for all that holds nitrogen, phosphorus or sulfur. Common practice, no source.
const OF_ELEMENTS: &[(&str, &[&str])] = &[
    (
        "N",
        &[
            "nitrogen",
            "stickstoff",
            "stikstof",
            "azot",
            "nitrogen",
            "kvav",
            "kvaelstof",
            "n-",
            "nutri",
            "nahrstoff",
        ],
    ),
    ("P", &["phosphorus", "fosfor", "phosphor"]),
    ("S", &["sulfur", "sulphur", "schwefel", "soufre", "azufre"]),
];

/// Words that name nothing in particular. Common practice, no source.
const FILLERS: &[&str] = &[
    "",
    "all",
    "alle",
    "tous",
    "toutes",
    "todos",
    "tutti",
    "results",
    "result",
    "ergebnisse",
    "resultats",
    "resultados",
    "risultati",
    "values",
    "werte",
    "waarden",
    "valores",
    "concentrations",
    "data",
    "note",
    "notes",
    "nb",
    "remark",
    "are",
    "is",
    "the",
    "were",
    "expressed",
    "given",
    "reported",
    "and",
    "total",
    "in",
];

/// What a note says of bases; empty where it says nothing of them, or not for sure.
pub(in crate::map) fn basis_notes(vocabulary: &Vocabulary, text: &str) -> Vec<BasisNote> {
    let text = text.trim();
    let folded = fold(text);
    if text.len() > LONGEST_NOTE || SPOKEN_OF.iter().any(|word| folded.contains(word)) {
        return Vec::new();
    }
    let mut notes = Vec::new();
    let mut from = 0;
    for (range, basis) in stated(vocabulary, text) {
        let before = &text[from..range.0];
        from = range.1;
        let subject = before.rsplit(['.', ';', ':']).next().unwrap_or(before);
        let is_number = |word: &str| {
            word.chars()
                .all(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        };
        if subject.split_whitespace().any(is_number) {
            return Vec::new();
        }
        let folded = fold(subject);
        let words = || folded.split(|c: char| c.is_whitespace() || matches!(c, ',' | '(' | ')'));
        let is_of_element = OF_ELEMENTS.iter().any(|(element, beginnings)| {
            basis.0 == *element
                && words().any(|word| beginnings.iter().any(|b| word.starts_with(b)))
        });
        let analytes = if is_of_element || words().all(|word| FILLERS.contains(&word)) {
            None
        } else {
            // "See annex for nitrate as N" says nothing of this table.
            let is_known =
                |word: &str| FILLERS.contains(&word) || !named(vocabulary, word).is_empty();
            if !words().all(is_known) {
                continue;
            }
            Some(named(vocabulary, subject))
        };
        notes.push(BasisNote {
            analytes,
            basis,
            text: text.into(),
        });
    }
    notes
}

/// The basis that notes give an analyte, and the note; `None` where they say nothing of it, or two things.
pub(in crate::map) fn noted<'n>(
    notes: &'n [BasisNote],
    vocabulary: &Vocabulary,
    id: AnalyteId,
) -> Option<(&'n Basis, &'n Arc<str>)> {
    let analyte = vocabulary.analyte(id);
    let is_of = |note: &&BasisNote| {
        let is_meant = (note.analytes.as_ref()).is_none_or(|ids| ids.contains(&id));
        is_meant && analyte.bases.len() > 1 && analyte.bases.contains(&note.basis)
    };
    let mut all = notes.iter().filter(is_of);
    let first = all.next()?;
    all.all(|other| other.basis == first.basis)
        .then_some((&first.basis, &first.text))
}

/// Whether what is counted fits the analyte in this unit.
pub(super) fn fits(vocabulary: &Vocabulary, id: AnalyteId, unit: &Unit, basis: &Basis) -> bool {
    vocabulary.convert(id, unit, Some(basis), None) != Err(Refusal::BasisUnfit)
}

/// Each "as N" of a text: where it stands, and the basis.
fn stated(vocabulary: &Vocabulary, text: &str) -> Vec<((usize, usize), Basis)> {
    let is_end = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | ')' | ']' | '.' | ':');
    let mut found: Vec<((usize, usize), Basis)> = Vec::new();
    for (start, _) in text.char_indices() {
        let is_free = found.last().is_none_or(|((_, end), _)| *end <= start);
        let is_word = start == 0 || text[..start].ends_with([' ', '(', '[', ',', '\u{a0}']);
        if !is_free || !is_word {
            continue;
        }
        let ends = (text[start..].char_indices())
            .filter(|(_, c)| is_end(*c))
            .map(|(i, _)| start + i)
            .chain([text.len()])
            .take(4);
        let basis_of = |end: usize| {
            let piece = text[start..end].trim();
            // A species alone is a name, and a name before it is what the note is about.
            let words = piece.split_whitespace().count();
            let is_name = || {
                vocabulary
                    .read_heading_in(piece, &Default::default())
                    .meaning
                    != Meaning::Unknown
            };
            let basis = vocabulary
                .read_basis(piece)
                .filter(|_| words > 1 && !is_name())?;
            Some(((start, end), basis))
        };
        found.extend(ends.filter_map(basis_of).last());
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str, code: &str) -> Option<String> {
        let vocabulary = Vocabulary::built_in();
        let notes = basis_notes(vocabulary, text);
        let id = vocabulary.find(code).expect("an analyte");
        noted(&notes, vocabulary, id).map(|(basis, _)| basis.to_string())
    }

    #[test]
    fn notes_say_what_is_counted() {
        for (text, code, basis) in [
            (
                "Water analysis - all nitrogen species are given as N",
                "nitrate",
                "N",
            ),
            ("All nitrogen species as N", "ammonium", "N"),
            (
                "nitrogen compounds expressed as nitrogen, phosphate as phosphorus",
                "nitrite",
                "N",
            ),
            (
                "nitrogen compounds expressed as nitrogen, phosphate as phosphorus",
                "phosphate",
                "P",
            ),
            ("Nitrate and nitrite expressed as N.", "nitrite", "N"),
            ("Alkalinity as HCO3", "alkalinity", "HCO3"),
            ("Stickstoffverbindungen berechnet als N", "nitrate", "N"),
            ("NO3 als N", "nitrate", "N"),
            ("Results expressed as N", "nitrate", "N"),
            (
                "Note: nitrogen compounds expressed as nitrogen, phosphate as phosphorus, alkalinity as CaCO3.",
                "nitrate",
                "N",
            ),
        ] {
            assert_eq!(told(text, code).as_deref(), Some(basis), "{text}: {code}");
        }
    }

    #[test]
    fn err_notes_that_speak_of_a_basis_state_none() {
        for (text, code) in [
            ("Limit of nitrate 50 mg/L as NO3 (11.3 as N)", "nitrate"),
            ("To convert nitrate as N multiply by 4.43", "nitrate"),
            ("Nitrite as N", "nitrate"),
            ("Alkalinity as CaCO3; see annex for nitrate as N", "nitrate"),
            ("The wells of the farm with nitrate as N", "nitrate"),
            ("Phosphate as P", "nitrate"),
            ("Nitrate as N, nitrate as NO3", "nitrate"),
            ("Samples were handled as usual", "nitrate"),
        ] {
            assert_eq!(told(text, code), None, "{text}");
        }
    }

    #[test]
    fn footnotes_are_of_the_labels_that_carry_their_mark() {
        let vocabulary = Vocabulary::built_in();
        for (note, label, is_of) in [
            ("¹ expressed as N", "Nitrate ¹", true),
            ("¹ expressed as N", "Nitrate¹ (mg/L)", true),
            ("(a) as NH4-N", "Ammonium (a)", true),
            ("a) as N", "Ammonium a)", true),
            ("* as HCO3", "Alkalinity* mg/L", true),
            ("** µg/L", "Fe**", true),
            ("** µg/L", "Ca*", false),
            ("* mg/L", "Fe**", false),
            ("² as N", "SO4²⁻", false),
            ("1) as N", "Nitrate 11)", false),
        ] {
            let footnote = footnote(vocabulary, note).expect("a footnote");
            let found = footnote_of(&[footnote], label, |_| true).is_some();
            assert_eq!(found, is_of, "{note}: {label}");
        }
    }
}
