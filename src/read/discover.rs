//! Which files a run reads: folders walked, globs taken, what is no report passed over with a note.
//! Names are relative to what was gathered, so that the same reports give the same dataset wherever
//! they lie and in whatever order they are named.

use super::bounds::{DEPTH, FILES};
use super::findings::Flaw;
use super::signature;
use crate::file::open_regular;
use crate::finding::Finding;
use crate::place::Place;
use crate::schema::Table;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fs::FileType;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use walkdir::{DirEntry, WalkDir};

/// A file to be read.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct FoundFile {
    /// Relative to what was gathered, `/` between folders; unique within a run.
    pub name: Arc<str>,
    pub path: PathBuf,
    /// Length in bytes when it was found.
    pub bytes: u64,
}

/// The files of a run, sorted by name, and what was passed over or could not be looked into.
#[derive(Clone, Debug, Default)]
pub struct Discovery {
    pub files: Vec<FoundFile>,
    pub findings: Vec<Finding>,
}

/// A note that `name` holds the same bytes as `first`, which is the one that is read.
pub fn same_bytes_again(name: &Arc<str>, first: &str) -> Finding {
    Flaw::SameBytesAgain {
        first: first.to_owned(),
    }
    .at(Place::file(name))
}

/// Lists the files under the paths given: folders are walked, names with `*`, `?` or `[` that are
/// no files are globs. Never fails and never waits: what is no readable file is a finding.
pub fn discover(paths: &[PathBuf]) -> Discovery {
    let mut roots: BTreeSet<PathBuf> = BTreeSet::new();
    let mut search = Search::default();
    for path in paths {
        search.expand(path, &mut roots);
    }
    for root in &roots {
        search.walk(root);
    }
    search.finish()
}

/// A file or a flaw, under the root it was found in.
struct Hit {
    /// Label of the root, put in front where names clash.
    root: String,
    relative: String,
    path: PathBuf,
    what: Result<u64, Flaw>,
}

#[derive(Default)]
struct Search {
    hits: Vec<Hit>,
    /// Files seen, by their true path: a file under two roots is one file.
    seen: BTreeSet<PathBuf>,
    files: usize,
}

impl Search {
    fn expand(&mut self, path: &Path, roots: &mut BTreeSet<PathBuf>) {
        let text = path.to_string_lossy();
        if std::fs::symlink_metadata(path).is_ok() || !text.contains(['*', '?', '[']) {
            roots.insert(path.to_path_buf());
            return;
        }
        let before = roots.len();
        match glob::glob(&text) {
            Err(e) => self.flaw_of_root(path, Flaw::unreadable(e)),
            Ok(found) => {
                for entry in found {
                    match entry {
                        Ok(path) => {
                            roots.insert(path);
                        }
                        Err(e) => {
                            self.flaw_of_root(e.path(), Flaw::unreadable(e.error()));
                        }
                    }
                }
                if roots.len() == before {
                    let reason = "no file matches".to_owned();
                    self.flaw_of_root(path, Flaw::FileUnreadable { reason });
                }
            }
        }
    }

    fn flaw_of_root(&mut self, path: &Path, flaw: Flaw) {
        self.hits.push(Hit {
            root: label(path),
            relative: label(path),
            path: path.to_path_buf(),
            what: Err(flaw),
        });
    }

