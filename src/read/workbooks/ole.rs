//! An OLE compound file is looked through before `calamine` sees it: what it holds, and whether its
//! chains of sectors end (one that runs in a circle would fill the memory). Form: MS-CFB.

use super::biff;
use super::bytes::{u16_at, u32_at};
use super::workbook::refuse_namesakes;
use super::xls;
use crate::read::bounds::XLS_BYTES;
use crate::read::findings::Flaw;
use crate::read::grid::Report;
use crate::read::open::Form;
use crate::read::options::Options;
use std::collections::BTreeMap;

const END_OF_CHAIN: u32 = 0xFFFF_FFFE;
/// Sector numbers from here on are marks, not sectors (MS-CFB 2.1).
const FIRST_MARK: u32 = 0xFFFF_FFFA;
const MINI_SECTOR: usize = 64;
/// Streams shorter than this lie in mini sectors (MS-CFB 2.2, mini stream cutoff).
const MINI_BELOW: u64 = 4096;

/// Reads the workbook of a compound file into the report.
pub(in crate::read) fn read(
    bytes: &[u8],
    options: &Options,
    report: &mut Report,
) -> Result<Form, Flaw> {
    if bytes.len() as u64 > XLS_BYTES {
        return Err(Flaw::FileTooLarge {
            bytes: bytes.len() as u64,
            bound: XLS_BYTES,
        });
    }
    let compound = Compound::parse(bytes).map_err(broken)?;
    let has = |name: &str| compound.entries.contains_key(&name.to_ascii_lowercase());
    if has("EncryptedPackage") {
        return Err(Flaw::PasswordProtected);
    }
    let stream = match ["Workbook", "Book"].into_iter().find(|name| has(name)) {
        Some(name) => compound.stream(name).map_err(broken)?,
        None if has("WordDocument") => {
            return Err(Flaw::WrongFormat {
                is: "a Word document",
            });
        }
        None if has("PowerPoint Document") => {
            return Err(Flaw::WrongFormat {
                is: "a presentation",
            });
        }
        None if has("__properties_version1.0") => return Err(Flaw::WrongFormat { is: "a letter" }),
        None => {
            return Err(Flaw::WorkbookBroken {
                reason: "no workbook in it".to_owned(),
            });
        }
    };
    let survey = biff::survey(&stream)?;
    xls::read(bytes, &survey, options, report)?;
    refuse_namesakes(report);
    Ok(Form::Xls)
}

fn broken(reason: &'static str) -> Flaw {
    Flaw::WorkbookBroken {
        reason: reason.to_owned(),
    }
}

struct Compound<'b> {
    bytes: &'b [u8],
    sector: usize,
    fat: Vec<u32>,
    mini_fat: Vec<u32>,
    mini_stream: Vec<u8>,
    /// Start and length of each stream, by lower-case name.
    entries: BTreeMap<String, (u32, u64)>,
}

impl<'b> Compound<'b> {
    fn parse(bytes: &'b [u8]) -> Result<Self, &'static str> {
        let sector = match u16_at(bytes, 30) {
            Some(9) => 512,
            Some(12) => 4096,
            _ => return Err("the head of the file is damaged"),
        };
        let head = |at| u32_at(bytes, at).ok_or("the file breaks off in its head");
        let (directory, mini_start, mini_sectors) = (head(48)?, head(60)?, head(64)?);
        let mut compound = Self {
            bytes,
            sector,
            fat: Vec::new(),
            mini_fat: Vec::new(),
            mini_stream: Vec::new(),
            entries: BTreeMap::new(),
        };
        compound.fat = compound.read_fat(head(68)?)?;
        let entries = compound.chain(directory, u64::MAX)?;
        let mut root = None;
        for entry in entries.chunks_exact(128) {
            let Some((name, start, bytes)) = parse_entry(entry, sector) else {
                continue;
            };
            root = root.or(Some((start, bytes)));
            compound.entries.entry(name).or_insert((start, bytes));
        }
        let (root_start, root_bytes) = root.ok_or("its directory is empty")?;
        if mini_sectors > 0 {
            compound.mini_stream = compound.chain(root_start, root_bytes)?;
            let bytes = u64::from(mini_sectors) * sector as u64;
            compound.mini_fat = words(&compound.chain(mini_start, bytes)?);
        }
        Ok(compound)
    }

    fn sectors(&self) -> usize {
        self.bytes.len() / self.sector + 1
    }

    /// The bytes of a sector; shorter where the file breaks off.
    fn sector(&self, id: u32) -> Result<&'b [u8], &'static str> {
        const BEYOND: &str = "it points beyond its end";
        let start = (id as usize)
            .checked_add(1)
            .and_then(|n| n.checked_mul(self.sector))
            .ok_or(BEYOND)?;
        let end = (start + self.sector).min(self.bytes.len());
        self.bytes
            .get(start..end)
            .filter(|s| !s.is_empty())
            .ok_or(BEYOND)
    }

    fn read_fat(&self, mut more: u32) -> Result<Vec<u32>, &'static str> {
        let mut ids = words(
            self.bytes
                .get(76..512)
                .ok_or("the file breaks off in its head")?,
        );
        let mut steps = 0;
        while more < FIRST_MARK {
            steps += 1;
            if steps > self.sectors() {
                return Err("its table of sectors runs in a circle");
            }
            ids.extend(words(self.sector(more)?));
            more = ids.pop().ok_or("its table of sectors is damaged")?;
        }
        let mut fat = Vec::new();
        for id in ids.into_iter().filter(|id| *id < FIRST_MARK) {
            if fat.len() > self.bytes.len() {
                return Err("its table of sectors is longer than the file");
            }
            fat.extend(words(self.sector(id)?));
        }
        Ok(fat)
    }

