//! Explanations in words: what is seen, what would explain it, how well, and the mapping line that would
//! apply it.

use super::column::{ColumnFault, Proposal};
use super::fit::Fit;
use super::hypothesis::{Fault, Hypothesis, Undo};
use super::sample::SampleFault;
use super::significant::significant;
use super::slip::{Slip, Toward};
use crate::check::found::{Found, Grade, who};
use crate::check::samples::{Column, Judged, Samples};
use crate::check::substance::Substance;
use crate::record::Origin;
use std::borrow::Cow;

const fn code(fault: Fault) -> &'static str {
    match fault {
        Fault::Basis => "basis-doubtful",
        Fault::Unit => "unit-doubtful",
        Fault::Exchange => "values-exchanged",
        Fault::Decimal => "decimal-slip",
        Fault::Dilution => "dilution-doubtful",
        Fault::Missing => "ion-missing",
    }
}

/// A column's fault as one finding, at the first cell of the column.
pub(in crate::check) fn tell_column(
    samples: &Samples<'_>,
    group: &[&Judged<'_>],
    fault: &ColumnFault,
) -> Option<Found> {
    let best = fault.proposals.first()?;
    let column = samples.column(fault.column);
    let entry = (fault.touched.iter())
        .filter_map(|i| group[*i].entry(best.hypothesis.about))
        .filter(|entry| entry.column == fault.column)
        .min_by_key(|entry| (entry.sheet, entry.at))?;
    let label = squash(column.label());
    let message = format!(
        "column '{label}': its numbers fit if {}: {}{}",
        best.hypothesis.words,
        evidence(best),
        others(
            fault.equal,
            fault.proposals.iter().map(|p| (&p.hypothesis, in_short(p)))
        ),
    );
    let help = match mapping_line(&best.hypothesis, samples, group, fault, column) {
        Some(line) => {
            format!(
                "ask the laboratory; if it agrees, say so in the mapping, under [labels]: {line}"
            )
        }
        None => {
            "ask the laboratory for the report as it left the house; nothing was changed".to_owned()
        }
    };
    Some(Found {
        code: code(best.hypothesis.fault),
        grade: Grade::Usual,
        place: samples.place(entry),
        sample: None,
        analyte: Some(Cow::Borrowed(best.hypothesis.about.code())),
        message,
        help,
        cells: fault.touched.len() as u64,
        weight: fault.touched.len() as f64,
    })
}

/// A run of slipped rows as one finding, at the first number concerned.
pub(in crate::check) fn tell_slip(
    samples: &Samples<'_>,
    group: &[&Judged<'_>],
    slip: &Slip,
) -> Option<Found> {
    let (first, last) = (slip.samples.first()?, slip.samples.last()?);
    let about = *slip.substances.first()?;
    let names: Vec<&str> = slip.substances.iter().map(|s| s.name()).collect();
    let toward = match slip.toward {
        Toward::Before => "before",
        Toward::After => "after",
    };
    let message = format!(
        "{} from {} to {}: each fits the sample {toward} it, as if slipped by one row: {} of {} samples then \
         agree with themselves, before {}",
        names.join(", "),
        who(group[*first].about),
        who(group[*last].about),
        slip.sound_after,
        slip.samples.len(),
        slip.sound_before,
    );
    let help = "compare these columns with the report as it left the laboratory, sample by sample; nothing was moved";
    let mut found = Found::at("rows-slipped", samples, group[*first], about, message, help);
    found.sample = None;
    found.cells = (slip.samples.len() * slip.substances.len()) as u64;
    Some(found)
}

/// "14 of 15 samples balance within 2 %, before 1; ...".
fn evidence(proposal: &Proposal) -> String {
    let (before, after) = (&proposal.before, &proposal.after);
    let narrow = 2 * after.within_2 >= after.within_5;
    let (width, now, then) = if narrow {
        (2, after.within_2, before.within_2)
    } else {
        (5, after.within_5, before.within_5)
    };
    let mut text = format!(
        "{now} of {} samples then balance within {width} %, before {then}",
        after.balances
    );
    if after.conductivities > 0 {
        text.push_str(&format!(
            "; conductivity from the ions within 10 % of measured in {} of {}, before {}",
            after.within_10, after.conductivities, before.within_10
        ));
    }
    if let Some(history) = proposal.history {
        text.push_str(&format!(
            "; {} of {} numbers then agree with the history of their source, before {}",
            history.after, history.samples, history.before
        ));
    }
    text
}

/// "12 of 15 within 2 %".
fn in_short(proposal: &Proposal) -> String {
    let after = &proposal.after;
    let (width, now) = if 2 * after.within_2 >= after.within_5 {
        (2, after.within_2)
    } else {
        (5, after.within_5)
    };
    format!("{now} of {} within {width} %", after.balances)
}

/// The other proposals: those that fit as well are told apart from the weaker ones.
fn others<'p>(equal: usize, proposals: impl Iterator<Item = (&'p Hypothesis, String)>) -> String {
    let mut text = String::new();
    for (position, (hypothesis, evidence)) in proposals.enumerate().skip(1) {
        let how = if position < equal {
            "as well"
        } else {
            "less well"
        };
        text.push_str(&format!(
            "; fits {how} if {} ({evidence})",
            hypothesis.words
        ));
    }
    text
}

