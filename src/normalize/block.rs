//! One table: its tracks, and what a line of it gives. `samples-down` and `samples-across` here; the
//! rows of `results-down` go on to `long`.

use super::day_parts::DayParts;
use super::findings::Problem;
use super::groups::{Groups, LineDrafts};
use super::identity::Identity;
use super::known::Known;
use super::long::LongRun;
use super::measure::{Beside, Outcome};
use super::names::{NameReader, Names};
use super::runner::{Count, Part, Placed, Shared};
use super::unseen::Strangers;
use crate::locate::Layout;
use crate::map::{BlockPlan, Fact, LineRole, Source, TrackGroup, TrackRole, ValueRole};
use crate::place::Address;
use crate::read::CellView;
use crate::vocabulary::Field;
use hashbrown::HashMap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The cells of a line by index of their track.
pub(super) type LineCells<'a, 'c> = &'a [(usize, CellView<'c>)];

/// A block at work.
pub(super) struct BlockRun<'p> {
    pub plan: &'p BlockPlan,
    pub index: u32,
    /// By position.
    pub tracks: Vec<TrackRun<'p>>,
    pub knowns: Vec<Known>,
    /// What the facts say of every sample of the block.
    pub base: Identity,
    pub(super) groups: Groups,
    /// Tracks whose blank cells say what the line before says, and the cell that was filled last.
    pub(super) carried: Vec<(usize, Option<Address>)>,
    /// The block can hold one sample only, so that the facts name it.
    pub(super) is_single: bool,
    /// Lines that belong to a sample's line, by the sample's line.
    beside_lines: BTreeMap<u32, Vec<(u32, ValueRole)>>,
    /// For `results-down` only.
    pub long: LongRun,
    names: NameReader,
    /// Of a long text: lines that its plan was not made from.
    pub(super) strangers: Option<Strangers<'p>>,
}

pub(super) struct TrackRun<'p> {
    pub at: u32,
    pub role: Role<'p>,
}

pub(super) enum Role<'p> {
    Analyte {
        known: usize,
        /// Indices of the tracks that belong to it.
        companions: Vec<(usize, ValueRole)>,
    },
    Field(Field),
    Companion(ValueRole),
    SetAside,
    Unplaced(&'p Arc<str>),
}

/// What facts say of samples. The report's own cells come before the words of the mapping.
fn facts<'f>(
    facts: impl IntoIterator<Item = &'f Fact>,
    shared: &Shared<'_>,
    part: &mut Part,
) -> Identity {
    let mut base = Identity::default();
    let mut groups = Vec::new();
    let from_report = |source: &Source| !matches!(source, Source::Text(_));
    let (cells, texts): (Vec<_>, Vec<_>) =
        (facts.into_iter()).partition(|fact| from_report(&fact.from));
    for fact in cells {
        let (at, cell) = match &fact.from {
            Source::Cell(at) => (*at, shared.grid.view(*at)),
            Source::Part(at, text) => (*at, CellView::Text(text)),
            Source::Text(_) => continue,
        };
        shared.identity.put(
            &mut base,
            fact.field,
            cell,
            at,
            &mut part.tally,
            &mut groups,
        );
    }
    let mut told = Identity::default();
    for fact in texts {
        if let Source::Text(text) = &fact.from {
            let at = Address::new(0, 0);
            shared.identity.put(
                &mut told,
                fact.field,
                CellView::Text(text),
                at,
                &mut part.tally,
                &mut groups,
            );
        }
    }
    base.complete_from(&told);
    base
}

