//! `wellread convert`: one quantity from the command line, or a list from standard input, line by line.

use super::terminal::clean;
use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use crate::reading::{self, Decimal, NumberFault};
use crate::vocabulary::{
    AnalyteId, Basis, Meaning, Refusal, Side, Unit, Vocabulary, Worked, in_words, shown,
};
use clap::Args;
use std::io::{self, BufRead, IsTerminal};
use std::path::PathBuf;

/// A conversion is exact to far more digits than any laboratory; people get these.
const NOTE_OF_RANGE: &str = "beyond the plausible range";

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  wellread convert \"4.2 meq/L\" HCO3 --to \"mg/L as CaCO3\"
  wellread convert \"5 mg/L as N\" nitrate
  wellread convert \"620 µS/cm at 20 °C\" conductivity
  wellread convert --to mmol/L < list.txt      (lines such as: 40 mg/L Ca)")]
pub(super) struct Arguments {
    /// Number and unit, '4.2 meq/L' or '5 mg/L as N'; without it lines are read from standard input
    #[arg(allow_hyphen_values = true)]
    quantity: Option<String>,
    /// What is measured, as a heading would name it: HCO3, nitrate, 'NO3-N', 'Gesamthärte'
    analyte: Option<String>,
    /// Unit and basis wanted, 'mg/L as CaCO3'; without it the canonical ones
    #[arg(long, value_name = "UNIT")]
    to: Option<String>,
    /// Folder with analytes.toml, units.toml or fields.toml of your own
    #[arg(long, value_name = "FOLDER")]
    mappings: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    let own;
    let vocabulary = match &arguments.mappings {
        Some(folder) => {
            own = Vocabulary::load(Some(folder))?;
            &own
        }
        None => Vocabulary::built_in(),
    };
    let to = arguments.to.as_deref();
    match (&arguments.quantity, &arguments.analyte) {
        (Some(quantity), Some(analyte)) => {
            let told = convert(vocabulary, quantity, analyte, to).map_err(Error::Usage)?;
            terminal.print(&told.lines())?;
            Ok(Outcome::Done)
        }
        (Some(line), None) => {
            let told = convert_line(vocabulary, line, to).map_err(Error::Usage)?;
            terminal.print(&told.lines())?;
            Ok(Outcome::Done)
        }
        (None, _) => list(vocabulary, to, terminal),
    }
}

fn list(vocabulary: &Vocabulary, to: Option<&str>, terminal: &mut Terminal) -> Result<Outcome> {
    let input = io::stdin();
    if input.is_terminal() {
        let what = "nothing to convert: give a quantity and an analyte, or lines on standard input";
        return Err(Error::Usage(what.into()));
    }
    let mut outcome = Outcome::Done;
    for (number, line) in input.lock().lines().enumerate() {
        let line = line.map_err(|source| Error::Io {
            path: "standard input".into(),
            what: "cannot read",
            source,
        })?;
        if line.trim().is_empty() {
            continue;
        }
        let shown_line = clean(&line).replace('\t', " ");
        match convert_line(vocabulary, &line, to) {
            Ok(told) => {
                let row = format!(
                    "{}\t{}\t{}",
                    shown_line.trim(),
                    told.result(),
                    told.worked.arithmetic
                );
                terminal.println(&row)?;
            }
            // The line keeps its place in the output, without a number.
            Err(what) => {
                terminal.println(&format!("{}\t\t", shown_line.trim()))?;
                terminal.note(&format!("line {}: {what}", number + 1));
                outcome = Outcome::Findings;
            }
        }
    }
    Ok(outcome)
}

/// A conversion done, with the words to tell it in.
struct Told {
    sign: &'static str,
    number: f64,
    name: String,
    from: String,
    to: String,
    worked: Worked,
    unusual: Option<&'static str>,
}

impl Told {
    fn result(&self) -> String {
        format!("{}{} {}", self.sign, shown(self.worked.value), self.to)
    }

    fn lines(&self) -> String {
        let mut text = format!(
            "{}{} {} of {} = {}\n",
            self.sign,
            shown(self.number),
            self.from,
            self.name,
            self.result()
        );
        if let Some(factor) = self.worked.factor {
            text.push_str(&format!("  factor      {}\n", shown(factor)));
        }
        text.push_str(&format!("  arithmetic  {}\n", self.worked.arithmetic));
        if !self.worked.masses.is_empty() {
            let masses = self.worked.masses.join(", ");
            text.push_str(&format!("  masses      {masses} (IUPAC 2021)\n"));
        }
        if let Some(note) = self.worked.note {
            text.push_str(&format!("  note        {}\n", note.text()));
        }
        if let Some(unusual) = self.unusual {
            text.push_str(&format!("  note        {unusual}\n"));
        }
        text
    }
}

