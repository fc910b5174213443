//! What `look` shows, for machines: everything, without a bound.

use super::meaning::{position, value_role};
use super::picture::Subject;
use crate::finding::Finding;
use crate::map::{
    BlockPlan, DateOrder, Decimal, Fact, FormCell, LineRole, SheetPlan, Source, TrackRole,
};
use crate::place::{Address, Area};
use crate::vocabulary::Vocabulary;
use serde_json::{Map, Value, json};

pub(super) fn document(subject: &Subject<'_>) -> Value {
    let report = subject.report;
    let plan = subject.plan;
    let sheets: Vec<Value> = report
        .sheets
        .iter()
        .zip(&plan.sheets)
        .enumerate()
        .map(|(index, (sheet, plan))| {
            let mut value = self::sheet(plan, subject.vocabulary);
            value.insert("sheet".into(), json!(&*sheet.name));
            value.insert("hidden".into(), json!(sheet.hidden));
            if let Some(account) = subject.extract.sheets.get(index) {
                value.insert(
                    "account".into(),
                    json!({
                        "cells": account.cells,
                        "results": account.results,
                        "identity": account.identity,
                        "headings": account.headings,
                        "set_aside": account.set_aside,
                        "unplaced": account.unplaced,
                    }),
                );
            }
            let unplaced: Vec<Value> = subject
                .extract
                .unplaced
                .iter()
                .filter(|cell| usize::from(cell.sheet) == index)
                .map(|cell| {
                    json!({
                        "cell": cell.at.to_string(),
                        "text": &*cell.text,
                        "reason": &*cell.reason,
                    })
                })
                .collect();
            value.insert("unplaced".into(), unplaced.into());
            Value::Object(value)
        })
        .collect();
    json!({
        "file": &*report.file,
        "sha256": &*report.sha256,
        "mapping": &*plan.mapping,
        "delimiter": report.delimiter.map(String::from),
        "decimal": decimal(plan.locale.decimal),
        "dates": dates(plan.locale.dates),
        "sheets": sheets,
        "findings": subject.extract.findings.iter().map(finding).collect::<Vec<_>>(),
    })
}

/// `null` where it is not decided.
const fn decimal(decimal: Decimal) -> Option<&'static str> {
    match decimal {
        Decimal::Point => Some("point"),
        Decimal::Comma => Some("comma"),
        Decimal::Undecided => None,
    }
}

/// `null` where it is not decided.
const fn dates(dates: DateOrder) -> Option<&'static str> {
    match dates {
        DateOrder::DayFirst => Some("day-first"),
        DateOrder::MonthFirst => Some("month-first"),
        DateOrder::YearFirst => Some("year-first"),
        DateOrder::Undecided => None,
    }
}

fn finding(finding: &Finding) -> Value {
    json!({
        "severity": finding.severity.name(),
        "code": finding.code,
        "message": finding.message,
        "help": finding.help,
        "place": finding.place.to_string(),
        "cells": finding.cells,
    })
}

fn sheet(plan: &SheetPlan, vocabulary: &Vocabulary) -> Map<String, Value> {
    let set_aside: Vec<Value> = plan
        .set_aside
        .iter()
        .map(|(area, reason)| json!({"area": self::area(area), "reason": &**reason}))
        .collect();
    let mut value = Map::new();
    let blocks: Vec<Value> = plan.blocks.iter().map(|b| block(b, vocabulary)).collect();
    value.insert("blocks".into(), blocks.into());
    value.insert("set_aside".into(), set_aside.into());
    value.insert("titles".into(), addresses(&plan.titles));
    value.insert("identity".into(), addresses(&plan.identity));
    value
}

fn area(area: &Area) -> String {
    let from = Address::new(area.top, area.left);
    format!("{from}:{}", Address::new(area.bottom, area.right))
}

fn addresses(cells: &[Address]) -> Value {
    cells.iter().map(|at| json!(at.to_string())).collect()
}

