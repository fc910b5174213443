//! One table (or form) of a sheet, drawn with what each column, row or value of it means.

use super::canvas::{Canvas, Piece, Row, cut, styled};
use super::meaning::{self, Kind};
use super::picture::{Subject, cell, one_line, push};
use crate::cli::terminal::clean;
use crate::locate::Layout;
use crate::map::{BlockPlan, Source, TrackRole};
use crate::place::{Address, column_letters};
use crate::read::Sheet;
use std::collections::{BTreeMap, BTreeSet};

/// Lines that one table may take: a screenful.
const SCREENFUL: usize = 40;
/// Lines for the columns that are only named.
const REST_LINES: usize = 6;
/// Lines of data shown before the rest is counted.
const LINES_SHOWN: usize = 3;
/// Lines that are no samples shown, before the rest is counted.
const OTHERS_SHOWN: usize = 4;

pub(super) fn draw(
    text: &mut String,
    subject: &Subject<'_>,
    sheet: &Sheet,
    block: &BlockPlan,
    width: usize,
) {
    push(text, &title(sheet, block));
    facts(text, sheet, block);
    let canvas = match (block.layout, block.across) {
        (Layout::Form | Layout::CrossTable, _) => form(subject, sheet, block),
        (_, true) => across(subject, sheet, block),
        (_, false) => down(subject, sheet, block),
    };
    let (drawn, shown) = canvas.draw(width, SCREENFUL);
    text.push_str(&drawn);
    if !block.across && shown < canvas.columns.len() {
        let rest: Vec<String> = block
            .tracks
            .iter()
            .filter(|track| !canvas.columns[..shown].contains(&column_letters(track.at)))
            .map(|track| {
                let meaning = meaning::track(&track.role, false, subject.vocabulary);
                format!("{} {}", column_letters(track.at), clean(&meaning.name))
            })
            .collect();
        let line = format!("and {} more columns: {}", rest.len(), rest.join(", "));
        for line in wrapped(&line, width).iter().take(REST_LINES) {
            push(text, line);
        }
    }
}

/// Lines of at most `width` columns, broken between words; a longer word is cut.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let line = lines.last_mut().expect("there is always a line");
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > width {
            lines.push(cut(word, width));
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&cut(word, width));
        }
    }
    lines
}

/// `table A3:I12: one sample a row, 9 samples`
fn title(sheet: &Sheet, block: &BlockPlan) -> String {
    let (what, one, many) = match block.layout {
        Layout::SamplesDown => ("one sample a row ↓", "sample", "samples"),
        Layout::SamplesAcross => ("one sample a column →", "sample", "samples"),
        Layout::ResultsDown => ("one result a row ↓", "result", "results"),
        Layout::Form => ("a form, labels beside values", "value", "values"),
        Layout::CrossTable => ("a result for each place and day", "result", "results"),
    };
    let count = match block.layout {
        Layout::Form => block.form.len(),
        Layout::CrossTable => (block.form.iter())
            .filter(|cell| matches!(cell.role, TrackRole::Analyte(_)))
            .count(),
        _ => samples(sheet, block).len(),
    };
    let count = format!("{count} {}", if count == 1 { one } else { many });
    let place = extent(sheet, block).map_or_else(String::new, |(from, to)| format!(" {from}:{to}"));
    styled(&format!("table{place}: {what}, {count}"), Kind::Heading)
}

/// First and last cell of a block; `None` when nothing of it stands in the sheet.
fn extent(sheet: &Sheet, block: &BlockPlan) -> Option<(Address, Address)> {
    let tracks = block.tracks.iter().map(|track| track.at);
    let lines = samples(sheet, block);
    let ends = lines
        .first()
        .copied()
        .into_iter()
        .chain(lines.last().copied());
    let cells = tracks.flat_map(|at| {
        ends.clone().map(move |line| {
            if block.across {
                Address::new(at, line)
            } else {
                Address::new(line, at)
            }
        })
    });
    let cells: Vec<Address> = cells
        .chain(block.headings.iter().copied())
        .chain(block.form.iter().map(|cell| cell.value))
        .collect();
    let rows = cells.iter().map(|at| at.row);
    let cols = cells.iter().map(|at| at.col);
    Some((
        Address::new(rows.clone().min()?, cols.clone().min()?),
        Address::new(rows.max()?, cols.max()?),
    ))
}

