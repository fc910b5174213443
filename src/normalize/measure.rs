//! One result cell with what stands beside it: a measurement, or the reason why there is none.

use super::findings::Problem;
use super::known::{Known, Way};
use super::recipe::RecipeBook;
use super::tally::{Spot, Tally};
use crate::map::{ValueRole, is_like_a_unit, is_nines};
use crate::place::Address;
use crate::read::{CellView, Shown};
use crate::reading::{
    Bound, Figure, LimitKind, QualifierCode, Reading, Remark, Unread, ValueReader, Word,
    bound_word, either, is_estimate_word, word, yes_or_no,
};
use crate::record::{Censored, Origin, RecipeId};
use crate::vocabulary::Vocabulary;
use std::sync::Arc;

/// The cells that belong to a result, as far as they are there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beside<'a> {
    pub qualifier: CellView<'a>,
    pub detection_limit: CellView<'a>,
    pub quantification_limit: CellView<'a>,
    /// A unit cell of the row.
    pub unit: CellView<'a>,
    /// The unit of the limits, where it is another.
    pub limit_unit: Option<&'a str>,
    /// A cell of yes or no, and whether yes means 'below a limit'.
    pub flag: Option<(CellView<'a>, bool)>,
}

impl Beside<'_> {
    pub(super) const NOTHING: Self = Self {
        qualifier: CellView::Empty,
        detection_limit: CellView::Empty,
        quantification_limit: CellView::Empty,
        unit: CellView::Empty,
        limit_unit: None,
        flag: None,
    };
}

impl<'a> Beside<'a> {
    pub(super) fn set(&mut self, role: ValueRole, cell: CellView<'a>) {
        match role {
            ValueRole::Qualifier => self.qualifier = cell,
            ValueRole::DetectionLimit => self.detection_limit = cell,
            ValueRole::QuantificationLimit => self.quantification_limit = cell,
            ValueRole::Unit => self.unit = cell,
            ValueRole::Flag { yes_is_below } => self.flag = Some((cell, yes_is_below)),
            // Known and kept out: neither changes the number.
            ValueRole::Uncertainty | ValueRole::Method => {}
        }
    }

    /// As `set`, but what is there already stays.
    pub(super) fn set_blank(&mut self, role: ValueRole, cell: CellView<'a>) {
        let before = *self;
        self.set(role, cell);
        if !before.qualifier.is_empty() {
            self.qualifier = before.qualifier;
        }
        if !before.detection_limit.is_empty() {
            self.detection_limit = before.detection_limit;
        }
        if !before.quantification_limit.is_empty() {
            self.quantification_limit = before.quantification_limit;
        }
        if !before.unit.is_empty() {
            self.unit = before.unit;
        }
        self.flag = before.flag.or(self.flag);
    }
}

/// What became of a result cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Outcome {
    Placed {
        /// Canonical; `None` only when absent.
        value: Option<f64>,
        censored: Option<Censored>,
        recipe: RecipeId,
    },
    /// The reason, as `unplaced` keeps it.
    Unplaced(&'static str),
}

/// What measuring needs of the sheet. Everything but the tally and the recipes is only read.
pub(super) struct Bench<'p, 'o> {
    pub reader: ValueReader<'p>,
    pub vocabulary: &'p Vocabulary,
    pub negative_is_below: bool,
    pub negatives_are_measured: bool,
    pub missing_numbers: &'p [f64],
    pub spot: &'o Spot,
    pub tally: &'o mut Tally,
    pub recipes: &'o mut RecipeBook,
}

/// A limit in canonical units, if the report gives one.
type LimitNumber = Option<f64>;