/// `40 mg/L Ca`, `4.2 meq/L HCO3 to mg/L as CaCO3`, or the parts between tabs or semicolons.
fn convert_line(vocabulary: &Vocabulary, line: &str, to: Option<&str>) -> Result<Told, String> {
    let parts: Vec<&str> = line.split(['\t', ';']).map(str::trim).collect();
    if let [quantity, analyte, rest @ ..] = parts.as_slice() {
        let wanted = rest.first().copied().filter(|t| !t.is_empty()).or(to);
        return convert(vocabulary, quantity, analyte, wanted);
    }
    let (line, to) = match line.split_once(" to ").or_else(|| line.split_once('→')) {
        Some((line, wanted)) => (line, Some(wanted.trim())),
        None => (line, to),
    };
    // The longest unit that leaves a name: 'mg/L as N' before 'mg/L'.
    let breaks: Vec<usize> = line.match_indices(' ').map(|(i, _)| i).collect();
    for at in breaks.iter().rev() {
        let (quantity, name) = line.split_at(*at);
        if read_quantity(vocabulary, quantity).is_ok() && read_name(vocabulary, name).is_ok() {
            return convert(vocabulary, quantity, name, to);
        }
    }
    Err(match breaks.last() {
        Some(at) => match read_name(vocabulary, &line[*at..]) {
            Err(what) => what,
            Ok(_) => match read_quantity(vocabulary, &line[..*at]) {
                Err(what) => what,
                Ok(_) => format!("not understood: '{}'", clean(line)),
            },
        },
        None => format!("no unit and no analyte: '{}'", clean(line)),
    })
}

struct Quantity {
    sign: &'static str,
    number: f64,
    unit: Unit,
    basis: Option<Basis>,
    temperature: Option<f64>,
}

fn read_quantity(vocabulary: &Vocabulary, text: &str) -> Result<Quantity, String> {
    let text = text.trim();
    let (sign, rest) = match text.chars().next() {
        Some('<') => ("<", &text[1..]),
        Some('>') => (">", &text[1..]),
        _ => ("", text),
    };
    let rest = rest.trim_start();
    let end = rest
        .char_indices()
        .find(|(i, c)| {
            let exponent = matches!(c, 'e' | 'E')
                && rest[i + 1..].starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+')
                && *i > 0;
            let signed = matches!(c, '-' | '+') && (*i == 0 || rest[..*i].ends_with(['e', 'E']));
            !(c.is_ascii_digit() || matches!(c, '.' | ',') || signed || exponent)
        })
        .map_or(rest.len(), |(i, _)| i);
    let (digits, unit_text) = rest.split_at(end);
    let number = read_number(text, digits)?;
    let unit_text = unit_text.trim();
    if unit_text.is_empty() {
        // pH and ratios have none.
        return Ok(Quantity {
            sign,
            number,
            unit: vocabulary.unit("1").ok_or("no unit '1'")?.clone(),
            basis: None,
            temperature: None,
        });
    }
    let (unit, basis, temperature) = read_unit(vocabulary, unit_text)?;
    Ok(Quantity {
        sign,
        number,
        unit,
        basis,
        temperature,
    })
}

/// `digits` are those at the head of `text`. A point alone is a decimal point: nobody types thousands signs here.
fn read_number(text: &str, digits: &str) -> Result<f64, String> {
    let decimal = match digits.contains(',') {
        true => Decimal::Undecided,
        false => Decimal::Point,
    };
    reading::read_number(digits, decimal).map_err(|fault| match fault {
        NumberFault::Ambiguous { .. } => format!(
            "'{digits}' can be read two ways: write it with a decimal point and no thousands sign"
        ),
        NumberFault::OutOfRange => format!("'{digits}' is no number that can be held"),
        NumberFault::NotANumber | NumberFault::AgainstLocale => {
            format!("'{}' does not begin with a number", clean(text))
        }
    })
}

fn read_unit(
    vocabulary: &Vocabulary,
    text: &str,
) -> Result<(Unit, Option<Basis>, Option<f64>), String> {
    let heading = vocabulary.read_heading(text);
    if let (Meaning::Unknown, Some(unit)) = (&heading.meaning, heading.unit) {
        return Ok((unit, heading.basis, heading.reference_temperature));
    }
    if let Some((unit, basis)) = vocabulary.read_unit(text) {
        return Ok((unit, basis, None));
    }
    let near = vocabulary
        .nearest_unit(text)
        .map_or_else(String::new, |near| format!("; did you mean '{near}'?"));
    Err(format!("unknown unit '{}'{near}", clean(text)))
}

