//! A sheet of an `.xlsx` is looked through in its unfolded text for what the cell reader does not give
//! (merged regions, formulas without a result, cells without addresses), and for values so written that it
//! would take them for others. Far cheaper than parsing the sheet again.

use super::hidden::Hidden;
use super::markup::{attribute, tags};
use super::strings::{self, Raised};
use crate::place::{Address, Area};
use memchr::{memchr, memmem, memrchr};
use std::io::Read;

/// Merged regions that are kept: more than that is no layout of a report.
pub(super) const MERGES: usize = 20_000;

/// What a sheet has beside its cells.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct SheetTraits {
    /// Up to [`MERGES`] of them.
    pub(super) merges: Vec<Area>,
    pub(super) hidden: Hidden,
    pub(super) formulas: u64,
    /// Formulas whose stored result is 0.
    pub(super) zeros: u64,
    /// Formulas without a stored result.
    pub(super) uncalculated: u64,
    /// Cells do not say where they stand: each stands behind the one before it.
    pub(super) has_placeless: bool,
    /// Why the sheet is not to be read: the first value that `calamine` would take for another or pass
    /// over, or what is wrong with the part.
    pub(super) misread: Option<String>,
    /// Texts that stand in the sheet itself.
    pub(super) raised: Raised,
    /// Places where the cells begin.
    beginnings: u64,
}

/// Digits of an index into the table of texts: no table has more texts than these can tell.
const INDEX_DIGITS: usize = 9;

/// Bytes of a misread value that are shown.
const SHOWN: usize = 60;

const WINDOW: usize = 256 << 10;

/// A window that holds no whole cell grows up to this; text of a cell is far shorter.
const LARGEST: usize = 4 << 20;

/// Looks through the text of a sheet, up to `bound` bytes. What it holds is not to be trusted where the
/// package says that it was changed.
pub(super) fn scan(part: impl Read, bound: u64) -> SheetTraits {
    let mut traits = SheetTraits::default();
    let mut part = part.take(bound);
    let mut window: Vec<u8> = Vec::new();
    loop {
        let before = window.len();
        let read = part.by_ref().take(WINDOW as u64).read_to_end(&mut window);
        if let Err(e) = &read {
            traits.misread = Some(format!("its part of the workbook is damaged: {e}"));
        }
        let is_last = !matches!(read, Ok(1..)) || window.len() == before;
        let end = if is_last {
            window.len()
        } else {
            whole(&window)
        };
        traits.look_at(&window[..end]);
        window.drain(..end);
        if is_last {
            return traits;
        }
        if window.len() > LARGEST {
            window.clear();
        }
    }
}

/// Where the last whole cell, or else the last whole tag, ends.
fn whole(window: &[u8]) -> usize {
    match cell_end(window) {
        Some(end) => end,
        // Among cells a tag is not enough: a formula and its result belong together.
        None if memmem::find(window, b"<f").is_some() => 0,
        None => memrchr(b'>', window).map_or(0, |at| at + 1),
    }
}

/// Where the last cell ends, whatever its prefix: `</c>` and `</x:c>`.
fn cell_end(window: &[u8]) -> Option<usize> {
    let ends = memmem::rfind_iter(window, b"c>");
    let mut ends = ends.filter(|at| {
        let tag = memrchr(b'<', &window[..*at]).map_or(&[] as &[u8], |open| &window[open..*at]);
        tag == b"</" || (tag.starts_with(b"</") && tag.ends_with(b":"))
    });
    ends.next().map(|at| at + b"c>".len())
}

impl SheetTraits {
    /// The first of what is written in a way that is not understood is told.
    fn misunderstood(&mut self, what: &str) {
        let reason = || format!("a value is written in a way that is not understood: {what}");
        self.misread.get_or_insert_with(reason);
    }

    fn look_at(&mut self, text: &[u8]) {
        self.formulas_of(text);
        self.cells_of(text);
        self.hidden_in(text);
        self.raised.extend(strings::raised_in(text));
        self.beginnings += tags(text, b"sheetData").count() as u64;
        if self.beginnings > 1 {
            // `calamine` reads the first.
            self.misunderstood("cells that begin twice");
        }
        for tag in tags(text, b"mergeCell") {
            if self.merges.len() <= MERGES
                && let Some(area) = attribute(tag, b"ref").and_then(area)
            {
                self.merges.push(area);
            }
        }
    }

