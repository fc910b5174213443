//! What stands in the files.

use super::*;
use wellread::schema::Table;

#[test]
fn the_csv_twins_hold_every_value_as_it_should_be_read() {
    let dir = tempfile::tempdir().unwrap();
    let written = write(dir.path(), &[report("a.csv")], true).unwrap();
    assert_eq!(
        (written.results, written.samples, written.cells),
        (5, 3, 18)
    );
    let results = csv_text(dir.path(), "results");
    let expected = [
        "a.csv-1,Thistledown Nursery,,Borehole 2,,'=Fennmoor,T-a.csv-1,Fennmoor Laboratory,,2026-02-03,calcium,dissolved,101,mg/L,,101,Ca,mg/l,,heading,1,a.csv,Wässer,C5,fennmoor,2026-02-09,1969-12-31,-52.125,0,",
        "a.csv-1,Thistledown Nursery,,Borehole 2,,'=Fennmoor,T-a.csv-1,Fennmoor Laboratory,,2026-02-03,nitrate,,0.05,mg/L,below,\"<0,05\",\"Nitrat, \"\"NO3\"\"\n(als N)\",mg/l,as N,assumed,0.30000000000000004,a.csv,Wässer,D5,fennmoor,2026-02-09,1969-12-31,-52.125,0,basis-assumed",
        "a.csv-2,Thistledown Nursery,,Borehole 2,,,T-a.csv-2,Fennmoor Laboratory,,,nitrate,,,mg/L,absent,n.n.,\"Nitrat, \"\"NO3\"\"\n(als N)\",mg/l,as N,assumed,0.30000000000000004,a.csv,Wässer,D6,fennmoor,,,,,basis-assumed",
        "a.csv-2,Thistledown Nursery,,Borehole 2,,,T-a.csv-2,Fennmoor Laboratory,,,sodium,total,1e-9,mg/L,above,>1e-9,,,,cell,,a.csv,Wässer,AE6,fennmoor,,,,,",
        "shared,,Üstra µ,Borehole 2,borehole,,T-shared,Fennmoor Laboratory,007,2025-06-30,sodium,total,12.3,mg/L,,'=12.3,,,,cell,,a.csv,,A1000000,recognised,,,,,",
    ];
    let names = Table::Results.columns(Vocabulary::built_in());
    let heading: Vec<_> = names.iter().map(|c| c.name.as_ref()).collect();
    let expected = format!("{}\r\n{}\r\n", heading.join(","), expected.join("\r\n"));
    assert_eq!(results, expected);
    assert_eq!(
        csv_text(dir.path(), "findings"),
        "severity,code,message,help,file,sheet,cell,sample_key,analyte,cells\r\n\
         error,value-unreadable,cannot read '1O1',,a.csv,Wässer,C7,a.csv-1,,1\r\n\
         warning,charge-imbalance,does not balance,look,a.csv,,,,,1\r\n\
         warning,basis-assumed,taken as N,say so,a.csv,Wässer,D4,,nitrate,2\r\n\
         note,file-note,odd,,a.csv,,,,,1\r\n"
    );
    assert_eq!(
        csv_text(dir.path(), "unplaced"),
        "file,sheet,cell,text,reason\r\n\
         a.csv,Wässer,C7,1O1,value-unreadable\r\n\
         a.csv,Wässer,A10,\"'@see over, \"\"page\"\" 2\",analyte-unknown\r\n"
    );
    let sha256 = format!("{:0>64}", 5);
    assert_eq!(
        csv_text(dir.path(), "account"),
        format!(
            "file,sheet,sha256,mapping,cells,results,identity,headings,set_aside,unplaced\r\n\
             a.csv,Wässer,{sha256},fennmoor,17,4,3,6,2,2\r\n\
             a.csv,,{sha256},recognised,1,1,0,0,0,0\r\n"
        )
    );
}

/// Column `name` of the sample with this key.
fn wide(dir: &Path, key: &str, name: &str) -> String {
    let text = csv_text(dir, "samples");
    let mut lines = csv::Reader::from_reader(text.as_bytes());
    let column = lines.headers().unwrap().iter().position(|h| h == name);
    let rows: Vec<_> = lines.records().map(|row| row.unwrap()).collect();
    let row = rows.iter().find(|row| &row[0] == key).unwrap();
    row[column.unwrap()].to_owned()
}

#[test]
fn the_wide_table_merges_reports_and_leaves_out_what_is_censored_or_disputed() {
    let dir = tempfile::tempdir().unwrap();
    let with = |file: &str, value: f64, day| {
        let mut report = report(file);
        report.samples[2].reported_on = day;
        report.measurements[4].value = Some(value);
        report
    };
    let early = Some(date(2026, 1, 1));
    let late = Some(date(2026, 3, 1));
    for (name, first, second, sodium) in [
        ("same value twice", (12.3, None), (12.3, None), "12.3"),
        ("two values, no order", (12.3, None), (13.0, None), ""),
        ("a later issue corrects", (12.3, early), (13.0, late), "13"),
        ("in whatever order", (13.0, late), (12.3, early), "13"),
        ("a dated issue counts", (12.3, None), (13.0, early), "13"),
    ] {
        let reports = [
            with("a.csv", first.0, first.1),
            with("b.csv", second.0, second.1),
        ];
        write(dir.path(), &reports, true).unwrap();
        assert_eq!(wide(dir.path(), "shared", "sodium_mg_l"), sodium, "{name}");
    }
    for (key, column, expected) in [
        ("shared", "files", "2"),
        ("shared", "site", "Üstra µ"),
        ("shared", "restriction_sodium_sprinkler", "none"),
        ("a.csv-1", "calcium_supply_g_m3", "101"),
        ("shared", "charge_balance_verdict", "incomplete"),
        ("shared", "censored", ""),
        ("a.csv-1", "files", "1"),
        ("a.csv-1", "calcium_mg_l", "101"),
        ("a.csv-1", "nitrate_mg_l", ""),
        ("a.csv-1", "censored", "nitrate"),
        ("a.csv-1", "latitude", "-52.125"),
        ("a.csv-1", "longitude", "0"),
        ("a.csv-1", "cations_meq_l", ""),
        ("a.csv-2", "censored", "sodium;nitrate"),
    ] {
        assert_eq!(wide(dir.path(), key, column), expected, "{key} {column}");
    }
}

