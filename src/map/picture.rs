//! A plan as text: one line for each track, for tests and for people. Where it stops: it shows what is
//! planned, not what the cells hold.

use super::plan::{AnalyteTrack, BlockPlan, Fact, LineRole, Plan, SheetPlan, Source, TrackRole};
use crate::place::{Address, column_letters};
use crate::read::Report;
use crate::record::Origin;
use crate::vocabulary::Vocabulary;
use std::fmt::Write as _;

/// The whole plan; sheets by their names, cells in A1 form.
pub fn picture(plan: &Plan, report: &Report, vocabulary: &Vocabulary) -> String {
    let mut text = String::new();
    for (sheet, planned) in report.sheets.iter().zip(&plan.sheets) {
        if report.sheets.len() > 1 || !sheet.name.is_empty() {
            line(&mut text, format_args!("sheet {}", sheet.name));
        }
        sheet_picture(&mut text, planned, vocabulary);
    }
    if plan.negative_is_below {
        line(&mut text, format_args!("negative numbers are limits"));
    }
    if !plan.missing_numbers.is_empty() {
        line(
            &mut text,
            format_args!("missing numbers {:?}", plan.missing_numbers),
        );
    }
    for finding in &plan.findings {
        let at = finding
            .place
            .cell
            .map_or_else(String::new, |c| format!(" {c}"));
        line(
            &mut text,
            format_args!(
                "{} {}{at}: {}",
                finding.severity, finding.code, finding.message
            ),
        );
    }
    text
}

fn line(text: &mut String, arguments: std::fmt::Arguments<'_>) {
    text.write_fmt(arguments)
        .and_then(|()| text.write_char('\n'))
        .expect("a string takes any text");
}

fn sheet_picture(text: &mut String, sheet: &SheetPlan, vocabulary: &Vocabulary) {
    for (area, reason) in &sheet.set_aside {
        let (from, to) = (
            Address::new(area.top, area.left),
            Address::new(area.bottom, area.right),
        );
        line(text, format_args!("  {from}:{to} set aside: {reason}"));
    }
    for block in &sheet.blocks {
        block_picture(text, block, vocabulary);
    }
    if !sheet.titles.is_empty() {
        line(text, format_args!("  titles {}", cells(&sheet.titles)));
    }
    if !sheet.identity.is_empty() {
        line(text, format_args!("  identity {}", cells(&sheet.identity)));
    }
}

fn block_picture(text: &mut String, block: &BlockPlan, vocabulary: &Vocabulary) {
    let name = |at: u32, across: bool| {
        if across {
            (at + 1).to_string()
        } else {
            column_letters(at)
        }
    };
    if block.form.is_empty() {
        let (first, last) = (
            name(block.first_line, !block.across),
            name(block.last_line, !block.across),
        );
        line(
            text,
            format_args!(
                "  {} {first}..{last}, headings {}",
                block.layout.name(),
                cells(&block.headings)
            ),
        );
    } else {
        line(text, format_args!("  {}", block.layout.name()));
    }
    for fact in &block.facts {
        line(text, format_args!("    {}", fact_text(fact)));
    }
    for track in &block.tracks {
        line(
            text,
            format_args!(
                "    {} {}",
                name(track.at, block.across),
                role(&track.role, vocabulary)
            ),
        );
    }
    if !block.carried.is_empty() {
        let at: Vec<String> = (block.carried.iter())
            .map(|at| name(*at, block.across))
            .collect();
        line(
            text,
            format_args!("    blank cells as above: {}", at.join(" ")),
        );
    }
    for group in &block.groups {
        let ends =
            [group.tracks.first(), group.tracks.last()].map(|at| at.map(|at| column_letters(*at)));
        let [Some(first), Some(last)] = ends else {
            continue;
        };
        line(
            text,
            format_args!("    {first}..{last}: {}", fact_text(&group.fact)),
        );
    }
    for cell in &block.form {
        let own: String = (cell.own.iter())
            .map(|fact| format!(", {}", fact_text(fact)))
            .collect();
        line(
            text,
            format_args!("    {} {}{own}", cell.value, role(&cell.role, vocabulary)),
        );
    }
    for (at, what) in &block.not_samples {
        let what = match what {
            LineRole::Heading => "heading".to_owned(),
            LineRole::Companion { of, role } => format!("{role:?} of {}", name(*of, !block.across)),
            LineRole::SetAside(reason) => format!("set aside: {reason}"),
            LineRole::Unplaced(reason) => format!("unplaced: {reason}"),
        };
        line(
            text,
            format_args!("    line {} {what}", name(*at, !block.across)),
        );
    }
}

fn fact_text(fact: &Fact) -> String {
    match &fact.from {
        Source::Cell(at) => format!("{} from {at}", fact.field.name()),
        Source::Part(at, part) => format!("{} from {at} '{part}'", fact.field.name()),
        Source::Text(text) => format!("{} is '{text}'", fact.field.name()),
    }
}

fn role(role: &TrackRole, vocabulary: &Vocabulary) -> String {
    match role {
        TrackRole::Analyte(track) => analyte(track, vocabulary),
        TrackRole::Field(field) => field.name().to_owned(),
        TrackRole::Companion { of, role } => format!("{role:?} of {}", column_letters(*of)),
        TrackRole::SetAside(reason) => format!("set aside: {reason}"),
        TrackRole::Unplaced(reason) => format!("unplaced: {reason}"),
    }
}

fn analyte(track: &AnalyteTrack, vocabulary: &Vocabulary) -> String {
    let mut text = vocabulary.analyte(track.analyte).code.clone();
    if let Some(fraction) = track.fraction {
        text = format!("{text} {fraction}");
    }
    text += &format!(" '{}'", track.label_text);
    if let Some(unit) = &track.unit_text {
        text += &format!(" in '{unit}'");
    }
    if let Some(basis) = &track.basis {
        text += &format!(" as {basis}");
    }
    if track.conversion.factor != 1.0 {
        text += &format!(" x{:.5}", track.conversion.factor);
    }
    if let Some(limit) = &track.limit {
        text += &format!(" limit {}", limit.number);
    }
    if let Some(limit) = &track.quantification_limit {
        text += &format!(" quantification limit {}", limit.number);
    }
    match (track.unit_from, track.assumption) {
        (Origin::Heading, None) => {}
        (from, None) => text += &format!(" ({})", from.name()),
        (from, Some(code)) => text += &format!(" ({}: {code})", from.name()),
    }
    text
}

/// Cells as a list of ranges within a row, so that headings of a wide table stay short.
fn cells(addresses: &[Address]) -> String {
    let mut sorted = addresses.to_vec();
    sorted.sort_unstable();
    let mut runs: Vec<(Address, Address)> = Vec::new();
    for at in sorted {
        match runs.last_mut() {
            Some((_, last)) if last.row == at.row && last.col + 1 == at.col => *last = at,
            _ => runs.push((at, at)),
        }
    }
    runs.iter()
        .map(|(from, to)| {
            if from == to {
                from.to_string()
            } else {
                format!("{from}:{to}")
            }
        })
        .collect::<Vec<_>>()
        .join(" ")
}
