//! The content of an `.ods`, walked: its tables, their rows, and what each cell says of itself. Form:
//! OpenDocument 1.2 part 1, chapters 9 and 19, as office programs write it: with their prefixes.

use super::displayed::{Displayed, begins_as_number, displayed, raised};
use super::hidden::Hidden;
use super::markup::{Broken, Piece, Pieces, Tag, unescape};
use super::workbook::struck;
use crate::read::bounds::{CELL_CHARS, COLUMNS, ROWS};
use crate::read::cell::Shown;
use std::borrow::Cow;
use std::collections::BTreeSet;

const NO_END: Broken = "a table has no end";

/// A sheet, of which the rows follow.
pub(in crate::read) struct Table {
    pub(super) name: String,
    pub(super) is_hidden: bool,
}

/// One row, or several that are the same.
#[derive(Debug, Default)]
pub(super) struct Row {
    pub(super) repeats: u32,
    pub(super) is_hidden: bool,
    pub(super) cells: Vec<Cell>,
}

/// One cell that is not blank, or several of a row that are the same.
#[derive(Debug)]
pub(super) struct Cell {
    pub(super) column: u32,
    pub(super) repeats: u32,
    pub(super) found: Found,
    pub(super) shown: Shown,
    pub(super) has_formula: bool,
}

#[derive(Debug, PartialEq)]
pub(super) enum Found {
    Empty,
    Text(String),
    Number(f64),
    /// Of ISO 8601.
    Time(String),
    Bool(bool),
    Unreadable(&'static str),
}

impl Found {
    fn struck(self) -> Self {
        let text = match self {
            Self::Text(text) | Self::Time(text) => text,
            Self::Number(number) => number.to_string(),
            Self::Bool(truth) => truth.to_string(),
            found @ (Self::Empty | Self::Unreadable(_)) => return found,
        };
        Self::Text(struck(&text))
    }
}

/// Walks the content: table by table, and within each row by row.
pub(super) struct Tables<'x> {
    pieces: Pieces<'x>,
    in_body: bool,
    in_table: bool,
    /// The style whose properties stand here.
    style: Cow<'x, str>,
    /// Styles of tables that are hidden, and of text that is raised.
    hidden_tables: BTreeSet<Cow<'x, str>>,
    /// Columns of the table so far.
    columns: u32,
    /// Columns that the table hides, and what of its rows its reader adds.
    pub(super) hidden: Hidden,
    raised: BTreeSet<Cow<'x, str>>,
    /// Styles of cells and of text that strike it out.
    struck: BTreeSet<Cow<'x, str>>,
}

impl<'x> Tables<'x> {
    pub(super) fn of(content: &'x str) -> Self {
        Self {
            pieces: Pieces::of(content),
            in_body: false,
            in_table: false,
            style: Cow::default(),
            hidden_tables: BTreeSet::new(),
            columns: 0,
            hidden: Hidden::default(),
            raised: BTreeSet::new(),
            struck: BTreeSet::new(),
        }
    }

    /// The next sheet. Fails when a table before it has no end.
    pub(super) fn next(&mut self) -> Result<Option<Table>, Broken> {
        while self.in_table {
            // Rows that nobody asked for.
            self.next_row()?;
        }
        while let Some(piece) = self.pieces.next() {
            let tag = match piece? {
                Piece::Open(tag) => tag,
                Piece::Close("office:spreadsheet") => {
                    self.in_body = false;
                    continue;
                }
                _ => continue,
            };
            match tag.name {
                "office:spreadsheet" => self.in_body = !tag.is_empty,
                "table:table" if self.in_body => {
                    self.in_table = !tag.is_empty;
                    self.columns = 0;
                    self.hidden = Hidden::default();
                    return self.table(&tag).map(Some);
                }
                // What a program keeps beside the sheets: changes, results of other files.
                _ if self.in_body => self.pass(&tag)?,
                "style:style" => self.style = value(&tag, "style:name")?.unwrap_or_default(),
                "style:table-properties" if tag.attribute("table:display") == Some("false") => {
                    self.hidden_tables.insert(self.style.clone());
                }
                "style:text-properties" if is_striking(&tag) => {
                    self.struck.insert(self.style.clone());
                }
                "style:text-properties"
                    if (tag.attribute("style:text-position")).is_some_and(|at| {
                        at.starts_with("super") || at.starts_with(char::is_numeric)
                    }) =>
                {
                    self.raised.insert(self.style.clone());
                }
                _ => (),
            }
        }
        match self.in_body {
            true => Err(NO_END),
            false => Ok(None),
        }
    }

    fn table(&self, tag: &Tag<'x>) -> Result<Table, Broken> {
        let style = value(tag, "table:style-name")?;
        Ok(Table {
            name: value(tag, "table:name")?.unwrap_or_default().into_owned(),
            is_hidden: style.is_some_and(|style| self.hidden_tables.contains(&style)),
        })
    }

