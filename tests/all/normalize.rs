//! Normalizing whole sheets: a picture of cells and a plan written by hand, and what came out drawn as
//! text.

mod law;
mod layouts;
mod parts;
mod samples;
mod sheets;
mod strangers;
mod values;

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Arc;
use wellread::locate::Layout;
use wellread::map::{
    AnalyteTrack, BlockPlan, Fact, Limit, Locale, Plan, SheetPlan, Source, Track, TrackRole,
};
use wellread::normalize::run;
use wellread::place::Address;
use wellread::read::{Cell, Grid, Report, Sheet};
use wellread::reading::{DateOrder, Decimal};
use wellread::record::{Extract, Origin};
use wellread::vocabulary::{Field, Vocabulary};

/// Rows as `a | b | c`; `=` before a number makes it a stored number, all else is text.
fn grid(rows: &[&str]) -> Grid {
    let mut grid = Grid::default();
    for (row, line) in rows.iter().enumerate() {
        for (col, text) in line.split('|').enumerate() {
            let text = text.trim();
            if text.is_empty() {
                continue;
            }
            let at = Address::new(row as u32, col as u32);
            let cell = match text.strip_prefix('=').map(str::parse) {
                Some(Ok(number)) => Cell::number(number),
                _ => Cell::text(text),
            };
            grid.put(at, cell);
        }
    }
    grid
}

fn report(sheets: Vec<(&str, Grid)>) -> Report {
    Report {
        file: "report.xlsx".into(),
        sha256: "00ff".into(),
        sheets: sheets
            .into_iter()
            .map(|(name, grid)| Sheet {
                name: name.into(),
                grid,
                ..Sheet::default()
            })
            .collect(),
        ..Report::default()
    }
}

fn plan(blocks: Vec<BlockPlan>) -> Plan {
    Plan {
        mapping: "recognised".into(),
        locale: Locale {
            decimal: Decimal::Point,
            dates: DateOrder::DayFirst,
        },
        join_sheets: true,
        sheets: vec![SheetPlan {
            blocks,
            ..SheetPlan::default()
        }],
        ..Plan::default()
    }
}

/// A row-wise block from `first` to `last`; the line above the first is its heading.
fn block(layout: Layout, first: u32, last: u32, width: u32, tracks: Vec<Track>) -> BlockPlan {
    let across = layout == Layout::SamplesAcross;
    let headings = first
        .checked_sub(1)
        .map(|line| {
            (0..width)
                .map(|i| {
                    if across {
                        Address::new(i, line)
                    } else {
                        Address::new(line, i)
                    }
                })
                .collect()
        })
        .unwrap_or_default();
    BlockPlan {
        layout,
        across,
        first_line: first,
        last_line: last,
        not_samples: BTreeMap::new(),
        headings,
        tracks,
        carried: Vec::new(),
        groups: Vec::new(),
        facts: Vec::new(),
        form: Vec::new(),
        limit_unit: None,
        fractions: BTreeMap::new(),
        unseen: None,
    }
}

/// A resolved analyte: code, unit and basis as a heading would state them; no unit for pH.
fn analyte(code: &str, unit: &str, basis: Option<&str>) -> AnalyteTrack {
    let vocabulary = Vocabulary::built_in();
    let id = vocabulary.find(code).unwrap();
    let read = match unit {
        "" => vocabulary.analyte(id).assumed_unit.clone().unwrap(),
        _ => vocabulary.read_unit(unit).unwrap().0,
    };
    let basis = basis.map(|text| vocabulary.read_basis(text).unwrap());
    AnalyteTrack {
        analyte: id,
        fraction: None,
        conversion: vocabulary.convert(id, &read, basis.as_ref(), None).unwrap(),
        label_text: code.into(),
        unit_text: Some(unit).filter(|text| !text.is_empty()).map(Into::into),
        basis_text: basis.as_ref().map(|b| b.to_string().into()),
        unit_from: Origin::Heading,
        assumption: None,
        basis,
        limit: None,
        quantification_limit: None,
    }
}

fn limit(number: f64) -> Option<Limit> {
    Some(Limit {
        number,
        at: Address::new(0, 0),
    })
}

fn track(at: u32, role: TrackRole) -> Track {
    Track { at, role }
}

fn number(at: u32, track: AnalyteTrack) -> Track {
    Track {
        at,
        role: TrackRole::Analyte(Box::new(track)),
    }
}

fn field(at: u32, field: Field) -> Track {
    Track {
        at,
        role: TrackRole::Field(field),
    }
}

fn fact(field: Field, text: &str) -> Fact {
    Fact {
        field,
        from: Source::Text(text.into()),
    }
}

fn normalized(report: &Report, plan: &Plan) -> Extract {
    let extract = run(report, plan, Vocabulary::built_in());
    for (sheet, account) in report.sheets.iter().zip(&extract.sheets) {
        assert!(account.holds(), "{account:?}");
        assert_eq!(account.cells, sheet.grid.count());
    }
    let results: u64 = extract.sheets.iter().map(|account| account.results).sum();
    assert_eq!(results, extract.measurements.len() as u64);
    let unplaced: u64 = extract.sheets.iter().map(|account| account.unplaced).sum();
    assert_eq!(unplaced, extract.unplaced.len() as u64);
    extract
}

/// `B2 calcium 118 mg/L 'text' of BH 1`.
fn results(extract: &Extract) -> String {
    let vocabulary = Vocabulary::built_in();
    let mut out = String::new();
    for m in &extract.measurements {
        let recipe = extract.recipe(m.recipe);
        let analyte = vocabulary.analyte(recipe.analyte);
        let sign = m.censored.map_or("", |c| match c.name() {
            "below" => "<",
            "above" => ">",
            _ => "absent",
        });
        let value = m.value.map_or_else(String::new, |v| {
            let rounded = format!("{v:.6}");
            rounded
                .trim_end_matches('0')
                .trim_end_matches('.')
                .to_owned()
        });
        writeln!(
            out,
            "{} {} {sign}{value} {} '{}' of {} by {}",
            m.at,
            analyte.code,
            analyte.unit,
            m.value_text,
            name(extract, m.sample.0),
            recipe.unit_from.name(),
        )
        .unwrap();
    }
    out
}

fn name(extract: &Extract, sample: u32) -> String {
    let sample = &extract.samples[sample as usize];
    let parts: Vec<String> = [
        &sample.sample_ref,
        &sample.lab_ref,
        &sample.source,
        &sample.site,
    ]
    .into_iter()
    .flatten()
    .map(|text: &Arc<str>| text.to_string())
    .chain(sample.sampled_on.map(|day| day.to_string()))
    .collect();
    if parts.is_empty() {
        "nobody".into()
    } else {
        parts.join("/")
    }
}

fn unplaced(extract: &Extract) -> String {
    extract
        .unplaced
        .iter()
        .map(|u| format!("{} {} '{}'\n", u.at, u.reason, u.text))
        .collect()
}

/// `warning zero-reported A2 x3: message`.
fn findings(extract: &Extract) -> String {
    extract
        .findings
        .iter()
        .map(|f| {
            let at = f
                .place
                .cell
                .map_or_else(|| "sheet".into(), |at| at.to_string());
            format!(
                "{} {} {at} x{}: {}\n",
                f.severity, f.code, f.cells, f.message
            )
        })
        .collect()
}
