//! What a file is, by its first bytes: extensions lie.

use crate::file::open_regular;
use std::borrow::Cow;
use std::io::Read;
use std::path::Path;

/// Kinds of file that are told apart before anything is opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A zip: a workbook of some kind, or not (see `package`).
    Zip,
    /// An OLE compound file: `.xls`, or a protected workbook, or another office document.
    Ole,
    /// An OpenDocument spreadsheet as one XML text: `.fods`.
    FlatOds,
    /// An XML spreadsheet of 2003.
    Xml2003,
    Text,
    /// Something that is not read, in words.
    Foreign(&'static str),
    /// Bytes that are neither text nor anything known.
    Unknown,
}

/// Bytes of the head that are looked at.
pub(super) const HEAD: usize = 4096;

const FOREIGN: &[(&[u8], &str)] = &[
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "an image"),
    (b"\xff\xd8\xff", "an image"),
    (b"GIF8", "an image"),
    (b"II*\0", "an image"),
    (b"MM\0*", "an image"),
    (b"{\\rtf", "an RTF document"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"BZh", "a bzip2 archive"),
    (b"\xfd7zXZ", "an xz archive"),
    (b"\x28\xb5\x2f\xfd", "a zstd archive"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (b"Rar!", "a RAR archive"),
    (b"PAR1", "a Parquet file"),
    (b"MIME-Version:", "a web page in one file (MHTML)"),
    (b"SQLite format 3", "an SQLite database"),
    (b"\xff\xfe\0\0", "a text in UTF-32"),
    (b"\0\0\xfe\xff", "a text in UTF-32"),
    (b"\x7fELF", "a program"),
    (b"MZ\x90\0", "a program"),
    // BIFF 2 to 4: a sheet without the compound file around it (MS-XLS 2.4.21 has the later ones).
    (b"\x09\x00\x04\x00", "a spreadsheet of before 1993"),
    (b"\x09\x02\x06\x00", "a spreadsheet of before 1993"),
    (b"\x09\x04\x06\x00", "a spreadsheet of before 1993"),
];

/// Whether an XML text holds a spreadsheet.
pub(super) fn is_spreadsheet(path: &Path) -> bool {
    let mut head = Vec::with_capacity(HEAD);
    let read = open_regular(path).and_then(|file| file.take(HEAD as u64).read_to_end(&mut head));
    read.is_ok() && matches!(kind(&head), Kind::FlatOds | Kind::Xml2003)
}

/// Tells the kind from the file's head (up to [`HEAD`] bytes).
pub(super) fn kind(head: &[u8]) -> Kind {
    match kind_by_first(head) {
        // A package with a letter's head, a program or a lost line end in front of it.
        Kind::Unknown | Kind::Foreign("a program")
            if memchr::memmem::find(head, b"PK\x03\x04").is_some() =>
        {
            Kind::Zip
        }
        kind => kind,
    }
}

fn kind_by_first(head: &[u8]) -> Kind {
    if head.starts_with(b"PK\x03\x04") || head.starts_with(b"PK\x05\x06") {
        return Kind::Zip;
    }
    if head.starts_with(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1") {
        return Kind::Ole;
    }
    if let Some((_, is)) = FOREIGN
        .iter()
        .find(|(signature, _)| head.starts_with(signature))
    {
        return Kind::Foreign(is);
    }
    if is_json(head) {
        return Kind::Foreign("a JSON document");
    }
    let is_wide = head.starts_with(b"\xff\xfe") || head.starts_with(b"\xfe\xff");
    let plain: Cow<'_, [u8]> = match is_wide {
        // What is looked for is ASCII.
        true => head[2..].iter().copied().filter(|b| *b != 0).collect(),
        false => head.into(),
    };
    if let Some(kind) = markup(&plain) {
        return kind;
    }
    if has_mark(head) || looks_like_text(head) {
        Kind::Text
    } else {
        Kind::Unknown
    }
}

fn has_mark(head: &[u8]) -> bool {
    [&b"\xef\xbb\xbf"[..], b"\xff\xfe", b"\xfe\xff"]
        .iter()
        .any(|mark| head.starts_with(mark))
}

