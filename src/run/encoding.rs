//! The encoding of a text whose bytes do not tell it: the one in which most of its words are known. Nothing is
//! guessed from how often letters stand; without words of ours Windows-1252 stays.

use super::findings;
use crate::finding::Finding;
use crate::read::{CellView, Encoding, Report};
use crate::vocabulary::{HeadingContext, Meaning, Vocabulary};
use std::collections::BTreeSet;

/// Different texts looked at: the headings of any report are among the first of them.
const TEXTS: usize = 100;
/// Longer texts are prose.
const LONGEST: usize = 120;

/// The encoding in which more words are known than in Windows-1252, in which the report was read, and what is told
/// of it; `None` where the encoding was not assumed, or where no other makes more sense.
pub(super) fn by_words(report: &Report, vocabulary: &Vocabulary) -> Option<(Encoding, Finding)> {
    if !report.is_encoding_assumed() {
        return None;
    }
    let texts = texts_of(report);
    // As they stand the texts are read again by recognition, and so remembered.
    let says = |text: &str| vocabulary.heading_in(text, &HeadingContext::default());
    let is_known = |text: &str| {
        is_text(text) && (vocabulary.is_unit(text) || says(text).meaning != Meaning::Unknown)
    };
    let texts: Vec<(&str, bool)> = (texts.into_iter())
        .map(|text| (text, is_known(text)))
        .collect();
    let known_before = texts.iter().filter(|(_, is_known)| *is_known).count();
    if known_before == texts.len() {
        return None;
    }
    let mut best: Option<(Encoding, Vec<String>)> = None;
    // Where any word is known, the letters are Latin.
    for encoding in Encoding::others(report.partial, known_before > 0) {
        let most = best.as_ref().map_or(known_before, |(_, words)| words.len());
        let known = known_in(encoding, &texts, vocabulary);
        if let Some(known) = known.filter(|known| known.len() > most) {
            best = Some((encoding, known));
        }
    }
    let (encoding, known) = best?;
    let finding = findings::encoding_by_words(&report.file, encoding, &known, known_before);
    Some((encoding, finding))
}

/// The first short texts with letters beyond ASCII, each once.
fn texts_of(report: &Report) -> BTreeSet<&str> {
    let mut texts = BTreeSet::new();
    for (_, cell) in report.sheets.iter().flat_map(|sheet| sheet.grid.cells()) {
        if let CellView::Text(text) = cell.view()
            && !text.is_ascii()
            && text.len() <= LONGEST
        {
            texts.insert(text.trim());
            if texts.len() == TEXTS {
                break;
            }
        }
    }
    texts
}

/// The texts that are known in an encoding; `None` where one of them says nothing in it. `texts`: as they were read,
/// and whether they are known so.
fn known_in(
    encoding: Encoding,
    texts: &[(&str, bool)],
    vocabulary: &Vocabulary,
) -> Option<Vec<String>> {
    let mut known = Vec::new();
    for (text, is_known) in texts {
        let again = encoding.retaken(text)?;
        if match again == *text {
            true => *is_known,
            false => is_text(&again) && vocabulary.knows(&again),
        } {
            known.push(again);
        }
    }
    Some(known)
}

/// Whether a text can be one of words: one letter is too little to tell anything by, characters of control are no text,
/// and no word has letters of two scripts.
fn is_text(text: &str) -> bool {
    let mut chars = text.chars();
    let mut last = chars.next().unwrap_or_default();
    let mut count = 1;
    for c in chars {
        let is_latin = |c: char| c.is_ascii_alphabetic();
        let is_other = |c: char| c >= FIRST_OTHER_LETTER && c.is_alphabetic();
        if is_latin(last) && is_other(c) || is_other(last) && is_latin(c) {
            return false;
        }
        (last, count) = (c, count + 1);
    }
    count > 1 && !text.contains(|c: char| c.is_control() && !c.is_whitespace())
}

