//! Where a drafted mapping goes, and how it names the report that it was made from.

use crate::error::{Error, Result};
use std::io::Write;
use std::path::{Component, Path, PathBuf};

/// Name for the mapping of a report: letters and digits of the file's name, lower case, without the
/// numbers at its end, which change with every report.
pub(super) fn name(report: &Path) -> String {
    let stem = report.file_stem().unwrap_or_default().to_string_lossy();
    let folded: String = stem
        .to_lowercase()
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '-' })
        .collect();
    let short = folded.trim_end_matches(|c: char| c == '-' || c.is_ascii_digit());
    let name = if short.is_empty() { &folded } else { short };
    let words: Vec<&str> = name.split('-').filter(|word| !word.is_empty()).collect();
    if words.is_empty() {
        "draft".into()
    } else {
        words.join("-")
    }
}

/// The path of the report as it is written in a mapping that lies in `folder`, `/` between folders.
pub(super) fn relative(report: &Path, folder: &Path) -> String {
    let report = whole(report);
    let folder = whole(folder);
    let common = report
        .components()
        .zip(folder.components())
        .take_while(|(a, b)| a == b)
        .count();
    let up = folder.components().skip(common).map(|_| "..".to_string());
    let down = report
        .components()
        .skip(common)
        .map(|part| part.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<_>>().join("/")
}

/// The path from the root, without `.` and `..`; also of a folder that does not exist yet.
fn whole(path: &Path) -> PathBuf {
    if let Ok(known) = path.canonicalize() {
        return known;
    }
    // What does not exist is put together from where we stand; without that, the path stays as it is.
    let start = std::env::current_dir().unwrap_or_default();
    let mut made = PathBuf::new();
    for part in start.join(path).components() {
        match part {
            Component::ParentDir => {
                made.pop();
            }
            Component::CurDir => {}
            part => made.push(part),
        }
    }
    made
}

/// Writes a file that must not exist: a draft never overwrites what somebody has edited.
pub(super) fn write_new(path: &Path, text: &str) -> Result<()> {
    let failed = |what| {
        move |source| Error::Io {
            path: path.to_path_buf(),
            what,
            source,
        }
    };
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(failed("cannot make the folder"))?;
    }
    let mut file = std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)
        .map_err(failed("cannot write the mapping"))?;
    file.write_all(text.as_bytes())
        .map_err(failed("cannot write the mapping"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mappings_are_named_after_their_reports() {
        for (report, wanted) in [
            ("a/Brackenmoor-2026.xlsx", "brackenmoor"),
            ("Q-5512-1.txt", "q"),
            ("2026.csv", "2026"),
            ("Prüfbericht 12.csv", "prüfbericht"),
            ("....csv", "draft"),
        ] {
            assert_eq!(name(Path::new(report)), wanted, "{report}");
        }
    }

    #[test]
    fn reports_are_named_from_the_folder_of_the_mapping() {
        for (report, folder, wanted) in [
            ("/data/x/a.csv", "/data/mappings", "../x/a.csv"),
            ("/data/a.csv", "/data/mappings", "../a.csv"),
            ("/data/mappings/a.csv", "/data/mappings", "a.csv"),
            ("/data/x/../a.csv", "/data/./mappings", "../a.csv"),
        ] {
            let made = relative(Path::new(report), Path::new(folder));
            assert_eq!(made, wanted, "{report} {folder}");
        }
    }
}
