//! The grammar of a result cell: what the text says, in full, or why it has no single reading.
//!
//! Knows nothing of analytes: whether a presence word or a zero makes sense is decided by `normalize`.
//! Forms and their meanings are common practice, no single source, except where a line names one.

use super::bracket;
use super::comparison::{approximation, comparison, is_estimate_word};
use super::fold::{is_blank, is_dash, narrow};
use super::garbled::refine;
use super::locale::{Decimal, QualifierCode};
use super::number::{NumberFault, lead_number, plain, read_number, superscript_digit};
use super::word::{LimitKind, Word, limit_word, word};
use std::collections::BTreeMap;

/// On which side of the number the true value lies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Bound {
    #[default]
    Exact,
    Below,
    Above,
}

/// What the text says of its number besides the number.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Remark {
    #[default]
    None,
    /// A footnote mark, a judgement; the number stands.
    Noted,
    /// "ca. 12", "0.03 J", "(0.03)": an estimate.
    Estimated,
    /// "0.05 ND": the number is the limit by a word beside it, no comparison sign.
    LimitByWord,
    /// "12.3 → 11.9": the later number.
    Corrected,
    /// "'12.3": a number stored as text on purpose.
    Apostrophe,
}

/// As written beside the number; the coverage factor is unknown (k = 2 by habit).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    pub number: f64,
    pub percent: bool,
}

/// A number and what stands around it in its cell.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Figure<'a> {
    /// As written, in whatever unit holds; the limit itself where `bound` is not exact.
    pub number: f64,
    pub bound: Bound,
    pub uncertainty: Option<Uncertainty>,
    pub remark: Remark,
    /// Text after the number that is none of the grammar's words: a unit, or the number is not to be
    /// used.
    pub unit: Option<&'a str>,
}

/// Why a text has no single reading. `reason` is what `unplaced` keeps.
#[derive(Clone, Debug, PartialEq)]
pub enum Unread {
    NotANumber,
    /// `1.234` where the file does not decide: as a decimal, and as a grouped number.
    Ambiguous {
        decimal: f64,
        grouped: f64,
    },
    AgainstLocale,
    OutOfRange,
    /// "NaN", "inf".
    NotFinite,
    /// `12.31)`: the last digit can be a footnote.
    Footnote,
    /// "10-20".
    Range,
    /// "7.2/7.4".
    Several,
    Judgement,
    /// A word with two meanings.
    WordAmbiguous,
    FormulaError,
    /// Looks like a number that scanning or typing broke; what it may have been.
    Garbled(String),
    /// A code of this laboratory says that the number must not be used.
    Rejected,
    /// "<0".
    LimitOfZero,
    /// Text after the number that is neither unit nor a known code.
    TextAfterNumber,
}

impl Unread {
    /// Kebab-case, stable.
    pub const fn reason(&self) -> &'static str {
        match self {
            Self::NotANumber => "not-a-number",
            Self::Ambiguous { .. } => "number-ambiguous",
            Self::AgainstLocale => "against-decimal-sign",
            Self::OutOfRange => "number-out-of-range",
            Self::NotFinite => "not-finite",
            Self::Footnote => "footnote-ambiguous",
            Self::Range => "range",
            Self::Several => "several-values",
            Self::Judgement => "judgement",
            Self::WordAmbiguous => "word-ambiguous",
            Self::FormulaError => "formula-error",
            Self::Garbled(_) => "number-garbled",
            Self::Rejected => "rejected-by-code",
            Self::LimitOfZero => "limit-of-zero",
            Self::TextAfterNumber => "text-after-number",
        }
    }
}

impl From<NumberFault> for Unread {
    fn from(fault: NumberFault) -> Self {
        match fault {
            NumberFault::NotANumber => Self::NotANumber,
            NumberFault::Ambiguous { decimal, grouped } => Self::Ambiguous { decimal, grouped },
            NumberFault::AgainstLocale => Self::AgainstLocale,
            NumberFault::OutOfRange => Self::OutOfRange,
        }
    }
}

