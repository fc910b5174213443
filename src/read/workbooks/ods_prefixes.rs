//! An OpenDocument may call its namespaces what it likes; `ods_tables` knows them by the prefixes that
//! office programs write. A content with others is written anew.

use super::markup::{Broken, Piece, Pieces};
use std::borrow::Cow;
use std::collections::HashMap;

/// Namespaces that are looked at, with their usual prefixes (OpenDocument 1.2 part 1, 1.3).
const USUAL: [(&str, &str); 5] = [
    ("urn:oasis:names:tc:opendocument:xmlns:office:1.0", "office"),
    ("urn:oasis:names:tc:opendocument:xmlns:style:1.0", "style"),
    ("urn:oasis:names:tc:opendocument:xmlns:table:1.0", "table"),
    ("urn:oasis:names:tc:opendocument:xmlns:text:1.0", "text"),
    (
        "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0",
        "calcext",
    ),
];

/// The content with the usual prefixes. Fails where one prefix means two things.
pub(super) fn usual(content: &str) -> Result<Cow<'_, str>, Broken> {
    let first = Pieces::of(content).find_map(|piece| match piece {
        Ok(Piece::Open(tag)) => Some(Ok(tag)),
        Ok(_) => None,
        Err(e) => Some(Err(e)),
    });
    let Some(root) = first.transpose()? else {
        return Ok(Cow::Borrowed(content));
    };
    let is_usual = root.attributes().all(|(name, namespace)| {
        let known = usual_of(namespace);
        declared(name).is_none_or(|prefix| known.is_none_or(|usual| usual == prefix))
    });
    if is_usual && content.contains("<office:spreadsheet") {
        return Ok(Cow::Borrowed(content));
    }
    let mut met: HashMap<&str, &str> = HashMap::new();
    let mut anew = String::with_capacity(content.len());
    for piece in Pieces::of(content) {
        match piece? {
            Piece::Open(tag) => {
                for (name, namespace) in tag.attributes() {
                    let Some(prefix) = declared(name) else {
                        continue;
                    };
                    if *met.entry(prefix).or_insert(namespace) != namespace {
                        return Err("one prefix means two things");
                    }
                }
                anew.push_str(&tag.with_names(|name, is_element| renamed(name, is_element, &met)));
            }
            Piece::Close(name) => {
                anew.push_str("</");
                anew.push_str(&renamed(name, true, &met));
                anew.push('>');
            }
            Piece::Text(text) => anew.push_str(text),
            Piece::Verbatim(text) => {
                anew.push_str("<![CDATA[");
                anew.push_str(text);
                anew.push_str("]]>");
            }
        }
    }
    Ok(Cow::Owned(anew))
}

fn usual_of(namespace: &str) -> Option<&'static str> {
    let known = USUAL.iter().find(|(known, _)| *known == namespace)?;
    Some(known.1)
}

/// The prefix that an attribute declares; empty for elements without one.
fn declared(attribute: &str) -> Option<&str> {
    match attribute.strip_prefix("xmlns")? {
        "" => Some(""),
        rest => rest.strip_prefix(':'),
    }
}

/// A name with its usual prefix. An attribute without a prefix is in no namespace.
fn renamed(name: &str, is_element: bool, met: &HashMap<&str, &str>) -> String {
    let (prefix, local) = name.split_once(':').unwrap_or(("", name));
    if prefix.is_empty() && !is_element {
        return name.to_owned();
    }
    match met.get(prefix).and_then(|namespace| usual_of(namespace)) {
        Some(usual) => format!("{usual}:{local}"),
        // Not to be taken for one that is known.
        None => format!("other-{prefix}:{local}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &str = "urn:oasis:names:tc:opendocument:xmlns:table:1.0";
    const OFFICE: &str = "urn:oasis:names:tc:opendocument:xmlns:office:1.0";

    #[test]
    fn prefixes_become_the_usual_ones() {
        let content = format!(
            "<o:a xmlns:o=\"{OFFICE}\" xmlns='{TABLE}' xmlns:table=\"urn:x\"><o:spreadsheet><table o:b='\"' c=\"1\"/><table:row>&lt;<![CDATA[<]]></table:row></o:spreadsheet></o:a>"
        );
        let expected = format!(
            "<office:a other-xmlns:o=\"{OFFICE}\" xmlns=\"{TABLE}\" other-xmlns:table=\"urn:x\"><office:spreadsheet><table:table office:b='\"' c=\"1\"/><other-table:row>&lt;<![CDATA[<]]></other-table:row></office:spreadsheet></office:a>"
        );
        assert_eq!(usual(&content).unwrap(), expected);
    }

    #[test]
    fn usual_prefixes_stay() {
        let content =
            format!("<office:a xmlns:office=\"{OFFICE}\"><office:spreadsheet/></office:a>");
        assert!(matches!(usual(&content), Ok(Cow::Borrowed(_))));
        assert!(matches!(usual("no tag"), Ok(Cow::Borrowed(_))));
    }

    #[test]
    fn err_a_prefix_of_two_meanings_is_refused() {
        let content = format!("<a xmlns:t=\"{TABLE}\"><b xmlns:t=\"{OFFICE}\"/></a>");
        assert!(usual(&content).is_err());
        assert!(usual("<a").is_err());
    }
}
