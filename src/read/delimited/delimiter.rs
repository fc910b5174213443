//! Which character separates the fields of a text: the one that gives the most consistent number of
//! fields over the first lines. A `sep=` line, as spreadsheet programs write it, is obeyed.

use super::columns;
use super::fields;
use super::record;
use super::text::shorten;
use crate::finding::Finding;
use crate::place::{Address, Place};
use crate::read::findings::Flaw;
use memchr::memchr;
use std::sync::Arc;

/// Candidates, the preferred first where two are equally consistent: a comma is also a decimal sign
/// and punctuation, a semicolon is punctuation at times, a tab or a bar hardly ever anything else.
pub(super) const CANDIDATES: [u8; 4] = [b'\t', b';', b'|', b','];

/// Looks out for records of one field that another delimiter would part as those before them are.
#[derive(Debug, Default)]
pub(super) struct Lookout {
    fields_before: usize,
    /// How many there are, and row and text of the first.
    pub(super) records: u64,
    pub(super) first: Option<(u32, String)>,
}

impl Lookout {
    /// Takes the record of a row (zero-based).
    pub(super) fn record(&mut self, row: u32, fields: &[&str]) {
        const FEWEST: usize = 3;
        let [whole] = fields else {
            self.fields_before = fields.len();
            return;
        };
        let parts = |c: &u8| memchr::memchr_iter(*c, whole.as_bytes()).count() + 1;
        let is_alike = |c: &u8| parts(c) == self.fields_before;
        if self.fields_before >= FEWEST && CANDIDATES.iter().any(is_alike) {
            self.records += 1;
            self.first.get_or_insert_with(|| (row, shorten(whole)));
        }
    }

    pub(super) fn finding(self, file: &Arc<str>) -> Option<Finding> {
        let (row, text) = self.first?;
        let flaw = Flaw::DelimiterChanges {
            text,
            records: self.records,
        };
        Some(flaw.at(Place::cell(file, &"".into(), Address::new(row, 0))))
    }
}

/// Records looked at. A preamble is seldom longer than 20 lines; the table below it must outweigh it.
const LOOK_AT: usize = 200;

/// The character of a `sep=` line and where the text goes on after it.
pub(super) fn stated_in_text(text: &str) -> Option<(u8, usize)> {
    let bytes = text.as_bytes();
    let span = record::find(bytes, 0, b',', true)?;
    let line = bytes[span.start..span.end].trim_ascii();
    let line = line
        .strip_prefix(b"\"")
        .and_then(|l| l.strip_suffix(b"\""))
        .unwrap_or(line);
    let &[s, e, p, b'=', delimiter] = line else {
        // `sep=` and a tab loses its tab to the trimming.
        let is_tab =
            line.eq_ignore_ascii_case(b"sep=") && bytes[span.start..span.end].contains(&b'\t');
        return is_tab.then_some((b'\t', span.next));
    };
    ([s, e, p].eq_ignore_ascii_case(b"sep") && delimiter.is_ascii() && delimiter != b'"')
        .then_some((delimiter, span.next))
}

/// The delimiter of a text; `None` when no candidate splits it consistently, or when spaces do so
/// better (a printed report).
pub(super) fn detect(text: &str) -> Option<u8> {
    let mut best: Option<(u8, Consistency)> = None;
    // Ragged rows (no remark, no cell for it) let decimal commas look more consistent than the tabs
    // between them. Read as printed, two tabs in a row would lose the blank cell that they hold, and
    // every number behind it would slip by a column.
    let tabbed = || {
        text.split(['\n', '\r'])
            .filter(|line| !line.trim().is_empty())
            .take(LOOK_AT)
            .filter(|line| line.contains('\t'))
            .count()
    };
    for delimiter in CANDIDATES {
        if memchr(delimiter, text.as_bytes()).is_none() {
            continue;
        }
        let found = consistency(text, delimiter);
        if found.agreeing == 0 || (delimiter == b',' && are_decimal_signs(text)) {
            continue;
        }
        if best.is_some_and(|(held, _)| held == b'\t') && tabbed() >= found.agreeing {
            continue;
        }
        match &best {
            Some((_, held)) if !found.outweighs(held) => (),
            _ => best = Some((delimiter, found)),
        }
    }
    best.filter(|(delimiter, found)| {
        // Spaces beside a tab part cells as well.
        *delimiter == b'\t' || columns::parted_lines(text, Some(*delimiter)) < found.agreeing
    })
    .map(|(delimiter, _)| delimiter)
}

