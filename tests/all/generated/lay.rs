//! Lays a known set of results out as a report, and notes where each one stands.

mod across;
mod form;
mod results;
mod rows;

use super::chance::Chance;
use super::words::{ANALYTES, Analyte, COLUMNS, Columns, LANGUAGES};
use std::collections::BTreeMap;

#[derive(Clone, Debug)]
pub(super) struct Truth {
    pub(super) analyte: &'static str,
    /// Canonical; `None` where not detected and no limit is given.
    pub(super) value: Option<f64>,
    /// `<`, `>`, `absent` or nothing.
    pub(super) censored: &'static str,
    pub(super) sample: String,
    pub(super) day: String,
    /// Whether the report says the unit; where not, a default with a warning is right.
    pub(super) unit_told: bool,
}

pub(super) type Sheet = Vec<Vec<String>>;

pub(super) struct Written {
    pub(super) layout: &'static str,
    pub(super) separator: char,
    pub(super) comma: bool,
    pub(super) sheets: Vec<Sheet>,
    /// By sheet, zero-based row and column.
    pub(super) truth: BTreeMap<(u16, u32, u32), Truth>,
}

impl Written {
    /// The sheets as delimited text, one below the other.
    pub(super) fn text(&self) -> String {
        let separator = self.separator.to_string();
        let rows = self.sheets.iter().flatten();
        rows.map(|row| row.join(&separator) + "\n").collect()
    }
}

struct Sample {
    name: String,
    year: usize,
    month: usize,
    day: usize,
}

