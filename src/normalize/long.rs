//! `results-down`: one result a row. What a row says of itself (label, unit, basis, fraction) repeats
//! endlessly; each combination is resolved once and looked up afterwards.

use super::block::{BlockRun, Role, record};
use super::findings::Problem;
use super::known::Known;
use super::measure::Beside;
use super::names::Names;
use super::runner::{Count, Part, Shared};
use crate::locate::Layout;
use crate::map::{
    BlockPlan, GUIDELINE, Plan, RowMeaning, RowReader, RowWords, SheetPlan, Track, TrackRole,
    ValueRole, is_cell_too_small,
};
use crate::place::Address;
use crate::read::{CellView, Sheet};
use crate::reading::sign;
use crate::vocabulary::{Field, Vocabulary};
use hashbrown::{DefaultHashBuilder, HashTable};
use jiff::civil::Date;
use std::hash::BuildHasher;
use std::sync::Arc;

/// What reads the rows of each block of a sheet; `None` for blocks that are not `results-down`.
pub(super) type RowReaders<'p> = Arc<[Option<RowReader<'p>>]>;

/// The readers of a sheet, which know all its labels, or those of its head.
pub(super) fn row_readers<'p>(
    sheet: &Sheet,
    file: &Arc<str>,
    plan: &'p Plan,
    of_sheet: &SheetPlan,
    vocabulary: &'p Vocabulary,
) -> RowReaders<'p> {
    let text = |at: Address| match sheet.grid.view(at) {
        CellView::Text(text) => Some(text),
        _ => None,
    };
    let of_block = |block: &BlockPlan| {
        let labels_at = (block.tracks.iter())
            .find(|track| matches!(track.role, TrackRole::Field(Field::Label)))
            .map(|track| track.at);
        let labels = || {
            let rows = sheet.grid.rows_from(block.first_line);
            (rows.take_while(|(row, _)| *row <= block.last_line))
                .filter_map(|(row, _)| Some((row, text(Address::new(row, labels_at?))?)))
        };
        let names = labels().map(|(_, label)| label);
        let mut reader = RowReader::new(plan, vocabulary, file, &sheet.name, names);
        let of_limits = |track: &&Track| match &track.role {
            TrackRole::SetAside(reason) => **reason == *GUIDELINE,
            _ => false,
        };
        for limits in block.tracks.iter().filter(of_limits).map(|track| track.at) {
            let heading = block.headings.iter().find(|at| at.col == limits);
            let heading = heading.and_then(|at| text(*at)).map_or("", |text| text);
            for (row, label) in labels() {
                let limit = sheet.grid.view(Address::new(row, limits));
                reader.put_limit(label.trim(), limit, heading);
            }
        }
        reader
    };
    (of_sheet.blocks.iter())
        .map(|block| (block.layout == Layout::ResultsDown).then(|| of_block(block)))
        .collect()
}

/// The combinations of a block.
#[derive(Debug, Default)]
pub(super) struct LongRun {
    met: Vec<Met>,
    /// Of `met`, by what they say.
    index: HashTable<u32>,
    hasher: DefaultHashBuilder,
    /// Of the row before.
    former: usize,
}

/// A combination that was met before.
#[derive(Debug)]
struct Met {
    combination: Combination<Box<str>>,
    resolved: Resolved,
    /// The one that stood in the row below, when last looked at.
    next: usize,
}

impl LongRun {
    fn find(&mut self, wanted: &Combination<&str>) -> Option<Resolved> {
        let former = self.met.get(self.former)?;
        // The rows of one sample after the other have the same labels in the same order.
        let likely = former.next;
        if !(self.met.get(likely)).is_some_and(|met| wanted.is(&met.combination)) {
            let is_it = |at: &u32| wanted.is(&self.met[*at as usize].combination);
            let at = *self.index.find(self.hasher.hash_one(wanted), is_it)? as usize;
            self.met[self.former].next = at;
        }
        self.former = self.met[self.former].next;
        Some(self.met[self.former].resolved.clone())
    }

    /// Keeps what a combination means that was not found.
    fn put(&mut self, combination: Combination<Box<str>>, resolved: Resolved) {
        let Self {
            met, index, hasher, ..
        } = self;
        let at = u32::try_from(met.len()).expect("fewer combinations than cells");
        index.insert_unique(hasher.hash_one(&combination), at, |at| {
            hasher.hash_one(&met[*at as usize].combination)
        });
        met.push(Met {
            combination,
            resolved,
            next: 0,
        });
        let before = std::mem::replace(&mut self.former, at as usize);
        self.met[before].next = at as usize;
    }
}

/// Label, unit, basis and fraction as they stand, and the day where it matters.
#[derive(Debug, PartialEq, Eq, Hash)]
struct Combination<T>([T; 4], Option<Date>);

