//! The account law, for random sheets and random plans: every non-blank cell counts exactly once, and
//! nothing panics, whatever the plan says of the sheet.

use super::*;
use proptest::prelude::*;
use wellread::map::{FormCell, LineRole, TrackGroup, ValueRole};
use wellread::place::Area;
use wellread::read::{Shown, Value};

const SIZE: u32 = 9;

fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            "12.5",
            "<0.05",
            "n.n.",
            "-",
            "0",
            "-3",
            "1.234",
            "12.3 mg/l",
            "ND (0.5)",
            "7.2/7.4",
            "BH 1",
            "BH 2",
            "26-118",
            "03.04.2026",
            "April 2026",
            "mg/l",
            "as N",
            "Calcium",
            "Nitrate",
            "total",
            "<",
            "U",
            "traces",
            ">100",
            "TNTC",
            "12.31)",
            "48.21",
            "x",
            "<LOQ",
            "Lake",
            "9999",
            "5 %",
            "#DIV/0!",
            "NaN",
        ])
        .prop_map(str::to_owned),
        "\\PC{0,6}",
    ]
}

fn cell() -> impl Strategy<Value = Cell> {
    prop_oneof![
        4 => text().prop_map(Cell::text),
        2 => (-10.0f64..1000.0).prop_map(Cell::number),
        1 => prop::sample::select(vec![
            Cell { value: Value::Number(0.5), shown: Shown::Percent },
            Cell { value: Value::Number(0.5), shown: Shown::Below },
            Cell { value: Value::Number(0.5), shown: Shown::With("mg/L".into()) },
            Cell { value: Value::Number(46115.0), shown: Shown::Plain },
            Cell { value: Value::Date { serial: 0.25, date: None }, shown: Shown::Plain },
            Cell { value: Value::Bool(true), shown: Shown::Plain },
            Cell { value: Value::Error("#N/A".into()), shown: Shown::Plain },
            Cell { value: Value::Uncalculated, shown: Shown::Plain },
        ]),
    ]
}

fn sheet() -> impl Strategy<Value = Grid> {
    prop::collection::vec((0..SIZE, 0..SIZE, cell()), 0..50).prop_map(|cells| {
        let mut grid = Grid::default();
        for (row, col, cell) in cells {
            grid.put(Address::new(row, col), cell);
        }
        grid
    })
}

fn address() -> impl Strategy<Value = Address> {
    (0..SIZE, 0..SIZE).prop_map(|(row, col)| Address::new(row, col))
}

fn value_role() -> impl Strategy<Value = ValueRole> {
    prop::sample::select(vec![
        ValueRole::Qualifier,
        ValueRole::DetectionLimit,
        ValueRole::QuantificationLimit,
        ValueRole::Uncertainty,
        ValueRole::Method,
        ValueRole::Unit,
    ])
}

fn known() -> impl Strategy<Value = AnalyteTrack> {
    (
        prop::sample::select(vec![
            ("calcium", "mg/l", None),
            ("nitrate", "mg/l", Some("N")),
            ("ph", "", None),
            ("iron", "µg/l", None),
        ]),
        prop::option::of(0.01f64..5.0),
    )
        .prop_map(|((code, unit, basis), number)| AnalyteTrack {
            limit: number.and_then(limit),
            ..analyte(code, unit, basis)
        })
}

fn role() -> impl Strategy<Value = TrackRole> {
    prop_oneof![
        4 => known().prop_map(|track| TrackRole::Analyte(Box::new(track))),
        4 => prop::sample::select(Field::ALL.to_vec()).prop_map(TrackRole::Field),
        2 => (0..SIZE, value_role()).prop_map(|(of, role)| TrackRole::Companion { of, role }),
        1 => Just(TrackRole::SetAside("aside".into())),
        1 => Just(TrackRole::Unplaced("analyte-unknown".into())),
    ]
}

fn line_role() -> impl Strategy<Value = LineRole> {
    prop_oneof![
        Just(LineRole::Heading),
        Just(LineRole::SetAside("aside".into())),
        Just(LineRole::Unplaced("statistics".into())),
        (0..SIZE, value_role()).prop_map(|(of, role)| LineRole::Companion { of, role }),
    ]
}

fn form_cell() -> impl Strategy<Value = FormCell> {
    (
        address(),
        prop::option::of(text().prop_map(Arc::from)),
        role(),
        prop::collection::vec((address(), value_role()), 0..3),
        prop::collection::vec(fact(), 0..3),
    )
        .prop_map(|(value, part, role, companions, own)| FormCell {
            value,
            part,
            role,
            companions,
            own,
        })
}