    fn cells_of(&mut self, text: &[u8]) {
        let mut cells = tags(text, b"c").peekable();
        let offset = |tag: &[u8]| tag.as_ptr().addr() - text.as_ptr().addr();
        // Where the cell of a value begins; none where a value stands in no cell.
        let (mut cell, mut cell_at): (&[u8], usize) = (b"", 0);
        let mut last = 0;
        for tag in tags(text, b"v") {
            let start = offset(tag) + tag.len() + 1;
            while let Some(next) = cells.next_if(|next| offset(next) < start) {
                self.has_placeless |=
                    !next.starts_with(b" r=\"") && attribute(next, b"r").is_none();
                (cell, cell_at) = (next, offset(next));
            }
            // One cell has one value.
            let is_second = last > cell_at;
            last = start;
            if tag.ends_with(b"/") || self.misread.is_some() {
                continue;
            }
            let value = &text[start..];
            let end = memchr(b'<', value).unwrap_or(value.len());
            let (value, after) = value.split_at(end);
            let ends_there = after.starts_with(b"</") && !is_second;
            let is_plain = ends_there
                && (1..=INDEX_DIGITS).contains(&value.len())
                && value.iter().all(u8::is_ascii_digit)
                // Text that stands in the sheet: `t="inlineStr"`.
                && memchr(b'i', cell).is_none();
            if !is_plain && !is_read(value, ends_there, after, cell) {
                let whole = match memmem::find(after, b"</v") {
                    Some(at) if !ends_there => &after[..at],
                    _ => b"",
                };
                let shown = [value, whole].concat();
                let shown = String::from_utf8_lossy(&shown[..shown.len().min(SHOWN)]);
                self.misunderstood(&format!("'{}'", shown.trim()));
            }
        }
        self.has_placeless |= cells.any(|cell| attribute(cell, b"r").is_none());
    }

    fn hidden_in(&mut self, text: &[u8]) {
        if memmem::find(text, b"hidden").is_none() {
            return;
        }
        let number = |tag, name: &[u8]| {
            let digits = std::str::from_utf8(attribute(tag, name)?).ok()?;
            digits.parse::<u32>().ok()?.checked_sub(1)
        };
        let is_hidden = |tag: &&[u8]| matches!(attribute(tag, b"hidden"), Some(b"1" | b"true"));
        for tag in tags(text, b"row").filter(is_hidden) {
            if let Some(row) = number(tag, b"r") {
                self.hidden.rows(row, row);
            }
        }
        for tag in tags(text, b"col").filter(is_hidden) {
            if let (Some(first), Some(last)) = (number(tag, b"min"), number(tag, b"max")) {
                self.hidden.columns(first, last);
            }
        }
    }

    fn formulas_of(&mut self, text: &[u8]) {
        for tag in tags(text, b"f") {
            self.formulas += 1;
            let offset = tag.as_ptr().addr() - text.as_ptr().addr();
            let before = memrchr(b'<', &text[..offset]).map_or(0, |at| at);
            if closes_value(&text[..before]) {
                // `calamine` takes the last of what stands in a cell, and a formula for nothing.
                self.misunderstood("a result that stands before its formula");
            }
            let mut rest = &text[offset + tag.len() + 1..];
            if !tag.ends_with(b"/") {
                let Some(close) = memmem::find(rest, b"</")
                    .and_then(|at| memchr(b'>', &rest[at..]).map(|len| at + len + 1))
                else {
                    continue;
                };
                rest = &rest[close..];
            }
            match result(rest) {
                Some(b"0") => self.zeros += 1,
                Some(b"") | None => self.uncalculated += 1,
                Some(_) => (),
            }
        }
    }
}

/// Whether `calamine` reads what stands in a `<v>`. Of a number, an index into the table of texts, a truth
/// and an error it takes the first piece only, and an index that is none for the first; in other texts it
/// passes over sections; where the text should stand in the sheet, over the value, and over a text before
/// it. `after`: what follows the value. `cell`: the attributes of the cell.
fn is_read(value: &[u8], ends_there: bool, after: &[u8], cell: &[u8]) -> bool {
    match attribute(cell, b"t") {
        Some(b"inlineStr" | b"is") => {
            let behind = memchr(b'>', after).map_or(&[] as &[u8], |at| &after[at + 1..]);
            value.is_empty() || next_element(behind) == Some(b"is")
        }
        Some(b"s") => {
            ends_there && value.len() <= INDEX_DIGITS && value.iter().all(u8::is_ascii_digit)
        }
        Some(b"n" | b"b" | b"e") | None => ends_there && memchr(b'&', value).is_none(),
        Some(_) => ends_there,
    }
}

