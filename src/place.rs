//! Where something stands: a cell of a sheet of a file. A leaf: every stage uses it, it knows none.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

/// A cell's position, zero-based. Shows itself in A1 form.
///
/// For delimited text `row` is the line on which the record starts (zero-based), so that what the
/// user sees is the line number of a text editor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Address {
    pub row: u32,
    pub col: u32,
}

impl Address {
    pub const fn new(row: u32, col: u32) -> Self {
        Self { row, col }
    }

    /// Reads the A1 form; `None` when the text is not one.
    pub fn parse(text: &str) -> Option<Self> {
        let letters = text.bytes().take_while(u8::is_ascii_uppercase).count();
        if letters == 0 || letters > 6 {
            return None;
        }
        let col = text.as_bytes()[..letters].iter().try_fold(0u32, |n, b| {
            n.checked_mul(26)?.checked_add(u32::from(b - b'A') + 1)
        })? - 1;
        let row = text[letters..].parse::<u32>().ok()?.checked_sub(1)?;
        text.as_bytes()[letters]
            .is_ascii_digit()
            .then_some(Self { row, col })
    }
}

/// The letters of a zero-based column: 0 is `A`, 26 is `AA`.
pub fn column_letters(col: u32) -> String {
    let mut n = u64::from(col) + 1;
    let mut letters = Vec::new();
    while n > 0 {
        let digit = (n - 1) % 26;
        letters.push(char::from(b'A' + digit as u8));
        n = (n - 1) / 26;
    }
    letters.iter().rev().collect()
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", column_letters(self.col), u64::from(self.row) + 1)
    }
}

/// A rectangle of cells, both corners included.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Area {
    pub top: u32,
    pub left: u32,
    pub bottom: u32,
    pub right: u32,
}

impl Area {
    pub const fn contains(&self, at: Address) -> bool {
        at.row >= self.top && at.row <= self.bottom && at.col >= self.left && at.col <= self.right
    }
}

/// Areas, to be asked of many cells: as quick for a hundred thousand of them as for one.
#[derive(Clone, Debug, Default)]
pub struct Areas {
    /// From each row on at which something changes, the columns that are covered: first and last, in order
    /// and apart from each other.
    bands: BTreeMap<u32, Vec<(u32, u32)>>,
}

impl FromIterator<Area> for Areas {
    fn from_iter<I: IntoIterator<Item = Area>>(areas: I) -> Self {
        let mut changes: BTreeMap<u32, Vec<(Area, bool)>> = BTreeMap::new();
        for area in areas {
            changes.entry(area.top).or_default().push((area, true));
            let behind = area.bottom.saturating_add(1);
            changes.entry(behind).or_default().push((area, false));
        }
        let mut begun: BTreeMap<(u32, u32), usize> = BTreeMap::new();
        let bands = changes.into_iter().map(|(row, changes)| {
            for (area, begins) in changes {
                let count = begun.entry((area.left, area.right)).or_default();
                *count = if begins { *count + 1 } else { *count - 1 };
            }
            begun.retain(|_, count| *count > 0);
            let mut covered: Vec<(u32, u32)> = Vec::new();
            for (left, right) in begun.keys() {
                match covered.last_mut() {
                    Some(last) if *left <= last.1 => last.1 = last.1.max(*right),
                    _ => covered.push((*left, *right)),
                }
            }
            (row, covered)
        });
        Self {
            bands: bands.collect(),
        }
    }
}

impl Areas {
    /// Whether any of the areas has the cell.
    pub fn contain(&self, at: Address) -> bool {
        let Some((_, covered)) = self.bands.range(..=at.row).next_back() else {
            return false;
        };
        let behind = covered.partition_point(|(left, _)| *left <= at.col);
        behind > 0 && covered[behind - 1].1 >= at.col
    }
}

/// The place of a flaw or a number: always a file; a sheet and a cell where they are known.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Path relative to the gathered root, `/` between folders.
    pub file: Arc<str>,
    /// Empty for delimited text and for flaws of the whole file.
    pub sheet: Arc<str>,
    /// `None` when the flaw belongs to the whole sheet or file.
    pub cell: Option<Address>,
}

impl Place {
    pub fn file(file: &Arc<str>) -> Self {
        Self {
            file: file.clone(),
            sheet: "".into(),
            cell: None,
        }
    }

    pub fn sheet(file: &Arc<str>, sheet: &Arc<str>) -> Self {
        Self {
            file: file.clone(),
            sheet: sheet.clone(),
            cell: None,
        }
    }

    pub fn cell(file: &Arc<str>, sheet: &Arc<str>, at: Address) -> Self {
        Self {
            file: file.clone(),
            sheet: sheet.clone(),
            cell: Some(at),
        }
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        match (self.sheet.is_empty(), self.cell) {
            (true, None) => Ok(()),
            (true, Some(at)) => write!(f, ": {at}"),
            (false, None) => write!(f, ": {}", self.sheet),
            (false, Some(at)) => write!(f, ": {}!{at}", self.sheet),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn areas_together_have_the_cells_that_one_of_them_has(
            corners in prop::collection::vec((0u32..9, 0u32..9, 0u32..5, 0u32..5), 0..9)
        ) {
            let of = |(top, left, height, width): (u32, u32, u32, u32)| {
                Area { top, left, bottom: top + height, right: left + width }
            };
            let single: Vec<Area> = corners.into_iter().map(of).collect();
            let areas: Areas = single.iter().copied().collect();
            for at in (0..15).flat_map(|row| (0..15).map(move |col| Address::new(row, col))) {
                let expected = single.iter().any(|area| area.contains(at));
                prop_assert_eq!(areas.contain(at), expected, "{}", at);
            }
        }
    }

    #[test]
    fn addresses_read_back_from_their_a1_form() {
        for (row, col, a1) in [
            (0, 0, "A1"),
            (9, 25, "Z10"),
            (0, 26, "AA1"),
            (1_048_575, 16_383, "XFD1048576"),
        ] {
            let at = Address::new(row, col);
            assert_eq!(at.to_string(), a1);
            assert_eq!(Address::parse(a1), Some(at));
        }
    }

    #[test]
    fn err_what_is_no_a1_form_is_none() {
        for text in ["", "A", "1", "a1", "A0", "A-1", "A+1", "AAAAAAAA1"] {
            assert_eq!(Address::parse(text), None, "{text}");
        }
    }
}
