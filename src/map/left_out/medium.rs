//! Tables of what is no water. Soil, sludge and plants are examined in the same laboratories, under the same
//! names; read as water, their amounts per kilogram would become concentrations.

use crate::finding::Finding;
use crate::locate::Layout;
use crate::map::findings::finding;
use crate::map::heads::resolve::Context;
use crate::map::plan::{BlockPlan, SheetPlan, TrackRole};
use crate::map::rules::Rules;
use crate::place::Address;
use crate::read::{CellView, Grid};
use crate::text::{fold, words};
use crate::vocabulary::{Dimension, Field, Meaning, Note};
use std::sync::Arc;

/// Reason of rows and tables that are of soil, sediment, plants.
pub(in crate::map) const OTHER_MEDIUM: &str = "other-medium";

/// What a cell that names the medium says where it is no water. Common practice, no source.
const MEDIA: &[&str] = &[
    "soil",
    "soils",
    "sediment",
    "sediments",
    "bottom sediment",
    "solid",
    "sludge",
    "tissue",
    "plant tissue",
    "biota",
    "biological",
    "compost",
    "air",
    "boden",
    "schlamm",
    "pflanze",
    "bodem",
    "slib",
    "grond",
    "sol",
    "boue",
    "suelo",
    "sedimento",
    "sedimentos",
    "lodo",
    "suolo",
    "fango",
    "solo",
    "jord",
    "slam",
    "gleba",
    "osad",
    "suspended matter",
    "suspended particulate matter",
    "fish",
    "mussels",
    "vegetation",
    "saturated paste extract",
    "saturation extract",
    "soil extract",
    "soil solution",
    "bodenlosung",
    "grondextract",
];

/// Words of titles and headings that speak of such a medium, as whole words; those that are names of places or
/// common words too are left out. Common practice, no source.
const WORDS: &[&str] = &[
    "soil",
    "soils",
    "sediment",
    "sediments",
    "sludge",
    "tissue",
    "leaf",
    "leaves",
    "compost",
    "manure",
    "substrate",
    "texture",
    "humus",
    "cec",
    "cmol",
    "mehlich",
    "olsen",
    "boden",
    "bodenprobe",
    "bodenproben",
    "schlamm",
    "klarschlamm",
    "pflanze",
    "pflanzen",
    "bodem",
    "slib",
    "grondmonster",
    "sols",
    "boue",
    "boues",
    "argile",
    "suelo",
    "suelos",
    "sedimento",
    "sedimentos",
    "lodo",
    "lodos",
    "arcilla",
    "suolo",
    "suoli",
    "fango",
    "fanghi",
    "argilla",
    "solos",
    "jordprove",
    "jordprover",
    "gleba",
    "gleby",
];

/// Such a word beside one of these is part of the name of a laboratory, or speaks of water as well.
const ALSO_WATER: &[&str] = &[
    "lab",
    "labs",
    "labor",
    "laborator",
    "water",
    "wasser",
    "eau",
    "agua",
    "acqua",
    "vand",
    "woda",
    "wody",
];

/// What is drawn out of soil is told whatever its units are: "Saturated paste extract". Common practice, no source.
const EXTRACTS: &[&str] = &[
    "saturated paste",
    "saturation extract",
    "soil extract",
    "soil solution",
    "soil water extract",
    "sattigungsextrakt",
    "bodenlosung",
    "extracto de saturacion",
    "pasta saturada",
    "extrait de sol",
    "pate saturee",
    "estratto di pasta satura",
];

/// Whether the text of a cell that names the medium names none of water.
pub(in crate::map) fn is_other_medium(text: &str) -> bool {
    MEDIA.contains(&fold(text).trim())
}

/// Refuses the tables of a sheet that are of no water: where a fact says so, or where all amounts are per
/// kilogram of something and a title or heading tells of what. Amounts per kilogram alone are met in water too.
pub(in crate::map) fn refuse(
    context: &Context<'_>,
    grid: &Grid,
    plan: &mut SheetPlan,
    findings: &mut Vec<Finding>,
) {
    let is_told = context.rules.is_some_and(Rules::names_sheets);
    let of_extract = |text: &str| {
        let folded = fold(text);
        EXTRACTS.iter().any(|extract| folded.contains(extract))
    };
    let mut extracts = Spoken::new(context, grid, of_extract);
    let mut media = Spoken::new(context, grid, |text: &str| {
        speaks_of_other_medium(context, text)
    });
    for block in &mut plan.blocks {
        let mut why = fact(grid, block);
        if !is_told {
            why = why.or_else(|| extracts.to(block));
            if why.is_none() && is_per_kilogram(context, grid, block) {
                why = media.to(block).or_else(|| shares(grid, block));
            }
        }
        let Some(text) = why else { continue };
        let at = block.headings.first().copied();
        let at = at.or_else(|| block.form.first().map(|cell| cell.value));
        let cells = block.place_nothing(OTHER_MEDIUM);
        let Some(at) = at else { continue };
        findings.push(
            finding(
                OTHER_MEDIUM,
                context.place(at),
                format!("'{text}' tells that this is of no water: not placed"),
                "if it is water, name the sheet in a mapping".into(),
            )
            .for_cells(cells),
        );
    }
}

