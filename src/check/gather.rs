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

/// So many of a kind are held: those that are named, and the worst, which may be one of them.
const HELD: usize = NAMED + 1;

/// File, code, analyte, grade: what is told as one when it is much.
type Kind = (Arc<str>, &'static str, Option<Cow<'static, str>>, Grade);

/// Takes what is found, in any order and from any thread, and holds of each kind no more than is told:
/// memory grows with files and kinds, not with what is wrong with them.
pub(super) struct Gather<'l> {
    limits: &'l Limits,
    alike: BTreeMap<Kind, Alike>,
}

/// The findings of one kind.
struct Alike {
    count: usize,
    cells: u64,
    /// By [`order`], at most [`HELD`].
    first: Vec<Finding>,
    worst: (Finding, f64),
}

impl<'l> Gather<'l> {
    pub(super) fn new(limits: &'l Limits) -> Self {
        Self {
            limits,
            alike: BTreeMap::new(),
        }
    }

    pub(super) fn take(&mut self, found: Found) {
        let Some(severity) = severity(found.code, found.grade, self.limits) else {
            return;
        };
        let kind = (
            found.place.file.clone(),
            found.code,
            found.analyte.clone(),
            found.grade,
        );
        let weight = found.weight;
        let finding = finding(found, severity);
        if self.limits.is_acknowledged(&finding) {
            return;
        }
        self.add(kind, Alike::one(finding, weight));
    }

    /// Both as if one had taken all.
    pub(super) fn merge(mut self, other: Self) -> Self {
        if self.alike.is_empty() {
            return other;
        }
        for (kind, alike) in other.alike {
            self.add(kind, alike);
        }
        self
    }

    fn add(&mut self, kind: Kind, alike: Alike) {
        match self.alike.get_mut(&kind) {
            Some(held) => held.merge(alike),
            None => {
                self.alike.insert(kind, alike);
            }
        }
    }

    /// By place, then sample, code and message.
    pub(super) fn findings(self) -> Vec<Finding> {
        let mut findings: Vec<Finding> = Vec::new();
        for ((_, code, ..), alike) in self.alike {
            if alike.count > TOLD_ONE_BY_ONE {
                let one = alike.told_as_one(code);
                if !self.limits.is_acknowledged(&one) {
                    findings.push(one);
                }
            } else {
                findings.extend(alike.first);
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
}

/// Of one kind: by place; the rest makes the order total.
fn order(finding: &Finding) -> impl Ord + '_ {
    (&finding.place, &finding.sample_key, &finding.message)
}

impl Alike {
    fn one(finding: Finding, weight: f64) -> Self {
        Self {
            count: 1,
            cells: finding.cells,
            worst: (finding.clone(), weight),
            first: vec![finding],
        }
    }

    fn merge(&mut self, other: Self) {
        self.count += other.count;
        self.cells += other.cells;
        for finding in other.first {
            let at = (self.first).partition_point(|held| order(held) <= order(&finding));
            if at < HELD {
                self.first.truncate(HELD - 1);
                self.first.insert(at, finding);
            }
        }
        let worse = (other.worst.1.total_cmp(&self.worst.1))
            .then_with(|| order(&self.worst.0).cmp(&order(&other.worst.0)));
        if worse.is_gt() {
            self.worst = other.worst;
        }
    }

    /// One finding for many: the worst as example, the others by name.
    fn told_as_one(self, code: &str) -> Finding {
        let worst = self.worst.0;
        let gist = table::find(code).map_or("", |check| check.gist);
        let names: Vec<&str> = (self.first.iter())
            .filter(|finding| finding.place != worst.place)
            .map(|finding| finding.message.split(':').next().map_or("", str::trim))
            .take(NAMED)
            .collect();
        let more = self.count - 1 - names.len();
        let more = if more > 0 {
            format!(" and {more} more")
        } else {
            String::new()
        };
        Finding {
            message: format!(
                "{gist} in {} samples, worst in {}; also {}{more}",
                self.count,
                worst.message,
                names.join("; ")
            ),
            sample_key: None,
            cells: self.cells,
            ..worst
        }
    }
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

fn finding(found: Found, severity: Severity) -> Finding {
    Finding {
        severity,
        code: Cow::Borrowed(found.code),
        message: found.message,
        help: found.help,
        place: found.place,
        sample_key: found.sample,
        analyte: found.analyte,
        cells: found.cells,
        cause: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::{Address, Place};

    fn found(row: u32, weight: f64) -> Found {
        Found {
            code: "charge-imbalance",
            grade: Grade::Usual,
            place: Place::cell(&"a.csv".into(), &"".into(), Address::new(row, 0)),
            sample: Some(format!("key {row}").into()),
            analyte: None,
            message: format!("S{row}: off by {weight}"),
            help: String::new(),
            cells: 1,
            weight,
        }
    }

    fn gathered(parts: &[&[Found]]) -> Vec<Finding> {
        let gather = (parts.iter())
            .map(|part| {
                let mut gather = Gather::new(Limits::built_in());
                part.iter().for_each(|one| gather.take(one.clone()));
                gather
            })
            .reduce(Gather::merge);
        gather.unwrap().findings()
    }

    #[test]
    fn much_alike_is_told_as_one_whatever_the_order() {
        let all: Vec<Found> = (0..40).map(|row| found(row, f64::from(row % 17))).collect();
        let whole = gathered(&[&all]);
        let [one] = whole.as_slice() else {
            panic!("{whole:?}");
        };
        assert_eq!(one.cells, 40);
        assert_eq!(
            one.message,
            "cations and anions do not balance in 40 samples, worst in S16: off by 16; also S0; S1; S2; S3; S4; \
             S5; S6; S7; S8; S9; S10; S11 and 27 more"
        );
        let turned: Vec<Found> = all.iter().rev().cloned().collect();
        assert_eq!(gathered(&[&turned]), whole);
        for cut in [1, 13, 14, 39] {
            assert_eq!(gathered(&[&all[cut..], &all[..cut]]), whole, "{cut}");
        }
    }

    #[test]
    fn err_five_are_told_one_by_one() {
        let five: Vec<Found> = (0..5).rev().map(|row| found(row, 1.0)).collect();
        let told = gathered(&[&five[..2], &five[2..]]);
        let rows: Vec<u32> = told.iter().map(|f| f.place.cell.unwrap().row).collect();
        assert_eq!(rows, [0, 1, 2, 3, 4]);
    }
}
