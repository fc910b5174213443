//! What a table says of a basis or a unit that nobody states, before a default is taken. Each kind of
//! evidence is one function with its reason. What is settled is told in a finding; what contradicts the
//! default is never passed over.

use super::balance;
use super::small_conductivity;
use super::sums;
use super::trace_units;
use crate::finding::Finding;
use crate::map::findings::finding;
use crate::map::heads::columns::{number, value};
use crate::map::heads::head::Head;
use crate::map::heads::resolve::Context;
use crate::map::left_out::guides;
use crate::map::plan::{AnalyteTrack, Decimal};
use crate::map::sight::Sight;
use crate::place::Place;
use crate::read::CellView;
use crate::record::Origin;
use crate::text::fold;
use crate::vocabulary::{AnalyteId, Basis};
use std::sync::Arc;

pub(in crate::map) type Resolved = Option<Result<AnalyteTrack, Arc<str>>>;

/// A table with its tracks resolved.
pub(in crate::map) struct View<'t, 'a, 'v> {
    pub(in crate::map) sight: &'t Sight<'a, 'v>,
    pub(in crate::map) context: &'t Context<'t>,
    pub(in crate::map) heads: &'t [(u32, Head)],
    /// Lines of samples.
    pub(in crate::map) lines: &'t [u32],
    /// Lines of limits that a law or a guideline sets.
    pub(in crate::map) guidelines: &'t [u32],
    pub(in crate::map) decimal: Decimal,
}

/// What one kind of evidence says of a track.
struct Said {
    basis: Basis,
    why: String,
}

/// Settles what was assumed, as far as the table tells.
pub(in crate::map) fn settle(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    findings: &mut Vec<Finding>,
) {
    for i in 0..tracks.len() {
        let Some(Ok(track)) = &tracks[i] else {
            continue;
        };
        if track.assumption != Some("basis-assumed") {
            continue;
        }
        let said: Vec<Said> = [
            by_guideline(view, i, track),
            by_other_track(view, i, track, tracks),
            by_hardness(view, i, track, tracks),
        ]
        .into_iter()
        .flatten()
        .collect();
        let Some(first) = said.first() else { continue };
        if said.iter().any(|other| other.basis != first.basis) {
            let all: Vec<String> = said
                .iter()
                .map(|s| format!("{} ({})", s.basis, s.why))
                .collect();
            tracks[i] = Some(Err(contradiction(view, i, &all, findings)));
            continue;
        }
        let (basis, why) = (first.basis.clone(), first.why.clone());
        if let Some(Ok(track)) = &mut tracks[i]
            && count_as(view.context, track, &basis)
        {
            track.assumption = None;
            track.unit_from = Origin::Heading;
            view.forget("basis-assumed", i, findings);
            view.tell(
                i,
                "basis-from-evidence",
                format!("as {basis}: {why}"),
                findings,
            );
        }
    }
    sums::settle(view, tracks, findings);
    balance::settle(view, tracks, findings);
    trace_units::settle(view, tracks, findings);
    small_conductivity::refuse(view, tracks, findings);
}

impl View<'_, '_, '_> {
    /// The finding that told the default is no longer true.
    pub(super) fn forget(&self, code: &str, i: usize, findings: &mut Vec<Finding>) {
        let Some(at) = self.heads[i].1.at else { return };
        let place = self.context.place(at);
        findings.retain(|f| f.code != code || f.place != place);
    }

    pub(super) fn tell(
        &self,
        i: usize,
        code: &'static str,
        what: String,
        findings: &mut Vec<Finding>,
    ) {
        let head = &self.heads[i].1;
        let label = head.label.as_deref().unwrap_or_default();
        let Some(at) = head.at else { return };
        findings.push(finding(
            code,
            self.context.place(at),
            format!("'{label}' is expressed {what}"),
            "say in a mapping if it is not so".into(),
        ));
    }

    /// Both numbers of a line, where both are plain.
    fn both(&self, line: u32, i: usize, j: usize) -> Option<(f64, f64)> {
        let of = |k: usize| value(self.sight, line, self.heads[k].0, self.decimal);
        Some((of(i)?, of(j)?))
    }
}

fn contradiction(
    view: &View<'_, '_, '_>,
    i: usize,
    all: &[String],
    findings: &mut Vec<Finding>,
) -> Arc<str> {
    view.forget("basis-assumed", i, findings);
    let what = format!(
        "in several ways, as the table itself tells: {}",
        all.join(", ")
    );
    view.tell(i, "evidence-contradicts", what, findings);
    "evidence-contradicts".into()
}

/// mg/L of the canonical species for one mg/L counted as the basis.
fn by_mass(context: &Context<'_>, id: AnalyteId, basis: &Basis) -> Option<f64> {
    let unit = context.vocabulary.unit("mg/L")?;
    let conversion = context
        .vocabulary
        .convert(id, unit, Some(basis), None)
        .ok()?;
    conversion.plain_factor()
}

