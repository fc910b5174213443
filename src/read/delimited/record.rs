//! Where the records of a delimited text start and end, and on which line. Ours rather than the
//! `csv` crate's, whose line numbers drift after blank lines and whose reader lets a lost quotation
//! mark swallow the file. Works on bytes of any encoding that keeps ASCII, whole or block by block:
//! a text cut between records gives the same records.

use crate::read::bounds::{QUOTED_BYTES, QUOTED_LINES};
use memchr::{memchr, memchr2, memchr3};

/// One record: the bytes `start..end`, without its line end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Span {
    pub(super) start: usize,
    pub(super) end: usize,
    /// Where the next record starts.
    pub(super) next: usize,
    /// Line ends from `start` to `next`: 1, more with quoted ones, 0 for the last line without one.
    pub(super) lines: u64,
    pub(super) quoting: Quoting,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Quoting {
    /// No quotation mark in the record.
    None,
    Quoted,
    /// A quotation mark opens a field and nothing closes it: the record is its line alone, and its
    /// quotation marks are taken as they stand.
    Lost,
}

/// Finds the record that starts at `start`. `None` when `bytes` ends before the record does and
/// more may follow (`is_last` false), and at the end of the text.
pub(super) fn find(bytes: &[u8], start: usize, delimiter: u8, is_last: bool) -> Option<Span> {
    if start >= bytes.len() {
        return None;
    }
    let first_end = line_end(bytes, start, is_last);
    let line = match first_end {
        Found::At { end, .. } => &bytes[start..end],
        Found::Beyond => &bytes[start..],
    };
    if memchr(b'"', line).is_none() {
        return first_end.span(start, bytes.len(), 1, Quoting::None, is_last);
    }
    match find_quoted(bytes, start, delimiter, is_last) {
        Scan::Record { at, lines } => at.span(start, bytes.len(), lines, Quoting::Quoted, is_last),
        Scan::Lost => first_end.span(start, bytes.len(), 1, Quoting::Lost, is_last),
        Scan::Undecided => None,
    }
}

/// Line ends of all kinds (`\n`, `\r\n`, `\r` alone) in bytes that do not end between `\r` and `\n`.
pub(super) fn count_lines(bytes: &[u8]) -> u64 {
    let feeds = memchr::memchr_iter(b'\n', bytes).count();
    let lone = memchr::memchr_iter(b'\r', bytes)
        .filter(|at| bytes.get(at + 1) != Some(&b'\n'))
        .count();
    (feeds + lone) as u64
}

/// The line end at or after a place.
#[derive(Clone, Copy)]
enum Found {
    At { end: usize, next: usize },
    Beyond,
}

impl Found {
    fn span(
        self,
        start: usize,
        len: usize,
        lines: u64,
        quoting: Quoting,
        is_last: bool,
    ) -> Option<Span> {
        match self {
            Self::At { end, next } => Some(Span {
                start,
                end,
                next,
                lines,
                quoting,
            }),
            Self::Beyond if is_last => Some(Span {
                start,
                end: len,
                next: len,
                lines: lines - 1,
                quoting,
            }),
            Self::Beyond => None,
        }
    }
}

fn line_end(bytes: &[u8], from: usize, is_last: bool) -> Found {
    match memchr2(b'\n', b'\r', &bytes[from..]) {
        None => Found::Beyond,
        Some(at) => {
            let end = from + at;
            match (bytes[end], bytes.get(end + 1)) {
                (b'\r', Some(b'\n')) => Found::At { end, next: end + 2 },
                // Whether a `\n` follows cannot be seen yet.
                (b'\r', None) if !is_last => Found::Beyond,
                _ => Found::At { end, next: end + 1 },
            }
        }
    }
}

enum Scan {
    Record { at: Found, lines: u64 },
    Lost,
    Undecided,
}

/// Follows the quotation marks of a record. A mark quotes only where a field begins; inside, two
/// marks stand for one; after the closing mark the field goes on unquoted (as RFC 4180 readers do).
fn find_quoted(bytes: &[u8], start: usize, delimiter: u8, is_last: bool) -> Scan {
    let undecided = || if is_last { Scan::Lost } else { Scan::Undecided };
    let mut lines = 0;
    let mut at = start;
    loop {
        if bytes.get(at) == Some(&b'"') {
            let opened = at;
            let opened_lines = lines;
            let mut inner = InnerLines::default();
            let mut line_start = None;
            at += 1;
            loop {
                let Some(found) = memchr3(b'"', b'\n', b'\r', &bytes[at..]) else {
                    return if bytes.len() - opened > QUOTED_BYTES {
                        Scan::Lost
                    } else {
                        undecided()
                    };
                };
                let found = at + found;
                if found - opened > QUOTED_BYTES {
                    return Scan::Lost;
                }
                if bytes[found] == b'"' {
                    match bytes.get(found + 1) {
                        Some(b'"') => at = found + 2,
                        None if !is_last => return Scan::Undecided,
                        after => {
                            let closes =
                                after.is_none_or(|b| *b == delimiter || matches!(b, b'\n' | b'\r'));
                            let spans_lines = lines > opened_lines;
                            if spans_lines && (!closes || inner.look_like_records()) {
                                // The mark that should close it opens another field, or whole
                                // records lie between.
                                return Scan::Lost;
                            }
                            at = found + 1;
                            break;
                        }
                    }
                } else {
                    let Found::At { next, .. } = line_end(bytes, found, is_last) else {
                        return Scan::Undecided;
                    };
                    if let Some(start) = line_start.replace(next) {
                        inner.add(&bytes[start..found], delimiter);
                    }
                    lines += 1;
                    if lines - opened_lines > QUOTED_LINES {
                        return Scan::Lost;
                    }
                    at = next;
                }
            }
        }
        match memchr3(delimiter, b'\n', b'\r', &bytes[at..]) {
            Some(found) if bytes[at + found] == delimiter => at += found + 1,
            Some(found) => {
                return Scan::Record {
                    at: line_end(bytes, at + found, is_last),
                    lines: lines + 1,
                };
            }
            None => {
                return Scan::Record {
                    at: Found::Beyond,
                    lines: lines + 1,
                };
            }
        }
    }
}

