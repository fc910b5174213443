//! All mappings of a run: where their folder is found, and which of them claims a report.

use super::{Mapping, compile};
use crate::error::{Error, Result};
use crate::file::{SETTINGS_BYTES, read_whole};
use crate::read::Report;
use crate::vocabulary::Vocabulary;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// Name of the folder that is looked for beside the data.
const FOLDER: &str = "mappings";

/// Files of the folder that hold words.
const WORDS: [&str; 3] = ["analytes.toml", "units.toml", "fields.toml"];
/// The file of the folder that holds limits.
const LIMITS: &str = "limits.toml";

/// Which mapping a report belongs to.
#[derive(Clone, Debug)]
pub enum Claim<'a> {
    /// No mapping knows it; it is recognised freely.
    None,
    One(&'a Mapping),
    /// More than one: an error of the mappings, and the report must not be read with any of them.
    Several(Vec<&'a Mapping>),
}

/// The mappings of a run, by name.
#[derive(Debug, Default)]
pub struct Library {
    /// `None`: the built-in words, without any of the user's.
    vocabulary: Option<Vocabulary>,
    mappings: Vec<Mapping>,
    folders: Vec<PathBuf>,
    fingerprint: String,
}

impl Library {
    /// Reads all mappings: of `chosen`, where it is given, else of each folder `mappings` that lies
    /// in or beside one of `roots`. No folder is no error: what is built in goes without.
    ///
    /// Fails with all problems of all files at once, when a file cannot be read, or when `chosen` is
    /// no folder.
    pub fn open(roots: &[PathBuf], chosen: Option<&Path>) -> Result<Self> {
        let folders = folders(roots, chosen)?;
        let mut library = Self {
            vocabulary: own_words(&folders)?,
            ..Self::default()
        };
        let mut told = Vec::new();
        let mut hash = Sha256::new();
        for folder in &folders {
            for path in files(folder)? {
                let bytes = read_whole(&path, SETTINGS_BYTES).map_err(|source| Error::Io {
                    path: path.clone(),
                    what: "cannot read",
                    source,
                })?;
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                hash.update(name.as_bytes());
                hash.update([0]);
                hash.update(Sha256::digest(&bytes));
                if WORDS.contains(&&*name) || name == LIMITS {
                    continue;
                }
                match read(&path, &bytes, library.vocabulary()) {
                    Ok(mapping) => library.mappings.push(mapping),
                    Err(problems) => told.push(problems),
                }
            }
        }
        told.extend(library.same_names());
        if !told.is_empty() {
            return Err(Error::Mapping(told.join("\n\n")));
        }
        library.folders = folders;
        library.fingerprint = format!("{:x}", hash.finalize());
        Ok(library)
    }

    pub fn mappings(&self) -> &[Mapping] {
        &self.mappings
    }

    /// The words of the program and of the user.
    pub fn vocabulary(&self) -> &Vocabulary {
        self.vocabulary
            .as_ref()
            .unwrap_or_else(|| Vocabulary::built_in())
    }

    /// The folders that were read.
    pub fn folders(&self) -> &[PathBuf] {
        &self.folders
    }

    /// By name; `None` when there is none.
    pub fn find(&self, name: &str) -> Option<&Mapping> {
        self.mappings.iter().find(|mapping| &*mapping.name == name)
    }

    /// SHA-256 over all mapping and vocabulary files, lower-case hexadecimal: another value means
    /// that words have changed since. Independent of where the folder lies.
    pub fn fingerprint(&self) -> &str {
        &self.fingerprint
    }

    /// The mapping that is for this report.
    pub fn claim(&self, report: &Report) -> Claim<'_> {
        let mut fitting: Vec<&Mapping> = self
            .mappings
            .iter()
            .filter(|mapping| mapping.recognise.fits(report))
            .collect();
        match fitting.len() {
            0 => Claim::None,
            1 => Claim::One(fitting.remove(0)),
            _ => Claim::Several(fitting),
        }
    }

    /// Two mappings of one name could not be told apart in the results.
    fn same_names(&self) -> Option<String> {
        let mut told = String::new();
        for (i, mapping) in self.mappings.iter().enumerate() {
            for other in &self.mappings[i + 1..] {
                if mapping.name == other.name {
                    writeln!(
                        told,
                        "error: two mappings have the name '{}': {} and {}",
                        mapping.name,
                        mapping.path.display(),
                        other.path.display()
                    )
                    .expect("text can always be written into a string");
                }
            }
        }
        (!told.is_empty()).then_some(told)
    }
}

/// Folders in which mappings are looked for, each once, in the order of the roots.
fn folders(roots: &[PathBuf], chosen: Option<&Path>) -> Result<Vec<PathBuf>> {
    if let Some(folder) = chosen {
        if !folder.is_dir() {
            return Err(Error::Usage(format!(
                "{}: there is no such folder of mappings",
                folder.display()
            )));
        }
        return Ok(vec![folder.to_path_buf()]);
    }
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    for root in roots {
        // A file stands for its folder.
        let inside = if root.is_dir() {
            root.clone()
        } else {
            parent(root)
        };
        let beside = parent(&inside);
        let Some(folder) = [inside, beside]
            .map(|folder| folder.join(FOLDER))
            .into_iter()
            .find(|folder| folder.is_dir())
        else {
            continue;
        };
        // A folder that cannot be resolved is told when its files are read.
        let known = folder.canonicalize().unwrap_or_else(|_| folder.clone());
        if seen.insert(known) {
            // `mappings` reads better than `./mappings` in every message.
            let short = folder.strip_prefix(".").map(Path::to_path_buf);
            found.push(short.unwrap_or(folder));
        }
    }
    Ok(found)
}

/// The words of the program with those of the one folder that has words of its own; `None` when no
/// folder has.
fn own_words(folders: &[PathBuf]) -> Result<Option<Vocabulary>> {
    let mut found: Vec<&PathBuf> = folders
        .iter()
        .filter(|folder| WORDS.iter().any(|name| folder.join(name).is_file()))
        .collect();
    if let [first, second, ..] = found[..] {
        return Err(Error::Usage(format!(
            "{} and {} both bring words of their own; name one of them: --mappings FOLDER",
            first.display(),
            second.display()
        )));
    }
    found
        .pop()
        .map(|folder| Vocabulary::load(Some(folder)))
        .transpose()
}

/// The folder around a path, also of `samples` and `.`.
fn parent(path: &Path) -> PathBuf {
    match path.parent() {
        Some(parent) if parent.as_os_str().is_empty() && path.file_name().is_some() => ".".into(),
        Some(parent) if path.file_name().is_some() => parent.to_path_buf(),
        _ => path.join(".."),
    }
}

/// The TOML files of a folder, by name.
fn files(folder: &Path) -> Result<Vec<PathBuf>> {
    let failed = |source| Error::Io {
        path: folder.to_path_buf(),
        what: "cannot list the folder",
        source,
    };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.extension().is_some_and(|e| e == "toml") && path.is_file() {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn read(path: &Path, bytes: &[u8], vocabulary: &Vocabulary) -> Result<Mapping, String> {
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let line = bytes[..error.valid_up_to()]
            .iter()
            .filter(|b| **b == b'\n')
            .count()
            + 1;
        format!(
            "error: {}:{line}: the file is not UTF-8\n  = help: save it as UTF-8",
            path.display()
        )
    })?;
    compile(path, text, vocabulary)
}
