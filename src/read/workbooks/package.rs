//! A zip is looked through before `calamine` sees it: which workbook it is, and whether what it
//! claims and what it unfolds to stay within bounds. `calamine` reserves memory for as many strings
//! as a file claims to have, and inflates whatever there is.

use super::bytes::u16_at;
use super::markup::{self, attribute};
use super::mend;
use super::ods;
use super::sheet_scan::{self, SheetTraits};
use super::strings::{self, Raised};
use super::workbook::refuse_namesakes;
use super::xlsb;
use super::xlsb_scan::{self, Formats, SheetScan};
use super::xlsx;
use crate::place::Place;
use crate::read::bounds::{DEFLATE_RATIO, HELD_PART_BYTES, PACKAGE_BYTES, PART_BYTES, ZIP_ENTRIES};
use crate::read::findings::Flaw;
use crate::read::grid::Report;
use crate::read::open::Form;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufReader, Cursor, Read};
use zip::ZipArchive;
use zip::result::ZipError;

pub(super) type Archive<'b> = ZipArchive<Cursor<&'b [u8]>>;

/// Reads a zipped workbook into the report.
pub(in crate::read) fn read(bytes: &[u8], report: &mut Report) -> Result<Form, Flaw> {
    let mut archive = opened(bytes)?;
    let mended = mend::mended(&mut archive)?;
    let form = read_as_it_is(mended.as_deref().unwrap_or(bytes), report)?;
    let start = memchr::memmem::find(bytes, b"PK\x03\x04").map_or(0, |at| at as u64);
    if start < archive.offset() {
        return Err(Flaw::WorkbookBroken {
            reason: "two packages stand one behind the other".to_owned(),
        });
    }
    if start > 0 {
        let place = Place::file(&report.file);
        report.findings.push(Flaw::BytesInFront.at(place));
    }
    Ok(form)
}

/// The package, its directory vetted.
pub(super) fn opened(bytes: &[u8]) -> Result<Archive<'_>, Flaw> {
    let archive: Archive<'_> = ZipArchive::new(Cursor::new(bytes)).map_err(broken)?;
    if archive.len() > ZIP_ENTRIES {
        return Err(Flaw::PartTooLarge {
            part: format!("{} entries", archive.len()),
            bound: ZIP_ENTRIES as u64,
        });
    }
    if entries(bytes, archive.central_directory_start()) != archive.len() {
        return Err(twice("a part"));
    }
    Ok(archive)
}

fn read_as_it_is(bytes: &[u8], report: &mut Report) -> Result<Form, Flaw> {
    let mut archive = opened(bytes)?;
    let form = form(&mut archive)?;
    let vetted = vet(&mut archive, form)?;
    match form {
        Form::Ods => {
            let manifest = text_of(&mut archive, "META-INF/manifest.xml").unwrap_or_default();
            if memchr::memmem::find(&manifest, b"encryption-data").is_some() {
                return Err(Flaw::PasswordProtected);
            }
            ods::read(archive.by_name("content.xml").map_err(broken)?, report)?;
        }
        Form::Xlsb => {
            let (formats, scans) = binary_sheets(&mut archive);
            let table = text_of(&mut archive, "xl/sharedStrings.bin").unwrap_or_default();
            let raised = formats.raised(&table);
            xlsb::read(bytes, &formats, &scans, &raised, report)?;
            refuse_namesakes(report);
        }
        _ => {
            let traits = in_order(&mut archive, vetted.sheets)?;
            xlsx::read(bytes, &traits, &vetted.raised, report)?;
            refuse_namesakes(report);
        }
    }
    Ok(form)
}

/// Entries of the package's directory, which begins at `start`, those of one name each counted (APPNOTE.TXT
/// 4.3.12). `zip` gives the last of a name, and no more than the end of the package states.
fn entries(bytes: &[u8], start: u64) -> usize {
    const FIXED: usize = 46;
    let mut rest = usize::try_from(start).ok().and_then(|at| bytes.get(at..));
    let mut entries = 0;
    while let Some(entry) = rest.filter(|rest| rest.starts_with(b"PK\x01\x02")) {
        let lengths = [28, 30, 32].map(|at| u16_at(entry, at).map_or(0, usize::from));
        rest = entry.get(FIXED + lengths.iter().sum::<usize>()..);
        entries += 1;
    }
    entries
}

fn twice(what: &str) -> Flaw {
    Flaw::WorkbookBroken {
        reason: format!("{what} is in it twice, and programs differ in which they take"),
    }
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
    } else if has("content.xml") && is_spreadsheet(archive) {
        Ok(Form::Ods)
    } else if has("[content_types].xml") {
        // A workbook whose main part has an unusual place: `calamine` follows its relationships.
        Ok(Form::Xlsx)
    } else {
        Err(Flaw::WrongFormat {
            is: "a zip archive",
        })
    }
}

