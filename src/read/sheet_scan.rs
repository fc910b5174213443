//! A sheet of an `.xlsx` is looked through in its unfolded text for what the cell reader does not give
//! (merged regions, formulas without a result, cells without addresses), and for values so written that it
//! would take them for others. Far cheaper than parsing the sheet again.

use super::markup::{attribute, tags};
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
    pub(super) formulas: u64,
    /// Formulas whose stored result is 0.
    pub(super) zeros: u64,
    /// Formulas without a stored result.
    pub(super) uncalculated: u64,
    /// Cells do not say where they stand: each stands behind the one before it.
    pub(super) has_placeless: bool,
    /// The first value that `calamine` would take for another, as it stands in the sheet.
    pub(super) misread: Option<String>,
}

/// Bytes of a misread value that are shown.
const SHOWN: usize = 60;

const WINDOW: usize = 256 << 10;

/// A window that holds no whole cell grows up to this; text of a cell is far shorter.
const LARGEST: usize = 4 << 20;

/// Looks through the text of a sheet, up to `bound` bytes. A text that breaks off gives what stands
/// before; the reading of its cells tells.
pub(super) fn scan(part: impl Read, bound: u64) -> SheetTraits {
    let mut traits = SheetTraits::default();
    let mut part = part.take(bound);
    let mut window: Vec<u8> = Vec::new();
    loop {
        let before = window.len();
        let read = part.by_ref().take(WINDOW as u64).read_to_end(&mut window);
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
    fn look_at(&mut self, text: &[u8]) {
        self.formulas_of(text);
        self.cells_of(text);
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
            let is_plain = ends_there && !value.is_empty() && value.iter().all(u8::is_ascii_digit);
            if !is_plain && !is_read(value, ends_there, cell) {
                let whole = match memmem::find(after, b"</v") {
                    Some(at) if !ends_there => &after[..at],
                    _ => b"",
                };
                let shown = [value, whole].concat();
                let shown = String::from_utf8_lossy(&shown[..shown.len().min(SHOWN)]);
                self.misread = Some(shown.trim().to_owned());
            }
        }
        self.has_placeless |= cells.any(|cell| attribute(cell, b"r").is_none());
    }

    fn formulas_of(&mut self, text: &[u8]) {
        for tag in tags(text, b"f") {
            self.formulas += 1;
            let offset = tag.as_ptr().addr() - text.as_ptr().addr();
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
/// passes over sections. `cell`: the attributes of the cell.
fn is_read(value: &[u8], ends_there: bool, cell: &[u8]) -> bool {
    match attribute(cell, b"t") {
        Some(b"s") => ends_there && value.iter().all(u8::is_ascii_digit),
        Some(b"n" | b"b" | b"e") | None => ends_there && memchr(b'&', value).is_none(),
        Some(_) => ends_there,
    }
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
            ("<c r=\"A1\"><v>1<!-- x -->2</v></c>", Some("1<!-- x -->2")),
            ("<x:c r=\"A1\"><x:v>1&#46;5</x:v></x:c>", Some("1&#46;5")),
            (
                "<c r=\"A1\"><v><![CDATA[7.5]]></v></c>",
                Some("<![CDATA[7.5]]>"),
            ),
            (
                "<c r=\"A1\" t=\"str\"><v><![CDATA[a]]></v></c>",
                Some("<![CDATA[a]]>"),
            ),
            ("<c r=\"A1\" t=\"s\"><v>\n 3\n</v></c>", Some("3")),
            ("<c r=\"A1\" t=\"s\"><v>3.0</v></c>", Some("3.0")),
            ("<c r=\"A1\" t='s'><v>-1</v></c>", Some("-1")),
            ("<c r=\"A1\"><v>7</v><v>8</v></c>", Some("8")),
            ("<v>7</v><c r=\"A1\"><v>8</v></c>", None),
            ("<v>7</v><v>8</v>", Some("8")),
        ] {
            assert_eq!(traits(cell).misread.as_deref(), misread, "{cell}");
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
