//! From a report to a plan, sheet by sheet: what is located is read, the locale is decided from all
//! sheets together, then every track, line and cell gets its meaning.

use super::expressed::notes::{self, BasisNote, Footnote};
use super::expressed::stated::{self, Group, Stated};
use super::expressed::units;
use super::findings::finding;
use super::heads::resolve::Context;
use super::layouts::cross;
use super::layouts::form;
use super::layouts::long;
use super::layouts::table::{Table, Told};
use super::left_out::medium;
use super::left_out::overlong::overlong_lines;
use super::left_out::whole::{logs_of_runs, nameless_tables, tables_of_statistics, whole_file};
use super::left_out::withdrawn;
use super::locale::Evidence;
use super::plan::{BlockPlan, Fact, Locale, Plan, SheetPlan};
use super::rules::{Rules, SheetRule, StatedUnit};
use super::sight::Sight;
use super::told_heads::where_labels_stand;
use super::whose::days_untaken::tell_untaken;
use super::whose::facts;
use super::whose::labelled::{Labelled, Sides};
use super::whose::shared::{Cover, cut_at_sites, from_covers};
use super::whose::sheets::say_by_name;
use super::whose::title_days::day_in;
use super::whose::titles::{NEAREST_TITLE, days_over, titles};
use super::whose::told_labels;
use super::whose::unnamed::tell_unnamed;
use super::whose::unread::tell_unread;
use crate::finding::Finding;
use crate::locate::{Block, Hints, Layout, Pair, Reader, locate, pairs};
use crate::place::{Address, Areas, Place};
use crate::read::{CellView, Grid, Report, Sheet};
use crate::reading::QualifierCode;
use crate::vocabulary::{HeadingContext, Meaning, Vocabulary};
use std::sync::Arc;

