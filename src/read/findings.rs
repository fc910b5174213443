//! What reading can find wrong with a file, and every message about it.

use crate::finding::{Finding, Severity};
use crate::place::Place;

pub(super) const ENCODING_ASSUMED: &str = "encoding-assumed";

/// Code, severity and one line about each finding of this stage.
pub const CODES: &[(&str, Severity, &str)] = &[
    (
        "binary-file",
        Severity::Error,
        "the file is neither a workbook nor text",
    ),
    (
        "bytes-in-front",
        Severity::Note,
        "bytes that are none of its own stand in front of a workbook",
    ),
    (
        "cell-bound",
        Severity::Error,
        "the file has more cells, rows or columns than can be read",
    ),
    (
        "cell-unreadable",
        Severity::Error,
        "one cell of a workbook could not be read",
    ),
    (
        "characters-doubtful",
        Severity::Warning,
        "text holds characters that a wrong encoding leaves behind",
    ),
    (
        "control-characters",
        Severity::Warning,
        "text holds NUL bytes",
    ),
    (
        "dataset-skipped",
        Severity::Note,
        "a folder that wellread wrote is not read as reports",
    ),
    (
        "delimiter-changes",
        Severity::Warning,
        "lines of one text are parted by different signs",
    ),
    (
        ENCODING_ASSUMED,
        Severity::Note,
        "text is not UTF-8 and was read as Windows-1252",
    ),
    (
        "encoding-mixed",
        Severity::Warning,
        "lines of one text are in different encodings",
    ),
    (
        "encoding-unstreamable",
        Severity::Error,
        "a text this long cannot be read in its encoding",
    ),
    (
        "extension-misleads",
        Severity::Note,
        "the content of a file is not what its name says",
    ),
    (
        "file-changed",
        Severity::Error,
        "the file changed while it was read",
    ),
    (
        "file-empty",
        Severity::Warning,
        "the file has no bytes or no cells",
    ),
    (
        "file-skipped",
        Severity::Note,
        "the file is no report by its kind",
    ),
    (
        "file-too-large",
        Severity::Error,
        "the file is larger than can be read",
    ),
    (
        "file-unreadable",
        Severity::Error,
        "the file could not be opened or read",
    ),
    (
        "folder-too-deep",
        Severity::Error,
        "a folder lies deeper than folders are looked into",
    ),
    (
        "formula-uncalculated",
        Severity::Warning,
        "formulas have no stored result",
    ),
    (
        "formulas-all-zero",
        Severity::Warning,
        "every formula of a sheet shows 0",
    ),
    (
        "not-a-file",
        Severity::Warning,
        "the name belongs to no regular file",
    ),
    (
        "part-too-large",
        Severity::Error,
        "a zipped workbook unfolds to more than can be read",
    ),
    (
        "password-protected",
        Severity::Error,
        "the workbook is protected by a password",
    ),
    (
        "quote-lost",
        Severity::Error,
        "a quotation mark opens a field and nothing closes it",
    ),
    (
        "record-too-long",
        Severity::Error,
        "one record of a text is longer than can be read",
    ),
    (
        "rows-hidden",
        Severity::Note,
        "rows or columns that a sheet hides were read",
    ),
    (
        "same-bytes-again",
        Severity::Note,
        "two files hold the same bytes; one is read",
    ),
    (
        "sheet-no-cells",
        Severity::Note,
        "a sheet is a chart or a dialogue, without cells",
    ),
    (
        "sheet-unreadable",
        Severity::Error,
        "a sheet, or the rest of one, could not be read",
    ),
    (
        "space-before-quote",
        Severity::Warning,
        "a space stands before a quotation mark, which then does not quote",
    ),
    (
        "text-cut",
        Severity::Error,
        "a cell holds more text than a cell can",
    ),
    (
        "too-many-files",
        Severity::Error,
        "there are more files than one run takes",
    ),
    (
        "workbook-broken",
        Severity::Error,
        "the workbook is damaged",
    ),
    (
        "wrong-format",
        Severity::Error,
        "the file is of a kind that is not read",
    ),
];