    /// The bytes of a chain of sectors, up to `bytes` of them.
    fn chain(&self, mut id: u32, bytes: u64) -> Result<Vec<u8>, &'static str> {
        let mut found = Vec::new();
        let mut steps = 0;
        while id != END_OF_CHAIN && (found.len() as u64) < bytes {
            steps += 1;
            if steps > self.sectors() {
                return Err("a chain of sectors runs in a circle");
            }
            found.extend_from_slice(self.sector(id)?);
            id = *self
                .fat
                .get(id as usize)
                .ok_or("a chain of sectors breaks off")?;
        }
        found.truncate(usize::try_from(bytes).unwrap_or(usize::MAX));
        Ok(found)
    }

    fn mini_chain(&self, mut id: u32, bytes: u64) -> Result<Vec<u8>, &'static str> {
        let mut found = Vec::new();
        let mut steps = 0;
        while id != END_OF_CHAIN && (found.len() as u64) < bytes {
            steps += 1;
            if steps > self.mini_fat.len() + 1 {
                return Err("a chain of sectors runs in a circle");
            }
            let start = id as usize * MINI_SECTOR;
            let end = (start + MINI_SECTOR).min(self.mini_stream.len());
            found.extend_from_slice(
                self.mini_stream
                    .get(start..end)
                    .ok_or("a chain of sectors breaks off")?,
            );
            id = *self
                .mini_fat
                .get(id as usize)
                .ok_or("a chain of sectors breaks off")?;
        }
        found.truncate(usize::try_from(bytes).unwrap_or(usize::MAX));
        Ok(found)
    }

    fn stream(&self, name: &str) -> Result<Vec<u8>, &'static str> {
        let &(start, bytes) = self
            .entries
            .get(&name.to_ascii_lowercase())
            .ok_or("no workbook in it")?;
        if bytes < MINI_BELOW {
            self.mini_chain(start, bytes)
        } else {
            self.chain(start, bytes)
        }
    }
}

/// Name (lower case), first sector and length of a directory entry (MS-CFB 2.6.1).
fn parse_entry(entry: &[u8], sector: usize) -> Option<(String, u32, u64)> {
    let units: Vec<u16> = words_16(&entry[..64])
        .into_iter()
        .take_while(|u| *u != 0)
        .collect();
    let name = String::from_utf16_lossy(&units).to_ascii_lowercase();
    let start = u32_at(entry, 116)?;
    let low = u64::from(u32_at(entry, 120)?);
    let high = u64::from(u32_at(entry, 124)?);
    // Files of 512-byte sectors may leave rubbish in the upper half (MS-CFB 2.6.1).
    let bytes = if sector == 512 { low } else { low | high << 32 };
    Some((name, start, bytes))
}

fn words(bytes: &[u8]) -> Vec<u32> {
    bytes
        .as_chunks::<4>()
        .0
        .iter()
        .map(|w| u32::from_le_bytes(*w))
        .collect()
}

fn words_16(bytes: &[u8]) -> Vec<u16> {
    bytes
        .as_chunks::<2>()
        .0
        .iter()
        .map(|w| u16::from_le_bytes(*w))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A compound file of one directory sector whose chain is as given.
    fn compound(next_of_directory: u32) -> Vec<u8> {
        let mut bytes = vec![0; 512 * 3];
        bytes[..8].copy_from_slice(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1");
        bytes[30] = 9;
        bytes[48..52].copy_from_slice(&1_u32.to_le_bytes());
        bytes[68..72].copy_from_slice(&END_OF_CHAIN.to_le_bytes());
        bytes[76..512].fill(0xff);
        bytes[76..80].copy_from_slice(&0_u32.to_le_bytes());
        bytes[512 + 4..512 + 8].copy_from_slice(&next_of_directory.to_le_bytes());
        bytes
    }

    #[test]
    fn err_a_file_that_is_too_large_is_refused() {
        let bytes = vec![0; XLS_BYTES as usize + 1];
        let refused = read(&bytes, &Options::default(), &mut Report::default());
        let expected = Flaw::FileTooLarge {
            bytes: XLS_BYTES + 1,
            bound: XLS_BYTES,
        };
        assert_eq!(refused, Err(expected));
    }

    #[test]
    fn a_chain_that_ends_is_read() {
        assert!(Compound::parse(&compound(END_OF_CHAIN)).is_ok());
    }

    #[test]
    fn err_a_chain_that_runs_in_a_circle_is_refused() {
        assert_eq!(
            Compound::parse(&compound(1)).err(),
            Some("a chain of sectors runs in a circle")
        );
    }

    proptest! {
        #[test]
        fn no_bytes_panic(at in 0usize..1536, byte in any::<u8>(), cut in 0usize..1536) {
            let mut bytes = compound(END_OF_CHAIN);
            bytes[at] = byte;
            let parsed = Compound::parse(&bytes[..cut.max(32)]);
            if let Ok(compound) = parsed { prop_assert!(compound.stream("Workbook").is_err()); }
        }
    }
}