/// Greek begins here; before it, letters are Latin.
const FIRST_OTHER_LETTER: char = '\u{370}';

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]
mod tests {
    use super::*;
    use crate::read::{self, Opened, Options};
    use std::io::Write;

    /// What is chosen for a text of these bytes, held whole and as a stream.
    fn chosen(bytes: &[u8]) -> Option<&'static str> {
        let mut file = tempfile::NamedTempFile::with_suffix(".csv").unwrap();
        file.write_all(bytes).unwrap();
        let of = |stream_above: u64| {
            let options = Options {
                stream_above,
                ..Options::default()
            };
            let opened = read::open(file.path(), &"a.csv".into(), &options);
            assert_eq!(matches!(opened, Opened::Stream(_)), stream_above == 1);
            by_words(opened.report(), Vocabulary::built_in()).map(|(encoding, _)| encoding.name())
        };
        let (whole, streamed) = (of(1 << 20), of(1));
        let can_be_streamed =
            |name: &&str| Encoding::others(true, false).any(|encoding| encoding.name() == *name);
        assert_eq!(whole.filter(can_be_streamed), streamed);
        whole
    }

    #[test]
    fn words_tell_the_encoding() {
        let cases: [(&str, &[u8]); 6] = [
            // Próbka;Żelazo (mg/l) / Łąka;0.05
            ("windows-1250", b"Pr\xf3bka;\xafelazo (mg/l)\n\xa3\xb9ka;0.05\n"),
            // Проба;Кальций, мг/л / Пруд;88
            ("windows-1251", b"\xcf\xf0\xee\xe1\xe0;\xca\xe0\xeb\xfc\xf6\xe8\xe9, \xec\xe3/\xeb\n\xcf\xf0\xf3\xe4;88\n"),
            // Δείγμα;Ασβέστιο (mg/L) / Γ1;88
            ("windows-1253", b"\xc4\xe5\xdf\xe3\xec\xe1;\xc1\xf3\xe2\xdd\xf3\xf4\xe9\xef (mg/L)\n\xc31;88\n"),
            // 試料名;カルシウム(mg/L) / 井戸;88
            ("Shift_JIS", b"\x8e\x8e\x97\xbf\x96\xbc;\x83J\x83\x8b\x83V\x83E\x83\x80(mg/L)\n\x88\xe4\x8c\xcb;88\n"),
            // 样品;钙(mg/L) / 水库;88
            ("gb18030", b"\xd1\xf9\xc6\xb7;\xb8\xc6(mg/L)\n\xcb\xae\xbf\xe2;88\n"),
            // Probe;Leitfähigkeit (µS/cm) / Süd;612
            ("cp850", b"Probe;Leitf\x84higkeit (\xe6S/cm)\nS\x81d;612\n"),
        ];
        for (name, bytes) in cases {
            assert_eq!(chosen(bytes), Some(name));
        }
    }

    #[test]
    fn err_without_words_of_ours_windows_1252_stays() {
        let western: [&[u8]; 4] = [
            // Probe;Leitfähigkeit (µS/cm) / Brunnen Süd;612
            b"Probe;Leitf\xe4higkeit (\xb5S/cm)\nBrunnen S\xfcd;612\n",
            // Prøve;Hårdhed (°dH) / Åby;14
            b"Pr\xf8ve;H\xe5rdhed (\xb0dH)\n\xc5by;14\n",
            // Sample;Iron (µg/l) / Café;50
            b"Sample;Iron (\xb5g/l)\nCaf\xe9;50\n",
            // Ærø;Ñandú / Þing;ß
            b"\xc6r\xf8;\xd1and\xfa\n\xdeing;\xdf\n",
        ];
        for bytes in western {
            assert_eq!(chosen(bytes), None);
        }
        assert_eq!(chosen("Próbka;Wapń (mg/l)\nŁąka;88\n".as_bytes()), None);
    }
}
