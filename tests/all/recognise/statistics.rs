//! Means and summaries beside the samples: none of their numbers is of one sample.

use super::names::seen;
use super::sheet;

const SAMPLES: &str = "
Well   | Date       | Ca mg/L | Cl mg/L
North  | 2021-03-02 | 45      | 30
South  | 2021-03-02 | 47      | 31
North  | 2021-06-02 | 49      | 32
";

const MEANS: &str = "
Well  | Ca mg/L | Cl mg/L
North | 47      | 31
South | 47      | 31
";

const TOLD: &str =
    "table-of-statistics a table of means, or a summary of other samples: not placed\n";

#[test]
fn sheets_of_means_and_summaries_of_the_samples_are_not_placed() {
    for name in ["Means", "Mittelwerte", "Statistik", "Summary", "Résumé"] {
        let (plan, findings) = seen(vec![sheet("Data", SAMPLES), sheet(name, MEANS)]);
        assert!(
            plan.contains("line 3 unplaced: statistic"),
            "{name}: {plan}"
        );
        assert_eq!(findings, TOLD, "{name}");
    }
}

#[test]
fn a_title_tells_means_even_alone() {
    let titled = format!("Mean values 2019-2021\n{}", MEANS.trim_start());
    let (plan, findings) = seen(vec![sheet("Sheet1", &titled)]);
    assert!(plan.contains("line 4 unplaced: statistic"), "{plan}");
    assert_eq!(findings, TOLD);
}

/// Days, numbers of samples, names that no other table has, means of repeats: all of single samples.
#[test]
fn err_other_tables_of_that_name_are_samples() {
    let numbered = MEANS.replace("Well ", "Lab no.");
    let others = MEANS.replace("South", "East");
    let repeats = format!("Mean of three replicates\n{}", MEANS.trim_start());
    for (sheets, what) in [
        (vec![sheet("Means", SAMPLES)], "days"),
        (vec![sheet("Means", &numbered)], "numbers"),
        (vec![sheet("Summary", MEANS)], "alone"),
        (
            vec![sheet("Data", SAMPLES), sheet("Summary", &others)],
            "another well",
        ),
        (vec![sheet("Sheet1", &repeats)], "repeats"),
        (vec![sheet("Mean Street", MEANS)], "a street"),
    ] {
        let (plan, findings) = seen(sheets);
        assert!(!plan.contains("statistic"), "{what}: {plan}");
        assert_eq!(findings, "", "{what}");
    }
}
