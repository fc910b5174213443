//! Printed sums of cations and anions as evidence: a laboratory adds up its own numbers, so the bases and the
//! unit with which they add up to what it printed are its own.

use super::balance::{self, ANIONS, CATIONS, Ion, MORE_ANIONS, MORE_CATIONS};
use super::evidence::{Resolved, View, count_as, ratio};
use super::ion_units::{UNITS, is_silent, meq_in, take};
use crate::finding::Finding;
use crate::map::findings::UNIT_ASSUMED;
use crate::map::heads::columns::value;
use crate::map::heads::limits::unit_in;
use crate::record::Origin;
use crate::text::{fold, words};
use crate::vocabulary::{Basis, Dimension};

/// Reason of tracks that hold sums of others.
pub(in crate::map) const PRINTED_SUM: &str = "printed-sum";

/// Samples with a printed sum that are needed, and by how much the sums must differ: ever the same water would
/// let a wrong reading fit by chance.
const FEWEST: usize = 5;
const SPREAD: f64 = 1.3;
/// Rounding of the printed numbers, as a share. Common practice, no source.
const ROUNDING: f64 = 0.02;
/// More lines, or more ways to read them, tell nothing more.
const MOST_LINES: usize = 200;
const MOST_CHOICES: usize = 2000;

/// Beginnings of the words for the ions that are added up, and the words that may stand beside them.
const OF_CATIONS: &[&str] = &["cation", "kation", "catioe"];
const OF_ANIONS: &[&str] = &["anion", "anioe"];
/// Common practice, no source.
const BESIDE: &[&str] = &[
    "sum", "sums", "summe", "som", "somme", "suma", "soma", "somma", "total", "totaal", "totale",
    "totales", "totali", "totais", "totaux", "gesamt", "σ", "∑", "s", "of", "the", "der", "de",
    "des", "dei", "degli", "van", "los", "dos", "af", "all", "major", "charge", "charges", "meq",
    "mval", "epm", "me", "l", "eq", "mmol", "mg",
];

/// Which ions a heading says to be added up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::map) enum Summed {
    Cations,
    Anions,
}

/// "Sum of cations (meq/L)", "Total anions", "Σ Kationen"; "Anions" alone heads a group as often.
pub(in crate::map) fn summed(label: &str) -> Option<Summed> {
    let folded = fold(label).replace(['∑', 'σ'], " σ ");
    let words: Vec<&str> = words(&folded).collect();
    let begins = |word: &str, with: &[&str]| with.iter().any(|start| word.starts_with(start));
    let (ions, beside): (Vec<&str>, Vec<&str>) =
        (words.iter()).partition(|word| begins(word, OF_CATIONS) || begins(word, OF_ANIONS));
    let [ion] = ions.as_slice() else { return None };
    let is_sum = !beside.is_empty() && beside.iter().all(|word| BESIDE.contains(word));
    is_sum.then_some(if begins(ion, OF_CATIONS) {
        Summed::Cations
    } else {
        Summed::Anions
    })
}

pub(super) fn settle(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    findings: &mut Vec<Finding>,
) {
    for side in [Summed::Cations, Summed::Anions] {
        if let Some((label, found)) = of_side(view, tracks, side) {
            for (ion, unit, reading) in found {
                take_reading(view, tracks, ion, (unit, reading.basis), label, findings);
            }
        }
    }
}

/// One way to read an ion: the basis where that is open, and the meq/L of one of its numbers, which is 0 where
/// the sum leaves the ion out.
#[derive(Clone, Debug, PartialEq)]
struct Reading {
    basis: Option<Basis>,
    meq: f64,
}

fn is_open(track: &Resolved) -> bool {
    matches!(track, Some(Ok(t)) if t.assumption == Some("basis-assumed"))
}

/// The printed sum of a side: its track, its label, and whether it says to be in milliequivalents. A sum in
/// another unit tells nothing.
fn printed<'t>(view: &View<'t, '_, '_>, side: Summed) -> Option<(u32, &'t str, bool)> {
    view.heads.iter().find_map(|(at, head)| {
        let label = (head.label.as_deref()).filter(|label| summed(label) == Some(side))?;
        let own = unit_in(view.context.vocabulary, label);
        let own = own.as_ref().map(|(unit, ..)| unit);
        match head.unit.as_ref().map(|(unit, _)| unit).or(own) {
            Some(unit) => (unit.dimension == Dimension::Charge).then_some((*at, label, true)),
            None => Some((*at, label, false)),
        }
    })
}