fn block(block: &BlockPlan, vocabulary: &Vocabulary) -> Value {
    let across = block.across;
    let tracks: Vec<Value> = block
        .tracks
        .iter()
        .map(|track| {
            let mut value = role(&track.role, across, vocabulary);
            value.insert("at".into(), json!(position(track.at, across)));
            Value::Object(value)
        })
        .collect();
    let lines: Vec<Value> = block
        .not_samples
        .iter()
        .map(|(at, role)| {
            let (means, reason) = match role {
                LineRole::Heading => ("heading".to_string(), None),
                LineRole::Companion { of, role } => (
                    format!("{} of {}", value_role(*role), position(*of, !across)),
                    None,
                ),
                LineRole::SetAside(reason) => ("set aside".into(), Some(&**reason)),
                LineRole::Unplaced(reason) => ("not placed".into(), Some(&**reason)),
            };
            json!({"at": position(*at, !across), "means": means, "reason": reason})
        })
        .collect();
    let facts: Vec<Value> = block.facts.iter().map(fact).collect();
    let groups: Vec<Value> = (block.groups.iter())
        .map(|group| {
            let tracks: Vec<String> = (group.tracks.iter())
                .map(|at| position(*at, across))
                .collect();
            json!({"tracks": tracks, "says": fact(&group.fact)})
        })
        .collect();
    let last = (block.last_line != u32::MAX).then(|| position(block.last_line, !across));
    json!({
        "layout": block.layout.name(),
        "first": position(block.first_line, !across),
        "last": last,
        "headings": addresses(&block.headings),
        "tracks": tracks,
        "not_samples": lines,
        "carried": block.carried.iter().map(|at| position(*at, across)).collect::<Vec<_>>(),
        "groups": groups,
        "facts": facts,
        "form": block.form.iter().map(|cell| form(cell, vocabulary)).collect::<Vec<_>>(),
    })
}

fn fact(fact: &Fact) -> Value {
    let (cell, text) = match &fact.from {
        Source::Cell(at) => (Some(at.to_string()), None),
        Source::Part(at, text) => (Some(at.to_string()), Some(&**text)),
        Source::Text(text) => (None, Some(&**text)),
    };
    json!({"means": fact.field.name(), "cell": cell, "text": text})
}

fn form(cell: &FormCell, vocabulary: &Vocabulary) -> Value {
    let mut value = role(&cell.role, false, vocabulary);
    value.insert("cell".into(), json!(cell.value.to_string()));
    value.insert("part".into(), json!(cell.part.as_deref()));
    let companions: Vec<Value> = cell
        .companions
        .iter()
        .map(|(at, role)| json!({"cell": at.to_string(), "means": value_role(*role)}))
        .collect();
    value.insert("companions".into(), companions.into());
    if !cell.own.is_empty() {
        let own: Vec<Value> = cell.own.iter().map(fact).collect();
        value.insert("own".into(), own.into());
    }
    Value::Object(value)
}

fn role(role: &TrackRole, across: bool, vocabulary: &Vocabulary) -> Map<String, Value> {
    let value = match role {
        TrackRole::Analyte(track) => json!({
            "means": vocabulary.analyte(track.analyte).code,
            "fraction": track.fraction.map(crate::vocabulary::Fraction::name),
            "label_text": &*track.label_text,
            "unit_text": track.unit_text.as_deref(),
            "basis_text": track.basis_text.as_deref(),
            "basis": track.basis.as_ref().map(ToString::to_string),
            "unit_from": track.unit_from.name(),
            "assumption": track.assumption,
            "factor": track.conversion.plain_factor(),
        }),
        TrackRole::Field(field) => json!({"means": field.name()}),
        TrackRole::Companion { of, role } => {
            json!({"means": value_role(*role), "of": position(*of, across)})
        }
        TrackRole::SetAside(reason) => json!({"means": "set aside", "reason": &**reason}),
        TrackRole::Unplaced(reason) => json!({"means": "not placed", "reason": &**reason}),
    };
    match value {
        Value::Object(object) => object,
        _ => Map::new(),
    }
}
