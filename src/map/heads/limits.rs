//! Limits that stand over a track or in a line of limits.

use crate::locate::unit_after_number;
use crate::map::expressed::units::is_scaled;
use crate::map::plan::{AnalyteTrack, Decimal, Limit};
use crate::place::Address;
use crate::reading::read_number;
use crate::vocabulary::{Basis, Unit, Vocabulary};
use std::sync::Arc;

/// A limit in the unit of its track. A limit in a unit of its own is converted, one whose unit does not
/// fit is no limit. The sign is dropped: some laboratory systems write limits as negative numbers.
pub(super) fn limit_of(
    vocabulary: &Vocabulary,
    track: &AnalyteTrack,
    text: &str,
    at: Address,
    decimal: Decimal,
) -> Option<Limit> {
    let unit_text = unit_after_number(text);
    let number_text = match unit_text {
        Some(unit) => text.trim().strip_suffix(unit)?,
        None => text,
    };
    let bare = number_text
        .trim()
        .trim_start_matches(['*', '<', '≤', '-', '−', ' ']);
    // No number: no limit.
    let number = read_number(bare.trim_end_matches(['*', ' ']), decimal)
        .ok()?
        .abs();
    if number == 0.0 || !number.is_finite() {
        return None;
    }
    let number = match unit_text.and_then(|text| vocabulary.read_unit(text)) {
        None => number,
        Some((unit, basis)) => {
            let own = vocabulary
                .convert(
                    track.analyte,
                    &unit,
                    basis.as_ref().or(track.basis.as_ref()),
                    None,
                )
                .ok()?;
            number * own.plain_factor()? / track.conversion.plain_factor()?
        }
    };
    Some(Limit { number, at })
}

/// The unit in the name of a line of limits ("DET. LIMIT MG/L", "LOD (µg/l)").
pub(in crate::map) fn unit_in(
    vocabulary: &Vocabulary,
    text: &str,
) -> Option<(Unit, Option<Basis>, Arc<str>)> {
    let starts = text.char_indices().filter(|(i, c)| {
        *i > 0 && !c.is_whitespace() && text[..*i].ends_with([' ', '(', '[', ','])
    });
    starts
        .filter(|(i, _)| !is_scaled(&text[..*i], ""))
        .map(|(i, _)| text[i..].trim_end_matches([')', ']', ' ', ':']))
        .find_map(|piece| {
            vocabulary
                .read_unit(piece)
                .map(|(unit, basis)| (unit, basis, Arc::from(piece)))
        })
}
