//! Result cells with what stands beside them.

use super::*;
use wellread::map::{LineRole, QualifierCode, ValueRole};
use wellread::read::{Shown, Value};

/// One cell under one analyte, for a named sample; gives the result and the findings.
fn one(
    cell: Cell,
    track: AnalyteTrack,
    change: impl FnOnce(&mut Plan),
) -> (String, String, String) {
    let mut grid = grid(&["Sample | Value", "A |"]);
    grid.put(Address::new(1, 1), cell);
    let report = report(vec![("Data", grid)]);
    let mut plan = plan(vec![block(
        Layout::SamplesDown,
        1,
        1,
        2,
        vec![field(0, Field::SampleRef), number(1, track)],
    )]);
    change(&mut plan);
    let extract = normalized(&report, &plan);
    (results(&extract), unplaced(&extract), findings(&extract))
}

fn text(text: &str, track: AnalyteTrack) -> (String, String, String) {
    one(Cell::text(text), track, |_| {})
}

fn calcium() -> AnalyteTrack {
    analyte("calcium", "mg/l", None)
}

fn iron() -> AnalyteTrack {
    AnalyteTrack {
        limit: limit(20.0),
        quantification_limit: limit(50.0),
        ..analyte("iron", "µg/l", None)
    }
}

#[test]
fn a_cell_becomes_a_result() {
    let signed = |cell: Cell, track| one(cell, track, |_| {}).0;
    let shown = |number, shown| Cell {
        value: Value::Number(number),
        shown,
    };
    for (name, got, expected) in [
        (
            "plain",
            text("118", calcium()).0,
            "118 mg/L '118' of A by heading",
        ),
        (
            "stored number",
            signed(Cell::number(118.0), calcium()),
            "118 mg/L '118' of A by heading",
        ),
        (
            "below",
            text("<0.5", calcium()).0,
            "<0.5 mg/L '<0.5' of A by heading",
        ),
        (
            "above",
            text(">500", calcium()).0,
            ">500 mg/L '>500' of A by heading",
        ),
        (
            "uncertainty",
            text("118 ± 5", calcium()).0,
            "118 mg/L '118 ± 5' of A by heading",
        ),
        (
            "same unit in the cell",
            text("118 mg/l", calcium()).0,
            "118 mg/L '118 mg/l' of A by cell",
        ),
        (
            "sign of the format",
            signed(shown(0.5, Shown::Below), calcium()),
            "<0.5 mg/L '0.5' of A by heading",
        ),
        (
            "unit of the format",
            signed(shown(0.5, Shown::With(" µg/L".into())), calcium()),
            "0.0005 mg/L '0.5' of A by cell",
        ),
        (
            "words of the format",
            signed(shown(0.5, Shown::With(" approx".into())), calcium()),
            "0.5 mg/L '0.5' of A by heading",
        ),
        (
            "not detected, limit of the track",
            text("n.n.", iron()).0,
            "<0.02 mg/L 'n.n.' of A by heading",
        ),
        (
            "below detection",
            text("<LOD", iron()).0,
            "<0.02 mg/L '<LOD' of A by heading",
        ),
        (
            "below quantification",
            text("<LOQ", iron()).0,
            "<0.05 mg/L '<LOQ' of A by heading",
        ),
        (
            "estimate in brackets",
            text("BQL (25)", iron()).0,
            "<0.05 mg/L 'BQL (25)' of A by heading",
        ),
        (
            "trace",
            text("traces", iron()).0,
            "<0.05 mg/L 'traces' of A by heading",
        ),
        (
            "not detected, no limit",
            text("n.n.", calcium()).0,
            "absent mg/L 'n.n.' of A by heading",
        ),
        (
            "negative temperature",
            text("-3", analyte("temperature", "°C", None)).0,
            "-3 Cel '-3' of A by heading",
        ),
        (
            "zero carbonate",
            text("0", analyte("carbonate", "mg/l", Some("CO3"))).0,
            "0 mg/L '0' of A by heading",
        ),
    ] {
        let got = got
            .trim_end()
            .split_once(' ')
            .and_then(|(_, rest)| rest.split_once(' '));
        assert_eq!(got.map(|(_, rest)| rest), Some(expected), "{name}");
    }
}

