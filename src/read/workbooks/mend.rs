//! A package is written anew where `calamine` would not follow it, though what it says is clear: parts
//! in another encoding than UTF-8, ways that lead over `./` and `../`, tables of texts and of styles
//! that lie elsewhere than usual.

use super::markup::{attribute, tags};
use super::package::{Archive, broken, opened, text_of, workbook_part};
use crate::read::bounds::HELD_PART_BYTES;
use crate::read::findings::Flaw;
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};
use zip::result::ZipResult;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// Parts that nobody reads here: beginning to unfold one costs more than the look at it.
const NOT_READ: [&str; 5] = [
    "[content_types].xml",
    "customxml/",
    "docprops/",
    "xl/drawings/",
    "xl/theme/",
];

/// Parts with other bytes, and parts with other names, by their names.
#[derive(Default)]
struct Changes {
    texts: BTreeMap<String, Vec<u8>>,
    names: BTreeMap<String, String>,
}

/// The package written anew; `None` where there is nothing to mend.
pub(super) fn mended(archive: &mut Archive<'_>) -> Result<Option<Vec<u8>>, Flaw> {
    let changes = in_utf8(archive)?;
    let Some(decoded) = written(archive, &changes)? else {
        let changes = straight(archive);
        return written(archive, &changes);
    };
    let mut archive = opened(&decoded)?;
    let changes = straight(&mut archive);
    let straight = written(&mut archive, &changes)?;
    Ok(Some(straight.unwrap_or(decoded)))
}

/// Parts of XML that say they are not UTF-8, in UTF-8. What cannot be decoded stays as it is.
fn in_utf8(archive: &mut Archive<'_>) -> Result<Changes, Flaw> {
    /// A declaration is shorter.
    const HEAD: u64 = 256;
    let mut changes = Changes::default();
    let mut left = HELD_PART_BYTES;
    for index in 0..archive.len() {
        let Ok(mut part) = archive.by_index(index) else {
            continue; // Told when the parts are vetted.
        };
        let Ok(name) = part.name().map(String::from) else {
            continue;
        };
        let lower = name.to_ascii_lowercase();
        let is_xml = lower.ends_with(".xml") || lower.ends_with(".rels");
        if !is_xml || NOT_READ.iter().any(|start| lower.starts_with(start)) {
            continue;
        }
        let mut text = Vec::new();
        if part.by_ref().take(HEAD).read_to_end(&mut text).is_err() {
            continue;
        }
        let Some(encoding) = encoding(&text).filter(|encoding| *encoding != UTF_8) else {
            continue;
        };
        let read = part.take(left).read_to_end(&mut text);
        left = left.saturating_sub(text.len() as u64);
        if left == 0 {
            return Err(Flaw::PartTooLarge {
                part: name,
                bound: HELD_PART_BYTES,
            });
        }
        let (decoded, _, has_errors) = encoding.decode(&text);
        if read.is_ok() && !has_errors {
            changes
                .texts
                .insert(name, decoded.into_owned().into_bytes());
        }
    }
    Ok(changes)
}

/// An XML text in the encoding that it states, UTF-8 where it states none; `None` where it is not.
pub(super) fn text_of_xml(bytes: &[u8]) -> Option<Cow<'_, str>> {
    let encoding = encoding(bytes).unwrap_or(UTF_8);
    let (text, _, has_errors) = encoding.decode(bytes);
    (!has_errors).then_some(text)
}

/// The encoding that the head of an XML text states (XML 1.0, appendix F).
fn encoding(head: &[u8]) -> Option<&'static Encoding> {
    if let Some((encoding, _)) = Encoding::for_bom(head) {
        return Some(encoding);
    }
    if head.starts_with(b"<\0") {
        return Some(UTF_16LE);
    }
    if head.starts_with(b"\0<") {
        return Some(UTF_16BE);
    }
    let declaration = head.strip_prefix(b"<?xml")?;
    let end = memchr::memchr(b'>', declaration)?;
    Encoding::for_label(attribute(&declaration[..end], b"encoding")?)
}

