//! `.xlsb`: cells streamed from each sheet. Its merged cells cannot be seen.

use super::content::Content;
use super::serial::Base;
use super::shown::Format;
use super::strings::Raised;
use super::workbook::{Gather, open_book};
use super::xlsb_scan::{Formats, SheetScan};
use crate::guard::guard;
use crate::read::bounds::bound_sheets;
use crate::read::findings::Flaw;
use crate::read::grid::Report;
use calamine::{Reader, Xlsb, XlsbError};
use std::io::Cursor;

/// Reads all sheets into the report. `scans` are what was found of the sheets in order, with `formats` those
/// of their styles. Fails when the workbook cannot be opened at all.
pub(super) fn read(
    bytes: &[u8],
    formats: &Formats,
    scans: &[SheetScan],
    raised: &Raised,
    report: &mut Report,
) -> Result<(), Flaw> {
    let mut book: Xlsb<_> = open_book(
        || Xlsb::new(Cursor::new(bytes)),
        |e| matches!(e, XlsbError::Password),
    )?;
    let base = Base::of(book.has_1904_epoch());
    bound_sheets(book.sheets_metadata().len())?;
    if scans.len() != book.sheets_metadata().len() {
        return Err(Flaw::WorkbookBroken {
            reason: "its sheets are not where it says".to_owned(),
        });
    }
    for (sheet, scan) in book.sheets_metadata().to_vec().into_iter().zip(scans) {
        let Some(mut gather) = Gather::of(report, &sheet, base) else {
            continue;
        };
        gather.raised = Some(raised).filter(|raised| !raised.is_empty());
        let read = match scan.misread {
            Some(reason) => Err(reason.to_owned()),
            None => {
                let format = |at| formats.of_cell(scan, at);
                read_cells(&mut book, &sheet.name, format, &mut gather)
            }
        };
        match read {
            Ok(()) => {
                for (at, shown) in &scan.failed {
                    gather.cell(*at, Content::Error((*shown).to_owned()), None);
                }
                gather.tell_hidden(scan.hidden.clone());
            }
            Err(reason) => gather.flaw(Flaw::SheetUnreadable { reason }),
        }
        let read = gather.finish();
        report.add(read);
    }
    Ok(())
}

/// Why a sheet could not be read to its end.
fn read_cells<'f>(
    book: &mut Xlsb<Cursor<&[u8]>>,
    name: &str,
    format: impl Fn((u32, u32)) -> Option<&'f Format>,
    gather: &mut Gather<'_>,
) -> Result<(), String> {
    let mut reader = guard(|| book.worksheet_cells_reader(name))?.map_err(|e| e.to_string())?;
    loop {
        // A record is taken whole before it is looked into, so the next call goes on after it.
        let run = guard(|| {
            loop {
                match reader.next_cell() {
                    Ok(None) => return Ok(()),
                    Ok(Some(cell)) => {
                        let at = cell.get_position();
                        if !gather.cell(at, Content::from(cell.get_value()), format(at)) {
                            return Ok(());
                        }
                    }
                    Err(e) => return Err(e),
                }
            }
        });
        let reason = match run {
            Ok(Ok(())) => return Ok(()),
            Ok(Err(e @ (XlsbError::Io(_) | XlsbError::Zip(_)))) => return Err(e.to_string()),
            Ok(Err(e)) => e.to_string(),
            Err(reason) => reason,
        };
        if !gather.unreadable(reason) {
            return Err("too many cells that cannot be read".to_owned());
        }
    }
}
