//! What single cells look like, told from their own text: a label of an analyte, a word of identity,
//! a unit, a number. Every text is read once, however often it stands in the sheet.

use crate::read::{Cell, CellView};
use crate::vocabulary::{Field, Heading, HeadingContext, Meaning, Vocabulary};
use hashbrown::HashMap;
use regex::Regex;
use std::cell::RefCell;
use std::sync::{Arc, LazyLock};

/// Labels are short. A longer text is prose, and prose that happens to be read as a label is a trap.
const LONGEST_LABEL: usize = 160;

/// What one cell is, before anything around it is looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Look {
    Blank,
    /// A number, or a text that begins as one ("<0.05", "7,2", "118 mg/l").
    Number,
    Date,
    /// Names an analyte, or several that only evidence can tell apart.
    Analyte,
    Field(Field),
    /// A unit or a basis alone.
    Unit,
    /// Any other text.
    Words,
}

/// Reads texts against the vocabulary and remembers them.
pub struct Reader<'v> {
    vocabulary: &'v Vocabulary,
    context: HeadingContext,
    known: RefCell<HashMap<Box<str>, Known>>,
    /// Headings that name a place beside their analyte.
    placed: Placed,
}

/// By the whole heading.
pub(super) type Placed = HashMap<Box<str>, PlacedHead>;

/// "Bore 1 EC (mS/cm)": a heading that names a place too.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PlacedHead {
    pub(super) place: Box<str>,
    /// The heading without the place.
    pub(super) rest: Box<str>,
}

/// What a text says.
struct Known {
    heading: Arc<Heading>,
    /// A unit or a basis, and nothing else.
    is_unit: bool,
}

impl<'v> Reader<'v> {
    /// `context`: what the sheet's headings together say of each of them.
    pub fn new(vocabulary: &'v Vocabulary, context: HeadingContext) -> Self {
        Self {
            vocabulary,
            context,
            known: RefCell::default(),
            placed: Placed::default(),
        }
    }

    /// The same reader, that knows which headings name a place too.
    pub(super) fn with_places(self, placed: Placed) -> Self {
        Self {
            known: RefCell::default(),
            placed,
            ..self
        }
    }

    /// The place that a heading names beside its analyte.
    pub fn place_in(&self, heading: &str) -> Option<&str> {
        self.placed.get(heading.trim()).map(|head| &*head.place)
    }

    pub const fn vocabulary(&self) -> &'v Vocabulary {
        self.vocabulary
    }

    /// The heading parse of a text.
    pub fn heading(&self, text: &str) -> Arc<Heading> {
        self.known(text, |known| known.heading.clone())
    }

    /// Is the text a unit or a basis, and nothing else?
    pub fn is_unit(&self, text: &str) -> bool {
        self.known(text, |known| known.is_unit)
    }

    fn known<T>(&self, text: &str, see: impl FnOnce(&Known) -> T) -> T {
        if let Some(known) = self.known.borrow().get(text) {
            return see(known);
        }
        let known = if text.len() > LONGEST_LABEL {
            Known {
                heading: Arc::default(),
                is_unit: false,
            }
        } else {
            let rest = self.placed.get(text.trim()).map(|head| &*head.rest);
            Known {
                heading: (self.vocabulary).heading_in(rest.unwrap_or(text), &self.context),
                is_unit: self.vocabulary.is_unit(text),
            }
        };
        let seen = see(&known);
        self.known.borrow_mut().insert(text.into(), known);
        seen
    }

    /// Whether everything that `other` was asked says the same here: then whatever was found with it is
    /// what would be found with this one.
    pub(super) fn agrees(&self, other: &Self) -> bool {
        let others = other.known.borrow();
        others
            .iter()
            .all(|(text, known)| self.heading(text) == known.heading)
    }

    /// "Unit" over nothing but units, wherever they stand: those of groups stand beside no name.
    pub(super) fn are_units(&self, cells: &[(u32, Cell)]) -> bool {
        let mut looks = cells.iter().map(|(_, cell)| self.look(cell.view()));
        looks.next() == Some(Look::Field(Field::Unit))
            && cells.len() > 1
            && looks.all(|look| look == Look::Unit)
    }

    pub fn look(&self, cell: CellView<'_>) -> Look {
        let text = match cell {
            CellView::Empty => return Look::Blank,
            CellView::Number(..) => return Look::Number,
            CellView::Date(..) => return Look::Date,
            CellView::Text(text) => text.trim(),
            CellView::Bool(_) | CellView::Error(_) | CellView::Uncalculated => return Look::Words,
        };
        if is_number_like(text) {
            return Look::Number;
        }
        self.known(text, |known| match known.heading.meaning {
            Meaning::Analyte(_) | Meaning::Ambiguous(_) => Look::Analyte,
            Meaning::Field(field) => Look::Field(field),
            Meaning::Unknown if known.is_unit => Look::Unit,
            Meaning::Unknown => Look::Words,
        })
    }
}