/// The ions of a sum, and how many of them every sum has.
fn ions_of(
    view: &View<'_, '_, '_>,
    tracks: &[Resolved],
    side: Summed,
) -> Option<(Vec<Ion>, usize)> {
    let of = |code: &&str| Ion::of(view, tracks, code);
    let (must, may) = match side {
        Summed::Cations => (CATIONS, MORE_CATIONS),
        Summed::Anions => (ANIONS, MORE_ANIONS),
    };
    let (mut ions, more) = balance::side(view, tracks, must, may)?;
    if side == Summed::Anions {
        ions.push(of(&"bicarbonate").or_else(|| of(&"alkalinity"))?);
    }
    let needed = ions.len();
    ions.extend(more);
    ions.extend((side == Summed::Anions).then(|| of(&"carbonate")).flatten());
    Some((ions, needed))
}

/// What a printed sum says of its ions: its label, and for each ion that it settles the unit and the reading.
#[allow(clippy::type_complexity)] // the stage's own inner seam
fn of_side<'t>(
    view: &View<'t, '_, '_>,
    tracks: &[Resolved],
    side: Summed,
) -> Option<(&'t str, Vec<(Ion, usize, Reading)>)> {
    let (at, label, is_charge) = printed(view, side)?;
    let (ions, needed) = ions_of(view, tracks, side)?;
    let silent = ions.iter().any(|ion| is_silent(&tracks[ion.index]));
    let open = ions.iter().any(|ion| is_open(&tracks[ion.index]));
    // A sum without a unit is in that of its ions, whichever that is.
    if !(open || silent) || (silent && !is_charge) {
        return None;
    }
    let number = |(i, ion): (usize, &Ion), line: u32| {
        let number = ion.number(view, line);
        if i < needed {
            number
        } else {
            Some(number.map_or(0.0, |n| n))
        }
    };
    let lines: Vec<(f64, Vec<f64>)> = (view.lines.iter())
        .filter_map(|line| {
            let sum = value(view.sight, *line, at, view.decimal).filter(|sum| *sum > 0.0)?;
            let numbers: Option<Vec<f64>> = ions
                .iter()
                .enumerate()
                .map(|ion| number(ion, *line))
                .collect();
            Some((sum, numbers?))
        })
        .take(MOST_LINES)
        .collect();
    let sums = || lines.iter().map(|(sum, _)| *sum);
    let (least, most) = (sums().fold(f64::MAX, f64::min), sums().fold(0.0, f64::max));
    if lines.len() < FEWEST || most < SPREAD * least {
        return None;
    }
    let mut fitting: Vec<(usize, Vec<Reading>)> = Vec::new();
    let mut is_sure = false;
    for unit in 0..if silent { UNITS.len() } else { 1 } {
        let readings: Option<Vec<Vec<Reading>>> = (ions.iter().enumerate())
            .map(|(i, ion)| readings(view, tracks, *ion, i < needed, unit))
            .collect();
        for choice in choices(&readings?)? {
            let adds_up = |(sum, numbers): &&(f64, Vec<f64>)| {
                let own: f64 = numbers.iter().zip(&choice).map(|(n, r)| n * r.meq).sum();
                (own / sum - 1.0).abs() <= ROUNDING
            };
            let fits = lines.iter().filter(adds_up).count();
            is_sure |= fits * 5 >= lines.len() * 4;
            if fits * 5 > lines.len() {
                fitting.push((unit, choice));
            }
        }
    }
    let (unit, first) = fitting.first().filter(|_| is_sure)?;
    if fitting.iter().any(|(other, _)| other != unit) {
        return None;
    }
    let settled = ions
        .into_iter()
        .zip(first)
        .enumerate()
        .filter(|(i, (ion, reading))| {
            let track = &tracks[ion.index];
            (is_open(track) || is_silent(track))
                && reading.meq > 0.0
                && fitting.iter().all(|(_, choice)| choice[*i] == **reading)
        });
    let settled = settled.map(|(_, (ion, reading))| (ion, *unit, reading.clone()));
    Some((label, settled.collect()))
}