#[test]
fn notes_stand_beside_the_result() {
    for (cell, track, expected) in [
        (
            "0",
            calcium(),
            "note zero-reported B2 x1: calcium: zero reported\n",
        ),
        (
            "0.03 J",
            calcium(),
            "note number-estimated B2 x1: calcium: an estimate: '0.03 J'\n",
        ),
        (
            "0.05 ND",
            calcium(),
            "warning limit-by-word B2 x1: calcium: '0.05 ND' was taken as below the number\n",
        ),
        (
            "118 µg/l",
            calcium(),
            "warning unit-in-cell B2 x1: calcium: the cell says '118 µg/l', its heading says otherwise; the cell was used\n",
        ),
        (
            "n.n.",
            calcium(),
            "note limit-unknown B2 x1: calcium: 'n.n.', and the report gives no limit\n",
        ),
        (
            "12.3 → 11.9",
            calcium(),
            "note number-corrected B2 x1: calcium: corrected in its cell: '12.3 → 11.9'\n",
        ),
        ("0", analyte("carbonate", "mg/l", Some("CO3")), ""),
        ("12.3 *", calcium(), ""),
    ] {
        let (result, _, findings) = text(cell, track);
        assert_ne!(result, "", "{cell}");
        assert_eq!(findings, expected, "{cell}");
    }
}

#[test]
fn err_a_cell_that_is_no_result_says_why() {
    for (cell, expected) in [
        ("-", "note not-determined B2 x1: calcium: no result: '-'\n"),
        (
            "folgt",
            "note pending B2 x1: calcium: the result will follow: 'folgt'\n",
        ),
        (
            "turbid",
            "warning not-a-number B2 x1: calcium: not a number: 'turbid'\n",
        ),
        (
            "high",
            "note judgement B2 x1: calcium: a judgement, no number: 'high'\n",
        ),
        (
            "-3",
            "warning negative-number B2 x1: calcium: negative: '-3'\n",
        ),
        (
            "10-20",
            "warning range B2 x1: calcium: '10-20' is a range, and its mean is not a result\n",
        ),
        (
            "7.2/7.4",
            "warning several-values B2 x1: calcium: several values in one cell: '7.2/7.4'\n",
        ),
        (
            "12.31)",
            "warning footnote-ambiguous B2 x1: calcium: the last digit of '12.31)' can be a footnote\n",
        ),
        (
            "O.O5",
            "warning number-garbled B2 x1: calcium: not a number: 'O.O5', perhaps '0.05'\n",
        ),
        (
            "0,35",
            "warning against-decimal-sign B2 x1: calcium: '0,35' is written against the decimal sign of this file\n",
        ),
        (
            "n.a.",
            "warning word-ambiguous B2 x1: calcium: 'n.a.' means 'not detected' in one language and 'not analysed' in another\n",
        ),
        (
            "NaN",
            "warning not-finite B2 x1: calcium: 'NaN' is not a result\n",
        ),
        (
            "1e400",
            "warning number-out-of-range B2 x1: calcium: '1e400' is too large or too small for a number\n",
        ),
        (
            "#DIV/0!",
            "warning formula-error B2 x1: calcium: formula error: '#DIV/0!'\n",
        ),
        (
            "<0",
            "warning limit-of-zero B2 x1: calcium: '<0' gives a limit of zero\n",
        ),
        (
            "0.05 U",
            "warning text-after-number B2 x1: calcium: unknown text behind the number: '0.05 U'\n",
        ),
        (
            "12 mS/cm",
            "error unit-unfit B2 x1: calcium: cannot be given in 'mS/cm'\n",
        ),
        (
            "traces",
            "warning trace-without-limit B2 x1: calcium: 'traces', and the report gives no limit of quantification\n",
        ),
        (
            "ND (0.5)",
            "warning limit-or-estimate B2 x1: calcium: the number in 'ND (0.5)' can be the limit or an estimate\n",
        ),
        (
            "TNTC",
            "warning above-without-limit B2 x1: calcium: 'TNTC', and the report gives no upper limit\n",
        ),
        (
            "present",
            "warning presence-without-number B2 x1: calcium: found, but no number: 'present'\n",
        ),
        (
            "absent",
            "warning not-a-number B2 x1: calcium: not a number: 'absent'\n",
        ),
    ] {
        let (result, unplaced, findings) = text(cell, calcium());
        assert_eq!(result, "", "{cell}");
        assert!(
            unplaced.starts_with("B2 ") && unplaced.ends_with(&format!(" '{cell}'\n")),
            "{unplaced}"
        );
        assert_eq!(findings, expected, "{cell}");
    }
}

