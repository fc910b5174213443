//! What is tried, and the law that each must hold besides not to panic.

use super::dice::Dice;
use super::package::Parts;
use super::pieces::{DATES, FIELDS, LABELS, NUMBERS, QUALIFIERS, UNITS};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock};
use wellread::finding::Finding;
use wellread::mapping::{Mapping, compile};
use wellread::normalize::{Standing, TextRunner};
use wellread::place::Address;
use wellread::read::{Opened, Options, Report, open, open_text};
use wellread::reading::{
    DateOrder, Decimal, QualifierCode, Reading, ValueReader, read_date, read_number,
};
use wellread::record::Extract;
use wellread::run::{mapped, see_example};
use wellread::vocabulary::Vocabulary;

/// One trial; panics where a law is broken.
pub(crate) type Trial = fn(&mut Dice, &Path);

/// Name, trial, and how many of them a plain run makes.
pub(crate) const TARGETS: &[(&str, Trial, u64)] = &[
    ("numbers", number, 3_000),
    ("values", value, 3_000),
    ("dates", date, 3_000),
    ("units", unit, 1_000),
    ("headings", heading, 500),
    ("mappings", mapping, 60),
    ("texts", text, 60),
    ("streams", stream, 30),
    ("files", file, 150),
];

const DECIMALS: [Decimal; 3] = [Decimal::Point, Decimal::Comma, Decimal::Undecided];
const ORDERS: [DateOrder; 3] = [
    DateOrder::DayFirst,
    DateOrder::MonthFirst,
    DateOrder::Undecided,
];

fn number(dice: &mut Dice, _: &Path) {
    let text = dice.text(&[NUMBERS, NUMBERS, QUALIFIERS]);
    let decimal = *dice.pick(&DECIMALS);
    let read = read_number(&text, decimal);
    if let Ok(number) = read {
        assert!(number.is_finite(), "{text:?} is {number}");
        // As the standard library writes it, it is the same number, where that is not endless.
        if number == 0.0 || (1e-9..1e15).contains(&number.abs()) {
            let again = read_number(&number.to_string(), Decimal::Point);
            assert_eq!(again, Ok(number), "{text:?}");
        }
    }
    assert_eq!(read_number(&format!(" {text} "), decimal), read, "{text:?}");
}

fn value(dice: &mut Dice, _: &Path) {
    let codes: BTreeMap<String, QualifierCode> = BTreeMap::new();
    let reader = ValueReader {
        decimal: *dice.pick(&DECIMALS),
        codes: &codes,
    };
    let text = dice.text(&[NUMBERS, QUALIFIERS, UNITS, DATES]);
    match reader.read(&text) {
        Reading::Number(figure) => {
            assert!(figure.number.is_finite(), "{text:?}: {figure:?}");
            let spread = figure.uncertainty.map_or(0.0, |u| u.number);
            assert!(spread.is_finite(), "{text:?}: {figure:?}");
            assert!(text.contains(char::is_numeric), "{text:?}: {figure:?}");
        }
        Reading::BelowLimit { inside, .. } | Reading::NotDetected { inside } => {
            assert!(inside.is_none_or(f64::is_finite), "{text:?}");
        }
        _ => {}
    }
    // A second route: digits and one point are what the standard library takes them for.
    let plain = format!("{}.{:02}", dice.roll(100_000), dice.roll(100));
    let reader = ValueReader {
        decimal: Decimal::Point,
        ..reader
    };
    match reader.read(&plain) {
        Reading::Number(figure) => assert_eq!(Ok(figure.number), plain.parse(), "{plain}"),
        other => panic!("{plain}: {other:?}"),
    }
}

fn date(dice: &mut Dice, _: &Path) {
    let text = dice.text(&[DATES, DATES, NUMBERS]);
    let order = *dice.pick(&ORDERS);
    if let Ok(read) = read_date(&text, order) {
        let year = read.date.year();
        assert!((1950..=2100).contains(&year), "{text:?}: {}", read.date);
        let again = read_date(&read.date.to_string(), order);
        assert_eq!(again.map(|r| r.date), Ok(read.date), "{text:?}");
    }
}

fn unit(dice: &mut Dice, _: &Path) {
    let vocabulary = Vocabulary::built_in();
    let text = dice.text(&[UNITS, UNITS, LABELS]);
    let basis = vocabulary.read_basis(&text);
    let Some((unit, own)) = vocabulary.read_unit(&text) else {
        return;
    };
    let analyte = dice.pick(vocabulary.analytes());
    let id = vocabulary.find(&analyte.code).unwrap();
    if let Ok(conversion) = vocabulary.convert(id, &unit, own.or(basis).as_ref(), None) {
        let (zero, one) = (conversion.apply(0.0), conversion.apply(1.0));
        assert!(
            zero.is_finite() && one.is_finite(),
            "{text:?}: {conversion:?}"
        );
        assert!(one > zero, "{text:?} of {}: {conversion:?}", analyte.code);
    }
}

