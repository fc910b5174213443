//! Labels that make a track the companion of another ("Fe_q", "LOD Fe"), and letters that only seem to.

use super::head::Head;
use super::resolve::Context;
use super::tracks::Draft;
use crate::finding::Finding;
use crate::locate::Look;
use crate::map::findings::finding;
use crate::map::left_out::lines::limit_kind;
use crate::map::plan::{TrackRole, ValueRole};
use crate::map::sight::Sight;
use crate::reading::sign;
use crate::vocabulary::Field;

/// Words that, beside an analyte's own label, make a companion of it ("Fe_q", "LOD Fe", "Fe (unc.)").
/// Common practice, no source.
const COMPANION_WORDS: &[(&str, ValueRole)] = &[
    ("q", ValueRole::Qualifier),
    ("qual", ValueRole::Qualifier),
    ("qualifier", ValueRole::Qualifier),
    ("flag", ValueRole::Qualifier),
    ("flags", ValueRole::Qualifier),
    ("sign", ValueRole::Qualifier),
    ("remark", ValueRole::Qualifier),
    ("rmk", ValueRole::Qualifier),
    ("lt", ValueRole::Qualifier),
    ("nd", ValueRole::Qualifier),
    ("bdl", ValueRole::Qualifier),
    ("bql", ValueRole::Qualifier),
    ("cens", ValueRole::Qualifier),
    ("censored", ValueRole::Qualifier),
    ("nondetect", ValueRole::Qualifier),
    ("detect", ValueRole::Qualifier),
    ("detected", ValueRole::Qualifier),
    ("lod", ValueRole::DetectionLimit),
    ("mdl", ValueRole::DetectionLimit),
    ("dl", ValueRole::DetectionLimit),
    ("loq", ValueRole::QuantificationLimit),
    ("pql", ValueRole::QuantificationLimit),
    ("mrl", ValueRole::QuantificationLimit),
    ("ql", ValueRole::QuantificationLimit),
    ("unc", ValueRole::Uncertainty),
    ("uncertainty", ValueRole::Uncertainty),
    ("sd", ValueRole::Uncertainty),
    ("err", ValueRole::Uncertainty),
    ("error", ValueRole::Uncertainty),
    ("±", ValueRole::Uncertainty),
    ("unit", ValueRole::Unit),
    ("units", ValueRole::Unit),
    ("method", ValueRole::Method),
];

/// Reason of cells that qualify or limit a result, and nothing tells which.
pub(in crate::map) const COMPANION_OF_WHAT: &str = "companion-of-what";

/// The analyte's label and the companion word of "Fe_q".
pub(super) fn companion_label(label: &str) -> Option<(String, ValueRole)> {
    let parts: Vec<&str> = label
        .split(|c: char| {
            c.is_whitespace() || matches!(c, '_' | '.' | '-' | '(' | ')' | '[' | ']' | ',' | ':')
        })
        .filter(|p| !p.is_empty())
        .collect();
    let role = |word: &str| {
        let folded = word.to_lowercase();
        COMPANION_WORDS
            .iter()
            .find(|(w, _)| *w == folded)
            .map(|(_, r)| *r)
    };
    let (first, last) = (*parts.first()?, *parts.last()?);
    if parts.len() < 2 {
        return None;
    }
    if let Some(role) = role(last) {
        let end = label.rfind(last)?;
        return Some((trim(&label[..end]).to_owned(), role));
    }
    let role = role(first)?;
    Some((
        trim(&label[label.find(first)? + first.len()..]).to_owned(),
        role,
    ))
}

fn trim(label: &str) -> &str {
    label.trim_matches(|c: char| {
        c.is_whitespace() || matches!(c, '_' | '.' | '-' | '(' | ')' | '[' | ']' | ',' | ':')
    })
}

/// A single letter over plain numbers is a quantity of its own ("Q", a discharge; "L", a length), not a
/// column of signs: a sign or a code is no number with decimals.
pub(super) fn letters_over_numbers(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    drafts: &mut [Draft],
    lines: &[u32],
) {
    for ((track, head), draft) in heads.iter().zip(drafts) {
        let letter = head
            .label
            .as_deref()
            .is_some_and(|l| l.trim().chars().count() == 1);
        if !letter || !matches!(draft, Draft::Role(TrackRole::Field(Field::Qualifier))) {
            continue;
        }
        let cells = || lines.iter().map(|line| sight.cell(*line, *track));
        let numbers = cells()
            .filter(|cell| sight.reader.look(*cell) == Look::Number)
            .count();
        let broken = cells().any(|cell| cell.as_text().contains(['.', ',']));
        if numbers > 0
            && broken
            && cells().all(|c| c.is_empty() || sight.reader.look(c) == Look::Number)
        {
            *draft = Draft::Unknown;
        }
    }
}

/// Tells where the signs of a column could not be given to an analyte: whatever number they stand beside is a
/// limit, and is read as a result.
pub(in crate::map) fn tell_unowned_signs(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    heads: &[(u32, Head)],
    drafts: &[Draft],
    lines: &[u32],
    findings: &mut Vec<Finding>,
) {
    for ((track, head), draft) in heads.iter().zip(drafts) {
        let unowned = match draft {
            Draft::Unknown => true,
            Draft::Role(TrackRole::Unplaced(why)) => &**why == COMPANION_OF_WHAT,
            Draft::Role(TrackRole::Field(Field::Remark | Field::Other)) => true,
            _ => false,
        };
        if !unowned {
            continue;
        }
        let is_sign = |line: &&u32| {
            let text = sight.cell(**line, *track).as_text();
            sign(text.trim()).is_some()
                || limit_kind(sight.reader, &text).is_some()
                || text.contains('<')
        };
        let Some(first) = lines.iter().find(is_sign) else {
            continue;
        };
        // "7,2", "<0,02", "0,05" under a name of its own: an analyte that nobody knows.
        if matches!(draft, Draft::Unknown)
            && head.label.is_some()
            && holds_results(sight, *track, lines)
        {
            continue;
        }
        let label = head.label.as_deref().unwrap_or("a blank heading");
        findings.push(
            finding(
                "sign-of-which",
                context.place(sight.address(*first, *track)),
                format!(
                    "a sign under '{label}', and nothing tells whose: a number of this line is a limit"
                ),
                "write each sign into the cell of its number, or set the column aside in a mapping".into(),
            )
            .for_cells(lines.iter().filter(is_sign).count() as u64),
        );
    }
}

/// Whether most of what stands in a track is numbers, and some of them without a sign.
fn holds_results(sight: &Sight<'_, '_>, track: u32, lines: &[u32]) -> bool {
    let cells = || {
        (lines.iter())
            .map(|line| sight.cell(*line, track))
            .filter(|cell| !cell.is_empty())
    };
    let numbers = || cells().filter(|cell| sight.reader.look(*cell) == Look::Number);
    numbers().count() * 2 > cells().count()
        && numbers().any(|cell| !cell.as_text().contains(['<', '≤', '>', '≥']))
}
