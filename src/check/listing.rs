//! The checks and classes as a person or a program may list them: what each is, how severe, with which
//! limits, from where.

use super::limits::Limits;
use super::table::{CHECKS, Check};
use crate::finding::Severity;

/// A check with the limits in force.
#[derive(Clone, Debug, PartialEq)]
pub struct ListedCheck {
    pub code: &'static str,
    /// One line.
    pub title: String,
    /// `None` where the user switched it off.
    pub severity: Option<Severity>,
    /// Name and number of each limit.
    pub limits: Vec<(&'static str, f64)>,
    /// Where the limits come from.
    pub source: String,
}

/// A class with the limits in force.
#[derive(Clone, Debug, PartialEq)]
pub struct ListedClass {
    /// Column of `samples`.
    pub figure: String,
    /// What is classed.
    pub of: String,
    /// "soft below 60, hard": the steps in words.
    pub steps: String,
    pub source: String,
}

/// All checks, sorted by code.
pub fn listed_checks(limits: &Limits) -> Vec<ListedCheck> {
    CHECKS.iter().map(|check| listed(check, limits)).collect()
}

/// One check with the limits in force.
pub fn listed(check: &Check, limits: &Limits) -> ListedCheck {
    let held = limits.checks.get(check.code);
    ListedCheck {
        code: check.code,
        title: title(check),
        severity: held.filter(|h| !h.quiet).map(|h| h.severity),
        limits: check
            .limits
            .iter()
            .map(|name| (*name, limits.of_check(check.code).number(name)))
            .collect(),
        source: held.map_or_else(String::new, |h| h.source.clone()),
    }
}

/// The first line of the explanation without code.
fn title(check: &Check) -> String {
    let explanation = check.explanation();
    let first = explanation.lines().next().map_or("", |line| line);
    first
        .split_once(": ")
        .map_or(first, |(_, title)| title)
        .to_owned()
}

/// All classes, in the order of `limits.toml`, with the two that go by two numbers at once.
pub fn listed_classes(limits: &Limits) -> Vec<ListedClass> {
    let steps = |steps: &[(&str, super::limits::Reach)]| {
        let words: Vec<String> = (steps.iter())
            .map(|(name, reach)| reach.in_words(name))
            .collect();
        words.join(", ")
    };
    let mut classes: Vec<ListedClass> = (limits.classes.iter())
        .map(|class| ListedClass {
            figure: class.figure.clone(),
            of: class.of.clone(),
            steps: steps(&class.steps),
            source: class.source.clone(),
        })
        .collect();
    let rows: Vec<String> = (limits.infiltration.iter())
        .map(|row| {
            format!(
                "ratio up to {}: none above {}, severe below {} µS/cm",
                row.ratio_up_to, row.none_above, row.severe_below
            )
        })
        .collect();
    classes.push(ListedClass {
        figure: "restriction_infiltration".to_owned(),
        of: "sodium_adsorption_ratio_calculated, conductivity".to_owned(),
        steps: rows.join("; "),
        source: limits.infiltration_source.clone(),
    });
    let lines: Vec<String> = (limits.sodium_lines.iter())
        .map(|line| {
            format!(
                "{} up to {} - {} lg(conductivity)",
                line.name, line.at, line.slope
            )
        })
        .collect();
    classes.push(ListedClass {
        figure: "sodium_class".to_owned(),
        of: "sodium_adsorption_ratio_calculated, conductivity".to_owned(),
        steps: format!("{}, {} above", lines.join(", "), limits.sodium_beyond),
        source: limits.sodium_source.clone(),
    });
    let bands: Vec<String> = limits.bands.iter().map(|band| band.in_words()).collect();
    classes.push(ListedClass {
        figure: "charge_balance_verdict".to_owned(),
        of: "cations_meq_l, anions_meq_l".to_owned(),
        steps: format!("balanced within {}", bands.join(", ")),
        source: limits.balance_source.clone(),
    });
    classes
}
