//! # results-disagree: two results of one analyte in one sample
//!
//! ## What it finds
//!
//! Two plain results of the same analyte (and fraction) in one sample that differ by more than 20 %
//! of their mean (a note), or 50 % (a warning). Used is: dissolved before total before unstated, a
//! number before a limit, the report issued last. Two that differ and count the same are told however
//! near they are, and neither is used, in figures as in the wide table.
//!
//! ## Why it matters
//!
//! A corrected re-issue, two methods, or a typing error: only the laboratory can say which counts.
//!
//! ## When it is wrong
//!
//! pH, temperature and conductivity in the field and in the laboratory differ rightly; metals and
//! bacteria scatter more.
//!
//! ## Source
//!
//! Relative difference: US Geological Survey (10 %), laboratory programmes (20 to 30 %), read.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["percent", "warning_percent"],
    gist: "two results of one analyte disagree",
    yields_to: &["units-contradict"],
    scope: Scope::Sample(find),
    text: include_str!("results_disagree.rs"),
};

const CODE: &str = "results-disagree";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    // That tells more.
    if case.sample.is_mixed {
        return;
    }
    for (id, entries) in case.sample.ranked.iter() {
        let Some(used) = entries.first().filter(|entry| entry.censored.is_none()) else {
            continue;
        };
        let fraction = case.samples.column(used.column).fraction;
        let others = entries.iter().skip(1).filter(|entry| {
            entry.censored.is_none() && case.samples.column(entry.column).fraction == fraction
        });
        let analyte = case.samples.vocabulary.analyte(*id);
        let apart = |other: f64| case.samples.percent_apart(*id, used.value, other);
        let Some((other, percent)) = others
            .map(|entry| (entry, apart(entry.value)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
        else {
            continue;
        };
        let disputed = case.samples.is_disputed(entries);
        if percent <= case.limit("percent") && !disputed {
            continue;
        }
        let which = if disputed {
            "neither is used".to_owned()
        } else {
            format!("{} is used", significant(used.value))
        };
        let message = format!(
            "{}: two results for {}: {} here, {} in {}; {which}",
            case.who(),
            analyte.name,
            significant(used.value),
            significant(other.value),
            case.samples.place(other),
        );
        let help = "ask the laboratory which is valid; a mapping can set the other aside";
        let mut one = case.found(CODE, Substance::Ph, message, help);
        one.place = case.samples.place(used);
        one.analyte = Some(analyte.code.clone().into());
        let grave = percent > case.limit("warning_percent");
        found.push(
            one.grade(if grave { Grade::Usual } else { Grade::Milder })
                .weigh(percent),
        );
    }
}