/// A flaw of a file as this stage sees it; [`Flaw::at`] gives it its place and its words.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Flaw {
    BinaryFile,
    BytesInFront,
    CellBound {
        what: &'static str,
        bound: u64,
    },
    /// The whole file is refused, before anything is laid out.
    CellsClaimed {
        what: &'static str,
        bound: u64,
    },
    CellUnreadable {
        between: String,
        reason: String,
        cells: u64,
    },
    CharactersDoubtful {
        text: String,
    },
    ControlCharacters {
        count: u64,
    },
    DatasetSkipped,
    DelimiterChanges {
        text: String,
        records: u64,
    },
    EncodingAssumed {
        text: String,
    },
    EncodingMixed {
        other: u64,
    },
    EncodingUnstreamable {
        encoding: &'static str,
    },
    ExtensionMisleads {
        is: &'static str,
    },
    FileChanged,
    FileEmpty,
    FileSkipped {
        kind: &'static str,
    },
    FileTooLarge {
        bytes: u64,
        bound: u64,
    },
    FileUnreadable {
        reason: String,
    },
    FolderTooDeep {
        bound: u64,
    },
    FormulaUncalculated {
        cells: u64,
    },
    FormulasAllZero {
        cells: u64,
    },
    NotAFile {
        kind: &'static str,
    },
    PartTooLarge {
        part: String,
        bound: u64,
    },
    PasswordProtected,
    QuoteLost {
        text: String,
    },
    QuotesLost {
        more: u64,
    },
    RecordTooLong {
        bound: u64,
    },
    RowsHidden {
        rows: usize,
        columns: usize,
    },
    SameBytesAgain {
        first: String,
    },
    SheetNoCells {
        kind: &'static str,
    },
    SheetUnreadable {
        reason: String,
    },
    SpaceBeforeQuote {
        text: String,
        records: u64,
    },
    TextCut {
        chars: usize,
    },
    TooManyFiles {
        bound: u64,
    },
    WorkbookBroken {
        reason: String,
    },
    WrongFormat {
        is: &'static str,
    },
}

const SAVE_AS: &str = "open it in a spreadsheet program and save it as .xlsx, or ask the laboratory for a spreadsheet";

impl Flaw {
    /// A file, or a folder, that cannot be read, for what the system says.
    pub(super) fn unreadable(error: impl ToString) -> Self {
        Self::FileUnreadable {
            reason: error.to_string(),
        }
    }

    pub(super) fn at(self, place: Place) -> Finding {
        let (code, message, help) = self.words();
        let severity = CODES
            .iter()
            .find(|(known, ..)| *known == code)
            .expect("every code of this file stands in CODES")
            .1;
        Finding::new(severity, code, place, message, help).for_cells(self.cells())
    }

    const fn cells(&self) -> u64 {
        match self {
            Self::CellUnreadable { cells, .. }
            | Self::FormulaUncalculated { cells }
            | Self::FormulasAllZero { cells } => *cells,
            _ => 1,
        }
    }

