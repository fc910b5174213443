//! Zipped workbooks are changed part by part, unpacked, so that the changes reach the readers and not
//! only the unpacking.

use super::dice::Dice;
use super::pieces;
use std::io::{Cursor, Read, Write};

pub(crate) struct Parts(Vec<(String, Vec<u8>)>);

impl Parts {
    /// `None` when the bytes are no zip.
    pub(crate) fn unpack(bytes: &[u8]) -> Option<Self> {
        let mut package = zip::ZipArchive::new(Cursor::new(bytes)).ok()?;
        let mut parts = Vec::new();
        for index in 0..package.len() {
            let mut part = package.by_index(index).ok()?;
            let name = part.name().ok()?.into_owned();
            let mut content = Vec::new();
            part.read_to_end(&mut content).ok()?;
            parts.push((name, content));
        }
        (!parts.is_empty()).then_some(Self(parts))
    }

    /// Packed again, with one part changed or two.
    pub(crate) fn changed(&self, dice: &mut Dice) -> Vec<u8> {
        let mut parts = self.0.clone();
        for _ in 0..=dice.roll(2) {
            if parts.is_empty() {
                break;
            }
            let at = dice.roll(parts.len());
            match dice.roll(20) {
                0 => {
                    parts.remove(at);
                }
                1 => {
                    let other = dice.roll(parts.len());
                    parts[at].1 = parts[other].1.clone();
                }
                2 => dice.change_text(&mut parts[at].0),
                _ => {
                    let is_markup = parts[at].1.starts_with(b"<");
                    match std::str::from_utf8(&parts[at].1) {
                        Ok(text) if is_markup && dice.roll(4) > 0 => {
                            parts[at].1 = changed_markup(text, dice).into_bytes();
                        }
                        _ => dice.change_bytes(&mut parts[at].1),
                    }
                }
            }
        }
        pack(&parts)
    }
}

/// Parts of one name, or of none, are left out: they cannot be packed.
fn pack(parts: &[(String, Vec<u8>)]) -> Vec<u8> {
    let mut package = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored =
        zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, content) in parts {
        if package.start_file(name.as_str(), stored).is_ok() {
            package.write_all(content).unwrap();
        }
    }
    package.finish().unwrap().into_inner()
}

/// Markup with a value, an element or a stretch of elements changed, so that it mostly stays well formed.
fn changed_markup(text: &str, dice: &mut Dice) -> String {
    let mut text = text.to_owned();
    for _ in 0..=dice.roll(3) {
        let change = dice.roll(6);
        let Some((start, end)) = (match change {
            // Between quotes: the value of an attribute.
            0 | 1 => between(&text, dice, '"', '"'),
            // Between tags: text.
            2 => between(&text, dice, '>', '<'),
            // A tag.
            _ => between(&text, dice, '<', '>').map(|(s, e)| (s - 1, e + 1)),
        }) else {
            continue;
        };
        match change {
            0..=2 => {
                let value = match dice.roll(3) {
                    0 => {
                        let mut value = text[start..end].to_owned();
                        dice.change_text(&mut value);
                        value
                    }
                    _ => (*dice.pick(pieces::ODD_VALUES)).to_owned(),
                };
                text.replace_range(start..end, &value);
            }
            3 => {
                let tag = text[start..end].to_owned();
                text.insert_str(end, &tag);
            }
            4 => text.replace_range(start..end, ""),
            // A stretch from here to a later tag, again and again.
            _ => {
                let later = between(&text, dice, '<', '>').map_or(end, |(_, e)| e + 1);
                let (from, to) = (start.min(later), start.max(later).min(start + 2_000));
                if let Some(stretch) = text.get(from..to) {
                    let stretch = stretch.repeat(1 + dice.roll(3));
                    text.insert_str(to, &stretch);
                }
            }
        }
    }
    text
}

/// A random stretch between two signs, which are ASCII.
fn between(text: &str, dice: &mut Dice, open: char, close: char) -> Option<(usize, usize)> {
    if text.is_empty() {
        return None;
    }
    let mut from = dice.roll(text.len());
    while !text.is_char_boundary(from) {
        from -= 1;
    }
    let start = from + text[from..].find(open)? + 1;
    let end = start + text[start..].find(close)?;
    Some((start, end))
}