impl Combination<&str> {
    fn is(&self, key: &Combination<Box<str>>) -> bool {
        // Most rows have no basis and no fraction. Empty texts lie nowhere, and a processor that masks what
        // it compares takes long over a place that is none.
        let are_alike =
            |(own, text): (&str, &str)| own.len() == text.len() && (own.is_empty() || own == text);
        self.1 == key.1
            && self
                .0
                .into_iter()
                .zip(key.0.each_ref().map(|text| &**text))
                .all(are_alike)
    }
}

#[derive(Clone, Debug)]
enum Resolved {
    Known(usize),
    /// No result is meant: the row's value counts as this.
    Other(Count),
}

/// The cells of a row that make its result.
struct RowCells<'a> {
    label: CellView<'a>,
    value: Option<(Address, CellView<'a>)>,
    qualifier: Option<(Address, CellView<'a>)>,
    unit: CellView<'a>,
    basis: CellView<'a>,
    fraction: CellView<'a>,
    beside: Beside<'a>,
    /// The unit of the limits, where the row has one for them.
    limit_unit: CellView<'a>,
}

impl RowCells<'_> {
    /// A limit counts in its own unit: a row without a number takes it for the limit that stands instead;
    /// beside a number in another unit the limit is brought to that.
    fn settle_limit_unit(&mut self) {
        let CellView::Text(of_limit) = self.limit_unit else {
            return;
        };
        let has_number = self.value.is_some_and(|(_, cell)| !cell.is_empty());
        if self.unit.is_empty() && !has_number {
            self.unit = self.limit_unit;
        } else if self.unit.as_text().trim() != of_limit.trim() {
            self.beside.limit_unit = Some(of_limit.trim());
        }
    }
}

