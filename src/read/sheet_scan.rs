//! A sheet of an `.xlsx` is looked through in its unfolded text for what the cell reader does not
//! give: merged regions, formulas without a result. Far cheaper than parsing the sheet again.

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
}

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
    const CELL_END: &[u8] = b"</c>";
    match memmem::rfind(window, CELL_END) {
        Some(at) => at + CELL_END.len(),
        // Among cells a tag is not enough: a formula and its result belong together.
        None if memmem::find(window, b"<f").is_some() => 0,
        None => memrchr(b'>', window).map_or(0, |at| at + 1),
    }
}

impl SheetTraits {
    fn look_at(&mut self, text: &[u8]) {
        self.formulas_of(text);
        for tag in tags(text, b"mergeCell") {
            if self.merges.len() <= MERGES
                && let Some(area) = attribute(tag, b"ref").and_then(area)
            {
                self.merges.push(area);
            }
        }
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
    fn nothing_is_missed_between_windows() {
        let cell = "<c r=\"A1\"><f>SUM(A1:A9)</f><v>12.5</v></c><c r=\"B1\"><f>B2</f></c>";
        let text = format!("{}<mergeCell ref=\"A1:B1\"/>", cell.repeat(20_000));
        let found = traits(&text);
        assert_eq!(
            (found.formulas, found.uncalculated, found.merges.len()),
            (40_000, 20_000, 1)
        );
    }
}
