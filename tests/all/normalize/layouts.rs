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