    /// The next row of the table; `None` at its end.
    pub(super) fn next_row(&mut self) -> Result<Option<Row>, Broken> {
        while self.in_table {
            match self.piece()? {
                Piece::Close("table:table") => self.in_table = false,
                Piece::Open(tag) => match tag.name {
                    "table:table-row" => return self.row(&tag).map(Some),
                    "table:table-column" => self.column(&tag)?,
                    // Rows and columns stand in these too.
                    "table:table-row-group"
                    | "table:table-header-rows"
                    | "table:table-rows"
                    | "table:table-column-group"
                    | "table:table-header-columns"
                    | "table:table-columns" => (),
                    _ => self.pass(&tag)?,
                },
                _ => (),
            }
        }
        Ok(None)
    }

    fn column(&mut self, tag: &Tag<'x>) -> Result<(), Broken> {
        let first = self.columns;
        let repeats = repeats(tag, "table:number-columns-repeated")?;
        self.columns = first.saturating_add(repeats).min(COLUMNS);
        if is_hidden(tag) && first < self.columns {
            self.hidden.columns(first, self.columns - 1);
        }
        self.pass(tag)
    }

    fn row(&mut self, tag: &Tag<'x>) -> Result<Row, Broken> {
        let mut row = Row {
            repeats: repeats(tag, "table:number-rows-repeated")?,
            is_hidden: is_hidden(tag),
            cells: Vec::new(),
        };
        if tag.is_empty {
            return Ok(row);
        }
        let mut column = 0_u32;
        loop {
            match self.piece()? {
                Piece::Close("table:table-row") => return Ok(row),
                Piece::Close(_) => return Err(NO_END),
                Piece::Open(tag) => match tag.name {
                    "table:table-cell" | "table:covered-table-cell" => {
                        let repeats = repeats(&tag, "table:number-columns-repeated")?;
                        let cell = self.cell(&tag, column, repeats)?;
                        if cell.has_formula || cell.found != Found::Empty {
                            row.cells.push(cell);
                        }
                        column = column.saturating_add(repeats).min(COLUMNS);
                    }
                    _ => self.pass(&tag)?,
                },
                _ => (),
            }
        }
    }

    fn cell(&mut self, tag: &Tag<'x>, column: u32, repeats: u32) -> Result<Cell, Broken> {
        let mut stated = Stated::default();
        for (name, text) in tag.attributes() {
            let to = match name {
                "office:value" => &mut stated.number,
                "office:date-value" | "office:time-value" => &mut stated.time,
                "office:boolean-value" => &mut stated.truth,
                "office:string-value" => &mut stated.text,
                "office:value-type" => &mut stated.kind,
                "calcext:value-type" => {
                    stated.is_error = text == "error";
                    continue;
                }
                "table:style-name" => {
                    stated.is_struck = self.struck.contains(&unescape(text)?);
                    continue;
                }
                "table:formula" => {
                    stated.has_formula = !text.is_empty();
                    continue;
                }
                _ => continue,
            };
            *to = Some(unescape(text)?);
        }
        let paragraphs = match tag.is_empty {
            true => Paragraphs::default(),
            false => self.paragraphs()?,
        };
        let has_formula = stated.has_formula;
        let is_struck = stated.is_struck || paragraphs.is_struck;
        let (found, shown) = match stated.found(paragraphs) {
            (found, _) if is_struck => (found.struck(), Shown::Plain),
            found => found,
        };
        Ok(Cell {
            column,
            repeats,
            found,
            shown,
            has_formula,
        })
    }

    /// What stands in a cell, up to its end.
    fn paragraphs(&mut self) -> Result<Paragraphs, Broken> {
        let mut all = Paragraphs::default();
        loop {
            match self.piece()? {
                Piece::Close("table:table-cell" | "table:covered-table-cell") => return Ok(all),
                Piece::Close(_) => return Err(NO_END),
                Piece::Open(tag) => match tag.name {
                    "text:p" | "text:h" => {
                        if all.has_any {
                            all.text.push('\n');
                        }
                        all.has_any = true;
                        if !tag.is_empty {
                            self.paragraph(&mut all)?;
                        }
                    }
                    "table:table" => {
                        all.has_table = true;
                        self.pass(&tag)?;
                    }
                    _ => self.pass(&tag)?,
                },
                _ => (),
            }
        }
    }

    /// The text of a paragraph, up to its end.
    fn paragraph(&mut self, all: &mut Paragraphs) -> Result<(), Broken> {
        // Elements that are begun, and for each whether its text is raised.
        let mut begun: Vec<bool> = Vec::new();
        loop {
            let is_raised = begun.last().copied().unwrap_or_default();
            match self.piece()? {
                Piece::Text(text) => all.add(&unescape(text)?, is_raised),
                Piece::Verbatim(text) => all.add(text, is_raised),
                Piece::Close(_) => {
                    if begun.pop().is_none() {
                        return Ok(());
                    }
                }
                Piece::Open(tag) => match tag.name {
                    "office:annotation" | "text:note" | "text:ruby-text" => self.pass(&tag)?,
                    name => {
                        match name {
                            "text:s" => {
                                let spaces = tag.attribute("text:c").map_or(Ok(1), str::parse);
                                let spaces = spaces.unwrap_or(0).min(CELL_CHARS);
                                all.add(&" ".repeat(spaces), false);
                            }
                            "text:tab" => all.add("\t", false),
                            "text:line-break" => all.add("\n", false),
                            _ => (),
                        }
                        if !tag.is_empty {
                            let style = value(&tag, "text:style-name")?;
                            let is_of = |styles: &BTreeSet<_>| {
                                style.as_ref().is_some_and(|style| styles.contains(style))
                            };
                            all.is_struck |= is_of(&self.struck);
                            begun.push(is_raised || is_of(&self.raised));
                        }
                    }
                },
            }
        }
    }

