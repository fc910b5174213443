//! A conversion between any two units of an analyte, with its arithmetic as a person would write it.
//! The number itself comes from `convert`; what is written here is checked against it.

use super::convert::{counted_of, is_equivalents};
use super::formula::Formula;
use super::{Analyte, AnalyteId, Basis, Dimension, Note, Refusal, Unit, Vocabulary, iso7888};

/// One side of a conversion.
#[derive(Clone, Copy, Debug)]
pub struct Side<'a> {
    pub unit: &'a Unit,
    /// `None`: not said.
    pub basis: Option<&'a Basis>,
    /// °C, for conductivity; `None`: not said.
    pub temperature: Option<f64>,
}

/// A number converted, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Worked {
    pub value: f64,
    /// `None` where the conversion is not a plain factor (°F to °C).
    pub factor: Option<f64>,
    /// `4.2 × 100.086 ÷ 2 = 210.1806`.
    pub arithmetic: String,
    /// Formula masses used, `CaCO3 100.086 g/mol`.
    pub masses: Vec<String>,
    pub note: Option<Note>,
}

impl Vocabulary {
    /// Converts `number` from one unit and basis of an analyte to another. Fails where either side is
    /// no unit of the analyte or needs a basis that is not said.
    pub fn work(
        &self,
        analyte: AnalyteId,
        number: f64,
        from: Side<'_>,
        to: Side<'_>,
    ) -> Result<Worked, Refusal> {
        let there = self.convert(analyte, from.unit, from.basis, from.temperature)?;
        let back = self.convert(analyte, to.unit, to.basis, to.temperature)?;
        let value = (there.apply(number) - back.offset) / back.factor;
        let plain = there.offset == 0.0 && back.offset == 0.0;
        let factor = plain.then_some(there.factor / back.factor);
        let analyte = self.analyte(analyte);
        let (arithmetic, masses) = written(analyte, number, value, factor, from, to);
        Ok(Worked {
            value,
            factor,
            arithmetic,
            masses,
            note: there.note.or(back.note),
        })
    }
}

/// Numbers to multiply and to divide by.
#[derive(Debug, Default)]
struct Steps {
    times: Vec<f64>,
    over: Vec<f64>,
    masses: Vec<String>,
}

impl Steps {
    fn times(&mut self, n: f64) {
        if n < 1.0 && (1.0 / n - (1.0 / n).round()).abs() < 1e-9 {
            self.over.push((1.0 / n).round());
        } else {
            self.times.push(n);
        }
    }

    /// What multiplies and divides goes.
    fn cancel(&mut self) {
        self.times.retain(|n| (n - 1.0).abs() > 1e-12);
        self.over.retain(|n| (n - 1.0).abs() > 1e-12);
        let mut kept = Vec::new();
        for n in self.times.drain(..) {
            match self.over.iter().position(|m| (m - n).abs() < 1e-12) {
                Some(at) => {
                    self.over.remove(at);
                }
                None => kept.push(n),
            }
        }
        self.times = kept;
    }

    fn product(&self) -> f64 {
        self.times.iter().product::<f64>() / self.over.iter().product::<f64>()
    }
}

fn written(
    analyte: &Analyte,
    number: f64,
    value: f64,
    factor: Option<f64>,
    from: Side<'_>,
    to: Side<'_>,
) -> (String, Vec<String>) {
    let result = shown(value);
    let Some(factor) = factor else {
        return (affine(number, from.unit, to.unit, &result), Vec::new());
    };
    if let Some(mut steps) = steps(analyte, from, to) {
        steps.cancel();
        if (steps.product() / factor - 1.0).abs() < 1e-9 {
            let mut text = shown(number);
            for n in &steps.times {
                text.push_str(&format!(" × {}", shown(*n)));
            }
            for n in &steps.over {
                text.push_str(&format!(" ÷ {}", shown(*n)));
            }
            steps.masses.dedup();
            return (format!("{text} = {result}"), steps.masses);
        }
    }
    (
        format!("{} × {} = {result}", shown(number), shown(factor)),
        Vec::new(),
    )
}