/// Whether an OpenDocument package without a media type is a spreadsheet.
fn is_spreadsheet(archive: &mut Archive<'_>) -> bool {
    let content = text_of(archive, "content.xml").unwrap_or_default();
    memchr::memmem::find(&content, b":spreadsheet>").is_some()
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
    let sheets = match workbook_of(archive) {
        Some(workbook) => {
            workbook.vet_places()?;
            workbook.sheets().collect()
        }
        None => Vec::new(),
    };
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

/// The formats of the cells of an `.xlsb`, and what was found of each sheet in order. Its parts lie where
/// `calamine` looks for them.
fn binary_sheets(archive: &mut Archive<'_>) -> (Formats, Vec<SheetScan>) {
    let formats = Formats::of(&text_of(archive, "xl/styles.bin").unwrap_or_default());
    let rels = text_of(archive, "xl/_rels/workbook.bin.rels").unwrap_or_default();
    let targets = targets(&rels);
    let workbook = text_of(archive, "xl/workbook.bin").unwrap_or_default();
    let mut scans = Vec::new();
    for id in xlsb_scan::sheet_ids(&workbook) {
        let target = targets.get(id.as_bytes()).copied().unwrap_or_default();
        let part = format!("xl/{}", String::from_utf8_lossy(target));
        // `calamine` tells of a sheet that is not there.
        let scan = archive.by_name(&part).map(|part| {
            let part = BufReader::new(part);
            xlsb_scan::scan(part.take(PART_BYTES), &formats)
        });
        scans.push(scan.unwrap_or_default());
    }
    (formats, scans)
}

/// The main part of a workbook, and what it refers to.
struct Workbook {
    /// Of the part: `xl/` and `workbook.xml`.
    folder: String,
    name: String,
    text: Vec<u8>,
    relationships: Vec<u8>,
}

/// `None` where the package has an unusual form (`calamine` may understand it all the same).
fn workbook_of(archive: &mut Archive<'_>) -> Option<Workbook> {
    let (folder, name) = workbook_part(&text_of(archive, "_rels/.rels")?)?;
    Some(Workbook {
        relationships: text_of(archive, &format!("{folder}_rels/{name}.rels"))?,
        text: text_of(archive, &format!("{folder}{name}"))?,
        folder,
        name,
    })
}

/// Folder (`xl/`) and name of the main part, by the relationships of the package.
pub(super) fn workbook_part(root: &[u8]) -> Option<(String, String)> {
    let target = markup::tags(root, b"Relationship").find_map(|tag| {
        let kind = attribute(tag, b"Type")?;
        kind.ends_with(b"/officeDocument")
            .then(|| attribute(tag, b"Target"))?
    })?;
    let part = mend::part("", std::str::from_utf8(target).ok()?)?;
    let name = part.rfind('/').map_or(0, |at| at + 1);
    let (folder, name) = part.split_at(name);
    Some((folder.to_owned(), name.to_owned()))
}

impl Workbook {
    /// The name of the part that a relationship leads to.
    fn part(&self, target: &[u8]) -> Option<String> {
        mend::part(&self.folder, std::str::from_utf8(target).ok()?)
    }

    /// The parts of the sheets, in order; `None` where it is not known.
    fn sheets(&self) -> impl Iterator<Item = Option<String>> {
        let targets = targets(&self.relationships);
        markup::tags(&self.text, b"sheet")
            .map(move |tag| self.part(targets.get(attribute(tag, b"id")?)?))
    }

    /// `calamine` looks for the texts and styles of the cells in parts of their usual names, whatever the
    /// workbook says: a sheet would have the texts of another.
    fn vet_places(&self) -> Result<(), Flaw> {
        let ids = markup::tags(&self.relationships, b"Relationship")
            .filter_map(|tag| attribute(tag, b"Id"));
        let mut met = BTreeSet::new();
        if !ids.into_iter().all(|id| met.insert(id)) {
            return Err(twice("the way to a part"));
        }
        for tag in markup::tags(&self.relationships, b"Relationship") {
            let kind = attribute(tag, b"Type").unwrap_or_default();
            let Some(usual) = mend::usual_place(kind, &self.folder, &self.name) else {
                continue;
            };
            let part = attribute(tag, b"Target").and_then(|target| self.part(target));
            let part = part.unwrap_or_default();
            if !part.eq_ignore_ascii_case(&usual) {
                return Err(Flaw::WorkbookBroken {
                    reason: format!("'{part}' does not lie in its usual place, '{usual}'"),
                });
            }
        }
        Ok(())
    }
}

/// What each relationship leads to, by its name.
fn targets(relationships: &[u8]) -> BTreeMap<&[u8], &[u8]> {
    markup::tags(relationships, b"Relationship")
        .filter_map(|tag| Some((attribute(tag, b"Id")?, attribute(tag, b"Target")?)))
        .collect()
}

pub(super) fn text_of(archive: &mut Archive<'_>, name: &str) -> Option<Vec<u8>> {
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

/// What was found while the parts were held against the bounds.
#[derive(Default)]
struct Vetted {
    sheets: Scanned,
    raised: Raised,
}

/// Holds every part against the bounds: a workbook can have its sheets in parts of any name.
fn vet(archive: &mut Archive<'_>, form: Form) -> Result<Vetted, Flaw> {
    let mut vetted = Vetted::default();
    let mut met: BTreeSet<String> = BTreeSet::new();
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
            measure(opened, bound).map_err(|e| damaged(&part.name, e))?
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
        // Names are looked up whatever their case.
        if !met.insert(part.lower.clone()) {
            return Err(twice(&format!("'{}'", part.name)));
        }
        if form == Form::Xlsx && part.is_sheet() {
            let mut traits = sheet_scan::scan(archive.by_index(index).map_err(broken)?, bound);
            vetted.raised.extend(std::mem::take(&mut traits.raised));
            vetted.sheets.insert(part.lower, traits);
        } else if part.is_strings() {
            let text = vet_strings(archive.by_index(index).map_err(broken)?, &part)?;
            vetted.raised.extend(strings::raised_in(&text));
        } else if part.is_of_cells() {
            let opened = archive.by_index(index).map_err(broken)?;
            measure(opened, bound).map_err(|e| damaged(&part.name, e))?;
        }
    }
    Ok(vetted)
}

pub(super) fn broken(e: ZipError) -> Flaw {
    match e {
        ZipError::UnsupportedArchive(ZipError::PASSWORD_REQUIRED) => Flaw::PasswordProtected,
        e => Flaw::WorkbookBroken {
            reason: e.to_string(),
        },
    }
}

/// A part of the package.
struct Part {
    name: String,
    lower: String,
    /// Unfolded, as the package states it.
    stated: u64,
    packed: u64,
}

impl Part {
    /// `None` for folders.
    fn of(archive: &mut Archive<'_>, index: usize) -> Result<Option<Self>, Flaw> {
        let part = archive.by_index(index).map_err(broken)?;
        let name = part.name().map_err(broken)?.replace('\\', "/");
        let lower = name.to_ascii_lowercase();
        let (stated, packed) = (part.size(), part.compressed_size());
        Ok((!part.is_dir()).then_some(Self {
            name,
            lower,
            stated,
            packed,
        }))
    }

    fn bound(&self) -> u64 {
        // Sheets are streamed and pictures never opened; all else is held in memory.
        let is_held = [".xml", ".bin", ".rels"]
            .iter()
            .any(|end| self.lower.ends_with(end));
        if !is_held || self.lower.contains("worksheets/") {
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

    /// What the cells say depends on it, and nothing else reads it to its end, where a checksum tells
    /// whether it was changed.
    fn is_of_cells(&self) -> bool {
        const ENDS: [&str; 4] = ["workbook.xml", "styles.xml", ".rels", ".bin"];
        ENDS.iter().any(|end| self.lower.ends_with(end))
    }
}

/// How much a part really unfolds to; stops one byte past the bound. Fails where the part is not what the
/// package says of it: its checksum is another.
fn measure(part: impl Read, bound: u64) -> std::io::Result<u64> {
    std::io::copy(&mut part.take(bound + 1), &mut std::io::sink())
}

fn damaged(part: &str, e: impl std::fmt::Display) -> Flaw {
    Flaw::WorkbookBroken {
        reason: format!("'{part}': {e}"),
    }
}

/// Refuses a table of strings that claims more of them than its bytes can hold: `calamine` reserves
/// memory by the claim. Every place that looks like a claim is held to it, wherever it stands: which of
/// them counts is for an XML reader to say. Gives the text of the table.
fn vet_strings(opened: impl Read, part: &Part) -> Result<Vec<u8>, Flaw> {
    const NAME: &[u8] = b"uniqueCount";
    let mut text = Vec::new();
    let read = opened.take(HELD_PART_BYTES).read_to_end(&mut text);
    read.map_err(|e| damaged(&part.name, e))?;
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
    Ok(text)
}
