//! What all workbook readers share: cells as `calamine` gives them are put on a grid, within bounds,
//! and what is odd about them is kept account of.

use super::content::{Content, as_error, iso};
use super::hidden::{Found, Hidden};
use super::serial::{self, Base};
use super::shown::Format;
use super::strings::Raised;
use crate::finding::Finding;
use crate::guard::guard;
use crate::place::{Address, Place};
use crate::read::bounds::{
    BAD_CELLS, CELL_CHARS, CELLS, COLUMNS, FINDINGS_OF_A_KIND, OWN_TEXTS, ROWS, TEXT_BYTES, TEXTS,
};
use crate::read::cell::{Cell, Shown, Value};
use crate::read::delimited::text::shorten;
use crate::read::findings::Flaw;
use crate::read::grid::{Grid, Report, Sheet};
use calamine::{Data, ExcelDateTime, Range, SheetType, SheetVisible};
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// Opens a workbook with its reader; `is_locked` knows the error by which the reader says that there is
/// a password.
pub(super) fn open_book<B, E: std::fmt::Display>(
    open: impl FnOnce() -> Result<B, E>,
    is_locked: impl FnOnce(&E) -> bool,
) -> Result<B, Flaw> {
    match guard(open) {
        Ok(Ok(book)) => Ok(book),
        Ok(Err(e)) if is_locked(&e) => Err(Flaw::PasswordProtected),
        Ok(Err(e)) => Err(Flaw::WorkbookBroken {
            reason: e.to_string(),
        }),
        Err(reason) => Err(Flaw::WorkbookBroken { reason }),
    }
}

/// What a sheet is that has no cells; `None` for one that has.
const fn no_cells(kind: SheetType) -> Option<&'static str> {
    match kind {
        SheetType::WorkSheet | SheetType::MacroSheet => None,
        SheetType::ChartSheet => Some("chart"),
        SheetType::DialogSheet => Some("dialogue"),
        SheetType::Vba => Some("program module"),
    }
}

/// `calamine` finds a sheet by its name: of two with one name it reads one twice and the other never.
pub(super) fn refuse_namesakes(report: &mut Report) {
    let mut named: BTreeMap<Arc<str>, usize> = BTreeMap::new();
    for sheet in &report.sheets {
        *named.entry(sheet.name.clone()).or_default() += 1;
    }
    let is_namesake = |sheet: &Sheet| named[&sheet.name] > 1;
    for sheet in report.sheets.iter_mut().filter(|sheet| is_namesake(sheet)) {
        sheet.grid = Grid::default();
        let reason = "another sheet of the workbook has the same name".to_owned();
        let place = Place::sheet(&report.file, &sheet.name);
        report
            .findings
            .push(Flaw::SheetUnreadable { reason }.at(place));
    }
}

/// What stands in the place of a text that is struck out.
pub(super) fn struck(text: &str) -> String {
    format!("({text}, struck out)")
}

const CELLS_OF_WORKBOOK: &str = "cells in the workbook";

/// What the cells of one workbook may come to.
struct Bounds {
    cells: u64,
    texts: u64,
    own_texts: u64,
    text_bytes: u64,
}

const BOUNDS: Bounds = Bounds {
    cells: CELLS,
    texts: TEXTS,
    own_texts: OWN_TEXTS,
    text_bytes: TEXT_BYTES,
};

/// Gathers the cells of one sheet.
pub(super) struct Gather<'r> {
    file: &'r Arc<str>,
    bounds: Bounds,
    sheet: Sheet,
    base: Base,
    /// Cells of the sheets before this one: the bound is on the workbook.
    before: u64,
    /// Texts in the sheets before this one, and their bytes.
    texts_before: (u64, u64),
    own_texts_before: u64,
    findings: Vec<Finding>,
    /// Texts of the workbook's table by where they lie: one allocation for each, not for each cell.
    shared: HashMap<(usize, usize), Arc<str>>,
    /// Texts of that table as a reader sees them, where that is not how they are given.
    pub(super) raised: Option<&'r Raised>,
    last: Option<Address>,
    /// Reasons of unreadable cells since the last readable one.
    unreadable: Vec<String>,
    bad: u64,
    /// Cells of the row of the next cell are not taken; that row, once it is known.
    lost_row: Option<Option<u32>>,
    beyond: bool,
    /// Which bound of the workbook was reached.
    full: Option<(&'static str, u64)>,
    pub(super) drops_nul: bool,
    /// Cells that hold nothing: blanks with a style, or formulas never calculated.
    pub(super) empties: u64,
}

