//! One sheet, line by line: which block a cell belongs to, and the account of all cells.
//!
//! Rows of a long delimited text are pushed as they are read; only the head of the file (`report`) has
//! to be in memory. Forms and `across` blocks lie in that head and are executed first.

use super::block::BlockRun;
use super::identity::{Drafts, IdentityReader};
use super::long::RowReaders;
use super::measure::Bench;
use super::recipe::RecipeBook;
use super::tally::{Spot, Tally};
use super::unseen::Strangers;
use crate::locate::Layout;
use crate::map::{LineRole, Plan, SheetPlan, Source};
use crate::place::Address;
use crate::read::{CellView, Grid, Report};
use crate::reading::ValueReader;
use crate::record::{Measurement, SampleId, SheetAccount, Unplaced};
use crate::vocabulary::Vocabulary;
use hashbrown::{HashMap, HashSet};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a sheet, or a part of it, gave: measurements that still point to the sheet's own drafts of
/// samples, which are told apart for good when the report is complete.
#[derive(Debug, Default)]
pub(super) struct Part {
    pub(super) account: SheetAccount,
    pub(super) recipes: RecipeBook,
    pub(super) drafts: Drafts,
    pub(super) measurements: Vec<Measurement>,
    pub(super) tally: Tally,
    pub(super) unplaced: Vec<Unplaced>,
}

/// What a cell counts as.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Count {
    Result,
    Identity,
    Heading,
    SetAside,
    Unplaced(Arc<str>),
}

impl Part {
    pub(super) fn count(&mut self, sheet: u16, at: Address, cell: CellView<'_>, count: &Count) {
        let account = &mut self.account;
        match count {
            Count::Result => account.results += 1,
            Count::Identity => account.identity += 1,
            Count::Heading => account.headings += 1,
            Count::SetAside => account.set_aside += 1,
            Count::Unplaced(reason) => {
                account.unplaced += 1;
                self.unplaced.push(Unplaced {
                    sheet,
                    at,
                    text: cell.as_text().into(),
                    reason: reason.clone(),
                });
            }
        }
    }

    pub(super) fn place(
        &mut self,
        sheet: u16,
        at: Address,
        cell: CellView<'_>,
        draft: u32,
        placed: Placed,
    ) {
        self.measurements.push(Measurement {
            sample: SampleId(draft),
            recipe: placed.recipe,
            value: placed.value,
            censored: placed.censored,
            value_text: match cell {
                CellView::Text(text) => text.into(),
                other => other.as_text().into(),
            },
            sheet,
            at,
        });
    }
}

/// The figures of a placed result.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed {
    pub value: Option<f64>,
    pub censored: Option<crate::record::Censored>,
    pub recipe: crate::record::RecipeId,
}

/// What every block of a sheet needs to know.
pub(super) struct Shared<'p> {
    pub plan: &'p Plan,
    pub vocabulary: &'p Vocabulary,
    pub grid: &'p Grid,
    pub sheet: u16,
    pub spot: Spot,
    pub identity: IdentityReader,
    pub readers: RowReaders<'p>,
}

impl<'p> Shared<'p> {
    pub(super) fn bench<'o>(
        &'o self,
        tally: &'o mut Tally,
        recipes: &'o mut RecipeBook,
    ) -> Bench<'p, 'o> {
        Bench {
            reader: ValueReader {
                decimal: self.plan.locale.decimal,
                codes: &self.plan.codes,
            },
            vocabulary: self.vocabulary,
            negative_is_below: self.plan.negative_is_below,
            negatives_are_measured: self.plan.negatives_are_measured,
            missing_numbers: &self.plan.missing_numbers,
            spot: &self.spot,
            tally,
            recipes,
        }
    }
}

/// Cells that the plan names one by one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Special {
    Identity,
    Heading,
    /// Values of forms: counted where the form was executed.
    Counted,
}