/// One sheet, located.
struct Seen<'a, 'v> {
    sheet: &'a Sheet,
    reader: Reader<'v>,
    rule: Option<&'a SheetRule>,
    /// Why the sheet is not read.
    skipped: Option<(&'static str, Arc<str>)>,
    blocks: Vec<Block>,
    /// Where those are that are no forms.
    tables: Areas,
    turned: Option<Grid>,
    pairs: Vec<Pair>,
    /// Units that texts outside the tables state, with the row of each.
    said_units: Vec<(u32, Stated)>,
    footnotes: Vec<Footnote>,
    basis_notes: Vec<BasisNote>,
    /// Marks of footnotes that take results back.
    void_marks: Vec<String>,
    /// Only some rows of a long text are here.
    partial: bool,
}

pub(super) fn plan(report: &Report, vocabulary: &Vocabulary, rules: Option<&Rules>) -> Plan {
    let mut findings = Vec::new();
    let seen: Vec<Seen<'_, '_>> = report
        .sheets
        .iter()
        .map(|sheet| see(sheet, vocabulary, rules, report.partial))
        .collect();
    let mut storages: Vec<Vec<Vec<u32>>> = seen
        .iter()
        .map(|s| vec![Vec::new(); s.blocks.len()])
        .collect();
    let mut tables: Vec<Vec<Option<Table<'_, '_>>>> = Vec::new();
    for (seen, storage) in seen.iter().zip(&mut storages) {
        let mut of_sheet = Vec::new();
        for (block, storage) in seen.blocks.iter().zip(storage) {
            let is_table = matches!(block.layout, Layout::SamplesDown | Layout::SamplesAcross);
            of_sheet.push(is_table.then(|| Table::read(sight(seen, block), storage)));
        }
        tables.push(of_sheet);
    }
    let locale = evidence(&seen, &tables).decide(&report.file, rules, &mut findings);
    let mut plan = Plan {
        mapping: rules.map_or_else(|| "recognised".into(), |r| r.name.clone()),
        locale,
        codes: rules.map(|r| r.codes.clone()).unwrap_or_default(),
        labels: rules.map(|r| r.labels.clone()).unwrap_or_default(),
        default_unit: rules.and_then(|r| r.default_unit.clone()),
        default_basis: rules.map(|r| r.default_basis.clone()).unwrap_or_default(),
        basis_notes: (seen.iter().flat_map(|s| s.basis_notes.iter().cloned())).collect(),
        join_sheets: rules.is_none_or(|r| r.join_sheets),
        ..Plan::default()
    };
    for mark in seen.iter().flat_map(|s| &s.void_marks) {
        let known = plan.codes.entry(mark.clone());
        known.or_insert(QualifierCode::Reject);
    }
    let told_facts = facts::told(rules, &report.file);
    let recognised = seen.iter().any(|s| !s.blocks.is_empty());
    let mut told = Vec::new();
    for (seen, tables) in seen.iter().zip(tables) {
        let context = Context {
            vocabulary,
            rules,
            file: report.file.clone(),
            sheet: seen.sheet.name.clone(),
            sheet_units: Stated::new(),
            footnotes: seen.footnotes.clone(),
            basis_notes: seen.basis_notes.clone(),
        };
        let sheet = sheet_plan(
            seen,
            tables,
            &context,
            &told_facts,
            locale,
            recognised,
            &mut told,
            &mut findings,
        );
        plan.sheets.push(sheet);
    }
    let covers: Vec<Cover<'_, '_>> = seen
        .iter()
        .enumerate()
        .filter(|(_, seen)| seen.blocks.is_empty() && seen.skipped.is_none())
        .map(|(index, seen)| Cover {
            index,
            grid: &seen.sheet.grid,
            reader: &seen.reader,
            pairs: &seen.pairs,
        })
        .collect();
    from_covers(&covers, &mut plan);
    overlong_lines(&mut plan, report, &mut findings);
    tables_of_statistics(&mut plan, report, rules, &mut findings);
    withdrawn::tell(&plan, report, &mut findings);
    withdrawn::whole_sheets(&mut plan, report, &mut findings);
    say_by_name(&mut plan, report, &mut findings);
    tell_unread(&mut plan, report, &mut findings);
    tell_unnamed(&plan, report, &mut findings);
    tell_untaken(&plan, report, &mut findings);
    logs_of_runs(&mut plan, report, rules, &mut findings);
    whole_file(&mut plan, report, rules, &told, &mut findings);
    plan.findings = findings;
    plan
}

fn see<'a, 'v>(
    sheet: &'a Sheet,
    vocabulary: &'v Vocabulary,
    rules: Option<&'a Rules>,
    partial: bool,
) -> Seen<'a, 'v> {
    let rule = rules.and_then(|r| r.sheet(&sheet.name, sheet.hidden));
    let named = rules.is_some_and(Rules::names_sheets);
    let skipped = match rule {
        Some(rule) => rule.set_aside.clone().map(|reason| ("", reason)),
        None if named => Some(("sheet-set-aside", "sheet-not-in-mapping".into())),
        None if sheet.hidden => Some(("sheet-hidden", "hidden-sheet".into())),
        None => None,
    };
    let free = Hints::default();
    let hints = rule.map_or(&free, |r| &r.hints);
    let (reader, blocks) = if skipped.is_some() {
        let reader = Reader::new(vocabulary, HeadingContext::default());
        (reader, Vec::new())
    } else {
        let (reader, blocks) = locate(&sheet.grid, &sheet.name, vocabulary, hints);
        let told = rules
            .filter(|_| blocks.is_empty())
            .and_then(|rules| where_labels_stand(&sheet.grid, &reader, &sheet.name, rules, hints));
        match told {
            Some(hints) => locate(&sheet.grid, &sheet.name, vocabulary, &hints),
            None => (reader, blocks),
        }
    };
    let mut seen = Seen {
        sheet,
        reader,
        rule,
        skipped,
        blocks,
        tables: Areas::default(),
        turned: None,
        pairs: Vec::new(),
        said_units: Vec::new(),
        footnotes: Vec::new(),
        void_marks: Vec::new(),
        basis_notes: Vec::new(),
        partial,
    };
    if seen.skipped.is_some() {
        return seen;
    }
    let reader = &seen.reader;
    if seen
        .blocks
        .iter()
        .any(|b| b.layout == Layout::SamplesAcross)
    {
        seen.turned = Some(sheet.grid.transposed());
    }
    seen.tables = (seen.blocks.iter())
        .filter(|b| b.layout != Layout::Form)
        .map(|b| b.area)
        .collect();
    let outside = &seen.tables;
    seen.pairs = pairs(&sheet.grid, reader, outside);
    if let Some(rules) = rules {
        told_labels::add(rules, &sheet.name, &sheet.grid, outside, &mut seen.pairs);
    }
    let prose = || {
        (sheet.grid.cells())
            .filter(|(at, _)| !outside.contain(*at))
            .filter_map(|(at, cell)| match cell.view() {
                CellView::Text(text) => Some((at.row, text)),
                _ => None,
            })
    };
    let vocabulary = reader.vocabulary();
    seen.footnotes = (prose().filter_map(|(_, text)| notes::footnote(vocabulary, text))).collect();
    seen.void_marks = (prose().filter_map(|(_, text)| notes::mark_of_withdrawn(text)))
        .map(str::to_owned)
        .collect();
    let names_analyte = |text: &str| {
        let meaning = &reader.heading(text).meaning;
        matches!(meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_))
    };
    // What is said to a mark is of the labels that carry it.
    seen.basis_notes = (prose().filter(|(_, text)| notes::footnote(vocabulary, text).is_none()))
        .filter(|(_, text)| !names_analyte(text))
        .flat_map(|(_, text)| notes::basis_notes(vocabulary, text))
        .collect();
    // A footnote speaks of the headings that carry its mark, not of the sheet.
    let said = (prose().filter(|(_, text)| !text.trim_start().starts_with(facts::is_mark)))
        .filter_map(|(row, text)| {
            let of_all = facts::sheet_unit(vocabulary, text)?;
            let by_group = stated::by_group(vocabulary, text);
            let stated = if by_group.is_empty() {
                vec![(Group::All, of_all)]
            } else {
                by_group
            };
            Some((row, stated))
        })
        .collect();
    seen.said_units = said;
    turn_pages(&mut seen);
    seen
}

