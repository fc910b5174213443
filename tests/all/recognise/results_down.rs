//! Tables of one result a row, and tables that only look like samples side by side.

use super::{findings, lines, planned};

#[test]
fn one_result_a_row() {
    let picture = r#"
Sample no | Parameter | Result | Unit | LOQ | Qualifier
7781      | Calcium   | 118    | mg/L | 0.5 |
7781      | Iron      | 0.02   | mg/L | 0.02 | <
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
results-down 2..3, headings A1:F1
A lab_ref
B label
C value
D unit
E quantification_limit
F qualifier
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
"#
        )
    );
}

/// The headings are those of nobody; what stands below tells labels, units and signs.
#[test]
fn one_result_a_row_told_by_what_the_columns_hold() {
    let picture = r#"
point  | det.short  | det.long      | sgn | result | det.u | east
MS-1   | N-ox       | Nitrate as N  |     | 8.4    | mg/l  | 412300
MS-1   | N-itr      | Nitrite as N  | <   | 0.004  | mg/l  | 412300
MS-1   | Chl        | Chloride      |     | 38     | mg/l  | 412300
MS-1   | Wthr       | Weather Code  |     | 3      | coded | 412300
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
results-down 2..5, headings A1:G1
A source
B unplaced: heading-unknown
C label
D qualifier
E value
F unit
G unplaced: heading-unknown
"#
        )
    );
}

/// Blanks by their role, and what is no water.
#[test]
fn rows_of_controls_and_of_other_media_are_no_samples() {
    let picture = r#"
Site | Activity type           | Medium   | Parameter | Result | Unit
N    | Sample-Routine          | Water    | Chloride  | 21     | mg/l
N    | Quality Control-Blank   | Water    | Chloride  | 0.2    | mg/l
N    | Sample-Routine          | Sediment | Chloride  | 2100   | mg/kg
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
results-down 2..4, headings A1:F1
A site
B sample_role
C source_kind
D label
E value
F unit
line 3 unplaced: quality-control
line 4 unplaced: other-medium
"#
        )
    );
}

/// Limits in a unit of their own.
#[test]
fn one_result_a_row_with_units_for_limits() {
    let picture = r#"
Site | Parameter | Detection condition | Result | Unit | Reporting limit | RL.U
N    | Iron      | Not Detected        |        |      | 10              | µg/l
N    | Chloride  |                     | 21     | mg/l | 1               | mg/l
"#;
    assert!(planned(picture).ends_with("F quantification_limit\nG limit_unit\n"));
}

/// A number and its text beside each other: the one that keeps the sign counts.
#[test]
fn one_result_a_row_said_twice() {
    let picture = r#"
Site | Date       | Parameter | Value | Result | Unit
N    | 2026-05-12 | Chloride  | 21    | 21     | mg/l
N    | 2026-05-12 | Iron      | 0.02  | <0.02  | mg/l
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
results-down 2..3, headings A1:F1
A site
B sampled_on
C label
D other
E value
F unit
"#
        )
    );
}

/// Where rows say when or where they are from, the columns beside the labels are no samples: read so,
/// codes and limits would become results.
#[test]
fn err_records_under_unknown_headings_are_no_samples_side_by_side() {
    for (picture, first, names) in [
        (
            r#"
cmne     | quand      | libpar    | rq    | lim | trad
Bourg    | 2023-02-07 | Nitrates  | 18.5  | 50  | 18.5
Bourg    | 2023-02-07 | Chlorures | 21    | 250 | 21
Bourg    | 2023-02-07 | Sulfates  | 30    | 250 | 30
"#,
            "A2",
            "'rq', 'lim', 'trad'",
        ),
        (
            r#"
par      | code | latitude | rq
Nitrate  | 1340 | 47.1     | 18.5
Chloride | 1337 | 47.1     | 21
"#,
            "A2",
            "'code', 'rq'",
        ),
        (
            r#"
ouvrage | quand      | par_lib   | res_an | rem
P-12    | 2023-02-07 | Nitrates  | 18.5   |
P-12    | 2023-02-07 | Chlorures | 21     |
P-14    | 2023-02-08 | Nitrates  | 9.1    |
"#,
            "A2",
            "'res_an'",
        ),
        (
            r#"
par_lib   | res_an | sg
Nitrates  | 18.5   |
Fer       | 0.05   | <
Chlorures | 21     |
"#,
            "A2",
            "'res_an'",
        ),
        (
            r#"
par_lib   | res_an |
Nitrates  | 18.5   |
Fer       | 0.05   | <
Chlorures | 21     |
"#,
            "A2",
            "'res_an'",
        ),
        (
            r#"
par      | rq   | code
Nitrate  | 18.5 | 1340
Nitrate  | 17.5 | 1340
Nitrate  | 16.5 | 1340
Chloride | 21   | 1337
Chloride | 22   | 1337
Chloride | 23   | 1337
"#,
            "A2",
            "'rq', 'code'",
        ),
    ] {
        let picture = &lines(picture);
        assert_eq!(
            findings(picture),
            format!(
                "warning value-column-unknown {first}: one result a row, but no heading says which \
                 column holds the result (numbers stand under {names})\n"
            ),
            "{picture}"
        );
    }
}

/// The day of its analysis beside each parameter makes no record of it.
#[test]
fn a_certificate_with_the_day_of_each_analysis() {
    let picture = r#"
Parameter | Result | Unit | Date analysed
Nitrate   | 18.5   | mg/l | 2026-02-07
Chloride  | 21     | mg/l | 2026-02-08
"#;
    assert!(planned(picture).starts_with("results-down 2..3"));
    let picture = r#"
Parameter | Unit | Bore 1 | Bore 2 | Geprüft
Nitrate   | mg/l | 18.5   | 12     | 2026-02-07
Chloride  | mg/l | 21     | 22     | 2026-02-08
"#;
    // A day of each row under an unknown heading may be that of the sample: then nothing is read.
    assert!(planned(picture).contains("D unplaced: value-column-unknown"));
}
