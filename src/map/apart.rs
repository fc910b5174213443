//! Lines of one name and day that a time, a depth or another column tells apart.

use super::findings::finding;
use super::head::Head;
use super::plan::TrackRole;
use super::resolve::Context;
use super::sight::Sight;
use super::tracks::Draft;
use crate::finding::{Finding, Severity};
use crate::locate::{Look, is_day, unit_after_number};
use crate::read::CellView;
use crate::reading::is_ditto;
use crate::text::fold;
use crate::vocabulary::{Field, Meaning};
use regex::Regex;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

pub(super) const NAMES_TOLD_APART: &str = "names-told-apart";

/// Times of day, weeks and depths over columns, in the languages of the vocabulary.
static WITHIN_A_DAY: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(
        r"(?ix) \b (?: time | hours? | uhrzeit | zeit | tijd | tijdstip | heure | hora | ora | tid | tidspunkt | klokkeslett | klockslag | kello
        | czas | godzina | čas | hodina | óra | időpont | saat | время | час | week | woche | kw | semaine | semana | settimana | uke | uge | vecka | viikko
        | tydzień | týden | hét | hafta | неделя | depth | tiefe | entnahmetiefe | diepte | profondeur | profundidad | profondità | profundidade
        | dybde | djup | provdjup | syvyys | głębokość | hloubka | hĺbka | mélység | adâncime | derinlik | глубина | 深度 | 水深 | 时间 | 時間 ) \b",
    )
    .expect("a valid pattern")
});

/// Of the laboratory's own times, and of the well instead of the sample.
static OF_OTHERS: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"(?i)anal|\blab|receiv|arriv|eingang|réception|hold|travel|retention|residence|to water|water level|well depth")
        .expect("a valid pattern")
});

/// Lines that all their names would make one sample, and that differ in a time, a depth or a column of texts with a
/// heading nobody knows: what stands there is made part of the sample's reference.
pub(super) fn tell_apart(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    heads: &[(u32, Head)],
    drafts: &mut [Draft],
    lines: &[u32],
    findings: &mut Vec<Finding>,
) {
    let twins = twins(sight, heads, drafts, lines);
    if twins.is_empty() {
        return;
    }
    let text = |line: u32, track: u32| fold(&sight.cell(line, track).as_text());
    let parts = |track: u32| {
        twins.iter().any(|twins| {
            let texts: BTreeSet<String> = twins.iter().map(|line| text(*line, track)).collect();
            texts.iter().filter(|text| !text.is_empty()).count() > 1
        })
    };
    let parts_all = |track: u32| {
        twins.iter().all(|twins| {
            let texts: BTreeSet<String> = twins.iter().map(|line| text(*line, track)).collect();
            texts.len() == twins.len() && texts.iter().all(|text| !text.is_empty())
        })
    };
    // Days are told elsewhere.
    let is_word = |line: u32, track: u32| {
        let text = sight.cell(line, track).as_text();
        let first = text.split_whitespace().next().unwrap_or_default();
        sight.look(line, track) == Look::Words && !is_day(CellView::Text(first))
    };
    let are_words = |track: u32| (twins.iter().flatten()).all(|line| is_word(*line, track));
    let are_lengths = |track: u32| {
        (twins.iter().flatten()).all(|line| match sight.cell(*line, track) {
            CellView::Text(text) => matches!(unit_after_number(text), Some("m" | "cm" | "ft")),
            _ => false,
        })
    };
    let is_open = |draft: &Draft| {
        matches!(
            draft,
            Draft::Unknown | Draft::Role(TrackRole::Field(Field::Other))
        )
    };
    let label = |head: &Head| head.label.clone().unwrap_or_default();
    let open = || (0..heads.len()).filter(|i| is_open(&drafts[*i]) && parts(heads[*i].0));
    let is_within = |i: &usize| {
        let (track, head) = &heads[*i];
        let label = label(head);
        (WITHIN_A_DAY.is_match(&label) && !OF_OTHERS.is_match(&label)) || are_lengths(*track)
    };
    let mut telling: Vec<usize> = open().filter(is_within).collect();
    let by_words = telling.is_empty();
    if by_words {
        let is_column = |i: &usize| {
            let (track, head) = &heads[*i];
            // A second column of one kind ("Municipality", "Parish") is known and not kept otherwise.
            let is_second = matches!(&head.meaning, Meaning::Field(field) if field.is_identity());
            (matches!(drafts[*i], Draft::Unknown) || is_second)
                && head.label.is_some()
                && parts_all(*track)
                && are_words(*track)
        };
        telling.extend(open().find(is_column));
    }
    for i in telling {
        let (track, head) = &heads[i];
        drafts[i] = Draft::Role(TrackRole::Field(Field::SampleRef));
        let first = twins.iter().flatten().min().copied();
        let at = first.map_or(sight.first_line, |line| line);
        let mut told = finding(
            NAMES_TOLD_APART,
            context.place(sight.address(at, *track)),
            format!(
                "lines of one name and day differ in '{}': it is taken as part of the sample's reference",
                label(head)
            ),
            "if they are one sample, say so by one name in the report".into(),
        )
        .for_cells(twins.iter().flatten().count() as u64);
        if !by_words {
            told.severity = Severity::Note;
        }
        findings.push(told);
    }
}

/// Lines whose names and days are all the same; none where nothing names them.
fn twins(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    drafts: &[Draft],
    lines: &[u32],
) -> Vec<Vec<u32>> {
    let names: Vec<u32> = (heads.iter().zip(drafts))
        .filter(|(_, draft)| {
            matches!(draft, Draft::Role(TrackRole::Field(field)) if field.is_identity())
        })
        .map(|((track, _), _)| *track)
        .collect();
    let mut said: Vec<String> = vec![String::new(); names.len()];
    let mut of_name: BTreeMap<Vec<String>, Vec<u32>> = BTreeMap::new();
    for line in lines {
        for (said, track) in said.iter_mut().zip(&names) {
            let text = fold(&sight.cell(*line, *track).as_text());
            // A name can be given once for several lines.
            if !text.is_empty() && !is_ditto(&text) {
                *said = text;
            }
        }
        of_name.entry(said.clone()).or_default().push(*line);
    }
    (of_name.into_iter())
        .filter(|(name, lines)| lines.len() > 1 && name.iter().any(|text| !text.is_empty()))
        .map(|(_, lines)| lines)
        .collect()
}