/// Counts a track of a mass unit as another basis. `false` where that cannot be.
pub(super) fn count_as(context: &Context<'_>, track: &mut AnalyteTrack, basis: &Basis) -> bool {
    let Some(ratio) = ratio(context, track, basis) else {
        return false;
    };
    track.conversion.factor *= ratio;
    track.basis = Some(basis.clone());
    true
}

/// How much more the canonical number is when the track counts the basis instead of its own.
pub(super) fn ratio(context: &Context<'_>, track: &AnalyteTrack, basis: &Basis) -> Option<f64> {
    let own = by_mass(context, track.analyte, track.basis.as_ref()?)?;
    Some(by_mass(context, track.analyte, basis)? / own)
}

/// Limits that name their basis: analyte, limit in mg/L, basis, and whether the line must call itself a
/// maximum contaminant level (a number that other rules know in another sense: 10 mg/L nitrate is also a
/// European limit for infants' water, as NO3).
/// Sources: Directive (EU) 2020/2184, annex I B (nitrate 50, nitrite 0.50) and I C (ammonium 0.50), the same
/// reckoned as N; WHO, Guidelines for drinking-water quality, 4th edition (nitrate 50, nitrite 3); IS
/// 10500:2012 (nitrate 45); 40 CFR 141.62 (nitrate 10, nitrite 1, both as N).
const LIMITS: &[(&str, f64, &str, bool)] = &[
    ("nitrate", 50.0, "NO3", false),
    ("nitrate", 45.0, "NO3", false),
    ("nitrate", 11.3, "N", false),
    ("nitrate", 10.0, "N", true),
    ("nitrite", 0.5, "NO2", false),
    ("nitrite", 3.0, "NO2", false),
    ("nitrite", 0.15, "N", false),
    ("nitrite", 0.91, "N", false),
    ("nitrite", 1.0, "N", true),
    ("ammonium", 0.5, "NH4", false),
    ("ammonium", 0.39, "N", false),
];

/// A limit beside the results is printed in the basis of the results, or nobody could compare them.
fn by_guideline(view: &View<'_, '_, '_>, i: usize, track: &AnalyteTrack) -> Option<Said> {
    let limits = view.guidelines.iter().filter_map(|line| {
        let limit = limit(view.sight.cell(*line, view.heads[i].0), view.decimal)?;
        Some((limit, view.is_contaminant_level(*line)))
    });
    by_limits(view.context, track, limits)
}

/// The number of a limit, without its sign.
pub(in crate::map) fn limit(cell: CellView<'_>, decimal: Decimal) -> Option<f64> {
    match cell {
        CellView::Text(text) => {
            let bare = text.trim_start_matches(['<', '≤', '=', ' ']);
            number(CellView::Text(bare), decimal)
        }
        cell => number(cell, decimal),
    }
}

/// What the limits of laws say that stand beside the results of a track, each with whether it calls itself a
/// maximum contaminant level; `None` where they say different things.
fn by_limits(
    context: &Context<'_>,
    track: &AnalyteTrack,
    limits: impl Iterator<Item = (f64, bool)>,
) -> Option<Said> {
    let code = &context.vocabulary.analyte(track.analyte).code;
    // Ammonia at 0.5 is a limit as N where a rule says so; only the ion's own name is sure.
    if *code == "ammonium" && fold(&track.label_text).contains("ammonia") {
        return None;
    }
    let scale =
        track.conversion.plain_factor()? / by_mass(context, track.analyte, track.basis.as_ref()?)?;
    let mut found: Option<Said> = None;
    for (number, is_level) in limits {
        let limit = number * scale;
        let Some((_, known, basis, _)) = LIMITS.iter().find(|(analyte, known, _, level)| {
            analyte == code && (limit - known).abs() <= 0.02 * known && (!level || is_level)
        }) else {
            continue;
        };
        let said = Said {
            basis: Basis((*basis).into()),
            why: format!("the limit beside it, {number}, is {known} mg/L as {basis}"),
        };
        if (found.as_ref()).is_some_and(|other| other.basis != said.basis) {
            return None;
        }
        found = Some(said);
    }
    found
}

/// A row of one result whose basis was assumed, settled by the limits beside its label. The finding, if so.
pub(in crate::map) fn settle_row(
    context: &Context<'_>,
    track: &mut AnalyteTrack,
    place: Place,
    limits: &[(f64, bool)],
) -> Option<Finding> {
    let assumed = track.assumption == Some("basis-assumed");
    let limits = assumed.then(|| limits.iter().copied())?;
    let Said { basis, why } = by_limits(context, track, limits)?;
    if !count_as(context, track, &basis) {
        return None;
    }
    track.assumption = None;
    track.unit_from = Origin::Row;
    let what = format!("'{}' is expressed as {basis}: {why}", track.label_text);
    let help = "say in a mapping if it is not so".to_owned();
    Some(finding("basis-from-evidence", place, what, help))
}

