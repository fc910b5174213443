//! One file is opened: its kind told by content, its bounds held, its reader chosen.

use super::bounds::{HELD_PART_BYTES, WHOLE_TEXT_BYTES, WORKBOOK_BYTES};
use super::delimited::stream::TextStream;
use super::delimited::survey;
use super::delimited::text;
use super::digest::{self, Stamp};
use super::findings::Flaw;
use super::grid::Report;
use super::options::Options;
use super::signature::{self, Kind};
use super::workbooks::ods;
use super::workbooks::ole;
use super::workbooks::package;
use super::workbooks::xml_2003;
use crate::file::open_regular;
use crate::finding::{Finding, Severity};
use crate::place::Place;
use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::Arc;

/// What a file turned out to be.
#[derive(Debug)]
pub enum Opened {
    /// All of it. Also what could not be read: then `refused` is set and the findings say why.
    Whole(Report),
    /// A delimited text too long to be held.
    Stream(TextStream),
}

impl Opened {
    /// The same, with something more to tell of the file.
    pub fn with(self, finding: Finding) -> Self {
        match self {
            Self::Whole(mut report) => {
                report.findings.push(finding);
                Self::Whole(report)
            }
            Self::Stream(stream) => Self::Stream(stream.with(finding)),
        }
    }

    /// The report, or of a stream the rows to decide from.
    pub const fn report(&self) -> &Report {
        match self {
            Self::Whole(report) => report,
            Self::Stream(stream) => stream.report(),
        }
    }
}

/// Opens a file. `name` is its path relative to the gathered root, with which it is shown. Fails
/// never: a file that cannot be read is a report without sheets, `refused`, with an error finding.
pub fn open(path: &Path, name: &Arc<str>, options: &Options) -> Opened {
    open_watched(path, name, options, || ())
}

/// As [`open`]; `when_read` is called between the reading of a file's bytes and the last look at the file.
fn open_watched(
    path: &Path,
    name: &Arc<str>,
    options: &Options,
    when_read: impl FnOnce(),
) -> Opened {
    let mut report = Report {
        file: name.clone(),
        ..Report::default()
    };
    match open_kind(path, options, &mut report, when_read) {
        Ok(None) => Opened::Whole(report),
        Ok(Some(stream)) => Opened::Stream(stream),
        Err(flaw) => {
            if matches!(flaw, Flaw::FileChanged | Flaw::FileUnreadable { .. }) {
                // Of whatever was read: the same bytes may be read another time.
                report.sha256 = Arc::default();
            }
            report.findings.push(flaw.at(Place::file(name)));
            report.sheets.clear();
            report.refused = true;
            Opened::Whole(report)
        }
    }
}

/// A delimited text that is in memory already: the example of a mapping.
pub fn open_text(text: &str, name: &Arc<str>, options: &Options) -> Report {
    let mut report = Report {
        file: name.clone(),
        sha256: digest::of_bytes(text.as_bytes()),
        ..Report::default()
    };
    text::read(text.as_bytes(), options, &mut report);
    report
}

fn open_kind(
    path: &Path,
    options: &Options,
    report: &mut Report,
    when_read: impl FnOnce(),
) -> Result<Option<TextStream>, Flaw> {
    let found = std::fs::metadata(path).map_err(Flaw::unreadable)?;
    if !found.is_file() {
        return Err(Flaw::NotAFile {
            kind: "something else",
        });
    }
    let mut file = open_regular(path).map_err(Flaw::unreadable)?;
    let metadata = file.metadata().map_err(Flaw::unreadable)?;
    let stamp = Stamp::of(&metadata);
    let mut head = Vec::with_capacity(signature::HEAD);
    file.by_ref()
        .take(signature::HEAD as u64)
        .read_to_end(&mut head)
        .map_err(Flaw::unreadable)?;
    file.seek(SeekFrom::Start(0)).map_err(Flaw::unreadable)?;
    let kind = signature::kind(&head);
    if kind == Kind::Text && metadata.len() > options.stream_above {
        return survey::open(file, path, stamp, options, report).map(Some);
    }
    let bound = match kind {
        Kind::Text => WHOLE_TEXT_BYTES.max(options.stream_above),
        Kind::FlatOds | Kind::Xml2003 => HELD_PART_BYTES,
        _ => WORKBOOK_BYTES,
    };
    if metadata.len() > bound {
        return Err(Flaw::FileTooLarge {
            bytes: metadata.len(),
            bound,
        });
    }
    let bytes = read_all(file, metadata.len(), bound).map_err(Flaw::unreadable)?;
    if kind == Kind::Text && text::is_crowded(&bytes, options) {
        drop(bytes);
        let file = open_regular(path).map_err(Flaw::unreadable)?;
        return survey::open(file, path, stamp, options, report).map(Some);
    }
    if bytes.len() as u64 > bound {
        // It grew since it was measured.
        return Err(Flaw::FileChanged);
    }
    report.sha256 = match &options.digest {
        Some(known) if known.stamp == stamp && known.bytes == bytes.len() as u64 => {
            known.sha256.clone()
        }
        _ => digest::of_bytes(&bytes),
    };
    when_read();
    read_kind(kind, &bytes, path, options, report)?;
    let unchanged = std::fs::metadata(path).is_ok_and(|m| Stamp::of(&m) == stamp);
    if unchanged {
        Ok(None)
    } else {
        Err(Flaw::FileChanged)
    }
}