/// "Calcium: 1,8 mmol/l" in each line: commas of which each stands between two digits, one in a number, part no
/// fields. Split there, the number would lose its decimals.
fn are_decimal_signs(text: &str) -> bool {
    let lines = text.split(['\n', '\r']).filter(|line| !line.is_empty());
    lines.take(LOOK_AT).map(str::as_bytes).all(|line| {
        let is_digit = |at: usize| line.get(at).is_some_and(u8::is_ascii_digit);
        let mut commas = (0..line.len()).filter(|at| line[*at] == b',');
        commas.all(|at| {
            let digits = (at + 1..).take_while(|next| is_digit(*next)).count();
            at > 0 && is_digit(at - 1) && digits > 0 && line.get(at + 1 + digits) != Some(&b',')
        })
    })
}

/// How well a delimiter splits the first records.
#[derive(Clone, Copy, Debug)]
struct Consistency {
    /// Records with the commonest number of fields (two or more).
    agreeing: usize,
}

impl Consistency {
    /// Whether this delimiter beats one that is preferred otherwise: clearly more records agree.
    /// (Decimal commas agree too, `1,5;2,5` in every row, but not in the headings.)
    fn outweighs(self, held: &Self) -> bool {
        self.agreeing * 4 > held.agreeing * 5
    }
}

fn consistency(text: &str, delimiter: u8) -> Consistency {
    let mut counts: Vec<usize> = Vec::new();
    let (mut at, mut seen) = (0, 0);
    while let Some(span) = record::find(text.as_bytes(), at, delimiter, true) {
        at = span.next;
        if span.end == span.start {
            continue;
        }
        counts.push(fields::count(
            &text[span.start..span.end],
            delimiter,
            span.quoting,
        ));
        seen += 1;
        if seen == LOOK_AT {
            break;
        }
    }
    counts.sort_unstable();
    let agreeing = counts
        .chunk_by(|a, b| a == b)
        .filter(|alike| alike[0] > 1)
        .map(<[usize]>::len)
        .fold(0, usize::max);
    Consistency { agreeing }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_consistent_character_is_the_delimiter() {
        let far_below = "\n".repeat(300) + "a,b,c\n1,2,3\n";
        for (name, text, delimiter) in [
            ("comma", "a,b,c\n1,2,3\n4,5,6\n", Some(b',')),
            ("semicolon", "a;b\n1;2\n", Some(b';')),
            ("tab", "a\tb\n1\t2\n", Some(b'\t')),
            ("bar", "a|b\n1|2\n", Some(b'|')),
            (
                "semicolon with decimal commas",
                "pH;Ca\n7,1;12,5\n7,2;13,5\n",
                Some(b';'),
            ),
            (
                "tab with decimal commas",
                "pH\tCa\n7,1\t12,5\n7,2\t13,5\n7,2\t13,5\n",
                Some(b'\t'),
            ),
            (
                "ragged rows of tabs, decimal commas",
                "Probe\tpH\tCa\tMg\tNa\tHinweis\nA\t7,1\t\t9,5\t2,5\nB\t7,2\t12,5\t\t2,5\tklar\nC\t7,2\t12,5\t9,5\nD\t7,2\t12,5\t9,5\n",
                Some(b'\t'),
            ),
            (
                "one semicolon column, decimal commas",
                "Na;\n1,5;\n2,5;\n",
                Some(b';'),
            ),
            (
                "comma with punctuation",
                "name,note\na,x; y\nb,z\nc,w\n",
                Some(b','),
            ),
            (
                "preamble",
                "Report of the laboratory\nfor a grower, north\n\na;b;c\n1;2;3\n4;5;6\n",
                Some(b';'),
            ),
            (
                "comma, quoted semicolons",
                "a,\"x;y\"\nb,\"z;w\"\nc,d\n",
                Some(b','),
            ),
            ("far below", &far_below, Some(b',')),
            ("one column", "a\nb\n", None),
            (
                "printed, with decimal commas",
                "a     b     c\nd   7,5   8,2\ne   7,6   9,1\n",
                None,
            ),
            (
                "padded with spaces",
                "a,    b,  c\nd,  7.5,  8\n",
                Some(b','),
            ),
            (
                "a form with decimal commas",
                "Sample:;A\nCalcium: 1,8 mmol/l\nChloride: 20,0 mg/l\nIron: 0,3 mg/l\n",
                Some(b';'),
            ),
            ("numbers alone", "1,2,3\n4,5,6\n", Some(b',')),
            ("nothing", "", None),
        ] {
            assert_eq!(
                detect(text).map(char::from),
                delimiter.map(char::from),
                "{name}"
            );
        }
    }

    #[test]
    fn a_sep_line_is_obeyed() {
        for (text, expected) in [
            ("sep=;\na;b", Some((b';', 6))),
            ("SEP=,\r\na", Some((b',', 7))),
            ("\"sep=|\"\na", Some((b'|', 8))),
            ("sep=\t\na\tb", Some((b'\t', 6))),
            ("separator=;\n", None),
            ("sep=\n", None),
        ] {
            assert_eq!(stated_in_text(text), expected, "{text:?}");
        }
    }
}
