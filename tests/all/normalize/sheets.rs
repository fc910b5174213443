//! Sheets that give the same samples.

use super::*;

/// Calcium and chloride of the same wells on two sheets; where the samples of each are said to be, sorted.
fn sites(first: &[&str], second: &[&str]) -> (Vec<String>, usize) {
    let wells = || {
        block(
            Layout::SamplesDown,
            1,
            9,
            4,
            vec![
                field(0, Field::SampleRef),
                field(1, Field::SampledOn),
                number(2, analyte("calcium", "mg/l", None)),
                number(3, analyte("chloride", "mg/l", None)),
            ],
        )
    };
    let head = |rows: &[&str]| {
        let mut all = vec!["Well | Date | Ca | Cl"];
        all.extend(rows);
        grid(&all)
    };
    let report = report(vec![("Oak Farm", head(first)), ("Ash Farm", head(second))]);
    let mut plan = plan(vec![wells()]);
    plan.sheets.push(SheetPlan {
        blocks: vec![wells()],
        ..SheetPlan::default()
    });
    let extract = normalized(&report, &plan);
    let name = |text: &Option<Arc<str>>| text.as_deref().unwrap_or("").to_owned();
    let mut found: Vec<String> = (extract.samples.iter())
        .map(|sample| format!("{} {}", name(&sample.site), name(&sample.sample_ref)))
        .collect();
    found.sort();
    let told = extract.findings.iter();
    let told = told.filter(|f| f.code == "sheets-told-apart").count();
    (found, told)
}

const OAK: [&str; 2] = ["W1 | 03.02.2026 | 40 | 60", "W2 | 03.02.2026 | 41 | 61"];

#[test]
fn sheets_of_the_same_names_with_other_values_are_sites_of_their_own() {
    let ash = ["W1 | 03.02.2026 | 80 | 20", "W2 | 03.02.2026 | 81 | 21"];
    let expected = ["Ash Farm W1", "Ash Farm W2", "Oak Farm W1", "Oak Farm W2"];
    assert_eq!(sites(&OAK, &ash), (expected.map(String::from).into(), 1));
}

/// The same in other units, one number corrected, other days, too few to tell.
#[test]
fn err_sheets_that_mostly_agree_are_of_the_same_samples() {
    let in_other_units = ["W1 | 03.02.2026 | 40.1 | 60.2", "W2 | 03.02.2026 | 41 | 61"];
    let corrected = ["W1 | 03.02.2026 | 40 | 60", "W2 | 03.02.2026 | 41 | 16"];
    let other_days = ["W1 | 04.02.2026 | 80 | 20", "W2 | 04.02.2026 | 81 | 21"];
    let too_few = ["W1 | 03.02.2026 | 80 | 20"];
    for other in [&in_other_units[..], &corrected, &other_days, &too_few] {
        let (sites, told) = sites(&OAK, other);
        assert!(sites.iter().all(|site| site.starts_with(' ')), "{sites:?}");
        assert_eq!(told, 0);
    }
}