/// The ways to read an ion in one of [`UNITS`]. That a sum leaves it out is one of them unless both its basis is
/// known and every sum has it.
fn readings(
    view: &View<'_, '_, '_>,
    tracks: &[Resolved],
    ion: Ion,
    is_needed: bool,
    unit: usize,
) -> Option<Vec<Reading>> {
    let Some(Ok(track)) = &tracks[ion.index] else {
        return None;
    };
    let unit = if is_silent(&tracks[ion.index]) {
        unit
    } else {
        0
    };
    let meq = meq_in(view, ion, unit)?;
    let open = is_open(&tracks[ion.index]);
    let mut readings: Vec<Reading> = if open && unit == 0 {
        let bases = &view.context.vocabulary.analyte(ion.analyte).bases;
        let of = |basis: &Basis| {
            Some(Reading {
                basis: Some(basis.clone()),
                meq: meq * ratio(view.context, track, basis)?,
            })
        };
        bases.iter().map(of).collect::<Option<_>>()?
    } else {
        vec![Reading { basis: None, meq }]
    };
    if open || !is_needed {
        readings.push(Reading {
            basis: None,
            meq: 0.0,
        });
    }
    Some(readings)
}

/// Every way to read all ions; `None` where there are too many to try.
fn choices(readings: &[Vec<Reading>]) -> Option<Vec<Vec<Reading>>> {
    let mut all: Vec<Vec<Reading>> = vec![Vec::new()];
    for of_ion in readings {
        if all.len() * of_ion.len() > MOST_CHOICES {
            return None;
        }
        let longer = |choice: &Vec<Reading>| {
            let choice = choice.clone();
            of_ion
                .iter()
                .map(move |reading| [&choice[..], std::slice::from_ref(reading)].concat())
        };
        all = all.iter().flat_map(longer).collect();
    }
    Some(all)
}

/// The report itself has shown how the ion is meant: no assumption is left.
fn take_reading(
    view: &View<'_, '_, '_>,
    tracks: &mut [Resolved],
    ion: Ion,
    (unit, basis): (usize, Option<Basis>),
    label: &str,
    findings: &mut Vec<Finding>,
) {
    let index = ion.index;
    let silent = is_silent(&tracks[index]);
    if unit > 0 && silent && !take(view, tracks, index, UNITS[unit], findings) {
        return;
    }
    let Some(Ok(track)) = &mut tracks[index] else {
        return;
    };
    if basis
        .as_ref()
        .is_some_and(|basis| !count_as(view.context, track, basis))
    {
        return;
    }
    track.assumption = None;
    track.unit_from = Origin::Heading;
    view.forget(UNIT_ASSUMED, index, findings);
    view.forget("basis-assumed", index, findings);
    let what = match basis {
        Some(basis) if silent => format!("in {} as {basis}", UNITS[unit]),
        Some(basis) => format!("as {basis}"),
        None => format!("in {}", UNITS[unit]),
    };
    let code = if silent {
        "unit-from-evidence"
    } else {
        "basis-from-evidence"
    };
    let what = format!("{what}: only so does it add up to '{label}'");
    view.tell(index, code, what, findings);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_by_their_names() {
        for (label, side) in [
            ("Sum of cations (meq/L)", Summed::Cations),
            ("Total Cation Charge (meq)", Summed::Cations),
            ("Σ Anions", Summed::Anions),
            ("∑Kationen", Summed::Cations),
            ("Summe der Anionen mval/l", Summed::Anions),
            ("Somme des anions", Summed::Anions),
            ("Suma de aniones", Summed::Anions),
            ("Somma cationi", Summed::Cations),
            ("Total anions", Summed::Anions),
        ] {
            assert_eq!(summed(label), Some(side), "{label}");
        }
        for label in [
            "Anions",
            "Cations and anions",
            "Sum",
            "Cation exchange capacity",
            "Anion gap",
            "Total anionic surfactants by MBAS",
            "",
        ] {
            assert_eq!(summed(label), None, "{label}");
        }
    }
}
