//! A sheet on which no table was seen: its headings, and what each of its columns could be, told from what stands
//! below. Shown, never used.

use super::seen::{Label, Means};
use crate::locate::{Layout, is_day, is_number_like};
use crate::place::{Address, column_letters};
use crate::read::{Cell, CellView, Sheet, Value};
use crate::vocabulary::{Field, Vocabulary};
use std::collections::BTreeMap;

/// Headings stand near the top; looking further would find a row of remarks.
const ROWS_OF_HEADINGS: usize = 40;
/// Lines looked at below them.
const LINES: usize = 2_000;
/// Names of analytes to be told one by one; a list of more is of something else.
const MOST_NAMES: usize = 200;
/// Texts of a column that are shown.
const SHOWN_TEXTS: usize = 3;
/// Columns of numbers in a list: results and a limit. Samples side by side have more.
const MOST_NUMBERS_OF_A_LIST: usize = 2;

/// What a mapping says of an analyte that is still to be named, without and with a unit.
pub(super) const TO_BE_NAMED: &str = "means = \"…\"";
const TO_BE_NAMED_IN_UNIT: &str = "means = \"…\", unit = \"…\"";

pub(super) fn is_to_be_named(body: &str) -> bool {
    [TO_BE_NAMED, TO_BE_NAMED_IN_UNIT].contains(&body)
}

pub(super) struct Guess {
    pub(super) layout: Layout,
    /// Zero-based.
    pub(super) heading_row: u32,
    /// The headings; of a list, then what stands in the column that may name its analytes.
    pub(super) labels: Vec<Label>,
}

/// What a column holds, mostly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Holds {
    Nothing,
    Days,
    Units,
    /// Numbers of measurements.
    Numbers,
    /// Whole numbers that come again: of stations, of parameters.
    NumbersAsNames,
    /// Texts of which most stand in one line only.
    OwnTexts,
    /// Texts that come again.
    Names,
    /// In few of the lines.
    FewTexts,
}

struct Column<'a> {
    head: Address,
    text: String,
    holds: Holds,
    /// What stands in it, each once, with the first line.
    distinct: BTreeMap<String, u32>,
    /// The first different texts.
    first: Vec<&'a str>,
}

/// `None` where no row has the looks of headings.
pub(super) fn guess(sheet: &Sheet, vocabulary: &Vocabulary) -> Option<Guess> {
    let texts = |cells: &[(u32, Cell)]| {
        let is_text = |(_, cell): &&(u32, Cell)| matches!(cell.value, Value::Text(_));
        cells.iter().filter(is_text).count()
    };
    let (heading_row, cells) = (sheet.grid.rows())
        .take(ROWS_OF_HEADINGS)
        .max_by_key(|(row, cells)| (texts(cells), std::cmp::Reverse(*row)))
        .filter(|(_, cells)| texts(cells) > 1)?;
    let columns: Vec<Column<'_>> = (cells.iter())
        .filter_map(|(col, cell)| match cell.view() {
            CellView::Text(text) => Some(column(sheet, vocabulary, (heading_row, *col), text)),
            _ => None,
        })
        .collect();
    let of_numbers = columns.iter().filter(|c| c.holds == Holds::Numbers).count();
    // A list names its analytes in a column, each time again, or has one line for each.
    let names = (columns.iter())
        .filter(|c| {
            matches!(
                c.holds,
                Holds::Names | Holds::NumbersAsNames | Holds::OwnTexts
            )
        })
        .filter(|c| (2..=MOST_NAMES).contains(&c.distinct.len()))
        .max_by_key(|c| (c.holds != Holds::OwnTexts, c.distinct.len()));
    let layout = match names {
        Some(_) if of_numbers <= MOST_NUMBERS_OF_A_LIST => Layout::ResultsDown,
        _ => Layout::SamplesDown,
    };
    let names = names.filter(|_| layout == Layout::ResultsDown);
    let mut labels: Vec<Label> = (columns.iter())
        .map(|column| {
            let is_names = names.is_some_and(|names| names.head == column.head);
            column.label(sheet, layout, is_names)
        })
        .collect();
    labels.extend((names.iter()).flat_map(|names| names.analytes(sheet, &columns)));
    Some(Guess {
        layout,
        heading_row,
        labels,
    })
}

