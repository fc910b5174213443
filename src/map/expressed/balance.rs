//! What the charge balance over all samples of a table says of a silent basis. A single sample proves
//! nothing; a table in which nearly all samples fit one reading, and hardly any the other, does. What is
//! settled so stays an assumption, told as a warning, so that no dose rests on it.

use super::evidence::{Resolved, View, count_as, ratio};
use super::ion_units;
use crate::finding::Finding;
use crate::map::heads::columns::value;
use crate::map::heads::resolve::Context;
use crate::vocabulary::{AnalyteId, Basis, Conversion};

/// Ions that every balance must have, and those that count where they are given.
pub(super) const CATIONS: &[&str] = &["calcium", "magnesium", "sodium"];
pub(super) const ANIONS: &[&str] = &["chloride", "sulfate"];
pub(super) const MORE_CATIONS: &[&str] = &["potassium", "ammonium"];
pub(super) const MORE_ANIONS: &[&str] = &["nitrate", "fluoride", "bromide", "nitrite"];

/// Samples with all of them that a basis needs.
const FEWEST_FOR_BASIS: usize = 10;
/// Bicarbonate as HCO3 and as CaCO3 differ by 22 %; windows of 10 % around each do not meet.
const WINDOW: f64 = 0.10;
/// Bicarbonate must carry this share of the anions, or it does not move the balance.
const SHARE: f64 = 0.25;

/// mg of the canonical species in one milliequivalent.
pub(super) fn equivalent(context: &Context<'_>, id: AnalyteId) -> Option<f64> {
    let unit = context.vocabulary.unit("meq/L")?;
    let conversion = context.vocabulary.convert(id, unit, None, None).ok()?;
    conversion.plain_factor()
}

pub(super) fn settle(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    findings: &mut Vec<Finding>,
) {
    ion_units::settle(view, tracks, findings);
    basis_of_bicarbonate(view, tracks, findings);
}

/// One ion of the balance: where it stands and how its numbers become meq/L.
#[derive(Clone, Copy)]
pub(super) struct Ion {
    pub(super) index: usize,
    pub(super) analyte: AnalyteId,
    pub(super) conversion: Conversion,
    pub(super) equivalent: f64,
}

impl Ion {
    /// The first track of the analyte.
    pub(super) fn of(view: &View<'_, '_, '_>, tracks: &[Resolved], code: &str) -> Option<Self> {
        let id = view.context.vocabulary.find(code)?;
        let (index, track) = tracks.iter().enumerate().find_map(|(i, t)| match t {
            Some(Ok(t)) if t.analyte == id => Some((i, t)),
            _ => None,
        })?;
        Some(Self {
            index,
            analyte: id,
            conversion: track.conversion,
            equivalent: equivalent(view.context, id)?,
        })
    }

    pub(super) fn number(self, view: &View<'_, '_, '_>, line: u32) -> Option<f64> {
        value(view.sight, line, view.heads[self.index].0, view.decimal).filter(|n| *n >= 0.0)
    }

    pub(super) fn meq(self, view: &View<'_, '_, '_>, line: u32) -> Option<f64> {
        let number = self.number(view, line)?;
        Some(self.conversion.apply(number) / self.equivalent)
    }
}

/// The ions of a side: those that must be there, and those that may.
pub(super) type Side = (Vec<Ion>, Vec<Ion>);

/// The ions of a side; `None` where one that must be there is not.
pub(super) fn side(
    view: &View<'_, '_, '_>,
    tracks: &[Resolved],
    must: &[&str],
    may: &[&str],
) -> Option<Side> {
    let of = |code: &&str| Ion::of(view, tracks, code);
    let needed: Option<Vec<Ion>> = must.iter().map(of).collect();
    Some((needed?, may.iter().filter_map(of).collect()))
}

/// The sum of a side in one line; `None` where an ion that must be there has no plain number.
pub(super) fn sum(
    view: &View<'_, '_, '_>,
    line: u32,
    (must, may): &Side,
    as_read: impl Fn(Ion) -> Option<f64>,
) -> Option<f64> {
    let mut total = 0.0;
    for ion in must {
        ion.number(view, line)?;
        total += as_read(*ion)?;
    }
    Some(total + may.iter().filter_map(|ion| as_read(*ion)).sum::<f64>())
}

/// Bicarbonate that is CaCO3: what is left of the cations after the other anions is bicarbonate, and its
/// ratio to the printed number is one or the other equivalent.
fn basis_of_bicarbonate(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    findings: &mut Vec<Finding>,
) -> Option<()> {
    let own = Ion::of(view, tracks, "bicarbonate")?;
    let is_assumed =
        |t: &Resolved| matches!(t, Some(Ok(t)) if t.assumption.is_some() && t.basis.is_some());
    if !is_assumed(&tracks[own.index]) {
        return None;
    }
    let (cations, anions) = (
        side(view, tracks, CATIONS, MORE_CATIONS)?,
        side(view, tracks, ANIONS, MORE_ANIONS)?,
    );
    // Where nitrate was never measured, what is missing of it would pass for bicarbonate.
    Ion::of(view, tracks, "nitrate")?;
    let carbonate = Ion::of(view, tracks, "carbonate");
    let candidates = [Basis("HCO3".into()), Basis("CaCO3".into())];
    let Some(Ok(track)) = &tracks[own.index] else {
        return None;
    };
    let ratios: Vec<f64> = candidates
        .iter()
        .map(|basis| ratio(view.context, track, basis))
        .collect::<Option<_>>()?;
    let lines: Vec<[bool; 2]> = view
        .lines
        .iter()
        .filter_map(|line| {
            let plus = sum(view, *line, &cations, |ion| ion.meq(view, *line))?;
            let minus = sum(view, *line, &anions, |ion| ion.meq(view, *line))?;
            let rest = own.meq(view, *line)?;
            let other = carbonate
                .and_then(|ion| ion.meq(view, *line))
                .map_or(0.0, |n| n);
            (rest > SHARE * (minus + rest)).then(|| {
                [0, 1].map(|k| {
                    let needed = plus - minus - other * ratios[k];
                    (needed / (rest * ratios[k]) - 1.0).abs() <= WINDOW
                })
            })
        })
        .collect();
    let fitting = |k: usize| lines.iter().filter(|fits| fits[k]).count();
    let best = usize::from(fitting(1) > fitting(0));
    let clear = lines.len() >= FEWEST_FOR_BASIS
        && fitting(best) * 4 >= lines.len() * 3
        && fitting(1 - best) * 10 <= lines.len();
    if !clear {
        return None;
    }
    let basis = &candidates[best];
    for ion in [Some(own), carbonate].into_iter().flatten() {
        let assumed = is_assumed(&tracks[ion.index]);
        let Some(Ok(track)) = &mut tracks[ion.index] else {
            continue;
        };
        // Carbonate beside it is of the same titration; as HCO3 it stays what it is.
        if !assumed
            || (ion.index != own.index && best == 0)
            || !count_as(view.context, track, basis)
        {
            continue;
        }
        track.assumption = Some("basis-from-balance");
        view.forget("basis-assumed", ion.index, findings);
        let what = format!(
            "as {basis}, as the charge balance tells: it fits {} of {} samples, as {} it fits {}",
            fitting(best),
            lines.len(),
            candidates[1 - best],
            fitting(1 - best)
        );
        view.tell(ion.index, "basis-from-balance", what, findings);
    }
    Some(())
}