fn heading(dice: &mut Dice, _: &Path) {
    let vocabulary = Vocabulary::built_in();
    let text = dice.text(&[LABELS, UNITS, FIELDS, QUALIFIERS]);
    let others = [dice.text(&[LABELS, FIELDS]), text.clone()];
    let context = vocabulary.heading_context(others.iter().map(String::as_str));
    let read = vocabulary.read_heading_in(&text, &context);
    let again = vocabulary.read_heading_in(&text, &context);
    assert_eq!(format!("{read:?}"), format!("{again:?}"), "{text:?}");
}

/// The mappings that come with the program, as texts.
static MAPPINGS: LazyLock<Vec<(PathBuf, String)>> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("mappings");
    ["tiefenklar.toml", "tollhouse.toml", "candil.toml"]
        .map(|name| {
            let path = folder.join(name);
            let text = std::fs::read_to_string(&path).unwrap();
            (path, text)
        })
        .into()
});

fn changed_mapping(dice: &mut Dice) -> (&'static Path, String) {
    let (path, text) = dice.pick(&MAPPINGS);
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for _ in 0..=dice.roll(4) {
        if lines.is_empty() {
            break;
        }
        let at = dice.roll(lines.len());
        match dice.roll(5) {
            0 => {
                lines.remove(at);
            }
            1 => {
                let other = dice.pick(&lines).clone();
                lines.insert(at, other);
            }
            2 => {
                let said = dice.text(&[LABELS, UNITS, FIELDS, NUMBERS]);
                if let Some((key, _)) = lines[at].clone().split_once('=') {
                    lines[at] = format!("{key}= {said:?}");
                }
            }
            _ => dice.change_text(&mut lines[at]),
        }
    }
    (path, lines.join("\n"))
}

fn mapping(dice: &mut Dice, _: &Path) {
    let vocabulary = Vocabulary::built_in();
    let (path, text) = changed_mapping(dice);
    match compile(path, &text, vocabulary) {
        Ok(mapping) => {
            if let Some(seen) = see_example(&mapping, vocabulary) {
                holds(&seen.report, &seen.extract);
            }
        }
        Err(problems) => assert!(!problems.trim().is_empty(), "refused without a word"),
    }
}

static COMPILED: LazyLock<Vec<Mapping>> = LazyLock::new(|| {
    let compiled =
        |(path, text): &(PathBuf, String)| compile(path, text, Vocabulary::built_in()).unwrap();
    MAPPINGS.iter().map(compiled).collect()
});

/// A table, a form or a list, as delimited text.
fn delimited(dice: &mut Dice, rows: usize) -> String {
    let separator = *dice.pick(&[",", ";", "\t", "|"]);
    let end = *dice.pick(&["\n", "\n", "\r\n", "\r"]);
    let columns = 1 + dice.roll(7);
    let long = dice.roll(3) == 0;
    let mut text = String::new();
    for row in 0..1 + dice.roll(rows) {
        let blank = dice.roll(25) == 0;
        for column in 0..if blank { 0 } else { columns } {
            let lists: &[&[&str]] = match (row, column) {
                (0, 0) => &[FIELDS],
                (0, _) if long => &[FIELDS],
                (0, _) => &[LABELS, UNITS, FIELDS],
                (_, 0) => &[FIELDS, DATES],
                (_, 1) if long => &[LABELS],
                _ => &[NUMBERS, NUMBERS, NUMBERS, QUALIFIERS, UNITS],
            };
            if column > 0 {
                text.push_str(separator);
            }
            let cell = match dice.roll(8) {
                0 => dice.text(lists),
                1 => format!("\"{}\"", dice.text(lists)),
                _ => {
                    let list = *dice.pick(lists);
                    (*dice.pick(list)).to_owned()
                }
            };
            text.push_str(&cell);
        }
        text.push_str(end);
    }
    text
}

fn text(dice: &mut Dice, _: &Path) {
    let text = delimited(dice, 12);
    let report = open_text(&text, &"text.csv".into(), &Options::default());
    let mappings: &[Mapping] = &COMPILED;
    let rules = (dice.roll(3) == 0).then(|| &dice.pick(mappings).rules);
    let seen = mapped(report, rules, Vocabulary::built_in());
    holds(&seen.report, &seen.extract);
}

