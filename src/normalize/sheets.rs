//! Sheets that give the same samples with other values: two farms' sheets with wells of the same numbers, or two
//! rounds of one. Each is a site of its own then, called as its sheet is.

use super::findings::{Problem, words};
use super::join::Draft;
use crate::finding::Finding;
use crate::place::Place;
use crate::record::Extract;
use crate::vocabulary::{AnalyteId, Fraction};
use hashbrown::HashMap;
use std::collections::{BTreeMap, BTreeSet};

/// Fewer results that two sheets both give tell nothing.
const FEWEST: usize = 4;
/// Results of one sample in two units differ by less, as a share of the larger.
const ROUNDING: f64 = 0.01;

/// What two sheets give for the same samples.
#[derive(Default)]
struct Shared {
    results: usize,
    differ: usize,
}

/// Puts the names of sheets into the samples of those that most often contradict each other. `drafts` are in the
/// order of the measurements' samples.
pub(super) fn tell_apart(extract: &mut Extract, drafts: &mut [Draft]) {
    if extract.sheets.len() < 2 {
        return;
    }
    let mut values: HashMap<(u32, AnalyteId, Option<Fraction>), f64> = HashMap::new();
    let mut kinds: HashMap<u32, Vec<(AnalyteId, Option<Fraction>)>> = HashMap::new();
    for measurement in &extract.measurements {
        let recipe = extract.recipe(measurement.recipe);
        let kind = (recipe.analyte, recipe.fraction);
        let draft = measurement.sample.0;
        if let Some(value) = measurement.value.filter(|_| measurement.censored.is_none())
            && values.insert((draft, kind.0, kind.1), value).is_none()
        {
            kinds.entry(draft).or_default().push(kind);
        }
    }
    let named = (0u32..)
        .zip(drafts.iter())
        .filter(|(_, draft)| draft.has_a_name());
    let mut alike: HashMap<String, Vec<u32>> = HashMap::new();
    for (index, draft) in named {
        alike.entry(draft.identity.told()).or_default().push(index);
    }
    let mut of_sheets: BTreeMap<(usize, usize), Shared> = BTreeMap::new();
    let sheet = |index: u32| drafts[index as usize].sheet;
    for group in alike.values() {
        for (i, first) in group.iter().enumerate() {
            for second in group[i + 1..]
                .iter()
                .filter(|other| sheet(**other) != sheet(*first))
            {
                let shared = of_sheets
                    .entry((sheet(*first), sheet(*second)))
                    .or_default();
                for (analyte, fraction) in kinds.get(first).into_iter().flatten() {
                    let value = |draft: u32| values.get(&(draft, *analyte, *fraction));
                    if let (Some(a), Some(b)) = (value(*first), value(*second)) {
                        shared.results += 1;
                        let is_other = (a - b).abs() > ROUNDING * a.abs().max(b.abs());
                        shared.differ += usize::from(is_other);
                    }
                }
            }
        }
    }
    // Field and laboratory measure other things for the most part.
    let count = |wanted: usize| {
        let of_sheet = kinds.iter().filter(|(draft, _)| sheet(**draft) == wanted);
        of_sheet.map(|(_, kinds)| kinds.len()).sum::<usize>()
    };
    let apart: BTreeSet<usize> = (of_sheets.iter())
        .filter(|((first, second), shared)| {
            let most = count(*first).max(count(*second));
            shared.results >= FEWEST
                && shared.differ * 3 > shared.results * 2
                && shared.results * 3 >= most * 2
        })
        .flat_map(|((first, second), _)| [*first, *second])
        .collect();
    for draft in drafts
        .iter_mut()
        .filter(|draft| apart.contains(&draft.sheet))
    {
        let sheet = &extract.sheets[draft.sheet].sheet;
        draft.identity.name_by_sheet(sheet);
    }
    let Some(first) = apart.first() else { return };
    let names: Vec<String> = (apart.iter())
        .map(|sheet| format!("'{}'", extract.sheets[*sheet].sheet))
        .collect();
    let name = names.join(", ");
    let (severity, message, help) = words(&Problem::Sample {
        code: "sheets-told-apart",
        name: &name,
    });
    let place = Place::sheet(&extract.file, &extract.sheets[*first].sheet);
    extract.findings.push(Finding::new(
        severity,
        "sheets-told-apart",
        place,
        message,
        help,
    ));
}
