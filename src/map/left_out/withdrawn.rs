//! Words by which a laboratory takes a result back, beside the result.

use crate::finding::Finding;
use crate::map::findings::finding;
use crate::map::heads::marks::tells_apart;
use crate::map::plan::{LineRole, Plan, TrackRole};
use crate::place::{Address, Place};
use crate::read::{CellView, Report};
use crate::text::fold;
use crate::vocabulary::Field;
use std::borrow::Cow;

/// Reason of lines of which the report itself says that they do not hold.
pub(in crate::map) const WITHDRAWN: &str = "withdrawn";

/// What is said of such a result: the whole text, or its beginning before a sign or one of [`BEHIND`]. Folded.
/// "Fail" is of a limit, "suspect" and "outlier" leave the result standing with a doubt that is the same for
/// whoever reads on: no number. Common practice, no source.
const WORDS: &[&str] = &[
    "annulled",
    "annullato",
    "annulliert",
    "annule",
    "anulado",
    "anulada",
    "cancelled",
    "canceled",
    "cancelado",
    "cancelada",
    "discarded",
    "do not use",
    "failed qc",
    "ersetzt",
    "invalid",
    "invalid result",
    "invalide",
    "invalidated",
    "invalido",
    "invalida",
    "niewazne",
    "niewazny",
    "not valid",
    "initial result",
    "initial results",
    "original result",
    "original results",
    "uncorrected result",
    "uncorrected results",
    "ongeldig",
    "outlier",
    "qc fail",
    "qc failed",
    "qc failure",
    "qc rejected",
    "rechazado",
    "rechazada",
    "rejected",
    "rejete",
    "remplace",
    "replaced",
    "respinto",
    "retracted",
    "storniert",
    "superseded",
    "suspect",
    "uniewazniony",
    "unusable",
    "ungultig",
    "verworfen",
    "vervallen",
    "vervangen",
    "void",
    "voided",
    "withdrawn",
    "zuruckgezogen",
    "отменено",
    "недействительно",
    "无效",
    "無効",
];

/// Nearly all texts begin otherwise.
const INITIALS: &str = "acdefinoqrsuvwz";

/// Words that go on from there: "Superseded by report 2". A name goes on with others ("Void Creek").
const BEHIND: &[&str] = &["by", "see", "durch", "door", "par", "por", "because", "due"];

/// Whether a text beside results takes them back.
pub(in crate::map) fn is_withdrawn(text: &str) -> bool {
    let initial = text.chars().find(|c| c.is_alphanumeric());
    if initial.is_none_or(|c| c.is_ascii() && !INITIALS.contains(c.to_ascii_lowercase())) {
        return false;
    }
    let folded = fold(text);
    let text = folded.trim_matches(|c: char| !c.is_alphanumeric());
    WORDS.iter().any(|word| {
        text.strip_prefix(word).is_some_and(|rest| {
            let signed = rest.trim_start();
            let next = signed.split(' ').next().unwrap_or_default();
            rest.is_empty()
                || signed.starts_with([':', ',', ';', '.', '(', '-', '–', '—', '/', '!'])
                    && !rest.starts_with('-')
                || rest.starts_with(' ') && BEHIND.contains(&next)
        })
    })
}

/// "Yes" under "Superseded" or "Deleted".
pub(in crate::map) fn yes_takes_back<'h>(
    mut headings: impl Iterator<Item = Cow<'h, str>>,
    cell: CellView<'_>,
) -> bool {
    const YES: &[&str] = &[
        "1", "ja", "oui", "si", "sim", "tak", "true", "wahr", "x", "y", "yes",
    ];
    let is_yes = match cell {
        CellView::Text(text) => text.len() < 6 && YES.contains(&fold(text).trim()),
        CellView::Empty => false,
        other => YES.contains(&&*other.as_text().to_lowercase()),
    };
    is_yes
        && headings.any(|heading| {
            let folded = fold(&heading);
            let bare = folded.strip_prefix("is ").unwrap_or(&folded);
            is_withdrawn(bare) || matches!(bare, "deleted" | "geloscht" | "supprime" | "verwijderd")
        })
}

