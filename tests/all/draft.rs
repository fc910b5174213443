//! `draft`, `look` and `mappings` as a person uses them, and drafts held against what they were made
//! from.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::Arc;
use wellread::mapping::draft::{Detail, Drafted, draft, same_layout};
use wellread::mapping::{compile, repair};
use wellread::read::{Options, open_text};
use wellread::run::{Seen, mapped, see_with};
use wellread::vocabulary::Vocabulary;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn words() -> &'static Vocabulary {
    Vocabulary::built_in()
}

fn seen(name: &str, text: &str) -> Seen {
    let report = open_text(text, &Arc::from(name), &Options::default());
    mapped(report, None, words())
}

fn sample(name: &str) -> Seen {
    let path = root().join("samples").join(name);
    see_with(&path, &Arc::from(name), None, words())
}

fn drafted<'a>(seen: &'a Seen) -> Drafted<'a> {
    Drafted {
        report: &seen.report,
        plan: &seen.plan,
        extract: &seen.extract,
        path: "report",
    }
}

fn wellread(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_wellread"))
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

const TABLE: &str = "\
Old Well Laboratory;;;;;
Lab no.;Sample;Sampled;pH;Nitrate (as N) mg/l;Quirk
26-1;Bore North;13.02.2026;7,2;4,97;3
26-2;Rain tank;14.02.2026;6,4;<0,5;5
";

#[test]
fn every_draft_of_a_sample_compiles_and_gives_the_same_results() {
    let mut tried = 0;
    for entry in fs::read_dir(root().join("samples")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".py") || name.ends_with(".md") || name.starts_with("__") {
            continue;
        }
        let seen = sample(&name);
        let gives_the_same = |detail: Detail| {
            let (text, _) = draft(&[drafted(&seen)], words(), detail, None);
            let mapping = compile(Path::new("draft.toml"), &text, words())
                .unwrap_or_else(|problems| panic!("{name}:\n{problems}"));
            assert!(mapping.recognise.fits(&seen.report), "{name}");
            let again = mapped(seen.report.clone(), Some(&mapping.rules), words());
            again.extract.measurements == seen.extract.measurements
                && again.extract.recipes == seen.extract.recipes
                && again.extract.samples == seen.extract.samples
        };
        assert!(
            [Detail::Full, Detail::Analytes, Detail::Comments]
                .into_iter()
                .any(gives_the_same),
            "{name}"
        );
        tried += 1;
    }
    assert!(tried >= 10, "{tried}");
}

#[test]
fn reports_of_one_layout_are_one_group() {
    let of = |seen: &'static str| sample(seen);
    let [a, b, c] = [
        "brackenmoor-2025.xlsx",
        "brackenmoor-2026.xlsx",
        "hohenquell-2025.csv",
    ]
    .map(of);
    assert!(same_layout((&a.report, &a.plan), (&b.report, &b.plan)));
    assert!(!same_layout((&a.report, &a.plan), (&c.report, &c.plan)));
}

#[test]
fn a_draft_says_what_is_known_and_marks_what_is_not() {
    let seen = seen("old.csv", &TABLE.replace("Nitrate (as N) mg/l", "Nitrate"));
    let (text, _) = draft(&[drafted(&seen)], words(), Detail::Full, None);
    let has = |line: &str| assert!(text.lines().any(|l| l.starts_with(line)), "{line}\n{text}");
    has("decimal = \"comma\"");
    has("dates = \"day-first\"");
    has("headings = [\"Lab no.\", \"Sample\", \"Sampled\", ");
    has("\"pH\" = { means = \"ph\" }");
    // What was assumed stays a comment: nobody has confirmed it.
    has("# CHECK column E: ");
    has("# \"Nitrate\" = { means = \"nitrate\", unit = ");
    has("# CHECK column F: not placed");
    has("# \"Quirk\" = { means = \"…\" }");
    has("# \"Quirk\" = { means = \"set-aside\", reason = \"…\" }");
    has("[example]");
}