/// What a result cell says.
#[derive(Clone, Debug, PartialEq)]
pub enum Reading<'a> {
    Number(Figure<'a>),
    /// Below a limit whose number stands elsewhere. `inside` is a number in brackets beside the word,
    /// which some laboratories use for the limit and others for an estimate.
    BelowLimit {
        kind: LimitKind,
        inside: Option<f64>,
    },
    /// Not detected; the limit, if any, stands elsewhere.
    NotDetected {
        inside: Option<f64>,
    },
    /// Too many to count: above a limit that the cell does not give.
    AboveRange,
    /// Detected below quantification.
    Trace,
    /// A blank in other words.
    NotDetermined,
    Pending,
    /// Found or not, of bacteria.
    Presence(bool),
    Unread(Unread),
}

/// Reads result cells; one for a file.
#[derive(Clone, Copy, Debug)]
pub struct ValueReader<'c> {
    pub decimal: Decimal,
    /// Codes of this laboratory, as written; looked up before the common words.
    pub codes: &'c BTreeMap<String, QualifierCode>,
}

impl ValueReader<'_> {
    /// Never fails and never panics: what has no reading is `Reading::Unread`.
    pub fn read<'a>(&self, text: &'a str) -> Reading<'a> {
        if let Some(number) = plain(text, self.decimal) {
            return exact(number);
        }
        if let Some(limit) = self.plain_limit(text) {
            return limit;
        }
        let text = text.trim_matches(is_blank);
        if text.is_empty() {
            return Reading::NotDetermined;
        }
        if let Some(reading) = self.whole_word(text) {
            return reading;
        }
        self.read_worded(text)
            .unwrap_or_else(|unread| Reading::Unread(refine(text, unread)))
    }

    /// `<0.05`, as most censored cells are; `None` says nothing about the text. What is read closely gives
    /// the same, less quickly.
    fn plain_limit(&self, text: &str) -> Option<Reading<'static>> {
        let number = plain(text.strip_prefix('<')?, self.decimal)?;
        (number > 0.0 && !self.codes.contains_key(text)).then_some(Reading::Number(Figure {
            number,
            bound: Bound::Below,
            ..Figure::default()
        }))
    }

    /// The whole cell is a code or a word.
    fn whole_word(&self, text: &str) -> Option<Reading<'static>> {
        if let Some(code) = self.codes.get(text) {
            return Some(match code {
                QualifierCode::Below => Reading::BelowLimit {
                    kind: LimitKind::Any,
                    inside: None,
                },
                QualifierCode::Above => Reading::AboveRange,
                QualifierCode::Absent => Reading::NotDetected { inside: None },
                QualifierCode::Keep | QualifierCode::Missing => Reading::NotDetermined,
                QualifierCode::Reject => Reading::Unread(Unread::Rejected),
            });
        }
        if text.starts_with('#') && text.chars().skip(1).all(|c| c == '#') {
            return Some(Reading::Unread(Unread::FormulaError));
        }
        if text.starts_with(|c: char| c.is_ascii_digit()) {
            return None;
        }
        let word = word(text)?;
        Some(match word {
            Word::NotDetected => Reading::NotDetected { inside: None },
            Word::BelowLimit(kind) => Reading::BelowLimit { kind, inside: None },
            Word::AboveRange => Reading::AboveRange,
            Word::Trace => Reading::Trace,
            Word::NotDetermined => Reading::NotDetermined,
            Word::Pending => Reading::Pending,
            Word::Present => Reading::Presence(true),
            Word::Missing => Reading::Presence(false),
            // Where no number stands it says nothing.
            Word::Quantified => Reading::Unread(Unread::NotANumber),
            Word::Judgement => Reading::Unread(Unread::Judgement),
            Word::Ambiguous => Reading::Unread(Unread::WordAmbiguous),
        })
    }

    /// Signs and words before the number.
    fn read_worded<'a>(&self, text: &'a str) -> Result<Reading<'a>, Unread> {
        if let Some(rest) = text.strip_prefix(['\'', '\u{2019}', '`'])
            && rest.starts_with(|c: char| c.is_ascii_digit() || is_dash(c) || c == '.' || c == ',')
        {
            return self.figure(rest, Bound::Exact, Remark::Apostrophe);
        }
        if let Some((bound, rest)) = comparison(text) {
            if rest.starts_with(|c: char| !narrow(c).is_ascii_digit())
                && let Some(kind) = limit_word(rest)
            {
                return match bound {
                    Bound::Below => Ok(Reading::BelowLimit { kind, inside: None }),
                    _ => Err(Unread::NotANumber),
                };
            }
            if bound == Bound::Below
                && let Some((kind, limit)) = limit_named(rest)
            {
                return match bracket::whole(limit) {
                    // "<LOQ (0.05)": some write the limit in brackets, others what was seen below it.
                    Some(inner) => Ok(Reading::BelowLimit {
                        kind,
                        inside: Some(read_number(inner, self.decimal)?),
                    }),
                    None => self.figure(limit, bound, Remark::LimitByWord),
                };
            }
            return self.figure(rest, bound, Remark::None);
        }
        if let Some(rest) = approximation(text) {
            return self.figure(rest, Bound::Exact, Remark::Estimated);
        }
        if let Some(inner) = bracket::whole(text) {
            return match self.read(inner) {
                Reading::Number(figure) if figure.bound == Bound::Exact => {
                    Ok(Reading::Number(Figure {
                        remark: Remark::Estimated,
                        ..figure
                    }))
                }
                Reading::Unread(unread) => Err(unread),
                other => Ok(other),
            };
        }
        if let Some(reading) = self.word_then_number(text)? {
            return Ok(reading);
        }
        self.figure(text, Bound::Exact, Remark::None)
    }

    /// "ND (0.05)", "n.d. < 0.05", "BQL (0.5)", "U 0.05" where U is a code.
    fn word_then_number<'a>(&self, text: &'a str) -> Result<Option<Reading<'a>>, Unread> {
        let first = text.chars().next().map(narrow);
        if !first.is_some_and(char::is_alphabetic) {
            return Ok(None);
        }
        let Some(split) = text
            .find(|c: char| matches!(c, '<' | '(' | '=' | ':' | '\u{ff1c}') || c.is_ascii_digit())
        else {
            return Ok(None);
        };
        let head = text[..split].trim_matches(|c: char| is_blank(c) || c == ',');
        let rest = text[split..].trim_start_matches(|c| is_blank(c) || c == ':' || c == '=');
        let code = self.codes.get(head).copied();
        let meaning = match (code, word(head)) {
            (Some(QualifierCode::Below), _) => Word::BelowLimit(LimitKind::Any),
            (Some(QualifierCode::Absent), _) => Word::NotDetected,
            (Some(QualifierCode::Above), _) => {
                return self
                    .figure(rest, Bound::Above, Remark::LimitByWord)
                    .map(Some);
            }
            (Some(QualifierCode::Keep), _) => {
                return self.figure(rest, Bound::Exact, Remark::Noted).map(Some);
            }
            (Some(QualifierCode::Missing), _) => return Ok(Some(Reading::NotDetermined)),
            (Some(QualifierCode::Reject), _) => return Err(Unread::Rejected),
            (None, Some(word @ (Word::NotDetected | Word::BelowLimit(_)))) => word,
            (None, _) => return Ok(None),
        };
        let content = bracket::whole(rest).unwrap_or(rest);
        if let Some((Bound::Below, limit)) = comparison(content) {
            return self.figure(limit, Bound::Below, Remark::None).map(Some);
        }
        let number = read_number(content, self.decimal)?;
        if code.is_some() {
            return bounded(number, Bound::Below, Remark::LimitByWord).map(Some);
        }
        let inside = Some(number);
        Ok(Some(match meaning {
            Word::BelowLimit(kind) => Reading::BelowLimit { kind, inside },
            _ => Reading::NotDetected { inside },
        }))
    }

    /// The number itself, then what follows it.
    fn figure<'a>(
        &self,
        text: &'a str,
        bound: Bound,
        remark: Remark,
    ) -> Result<Reading<'a>, Unread> {
        let (number, rest) = lead_number(text.trim_start_matches(is_blank), self.decimal)?;
        // "10³" alone is a thousand as well as ten with a footnote.
        if number == 10.0 && rest.starts_with(|c| superscript_digit(c).is_some() || c == '⁻') {
            return Err(Unread::Footnote);
        }
        let mut figure = Figure {
            number,
            bound,
            remark,
            ..Figure::default()
        };
        self.tail(rest, &mut figure)?;
        if figure.bound != Bound::Exact && figure.number == 0.0 {
            return Err(Unread::LimitOfZero);
        }
        if figure.bound != Bound::Exact && figure.number < 0.0 {
            return Err(Unread::NotANumber);
        }
        Ok(Reading::Number(figure))
    }

    /// What may follow a number: uncertainty, notes, a code, a unit; another number is a refusal.
    fn tail<'a>(&self, rest: &'a str, figure: &mut Figure<'a>) -> Result<(), Unread> {
        if rest.starts_with([')', ']']) {
            return Err(Unread::Footnote);
        }
        let mut rest = rest.trim_matches(is_blank);
        loop {
            if rest.is_empty() {
                return Ok(());
            }
            // A footnote can say that the number does not hold.
            if let Some(code) = self.codes.get(rest) {
                return figure.apply(*code);
            }
            if let Some((uncertainty, after)) = self.uncertainty(rest) {
                figure.uncertainty = uncertainty;
                rest = after.trim_start_matches(is_blank);
            } else if let Some(after) = bracket::note(rest) {
                figure.noted();
                rest = after.trim_start_matches(is_blank);
            } else {
                break;
            }
        }
        if let Some(corrected) = ["→", "->", "=>", "⇒"]
            .iter()
            .find_map(|a| rest.strip_prefix(a))
        {
            figure.number = read_number(corrected, self.decimal)?;
            figure.remark = Remark::Corrected;
            return Ok(());
        }
        if matches!(rest, "<" | "\u{ff1c}" | "&lt;" | "未満") && figure.bound == Bound::Exact {
            figure.bound = Bound::Below;
            return Ok(());
        }
        if let Some(inner) = bracket::whole(rest) {
            return self.tail_bracket(inner, figure);
        }
        if continues_range(rest) {
            return Err(Unread::Range);
        }
        if continues_list(rest) {
            return Err(Unread::Several);
        }
        self.tail_text(rest, figure)
    }

    fn tail_bracket<'a>(&self, inner: &'a str, figure: &mut Figure<'a>) -> Result<(), Unread> {
        let inner = inner.trim_matches(is_blank);
        if inner.contains(|c: char| c.is_ascii_digit()) && read_number(inner, self.decimal).is_ok()
        {
            // "<0.1 (0.03)": below quantification, with the estimate in brackets.
            if figure.bound == Bound::Below {
                figure.noted();
                return Ok(());
            }
            return Err(Unread::Several);
        }
        self.tail_text(inner, figure)
    }

    fn tail_text<'a>(&self, text: &'a str, figure: &mut Figure<'a>) -> Result<(), Unread> {
        // Marks at the end of a unit ("12.3 mg/l *") are notes on the number.
        let bare = text.trim_end_matches(|c: char| is_note_mark(c) || is_blank(c));
        if bare.len() < text.len() && !bare.is_empty() {
            figure.noted();
        }
        if let Some(code) = self.codes.get(bare) {
            return figure.apply(*code);
        }
        if bare.starts_with(|c: char| {
            is_dash(c) || c.is_ascii_digit() || matches!(c, '.' | ',' | '<' | '>')
        }) {
            return Err(Unread::NotANumber);
        }
        match word(bare) {
            Some(Word::NotDetected | Word::BelowLimit(_)) if figure.bound != Bound::Above => {
                figure.bound = Bound::Below;
                figure.remark = Remark::LimitByWord;
                return Ok(());
            }
            Some(Word::Judgement) => {
                figure.noted();
                return Ok(());
            }
            Some(_) => return Err(Unread::TextAfterNumber),
            None => {}
        }
        // A published data series marks estimates below its reporting level with E or J (USGS Data
        // Series 152; other schemes agree that the number is an estimate).
        if matches!(bare, "J" | "E") || is_estimate_word(bare) {
            figure.remark = Remark::Estimated;
            return Ok(());
        }
        figure.unit = Some(bare);
        Ok(())
    }

    /// `± 0.4`, `(±3 %)`, `+/- 0,4`. `Some(None)` where it cannot be read: the number stands all the
    /// same.
    fn uncertainty<'a>(&self, rest: &'a str) -> Option<(Option<Uncertainty>, &'a str)> {
        let (inner, after) = match bracket::leading(rest) {
            Some((inner, after)) => (inner.trim_matches(is_blank), Some(after)),
            None => (rest, None),
        };
        let text = ["±", "+/-", "+-", "+/−", "+ /-"]
            .iter()
            .find_map(|sign| inner.strip_prefix(sign))?
            .trim_start_matches(is_blank);
        let (number, behind) = match lead_number(text, self.decimal) {
            Ok(found) => found,
            Err(_) => return Some((None, after.unwrap_or(""))),
        };
        let behind = behind.trim_start_matches(is_blank);
        let percent = behind.strip_prefix('%');
        let uncertainty = Uncertainty {
            number: number.abs(),
            percent: percent.is_some(),
        };
        Some((
            Some(uncertainty),
            after.unwrap_or(percent.unwrap_or(behind)),
        ))
    }
}

