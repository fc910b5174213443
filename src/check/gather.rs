//! What was found becomes findings: severity by the user's limits, what was acknowledged left out, the
//! like of one file told as one, all in a fixed order.

use super::found::{Found, Grade};
use super::limits::Limits;
use super::table;
use crate::finding::{Finding, Severity};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

/// More findings of one kind in one file than this are told as one: nobody reads forty lines alike.
const TOLD_ONE_BY_ONE: usize = 5;

/// So many samples are named where many are told as one.
const NAMED: usize = 12;

/// File, code, analyte, grade: what is told as one when it is much.
type Kind = (Arc<str>, &'static str, Option<String>, Grade);

pub(super) fn findings(found: Vec<Found>, limits: &Limits) -> Vec<Finding> {
    let mut alike: BTreeMap<Kind, Vec<Found>> = BTreeMap::new();
    for one in found {
        let analyte = one.analyte.as_deref().map(str::to_owned);
        let group = (one.place.file.clone(), one.code, analyte, one.grade);
        alike.entry(group).or_default().push(one);
    }
    let mut findings: Vec<Finding> = Vec::new();
    for ((_, code, _, grade), group) in alike {
        let Some(severity) = severity(code, grade, limits) else {
            continue;
        };
        let mut told: Vec<(Finding, f64)> = (group.into_iter())
            .map(|one| (finding(&one, severity), one.weight))
            .filter(|(finding, _)| !limits.is_acknowledged(finding))
            .collect();
        told.sort_by(|a, b| a.0.place.cmp(&b.0.place));
        if told.len() > TOLD_ONE_BY_ONE {
            let one = told_as_one(code, &told);
            if !limits.is_acknowledged(&one) {
                findings.push(one);
            }
        } else {
            findings.extend(told.into_iter().map(|(finding, _)| finding));
        }
    }
    findings.sort_by(|a, b| {
        (&a.place, &a.sample_key, &a.code, &a.message).cmp(&(
            &b.place,
            &b.sample_key,
            &b.code,
            &b.message,
        ))
    });
    findings
}

/// `None` where the user switched the check off.
fn severity(code: &str, grade: Grade, limits: &Limits) -> Option<Severity> {
    let check = limits.checks.get(code)?;
    if check.quiet {
        return None;
    }
    Some(match (grade, check.severity) {
        (Grade::Usual, severity) => severity,
        (Grade::Milder, Severity::Error) => Severity::Warning,
        (Grade::Milder, _) => Severity::Note,
        (Grade::Graver, Severity::Note) => Severity::Warning,
        (Grade::Graver, _) => Severity::Error,
    })
}

fn finding(found: &Found, severity: Severity) -> Finding {
    Finding {
        severity,
        code: Cow::Borrowed(found.code),
        message: found.message.clone(),
        help: found.help.clone(),
        place: found.place.clone(),
        sample_key: found.sample.clone(),
        analyte: found.analyte.clone(),
        cells: found.cells,
        cause: None,
    }
}

/// One finding for many: the worst as example, the others by name.
fn told_as_one(code: &str, told: &[(Finding, f64)]) -> Finding {
    let worst = (told.iter())
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.place.cmp(&a.0.place)))
        .map(|(finding, _)| finding)
        .expect("a group has members");
    let gist = table::find(code).map_or("", |check| check.gist);
    let names: Vec<&str> = (told.iter())
        .filter(|(finding, _)| finding.place != worst.place)
        .map(|(finding, _)| finding.message.split(':').next().map_or("", str::trim))
        .take(NAMED)
        .collect();
    let more = told.len() - 1 - names.len();
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    Finding {
        message: format!(
            "{gist} in {} samples, worst in {}; also {}{more}",
            told.len(),
            worst.message,
            names.join("; ")
        ),
        sample_key: None,
        cells: told.iter().map(|(finding, _)| finding.cells).sum(),
        ..worst.clone()
    }
}