#[test]
fn days_of_what_nobody_knows_are_left_to_be_said() {
    let text = "Station;Timestamp UTC;pH;Ca (mg/l)\nR1;2025-02-11;7.9;92\nR1;2025-05-11;7.8;88\n";
    let (text, _) = draft(
        &[drafted(&seen("stamps.csv", text))],
        words(),
        Detail::Full,
        None,
    );
    let lines = "# CHECK column B: 'Timestamp UTC' holds days, but nothing says of what: they tell samples \
                 apart, and are not taken as days of sampling; one of these:\n\
                 # \"Timestamp UTC\" = { means = \"sampled_on\" }\n\
                 # \"Timestamp UTC\" = { means = \"occasion\" }\n";
    assert!(text.contains(lines), "{text}");
}

#[test]
fn names_of_what_nobody_knows_are_left_to_be_said() {
    let text = "Paddock;Parameter;Result;Unit\nNorth;Calcium;92;mg/l\nNorth;Chloride;9;mg/l\n\
                South;Calcium;88;mg/l\nSouth;Chloride;8;mg/l\n";
    let (text, _) = draft(
        &[drafted(&seen("paddocks.csv", text))],
        words(),
        Detail::Full,
        None,
    );
    let lines = "# CHECK column A: no known heading names the samples: 'Paddock' is taken for their names, \
                 since it tells them apart; one of these:\n\
                 # \"Paddock\" = { means = \"source\" }\n\
                 # \"Paddock\" = { means = \"sample_ref\" }\n";
    assert!(text.contains(lines), "{text}");
}

#[test]
fn a_report_under_which_no_table_is_seen_still_lists_its_headings() {
    let text = "QQ1;QQ2;QQ3\n1;2;3\n4;5;6\n";
    let seen = seen("codes.csv", text);
    let (text, _) = draft(&[drafted(&seen)], words(), Detail::Full, None);
    for code in ["QQ1", "QQ2", "QQ3"] {
        let line = format!("# \"{code}\" = {{ means = \"set-aside\", reason = \"…\" }}");
        assert!(text.contains(&line), "{text}");
    }
}

const OLD: &str = r#"
title = "Old Well" # mine

[recognise]
texts = ["Old Well Laboratory"]
headings = ["Lab no.", "Nitrat-N", "pH"]

[labels]
# agreed by phone
"Lab no." = { means = "lab_ref" }
"Nitrat-N" = { means = "nitrate", unit = "mg/L", basis = "N", reason = "phone" } # theirs
"Colour of the bottle" = { means = "set-aside", reason = "no water" }

[values]
decimal = "comma"
"#;

#[test]
fn a_repair_adds_what_is_renamed_and_keeps_the_authors_words() {
    let seen = seen("old.csv", TABLE);
    let repair = repair(
        Path::new("old.toml"),
        OLD,
        &seen.report,
        &seen.plan,
        words(),
    )
    .unwrap();
    let told: Vec<String> = repair.changes.iter().map(ToString::to_string).collect();
    assert_eq!(told[0], "not recognised by heading 'Nitrat-N'");
    let renamed = told
        .iter()
        .find(|line| line.starts_with("renamed"))
        .unwrap();
    assert!(
        renamed.starts_with("renamed: 'Nitrat-N' is now 'Nitrate"),
        "{renamed}"
    );
    assert!(
        told.contains(&"gone: 'Colour of the bottle'".into()),
        "{told:?}"
    );
    assert!(
        told.contains(&"new: 'Quirk', not understood".into()),
        "{told:?}"
    );

    assert!(
        repair.text.contains("headings = [\"Lab no.\", \"pH\"]"),
        "{}",
        repair.text
    );
    assert!(repair.text.contains("title = \"Old Well\" # mine"));
    assert!(repair.text.contains("# agreed by phone\n\"Lab no.\""));
    assert!(
        repair.text.contains("\"Nitrat-N\" = { means"),
        "the old line stays"
    );
    let mapping = compile(Path::new("old.toml"), &repair.text, words())
        .unwrap_or_else(|problems| panic!("{problems}"));
    assert!(mapping.recognise.fits(&seen.report));
    let gives = mapped(seen.report, Some(&mapping.rules), words());
    assert_eq!(gives.extract.measurements.len(), 4);
}

