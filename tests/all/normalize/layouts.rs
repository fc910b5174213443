//! The four layouts.

use super::*;
use wellread::map::{FormCell, LineRole, ValueRole};

#[test]
fn samples_down_gives_a_sample_a_row() {
    let report = report(vec![(
        "Data",
        grid(&[
            "Sample | Date       | pH  | Calcium | NO3-N | Remark",
            "BH 1   | 03.02.2026 | 7.2 | 118     | 4.97  | turbid",
            "Rain   | 04.02.2026 | 6.4 | <0.5    | -     |",
            "Mean   |            | 6.8 | 59      |       |",
        ]),
    )]);
    let mut block = block(
        Layout::SamplesDown,
        1,
        3,
        6,
        vec![
            field(0, Field::SampleRef),
            field(1, Field::SampledOn),
            number(2, analyte("ph", "", None)),
            number(3, analyte("calcium", "mg/l", None)),
            number(4, analyte("nitrate", "mg/l", Some("N"))),
            field(5, Field::Remark),
        ],
    );
    block
        .not_samples
        .insert(3, LineRole::Unplaced("statistics".into()));
    let extract = normalized(&report, &plan(vec![block]));
    // 4.97 mg/L N × 62.004 / 14.007 (IUPAC 2021 abridged weights) = 22.0004 mg/L NO3.
    assert_eq!(
        results(&extract),
        "C2 ph 7.2 [pH] '7.2' of BH 1/2026-02-03 by heading\n\
         D2 calcium 118 mg/L '118' of BH 1/2026-02-03 by heading\n\
         E2 nitrate 22.00042 mg/L '4.97' of BH 1/2026-02-03 by heading\n\
         C3 ph 6.4 [pH] '6.4' of Rain/2026-02-04 by heading\n\
         D3 calcium <0.5 mg/L '<0.5' of Rain/2026-02-04 by heading\n"
    );
    assert_eq!(
        unplaced(&extract),
        "E3 not-determined '-'\n\
         A4 statistics 'Mean'\n\
         C4 statistics '6.8'\n\
         D4 statistics '59'\n"
    );
    let account = &extract.sheets[0];
    assert_eq!(
        (
            account.results,
            account.identity,
            account.headings,
            account.unplaced
        ),
        (5, 5, 6, 4)
    );
}

#[test]
fn samples_across_gives_a_sample_a_column() {
    let report = report(vec![(
        "Data",
        grid(&[
            "Parameter | Unit | 26/118     | 26/119",
            "Point     |      | Borehole 1 | Mains",
            "Sampled   |      | 12.05.2026 | 13.05.2026",
            "Calcium   | mg/l | 118        | 62",
            "Iron      | µg/l | 350        | <20",
        ]),
    )]);
    let mut block = block(
        Layout::SamplesAcross,
        2,
        3,
        5,
        vec![
            field(0, Field::LabRef),
            field(1, Field::Source),
            field(2, Field::SampledOn),
            number(3, analyte("calcium", "mg/l", None)),
            number(4, analyte("iron", "µg/l", None)),
        ],
    );
    block
        .headings
        .extend((0..5).map(|row| Address::new(row, 0)));
    let extract = normalized(&report, &plan(vec![block]));
    assert_eq!(
        results(&extract),
        "C4 calcium 118 mg/L '118' of 26/118/Borehole 1/2026-05-12 by heading\n\
         D4 calcium 62 mg/L '62' of 26/119/Mains/2026-05-13 by heading\n\
         C5 iron 0.35 mg/L '350' of 26/118/Borehole 1/2026-05-12 by heading\n\
         D5 iron <0.02 mg/L '<20' of 26/119/Mains/2026-05-13 by heading\n"
    );
    assert_eq!(unplaced(&extract), "");
}

