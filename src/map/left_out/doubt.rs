//! Tables headed as results are that hold something else: correlations, loadings of a component analysis.

use crate::locate::Look;
use crate::map::heads::columns::{is_nines, numbers};
use crate::map::heads::head::Head;
use crate::map::plan::Decimal;
use crate::map::sight::Sight;
use crate::vocabulary::{AnalyteId, Meaning};

/// Lines of a matrix at least; two lines may be called by chance what a track is called.
const FEWEST: usize = 3;

/// Why the lines of a table are no results; `None` where nothing speaks against them.
pub(in crate::map) fn no_results(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    lines: &[u32],
    decimal: Decimal,
) -> Option<&'static str> {
    if labels_on_both_sides(sight, heads, lines) {
        return Some("analytes on both sides, as a matrix of correlations has");
    }
    impossible_ph(sight, heads, lines, decimal)
        .then_some("most of its pH is beyond what water can have, so that these are other figures")
}

fn is_analyte(head: &Head) -> Option<AnalyteId> {
    match &head.meaning {
        Meaning::Analyte(id) => Some(*id),
        _ => None,
    }
}

/// The lines are called as the tracks are: what stands between is a relation of two analytes.
fn labels_on_both_sides(sight: &Sight<'_, '_>, heads: &[(u32, Head)], lines: &[u32]) -> bool {
    let named = lines
        .iter()
        .filter(|line| {
            sight.cells(**line).next().is_some_and(|(_, cell)| {
                sight.reader.look(cell.view()) == Look::Analyte
                    && match &sight.reader.heading(&cell.as_text()).meaning {
                        Meaning::Analyte(id) => {
                            heads.iter().any(|(_, h)| is_analyte(h) == Some(*id))
                        }
                        _ => false,
                    }
            })
        })
        .count();
    named >= FEWEST && named * 2 > lines.len()
}

/// More than half of the numbers under pH cannot be a pH. A lost decimal sign in a whole file looks the
/// same, and is no less a reason to place nothing.
fn impossible_ph(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    lines: &[u32],
    decimal: Decimal,
) -> bool {
    let vocabulary = sight.reader.vocabulary();
    let ph = vocabulary.find("ph");
    let Some((low, high)) = ph.and_then(|id| vocabulary.analyte(id).hard_range) else {
        return false;
    };
    heads
        .iter()
        .filter(|(_, head)| is_analyte(head) == ph && head.unit.is_none())
        .any(|(track, _)| {
            let column = numbers(sight, lines, *track, decimal);
            let told = column.iter().map(|(_, n)| *n).filter(|n| !is_nines(*n));
            let (possible, not): (Vec<f64>, Vec<f64>) = told.partition(|n| *n >= low && *n <= high);
            not.len() >= 2 && not.len() > possible.len()
        })
}
