//! `wellread convert` and `wellread terms` as a person uses them.

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

fn wellread(arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_wellread"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(input.as_bytes())
        .unwrap();
    child.wait_with_output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

#[test]
fn one_quantity_with_its_arithmetic() {
    let output = wellread(
        &["convert", "4.2 meq/L", "HCO3", "--to", "mg/L as CaCO3"],
        "",
    );
    assert!(output.status.success());
    assert_eq!(
        out(&output),
        "4.2 meq/L as HCO3 of bicarbonate = 210.1806 mg/L as CaCO3\n  \
         factor      50.043\n  \
         arithmetic  4.2 × 100.086 ÷ 2 = 210.1806\n  \
         masses      CaCO3 100.086 g/mol (IUPAC 2021)\n"
    );
}

#[test]
fn a_list_keeps_its_lines_and_one_bad_line_costs_one() {
    let output = wellread(
        &["convert"],
        "40 mg/L Ca to meq/L\n5 mg/L nitrate\n22 mg/L NO3 to mg/L as N\n",
    );
    assert_eq!(output.status.code(), Some(1));
    let lines: Vec<String> = out(&output).lines().map(String::from).collect();
    assert_eq!(lines.len(), 3);
    assert_eq!(
        lines[0],
        "40 mg/L Ca to meq/L\t1.996108 meq/L\t40 × 2 ÷ 40.078 = 1.996108"
    );
    assert_eq!(lines[1], "5 mg/L nitrate\t\t");
    assert_eq!(
        err(&output),
        "line 2: say what the mass of nitrate counts: 'mg/L as NO3' or 'mg/L as N'\n"
    );
}

#[test]
fn err_an_unknown_analyte_is_told_with_the_nearest() {
    let output = wellread(&["convert", "5 mg/L", "nitratt"], "");
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(out(&output), "");
    assert!(
        err(&output).contains("unknown analyte 'nitratt'; did you mean 'nitrat"),
        "{}",
        err(&output)
    );
}

#[test]
fn terms_tell_what_a_label_is_and_why() {
    let output = wellread(&["terms", "--label", "N-NO3 mg/l"], "");
    let told = out(&output);
    assert!(
        told.starts_with("'N-NO3 mg/l' is nitrate, as N, in mg/L\n"),
        "{told}"
    );
    assert!(told.contains("symbol of nitrate"), "{told}");
    let output = wellread(&["terms", "--label", "COD"], "");
    assert!(
        out(&output).contains("cod, organic_carbon"),
        "{}",
        out(&output)
    );
    let beside = [
        "terms",
        "--label",
        "COD",
        "--beside",
        "Chlorures",
        "--beside",
        "Dureté totale",
    ];
    assert!(out(&wellread(&beside, "")).starts_with("'COD' is organic_carbon, dissolved"));
}

#[test]
fn terms_tell_of_an_analyte_a_fragment_and_a_unit() {
    let told = out(&wellread(&["terms", "nitrate"], ""));
    for part in [
        "nitrate_mg_l",
        "14797-55-8",
        "azotany",
        "Nitrat",
        "4.426644",
    ] {
        assert!(told.contains(part), "'{part}' not in\n{told}");
    }
    let told = out(&wellread(&["terms", "hård"], ""));
    assert!(told.contains("hardness"), "{told}");
    let told = out(&wellread(&["terms", "--unit", "mval/l"], ""));
    assert!(told.contains("meq/L") && told.contains("calcium"), "{told}");
}

#[test]
fn terms_as_json() {
    let text = out(&wellread(&["terms", "--json"], ""));
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value.as_array().unwrap().len(), 82);
    let text = out(&wellread(&["terms", "--label", "Ca mg/l", "--json"], ""));
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["analytes"][0], "calcium");
}

#[test]
fn err_terms_of_nothing_known() {
    let output = wellread(&["terms", "--unit", "mgg/l"], "");
    assert_eq!(output.status.code(), Some(2));
    assert!(
        err(&output).contains("no unit: 'mgg/l'; did you mean 'mg/l'?"),
        "{}",
        err(&output)
    );
}
