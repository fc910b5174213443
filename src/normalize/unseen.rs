//! Lines of a long text that its plan was not made from: what is no sample among them counts as
//! something else. Of `results-down` only lines with new names are judged, so that most cost nothing.

use super::runner::{Count, Part, Shared};
use crate::map::{BlockPlan, LineMeaning, LineReader, OTHER_TABLE};
use crate::place::Address;
use crate::read::CellView;
use hashbrown::HashMap;
use std::sync::Arc;

/// The lines of one block that the plan was not made from.
pub(super) struct Strangers<'p> {
    reader: LineReader<'p>,
    /// Columns of the tracks, by index.
    columns: Vec<u32>,
    /// Names of lines that were told to be no samples, and as what they count.
    known: HashMap<Box<str>, Count>,
    is_over: bool,
}

impl<'p> Strangers<'p> {
    /// `None` where the plan was made from all lines.
    pub(super) fn new(shared: &Shared<'p>, plan: &'p BlockPlan) -> Option<Self> {
        let reader = LineReader::new(plan, shared.grid, shared.vocabulary)?;
        let mut columns: Vec<u32> = plan.tracks.iter().map(|track| track.at).collect();
        columns.sort_unstable();
        Some(Self {
            reader,
            columns,
            known: HashMap::new(),
            is_over: false,
        })
    }

    /// The headings of another table were met before: no line below is of this table.
    pub(super) const fn end_table(&mut self) {
        self.is_over = true;
    }

    pub(super) const fn met_other_table(&self) -> bool {
        self.is_over
    }

    /// As what the cells of a line count if it is no sample. `names` are its identity cells as one
    /// text; `are_known` when a line of a sample had the same.
    pub(super) fn count(
        &mut self,
        shared: &Shared<'p>,
        part: &mut Part,
        (line, cells): (u32, &[(usize, CellView<'_>)]),
        names: &str,
        are_known: bool,
    ) -> Option<Count> {
        if self.is_over {
            return Some(Count::Unplaced(OTHER_TABLE.into()));
        }
        let by_names = self.reader.judges_by_names();
        let every = self.reader.judges_every_line();
        if by_names && are_known && !every {
            return None;
        }
        // Shown lines are judged in the plan.
        if !shared.grid.row(line).is_empty() {
            return None;
        }
        if by_names && let Some(count) = self.known.get(names) {
            return Some(count.clone());
        }
        let cells: Vec<(u32, CellView<'_>)> = cells
            .iter()
            .map(|(track, cell)| (self.columns[*track], *cell))
            .collect();
        if every && let Some(meaning) = self.reader.at_once(&cells) {
            return count_of(meaning);
        }
        let first = cells.first().map_or(0, |(col, _)| *col);
        let place = shared.spot.place(Address::new(line, first));
        let mut findings = Vec::new();
        let meaning = self.reader.read(&cells, &place, &mut findings);
        for finding in findings {
            part.tally.put(finding, &Arc::from(""));
        }
        self.is_over = meaning == LineMeaning::OtherTable;
        // Headings are told by all their cells.
        let is_of_names = matches!(meaning, LineMeaning::Unplaced(_));
        let count = count_of(meaning)?;
        if by_names && is_of_names {
            self.known.insert(names.into(), count.clone());
        }
        Some(count)
    }
}

fn count_of(meaning: LineMeaning) -> Option<Count> {
    Some(match meaning {
        LineMeaning::Sample => return None,
        LineMeaning::Heading => Count::Heading,
        LineMeaning::SetAside(_) => Count::SetAside,
        LineMeaning::Unplaced(reason) => Count::Unplaced(reason),
        LineMeaning::OtherTable => Count::Unplaced(OTHER_TABLE.into()),
    })
}
