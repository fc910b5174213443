//! Tables with samples in lines: `samples-down`, and `samples-across` seen from the side.

use super::groups::{give_fractions, groups, leave_out_others, tell_words};
use super::parted::{Parted, parted};
use crate::finding::Finding;
use crate::locate::{Layout, Look};
use crate::map::expressed::evidence::{self, View};
use crate::map::expressed::units::{group_units, units_of_lines};
use crate::map::findings::finding;
use crate::map::heads::columns::{missing_numbers, numbers};
use crate::map::heads::companion::{COMPANION_OF_WHAT, tell_unowned_signs};
use crate::map::heads::days::{Days, Timing};
use crate::map::heads::head::{Head, heads};
use crate::map::heads::limits::unit_in;
use crate::map::heads::marks::{is_of_controls, tells_apart, unit_lines};
use crate::map::heads::resolve::{Beside, Context, resolve};
use crate::map::heads::tracks::{Draft, draft, rules_for};
use crate::map::heads::twins;
use crate::map::left_out::doubt::no_results;
use crate::map::left_out::lines::{GUIDELINE, Lines, Shape, lines};
use crate::map::left_out::medium::{OTHER_MEDIUM, is_other_medium};
use crate::map::left_out::unseen::other_table;
use crate::map::plan::{
    AnalyteTrack, BlockPlan, Decimal, LineRole, Locale, Track, TrackRole, Unseen, ValueRole,
};
use crate::map::rules::{SheetRule, StatedUnit};
use crate::map::sight::Sight;
use crate::map::whose::apart::tell_apart;
use crate::map::whose::carried::carried;
use crate::map::whose::names::settle_identity;
use crate::place::Address;
use crate::read::CellView;
use crate::vocabulary::{Field, Meaning};
use std::collections::BTreeSet;
use std::sync::Arc;

/// What a table tells about the whole file.
#[derive(Debug, Default)]
pub(in crate::map) struct Told {
    pub(in crate::map) missing_numbers: Vec<f64>,
    /// Negative numbers under analytes that cannot be negative: all, those that repeat the limit of their
    /// track, and in how many tracks.
    pub(in crate::map) negatives: usize,
    pub(in crate::map) negatives_at_limit: usize,
    pub(in crate::map) tracks_at_limit: usize,
    pub(in crate::map) first_negative: Option<Address>,
}

/// A table whose heads are read and whose locale is not yet decided.
pub(in crate::map) struct Table<'a, 'v> {
    pub(in crate::map) sight: Sight<'a, 'v>,
    /// Heading lines, with those that stand among or behind the samples.
    heading_lines: Vec<u32>,
    pub(super) heads: Vec<(u32, Head)>,
    lines: Vec<u32>,
    /// Lines that give the same results in another unit than the line taken.
    repeated: Vec<u32>,
}

impl<'a, 'v> Table<'a, 'v> {
    pub(in crate::map) fn read(mut sight: Sight<'a, 'v>, storage: &'a mut Vec<u32>) -> Self {
        let all = sight.lines();
        let extra = if sight.across {
            unit_lines(&sight, &all)
        } else {
            Vec::new()
        };
        storage.clear();
        storage.extend(sight.heading_lines.iter().copied().chain(extra));
        storage.sort_unstable();
        storage.dedup();
        let heading_lines: &'a [u32] = storage;
        sight.heading_lines = heading_lines;
        let lines: Vec<u32> = all
            .into_iter()
            .filter(|l| heading_lines.binary_search(l).is_err())
            .collect();
        let mut tracks: BTreeSet<u32> = BTreeSet::new();
        for line in heading_lines.iter().chain(&lines) {
            tracks.extend(sight.cells(*line).map(|(track, _)| track));
        }
        let mut heads = heads(&sight, tracks);
        group_units(&sight, &mut heads, &lines);
        let repeated = units_of_lines(&sight, &mut heads, &lines);
        Self {
            heading_lines: heading_lines.to_vec(),
            heads,
            lines,
            repeated,
            sight,
        }
    }

