//! Tables of soil, sludge and plants: refused, and told.

use super::{findings, planned};

const SOIL: &str = r#"
Soil analysis, spring
Field | pH  | P (mg/kg) | K (mg/kg)
North | 6.8 | 21        | 140
South | 7.1 | 34        | 162
"#;

#[test]
fn err_amounts_per_kilogram_under_a_title_of_soil_are_no_water() {
    let plan = planned(SOIL);
    assert!(
        plan.contains("line 3 unplaced: other-medium\nline 4 unplaced: other-medium"),
        "{plan}"
    );
    assert!(findings(SOIL).contains(
        "warning other-medium A2: 'Soil analysis, spring' tells that this is of no water: not placed"
    ));
}

/// Sea water and brines are given per kilogram too; so are waters by a laboratory of soils.
#[test]
fn amounts_per_kilogram_alone_are_placed() {
    for title in [
        "Analysis, spring",
        "Soil Testing Laboratory",
        "Soil and water",
    ] {
        let picture = SOIL.replace("Soil analysis, spring", title);
        assert!(!planned(&picture).contains("other-medium"), "{title}");
        let per_litre = SOIL.replace("mg/kg", "mg/l");
        assert!(!planned(&per_litre).contains("other-medium"));
    }
}

#[test]
fn err_one_result_a_row_of_leaves_is_no_water() {
    let picture = r#"
Leaf analysis
Sample | Parameter | Result | Unit
L1     | Calcium   | 21000  | mg/kg
L1     | Boron     | 34     | mg/kg
"#;
    assert!(planned(picture).contains("line 3 unplaced: other-medium"));
}

#[test]
fn err_what_a_cell_or_a_fact_calls_soil_is_no_water() {
    let lines = r#"
Sample | Matrix | Chloride mg/l | Sodium mg/l
A      | Water  | 21            | 14
B      | Soil   | 210           | 140
"#;
    assert!(planned(lines).ends_with("line 3 unplaced: other-medium\n"));
    let fact = r#"
Matrix: | Sludge
Sample | Chloride mg/l | Sodium mg/l
A      | 21            | 14
"#;
    assert!(
        planned(fact).contains("line 3 unplaced: other-medium"),
        "{}",
        planned(fact)
    );
}
