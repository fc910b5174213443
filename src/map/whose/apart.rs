//! Lines of one name and day that a time, a depth or another column tells apart.

use crate::finding::{Finding, Severity};
use crate::locate::{Look, is_day, unit_after_number};
use crate::map::findings::finding;
use crate::map::heads::head::Head;
use crate::map::heads::resolve::Context;
use crate::map::heads::tracks::Draft;
use crate::map::plan::{Track, TrackRole};
use crate::map::sight::Sight;
use crate::read::CellView;
use crate::reading::is_ditto;
use crate::text::fold;
use crate::vocabulary::{Field, Meaning};
use regex::Regex;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock};

pub(in crate::map) const NAMES_TOLD_APART: &str = "names-told-apart";

/// Times of day, weeks, quarters and depths over columns, in the languages of the vocabulary.
static WITHIN_A_DAY: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(
        r"(?ix) \b (?: time | hours? | uhrzeit | zeit | tijd | tijdstip | heure | hora | ora | tid | tidspunkt | klokkeslett | klockslag | kello
        | czas | godzina | čas | hodina | óra | időpont | saat | время | час | week | woche | kw | semaine | semana | settimana | uke | uge | vecka | viikko
        | tydzień | týden | hét | hafta | неделя | depth | tiefe | entnahmetiefe | diepte | profondeur | profundidad | profondità | profundidade
        | dybde | djup | provdjup | syvyys | głębokość | hloubka | hĺbka | mélység | adâncime | derinlik | глубина | layer | stratum | schicht | couche | capa | strato | lag | warstwa
        | quarter | quartal | kwartaal | trimestre | kvartal | kwartał | 深度 | 水深 | 时间 | 時間 ) \b",
    )
    .expect("a valid pattern")
});

/// Numbers of lines.
static NUMBER: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"(?i)^\W*(?:s(?:l|r)?\.?\s*)?(?:n|no|nr|nº|n°|№|num|lp|l\.\s?p|č|p\.\s?č|sz|sorszám|št|#)\W*$")
        .expect("a valid pattern")
});

/// Of the laboratory's own times, and of the well instead of the sample.
static OF_OTHERS: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"(?i)anal|\blab|receiv|arriv|eingang|réception|hold|travel|retention|residence|to water|water level|well depth")
        .expect("a valid pattern")
});

/// Lines that all their names would make one sample, and that differ in a time, a depth or a column of texts with a
/// heading nobody knows: what stands there is made part of the sample's reference.
pub(in crate::map) fn tell_apart(
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
        matches!(sight.look(line, track), Look::Words | Look::Field(_))
            && !is_day(CellView::Text(first))
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
        // Who numbers the lines has more than one sample.
        let is_number = |i: &usize| NUMBER.is_match(&label(&heads[*i].1)) && parts_all(heads[*i].0);
        let found = open().find(is_column).or_else(|| open().find(is_number));
        telling.extend(found);
    }
    for i in telling {
        let (track, head) = &heads[i];
        drafts[i] = Draft::Role(TrackRole::Field(Field::SampleRef));
        let severity = if by_words {
            Severity::Warning
        } else {
            Severity::Note
        };
        let lines: Vec<u32> = twins.iter().flatten().copied().collect();
        findings.push(told(
            sight,
            context,
            (*track, &label(head)),
            &lines,
            severity,
        ));
    }
}

fn told(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    (track, label): (u32, &str),
    lines: &[u32],
    severity: Severity,
) -> Finding {
    let first = lines.iter().min().map_or(sight.first_line, |line| *line);
    let mut told = finding(
        NAMES_TOLD_APART,
        context.place(sight.address(first, track)),
        format!(
            "lines of one name and day differ in '{label}': it is taken as part of the sample's reference"
        ),
        "if they are one sample, say so by one name in the report".into(),
    )
    .for_cells(lines.len() as u64);
    told.severity = severity;
    told
}

/// The same for rows of results: times and depths tell apart where most results of one name and day come again under
/// another. The time of a single measurement does not.
pub(in crate::map) fn tell_rows_apart(
    sight: &Sight<'_, '_>,
    context: &Context<'_>,
    labels: &BTreeMap<u32, Arc<str>>,
    tracks: &mut [Track],
    lines: &[u32],
    findings: &mut Vec<Finding>,
) {
    let is_within = |track: &Track| {
        let label = labels.get(&track.at).map_or("", |label| &**label);
        WITHIN_A_DAY.is_match(label) && !OF_OTHERS.is_match(label)
    };
    let names: Vec<u32> = (tracks.iter())
        .filter(|track| match track.role {
            TrackRole::Field(field) => {
                field.is_identity() || matches!(field, Field::Label | Field::Fraction)
            }
            _ => false,
        })
        .map(|track| track.at)
        .collect();
    let is_open = |track: &Track| {
        matches!(
            track.role,
            TrackRole::Unplaced(_) | TrackRole::Field(Field::Other)
        )
    };
    for track in tracks
        .iter_mut()
        .filter(|track| is_open(track) && is_within(track))
    {
        let twins = alike(sight, &names, lines);
        let text = |line: u32| fold(&sight.cell(line, track.at).as_text());
        let differ = |lines: &Vec<u32>| {
            let texts: BTreeSet<String> = lines.iter().map(|line| text(*line)).collect();
            texts.len() == lines.len() && texts.iter().all(|text| !text.is_empty())
        };
        let apart: Vec<u32> = twins.into_iter().filter(differ).flatten().collect();
        if apart.len() * 2 <= lines.len() {
            continue;
        }
        track.role = TrackRole::Field(Field::SampleRef);
        let label = labels.get(&track.at).cloned().unwrap_or_default();
        findings.push(told(
            sight,
            context,
            (track.at, &label),
            &apart,
            Severity::Note,
        ));
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
    alike(sight, &names, lines)
}

/// Lines in which these tracks say the same, several of each kind; none where they say nothing.
fn alike(sight: &Sight<'_, '_>, names: &[u32], lines: &[u32]) -> Vec<Vec<u32>> {
    let mut said: Vec<String> = vec![String::new(); names.len()];
    let mut of_name: BTreeMap<Vec<String>, Vec<u32>> = BTreeMap::new();
    for line in lines {
        for (said, track) in said.iter_mut().zip(names) {
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