/// The same of a cell of a list, where it is no name.
pub(in crate::map) fn takes_back(role: &TrackRole, text: &str) -> Option<&'static str> {
    let can_say = match role {
        TrackRole::Field(field) => {
            !tells_apart(*field) && !matches!(field, Field::Label | Field::Value | Field::Unit)
        }
        TrackRole::Unplaced(_) | TrackRole::SetAside(_) | TrackRole::Companion { .. } => true,
        _ => false,
    };
    (can_say && is_withdrawn(text)).then_some(WITHDRAWN)
}

/// Refuses what stands below a title or letterhead that takes the whole sheet back: "Certificate 12 - SUPERSEDED by
/// 12-1", "Status: void".
pub(in crate::map) fn whole_sheets(plan: &mut Plan, report: &Report, findings: &mut Vec<Finding>) {
    for (sheet, of) in plan.sheets.iter_mut().zip(&report.sheets) {
        let heads = sheet.blocks.iter().flat_map(|block| &block.headings);
        let Some(top) = heads.map(|at| at.row).min() else {
            continue;
        };
        let says_so = |text: &str| {
            text.split([':', '–', '—', '(', '*'])
                .chain(text.split(" - "))
                .any(is_withdrawn)
        };
        let mut above = of.grid.cells().take_while(|(at, _)| at.row < top);
        let Some((at, _)) = above.find(|(_, cell)| says_so(&cell.as_text())) else {
            continue;
        };
        let cells = sheet
            .blocks
            .iter_mut()
            .map(|b| b.place_nothing(WITHDRAWN))
            .sum();
        findings.push(
            finding(
                WITHDRAWN,
                Place::cell(&report.file, &of.name, at),
                "the report says that it is void, rejected or superseded: nothing of it is placed"
                    .into(),
                "take this out of the report if its results hold".into(),
            )
            .for_cells(cells),
        );
    }
}

/// Tells once a table that such lines are not placed.
pub(in crate::map) fn tell(plan: &Plan, report: &Report, findings: &mut Vec<Finding>) {
    for (sheet, of) in plan.sheets.iter().zip(&report.sheets) {
        for block in &sheet.blocks {
            let is_so =
                |role: &LineRole| matches!(role, LineRole::Unplaced(why) if **why == *WITHDRAWN);
            let mut lines = block.not_samples.iter().filter(|(_, role)| is_so(role));
            let Some((first, _)) = lines.next() else {
                continue;
            };
            let track = block.tracks.first().map_or(0, |track| track.at);
            let at = if block.across {
                Address::new(track, *first)
            } else {
                Address::new(*first, track)
            };
            findings.push(
                finding(
                    WITHDRAWN,
                    Place::cell(&report.file, &of.name, at),
                    "the report says that what stands here is void, rejected or superseded: not placed"
                        .into(),
                    "take the remark out of the report if the results hold".into(),
                )
                .for_cells(1 + lines.count() as u64),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_begin_with_the_initials() {
        let mut initials = WORDS.iter().filter_map(|word| word.chars().next());
        assert!(initials.all(|c| !c.is_ascii() || INITIALS.contains(c)));
    }

    #[test]
    fn results_taken_back() {
        for text in [
            "Rejected",
            "VOID",
            "Superseded by report 2",
            "VOID - bottle broken",
            "QC failed",
            "(invalid)",
            "Ungültig",
            "Annulé",
            "rejected: hold time",
            "Do not use",
        ] {
            assert!(is_withdrawn(text), "{text}");
        }
        for text in [
            "Void Creek",
            "Fail",
            "Valid",
            "Reject water",
            "Rejected Hill",
            "Invalid-Straße",
            "Final",
            "",
            "replaced filter",
        ] {
            assert!(!is_withdrawn(text), "{text}");
        }
    }
}
