//! The unit of ions of which nobody states any: a table has one for all of them, and the balance of charge, or
//! the conductivity, shows which. What is settled so stays an assumption, told as a warning.

use super::balance::{ANIONS, CATIONS, Ion, MORE_ANIONS, MORE_CATIONS, Side, side, sum};
use super::evidence::{Resolved, View};
use crate::finding::Finding;
use crate::map::findings::UNIT_ASSUMED;
use crate::map::heads::columns::value;
use crate::vocabulary::{AnalyteId, Conversion};

/// Units differ by tens, moles and their charges by two: few samples tell.
const FEWEST: usize = 3;
/// A balance within 5 % is accepted everywhere (Standard Methods 1030 E).
const BALANCED: f64 = 0.05;
/// Conductivity is about 100 µS/cm for each meq/L of cations (Standard Methods 1030 E: 90 to 110); 65 in
/// brines, where ions slow each other down, 150 where some ions were not measured.
const PER_MEQ: std::ops::Range<f64> = 65.0..150.0;
/// So far from that no water is, not even an acid one.
const IMPOSSIBLE: f64 = 400.0;
/// The units that ions are given in; the first is the default.
pub(super) const UNITS: [&str; 3] = ["mg/L", "meq/L", "mmol/L"];

/// What the samples say of the unit.
enum Verdict {
    /// Which of [`UNITS`], and why.
    Unit(usize, String),
    /// It is not the default, and nothing tells which else.
    NotTheDefault(String),
}

pub(super) fn settle(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    findings: &mut Vec<Finding>,
) -> Option<()> {
    let cations = side(view, tracks, CATIONS, MORE_CATIONS)?;
    let anions_needed = [ANIONS, &["bicarbonate"]].concat();
    let more_anions = [MORE_ANIONS, &["carbonate"]].concat();
    let anions = side(view, tracks, &anions_needed, &more_anions);
    let all_silent = |side: &Side| {
        let mut ions = side.0.iter().chain(&side.1);
        ions.all(|ion| is_silent(&tracks[ion.index]))
    };
    if !all_silent(&cations) {
        return None;
    }
    if are_shares(view, &cations) {
        let what = "as a share of the charge, in percent: not placed";
        refuse(view, tracks, "shares-of-charge", what, findings);
        return None;
    }
    let verdict = match anions {
        Some(anions) if !all_silent(&anions) => return None,
        Some(anions) => by_balance(view, &cations, &anions),
        None => by_conductivity(view, tracks, &cations),
    };
    match verdict? {
        Verdict::Unit(0, _) => {}
        Verdict::Unit(unit, why) => {
            for index in silent_ions(view, tracks) {
                if take(view, tracks, index, UNITS[unit], findings)
                    && let Some(Ok(track)) = &mut tracks[index]
                {
                    track.assumption = Some("unit-from-balance");
                    let what = format!("in {}, as {why}", UNITS[unit]);
                    view.tell(index, "unit-from-balance", what, findings);
                }
            }
        }
        Verdict::NotTheDefault(why) => {
            let what = format!("not in {}, since {why}: not placed", UNITS[0]);
            refuse(view, tracks, "unit-unlikely", &what, findings);
        }
    }
    Some(())
}

/// Neither the report nor a mapping states a unit.
pub(super) fn is_silent(track: &Resolved) -> bool {
    matches!(track, Some(Ok(t)) if t.unit_text.is_none() && t.assumption.is_some())
}

/// The ions of the table without a unit.
fn silent_ions(view: &View<'_, '_, '_>, tracks: &[Resolved]) -> Vec<usize> {
    let mut found: Vec<usize> = [CATIONS, MORE_CATIONS, ANIONS, MORE_ANIONS]
        .concat()
        .into_iter()
        .chain(["bicarbonate", "carbonate", "alkalinity"])
        .filter_map(|code| Ion::of(view, tracks, code))
        .map(|ion| ion.index)
        .filter(|index| is_silent(&tracks[*index]))
        .collect();
    found.sort_unstable();
    found
}

/// How a number of the ion becomes meq/L in one of [`UNITS`]; `None` where that cannot be.
pub(super) fn meq_in(view: &View<'_, '_, '_>, ion: Ion, unit: usize) -> Option<f64> {
    if unit == 0 {
        return Some(ion.conversion.plain_factor()? / ion.equivalent);
    }
    Some(conversion(view, ion.analyte, UNITS[unit])?.plain_factor()? / ion.equivalent)
}

/// The conversion of an analyte from a unit, where no basis has to be known.
fn conversion(view: &View<'_, '_, '_>, analyte: AnalyteId, unit: &str) -> Option<Conversion> {
    let vocabulary = view.context.vocabulary;
    vocabulary
        .convert(analyte, vocabulary.unit(unit)?, None, None)
        .ok()
}

/// Counts a track in another unit, and forgets what was told of the assumed one. `false` where it cannot be.
pub(super) fn take(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    index: usize,
    unit: &str,
    findings: &mut Vec<Finding>,
) -> bool {
    let Some(Ok(track)) = &mut tracks[index] else {
        return false;
    };
    let Some(conversion) = conversion(view, track.analyte, unit) else {
        return false;
    };
    track.conversion = conversion;
    view.forget(UNIT_ASSUMED, index, findings);
    view.forget("basis-assumed", index, findings);
    true
}

