//! A printed report: no separator, but columns lined up with spaces, or a label and its value joined
//! by dots. Cells stand where two or more spaces (or three or more dots) part them; which column
//! they are in is told by where they stand, so that a blank among them stays a blank.

use crate::finding::Finding;
use crate::place::{Address, Place};
use crate::read::bounds::CELLS;
use crate::read::cell::Cell;
use crate::read::findings::Flaw;
use crate::read::grid::Grid;
use std::sync::Arc;

/// Lines looked at to tell a printed report from a delimited text.
const LOOK_AT: usize = 200;

/// How many of the first lines that are not blank have two cells parted by spaces or dots, where
/// `delimiter` is on neither side of the gap.
pub(super) fn parted_lines(text: &str, delimiter: Option<u8>) -> usize {
    let beside = |c: Option<char>| c.is_some() && c == delimiter.map(char::from);
    lines(text)
        .filter(|(_, line)| !line.trim().is_empty())
        .take(LOOK_AT)
        .filter(|(_, line)| {
            !is_one_piece(line)
                && pieces(line).windows(2).any(|pair| {
                    !beside(pair[0].text.chars().next_back())
                        && !beside(pair[1].text.chars().next())
                })
        })
        .count()
}

/// Whether nothing in a line can part cells; `false` also where it takes a closer look.
fn is_one_piece(line: &str) -> bool {
    let mut last = 0;
    line.bytes().all(|byte| {
        let parts = byte == last && matches!(byte, b' ' | b'.');
        last = byte;
        !parts && (b' '..=b'~').contains(&byte)
    })
}

/// Puts the cells of a printed text on a grid.
pub(super) fn read(text: &str, file: &Arc<str>, grid: &mut Grid) -> Vec<Finding> {
    let lines: Vec<(u32, Vec<Piece<'_>>)> = lines(text)
        .map(|(row, line)| (row, pieces(line)))
        .filter(|(_, p)| !p.is_empty())
        .collect();
    let whole = Columns::of(&lines);
    let mut put = |columns: Option<&Columns>, row: u32, pieces: &[Piece<'_>]| {
        for (index, piece) in pieces.iter().enumerate() {
            let col = columns.map_or(index, |c| c.column_of(piece));
            grid.put(Address::new(row, col as u32), Cell::text(piece.text));
        }
        grid.count() < CELLS
    };
    let mut is_within = true;
    if let Some(columns) = &whole {
        is_within = lines
            .iter()
            .all(|(row, pieces)| put(Some(columns), *row, pieces));
    } else {
        // No columns run through the whole text: each paragraph may have its own.
        for block in lines.chunk_by(|a, b| b.0 == a.0 + 1) {
            let columns = Columns::of(block);
            is_within = is_within
                && block
                    .iter()
                    .all(|(row, pieces)| put(columns.as_ref(), *row, pieces));
        }
    }
    if is_within {
        Vec::new()
    } else {
        vec![
            Flaw::CellBound {
                what: "cells",
                bound: CELLS,
            }
            .at(Place::file(file)),
        ]
    }
}

/// The lines of a text with their numbers (zero-based); all kinds of line ends.
fn lines(text: &str) -> impl Iterator<Item = (u32, &str)> {
    // Not the records of `record`: a printed report does not quote with its quotation marks.
    let mut rest = Some(text);
    std::iter::from_fn(move || {
        let text = rest?;
        let end = text.find(['\n', '\r']);
        let Some(end) = end else {
            rest = None;
            return Some(text);
        };
        let len = if text[end..].starts_with("\r\n") {
            2
        } else {
            1
        };
        rest = Some(&text[end + len..]);
        Some(&text[..end])
    })
    .zip(0_u32..)
    .map(|(line, row)| (row, line))
}

/// A cell of a printed line, by where it stands (in characters, the end not included).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Piece<'t> {
    start: usize,
    end: usize,
    text: &'t str,
}

/// The pieces of a line: parted by two or more spaces, a tab, or three or more dots.
fn pieces(line: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let chars: Vec<(usize, char)> = line.char_indices().collect();
    let mut piece: Option<(usize, usize)> = None;
    let mut i = 0;
    while i < chars.len() {
        let gap = gap_at(&chars, i);
        if gap > 0 {
            pieces.extend(piece.take().map(|(from, to)| cut(line, &chars, from, to)));
            i += gap;
            continue;
        }
        piece = Some(piece.map_or((i, i), |(from, _)| (from, i)));
        i += 1;
    }
    pieces.extend(piece.take().map(|(from, to)| cut(line, &chars, from, to)));
    pieces.retain(|piece| !piece.text.is_empty());
    pieces
}