/// Executes the plan of one sheet.
pub(super) struct SheetRunner<'p> {
    shared: Shared<'p>,
    sheet_plan: &'p SheetPlan,
    special: HashMap<Address, Special>,
    blocks: Vec<BlockRun<'p>>,
    /// First and last row of each block, and its index; by first row.
    reaches: Vec<(u32, u32, usize)>,
    /// The blocks that the row at work runs through, in their order: a sheet can hold very many.
    at_work: Vec<usize>,
    /// How many of `reaches` begin at or before the row at work, and that row.
    begun: (usize, u32),
    part: Part,
    /// The cells of the row at work, by block in `at_work`: index of the track, and the cell.
    scratch: Vec<Vec<(usize, CellView<'static>)>>,
    is_whole: bool,
    /// The last row of `special`: most rows of a long text lie behind it.
    last_special: u32,
}

impl<'p> SheetRunner<'p> {
    /// `report.sheets[index]` holds the whole sheet, or at least the rows that the plan names cells of.
    /// Of a text that is too long to be held (`is_whole` is false) only tables whose lines are rows can
    /// be executed; the cells of its forms and `across` blocks stay unplaced. `readers` are those of the
    /// sheet.
    ///
    /// # Panics
    /// Where the report has no sheet `index`.
    pub(super) fn new(
        report: &'p Report,
        index: usize,
        plan: &'p Plan,
        sheet_plan: &'p SheetPlan,
        vocabulary: &'p Vocabulary,
        readers: RowReaders<'p>,
        is_whole: bool,
    ) -> Self {
        let sheet = &report.sheets[index];
        let spot = Spot {
            file: report.file.clone(),
            sheet: sheet.name.clone(),
        };
        let shared = Shared {
            plan,
            vocabulary,
            grid: &sheet.grid,
            sheet: u16::try_from(index).expect("read takes fewer than 65,536 sheets"),
            identity: IdentityReader {
                dates: plan.locale.dates,
                decimal: plan.locale.decimal,
                spot: spot.clone(),
            },
            spot,
            readers,
        };
        let mut part = Part {
            account: SheetAccount {
                sheet: sheet.name.clone(),
                mapping: plan.mapping.clone(),
                ..SheetAccount::default()
            },
            ..Part::default()
        };
        let mut special = special_cells(sheet_plan);
        let blocks: Vec<BlockRun<'p>> = sheet_plan
            .blocks
            .iter()
            .enumerate()
            .map(|(i, block)| BlockRun::new(&shared, i, block, &mut part))
            .collect();
        let mut runner = Self {
            shared,
            sheet_plan,
            special: HashMap::new(),
            reaches: reaches(&blocks),
            at_work: Vec::new(),
            begun: (0, 0),
            blocks,
            part,
            scratch: Vec::new(),
            is_whole,
            last_special: 0,
        };
        if !is_whole {
            runner.set_special(special);
            return runner;
        }
        let mut counted = HashSet::new();
        for block in &mut runner.blocks {
            super::form::run(&runner.shared, block, &mut runner.part, &mut counted);
        }
        // The order of a set does not matter: each address gets the same entry.
        special.extend(counted.into_iter().map(|at| (at, Special::Counted)));
        runner.set_special(special);
        runner.run_across();
        runner
    }

    fn set_special(&mut self, special: HashMap<Address, Special>) {
        let rows = special.keys().map(|at| at.row);
        self.last_special = rows.max().map_or(0, |row| row);
        self.special = special;
    }