/// Leaves all ions without a unit where they are; told once.
fn refuse(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    code: &'static str,
    what: &str,
    findings: &mut Vec<Finding>,
) {
    let all = silent_ions(view, tracks);
    for index in &all {
        tracks[*index] = Some(Err(code.into()));
        view.forget(UNIT_ASSUMED, *index, findings);
        view.forget("basis-assumed", *index, findings);
    }
    if let Some(first) = all.first() {
        view.tell(*first, code, what.to_owned(), findings);
    }
}

/// Shares of the charge in percent are no concentrations: the cations of nearly every line add up to 100 (or
/// to 50, where both sides together are the whole).
fn are_shares(view: &View<'_, '_, '_>, cations: &Side) -> bool {
    let sums = (view.lines.iter())
        .filter_map(|line| sum(view, *line, cations, |ion| ion.number(view, *line)));
    let is_whole = |sum: f64| [100.0, 50.0].iter().any(|w| (sum / w - 1.0).abs() <= 0.01);
    let whole: Vec<bool> = sums.map(is_whole).collect();
    whole.len() >= FEWEST && count(&whole) * 4 >= whole.len() * 3
}

fn count(fits: &[bool]) -> usize {
    fits.iter().filter(|fits| **fits).count()
}

/// The sum of a side in one line, in meq/L if its numbers are in one of [`UNITS`].
fn meq(view: &View<'_, '_, '_>, line: u32, side: &Side, unit: usize) -> Option<f64> {
    sum(view, line, side, |ion| {
        Some(ion.number(view, line)? * meq_in(view, ion, unit)?)
    })
}

/// The only unit in which three quarters of the samples fit, and a quarter at most in each other; with the
/// number of samples that fit in each unit, and of all.
fn only_unit(fits: &[[bool; 3]]) -> (Option<usize>, [usize; 3]) {
    let counts = [0, 1, 2].map(|unit| fits.iter().filter(|line| line[unit]).count());
    let fitting = |unit: &usize| counts[*unit] * 4 >= fits.len() * 3;
    let failing = |unit: usize| counts[unit] * 4 <= fits.len();
    let only = (0..3)
        .find(fitting)
        .filter(|found| (0..3).all(|unit| unit == *found || failing(unit)));
    (only.filter(|_| fits.len() >= FEWEST), counts)
}

/// In the unit of the report the two sides are equal.
fn by_balance(view: &View<'_, '_, '_>, cations: &Side, anions: &Side) -> Option<Verdict> {
    let fits: Vec<[bool; 3]> = (view.lines.iter())
        .filter_map(|line| {
            let mut line_fits = [false; 3];
            for (unit, fits) in line_fits.iter_mut().enumerate() {
                let plus = meq(view, *line, cations, unit)?;
                let minus = meq(view, *line, anions, unit)?;
                if plus + minus <= 0.0 {
                    return None;
                }
                *fits = ((plus - minus) / (plus + minus)).abs() <= BALANCED;
            }
            Some(line_fits)
        })
        .collect();
    let (unit, counts) = only_unit(&fits);
    let all = fits.len();
    if let Some(unit) = unit {
        let why = format!(
            "the charge balance tells: so {} of {all} samples balance, in {} {}",
            counts[unit], UNITS[0], counts[0]
        );
        return Some(Verdict::Unit(unit, why));
    }
    // Milliequivalents and millimoles are nearly the same for sodium and chloride.
    let other = counts[1].max(counts[2]);
    (all >= FEWEST && other * 4 >= all * 3 && counts[0] * 4 <= all).then(|| {
        Verdict::NotTheDefault(format!(
            "only {} of {all} samples balance so, in {} or {} {other}",
            counts[0], UNITS[1], UNITS[2]
        ))
    })
}

/// Where anions are missing: the cations alone must explain the conductivity, if its unit is stated.
fn by_conductivity(
    view: &View<'_, '_, '_>,
    tracks: &[Resolved],
    cations: &Side,
) -> Option<Verdict> {
    let id = view.context.vocabulary.find("conductivity")?;
    let (at, conversion) =
        tracks
            .iter()
            .zip(view.heads)
            .find_map(|(track, (at, _))| match track {
                Some(Ok(t)) if t.analyte == id && t.unit_text.is_some() => {
                    Some((*at, t.conversion))
                }
                _ => None,
            })?;
    let ratios: Vec<[f64; 3]> = (view.lines.iter())
        .filter_map(|line| {
            let measured = conversion.apply(value(view.sight, *line, at, view.decimal)?);
            let mut ratios = [0.0; 3];
            for (unit, ratio) in ratios.iter_mut().enumerate() {
                *ratio = measured / meq(view, *line, cations, unit)?;
            }
            (measured > 0.0).then_some(ratios)
        })
        .collect();
    let fits: Vec<[bool; 3]> = (ratios.iter())
        .map(|ratios| ratios.map(|ratio| PER_MEQ.contains(&ratio)))
        .collect();
    let (unit, counts) = only_unit(&fits);
    if let Some(unit) = unit {
        let why = format!(
            "the conductivity tells: so it fits the cations of {} of {} samples, in {} of {}",
            counts[unit],
            fits.len(),
            UNITS[0],
            counts[0]
        );
        return Some(Verdict::Unit(unit, why));
    }
    let impossible = ratios
        .iter()
        .filter(|ratios| ratios[0] > IMPOSSIBLE)
        .count();
    (ratios.len() >= FEWEST && impossible * 4 >= ratios.len() * 3).then(|| {
        Verdict::NotTheDefault(format!(
            "the conductivity of {impossible} of {} samples is more than {} times what the cations would explain",
            ratios.len(),
            IMPOSSIBLE / 100.0
        ))
    })
}
