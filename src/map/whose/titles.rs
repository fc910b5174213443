//! Titles: texts above a table. They name the site or the source of its samples, or say when they were taken.

use super::title_days::{Speaks, TitleDay, day_in};
use crate::finding::{Finding, Severity};
use crate::locate::{Block, Layout, Pair};
use crate::map::findings::finding;
use crate::map::heads::resolve::Context;
use crate::map::left_out::whole::analytes_of;
use crate::map::plan::{BlockPlan, Fact, LineRole, SheetPlan, Source};
use crate::place::{Address, Area, Areas};
use crate::read::{CellView, Grid};
use crate::reading::{DateFault, DateOrder, DateReading, read_date};
use crate::vocabulary::Field;
use regex::Regex;
use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::LazyLock;

/// How far above a table its title can stand.
const FARTHEST_TITLE: u32 = 12;
/// How far above a table a title still speaks of that table alone.
pub(in crate::map) const NEAREST_TITLE: u32 = 3;

pub(in crate::map) const DAY_FROM_TITLE: &str = "day-from-title";

static PAGE: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(r"(?i)^\W*(?:page|pag|pág|página|pagina|seite|blatt|sheet|side|sida|sivu|strona|str|sayfa|стр)\W*\d+(?:\W+(?:\pL+\W*)?\d+)?\W*$")
        .expect("a valid pattern")
});

/// Texts above a table are titles; the one directly above names the site when a sheet stacks tables, or
/// the source when the lines of the table are dates. A day in them is that of the samples, where these have
/// none of their own and it is of nothing else.
pub(in crate::map) fn titles(
    context: &Context<'_>,
    grid: &Grid,
    blocks: &[Block],
    pairs: &[Pair],
    plan: &mut SheetPlan,
    findings: &mut Vec<Finding>,
) {
    let tables: Vec<usize> = (0..blocks.len())
        .filter(|i| blocks[*i].layout != Layout::Form)
        .collect();
    let sheet = Sheet {
        grid,
        pairs,
        values: pairs.iter().map(|p| p.value).collect(),
        tables: tables.iter().map(|i| blocks[*i].area).collect(),
        bottoms: tables.iter().map(|i| blocks[*i].area.bottom).collect(),
    };
    let (over, own): (Vec<_>, Vec<_>) = (blocks.iter())
        .map(|block| sheet.titles_over(plan, block.area))
        .unzip();
    let outside =
        |at: &Address| !sheet.tables.contain(*at) && plan.identity.binary_search(at).is_err();
    let labels = pairs.iter().filter(|p| p.label != p.value).map(|p| p.label);
    plan.titles = (tables.iter().flat_map(|i| over[*i].iter().copied()))
        .chain(labels.filter(outside))
        .collect();
    let text = |at: Address| match grid.view(at) {
        CellView::Text(text) => text,
        _ => "",
    };
    let mut identity = BTreeSet::new();
    let own_days: Vec<TitleDay<'_>> = (tables.iter())
        .filter_map(|i| own[*i].and_then(|at| day_in(text(at))))
        .collect();
    let tell_apart = tables.len() > 1
        && own_days.len() == tables.len()
        && own_days.iter().any(|day| day.text != own_days[0].text);
    for ((block, over), located) in plan.blocks.iter_mut().zip(&over).zip(blocks) {
        // Of a long text not all lines are here, and the next day may stand between the others.
        if block.says(&[Field::SampledOn])
            || block.unseen.is_some()
            || is_parted(grid, block, located.area, over)
        {
            continue;
        }
        let days = over.iter().filter_map(|at| Some((*at, day_in(text(*at))?)));
        if let Some((at, day)) = day_of(block, grid, days.collect(), tell_apart) {
            say_day(context, block, at, &day, None, findings);
            identity.insert(at);
        }
    }
    // One title for each of several tables of the same analytes: it tells them apart, so it is identity. Over
    // tables of other analytes each ("Cations", "Anions") it is none.
    let own_titles: Vec<(usize, Address)> = (tables.iter())
        .filter_map(|i| own[*i].map(|at| (*i, at)))
        .collect();
    let differ = (own_titles.iter()).any(|(_, at)| text(*at) != text(own_titles[0].1));
    let of_tables = own_titles.len() == tables.len() && differ && !measure_apart(&plan.blocks);
    for (i, at) in own_titles {
        let Some(block) = plan.blocks.get_mut(i) else {
            continue;
        };
        // Over lines that only days tell apart it is the source.
        let fields = [Field::Site, Field::Source];
        let field = fields[usize::from(block.is_dated_only() || block.says(&fields[..1]))];
        let from = match day_in(text(at)) {
            Some(day) => day.name.map(|name| Source::Part(at, name.into())),
            None => Some(Source::Cell(at)),
        };
        if (of_tables || tables.len() == 1 && block.is_course())
            && !block.says(&[field])
            && let Some(from) = from
        {
            block.facts.push(Fact { field, from });
            identity.insert(at);
        }
    }
    plan.titles.sort_unstable();
    plan.titles.dedup();
    plan.titles.retain(|title| !identity.contains(title));
    plan.identity.extend(identity);
    plan.identity.sort_unstable();
}

/// A sheet whose titles are looked for.
struct Sheet<'a> {
    grid: &'a Grid,
    /// In the order of their labels.
    pairs: &'a [Pair],
    /// Where values of pairs stand.
    values: BTreeSet<Address>,
    tables: Areas,
    /// The last rows of tables.
    bottoms: BTreeSet<u32>,
}

