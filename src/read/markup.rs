//! Just enough XML to look through a part without parsing it: tags and attributes as bytes. What it
//! does not understand it does not find; `calamine` does the reading.

use memchr::{memchr, memmem};

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

    #[test]
    fn err_what_is_not_there_is_none() {
        assert_eq!(attribute(b" sheetId=\"1\" id=r1", b"id"), None);
        assert_eq!(tags(b"<sheet name=\"", b"sheet").count(), 0);
    }
}