fn affine(number: f64, from: &Unit, to: &Unit, result: &str) -> String {
    let n = shown(number);
    match (from.code, to.code) {
        ("[degF]", "Cel") => format!("({n} − 32) × 5 ÷ 9 = {result}"),
        ("Cel", "[degF]") => format!("{n} × 9 ÷ 5 + 32 = {result}"),
        ("K", "Cel") => format!("{n} − 273.15 = {result}"),
        ("Cel", "K") => format!("{n} + 273.15 = {result}"),
        ("[degF]", "K") => format!("({n} − 32) × 5 ÷ 9 + 273.15 = {result}"),
        ("K", "[degF]") => format!("({n} − 273.15) × 9 ÷ 5 + 32 = {result}"),
        _ => format!("{n} → {result}"),
    }
}

fn steps(analyte: &Analyte, from: Side<'_>, to: Side<'_>) -> Option<Steps> {
    let mut steps = Steps::default();
    if from.unit.dimension == Dimension::Conductivity {
        steps.times(from.unit.to_base);
        steps
            .times
            .push(iso7888::factor_to_25(from.temperature.unwrap_or(25.0))?);
        steps
            .over
            .push(iso7888::factor_to_25(to.temperature.unwrap_or(25.0))?);
        divide(&mut steps, to.unit.to_base);
        return Some(steps);
    }
    let Some(canonical) = &analyte.basis else {
        steps.times(from.unit.to_base);
        divide(&mut steps, to.unit.to_base);
        return Some(steps);
    };
    let by_charge = is_equivalents(analyte)
        || [from, to].iter().any(|side| {
            matches!(side.unit.dimension, Dimension::Charge | Dimension::Hardness)
                || side.basis.is_some_and(|b| b.0 == "CaCO3")
        });
    let (times, over) = side(analyte, canonical, from, by_charge, &mut steps.masses)?;
    let (times_to, over_to) = side(analyte, canonical, to, by_charge, &mut steps.masses)?;
    for n in times.into_iter().chain(over_to) {
        steps.times(n);
    }
    for n in over.into_iter().chain(times_to) {
        divide(&mut steps, n);
    }
    Some(steps)
}

fn divide(steps: &mut Steps, n: f64) {
    if n < 1.0 && (1.0 / n - (1.0 / n).round()).abs() < 1e-9 {
        steps.times.push((1.0 / n).round());
    } else {
        steps.over.push(n);
    }
}

/// What brings a number of this side to meq/L (or mmol/L of the key element): multiply, divide.
fn side(
    analyte: &Analyte,
    canonical: &Basis,
    side: Side<'_>,
    by_charge: bool,
    masses: &mut Vec<String>,
) -> Option<(Vec<f64>, Vec<f64>)> {
    let basis = side.basis.unwrap_or(canonical);
    match side.unit.dimension {
        Dimension::Mass => {
            let mass = Formula::parse(&basis.0)?.mass();
            let line = format!("{basis} {} g/mol", shown(mass));
            if !masses.contains(&line) {
                masses.push(line);
            }
            let n = counted_of(analyte, canonical, Some(basis), by_charge)?;
            Some((vec![side.unit.to_base, n], vec![mass]))
        }
        Dimension::Amount => {
            let n = counted_of(analyte, canonical, side.basis, by_charge)?;
            Some((vec![side.unit.to_base, n], Vec::new()))
        }
        Dimension::Charge => Some((vec![side.unit.to_base], Vec::new())),
        Dimension::Hardness => {
            // Back from meq/L to what the degree is defined by.
            let of = if side.unit.code == "[dH]" {
                "CaO"
            } else {
                "CaCO3"
            };
            let mass = Formula::parse(of)?.mass();
            let line = format!("{of} {} g/mol", shown(mass));
            if !masses.contains(&line) {
                masses.push(line);
            }
            Some((vec![side.unit.to_base * mass / 2.0, 2.0], vec![mass]))
        }
        _ => None,
    }
}

/// Up to seven significant digits, none of them idle.
pub fn shown(n: f64) -> String {
    if n == 0.0 || !n.is_finite() {
        return format!("{n}");
    }
    let magnitude = n.abs().log10().floor();
    if !(-7.0..15.0).contains(&magnitude) {
        return format!("{n:e}");
    }
    let decimals = (6.0 - magnitude).clamp(0.0, 14.0) as usize;
    let text = format!("{n:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    } else {
        text
    }
}
