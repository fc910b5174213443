//! Lines that carry a sample for each group of their tracks.

use super::block::{BlockRun, LineCells, Role, TrackRun};
use super::identity::Identity;
use super::runner::{Part, Shared};
use crate::map::{BlockPlan, ValueRole};

/// The groups of a block's tracks.
pub(super) struct Groups {
    /// The group of each track, by its index.
    of_track: Vec<Option<usize>>,
    /// What the heading of each group says of its samples; empty where a line carries one sample.
    bases: Vec<Identity>,
}

impl Groups {
    pub(super) fn new(plan: &BlockPlan, tracks: &[TrackRun<'_>], bases: Vec<Identity>) -> Self {
        let group_of = |track: &TrackRun<'_>| {
            (plan.groups.iter()).position(|group| group.tracks.contains(&track.at))
        };
        let of_track = if bases.is_empty() {
            Vec::new()
        } else {
            tracks.iter().map(group_of).collect()
        };
        Self { of_track, bases }
    }

    pub(super) const fn is_empty(&self) -> bool {
        self.bases.is_empty()
    }

    fn of(&self, track: usize) -> Option<usize> {
        self.of_track.get(track).copied().flatten()
    }
}

/// The samples of a line, as drafts.
pub(super) enum LineDrafts {
    One(u32),
    /// By group; `None` where the line has no value of it. Last the sample of what is in no group.
    Groups(Vec<Option<u32>>),
}

impl LineDrafts {
    pub(super) fn of(&self, groups: &Groups, track: usize) -> Option<u32> {
        match self {
            Self::One(draft) => Some(*draft),
            Self::Groups(drafts) => {
                let group = groups.of(track).unwrap_or(groups.bases.len());
                drafts.get(group).copied().flatten()
            }
        }
    }
}

impl<'p> BlockRun<'p> {
    /// A draft for each group that has a value in the line.
    pub(super) fn drafts_of_groups(
        &self,
        shared: &Shared<'p>,
        part: &mut Part,
        line: u32,
        (cells, named): (LineCells<'_, '_>, LineCells<'_, '_>),
    ) -> LineDrafts {
        let (own, _) = self.own_identity(shared, part, line, named);
        let has = |wanted: usize| cells.iter().any(|(track, _)| *track == wanted);
        // An analyte's value, or the qualifier that stands in its place.
        let gives = |track: usize| match &self.tracks[track].role {
            Role::Analyte { companions, .. } => {
                let of_value = |(index, role): &(usize, ValueRole)| {
                    *role == ValueRole::Qualifier && has(*index)
                };
                has(track) || companions.iter().any(of_value)
            }
            _ => false,
        };
        let none = Identity::default();
        let bases = (self.groups.bases.iter().enumerate()).map(|(group, base)| (Some(group), base));
        let drafts = bases.chain([(None, &none)]).map(|(group, base)| {
            let has_value =
                (0..self.tracks.len()).any(|track| self.groups.of(track) == group && gives(track));
            has_value.then(|| {
                let mut identity = base.clone();
                identity.complete_from(&own);
                identity.complete_from_block(&self.base);
                // The group's name is that of all its lines. Blocks have the lower numbers.
                if !own.is_named() && !self.is_single {
                    let group = group.map_or(0, |group| group as u32 + 1) << 16;
                    identity.line = Some((line, self.index | group));
                }
                part.drafts.intern(identity)
            })
        });
        LineDrafts::Groups(drafts.collect())
    }
}