impl<'r> Gather<'r> {
    /// `None`, and told, where a sheet has no cells.
    pub(super) fn of(report: &'r mut Report, sheet: &calamine::Sheet, base: Base) -> Option<Self> {
        if let Some(kind) = no_cells(sheet.typ) {
            let place = Place::sheet(&report.file, &sheet.name.as_str().into());
            report.findings.push(Flaw::SheetNoCells { kind }.at(place));
            return None;
        }
        let is_hidden = sheet.visible != SheetVisible::Visible;
        Some(Self::new(report, &sheet.name, is_hidden, base))
    }

    pub(super) fn new(report: &'r Report, name: &str, hidden: bool, base: Base) -> Self {
        Self {
            file: &report.file,
            bounds: BOUNDS,
            sheet: Sheet {
                name: name.into(),
                hidden,
                grid: Grid::default(),
            },
            base,
            before: report.sheets.iter().map(|s| s.grid.count()).sum(),
            texts_before: (report.sheets.iter())
                .map(|s| s.grid.texts())
                .fold((0, 0), |sum, of| (sum.0 + of.0, sum.1 + of.1)),
            own_texts_before: report.sheets.iter().map(|s| s.grid.own_texts).sum(),
            findings: Vec::new(),
            shared: HashMap::new(),
            raised: None,
            last: None,
            unreadable: Vec::new(),
            bad: 0,
            lost_row: None,
            beyond: false,
            full: None,
            drops_nul: false,
            empties: 0,
        }
    }

    /// Takes a cell. `false` when the workbook has as many as can be read.
    pub(super) fn cell(
        &mut self,
        at: (u32, u32),
        content: Content<'_>,
        format: Option<&Format>,
    ) -> bool {
        let at = Address::new(at.0, at.1);
        if let Some(lost) = self.lost_row {
            if *self.lost_row.insert(lost.or(Some(at.row))) == Some(at.row) {
                self.unreadable.push(String::new());
                self.bad += 1;
                return true;
            }
            self.lost_row = None;
        }
        if !self.unreadable.is_empty() {
            self.tell_unreadable(Some(at));
        }
        self.last = Some(at);
        if at.row >= ROWS || at.col >= COLUMNS {
            self.beyond = true;
            return true;
        }
        self.full = self.bound_reached();
        if self.full.is_some() {
            return false;
        }
        let (value, shown) = match content {
            Content::Empty => {
                self.empties += 1;
                return true;
            }
            Content::Shared(text) => (self.shared_text(at, text), Shown::Plain),
            Content::Text(text) => (self.text(at, text), Shown::Plain),
            Content::Bool(b) => (Value::Bool(b), Shown::Plain),
            Content::Error(text) => (Value::Error(text.into()), Shown::Plain),
            Content::Iso(text) => (iso(text), Shown::Plain),
            Content::Number(number) => {
                format.map_or((Value::Number(number), Shown::Plain), |f| f.show(number))
            }
            Content::DateTime(date) => match format {
                Some(format) if format.is_number => format.show(date.as_f64()),
                _ => (self.date(date), Shown::Plain),
            },
        };
        let mut cell = Cell { value, shown };
        if format.is_some_and(|format| format.is_struck) {
            cell = Cell::text(struck(&cell.as_text()));
        }
        if let Some(before) = self.sheet.grid.put(at, cell) {
            self.given_twice(at, &before);
        }
        true
    }