fn read_name(vocabulary: &Vocabulary, text: &str) -> Result<(AnalyteId, Option<Basis>), String> {
    let text = text.trim();
    let heading = vocabulary.read_heading(text);
    match heading.meaning {
        Meaning::Analyte(id) if heading.unit.is_none() => Ok((id, heading.basis)),
        Meaning::Ambiguous(ids) => {
            let codes: Vec<&str> = ids
                .iter()
                .map(|id| vocabulary.analyte(*id).code.as_str())
                .collect();
            Err(format!(
                "'{}' can mean several things; say which: {}",
                clean(text),
                codes.join(", ")
            ))
        }
        _ => {
            let near = heading
                .nearest
                .map_or_else(String::new, |near| format!("; did you mean '{near}'?"));
            Err(format!("unknown analyte '{}'{near}", clean(text)))
        }
    }
}

fn convert(
    vocabulary: &Vocabulary,
    quantity: &str,
    name: &str,
    to: Option<&str>,
) -> Result<Told, String> {
    let (id, named) = read_name(vocabulary, name)?;
    let analyte = vocabulary.analyte(id);
    let mut from = read_quantity(vocabulary, quantity)?;
    let unitless = from.unit.code == "1" && analyte.unit == "[pH]";
    if unitless {
        from.unit = vocabulary.unit("[pH]").ok_or("no unit '[pH]'")?.clone();
    }
    let canonical = || {
        vocabulary
            .unit(&analyte.unit)
            .cloned()
            .ok_or("no such unit")
    };
    let (to_unit, to_basis, to_temperature) = match to {
        Some(text) => read_unit(vocabulary, text)?,
        None => (canonical()?, None, None),
    };
    let basis = from.basis.or(named);
    let to_basis = to_basis.or_else(|| analyte.basis.clone().filter(|_| is_mass(&to_unit)));
    let from_temperature = from.temperature.or(to_temperature.map(|_| 25.0));
    let worked = vocabulary
        .work(
            id,
            from.number,
            Side {
                unit: &from.unit,
                basis: basis.as_ref(),
                temperature: from_temperature,
            },
            Side {
                unit: &to_unit,
                basis: to_basis.as_ref(),
                temperature: Some(to_temperature.unwrap_or(25.0)),
            },
        )
        .map_err(|refusal| {
            let from_fails = vocabulary
                .convert(id, &from.unit, basis.as_ref(), from_temperature)
                .is_err();
            let (unit, basis) = if from_fails {
                (&from.unit, basis.as_ref())
            } else {
                (&to_unit, to_basis.as_ref())
            };
            refused(vocabulary, id, unit, basis, &refusal)
        })?;
    let canonical = vocabulary
        .convert(id, &from.unit, basis.as_ref(), from_temperature)
        .map(|c| c.apply(from.number));
    let beyond = |n: f64| {
        analyte
            .hard_range
            .is_some_and(|(low, high)| n < low || n > high)
    };
    Ok(Told {
        sign: from.sign,
        number: from.number,
        name: analyte.name.clone(),
        from: with_basis(
            &from.unit,
            basis.as_ref().filter(|_| analyte.basis.is_some()),
            from_temperature,
        ),
        to: with_basis(&to_unit, to_basis.as_ref(), to_temperature),
        worked,
        unusual: canonical.is_ok_and(beyond).then_some(NOTE_OF_RANGE),
    })
}

fn is_mass(unit: &Unit) -> bool {
    unit.dimension == crate::vocabulary::Dimension::Mass
}

fn with_basis(unit: &Unit, basis: Option<&Basis>, temperature: Option<f64>) -> String {
    let mut text = in_words(unit.code).to_string();
    if let Some(basis) = basis {
        text.push_str(&format!(" as {basis}"));
    }
    if let Some(t) = temperature {
        text.push_str(&format!(" at {t} °C"));
    }
    text
}