#[test]
fn a_mapping_that_fits_is_not_changed() {
    let seen = seen("old.csv", TABLE);
    let (text, _) = draft(&[drafted(&seen)], words(), Detail::Full, None);
    let repair = repair(
        Path::new("old.toml"),
        &text,
        &seen.report,
        &seen.plan,
        words(),
    )
    .unwrap();
    assert!(
        repair
            .changes
            .iter()
            .all(|c| c.to_string().contains("'Quirk'")),
        "{:?}",
        repair.changes
    );
}

#[test]
fn drafted_mappings_are_written_checked_and_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("old-12.csv"), TABLE).unwrap();
    let first = wellread(
        folder.path(),
        &["draft", "old-12.csv", "--into", "mappings"],
    );
    assert_eq!(first.status.code(), Some(0), "{}", err(&first));
    assert!(
        err(&first).starts_with("written: mappings/old.toml\n"),
        "{}",
        err(&first)
    );

    let check = wellread(folder.path(), &["mappings", "--check"]);
    assert_eq!(check.status.code(), Some(0), "{}", out(&check));
    assert_eq!(
        out(&check),
        "old: 4 results as expected\n1 mapping compiled, 0 with an example that fails\n"
    );

    let again = wellread(
        folder.path(),
        &["draft", "old-12.csv", "--into", "mappings"],
    );
    assert_eq!(again.status.code(), Some(2));
    assert!(
        err(&again).starts_with("wellread: mappings/old.toml: cannot write the mapping"),
        "{}",
        err(&again)
    );
}

#[test]
fn err_an_example_that_fails_is_told_row_by_row() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("mappings")).unwrap();
    let mapping = format!(
        "[recognise]\nheadings = [\"Lab no.\"]\n[example]\nfile = \"x.csv\"\ntext = '''\n{TABLE}'''\nrows = '''\ncell,analyte,value\nD3,ph,7.2\nD4,ph,6.5\nE3,nitrate,22.0\nE4,nitrate,2.21\n'''\n"
    );
    fs::write(folder.path().join("mappings/old.toml"), mapping).unwrap();
    let check = wellread(folder.path(), &["mappings", "--check"]);
    assert_eq!(check.status.code(), Some(1), "{}", err(&check));
    assert_eq!(
        out(&check),
        "\
old: the example fails
    cell,analyte,value
  - D4,ph,6.5
  - E3,nitrate,22.0
  - E4,nitrate,2.21
  + D4,ph,6.4
  + E3,nitrate,22.00041979010495
  + E4,nitrate,2.213321910473335
  (-: expected and not there; +: there and not expected)
1 mapping compiled, 1 with an example that fails
"
    );
}

#[test]
fn err_all_mappings_are_told_at_once() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("mappings")).unwrap();
    fs::write(folder.path().join("mappings/a.toml"), "titel = 'x'\n").unwrap();
    fs::write(
        folder.path().join("mappings/b.toml"),
        "[recognise]\nfile = '('\n",
    )
    .unwrap();
    fs::write(folder.path().join("mappings/c.toml"), b"title = '\xff'\n").unwrap();
    let list = wellread(folder.path(), &["mappings"]);
    assert_eq!(list.status.code(), Some(2));
    let told = err(&list);
    for part in [
        "unknown key 'titel'",
        "--> mappings/a.toml:1:1",
        "this pattern cannot be read: unclosed group",
        "--> mappings/b.toml:2:8",
        "mappings/c.toml:1: the file is not UTF-8",
    ] {
        assert!(told.contains(part), "{part}\n{told}");
    }
}

#[test]
fn err_without_a_folder_of_mappings_the_way_out_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let list = wellread(folder.path(), &["mappings"]);
    assert_eq!(list.status.code(), Some(2));
    assert_eq!(
        err(&list),
        "wellread: there is no folder 'mappings' here or beside this one; name one: wellread mappings FOLDER\n"
    );
}