/// Cuts a form into its pages, each a block of its own, so that each has its own sample.
fn turn_pages(seen: &mut Seen<'_, '_>) {
    let starts = form::pages(&seen.sheet.grid, &seen.reader, &seen.pairs);
    let at = seen.blocks.iter().position(|b| b.layout == Layout::Form);
    let (Some(at), [_, _, ..]) = (at, starts.as_slice()) else {
        return;
    };
    let whole = seen.blocks.remove(at);
    let ends = starts[1..].iter().map(|row| row - 1).chain([u32::MAX]);
    seen.blocks
        .extend(starts.iter().zip(ends).map(|(start, end)| {
            let mut page = whole.clone();
            (page.area.top, page.area.bottom) = (*start, end);
            page
        }));
}

/// The units stated for a table: by the texts outside the tables where they agree, else by the nearest above it.
fn units_of(seen: &Seen<'_, '_>, block: &Block) -> Stated {
    let said = &seen.said_units;
    let Some((_, first)) = said.first() else {
        return caption_unit(seen, block).unwrap_or_default();
    };
    if said.iter().all(|(_, other)| stated::is_same(first, other)) {
        return first.clone();
    }
    let above = (said.iter().rev()).find(|(row, _)| *row < block.area.top);
    let parted = |row: u32| {
        let mut tables = seen.blocks.iter().map(|other| other.area);
        tables.any(|area| area.top > row && area.bottom < block.area.top)
    };
    above
        .filter(|(row, _)| !parted(*row))
        .map(|(_, stated)| stated.clone())
        .unwrap_or_default()
}

/// "Chemical composition of groundwater (meq/L)" alone in a row directly above a table.
fn caption_unit(seen: &Seen<'_, '_>, block: &Block) -> Option<Stated> {
    let top = block.area.top;
    let grid = &seen.sheet.grid;
    let is_of_another = |row: &u32| {
        let first = grid.row(*row).first();
        first.is_some_and(|(col, _)| seen.tables.contain(Address::new(*row, *col)))
    };
    (top.saturating_sub(NEAREST_TITLE)..top)
        .rev()
        .take_while(|row| !is_of_another(row))
        .find_map(|row| {
            let [(_, cell)] = grid.row(row) else {
                return None;
            };
            let CellView::Text(text) = cell.view() else {
                return None;
            };
            if seen.reader.heading(text).meaning != Meaning::Unknown {
                return None;
            }
            let by_group = stated::by_group(seen.reader.vocabulary(), text);
            if !by_group.is_empty() {
                return Some(by_group);
            }
            let (unit, basis, text) = units::unit_behind_words(seen.reader.vocabulary(), text)?;
            Some(vec![(Group::All, StatedUnit { unit, text, basis })])
        })
}

fn sight<'a, 'v>(seen: &'a Seen<'_, 'v>, block: &'a Block) -> Sight<'a, 'v> {
    let grid = match (&seen.turned, block.layout) {
        (Some(turned), Layout::SamplesAcross) => turned,
        _ => &seen.sheet.grid,
    };
    let fill = seen.rule.is_some_and(|r| r.hints.header_fill);
    Sight::new(grid, &seen.reader, block, fill)
}

fn evidence(seen: &[Seen<'_, '_>], tables: &[Vec<Option<Table<'_, '_>>>]) -> Evidence {
    let mut evidence = Evidence::default();
    for (seen, tables) in seen.iter().zip(tables) {
        let name = &seen.sheet.name;
        if let Some(day) = day_in(name) {
            evidence.identity(name, Address::new(0, 0), CellView::Text(day.text));
        }
        for (block, table) in seen.blocks.iter().zip(tables) {
            for (at, day) in days_over(&seen.sheet.grid, block.area) {
                evidence.identity(name, at, CellView::Text(day));
            }
            if let Some(table) = table {
                for (at, cell) in table.value_cells() {
                    evidence.value(name, at, cell);
                }
                for (at, cell) in table.other_cells() {
                    evidence.identity(name, at, cell);
                }
            } else if let Some(cross) = &block.cross {
                for (at, cell) in seen.sheet.grid.cells_in(block.area) {
                    if cross.results.contains(at) {
                        evidence.value(name, at, cell.view());
                    } else {
                        evidence.identity(name, at, cell.view());
                    }
                }
            } else if block.layout == Layout::ResultsDown {
                // Which column holds the values is decided later; identity rarely looks like a number
                // with a decimal sign, dates never do.
                for (at, cell) in seen.sheet.grid.cells_in(block.area) {
                    evidence.value(name, at, cell.view());
                    evidence.identity(name, at, cell.view());
                }
            }
        }
        for pair in &seen.pairs {
            let cell = seen.sheet.grid.view(pair.value);
            if let (Some(range), CellView::Text(text)) = (&pair.part, cell) {
                let part = CellView::Text(text.get(range.clone()).unwrap_or(text));
                if pair.analyte {
                    evidence.value(name, pair.value, part)
                } else {
                    evidence.identity(name, pair.value, part)
                }
            } else if pair.analyte {
                evidence.value(name, pair.value, cell);
            } else {
                evidence.identity(name, pair.value, cell);
            }
        }
    }
    evidence
}