    /// Cells under analytes, for the decision on the decimal sign. Limits of a law beside the samples are
    /// no results and no evidence.
    pub(in crate::map) fn value_cells(&self) -> Vec<(Address, CellView<'a>)> {
        let is_analyte =
            |head: &Head| matches!(head.meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_));
        let guideline = |line: u32| {
            self.sight.across
                && self
                    .heads
                    .iter()
                    .filter(|(_, head)| !is_analyte(head))
                    .any(|(track, _)| {
                        self.sight.look(line, *track) == Look::Field(Field::Guideline)
                    })
        };
        let lines: Vec<u32> = self
            .lines
            .iter()
            .copied()
            .filter(|line| !guideline(*line))
            .collect();
        self.heads
            .iter()
            .filter(|(_, head)| is_analyte(head))
            .flat_map(|(track, _)| {
                lines.iter().map(|line| {
                    (
                        self.sight.address(*line, *track),
                        self.sight.cell(*line, *track),
                    )
                })
            })
            .collect()
    }

    /// Cells under anything else.
    pub(in crate::map) fn other_cells(&self) -> impl Iterator<Item = (Address, CellView<'a>)> + '_ {
        self.heads
            .iter()
            .filter(|(_, head)| {
                !matches!(head.meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_))
            })
            .flat_map(|(track, _)| {
                self.lines.iter().map(|line| {
                    (
                        self.sight.address(*line, *track),
                        self.sight.cell(*line, *track),
                    )
                })
            })
    }

    pub(in crate::map) fn plan(
        mut self,
        context: &Context<'_>,
        rule: Option<&SheetRule>,
        locale: Locale,
        findings: &mut Vec<Finding>,
    ) -> (BlockPlan, Told) {
        let decimal = locale.decimal;
        let sheet = context.sheet.clone();
        let mut drafts = draft(&self.sight, &self.heads, context.rules, &sheet, &self.lines);
        settle_identity(&self.sight, &self.heads, &mut drafts, &self.lines);
        let parted = parted(&self.sight, &self.heads, &self.lines);
        if let Some(parted) = &parted {
            parted.draft(&self.heads, &mut drafts);
        }
        tell_unowned_signs(
            &self.sight,
            context,
            &self.heads,
            &drafts,
            &self.lines,
            findings,
        );
        let values: BTreeSet<u32> = self
            .heads
            .iter()
            .zip(&drafts)
            .filter(|(_, d)| matches!(d, Draft::Analyte | Draft::Role(TrackRole::Companion { .. })))
            .map(|((t, _), _)| *t)
            .collect();
        let identity: BTreeSet<u32> = self
            .heads
            .iter()
            .zip(&drafts)
            .filter(|(_, d)| matches!(d, Draft::Role(TrackRole::Field(f)) if tells_apart(*f)))
            .map(|((t, _), _)| *t)
            .collect();
        let controls = is_of_controls(&self.heads, &sheet);
        let ph = context.vocabulary.find("ph");
        let shape = Shape {
            ph: self.heads.iter().find_map(|(track, head)| {
                matches!(&head.meaning, Meaning::Analyte(id) if Some(*id) == ph).then_some(*track)
            }),
            values: &values,
            identity: &identity,
            controls,
        };
        let mut lines = lines(&self.sight, &shape, &self.lines, rule);
        lines.leave_out(
            &self.repeated,
            &LineRole::SetAside(twins::SAME_RESULT.into()),
        );
        self.leave_out_other_media(&drafts, &mut lines);
        if let Some(parted) = &parted {
            lines.leave_out(&[parted.line], &LineRole::Heading);
        }
        let doubted = self.doubt(context, &mut lines, decimal, findings);
        tell_apart(
            &self.sight,
            context,
            &self.heads,
            &mut drafts,
            &lines.samples,
            findings,
        );
        self.units_of_limit_lines(context, &lines);
        self.tell_lines(context, &lines, controls, findings);
        let day = self.heads.iter().zip(&drafts).find_map(|((at, _), draft)| {
            matches!(draft, Draft::Role(TrackRole::Field(Field::SampledOn))).then_some(*at)
        });
        let days = Days::of(&self.sight, &lines.samples, day, locale.dates);
        let resolved = self.resolve(context, &drafts, &lines, &days, decimal, findings);
        let mut told = Told::default();
        let mut tracks = self.tracks(
            context, drafts, resolved, &lines, decimal, &mut told, findings,
        );
        give_fractions(&self.sight, &mut tracks);
        leave_out_others(&self.sight, &mut tracks);
        let mut unseen = Unseen::of(&self.sight, &shape, &lines, rule);
        if let Some(reason) = doubted {
            unseen.none_is_sample = Some(reason);
        }
        let carried = carried(
            &self.sight,
            context,
            &tracks,
            &lines.samples,
            Field::SampledOn,
            findings,
        );
        let groups = match &parted {
            Some(parted) => parted.groups(&self.sight, &mut tracks),
            None => groups(&self.sight, &tracks),
        };
        tell_words(&self.sight, context, &groups, findings);
        let plan = BlockPlan {
            layout: if self.sight.across {
                Layout::SamplesAcross
            } else {
                Layout::SamplesDown
            },
            across: self.sight.across,
            first_line: self.lines.first().copied().unwrap_or(self.sight.first_line),
            last_line: self.sight.last_line,
            not_samples: self.not_samples(&lines),
            headings: self.headings(parted.as_ref()),
            carried,
            groups,
            tracks,
            facts: Vec::new(),
            form: Vec::new(),
            limit_unit: None,
            fractions: std::collections::BTreeMap::new(),
            unseen: Some(unseen),
        };
        (plan, told)
    }

    /// "DET. LIMIT MG/L": the unit of a whole line of limits.
    fn units_of_limit_lines(&mut self, context: &Context<'_>, lines: &Lines) {
        for (_, _, text) in &lines.limits {
            let Some((unit, _, text)) = unit_in(context.vocabulary, text) else {
                continue;
            };
            let unit = (unit, text);
            for (_, head) in &mut self.heads {
                head.limit_unit.get_or_insert_with(|| unit.clone());
            }
        }
    }

    /// Lines whose own cell says that they are of soil, sludge or plants.
    fn leave_out_other_media(&self, drafts: &[Draft], lines: &mut Lines) {
        let tracks = self.heads.iter().zip(drafts);
        for ((track, _), draft) in tracks {
            if !matches!(draft, Draft::Role(TrackRole::Field(Field::SourceKind))) {
                continue;
            }
            let text = |line: u32| self.sight.cell(line, *track).as_text();
            let others = lines.samples.iter().copied();
            let others: Vec<u32> = others.filter(|l| is_other_medium(&text(*l))).collect();
            lines.leave_out(&others, &LineRole::Unplaced(OTHER_MEDIUM.into()));
        }
    }

    /// A table that is headed as results are and holds something else is not placed; the reason, if so.
    fn doubt(
        &self,
        context: &Context<'_>,
        lines: &mut Lines,
        decimal: Decimal,
        findings: &mut Vec<Finding>,
    ) -> Option<Arc<str>> {
        let why = no_results(&self.sight, &self.heads, &lines.samples, decimal)?;
        let reason: Arc<str> = "no-results".into();
        let samples = lines.samples.clone();
        lines.leave_out(&samples, &LineRole::Unplaced(reason.clone()));
        let at = self.lines.first().copied().unwrap_or(self.sight.first_line);
        findings.push(
            finding(
                "table-of-other-figures",
                context.place(self.sight.address(at, self.sight.left)),
                format!("no table of results: {why}"),
                "name the sheet and its layout in a mapping if its lines are samples".into(),
            )
            .for_cells(samples.len() as u64),
        );
        Some(reason)
    }

    fn tell_lines(
        &self,
        context: &Context<'_>,
        lines: &Lines,
        controls: bool,
        findings: &mut Vec<Finding>,
    ) {
        if let Some(line) = self.lines.first().filter(|_| controls) {
            findings.push(finding(
                "table-of-controls",
                context.place(self.sight.address(*line, self.sight.left)),
                "a table of quality control, not of samples".into(),
                "name the sheet in a mapping if its lines are samples after all".into(),
            ));
        }
        if let Some(line) = lines.other_table {
            let behind = self.lines.iter().filter(|l| **l > line);
            findings.push(
                other_table(context.place(self.sight.address(line, self.sight.left)))
                    .for_cells(behind.map(|l| self.sight.cells(*l).count() as u64).sum()),
            );
        }
        for line in &lines.nameless {
            let at = self
                .sight
                .cells(*line)
                .next()
                .map_or(self.sight.left, |(track, _)| track);
            findings.push(
                finding(
                    "line-nameless",
                    context.place(self.sight.address(*line, at)),
                    "a line of values without any name: a sum or a limit, not placed".into(),
                    "if it is a sample, give it a name in the report".into(),
                )
                .for_cells(self.sight.cells(*line).count() as u64),
            );
        }
    }

    /// Each analyte track resolved; `Err` holds the reason for `unplaced`.
    fn resolve(
        &self,
        context: &Context<'_>,
        drafts: &[Draft],
        lines: &Lines,
        days: &Days,
        decimal: Decimal,
        findings: &mut Vec<Finding>,
    ) -> Vec<Option<Result<AnalyteTrack, Arc<str>>>> {
        let mut resolved: Vec<Option<Result<AnalyteTrack, Arc<str>>>> = Vec::new();
        for (i, (track, head)) in self.heads.iter().enumerate() {
            if !matches!(drafts[i], Draft::Analyte) || !self.has_cells(*track, &lines.samples) {
                // A label without values (a group heading among the labels) asks for nothing.
                resolved.push(matches!(drafts[i], Draft::Analyte).then(|| Err("no-values".into())));
                continue;
            }
            let unit = self.unit_beside(context, drafts, *track, lines);
            let mut fit = rules_for(context.rules, &context.sheet, head, *track)
                .filter(|rule| days.timing(rule) != Timing::Outside);
            let rule = fit.next();
            if let Some(rule) = rule
                && days.timing(rule) == Timing::Straddled
            {
                findings.extend(straddled(context, head));
                resolved.push(Some(Err("mapping-dates-straddled".into())));
                continue;
            }
            let beside = Beside {
                rule,
                unit: unit.as_ref(),
            };
            resolved.push(Some(resolve(context, head, beside, findings)));
        }
        let guidelines: Vec<u32> = lines
            .roles
            .iter()
            .filter(|(_, role)| matches!(role, LineRole::SetAside(why) if &**why == GUIDELINE))
            .map(|(line, _)| *line)
            .collect();
        let view = View {
            sight: &self.sight,
            context,
            heads: &self.heads,
            lines: &lines.samples,
            guidelines: &guidelines,
            decimal,
        };
        evidence::settle(&view, &mut resolved, findings);
        twins::states_apart(context, &self.heads, &mut resolved, findings);
        twins::settle(
            &self.sight,
            context,
            &self.heads,
            &mut resolved,
            &lines.samples,
            decimal,
            findings,
        );
        resolved
    }

    fn has_cells(&self, track: u32, lines: &[u32]) -> bool {
        lines
            .iter()
            .any(|line| !self.sight.cell(*line, track).is_empty())
    }

    /// The unit of a unit track beside the values, when all its cells say the same.
    fn unit_beside(
        &self,
        context: &Context<'_>,
        drafts: &[Draft],
        track: u32,
        lines: &Lines,
    ) -> Option<StatedUnit> {
        let companion = self
            .heads
            .iter()
            .zip(drafts)
            .find_map(|((t, _), d)| match d {
                Draft::Role(TrackRole::Companion {
                    of,
                    role: ValueRole::Unit,
                }) if *of == track => Some(*t),
                _ => None,
            })?;
        let texts: BTreeSet<String> = lines
            .samples
            .iter()
            .map(|line| {
                self.sight
                    .cell(*line, companion)
                    .as_text()
                    .trim()
                    .to_owned()
            })
            .filter(|t| !t.is_empty())
            .collect();
        let text = texts.first().filter(|_| texts.len() == 1)?;
        let (unit, basis) = context.vocabulary.read_unit(text)?;
        Some(StatedUnit {
            unit,
            text: text.as_str().into(),
            basis,
        })
    }

    #[allow(clippy::too_many_arguments)] // one pass over the tracks; bundling would only rename them
    fn tracks(
        &self,
        context: &Context<'_>,
        drafts: Vec<Draft>,
        resolved: Vec<Option<Result<AnalyteTrack, Arc<str>>>>,
        lines: &Lines,
        decimal: Decimal,
        told: &mut Told,
        findings: &mut Vec<Finding>,
    ) -> Vec<Track> {
        let mut tracks = Vec::new();
        let mut columns = Vec::new();
        for (((at, head), draft), resolved) in self.heads.iter().zip(drafts).zip(resolved) {
            let role = match (draft, resolved) {
                (_, Some(Ok(mut track))) => {
                    self.limits(context, *at, head, lines, decimal, &mut track);
                    let column = numbers(&self.sight, &lines.samples, *at, decimal);
                    self.count_negatives(context, *at, &track, &column, told);
                    let refuted = self.refutes_unit(context, head, &track, &column, findings);
                    columns.push(column);
                    if refuted {
                        TrackRole::Unplaced("unit-unlikely".into())
                    } else {
                        TrackRole::Analyte(Box::new(track))
                    }
                }
                (_, Some(Err(reason))) if &*reason == twins::SAME_RESULT => {
                    TrackRole::SetAside(reason)
                }
                (_, Some(Err(reason))) => TrackRole::Unplaced(reason),
                (Draft::Role(role), None) => role,
                (Draft::Unknown | Draft::Analyte, None) => {
                    self.unknown(context, *at, head, lines, findings)
                }
            };
            tracks.push(Track { at: *at, role });
        }
        told.missing_numbers = missing_numbers(&columns);
        tracks
    }

    /// Lines that are no samples, with the heading lines that stand among the samples.
    fn not_samples(&self, lines: &Lines) -> std::collections::BTreeMap<u32, LineRole> {
        let mut roles = lines.roles.clone();
        let first = self.lines.first().copied().unwrap_or(u32::MAX);
        for line in self.heading_lines.iter().filter(|l| **l >= first) {
            roles.insert(*line, LineRole::Heading);
        }
        self.companion_lines(lines, &mut roles);
        roles
    }

    /// Qualifiers and uncertainties beside each sample's column.
    fn companion_lines(
        &self,
        lines: &Lines,
        roles: &mut std::collections::BTreeMap<u32, LineRole>,
    ) {
        if !self.sight.across {
            return;
        }
        let mut sample = None;
        for line in &lines.samples {
            let role = self
                .sight
                .cells(*line)
                .filter(|(t, _)| {
                    self.heads.iter().any(|(at, h)| {
                        at == t && !matches!(h.meaning, Meaning::Analyte(_) | Meaning::Ambiguous(_))
                    })
                })
                .find_map(|(_, cell)| match self.sight.reader.look(cell.view()) {
                    Look::Field(Field::Qualifier) => Some(ValueRole::Qualifier),
                    Look::Field(Field::Uncertainty) => Some(ValueRole::Uncertainty),
                    _ => None,
                });
            match (role, sample) {
                (Some(role), Some(of)) => {
                    roles.insert(*line, LineRole::Companion { of, role });
                }
                (Some(_), None) => {
                    roles.insert(*line, LineRole::Unplaced(COMPANION_OF_WHAT.into()));
                }
                (None, _) => sample = Some(*line),
            }
        }
    }

    fn headings(&self, parted: Option<&Parted>) -> Vec<Address> {
        let is_no_sample = |line: &u32| self.lines.binary_search(line).is_err();
        let parted = parted.map(|parted| parted.line).filter(is_no_sample);
        let mut cells: Vec<Address> = (self.heading_lines.iter().chain(&parted))
            .flat_map(|line| {
                self.sight
                    .cells(*line)
                    .map(|(track, _)| self.sight.address(*line, track))
            })
            .collect();
        cells.sort_unstable();
        cells.dedup();
        cells
    }
}

/// A rule with dates that holds for some of the samples only, or whose samples do not say their day.
fn straddled(context: &Context<'_>, head: &Head) -> Option<Finding> {
    let label = head.label.as_deref().unwrap_or_default();
    Some(finding(
        "mapping-dates-straddled",
        context.place(head.at?),
        format!(
            "what the mapping says of '{label}' holds for some of these samples only, or they have no day"
        ),
        "split the report, or give the rule other dates".into(),
    ))
}
