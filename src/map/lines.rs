//! Which lines of a table are samples, and what the others are.

use super::plan::LineRole;
use super::rules::SheetRule;
use super::sight::Sight;
use crate::locate::Look;
use crate::vocabulary::{Field, Meaning};
use regex::Regex;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, LazyLock};

/// Lines that are no samples, and the lines that hold limits.
#[derive(Debug, Default)]
pub(super) struct Lines {
    pub(super) roles: BTreeMap<u32, LineRole>,
    /// Line, which limit, and the text that says so.
    pub(super) limits: Vec<(u32, Field, Arc<str>)>,
    /// Lines of samples.
    pub(super) samples: Vec<u32>,
    pub(super) nameless: Vec<u32>,
}

/// What is known of a table's tracks.
pub(super) struct Shape<'a> {
    /// Tracks that hold results.
    pub(super) values: &'a BTreeSet<u32>,
    /// Tracks that tell samples apart.
    pub(super) identity: &'a BTreeSet<u32>,
    /// The whole table is one of controls.
    pub(super) controls: bool,
}

/// A limit in an identity cell of its line ("DET. LIMIT MG/L", "MDL").
static LIMIT_LINE: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(
        r"(?ix) ^\W* (?: m?det(?:ection)?\.?\s*lim(?:it)?s?\b | (?:method\s+)?detection\s+limit | lod\b | mdl\b | ld\b | nwg\b | nachweisgrenze | aantoonbaarheidsgrens
        | limite\s+de\s+d[ée]te[ck]t | limite\s+di\s+rilevabilit | detektionsgr[æa]nse | limit\s+of\s+detection | granica\s+wykrywalno
        | (?P<q> loq\b | pql\b | mrl\b | rl\b | ql\b | bg\b | (?:practical\s+)?quanti(?:tation|fication)\s+limit | limit\s+of\s+quanti | bestimmungsgrenze
        | limite\s+de\s+(?:cuantif|quantif) | limite\s+di\s+quantif | reporting\s+limit | rapportagegrens | granica\s+oznaczalno ) )",
    )
    .expect("a valid pattern")
});

/// Words that make a line a statistic when they are all its name. A sample can be called anything else.
/// Common practice, no source.
const STATISTICS: &[&str] = &[
    "mean",
    "average",
    "avg",
    "avg.",
    "median",
    "min",
    "min.",
    "minimum",
    "max",
    "max.",
    "maximum",
    "sum",
    "total",
    "count",
    "n",
    "n=",
    "std",
    "sd",
    "st dev",
    "st. dev.",
    "stdev",
    "std dev",
    "std. dev.",
    "std.dev.",
    "standard deviation",
    "standard error",
    "se",
    "cv",
    "cv%",
    "cv %",
    "cv (%)",
    "range",
    "geomean",
    "geometric mean",
    "variance",
    "number of samples",
    "no. of samples",
    "percentile",
    "rsd",
    "rsd %",
    "%rsd",
    "% rsd",
    "mittelwert",
    "mittel",
    "durchschnitt",
    "summe",
    "anzahl",
    "standardabweichung",
    "stabw",
    "spannweite",
    "gemiddelde",
    "aantal",
    "som",
    "standaardafwijking",
    "mediaan",
    "moyenne",
    "médiane",
    "mediane",
    "somme",
    "nombre",
    "écart-type",
    "ecart-type",
    "écart type",
    "ecart type",
    "mini",
    "maxi",
    "media",
    "promedio",
    "mediana",
    "mínimo",
    "minimo",
    "máximo",
    "maximo",
    "suma",
    "desviación estándar",
    "desviacion estandar",
    "desv. est.",
    "recuento",
    "massimo",
    "somma",
    "deviazione standard",
    "dev. st.",
    "conteggio",
    "média",
    "desvio padrão",
    "desvio padrao",
    "soma",
    "contagem",
    "gennemsnit",
    "middel",
    "middelværdi",
    "antal",
    "spredning",
    "standardafvigelse",
    "średnia",
    "srednia",
    "suma",
    "liczba",
    "odchylenie standardowe",
    "rata-rata",
    "ortalama",
];

/// Words that name the spread of repeated measurements wherever they stand ("Concentration RSD").
const SPREAD: &[&str] = &["rsd", "%rsd", "stdev", "stddev", "rpd"];

/// Words that stand beside [`CONTROL_MARKS`] in the name of a control of the laboratory, when the name
/// consists of both (and of numbers and units): "water" or "field" alone names a sample. Common practice.
const CONTROL_WORDS: &[&str] = &[
    "blind",
    "check",
    "cal",
    "method",
    "field",
    "trip",
    "lab",
    "laboratory",
    "equipment",
    "reagent",
    "filter",
    "reference",
    "material",
    "verification",
    "initial",
    "continuing",
    "deionized",
    "deionised",
    "water",
    "matrix",
    "certificate",
    "values",
    "value",
    "target",
    "kontrolle",
    "referenz",
];