/// "Matrix: soil" above the table.
fn fact(grid: &Grid, block: &BlockPlan) -> Option<Arc<str>> {
    let kinds = block
        .facts
        .iter()
        .filter(|fact| fact.field == Field::SourceKind);
    kinds
        .map(|fact| fact.from.text(grid))
        .find(|text| is_other_medium(text))
}

/// Whether the table states masses per kilogram, and none per litre.
fn is_per_kilogram(context: &Context<'_>, grid: &Grid, block: &BlockPlan) -> bool {
    let vocabulary = context.vocabulary;
    let (mut per_kilogram, mut per_litre) = (false, false);
    let mut count = |note: Option<Note>| match note {
        Some(Note::WaterDensity) => per_kilogram = true,
        _ => per_litre = true,
    };
    let form = block.form.iter().map(|cell| &cell.role);
    for role in block.tracks.iter().map(|track| &track.role).chain(form) {
        match role {
            TrackRole::Analyte(track)
                if track.unit_text.is_some()
                    && vocabulary.analyte(track.analyte).unit == "mg/L" =>
            {
                count(track.conversion.note);
            }
            _ => {}
        }
    }
    let units = (block.tracks.iter())
        .find(|t| matches!(t.role, TrackRole::Field(Field::Unit)))
        .map(|t| t.at)
        .filter(|_| block.layout == Layout::ResultsDown);
    if let Some(units) = units {
        let rows = grid.rows_from(block.first_line);
        for (line, _) in rows.take_while(|(line, _)| *line <= block.last_line) {
            let text = grid.view(Address::new(line, units)).as_text();
            match vocabulary.read_unit(&text) {
                Some((unit, _)) if unit.dimension == Dimension::Mass => {
                    count(unit.note);
                }
                _ => {}
            }
        }
    }
    per_kilogram && !per_litre
}

/// "N (%)", "K %": what is given in per cent of two nutrients or more is a leaf or a fertilizer.
fn shares(grid: &Grid, block: &BlockPlan) -> Option<Arc<str>> {
    let is_share = |text: &str| {
        let rest = text.trim_end_matches([')', ']', ' ']).strip_suffix('%');
        let name = rest.map(|rest| rest.trim_end_matches(['(', '[', ' ']));
        name.is_some_and(|name| ["N", "P", "K", "Ca", "Mg", "S"].contains(&name))
    };
    let texts = block.headings.iter().map(|at| grid.view(*at).as_text());
    let mut found = texts.filter(|text| is_share(text.trim()));
    let first = found.next()?;
    found.next().map(|_| Arc::from(first.trim()))
}

/// What a sheet says of something. Its tables ask one after the other; each text above them is looked at once.
struct Spoken<'a, S> {
    sheet: &'a str,
    grid: &'a Grid,
    speaks: S,
    /// The first text of the sheet that speaks of it, and its row; of the rows before `next`.
    first: Option<(u32, &'a str)>,
    next: u32,
}

impl<'a, S: Fn(&str) -> bool> Spoken<'a, S> {
    fn new(context: &'a Context<'_>, grid: &'a Grid, speaks: S) -> Self {
        Self {
            sheet: &context.sheet,
            grid,
            speaks,
            first: None,
            next: 0,
        }
    }

    /// The name of the sheet, a text above the table or a heading of it that speaks of it.
    fn to(&mut self, block: &BlockPlan) -> Option<Arc<str>> {
        let values = block.form.iter().map(|cell| cell.value);
        let cells = block.headings.iter().copied().chain(values);
        let top = cells.map(|at| at.row).min().unwrap_or(block.first_line);
        if (self.speaks)(self.sheet) {
            return Some(self.sheet.into());
        }
        if self.first.is_none() && self.next < top {
            let rows = self.grid.rows_from(self.next);
            let mut texts = rows
                .take_while(|(row, _)| *row < top)
                .flat_map(|(row, cells)| {
                    cells.iter().map(move |(_, cell)| (row, text(cell.view())))
                });
            self.first = texts.find(|(_, text)| (self.speaks)(text));
            self.next = top;
        }
        let above = self.first.filter(|(row, _)| *row < top);
        let mut headings = block.headings.iter().map(|at| text(self.grid.view(*at)));
        let found = above.map(|(_, text)| text);
        let found = found.or_else(|| headings.find(|text| (self.speaks)(text)));
        found.map(Arc::from)
    }
}

/// Of a cell with a text; else nothing.
fn text(cell: CellView<'_>) -> &str {
    match cell {
        CellView::Text(text) => text.trim(),
        _ => "",
    }
}

fn speaks_of_other_medium(context: &Context<'_>, text: &str) -> bool {
    let folded = fold(text);
    let words = || words(&folded);
    words().any(|word| WORDS.contains(&word))
        && !words().any(|word| ALSO_WATER.iter().any(|also| word.starts_with(also)))
        && !matches!(
            context.vocabulary.read_heading(text).meaning,
            Meaning::Analyte(_)
        )
}
