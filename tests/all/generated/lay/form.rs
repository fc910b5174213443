//! One sample a page: label, value and unit in each line.

use super::Page;

/// How a line of a form is written.
#[derive(Clone, Copy)]
enum Line {
    /// Three cells.
    Apart,
    /// The unit behind the value.
    UnitWithValue,
    /// The unit behind the name.
    UnitWithName,
    /// One cell: "Calcium: 118 mg/l".
    OneCell,
    /// One cell with dotted leaders.
    Dotted,
}

impl Page<'_> {
    pub(super) fn forms(&mut self, is_text: bool) -> &'static str {
        use Line::*;
        self.samples.truncate(3);
        let line = match (self.chance.below(5), is_text) {
            (0, _) => Apart,
            (1, _) => UnitWithValue,
            (2, _) => UnitWithName,
            // As text it would be a printed page, whose cells are told by blanks.
            (3, false) => Dotted,
            _ => OneCell,
        };
        // Pages under each other on one sheet, or a sheet each.
        let stacked = is_text || self.chance.one_in(3);
        let guideline = self.chance.one_in(3);
        let (named, dated) = (!self.chance.one_in(4), !self.chance.one_in(4));
        for sample in 0..self.samples.len() {
            if sample > 0 && stacked {
                self.rows.push(Vec::new());
            } else if sample > 0 {
                self.turn_page();
            }
            self.preamble();
            let (name, day) = (
                self.samples[sample].name.clone(),
                self.day(&self.samples[sample]),
            );
            for (label, text) in [
                (self.words.sample, named.then_some(name)),
                (self.words.day, dated.then_some(day)),
            ] {
                if let Some(text) = text {
                    self.rows.push(vec![format!("{label}:"), text]);
                }
            }
            self.rows.push(Vec::new());
            for column in 0..self.columns.len() {
                let Some((text, truth)) = self.result(sample, column) else {
                    continue;
                };
                let unit = if self.units_told {
                    self.columns[column].unit
                } else {
                    ""
                };
                let name = self.columns[column].name.clone();
                let row = match line {
                    Apart => vec![name, text, unit.to_owned()],
                    UnitWithValue => vec![name, format!("{text} {unit}").trim_end().to_owned()],
                    UnitWithName if unit.is_empty() => vec![name, text],
                    UnitWithName => vec![format!("{name} ({unit})"), text],
                    OneCell => vec![format!("{name}: {text} {unit}").trim_end().to_owned()],
                    Dotted => vec![
                        format!("{name} ........ {text} {unit}")
                            .trim_end()
                            .to_owned(),
                    ],
                };
                let place = usize::from(row.len() > 1);
                self.note(place, truth);
                self.rows.push(row);
                if guideline && place > 0 {
                    let limit = self.guideline(column);
                    self.rows.last_mut().unwrap().push(limit);
                }
            }
        }
        "form"
    }
}