    /// Which of two values counts nobody can say.
    fn given_twice(&mut self, at: Address, before: &Cell) {
        let now = self.sheet.grid.view(at);
        if now != before.view() {
            let words = format!(
                "(given twice: '{}' and '{}')",
                before.as_text(),
                now.as_text()
            );
            self.sheet.grid.put(at, Cell::text(words));
        }
    }

    /// Which bound of the workbook is reached.
    fn bound_reached(&self) -> Option<(&'static str, u64)> {
        let (grid, bounds) = (&self.sheet.grid, &self.bounds);
        let (texts, text_bytes) = grid.texts();
        [
            (self.before + grid.count(), CELLS_OF_WORKBOOK, bounds.cells),
            (
                self.texts_before.0 + texts,
                "texts in the cells of the workbook",
                bounds.texts,
            ),
            (
                self.own_texts_before + grid.own_texts,
                "different texts in the cells of the workbook",
                bounds.own_texts,
            ),
            (
                self.texts_before.1 + text_bytes,
                "bytes of text in the cells of the workbook",
                bounds.text_bytes,
            ),
        ]
        .into_iter()
        .find(|(held, _, bound)| held >= bound)
        .map(|(_, what, bound)| (what, bound))
    }

    /// More cells follow than can be read; none of them is taken.
    pub(super) const fn has_too_many(&mut self) {
        self.full = Some((CELLS_OF_WORKBOOK, self.bounds.cells));
    }

    /// A formula at `at` that has no result.
    pub(super) fn uncalculated(&mut self, at: (u32, u32)) {
        let at = Address::new(at.0, at.1);
        if at.row < ROWS && at.col < COLUMNS && self.sheet.grid.get(at).is_none() {
            self.sheet.grid.put(
                at,
                Cell {
                    value: Value::Uncalculated,
                    shown: Shown::Plain,
                },
            );
        }
    }

    /// A cell could not be read. `false` when there were so many that the sheet is given up.
    pub(super) fn unreadable(&mut self, reason: String) -> bool {
        self.bad += 1;
        self.unreadable.push(reason);
        self.bad < BAD_CELLS
    }

    /// After a cell that could not be read, where cells do not say where they stand: nobody can say in which
    /// column those after it stand. The row of the next cell is lost, which may be the row after its own.
    pub(super) const fn lose_row(&mut self) {
        self.lost_row = Some(None);
    }

    fn tell_unreadable(&mut self, next: Option<Address>) {
        let between = match (self.last, next) {
            (Some(last), Some(next)) => format!("between {last} and {next}"),
            (Some(last), None) => format!("after {last}"),
            (None, Some(next)) => format!("before {next}"),
            (None, None) => "of the sheet".to_owned(),
        };
        let reasons = std::mem::take(&mut self.unreadable);
        let cells = reasons.len() as u64;
        if self.bad - cells >= FINDINGS_OF_A_KIND {
            return;
        }
        if let Some(reason) = reasons.into_iter().next() {
            let flaw = Flaw::CellUnreadable {
                between,
                reason,
                cells,
            };
            let place = match next.or(self.last) {
                Some(at) => self.place(at),
                None => Place::sheet(self.file, &self.sheet.name),
            };
            self.findings.push(flaw.at(place));
        }
    }

    fn place(&self, at: Address) -> Place {
        Place::cell(self.file, &self.sheet.name, at)
    }

    fn date(&self, date: ExcelDateTime) -> Value {
        let serial = date.as_f64();
        let date = if date.is_duration() {
            None
        } else {
            serial::date_time(serial, self.base)
        };
        Value::Date { serial, date }
    }

    /// Where shared texts lay there may be others now.
    pub(super) fn forget_shared(&mut self) {
        self.shared.clear();
    }

    fn shared_text(&mut self, at: Address, text: &str) -> Value {
        let key = (text.as_ptr().addr(), text.len());
        if let Some(known) = self.shared.get(&key) {
            return as_error(known.clone());
        }
        let text: Arc<str> = match self.raised.and_then(|raised| raised.get(text)) {
            Some(seen) => seen.clone(),
            None => self.bounded(at, text).into(),
        };
        self.sheet.grid.own_texts += 1;
        self.shared.insert(key, text.clone());
        as_error(text)
    }

