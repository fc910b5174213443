//! The parts of a report become one extract: which drafts of all its sheets are one sample, their keys,
//! and measurements that point to them.

use super::findings::{Problem, words};
use super::identity::Identity;
use super::recipe::RecipeBook;
use super::repeat;
use super::runner::Part;
use super::sheets;
use crate::finding::Finding;
use crate::map::Plan;
use crate::place::Place;
use crate::read::Report;
use crate::record::{Extract, RecipeId, SampleId};
use crate::vocabulary::{AnalyteId, Field, Vocabulary};
use hashbrown::HashMap;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::Arc;

/// Puts the parts of all sheets together, in the order of the sheets. What the report and the plan
/// have to say goes along where this `is_first` of the report.
pub(super) fn assemble(
    report: &Report,
    plan: &Plan,
    vocabulary: &Vocabulary,
    parts: Vec<Part>,
    is_first: bool,
) -> Extract {
    let mut extract = Extract {
        file: report.file.clone(),
        sha256: report.sha256.clone(),
        ..Extract::default()
    };
    if is_first {
        extract.findings.extend(report.findings.iter().cloned());
        extract.findings.extend(plan.findings.iter().cloned());
    }
    let mut recipes = RecipeBook::default();
    let mut drafts: Vec<Draft> = Vec::new();
    for (sheet, mut part) in parts.into_iter().enumerate() {
        let first_draft = drafts.len();
        drafts.extend(part.drafts.identities.into_iter().map(|identity| Draft {
            sheet,
            identity,
            is_used: false,
        }));
        let moved: Vec<RecipeId> = part
            .recipes
            .into_recipes()
            .into_iter()
            .map(|recipe| recipes.intern(recipe))
            .collect();
        for measurement in &mut part.measurements {
            let draft = first_draft + measurement.sample.0 as usize;
            drafts[draft].is_used = true;
            measurement.sample = SampleId(u32::try_from(draft).expect("fewer samples than cells"));
            measurement.recipe = moved[measurement.recipe.0 as usize];
        }
        if sheet == 0 {
            // A long text has one sheet: its many results stay where they are.
            extract.measurements = part.measurements;
        } else {
            extract.measurements.extend(part.measurements);
        }
        extract.findings.extend(part.tally.into_findings());
        extract.unplaced.extend(part.unplaced);
        extract.sheets.push(part.account);
    }
    extract.recipes = recipes.into_recipes();
    if !report.partial {
        sheets::tell_apart(&mut extract, &mut drafts);
    }
    tell_samples_apart(&mut extract, &drafts, plan.join_sheets, !report.partial);
    let repeats = repeat::findings(&extract, vocabulary);
    extract.findings.extend(repeats);
    extract
}

pub(super) struct Draft {
    pub(super) sheet: usize,
    pub(super) identity: Identity,
    /// At least one measurement points to it; a draft without any is no sample.
    is_used: bool,
}

impl Draft {
    /// Whether a name, and not only a day, says whose its results are.
    pub(super) fn has_a_name(&self) -> bool {
        let names = [Field::SampleRef, Field::LabRef, Field::Source, Field::Site];
        self.is_used && names.iter().any(|name| self.identity.text(*name).is_some())
    }
}