impl<'p> BlockRun<'p> {
    pub(super) fn new(
        shared: &Shared<'p>,
        index: usize,
        plan: &'p BlockPlan,
        part: &mut Part,
    ) -> Self {
        let mut knowns = Vec::new();
        let mut order: Vec<usize> = (0..plan.tracks.len()).collect();
        order.sort_by_key(|i| plan.tracks[*i].at);
        let position = |at: u32| order.binary_search_by_key(&at, |i| plan.tracks[*i].at).ok();
        // A table can have as many tracks as a sheet has columns: each is asked once whose companion it is.
        let mut companions_of: HashMap<u32, Vec<(usize, ValueRole)>> = HashMap::new();
        for track in &plan.tracks {
            if let TrackRole::Companion { of, role } = track.role {
                let companion = position(track.at).map(|position| (position, role));
                companions_of.entry(of).or_default().extend(companion);
            }
        }
        let tracks: Vec<TrackRun<'p>> = order
            .iter()
            .map(|i| {
                let track = &plan.tracks[*i];
                let role = match &track.role {
                    TrackRole::Analyte(analyte) => {
                        knowns.push(Known::new(
                            (**analyte).clone(),
                            shared.vocabulary,
                            &mut part.recipes,
                        ));
                        let companions = companions_of.remove(&track.at).unwrap_or_default();
                        Role::Analyte {
                            known: knowns.len() - 1,
                            companions,
                        }
                    }
                    TrackRole::Field(field) => Role::Field(*field),
                    TrackRole::Companion { role, .. } => Role::Companion(*role),
                    TrackRole::SetAside(_) => Role::SetAside,
                    TrackRole::Unplaced(reason) => Role::Unplaced(reason),
                };
                TrackRun { at: track.at, role }
            })
            .collect();
        let mut beside_lines: BTreeMap<u32, Vec<(u32, ValueRole)>> = BTreeMap::new();
        for (line, role) in &plan.not_samples {
            if let LineRole::Companion { of, role } = role {
                beside_lines.entry(*of).or_default().push((*line, *role));
            }
        }
        let lines = (u64::from(plan.last_line) + 1).saturating_sub(u64::from(plan.first_line));
        let no_samples = plan
            .not_samples
            .range(plan.first_line..=plan.last_line.max(plan.first_line))
            .count();
        let names = (0..tracks.len())
            .filter(
                |track| matches!(tracks[*track].role, Role::Field(field) if field.is_identity()),
            )
            .collect();
        let carried = (plan.carried.iter())
            .filter_map(|at| tracks.iter().position(|track| track.at == *at))
            .map(|track| (track, None))
            .collect();
        let of_group = |group: &TrackGroup| facts([&group.fact], shared, &mut *part);
        let groups = Groups::new(plan, &tracks, plan.groups.iter().map(of_group).collect());
        Self {
            plan,
            index: u32::try_from(index).expect("fewer blocks than cells"),
            tracks,
            knowns,
            base: facts(&plan.facts, shared, part),
            groups,
            carried,
            is_single: lines.saturating_sub(no_samples as u64) == 1,
            beside_lines,
            long: LongRun::default(),
            names: NameReader::new(index, names),
            strangers: Strangers::new(shared, plan),
        }
    }

    /// Line and position of a cell.
    pub(super) const fn turn(&self, at: Address) -> (u32, u32) {
        if self.plan.across {
            (at.col, at.row)
        } else {
            (at.row, at.col)
        }
    }

    /// First and last row; the first behind the last where the block has no cells of its own.
    pub(super) fn rows(&self) -> (u32, u32) {
        match (self.tracks.first(), self.tracks.last()) {
            (Some(first), Some(last)) if self.plan.across => (first.at, last.at),
            (Some(_), Some(_)) => (self.plan.first_line, self.plan.last_line),
            _ => (1, 0),
        }
    }

    /// The cell of a line at a position.
    pub(super) const fn address(&self, line: u32, position: u32) -> Address {
        if self.plan.across {
            Address::new(position, line)
        } else {
            Address::new(line, position)
        }
    }

    fn has_line(&self, line: u32) -> bool {
        (self.plan.first_line..=self.plan.last_line).contains(&line)
    }

    /// The track at a position of one of the block's lines.
    pub(super) fn track_at(&self, position: u32) -> Option<usize> {
        self.tracks
            .binary_search_by_key(&position, |track| track.at)
            .ok()
    }

    /// The same, looked for from the track `from` on, which moves up: cells come by their positions.
    pub(super) fn track_from(&self, from: &mut usize, position: u32) -> Option<usize> {
        while self.tracks.get(*from)?.at < position {
            *from += 1;
        }
        (self.tracks[*from].at == position).then_some(*from)
    }

    /// `None` outside the block; `Some(None)` between its tracks; else the index of the track.
    pub(super) fn position(&self, line: u32, position: u32) -> Option<Option<usize>> {
        if !self.has_line(line) {
            return None;
        }
        let (first, last) = (self.tracks.first()?, self.tracks.last()?);
        if position < first.at || position > last.at {
            return None;
        }
        Some(self.track_at(position))
    }