/// How many characters part cells at `i`; 0 where none do.
fn gap_at(chars: &[(usize, char)], i: usize) -> usize {
    let run = |from: usize, is: fn(char) -> bool| {
        chars[from..].iter().take_while(|(_, c)| is(*c)).count()
    };
    let is_space = |c: char| c.is_whitespace();
    let is_dot = |c: char| matches!(c, '.' | '…' | '·');
    let spaces = run(i, is_space);
    let dots = run(i + spaces, is_dot);
    if dots >= 3 || (dots > 0 && chars[i + spaces].1 == '…') {
        return spaces + dots + run(i + spaces + dots, is_space);
    }
    let has_tab = chars[i..i + spaces].iter().any(|(_, c)| *c == '\t');
    if spaces >= 2 || has_tab || (spaces > 0 && (i == 0 || i + spaces == chars.len())) {
        spaces
    } else {
        0
    }
}

fn cut<'t>(line: &'t str, chars: &[(usize, char)], from: usize, to: usize) -> Piece<'t> {
    let end = chars.get(to + 1).map_or(line.len(), |(at, _)| *at);
    Piece {
        start: from,
        end: to + 1,
        text: line[chars[from].0..end].trim(),
    }
}

/// Where the columns of a text stand.
#[derive(Debug, PartialEq)]
struct Columns(Vec<(usize, usize)>);

impl Columns {
    /// `None` when the pieces of the lines do not line up: two of one line would share a column.
    fn of(lines: &[(u32, Vec<Piece<'_>>)]) -> Option<Self> {
        let tabular = || {
            lines
                .iter()
                .map(|(_, pieces)| pieces)
                .filter(|p| p.len() > 1)
        };
        let mut spans: Vec<(usize, usize)> =
            tabular().flatten().map(|p| (p.start, p.end)).collect();
        spans.sort_unstable();
        let mut columns: Vec<(usize, usize)> = Vec::new();
        for (start, end) in spans {
            match columns.last_mut() {
                Some(last) if start < last.1 => last.1 = last.1.max(end),
                _ => columns.push((start, end)),
            }
        }
        let columns = Self(columns);
        let lines_up = tabular().all(|pieces| {
            pieces
                .windows(2)
                .all(|pair| columns.column_of(&pair[0]) < columns.column_of(&pair[1]))
        });
        (lines_up && !columns.0.is_empty()).then_some(columns)
    }

    /// The first column that the piece stands under, or else the last that begins before it.
    fn column_of(&self, piece: &Piece<'_>) -> usize {
        let Self(columns) = self;
        columns
            .iter()
            .position(|(start, end)| piece.start < *end && *start < piece.end)
            .or_else(|| columns.iter().rposition(|(start, _)| *start <= piece.start))
            .map_or(0, |column| column)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn cells(text: &str) -> Vec<String> {
        let mut grid = Grid::default();
        assert!(read(text, &"t".into(), &mut grid).is_empty());
        grid.cells()
            .map(|(at, cell)| format!("{at} {}", cell.as_text()))
            .collect()
    }

    #[test]
    fn cells_stand_where_they_are_printed() {
        for (name, text, expected) in [
            (
                "a blank among them",
                "Sample    pH    Ca\nWell 1    7.5   80\nWell 2          95\n",
                vec![
                    "A1 Sample",
                    "B1 pH",
                    "C1 Ca",
                    "A2 Well 1",
                    "B2 7.5",
                    "C2 80",
                    "A3 Well 2",
                    "C3 95",
                ],
            ),
            (
                "numbers flush right",
                "Sample       Ca      Cl\nWell 1        8     102\nWell 2      108       2\n",
                vec![
                    "A1 Sample",
                    "B1 Ca",
                    "C1 Cl",
                    "A2 Well 1",
                    "B2 8",
                    "C2 102",
                    "A3 Well 2",
                    "B3 108",
                    "C3 2",
                ],
            ),
            (
                "dots",
                "pH ......... 7.5\r\nCalcium ..... 80 mg/l\r\n",
                vec!["A1 pH", "B1 7.5", "A2 Calcium", "B2 80 mg/l"],
            ),
            (
                "a title",
                "Report 26\n\nCa   80\nMg   12\n",
                vec!["A1 Report 26", "A3 Ca", "B3 80", "A4 Mg", "B4 12"],
            ),
            (
                "columns that do not line up",
                "a  b  c\nlong first  d  e\n",
                vec!["A1 a", "B1 b", "C1 c", "A2 long first", "B2 d", "C2 e"],
            ),
            ("one word a line", "pH\n7.5\n", vec!["A1 pH", "A2 7.5"]),
            ("nothing", "", vec![]),
        ] {
            assert_eq!(cells(text), expected, "{name}");
        }
    }

    #[test]
    fn gaps_beside_a_delimiter_do_not_count() {
        assert_eq!(parted_lines("Well 1,   7.5,  80\n", Some(b',')), 0);
        assert_eq!(parted_lines("Well 1    7,5   80,2\n", Some(b',')), 1);
    }

    proptest! {
        #[test]
        fn every_character_but_gaps_is_kept(text in "[ab.µ\t\n ]{0,60}") {
            let kept: String = cells(&text).iter().map(|c| c.split_once(' ').unwrap().1.replace([' ', '.', '\t'], "")).collect();
            prop_assert_eq!(kept.len(), text.replace([' ', '.', '\t', '\n'], "").len());
        }
    }
}
