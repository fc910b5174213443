//! # laboratories-differ: two laboratories differ on samples taken together
//!
//! ## What it finds
//!
//! Sources sampled on the same day for two laboratories, at least three times: numbers of one are always
//! higher, in the middle by more than 15 % (25 % for trace metals and boron, 40 % for ammonium).
//!
//! ## Why it matters
//!
//! One of them measures otherwise; numbers of both cannot stand in one history.
//!
//! ## When it is wrong
//!
//! Where the two samples of a day are of different places under one name.
//!
//! ## Source
//!
//! Uncertainties that German law allows per result (Trinkwasserverordnung, read in extracts): 15 % major
//! ions, 25 % boron, copper, aluminium, 30 % iron and manganese, 40 % ammonium. The rest: judgement.

use super::prelude::*;
use crate::check::cause::median;
use crate::check::samples::Judged;
use jiff::civil::Date;
use std::collections::BTreeMap;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["pairs", "percent", "percent_trace", "percent_ammonium"],
    gist: "two laboratories differ on samples taken together",
    yields_to: &[],
    scope: Scope::Source(find),
    text: include_str!("laboratories_differ.rs"),
};

const CODE: &str = "laboratories-differ";

fn find(case: &SourceCase<'_>, found: &mut Vec<Found>) {
    let mut pairs: BTreeMap<(&str, &str), Vec<(&Judged<'_>, &Judged<'_>)>> = BTreeMap::new();
    for (one, other) in same_day(case) {
        if let (Some(a), Some(b)) = (one.about.lab.as_deref(), other.about.lab.as_deref()) {
            let (laboratories, pair) = match a.cmp(b) {
                std::cmp::Ordering::Less => ((a, b), (one, other)),
                std::cmp::Ordering::Greater => ((b, a), (other, one)),
                std::cmp::Ordering::Equal => continue,
            };
            pairs.entry(laboratories).or_default().push(pair);
        }
    }
    for ((one, other), pairs) in pairs {
        for substance in Substance::ALL {
            let mut ratios: Vec<f64> = (pairs.iter())
                .filter_map(|(a, b)| {
                    let of = |s: &Judged<'_>| s.water().plain(*substance).filter(|v| *v > 0.0);
                    Some(of(a)? / of(b)?)
                })
                .collect();
            if (ratios.len() as f64) < case.limit("pairs") || *substance == Substance::Ph {
                continue;
            }
            let apart = 1.0 + case.limit(allowance(*substance)) / 100.0;
            let middle = median(&mut ratios);
            let higher = ratios.iter().all(|r| *r > 1.0) && middle > apart;
            let lower = ratios.iter().all(|r| *r < 1.0) && middle < 1.0 / apart;
            if !(higher || lower) {
                continue;
            }
            let message = format!(
                "{}: {} at {one} is {} times that at {other}, in all {} samples taken on the same day",
                who(pairs[0].0.about),
                substance.name(),
                significant(middle),
                ratios.len(),
            );
            let help =
                "ask both for method, unit and basis; do not join their numbers to one history";
            let place = pairs[0].0;
            found.push(Found::at(
                CODE,
                case.samples,
                place,
                *substance,
                message,
                help,
            ));
        }
    }
}

/// The only two samples of each day that has two.
fn same_day<'c, 's>(case: &'c SourceCase<'s>) -> Vec<(&'c Judged<'s>, &'c Judged<'s>)> {
    let mut days: BTreeMap<Date, Vec<&Judged<'_>>> = BTreeMap::new();
    for sample in case.history {
        if let Some(day) = sample.about.sampled_on {
            days.entry(day).or_default().push(sample);
        }
    }
    (days.into_values())
        .filter_map(|samples| match samples.as_slice() {
            [one, other] => Some((*one, *other)),
            _ => None,
        })
        .collect()
}

/// Name of the limit for a substance.
fn allowance(substance: Substance) -> &'static str {
    match substance {
        Substance::Ammonium => "percent_ammonium",
        Substance::Boron => "percent_trace",
        s if s >= Substance::Iron && s <= Substance::Vanadium => "percent_trace",
        _ => "percent",
    }
}