impl Figure<'_> {
    fn noted(&mut self) {
        if self.remark == Remark::None {
            self.remark = Remark::Noted;
        }
    }

    fn apply(&mut self, code: QualifierCode) -> Result<(), Unread> {
        match code {
            QualifierCode::Below | QualifierCode::Absent => {
                self.bound = Bound::Below;
                self.remark = Remark::LimitByWord;
            }
            QualifierCode::Above => {
                self.bound = Bound::Above;
                self.remark = Remark::LimitByWord;
            }
            QualifierCode::Keep => self.noted(),
            QualifierCode::Reject | QualifierCode::Missing => return Err(Unread::Rejected),
        }
        Ok(())
    }
}

const fn exact(number: f64) -> Reading<'static> {
    Reading::Number(Figure {
        number,
        bound: Bound::Exact,
        uncertainty: None,
        remark: Remark::None,
        unit: None,
    })
}

fn bounded(number: f64, bound: Bound, remark: Remark) -> Result<Reading<'static>, Unread> {
    if number <= 0.0 {
        return Err(Unread::LimitOfZero);
    }
    Ok(Reading::Number(Figure {
        number,
        bound,
        remark,
        ..Figure::default()
    }))
}

/// The limit that words before a number name, and the number: "LOQ 0.05", "LOD = 0.02", "LOQ (0.05)".
fn limit_named(text: &str) -> Option<(LimitKind, &str)> {
    let split =
        text.find(|c: char| matches!(c, '(' | '[' | '=' | ':') || narrow(c).is_ascii_digit())?;
    let kind = limit_word(text[..split].trim_matches(is_blank))?;
    let number = text[split..].trim_start_matches(|c| is_blank(c) || c == ':' || c == '=');
    Some((kind, number))
}

