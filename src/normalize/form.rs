//! Forms: labels beside or above their values, scattered; one sample for the whole form. Cross-tables: each
//! value a sample of its own.

use super::block::{BlockRun, record};
use super::identity::Identity;
use super::known::Known;
use super::measure::Beside;
use super::runner::{Count, Part, Shared};
use crate::map::{FormCell, Source, TrackRole};
use crate::place::Address;
use crate::read::CellView;
use crate::vocabulary::Field;
use hashbrown::{HashMap, HashSet};

/// Executes the form cells of a block. Adds the cells that it has counted to `counted`.
pub(super) fn run<'p>(
    shared: &Shared<'p>,
    block: &mut BlockRun<'p>,
    part: &mut Part,
    counted: &mut HashSet<Address>,
) {
    let plan = block.plan;
    if plan.form.is_empty() {
        return;
    }
    let of_block =
        (plan.form.iter().any(|cell| cell.own.is_empty())).then(|| sample(shared, block, part));
    let mut sides = Sides::new();
    for cell in &plan.form {
        let whole = shared.grid.view(cell.value);
        // One cell is one result at most: a second pair in the same cell finds it taken.
        if whole.is_empty() || !counted.insert(cell.value) {
            continue;
        }
        let view = cell.part.as_deref().map_or(whole, CellView::Text);
        match &cell.role {
            TrackRole::Analyte(track) => {
                let draft = match of_block {
                    Some(draft) if cell.own.is_empty() => draft,
                    _ => own_sample(shared, block, part, cell, &mut sides),
                };
                let mut known = Known::new((**track).clone(), shared.vocabulary, &mut part.recipes);
                let beside = beside(shared, cell);
                let outcome = shared
                    .bench(&mut part.tally, &mut part.recipes)
                    .measure(&mut known, view, cell.value, &beside);
                record(shared, part, cell.value, whole, draft, outcome);
            }
            TrackRole::Field(_) | TrackRole::Companion { .. } => {
                part.count(shared.sheet, cell.value, whole, &Count::Identity);
            }
            TrackRole::SetAside(_) => part.count(shared.sheet, cell.value, whole, &Count::SetAside),
            TrackRole::Unplaced(reason) => {
                part.count(
                    shared.sheet,
                    cell.value,
                    whole,
                    &Count::Unplaced(reason.clone()),
                );
            }
        }
    }
}

fn beside<'p>(shared: &Shared<'p>, cell: &FormCell) -> Beside<'p> {
    let mut beside = Beside::NOTHING;
    for (at, role) in &cell.companions {
        beside.set(*role, shared.grid.view(*at));
    }
    beside
}

/// What the cells beside and above a cross-table's results say, each read once.
type Sides = HashMap<(Field, Address), Identity>;

/// The sample of one value: what its own cells say, then the facts of the block.
fn own_sample(
    shared: &Shared<'_>,
    block: &BlockRun<'_>,
    part: &mut Part,
    cell: &FormCell,
    sides: &mut Sides,
) -> u32 {
    let mut own = Identity::default();
    for fact in &cell.own {
        let at = match &fact.from {
            Source::Cell(at) | Source::Part(at, _) => *at,
            Source::Text(_) => cell.value,
        };
        let side = sides.entry((fact.field, at)).or_insert_with(|| {
            let mut side = Identity::default();
            let view = match &fact.from {
                Source::Cell(at) => shared.grid.view(*at),
                Source::Part(_, text) | Source::Text(text) => CellView::Text(text),
            };
            let groups = &mut Vec::new();
            let tally = &mut part.tally;
            (shared.identity).put(&mut side, fact.field, view, at, tally, groups);
            side
        });
        own.complete_from(side);
    }
    own.complete_from_block(&block.base);
    if !own.is_named() {
        own.line = Some((cell.value.row, cell.value.col));
    }
    part.drafts.intern(own)
}

/// The sample of the form: its own identity pairs, then the facts of the block.
fn sample(shared: &Shared<'_>, block: &BlockRun<'_>, part: &mut Part) -> u32 {
    let mut own = Identity::default();
    let mut groups = Vec::new();
    for cell in &block.plan.form {
        if let TrackRole::Field(field) = cell.role
            && field.is_identity()
        {
            let whole = shared.grid.view(cell.value);
            let view = cell.part.as_deref().map_or(whole, CellView::Text);
            shared.identity.put(
                &mut own,
                field,
                view,
                cell.value,
                &mut part.tally,
                &mut groups,
            );
        }
    }
    own.complete_from_block(&block.base);
    if !own.is_named() {
        let first = block.plan.form.iter().map(|cell| cell.value.row).min();
        own.line = Some((first.unwrap_or(block.plan.first_line), block.index));
    }
    part.drafts.intern(own)
}
