//! Identity in labelled cells outside the tables ("Client: Thistle", "Sampled | 12.3.2024").

use super::facts;
use super::titles::NEAREST_TITLE;
use super::told_labels;
use crate::locate::{Block, Layout, Pair, Reader};
use crate::map::heads::resolve::Context;
use crate::map::plan::{Fact, SheetPlan, Source};
use crate::place::{Address, Area, Areas};
use crate::read::Grid;
use crate::text::fold;
use crate::vocabulary::{Field, Meaning};
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// What names a sample.
pub(super) const NAMES: [Field; 3] = [Field::SampleRef, Field::LabRef, Field::Source];

/// What is of one sample and not of a whole report, where it stands behind the name of one.
pub(super) const OF_ONE: [Field; 8] = [
    Field::SampleRef,
    Field::LabRef,
    Field::Source,
    Field::SourceKind,
    Field::Site,
    Field::SampledOn,
    Field::Latitude,
    Field::Longitude,
];

/// Labels of names of people as well as of samples.
const OF_A_PERSON: [&str; 8] = [
    "name", "nom", "nombre", "nome", "naam", "navn", "namn", "nazwa",
];

/// A sheet whose labelled cells are given to its tables.
pub(in crate::map) struct Labelled<'a, 'v> {
    pub(in crate::map) grid: &'a Grid,
    pub(in crate::map) reader: &'a Reader<'v>,
    pub(in crate::map) blocks: &'a [Block],
    /// In the order of their labels.
    pub(in crate::map) pairs: &'a [Pair],
    pub(in crate::map) context: &'a Context<'a>,
    pub(in crate::map) sides: Sides,
}

/// Where the tables of a sheet are, in the order of their first rows, so that those beside one are soon found.
pub(in crate::map) struct Sides {
    areas: Vec<Area>,
    /// The last row that a table up to here reaches.
    reach: Vec<u32>,
}

impl Sides {
    pub(in crate::map) fn of(blocks: &[Block]) -> Self {
        let tables = blocks.iter().filter(|block| block.layout != Layout::Form);
        let mut areas: Vec<Area> = tables.map(|block| block.area).collect();
        areas.sort_by_key(|area| area.top);
        let mut last = 0;
        let reach = areas.iter().map(|area| {
            last = last.max(area.bottom);
            last
        });
        Self {
            reach: reach.collect(),
            areas,
        }
    }

    /// The first columns of the tables that stand side by side with a table, its own among them.
    fn lefts_beside(&self, area: Area) -> Vec<u32> {
        let behind = self.areas.partition_point(|other| other.top <= area.bottom);
        let near = self.areas[..behind].iter().zip(&self.reach).rev();
        let lefts: BTreeSet<u32> = near
            .take_while(|(_, reach)| **reach >= area.top)
            .map(|(other, _)| other)
            .filter(|other| {
                **other == area
                    || area.top <= other.bottom
                        && (other.right < area.left || area.right < other.left)
            })
            .map(|other| other.left)
            .collect();
        lefts.into_iter().collect()
    }
}