impl Bench<'_, '_> {
    /// Measures one cell. `cell` may be blank where only the qualifier cell speaks.
    pub(super) fn measure(
        &mut self,
        known: &mut Known,
        cell: CellView<'_>,
        at: Address,
        beside: &Beside<'_>,
    ) -> Outcome {
        let mut way = known.way;
        if let CellView::Text(unit) = beside.unit {
            match known.way_of_unit(unit.trim(), Origin::Row, self.vocabulary, self.recipes) {
                Ok(of_row) => way = of_row,
                Err(code) => return self.refuse_beside(code, unit, at, known),
            }
        }
        let mut job = Job {
            known,
            way,
            at,
            beside,
            bench: self,
        };
        match cell {
            CellView::Empty => job.qualifier_alone(),
            CellView::Text(text) => job.text(text),
            CellView::Number(number, shown) => job.number(number, shown),
            CellView::Date(serial, moment) => job.date(serial, moment.is_some()),
            CellView::Bool(found) => job.logical(found),
            CellView::Error(text) => job.unread(&Unread::FormulaError, text),
            CellView::Uncalculated => job.no_result("formula-uncalculated", ""),
        }
    }

    fn refuse_beside(
        &mut self,
        code: &'static str,
        text: &str,
        at: Address,
        known: &Known,
    ) -> Outcome {
        let problem = Problem::Beside {
            code,
            text,
            label: known.label(),
        };
        let analyte = &self.vocabulary.analyte(known.track.analyte).code;
        self.tally
            .add(self.spot, at, known.label(), Some(analyte), &problem);
        Outcome::Unplaced(code)
    }
}

struct Job<'a, 'b, 'p, 'o> {
    known: &'a mut Known,
    way: Way,
    at: Address,
    beside: &'a Beside<'a>,
    bench: &'b mut Bench<'p, 'o>,
}

impl Job<'_, '_, '_, '_> {
    fn tell(&mut self, problem: &Problem<'_>) {
        // 'Not determined' is one cause for a whole sheet: nobody has to act on it column by column.
        if problem.code() == "not-determined" {
            let subject = Arc::from("");
            self.bench
                .tally
                .add(self.bench.spot, self.at, &subject, None, problem);
            return;
        }
        let analyte = &self.bench.vocabulary.analyte(self.known.track.analyte).code;
        self.bench.tally.add(
            self.bench.spot,
            self.at,
            &self.known.track.label_text,
            Some(analyte),
            problem,
        );
    }

    fn note(&mut self, code: &'static str, text: &str) {
        let label = self.known.label().clone();
        self.tell(&Problem::Result {
            code,
            text,
            label: &label,
        });
    }

    fn no_result(&mut self, code: &'static str, text: &str) -> Outcome {
        self.note(code, text);
        Outcome::Unplaced(code)
    }

    fn unread(&mut self, unread: &Unread, text: &str) -> Outcome {
        let label = self.known.label().clone();
        self.tell(&Problem::Value {
            unread,
            text,
            label: &label,
        });
        Outcome::Unplaced(unread.reason())
    }

    fn beside_refused(&mut self, code: &'static str, text: &str) -> Outcome {
        let label = self.known.label().clone();
        self.tell(&Problem::Beside {
            code,
            text,
            label: &label,
        });
        Outcome::Unplaced(code)
    }

    fn number(&mut self, number: f64, shown: &Shown) -> Outcome {
        let mut figure = Figure {
            number,
            ..Figure::default()
        };
        match shown {
            Shown::Plain => {}
            Shown::Percent => {
                figure.number *= 100.0;
                figure.unit = Some("%");
            }
            Shown::Below => figure.bound = Bound::Below,
            Shown::Above => figure.bound = Bound::Above,
            Shown::With(text) => {
                // A text of the number format that is no unit says nothing of the number.
                let unit = text.trim();
                if self.bench.vocabulary.read_unit(unit).is_some() || is_like_a_unit(unit) {
                    figure.unit = Some(unit);
                }
            }
        }
        if !figure.number.is_finite() {
            return self.unread(&Unread::NotFinite, &number.to_string());
        }
        let text = CellView::Number(number, shown).as_text();
        self.figure(figure, &text)
    }

    /// A date in a result cell: proof that the spreadsheet has turned a number, except where the stored
    /// number is too small for a date of our time and only its format looks like one.
    fn date(&mut self, serial: f64, is_date: bool) -> Outcome {
        const FIRST_DATE_OF_OUR_TIME: f64 = 18_264.0;
        let text = CellView::Number(serial, &Shown::Plain).as_text();
        if !serial.is_finite() {
            return self.unread(&Unread::NotFinite, &text);
        }
        if is_date && serial >= FIRST_DATE_OF_OUR_TIME || is_time(serial, &text) {
            return self.no_result("date-in-value", &text);
        }
        let outcome = self.figure(
            Figure {
                number: serial,
                ..Figure::default()
            },
            &text,
        );
        if matches!(outcome, Outcome::Placed { .. }) {
            self.note("number-shown-as-date", &text);
        }
        outcome
    }

