//! Names that stand once for several lines.

use super::block::BlockRun;
use super::runner::Shared;
use crate::read::CellView;
use crate::reading::is_ditto;

impl<'p> BlockRun<'p> {
    /// The cells of a line together with the names that hold on from the lines before; `None` where none do.
    pub(super) fn carry<'x>(
        &mut self,
        shared: &'x Shared<'p>,
        line: u32,
        cells: &[(usize, CellView<'x>)],
    ) -> Option<Vec<(usize, CellView<'x>)>> {
        if self.carried.is_empty() {
            return None;
        }
        let mut named = cells.to_vec();
        for i in 0..self.carried.len() {
            let (track, last) = self.carried[i];
            let own = cells.iter().find(|(filled, _)| *filled == track);
            let says_the_same =
                last.is_some() && own.is_some_and(|(_, cell)| is_ditto(&cell.as_text()));
            if says_the_same {
                named.retain(|(filled, _)| *filled != track);
            }
            if own.is_some() && !says_the_same {
                self.carried[i].1 = Some(self.address(line, self.tracks[track].at));
            } else if let Some(at) = last {
                named.push((track, shared.grid.view(at)));
            }
        }
        named.sort_unstable_by_key(|(track, _)| *track);
        Some(named)
    }
}
