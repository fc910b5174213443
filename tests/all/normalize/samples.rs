//! Which lines are one sample, what their keys rest on, and what is said twice.

use super::*;
use proptest::prelude::*;

fn general() -> BlockPlan {
    block(
        Layout::SamplesDown,
        1,
        9,
        4,
        vec![
            field(0, Field::LabRef),
            field(1, Field::SampleRef),
            field(2, Field::SampledOn),
            number(3, analyte("calcium", "mg/l", None)),
        ],
    )
}

fn metals() -> BlockPlan {
    block(
        Layout::SamplesDown,
        1,
        9,
        4,
        vec![
            field(0, Field::LabRef),
            field(1, Field::SampleRef),
            field(2, Field::SampledOn),
            number(3, analyte("iron", "µg/l", None)),
        ],
    )
}

fn two_sheets(general_rows: &[&str], metal_rows: &[&str]) -> Extract {
    let head = |rows: &[&str]| {
        let mut all = vec!["Lab no. | Sample | Date | x"];
        all.extend(rows);
        grid(&all)
    };
    let report = report(vec![
        ("General", head(general_rows)),
        ("Metals", head(metal_rows)),
    ]);
    let mut plan = plan(vec![general()]);
    plan.sheets.push(SheetPlan {
        blocks: vec![metals()],
        ..SheetPlan::default()
    });
    normalized(&report, &plan)
}

#[test]
fn sheets_that_speak_of_one_sample_are_joined() {
    for (name, general, metals) in [
        (
            "laboratory number",
            "26-118 | BH 1 | 03.02.2026 | 118",
            "26-118 | | | 350",
        ),
        (
            "dash of typesetting",
            "26-118 | BH 1 | 03.02.2026 | 118",
            "26–118 | | | 350",
        ),
        (
            "reference",
            "26-118 | BH 1 | 03.02.2026 | 118",
            " | BH 1 | 03.02.2026 | 350",
        ),
        (
            "reference, case and blanks",
            "26-118 | BH 1 | 03.02.2026 | 118",
            " | bh  1 | | 350",
        ),
    ] {
        let extract = two_sheets(&[general], &[metals]);
        assert_eq!(
            results(&extract),
            "D2 calcium 118 mg/L '118' of BH 1/26-118/2026-02-03 by heading\n\
             D2 iron 0.35 mg/L '350' of BH 1/26-118/2026-02-03 by heading\n",
            "{name}"
        );
        assert_eq!(extract.samples.len(), 1, "{name}");
    }
}

#[test]
fn err_sheets_that_differ_are_not_joined() {
    for (name, general, metals) in [
        ("other number", "26-118 | | | 118", "26-119 | | | 350"),
        (
            "number written the other way round",
            "26-118 | | | 118",
            "118/26 | | | 350",
        ),
        (
            "other date",
            " | BH 1 | 03.02.2026 | 118",
            " | BH 1 | 04.02.2026 | 350",
        ),
        (
            "other reference",
            "26-118 | BH 1 | | 118",
            "26-118 | BH 2 | | 350",
        ),
        (
            "digits are not folded",
            " | BH 1 | | 118",
            " | BH 11 | | 350",
        ),
    ] {
        let extract = two_sheets(&[general], &[metals]);
        assert_eq!(extract.samples.len(), 2, "{name}");
    }
}

#[test]
fn a_reference_used_twice_on_a_sheet_joins_nothing() {
    let extract = two_sheets(
        &[" | 1 | 03.02.2026 | 118", " | 1 | 04.02.2026 | 119"],
        &[" | 1 | | 350"],
    );
    assert_eq!(extract.samples.len(), 3);
}

#[test]
fn sheets_stay_apart_where_the_plan_says_so() {
    let report = report(vec![
        ("General", grid(&["h", " | BH 1 | 03.02.2026 | 118"])),
        ("Metals", grid(&["h", " | BH 1 | | 350"])),
    ]);
    let mut plan = plan(vec![general()]);
    plan.join_sheets = false;
    plan.sheets.push(SheetPlan {
        blocks: vec![metals()],
        ..SheetPlan::default()
    });
    assert_eq!(normalized(&report, &plan).samples.len(), 2);
}

