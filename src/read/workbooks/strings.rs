//! The texts of an `.xlsx`, in its table and in its sheets, are looked through for digits that are raised:
//! `calamine` gives "7.51" for 7.5 with a footnote 1. And for parts that are struck out: it gives "8090" for
//! 90 in the place of 80.

use super::markup::{Broken, Piece, Pieces, Tag, local, unescape};
use super::rich::{Font, RichText};
use std::collections::HashMap;
use std::sync::Arc;

/// Texts that begin as numbers and have raised digits, or are struck out in part, and how a reader sees
/// them.
pub(super) type Raised = HashMap<Box<str>, Arc<str>>;

/// Those of a table, or of a piece of a sheet. What cannot be read is told by `calamine`.
pub(super) fn raised_in(table: &[u8]) -> Raised {
    let mut found = Raised::new();
    let has = |what: &[u8]| memchr::memmem::find(table, what).is_some();
    if (has(b"superscript") || has(b"strike"))
        && let Ok(table) = std::str::from_utf8(table)
    {
        walk(table, &mut found).ok();
    }
    found
}

fn walk(table: &str, found: &mut Raised) -> Result<(), Broken> {
    let (mut rich, mut font) = (RichText::default(), Font::default());
    let (mut in_text, mut in_phonetic, mut keeps_spaces) = (false, false, false);
    for piece in Pieces::of(table) {
        match piece? {
            Piece::Open(tag) => match local(tag.name) {
                "si" | "is" => rich = RichText::default(),
                "r" => font = Font::default(),
                "strike" => font.is_struck = !matches!(tag.attribute("val"), Some("0" | "false")),
                "vertAlign" => font.is_raised = is_superscript(&tag),
                "rPh" => in_phonetic = true,
                "t" => {
                    in_text = !tag.is_empty && !in_phonetic;
                    keeps_spaces = tag.attribute("xml:space") == Some("preserve");
                }
                _ => (),
            },
            Piece::Close(name) => match local(name) {
                "t" => in_text = false,
                "r" => font = Font::default(),
                "rPh" => in_phonetic = false,
                "si" | "is" => std::mem::take(&mut rich).add_to(found),
                _ => (),
            },
            Piece::Text(text) if in_text => {
                let text = unescape(text)?;
                // As `calamine` does.
                let text = match keeps_spaces {
                    true => &*text,
                    false => text.trim_matches([' ', '\t', '\r', '\n']),
                };
                rich.push(text, font);
            }
            _ => (),
        }
    }
    Ok(())
}

fn is_superscript(tag: &Tag<'_>) -> bool {
    tag.attribute("val") == Some("superscript")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raised_digits_of_numbers_are_found() {
        let run = |text: &str, props: &str| {
            format!("<r><rPr>{props}</rPr><t xml:space=\"preserve\">{text}</t></r>")
        };
        let up = "<vertAlign val=\"superscript\"/>";
        for (name, si, expected) in [
            (
                "a footnote",
                run("7.5", "") + &run("1", up),
                Some(("7.51", "7.5¹")),
            ),
            (
                "a limit's",
                run("&lt;0.05", "") + &run("2)", up),
                Some(("<0.052)", "<0.05²)")),
            ),
            (
                "a power",
                run("1.2×10", "") + &run("3", up),
                Some(("1.2×103", "1.2×10³")),
            ),
            ("a charge", run("SO4", "") + &run("2-", up), None),
            (
                "lowered",
                run("7.5", "") + &run("1", "<vertAlign val=\"subscript\"/>"),
                None,
            ),
            ("bold", run("7.", "<b/>") + &run("5", ""), None),
            ("plain", "<t>7.5</t>".to_owned(), None),
        ] {
            let table = format!("<sst><si>{si}</si><!-- superscript --></sst>");
            let found = raised_in(table.as_bytes());
            let found = found.iter().map(|(plain, seen)| (&**plain, &**seen)).next();
            assert_eq!(found, expected, "{name}");
        }
    }
}
