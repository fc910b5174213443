//! One sample a row.

use super::{Column, Page};

/// Where the units of a table stand.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Units {
    InBrackets,
    BehindName,
    /// In a row of their own.
    Row,
    /// And what they count in a row below.
    RowOfBases,
    /// At the heading of a group, for those of mg/L.
    Group,
}

impl Page<'_> {
    pub(super) fn samples_down(&mut self) -> &'static str {
        use Units::*;
        self.preamble();
        let units = *(self.chance).of(&[InBrackets, BehindName, Row, RowOfBases, Group]);
        let unknown = self.chance.one_in(3);
        let remark = self.chance.one_in(3);
        let limit = self.chance.one_in(4);
        if units == Group && self.units_told {
            self.columns.sort_by_key(|column| !is_plain_mass(column));
        }
        let group = self.group_heading(units);
        self.rows.extend(group);
        let mut heading = vec![self.words.sample.to_owned(), self.words.day.to_owned()];
        let mut of_units = vec![self.words.unit.to_owned(), String::new()];
        let mut of_bases = vec![String::new(); 2];
        for column in &self.columns {
            let unit = if self.units_told { column.unit } else { "" };
            let (bare, basis) = unit.split_once(' ').unwrap_or((unit, ""));
            heading.push(match units {
                _ if unit.is_empty() => column.name.clone(),
                Group if is_plain_mass(column) => column.name.clone(),
                InBrackets | Group => format!("{} ({unit})", column.name),
                BehindName => format!("{} {unit}", column.name),
                Row | RowOfBases => column.name.clone(),
            });
            of_units.push(if units == RowOfBases { bare } else { unit }.to_owned());
            of_bases.push(basis.to_owned());
        }
        if unknown {
            heading.push(self.words.unknown.to_owned());
        }
        if remark {
            heading.push(self.words.remark.to_owned());
        }
        self.rows.push(heading);
        if matches!(units, Row | RowOfBases) && self.units_told {
            if self.chance.one_in(2) {
                of_units[0].clear();
            }
            self.rows.push(of_units);
            if units == RowOfBases && of_bases.iter().any(|basis| !basis.is_empty()) {
                self.rows.push(of_bases);
            }
        }
        if limit {
            let mut row = vec![self.words.limit.to_owned(), String::new()];
            row.extend((0..self.columns.len()).map(|column| self.limit(column).0));
            self.rows.push(row);
        }
        for sample in 0..self.samples.len() {
            let mut row = vec![
                self.samples[sample].name.clone(),
                self.day(&self.samples[sample]),
            ];
            for column in 0..self.columns.len() {
                match self.result(sample, column) {
                    None => row.push(String::new()),
                    Some((text, mut truth)) => {
                        if limit {
                            truth.beside_limit(self.limit(column).1);
                        }
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
            row.extend((self.columns.iter()).map(|column| self.number(column.typical(), 2)));
            self.rows.push(row);
        }
        if self.chance.one_in(4) {
            let mut row = vec![self.words.guideline.to_owned(), String::new()];
            row.extend((0..self.columns.len()).map(|column| self.guideline(column)));
            self.rows.push(row);
        }
        "samples-down"
    }

    /// A line over the names: words alone, or the unit of the first columns.
    fn group_heading(&mut self, units: Units) -> Option<Vec<String>> {
        let grouped = units == Units::Group && self.units_told;
        if !grouped && !self.chance.one_in(4) {
            return None;
        }
        let mut row = vec![String::new(); 2 + self.columns.len()];
        let plain = (self.columns.iter()).filter(|c| is_plain_mass(c)).count();
        if grouped && plain > 0 {
            row[2] = "Group one (mg/l)".to_owned();
            if plain < self.columns.len() {
                row[2 + plain] = "Group two".to_owned();
            }
        } else {
            row[2] = "Group one".to_owned();
            let second = 3 + self.chance.below(self.columns.len() - 1);
            row[second] = "Group two".to_owned();
        }
        Some(row)
    }
}

fn is_plain_mass(column: &Column) -> bool {
    matches!(column.unit, "mg/l" | "mg/L")
}
