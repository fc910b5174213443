//! Columns of yes and no that say whether the result beside them lies below a limit ("Non_Detect", "BelowLOQ",
//! "Detected"). Passed over, they would turn limits into results.

use crate::map::plan::ValueRole;
use crate::map::sight::Sight;
use crate::reading::{Word, limit_word, word, yes_or_no};

/// Abbreviations and words for 'below a limit' that stand alone. Common practice, no source.
const BELOW: &[&str] = &[
    "bdl",
    "bld",
    "blod",
    "bloq",
    "blq",
    "bql",
    "cen",
    "cens",
    "censor",
    "censored",
    "nd",
    "nondetect",
    "nondetects",
    "undetected",
];

/// Words for 'below' that speak of results only together with the name of a limit ("below surface" does not).
/// Common practice, no source.
const UNDER: &[&str] = &[
    "below",
    "kleiner",
    "less",
    "lower",
    "lt",
    "under",
    "unter",
    "inferieur",
    "inferior",
    "menor",
    "<",
];

/// What yes means under this heading: `Some(true)` that the result is below a limit, `Some(false)` that it was
/// found; `None` where the heading speaks of neither.
pub(super) fn yes_is_below(heading: &str) -> Option<bool> {
    let words = words(heading);
    let has = |list: &[&str]| words.iter().any(|w| list.contains(&w.as_str()));
    let pair = |first: &[&str], second: &str| {
        words
            .windows(2)
            .any(|w| first.contains(&w[0].as_str()) && w[1].starts_with(second))
    };
    let of_limit = words.iter().any(|w| {
        limit_word(w).is_some() || matches!(w.as_str(), "limit" | "detection" | "quantification")
    });
    if has(BELOW)
        || pair(&["non", "not"], "detect")
        || pair(&["less"], "than")
        || (has(UNDER) && of_limit)
    {
        return Some(true);
    }
    let found = words.iter().any(|w| {
        matches!(
            w.as_str(),
            "detect" | "detects" | "detected" | "detection" | "quantified"
        )
    });
    (found && !words.iter().any(|w| w == "limit" || w == "level")).then_some(false)
}

/// Words of a heading, parted at signs and inside "BelowLOQ".
fn words(heading: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut before = ' ';
    for c in heading.chars() {
        let starts = before.is_lowercase() && c.is_uppercase();
        if starts || !c.is_alphanumeric() {
            words.push(String::new());
        }
        if c == '<' {
            words.push("<".into());
        } else if c.is_alphanumeric()
            && let Some(word) = words.last_mut()
        {
            word.extend(c.to_lowercase());
        }
        before = c;
    }
    words.retain(|word| !word.is_empty());
    words
}

/// The role of a track under such a heading in which nothing but yes and no stands.
pub(in crate::map) fn flag(
    sight: &Sight<'_, '_>,
    track: u32,
    label: &str,
    lines: &[u32],
) -> Option<ValueRole> {
    let yes_is_below = yes_is_below(label)?;
    holds_only(sight, track, lines, |text| yes_or_no(text).is_some())
        .then_some(ValueRole::Flag { yes_is_below })
}

/// Whether a track under such a heading holds the words themselves ("ND", "BDL") and nothing else.
pub(in crate::map) fn holds_words(
    sight: &Sight<'_, '_>,
    track: u32,
    label: &str,
    lines: &[u32],
) -> bool {
    yes_is_below(label).is_some()
        && holds_only(sight, track, lines, |text| {
            matches!(
                word(text),
                Some(Word::NotDetected | Word::BelowLimit(_) | Word::Quantified)
            )
        })
}

/// Whether something stands in a track, and nothing else than what fits.
pub(super) fn holds_only(
    sight: &Sight<'_, '_>,
    track: u32,
    lines: &[u32],
    fits: impl Fn(&str) -> bool,
) -> bool {
    let mut cells = lines
        .iter()
        .map(|line| sight.cell(*line, track))
        .filter(|cell| !cell.is_empty())
        .peekable();
    cells.peek().is_some() && cells.all(|cell| fits(&cell.as_text()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_of_flags() {
        for (heading, below) in [
            ("Non_Detect", true),
            ("resultQualityObservedValueBelowLOQ", true),
            ("BelowDL", true),
            ("is_censored", true),
            ("Less Than Reporting Level", true),
            ("kleiner_BG", true),
            ("< LOD", true),
            ("As_bdl", true),
            ("ND?", true),
            ("Detected", false),
            ("detect_flag", false),
        ] {
            assert_eq!(yes_is_below(heading), Some(below), "{heading}");
        }
    }

    #[test]
    fn err_other_headings_are_no_flags() {
        for heading in [
            "Depth below surface",
            "Detection limit",
            "Lower depth",
            "Validated",
            "Underground",
        ] {
            assert_eq!(yes_is_below(heading), None, "{heading}");
        }
    }
}
