//! Several samples in one line, side by side under the names of their sources or days.

use super::{findings, lines, planned};

#[test]
fn analytes_come_again_under_the_next_source() {
    let picture = r#"
           | Bore 1    |           | Bore 2    |
Date       | EC (mS/cm) | Cl (mg/L) | EC (mS/cm) | Cl (mg/L)
2021-03-02 | 0.85      | 45        | 1.2       | 120
2021-06-02 | 0.88      | 47        | 1.25      | 118
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-down 3..4, headings B1 D1 A2:E2
A sampled_on
B conductivity 'EC (mS/cm)' in 'mS/cm' x1000.00000
C chloride 'Cl (mg/L)' in 'mg/L'
D conductivity 'EC (mS/cm)' in 'mS/cm' x1000.00000
E chloride 'Cl (mg/L)' in 'mg/L'
B..C: source from B1
D..E: source from D1
"#
        )
    );
    assert_eq!(findings(picture), "");
}

/// Fractions, statistics and what names no place head no samples of their own.
#[test]
fn err_other_heads_make_no_groups() {
    for heads in [
        "| Total | | Dissolved |",
        "| Mean 1 | | Mean 2 |",
        "| Inlet | | Depth |",
        "| Bore 1 | | Bore 1 |",
        "| | Bore 1 | | Bore 2",
    ] {
        let picture = format!(
            "{heads}\nSample | Fe mg/L | Mn mg/L | Fe mg/L | Mn mg/L\nA1 | 0.8 | 0.2 | 0.3 | 0.1\nA2 | 0.9 | 0.1 | 0.4 | 0.1"
        );
        let plan = planned(&picture);
        assert!(
            !plan.contains("..C: ") && !plan.contains("..D: "),
            "{picture}\n{plan}"
        );
    }
}