#[test]
fn err_a_laboratory_number_of_several_samples_is_no_key() {
    let report = report(vec![(
        "Data",
        grid(&["h", "7781 | BH 1 | | 118", "7781 | BH 2 | | 62"]),
    )]);
    let mut block = general();
    block.facts = vec![fact(Field::Lab, "North Water Lab")];
    let extract = normalized(&report, &plan(vec![block]));
    assert_eq!(extract.samples.len(), 2);
    assert_eq!(
        findings(&extract),
        "warning lab-reference-shared sheet x1: one laboratory number for samples that differ: 7781\n"
    );
}

#[test]
fn one_sample_reported_twice_with_other_values_says_so() {
    let report = report(vec![(
        "Data",
        grid(&["h", "26-118 | BH 1 | | 118", "26-118 | BH 1 | | 62"]),
    )]);
    let extract = normalized(&report, &plan(vec![general()]));
    assert_eq!((extract.samples.len(), extract.measurements.len()), (1, 2));
    assert_eq!(
        findings(&extract),
        "warning same-sample-other-value D2 x2: the sample is reported twice with other values: calcium '118' in D2 and '62' in D3\n"
    );
    assert_eq!(
        extract.findings[0].sample_key.as_ref(),
        Some(&extract.samples[0].key)
    );
}

#[test]
fn one_sample_with_many_other_values_is_one_finding() {
    let report = report(vec![(
        "Data",
        grid(&["h", "BH 1 | 118 | 9.2", "BH 1 | 62 | 5.8"]),
    )]);
    let block = block(
        Layout::SamplesDown,
        1,
        2,
        3,
        vec![
            field(0, Field::SampleRef),
            number(1, analyte("calcium", "mg/l", None)),
            number(2, analyte("magnesium", "mg/l", None)),
        ],
    );
    assert_eq!(
        findings(&normalized(&report, &plan(vec![block]))),
        "warning same-sample-other-value B2 x4: the sample is reported twice with other values: calcium '118' in B2 and '62' in B3, and 1 more analytes\n"
    );
}

#[test]
fn one_analyte_in_two_columns_says_so_where_the_values_differ() {
    let two = |a: &str, b: &str| {
        let report = report(vec![("Data", grid(&["h", &format!("BH 1 | {a} | {b}")]))]);
        let kit = AnalyteTrack {
            label_text: "Calcium (kit)".into(),
            ..analyte("calcium", "mmol/l", None)
        };
        let block = block(
            Layout::SamplesDown,
            1,
            1,
            3,
            vec![
                field(0, Field::SampleRef),
                number(1, analyte("calcium", "mg/l", None)),
                number(2, kit),
            ],
        );
        findings(&normalized(&report, &plan(vec![block])))
    };
    assert_eq!(
        two("118", "3.9"),
        "warning reported-twice B2 x2: one analyte under two labels with other values: calcium '118' in B2 and '3.9' in C2\n"
    );
    // 118 mg/L / 40.078 = 2.944 mmol/L: equal within the rounding of both.
    assert_eq!(two("118", "2.94"), "");
    assert_eq!(two("<1", "3.9"), "");
}