    /// One row: the cells that are there, by column. Blank cells may be given; they do not count.
    pub(super) fn push_line<'c>(
        &mut self,
        row: u32,
        fields: impl IntoIterator<Item = (u32, CellView<'c>)>,
    ) {
        // One list for each block, empty between calls: kept, so that a row costs no allocation. The
        // lifetime of its cells is that of `fields`; an empty list can be lent for any.
        let mut lists: Vec<Vec<(usize, CellView<'c>)>> = std::mem::take(&mut self.scratch);
        self.turn_to(row);
        if lists.len() < self.at_work.len() {
            lists.resize_with(self.at_work.len(), Vec::new);
        }
        let ruling = self.ruling_block(row);
        let mut track_after = 0;
        for (col, cell) in fields {
            if is_blank(cell) {
                continue;
            }
            let at = Address::new(row, col);
            self.part.account.cells += 1;
            let owner = match ruling {
                Some(block) => match self.blocks[block].track_from(&mut track_after, col) {
                    Some(track) => {
                        lists[0].push((track, cell));
                        continue;
                    }
                    None => Owner::outside(),
                },
                None => self.owner(at),
            };
            match owner {
                Owner::Counted(count) => self.part.count(self.shared.sheet, at, cell, &count),
                Owner::Done => {}
                Owner::Track { slot, track } => {
                    if !self.blocks[self.at_work[slot]].plan.across {
                        lists[slot].push((track, cell));
                    } else if !self.is_whole {
                        let count = Count::Unplaced("too-long-for-layout".into());
                        self.part.count(self.shared.sheet, at, cell, &count);
                    }
                }
            }
        }
        for (block, list) in self.at_work.iter().zip(&lists) {
            if !list.is_empty() {
                self.blocks[*block].line(&self.shared, &mut self.part, row, list);
            }
        }
        self.scratch = lists
            .into_iter()
            .map(|mut list| {
                list.clear();
                list.into_iter()
                    .map(|_| unreachable!("the list is empty"))
                    .collect()
            })
            .collect();
    }

    /// Tells that another table has begun before the first line.
    pub(super) fn end_tables(&mut self) {
        self.blocks
            .iter_mut()
            .filter_map(|block| block.strangers.as_mut())
            .for_each(Strangers::end_table);
    }

    pub(super) fn met_other_table(&self) -> bool {
        let mut strangers = self.blocks.iter().filter_map(|b| b.strangers.as_ref());
        strangers.any(Strangers::met_other_table)
    }

    /// Lets the results be put into a list that is empty yet has room, and makes room for so many samples.
    pub(super) fn put_results_in(&mut self, room: Vec<Measurement>, samples: usize) {
        self.part.measurements = room;
        self.part.drafts.reserve(samples);
    }

    /// Everything of this sheet. The measurements are in the order of their cells.
    pub(super) fn finish(mut self) -> Part {
        self.part
            .measurements
            .sort_by_key(|measurement| (measurement.at, measurement.recipe));
        self.part.unplaced.sort_by_key(|unplaced| unplaced.at);
        self.part
    }

    /// Blocks whose lines are columns: executed from the grid, because a row has a cell of each line.
    fn run_across(&mut self) {
        for block in 0..self.blocks.len() {
            if !self.blocks[block].plan.across {
                continue;
            }
            let mut lines: BTreeMap<u32, Vec<(usize, CellView<'p>)>> = BTreeMap::new();
            let (first, last) = self.blocks[block].rows();
            let grid: &'p Grid = self.shared.grid;
            for (row, cells) in grid.rows_from(first).take_while(|(row, _)| *row <= last) {
                self.turn_to(row);
                for (col, cell) in cells {
                    if let Owner::Track { slot, track } = self.owner(Address::new(row, *col))
                        && self.at_work[slot] == block
                        && !is_blank(cell.view())
                    {
                        lines.entry(*col).or_default().push((track, cell.view()));
                    }
                }
            }
            for (line, list) in &lines {
                self.blocks[block].line(&self.shared, &mut self.part, *line, list);
            }
        }
    }

    /// The only block that can have cells of this row, where nothing else has any: so it is with nearly
    /// all rows of a long text. `None` where cells have to be looked at one by one.
    fn ruling_block(&self, row: u32) -> Option<usize> {
        if row <= self.last_special || !self.sheet_plan.set_aside.is_empty() {
            return None;
        }
        let [block] = *self.at_work else {
            return None;
        };
        let plan = self.blocks[block].plan;
        (!plan.across && !plan.not_samples.contains_key(&row)).then_some(block)
    }

    /// Finds the blocks that a row runs through. Rows mostly come in their order.
    fn turn_to(&mut self, row: u32) {
        let (mut begun, before) = self.begun;
        if row < before {
            begun = 0;
            self.at_work.clear();
        }
        let known = self.at_work.len();
        while let Some((_, last, block)) = self.reaches.get(begun).filter(|r| r.0 <= row) {
            if *last >= row {
                self.at_work.push(*block);
            }
            begun += 1;
        }
        if self.at_work.len() > known {
            self.at_work.sort_unstable();
        }
        let blocks = &self.blocks;
        self.at_work.retain(|block| blocks[*block].rows().1 >= row);
        self.begun = (begun, row);
    }

    fn owner(&self, at: Address) -> Owner {
        let special = if at.row > self.last_special {
            None
        } else {
            self.special.get(&at)
        };
        match special {
            Some(Special::Identity) => return Owner::Counted(Count::Identity),
            Some(Special::Counted) => return Owner::Done,
            Some(Special::Heading) | None => {}
        }
        if self
            .sheet_plan
            .set_aside
            .iter()
            .any(|(area, _)| area.contains(at))
        {
            return Owner::Counted(Count::SetAside);
        }
        if special.is_some() {
            return Owner::Counted(Count::Heading);
        }
        for (slot, block) in self.at_work.iter().enumerate() {
            let run = &self.blocks[*block];
            let (line, position) = run.turn(at);
            let Some(inside) = run.position(line, position) else {
                continue;
            };
            match (run.plan.not_samples.get(&line), inside) {
                (Some(LineRole::Heading), _) => return Owner::Counted(Count::Heading),
                (Some(LineRole::Companion { .. }), _) => return Owner::Counted(Count::Identity),
                (Some(LineRole::SetAside(_)), _) => return Owner::Counted(Count::SetAside),
                (Some(LineRole::Unplaced(reason)), _) => {
                    return Owner::Counted(Count::Unplaced(reason.clone()));
                }
                (None, Some(track)) => return Owner::Track { slot, track },
                (None, None) => {}
            }
        }
        Owner::outside()
    }
}

enum Owner {
    Counted(Count),
    /// Counted already.
    Done,
    /// Of the block at `slot` of those at work.
    Track {
        slot: usize,
        track: usize,
    },
}

fn reaches(blocks: &[BlockRun<'_>]) -> Vec<(u32, u32, usize)> {
    let mut reaches: Vec<(u32, u32, usize)> = blocks
        .iter()
        .enumerate()
        .map(|(index, block)| (block.rows().0, block.rows().1, index))
        .filter(|(first, last, _)| first <= last)
        .collect();
    reaches.sort_unstable();
    reaches
}

impl Owner {
    fn outside() -> Self {
        Self::Counted(Count::Unplaced("outside-tables".into()))
    }
}

fn is_blank(cell: CellView<'_>) -> bool {
    match cell {
        CellView::Empty => true,
        CellView::Text(text) => {
            let is_visible = |byte: &u8| byte.is_ascii_graphic();
            !text.as_bytes().first().is_some_and(is_visible) && text.trim().is_empty()
        }
        _ => false,
    }
}

/// Identity beats heading: a title that gave the site is identity.
fn special_cells(plan: &SheetPlan) -> HashMap<Address, Special> {
    let mut special = HashMap::new();
    for at in plan
        .titles
        .iter()
        .chain(plan.blocks.iter().flat_map(|b| &b.headings))
    {
        special.insert(*at, Special::Heading);
    }
    for at in &plan.identity {
        special.insert(*at, Special::Identity);
    }
    for block in &plan.blocks {
        let own = block.form.iter().flat_map(|cell| &cell.own);
        let of_groups = block.groups.iter().map(|group| &group.fact);
        for fact in block.facts.iter().chain(own).chain(of_groups) {
            if let Source::Cell(at) | Source::Part(at, _) = &fact.from {
                special.insert(*at, Special::Identity);
            }
        }
        if block.layout == Layout::Form || !block.form.is_empty() {
            for (at, _) in block.form.iter().flat_map(|cell| &cell.companions) {
                special.insert(*at, Special::Identity);
            }
        }
    }
    special
}
