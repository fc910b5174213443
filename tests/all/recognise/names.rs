//! Names of samples that stand elsewhere than in their own line.

use super::sheet;
use std::sync::Arc;
use wellread::map;
use wellread::place::Area;
use wellread::read::{Report, Sheet};
use wellread::vocabulary::Vocabulary;

/// Picture of the plan and its findings: code and message.
pub(super) fn seen(sheets: Vec<Sheet>) -> (String, String) {
    let report = Report {
        file: Arc::from("report.xlsx"),
        sheets,
        ..Report::default()
    };
    let plan = map::plan(&report, Vocabulary::built_in(), None);
    let findings = plan.findings.iter();
    (
        map::picture(&plan, &report, Vocabulary::built_in()),
        findings
            .map(|f| format!("{} {}\n", f.code, f.message))
            .collect(),
    )
}

const COURSE: &str = "
Date       | Ca mg/L | Cl mg/L
2021-03-02 | 45      | 30
2021-06-02 | 47      | 31
";

#[test]
fn sheets_of_one_course_each_are_of_the_sources_they_are_called_after() {
    let (plan, findings) = seen(vec![sheet("Bore 1", COURSE), sheet("Home dam", COURSE)]);
    assert!(plan.contains("source is 'Bore 1'"), "{plan}");
    assert!(plan.contains("source is 'Home dam'"), "{plan}");
    assert_eq!(
        findings,
        "said-by-sheet nothing says the source: taken from the sheet's name, 'Bore 1'\n\
         said-by-sheet nothing says the source: taken from the sheet's name, 'Home dam'\n"
    );
}

#[test]
fn sheets_of_named_samples_without_days_are_of_the_years_they_are_called_after() {
    let named = COURSE
        .replace("Date   ", "Source ")
        .replace("2021-03-02", "Bore 1");
    let named = named.replace("2021-06-02", "Bore 2");
    let (plan, _) = seen(vec![sheet("2020", &named), sheet("2021", &named)]);
    assert!(plan.contains("sampled_on is '2020'"), "{plan}");
    assert!(plan.contains("sampled_on is '2021'"), "{plan}");
}

/// Sheets called after years are of one source; so are sheets of other analytes, and samples with names.
#[test]
fn err_sheets_of_years_analytes_or_names_are_no_sources() {
    let other = COURSE.replace("Ca", "Na").replace("Cl", "SO4");
    let named = COURSE.replace("Date   ", "Sample ");
    for sheets in [
        vec![sheet("2020", COURSE), sheet("2021", COURSE)],
        vec![sheet("Ca and Cl", COURSE), sheet("Na and SO4", &other)],
        vec![sheet("Bore 1", &named), sheet("Bore 2", &named)],
        vec![sheet("Bore 1", COURSE)],
    ] {
        let (plan, findings) = seen(sheets);
        assert!(!plan.contains("source is"), "{plan}");
        assert!(!findings.contains("said-by-sheet"), "{findings}");
    }
}

const GROUPED: &str = "
Source   | Date       | Ca mg/L
Bore 1   | 2021-03-02 | 45
         | 2021-06-02 | 47
Home dam | 2021-03-02 | 60
         | 2021-06-02 | 61
";

#[test]
fn a_name_given_once_holds_for_the_lines_below() {
    let (plan, findings) = seen(vec![sheet("", GROUPED)]);
    assert!(plan.contains("blank cells as above: A"), "{plan}");
    assert_eq!(
        findings,
        "blank-as-above blank under a name given once: taken as 'Bore 1' above\n"
    );
}

/// Merged cells are no guess.
#[test]
fn a_merged_name_holds_for_its_lines() {
    let mut merged = sheet("", GROUPED);
    for top in [1, 3] {
        merged.grid.merges.push(Area {
            top,
            left: 0,
            bottom: top + 1,
            right: 0,
        });
    }
    let (plan, findings) = seen(vec![merged.clone()]);
    assert!(plan.contains("blank cells as above: A"), "{plan}");
    assert_eq!(findings, "");
    // A region that begins with a blank cell says nothing, and blanks outside of regions are blanks.
    merged.grid.merges.pop();
    let (_, findings) = seen(vec![merged]);
    assert!(findings.starts_with("blank-as-above"), "{findings}");
}

/// A name that comes again, lines of one name and day, names that are missing where nothing tells lines apart.
#[test]
fn err_other_blanks_are_blanks() {
    for picture in [
        GROUPED.replace("Home dam", "Bore 1"),
        GROUPED.replace("2021-06-02", "2021-03-02"),
        GROUPED.replace("2021-06-02", ""),
        GROUPED.replace("Source", "Remark"),
        GROUPED.replace("Bore 1", ""),
    ] {
        let (plan, _) = seen(vec![sheet("", &picture)]);
        assert!(!plan.contains("blank cells as above"), "{picture}\n{plan}");
    }
}

#[test]
fn sheets_of_named_samples_are_of_the_months_they_are_called_after() {
    let named = COURSE
        .replace("Date   ", "Source ")
        .replace("2021-03-02", "Bore 1");
    let named = named.replace("2021-06-02", "Bore 2");
    let (plan, _) = seen(vec![sheet("January", &named), sheet("Février", &named)]);
    assert!(plan.contains("sampled_on is 'January'"), "{plan}");
    assert!(plan.contains("sampled_on is 'Février'"), "{plan}");
}
