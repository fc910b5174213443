//! `results-down`: one result a row. What a row says of itself (label, unit, basis, fraction) repeats
//! endlessly; each combination is resolved once and looked up afterwards.

use super::block::{BlockRun, Role, record};
use super::findings::Problem;
use super::known::Known;
use super::measure::Beside;
use super::runner::{Count, Part, Shared};
use crate::map::{AnalyteTrack, ValueRole};
use crate::place::Address;
use crate::read::CellView;
use crate::vocabulary::Field;
use std::collections::HashMap;
use std::fmt::Write;
use std::sync::Arc;

/// The combinations of a block, by their texts.
#[derive(Debug, Default)]
pub(super) struct LongRun {
    resolved: HashMap<Box<str>, Resolved>,
    /// The combination of the row at work, as one text.
    raw: String,
}

#[derive(Clone, Debug)]
enum Resolved {
    Known(usize),
    /// The reason for `unplaced`; the finding to count the row for.
    Refused(Arc<str>),
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
}

pub(super) fn row<'p>(
    block: &mut BlockRun<'p>,
    shared: &Shared<'p>,
    part: &mut Part,
    line: u32,
    cells: &[(usize, CellView<'_>)],
) {
    let mut row = RowCells {
        label: CellView::Empty,
        value: None,
        qualifier: None,
        unit: CellView::Empty,
        basis: CellView::Empty,
        fraction: CellView::Empty,
        beside: Beside::NOTHING,
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
            Role::Field(field) => {
                match field {
                    Field::Label => row.label = *cell,
                    Field::Unit => row.unit = *cell,
                    Field::Basis => row.basis = *cell,
                    Field::Fraction => row.fraction = *cell,
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
    let (cell, at) = match (row.value, row.qualifier) {
        (Some((at, cell)), Some((of_qualifier, qualifier))) => {
            part.count(shared.sheet, of_qualifier, qualifier, &Count::Identity);
            row.beside.qualifier = qualifier;
            (cell, at)
        }
        (Some((at, cell)), None) => (cell, at),
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
    match resolved(block, shared, part, &row, at) {
        Resolved::Known(known) => {
            let draft = block.draft(shared, part, line, cells);
            let outcome = shared.bench(&mut part.tally, &mut part.recipes).measure(
                &mut block.knowns[known],
                cell,
                at,
                &row.beside,
            );
            record(shared, part, at, shown, draft, outcome);
        }
        Resolved::Refused(reason) => {
            part.count(shared.sheet, at, shown, &Count::Unplaced(reason));
        }
    }
}

/// The combination of this row, resolved when it is first met.
fn resolved(
    block: &mut BlockRun<'_>,
    shared: &Shared<'_>,
    part: &mut Part,
    row: &RowCells<'_>,
    at: Address,
) -> Resolved {
    let (long, knowns, _) = block.parts();
    long.raw.clear();
    for cell in [row.label, row.unit, row.basis, row.fraction] {
        // Writing to a String cannot fail.
        write!(long.raw, "{}\u{1f}", cell.as_text()).expect("a string takes any text");
    }
    if let Some(resolved) = long.resolved.get(long.raw.as_str()) {
        return resolved.clone();
    }
    let resolved = match resolve(shared, row, at) {
        Ok(track) => {
            knowns.push(Known::new(track, shared.vocabulary, &mut part.recipes));
            Resolved::Known(knowns.len() - 1)
        }
        Err(reason) => Resolved::Refused(reason),
    };
    long.resolved
        .insert(long.raw.as_str().into(), resolved.clone());
    resolved
}

fn resolve(
    _shared: &Shared<'_>,
    _row: &RowCells<'_>,
    _at: Address,
) -> Result<AnalyteTrack, Arc<str>> {
    Err("analyte-unknown".into())
}