    /// Passes over an element that was opened, with all that stands in it.
    fn pass(&mut self, tag: &Tag<'x>) -> Result<(), Broken> {
        let mut begun = u64::from(!tag.is_empty);
        while begun > 0 {
            match self.piece()? {
                Piece::Open(tag) => begun += u64::from(!tag.is_empty),
                Piece::Close(_) => begun -= 1,
                _ => (),
            }
        }
        Ok(())
    }

    fn piece(&mut self) -> Result<Piece<'x>, Broken> {
        self.pieces.next().unwrap_or(Err(NO_END))
    }
}

/// What a cell says of itself.
#[derive(Default)]
struct Stated<'x> {
    kind: Option<Cow<'x, str>>,
    number: Option<Cow<'x, str>>,
    time: Option<Cow<'x, str>>,
    truth: Option<Cow<'x, str>>,
    text: Option<Cow<'x, str>>,
    is_error: bool,
    has_formula: bool,
    is_struck: bool,
}

impl Stated<'_> {
    /// What the cell holds, and how it is shown: `paragraphs` are what a reader sees.
    fn found(self, paragraphs: Paragraphs) -> (Found, Shown) {
        if paragraphs.has_table {
            return (Found::Unreadable("a table within a cell"), Shown::Plain);
        }
        let kind = self.kind.as_deref().unwrap_or_default();
        let found = match kind {
            "float" | "percentage" | "currency" if let Some(number) = &self.number => {
                let Ok(number) = number.trim().parse() else {
                    return (Found::Unreadable("its value is no number"), Shown::Plain);
                };
                let text = paragraphs.has_any.then(|| paragraphs.shown());
                return match displayed(number, text.as_deref(), kind == "percentage") {
                    Displayed::Number(shown) => (Found::Number(number), shown),
                    Displayed::Words(words) => (Found::Text(words), Shown::Plain),
                };
            }
            "date" | "time" if let Some(time) = self.time => Found::Time(time.into_owned()),
            "boolean" if let Some(truth) = &self.truth => {
                Found::Bool(truth.eq_ignore_ascii_case("true"))
            }
            _ => match self.text {
                Some(text) if !(self.is_error && text.is_empty()) => Found::Text(text.into_owned()),
                _ => Found::Text(paragraphs.shown()),
            },
        };
        match found {
            Found::Text(text) if text.trim().is_empty() => (Found::Empty, Shown::Plain),
            found => (found, Shown::Plain),
        }
    }
}

/// The paragraphs of a cell.
#[derive(Default)]
struct Paragraphs {
    /// With line ends between them.
    text: String,
    /// The same with raised digits as such, where there are any.
    raised: Option<String>,
    has_any: bool,
    has_table: bool,
    /// All of it, or a part.
    is_struck: bool,
}

impl Paragraphs {
    fn add(&mut self, text: &str, is_raised: bool) {
        if is_raised && self.raised.is_none() {
            self.raised = Some(self.text.clone());
        }
        if let Some(with) = &mut self.raised {
            with.push_str(&if is_raised {
                raised(text)
            } else {
                text.to_owned()
            });
        }
        self.text.push_str(text);
    }

    /// What a reader sees.
    fn shown(self) -> String {
        match self.raised {
            Some(raised) if begins_as_number(&self.text) => raised,
            _ => self.text,
        }
    }
}

/// Whether the properties of a text strike it out.
fn is_striking(tag: &Tag<'_>) -> bool {
    [
        "style:text-line-through-style",
        "style:text-line-through-type",
    ]
    .iter()
    .any(|name| tag.attribute(name).is_some_and(|how| how != "none"))
}

/// Of a row or a column: hidden, or filtered out.
fn is_hidden(tag: &Tag<'_>) -> bool {
    matches!(
        tag.attribute("table:visibility"),
        Some("collapse" | "filter")
    )
}

/// The value of an attribute.
fn value<'x>(tag: &Tag<'x>, name: &str) -> Result<Option<Cow<'x, str>>, Broken> {
    tag.attribute(name).map(unescape).transpose()
}

/// How often a row or a cell stands there; more often than a sheet has rows is as often as that.
fn repeats(tag: &Tag<'_>, name: &str) -> Result<u32, Broken> {
    let Some(text) = value(tag, name)? else {
        return Ok(1);
    };
    let number: u64 = text.trim().parse().map_err(|_| "a repeat is no number")?;
    Ok(u32::try_from(number).unwrap_or(u32::MAX).clamp(1, ROWS + 1))
}
