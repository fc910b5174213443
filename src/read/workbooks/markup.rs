//! Just enough XML. To look through a part without parsing it: tags and attributes as bytes; what these
//! do not understand they do not find, and `calamine` does the reading. And to read a part: its pieces,
//! one after the other, each understood or an error.

use memchr::{memchr, memchr3, memmem};
use std::borrow::Cow;

/// What is wrong with the XML, in words.
pub(super) type Broken = &'static str;

/// A piece of XML. Comments and processing instructions are none.
#[derive(Debug, PartialEq)]
pub(super) enum Piece<'x> {
    Open(Tag<'x>),
    /// The end of the element of that name.
    Close(&'x str),
    /// As it stands: see [`unescape`].
    Text(&'x str),
    /// Of a CDATA section: it says what stands in it.
    Verbatim(&'x str),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tag<'x> {
    /// With its prefix.
    pub(super) name: &'x str,
    attributes: &'x str,
    /// `<name/>`: the element has no end of its own.
    pub(super) is_empty: bool,
}

/// The pieces of a part, in order. After an error there is none.
pub(super) struct Pieces<'x> {
    rest: &'x str,
}

impl<'x> Pieces<'x> {
    pub(super) const fn of(xml: &'x str) -> Self {
        Self { rest: xml }
    }

    /// The text up to `end`, which is taken too; `from` bytes stand before it.
    fn up_to(&mut self, from: usize, end: &str) -> Option<&'x str> {
        let at = from + self.rest.get(from..)?.find(end)?;
        let text = &self.rest[from..at];
        self.rest = &self.rest[at + end.len()..];
        Some(text)
    }

    fn tag(&mut self) -> Option<Tag<'x>> {
        let mut at = 1;
        // An attribute may hold what looks like the end of the tag.
        loop {
            let bytes = self.rest.as_bytes().get(at..)?;
            let found = at + memchr3(b'>', b'"', b'\'', bytes)?;
            at = found + 1;
            match self.rest.as_bytes()[found] {
                b'>' => break,
                quote => at += memchr(quote, &self.rest.as_bytes()[at..])? + 1,
            }
        }
        let (tag, rest) = self.rest.split_at(at);
        self.rest = rest;
        let inner = &tag[1..tag.len() - 1];
        let (inner, is_empty) = match inner.strip_suffix('/') {
            Some(inner) => (inner, true),
            None => (inner, false),
        };
        let (name, attributes) = inner.split_once(is_space).unwrap_or((inner, ""));
        Some(Tag {
            name,
            attributes,
            is_empty,
        })
    }
}

impl<'x> Iterator for Pieces<'x> {
    type Item = Result<Piece<'x>, Broken>;

    fn next(&mut self) -> Option<Self::Item> {
        const NO_END: Broken = "a tag, a comment or a section has no end";
        let piece = loop {
            let rest = self.rest;
            if rest.is_empty() {
                return None;
            }
            if !rest.starts_with('<') {
                let (text, rest) = rest.split_at(rest.find('<').unwrap_or(rest.len()));
                self.rest = rest;
                return Some(Ok(Piece::Text(text)));
            }
            if rest.starts_with("<!--") {
                if self.up_to(4, "-->").is_none() {
                    break None;
                }
            } else if rest.starts_with("<?") {
                if self.up_to(2, "?>").is_none() {
                    break None;
                }
            } else if rest.starts_with("<![CDATA[") {
                break self.up_to(9, "]]>").map(Piece::Verbatim);
            } else if rest.starts_with("<!") {
                self.rest = "";
                return Some(Err("it declares entities of its own"));
            } else if rest.starts_with("</") {
                break self.up_to(2, ">").map(|name| Piece::Close(name.trim_end()));
            } else {
                break self.tag().map(Piece::Open);
            }
        };
        if piece.is_none() {
            self.rest = "";
        }
        Some(piece.ok_or(NO_END))
    }
}

impl<'x> Tag<'x> {
    /// Names and values, as they stand: see [`unescape`]. What is no attribute ends them.
    pub(super) fn attributes(&self) -> impl Iterator<Item = (&'x str, &'x str)> {
        let mut rest = self.attributes;
        std::iter::from_fn(move || {
            let (name, after) = rest.split_once('=')?;
            let after = after.trim_start_matches(is_space);
            let quote = after.chars().next().filter(|c| matches!(c, '"' | '\''))?;
            let (value, after) = after[1..].split_once(quote)?;
            rest = after;
            Some((name.trim_matches(is_space), value))
        })
    }

    /// The tag as it stands, with its names as `name` has them.
    pub(super) fn with_names(&self, name: impl Fn(&str, bool) -> String) -> String {
        let mut tag = format!("<{}", name(self.name, true));
        for (attribute, value) in self.attributes() {
            let quote = if value.contains('"') { '\'' } else { '"' };
            tag.push_str(&format!(
                " {}={quote}{value}{quote}",
                name(attribute, false)
            ));
        }
        tag.push_str(if self.is_empty { "/>" } else { ">" });
        tag
    }

    pub(super) fn attribute(&self, name: &str) -> Option<&'x str> {
        self.attributes().find(|(n, _)| *n == name).map(|(_, v)| v)
    }
}

const fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\r' | '\n')
}

/// A name without its prefix.
pub(super) fn local(name: &str) -> &str {
    name.rsplit_once(':').map_or(name, |(_, local)| local)
}

/// The text with its entities resolved. Fails where one is not known.
pub(super) fn unescape(text: &str) -> Result<Cow<'_, str>, Broken> {
    let Some(first) = text.find('&') else {
        return Ok(Cow::Borrowed(text));
    };
    let (before, mut rest) = text.split_at(first);
    let mut whole = before.to_owned();
    while let Some(from) = rest.strip_prefix('&') {
        let (name, after) = from.split_once(';').ok_or("an entity has no end")?;
        whole.push(match name {
            "lt" => '<',
            "gt" => '>',
            "amp" => '&',
            "quot" => '"',
            "apos" => '\'',
            name => numbered(name).ok_or("an entity is not known")?,
        });
        let next = after.find('&').unwrap_or(after.len());
        whole.push_str(&after[..next]);
        rest = &after[next..];
    }
    Ok(Cow::Owned(whole))
}

/// `#65` and `#x41`.
fn numbered(name: &str) -> Option<char> {
    let digits = name.strip_prefix('#')?;
    let number = match digits.strip_prefix(['x', 'X']) {
        Some(digits) => u32::from_str_radix(digits, 16),
        None => digits.parse(),
    };
    char::from_u32(number.ok()?)
}

/// The start tags of an element, whatever its prefix: `<sheet …>` and `<x:sheet …>`.
pub(super) fn tags<'x>(xml: &'x [u8], element: &'static [u8]) -> impl Iterator<Item = &'x [u8]> {
    let finder = memmem::Finder::new(element);
    let mut at = 0;
    std::iter::from_fn(move || {
        loop {
            let found = at + finder.find(&xml[at..])?;
            let end = found + element.len();
            at = end;
            let is_tag = opens_tag(&xml[..found])
                && matches!(
                    xml.get(end),
                    Some(b' ' | b'\t' | b'\r' | b'\n' | b'/' | b'>')
                );
            if !is_tag {
                continue;
            }
            let len = memchr(b'>', &xml[end..])?;
            at = end + len;
            return Some(&xml[end..end + len]);
        }
    })
}

/// Whether a start tag has just been opened: `<`, or `<` and a prefix.
fn opens_tag(before: &[u8]) -> bool {
    match before.split_last() {
        Some((b'<', _)) => true,
        Some((b':', before)) => {
            let prefix = before
                .iter()
                .rev()
                .take_while(|b| b.is_ascii_alphanumeric())
                .count();
            before[..before.len() - prefix].last() == Some(&b'<')
        }
        _ => false,
    }
}

