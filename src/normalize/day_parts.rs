//! Year, month and day of sampling in columns of their own.

use crate::place::Address;
use crate::read::CellView;
use crate::vocabulary::Field;

/// What a line says of its day in parts: year, month, day.
#[derive(Debug, Default)]
pub(super) struct DayParts {
    texts: [Option<String>; 3],
    /// The cell of the year.
    at: Option<Address>,
}

impl DayParts {
    /// Keeps the cell where its field is a part of a day.
    pub(super) fn take(&mut self, field: Field, cell: CellView<'_>, at: Address) {
        let slot = match field {
            Field::SampledYear => 0,
            Field::SampledMonth => 1,
            Field::SampledDay => 2,
            _ => return,
        };
        let text = cell.as_text().trim().to_owned();
        if text.is_empty() {
            return;
        }
        if slot == 0 {
            self.at = Some(at);
        }
        self.texts[slot] = Some(text);
    }

    /// The parts as one text, with the cell of the year: "2021-03-02", "2 March 2021", and what is no day,
    /// "2021-03", "2021". `None` without a year of four digits.
    pub(super) fn text(&self) -> Option<(String, Address)> {
        let [year, month, day] = self.texts.each_ref().map(Option::as_deref);
        let is_number = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
        let year = year.filter(|year| year.len() == 4 && is_number(year))?;
        let text = match (month, day) {
            (None, _) => year.to_owned(),
            (Some(month), None) if is_number(month) => format!("{year}-{month:0>2}"),
            (Some(month), Some(day)) if is_number(month) => format!("{year}-{month:0>2}-{day:0>2}"),
            (Some(month), None) => format!("{month} {year}"),
            (Some(month), Some(day)) => format!("{day} {month} {year}"),
        };
        Some((text, self.at?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(parts: [&str; 3]) -> Option<String> {
        let mut taken = DayParts::default();
        let fields = [Field::SampledYear, Field::SampledMonth, Field::SampledDay];
        for (field, part) in fields.into_iter().zip(parts) {
            taken.take(field, CellView::Text(part), Address::new(0, 0));
        }
        taken.text().map(|(text, _)| text)
    }

    #[test]
    fn parts_make_a_day() {
        for (parts, day) in [
            (["2021", "3", "2"], "2021-03-02"),
            (["2021", "03", ""], "2021-03"),
            (["2021", "", ""], "2021"),
            (["2021", "March", "2"], "2 March 2021"),
            (["2021", "March", ""], "March 2021"),
        ] {
            assert_eq!(text(parts).as_deref(), Some(day), "{parts:?}");
        }
    }

    #[test]
    fn err_without_a_year_there_is_no_day() {
        for parts in [["", "3", "2"], ["21", "3", "2"], ["24 °C", "3", "2"]] {
            assert_eq!(text(parts), None, "{parts:?}");
        }
    }
}