#[test]
fn two_mappings_that_claim_one_report_are_both_named() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("mappings")).unwrap();
    fs::write(folder.path().join("x.csv"), TABLE).unwrap();
    for name in ["one", "two"] {
        let path = folder.path().join(format!("mappings/{name}.toml"));
        fs::write(path, "[recognise]\nheadings = [\"Lab no.\"]\n").unwrap();
    }
    let look = out(&wellread(folder.path(), &["look", "x.csv", "--json"]));
    let document: serde_json::Value = serde_json::from_str(&look).unwrap();
    assert_eq!(document[0]["sheets"][0]["account"]["results"], 0);
    let told = document[0]["findings"].to_string();
    assert!(told.contains("one") && told.contains("two"), "{told}");
}

#[test]
fn a_look_shows_what_each_column_means() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("x.csv"), TABLE).unwrap();
    let look = out(&wellread(folder.path(), &["look", "x.csv"]));
    let picture = "
              A        B           C           D     E                   F
heading    2  Lab no.  Sample      Sampled     pH    Nitrate (as N) mg…  Quirk
  means       lab_ref  sample_ref  sampled_on  ph    nitrate             not placed
   unit                                        [pH]  mg/l as N
                                                     ×4.4266             analyte-unknown
 sample    3  26-1     Bore North  13.02.2026  7,2   4,97                3
 sample    4  26-2     Rain tank   14.02.2026  6,4   <0,5                5
";
    assert!(look.contains(picture), "{look}");
    assert!(
        look.contains("decimal comma, dates with the day first"),
        "{look}"
    );
    assert!(
        look.contains("not placed: 2 of analyte-unknown: F3 '3', F4 '5'"),
        "{look}"
    );
}

#[test]
fn control_characters_of_a_report_never_reach_the_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let text = TABLE.replace("Quirk", "Qu\u{1b}[31mirk\u{202e}");
    fs::write(folder.path().join("x.csv"), text).unwrap();
    for arguments in [&["look", "x.csv"][..], &["draft", "x.csv"]] {
        let output = wellread(folder.path(), arguments);
        let shown = out(&output) + &err(&output);
        assert!(!shown.contains(['\u{1b}', '\u{202e}']), "{shown}");
        assert!(shown.contains("Qu"), "{shown}");
    }
}

/// A list in a laboratory's own codes: nothing of it is known, so no table is seen.
const CODED_LIST: &str = "\
stn;prm;val;unt;dt;rm
4401;P001;7,4;;12.03.2024;
4401;P002;612;uS/cm;12.03.2024;
4401;P022;4,2;meq/l;12.03.2024;
4402;P001;7,1;;14.03.2024;
4402;P002;801;uS/cm;14.03.2024;
4402;P022;<0,1;meq/l;14.03.2024;K
";

/// Samples in rows under codes.
const CODED_TABLE: &str = "\
Nr;Ort;Datum;K1;K2;K3
1;Brunnen A;12.03.2024;7,4;612;0,05
2;Brunnen B;12.03.2024;7,1;801;<0,02
3;Teich;13.03.2024;8,2;455;0,11
";

/// A draft as a person fills it in: the first proposal for each label, analytes by their code.
fn filled_in(draft: &str, codes: &[(&str, &str)]) -> String {
    let mut text = String::new();
    let mut is_proposal = false;
    for line in draft.lines() {
        let first = is_proposal && line.starts_with("# \"");
        is_proposal = line.starts_with("# CHECK") && line.ends_with("one of these:");
        let code = codes
            .iter()
            .find(|(key, _)| line.contains(&format!("\"{key}\"")));
        let line = match code {
            Some((_, body)) if first && line.contains('…') => {
                format!("{} = {{ {body} }}", line[2..].split(" = ").next().unwrap())
            }
            _ if first && !line.contains('…') => line[2..].to_owned(),
            _ => line.to_owned(),
        };
        text.push_str(&line);
        text.push('\n');
    }
    text.replace("CHECK", "checked")
}

