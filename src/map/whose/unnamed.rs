//! Tables whose samples have days and no names.

use crate::finding::Finding;
use crate::map::findings::finding;
use crate::map::plan::Plan;
use crate::place::Place;
use crate::read::Report;

pub(in crate::map) const SAMPLES_UNNAMED: &str = "samples-unnamed";

/// Tells of sheets with such tables: nothing but the file tells their samples from those of another water. (Samples
/// without a day either are told where their lines are read.)
pub(in crate::map) fn tell_unnamed(plan: &Plan, report: &Report, findings: &mut Vec<Finding>) {
    for (sheet, of) in plan.sheets.iter().zip(&report.sheets) {
        let is_dated_only =
            (sheet.blocks.iter()).any(|block| block.is_dated_only() && block.places_anything());
        if is_dated_only {
            findings.push(finding(
                SAMPLES_UNNAMED,
                Place::sheet(&report.file, &of.name),
                "nothing names the samples, only their days: the file alone tells them from those of another water"
                    .into(),
                "name the source in the report, or in a mapping: [constants] source = \"…\"".into(),
            ));
        }
    }
}
