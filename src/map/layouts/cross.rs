//! Cross-tables: an analyte over places and days, each result a sample of its own.

use super::form::state_unit;
use crate::finding::Finding;
use crate::locate::{CrossTable, Layout, Named, Of, Reader, caption};
use crate::map::findings::{ANALYTE_UNKNOWN, finding};
use crate::map::heads::head::Head;
use crate::map::heads::resolve::{Beside, Context, resolve};
use crate::map::heads::tracks::rule_for;
use crate::map::left_out::controls::{Names, no_sample};
use crate::map::left_out::lines::{LIMIT, Said, said};
use crate::map::plan::{BlockPlan, Fact, FormCell, LineRole, Source, TrackRole, ValueRole};
use crate::map::rules::RuleMeaning;
use crate::map::whose::carried::BLANK_AS_ABOVE;
use crate::map::whose::sheets::SAID_BY_SHEET;
use crate::place::{Address, Place};
use crate::read::Grid;
use crate::vocabulary::{Field, Meaning};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The block of a cross-table.
pub(in crate::map) fn plan(
    grid: &Grid,
    reader: &Reader<'_>,
    context: &Context<'_>,
    cross: &CrossTable,
    findings: &mut Vec<Finding>,
) -> BlockPlan {
    let drawing = Drawing {
        grid,
        reader,
        context,
        cross,
    };
    match &cross.of {
        Of::One {
            named,
            units,
            days_across,
            place,
        } => drawing.of_one(*named, units, *days_across, *place, findings),
        Of::Each(beside) => drawing.of_each(beside, findings),
    }
}

struct Drawing<'a, 'v> {
    grid: &'a Grid,
    reader: &'a Reader<'v>,
    context: &'a Context<'a>,
    cross: &'a CrossTable,
}

/// What a row says of all its results.
struct RowSays {
    role: TrackRole,
    /// Cells that belong to each result.
    companions: Vec<(Address, ValueRole)>,
    /// Whose the results are.
    own: Vec<Fact>,
}

impl Default for RowSays {
    fn default() -> Self {
        Self {
            role: TrackRole::Unplaced(ANALYTE_UNKNOWN.into()),
            companions: Vec::new(),
            own: Vec::new(),
        }
    }
}

impl Drawing<'_, '_> {
    fn of_one(
        &self,
        named: Named,
        units: &[Address],
        days_across: bool,
        place: Field,
        findings: &mut Vec<Finding>,
    ) -> BlockPlan {
        let at = self.cross.named_at();
        let label = match named {
            Named::Cell(at) => caption(self.reader, &self.text(at)).to_owned(),
            Named::Sheet => self.context.sheet.to_string(),
        };
        let state = |head: &mut Head| {
            for unit in units {
                state_unit(self.context, &self.text(*unit), head);
            }
        };
        let role = self.analyte(at, &label, state, findings);
        if named == Named::Sheet && matches!(role, TrackRole::Analyte(_)) {
            findings.push(finding(
                SAID_BY_SHEET,
                Place::sheet(&self.context.file, &self.context.sheet),
                format!("nothing says what is measured: taken from the sheet's name, '{label}'"),
                "say it above the table, or in a mapping".into(),
            ));
        }
        let corner = Address::new(self.cross.heads, self.cross.labels);
        let mut block = BlockPlan::of_values(Layout::CrossTable);
        let cells: BTreeSet<Address> = [at, corner]
            .into_iter()
            .chain(units.iter().copied())
            .collect();
        let filled = cells
            .into_iter()
            .filter(|at| !self.grid.view(*at).is_empty());
        block.headings.extend(filled);
        let no_places = self.no_places(days_across);
        for value in self.values() {
            let head = Address::new(self.cross.heads, value.col);
            let label = Address::new(value.row, self.cross.labels);
            let (of, day) = if days_across {
                (label, head)
            } else {
                (head, label)
            };
            block.form.push(FormCell {
                value,
                part: None,
                role: no_places.get(&of).unwrap_or(&role).clone(),
                companions: Vec::new(),
                own: vec![fact(place, of), fact(Field::SampledOn, day)],
            });
        }
        block
    }

    /// `beside`: the columns beside the results, with what they say.
    fn of_each(&self, beside: &[(u32, Field)], findings: &mut Vec<Finding>) -> BlockPlan {
        let mut block = BlockPlan::of_values(Layout::CrossTable);
        let heads = beside
            .iter()
            .map(|(col, _)| *col)
            .chain([self.cross.labels]);
        (block.headings).extend(heads.map(|col| Address::new(self.cross.heads, col)));
        let mut of_row = RowSays::default();
        let names = self.names_beside(beside, findings);
        for value in self.values() {
            let label = Address::new(value.row, self.cross.labels);
            if block.headings.last() != Some(&label) {
                block.headings.push(label);
                of_row = self.row(value.row, beside, &names, findings);
            }
            let day = Address::new(self.cross.heads, value.col);
            let mut own = of_row.own.clone();
            own.push(fact(Field::SampledOn, day));
            block.form.push(FormCell {
                value,
                part: None,
                role: of_row.role.clone(),
                companions: of_row.companions.clone(),
                own,
            });
        }
        block
    }