    fn logical(&mut self, found: bool) -> Outcome {
        if self.known.is_count {
            return self.presence(found, if found { "TRUE" } else { "FALSE" });
        }
        self.no_result("logical-value", if found { "TRUE" } else { "FALSE" })
    }

    fn text(&mut self, text: &str) -> Outcome {
        match self.bench.reader.read(text) {
            Reading::Number(figure) => {
                if let Some(unread) = self.other_sign(&figure, text) {
                    return self.unread(&unread, text);
                }
                self.figure(figure, text)
            }
            reading => self.worded(&reading, text),
        }
    }

    /// "1,234" read as the sign of the file has it is 1.234 or 1234; where the other of them is usual of the
    /// analyte and the one read is not, the sign of this number is in doubt.
    fn other_sign(&self, figure: &Figure<'_>, text: &str) -> Option<Unread> {
        let (decimal, grouped) = either(text)?;
        let other = if figure.number == decimal {
            grouped
        } else {
            decimal
        };
        let with = |number| Figure { number, ..*figure };
        let is_own_unit = figure.unit.is_none() && !self.is_usual(figure);
        (is_own_unit && self.is_usual(&with(other)))
            .then_some(Unread::Ambiguous { decimal, grouped })
    }

    /// The value cell is blank and the qualifier cell speaks ("ND", "<" beside a limit cell).
    fn qualifier_alone(&mut self) -> Outcome {
        let CellView::Text(text) = self.beside.qualifier else {
            return Outcome::Unplaced("not-determined");
        };
        match text.trim() {
            "<" | "≤" | "\u{ff1c}" | "&lt;" => self.below(LimitKind::Any, text, true),
            _ => match self.bench.reader.read(text) {
                Reading::Number(_) => self.beside_refused("qualifier-unknown", text),
                reading => self.worded(&reading, text),
            },
        }
    }

    /// A reading without a number of its own.
    fn worded(&mut self, reading: &Reading<'_>, text: &str) -> Outcome {
        match reading {
            Reading::Number(figure) => self.figure(*figure, text),
            Reading::BelowLimit { kind, inside } => self.below(*kind, text, inside.is_none()),
            Reading::NotDetected { inside } => self.below(LimitKind::Any, text, inside.is_none()),
            Reading::AboveRange => self.no_result("above-without-limit", text),
            Reading::Trace => match self.limit(LimitKind::Quantification) {
                Some(limit) => self.censored(limit, Censored::Below),
                None => self.no_result("trace-without-limit", text),
            },
            Reading::NotDetermined => self.no_result("not-determined", text),
            Reading::Pending => self.no_result("pending", text),
            Reading::Presence(found) => {
                if self.known.is_count {
                    self.presence(*found, text)
                } else if *found {
                    self.no_result("presence-without-number", text)
                } else {
                    self.unread(&Unread::NotANumber, text)
                }
            }
            Reading::Unread(unread) => self.unread(unread, text),
        }
    }

    fn presence(&mut self, found: bool, text: &str) -> Outcome {
        if found {
            return self.no_result("presence-without-number", text);
        }
        self.absent()
    }

    fn absent(&self) -> Outcome {
        Outcome::Placed {
            value: None,
            censored: Some(Censored::Absent),
            recipe: self.way.recipe,
        }
    }

    fn censored(&self, limit: f64, censored: Censored) -> Outcome {
        Outcome::Placed {
            value: Some(limit),
            censored: Some(censored),
            recipe: self.way.recipe,
        }
    }

    /// Below a limit that stands elsewhere. `clear` is false where a number in brackets stands beside
    /// the word, which can be the limit or an estimate.
    fn below(&mut self, kind: LimitKind, text: &str, clear: bool) -> Outcome {
        if let Some(limit) = self.limit(kind) {
            return self.censored(limit, Censored::Below);
        }
        if !clear {
            return self.no_result("limit-or-estimate", text);
        }
        self.note("limit-unknown", text);
        self.absent()
    }

