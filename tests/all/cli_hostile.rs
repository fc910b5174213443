//! What a hostile report says stays text: on the terminal nothing of it acts, whatever the command, and
//! in a spreadsheet that opens a CSV nothing of it runs.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Sets a title, moves the cursor, clears the screen, rings, turns the writing, and colours the ground: a
/// colour that the program itself never uses.
const HOSTILE: &str = "\u{1b}]0;owned\u{7}\u{1b}[2J\u{1b}[1;1H\u{9b}2J\u{8}\u{202e}\u{1b}[41m";

fn command(folder: &Path, arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_wellread"))
        .args(arguments)
        .current_dir(folder)
        .env_remove("NO_COLOR")
        // As on a terminal: colours are written into the pipe.
        .env("CLICOLOR_FORCE", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    // A command that does not read its input may have ended.
    stdin.write_all(input.as_bytes()).ok();
    drop(stdin);
    child.wait_with_output().unwrap()
}

/// What would act on a terminal: every control character but line ends, tabs and plain colours.
fn acting(text: &str) -> Option<String> {
    let mut rest = text;
    while let Some(at) = rest.find(|c: char| {
        (c.is_control() && c != '\n' && c != '\t') || ('\u{202a}'..='\u{202e}').contains(&c)
    }) {
        let from = &rest[at..];
        let codes = from.strip_prefix("\u{1b}[").and_then(|t| t.split_once('m'));
        match codes {
            Some((codes, after))
                if codes.bytes().all(|b| b.is_ascii_digit() || b == b';')
                    && codes.split(';').all(|code| code != "41") =>
            {
                rest = after;
            }
            _ => return Some(from.chars().take(20).collect()),
        }
    }
    None
}

/// A workbook with one sheet of one row, its name and cells as given.
fn workbook(path: &Path, sheet: &str, cells: &[&str]) {
    let options = zip::write::SimpleFileOptions::default();
    let mut package = zip::ZipWriter::new(fs::File::create(path).unwrap());
    let main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    let office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let row: String = cells
        .iter()
        .map(|text| format!("<c t=\"inlineStr\"><is><t>{text}</t></is></c>"))
        .collect();
    for (name, content) in [
        (
            "xl/workbook.xml",
            format!(
                "<workbook xmlns=\"{main}\" xmlns:r=\"{office}\"><sheets><sheet name=\"{sheet}\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            format!(
                "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship Id=\"rId1\" Type=\"{office}/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/worksheets/sheet1.xml",
            format!(
                "<worksheet xmlns=\"{main}\"><sheetData><row>{row}</row><row>{row}</row></sheetData></worksheet>"
            ),
        ),
    ] {
        package.start_file(name, options).unwrap();
        package.write_all(content.as_bytes()).unwrap();
    }
    package.finish().unwrap();
}

#[cfg(unix)]
#[test]
fn nothing_of_a_report_acts_on_the_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mappings = folder.join("mappings");
    fs::create_dir(&mappings).unwrap();
    let csv = format!("report{HOSTILE}.csv").replace('/', "");
    let text = format!(
        "Client: {HOSTILE};;;;\nSample{HOSTILE};Sampled;Ca{HOSTILE} mg/L;Mg {HOSTILE};Frob{HOSTILE} mg/L\n\
         S-1{HOSTILE};2026-{HOSTILE};7.5{HOSTILE};3;9\nS-2;2026-05-02;1;{HOSTILE};9\n"
    );
    fs::write(folder.join(&csv), text).unwrap();
    // XML has the control characters above U+0080 and those of direction only.
    let allowed: String = HOSTILE.chars().filter(|c| *c >= '\u{80}').collect();
    let sheet = format!("Results{allowed}");
    let (first, third) = (format!("Sample{allowed}"), format!("Mg{allowed}"));
    let cells = [&*first, "Ca mg/L", &*third];
    workbook(&folder.join("book.xlsx"), &sheet, &cells);
    fs::write(folder.join("broken.xlsx"), format!("PK\u{3}\u{4}{HOSTILE}")).unwrap();
    fs::write(
        mappings.join(format!("a{HOSTILE}.toml").replace('/', "")),
        "title = \"\\u001B[41m\\u001B]0;owned\\u0007\"\n[recognise]\nheadings = [\"Never\"]\n[labels]\n\"\\u001B[41mX\" = { means = \"sample_ref\" }\n",
    )
    .unwrap();
    let wrong = folder.join("wrong");
    fs::create_dir(&wrong).unwrap();
    fs::write(
        wrong.join(format!("b{HOSTILE}.toml").replace('/', "")),
        format!("title = \"{HOSTILE}\"\n[labels]\n\"\\u001B[41mX\" = {{ means = \"\\u001B[41m\" }}\n[bogus\\u001B]\n"),
    )
    .unwrap();
    for arguments in [
        &["look", &*csv, "book.xlsx", "broken.xlsx"] as &[&str],
        &["look", &csv, "--json"],
        &["draft", &csv, "book.xlsx"],
        &["draft", &csv, "--into", HOSTILE],
        &["gather", ".", "--into", "water"],
        &["gather", ".", "--into", "water", "--dry-run"],
        &["gather", ".", "--into", "water", "--json"],
        &["gather", HOSTILE, "--into", HOSTILE],
        &["gather", &csv, "--into", "parted", "--part", "one"],
        &["gather", &csv, "--into", "parted", "--part", HOSTILE],
        &["join", "parted"],
        &["join", HOSTILE],
        &["terms", HOSTILE],
        &["terms", "--label", HOSTILE],
        &["terms", "--unit", HOSTILE],
        &["mappings", "mappings"],
        &["mappings", "mappings", "--check"],
        &["mappings", "mappings", "--json"],
        &["mappings", "wrong"],
        &["mappings", HOSTILE],
        &["look", &csv, "--mappings", "wrong"],
        &["checks", HOSTILE],
        &["convert", HOSTILE, "Ca"],
        &["convert", "5 mg/L", HOSTILE],
        &["convert", "5 mg/L", "Ca", "--to", HOSTILE],
        &["convert"],
    ] {
        let output = command(
            folder,
            arguments,
            &format!("5 mg/L Ca\n{HOSTILE}\n5 {HOSTILE} Ca\n"),
        );
        for stream in [&output.stdout, &output.stderr] {
            let text = String::from_utf8_lossy(stream);
            assert_eq!(acting(&text), None, "{arguments:?}: {text:?}");
        }
        assert!(
            !(output.stdout.is_empty() && output.stderr.is_empty()),
            "{arguments:?} says nothing"
        );
    }
}

#[test]
fn nothing_in_a_csv_of_a_dataset_runs() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let run = "=cmd|'/c calc'!A1";
    let name = "@SUM(A1).csv";
    fs::write(
        folder.join(name),
        format!(
            "Client: {run};;;;\nSample;Site;Remark;Ca mg/L;{run} mg/L;Frob mg/L;Type\n\
             {run};+1+1;-2+3;7.5;3;4;@A1\n\"a;{run}\";\"\t=1\";＝1;{run};3;-9;\n"
        ),
    )
    .unwrap();
    let arguments = ["gather", name, "--into", "water"];
    assert_eq!(command(folder, &arguments, "").status.code(), Some(0));
    let mut tables = 0;
    for entry in fs::read_dir(folder.join("water")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "csv") {
            continue;
        }
        tables += 1;
        let text = fs::read_to_string(&path).unwrap();
        // Whatever separator the spreadsheet takes.
        for separator in [b',', b';', b'\t'] {
            let mut reader = csv::ReaderBuilder::new()
                .delimiter(separator)
                .has_headers(false)
                .flexible(true)
                .from_reader(text.as_bytes());
            for record in reader.records() {
                for field in &record.unwrap() {
                    let is_number = field.parse::<f64>().is_ok();
                    assert!(
                        is_number || !field.starts_with(['=', '+', '-', '@', '＝']),
                        "{}: {field:?}",
                        path.display()
                    );
                }
            }
        }
    }
    assert!(tables >= 5, "{tables} tables");
}