/// The whole lines inside a quoted field. A note has lines of its own shape; a lost quotation mark
/// takes in records, which have as many delimiters each.
#[derive(Default)]
struct InnerLines {
    lines: usize,
    delimiters: usize,
    differ: bool,
}

impl InnerLines {
    fn add(&mut self, line: &[u8], delimiter: u8) {
        if line.is_empty() {
            return;
        }
        let count = memchr::memchr_iter(delimiter, line).count();
        self.differ |= self.lines > 0 && count != self.delimiters;
        self.delimiters = count;
        self.lines += 1;
    }

    fn look_like_records(&self) -> bool {
        // One line of a note may well have two commas; not four, nor two in each of several lines.
        !self.differ && (self.delimiters >= 4 || (self.delimiters >= 2 && self.lines >= 2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// (line, text) of all records that are not blank.
    fn records(text: &str) -> Vec<(u64, &str)> {
        let (mut at, mut line, mut all) = (0, 1, Vec::new());
        while let Some(span) = find(text.as_bytes(), at, b',', true) {
            if span.end > span.start {
                all.push((line, &text[span.start..span.end]));
            }
            line += span.lines;
            at = span.next;
        }
        all
    }

    #[test]
    fn records_stand_on_their_true_lines() {
        for (name, text, expected) in [
            ("line feeds", "a,b\nc,d\n", vec![(1, "a,b"), (2, "c,d")]),
            (
                "blank lines between",
                "a\n\n\nb\n",
                vec![(1, "a"), (4, "b")],
            ),
            (
                "carriage return and line feed",
                "a\r\n\r\nb\r\n\r\nc",
                vec![(1, "a"), (3, "b"), (5, "c")],
            ),
            (
                "carriage returns alone",
                "a\rb\r\rc",
                vec![(1, "a"), (2, "b"), (4, "c")],
            ),
            (
                "mixed line ends",
                "a\r\nb\rc\nd",
                vec![(1, "a"), (2, "b"), (3, "c"), (4, "d")],
            ),
            (
                "quoted line end",
                "\"a\nb\",c\nd",
                vec![(1, "\"a\nb\",c"), (3, "d")],
            ),
            (
                "mark inside a field",
                "5\" pipe,x\ny",
                vec![(1, "5\" pipe,x"), (2, "y")],
            ),
            (
                "doubled mark",
                "\"a\"\"\n\",b\nc",
                vec![(1, "\"a\"\"\n\",b"), (3, "c")],
            ),
            (
                "lost mark",
                "a,\"b\nc,d\ne",
                vec![(1, "a,\"b"), (2, "c,d"), (3, "e")],
            ),
            (
                "lost mark that meets an opening one",
                "a,\"b\nc,\"d\"\n",
                vec![(1, "a,\"b"), (2, "c,\"d\"")],
            ),
            (
                "lost mark that meets a stray one",
                "a,\"b,c\n1,2,3\n4,5,6\nd,e\",f\n",
                vec![(1, "a,\"b,c"), (2, "1,2,3"), (3, "4,5,6"), (4, "d,e\",f")],
            ),
            (
                "a note of lines",
                "a,\"b,\nc, d, e\nf\",g\n",
                vec![(1, "a,\"b,\nc, d, e\nf\",g")],
            ),
            ("no last line end", "a", vec![(1, "a")]),
            ("nothing", "", vec![]),
        ] {
            assert_eq!(records(text), expected, "{name}");
        }
    }

    #[test]
    fn err_a_quote_that_never_closes_costs_its_own_line() {
        let mut text = String::from("a,\"b\n");
        (0..QUOTED_LINES + 5).for_each(|_| text.push_str("1,2\n"));
        text.push_str("c\",d\n");
        assert_eq!(records(&text)[0], (1, "a,\"b"));
        let span = find(text.as_bytes(), 0, b',', true).unwrap();
        assert_eq!(span.quoting, Quoting::Lost);
    }

    proptest! {
        #[test]
        fn any_bytes_are_cut_into_records_without_loss(bytes in proptest::collection::vec(prop_oneof![Just(b'"'), Just(b'\n'), Just(b'\r'), Just(b','), any::<u8>()], 0..200)) {
            let (mut at, mut lines) = (0, 0);
            while let Some(span) = find(&bytes, at, b',', true) {
                prop_assert!(span.start == at && span.next > at && span.end <= span.next);
                lines += span.lines;
                at = span.next;
            }
            prop_assert_eq!(at, bytes.len());
            prop_assert_eq!(lines, count_lines(&bytes));
        }

        #[test]
        fn a_text_seen_in_part_gives_the_same_records(text in "[ab,\"\r\n]{0,120}", cut in 0usize..120) {
            let bytes = text.as_bytes();
            let cut = cut.min(bytes.len());
            let mut at = 0;
            while let Some(span) = find(&bytes[..cut], at, b',', false) {
                prop_assert_eq!(Some(span), find(bytes, at, b',', true));
                at = span.next;
            }
        }
    }
}