fn mapping_line(
    hypothesis: &Hypothesis,
    samples: &Samples<'_>,
    group: &[&Judged<'_>],
    fault: &ColumnFault,
    column: &Column,
) -> Option<String> {
    let label_of = |substance: Substance| {
        let entry = (fault.touched.iter()).find_map(|i| group[*i].entry(substance))?;
        Some(quoted(samples.column(entry.column).label_text.as_deref()?))
    };
    if let Undo::Exchange((one, _), (other, _)) = hypothesis.undo {
        return Some(format!(
            "{} = {{ means = \"{}\", override = true }} and {} = {{ means = \"{}\", override = true }}",
            label_of(one)?,
            other.code(),
            label_of(other)?,
            one.code()
        ));
    }
    let rule = hypothesis.rule?;
    // A report that says itself what it means is contradicted only by a mapping that insists.
    let stated = !matches!(column.unit_from, Origin::Assumed | Origin::Mapping);
    let rule = if stated {
        format!("{rule}, override = true, reason = \"…\"")
    } else {
        rule.to_owned()
    };
    let lines: Option<Vec<String>> = (hypothesis.substances().into_iter())
        .map(|substance| Some(format!("{} = {{ {rule} }}", label_of(substance)?)))
        .collect();
    Some(lines?.join(" and "))
}

/// A label as a TOML key.
fn quoted(label: &str) -> String {
    let label = squash(label).replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{label}\"")
}

/// White space of all kinds to single spaces.
fn squash(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A sample's fault as one finding, at the cell concerned. `None` when nothing explains it.
pub(in crate::check) fn tell_sample(
    samples: &Samples<'_>,
    sample: &Judged<'_>,
    before: &Fit,
    fault: &SampleFault,
) -> Option<Found> {
    let best = fault.proposals.first()?;
    let others: String = (fault.proposals.iter().enumerate().skip(1))
        .map(|(position, proposal)| {
            let how = if position < fault.equal {
                "as well"
            } else {
                "less well"
            };
            format!("; fits {how} if {}", proposal.hypothesis.words)
        })
        .collect();
    let message = format!(
        "{}: {}; {} if {}{others}",
        who(sample.about),
        symptom(before),
        fits(&best.after),
        best.hypothesis.words,
    );
    let help = match best.hypothesis.fault {
        Fault::Missing => "ask the laboratory for this ion; nothing was filled in",
        Fault::Dilution => "ask the laboratory whether a dilution was counted; nothing was changed",
        _ => {
            "compare with the report as it left the laboratory; correct it there or in the file, nothing was \
             changed here"
        }
    };
    let found = Found::at(
        code(best.hypothesis.fault),
        samples,
        sample,
        best.hypothesis.about,
        message,
        help,
    );
    Some(found.weigh(before.worst()))
}

fn symptom(fit: &Fit) -> String {
    let balance = fit
        .balance_percent
        .map(|percent| format!("cations and anions differ by {percent:+.1} %"));
    let conductivity = fit.conductivity_ratio.map(|ratio| {
        format!(
            "the ions explain {} times the conductivity",
            significant(ratio)
        )
    });
    match (balance, conductivity) {
        (Some(balance), Some(conductivity)) => format!("{balance}, {conductivity}"),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => "numbers contradict each other".to_owned(),
    }
}

fn fits(after: &Fit) -> String {
    match (after.balance_percent, after.conductivity_ratio) {
        (Some(percent), Some(ratio)) => {
            format!("fits ({percent:+.1} %, {} times)", significant(ratio))
        }
        (Some(percent), None) => format!("fits ({percent:+.1} %)"),
        _ => "fits".to_owned(),
    }
}