/// Words that name a control: one of them at least must be there. Common practice; the abbreviations are
/// those of laboratory quality control in English.
const CONTROL_MARKS: &[&str] = &[
    "blank",
    "blanks",
    "blk",
    "blanc",
    "blanco",
    "bianco",
    "blindwert",
    "branco",
    "blindprobe",
    "standard",
    "std",
    "stnd",
    "ccv",
    "icv",
    "ccb",
    "icb",
    "lcs",
    "lcsd",
    "crm",
    "srm",
    "qc",
    "qcs",
    "control",
    "calibration",
    "spike",
    "spiked",
    "di",
    "milliq",
    "nanopure",
    "certified",
    "true",
    "expected",
    "nominal",
    "mb",
    "kontrollprobe",
    "leerwert",
];

/// Words that, at the end of a name ("CH4-016-BLANK", "S5_SHW_BLK"), or anywhere in it, make the sample a blank.
const BLANKS: &[&str] = &["blank", "blanks", "blk", "blindwert", "blindprobe"];

/// Spikes of a sample ("… MS", "… MSD"): only where the sample itself stands in the table too, since the
/// letters can be part of any name.
const SPIKES: &[&str] = &["MS", "MSD", "SPK", "SPIKE"];

/// Reason of lines that are controls, not samples.
pub(super) const QUALITY_CONTROL: &str = "quality-control";
pub(super) const STATISTIC: &str = "statistic";
pub(super) const NAMELESS: &str = "line-nameless";

pub(super) fn lines(
    sight: &Sight<'_, '_>,
    shape: &Shape<'_>,
    all: &[u32],
    rule: Option<&SheetRule>,
) -> Lines {
    let mut found = Lines::default();
    let names: BTreeSet<String> = all
        .iter()
        .flat_map(|line| identity_texts(sight, shape, *line))
        .map(|text| text.trim().to_owned())
        .collect();
    for line in all {
        if let Some(role) = role(sight, shape, *line, rule, &names, &mut found.limits) {
            found.roles.insert(*line, role);
        } else {
            found.samples.push(*line);
        }
    }
    // A line of values without any name where the others have one is a sum, a limit or an orphan: its
    // numbers cannot be told to belong to any sample.
    let named = |line: &u32| {
        shape.identity.is_empty()
            || sight
                .cells(*line)
                .any(|(track, _)| shape.identity.contains(&track))
    };
    let without: Vec<u32> = found
        .samples
        .iter()
        .copied()
        .filter(|l| !named(l))
        .collect();
    if !without.is_empty() && without.len() * 5 <= found.samples.len() {
        for line in &without {
            found
                .roles
                .insert(*line, LineRole::Unplaced(NAMELESS.into()));
        }
        found.samples.retain(|l| !without.contains(l));
        found.nameless = without;
    }
    found
}

/// The texts of a line outside the results.
fn identity_texts(sight: &Sight<'_, '_>, shape: &Shape<'_>, line: u32) -> Vec<String> {
    sight
        .cells(line)
        .filter(|(track, _)| !shape.values.contains(track))
        .filter_map(|(_, cell)| match &cell.value {
            crate::read::Value::Text(text) => Some(text.trim().to_owned()),
            _ => None,
        })
        .collect()
}

fn role(
    sight: &Sight<'_, '_>,
    shape: &Shape<'_>,
    line: u32,
    rule: Option<&SheetRule>,
    names: &BTreeSet<String>,
    limits: &mut Vec<(u32, Field, Arc<str>)>,
) -> Option<LineRole> {
    if let Some(rule) = rule {
        for (wording, reason) in &rule.lines_set_aside {
            if sight
                .cells(line)
                .any(|(_, cell)| wording.fits(&cell.as_text()))
            {
                return Some(LineRole::SetAside(reason.clone()));
            }
        }
    }
    let texts = identity_texts(sight, shape, line);
    let (mut numbers, mut labels, mut units, mut cells) = (0usize, 0usize, 0usize, 0usize);
    for (track, cell) in sight.cells(line) {
        if !shape.values.contains(&track) {
            continue;
        }
        cells += 1;
        match sight.reader.look(cell.view()) {
            Look::Number | Look::Date => numbers += 1,
            Look::Analyte => labels += 1,
            Look::Unit => units += 1,
            Look::Field(_) | Look::Words | Look::Blank => {}
        }
    }
    // The headings again, or their units: as on every printed page.
    if numbers == 0 && ((labels > 1 && labels * 2 >= cells) || (units > 1 && units * 2 >= cells)) {
        return Some(LineRole::Heading);
    }
    if shape.controls {
        return Some(LineRole::Unplaced(QUALITY_CONTROL.into()));
    }
    for text in &texts {
        if let Some(kind) = limit_kind(sight, text) {
            limits.push((line, kind, text.as_str().into()));
            return Some(LineRole::Heading);
        }
        match sight.reader.look(crate::read::CellView::Text(text)) {
            Look::Field(Field::Guideline) => return Some(LineRole::SetAside("guideline".into())),
            Look::Field(Field::Unit | Field::Method) if sight.across => {
                return Some(LineRole::Heading);
            }
            _ => {}
        }
        if is_statistic(text) {
            return Some(LineRole::Unplaced(STATISTIC.into()));
        }
        if is_control(text, names) {
            return Some(LineRole::Unplaced(QUALITY_CONTROL.into()));
        }
    }
    // One text and nothing else: a group heading between the samples.
    (cells == 0 && texts.len() == 1 && sight.cells(line).count() == 1 && !sight.across)
        .then_some(LineRole::Heading)
}