    /// The cells of names beside the results that hold for rows where their column is blank: a name is given once
    /// for its rows, in a merged cell or over blanks.
    fn names_beside(
        &self,
        beside: &[(u32, Field)],
        findings: &mut Vec<Finding>,
    ) -> BTreeMap<Address, Address> {
        let area = self.cross.results;
        let mut names = BTreeMap::new();
        for (col, field) in beside.iter().filter(|(_, field)| field.is_identity()) {
            let mut above = None;
            let mut blanks: Vec<Address> = Vec::new();
            for row in area.top..=area.bottom {
                let at = Address::new(row, *col);
                if !self.text(at).is_empty() {
                    above = Some(at);
                    continue;
                }
                let merged = (self.grid.merges.iter())
                    .find(|merge| merge.contains(at))
                    .map(|merge| Address::new(merge.top, merge.left));
                if merged.is_none() && above.is_some() && !self.grid.row(row).is_empty() {
                    blanks.push(at);
                }
                if let Some(name) = merged.or(above) {
                    names.insert(at, name);
                }
            }
            if let Some((first, name)) = blanks.first().and_then(|at| Some((*at, names.get(at)?))) {
                let told = finding(
                    BLANK_AS_ABOVE,
                    self.context.place(first),
                    format!(
                        "blank under a name given once: {} taken as '{}' above",
                        field.name(),
                        self.text(*name)
                    ),
                    "write the name in each line of the report if it is another".into(),
                );
                findings.push(told.for_cells(blanks.len() as u64));
            }
        }
        names
    }

    fn row(
        &self,
        row: u32,
        beside: &[(u32, Field)],
        names: &BTreeMap<Address, Address>,
        findings: &mut Vec<Finding>,
    ) -> RowSays {
        let mut says = RowSays::default();
        let mut units = Vec::new();
        let mut refused = None;
        for (col, field) in beside {
            let at = Address::new(row, *col);
            let at = names.get(&at).copied().unwrap_or(at);
            let text = self.text(at);
            match field {
                _ if text.is_empty() => {}
                Field::Unit => {
                    units.push(text);
                    says.companions.push((at, ValueRole::Unit));
                }
                Field::Basis => {
                    units.push(text);
                    says.companions.push((at, ValueRole::Method));
                }
                Field::Method | Field::Remark | Field::Other => {
                    says.companions.push((at, ValueRole::Method));
                }
                field => {
                    refused = refused.or_else(|| no_sample(*field, &text, &Names::new()));
                    says.own.push(fact(*field, at));
                }
            }
        }
        let state = |head: &mut Head| {
            for text in &units {
                state_unit(self.context, text, head);
            }
        };
        says.role = match refused {
            Some(reason) => TrackRole::Unplaced(reason.into()),
            None => {
                let at = Address::new(row, self.cross.labels);
                self.analyte(at, &self.text(at), state, findings)
            }
        };
        says
    }

    /// The role of the results that a label names, at `at`. `state` adds what other cells say of them.
    fn analyte(
        &self,
        at: Address,
        label: &str,
        state: impl Fn(&mut Head),
        findings: &mut Vec<Finding>,
    ) -> TrackRole {
        let context = self.context;
        let label: Arc<str> = label.into();
        let heading = self.reader.heading(&label);
        let mut head = Head::of(&heading, at, &label);
        state(&mut head);
        let rule = rule_for(context.rules, &context.sheet, &head, at.col);
        match rule.and_then(|r| r.meaning.as_ref()) {
            Some(RuleMeaning::SetAside(reason)) => return TrackRole::SetAside(reason.clone()),
            Some(RuleMeaning::Field(_)) => return TrackRole::Unplaced(ANALYTE_UNKNOWN.into()),
            None if matches!(heading.meaning, Meaning::Field(_) | Meaning::Unknown) => {
                return TrackRole::Unplaced(ANALYTE_UNKNOWN.into());
            }
            Some(RuleMeaning::Analyte(_)) | None => {}
        }
        let beside = Beside {
            rule,
            ..Beside::default()
        };
        match resolve(context, &head, beside, findings) {
            Ok(track) => TrackRole::Analyte(Box::new(track)),
            Err(reason) => TrackRole::Unplaced(reason),
        }
    }

    /// The cells of results, row by row.
    fn values(&self) -> impl Iterator<Item = Address> + '_ {
        let area = self.cross.results;
        (self.grid.rows_from(area.top))
            .map(|(row, _)| row)
            .take_while(move |row| *row <= area.bottom)
            .flat_map(move |row| {
                let cells = self.grid.stretch(row, area.left, area.right);
                cells.iter().map(move |(col, _)| Address::new(row, *col))
            })
    }

    fn text(&self, at: Address) -> String {
        self.grid.view(at).as_text().trim().to_owned()
    }

    /// Names beside the results that are no places: statistics, controls, limits. What their cells become.
    fn no_places(&self, days_across: bool) -> BTreeMap<Address, TrackRole> {
        let area = self.cross.results;
        let places: Vec<Address> = if days_across {
            (area.top..=area.bottom)
                .map(|row| Address::new(row, self.cross.labels))
                .collect()
        } else {
            (area.left..=area.right)
                .map(|col| Address::new(self.cross.heads, col))
                .collect()
        };
        let names: Names = (places.iter()).map(|at| self.text(*at).into()).collect();
        let role = |at: Address| {
            let role = match said(self.reader, !days_across, &self.text(at), &names)? {
                Said::Limit(_) => TrackRole::Unplaced(LIMIT.into()),
                Said::Role(LineRole::SetAside(reason)) => TrackRole::SetAside(reason),
                Said::Role(LineRole::Unplaced(reason)) => TrackRole::Unplaced(reason),
                Said::Role(LineRole::Heading | LineRole::Companion { .. }) => {
                    TrackRole::Unplaced("not-a-place".into())
                }
            };
            Some((at, role))
        };
        places.into_iter().filter_map(role).collect()
    }
}

const fn fact(field: Field, at: Address) -> Fact {
    Fact {
        field,
        from: Source::Cell(at),
    }
}