impl View<'_, '_, '_> {
    fn is_contaminant_level(&self, line: u32) -> bool {
        self.sight
            .cells(line)
            .any(|(_, cell)| guides::is_contaminant_level(&cell.as_text()))
    }
}

/// Lines that must agree before a ratio tells anything.
const FEWEST: usize = 3;
/// Rounding of printed figures, as a share. Common practice, no source.
const ROUNDING: f64 = 0.03;

/// The same analyte in another track whose basis is stated: the same results, counted in another way, stand
/// in the fixed ratio of the formula masses.
fn by_other_track(
    view: &View<'_, '_, '_>,
    i: usize,
    track: &AnalyteTrack,
    tracks: &[Resolved],
) -> Option<Said> {
    let others = tracks.iter().enumerate().filter_map(|(j, t)| match t {
        Some(Ok(t)) if j != i && t.analyte == track.analyte && t.assumption.is_none() => {
            Some((j, t))
        }
        _ => None,
    });
    let analyte = view.context.vocabulary.analyte(track.analyte);
    for (j, other) in others {
        for basis in &analyte.bases {
            let Some(ratio) = ratio(view.context, track, basis) else {
                continue;
            };
            let alike = |(own, of_other): (f64, f64)| {
                (
                    track.conversion.apply(own) * ratio,
                    other.conversion.apply(of_other),
                )
            };
            if other.basis.as_ref() != Some(basis) && agree(view, i, j, alike) {
                let label = view.heads[j].1.label.as_deref().unwrap_or_default();
                let why = format!("only so does it agree with '{label}'");
                return Some(Said {
                    basis: basis.clone(),
                    why,
                });
            }
        }
    }
    None
}

/// Whether two tracks give the same in four fifths of at least three lines.
fn agree(
    view: &View<'_, '_, '_>,
    i: usize,
    j: usize,
    both: impl Fn((f64, f64)) -> (f64, f64),
) -> bool {
    let pairs: Vec<(f64, f64)> = view
        .lines
        .iter()
        .filter_map(|line| view.both(*line, i, j).map(&both))
        .filter(|(a, b)| *a > 0.0 && *b > 0.0)
        .collect();
    let alike = pairs
        .iter()
        .filter(|(a, b)| (a / b - 1.0).abs() <= ROUNDING)
        .count();
    pairs.len() >= FEWEST && alike * 5 >= pairs.len() * 4
}

/// Hardness is what calcium and magnesium make together (Standard Methods 2340 B): the basis in which a
/// column of hardness agrees with them is its basis.
fn by_hardness(
    view: &View<'_, '_, '_>,
    i: usize,
    track: &AnalyteTrack,
    tracks: &[Resolved],
) -> Option<Said> {
    let vocabulary = view.context.vocabulary;
    if vocabulary.find("hardness") != Some(track.analyte) {
        return None;
    }
    let of = |code: &str| {
        let id = vocabulary.find(code)?;
        let j = tracks
            .iter()
            .position(|t| matches!(t, Some(Ok(t)) if t.analyte == id))?;
        let Some(Ok(t)) = &tracks[j] else { return None };
        let equivalent = balance::equivalent(view.context, id)?;
        Some((view.heads[j].0, t.conversion, equivalent))
    };
    let (calcium, magnesium) = (of("calcium")?, of("magnesium")?);
    let carbonate = balance::equivalent(view.context, track.analyte)?;
    let ratios: Vec<f64> = view
        .lines
        .iter()
        .filter_map(|line| {
            let number = |at: u32| value(view.sight, *line, at, view.decimal);
            let meq = |(at, conversion, equivalent): (u32, crate::vocabulary::Conversion, f64)| {
                number(at).map(|n| conversion.apply(n) / equivalent)
            };
            let sum = (meq(calcium)? + meq(magnesium)?) * carbonate;
            let own = track.conversion.apply(number(view.heads[i].0)?);
            (sum > 0.0 && own > 0.0).then(|| sum / own)
        })
        .collect();
    let bases = &vocabulary.analyte(track.analyte).bases;
    bases.iter().find_map(|basis| {
        let wanted = ratio(view.context, track, basis)?;
        let alike = ratios
            .iter()
            .filter(|r| (*r / wanted - 1.0).abs() <= ROUNDING)
            .count();
        (ratios.len() >= FEWEST && alike * 5 >= ratios.len() * 4).then(|| Said {
            basis: basis.clone(),
            why: "only so does it agree with calcium and magnesium".into(),
        })
    })
}
