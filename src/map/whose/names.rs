//! Which tracks of a table name and date its samples, where their heads do not say it.

use crate::locate::{Look, is_day, is_period};
use crate::map::heads::head::Head;
use crate::map::heads::tracks::Draft;
use crate::map::left_out::statistics::is_statistic;
use crate::map::plan::TrackRole;
use crate::map::sight::Sight;
use crate::read::CellView;
use crate::vocabulary::{Field, Meaning};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Tracks of identity without a head, and heads that could be two things, by what stands below.
pub(in crate::map) fn settle_identity(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    drafts: &mut [Draft],
    lines: &[u32],
) {
    let kinds = |track: u32| {
        let mut counts = (0usize, 0usize, 0usize);
        for line in lines {
            match sight.cell(*line, track) {
                CellView::Date(..) => counts.0 += 1,
                CellView::Number(..) => counts.1 += 1,
                CellView::Text(t) if crate::locate::is_number_like(t) => counts.1 += 1,
                // Labels of analytes name no samples: the margin of another table. Nor do units and "Result".
                CellView::Text(_)
                    if match sight.look(*line, track) {
                        Look::Analyte | Look::Unit => true,
                        Look::Field(field) => !field.is_identity(),
                        _ => false,
                    } => {}
                CellView::Text(_) => counts.2 += 1,
                _ => {}
            }
        }
        counts
    };
    // In a table that runs across, the cells beside "Parameter" name the samples.
    if sight.across {
        for (i, (track, head)) in heads.iter().enumerate() {
            if head.meaning == Meaning::Field(Field::Label) {
                let (dates, numbers, texts) = kinds(*track);
                let field =
                    if dates > 0 && dates * 2 > lines.len() || are_periods(sight, *track, lines) {
                        Field::SampledOn
                    } else if dates + numbers + texts == 0 {
                        Field::Other
                    } else {
                        Field::SampleRef
                    };
                drafts[i] = Draft::Role(TrackRole::Field(field));
            }
        }
    }
    let has = |drafts: &[Draft], fields: &[Field]| {
        drafts
            .iter()
            .any(|d| matches!(d, Draft::Role(TrackRole::Field(f)) if fields.contains(f)))
    };
    for (i, (track, head)) in heads.iter().enumerate() {
        match (&drafts[i], head.label.as_deref()) {
            // "Data" is a date in three languages and the values in a fourth.
            (Draft::Role(TrackRole::Field(Field::SampledOn | Field::Value)), Some(label))
                if label.eq_ignore_ascii_case("data") =>
            {
                let (dates, numbers, _) = kinds(*track);
                let field = if dates > 0 || numbers == 0 {
                    Field::SampledOn
                } else {
                    Field::Other
                };
                drafts[i] = Draft::Role(TrackRole::Field(field));
            }
            // Without any head: the first track of texts names the samples.
            (Draft::Unknown, None) => {
                let (dates, numbers, texts) = kinds(*track);
                let name = texts * 2 > lines.len()
                    && texts >= numbers
                    && !has(drafts, &[Field::SampleRef, Field::LabRef]);
                let date = (dates > 0 && dates >= numbers + texts
                    || are_periods(sight, *track, lines))
                    && !has(drafts, &[Field::SampledOn]);
                drafts[i] = Draft::Role(if date {
                    TrackRole::Field(Field::SampledOn)
                } else if name {
                    TrackRole::Field(Field::SampleRef)
                } else if texts > 0
                    && texts >= numbers
                    && sight.across
                    && !has(drafts, &[Field::Source, Field::Site])
                {
                    TrackRole::Field(Field::Source)
                } else {
                    TrackRole::Unplaced("no-heading".into())
                });
            }
            _ => {}
        }
    }
    name_by_place(sight, heads, drafts, lines);
    one_of_each(sight, heads, drafts, lines);
}