    /// The limit of this kind: the row's own, then the track's. Below the limit of detection is below
    /// that of quantification too, not the other way round.
    fn limit(&mut self, kind: LimitKind) -> LimitNumber {
        let detection = self
            .limit_cell(self.beside.detection_limit)
            .or_else(|| self.track_limit(false));
        let quantification = self
            .limit_cell(self.beside.quantification_limit)
            .or_else(|| self.track_limit(true));
        match kind {
            LimitKind::Quantification => quantification,
            LimitKind::Detection | LimitKind::Any => detection.or(quantification),
        }
        .filter(|limit| *limit > 0.0)
    }

    fn track_limit(&self, quantification: bool) -> LimitNumber {
        let track = &self.known.track;
        let limit = if quantification {
            &track.quantification_limit
        } else {
            &track.limit
        };
        limit
            .as_ref()
            .map(|limit| track.conversion.apply(limit.number))
    }

    /// The number of a limit cell, in its own unit where it states one, else in the result's.
    fn limit_cell(&mut self, cell: CellView<'_>) -> LimitNumber {
        let (number, unit) = match cell {
            CellView::Number(number, Shown::Plain | Shown::Below) => (number, None),
            CellView::Text(text) => match self.bench.reader.read(text) {
                Reading::Number(figure) if figure.bound != Bound::Above => {
                    (figure.number, figure.unit)
                }
                _ => return None,
            },
            _ => return None,
        };
        let way = match unit.or(self.beside.limit_unit) {
            None => self.way,
            Some(unit) => self
                .known
                .way_of_unit(
                    unit,
                    Origin::Cell,
                    self.bench.vocabulary,
                    self.bench.recipes,
                )
                // A limit in an unknown unit is no limit; the result itself does not suffer.
                .ok()?,
        };
        let limit = way.conversion.apply(number);
        limit.is_finite().then_some(limit)
    }

    /// A number: unit of the cell, qualifier beside it, sign, zero; then the conversion.
    fn figure(&mut self, mut figure: Figure<'_>, text: &str) -> Outcome {
        if self.bench.missing_numbers.contains(&figure.number) {
            return self.no_result("missing-number", text);
        }
        if let Some(unit) = figure.unit {
            let way = self.known.way_of_unit(
                unit,
                Origin::Cell,
                self.bench.vocabulary,
                self.bench.recipes,
            );
            match way {
                // "80f" under mg/L: the mark of a footnote, not French degrees.
                Ok(way) if way.differs && is_letter(unit) => {
                    return self.unread(&Unread::TextAfterNumber, text);
                }
                Ok(way) => {
                    if way.differs {
                        let label = self.known.label().clone();
                        self.tell(&Problem::Beside {
                            code: "unit-in-cell",
                            text,
                            label: &label,
                        });
                    }
                    self.way = way;
                }
                Err("unit-unknown") => return self.unread(&Unread::TextAfterNumber, text),
                Err(code) => return self.beside_refused(code, unit),
            }
        }
        if let Some(refused) = self.qualify(&mut figure).or_else(|| self.flag(&mut figure)) {
            return refused;
        }
        // No redox potential is -999 mV, no charge balance -99 %: what cannot be a measurement is the code of a
        // blank, however seldom it stands.
        if figure.number < 0.0 && is_nines(figure.number) && !self.is_usual(&figure) {
            return self.no_result("missing-number", text);
        }
        let may_be_negative = self.known.may_be_negative || self.bench.negatives_are_measured;
        if figure.number < 0.0 && !may_be_negative {
            if !self.bench.negative_is_below || figure.bound != Bound::Exact {
                return self.no_result("negative-number", text);
            }
            figure.number = -figure.number;
            figure.bound = Bound::Below;
        }
        let value = self.way.conversion.apply(figure.number);
        if !value.is_finite() {
            return self.unread(&Unread::OutOfRange, text);
        }
        match figure.remark {
            Remark::LimitByWord => self.note("limit-by-word", text),
            Remark::Estimated => self.note("number-estimated", text),
            Remark::Corrected => self.note("number-corrected", text),
            Remark::None | Remark::Noted | Remark::Apostrophe => {}
        }
        let censored = match figure.bound {
            Bound::Exact => None,
            Bound::Below => Some(Censored::Below),
            Bound::Above => Some(Censored::Above),
        };
        if censored.is_some() && figure.number == 0.0 {
            return self.unread(&Unread::LimitOfZero, text);
        }
        if censored.is_none() && figure.number == 0.0 && !self.known.may_be_zero {
            self.note("zero-reported", text);
        }
        Outcome::Placed {
            value: Some(value),
            censored,
            recipe: self.way.recipe,
        }
    }

