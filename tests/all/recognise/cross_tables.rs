//! One analyte over places and days: each result has a sample of its own.

use super::names::seen;
use super::{lines, planned, sheet};

#[test]
fn places_by_days_under_a_caption() {
    let picture = r#"
Chloride mg/l
Source      | 2021-01-12 | 2021-02-14 | Mean
Borehole 1  | 45         | <1         | 46
Rain tank   |            | 7          | 7
Average     | 45         | 4          | 9
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
cross-table
B3 chloride 'Chloride mg/l' in 'mg/l', source from A3, sampled_on from B2
C3 chloride 'Chloride mg/l' in 'mg/l', source from A3, sampled_on from C2
C4 chloride 'Chloride mg/l' in 'mg/l', source from A4, sampled_on from C2
B5 unplaced: statistic, source from A5, sampled_on from B2
C5 unplaced: statistic, source from A5, sampled_on from C2
"#
        )
    );
}

/// Years are no days, but what stands under them is still of one year each; the first is no result.
#[test]
fn places_by_years_under_a_corner() {
    let picture = r#"
Nitrate (mg/L as NO3) | 2019 | 2020
North dam             | 12.1 | 13
South dam             | 3.2  | ND
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
cross-table
B2 nitrate 'Nitrate (mg/L as NO3)' in 'mg/L' as NO3, source from A2, sampled_on from B1
C2 nitrate 'Nitrate (mg/L as NO3)' in 'mg/L' as NO3, source from A2, sampled_on from C1
B3 nitrate 'Nitrate (mg/L as NO3)' in 'mg/L' as NO3, source from A3, sampled_on from B1
C3 nitrate 'Nitrate (mg/L as NO3)' in 'mg/L' as NO3, source from A3, sampled_on from C1
"#
        )
    );
}

#[test]
fn days_by_places_of_a_kind() {
    let picture = r#"
EC (mS/cm)
Date       | Well A | Well B
2021-03-02 | 0.85   | 1.2
2021-04-06 | 0.88   | 1.25
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
cross-table
B3 conductivity 'EC (mS/cm)' in 'mS/cm' x1000.00000, source from B2, sampled_on from A3
C3 conductivity 'EC (mS/cm)' in 'mS/cm' x1000.00000, source from C2, sampled_on from A3
B4 conductivity 'EC (mS/cm)' in 'mS/cm' x1000.00000, source from B2, sampled_on from A4
C4 conductivity 'EC (mS/cm)' in 'mS/cm' x1000.00000, source from C2, sampled_on from A4
"#
        )
    );
}

/// Each row names its source and analyte, and the results stand under days.
#[test]
fn rows_of_an_analyte_and_a_source_under_days() {
    let picture = r#"
Source | Parameter | Unit | 2021-01-12 | 2021-02-14
Bore 1 | Chloride  | mg/L | 45         | 47
Bore 1 | Iron      | µg/L | 244        |
Bore 2 | Chloride  | mg/L | 120        | <118
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
cross-table
D2 chloride 'Chloride' in 'mg/L', source from A2, sampled_on from D1
E2 chloride 'Chloride' in 'mg/L', source from A2, sampled_on from E1
D3 iron 'Iron' in 'µg/L' x0.00100, source from A3, sampled_on from D1
D4 chloride 'Chloride' in 'mg/L', source from A4, sampled_on from D1
E4 chloride 'Chloride' in 'mg/L', source from A4, sampled_on from E1
"#
        )
    );
}

/// What a column beside the results says is not known, or cannot be of each of them.
#[test]
fn err_rows_beside_which_more_stands_are_no_cross_table() {
    for heads in [
        "Source | Parameter | Foozle | 2021-01-12 | 2021-02-14",
        "Source | Parameter | LOQ | 2021-01-12 | 2021-02-14",
        "Source | Parameter | Unit | 2021-01-12 | 2021-01-12",
        "Source | Parameter | Unit | 2021-01-12 | Mean",
        "Source | 2020-12-01 | Parameter | 2021-01-12 | 2021-02-14",
    ] {
        let picture = format!(
            "{heads}
Bore 1 | Chloride | mg/L | 45 | 47
Bore 2 | Chloride | mg/L | 120 | 118"
        );
        let plan = planned(&picture);
        assert!(!plan.contains("cross-table"), "{picture}\n{plan}");
    }
}

/// Numbers over which stands what may be another quantity, numbers of one line, labels with a unit of their
/// own, labels under the name of a day, and a head that says one thing twice.
#[test]
fn err_what_may_be_another_quantity_is_no_cross_table() {
    for picture in [
        "Chloride mg/l\nDate | Depth | Level\n2021-03-02 | 8 | 2\n2021-04-06 | 9 | 3",
        "Chloride mg/l\nSource | 2021-01-12 | 2021-02-14\nBorehole 1 | 45 | 44",
        "Chloride mg/l\n | 2021-01-12 | 2021-02-14\nDepth (m) | 8 | 9\nLevel (m) | 2 | 3",
        "Chloride mg/l\nSampled | 2021-01-12 | 2021-02-14\nFoozle | 8 | 9\nBarble | 2 | 3",
        "Chloride mg/l\nSource | 2021 | 2021\nNorth dam | 8 | 9\nSouth dam | 2 | 3",
    ] {
        let plan = planned(picture);
        assert!(!plan.contains("cross-table"), "{picture}\n{plan}");
        assert!(!plan.contains("chloride"), "{picture}\n{plan}");
    }
}

const BY_DAYS: &str = "
Well | 2021-01-12 | 2021-02-14
W1   | 45         | 47
W2   | 12         | 11
";

#[test]
fn a_sheet_called_after_an_analyte_names_it() {
    let (plan, findings) = seen(vec![sheet("Chloride", BY_DAYS), sheet("Sulfate", BY_DAYS)]);
    for of in ["B2 chloride 'Chloride'", "C3 sulfate 'Sulfate'"] {
        assert!(plan.contains(of), "{plan}");
    }
    let told =
        "said-by-sheet nothing says what is measured: taken from the sheet's name, 'Sulfate'";
    assert!(findings.contains(told), "{findings}");
}

/// What a caption says goes before the name of the sheet.
#[test]
fn err_a_sheet_of_another_quantity_is_not_of_its_name() {
    for caption in ["Rainfall (mm)", "Rainfall | mm", "Water level"] {
        let (plan, _) = seen(vec![sheet("Chloride", &format!("{caption}{BY_DAYS}"))]);
        assert!(!plan.contains("chloride"), "{caption}: {plan}");
    }
}
