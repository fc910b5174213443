//! What a table itself says of a silent unit or basis: printed sums, conductivity, numbers that cannot be.

use super::{findings, planned};

/// A table of anions with the sum that the laboratory printed.
fn with_sum(lines: &str) -> String {
    format!(
        "\nPoint | HCO3 mg/L | Cl mg/L | SO4 mg/L | Nitrate mg/L | Sum of anions (meq/L)\n{lines}"
    )
}

#[test]
fn printed_sums_tell_the_bases() {
    let picture = with_sum(
        r#"
A | 251 | 34 | 41 | 14.2 | 6.94
B | 118 | 83 | 32 | 9.1  | 5.59
C | 372 | 58 | 96 | 21.7 | 11.28
D | 42  | 19 | 25 | 5.3  | 2.12
E | 288 | 91 | 74 | 18.9 | 10.18
"#
        .trim_start(),
    );
    let plan = planned(&picture);
    for track in [
        "B bicarbonate 'HCO3 mg/L' in 'mg/L' as HCO3\n",
        "E nitrate 'Nitrate mg/L' in 'mg/L' as N x4.42664\n",
        "F set aside: printed-sum\n",
    ] {
        assert!(plan.contains(track), "{track}{plan}");
    }
    let told = findings(&picture);
    assert!(told.contains("note basis-from-evidence E1: 'Nitrate mg/L' is expressed as N: only so does it add up to 'Sum of anions (meq/L)'\n"), "{told}");
    assert!(!told.contains("assumed"), "{told}");
}

/// Too little nitrate to be seen in the sum; ever the same water, in which any reading could fit by chance; a
/// sum that leaves nitrate out.
#[test]
fn err_sums_that_show_nothing_of_nitrate_settle_nothing() {
    for lines in [
        "A | 251 | 34 | 41 | 0.14 | 5.94\nB | 118 | 83 | 32 | 0.09 | 4.95\nC | 372 | 58 | 96 | 0.22 | 9.75\nD | 42 | 19 | 25 | 0.05 | 1.75\nE | 288 | 91 | 74 | 0.19 | 8.84\n",
        "A | 251 | 34 | 41 | 14.2 | 6.94\nB | 252 | 34 | 41 | 14.2 | 6.96\nC | 253 | 34 | 41 | 14.2 | 6.97\nD | 254 | 34 | 41 | 14.2 | 6.99\nE | 255 | 34 | 41 | 14.2 | 7.01\n",
        "A | 251 | 34 | 41 | 14.2 | 5.93\nB | 118 | 83 | 32 | 9.1 | 4.94\nC | 372 | 58 | 96 | 21.7 | 9.73\nD | 42 | 19 | 25 | 5.3 | 1.74\nE | 288 | 91 | 74 | 18.9 | 8.83\n",
    ] {
        let told = findings(&with_sum(lines));
        assert!(
            told.contains("warning basis-assumed E1: 'Nitrate mg/L'"),
            "{told}"
        );
    }
}

const NO_UNITS: &str = r#"
Well | EC (µS/cm) | Ca  | Mg  | Na  | HCO3 | Cl
W1   | 601        | 4.4 | 1.1 | 0.9 | 4.1  | 1.0
W2   | 498        | 2.0 | 0.8 | 2.4 | 1.9  | 2.3
W3   | 938        | 6.6 | 1.8 | 1.6 | 6.1  | 1.6
W4   | 181        | 1.1 | 0.3 | 0.5 | 0.7  | 0.5
"#;

#[test]
fn conductivity_tells_the_unit_of_ions() {
    let plan = planned(NO_UNITS);
    assert!(
        plan.contains("C calcium 'Ca' x20.03900 (assumed: unit-from-balance)\n"),
        "{plan}"
    );
    assert!(
        plan.contains("F bicarbonate 'HCO3' as HCO3 x61.01600 (assumed: unit-from-balance)\n"),
        "{plan}"
    );
    let told = findings(NO_UNITS);
    assert!(
        !told.contains("unit-assumed") && !told.contains("basis-assumed"),
        "{told}"
    );
    // The same numbers beside a conductivity without a unit tell nothing.
    let silent = findings(&NO_UNITS.replace(" (µS/cm)", ""));
    assert!(silent.contains("unit-assumed C1"), "{silent}");
}

/// Milliequivalents and millimoles of sodium are the same; mg/L it cannot be.
#[test]
fn err_ions_that_the_conductivity_refutes_are_not_placed() {
    let picture = r#"
Well | EC (µS/cm) | Ca   | Mg   | Na   | Cl
W1   | 601        | 0.2  | 0.1  | 6.0  | 1.0
W2   | 498        | 0.1  | 0.1  | 5.1  | 2.3
W3   | 938        | 0.2  | 0.1  | 9.4  | 1.6
"#;
    let plan = planned(picture);
    assert!(
        plan.contains("E unplaced: unit-unlikely\nF unplaced: unit-unlikely\n"),
        "{plan}"
    );
    assert!(findings(picture).contains("warning unit-unlikely C1: 'Ca' is expressed not in mg/L, since the conductivity of 3 of 3 samples"));
}

const TRACES: &str = r#"
Well | pH  | Na mg/L | B   | Sr  | As  | Mn  | Co
W1   | 7.2 | 21      | 226 | 340 | 3.1 | 164 | 0.04
W2   | 7.4 | 34      | 152 | 410 | 2.2 | 96  | 0.02
W3   | 6.9 | 28      | 138 | 295 | 4.0 | 210 | <0.01
"#;

/// One run of an instrument has one unit; of cobalt both are possible.
#[test]
fn numbers_of_trace_elements_together_tell_their_unit() {
    let plan = planned(TRACES);
    for track in [
        "D boron 'B' x0.00100 (assumed: unit-from-numbers)\n",
        "G manganese 'Mn' x0.00100 (assumed: unit-from-numbers)\n",
        "H unplaced: unit-missing\n",
    ] {
        assert!(plan.contains(track), "{track}{plan}");
    }
    assert!(findings(TRACES).contains("warning unit-from-numbers F1: 'As' is expressed in ug/L: in mg/L 'B' would be impossible and 4 of 5 trace elements rare\n"), "{}", findings(TRACES));
}

/// Acid waters and brines hold such amounts, and where pH is not given nobody knows.
#[test]
fn err_trace_elements_of_acid_or_unknown_water_tell_nothing() {
    let acid = (TRACES.replace("7.2", "3.1").replace("7.4", "3.4")).replace("6.9", "3.9");
    let unknown = TRACES.replace("pH ", "Qty");
    let brine = (TRACES.replace("| 21 ", "| 21000 ")).replace("| 34 ", "| 34000 ");
    for picture in [acid, unknown, brine] {
        assert!(
            !planned(&picture).contains("unit-from-numbers"),
            "{picture}"
        );
    }
}