/// What stands below a heading, looked through once.
fn column<'a>(
    sheet: &'a Sheet,
    vocabulary: &Vocabulary,
    (row, col): (u32, u32),
    text: &str,
) -> Column<'a> {
    let lines = (sheet.grid.rows_from(row + 1)).take(LINES);
    let mut all = 0;
    let mut filled: Vec<(u32, CellView<'_>)> = Vec::new();
    for (line, _) in lines {
        all += 1;
        let cell = sheet.grid.view(Address::new(line, col));
        if !cell.is_empty() {
            filled.push((line, cell));
        }
    }
    // Whether four fifths are so: a word or a blank among them changes nothing.
    let mostly = |is: &dyn Fn(&CellView<'_>) -> bool| {
        let those = filled.iter().filter(|(_, cell)| is(cell)).count();
        those * 5 >= filled.len() * 4
    };
    let is_number = |cell: &CellView<'_>| match cell {
        CellView::Number(..) => true,
        CellView::Text(text) => is_number_like(text.trim()),
        _ => false,
    };
    let is_whole = |cell: &CellView<'_>| cell.as_text().trim().bytes().all(|b| b.is_ascii_digit());
    let is_unit = |cell: &CellView<'_>| vocabulary.read_unit(cell.as_text().trim()).is_some();
    let mut distinct: BTreeMap<String, u32> = BTreeMap::new();
    for (line, cell) in &filled {
        let text = cell.as_text().trim().to_owned();
        distinct.entry(text).or_insert(*line);
    }
    let comes_again = distinct.len() * 2 <= filled.len();
    let holds = if filled.is_empty() {
        Holds::Nothing
    } else if mostly(&|cell| is_day(*cell)) {
        Holds::Days
    } else if mostly(&is_number) {
        match comes_again && mostly(&is_whole) {
            true => Holds::NumbersAsNames,
            false => Holds::Numbers,
        }
    } else if filled.len() * 2 < all {
        Holds::FewTexts
    } else if mostly(&is_unit) {
        Holds::Units
    } else if comes_again {
        Holds::Names
    } else {
        Holds::OwnTexts
    };
    let mut first: Vec<&str> = Vec::new();
    for (_, cell) in &filled {
        if let CellView::Text(text) = cell
            && !first.contains(&text.trim())
            && first.len() < SHOWN_TEXTS
        {
            first.push(text.trim());
        }
    }
    Column {
        head: Address::new(row, col),
        text: text.split_whitespace().collect::<Vec<_>>().join(" "),
        holds,
        distinct,
        first,
    }
}

impl Column<'_> {
    /// What stands in it, each as the label of an analyte, with the numbers and units beside it.
    fn analytes(&self, sheet: &Sheet, columns: &[Column<'_>]) -> Vec<Label> {
        let beside = |line: u32| {
            let texts: Vec<String> = (columns.iter())
                .filter(|column| matches!(column.holds, Holds::Numbers | Holds::Units))
                .map(|column| sheet.grid.view(Address::new(line, column.head.col)))
                .map(|cell| cell.as_text().trim().to_owned())
                .collect();
            texts.join(" ")
        };
        (self.distinct.iter())
            .map(|(text, line)| Label {
                text: text.clone(),
                means: Means::Unplaced("outside-tables".into()),
                sheet: sheet.name.clone(),
                position: Address::new(*line, self.head.col).to_string(),
                is_cell: false,
                why: format!("an analyte? first with {}", beside(*line).trim()),
                could_be: vec![TO_BE_NAMED.into()],
            })
            .collect()
    }

    /// The label of its heading, with what it could mean.
    fn label(&self, sheet: &Sheet, layout: Layout, is_names: bool) -> Label {
        let fields: &[Field] = match self.holds {
            _ if is_names => &[Field::Label, Field::Source, Field::SampleRef],
            Holds::Days => &[Field::SampledOn, Field::ReportedOn],
            Holds::Units => &[Field::Unit],
            Holds::Numbers if layout == Layout::ResultsDown => {
                &[Field::Value, Field::DetectionLimit]
            }
            Holds::Numbers | Holds::Nothing => &[],
            Holds::NumbersAsNames | Holds::Names | Holds::OwnTexts => {
                &[Field::Source, Field::SampleRef, Field::Site, Field::Client]
            }
            Holds::FewTexts => &[Field::Qualifier, Field::Remark],
        };
        let mut could_be: Vec<String> = (fields.iter())
            .map(|field| format!("means = \"{}\"", field.name()))
            .collect();
        if self.holds == Holds::Numbers && layout != Layout::ResultsDown {
            could_be.push(TO_BE_NAMED_IN_UNIT.into());
        }
        Label {
            text: self.text.clone(),
            means: Means::Unplaced("outside-tables".into()),
            sheet: sheet.name.clone(),
            position: column_letters(self.head.col),
            is_cell: true,
            why: self.why(),
            could_be,
        }
    }

    fn why(&self) -> String {
        let what = match self.holds {
            Holds::Nothing => return "nothing stands below it".into(),
            Holds::Days => "days",
            Holds::Units => "units",
            Holds::Numbers => "numbers",
            Holds::NumbersAsNames => "numbers that come again",
            Holds::OwnTexts => "texts",
            Holds::Names => "names that come again",
            Holds::FewTexts => "texts here and there",
        };
        match self.first.as_slice() {
            [] => format!("holds {what}"),
            first => format!("holds {what}: '{}'", first.join("', '")),
        }
    }
}