impl Sample {
    fn iso(&self) -> String {
        format!("{}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// An analyte as this report has it.
struct Column {
    analyte: &'static Analyte,
    name: String,
    unit: &'static str,
    worth: f64,
}

impl Column {
    /// A typical number in the column's unit.
    fn typical(&self) -> f64 {
        self.analyte.size / self.worth
    }
}

struct Page<'a> {
    chance: &'a mut Chance,
    words: &'static Columns,
    comma: bool,
    /// Between thousands.
    group: &'static str,
    /// How days are written.
    days: usize,
    units_told: bool,
    samples: Vec<Sample>,
    columns: Vec<Column>,
    rows: Sheet,
    done: Vec<Sheet>,
    truth: BTreeMap<(u16, u32, u32), Truth>,
}

/// `is_text`: on one sheet, since delimited text has no more.
pub(super) fn write(chance: &mut Chance, is_text: bool) -> Written {
    let language = chance.below(LANGUAGES.len());
    let comma = language != 0 || chance.one_in(3);
    let separator = if comma {
        *chance.of(&[';', '\t', '|'])
    } else {
        *chance.of(&[',', ';', '\t'])
    };
    let group = match (chance.one_in(4), comma) {
        (true, true) => *chance.of(&[" ", "."]),
        (true, false) if separator != ',' => *chance.of(&[" ", ",", "'"]),
        _ => "",
    };
    let mut chosen: Vec<&'static Analyte> = ANALYTES.iter().collect();
    chance.shuffle(&mut chosen[..]);
    chosen.truncate(4 + chance.below(8));
    // A table that says neither a unit nor a name of a place is hardly one.
    let units_told = !chance.one_in(8);
    let columns = chosen.into_iter().map(|analyte| {
        let (unit, worth) = *chance.of(analyte.units);
        Column {
            analyte,
            name: analyte.names[language].to_owned(),
            unit,
            worth,
        }
    });
    let columns = columns.collect();
    let prefix = *chance.of(&["A", "P-", "26-", "Well "]);
    let samples = (0..2 + chance.below(5))
        .map(|i| Sample {
            name: format!("{prefix}{}", 101 + i),
            year: 2024 + chance.below(3),
            month: 1 + chance.below(12),
            day: 1 + chance.below(28),
        })
        .collect();
    let days = chance.below(4);
    let mut page = Page {
        chance,
        words: &COLUMNS[language],
        comma,
        group,
        days,
        units_told,
        samples,
        columns,
        rows: Vec::new(),
        done: Vec::new(),
        truth: BTreeMap::new(),
    };
    // One certain day, so that the order of days and months can be known.
    page.samples[0].day = 13 + page.chance.below(15);
    let layout = match page.chance.below(4) {
        0 => page.samples_down(),
        1 => page.samples_across(),
        2 => page.results_down(),
        _ => page.forms(is_text),
    };
    page.turn_page();
    Written {
        layout,
        separator,
        comma,
        sheets: page.done,
        truth: page.truth,
    }
}

impl Page<'_> {
    /// What follows stands on a sheet of its own.
    fn turn_page(&mut self) {
        self.done.push(std::mem::take(&mut self.rows));
    }

    fn preamble(&mut self) {
        if self.chance.one_in(2) {
            self.rows
                .push(vec!["Laboratory of the Blue Jar".to_owned()]);
            self.rows.push(vec![
                format!("{}:", self.words.client),
                "Nursery of the Nine Pots".to_owned(),
            ]);
            self.rows.push(Vec::new());
        }
    }

    fn number(&self, number: f64, decimals: usize) -> String {
        let text = format!("{number:.decimals$}");
        let (whole, part) = text.split_once('.').unwrap_or((&text, ""));
        let whole = match whole.len() {
            4.. => {
                let (thousands, rest) = whole.split_at(whole.len() - 3);
                format!("{thousands}{}{rest}", self.group)
            }
            _ => whole.to_owned(),
        };
        match (part, self.comma) {
            ("", _) => whole,
            (_, true) => format!("{whole},{part}"),
            (_, false) => format!("{whole}.{part}"),
        }
    }

    fn day(&self, sample: &Sample) -> String {
        let Sample {
            year, month, day, ..
        } = sample;
        match self.days {
            0 => sample.iso(),
            1 => format!("{day:02}/{month:02}/{year}"),
            2 => format!("{day}.{month}.{year}"),
            _ => format!("{day:02}.{month:02}.{year}"),
        }
    }

    /// The text of one result, and its truth; nothing where it was not measured.
    fn result(&mut self, sample: usize, column: usize) -> Option<(String, Truth)> {
        if self.chance.one_in(12) {
            return None;
        }
        let Column {
            analyte,
            unit,
            worth,
            ..
        } = self.columns[column];
        let typical = self.columns[column].typical();
        let decimals = match typical {
            t if t >= 100.0 => self.chance.below(2),
            t if t >= 1.0 => 1 + self.chance.below(2),
            _ => 3 + self.chance.below(2),
        };
        let spread = if analyte.code == "ph" {
            0.9 + 0.02 * self.chance.below(10) as f64
        } else {
            0.5 + 0.1 * self.chance.below(15) as f64
        };
        let rounded = format!("{:.decimals$}", typical * spread);
        let number: f64 = rounded.parse().unwrap();
        let text = self.number(number, decimals);
        let censored = match self.chance.below(14) {
            0 if analyte.code != "ph" => "<",
            1 if analyte.size < 1.0 => "absent",
            2 if analyte.code != "ph" && self.chance.one_in(4) => ">",
            _ => "",
        };
        let text = match censored {
            "absent" => self.words.absent.to_owned(),
            "<" if self.chance.one_in(2) => format!("< {text}"),
            sign => format!("{sign}{text}"),
        };
        let truth = Truth {
            analyte: analyte.code,
            value: (censored != "absent").then_some(number * worth),
            censored,
            sample: self.samples[sample].name.clone(),
            day: self.samples[sample].iso(),
            unit_told: self.units_told || unit.is_empty(),
        };
        Some((text, truth))
    }

    /// A limit of the laboratory for a column, and its canonical value.
    fn limit(&self, column: usize) -> (String, f64) {
        let rounded = format!("{:.4}", self.columns[column].typical() / 100.0);
        let number: f64 = rounded.parse().unwrap();
        (self.number(number, 4), number * self.columns[column].worth)
    }

    /// A limit of the law for a column.
    fn guideline(&self, column: usize) -> String {
        format!("< {}", self.number(self.columns[column].typical() * 2.0, 1))
    }

    fn note(&mut self, col: usize, truth: Truth) {
        let at = (self.done.len() as u16, self.rows.len() as u32, col as u32);
        self.truth.insert(at, truth);
    }
}

impl Truth {
    /// 'Not detected' beside a limit is below that limit.
    fn beside_limit(&mut self, limit: f64) {
        if self.censored == "absent" {
            self.value = Some(limit);
            self.censored = "<";
        }
    }
}