    fn walk(&mut self, root: &Path) {
        let walk = WalkDir::new(root)
            .follow_links(true)
            .max_depth(DEPTH)
            .sort_by_file_name()
            .into_iter();
        let mut datasets: BTreeSet<PathBuf> = BTreeSet::new();
        let mut walk = walk.filter_entry(|entry| {
            if entry.depth() > 0 && is_hidden(entry.file_name()) {
                return false;
            }
            // Reports may lie beside a dataset.
            let folder = entry
                .path()
                .parent()
                .filter(|_| is_of_dataset(entry.file_name()));
            match folder {
                Some(folder) if entry.depth() == 0 && is_dataset(folder) => {
                    datasets.insert(entry.path().to_path_buf());
                    return false;
                }
                Some(folder) if entry.depth() > 0 && datasets.contains(folder) => return false,
                _ => (),
            }
            if entry.file_type().is_dir() && is_dataset(entry.path()) {
                datasets.insert(entry.path().to_path_buf());
            }
            true
        });
        let mut found = Vec::new();
        for entry in walk.by_ref() {
            if self.files > FILES {
                break;
            }
            match entry {
                Ok(entry) if entry.file_type().is_dir() => {
                    if entry.depth() == DEPTH {
                        let bound = DEPTH as u64;
                        found.push((entry.into_path(), Err(Flaw::FolderTooDeep { bound })));
                    }
                }
                Ok(entry) => {
                    let what = self.judge(&entry);
                    if let Some(what) = what {
                        self.files += usize::from(what.is_ok());
                        found.push((entry.path().to_path_buf(), what));
                    }
                }
                Err(e) => {
                    let path = e.path().unwrap_or(root).to_path_buf();
                    let flaw = if e.loop_ancestor().is_some() {
                        Flaw::NotAFile {
                            kind: "a link into a folder above it",
                        }
                    } else {
                        let reason = e
                            .io_error()
                            .map_or_else(|| e.to_string(), ToString::to_string);
                        Flaw::FileUnreadable { reason }
                    };
                    found.push((path, Err(flaw)));
                }
            }
        }
        found.extend(
            datasets
                .into_iter()
                .map(|path| (path, Err(Flaw::DatasetSkipped))),
        );
        for (path, what) in found {
            self.hits.push(Hit {
                root: label(root),
                relative: relative(root, &path),
                path,
                what,
            });
        }
    }

    /// What an entry that is no folder is; `None` when it was seen under another name, or serves the run
    /// as a mapping and is no file passed over.
    fn judge(&mut self, entry: &DirEntry) -> Option<Result<u64, Flaw>> {
        let kind = entry.file_type();
        if !kind.is_file() {
            return Some(Err(Flaw::NotAFile {
                kind: name_of(kind),
            }));
        }
        if is_of_mappings(entry.path()) {
            return None;
        }
        if let Some(kind) = foreign(entry.path()) {
            return Some(Err(Flaw::FileSkipped { kind }));
        }
        let metadata = match entry.metadata() {
            Ok(metadata) => metadata,
            Err(e) => {
                return Some(Err(Flaw::unreadable(e)));
            }
        };
        // Where the true path cannot be told the name given stands for it.
        let true_path = entry
            .path()
            .canonicalize()
            .unwrap_or_else(|_| entry.path().to_path_buf());
        self.seen.insert(true_path).then_some(Ok(metadata.len()))
    }

    /// Gives every hit its name and puts them in order.
    fn finish(self) -> Discovery {
        let mut discovery = Discovery::default();
        let mut counts: BTreeMap<&str, BTreeSet<&Path>> = BTreeMap::new();
        for hit in &self.hits {
            counts.entry(&hit.relative).or_default().insert(&hit.path);
        }
        let clashing: BTreeSet<String> = counts
            .into_iter()
            .filter(|(_, paths)| paths.len() > 1)
            .map(|(name, _)| name.to_owned())
            .collect();
        let mut taken: BTreeSet<Arc<str>> = BTreeSet::new();
        for hit in self.hits {
            let mut name: Arc<str> = if clashing.contains(&hit.relative) {
                format!("{}/{}", hit.root, hit.relative).into()
            } else {
                hit.relative.as_str().into()
            };
            if hit.what.is_ok() && taken.contains(&name) {
                // Two roots of the same name: their whole paths tell them apart.
                name = whole(&hit.path).into();
            }
            // Names that are no Unicode look alike: they are counted, in the order of their bytes.
            let alike = name.clone();
            for number in 2_u32.. {
                if hit.what.is_err() || !taken.contains(&name) {
                    break;
                }
                name = format!("{alike} ({number})").into();
            }
            match hit.what {
                Ok(bytes) => {
                    taken.insert(name.clone());
                    discovery.files.push(FoundFile {
                        name,
                        path: hit.path,
                        bytes,
                    });
                }
                Err(flaw) => discovery.findings.push(flaw.at(Place::file(&name))),
            }
        }
        discovery.files.sort();
        if discovery.files.len() > FILES {
            discovery.files.truncate(FILES);
            let place = Place::file(&"".into());
            discovery.findings.push(
                Flaw::TooManyFiles {
                    bound: FILES as u64,
                }
                .at(place),
            );
        }
        discovery
            .findings
            .sort_by(|a, b| (&a.place, &a.code).cmp(&(&b.place, &b.code)));
        discovery.findings.dedup();
        discovery
    }
}