fn fact() -> impl Strategy<Value = Fact> {
    (prop::sample::select(Field::ALL.to_vec()), address()).prop_map(|(field, at)| Fact {
        field,
        from: Source::Cell(at),
    })
}

fn any_block() -> impl Strategy<Value = BlockPlan> {
    (
        prop::sample::select(Layout::ALL.to_vec()),
        (0..SIZE, 0..SIZE),
        prop::collection::btree_map(0..SIZE, line_role(), 0..3),
        prop::collection::vec(address(), 0..6),
        prop::collection::btree_map(0..SIZE, role(), 0..7),
        prop::collection::vec((prop::sample::select(Field::ALL.to_vec()), address()), 0..3),
        prop::collection::vec(form_cell(), 0..4),
        prop::collection::vec((prop::collection::vec(0..SIZE, 0..4), fact()), 0..3),
        prop::collection::vec(0..SIZE, 0..2),
    )
        .prop_map(
            |(
                layout,
                (first, last),
                not_samples,
                headings,
                tracks,
                facts,
                form,
                groups,
                carried,
            )| {
                BlockPlan {
                    layout,
                    across: layout == Layout::SamplesAcross,
                    first_line: first,
                    last_line: last,
                    not_samples,
                    headings,
                    tracks: tracks
                        .into_iter()
                        .map(|(at, role)| track(at, role))
                        .collect(),
                    facts: facts
                        .into_iter()
                        .map(|(field, at)| Fact {
                            field,
                            from: Source::Cell(at),
                        })
                        .collect(),
                    limit_unit: None,
                    fractions: BTreeMap::new(),
                    form: if layout == Layout::Form {
                        form
                    } else {
                        Vec::new()
                    },
                    carried,
                    groups: (groups.into_iter())
                        .map(|(tracks, fact)| TrackGroup { tracks, fact })
                        .collect(),
                    unseen: None,
                }
            },
        )
}

fn sheet_plan() -> impl Strategy<Value = SheetPlan> {
    (
        prop::collection::vec(any_block(), 0..4),
        prop::collection::vec((address(), address()), 0..2),
        prop::collection::vec(address(), 0..4),
        prop::collection::vec(address(), 0..4),
    )
        .prop_map(|(blocks, areas, titles, identity)| SheetPlan {
            blocks,
            set_aside: areas
                .into_iter()
                .map(|(a, b)| {
                    let area = Area {
                        top: a.row.min(b.row),
                        left: a.col.min(b.col),
                        bottom: a.row.max(b.row),
                        right: a.col.max(b.col),
                    };
                    (area, Arc::from("aside"))
                })
                .collect(),
            titles,
            identity,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn every_cell_counts_once(
        sheets in prop::collection::vec((sheet(), sheet_plan()), 1..4),
        negative_is_below in any::<bool>(),
        join_sheets in any::<bool>(),
    ) {
        let names = ["One", "Two", "Three"];
        let (grids, plans): (Vec<_>, Vec<_>) = sheets.into_iter().unzip();
        let report = report(names.into_iter().zip(grids).collect());
        let mut plan = plan(Vec::new());
        plan.sheets = plans;
        plan.negative_is_below = negative_is_below;
        plan.missing_numbers = vec![9999.0];
        plan.join_sheets = join_sheets;
        // `normalized` holds the law.
        let extract = normalized(&report, &plan);
        for m in &extract.measurements {
            prop_assert!(m.value.is_none_or(f64::is_finite));
            prop_assert_eq!(m.value.is_none(), m.censored.is_some_and(|c| c.name() == "absent"));
            prop_assert!((m.sample.0 as usize) < extract.samples.len());
        }
        let mut cells: Vec<_> = extract.measurements.iter().map(|m| (m.sheet, m.at)).collect();
        prop_assert!(cells.is_sorted());
        cells.extend(extract.unplaced.iter().map(|u| (u.sheet, u.at)));
        cells.sort_unstable();
        let before = cells.len();
        cells.dedup();
        prop_assert_eq!(before, cells.len(), "a cell became two rows");
        let mut keys: Vec<_> = extract.samples.iter().map(|s| s.key.clone()).collect();
        keys.sort_unstable();
        let before = keys.len();
        keys.dedup();
        prop_assert_eq!(before, keys.len(), "two samples with one key");
        // Every sample has a result.
        for sample in 0..extract.samples.len() {
            prop_assert!(extract.measurements.iter().any(|m| m.sample.0 as usize == sample));
        }
        // Same input, same output.
        prop_assert_eq!(&extract, &normalized(&report, &plan));
    }
}
