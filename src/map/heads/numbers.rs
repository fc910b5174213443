//! What stands under the heads of a table says of its tracks: limits, negative numbers, a unit refuted, an
//! unknown head over numbers.

use super::columns::{is_nines, median};
use super::head::Head;
use super::limits::{limit_of, unit_in};
use super::resolve::Context;
use crate::finding::Finding;
use crate::locate::{Look, unit_after_number};
use crate::map::expressed::sums::{PRINTED_SUM, summed};
use crate::map::findings::{ANALYTE_UNKNOWN, UNIT_ASSUMED, finding};
use crate::map::layouts::table::{Table, Told};
use crate::map::left_out::lines::{HEADING_UNKNOWN, Lines};
use crate::map::plan::{AnalyteTrack, Decimal, TrackRole};
use crate::read::CellView;
use crate::vocabulary::{Field, in_words};

impl Table<'_, '_> {
    /// Limits over the track and in limit lines. Of several of one kind the first stands.
    pub(in crate::map) fn limits(
        &self,
        context: &Context<'_>,
        at: u32,
        head: &Head,
        lines: &Lines,
        decimal: Decimal,
        track: &mut AnalyteTrack,
    ) {
        let own = head
            .limits
            .iter()
            .map(|l| (l.kind, l.text.to_string(), l.is_number, l.at));
        let in_lines = lines.limits.iter().map(|(line, kind, label)| {
            let cell = self.sight.cell(*line, at);
            let text = cell.as_text();
            // "LOQ (µg/L)" before numbers without a unit of their own.
            let unit =
                unit_in(context.vocabulary, label).filter(|_| unit_after_number(&text).is_none());
            let text = match unit.filter(|_| !text.trim().is_empty()) {
                Some((.., unit)) => format!("{text} {unit}"),
                None => text.into_owned(),
            };
            (
                Some(*kind),
                text,
                matches!(cell, CellView::Number(..)),
                self.sight.address(*line, at),
            )
        });
        for (kind, text, is_number, place) in own.chain(in_lines) {
            let decimal = if is_number { Decimal::Point } else { decimal };
            let Some(limit) = limit_of(context.vocabulary, track, &text, place, decimal) else {
                continue;
            };
            let slot = if kind == Some(Field::QuantificationLimit) {
                &mut track.quantification_limit
            } else {
                &mut track.limit
            };
            slot.get_or_insert(limit);
        }
    }

    pub(in crate::map) fn count_negatives(
        &self,
        context: &Context<'_>,
        at: u32,
        track: &AnalyteTrack,
        column: &[(u32, f64)],
        told: &mut Told,
    ) {
        let analyte = context.vocabulary.analyte(track.analyte);
        // Below zero is nothing special for a potential, a temperature or a balance.
        if analyte.hard_range.is_none_or(|(low, _)| low < 0.0) {
            return;
        }
        let limit = track.limit.or(track.quantification_limit).map(|l| l.number);
        let mut hits = 0;
        for (line, n) in column.iter().filter(|(_, n)| *n < 0.0 && *n > -90.0) {
            told.negatives += 1;
            told.first_negative
                .get_or_insert(self.sight.address(*line, at));
            if limit.is_some_and(|l| (n.abs() - l).abs() <= 1e-9 * l) {
                hits += 1;
            }
        }
        told.negatives_at_limit += hits;
        told.tracks_at_limit += usize::from(hits > 0);
    }

    /// A range may question a unit, never choose it alone: where most numbers are beyond anything possible in
    /// the assumed unit, the assumption is refuted and nothing is placed.
    pub(in crate::map) fn refutes_unit(
        &self,
        context: &Context<'_>,
        head: &Head,
        track: &AnalyteTrack,
        column: &[(u32, f64)],
        findings: &mut Vec<Finding>,
    ) -> bool {
        if track.assumption != Some(UNIT_ASSUMED) {
            return false;
        }
        let analyte = context.vocabulary.analyte(track.analyte);
        let middle = median(
            column
                .iter()
                .filter(|(_, n)| !is_nines(*n))
                .map(|(_, n)| track.conversion.apply(*n))
                .collect(),
        );
        let (Some(middle), Some((_, high)), Some(at)) = (middle, analyte.hard_range, head.at)
        else {
            return false;
        };
        let refuted = middle > high;
        if refuted {
            findings.push(
                finding(
                    "unit-unlikely",
                    context.place(at),
                    format!(
                        "'{}' in the assumed unit has a middle value of {middle} {}, more than possible: not placed",
                        track.label_text,
                        in_words(&analyte.unit)
                    ),
                    "state the unit in a mapping; a thousandth of the assumed one is common".into(),
                )
                .of_analyte(analyte.code.clone()),
            );
        }
        refuted
    }

    /// A head that is none of our words: a finding when numbers stand below, since they may be results.
    pub(in crate::map) fn unknown(
        &self,
        context: &Context<'_>,
        at: u32,
        head: &Head,
        lines: &Lines,
        findings: &mut Vec<Finding>,
    ) -> TrackRole {
        let cells = lines
            .samples
            .iter()
            .filter(|line| !self.sight.cell(**line, at).is_empty())
            .count();
        let numeric = lines
            .samples
            .iter()
            .filter(|line| self.sight.look(**line, at) == Look::Number)
            .count();
        let Some(label) = &head.label else {
            return TrackRole::Unplaced("no-heading".into());
        };
        if numeric == 0 || numeric * 2 < cells {
            return TrackRole::Unplaced(HEADING_UNKNOWN.into());
        }
        if summed(label).is_some() {
            return TrackRole::SetAside(PRINTED_SUM.into());
        }
        if let Some(place) = head.at {
            let help = context.vocabulary.nearest(label).map_or_else(
                || "name the analyte, or set the column aside, in a mapping".to_owned(),
                |near| {
                    format!(
                        "the nearest known label is '{near}'; if that is meant, say so in a mapping"
                    )
                },
            );
            findings.push(
                finding(
                    ANALYTE_UNKNOWN,
                    context.place(place),
                    format!("no analyte is called '{label}'"),
                    help,
                )
                .for_cells(cells as u64),
            );
        }
        TrackRole::Unplaced(ANALYTE_UNKNOWN.into())
    }
}
