//! Lines of a long text that were not among those from which its plan was made. Nearly all are samples
//! like the shown ones; the others (statistics, controls, headings of the next page, another table) are
//! told here, in the words in which the shown lines are judged.

use super::controls::{Names, is_spike, no_sample};
use super::lines::{LIMIT, Lines, NAMELESS, QUALITY_CONTROL, Said, Shape, are_headings, said};
use super::medium::{OTHER_MEDIUM, is_other_medium};
use super::withdrawn::{WITHDRAWN, takes_back, yes_takes_back};
use crate::finding::Finding;
use crate::locate::{Layout, Look, Reader, is_number_like, states_identity};
use crate::map::expressed::units::{says_unit, unit_behind_words};
use crate::map::findings::finding;
use crate::map::heads::marks::tells_apart;
use crate::map::plan::{BlockPlan, LineRole, TrackRole, Unseen};
use crate::map::rules::{SheetRule, line_set_aside};
use crate::map::sight::Sight;
use crate::place::Place;
use crate::read::{CellView, Grid};
use crate::text::fold;
use crate::vocabulary::{Field, HeadingContext, Vocabulary};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::iter;
use std::sync::Arc;

/// What a line is that the plan was not made from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LineMeaning {
    /// A sample, or a result of one.
    Sample,
    /// The table's own headings or units again.
    Heading,
    SetAside(Arc<str>),
    Unplaced(Arc<str>),
    /// Other headings or units: from here on the tracks mean something else.
    OtherTable,
}

/// Reason of the cells behind the headings of another table.
pub const OTHER_TABLE: &str = "other-table";

/// Told at the line with the other headings or units.
pub(in crate::map) fn other_table(place: Place) -> Finding {
    finding(
        OTHER_TABLE,
        place,
        "other headings begin here: nothing below is placed by the headings of the first table"
            .into(),
        "cut the file in two before this line, so that each part has its own headings".into(),
    )
}

impl Unseen {
    /// What the shown lines of a table say of the others.
    pub(in crate::map) fn of(
        sight: &Sight<'_, '_>,
        shape: &Shape<'_>,
        lines: &Lines,
        rule: Option<&SheetRule>,
    ) -> Self {
        let is_named = |line: &u32| {
            let mut tracks = sight.cells(*line).map(|(track, _)| track);
            tracks.any(|track| shape.identity.contains(&track))
        };
        Self {
            none_is_sample: shape.controls.then(|| QUALITY_CONTROL.into()),
            set_aside: rule.map_or_else(Vec::new, |r| r.lines_set_aside.clone()),
            must_be_named: !lines.samples.is_empty() && lines.samples.iter().all(is_named),
        }
    }
}

/// Judges the lines of one block, in their order.
pub struct LineReader<'p> {
    unseen: &'p Unseen,
    layout: Layout,
    reader: Reader<'p>,
    /// By track.
    roles: Vec<Option<&'p TrackRole>>,
    judges_by_names: bool,
    /// The texts over each track, folded.
    headings: BTreeMap<u32, BTreeSet<String>>,
    /// Names of the lines read so far: a spike is told by the sample before it.
    names: Names,
    /// What texts say, by their shape: all digits alike, so that running numbers are read once.
    said: HashMap<Box<str>, Option<Said>>,
    shape: String,
    analytes: usize,
}

/// One cell of a line: its track and what it holds.
type LineCell<'c> = (u32, CellView<'c>);

impl<'p> LineReader<'p> {
    /// `grid` holds the headings. `None` where all lines of the block were shown.
    pub fn new(block: &'p BlockPlan, grid: &Grid, vocabulary: &'p Vocabulary) -> Option<Self> {
        let unseen = block.unseen.as_ref().filter(|_| !block.across)?;
        let mut headings: BTreeMap<u32, BTreeSet<String>> = BTreeMap::new();
        let mut texts = BTreeSet::new();
        for at in &block.headings {
            if let CellView::Text(text) = grid.view(*at) {
                headings.entry(at.col).or_default().insert(fold(text));
                texts.insert(text.trim());
            }
        }
        let context: HeadingContext = vocabulary.heading_context(texts);
        let width = block.tracks.iter().map(|track| track.at + 1).max();
        let mut roles = vec![None; width.map_or(0, |width| width as usize)];
        for track in &block.tracks {
            roles[track.at as usize] = Some(&track.role);
        }
        Some(Self {
            unseen,
            layout: block.layout,
            reader: Reader::new(vocabulary, context),
            judges_by_names: judges_by_names(block),
            roles,
            headings,
            names: Names::new(),
            said: HashMap::new(),
            shape: String::new(),
            analytes: block
                .tracks
                .iter()
                .filter(|t| matches!(t.role, TrackRole::Analyte(_)))
                .count(),
        })
    }