    /// One line: its cells by index of their track.
    pub(super) fn line(
        &mut self,
        shared: &Shared<'p>,
        part: &mut Part,
        line: u32,
        cells: &[(usize, CellView<'_>)],
    ) {
        let with_names = self.carry(shared, line, cells);
        let named = with_names.as_deref().unwrap_or(cells);
        let names = self.names.read(&part.drafts, named);
        if let Some(strangers) = &mut self.strangers {
            let is_known = names != Names::New;
            if let Some(count) =
                strangers.count(shared, part, (line, cells), self.names.raw(), is_known)
            {
                for (track, cell) in cells {
                    let at = self.address(line, self.tracks[*track].at);
                    part.count(shared.sheet, at, *cell, &count);
                }
                return;
            }
        }
        if self.plan.layout == Layout::ResultsDown {
            super::long::row(self, shared, part, (line, cells), (named, names));
        } else {
            self.sample_line(shared, part, line, cells, (named, names));
        }
    }

    fn sample_line(
        &mut self,
        shared: &Shared<'p>,
        part: &mut Part,
        line: u32,
        cells: &[(usize, CellView<'_>)],
        (named, names): (&[(usize, CellView<'_>)], Names),
    ) {
        let has_value = cells.iter().any(|(track, _)| {
            matches!(
                self.tracks[*track].role,
                Role::Analyte { .. } | Role::Companion(ValueRole::Qualifier)
            )
        });
        if !has_value {
            self.line_without_values(shared, part, line, cells);
            return;
        }
        let drafts = if self.groups.is_empty() {
            LineDrafts::One(self.draft(shared, part, line, named, names))
        } else {
            self.drafts_of_groups(shared, part, line, (cells, named))
        };
        for (track, cell) in cells {
            let at = self.address(line, self.tracks[*track].at);
            let count = match &self.tracks[*track].role {
                Role::Analyte { .. } => continue,
                Role::Companion(ValueRole::Qualifier) => continue,
                Role::Field(_) | Role::Companion(_) => Count::Identity,
                Role::SetAside => Count::SetAside,
                Role::Unplaced(reason) => Count::Unplaced((*reason).clone()),
            };
            part.count(shared.sheet, at, *cell, &count);
        }
        for track in 0..self.tracks.len() {
            if let Some(draft) = drafts.of(&self.groups, track) {
                self.value(shared, part, line, cells, track, draft);
            }
        }
        self.stray_qualifiers(shared, part, line, cells);
    }

    /// One analyte of a line.
    fn value(
        &mut self,
        shared: &Shared<'p>,
        part: &mut Part,
        line: u32,
        cells: &[(usize, CellView<'_>)],
        track: usize,
        draft: u32,
    ) {
        let Role::Analyte { known, companions } = &self.tracks[track].role else {
            return;
        };
        let known = *known;
        let cell_of = |wanted: usize| {
            // Most lines have a cell of each track.
            match cells.get(wanted) {
                Some((index, cell)) if *index == wanted => *cell,
                _ => cells
                    .binary_search_by_key(&wanted, |(index, _)| *index)
                    .map_or(CellView::Empty, |at| cells[at].1),
            }
        };
        let mut beside = Beside::NOTHING;
        let mut qualifier_at = None;
        for (index, role) in companions {
            let cell = cell_of(*index);
            if *role != ValueRole::Qualifier {
                beside.set(*role, cell);
                continue;
            }
            if cell.is_empty() {
                continue;
            }
            let of_cell = self.address(line, self.tracks[*index].at);
            if qualifier_at.is_none() {
                qualifier_at = Some(of_cell);
                beside.qualifier = cell;
            } else {
                // A second qualifier column of one analyte: the first counts.
                part.count(shared.sheet, of_cell, cell, &Count::Identity);
            }
        }
        let position = self.tracks[track].at;
        if let Some(lines) = self.beside_lines.get(&line) {
            for (other, role) in lines {
                beside.set_blank(*role, shared.grid.view(self.address(*other, position)));
            }
        }
        let cell = cell_of(track);
        let at = self.address(line, position);
        let (cell, at) = match (cell.is_empty(), qualifier_at) {
            (false, None) => (cell, at),
            (false, Some(of_qualifier)) => {
                part.count(
                    shared.sheet,
                    of_qualifier,
                    beside.qualifier,
                    &Count::Identity,
                );
                (cell, at)
            }
            // The qualifier alone speaks: the result then stands in its cell.
            (true, Some(of_qualifier)) => (CellView::Empty, of_qualifier),
            (true, None) => return,
        };
        let outcome = shared.bench(&mut part.tally, &mut part.recipes).measure(
            &mut self.knowns[known],
            cell,
            at,
            &beside,
        );
        let shown = if cell.is_empty() {
            beside.qualifier
        } else {
            cell
        };
        record(shared, part, at, shown, draft, outcome);
    }

    /// Qualifier cells whose analyte track the plan does not have.
    fn stray_qualifiers(
        &self,
        shared: &Shared<'p>,
        part: &mut Part,
        line: u32,
        cells: &[(usize, CellView<'_>)],
    ) {
        for (track, cell) in cells {
            let stray = matches!(
                self.tracks[*track].role,
                Role::Companion(ValueRole::Qualifier)
            ) && !self.tracks.iter().any(|other| match &other.role {
                Role::Analyte { companions, .. } => {
                    companions.iter().any(|(index, _)| index == track)
                }
                _ => false,
            });
            if stray {
                let at = self.address(line, self.tracks[*track].at);
                part.count(shared.sheet, at, *cell, &Count::Identity);
            }
        }
    }

    /// Lines without any value are no samples; their cells stay visible as unplaced.
    fn line_without_values(
        &self,
        shared: &Shared<'p>,
        part: &mut Part,
        line: u32,
        cells: &[(usize, CellView<'_>)],
    ) {
        let mut told = false;
        for (track, cell) in cells {
            let at = self.address(line, self.tracks[*track].at);
            let count = match &self.tracks[*track].role {
                Role::SetAside => Count::SetAside,
                Role::Unplaced(reason) => Count::Unplaced((*reason).clone()),
                _ => Count::Unplaced("line-without-values".into()),
            };
            if matches!(&count, Count::Unplaced(reason) if &**reason == "line-without-values")
                && !told
            {
                told = true;
                let text = cell.as_text();
                let problem = Problem::Sample {
                    code: "line-without-values",
                    name: &text,
                };
                let subject = Arc::from(self.index.to_string());
                part.tally.add(&shared.spot, at, &subject, None, &problem);
            }
            part.count(shared.sheet, at, *cell, &count);
        }
    }

    /// The sample of the line whose names were just read.
    pub(super) fn draft(
        &mut self,
        shared: &Shared<'p>,
        part: &mut Part,
        line: u32,
        cells: &[(usize, CellView<'_>)],
        names: Names,
    ) -> u32 {
        if let Names::Of(draft) = names {
            return draft;
        }
        if let Some((draft, groups)) = part.drafts.seen(self.names.raw()) {
            for group in groups {
                part.tally.again(*group);
            }
            return draft;
        }
        let (mut own, mut groups) = self.own_identity(shared, part, line, cells);
        let own_name = own.is_named();
        own.complete_from_block(&self.base);
        let names_all =
            self.is_single || self.plan.layout == Layout::ResultsDown && !self.has_names();
        if own_name || (names_all && own.is_named()) {
            let draft = part.drafts.intern(own);
            part.drafts.remember(self.names.raw(), draft, groups);
            return draft;
        }
        let at = self.address(line, self.tracks.first().map_or(0, |track| track.at));
        let subject = Arc::from(self.index.to_string());
        let problem = Problem::Sample {
            code: "sample-nameless",
            name: "",
        };
        if names_all {
            // All rows are of one sample, which nothing names but the place of its table.
            own.line = Some((self.plan.first_line, self.index));
            let draft = part.drafts.intern(own);
            groups.push(part.tally.add(&shared.spot, at, &subject, None, &problem));
            part.drafts.remember(self.names.raw(), draft, groups);
            return draft;
        }
        part.tally.add(&shared.spot, at, &subject, None, &problem);
        own.line = Some((line, self.index));
        part.drafts.intern(own)
    }

    /// What the cells of a line say of its sample, and the groups of the tally that were told on the way.
    pub(super) fn own_identity(
        &self,
        shared: &Shared<'p>,
        part: &mut Part,
        line: u32,
        cells: &[(usize, CellView<'_>)],
    ) -> (Identity, Vec<usize>) {
        let mut own = Identity::default();
        let mut groups = Vec::new();
        let mut parts = DayParts::default();
        for (track, cell) in cells {
            if let Role::Field(field) = self.tracks[*track].role {
                let at = self.address(line, self.tracks[*track].at);
                shared
                    .identity
                    .put(&mut own, field, *cell, at, &mut part.tally, &mut groups);
                parts.take(field, *cell, at);
            }
        }
        if let Some((text, at)) = parts.text().filter(|_| !own.says_when()) {
            let (cell, field) = (CellView::Text(&text), Field::SampledOn);
            (shared.identity).put(&mut own, field, cell, at, &mut part.tally, &mut groups);
        }
        (own, groups)
    }

    /// Whether any track can name a sample.
    fn has_names(&self) -> bool {
        self.tracks.iter().any(|track| {
            matches!(
                track.role,
                Role::Field(
                    Field::SampleRef
                        | Field::LabRef
                        | Field::Source
                        | Field::Site
                        | Field::SampledOn
                        | Field::Occasion
                )
            )
        })
    }
}

/// Counts a result cell and keeps its measurement.
pub(super) fn record(
    shared: &Shared<'_>,
    part: &mut Part,
    at: Address,
    cell: CellView<'_>,
    draft: u32,
    outcome: Outcome,
) {
    match outcome {
        Outcome::Placed {
            value,
            censored,
            recipe,
        } => {
            part.count(shared.sheet, at, cell, &Count::Result);
            part.place(
                shared.sheet,
                at,
                cell,
                draft,
                Placed {
                    value,
                    censored,
                    recipe,
                },
            );
        }
        Outcome::Unplaced(reason) => {
            part.count(shared.sheet, at, cell, &Count::Unplaced(reason.into()));
        }
    }
}