pub(super) fn row<'p>(
    block: &mut BlockRun<'p>,
    shared: &Shared<'p>,
    part: &mut Part,
    (line, cells): (u32, &[(usize, CellView<'_>)]),
    (named, names): (&[(usize, CellView<'_>)], Names),
) {
    let mut row = RowCells {
        label: CellView::Empty,
        value: None,
        qualifier: None,
        unit: CellView::Empty,
        basis: CellView::Empty,
        fraction: CellView::Empty,
        beside: Beside::NOTHING,
        limit_unit: (block.plan.limit_unit.as_deref()).map_or(CellView::Empty, CellView::Text),
    };
    for (track, cell) in cells {
        let at = Address::new(line, block.tracks[*track].at);
        let count = match &block.tracks[*track].role {
            Role::Field(Field::Value) if row.value.is_none() => {
                row.value = Some((at, *cell));
                continue;
            }
            Role::Field(Field::Qualifier) if row.qualifier.is_none() => {
                row.qualifier = Some((at, *cell));
                continue;
            }
            // A sign among remarks is of the number of its row.
            Role::Field(Field::Remark) if row.qualifier.is_none() && is_sign(*cell) => {
                row.qualifier = Some((at, *cell));
                continue;
            }
            Role::Field(field) => {
                match field {
                    Field::Label => row.label = *cell,
                    Field::Unit => row.unit = *cell,
                    Field::Basis => row.basis = *cell,
                    Field::Fraction => row.fraction = *cell,
                    Field::LimitUnit => row.limit_unit = *cell,
                    Field::DetectionLimit => row.beside.set(ValueRole::DetectionLimit, *cell),
                    Field::QuantificationLimit => {
                        row.beside.set(ValueRole::QuantificationLimit, *cell);
                    }
                    _ => {}
                }
                Count::Identity
            }
            Role::Companion(role) => {
                row.beside.set(*role, *cell);
                Count::Identity
            }
            Role::Analyte { .. } => Count::Unplaced("outside-tables".into()),
            Role::SetAside => Count::SetAside,
            Role::Unplaced(reason) => Count::Unplaced((*reason).clone()),
        };
        part.count(shared.sheet, at, *cell, &count);
    }
    row.settle_limit_unit();
    let of_section = section_fraction(block.plan, line);
    if !of_section.is_empty()
        && row.fraction.is_empty()
        && !shared.vocabulary.speaks_of_fraction(&row.label.as_text())
    {
        row.fraction = of_section;
    }
    let (cell, at) = match (row.value, row.qualifier) {
        (Some((at, cell)), Some((of_qualifier, qualifier))) => {
            part.count(shared.sheet, of_qualifier, qualifier, &Count::Identity);
            row.beside.qualifier = qualifier;
            (cell, at)
        }
        (Some((at, cell)), None) => (cell, at),
        // Told where the plan was made: a sign alone is no result of a column that nobody knows.
        (None, qualifier) if !block.has_values() => {
            if let Some((at, qualifier)) = qualifier {
                part.count(shared.sheet, at, qualifier, &Count::Identity);
            }
            return;
        }
        (None, Some((at, qualifier))) => {
            row.beside.qualifier = qualifier;
            (CellView::Empty, at)
        }
        (None, None) => {
            let subject = Arc::from("");
            let problem = Problem::Result {
                code: "value-missing",
                text: "",
                label: "rows",
            };
            let first = cells
                .first()
                .map_or(0, |(track, _)| block.tracks[*track].at);
            part.tally.add(
                &shared.spot,
                Address::new(line, first),
                &subject,
                None,
                &problem,
            );
            return;
        }
    };
    let shown = if cell.is_empty() {
        row.beside.qualifier
    } else {
        cell
    };
    let draft = block.draft(shared, part, line, named, names);
    match resolved(block, shared, part, &row, at, draft) {
        Resolved::Known(known)
            if is_cell_too_small(shared.vocabulary, &block.knowns[known].track, cell) =>
        {
            leave_small(shared, part, block.knowns[known].label(), at, cell);
            let count = Count::Unplaced(UNIT_NOT_STATED.into());
            part.count(shared.sheet, at, shown, &count);
        }
        Resolved::Known(known) => {
            let outcome = shared.bench(&mut part.tally, &mut part.recipes).measure(
                &mut block.knowns[known],
                cell,
                at,
                &row.beside,
            );
            record(shared, part, at, shown, draft, outcome);
        }
        Resolved::Other(count) => part.count(shared.sheet, at, shown, &count),
    }
}

impl BlockRun<'_> {
    /// Whether a column of values is known at all.
    fn has_values(&self) -> bool {
        (self.tracks.iter()).any(|track| matches!(track.role, Role::Field(Field::Value)))
    }
}

/// Code of the finding, and reason of the cell, where a number is small for the unit that is usual.
const UNIT_NOT_STATED: &str = "unit-not-stated";

/// Tells of a conductivity that is left for it.
fn leave_small(
    shared: &Shared<'_>,
    part: &mut Part,
    label: &Arc<str>,
    at: Address,
    cell: CellView<'_>,
) {
    let problem = Problem::Beside {
        code: UNIT_NOT_STATED,
        text: &cell.as_text(),
        label,
    };
    part.tally.add(&shared.spot, at, label, None, &problem);
}

/// What a text between the lines above says.
fn section_fraction(plan: &BlockPlan, line: u32) -> CellView<'static> {
    let of_section = plan.fractions.range(..=line).next_back();
    match of_section.and_then(|(_, fraction)| *fraction) {
        Some(fraction) => CellView::Text(fraction.name()),
        None => CellView::Empty,
    }
}

fn stated(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}

/// The combination of this row, resolved when it is first met.
fn resolved(
    block: &mut BlockRun<'_>,
    shared: &Shared<'_>,
    part: &mut Part,
    row: &RowCells<'_>,
    at: Address,
    draft: u32,
) -> Resolved {
    let Some(reader) = &shared.readers[block.index as usize] else {
        return Resolved::Other(Count::Unplaced("outside-tables".into()));
    };
    let BlockRun { long, knowns, .. } = block;
    let sampled_on = if reader.depends_on_day() {
        part.drafts.identities[draft as usize].sampled_on()
    } else {
        None
    };
    let texts = [row.label, row.unit, row.basis, row.fraction].map(|cell| cell.as_text());
    let texts = texts.each_ref().map(|text| &**text);
    if let Some(resolved) = long.find(&Combination(texts, sampled_on)) {
        return resolved;
    }
    let [label, unit, basis, fraction] = texts.map(str::trim);
    let words = RowWords {
        label,
        unit: stated(unit),
        basis: stated(basis),
        fraction: stated(fraction),
        sampled_on,
    };
    let mut findings = Vec::new();
    let resolved = match reader.read(&words, at, &mut findings) {
        Ok(RowMeaning::Analyte(track)) => {
            knowns.push(Known::new(*track, shared.vocabulary, &mut part.recipes));
            Resolved::Known(knowns.len() - 1)
        }
        Ok(RowMeaning::Field(_)) => Resolved::Other(Count::Identity),
        Ok(RowMeaning::SetAside(_)) => Resolved::Other(Count::SetAside),
        Err(reason) => Resolved::Other(Count::Unplaced(reason)),
    };
    for finding in findings {
        part.tally.put(finding, &label.into());
    }
    let combination = Combination(texts.map(Into::into), sampled_on);
    long.put(combination, resolved.clone());
    resolved
}

fn is_sign(cell: CellView<'_>) -> bool {
    matches!(cell, CellView::Text(text) if sign(text.trim()).is_some())
}
