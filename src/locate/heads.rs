//! Lines over the names of analytes that part them into groups of one sample each.

use super::cross::is_period;
use super::look::{Look, Reader};
use crate::place::Address;
use crate::read::{Cell, Grid};

/// "2019" and "2020" over the same names each: one from the first name on, the next where they come again.
/// `heads` are the cells of the line behind its first track.
pub(super) fn are_periods_of_groups(heads: &[(u32, Cell)], names: &[u32]) -> bool {
    heads.len() > 1
        && heads.len() < names.len()
        && heads.first().map(|(track, _)| track) == names.first()
        && heads.iter().all(|(_, cell)| is_period(cell.view()))
}

/// "Station | River A | | River B" over "Date | pH | Cl | pH | Cl": each text stands where the names begin anew.
/// `line` is that of the names.
pub(super) fn heads_groups(
    grid: &Grid,
    reader: &Reader<'_>,
    heads: &[(u32, Cell)],
    line: u32,
    names: &[u32],
) -> bool {
    let (Some((first, _)), Some(name)) = (heads.first(), names.first()) else {
        return false;
    };
    let text = |track: u32| grid.view(Address::new(line, track)).as_text();
    let anew = names.iter().filter(|track| text(**track) == text(*name));
    let is_word = |cell: &Cell| matches!(reader.look(cell.view()), Look::Words | Look::Field(_));
    first == name
        && heads.len() > 1
        && heads.iter().all(|(_, cell)| is_word(cell))
        && heads.iter().map(|(track, _)| track).eq(anew)
}