    fn text(&mut self, at: Address, text: &str) -> Value {
        self.sheet.grid.own_texts += 1;
        if let Some(seen) = self.raised.and_then(|raised| raised.get(text)) {
            return as_error(seen.clone());
        }
        let text = self.bounded(at, text);
        if self.drops_nul && text.contains('\0') {
            return as_error(text.replace('\0', "").into());
        }
        as_error(text.into())
    }

    fn bounded<'t>(&mut self, at: Address, text: &'t str) -> &'t str {
        if text.len() <= CELL_CHARS {
            return text;
        }
        match text.char_indices().nth(CELL_CHARS) {
            None => text,
            Some((end, _)) => {
                let flaw = Flaw::TextCut {
                    chars: text.chars().count(),
                };
                self.findings.push(flaw.at(self.place(at)));
                &text[..end]
            }
        }
    }

    /// Takes the cells of a sheet that `calamine` has laid out.
    pub(super) fn range<'f>(
        &mut self,
        range: &Range<Data>,
        format: impl Fn((u32, u32)) -> Option<&'f Format>,
    ) {
        // Positions in a range count from its first used cell.
        let Some((top, left)) = range.start() else {
            return;
        };
        for (row, col, data) in range.used_cells() {
            let (Ok(row), Ok(col)) = (u32::try_from(row), u32::try_from(col)) else {
                continue;
            };
            let at = (top + row, left + col);
            if !self.cell(at, Content::from(data), format(at)) {
                return;
            }
        }
    }

    /// Looks at the formulas of a sheet that `calamine` has laid out.
    pub(super) fn formulas(&mut self, range: &Range<Data>, formulas: &Range<String>) {
        let Some((top, left)) = formulas.start() else {
            return;
        };
        let (mut count, mut zeros) = (0, 0);
        let mut blanks = Vec::new();
        for (row, col, formula) in formulas.used_cells() {
            let (Ok(row), Ok(col)) = (u32::try_from(row), u32::try_from(col)) else {
                continue;
            };
            if formula.is_empty() {
                continue;
            }
            count += 1;
            let at = (top + row, left + col);
            match range.get_value(at) {
                None | Some(Data::Empty) => self.uncalculated(at),
                Some(Data::Float(0.0) | Data::Int(0)) => zeros += 1,
                Some(Data::String(text)) if text.is_empty() => blanks.push(at),
                Some(_) => (),
            }
        }
        // A formula may give an empty text; where each does, the program that wrote them did not calculate.
        if blanks.len() as u64 == count {
            blanks.into_iter().for_each(|at| self.uncalculated(at));
        }
        self.count_zero_formulas(count, zeros);
    }

    /// A sum or two that come to nothing are no sign of a program that does not calculate; a sheet
    /// whose every formula does is.
    pub(super) fn count_zero_formulas(&mut self, formulas: u64, zeros: u64) {
        const SIGN: u64 = 3;
        if zeros >= SIGN && zeros == formulas {
            self.flaw(Flaw::FormulasAllZero { cells: zeros });
        }
    }

    pub(super) fn tell_hidden(&mut self, hidden: Hidden) {
        if let Some(Found {
            rows,
            columns,
            first,
        }) = hidden.found(&self.sheet.grid)
        {
            let flaw = Flaw::RowsHidden { rows, columns };
            self.findings.push(flaw.at(self.place(first)));
        }
    }

    pub(super) fn flaw(&mut self, flaw: Flaw) {
        self.findings
            .push(flaw.at(Place::sheet(self.file, &self.sheet.name)));
    }

    pub(super) fn grid(&mut self) -> &mut Grid {
        &mut self.sheet.grid
    }

    /// The sheet, and what was odd about it.
    pub(super) fn finish(mut self) -> (Sheet, Vec<Finding>) {
        if !self.unreadable.is_empty() {
            self.tell_unreadable(None);
        }
        let uncalculated = self
            .sheet
            .grid
            .cells()
            .filter(|(_, cell)| cell.value == Value::Uncalculated)
            .count() as u64;
        if uncalculated > 0 {
            self.flaw(Flaw::FormulaUncalculated {
                cells: uncalculated,
            });
        }
        if self.beyond {
            self.flaw(Flaw::CellBound {
                what: "rows or 16384 columns",
                bound: u64::from(ROWS),
            });
        }
        if let Some((what, bound)) = self.full {
            self.flaw(Flaw::CellBound { what, bound });
        }
        let doubtful = self
            .sheet
            .grid
            .cells()
            .find_map(|(at, cell)| match &cell.value {
                Value::Text(text) if text.contains(['\0', '\u{fffd}']) => Some((at, shorten(text))),
                _ => None,
            });
        if let Some((at, text)) = doubtful {
            let text = text.replace('\0', "\u{2400}");
            self.findings
                .push(Flaw::CharactersDoubtful { text }.at(self.place(at)));
        }
        (self.sheet, self.findings)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Puts cells one beneath the other until no more is taken; gives how many were, and what is told.
    fn filled(bounds: Bounds, cells: &[Content<'_>]) -> (u64, Vec<String>) {
        let mut report = Report::default();
        // The bounds are those of the workbook: what stands on the sheet before counts.
        for _ in 0..2 {
            let mut gather = Gather::new(&report, "S", false, Base::Year1900);
            gather.bounds = Bounds { ..bounds };
            for (row, content) in (0..).zip(cells.iter().cycle()) {
                let last_of_first = report.sheets.is_empty() && row == 4;
                if last_of_first || !gather.cell((row, 0), content.clone(), None) {
                    break;
                }
            }
            report.add(gather.finish());
        }
        let cells = report.sheets.iter().map(|sheet| sheet.grid.count()).sum();
        (
            cells,
            report.findings.into_iter().map(|f| f.message).collect(),
        )
    }

    #[test]
    fn err_each_bound_of_a_workbook_is_told() {
        let own = [Content::Text("ab")];
        let shared = [Content::Shared("ab")];
        let numbers = [Content::Number(1.0)];
        for (bounds, cells, expected) in [
            (
                Bounds { cells: 6, ..BOUNDS },
                &numbers,
                "6 cells in the workbook",
            ),
            (
                Bounds { texts: 7, ..BOUNDS },
                &shared,
                "7 texts in the cells of the workbook",
            ),
            (
                Bounds {
                    own_texts: 8,
                    ..BOUNDS
                },
                &own,
                "8 different texts in the cells of the workbook",
            ),
            (
                Bounds {
                    text_bytes: 18,
                    ..BOUNDS
                },
                &shared,
                "18 bytes of text in the cells of the workbook",
            ),
        ] {
            let held = expected.split(' ').next().unwrap().parse::<u64>().unwrap();
            let held = if expected.contains("bytes") {
                held / 2
            } else {
                held
            };
            let expected = format!("more than {expected}; what lies beyond is not read");
            assert_eq!(filled(bounds, cells), (held, vec![expected]));
        }
    }

    #[test]
    fn err_a_sheet_of_unreadable_cells_is_given_up() {
        let report = Report::default();
        let mut gather = Gather::new(&report, "S", false, Base::Year1900);
        let taken = (1_u64..).find(|_| !gather.unreadable("odd".to_owned()));
        assert_eq!(taken, Some(BAD_CELLS));
        let (_, findings) = gather.finish();
        assert_eq!(findings.len(), 1);
        assert_eq!(findings[0].cells, BAD_CELLS);
    }

    #[test]
    fn err_unreadable_cells_are_told_one_by_one_up_to_a_bound() {
        let report = Report::default();
        let mut gather = Gather::new(&report, "S", false, Base::Year1900);
        for row in 0..100 {
            gather.unreadable("odd".to_owned());
            gather.cell((row, 0), Content::Number(1.0), None);
        }
        let (_, findings) = gather.finish();
        assert_eq!(findings.len() as u64, FINDINGS_OF_A_KIND);
    }
}