/// `None` where it is no markup.
fn markup(head: &[u8]) -> Option<Kind> {
    let head = head
        .strip_prefix(b"\xef\xbb\xbf")
        .unwrap_or(head)
        .trim_ascii_start();
    if !head.starts_with(b"<") {
        return None;
    }
    let lower: Vec<u8> = head.iter().map(u8::to_ascii_lowercase).collect();
    let has = |what: &[u8]| memchr::memmem::find(&lower, what).is_some();
    if has(b"urn:schemas-microsoft-com:office:spreadsheet") {
        Some(Kind::Xml2003)
    } else if is_flat_ods(head) {
        Some(Kind::FlatOds)
    } else if lower.starts_with(b"<?xml") && !has(b"<html") {
        Some(Kind::Foreign("an XML document"))
    } else if [
        &b"<html"[..],
        b"<!doctype",
        b"<table",
        b"<head",
        b"<body",
        b"<meta",
        b"<div",
        b"<style",
    ]
    .iter()
    .any(|tag| has(tag))
    {
        Some(Kind::Foreign("an HTML page"))
    } else {
        // `<0.05;<1` is a report whose first cell is a limit.
        None
    }
}

/// `{"`, `[{` and their kin, with white space between.
fn is_json(head: &[u8]) -> bool {
    let head = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head);
    let mut signs = head.iter().filter(|b| !b.is_ascii_whitespace());
    matches!(
        (signs.next(), signs.next()),
        (Some(b'[' | b'{'), Some(b'[' | b'{' | b'"'))
    )
}

/// An OpenDocument as one text that does not say it is something else than a spreadsheet.
fn is_flat_ods(head: &[u8]) -> bool {
    let has = |what: &[u8]| memchr::memmem::find(head, what).is_some();
    let is_other = [
        &b"opendocument.text"[..],
        b"opendocument.graphics",
        b"opendocument.presentation",
    ]
    .iter()
    .any(|kind| has(kind));
    has(b"document ") && has(b"urn:oasis:names:tc:opendocument:xmlns:table:1.0") && !is_other
}

/// Few control characters, or NULs on one side only (UTF-16).
fn looks_like_text(head: &[u8]) -> bool {
    let control = |b: &&u8| matches!(b, 0x01..=0x08 | 0x0e..=0x1a | 0x1c..=0x1f);
    let controls = head.iter().filter(control).count();
    let (even, odd) =
        head.iter()
            .enumerate()
            .filter(|(_, b)| **b == 0)
            .fold(
                (0, 0),
                |(e, o), (i, _)| {
                    if i % 2 == 0 { (e + 1, o) } else { (e, o + 1) }
                },
            );
    let nuls = if even == 0 || odd == 0 { 0 } else { even + odd };
    // A damaged text has a few NULs; a binary file has them, or control characters, throughout.
    (controls + nuls) * 20 <= head.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_are_told_by_their_first_bytes() {
        for (name, head, expected) in [
            ("zip", &b"PK\x03\x04rest"[..], Kind::Zip),
            ("ole", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", Kind::Ole),
            ("csv", b"pH;Ca\n7;8\n", Kind::Text),
            ("empty", b"", Kind::Text),
            ("limit first", b"<0.05;<1\n", Kind::Text),
            ("windows-1252", b"\xb5g/L;\xb0C\n", Kind::Text),
            ("utf-16 without mark", b"p\0H\0;\x007\0", Kind::Text),
            (
                "json",
                b" [\n {\"pH\": 7.5}]",
                Kind::Foreign("a JSON document"),
            ),
            ("a bracket", b"[mg/L];[mg/L]\n7;8\n", Kind::Text),
            (
                "behind other bytes",
                b"MZ\x90\0rest\0PK\x03\x04rest",
                Kind::Zip,
            ),
            (
                "html",
                b"\n<!DOCTYPE html><html>",
                Kind::Foreign("an HTML page"),
            ),
            (
                "table only",
                b"<table border=1>",
                Kind::Foreign("an HTML page"),
            ),
            (
                "xml",
                b"<?xml version=\"1.0\"?><a/>",
                Kind::Foreign("an XML document"),
            ),
            ("pdf", b"%PDF-1.7", Kind::Foreign("a PDF document")),
            (
                "binary",
                b"\x01\x00\x02\x03\x00\x05\x06\x00\x07",
                Kind::Unknown,
            ),
        ] {
            assert_eq!(kind(head), expected, "{name}");
        }
    }
}