/// The name of the start tag that comes next, without its prefix.
fn next_element(text: &[u8]) -> Option<&[u8]> {
    let tag = text.trim_ascii_start().strip_prefix(b"<")?;
    let end = tag.iter().position(|b| b" \t\r\n/>".contains(b))?;
    tag[..end].rsplit(|b| *b == b':').next()
}

/// Whether a value or a text of a cell ends where `text` does.
fn closes_value(text: &[u8]) -> bool {
    let text = text.trim_ascii_end();
    let tag = memrchr(b'<', text).map_or(&[] as &[u8], |at| &text[at..]);
    let name = tag
        .strip_prefix(b"</")
        .and_then(|name| name.strip_suffix(b">"));
    name.and_then(|name| name.trim_ascii_end().rsplit(|b| *b == b':').next())
        .is_some_and(|name| matches!(name, b"v" | b"is"))
}

/// The text of the `<v>` that follows; `None` when the cell ends without one.
fn result(rest: &[u8]) -> Option<&[u8]> {
    let rest = rest.trim_ascii_start().strip_prefix(b"<")?;
    let end = memchr(b'>', rest)?;
    let (tag, rest) = (&rest[..end], &rest[end + 1..]);
    let name = tag.rsplit(|b| *b == b':').next().map_or(tag, |name| name);
    if !name.starts_with(b"v") {
        return None;
    }
    if tag.ends_with(b"/") {
        return Some(b"");
    }
    Some(rest[..memchr(b'<', rest)?].trim_ascii())
}