impl<'a> Labelled<'a, '_> {
    /// Labelled cells outside the tables are identity of the blocks below them; of two labels for one field
    /// the nearer one counts.
    pub(in crate::map) fn give_facts(&self, plan: &mut SheetPlan) {
        let is_form = |block: &&Block| block.layout == Layout::Form;
        let forms = self.blocks.iter().filter(is_form).count();
        let own = self.own_rows();
        let by_field = self.by_field(&own);
        let named: Vec<&Pair> = (by_field.iter())
            .filter(|(field, _)| NAMES.contains(field))
            .flat_map(|(_, pairs)| pairs.iter().copied())
            .collect();
        let first_name = named.iter().map(|pair| pair.label.row).min();
        let named: BTreeSet<u32> = named.into_iter().map(|pair| pair.label.row).collect();
        for (field, pairs) in by_field {
            // The rows in which a label is heard by some block.
            let mut heard: Vec<Area> = Vec::new();
            for ((block, located), own) in plan.blocks.iter_mut().zip(self.blocks).zip(&own) {
                if block.says_within(&[field]) {
                    continue;
                }
                let form = located.layout == Layout::Form;
                let (top, bottom) = match form {
                    true if forms > 1 => (located.area.top, located.area.bottom),
                    true => (0, u32::MAX),
                    false => (0, located.area.bottom),
                };
                heard.push(Area {
                    top,
                    bottom,
                    ..Area::default()
                });
                let from = pairs.partition_point(|pair| pair.label.row < top);
                let behind = pairs.partition_point(|pair| pair.label.row <= bottom);
                let near = pairs.get(from..behind).unwrap_or_default();
                let near: Vec<&Pair> = if form {
                    near.to_vec()
                } else {
                    self.over(located, field, near)
                };
                let Some(&pair) = (if form { near.first() } else { near.last() }) else {
                    continue;
                };
                // What stands behind another sample's name is that sample's.
                let is_of_another = OF_ONE.contains(&field)
                    && !form
                    && named.range(own.clone()).next().is_some()
                    && pair.label.row < *own.start()
                    && first_name.is_some_and(|row| pair.label.row >= row);
                if is_of_another {
                    continue;
                }
                match block.facts.iter_mut().find(|f| f.field == field) {
                    // The mapping's word stands; of the sheet's the nearer one.
                    Some(fact) if form || matches!(fact.from, Source::Text(_)) => {}
                    Some(fact) => fact.from = facts::source(self.grid, pair),
                    None => block.facts.push(Fact {
                        field,
                        from: facts::source(self.grid, pair),
                    }),
                }
            }
            let heard: Areas = heard.into_iter().collect();
            let is_heard = |pair: &&&Pair| {
                field == Field::ReportRef || heard.contain(Address::new(pair.label.row, 0))
            };
            plan.identity
                .extend(pairs.iter().filter(is_heard).map(|pair| pair.value));
        }
        plan.identity.sort_unstable();
        plan.identity.dedup();
    }

    /// Of labels above a table that stands beside others those that are its own: a label is of the table over which
    /// it stands, where another stands over another table. What stands over the first alone, or far above, is of all,
    /// and so is what is of a whole report.
    fn over<'n>(&self, table: &Block, field: Field, near: &[&'n Pair]) -> Vec<&'n Pair> {
        let lefts = self.sides.lefts_beside(table.area);
        if lefts.len() < 2 {
            return near.to_vec();
        }
        // The table, of those side by side, over which a label stands.
        let table_of = |pair: &Pair| {
            let from = lefts.partition_point(|left| *left <= pair.label.col);
            from.saturating_sub(1)
        };
        let own = lefts.partition_point(|left| *left <= table.area.left);
        let own = own.saturating_sub(1);
        let tables: BTreeSet<usize> = near.iter().map(|pair| table_of(pair)).collect();
        let is_near = |pair: &Pair| pair.label.row + NEAREST_TITLE >= table.area.top;
        let is_of_report = !OF_ONE.contains(&field);
        let alone = tables.len() == 1;
        (near.iter().copied())
            .filter(|pair| {
                let of = table_of(pair);
                of == own || alone && (of == 0 || is_of_report || !is_near(pair))
            })
            .collect()
    }

    /// The rows of each block's own labels: from the table above on to its last line.
    fn own_rows(&self) -> Vec<RangeInclusive<u32>> {
        let bottoms: BTreeSet<u32> = self.blocks.iter().map(|block| block.area.bottom).collect();
        let own = |block: &Block| {
            let above = bottoms.range(..block.area.top).next_back();
            above.map_or(0, |bottom| bottom + 1)..=block.area.bottom
        };
        self.blocks.iter().map(own).collect()
    }

    /// The fields in the order in which they are first labelled, each with its pairs from the top down.
    fn by_field(&self, own: &[RangeInclusive<u32>]) -> Vec<(Field, Vec<&'a Pair>)> {
        let mut labelled: Vec<(Field, Vec<&Pair>)> = Vec::new();
        let mut bare_days: Vec<&Pair> = Vec::new();
        for pair in self.pairs.iter().filter(|p| !p.analyte) {
            let meaning = &self.reader.heading(&pair.label_text).meaning;
            let (rules, sheet) = (self.context.rules, &self.context.sheet);
            if let Some(field) = told_labels::field_of(rules, sheet, &pair.label_text, meaning) {
                match labelled.iter_mut().find(|(known, _)| *known == field) {
                    Some((_, pairs)) => pairs.push(pair),
                    None => labelled.push((field, vec![pair])),
                }
            } else if *meaning == Meaning::Field(Field::SampledOn) {
                bare_days.push(pair);
            }
        }
        for (field, pairs) in &mut labelled {
            // "Name" beside "Sample" is whose letter it is.
            let is_of_person = |pair: &Pair| OF_A_PERSON.contains(&&*fold(&pair.label_text));
            if *field == Field::SampleRef && !pairs.iter().all(|pair| is_of_person(pair)) {
                pairs.retain(|pair| !is_of_person(pair));
            }
        }
        let is_said = labelled.iter().any(|(field, _)| *field == Field::SampledOn);
        if !is_said && self.is_day_of_each(&bare_days, own) {
            labelled.push((Field::SampledOn, bare_days));
        }
        labelled
    }

    /// A bare "Date" of its own for each of several tables, not all the same: no letter has so many.
    fn is_day_of_each(&self, days: &[&Pair], own: &[RangeInclusive<u32>]) -> bool {
        let tables: Vec<(&Block, &RangeInclusive<u32>)> = (self.blocks.iter().zip(own))
            .filter(|(block, _)| block.layout != Layout::Form)
            .collect();
        let of = |(block, rows): &(&Block, &RangeInclusive<u32>)| {
            let from = days.partition_point(|day| day.label.row < *rows.start());
            let behind = days.partition_point(|day| day.label.row <= *rows.end());
            let near = days.get(from..behind).unwrap_or_default();
            self.over(block, Field::SampledOn, near).len()
        };
        let text = |day: &Pair| facts::source(self.grid, day).text(self.grid);
        let differ = days.iter().any(|day| text(day) != text(days[0]));
        tables.len() > 1
            && days.len() == tables.len()
            && tables.iter().all(|table| of(table) == 1)
            && differ
    }
}