/// `stated` is the length of the file, at most `bound`.
fn read_all(file: File, stated: u64, bound: u64) -> std::io::Result<Vec<u8>> {
    // A byte more, so that the end is met without growing.
    let mut bytes = Vec::with_capacity(stated as usize + 1);
    file.take(bound.saturating_add(1)).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn read_kind(
    kind: Kind,
    bytes: &[u8],
    path: &Path,
    options: &Options,
    report: &mut Report,
) -> Result<(), Flaw> {
    let is = match kind {
        Kind::Zip => package::read(bytes, report)?,
        Kind::FlatOds => {
            ods::read(bytes, report)?;
            Form::Ods
        }
        Kind::Xml2003 => {
            xml_2003::read(bytes, report)?;
            Form::Xml2003
        }
        Kind::Ole => ole::read(bytes, options, report)?,
        Kind::Text => {
            text::read(bytes, options, report);
            Form::Text
        }
        Kind::Foreign(is) => return Err(Flaw::WrongFormat { is }),
        Kind::Unknown => return Err(Flaw::BinaryFile),
    };
    report.findings.extend(misleading(path, is, &report.file));
    let is_blank = report.sheets.iter().all(|sheet| sheet.grid.is_empty());
    if is_blank && report.findings.iter().all(|f| f.severity < Severity::Error) {
        report
            .findings
            .push(Flaw::FileEmpty.at(Place::file(&report.file)));
    }
    Ok(())
}

/// The forms in which a report can come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    Xlsx,
    Xlsb,
    Ods,
    Xls,
    Xml2003,
    Text,
}

impl Form {
    const fn words(self) -> &'static str {
        match self {
            Self::Xlsx => "an Excel workbook (.xlsx)",
            Self::Xlsb => "an Excel binary workbook (.xlsb)",
            Self::Ods => "an OpenDocument spreadsheet (.ods)",
            Self::Xls => "an Excel 97 workbook (.xls)",
            Self::Xml2003 => "an XML spreadsheet of 2003",
            Self::Text => "text",
        }
    }

    const fn extensions(self) -> &'static [&'static str] {
        match self {
            Self::Xlsx => &["xlsx", "xlsm", "xltx", "xltm", "xlam"],
            Self::Xlsb => &["xlsb"],
            Self::Ods => &["ods", "ots", "fods"],
            Self::Xls => &["xls", "xlt"],
            Self::Xml2003 => &["xml"],
            Self::Text => &[],
        }
    }

    const ALL: [Self; 6] = [
        Self::Xlsx,
        Self::Xlsb,
        Self::Ods,
        Self::Xls,
        Self::Xml2003,
        Self::Text,
    ];
}

/// A note when the extension is that of another form. Text goes by any name that is no workbook's.
fn misleading(path: &Path, is: Form, file: &Arc<str>) -> Option<Finding> {
    let extension = path.extension()?.to_str()?.to_ascii_lowercase();
    let claimed = Form::ALL
        .into_iter()
        .find(|form| form.extensions().contains(&extension.as_str()));
    (claimed.unwrap_or(Form::Text) != is)
        .then(|| Flaw::ExtensionMisleads { is: is.words() }.at(Place::file(file)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::{Duration, SystemTime};

    type Change = fn(&Path);

    /// Opens a copy of a file of the corpus, to which `change` happens while it is read.
    fn opened(file: &str, change: impl FnOnce(&Path)) -> Report {
        let folder = tempfile::tempdir().unwrap();
        let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus");
        let path = folder.path().join(file);
        std::fs::copy(corpus.join(file), &path).unwrap();
        let opened = open_watched(&path, &file.into(), &Options::default(), || change(&path));
        match opened {
            Opened::Whole(report) => report,
            Opened::Stream(stream) => panic!("{stream:?}"),
        }
    }

    /// Writes a file anew, as long as before and at another time.
    fn rewrite(path: &Path) {
        let mut bytes = std::fs::read(path).unwrap();
        bytes.reverse();
        std::fs::write(path, bytes).unwrap();
        let later = SystemTime::now() + Duration::from_secs(1);
        let file = File::options().write(true).open(path).unwrap();
        file.set_modified(later).unwrap();
    }

    #[test]
    fn err_a_file_that_changes_while_it_is_read_gives_nothing() {
        let changes: [(&str, Change); 4] = [
            ("rewritten", rewrite),
            ("cut", |path| std::fs::write(path, b"PK").unwrap()),
            ("gone", |path| std::fs::remove_file(path).unwrap()),
            ("replaced by a folder", |path| {
                std::fs::remove_file(path).unwrap();
                std::fs::create_dir(path).unwrap();
            }),
        ];
        for file in [
            "table-at-c5.xlsx",
            "plain.xlsb",
            "plain.xls",
            "plain.ods",
            "plain.csv",
        ] {
            assert!(!opened(file, |_| ()).sheets.is_empty(), "{file}");
            for (what, change) in changes {
                let report = opened(file, change);
                let told: Vec<_> = report.findings.iter().map(|f| &*f.code).collect();
                assert_eq!(told.last(), Some(&"file-changed"), "{file} {what}");
                // Not known again by its bytes, it is read by the next run.
                let rest = (report.refused, report.sheets.len(), &*report.sha256);
                assert_eq!(rest, (true, 0, ""), "{file} {what}");
            }
        }
    }
}
