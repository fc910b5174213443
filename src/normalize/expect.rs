//! What a mapping expects of a report and does not find: the layout has drifted, or a label has a new
//! name. A report that changed its headings would otherwise lose a column in silence.

use super::findings::{ANALYTE_EXPECTED, SAMPLES_EXPECTED};
use crate::finding::{Finding, Severity};
use crate::map::Expect;
use crate::place::Place;
use crate::record::Extract;
use crate::vocabulary::Vocabulary;

/// One finding for the number of samples, one for each analyte that is not there.
pub fn unexpected(extract: &Extract, expect: &Expect, vocabulary: &Vocabulary) -> Vec<Finding> {
    let tell = |code, message: String, help| {
        let place = Place::file(&extract.file);
        Finding::new(Severity::Warning, code, place, message, help)
    };
    let mut findings = Vec::new();
    let samples = extract.samples.len();
    if let Some((least, most)) = expect.samples
        && !(least as usize..=most as usize).contains(&samples)
    {
        let expected = match (least, most) {
            (least, u32::MAX) => format!("at least {least}"),
            (least, most) if least == most => least.to_string(),
            (0 | 1, most) => format!("at most {most}"),
            (least, most) => format!("{least} to {most}"),
        };
        findings.push(tell(
            SAMPLES_EXPECTED,
            format!("{samples} samples read, the mapping expects {expected}"),
            "look for lines without a result or an identity in 'unplaced'; if the report is right, correct \
             [expect] in the mapping",
        ));
    }
    for analyte in &expect.analytes {
        let is_there = (extract.measurements.iter())
            .any(|measurement| extract.recipe(measurement.recipe).analyte == *analyte);
        if !is_there {
            let analyte = vocabulary.analyte(*analyte);
            let message = format!(
                "{} is not in the report, and the mapping expects it",
                analyte.name
            );
            let help = "look in 'unplaced' for a heading that has changed and add it to [labels] of the mapping";
            findings.push(tell(ANALYTE_EXPECTED, message, help).of_analyte(analyte.code.clone()));
        }
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{Measurement, Origin, Recipe, RecipeId, Sample, SampleId};

    fn told(samples: Option<(u32, u32)>, analytes: &[&str]) -> Vec<String> {
        let vocabulary = Vocabulary::built_in();
        let find = |code: &str| vocabulary.find(code).unwrap();
        let extract = Extract {
            file: "a.csv".into(),
            samples: vec![Sample::default(); 3],
            recipes: vec![Recipe {
                analyte: find("nitrate"),
                fraction: None,
                factor: Some(1.0),
                label_text: None,
                unit_text: None,
                basis_text: None,
                unit_from: Origin::Heading,
                assumption: None,
            }],
            measurements: vec![Measurement {
                sample: SampleId(0),
                recipe: RecipeId(0),
                value: Some(1.0),
                censored: None,
                value_text: "1".into(),
                sheet: 0,
                at: crate::place::Address::new(1, 1),
            }],
            ..Extract::default()
        };
        let expect = Expect {
            samples,
            analytes: analytes.iter().map(|code| find(code)).collect(),
        };
        (unexpected(&extract, &expect, vocabulary).into_iter())
            .map(|finding| finding.message)
            .collect()
    }

    #[test]
    fn what_is_expected_and_not_there_is_told() {
        for (samples, expected) in [
            ((4, 4), "3 samples read, the mapping expects 4"),
            (
                (4, u32::MAX),
                "3 samples read, the mapping expects at least 4",
            ),
            ((1, 2), "3 samples read, the mapping expects at most 2"),
            ((4, 8), "3 samples read, the mapping expects 4 to 8"),
        ] {
            assert_eq!(told(Some(samples), &[]), [expected]);
        }
        assert_eq!(
            told(None, &["nitrate", "boron"]),
            ["boron is not in the report, and the mapping expects it"]
        );
    }

    #[test]
    fn err_what_is_there_is_not() {
        assert!(told(Some((3, 3)), &["nitrate"]).is_empty());
        assert!(told(Some((1, u32::MAX)), &[]).is_empty());
        assert!(told(None, &[]).is_empty());
    }
}
