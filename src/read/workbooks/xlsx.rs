//! `.xlsx` and `.xlsm`: cells streamed from each sheet, never laid out as a block, so that one odd
//! cell costs one cell and two cells in far corners cost two.

use super::content::Content;
use super::serial::Base;
use super::sheet_scan::{MERGES, SheetTraits};
use super::shown::Format;
use super::strings::Raised;
use super::workbook::{Gather, open_book};
use crate::guard::guard;
use crate::place::Area;
use crate::read::bounds::{BAD_CELLS, bound_sheets};
use crate::read::findings::Flaw;
use crate::read::grid::Report;
use calamine::{DataRef, Font, Reader, Xlsx, XlsxError};
use std::io::Cursor;

type Book<'b> = Xlsx<Cursor<&'b [u8]>>;

/// Reads all sheets into the report. `traits` are those of the sheets in order, `raised` the texts with
/// raised digits. Fails when the workbook cannot be opened at all.
pub(super) fn read(
    bytes: &[u8],
    traits: &[Option<SheetTraits>],
    raised: &Raised,
    report: &mut Report,
) -> Result<(), Flaw> {
    let mut book: Book<'_> = open_book(
        || Xlsx::new(Cursor::new(bytes)),
        |e| matches!(e, XlsxError::Password),
    )?;
    let base = Base::of(book.has_1904_epoch());
    bound_sheets(book.sheets_metadata().len())?;
    // Otherwise the two do not speak of the same sheets.
    let is_known = traits.len() == book.sheets_metadata().len();
    for (index, sheet) in book.sheets_metadata().to_vec().into_iter().enumerate() {
        let Some(mut gather) = Gather::of(report, &sheet, base) else {
            continue;
        };
        gather.raised = Some(raised).filter(|raised| !raised.is_empty());
        let traits = traits
            .get(index)
            .filter(|_| is_known)
            .and_then(Option::as_ref);
        read_sheet(&mut book, &sheet.name, traits, &mut gather);
        let read = gather.finish();
        report.add(read);
    }
    Ok(())
}

fn read_sheet(
    book: &mut Book<'_>,
    name: &str,
    traits: Option<&SheetTraits>,
    gather: &mut Gather<'_>,
) {
    if let Some(reason) = traits.and_then(|t| t.misread.clone()) {
        gather.flaw(Flaw::SheetUnreadable { reason });
        return;
    }
    let has_placeless = traits.is_none_or(|t| t.has_placeless);
    if let Err(reason) = read_cells(book, name, has_placeless, gather) {
        gather.flaw(Flaw::SheetUnreadable { reason });
        return;
    }
    // Formulas come by another pass over the sheet: only where there is something to ask.
    let asks = traits.map_or(gather.empties > 0, |t| {
        t.uncalculated > 0 && gather.empties > 0
    });
    if asks {
        read_formulas(book, name, gather);
    }
    match traits {
        Some(traits) => {
            gather.count_zero_formulas(traits.formulas, traits.zeros);
            gather.tell_hidden(traits.hidden.clone());
            let known = traits.merges.len().min(MERGES);
            gather.grid().merges.extend(&traits.merges[..known]);
            if traits.merges.len() > MERGES {
                gather.flaw(Flaw::CellBound {
                    what: "merged regions",
                    bound: MERGES as u64,
                });
            }
        }
        None => read_merges(book, name, gather),
    }
}

/// Merged regions of a sheet whose part was not found.
fn read_merges(book: &mut Book<'_>, name: &str, gather: &mut Gather<'_>) {
    let merges = match guard(|| book.merge_cells_by_sheet_name(name)) {
        Ok(Ok(merges)) => merges,
        Ok(Err(e)) => {
            return gather.flaw(Flaw::SheetUnreadable {
                reason: format!("merged cells: {e}"),
            });
        }
        Err(reason) => {
            return gather.flaw(Flaw::SheetUnreadable {
                reason: format!("merged cells: {reason}"),
            });
        }
    };
    gather
        .grid()
        .merges
        .extend(merges.into_iter().take(MERGES).map(|m| Area {
            top: m.start.0,
            left: m.start.1,
            bottom: m.end.0,
            right: m.end.1,
        }));
}

/// Why a sheet could not be read to its end.
fn read_cells(
    book: &mut Book<'_>,
    name: &str,
    has_placeless: bool,
    gather: &mut Gather<'_>,
) -> Result<(), String> {
    let mut reader = guard(|| book.worksheet_cells_reader(name))?.map_err(|e| e.to_string())?;
    let formats: Vec<Option<Format>> = reader
        .styles()
        .iter()
        .map(|style| {
            let code = style.number_format.as_ref().map(|f| &*f.format_code);
            let font = style.font.as_ref();
            Format::of(code, font.is_some_and(Font::has_strikethrough))
        })
        .collect();
    loop {
        // One guard for a run of cells; after a panic the reader goes on with the next.
        let run = guard(|| {
            loop {
                match reader.next_cell_with_style_id() {
                    Ok(None) => return Ok(()),
                    Ok(Some((cell, style))) => {
                        let format = formats.get(style).and_then(Option::as_ref);
                        if !gather.cell(
                            cell.get_position(),
                            Content::from(cell.get_value()),
                            format,
                        ) {
                            return Ok(());
                        }
                    }
                    Err(e) => return Err(e),
                }
            }
        });
        let reason = match run {
            Ok(Ok(())) => return Ok(()),
            Ok(Err(
                e @ (XlsxError::Xml(_)
                | XlsxError::XmlEof(_)
                | XlsxError::Io(_)
                | XlsxError::Zip(_)),
            )) => {
                return Err(e.to_string());
            }
            Ok(Err(e)) => e.to_string(),
            Err(reason) => reason,
        };
        let reason = match has_placeless {
            true => format!(
                "{reason}; as cells have no addresses, the place of those after it is not known"
            ),
            false => reason,
        };
        if has_placeless {
            gather.lose_row();
        }
        if !gather.unreadable(reason) {
            return Err("too many cells in a row that cannot be read".to_owned());
        }
    }
}

/// Finds the formulas without a result.
fn read_formulas(book: &mut Book<'_>, name: &str, gather: &mut Gather<'_>) {
    // The first pass has read this sheet and told its flaws; this one only looks for formulas.
    let Ok(Ok(mut reader)) = guard(|| book.worksheet_cells_reader(name)) else {
        return;
    };
    let mut bad = 0_u64;
    loop {
        match guard(|| reader.next_cell_with_formula_metadata()) {
            Ok(Ok(None)) => return,
            Ok(Ok(Some(record))) => {
                if record.formula.is_some() && record.value == DataRef::Empty {
                    gather.uncalculated(record.pos);
                }
            }
            Ok(Err(
                XlsxError::Xml(_) | XlsxError::XmlEof(_) | XlsxError::Io(_) | XlsxError::Zip(_),
            )) => return,
            Ok(Err(_)) | Err(_) => {
                bad += 1;
                if bad > BAD_CELLS {
                    return;
                }
            }
        }
    }
}
