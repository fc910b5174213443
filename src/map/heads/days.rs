//! Rules of a mapping that hold from or to a day, held against the days of a table's samples.

use crate::map::plan::DateOrder;
use crate::map::rules::LabelRule;
use crate::map::sight::Sight;
use crate::read::CellView;
use crate::reading::read_date;
use jiff::civil::Date;

/// The days on which a table's samples were taken; `None` for a line that does not say.
#[derive(Clone, Debug, Default)]
pub(in crate::map) struct Days(Vec<Option<Date>>);

/// Whether a rule with dates speaks of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::map) enum Timing {
    Holds,
    /// All samples lie outside.
    Outside,
    /// Some lie within and some without, or some have no day.
    Straddled,
}

impl Days {
    pub(in crate::map) fn of(
        sight: &Sight<'_, '_>,
        lines: &[u32],
        track: Option<u32>,
        order: DateOrder,
    ) -> Self {
        let day = |line: u32| match sight.cell(line, track?) {
            CellView::Date(_, date) => date.map(|d| d.date()),
            // A text that is no date gives no day, which `timing` takes for what it is.
            CellView::Text(text) => read_date(text, order).ok().map(|reading| reading.date),
            _ => None,
        };
        Self(lines.iter().map(|line| day(*line)).collect())
    }

    pub(in crate::map) fn timing(&self, rule: &LabelRule) -> Timing {
        if rule.from.is_none() && rule.to.is_none() {
            return Timing::Holds;
        }
        let within = |day: Date| {
            rule.from.is_none_or(|from| day >= from) && rule.to.is_none_or(|to| day <= to)
        };
        let inside = self.0.iter().filter(|day| day.is_some_and(within)).count();
        let unknown = self.0.iter().filter(|day| day.is_none()).count();
        match (inside, unknown) {
            (n, 0) if n > 0 && n == self.0.len() => Timing::Holds,
            (0, 0) => Timing::Outside,
            _ => Timing::Straddled,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::locate::Wording;
    use jiff::civil::date;

    fn rule(from: Option<Date>, to: Option<Date>) -> LabelRule {
        LabelRule {
            label: Wording::Text("NO3".into()),
            at: None,
            sheet: None,
            meaning: None,
            unit: None,
            basis: None,
            fraction: None,
            reference_temperature: None,
            from,
            to,
            reason: None,
            overrides: false,
        }
    }

    #[test]
    fn a_rule_with_dates_holds_for_all_samples_or_for_none() {
        let (early, late) = (date(2024, 5, 1), date(2026, 5, 1));
        let new_year = date(2025, 1, 1);
        for (days, from, to, expected) in [
            (vec![Some(early), Some(late)], None, None, Timing::Holds),
            (
                vec![Some(late), Some(late)],
                Some(new_year),
                None,
                Timing::Holds,
            ),
            (
                vec![Some(early), Some(early)],
                Some(new_year),
                None,
                Timing::Outside,
            ),
            (vec![Some(new_year)], None, Some(new_year), Timing::Holds),
            (
                vec![Some(early), Some(late)],
                Some(new_year),
                None,
                Timing::Straddled,
            ),
            (
                vec![None, Some(late)],
                Some(new_year),
                None,
                Timing::Straddled,
            ),
            (vec![None], Some(new_year), None, Timing::Straddled),
        ] {
            assert_eq!(
                Days(days.clone()).timing(&rule(from, to)),
                expected,
                "{days:?} {from:?} {to:?}"
            );
        }
    }
}