/// The value of an attribute of a tag, whatever its prefix, as it stands (entities not resolved).
pub(super) fn attribute<'t>(tag: &'t [u8], name: &[u8]) -> Option<&'t [u8]> {
    memmem::find_iter(tag, name).find_map(|at| {
        if !matches!(tag[..at].last(), Some(b' ' | b'\t' | b'\r' | b'\n' | b':')) {
            return None;
        }
        let rest = tag[at + name.len()..]
            .trim_ascii_start()
            .strip_prefix(b"=")?
            .trim_ascii_start();
        let (quote, rest) = rest.split_first()?;
        let end = memchr(*quote, rest).filter(|_| matches!(quote, b'"' | b'\''))?;
        Some(&rest[..end])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_and_attributes_are_found() {
        let xml = b"<a><sheets><sheet name=\"N\" r:id='r1'/><x:sheet id = \"r2\" ></x:sheet><sheetView id=\"no\"/></sheets>";
        let ids: Vec<_> = tags(xml, b"sheet")
            .map(|t| attribute(t, b"id").unwrap())
            .collect();
        assert_eq!(ids, [b"r1", b"r2"]);
    }

    fn pieces(xml: &str) -> Vec<Result<String, Broken>> {
        let told = |piece| match piece {
            Piece::Open(tag) => {
                let attributes: Vec<_> =
                    tag.attributes().map(|(n, v)| format!("{n}={v}")).collect();
                let end = if tag.is_empty { "/" } else { "" };
                format!("<{} {}{end}", tag.name, attributes.join(" "))
            }
            Piece::Close(name) => format!("</{name}"),
            Piece::Text(text) => text.to_owned(),
            Piece::Verbatim(text) => format!("![{text}"),
        };
        Pieces::of(xml).map(|piece| piece.map(told)).collect()
    }

    #[test]
    fn pieces_are_told_apart() {
        for (xml, expected) in [
            ("<a>1</a >", &["<a ", "1", "</a"] as &[&str]),
            ("<a b=\">\" c = '\"'\n/>", &["<a b=> c=\"/"]),
            ("<?xml x?><!-- </a> -->t<![CDATA[<b>]]>", &["t", "![<b>"]),
            ("<a:b\tc='1'>", &["<a:b c=1"]),
        ] {
            let expected: Vec<_> = expected.iter().map(|e| Ok((*e).to_owned())).collect();
            assert_eq!(pieces(xml), expected, "{xml}");
        }
    }

    #[test]
    fn err_what_has_no_end_is_the_last_piece() {
        for xml in [
            "<a",
            "<a b=\">",
            "</a",
            "<!-- ->",
            "<![CDATA[ ]]",
            "<?",
            "<!DOCTYPE a>",
        ] {
            let pieces = pieces(&format!("{xml}<b/>"));
            assert!(
                matches!(pieces.as_slice(), [Err(_)]) || xml == "<a" || xml == "</a",
                "{xml}: {pieces:?}"
            );
            assert!(Pieces::of(xml).next().unwrap().is_err(), "{xml}");
        }
    }

    #[test]
    fn entities_are_resolved_or_refused() {
        for (text, expected) in [
            ("a", Some("a")),
            ("&lt;0.5 &#181;g &#xB5;&amp;lt;", Some("<0.5 µg µ&lt;")),
            ("&mu;", None),
            ("&lt", None),
            ("&#xD800;", None),
        ] {
            assert_eq!(unescape(text).ok().as_deref(), expected, "{text}");
        }
    }

    #[test]
    fn err_what_is_not_there_is_none() {
        assert_eq!(attribute(b" sheetId=\"1\" id=r1", b"id"), None);
        assert_eq!(tags(b"<sheet name=\"", b"sheet").count(), 0);
    }
}