#[test]
fn a_draft_of_unknown_codes_proposes_what_each_column_could_be() {
    let list = seen("list.csv", CODED_LIST);
    assert!(list.extract.measurements.is_empty());
    let (text, _) = draft(&[drafted(&list)], words(), Detail::Full, None);
    for proposal in [
        "# layout = \"results-down\"\n# heading_rows = [1]\n",
        "column A: not placed: holds numbers that come again: '4401', '4402'; one of these:\n\
         # \"stn\" = { means = \"source\" }\n",
        "holds names that come again: 'P001', 'P002', 'P022'; one of these:\n\
         # \"prm\" = { means = \"label\" }\n",
        "# \"val\" = { means = \"value\" }\n",
        "# \"unt\" = { means = \"unit\" }\n",
        "# \"dt\" = { means = \"sampled_on\" }\n",
        "# \"rm\" = { means = \"qualifier\" }\n",
        "cell B3: not placed: an analyte? first with 612 uS/cm; one of these:\n\
         # \"P002\" = { means = \"…\" }\n",
    ] {
        assert!(text.contains(proposal), "{proposal}\n{text}");
    }
    let table = seen("table.csv", CODED_TABLE);
    let (text, _) = draft(&[drafted(&table)], words(), Detail::Full, None);
    for proposal in [
        "# layout = \"samples-down\"\n# heading_rows = [1]\n",
        "holds numbers: '0,05', '<0,02', '0,11'; one of these:\n\
         # \"K3\" = { means = \"…\", unit = \"…\" }\n",
    ] {
        assert!(text.contains(proposal), "{proposal}\n{text}");
    }
}

/// No mapping has to say where the table is: its labels do.
#[test]
fn a_filled_in_draft_of_unknown_codes_is_read() {
    let of_list: &[(&str, &str)] = &[
        ("P001", "means = \"ph\""),
        ("P002", "means = \"conductivity\""),
        ("P022", "means = \"bicarbonate\""),
    ];
    let of_table: &[(&str, &str)] = &[
        ("K1", "means = \"ph\""),
        ("K2", "means = \"conductivity\", unit = \"uS/cm\""),
        ("K3", "means = \"iron\", unit = \"mg/l\""),
    ];
    for (name, text, codes, results, samples, below) in [
        // What K says of its number is still to be told.
        ("list.csv", CODED_LIST, of_list, 5, 2, 0),
        ("table.csv", CODED_TABLE, of_table, 9, 3, 1),
    ] {
        let report = seen(name, text);
        let (draft, _) = draft(&[drafted(&report)], words(), Detail::Full, None);
        let filled = filled_in(&draft, codes);
        let mapping = compile(Path::new("filled.toml"), &filled, words())
            .unwrap_or_else(|problems| panic!("{problems}\n{filled}"));
        assert!(mapping.recognise.fits(&report.report), "{filled}");
        let read = mapped(report.report.clone(), Some(&mapping.rules), words());
        assert_eq!(read.extract.measurements.len(), results, "{filled}");
        assert_eq!(read.extract.samples.len(), samples, "{filled}");
        assert!(read.extract.samples.iter().all(|s| s.sampled_on.is_some()));
        let measurements = read.extract.measurements.iter();
        assert_eq!(measurements.filter(|m| m.censored.is_some()).count(), below);
    }
}

/// Codes alone tell a list from samples side by side as little as nothing does.
#[test]
fn err_codes_down_a_column_are_no_headings() {
    let mapping = "title = \"codes\"\n[recognise]\nheadings = [\"prm\"]\n[labels]\n\
                   P001 = { means = \"ph\" }\nP002 = { means = \"conductivity\" }\n";
    let mapping = compile(Path::new("codes.toml"), mapping, words()).unwrap();
    let report = seen("list.csv", CODED_LIST);
    let read = mapped(report.report, Some(&mapping.rules), words());
    assert!(read.extract.measurements.is_empty());
}
