//! Lays a known set of results out as a report, and notes where each one stands.

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

pub(super) struct Written {
    pub(super) layout: &'static str,
    pub(super) text: String,
    /// By zero-based row and column.
    pub(super) truth: BTreeMap<(u32, u32), Truth>,
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

struct Page<'a> {
    chance: &'a mut Chance,
    words: &'static Columns,
    comma: bool,
    separator: char,
    units_told: bool,
    samples: Vec<Sample>,
    columns: Vec<Column>,
    rows: Vec<Vec<String>>,
    truth: BTreeMap<(u32, u32), Truth>,
}

pub(super) fn write(chance: &mut Chance) -> Written {
    let language = chance.below(LANGUAGES.len());
    let comma = language != 0 || chance.one_in(3);
    let separator = if comma {
        *chance.of(&[';', '\t', '|'])
    } else {
        *chance.of(&[',', ';', '\t'])
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
    let mut page = Page {
        chance,
        words: &COLUMNS[language],
        comma,
        separator,
        units_told,
        samples,
        columns,
        rows: Vec::new(),
        truth: BTreeMap::new(),
    };
    // One certain day, so that the order of days and months can be known.
    page.samples[0].day = 13 + page.chance.below(15);
    page.preamble();
    let layout = match page.chance.below(3) {
        0 => page.samples_down(),
        1 => page.samples_across(),
        _ => page.results_down(),
    };
    let separator = page.separator.to_string();
    let text = page
        .rows
        .iter()
        .map(|row| row.join(&separator) + "\n")
        .collect();
    Written {
        layout,
        text,
        truth: page.truth,
    }
}

impl Page<'_> {
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
        if self.comma {
            text.replace('.', ",")
        } else {
            text
        }
    }

    fn day(&self, sample: &Sample, form: usize) -> String {
        match form {
            0 => sample.iso(),
            _ => format!("{:02}.{:02}.{}", sample.day, sample.month, sample.year),
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
        let typical = analyte.size / worth;
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
        let text = self.number(typical * spread, decimals);
        let number: f64 = text.replace(',', ".").parse().unwrap();
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

    fn note(&mut self, col: usize, truth: Truth) {
        let at = (self.rows.len() as u32, col as u32);
        self.truth.insert(at, truth);
    }

    fn samples_down(&mut self) -> &'static str {
        let two_rows = self.chance.one_in(2);
        let brackets = self.chance.one_in(2);
        let form = self.chance.below(2);
        let unknown = self.chance.one_in(3);
        let remark = self.chance.one_in(3);
        let mut heading = vec![self.words.sample.to_owned(), self.words.day.to_owned()];
        let mut units = vec![String::new(); 2];
        for column in &self.columns {
            let unit = if self.units_told { column.unit } else { "" };
            heading.push(match (two_rows || unit.is_empty(), brackets) {
                (true, _) => column.name.clone(),
                (_, true) => format!("{} ({unit})", column.name),
                _ => format!("{} {unit}", column.name),
            });
            units.push(unit.to_owned());
        }
        if unknown {
            heading.push(self.words.unknown.to_owned());
        }
        if remark {
            heading.push(self.words.remark.to_owned());
        }
        self.rows.push(heading);
        if two_rows && self.units_told {
            self.rows.push(units);
        }
        for sample in 0..self.samples.len() {
            let mut row = vec![
                self.samples[sample].name.clone(),
                self.day(&self.samples[sample], form),
            ];
            for column in 0..self.columns.len() {
                match self.result(sample, column) {
                    None => row.push(String::new()),
                    Some((text, truth)) => {
                        self.note(row.len(), truth);
                        row.push(text);
                    }
                }
            }
            if unknown {
                row.push((3 + self.chance.below(90)).to_string());
            }
            if remark && self.chance.one_in(2) {
                row.push("clear".to_owned());
            }
            self.rows.push(row);
        }
        if self.chance.one_in(2) {
            let mut row = vec![self.words.mean.to_owned(), String::new()];
            for column in 0..self.columns.len() {
                let typical = self.columns[column].analyte.size / self.columns[column].worth;
                row.push(self.number(typical, 2));
            }
            self.rows.push(row);
        }
        "samples-down"
    }

    fn samples_across(&mut self) -> &'static str {
        let limit = self.chance.one_in(2);
        let guideline = self.chance.one_in(2);
        let form = self.chance.below(2);
        let lead = if self.units_told { 2 } else { 1 } + usize::from(limit);
        let mut heading = vec![self.words.parameter.to_owned()];
        if self.units_told {
            heading.push(self.words.unit.to_owned());
        }
        if limit {
            heading.push(self.words.limit.to_owned());
        }
        heading.extend(self.samples.iter().map(|s| s.name.clone()));
        if guideline {
            heading.push(self.words.guideline.to_owned());
        }
        self.rows.push(heading);
        let mut days = vec![self.words.day.to_owned()];
        days.resize(lead, String::new());
        days.extend(self.samples.iter().map(|s| self.day(s, form)));
        self.rows.push(days);
        for column in 0..self.columns.len() {
            let Column {
                analyte,
                unit,
                worth,
                ..
            } = self.columns[column];
            let mut row = vec![self.columns[column].name.clone()];
            if self.units_told {
                row.push(unit.to_owned());
            }
            if limit {
                row.push(self.number(analyte.size / worth / 100.0, 4));
            }
            for sample in 0..self.samples.len() {
                match self.result(sample, column) {
                    None => row.push(String::new()),
                    Some((text, mut truth)) => {
                        if limit && truth.censored == "absent" {
                            // 'Not detected' beside a limit is below that limit.
                            let number: f64 = row[lead - 1].replace(',', ".").parse().unwrap();
                            truth.value = Some(number * worth);
                            truth.censored = "<";
                        }
                        self.note(row.len(), truth);
                        row.push(text);
                    }
                }
            }
            if guideline {
                row.push(format!("< {}", self.number(analyte.size / worth * 2.0, 1)));
            }
            self.rows.push(row);
        }
        "samples-across"
    }

    fn results_down(&mut self) -> &'static str {
        let form = self.chance.below(2);
        let mut order = [0, 1, 2, 3, 4];
        self.chance.shuffle(&mut order);
        let titles = [
            self.words.sample,
            self.words.day,
            self.words.parameter,
            self.words.value,
            self.words.unit,
        ];
        self.units_told = true;
        let place = order.iter().position(|o| *o == 3).unwrap();
        self.rows
            .push(order.iter().map(|o| titles[*o].to_owned()).collect());
        for sample in 0..self.samples.len() {
            for column in 0..self.columns.len() {
                let Some((text, truth)) = self.result(sample, column) else {
                    continue;
                };
                let cells = [
                    self.samples[sample].name.clone(),
                    self.day(&self.samples[sample], form),
                    self.columns[column].name.clone(),
                    text,
                    self.columns[column].unit.to_owned(),
                ];
                self.note(place, truth);
                self.rows
                    .push(order.iter().map(|o| cells[*o].clone()).collect());
            }
        }
        "results-down"
    }
}