/// The lines that hold something and are samples (or results).
fn samples(sheet: &Sheet, block: &BlockPlan) -> Vec<u32> {
    let tracks: BTreeSet<u32> = block.tracks.iter().map(|track| track.at).collect();
    let lines: BTreeSet<u32> = sheet
        .grid
        .cells()
        .map(|(at, _)| {
            if block.across {
                (at.col, at.row)
            } else {
                (at.row, at.col)
            }
        })
        .filter(|(line, track)| {
            (block.first_line..=block.last_line).contains(line)
                && tracks.contains(track)
                && !block.not_samples.contains_key(line)
        })
        .map(|(line, _)| line)
        .collect();
    lines.into_iter().collect()
}

/// Identity from outside the lines.
fn facts(text: &mut String, sheet: &Sheet, block: &BlockPlan) {
    for fact in &block.facts {
        let (value, from) = match &fact.from {
            Source::Cell(at) => (cell(sheet, *at), format!("from {at}")),
            Source::Part(at, part) => (one_line(part), format!("from {at}")),
            Source::Text(value) => (
                one_line(value),
                "from the mapping, the file name, the sheet's name or a cover sheet".into(),
            ),
        };
        let name = styled(fact.field.name(), Kind::Identity);
        push(text, &format!("  {name} = '{}', {from}", cut(&value, 40)));
    }
}

/// Rows as they stand; under the headings what each column means.
fn down(subject: &Subject<'_>, sheet: &Sheet, block: &BlockPlan) -> Canvas {
    let mut columns: BTreeSet<u32> = block.tracks.iter().map(|track| track.at).collect();
    columns.extend(block.headings.iter().map(|at| at.col));
    let columns: Vec<u32> = columns.into_iter().collect();
    let cells = |row: u32, kind: Kind| -> Vec<Piece> {
        columns
            .iter()
            .map(|col| Piece::new(cell(sheet, Address::new(row, *col)), kind))
            .collect()
    };
    let line = |label: &str, row: u32, kind: Kind| Row {
        gutter: Piece::new(format!("{label} {:>4}", u64::from(row) + 1), kind),
        cells: cells(
            row,
            if kind == Kind::Heading {
                kind
            } else {
                Kind::Plain
            },
        ),
    };
    let headings: BTreeSet<u32> = block.headings.iter().map(|at| at.row).collect();
    let mut rows: Vec<Row> = headings
        .iter()
        .filter(|row| !block.not_samples.contains_key(row))
        .map(|row| line("heading", *row, Kind::Heading))
        .collect();
    rows.extend(meanings(subject, block, &columns));
    let word = if block.layout == Layout::ResultsDown {
        "result"
    } else {
        "sample"
    };
    let samples = samples(sheet, block);
    for row in samples.iter().take(LINES_SHOWN) {
        rows.push(line(word, *row, Kind::Plain));
    }
    if samples.len() > LINES_SHOWN {
        rows.push(more(samples.len() - LINES_SHOWN, &format!("{word}s")));
    }
    let others: Vec<_> = block
        .not_samples
        .iter()
        .filter(|(row, _)| !headings.contains(row))
        .collect();
    for (row, role) in others.iter().take(OTHERS_SHOWN) {
        let (kind, label) = meaning::line(role, false);
        let mut row = line(&label, **row, kind);
        row.cells.iter_mut().for_each(|piece| piece.kind = kind);
        rows.push(row);
    }
    if others.len() > OTHERS_SHOWN {
        rows.push(more(others.len() - OTHERS_SHOWN, "that are no samples"));
    }
    Canvas {
        columns: columns.iter().map(|col| column_letters(*col)).collect(),
        rows,
    }
}

/// `means`, `unit` and `note` under the headings.
fn meanings(subject: &Subject<'_>, block: &BlockPlan, columns: &[u32]) -> Vec<Row> {
    let found: Vec<Option<meaning::Meaning>> = columns
        .iter()
        .map(|col| {
            let track = block.tracks.iter().find(|track| track.at == *col)?;
            Some(meaning::track(&track.role, false, subject.vocabulary))
        })
        .collect();
    let band = |label: &str, part: &dyn Fn(&meaning::Meaning) -> &str| Row {
        gutter: Piece::new(format!("{label}     "), Kind::SetAside),
        cells: found
            .iter()
            .map(|meaning| match meaning {
                Some(meaning) => Piece::new(one_line(part(meaning)), meaning.kind),
                None => Piece::new("", Kind::Plain),
            })
            .collect(),
    };
    let bands = [
        band("means", &|m| &m.name),
        band("unit", &|m| &m.unit),
        band("", &|m| &m.note),
    ];
    bands
        .into_iter()
        .filter(|row| row.cells.iter().any(|piece| !piece.text.is_empty()))
        .collect()
}