#[test]
fn err_cells_that_are_no_text_say_why() {
    let cell = |value| Cell {
        value,
        shown: Shown::Plain,
    };
    let day = jiff::civil::date(2026, 5, 12).at(0, 0, 0, 0);
    for (value, expected) in [
        (
            Value::Date {
                serial: 46154.0,
                date: Some(day),
            },
            "warning date-in-value B2 x1: calcium: a date where a number should be: '46154'\n",
        ),
        (
            Value::Bool(true),
            "warning logical-value B2 x1: calcium: 'TRUE' is no number\n",
        ),
        (
            Value::Uncalculated,
            "warning formula-uncalculated B2 x1: calcium: formula never calculated\n",
        ),
        (
            Value::Error("#REF!".into()),
            "warning formula-error B2 x1: calcium: formula error: '#REF!'\n",
        ),
        (
            Value::Number(f64::NAN),
            "warning not-finite B2 x1: calcium: 'NaN' is not a result\n",
        ),
    ] {
        let (result, _, findings) = one(cell(value.clone()), calcium(), |_| {});
        assert_eq!(result, "", "{value:?}");
        assert_eq!(findings, expected, "{value:?}");
    }
}

#[test]
fn an_undecided_number_shows_both_readings() {
    let (result, unplaced, findings) = one(Cell::text("1.234"), calcium(), |plan| {
        plan.locale.decimal = Decimal::Undecided;
    });
    assert_eq!(result, "");
    assert_eq!(unplaced, "B2 number-ambiguous '1.234'\n");
    assert_eq!(
        findings,
        "warning number-ambiguous B2 x1: calcium: '1.234' can be 1.234 or 1234\n"
    );
}

#[test]
fn negative_numbers_are_limits_only_where_the_plan_says_so() {
    let (result, ..) = one(Cell::number(-0.05), calcium(), |plan| {
        plan.negative_is_below = true
    });
    assert_eq!(result, "B2 calcium <0.05 mg/L '-0.05' of A by heading\n");
}

#[test]
fn negative_numbers_are_measurements_only_where_a_mapping_says_so() {
    let (result, unplaced, _) = one(Cell::number(-0.05), calcium(), |_| {});
    assert_eq!((&*result, &*unplaced), ("", "B2 negative-number '-0.05'\n"));
    let (result, ..) = one(Cell::number(-0.05), calcium(), |plan| {
        plan.negatives_are_measured = true
    });
    assert_eq!(result, "B2 calcium -0.05 mg/L '-0.05' of A by heading\n");
}

#[test]
fn missing_numbers_are_no_results() {
    let (result, unplaced, findings) = one(Cell::number(9999.0), calcium(), |plan| {
        plan.missing_numbers = vec![9999.0];
    });
    assert_eq!(result, "");
    assert_eq!(unplaced, "B2 missing-number '9999'\n");
    assert_eq!(
        findings,
        "note missing-number B2 x1: calcium: 9999 means 'no result' in this file\n"
    );
}

#[test]
fn presence_words_mean_something_for_bacteria() {
    let counts = || analyte("e_coli", "CFU/100 ml", None);
    assert_eq!(
        text("ikke påvist", counts()).0,
        "B2 e_coli absent [CFU]/(100.mL) 'ikke påvist' of A by heading\n"
    );
    assert_eq!(
        text("negativ", counts()).0,
        "B2 e_coli absent [CFU]/(100.mL) 'negativ' of A by heading\n"
    );
    assert_eq!(text("0", counts()).2, "");
    assert_eq!(
        text("positiv", counts()).1,
        "B2 presence-without-number 'positiv'\n"
    );
}

#[test]
fn one_cause_is_one_finding_with_a_count() {
    let report = report(vec![(
        "Data",
        grid(&["Sample | Ca", "A | 0", "B | 0", "C | 0", "D | x", "E | -"]),
    )]);
    let block = block(
        Layout::SamplesDown,
        1,
        5,
        2,
        vec![field(0, Field::SampleRef), number(1, calcium())],
    );
    assert_eq!(
        findings(&normalized(&report, &plan(vec![block]))),
        "note zero-reported B2 x3: calcium: zero reported\n\
         note not-determined B5 x2: calcium: no result: 'x'\n"
    );
}

/// Value in column C, qualifier in B, limits in D and E, unit in F.
fn beside(rows: &[&str], change: impl FnOnce(&mut Plan)) -> Extract {
    let mut all = vec!["Sample | q | Ca | LOD | LOQ | Unit"];
    all.extend(rows);
    let report = report(vec![("Data", grid(&all))]);
    let companion = |at, role| track(at, TrackRole::Companion { of: 2, role });
    let mut plan = plan(vec![block(
        Layout::SamplesDown,
        1,
        rows.len() as u32,
        6,
        vec![
            field(0, Field::SampleRef),
            companion(1, ValueRole::Qualifier),
            number(2, calcium()),
            companion(3, ValueRole::DetectionLimit),
            companion(4, ValueRole::QuantificationLimit),
            companion(5, ValueRole::Unit),
        ],
    )]);
    change(&mut plan);
    normalized(&report, &plan)
}