#[test]
fn keys_rest_on_the_identity_alone() {
    let key = |rows: &[&str], file: &str, facts: Vec<Fact>| {
        let mut all = vec!["h"];
        all.extend(rows);
        let mut report = report(vec![("Data", grid(&all))]);
        report.file = file.into();
        report.sha256 = format!("sha of {file}").into();
        let mut block = general();
        block.facts = facts;
        let extract = normalized(&report, &plan(vec![block]));
        extract.samples.last().unwrap().key.clone()
    };
    let lab = || vec![fact(Field::Lab, "North Water Lab")];
    let first = key(&["26-118 | BH 1 | 03.02.2026 | 118"], "a.xlsx", lab());
    assert_eq!(first.len(), 16);
    // Elsewhere, in another place of the sheet, described in other words: the laboratory's number is
    // the key.
    assert_eq!(
        first,
        key(&["1 | A | | 2", "26–118 | Bore 1 | | 62"], "b.xlsx", lab())
    );
    assert_ne!(
        first,
        key(&["26-119 | BH 1 | 03.02.2026 | 118"], "a.xlsx", lab())
    );
    // Without a laboratory: everything that is said.
    let plain = key(&["26-118 | BH 1 | 03.02.2026 | 118"], "a.xlsx", Vec::new());
    assert_ne!(first, plain);
    assert_eq!(
        plain,
        key(&["26-118 | bh  1 | 2026-02-03 | 9"], "b.xlsx", Vec::new())
    );
    assert_ne!(
        plain,
        key(&["26-118 | BH 1 | 04.02.2026 | 118"], "a.xlsx", Vec::new())
    );
    assert_ne!(
        plain,
        key(
            &["26-118 | BH 1 | 03.02.2026 | 118"],
            "a.xlsx",
            vec![fact(Field::Client, "Thistle")]
        )
    );
    // A date that is no day still tells samples apart.
    assert_ne!(
        key(&[" | BH 1 | March 2022 | 118"], "a.xlsx", Vec::new()),
        key(&[" | BH 1 | April 2022 | 118"], "a.xlsx", Vec::new())
    );
    // Without a day the name alone does not tell the samples of two reports apart.
    let dateless = |file: &str| key(&[" | BH 1 | | 118"], file, Vec::new());
    assert_ne!(dateless("a.xlsx"), dateless("b.xlsx"));
    assert_eq!(dateless("a.xlsx"), dateless("a.xlsx"));
}

#[test]
fn the_cell_comes_before_the_mapping() {
    let report = report(vec![(
        "Data",
        grid(&["h", " | BH 1 | 03.02.2026 | 118", " | BH 2 | | 62"]),
    )]);
    let mut block = general();
    block.facts = vec![fact(Field::SampledOn, "2026-02-09")];
    let extract = normalized(&report, &plan(vec![block]));
    let days: Vec<_> = extract
        .samples
        .iter()
        .map(|s| s.sampled_on.unwrap().to_string())
        .collect();
    assert_eq!(days, ["2026-02-03", "2026-02-09"]);
}

#[test]
fn lines_without_a_name_never_collide() {
    let report = report(vec![("Data", grid(&["h", " | | | 118", " | | | 62"]))]);
    let extract = normalized(&report, &plan(vec![general()]));
    assert_eq!(extract.samples.len(), 2);
    assert_ne!(extract.samples[0].key, extract.samples[1].key);
    assert_eq!(
        findings(&extract),
        "note sample-nameless A2 x2: lines without a name are told apart by their place in this file\n"
    );
}

#[test]
fn err_lines_without_values_are_no_samples() {
    let report = report(vec![(
        "Data",
        grid(&["h", "26-118 | BH 1 | | 118", "Remarks: turbid"]),
    )]);
    let extract = normalized(&report, &plan(vec![general()]));
    assert_eq!(extract.samples.len(), 1);
    assert_eq!(
        unplaced(&extract),
        "A3 line-without-values 'Remarks: turbid'\n"
    );
    assert_eq!(
        findings(&extract),
        "note line-without-values A3 x1: a line without a value: 'Remarks: turbid'\n"
    );
}

#[test]
fn err_dates_that_are_no_days_are_null_with_a_finding() {
    for (text, order, expected) in [
        (
            "03/04/2026",
            DateOrder::Undecided,
            "warning date-ambiguous C2 x1: sampled_on: day and month of '03/04/2026' can be exchanged\n",
        ),
        (
            "April 2026",
            DateOrder::DayFirst,
            "note date-partial C2 x1: sampled_on: not a day: 'April 2026'\n",
        ),
        (
            "12–14 May 2026",
            DateOrder::DayFirst,
            "note date-several C2 x1: sampled_on: several days: '12–14 May 2026'\n",
        ),
        (
            "31.04.2026",
            DateOrder::DayFirst,
            "warning date-impossible C2 x1: sampled_on: no calendar has this day: '31.04.2026'\n",
        ),
        (
            "1896-04-03",
            DateOrder::DayFirst,
            "warning date-out-of-range C2 x1: sampled_on: before 1950 or after 2100: '1896-04-03'\n",
        ),
        (
            "soon",
            DateOrder::DayFirst,
            "warning date-unread C2 x1: sampled_on: not a date: 'soon'\n",
        ),
        (
            "=12",
            DateOrder::DayFirst,
            "warning date-unread C2 x1: sampled_on: not a date: '12'\n",
        ),
    ] {
        let report = report(vec![(
            "Data",
            grid(&["h", &format!(" | BH 1 | {text} | 118")]),
        )]);
        let mut plan = plan(vec![general()]);
        plan.locale.dates = order;
        let extract = normalized(&report, &plan);
        assert_eq!(extract.samples[0].sampled_on, None, "{text}");
        assert_eq!(findings(&extract), expected, "{text}");
    }
}