/// Joins drafts, makes the samples, and lets the measurements point to them.
fn tell_samples_apart(extract: &mut Extract, drafts: &[Draft], join_sheets: bool, is_whole: bool) {
    let mut sets = Sets::new(drafts.len());
    let shared_numbers = join_by_lab_number(drafts, join_sheets, &mut sets);
    if join_sheets && extract.sheets.len() > 1 {
        join_by_reference(drafts, &mut sets);
    }
    // Drafts of one set, in their order; a draft without results completes the others of its set.
    let mut members: Vec<(u32, u32)> = (0..drafts.len())
        .map(|draft| (short(sets.root(draft)), short(draft)))
        .collect();
    members.sort_unstable();
    let mut wholes: Vec<Whole> = Vec::new();
    let mut first_of: HashMap<Arc<str>, usize> = HashMap::new();
    // Those that share a key, by the first of them.
    let mut shared: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut from = 0;
    for of_set in members.chunk_by(|a, b| a.0 == b.0) {
        let stretch = from..from + of_set.len();
        from = stretch.end;
        if !of_set
            .iter()
            .any(|(_, draft)| drafts[*draft as usize].is_used)
        {
            continue;
        }
        let sheet = drafts[of_set[0].1 as usize].sheet;
        let origin = (&*extract.sha256, &*extract.sheets[sheet].sheet);
        let key =
            described(drafts, of_set).key(|number| !shared_numbers.contains_key(number), origin);
        match first_of.get(&key) {
            Some(first) => {
                (shared.entry(*first).or_insert_with(|| vec![*first])).push(wholes.len())
            }
            None => {
                first_of.insert(key.clone(), wholes.len());
            }
        }
        wholes.push(Whole { key, stretch });
    }
    drop(first_of);
    let doubles: BTreeSet<usize> = shared.values().flatten().copied().collect();
    let namesakes = Namesakes {
        drafts,
        members: &members,
        is_whole,
    };
    let contradicting = namesakes.contradicting(extract, &mut wholes, shared);
    let mut sample_of: Vec<Option<SampleId>> = vec![None; drafts.len()];
    let mut by_key: HashMap<Arc<str>, SampleId> = HashMap::new();
    extract.samples.reserve_exact(wholes.len());
    for (index, Whole { key, stretch }) in wholes.into_iter().enumerate() {
        let of_set = &members[stretch];
        let identity = described(drafts, of_set);
        let place = || {
            let sheet = drafts[of_set[0].1 as usize].sheet;
            Place::sheet(&extract.file, &extract.sheets[sheet].sheet)
        };
        let known = by_key.get(&key).copied();
        let id = known.unwrap_or_else(|| short_id(extract.samples.len()));
        // One key for two descriptions: they differ in what does not make the key.
        if contradicting.contains(&index) {
            let told = sample_finding("identity-contradicts", &identity.name(), place());
            extract.findings.push(told.of_sample(&key));
        }
        if known.is_none() {
            if let Some(name) = out_of_order(&identity) {
                let told = sample_finding("dates-out-of-order", &name, place());
                extract.findings.push(told.of_sample(&key));
            }
            extract.samples.push(identity.into_sample(key.clone()));
            if doubles.contains(&index) {
                by_key.insert(key, id);
            }
        }
        for (_, draft) in of_set {
            sample_of[*draft as usize] = Some(id);
        }
    }
    for measurement in &mut extract.measurements {
        measurement.sample = sample_of[measurement.sample.0 as usize]
            .expect("a draft with a measurement is used, so it has a sample");
    }
    for (number, sheet) in shared_numbers {
        let place = Place::sheet(&extract.file, &extract.sheets[sheet].sheet.clone());
        extract
            .findings
            .push(sample_finding("lab-reference-shared", &number, place));
    }
}

fn short(index: usize) -> u32 {
    u32::try_from(index).expect("fewer samples than cells")
}

fn short_id(index: usize) -> SampleId {
    SampleId(short(index))
}

/// A sample of the report: its key, and the stretch of members that describe it. What they say is put together
/// when it is asked for: a report can have a million samples.
struct Whole {
    key: Arc<str>,
    stretch: Range<usize>,
}

/// What the drafts of a set say together.
fn described(drafts: &[Draft], of_set: &[(u32, u32)]) -> Identity {
    let of = |member: &(u32, u32)| &drafts[member.1 as usize].identity;
    let (first, others) = of_set.split_first().expect("a set has a member");
    let mut identity = of(first).clone();
    for member in others {
        identity.complete_from(of(member));
    }
    identity
}

/// Descriptions that share a key.
struct Namesakes<'a> {
    drafts: &'a [Draft],
    members: &'a [(u32, u32)],
    is_whole: bool,
}

impl Namesakes<'_> {
    /// Of several descriptions with one key those that contradict the ones before. Where they measure the same
    /// in a report seen whole, they are of several samples ("Angle Farm" in two districts): each gets a key of
    /// all that it says.
    fn contradicting(
        &self,
        extract: &mut Extract,
        wholes: &mut [Whole],
        shared: BTreeMap<usize, Vec<usize>>,
    ) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        let mut of_draft: HashMap<u32, BTreeSet<AnalyteId>> = HashMap::new();
        for group in shared.into_values() {
            let identities: Vec<Identity> = (group.iter())
                .map(|index| described(self.drafts, &self.members[wholes[*index].stretch.clone()]))
                .collect();
            let mut known = Identity::default();
            let mut differ = Vec::new();
            for (index, identity) in group.iter().zip(&identities) {
                if !known.agrees_with(identity) {
                    differ.push(*index);
                }
                known.gather(identity);
            }
            if differ.is_empty() {
                continue;
            }
            if of_draft.is_empty() && self.is_whole {
                for measurement in &extract.measurements {
                    let analyte = extract.recipe(measurement.recipe).analyte;
                    let analytes = of_draft.entry(measurement.sample.0).or_default();
                    analytes.insert(analyte);
                }
            }
            let mut analytes = group.iter().flat_map(|index| {
                let members = &self.members[wholes[*index].stretch.clone()];
                let of_drafts = members.iter().filter_map(|(_, draft)| of_draft.get(draft));
                of_drafts.flatten().copied().collect::<BTreeSet<_>>()
            });
            let mut seen = BTreeSet::new();
            let measure_the_same = analytes.any(|analyte| !seen.insert(analyte));
            if !measure_the_same {
                found.extend(differ);
                continue;
            }
            let sheet = self.drafts[self.members[wholes[group[0]].stretch.start].1 as usize].sheet;
            let place = Place::sheet(&extract.file, &extract.sheets[sheet].sheet);
            let told = sample_finding("namesakes", &identities[0].name(), place);
            extract.findings.push(told);
            for (index, identity) in group.into_iter().zip(&identities) {
                let whole = &mut wholes[index];
                whole.key = identity.key_of_all(&whole.key);
            }
        }
        found
    }
}

