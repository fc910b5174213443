//! A zip is looked through before `calamine` sees it: which workbook it is, and whether what it
//! claims and what it unfolds to stay within bounds. `calamine` reserves memory for as many strings
//! as a file claims to have, and inflates whatever there is.

use super::bounds::{DEFLATE_RATIO, HELD_PART_BYTES, PACKAGE_BYTES, PART_BYTES, ZIP_ENTRIES};
use super::findings::Flaw;
use super::grid::Report;
use super::markup::{self, attribute};
use super::open::Form;
use super::sheet_scan::{self, SheetTraits};
use super::{ods, xlsb, xlsx};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read};
use zip::ZipArchive;
use zip::result::ZipError;

type Archive<'b> = ZipArchive<Cursor<&'b [u8]>>;

/// Reads a zipped workbook into the report.
pub(super) fn read(bytes: &[u8], report: &mut Report) -> Result<Form, Flaw> {
    let mut archive: Archive<'_> = ZipArchive::new(Cursor::new(bytes)).map_err(broken)?;
    if archive.len() > ZIP_ENTRIES {
        return Err(Flaw::PartTooLarge {
            part: format!("{} entries", archive.len()),
            bound: ZIP_ENTRIES as u64,
        });
    }
    let form = form(&mut archive)?;
    let scanned = vet(&mut archive, form)?;
    match form {
        Form::Ods => ods::read(
            bytes,
            archive.by_name("content.xml").map_err(broken)?,
            report,
        )?,
        Form::Xlsb => xlsb::read(bytes, report)?,
        _ => xlsx::read(bytes, &in_order(&mut archive, scanned)?, report)?,
    }
    Ok(form)
}

fn form(archive: &mut Archive<'_>) -> Result<Form, Flaw> {
    let mut media_type = Vec::new();
    if let Ok(part) = archive.by_name("mimetype") {
        const LONGEST: u64 = 100;
        part.take(LONGEST)
            .read_to_end(&mut media_type)
            .map_err(|e| Flaw::WorkbookBroken {
                reason: e.to_string(),
            })?;
    }
    if media_type.starts_with(b"application/vnd.oasis.opendocument.spreadsheet") {
        return Ok(Form::Ods);
    }
    if media_type.starts_with(b"application/vnd.oasis.opendocument") {
        return Err(Flaw::WrongFormat {
            is: "an OpenDocument text or drawing",
        });
    }
    let mut names: Vec<String> = archive
        .file_names()
        .filter_map(Result::ok) // a name that cannot be decoded is none of those looked for
        .map(|n| n.replace('\\', "/").to_ascii_lowercase())
        .collect();
    names.sort_unstable();
    let has = |name: &str| names.iter().any(|n| n == name);
    let has_under = |folder: &str| names.iter().any(|n| n.starts_with(folder));
    if has("xl/workbook.bin") {
        Ok(Form::Xlsb)
    } else if has_under("xl/") {
        Ok(Form::Xlsx)
    } else if has_under("word/") {
        Err(Flaw::WrongFormat {
            is: "a Word document",
        })
    } else if has_under("ppt/") {
        Err(Flaw::WrongFormat {
            is: "a presentation",
        })
    } else if has_under("index/") && has("index/document.iwa") {
        Err(Flaw::WrongFormat {
            is: "a Numbers spreadsheet",
        })
    } else if has("[content_types].xml") {
        // A workbook whose main part has an unusual place: `calamine` follows its relationships.
        Ok(Form::Xlsx)
    } else {
        Err(Flaw::WrongFormat {
            is: "a zip archive",
        })
    }
}

/// What the scan of each sheet's part found, by the part's name in lower case.
type Scanned = BTreeMap<String, SheetTraits>;

/// What was found of each sheet, in the order of the workbook; `None` where its part is not known. Fails
/// where two sheets are one part: a bomb that is unfolded once for each of a thousand sheets.
fn in_order(
    archive: &mut Archive<'_>,
    mut scanned: Scanned,
) -> Result<Vec<Option<SheetTraits>>, Flaw> {
    let mut met: BTreeSet<String> = BTreeSet::new();
    let sheets = sheets_of_workbook(archive).unwrap_or_default();
    let traits = |part: Option<String>| {
        let Some(part) = part else {
            return Ok(None);
        };
        let lower = part.to_ascii_lowercase();
        let traits = scanned.remove(&lower);
        if met.insert(lower) {
            return Ok(traits);
        }
        Err(Flaw::WorkbookBroken {
            reason: format!("two of its sheets are one part, '{part}'"),
        })
    };
    sheets.into_iter().map(traits).collect()
}

/// The parts of the sheets in the order of the workbook, by its relationships; `None` where the
/// package has an unusual form (`calamine` may understand it all the same).
fn sheets_of_workbook(archive: &mut Archive<'_>) -> Option<Vec<Option<String>>> {
    let root = text_of(archive, "_rels/.rels")?;
    let workbook = markup::tags(&root, b"Relationship").find_map(|tag| {
        let kind = attribute(tag, b"Type")?;
        kind.ends_with(b"/officeDocument")
            .then(|| attribute(tag, b"Target"))?
    })?;
    let workbook = std::str::from_utf8(workbook).ok()?.trim_start_matches('/');
    let (folder, name) = workbook
        .rsplit_once('/')
        .map_or(("", workbook), |(f, n)| (f, n));
    let prefix = if folder.is_empty() {
        String::new()
    } else {
        format!("{folder}/")
    };
    let relationships = text_of(archive, &format!("{prefix}_rels/{name}.rels"))?;
    let targets: BTreeMap<&[u8], &[u8]> = markup::tags(&relationships, b"Relationship")
        .filter_map(|tag| Some((attribute(tag, b"Id")?, attribute(tag, b"Target")?)))
        .collect();
    let book = text_of(archive, workbook)?;
    let part = |tag: &[u8]| {
        let target = std::str::from_utf8(targets.get(attribute(tag, b"id")?)?).ok()?;
        Some(match target.strip_prefix('/') {
            Some(whole) => whole.to_owned(),
            None => format!("{prefix}{target}"),
        })
    };
    Some(markup::tags(&book, b"sheet").map(part).collect())
}