/// Rows as they stand, and before each what it means; samples are columns.
fn across(subject: &Subject<'_>, sheet: &Sheet, block: &BlockPlan) -> Canvas {
    let samples = samples(sheet, block);
    let others: Vec<u32> = block.not_samples.keys().copied().collect();
    let mut columns: BTreeSet<u32> = block.headings.iter().map(|at| at.col).collect();
    columns.extend(samples.iter().take(LINES_SHOWN + 2));
    columns.extend(others.iter().take(OTHERS_SHOWN));
    let columns: Vec<u32> = columns.into_iter().collect();
    let cells = |row: u32, kind: Kind| -> Vec<Piece> {
        columns
            .iter()
            .map(|col| Piece::new(cell(sheet, Address::new(row, *col)), kind))
            .collect()
    };
    let mut rows = vec![Row {
        gutter: Piece::new("", Kind::Plain),
        cells: columns
            .iter()
            .map(|col| match block.not_samples.get(col) {
                Some(role) => {
                    let (kind, label) = meaning::line(role, true);
                    Piece::new(label, kind)
                }
                None if samples.contains(col) => Piece::new("sample", Kind::Identity),
                None => Piece::new("heading", Kind::Heading),
            })
            .collect(),
    }];
    let tracks: BTreeMap<u32, _> = block.tracks.iter().map(|track| (track.at, track)).collect();
    let mut lines: BTreeSet<u32> = tracks.keys().copied().collect();
    lines.extend(block.headings.iter().map(|at| at.row));
    for row in lines.iter().take(SCREENFUL - 4) {
        let (words, kind) = match tracks.get(row) {
            Some(track) => {
                let meaning = meaning::track(&track.role, true, subject.vocabulary);
                let parts = [&*meaning.name, &*meaning.unit, &*meaning.note];
                let words: Vec<&str> = parts.into_iter().filter(|p| !p.is_empty()).collect();
                (one_line(&words.join(" ")), meaning.kind)
            }
            None => ("heading".into(), Kind::Heading),
        };
        rows.push(Row {
            gutter: Piece::new(
                format!("{} {:>4}", cut(&words, 29), u64::from(*row) + 1),
                kind,
            ),
            cells: cells(
                *row,
                if kind == Kind::Heading {
                    kind
                } else {
                    Kind::Plain
                },
            ),
        });
    }
    if lines.len() > SCREENFUL - 4 {
        rows.push(more(
            lines.len() - (SCREENFUL - 4),
            "rows; --json shows all",
        ));
    }
    if samples.len() > LINES_SHOWN + 2 {
        rows.push(more(samples.len() - LINES_SHOWN - 2, "columns of samples"));
    }
    Canvas {
        columns: columns.iter().map(|col| column_letters(*col)).collect(),
        rows,
    }
}

/// One line a value: what it means, where it stands, what stands there and beside it.
fn form(subject: &Subject<'_>, sheet: &Sheet, block: &BlockPlan) -> Canvas {
    let mut rows: Vec<Row> = block
        .form
        .iter()
        .take(SCREENFUL - 4)
        .map(|entry| {
            let meaning = meaning::track(&entry.role, false, subject.vocabulary);
            let value = match &entry.part {
                Some(part) => one_line(part),
                None => cell(sheet, entry.value),
            };
            let beside: Vec<String> = entry
                .companions
                .iter()
                .map(|(at, role)| format!("{} '{}'", meaning::value_role(*role), cell(sheet, *at)))
                .collect();
            let own = entry.own.iter().filter_map(|fact| match &fact.from {
                Source::Cell(at) => Some(Piece::new(cell(sheet, *at), Kind::Identity)),
                _ => None,
            });
            Row {
                gutter: Piece::new(one_line(&meaning.name), meaning.kind),
                cells: [
                    Piece::new(entry.value.to_string(), Kind::SetAside),
                    Piece::new(value, Kind::Plain),
                    Piece::new(meaning.unit, meaning.kind),
                    Piece::new(meaning.note, Kind::SetAside),
                    Piece::new(beside.join(", "), Kind::Companion),
                ]
                .into_iter()
                .chain(own)
                .collect(),
            }
        })
        .collect();
    if block.form.len() > SCREENFUL - 4 {
        rows.push(more(
            block.form.len() - (SCREENFUL - 4),
            "values; --json shows all",
        ));
    }
    let own = block.form.first().map_or(&[][..], |entry| &entry.own);
    let own = own.iter().map(|fact| fact.field.name());
    let columns = ["cell", "value", "unit", "", "beside"];
    Canvas {
        columns: columns.into_iter().chain(own).map(String::from).collect(),
        rows,
    }
}

fn more(count: usize, what: &str) -> Row {
    Row {
        gutter: Piece::new(format!("⋮ {count} more {what}"), Kind::SetAside),
        cells: Vec::new(),
    }
}