    /// Whether the analyte is often met in this amount.
    fn is_usual(&self, figure: &Figure<'_>) -> bool {
        let value = self.way.conversion.apply(figure.number);
        (self.known.soft_range).is_some_and(|(least, most)| (least..=most).contains(&value))
    }

    /// What a yes or no beside the number does to it; `Some` when it is neither.
    fn flag(&mut self, figure: &mut Figure<'_>) -> Option<Outcome> {
        let (cell, yes_is_below) = self.beside.flag?;
        if cell.is_empty() {
            return None;
        }
        let text = cell.as_text();
        match yes_or_no(&text) {
            Some(yes) if yes == yes_is_below => {
                figure.bound = Bound::Below;
                figure.remark = Remark::LimitByWord;
                None
            }
            Some(_) => None,
            None => Some(self.beside_refused("qualifier-unknown", &text)),
        }
    }

    /// What the qualifier cell does to the number; `Some` when the number must not be used.
    fn qualify(&mut self, figure: &mut Figure<'_>) -> Option<Outcome> {
        let text = match self.beside.qualifier {
            CellView::Empty => return None,
            CellView::Text(text) => text.trim(),
            other => {
                let text = other.as_text().into_owned();
                return Some(self.beside_refused("qualifier-unknown", &text));
            }
        };
        if let Some(code) = self.bench.reader.codes.get(text) {
            match code {
                QualifierCode::Below | QualifierCode::Absent => figure.bound = Bound::Below,
                QualifierCode::Above => figure.bound = Bound::Above,
                QualifierCode::Keep => {}
                QualifierCode::Reject => return Some(self.unread(&Unread::Rejected, text)),
                QualifierCode::Missing => return Some(self.no_result("not-determined", text)),
            }
            return None;
        }
        match text {
            "<" | "<=" | "≤" | "\u{ff1c}" | "&lt;" => figure.bound = Bound::Below,
            ">" | ">=" | "≥" | "\u{ff1e}" | "&gt;" => figure.bound = Bound::Above,
            "" | "=" | "*" | "-" | "–" => {}
            _ if bound_word(text)
                .is_some_and(|bound| figure.bound == Bound::Exact && bound != Bound::Exact) =>
            {
                figure.bound = bound_word(text).unwrap_or_default();
            }
            _ if is_estimate_word(text) => figure.remark = Remark::Estimated,
            "~" | "≈" | "J" | "E" => figure.remark = Remark::Estimated,
            // "<0.1 U": not found, or found and not confirmed; below the limit is right of both.
            "U" if matches!(figure.bound, Bound::Below) => {}
            _ => match word(text) {
                // With 'ND' beside it, the number is the limit of detection (a public information sheet
                // of a state department of natural resources for owners of wells says so).
                Some(Word::NotDetected | Word::BelowLimit(_)) => {
                    figure.bound = Bound::Below;
                    figure.remark = Remark::LimitByWord;
                }
                Some(Word::Quantified) => {}
                _ => return Some(self.beside_refused("qualifier-unknown", text)),
            },
        }
        None
    }
}

/// Whether a number, with its shortest text, was made of hours, minutes and seconds: 12:30 is 0.5208333333333334.
fn is_time(serial: f64, text: &str) -> bool {
    const SECONDS: f64 = 86_400.0;
    // A laboratory gives fewer digits.
    const LONG: usize = 12;
    let seconds = serial * SECONDS;
    text.len() > LONG && (seconds - seconds.round()).abs() < 1e-3
}

fn is_letter(unit: &str) -> bool {
    unit.len() == 1 && unit.starts_with(|c: char| c.is_ascii_alphabetic())
}
