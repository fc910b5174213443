//! `limits.toml` as written, strict; compiled into [`super::Limits`] with all problems at once.

use super::acknowledged::{Acknowledged, Acknowledgement};
use super::class::{
    Class, InfiltrationRow, OTHER_QUANTITIES, POSITIVE, Quantity, Reach, SodiumLine, is_positive,
    kept, read_kept, read_positive,
};
use super::{Band, CheckLimits, Limits, Width};
use crate::check::table;
use crate::finding::Severity;
use crate::problem::{Problem, Problems, read_toml};
use crate::record::{FigureColumn, FigureKind, Figures};
use serde::Deserialize;
use std::borrow::Cow;
use std::collections::BTreeMap;
use toml::Spanned;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct Raw {
    balance: Option<RawBalance>,
    figures: RawFigures,
    class: Vec<RawClass>,
    infiltration: Option<RawInfiltration>,
    sodium_class: Option<RawSodium>,
    check: BTreeMap<Spanned<String>, RawCheck>,
    acknowledged: Vec<Acknowledgement>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawBalance {
    source: String,
    bands: Vec<Spanned<RawBand>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawBand {
    #[serde(deserialize_with = "read_positive")]
    anions_up_to: f64,
    meq_l: Option<f64>,
    percent: Option<f64>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawFigures {
    saturation_temperature_cel: Option<Spanned<f64>>,
    feed_conductivity_us_cm: Option<Spanned<f64>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawClass {
    figure: Spanned<String>,
    of: Spanned<String>,
    steps: Spanned<Vec<Spanned<RawStep>>>,
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawStep {
    name: String,
    below: Option<f64>,
    up_to: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawInfiltration {
    source: String,
    rows: Vec<InfiltrationRow>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawSodium {
    source: String,
    lines: Vec<SodiumLine>,
    #[serde(deserialize_with = "read_kept")]
    beyond: Cow<'static, str>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawCheck {
    severity: Option<Spanned<String>>,
    limit: BTreeMap<Spanned<String>, Spanned<f64>>,
    source: Option<String>,
}

/// Lays the limits of a text over `limits`; problems are noted.
pub(super) fn overlay(limits: &mut Limits, text: &str, problems: &mut Problems<'_>) {
    let Some(raw) = read_toml::<Raw>(text, problems) else {
        return;
    };
    if let Some(balance) = raw.balance {
        limits.bands = (balance.bands.iter())
            .filter_map(|band| compile_band(band, problems))
            .collect();
        limits.balance_source = balance.source;
    }
    if let Some(given) = raw.figures.saturation_temperature_cel {
        if given.get_ref().is_finite() {
            limits.saturation_temperature_cel = *given.get_ref();
        } else {
            problems.push(given.span(), "not a number");
        }
    }
    if let Some(given) = raw.figures.feed_conductivity_us_cm {
        if is_positive(*given.get_ref()) {
            limits.feed_conductivity_us_cm = *given.get_ref();
        } else {
            problems.push(given.span(), POSITIVE);
        }
    }
    for class in raw.class {
        if let Some(class) = compile_class(class, problems) {
            match limits.classes.iter_mut().find(|c| c.figure == class.figure) {
                Some(held) => *held = class,
                None => limits.classes.push(class),
            }
        }
    }
    if let Some(infiltration) = raw.infiltration {
        limits.infiltration = infiltration.rows;
        limits.infiltration_source = infiltration.source;
    }
    if let Some(sodium) = raw.sodium_class {
        limits.sodium_lines = sodium.lines;
        limits.sodium_beyond = sodium.beyond;
        limits.sodium_source = sodium.source;
    }
    for (code, check) in raw.check {
        overlay_check(limits, &code, check, problems);
    }
    for acknowledgement in raw.acknowledged {
        if let Some(acknowledged) = Acknowledged::compile(acknowledgement, problems) {
            limits.acknowledged.push(acknowledged);
        }
    }
}

fn compile_band(band: &Spanned<RawBand>, problems: &mut Problems<'_>) -> Option<Band> {
    let raw = band.get_ref();
    if !(raw.meq_l.iter().chain(&raw.percent)).all(|width| is_positive(*width)) {
        problems.push(band.span(), POSITIVE);
        return None;
    }
    let width = match (raw.meq_l, raw.percent) {
        (Some(meq), None) => Width::Charge(meq),
        (None, Some(percent)) => Width::Percent(percent),
        _ => {
            problems.push(band.span(), "a band needs either meq_l or percent");
            return None;
        }
    };
    Some(Band {
        anions_up_to: raw.anions_up_to,
        width,
    })
}

fn compile_class(raw: RawClass, problems: &mut Problems<'_>) -> Option<Class> {
    let figure = raw.figure.get_ref();
    let is_filled = |c: &FigureColumn| c.kind == FigureKind::Text && is_class(c.name);
    let column = (Figures::COLUMNS.iter()).position(|c| c.name == *figure && is_filled(c));
    let Some(column) = column else {
        let filled = Figures::COLUMNS.iter().filter(|c| is_filled(c));
        problems
            .push(raw.figure.span(), format!("no class column '{figure}'"))
            .nearest(figure, filled.map(|c| c.name));
        return None;
    };
    let of = raw.of.get_ref();
    let Some(quantity) = Quantity::find(of) else {
        let known: Vec<&str> = OTHER_QUANTITIES
            .iter()
            .map(|(name, _)| *name)
            .chain(Figures::COLUMNS.iter().map(|c| c.name))
            .chain(crate::check::Substance::ALL.iter().map(|s| s.code()))
            .collect();
        problems
            .push(raw.of.span(), format!("nothing is called '{of}'"))
            .nearest(of, known);
        return None;
    };
    let mut steps = Vec::new();
    let last = raw.steps.get_ref().len().saturating_sub(1);
    let mut former = f64::NEG_INFINITY;
    for (i, step) in raw.steps.get_ref().iter().enumerate() {
        let reach = match (step.get_ref().below, step.get_ref().up_to) {
            (Some(limit), None) => Reach::Below(limit),
            (None, Some(limit)) => Reach::UpTo(limit),
            (None, None) => Reach::Rest,
            (Some(_), Some(_)) => {
                problems.push(step.span(), "a step has below or up_to, not both");
                return None;
            }
        };
        if (reach == Reach::Rest) != (i == last) {
            problems.push(step.span(), "the last step, and no other, takes the rest");
            return None;
        }
        if let Some(limit) = reach.limit() {
            if limit.is_nan() || limit <= former {
                problems.push(step.span(), "the limits of the steps must rise");
                return None;
            }
            former = limit;
        }
        steps.push((kept(&step.get_ref().name), reach));
    }
    if steps.is_empty() {
        problems.push(raw.steps.span(), "a class needs steps");
        return None;
    }
    Some(Class {
        figure: figure.clone(),
        column,
        of: of.clone(),
        quantity,
        steps,
        source: raw.source,
    })
}

/// Text columns that a class of the file may fill; the others are made by the program.
fn is_class(name: &str) -> bool {
    !matches!(
        name,
        "charge_balance_verdict"
            | "missing_ions"
            | "assumptions"
            | "restriction_infiltration"
            | "sodium_class"
    )
}

fn overlay_check(
    limits: &mut Limits,
    code: &Spanned<String>,
    raw: RawCheck,
    problems: &mut Problems<'_>,
) {
    let Some(check) = table::find(code.get_ref()) else {
        problems
            .push(code.span(), format!("no check '{}'", code.get_ref()))
            .nearest(code.get_ref(), table::codes())
            .help("'wellread checks' lists them");
        return;
    };
    let held = (limits.checks)
        .entry(check.code)
        .or_insert_with(|| CheckLimits {
            severity: check.severity,
            quiet: false,
            numbers: Vec::new(),
            source: String::new(),
        });
    if let Some(severity) = raw.severity {
        match Severity::parse(severity.get_ref()) {
            Some(severity) => (held.severity, held.quiet) = (severity, false),
            None if severity.get_ref() == "off" => held.quiet = true,
            None => {
                unknown_severity(problems.push(
                    severity.span(),
                    format!("no severity '{}'", severity.get_ref()),
                ));
            }
        }
    }
    for (name, number) in raw.limit {
        let Some(name) = (check.limits.iter()).find(|known| *known == name.get_ref()) else {
            problems
                .push(
                    name.span(),
                    format!("'{}' has no limit '{}'", check.code, name.get_ref()),
                )
                .nearest(name.get_ref(), check.limits.iter().copied());
            continue;
        };
        if number.get_ref().is_finite() {
            match held.numbers.iter_mut().find(|(known, _)| known == name) {
                Some((_, held)) => *held = *number.get_ref(),
                None => held.numbers.push((*name, *number.get_ref())),
            }
        } else {
            problems.push(number.span(), "not a number");
        }
    }
    if let Some(source) = raw.source {
        held.source = source;
    }
}

fn unknown_severity(problem: &mut Problem) {
    problem.help("error, warning, note, or off");
}