fn text_of(archive: &mut Archive<'_>, name: &str) -> Option<Vec<u8>> {
    let mut text = Vec::new();
    // A part that cannot be read is told when the workbook is opened.
    archive
        .by_name(name)
        .ok()?
        .take(HELD_PART_BYTES)
        .read_to_end(&mut text)
        .ok()?;
    Some(text)
}

/// Holds every part that `calamine` may open against the bounds.
fn vet(archive: &mut Archive<'_>, form: Form) -> Result<Scanned, Flaw> {
    let mut scanned = Scanned::new();
    let mut total = 0_u64;
    for index in 0..archive.len() {
        let Some(part) = Part::of(archive, index)? else {
            continue;
        };
        let bound = part.bound();
        let too_large = || Flaw::PartTooLarge {
            part: part.name.clone(),
            bound,
        };
        if part.stated > bound {
            return Err(too_large());
        }
        // The stated size may lie; the packed size cannot, as no more than that is read.
        let most = part.packed.saturating_mul(DEFLATE_RATIO);
        let unfolded = if most <= bound && total + most <= PACKAGE_BYTES {
            part.stated.min(most)
        } else {
            let opened = archive.by_index(index).map_err(broken)?;
            measure(opened, bound).map_err(|reason| Flaw::WorkbookBroken { reason })?
        };
        total += unfolded;
        if unfolded > bound {
            return Err(too_large());
        }
        if total > PACKAGE_BYTES {
            let part = "all parts together".to_owned();
            return Err(Flaw::PartTooLarge {
                part,
                bound: PACKAGE_BYTES,
            });
        }
        if form == Form::Xlsx && part.is_sheet() {
            let traits = sheet_scan::scan(archive.by_index(index).map_err(broken)?, bound);
            scanned.insert(part.lower, traits);
        } else if part.is_strings() {
            vet_strings(archive.by_index(index).map_err(broken)?, &part)?;
        }
    }
    Ok(scanned)
}

fn broken(e: ZipError) -> Flaw {
    match e {
        ZipError::UnsupportedArchive(ZipError::PASSWORD_REQUIRED) => Flaw::PasswordProtected,
        e => Flaw::WorkbookBroken {
            reason: e.to_string(),
        },
    }
}

/// A part of the package that `calamine` may open.
struct Part {
    name: String,
    lower: String,
    /// Unfolded, as the package states it.
    stated: u64,
    packed: u64,
}

impl Part {
    /// `None` for folders, pictures and other parts that are never opened.
    fn of(archive: &mut Archive<'_>, index: usize) -> Result<Option<Self>, Flaw> {
        let part = archive.by_index(index).map_err(broken)?;
        let name = part.name().map_err(broken)?.replace('\\', "/");
        let lower = name.to_ascii_lowercase();
        let is_read = [".xml", ".bin", ".rels"]
            .iter()
            .any(|end| lower.ends_with(end));
        let (stated, packed) = (part.size(), part.compressed_size());
        Ok((is_read && !part.is_dir()).then_some(Self {
            name,
            lower,
            stated,
            packed,
        }))
    }

    fn bound(&self) -> u64 {
        // Sheets are streamed, all else is held in memory.
        if self.lower.contains("worksheets/") {
            PART_BYTES
        } else {
            HELD_PART_BYTES
        }
    }

    fn is_sheet(&self) -> bool {
        self.lower.contains("worksheets/") && self.lower.ends_with(".xml")
    }

    fn is_strings(&self) -> bool {
        self.lower.contains("sharedstrings.")
    }
}

/// How much a part really unfolds to; stops one byte past the bound.
fn measure(part: impl Read, bound: u64) -> Result<u64, String> {
    std::io::copy(&mut part.take(bound + 1), &mut std::io::sink()).map_err(|e| e.to_string())
}

/// Refuses a table of strings that claims more of them than its bytes can hold: `calamine` reserves
/// memory by the claim. Every place that looks like a claim is held to it, wherever it stands: which of
/// them counts is for an XML reader to say.
fn vet_strings(opened: impl Read, part: &Part) -> Result<(), Flaw> {
    const NAME: &[u8] = b"uniqueCount";
    let mut text = Vec::new();
    // A part that cannot be inflated is told when the workbook is opened; until there it is vetted.
    opened.take(HELD_PART_BYTES).read_to_end(&mut text).ok();
    // `<si/>` is the shortest string there is.
    const SHORTEST: u64 = 5;
    let most = part.stated.min(part.packed.saturating_mul(DEFLATE_RATIO)) / SHORTEST;
    for at in memchr::memmem::find_iter(&text, NAME) {
        let digits: String = text[at + NAME.len()..]
            .iter()
            .skip_while(|b| matches!(b, b' ' | b'\t' | b'\r' | b'\n' | b'=' | b'"' | b'\'' | b'+'))
            .take_while(|b| b.is_ascii_digit())
            .map(|b| char::from(*b))
            .collect();
        if digits.is_empty() {
            continue;
        }
        // More digits than a u64 has is more than any file holds.
        let claim = digits.parse().unwrap_or(u64::MAX);
        if claim > most {
            return Err(Flaw::WorkbookBroken {
                reason: format!(
                    "'{}' claims {claim} strings in {} bytes",
                    part.name, part.stated
                ),
            });
        }
    }
    Ok(())
}