/// In pieces of any size a text has the cells that it has as a whole, and the tally holds.
fn stream(dice: &mut Dice, folder: &Path) {
    let path = folder.join("stream");
    let mut text = delimited(dice, 120).into_bytes();
    if dice.roll(2) == 0 {
        dice.change_bytes(&mut text);
    }
    if text.is_empty() {
        return;
    }
    std::fs::write(&path, &text).unwrap();
    let options = Options {
        stream_above: 0,
        chunk_bytes: 1 + dice.roll(4_000),
        ..Options::default()
    };
    let name: Arc<str> = "stream".into();
    let Opened::Stream(stream) = open(&path, &name, &options) else {
        return;
    };
    let vocabulary = Vocabulary::built_in();
    let mappings: &[Mapping] = &COMPILED;
    let rules = (dice.roll(3) == 0).then(|| &dice.pick(mappings).rules);
    let plan = wellread::map::plan(stream.report(), vocabulary, rules);
    let mut standing = Standing {
        is_first: true,
        ..Standing::default()
    };
    let runner = TextRunner::new(stream.report(), &plan, vocabulary);
    let mut cells = Vec::new();
    for index in 0..stream.chunks() {
        let chunk = stream.chunk(index).unwrap();
        let before = cells.len();
        chunk.for_each_row(|row, fields| {
            let filled = (0..)
                .zip(fields)
                .filter(|(_, text)| !text.trim().is_empty());
            cells.extend(filled.map(|(col, _)| Address::new(row, col)));
        });
        let part = runner.run(standing, |take| {
            chunk.for_each_row(take);
        });
        standing = Standing {
            is_first: false,
            after_other_table: part.other_table,
        };
        tally_holds(&part.extract);
        let counted = part.extract.sheets[0].cells;
        assert_eq!(counted, (cells.len() - before) as u64, "cells of a piece");
    }
    let Opened::Whole(whole) = open(&path, &name, &Options::default()) else {
        panic!("a short text is read whole");
    };
    // Where the cells differ on purpose: a separator that the first piece does not show, columns of a
    // printed page, and what is told as cut or lost.
    let is_told = |f: &Finding| matches!(&*f.code, "quote-lost" | "text-cut");
    if whole.delimiter == stream.report().delimiter && !whole.findings.iter().any(is_told) {
        let of_whole: Vec<Address> = whole.sheets[0].grid.cells().map(|(at, _)| at).collect();
        assert_eq!(cells, of_whole, "cells of the pieces and of the whole");
    }
}

/// The odd files of the corpus, with their parts where they are packages.
static CORPUS: LazyLock<Vec<(Vec<u8>, Option<Parts>)>> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|path| {
            let name = path.file_name().unwrap().to_string_lossy();
            // Nothing is learnt from inflating the same megabytes again and again.
            !name.starts_with("bomb") && !name.starts_with("long-cell") && name != "make.py"
        })
        .collect();
    files.sort();
    files
        .iter()
        .map(|path| {
            let bytes = std::fs::read(path).unwrap();
            let parts = Parts::unpack(&bytes);
            (bytes, parts)
        })
        .collect()
});

fn file(dice: &mut Dice, folder: &Path) {
    let path = folder.join("file");
    let corpus: &[(Vec<u8>, Option<Parts>)] = &CORPUS;
    let (bytes, parts) = dice.pick(corpus);
    let changed = match parts {
        Some(parts) if dice.roll(8) > 0 => parts.changed(dice),
        _ => {
            let mut bytes = bytes.clone();
            dice.change_bytes(&mut bytes);
            bytes
        }
    };
    std::fs::write(&path, changed).unwrap();
    let Opened::Whole(report) = open(&path, &"file".into(), &Options::default()) else {
        panic!("a small file is read whole");
    };
    let cells: u64 = report.sheets.iter().map(|s| s.grid.count()).sum();
    assert!(
        cells > 0 || !report.findings.is_empty(),
        "nothing read and nothing told"
    );
    assert!(!report.refused || cells == 0, "refused and read");
    let seen = mapped(report, None, Vocabulary::built_in());
    holds(&seen.report, &seen.extract);
}

/// Every cell of the report is counted once, and every number is one.
fn holds(report: &Report, extract: &Extract) {
    tally_holds(extract);
    assert_eq!(extract.sheets.len(), report.sheets.len());
    for (sheet, account) in report.sheets.iter().zip(&extract.sheets) {
        assert_eq!(
            account.cells,
            sheet.grid.count(),
            "cells of '{}'",
            sheet.name
        );
    }
}

fn tally_holds(extract: &Extract) {
    let results: u64 = extract.sheets.iter().map(|s| s.results).sum();
    assert_eq!(results, extract.measurements.len() as u64);
    for account in &extract.sheets {
        assert!(
            account.holds(),
            "the tally of '{}': {account:?}",
            account.sheet
        );
    }
    for measurement in &extract.measurements {
        assert!(
            measurement.value.is_none_or(f64::is_finite),
            "{measurement:?}"
        );
    }
}