#[test]
fn a_form_gives_one_sample() {
    let report = report(vec![(
        "Report",
        grid(&[
            "Client:  | Thistle & Daughters | Report no.: | Q-5512-1",
            "Source:  | Borehole, yard side",
            "pH ..... | 7.2",
            "Calcium  | 118 | mg/l | 5.89 me/l",
            "Iron     | n.n. | mg/l | 0.02",
            "Sulfate: 31 mg/l",
        ]),
    )]);
    let cell = |row, col, role| FormCell {
        value: Address::new(row, col),
        part: None,
        role,
        companions: Vec::new(),
        own: Vec::new(),
    };
    let result = |row, col, track| cell(row, col, TrackRole::Analyte(Box::new(track)));
    let mut form = block(Layout::Form, 0, 0, 0, Vec::new());
    form.headings = vec![
        Address::new(0, 0),
        Address::new(1, 0),
        Address::new(2, 0),
        Address::new(3, 0),
        Address::new(4, 0),
        Address::new(0, 2),
    ];
    form.form = vec![
        cell(0, 1, TrackRole::Field(Field::Client)),
        cell(0, 3, TrackRole::Field(Field::ReportRef)),
        cell(1, 1, TrackRole::Field(Field::Source)),
        result(2, 1, analyte("ph", "", None)),
        FormCell {
            companions: vec![(Address::new(3, 2), ValueRole::Unit)],
            ..result(3, 1, analyte("calcium", "mg/l", None))
        },
        cell(
            3,
            3,
            TrackRole::SetAside("same result in another unit".into()),
        ),
        FormCell {
            companions: vec![
                (Address::new(4, 2), ValueRole::Unit),
                (Address::new(4, 3), ValueRole::DetectionLimit),
            ],
            ..result(4, 1, analyte("iron", "mg/l", None))
        },
        FormCell {
            part: Some("31 mg/l".into()),
            ..result(5, 0, analyte("sulfate", "mg/l", None))
        },
    ];
    let extract = normalized(&report, &plan(vec![form]));
    assert_eq!(
        results(&extract),
        "B3 ph 7.2 [pH] '7.2' of Borehole, yard side by heading\n\
         B4 calcium 118 mg/L '118' of Borehole, yard side by row\n\
         B5 iron <0.02 mg/L 'n.n.' of Borehole, yard side by row\n\
         A6 sulfate 31 mg/L 'Sulfate: 31 mg/l' of Borehole, yard side by cell\n"
    );
    assert_eq!(
        extract.samples[0].client.as_deref(),
        Some("Thistle & Daughters")
    );
    let account = &extract.sheets[0];
    assert_eq!((account.set_aside, account.unplaced), (1, 0));
}

/// Sample, label, result, unit, limit, qualifier, basis, date.
fn long(rows: &[&str], change: impl FnOnce(&mut Plan)) -> Extract {
    let mut all = vec!["sample_no | param | result | unit | loq | qual | basis | sampled"];
    all.extend(rows);
    let report = report(vec![("", grid(&all))]);
    let mut plan = plan(vec![block(
        Layout::ResultsDown,
        1,
        rows.len() as u32,
        8,
        vec![
            field(0, Field::LabRef),
            field(1, Field::Label),
            field(2, Field::Value),
            field(3, Field::Unit),
            field(4, Field::QuantificationLimit),
            field(5, Field::Qualifier),
            field(6, Field::Basis),
            field(7, Field::SampledOn),
        ],
    )]);
    change(&mut plan);
    normalized(&report, &plan)
}

#[test]
fn results_down_gives_a_result_a_row() {
    let extract = long(
        &[
            "7781 | Calcium          | 118  | mg/L  | 0.5  |   |       | 2026-05-12",
            "7781 | Nitrate (as N)   | 4.97 | mg/L  | 0.05 |   |       | 2026-05-12",
            "7781 | Iron             | 0.02 | mg/L  | 0.02 | < |       | 2026-05-12",
            "7781 | Iron             | 350  | µg/L  |      |   |       | 2026-05-12",
            "7782 | Nitrate          | 4.97 | mg/L  |      |   | as N  | 2026-05-13",
            "7782 | Nitrate as N     | 4.97 | mg N/L |     |   |       | 2026-05-13",
            "7782 | Boron            | n.n. | mg/L  | 0.03 |   |       | 2026-05-13",
            "7782 | pH               | 7.2  | -     |      |   |       | 2026-05-13",
            "7782 | pH               | 7.3  | pH units |   |   |       | 2026-05-13",
        ],
        |_| {},
    );
    assert_eq!(
        results(&extract),
        "C2 calcium 118 mg/L '118' of 7781/2026-05-12 by row\n\
         C3 nitrate 22.00042 mg/L '4.97' of 7781/2026-05-12 by heading\n\
         C4 iron <0.02 mg/L '0.02' of 7781/2026-05-12 by row\n\
         C5 iron 0.35 mg/L '350' of 7781/2026-05-12 by row\n\
         C6 nitrate 22.00042 mg/L '4.97' of 7782/2026-05-13 by heading\n\
         C7 nitrate 22.00042 mg/L '4.97' of 7782/2026-05-13 by row\n\
         C8 boron <0.03 mg/L 'n.n.' of 7782/2026-05-13 by row\n\
         C9 ph 7.2 [pH] '7.2' of 7782/2026-05-13 by row\n\
         C10 ph 7.3 [pH] '7.3' of 7782/2026-05-13 by row\n"
    );
    assert_eq!(unplaced(&extract), "");
    assert_eq!(extract.samples.len(), 2);
}

