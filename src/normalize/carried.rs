//! Names that stand once for several lines.

use super::block::BlockRun;
use super::runner::Shared;
use crate::read::CellView;

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
            if cells.iter().any(|(filled, _)| *filled == track) {
                self.carried[i].1 = Some(self.address(line, self.tracks[track].at));
            } else if let Some(at) = last {
                named.push((track, shared.grid.view(at)));
            }
        }
        named.sort_unstable_by_key(|(track, _)| *track);
        Some(named)
    }
}
