//! Names of lines that are no samples but controls of the laboratory.

use super::guides::is_aim;
use super::lines::{GUIDELINE, QUALITY_CONTROL, STATISTIC};
use super::medium::{OTHER_MEDIUM, is_other_medium};
use super::statistics::is_statistic;
use crate::text::words;
use crate::vocabulary::Field;
use hashbrown::HashSet;

/// Names of the samples of a table.
pub(in crate::map) type Names = HashSet<Box<str>>;

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

/// What the number in the name of a standard is given in ("Std 5 ppm").
const UNITS_OF_CONTROLS: &[&str] = &["ppm", "ppb", "mg", "l", "ug", "x"];

/// Words that, at the end of a name ("CH4-016-BLANK", "S5_SHW_BLK"), or anywhere in it, make the sample a blank.
const BLANKS: &[&str] = &["blank", "blanks", "blk", "blindwert", "blindprobe"];

/// Spikes of a sample ("… MS", "… MSD"): only where the sample itself stands in the table too, since the
/// letters can be part of any name.
const SPIKES: &[&str] = &[
    "MS", "MSD", "SPK", "SPIKE", "spike", "Spike", "spiked", "Spiked", "SPIKED",
];

/// Why a row of a `results-down` table is none of a sample of water, by the text of a field; `None` where
/// nothing speaks against it. `names` are all names of the table.
pub(in crate::map) fn no_sample(field: Field, text: &str, names: &Names) -> Option<&'static str> {
    let names_samples = matches!(
        field,
        Field::SampleRef | Field::SampleRole | Field::SourceKind | Field::LabRef
    );
    if names_samples && is_statistic(text) {
        Some(STATISTIC)
    } else if names_samples && is_control(text, names) {
        Some(QUALITY_CONTROL)
    } else if names_samples && is_aim(text) {
        Some(GUIDELINE)
    } else if field == Field::SourceKind && is_other_medium(text) {
        Some(OTHER_MEDIUM)
    } else {
        None
    }
}

/// Whether a list of words has this one, in whatever case.
fn is_in(list: &[&str], word: &str) -> bool {
    list.iter().any(|known| known.eq_ignore_ascii_case(word))
}

/// A blank, a standard or a spike by its name. `names` are all names of the table.
pub(in crate::map) fn is_control(text: &str, names: &Names) -> bool {
    let words = || words(text);
    if words().any(|word| is_in(BLANKS, word)) {
        return true;
    }
    let stems = || words().map(|word| word.trim_end_matches(|c: char| c.is_ascii_digit()));
    let goes_with_controls = |stem: &str| {
        stem.is_empty()
            || is_in(CONTROL_MARKS, stem)
            || is_in(CONTROL_WORDS, stem)
            || is_in(UNITS_OF_CONTROLS, stem)
    };
    let all_controls =
        stems().all(goes_with_controls) && stems().any(|stem| is_in(CONTROL_MARKS, stem));
    all_controls || is_spike(text, names)
}

/// A short text that can be of a blank or of a spike of a sample only, under whatever heading.
pub(in crate::map) fn is_blank_or_spike(text: &str, names: &Names) -> bool {
    let mut words = text.split_whitespace();
    let last = words.next_back().unwrap_or_default().to_lowercase();
    words.count() < 3 && (BLANKS.contains(&last.as_str()) || is_spike(text, names))
}

/// A spike of a sample whose own name is among `names`.
pub(super) fn is_spike(text: &str, names: &Names) -> bool {
    // A number of the laboratory can carry the letters itself ("1001-01MS").
    let is_attached = ["MS", "MSD"].iter().any(|letters| {
        let number = text.trim().strip_suffix(letters);
        number.is_some_and(|n| n.ends_with(|c: char| c.is_ascii_digit()) && names.contains(n))
    });
    if is_attached {
        return true;
    }
    let last = words(text).next_back();
    let Some(last) = last.filter(|word| SPIKES.contains(word)) else {
        return false;
    };
    let base = text
        .trim_end()
        .strip_suffix(last)
        .map(|b| b.trim_end_matches([' ', '-', '_']));
    base.is_some_and(|b| names.contains(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names() -> Names {
        ["S1", "CH4-288-U10-SHALLOW", "Well MS"]
            .into_iter()
            .map(Into::into)
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
}