#[test]
fn qualifiers_limits_and_units_beside_the_number() {
    for (row, expected) in [
        (
            "A | < | 0.05",
            "C2 calcium <0.05 mg/L '0.05' of A by heading\n",
        ),
        (
            "A | > | 500",
            "C2 calcium >500 mg/L '500' of A by heading\n",
        ),
        (
            "A | = | 0.05",
            "C2 calcium 0.05 mg/L '0.05' of A by heading\n",
        ),
        (
            "A | ND | 0.05",
            "C2 calcium <0.05 mg/L '0.05' of A by heading\n",
        ),
        (
            "A | ND | | 0.01 | 0.03",
            "B2 calcium <0.01 mg/L 'ND' of A by heading\n",
        ),
        (
            "A | < | | 0.01",
            "B2 calcium <0.01 mg/L '<' of A by heading\n",
        ),
        (
            "A | | n.n. | 0.01 | 0.03",
            "C2 calcium <0.01 mg/L 'n.n.' of A by heading\n",
        ),
        (
            "A | | <LOQ | 0.01 | 0.03",
            "C2 calcium <0.03 mg/L '<LOQ' of A by heading\n",
        ),
        (
            "A | | <LOQ | 0.01",
            "C2 calcium absent mg/L '<LOQ' of A by heading\n",
        ),
        (
            "A | | n.n. | | 30 µg/l",
            "C2 calcium <0.03 mg/L 'n.n.' of A by heading\n",
        ),
        (
            "A | | 118 | | | mg/l",
            "C2 calcium 118 mg/L '118' of A by row\n",
        ),
        (
            "A | | 118 | | | µg/l",
            "C2 calcium 0.118 mg/L '118' of A by row\n",
        ),
        (
            "A | | n.n. | 10 | | µg/l",
            "C2 calcium <0.01 mg/L 'n.n.' of A by row\n",
        ),
    ] {
        assert_eq!(results(&beside(&[row], |_| {})), expected, "{row}");
    }
}

#[test]
fn err_unknown_words_beside_the_number_keep_it_out() {
    for (row, reason, message) in [
        (
            "A | U | 0.05",
            "C2 qualifier-unknown '0.05'\n",
            "warning qualifier-unknown C2 x1: calcium: unknown code beside the number: 'U'\n",
        ),
        (
            "A | | 118 | | | parsec",
            "C2 unit-unknown '118'\n",
            "warning unit-unknown C2 x1: calcium: unknown unit: 'parsec'\n",
        ),
        (
            "A | | 118 | | | mS/cm",
            "C2 unit-unfit '118'\n",
            "error unit-unfit C2 x1: calcium: cannot be given in 'mS/cm'\n",
        ),
    ] {
        let extract = beside(&[row], |_| {});
        assert_eq!(results(&extract), "", "{row}");
        assert_eq!(unplaced(&extract), reason, "{row}");
        assert_eq!(findings(&extract), message, "{row}");
    }
}

#[test]
fn codes_of_the_laboratory_settle_what_they_mean() {
    for (code, expected) in [
        (
            QualifierCode::Below,
            "C2 calcium <0.05 mg/L '0.05' of A by heading\n",
        ),
        (
            QualifierCode::Above,
            "C2 calcium >0.05 mg/L '0.05' of A by heading\n",
        ),
        (
            QualifierCode::Keep,
            "C2 calcium 0.05 mg/L '0.05' of A by heading\n",
        ),
        (QualifierCode::Reject, ""),
        (QualifierCode::Missing, ""),
    ] {
        let extract = beside(&["A | U | 0.05"], |plan| {
            plan.codes.insert("U".into(), code);
        });
        assert_eq!(results(&extract), expected, "{code:?}");
    }
}

#[test]
fn a_line_of_qualifiers_belongs_to_the_sample_above() {
    let report = report(vec![(
        "Data",
        grid(&["Sample | Ca | Fe", "A | 118 | 20", "  | = | <"]),
    )]);
    let mut block = block(
        Layout::SamplesDown,
        1,
        2,
        3,
        vec![
            field(0, Field::SampleRef),
            number(1, calcium()),
            number(2, analyte("iron", "µg/l", None)),
        ],
    );
    block.not_samples.insert(
        2,
        LineRole::Companion {
            of: 1,
            role: ValueRole::Qualifier,
        },
    );
    assert_eq!(
        results(&normalized(&report, &plan(vec![block]))),
        "B2 calcium 118 mg/L '118' of A by heading\n\
         C2 iron <0.02 mg/L '20' of A by heading\n"
    );
}