    /// What holds whatever the line's names: to be asked of every line. `None`: the line is to be read.
    pub fn at_once(&self, cells: &[LineCell<'_>]) -> Option<LineMeaning> {
        if let Some(reason) = &self.unseen.none_is_sample {
            return Some(LineMeaning::Unplaced(reason.clone()));
        }
        let texts = cells.iter().map(|(_, cell)| cell.as_text());
        line_set_aside(&self.unseen.set_aside, texts).map(LineMeaning::SetAside)
    }

    /// Whether [`LineReader::at_once`] has anything to say.
    pub const fn judges_every_line(&self) -> bool {
        self.unseen.none_is_sample.is_some() || !self.unseen.set_aside.is_empty()
    }

    /// Whether equal names make equal lines, so that only new names have to be judged.
    pub const fn judges_by_names(&self) -> bool {
        self.judges_by_names
    }

    /// Judges a line. `place` is its first cell.
    pub fn read(
        &mut self,
        cells: &[LineCell<'_>],
        place: &Place,
        findings: &mut Vec<Finding>,
    ) -> LineMeaning {
        if self.repeats_headings(cells) {
            return LineMeaning::Heading;
        }
        if self.heads_another(cells) || self.is_of_another(cells) || self.is_captioned_anew(cells) {
            findings.push(other_table(place.clone()));
            return LineMeaning::OtherTable;
        }
        match self.layout {
            Layout::ResultsDown => self.result_line(cells),
            _ => self.sample_line(cells, place, findings),
        }
    }

    fn role(&self, track: u32) -> Option<&'p TrackRole> {
        self.roles.get(track as usize).copied().flatten()
    }

    fn is_value(&self, track: u32) -> bool {
        matches!(
            self.role(track),
            Some(TrackRole::Analyte(_) | TrackRole::Companion { .. })
        )
    }

    fn field(&self, track: u32) -> Option<Field> {
        match self.role(track) {
            Some(TrackRole::Field(field)) => Some(*field),
            _ => None,
        }
    }

    /// The text of a cell outside the results.
    fn outside_text<'c>(&self, (track, cell): &LineCell<'c>) -> Option<&'c str> {
        match cell {
            CellView::Text(text) if !self.is_value(*track) => Some(text.trim()),
            _ => None,
        }
    }

    fn repeats_headings(&self, cells: &[LineCell<'_>]) -> bool {
        let is_heading = |(track, cell): &LineCell<'_>| {
            self.headings
                .get(track)
                .is_some_and(|texts| texts.contains(&fold(&cell.as_text())))
        };
        !cells.is_empty() && cells.iter().all(is_heading)
    }

    /// Whether the line heads another table: labels, units or words for columns, and no number, date or
    /// code that begins with a digit, as some cell of a sample has.
    fn heads_another(&self, cells: &[LineCell<'_>]) -> bool {
        if cells.iter().any(|(_, cell)| is_data(*cell)) {
            return false;
        }
        let (mut labels, mut units, mut values) = (0usize, 0usize, 0usize);
        let (mut fields, mut others) = (0usize, 0usize);
        for (track, cell) in cells {
            let look = self.reader.look(*cell);
            let heads_labels = look == Look::Field(Field::Label);
            if heads_labels
                && (self.layout != Layout::ResultsDown || self.field(*track) == Some(Field::Label))
            {
                return true;
            }
            let is_value = self.is_value(*track) || self.field(*track) == Some(Field::Value);
            values += usize::from(is_value);
            others += usize::from(!is_value);
            match look {
                Look::Analyte if is_value => labels += 1,
                Look::Unit if is_value => units += 1,
                Look::Field(Field::Value) => fields += 1,
                Look::Field(_) if !is_value => fields += 1,
                _ => {}
            }
        }
        are_headings(labels, units, values)
            || (fields > 0 && labels + units > 0 && (labels + units) * 2 >= values)
            || (fields > 1 && fields * 2 >= others)
    }

    /// "Client: Thistle" alone in a line: what stands below it is not of the client above.
    fn is_of_another(&self, cells: &[LineCell<'_>]) -> bool {
        let values = || cells.iter().filter(|(track, _)| self.is_value(*track));
        cells.len() <= 2
            && !values().any(|(_, cell)| is_data(*cell))
            && (cells.first())
                .is_some_and(|(_, cell)| states_identity(&self.reader, iter::once(*cell)))
    }

    /// "Major ions in meq/L" alone in a line, where no track is in that unit.
    fn is_captioned_anew(&self, cells: &[LineCell<'_>]) -> bool {
        let vocabulary = self.reader.vocabulary();
        let &[(_, CellView::Text(text))] = cells else {
            return false;
        };
        let Some((unit, ..)) = unit_behind_words(vocabulary, text) else {
            return false;
        };
        let is_in_it = |role: &TrackRole| match role {
            TrackRole::Analyte(track) => {
                (track.unit_text.as_deref()).is_some_and(|text| says_unit(vocabulary, text, &unit))
            }
            _ => false,
        };
        self.layout != Layout::ResultsDown
            && !self.roles.iter().flatten().any(|role| is_in_it(role))
    }

    fn is_taken_back(&self, cells: &[LineCell<'_>]) -> bool {
        cells.iter().any(|(track, cell)| {
            let headings = self.headings.get(track).into_iter().flatten();
            !self.is_value(*track) && yes_takes_back(headings.map(|h| Cow::from(h.as_str())), *cell)
        })
    }

    fn result_line(&self, cells: &[LineCell<'_>]) -> LineMeaning {
        if self.is_taken_back(cells) {
            return LineMeaning::Unplaced(WITHDRAWN.into());
        }
        let names = Names::new();
        for (track, cell) in cells {
            let CellView::Text(text) = cell else { continue };
            let by_name = (self.field(*track)).and_then(|field| no_sample(field, text, &names));
            let role = self.roles.get(*track as usize).copied().flatten();
            if let Some(reason) = by_name.or_else(|| takes_back(role?, text)) {
                return LineMeaning::Unplaced(reason.into());
            }
        }
        LineMeaning::Sample
    }

    /// What a text outside the results says; `None`: nothing against a sample.
    fn said(&mut self, text: &str) -> Option<Said> {
        self.shape.clear();
        self.shape.extend(
            text.chars()
                .map(|c| if c.is_ascii_digit() { '0' } else { c }),
        );
        if let Some(known) = self.said.get(self.shape.as_str()) {
            return known.clone();
        }
        let said = said(&self.reader, false, &self.shape, &Names::new());
        self.said.insert(self.shape.as_str().into(), said.clone());
        said
    }

    fn sample_line(
        &mut self,
        cells: &[LineCell<'_>],
        place: &Place,
        findings: &mut Vec<Finding>,
    ) -> LineMeaning {
        for cell in cells {
            let Some(text) = self.outside_text(cell) else {
                continue;
            };
            match self.said(text) {
                // The limit was not known when the plan was made.
                Some(Said::Limit(_)) => return LineMeaning::Unplaced(LIMIT.into()),
                Some(Said::Role(LineRole::SetAside(reason))) => {
                    return LineMeaning::SetAside(reason);
                }
                Some(Said::Role(LineRole::Unplaced(reason))) => {
                    return LineMeaning::Unplaced(reason);
                }
                Some(Said::Role(_)) => return LineMeaning::Heading,
                None if is_spike(text, &self.names) => {
                    return LineMeaning::Unplaced(QUALITY_CONTROL.into());
                }
                None => {}
            }
        }
        if self.is_taken_back(cells) {
            return LineMeaning::Unplaced(WITHDRAWN.into());
        }
        if self.is_pair(cells) {
            return LineMeaning::Unplaced("outside-tables".into());
        }
        let is_other = |cell: &LineCell<'_>| {
            self.field(cell.0) == Some(Field::SourceKind) && is_other_medium(&cell.1.as_text())
        };
        if cells.iter().any(is_other) {
            return LineMeaning::Unplaced(OTHER_MEDIUM.into());
        }
        let is_named = cells
            .iter()
            .any(|(track, _)| self.field(*track).is_some_and(tells_apart));
        let has_values = cells.iter().any(|(track, _)| self.is_value(*track));
        if self.unseen.must_be_named && !is_named && has_values {
            findings.push(
                finding(
                    "line-nameless",
                    place.clone(),
                    "a line of values without any name: a sum or a limit, not placed".into(),
                    "if it is a sample, give it a name in the report".into(),
                )
                .for_cells(cells.len() as u64),
            );
            return LineMeaning::Unplaced(NAMELESS.into());
        }
        for (track, cell) in cells {
            if let CellView::Text(text) = cell
                && self.field(*track).is_some_and(tells_apart)
            {
                self.names
                    .get_or_insert_with(text.trim(), |name| name.into());
            }
        }
        LineMeaning::Sample
    }

    /// "pH | 7.2" below a table of several analytes: a label with its value, no sample of that name.
    fn is_pair(&self, cells: &[LineCell<'_>]) -> bool {
        let values = cells.iter().filter(|(t, _)| self.is_value(*t)).count();
        values == 1
            && self.analytes > 2
            && cells.iter().any(|(track, cell)| {
                self.field(*track).is_some_and(tells_apart)
                    && self.reader.look(*cell) == Look::Analyte
            })
    }
}

/// See [`LineReader::judges_by_names`].
fn judges_by_names(block: &BlockPlan) -> bool {
    let mut roles = block.tracks.iter().map(|track| &track.role);
    block.layout == Layout::ResultsDown
        && !(roles.clone()).any(|role| matches!(role, TrackRole::Field(Field::SampleRole)))
        && roles.any(|role| matches!(role, TrackRole::Field(field) if field.is_identity()))
}

/// A number, or a date or code without a letter: no heading holds such a cell.
fn is_data(cell: CellView<'_>) -> bool {
    match cell {
        CellView::Empty => false,
        CellView::Text(text) => {
            let text = text.trim();
            let no_letters = !text.contains(char::is_alphabetic);
            (no_letters && text.starts_with(|c: char| c.is_ascii_digit())) || is_number_like(text)
        }
        _ => true,
    }
}