#[test]
fn err_rows_that_nobody_understands_stay_unplaced() {
    for (row, reason, message) in [
        (
            "7781 | Frobnium | 118 | mg/L",
            "C2 analyte-unknown '118'\n",
            "warning analyte-unknown C2 x1: no analyte is called 'Frobnium'\n",
        ),
        (
            "7781 | Calcium | 118 | parsec",
            "C2 unit-unknown '118'\n",
            "warning unit-unknown C2 x1: 'Calcium' is given in 'parsec', which is no known unit\n",
        ),
        (
            "7781 | Calcium | 118 | mS/cm",
            "C2 unit-unfit '118'\n",
            "error unit-unfit C2 x1: 'Calcium': calcium cannot be given in 'mS/cm'\n",
        ),
        (
            "7781 | Nitrate | 4.97 | mg/L | | | as Frob",
            "C2 basis-unknown '4.97'\n",
            "warning basis-unknown C2 x1: 'Nitrate' is expressed as 'as Frob', which is no known basis\n",
        ),
        (
            "7781 | Nitrate as N | 4.97 | mg/L | | | as NO3",
            "C2 basis-contradicts '4.97'\n",
            "warning basis-contradicts C2 x1: 'Nitrate as N' is expressed in several ways: NO3, N\n",
        ),
    ] {
        let extract = long(&[row], |_| {});
        assert_eq!(results(&extract), "", "{row}");
        assert_eq!(unplaced(&extract), reason, "{row}");
        assert_eq!(findings(&extract), message, "{row}");
    }
}

/// The column of values is not known: a sign beside a label is no result.
#[test]
fn err_without_a_column_of_values_nothing_is_a_result() {
    let extract = long(&["7781 | Iron | 0.05 | mg/L | | <"], |plan| {
        plan.sheets[0].blocks[0]
            .tracks
            .retain(|track| !matches!(track.role, TrackRole::Field(Field::Value)));
    });
    assert_eq!(results(&extract), "");
    assert_eq!(unplaced(&extract), "C2 outside-tables '0.05'\n");
}

/// A remark in whole words: below the limit, and above it.
#[test]
fn a_remark_beside_a_number_qualifies_it() {
    let extract = long(
        &[
            "7781 | Iron  | 0.05 | mg/L | | Résultat < au seuil de quantification",
            "7781 | Boron | 0.04 | mg/L | | Résultat > seuil de quantification et < au seuil de saturation",
            "7781 | Zinc  | 0.04 | mg/L | | Résultat < au seuil",
        ],
        |_| {},
    );
    assert_eq!(
        results(&extract),
        "C2 iron <0.05 mg/L '0.05' of 7781 by row\n\
         C3 boron 0.04 mg/L '0.04' of 7781 by row\n"
    );
    assert_eq!(unplaced(&extract), "C4 qualifier-unknown '0.04'\n");
}

/// The limit is 10 µg/L; as 10 mg/L it would be a thousand times too high.
#[test]
fn a_limit_counts_in_its_own_unit() {
    let extract = long(
        &[
            "7781 | Iron  |      |      | 10   | ND |      | 2026-05-12 | µg/L",
            "7781 | Boron | n.n. | mg/L | 10   |    |      | 2026-05-12 | µg/L",
            "7781 | Zinc  | n.n. | mg/L | 0.01 |    |      | 2026-05-12 | mg/L",
        ],
        |plan| {
            plan.sheets[0].blocks[0]
                .tracks
                .push(field(8, Field::LimitUnit))
        },
    );
    assert_eq!(
        results(&extract),
        "F2 iron <0.01 mg/L 'ND' of 7781/2026-05-12 by row\n\
         C3 boron <0.01 mg/L 'n.n.' of 7781/2026-05-12 by row\n\
         C4 zinc <0.01 mg/L 'n.n.' of 7781/2026-05-12 by row\n"
    );
}

#[test]
fn rows_without_a_value_are_counted_and_told_once() {
    let extract = long(
        &[
            "7781 | Calcium | | mg/L",
            "7781 | Iron | | mg/L",
            "7781 | Boron | 0.04 | mg/L",
        ],
        |_| {},
    );
    assert_eq!(extract.measurements.len(), 1);
    assert_eq!(
        findings(&extract),
        "note value-missing A2 x2: rows: a row without a value\n"
    );
}

#[test]
fn a_rule_of_the_mapping_can_hold_from_a_day_on() {
    use wellread::locate::Wording;
    use wellread::map::LabelRule;
    let vocabulary = Vocabulary::built_in();
    let rule = |basis: &str, from, to| LabelRule {
        label: Wording::Text("Nitrate".into()),
        at: None,
        sheet: None,
        meaning: None,
        unit: None,
        basis: vocabulary.read_basis(basis),
        fraction: None,
        reference_temperature: None,
        from,
        to,
        reason: None,
        overrides: false,
    };
    let day = |text: &str| Some(text.parse().unwrap());
    let extract = long(
        &[
            "1 | Nitrate | 10 | mg/L | | | | 2025-12-31",
            "2 | Nitrate | 10 | mg/L | | | | 2026-01-01",
        ],
        |plan| {
            plan.labels = vec![
                rule("N", None, day("2025-12-31")),
                rule("NO3", day("2026-01-01"), None),
            ];
        },
    );
    assert_eq!(
        results(&extract),
        "C2 nitrate 44.266438 mg/L '10' of 1/2025-12-31 by mapping\n\
         C3 nitrate 10 mg/L '10' of 2/2026-01-01 by mapping\n"
    );
}