#[test]
fn dissolved_counts_before_total_before_unstated() {
    let dir = tempfile::tempdir().unwrap();
    let mut report = report("a.csv");
    report.recipes = [None, Some(Fraction::Total), Some(Fraction::Dissolved)]
        .map(|fraction| Recipe {
            fraction,
            ..recipe("calcium", "Ca")
        })
        .to_vec();
    for (i, measurement) in report.measurements.iter_mut().enumerate() {
        measurement.sample = SampleId(0);
        measurement.recipe = RecipeId(i as u32 % 3);
        measurement.value = Some(1.0 + i as f64 % 3.0);
        measurement.censored = None;
    }
    write(dir.path(), &[report], true).unwrap();
    assert_eq!(wide(dir.path(), "a.csv-1", "calcium_mg_l"), "3");
}

#[test]
fn without_csv_only_parquet_and_the_description_stand() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), &[report("a.csv")], true).unwrap();
    assert_eq!(files(dir.path()).len(), 11);
    write(dir.path(), &[report("a.csv")], false).unwrap();
    let names: Vec<String> = files(dir.path()).into_keys().collect();
    assert_eq!(
        names,
        [
            "account.parquet",
            "datapackage.json",
            "findings.parquet",
            "results.parquet",
            "samples.parquet",
            "unplaced.parquet"
        ]
    );
}

#[test]
fn an_empty_dataset_has_all_its_tables() {
    let dir = tempfile::tempdir().unwrap();
    let dataset = Dataset::open(dir.path(), Wait::No).unwrap();
    let sink = dataset
        .begin(options(true), Vocabulary::built_in())
        .unwrap();
    let written = finish(sink, &[], Vec::new()).unwrap().commit();
    assert_eq!(written.unwrap().results, 0);
    assert_eq!(
        csv_text(dir.path(), "unplaced"),
        "file,sheet,cell,text,reason\r\n"
    );
}

#[test]
fn err_what_breaks_a_law_is_not_written() {
    type Break = fn(&mut Extract);
    let cases: [(&str, Break, &str); 6] = [
        (
            "tally",
            |r| r.sheets[0].cells += 1,
            "internal: a.csv Wässer: 18 cells, but 4 results + 3 identity + 6 headings + 2 set \
             aside + 2 unplaced",
        ),
        (
            "results of account",
            |r| {
                r.sheets[0].results += 1;
                r.sheets[0].cells += 1;
            },
            "internal: results has 5 rows, the account 6 cells",
        ),
        (
            "unplaced of account",
            |r| {
                r.unplaced.pop();
            },
            "internal: a.csv: 1 cells unplaced, 2 in its account",
        ),
        (
            "not a number",
            |r| r.measurements[0].value = Some(f64::NAN),
            "internal: a.csv C5: value Some(NaN)",
        ),
        (
            "no value",
            |r| r.measurements[0].value = None,
            "internal: a.csv C5: value None",
        ),
        (
            "order",
            |r| r.measurements.swap(0, 1),
            "internal: a.csv: result C5 out of order",
        ),
    ];
    for (name, break_it, expected) in cases {
        let dir = tempfile::tempdir().unwrap();
        write(dir.path(), &[report("a.csv")], true).unwrap();
        let before = files(dir.path());
        let mut broken = report("a.csv");
        break_it(&mut broken);
        let error = write(dir.path(), &[broken], true).unwrap_err();
        assert_eq!(error.to_string(), expected, "{name}");
        assert_eq!(files(dir.path()), before, "{name}");
    }
}

#[test]
fn err_reports_come_in_the_order_of_their_paths() {
    let dir = tempfile::tempdir().unwrap();
    let error = write(dir.path(), &[report("b.csv"), report("a.csv")], true).unwrap_err();
    assert_eq!(error.to_string(), "internal: a.csv comes after b.csv");
}

#[test]
fn a_report_in_pieces_is_the_report() {
    let whole = tempfile::tempdir().unwrap();
    let pieces = tempfile::tempdir().unwrap();
    write(whole.path(), &[report("a.csv")], true).unwrap();
    let mut first = report("a.csv");
    let mut second = report("a.csv");
    second.measurements = first.measurements.split_off(2);
    second.findings = first.findings.split_off(1);
    first.unplaced.clear();
    for (sheet, of_first) in [(0, 2), (1, 0)] {
        let whole = report("a.csv").sheets[sheet].clone();
        let (one, two) = (&mut first.sheets[sheet], &mut second.sheets[sheet]);
        one.results = of_first;
        one.unplaced = 0;
        one.cells = one.results + one.identity + one.headings + one.set_aside;
        two.results -= of_first;
        (two.identity, two.headings, two.set_aside) = (0, 0, 0);
        two.cells = whole.cells - one.cells;
    }
    write(pieces.path(), &[first, second], true).unwrap();
    assert_eq!(files(pieces.path()), files(whole.path()));
}