fn is_note_mark(c: char) -> bool {
    matches!(c, '*' | '†' | '‡' | '§' | '#' | '!') || superscript_digit(c).is_some()
}

/// "-20", "– 20", "… 20", "to 20" after a number.
fn continues_range(rest: &str) -> bool {
    const WORDS: [&str; 12] = [
        "..", "…", "to ", "bis ", "tot ", "do ", "til ", "à ", "a ", "al ", "y ", "÷",
    ];
    let after = match rest.chars().next() {
        Some(c) if is_dash(c) => Some(&rest[c.len_utf8()..]),
        _ => WORDS.iter().find_map(|word| rest.strip_prefix(word)),
    };
    after.is_some_and(|after| {
        after
            .trim_start_matches(|c| is_blank(c) || matches!(c, '.' | '<' | '>'))
            .starts_with(|c: char| c.is_ascii_digit())
    })
}

/// "/7.4", "; 7.4", "7.4" after a number: a second number.
fn continues_list(rest: &str) -> bool {
    let sign = rest.starts_with(['/', ';', '|', '&', '+', '\\']);
    let after = rest
        .trim_start_matches(['/', ';', '|', '&', '+', '\\'])
        .trim_start_matches(is_blank);
    // "12 /100 ml" is a count and its unit, not two numbers.
    sign && after.starts_with(|c: char| c.is_ascii_digit() || c == '<' || c == '>')
        && !after.contains(char::is_alphabetic)
        || (sign && word(after).is_some())
}