#[test]
fn dates_that_are_days_can_have_a_finding_too() {
    for (text, day, expected) in [
        (
            "=46115",
            "2026-04-03",
            "note date-from-number C2 x1: sampled_on: the number 46115 was taken as a spreadsheet date of the 1900 system\n",
        ),
        (
            "04/13/2026",
            "2026-04-13",
            "warning date-against-order C2 x1: sampled_on: '04/13/2026' fits only the other order than the one of this file\n",
        ),
        ("03.04.2026", "2026-04-03", ""),
    ] {
        let report = report(vec![(
            "Data",
            grid(&["h", &format!(" | BH 1 | {text} | 118")]),
        )]);
        let extract = normalized(&report, &plan(vec![general()]));
        assert_eq!(
            extract.samples[0].sampled_on.unwrap().to_string(),
            day,
            "{text}"
        );
        assert_eq!(findings(&extract), expected, "{text}");
    }
}

#[test]
fn err_a_sample_taken_after_it_was_reported() {
    let report = report(vec![("Data", grid(&["h", " | BH 1 | 03.04.2026 | 118"]))]);
    let mut block = general();
    block.facts = vec![fact(Field::ReportedOn, "2026-03-09")];
    let extract = normalized(&report, &plan(vec![block]));
    assert_eq!(
        findings(&extract),
        "warning dates-out-of-order sheet x1: sampled after it was received or reported: sampled 2026-04-03, reported 2026-03-09\n"
    );
}

/// Two texts that are no days, and a day: whichever comes first, the two differ.
#[test]
fn err_texts_for_a_day_that_differ_join_nothing() {
    let keys = |rows: [&str; 3]| {
        let mut all = vec!["h"];
        all.extend(rows);
        let extract = normalized(&report(vec![("Data", grid(&all))]), &plan(vec![general()]));
        extract.samples.len()
    };
    let [day, one, other] = ["01.02.2026", "early 2026", "late 2026"]
        .map(|date| format!("26-117 | Mains | {date} | 1"));
    assert_eq!(keys([&day, &one, &other]), 3);
    assert_eq!(keys([&one, &other, &day]), 3);
}

proptest! {
    #[test]
    fn the_order_of_rows_does_not_matter_for_keys(
        rows in prop::collection::vec(
            ("(26-11[0-9])?", "(BH [1-5]|Mains|)", "(0[1-9].02.2026|March 2022|)", "[1-9][0-9]?"),
            1..8,
        ),
        seed in any::<u64>(),
        with_lab in any::<bool>(),
    ) {
        // Without lines that have no name: those are told apart by their place.
        let rows: Vec<String> = rows
            .into_iter()
            .filter(|(lab_ref, sample, date, _)| !(lab_ref.is_empty() && sample.is_empty() && date.is_empty()))
            .map(|(lab_ref, sample, date, value)| format!("{lab_ref} | {sample} | {date} | {value}"))
            .collect();
        let keys = |rows: &[String]| {
            let mut all = vec!["h"];
            all.extend(rows.iter().map(String::as_str));
            let report = report(vec![("Data", grid(&all))]);
            let mut block = general();
            if with_lab {
                block.facts = vec![fact(Field::Lab, "North Water Lab")];
            }
            let extract = normalized(&report, &plan(vec![block]));
            let mut keys: Vec<_> = extract
                .measurements
                .iter()
                .map(|m| (m.value_text.to_string(), extract.sample(m.sample).key.to_string()))
                .collect();
            keys.sort();
            keys
        };
        let mut shuffled = rows.clone();
        let mut state = seed;
        for i in (1..shuffled.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            shuffled.swap(i, (state >> 33) as usize % (i + 1));
        }
        prop_assert_eq!(keys(&rows), keys(&shuffled));
    }
}