    #[rustfmt::skip]
    fn words(&self) -> (&'static str, String, String) {
        match self {
            Self::BinaryFile => ("binary-file",
                "neither a workbook nor text".into(), SAVE_AS.into()),
            Self::BytesInFront => ("bytes-in-front",
                "bytes that are none of its own stand in front of the workbook; they were passed over".into(), String::new()),
            Self::CellBound { what, bound } => ("cell-bound",
                format!("more than {bound} {what}; what lies beyond is not read"),
                "split the file, or save the sheet as CSV, which is read as a stream".into()),
            Self::CellsClaimed { what, bound } => ("cell-bound",
                format!("more than {bound} {what}; the file is not read"),
                "save it as .xlsx or its sheets as CSV, which are read cell by cell".into()),
            Self::CellUnreadable { between, reason, cells } => ("cell-unreadable",
                format!("{} {between} could not be read: {reason}", if *cells == 1 { "a cell".to_owned() } else { format!("{cells} cells") }),
                "open the file in a spreadsheet program, correct the cell and save it".into()),
            Self::CharactersDoubtful { text } => ("characters-doubtful",
                format!("characters that a wrong encoding leaves behind: '{text}'"),
                "state the file's encoding in its mapping: encoding = \"cp850\", \"cp437\", \"utf-8\" or \"windows-1252\"; xls_codepage for an .xls".into()),
            Self::ControlCharacters { count } => ("control-characters",
                format!("{count} NUL bytes in the text"),
                "the file may be damaged in transfer: ask for it again".into()),
            Self::DelimiterChanges { text, records } => ("delimiter-changes",
                format!("{records} lines are parted by another sign than the lines before them, first '{text}'; each was read as one cell"),
                "part all lines of the file by the same sign".into()),
            Self::DatasetSkipped => ("dataset-skipped",
                "a dataset that wellread wrote; not read as reports".into(), String::new()),
            Self::EncodingAssumed { text } => (ENCODING_ASSUMED,
                format!("not UTF-8; read as Windows-1252: '{text}'"),
                "if these characters are wrong, state the encoding in the mapping: encoding = \"cp850\"".into()),
            Self::EncodingMixed { other } => ("encoding-mixed",
                format!("some lines are UTF-8 and {other} are not; those were read as Windows-1252"),
                "the file was put together from several; state encoding in the mapping if it is one after all".into()),
            Self::EncodingUnstreamable { encoding } => ("encoding-unstreamable",
                format!("a text this long cannot be read in {encoding}"),
                "save the file as UTF-8".into()),
            Self::ExtensionMisleads { is } => ("extension-misleads",
                format!("the name does not say so, but the content is {is}; read as such"), String::new()),
            Self::FileChanged => ("file-changed",
                "the file changed while it was read".into(), "run again when nothing writes to it".into()),
            Self::FileEmpty => ("file-empty",
                "nothing in it".into(), "ask for the file again if it should hold results".into()),
            Self::FileSkipped { kind } => ("file-skipped",
                format!("{kind}; not read"), String::new()),
            Self::FileTooLarge { bytes, bound } => ("file-too-large",
                format!("{bytes} bytes; a file of this kind is read up to {bound}"),
                "split the file, or save its sheets as CSV, which is read as a stream".into()),
            Self::FileUnreadable { reason } => ("file-unreadable",
                format!("could not be read: {reason}"),
                "check that the file is there and that you may read it".into()),
            Self::FolderTooDeep { bound } => ("folder-too-deep",
                format!("more than {bound} folders within each other; this one is not looked into"),
                "name this folder, or move its reports up".into()),
            Self::FormulaUncalculated { cells } => ("formula-uncalculated",
                format!("{cells} formulas without a stored result"),
                "open and save the file in a spreadsheet program, which calculates them".into()),
            Self::FormulasAllZero { cells } => ("formulas-all-zero",
                format!("all {cells} formulas of the sheet show 0"),
                "the program that wrote the file may not calculate: open and save it in a spreadsheet program, then compare".into()),
            Self::NotAFile { kind } => ("not-a-file",
                format!("{kind}, not a file; not read"), String::new()),
            Self::PartTooLarge { part, bound } => ("part-too-large",
                format!("'{part}' unfolds to more than {bound} bytes"),
                "not opened: this is how a zip bomb looks; if the file is honest, save its sheets as CSV".into()),
            Self::PasswordProtected => ("password-protected",
                "protected by a password".into(),
                "open it in a spreadsheet program and save it without a password".into()),
            Self::QuoteLost { text } => ("quote-lost",
                format!("a quotation mark opens a field and nothing closes it: '{text}'; this line was read without quoting"),
                "correct the quotation marks of this line".into()),
            Self::QuotesLost { more } => ("quote-lost",
                format!("{more} more lines with a quotation mark that nothing closes; they were read without quoting"),
                "correct the quotation marks of these lines".into()),
            Self::RecordTooLong { bound } => ("record-too-long",
                format!("a record is longer than {bound} bytes"),
                "not read: this is no table of results; check the file's line ends".into()),
            Self::RowsHidden { rows, columns } => ("rows-hidden",
                format!("hidden: {}; read like the others", lines(*rows, *columns)),
                "look at them in a spreadsheet program: they may be withdrawn, or filtered out".into()),
            Self::SameBytesAgain { first } => ("same-bytes-again",
                format!("the same bytes as '{first}'; read once"), "remove one of the two".into()),
            Self::SheetNoCells { kind } => ("sheet-no-cells",
                format!("a {kind} has no cells; nothing to read"), String::new()),
            Self::SheetUnreadable { reason } => ("sheet-unreadable",
                format!("the sheet, or the rest of it, could not be read: {reason}"),
                "open and save the file in a spreadsheet program".into()),
            Self::SpaceBeforeQuote { text, records } => ("space-before-quote",
                format!("a space before a quotation mark, which then does not quote, in {records} records, first in '{text}'"),
                "take the space away, so that separators inside the quotation marks do not split the field".into()),
            Self::TextCut { chars } => ("text-cut",
                format!("{chars} characters in one cell; all after the first {} are not read", super::bounds::CELL_CHARS),
                "look at the cell: a lost quotation mark or line end joins many into one".into()),
            Self::TooManyFiles { bound } => ("too-many-files",
                format!("more than {bound} files; those beyond are not read"),
                "name the folders that hold the reports".into()),
            Self::WorkbookBroken { reason } => ("workbook-broken",
                format!("the workbook is damaged: {reason}"),
                "ask for it again, or open it in a spreadsheet program and save what that can repair".into()),
            Self::WrongFormat { is } => ("wrong-format",
                format!("{is} is not read"), SAVE_AS.into()),
        }
    }
}

/// "1 rows, 2 columns": those of which there are any.
fn lines(rows: usize, columns: usize) -> String {
    let all = [(rows, "rows"), (columns, "columns")];
    let some = all.iter().filter(|(count, _)| *count > 0);
    let some: Vec<String> = some
        .map(|(count, what)| format!("{count} {what}"))
        .collect();
    some.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_sorted_and_unique() {
        assert!(CODES.windows(2).all(|w| w[0].0 < w[1].0));
    }
}
