//! One sample a column.

use super::Page;

impl Page<'_> {
    pub(super) fn samples_across(&mut self) -> &'static str {
        self.preamble();
        let limit = self.chance.one_in(2);
        let guideline = self.chance.one_in(2);
        let method = self.chance.one_in(3);
        // Beside each sample: nothing, or the uncertainty of its numbers.
        let uncertainty = self.chance.one_in(4);
        let mean = self.chance.one_in(4);
        let mut lead = vec![self.words.parameter];
        if self.units_told {
            lead.push(self.words.unit);
        }
        if method {
            lead.push(self.words.method);
        }
        if limit {
            lead.push(self.words.limit);
        }
        let mut heading: Vec<String> = lead.iter().map(|&word| word.to_owned()).collect();
        let mut days = vec![self.words.day.to_owned()];
        days.resize(lead.len(), String::new());
        for sample in &self.samples {
            heading.push(sample.name.clone());
            days.push(self.day(sample));
            if uncertainty {
                heading.push(self.words.uncertainty.to_owned());
                days.push(String::new());
            }
        }
        if mean {
            heading.push(self.words.mean.to_owned());
        }
        if guideline {
            heading.push(self.words.guideline.to_owned());
        }
        self.rows.push(heading);
        self.rows.push(days);
        for column in 0..self.columns.len() {
            let mut row = vec![self.columns[column].name.clone()];
            if self.units_told {
                row.push(self.columns[column].unit.to_owned());
            }
            if method {
                row.push(format!("BJ-{}", 11 + column));
            }
            let of_limit = self.limit(column);
            if limit {
                row.push(of_limit.0);
            }
            for sample in 0..self.samples.len() {
                match self.result(sample, column) {
                    None => row.push(String::new()),
                    Some((text, mut truth)) => {
                        if limit {
                            truth.beside_limit(of_limit.1);
                        }
                        self.note(row.len(), truth);
                        row.push(text);
                    }
                }
                if uncertainty {
                    row.push(self.number(self.columns[column].typical() / 20.0, 3));
                }
            }
            if mean {
                row.push(self.number(self.columns[column].typical(), 2));
            }
            if guideline {
                row.push(self.guideline(column));
            }
            self.rows.push(row);
        }
        "samples-across"
    }
}