#[allow(clippy::too_many_arguments)] // the stage's own inner seam; bundling would only rename them
fn sheet_plan(
    seen: &Seen<'_, '_>,
    tables: Vec<Option<Table<'_, '_>>>,
    context: &Context<'_>,
    told_facts: &[Fact],
    locale: Locale,
    recognised: bool,
    told: &mut Vec<Told>,
    findings: &mut Vec<Finding>,
) -> SheetPlan {
    let mut plan = SheetPlan::default();
    let grid = &seen.sheet.grid;
    if let Some((code, reason)) = &seen.skipped {
        if let Some(extent) = grid.extent() {
            plan.set_aside.push((extent, reason.clone()));
            if !code.is_empty() {
                let what = if *code == "sheet-hidden" {
                    "a hidden sheet, not read"
                } else {
                    "a sheet that the mapping does not name, set aside"
                };
                findings.push(
                    finding(
                        code,
                        Place::sheet(&context.file, &context.sheet),
                        what.into(),
                        "name it in the mapping to read it".into(),
                    )
                    .for_cells(grid.count()),
                );
            }
        }
        return plan;
    }
    plan.set_aside.extend(
        seen.rule
            .iter()
            .flat_map(|r| r.areas_set_aside.iter().cloned()),
    );
    for (block, table) in seen.blocks.iter().zip(tables) {
        let context = &Context {
            sheet_units: units_of(seen, block),
            ..context.clone()
        };
        let made = match (table, block.layout) {
            (Some(table), _) => {
                let (made, what) = table.plan(context, seen.rule, locale, findings);
                told.push(what);
                Some(made)
            }
            (None, Layout::ResultsDown) => {
                let sight = sight(seen, block);
                Some(long::plan(&sight, context, seen.rule, findings))
            }
            (None, Layout::CrossTable) => {
                let cross = block.cross.as_ref();
                cross.map(|cross| cross::plan(grid, &seen.reader, context, cross, findings))
            }
            (None, _) => {
                let rows = block.area.top..=block.area.bottom;
                let of_page = |pair: &&Pair| pair.analyte && rows.contains(&pair.label.row);
                let pairs = seen.pairs.iter().filter(of_page);
                form::plan(grid, &seen.reader, context, pairs, findings)
            }
        };
        if let Some(mut made) = made {
            // Of a long text only some rows are shown here: the last table goes on to its end.
            let open_ended = seen.partial
                && !made.across
                && grid.extent().is_some_and(|e| e.bottom == made.last_line);
            if open_ended && made.form.is_empty() {
                made.last_line = u32::MAX;
            } else {
                made.unseen = None;
            }
            if seen.partial {
                made.carried.clear();
                made.fractions.clear();
            }
            made.facts.extend(told_facts.iter().cloned());
            plan.blocks.push(made);
        }
    }
    let of_results = |block: &&BlockPlan| block.layout == Layout::ResultsDown;
    if seen.partial && plan.blocks.iter().filter(of_results).count() > 1 {
        plan.blocks.clear();
        findings.push(long::too_long(context, grid));
        return plan;
    }
    if plan.blocks.is_empty() {
        if grid.count() > 0 {
            findings.push(form::not_recognised(context, grid.count(), !recognised));
        }
        return plan;
    }
    Labelled {
        grid,
        reader: &seen.reader,
        blocks: &seen.blocks,
        pairs: &seen.pairs,
        context,
        sides: Sides::of(&seen.blocks),
    }
    .give_facts(&mut plan);
    titles(
        context,
        grid,
        &seen.blocks,
        &seen.pairs,
        &mut plan,
        findings,
    );
    nameless_tables(context, &mut plan, findings);
    medium::refuse(context, grid, &mut plan, findings);
    cut_at_sites(context, grid, &seen.reader, &mut plan, findings);
    plan
}