/// A number at the start of a text: comparison signs and a sign, digits with points, commas and
/// grouping signs, an exponent; then nothing, or something set off from it (a unit, ±, a footnote mark).
/// A letter glued to the digits makes it a name or a code ("24D"), except that of a unit ("0.026mg/L").
static NUMBER: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(
        r"(?x)^ [<>≤≥=~≈*'\s]* [-+−–]? \s*
        (?: \d [\d.,'’\x{a0}\x{202f}\x{2009}]* | [.,]\d+ ) (?: \s? [eE] [-+−]? \d+ )?
        (?: $ | [\s\x{a0}±*(%^×!] | m[gmSvVe] | [µμu][gSm] | ng | pp[mbt] | ° )",
    )
    .expect("a valid pattern")
});

/// Dates and codes that begin as numbers do: 03.02.2026, 2026-05-12, 26/118, 7782-41-4, 12:30.
static NO_NUMBER: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"^\s*(?:\d{1,4}\.\d{1,2}\.\d{1,4}(?:\D|$)|\d+\s*[-/:]\s*\d)")
        .expect("a valid pattern")
});

/// Does a text begin as a number does?
pub fn is_number_like(text: &str) -> bool {
    // Nearly all cells are plain numbers, begin with a letter, or are dates and codes.
    match text.as_bytes() {
        [first, ..] if first.is_ascii_alphabetic() => false,
        [b'0'..=b'9', rest @ ..] | [b'<' | b'>', b'0'..=b'9', rest @ ..] if is_plain_tail(rest) => {
            true
        }
        bytes => !is_date_or_code(bytes) && is_number_by_pattern(text),
    }
}

/// Digits, a sign that parts them from others, a digit: what begins so is no number.
fn is_date_or_code(bytes: &[u8]) -> bool {
    let digits = bytes.iter().take_while(|b| b.is_ascii_digit()).count();
    digits > 0 && matches!(bytes[digits..], [b'-' | b'/' | b':', b'0'..=b'9', ..])
}

/// Digits with at most one decimal sign: neither a date nor a code has that form.
fn is_plain_tail(rest: &[u8]) -> bool {
    let is_sign = |byte: &u8| matches!(byte, b'.' | b',');
    rest.iter()
        .all(|byte| byte.is_ascii_digit() || is_sign(byte))
        && rest.iter().filter(|byte| is_sign(byte)).count() <= 1
}

fn is_number_by_pattern(text: &str) -> bool {
    NUMBER.is_match(text) && !NO_NUMBER.is_match(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn texts_that_begin_as_numbers() {
        for text in [
            "7",
            "7,2",
            "0.05",
            "<0.05",
            "< 0,05",
            "> 100",
            "-0.3",
            "−0,3",
            ".5",
            "1 234,5",
            "1'234",
            "5.2E-3",
            "118 mg/l",
            "0.026mg/L",
            "0.08 ppb",
            "12 ± 1",
            "38 *",
            "12 %",
            "5,4 !",
        ] {
            assert!(is_number_like(text), "{text}");
        }
    }

    proptest! {
        #[test]
        fn short_ways_tell_what_the_patterns_tell(text in "[0-9a-zA-Zµé.,<>+ :/-]{0,8}") {
            prop_assert_eq!(is_number_like(&text), is_number_by_pattern(&text));
        }
    }

    #[test]
    fn err_names_codes_and_dates_are_no_numbers() {
        for text in [
            "",
            "-",
            "–",
            "<",
            "ND",
            "<LOQ",
            "24D",
            "2-chlorophenol",
            "7782-41-4",
            "26/118",
            "2026-05-12",
            "03.02.2026",
            "12:30",
            "4D",
            "n.a.",
            "7/1/18 17:00",
        ] {
            assert!(!is_number_like(text), "{text}");
        }
    }
}