/// Ways to the parts of a workbook without steps back, and its tables where they usually lie.
fn straight(archive: &mut Archive<'_>) -> Changes {
    const ROOT: &str = "_rels/.rels";
    let mut changes = Changes::default();
    let Some(root) = text_of(archive, ROOT) else {
        return changes;
    };
    if let Some(text) = led(&root, "", true, |_, part| part) {
        changes.texts.insert(ROOT.to_owned(), text);
    }
    let Some((folder, name)) = workbook_part(&root) else {
        return changes;
    };
    let ways = format!("{folder}_rels/{name}.rels");
    let Some(relationships) = text_of(archive, &ways) else {
        return changes;
    };
    let parts: BTreeMap<String, String> = archive
        .file_names()
        .filter_map(Result::ok)
        .map(|name| {
            (
                name.replace('\\', "/").to_ascii_lowercase(),
                name.into_owned(),
            )
        })
        .collect();
    let names = &mut changes.names;
    // In an `.xlsb` it takes no way from the root, and no name in another case.
    let is_binary = is_binary(&name);
    let text = led(&relationships, &folder, !is_binary, |kind, part| {
        let Some(usual) = usual_place(kind, &folder, &name) else {
            let own = parts.get(&part.to_ascii_lowercase()).filter(|_| is_binary);
            return own.cloned().unwrap_or(part);
        };
        let is_taken = parts.contains_key(&usual.to_ascii_lowercase());
        match parts.get(&part.to_ascii_lowercase()) {
            Some(name) if !is_taken && !names.values().any(|taken| *taken == usual) => {
                names.insert(name.clone(), usual.clone());
                usual
            }
            _ => part,
        }
    });
    if let Some(text) = text {
        changes.texts.insert(ways, text);
    }
    changes
}

/// Where `calamine` looks for the texts and styles of the cells, whatever the workbook says. `workbook`: the
/// name of its main part, which ends as they do.
pub(super) fn usual_place(kind: &[u8], folder: &str, workbook: &str) -> Option<String> {
    let name = match kind {
        _ if kind.ends_with(b"/sharedStrings") => "sharedStrings",
        _ if kind.ends_with(b"/styles") => "styles",
        _ => return None,
    };
    let ending = if is_binary(workbook) { "bin" } else { "xml" };
    Some(format!("{folder}{name}.{ending}"))
}

fn is_binary(workbook: &str) -> bool {
    workbook.to_ascii_lowercase().ends_with(".bin")
}

/// The relationships with each target as `to` has it, by its kind and the part it leads to; `None` where
/// that is how they stand. `from_root`: a way may lead from the root of the package.
fn led(
    relationships: &[u8],
    folder: &str,
    from_root: bool,
    mut to: impl FnMut(&[u8], String) -> String,
) -> Option<Vec<u8>> {
    let (mut new, mut copied) = (Vec::new(), 0);
    for tag in tags(relationships, b"Relationship") {
        if attribute(tag, b"TargetMode") == Some(b"External") {
            continue;
        }
        let Some(target) = attribute(tag, b"Target") else {
            continue;
        };
        let Some(part) = std::str::from_utf8(target)
            .ok()
            .and_then(|t| part(folder, t))
        else {
            continue;
        };
        let part = to(attribute(tag, b"Type").unwrap_or_default(), part);
        let way = match part.strip_prefix(folder) {
            Some(rest) => rest.to_owned(),
            None => format!("/{part}"),
        };
        let leads_from_root = target.strip_prefix(b"/") == Some(part.as_bytes());
        if way.as_bytes() == target || from_root && leads_from_root {
            continue;
        }
        let start = target.as_ptr().addr() - relationships.as_ptr().addr();
        new.extend_from_slice(&relationships[copied..start]);
        new.extend_from_slice(way.as_bytes());
        copied = start + target.len();
    }
    if copied == 0 {
        return None;
    }
    new.extend_from_slice(&relationships[copied..]);
    Some(new)
}

/// The name of the part to which `target` leads from `folder` (`xl/`); `None` where it leads out of the
/// package.
pub(super) fn part(folder: &str, target: &str) -> Option<String> {
    let target = target.replace('\\', "/");
    let folder = if target.starts_with('/') { "" } else { folder };
    let mut steps = Vec::new();
    for step in folder.split('/').chain(target.split('/')) {
        match step {
            "" | "." => (),
            ".." => {
                steps.pop()?;
            }
            step => steps.push(step),
        }
    }
    Some(steps.join("/"))
}

fn written(archive: &mut Archive<'_>, changes: &Changes) -> Result<Option<Vec<u8>>, Flaw> {
    if changes.texts.is_empty() && changes.names.is_empty() {
        return Ok(None);
    }
    anew(archive, changes).map(Some).map_err(broken)
}

/// The package with its changes; what does not change is copied as it is packed.
fn anew(archive: &mut Archive<'_>, changes: &Changes) -> ZipResult<Vec<u8>> {
    let mut new = ZipWriter::new(Cursor::new(Vec::new()));
    let plain = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for index in 0..archive.len() {
        let part = archive.by_index_raw(index)?;
        let name = part.name()?.into_owned();
        match changes.texts.get(&name) {
            Some(text) => {
                new.start_file(name, plain)?;
                new.write_all(text)?;
            }
            None => {
                let name = changes.names.get(&name).cloned().unwrap_or(name);
                new.raw_copy_file_rename(part, name)?;
            }
        }
    }
    Ok(new.finish()?.into_inner())
}
