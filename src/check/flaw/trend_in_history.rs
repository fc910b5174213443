//! # trend-in-history: numbers that only go one way
//!
//! ## What it finds
//!
//! In one source with at least five dated samples over at least three years: chloride, sodium,
//! nitrate, bicarbonate, sulfate or conductivity that rises or falls with hardly an exception
//! (Kendall's tau beyond 0.8) and by more than 30 %. Where the extra chloride and sodium have
//! sea-water proportions, that is said.
//!
//! ## Why it matters
//!
//! Over-pumping, salt intrusion, fertiliser arriving in the ground water: what one sample cannot
//! show.
//!
//! ## When it is wrong
//!
//! A change of laboratory in between, see step-at-laboratory.
//!
//! ## Source
//!
//! Kendall 1938 for tau; sodium to chloride 0.86 in sea water, from memory; limits: judgement.

use super::prelude::*;
use crate::check::cause::median;
use jiff::civil::Date;
pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Note,
    limits: &["samples", "years", "change_percent", "tau"],
    gist: "numbers go one way for years",
    yields_to: &[],
    scope: Scope::Source(find),
    text: include_str!("trend_in_history.rs"),
};

const CODE: &str = "trend-in-history";

fn find(case: &SourceCase<'_>, found: &mut Vec<Found>) {
    let analytes = [
        Substance::Chloride,
        Substance::Sodium,
        Substance::Nitrate,
        Substance::Bicarbonate,
        Substance::Sulfate,
        Substance::Conductivity,
    ];
    let mut trends: Vec<(Substance, f64, f64)> = Vec::new();
    let Some(last) = case.history.last() else {
        return;
    };
    for substance in analytes {
        let points: Vec<(Date, f64)> = (case.history.iter())
            .filter_map(|s| Some((s.about.sampled_on?, s.water().plain(substance)?)))
            .collect();
        let (Some(first), Some(end)) = (points.first(), points.last()) else {
            continue;
        };
        let years = f64::from((end.0 - first.0).get_days()) / 365.25;
        let third = (points.len() / 3).max(1);
        let middle =
            |points: &[(Date, f64)]| median(&mut points.iter().map(|p| p.1).collect::<Vec<_>>());
        let (old, new) = (
            middle(&points[..third]),
            middle(&points[points.len() - third..]),
        );
        if (points.len() as f64) < case.limit("samples")
            || years < case.limit("years")
            || old <= 0.0
            || 100.0 * (new / old - 1.0).abs() < case.limit("change_percent")
            || tau(&points).abs() < case.limit("tau")
        {
            continue;
        }
        trends.push((substance, old, new));
    }
    if trends.is_empty() {
        return;
    }
    let listed: Vec<String> = (trends.iter())
        .map(|(s, old, new)| {
            format!(
                "{} from {} to {}",
                s.name(),
                significant(*old),
                significant(*new)
            )
        })
        .collect();
    let sea = if is_sea(&trends) {
        "; the extra salt has sea-water proportions"
    } else {
        ""
    };
    let message = format!(
        "{}: {} over the years{sea}",
        who(last.about),
        listed.join(", ")
    );
    let help =
        "plan for the water to come; sample twice a year and ask about pumping and neighbours";
    let mut one = Found::at(CODE, case.samples, last, trends[0].0, message, help);
    one.cells = case.history.len() as u64;
    found.push(one);
}

/// Kendall's tau of values over time, −1 to 1.
fn tau(points: &[(Date, f64)]) -> f64 {
    let mut sum = 0.0;
    let mut pairs = 0.0;
    for (i, a) in points.iter().enumerate() {
        for b in &points[i + 1..] {
            pairs += 1.0;
            sum += match b.1.total_cmp(&a.1) {
                std::cmp::Ordering::Greater => 1.0,
                std::cmp::Ordering::Less => -1.0,
                std::cmp::Ordering::Equal => 0.0,
            };
        }
    }
    if pairs > 0.0 { sum / pairs } else { 0.0 }
}

/// Sodium to chloride of the increase, in charge, near that of sea water.
fn is_sea(trends: &[(Substance, f64, f64)]) -> bool {
    let rise = |substance: Substance| {
        let (_, old, new) = trends.iter().find(|(s, ..)| *s == substance)?;
        Some((new - old) * substance.charge_per_mg()?)
    };
    match (rise(Substance::Sodium), rise(Substance::Chloride)) {
        (Some(sodium), Some(chloride)) if chloride > 0.0 => {
            (0.7..=1.0).contains(&(sodium / chloride))
        }
        _ => false,
    }
}