fn area(reference: &[u8]) -> Option<Area> {
    let reference = std::str::from_utf8(reference).ok()?;
    let (first, last) = reference.split_once(':').unwrap_or((reference, reference));
    let (first, last) = (Address::parse(first)?, Address::parse(last)?);
    (first.row <= last.row && first.col <= last.col).then_some(Area {
        top: first.row,
        left: first.col,
        bottom: last.row,
        right: last.col,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn traits(xml: &str) -> SheetTraits {
        scan(xml.as_bytes(), u64::MAX)
    }

    #[test]
    fn formulas_are_told_by_their_results() {
        for (name, cell, expected) in [
            ("a result", "<c><f>A1</f><v>5</v></c>", (1, 0, 0)),
            ("zero", "<c><f>A1</f><v>0</v></c>", (1, 1, 0)),
            ("no result", "<c><f>A1</f></c>", (1, 0, 1)),
            ("an empty result", "<c><f>A1</f><v></v></c>", (1, 0, 1)),
            ("a closed result", "<c><f>A1</f><v/></c>", (1, 0, 1)),
            (
                "shared, a result",
                "<c><f t=\"shared\" si=\"0\"/><v>0</v></c>",
                (1, 1, 0),
            ),
            (
                "shared, no result",
                "<c><f t=\"shared\" si=\"0\"/></c>",
                (1, 0, 1),
            ),
            (
                "prefixed",
                "<x:c><x:f>A1</x:f><x:v>0</x:v></x:c>",
                (1, 1, 0),
            ),
            (
                "space between",
                "<c>\n <f>A1</f>\n <v>7</v>\n</c>",
                (1, 0, 0),
            ),
            ("no formula", "<c><v>7</v></c><font/>", (0, 0, 0)),
        ] {
            let found = traits(cell);
            assert_eq!(
                (found.formulas, found.zeros, found.uncalculated),
                expected,
                "{name}"
            );
        }
    }

    #[test]
    fn merged_regions_have_their_corners() {
        let found = traits(
            "<mergeCells count=\"2\"><mergeCell ref=\"A1:C2\"/><mergeCell ref=\"B5\"/><mergeCell ref=\"nonsense\"/></mergeCells>",
        );
        assert_eq!(
            found.merges,
            [
                Area {
                    top: 0,
                    left: 0,
                    bottom: 1,
                    right: 2
                },
                Area {
                    top: 4,
                    left: 1,
                    bottom: 4,
                    right: 1
                }
            ]
        );
    }

    #[test]
    fn err_values_that_would_be_taken_for_others_are_noticed() {
        for (cell, misread) in [
            ("<c r=\"A1\"><v>7.5</v></c>", None),
            ("<c r=\"A1\" t=\"s\"><v>0</v></c>", None),
            (
                "<c r=\"A1\" t=\"str\"><f>A1&amp;A2</f><v>a &lt; b</v></c>",
                None,
            ),
            ("<c r=\"A1\"><v> 7.5\n</v></c>", None),
            ("<c r=\"A1\"><v/></c><c r=\"B1\"><v></v></c>", None),
            ("<c r=\"A1\" t=\"inlineStr\"><is><t>7</t></is></c>", None),
            (
                "<c r=\"A1\"><v>1<!-- x -->2</v></c>",
                Some("'1<!-- x -->2'"),
            ),
            ("<x:c r=\"A1\"><x:v>1&#46;5</x:v></x:c>", Some("'1&#46;5'")),
            (
                "<c r=\"A1\"><v><![CDATA[7.5]]></v></c>",
                Some("'<![CDATA[7.5]]>'"),
            ),
            (
                "<c r=\"A1\" t=\"str\"><v><![CDATA[a]]></v></c>",
                Some("'<![CDATA[a]]>'"),
            ),
            ("<c r=\"A1\" t=\"s\"><v>\n 3\n</v></c>", Some("'3'")),
            ("<c r=\"A1\" t=\"s\"><v>3.0</v></c>", Some("'3.0'")),
            ("<c r=\"A1\" t='s'><v>-1</v></c>", Some("'-1'")),
            ("<c r=\"A1\"><v>7</v><v>8</v></c>", Some("'8'")),
            ("<v>7</v><c r=\"A1\"><v>8</v></c>", None),
            ("<v>7</v><v>8</v>", Some("'8'")),
            (
                "<c r=\"A1\" t=\"s\"><v>1234567890</v></c>",
                Some("'1234567890'"),
            ),
            ("<c r=\"A1\"><v>1234567890</v></c>", None),
            ("<c r=\"A1\" t=\"inlineStr\"><v>80</v></c>", Some("'80'")),
            (
                "<c r=\"A1\" t=\"inlineStr\"><is><t>7</t></is><v>80</v></c>",
                Some("'80'"),
            ),
            (
                "<x:c r=\"A1\" t=\"inlineStr\"><x:v>80</x:v> <x:is/></x:c>",
                None,
            ),
            ("<c r=\"A1\" t=\"inlineStr\"><v/><is/></c>", None),
            (
                "<c r=\"A1\"><v>7</v><f>A2</f></c>",
                Some("a result that stands before its formula"),
            ),
            (
                "<x:c><x:is><x:t>7</x:t></x:is>\n<x:f>A2</x:f></x:c>",
                Some("a result that stands before its formula"),
            ),
            ("<sheetData/><sheetData>", Some("cells that begin twice")),
        ] {
            let expected = misread.map(|value| {
                format!("a value is written in a way that is not understood: {value}")
            });
            assert_eq!(traits(cell).misread, expected, "{cell}");
        }
    }

    #[test]
    fn cells_without_addresses_are_noticed() {
        for (cells, has_placeless) in [
            ("<c r=\"A1\"><v>1</v></c><c s=\"1\" r=\"B1\"/>", false),
            ("<c r=\"A1\"><v>1</v></c><c s=\"1\"/>", true),
            ("<c><v>1</v></c>", true),
            ("<cols><col/></cols><x:c r=\"A1\"/>", false),
        ] {
            assert_eq!(traits(cells).has_placeless, has_placeless, "{cells}");
        }
    }

    #[test]
    fn nothing_is_missed_between_windows() {
        let cell = "<c r=\"A1\"><f>SUM(A1:A9)</f><v>12.5</v></c><c r=\"B1\"><f>B2</f></c>";
        let text = format!("{}<mergeCell ref=\"A1:B1\"/>", cell.repeat(20_000));
        let found = traits(&text);
        assert!(!found.has_placeless && found.misread.is_none());
        let prefixed = "<x:c r=\"A1\" t=\"s\"><x:v>123456</x:v></x:c>".repeat(20_000);
        assert_eq!(traits(&prefixed).misread, None);
        assert_eq!(
            (found.formulas, found.uncalculated, found.merges.len()),
            (40_000, 20_000, 1)
        );
    }
}