impl Sheet<'_> {
    /// The titles over a block, the nearest first, from the table above on; and the one directly above it, alone in
    /// its row, that is no label and no number of a page.
    fn titles_over(&self, plan: &SheetPlan, area: Area) -> (Vec<Address>, Option<Address>) {
        let above = self.bottoms.range(..area.top).next_back();
        let first = (area.top.saturating_sub(FARTHEST_TITLE)).max(above.map_or(0, |row| row + 1));
        let mut over = Vec::new();
        let mut nearest = None;
        for row in (first..area.top).rev() {
            for (col, cell) in self.grid.row(row) {
                let at = Address::new(row, *col);
                if !matches!(cell.view(), CellView::Text(_))
                    || self.tables.contain(at)
                    || plan.identity.binary_search(&at).is_ok()
                    || self.values.contains(&at)
                {
                    continue;
                }
                over.push(at);
                if self.grid.stretch(row, area.left, area.right).len() == 1
                    && (area.left..=area.right).contains(col)
                    && nearest.is_none()
                    && area.top - row <= NEAREST_TITLE
                    && (self.pairs.binary_search_by_key(&at, |p| p.label)).is_err()
                    && !is_page(&cell.as_text())
                {
                    nearest = Some(at);
                }
            }
        }
        (over, nearest)
    }
}

/// The title that says when the samples of a block were taken: in so many words; or as the only day over it that
/// is of no paper, where the title speaks of water, or where each of several tables has a day of its own.
fn day_of<'t>(
    block: &BlockPlan,
    grid: &Grid,
    days: Vec<(Address, TitleDay<'t>)>,
    tell_apart: bool,
) -> Option<(Address, TitleDay<'t>)> {
    let of_others = (block.facts.iter())
        .filter(|fact| matches!(fact.field, Field::ReceivedOn | Field::ReportedOn))
        .map(|fact| read(&fact.from.text(grid)));
    let of_titles = (days.iter())
        .filter(|(_, day)| day.speaks == Speaks::OfAnother)
        .map(|(_, day)| read(day.text));
    let of_others: Vec<_> = of_others.chain(of_titles).collect();
    let is_said = |day: &TitleDay<'_>| match day.speaks {
        Speaks::OfSampling => true,
        Speaks::OfWater => !of_others.contains(&read(day.text)),
        Speaks::Barely => tell_apart && !of_others.contains(&read(day.text)),
        Speaks::OfAnother => false,
    };
    let best = (days.iter().filter(|(_, day)| is_said(day)))
        .map(|(_, day)| day.speaks)
        .min()?;
    let mut said = days.into_iter().filter(|(_, day)| day.speaks == best);
    let first = said.next()?;
    said.all(|(_, other)| read(other.text) == read(first.1.text))
        .then_some(first)
}

fn read(day: &str) -> Result<DateReading, DateFault> {
    read_date(day, DateOrder::Undecided)
}

/// Days in texts that stand alone in their rows shortly above a table: they tell the order of day and month.
pub(in crate::map) fn days_over(grid: &Grid, area: Area) -> impl Iterator<Item = (Address, &str)> {
    lone_texts(grid, area.top.saturating_sub(FARTHEST_TITLE)..area.top)
        .filter_map(|(at, text)| Some((at, day_in(text)?.text)))
}

/// Whether a day stands alone between the lines of a table, or another title before its headings come again: what
/// the title above says holds for the lines before only.
fn is_parted(grid: &Grid, block: &BlockPlan, area: Area, over: &[Address]) -> bool {
    let is_repeated = |text: &str| {
        is_page(text) || (over.iter()).any(|title| grid.view(*title).as_text() == text)
    };
    let heads = |row: u32| block.not_samples.get(&row) == Some(&LineRole::Heading);
    lone_texts(grid, area.top..area.bottom.saturating_add(1))
        .any(|(at, text)| day_in(text).is_some() || heads(at.row + 1) && !is_repeated(text))
}

/// Texts alone in their rows.
pub(in crate::map) fn lone_texts(
    grid: &Grid,
    rows: Range<u32>,
) -> impl Iterator<Item = (Address, &str)> {
    (grid.rows_from(rows.start))
        .take_while(move |(row, _)| *row < rows.end)
        .filter_map(|(row, cells)| match cells {
            [(col, cell)] => match cell.view() {
                CellView::Text(text) => Some((Address::new(row, *col), text)),
                _ => None,
            },
            _ => None,
        })
}

/// Gives a block the day of a title, and its name where that is `name`.
pub(super) fn say_day(
    context: &Context<'_>,
    block: &mut BlockPlan,
    at: Address,
    day: &TitleDay<'_>,
    name: Option<Field>,
    findings: &mut Vec<Finding>,
) {
    block.facts.retain(|fact| fact.field != Field::SampledOn);
    let mut say = |field: Field, text: &str| {
        block.facts.push(Fact {
            field,
            from: Source::Part(at, text.into()),
        });
    };
    say(Field::SampledOn, day.text);
    if let (Some(field), Some(text)) = (name, day.name) {
        say(field, text);
    }
    let mut told = finding(
        DAY_FROM_TITLE,
        context.place(at),
        format!(
            "nothing else says when the samples were taken: the day in the title is, '{}'",
            day.text
        ),
        "say it beside the samples, or in a mapping, if they were taken on another day".into(),
    );
    if day.speaks == Speaks::OfSampling {
        told.severity = Severity::Note;
    }
    findings.push(told);
}

/// "Page 2 of 3".
pub(super) fn is_page(text: &str) -> bool {
    PAGE.is_match(text)
}

/// Whether no analyte is measured in two of several tables.
fn measure_apart(blocks: &[BlockPlan]) -> bool {
    let mut seen = BTreeSet::new();
    let mut of_tables = (blocks.iter())
        .map(|block| analytes_of(block).collect::<BTreeSet<_>>())
        .filter(|analytes| !analytes.is_empty())
        .peekable();
    of_tables.peek().is_some() && of_tables.flatten().all(|analyte| seen.insert(analyte))
}
