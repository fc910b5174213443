//! Days in letterheads: what is not taken is told, and a mapping can say that it is the samples'.

use super::{findings, sheet};
use std::path::Path;
use wellread::map;
use wellread::mapping::compile;
use wellread::read::Report;
use wellread::vocabulary::Vocabulary;

const LETTER: &str = "
Hazel Laboratory
Date: 4 March 2021
Bore water

Test    | Result | Unit
Calcium | 81     | mg/l
Sodium  | 12     | mg/l
";

#[test]
fn err_the_day_of_a_letter_is_told_and_not_taken() {
    let told = findings(LETTER);
    assert!(
        told.contains(
            "note days-untaken A2: nothing says when the samples were taken: '4 March 2021' can be the \
             day of something else, and is not used\n"
        ),
        "{told}"
    );
    for without in [
        "Printed: 4 March 2021",
        "Reported on: 4 March 2021",
        "Sampled: 4 March 2021",
    ] {
        let told = findings(&LETTER.replace("Date: 4 March 2021", without));
        assert!(!told.contains("days-untaken"), "{told}");
    }
}

#[test]
fn a_mapping_says_what_a_label_of_the_letterhead_means() {
    let mapping = "title = \"Hazel\"\n[recognise]\nheadings = [\"Test\", \"Result\"]\n[labels]\n\
                   Date = { means = \"sampled_on\" }\n\"Drawn by\" = { means = \"source\" }\n";
    let rules = compile(Path::new("hazel.toml"), mapping, Vocabulary::built_in())
        .unwrap_or_else(|problems| panic!("{problems}"))
        .rules;
    let report = Report {
        file: "report.xlsx".into(),
        sheets: vec![sheet(
            "",
            &LETTER.replace("Bore water", "Drawn by | Mill bore"),
        )],
        ..Report::default()
    };
    let plan = map::plan(&report, Vocabulary::built_in(), Some(&rules));
    let picture = map::picture(&plan, &report, Vocabulary::built_in());
    assert!(picture.contains("sampled_on"), "{picture}");
    assert!(picture.contains("source"), "{picture}");
    assert!(plan.findings.iter().all(|f| f.code != "days-untaken"));
}