/// Where no head that is known names the samples, the first column does, whatever it is called, if it tells apart
/// lines of one day; in a table that runs across, the row directly over the first label does, whatever its corner
/// says.
fn name_by_place(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    drafts: &mut [Draft],
    lines: &[u32],
) {
    let of = |wanted: &[Field]| {
        (drafts.iter()).position(
            |draft| matches!(draft, Draft::Role(TrackRole::Field(field)) if wanted.contains(field)),
        )
    };
    let names = [Field::SampleRef, Field::LabRef, Field::Source, Field::Site];
    let first = drafts.iter().position(|d| matches!(d, Draft::Analyte));
    let at = if sight.across {
        first.and_then(|i| i.checked_sub(1))
    } else {
        Some(0)
    };
    // "Analyte" before the names of analytes heads their line, and samples stand below it.
    let is_open = |draft: &Draft| {
        matches!(
            draft,
            Draft::Unknown | Draft::Role(TrackRole::Field(Field::Label))
        )
    };
    let is_named = of(&names).is_some();
    let Some(at) = at.filter(|at| !is_named && drafts.get(*at).is_some_and(is_open)) else {
        return;
    };
    let track = heads[at].0;
    let day = of(&[Field::SampledOn]);
    if sight.across && day.is_none() && are_periods(sight, track, lines) {
        drafts[at] = Draft::Role(TrackRole::Field(Field::SampledOn));
        return;
    }
    let text = |line: u32, track: u32| sight.cell(line, track).as_text().trim().to_owned();
    // A day under a heading that nobody knows names nothing.
    let is_name = |line: &u32| {
        matches!(sight.look(*line, track), Look::Words | Look::Field(_))
            && !is_day(sight.cell(*line, track))
    };
    let days = lines
        .iter()
        .map(|line| day.map(|day| text(*line, heads[day].0)));
    let told: BTreeSet<_> = lines
        .iter()
        .map(|line| text(*line, track))
        .zip(days)
        .collect();
    if told.len() == lines.len() && lines.iter().all(is_name) {
        drafts[at] = Draft::Role(TrackRole::Field(Field::SampleRef));
    }
}

/// Days, or years, months and quarters that whole lines are of; several of them.
fn are_periods(sight: &Sight<'_, '_>, track: u32, lines: &[u32]) -> bool {
    let cells = lines.iter().map(|line| sight.cell(*line, track));
    // "Mean" can stand behind the months.
    let says = |cell: &CellView<'_>| !cell.is_empty() && !is_statistic(&cell.as_text());
    let periods: Vec<bool> = (cells.filter(says)).map(is_period).collect();
    periods.len() > 1 && periods.iter().all(|is_one| *is_one)
}

/// A field belongs to one track. Of several, the one that tells the lines apart best keeps it (the first
/// of equals); the others are known and not kept.
fn one_of_each(sight: &Sight<'_, '_>, heads: &[(u32, Head)], drafts: &mut [Draft], lines: &[u32]) {
    for field in Field::ALL {
        if matches!(field, Field::Other | Field::Remark) {
            continue;
        }
        let tracks: Vec<usize> = (0..heads.len())
            .filter(|i| matches!(&drafts[*i], Draft::Role(TrackRole::Field(f)) if *f == field))
            .collect();
        if tracks.len() < 2 {
            continue;
        }
        let is_date = matches!(
            field,
            Field::SampledOn | Field::ReceivedOn | Field::ReportedOn
        );
        let worth = |i: usize| {
            let texts: Vec<Arc<str>> = lines
                .iter()
                .map(|line| sight.cell(*line, heads[i].0))
                .filter(|cell| !cell.is_empty() && (!is_date || !is_time_only(cell)))
                .map(|cell| Arc::from(&*cell.as_text()))
                .collect();
            if is_date {
                return texts.len();
            }
            let distinct: std::collections::BTreeSet<_> = texts.iter().collect();
            distinct.len()
        };
        let best = tracks
            .iter()
            .copied()
            .max_by_key(|i| (worth(*i), std::cmp::Reverse(*i)));
        for i in tracks {
            if Some(i) != best {
                drafts[i] = Draft::Role(TrackRole::Field(Field::Other));
            }
        }
    }
}

/// 0.5 shown as 12:00 is a time of day, not a date.
fn is_time_only(cell: &CellView<'_>) -> bool {
    matches!(cell, CellView::Date(serial, _) if *serial < 1.0)
}
