//! A record becomes fields. Slices of the record wherever it can be; the `csv` crate undoes the
//! doubled quotation marks of the few records that have them.

use super::record::{self, Quoting, Span};
use crate::read::bounds::FIELDS;
use memchr::memchr;

/// Gives each record of a text that is not blank, in order: its line (zero-based, counted from
/// `first_line`) with its fields, exactly as they stand less their quotation marks.
pub(super) fn for_each_record<'t>(
    text: &'t str,
    delimiter: u8,
    first_line: u64,
    mut take: impl FnMut(u64, Span, &[&str]),
) {
    let mut take = |line, span, fields: &mut [&str]| {
        fields
            .iter_mut()
            .for_each(|field| *field = of_formula(field));
        take(line, span, fields);
    };
    let bytes = text.as_bytes();
    let mut fields: Vec<&'t str> = Vec::new();
    let (mut at, mut line) = (0, first_line);
    while let Some(span) = record::find(bytes, at, delimiter, true) {
        if span.end > span.start {
            let record = &text[span.start..span.end];
            fields.clear();
            match span.quoting {
                Quoting::Quoted if !split_quoted(record, delimiter, &mut fields) => {
                    let unescaped = unescape(record, delimiter);
                    let mut fields: Vec<&str> = unescaped.iter().collect();
                    take(line, span, &mut fields);
                }
                Quoting::Quoted => take(line, span, &mut fields),
                Quoting::None | Quoting::Lost => {
                    split_plain(record, delimiter, &mut fields);
                    take(line, span, &mut fields);
                }
            }
        }
        line += span.lines;
        at = span.next;
    }
}

/// The text of a formula that is nothing else: programs write `="0042"` so that a spreadsheet keeps the text.
fn of_formula(field: &str) -> &str {
    let text = field
        .strip_prefix("=\"")
        .and_then(|text| text.strip_suffix('"'));
    text.filter(|text| !text.contains('"')).unwrap_or(field)
}

/// How many fields a record has; what decides between delimiters. Counts no further than the bound.
pub(super) fn count(record: &str, delimiter: u8, quoting: Quoting) -> usize {
    let mut fields = Vec::new();
    match quoting {
        Quoting::Quoted if !split_quoted(record, delimiter, &mut fields) => {
            unescape(record, delimiter).len()
        }
        Quoting::Quoted => fields.len(),
        Quoting::None | Quoting::Lost => {
            memchr::memchr_iter(delimiter, record.as_bytes())
                .take(FIELDS)
                .count()
                + 1
        }
    }
}

fn split_plain<'t>(record: &'t str, delimiter: u8, fields: &mut Vec<&'t str>) {
    const WIDTH: usize = size_of::<u64>();
    let sought = u64::from_ne_bytes([delimiter; WIDTH]);
    let mut start = 0;
    let mut cut = |at: usize| {
        fields.push(&record[start..at]);
        start = at + 1;
    };
    // Fields are short: to begin a wide search anew for each would take longer than eight bytes at once do.
    let (words, rest) = record.as_bytes().as_chunks::<WIDTH>();
    for (word, from) in words.iter().zip((0..).step_by(WIDTH)) {
        let mut found = zero_bytes(u64::from_le_bytes(*word) ^ sought);
        while found != 0 {
            cut(from + found.trailing_zeros() as usize / 8);
            found &= found - 1;
        }
    }
    for (byte, at) in rest.iter().zip(words.len() * WIDTH..) {
        if *byte == delimiter {
            cut(at);
        }
    }
    fields.push(&record[start..]);
}

/// The highest bit of each byte that is zero, and no other.
const fn zero_bytes(word: u64) -> u64 {
    const LOW: u64 = 0x7f7f_7f7f_7f7f_7f7f;
    // No sum of two bytes below 128 reaches the byte above.
    !(((word & LOW) + LOW) | word | LOW)
}

/// `false` when a field is not a plain slice: a doubled mark, or text after the closing mark.
fn split_quoted<'t>(record: &'t str, delimiter: u8, fields: &mut Vec<&'t str>) -> bool {
    let bytes = record.as_bytes();
    let mut at = 0;
    loop {
        if bytes.get(at) == Some(&b'"') {
            let Some(len) = memchr(b'"', &bytes[at + 1..]) else {
                return false;
            };
            let close = at + 1 + len;
            fields.push(&record[at + 1..close]);
            match bytes.get(close + 1) {
                None => return true,
                Some(b) if *b == delimiter => at = close + 2,
                Some(_) => return false,
            }
        } else {
            match memchr(delimiter, &bytes[at..]) {
                Some(len) => {
                    fields.push(&record[at..at + len]);
                    at += len + 1;
                }
                None => {
                    fields.push(&record[at..]);
                    return true;
                }
            }
        }
    }
}

fn unescape(record: &str, delimiter: u8) -> csv::StringRecord {
    let mut fields = csv::StringRecord::new();
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(record.as_bytes())
        .read_record(&mut fields)
        .expect("UTF-8 text in memory, of any number of fields, always parses");
    fields
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn all(text: &str, delimiter: u8) -> Vec<(u64, Vec<String>)> {
        let mut all = Vec::new();
        for_each_record(text, delimiter, 0, |line, _, fields| {
            all.push((line, fields.iter().map(ToString::to_string).collect()));
        });
        all
    }

    #[test]
    fn fields_are_what_stands_between_delimiters() {
        for (name, text, expected) in [
            ("plain", "a;b", vec!["a", "b"]),
            ("empty ends", ";a;", vec!["", "a", ""]),
            ("quoted delimiter", "\"a;b\";c", vec!["a;b", "c"]),
            ("doubled mark", "\"a\"\"b\";c", vec!["a\"b", "c"]),
            ("quoted empty", "\"\";c", vec!["", "c"]),
            (
                "trailing delimiter after a quoted field",
                "\"a\";",
                vec!["a", ""],
            ),
            ("text after the closing mark", "\"a\"b;c", vec!["ab", "c"]),
            ("mark inside a field", "5\" pipe;c", vec!["5\" pipe", "c"]),
            (
                "space before the mark",
                "a; \"x;y\"",
                vec!["a", " \"x", "y\""],
            ),
            (
                "text of a formula",
                "=\"0042\";\"=\"\"7.5\"\"\"",
                vec!["0042", "7.5"],
            ),
            (
                "another formula",
                "=\"a\"&\"b\";=\"",
                vec!["=\"a\"&\"b\"", "=\""],
            ),
            ("white space stays", " a ; b", vec![" a ", " b"]),
        ] {
            let all = all(text, b';');
            assert_eq!(all.len(), 1, "{name}");
            assert_eq!(all[0].1, expected, "{name}");
        }
    }

    proptest! {
        #[test]
        fn plain_records_are_cut_at_each_delimiter(record in "[a;µ;]{0,40}") {
            let mut fields = Vec::new();
            split_plain(&record, b';', &mut fields);
            prop_assert_eq!(fields, record.split(';').collect::<Vec<_>>());
        }

        /// The second route: for texts without a lost mark the `csv` crate reads the same fields.
        #[test]
        fn fields_are_those_of_the_csv_crate(rows in proptest::collection::vec(proptest::collection::vec("[a\", \r\n]{0,5}", 1..4), 1..6)) {
            let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
            for row in &rows { writer.write_record(row).unwrap(); }
            let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            let ours: Vec<_> = all(&text, b',').into_iter().map(|r| r.1).collect();
            prop_assert_eq!(ours, rows);
        }

        #[test]
        fn no_text_panics(text in "[aµ,\"\r\n;]{0,80}") {
            all(&text, b',');
        }
    }
}