pub(super) fn limit_kind(sight: &Sight<'_, '_>, text: &str) -> Option<Field> {
    if let Meaning::Field(kind @ (Field::DetectionLimit | Field::QuantificationLimit)) =
        sight.reader.heading(text).meaning
    {
        return Some(kind);
    }
    let found = LIMIT_LINE.captures(text)?;
    Some(if found.name("q").is_some() {
        Field::QuantificationLimit
    } else {
        Field::DetectionLimit
    })
}

pub(super) fn is_statistic(text: &str) -> bool {
    let folded = text.trim().trim_end_matches(':').trim().to_lowercase();
    STATISTICS.contains(&folded.as_str())
        || folded
            .split(|c: char| c.is_whitespace() || matches!(c, '_' | '-' | '(' | ')'))
            .any(|w| SPREAD.contains(&w))
}

/// A blank, a standard or a spike by its name. `names` are all names of the table.
pub(super) fn is_control(text: &str, names: &BTreeSet<String>) -> bool {
    let words: Vec<&str> = text
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .collect();
    let folded: Vec<String> = words.iter().map(|w| w.to_lowercase()).collect();
    if folded.iter().any(|w| BLANKS.contains(&w.as_str())) {
        return true;
    }
    let bare = |w: &str| w.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    let all_controls = !folded.is_empty()
        && folded.iter().all(|w| {
            let stem = bare(w);
            stem.is_empty()
                || CONTROL_MARKS.contains(&stem.as_str())
                || CONTROL_WORDS.contains(&stem.as_str())
                || matches!(stem.as_str(), "ppm" | "ppb" | "mg" | "l" | "ug" | "x")
        })
        && folded
            .iter()
            .any(|w| CONTROL_MARKS.contains(&bare(w).as_str()));
    if all_controls {
        return true;
    }
    let Some(last) = words.last().filter(|w| SPIKES.contains(w)) else {
        return false;
    };
    let base = text
        .trim_end()
        .strip_suffix(last)
        .map(|b| b.trim_end_matches([' ', '-', '_']).to_owned());
    base.is_some_and(|b| names.contains(&b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> BTreeSet<String> {
        ["S1", "CH4-288-U10-SHALLOW", "Well MS"]
            .into_iter()
            .map(str::to_owned)
            .collect()
    }

    #[test]
    fn controls_by_name() {
        for text in [
            "Blank",
            "blank 2",
            "Field blank",
            "CH4-067-U04-BLANK",
            "CH4_210_S5_SHW_BLK",
            "CCV",
            "ICV1",
            "DI",
            "DI1",
            "LCS",
            "Standard 5 ppm",
            "STD2",
            "Method Blank",
            "CH4-288-U10-SHALLOW MS",
            "Check standard",
            "Certified values",
            "QC",
        ] {
            assert!(is_control(text, &names()), "{text}");
        }
    }

    #[test]
    fn err_samples_are_no_controls() {
        for text in [
            "S1",
            "Standard Farm",
            "Field 3",
            "Well MS",
            "Water",
            "Lab tap",
            "Control House borehole",
            "DIANA",
            "Check dam",
            "River DI-4 x",
        ] {
            assert!(!is_control(text, &names()), "{text}");
        }
    }

    #[test]
    fn statistics_are_whole_names() {
        for text in [
            "Mean",
            "Mittelwert:",
            "n",
            "Std. Dev.",
            "MAX",
            "Concentration RSD",
        ] {
            assert!(is_statistic(text), "{text}");
        }
        for text in [
            "Concentration AV",
            "Max Planck well",
            "Nurse",
            "Total station",
            "Mean Street",
            "Summer",
        ] {
            assert!(!is_statistic(text), "{text}");
        }
    }

    #[test]
    fn limit_lines() {
        for (text, quantification) in [
            ("DET. LIMIT MG/L", false),
            ("MDL", false),
            ("LOQ (mg/l)", true),
            ("Bestimmungsgrenze", true),
            ("Reporting limit", true),
        ] {
            let found = LIMIT_LINE
                .captures(text)
                .unwrap_or_else(|| panic!("{text}"));
            assert_eq!(found.name("q").is_some(), quantification, "{text}");
        }
        for text in [
            "Limit Farm",
            "Ludwig",
            "LODge",
            "Rlver",
            "Limite del predio",
        ] {
            assert!(!LIMIT_LINE.is_match(text), "{text}");
        }
    }
}