#[test]
fn nothing_in_the_expected_rows_of_a_draft_runs() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mut text = "Sample;Sampled;Ca mg/L;Mg mg/L\n".to_owned();
    for row in 0..400 {
        let sign = ["=", "+", "-", "@", "\"\t=", "＝"][row % 6];
        let end = if row % 6 == 4 { "\"" } else { "" };
        text += &format!("{sign}cmd|'/c calc'!A{row}{end};2026-05-01;{row}.5;3\n");
    }
    fs::write(folder.join("report.csv"), text).unwrap();
    let arguments = ["draft", "report.csv", "--into", "mappings"];
    assert_eq!(command(folder, &arguments, "").status.code(), Some(0));
    let rows = fs::read_to_string(folder.join("mappings/report.expected.csv")).unwrap();
    assert_eq!(rows.lines().count(), 801);
    for row in rows.lines() {
        for field in row.split([',', ';', '\t']) {
            let field = field.trim_start_matches('"');
            assert!(!field.starts_with(['=', '+', '-', '@', '＝']), "{row}");
        }
    }
    let arguments = ["mappings", "mappings", "--check"];
    let output = command(folder, &arguments, "");
    let said = String::from_utf8_lossy(&output.stdout);
    assert_eq!(output.status.code(), Some(0), "{said}");
}

#[test]
fn err_a_mapping_without_end_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    fs::create_dir(folder.join("mappings")).unwrap();
    fs::write(folder.join("a.csv"), "Sample,pH\nW1,7\n").unwrap();
    let file = fs::File::create(folder.join("mappings/long.toml")).unwrap();
    file.set_len(1 << 40).unwrap();
    let output = command(folder, &["gather", "a.csv", "--into", "water"], "");
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(
        said,
        "wellread: mappings/long.toml: cannot read: longer than the 4194304 bytes that are read of such a file\n"
    );
}