fn refused(
    vocabulary: &Vocabulary,
    id: AnalyteId,
    unit: &Unit,
    basis: Option<&Basis>,
    refusal: &Refusal,
) -> String {
    let analyte = vocabulary.analyte(id);
    let name = &analyte.name;
    let unit = in_words(unit.code);
    match refusal {
        Refusal::UnitUnfit => {
            let units: Vec<&str> = analyte.units.iter().map(|u| in_words(u)).collect();
            format!(
                "{name} is not measured in {unit}; usual units: {}",
                units.join(", ")
            )
        }
        Refusal::BasisUnfit => {
            let bases: Vec<&str> = analyte.bases.iter().map(|b| b.0.as_str()).collect();
            let basis = basis.map_or("", |b| b.0.as_str());
            if bases.is_empty() {
                format!("{name} is not counted 'as {basis}' nor as anything else")
            } else {
                format!(
                    "{name} is not counted 'as {basis}'; usual bases: {}",
                    bases.join(", ")
                )
            }
        }
        Refusal::BasisMissing => {
            let bases: Vec<String> = analyte
                .bases
                .iter()
                .map(|b| format!("'{unit} as {b}'"))
                .collect();
            format!("say what the mass of {name} counts: {}", bases.join(" or "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(line: &str) -> Result<String, String> {
        convert_line(Vocabulary::built_in(), line, None).map(|t| t.result())
    }

    #[test]
    fn lines_are_converted() {
        for (line, expected) in [
            ("4.2 meq/L HCO3 to mg/L as CaCO3", "210.1806 mg/L as CaCO3"),
            ("5 mg/L as N nitrate", "22.13322 mg/L as NO3"),
            ("5 mg/L NO3-N", "22.13322 mg/L as NO3"),
            ("22 mg/L NO3 to mg/L as N", "4.969905 mg/L as N"),
            ("10 °dH; Gesamthärte", "178.4796 mg/L as CaCO3"),
            ("<0,05 mg/L as P PO4", "<0.153306 mg/L as PO4"),
            ("620 µS/cm at 20 °C conductivity", "691.92 µS/cm"),
            ("68 °F temperature", "20 °C"),
            ("7.2 pH", "7.2 pH units"),
            ("12 °F hardness", "120 mg/L as CaCO3"),
            ("350 µg/L Fe", "0.35 mg/L as Fe"),
            ("1.234,5 µg/L Fe", "1.2345 mg/L as Fe"),
            ("1e3 µg/L\tboron\tmg/L as H3BO3", "5.719796 mg/L as H3BO3"),
        ] {
            assert_eq!(told(line).as_deref(), Ok(expected), "{line}");
        }
    }

    #[test]
    fn arithmetic_is_written_out() {
        for (line, expected) in [
            (
                "4.2 meq/L HCO3 to mg/L as CaCO3",
                "4.2 × 100.086 ÷ 2 = 210.1806",
            ),
            ("5 mg/L as N nitrate", "5 × 62.004 ÷ 14.007 = 22.13322"),
            ("350 µg/L Fe", "350 ÷ 1000 = 0.35"),
            ("620 µS/cm at 20 °C conductivity", "620 × 1.116 = 691.92"),
            ("68 °F temperature", "(68 − 32) × 5 ÷ 9 = 20"),
            ("10 °dH hardness", "10 × 10 × 100.086 ÷ 56.077 = 178.4796"),
            ("40.078 mg/L Ca to meq/L", "40.078 × 2 ÷ 40.078 = 2"),
            ("2 mmol/L Ca to mg/L as CaO", "2 × 56.077 = 112.154"),
        ] {
            let got = convert_line(Vocabulary::built_in(), line, None);
            assert_eq!(
                got.map(|t| t.worked.arithmetic).as_deref(),
                Ok(expected),
                "{line}"
            );
        }
    }

    #[test]
    fn err_what_cannot_be_converted_says_why() {
        for (line, expected) in [
            (
                "5 mg/L nitrate",
                "say what the mass of nitrate counts: 'mg/L as NO3' or 'mg/L as N'",
            ),
            (
                "5 mS/cm; nitrate",
                "nitrate is not measured in mS/cm; usual units: mg/L, mmol/L, meq/L, µg/L, µmol/L",
            ),
            (
                "5 mg/L as P; nitrate",
                "nitrate is not counted 'as P'; usual bases: NO3, N",
            ),
            (
                "5 mg/L; nitrat3",
                "unknown analyte 'nitrat3'; did you mean 'nitrate'?",
            ),
            (
                "5 mgg/L; nitrate",
                "unknown unit 'mgg/L'; did you mean 'mg/l'?",
            ),
            (
                "1,234 mg/L; Na",
                "'1,234' can be read two ways: write it with a decimal point and no thousands sign",
            ),
            ("x mg/L; Na", "'x mg/L' does not begin with a number"),
            (
                "5 FAU; turbidity",
                "turbidity is not measured in FAU; usual units: NTU, FNU",
            ),
            (
                "5 mg/L; COD",
                "'COD' can mean several things; say which: cod, organic_carbon",
            ),
            ("5", "no unit and no analyte: '5'"),
        ] {
            assert_eq!(told(line), Err(expected.to_string()), "{line}");
        }
    }
}