fn is_hidden(name: &OsStr) -> bool {
    name.as_encoded_bytes().first() == Some(&b'.')
}

/// A folder that wellread wrote: its `datapackage.json` names the program.
fn is_dataset(folder: &Path) -> bool {
    const READ: u64 = 4096;
    let Ok(file) = open_regular(&folder.join("datapackage.json")) else {
        return false;
    };
    let mut head = Vec::new();
    use std::io::Read as _;
    if file.take(READ).read_to_end(&mut head).is_err() {
        return false;
    }
    memchr::memmem::find(&head, b"wellread").is_some()
}

/// A file or a folder that a dataset has: its description, its tables, their pieces, parts that are to be
/// joined.
fn is_of_dataset(name: &OsStr) -> bool {
    const OTHERS: [&str; 2] = ["datapackage.json", "parts"];
    let name = name.to_string_lossy();
    let stem = name.strip_suffix(".csv").or(name.strip_suffix(".parquet"));
    let stem = stem.unwrap_or(&name);
    OTHERS.contains(&&*name) || Table::ALL.iter().any(|table| table.name() == stem)
}

/// A file of the folder `mappings` beside the reports.
fn is_of_mappings(path: &Path) -> bool {
    let folder = path.parent().and_then(Path::file_name);
    let is_mapping = path.extension().is_some_and(|ending| ending == "toml");
    let is_schema = path
        .file_name()
        .is_some_and(|name| name == "mapping.schema.json");
    folder.is_some_and(|name| name == "mappings") && (is_mapping || is_schema)
}

/// Kinds of file that are no reports by their name, in words.
fn foreign(path: &Path) -> Option<&'static str> {
    let name = path.file_name()?.to_string_lossy();
    if name.starts_with("~$") || name.starts_with(".~lock.") {
        return Some("a lock file of an office program");
    }
    let extension = path.extension()?.to_str()?.to_ascii_lowercase();
    Some(match extension.as_str() {
        "pdf" => "a PDF document",
        "png" | "jpg" | "jpeg" | "gif" | "tif" | "tiff" | "bmp" | "svg" | "heic" => "an image",
        "doc" | "docx" | "odt" | "rtf" | "md" | "ppt" | "pptx" | "odp" => "a document",
        "toml" => "a mapping or settings file",
        "xml" if signature::is_spreadsheet(path) => return None,
        "json" | "parquet" | "yaml" | "yml" | "xml" | "ini" => "a data or settings file",
        "zip" | "7z" | "gz" | "rar" | "tar" | "bz2" | "xz" => "an archive",
        "eml" | "msg" | "mbox" => "a letter",
        "py" | "r" | "sh" | "rs" | "js" | "ipynb" | "exe" | "dll" | "bat" => "a program",
        "log" | "tmp" | "bak" | "lock" => "a by-product of a program",
        _ => return None,
    })
}

fn name_of(kind: FileType) -> &'static str {
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt;
        if kind.is_fifo() {
            return "a pipe";
        }
        if kind.is_socket() {
            return "a socket";
        }
        if kind.is_char_device() || kind.is_block_device() {
            return "a device";
        }
    }
    if kind.is_symlink() {
        "a link that leads nowhere"
    } else {
        "something else"
    }
}

/// The last part of a path; of `.` and `..`, of the folder they stand for.
fn label(path: &Path) -> String {
    match path.components().next_back() {
        Some(Component::Normal(name)) => name.to_string_lossy().into_owned(),
        _ => path
            .canonicalize()
            .ok()
            .and_then(|p| p.file_name().map(|n| n.to_string_lossy().into_owned()))
            // The root of a file system has no name.
            .unwrap_or_else(|| path.to_string_lossy().into_owned()),
    }
}

fn relative(root: &Path, path: &Path) -> String {
    match path.strip_prefix(root) {
        Ok(rest) if rest.as_os_str().is_empty() => label(root),
        Ok(rest) => whole(rest),
        Err(_) => whole(path),
    }
}

fn whole(path: &Path) -> String {
    let parts: Vec<_> = path
        .components()
        .filter_map(|part| match part {
            Component::Normal(name) => Some(name.to_string_lossy()),
            _ => None,
        })
        .collect();
    parts.join("/")
}
