//! One result a row.

use super::Page;

impl Page<'_> {
    pub(super) fn results_down(&mut self) -> &'static str {
        self.preamble();
        self.units_told = true;
        let signs = self.chance.one_in(3);
        let limit = self.chance.one_in(3);
        let words = self.words;
        // What each column is called, and whether this report has it.
        let columns = [
            (words.sample, true),
            (words.day, true),
            (words.parameter, true),
            (words.value, true),
            (words.unit, true),
            (words.qualifier, signs),
            (words.limit, limit),
            (words.guideline, self.chance.one_in(3)),
            (words.uncertainty, self.chance.one_in(3)),
            (words.method, self.chance.one_in(3)),
        ];
        let mut order: Vec<usize> = (0..columns.len()).filter(|i| columns[*i].1).collect();
        self.chance.shuffle(&mut order);
        let place = order.iter().position(|i| *i == 3).unwrap();
        self.rows
            .push(order.iter().map(|i| columns[*i].0.to_owned()).collect());
        for sample in 0..self.samples.len() {
            for column in 0..self.columns.len() {
                let Some((mut text, mut truth)) = self.result(sample, column) else {
                    continue;
                };
                let of_limit = self.limit(column);
                if limit {
                    truth.beside_limit(of_limit.1);
                }
                let mut sign = String::new();
                if signs && let Some(bare) = text.strip_prefix(['<', '>']) {
                    (sign, text) = (text[..1].to_owned(), bare.trim().to_owned());
                }
                let cells = [
                    self.samples[sample].name.clone(),
                    self.day(&self.samples[sample]),
                    self.columns[column].name.clone(),
                    text,
                    self.columns[column].unit.to_owned(),
                    sign,
                    of_limit.0,
                    self.guideline(column),
                    self.number(self.columns[column].typical() / 20.0, 3),
                    format!("BJ-{}", 11 + column),
                ];
                self.note(place, truth);
                self.rows
                    .push(order.iter().map(|i| cells[*i].clone()).collect());
            }
        }
        "results-down"
    }
}