fn sample_finding(code: &'static str, name: &str, place: Place) -> Finding {
    let (severity, message, help) = words(&Problem::Sample { code, name });
    Finding::new(severity, code, place, message, help)
}

/// "sampled 2026-05-14, received 2026-05-12".
fn out_of_order(identity: &Identity) -> Option<String> {
    let [sampled, received, reported] = identity.days();
    let sampled = sampled?;
    if let Some(received) = received
        && sampled > received
    {
        return Some(format!("sampled {sampled}, received {received}"));
    }
    reported
        .filter(|reported| sampled > *reported)
        .map(|reported| format!("sampled {sampled}, reported {reported}"))
}

/// Drafts with one laboratory number are one sample where nothing that they say differs; across sheets
/// only if `join_sheets`, except where the laboratory is known too. Gives the numbers that samples
/// share which differ, with the sheet: such a number is no key.
fn join_by_lab_number(
    drafts: &[Draft],
    join_sheets: bool,
    sets: &mut Sets,
) -> BTreeMap<String, usize> {
    let mut shared = BTreeMap::new();
    for (number, group) in alike(drafts, Field::LabRef) {
        if all_agree(drafts, &group) {
            for pair in group.windows(2) {
                let (a, b) = (&drafts[pair[0]], &drafts[pair[1]]);
                let lab_known =
                    a.identity.text(Field::Lab).is_some() && b.identity.text(Field::Lab).is_some();
                if join_sheets || a.sheet == b.sheet || lab_known {
                    sets.join(pair[0], pair[1]);
                }
            }
        } else {
            shared.insert(number, drafts[group[0]].sheet);
        }
    }
    shared
}

/// Drafts with the same text in a field, spelling aside, where there are several: the folded text, and
/// the drafts in their order.
fn alike(drafts: &[Draft], field: Field) -> Vec<(String, Vec<usize>)> {
    let mut folded: Vec<(String, usize)> = drafts
        .iter()
        .enumerate()
        .filter_map(|(i, draft)| Some((draft.identity.folded(field)?, i)))
        .collect();
    folded.sort_unstable();
    folded
        .chunk_by_mut(|a, b| a.0 == b.0)
        .filter(|group| group.len() > 1)
        .map(|group| {
            let of_group = group.iter().map(|(_, i)| *i).collect();
            (std::mem::take(&mut group[0].0), of_group)
        })
        .collect()
}

/// Drafts of several sheets with one reference (and one date, where both have one) are one sample, if
/// the reference stands for one sample on each sheet and nothing that they say differs.
fn join_by_reference(drafts: &[Draft], sets: &mut Sets) {
    for (_, group) in &alike(drafts, Field::SampleRef) {
        let dates: std::collections::BTreeSet<_> = group
            .iter()
            .filter_map(|i| drafts[*i].identity.sampled_on())
            .collect();
        if dates.len() <= 1 {
            join_if_unique(drafts, group, sets);
            continue;
        }
        // Several dates: a draft without one could belong to any of them.
        for date in dates {
            let of_date: Vec<usize> = group
                .iter()
                .copied()
                .filter(|i| drafts[*i].identity.sampled_on() == Some(date))
                .collect();
            join_if_unique(drafts, &of_date, sets);
        }
    }
}

fn join_if_unique(drafts: &[Draft], group: &[usize], sets: &mut Sets) {
    let mut of_sheet: BTreeMap<usize, usize> = BTreeMap::new();
    for i in group {
        let root = sets.root(*i);
        if *of_sheet.entry(drafts[*i].sheet).or_insert(root) != root {
            return;
        }
    }
    if of_sheet.len() > 1 && all_agree(drafts, group) {
        for pair in group.windows(2) {
            sets.join(pair[0], pair[1]);
        }
    }
}

/// Each with the sum of all before it: as agreement of every pair, in one pass.
fn all_agree(drafts: &[Draft], group: &[usize]) -> bool {
    let mut whole = Identity::default();
    group.iter().all(|i| {
        let identity = &drafts[*i].identity;
        let agrees = whole.agrees_with(identity);
        whole.gather(identity);
        agrees
    })
}

/// Disjoint sets; the root of a set is its first member.
struct Sets {
    parent: Vec<usize>,
}

impl Sets {
    fn new(count: usize) -> Self {
        Self {
            parent: (0..count).collect(),
        }
    }

    fn root(&mut self, mut i: usize) -> usize {
        while self.parent[i] != i {
            self.parent[i] = self.parent[self.parent[i]];
            i = self.parent[i];
        }
        i
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        let (first, second) = (a.min(b), a.max(b));
        self.parent[second] = first;
    }
}
