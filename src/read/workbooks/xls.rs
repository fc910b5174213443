//! `.xls`: read whole by `calamine`, after its records were walked (see `biff`).

use super::biff::Survey;
use super::serial::Base;
use super::workbook::{Gather, open_book};
use crate::guard::guard;
use crate::place::{Address, Area};
use crate::read::cell::Cell;
use crate::read::findings::Flaw;
use crate::read::grid::Report;
use crate::read::options::Options;
use calamine::{Data, Reader, Xls, XlsError, XlsOptions};
use std::io::Cursor;

/// Reads all sheets into the report. Fails when the workbook cannot be read at all.
pub(super) fn read(
    bytes: &[u8],
    survey: &Survey,
    options: &Options,
    report: &mut Report,
) -> Result<(), Flaw> {
    let mut how = XlsOptions::default();
    // `calamine` decodes Unicode texts by the code page stated, which puts NULs among them.
    const UTF_16: u16 = 1200;
    how.force_codepage = options.xls_codepage.or(survey.is_unicode.then_some(UTF_16));
    let mut book: Xls<_> = open_book(
        || Xls::new_with_options(Cursor::new(bytes), how),
        |e| matches!(e, XlsError::Password),
    )?;
    let base = Base::of(book.has_1904_epoch());
    for (index, sheet) in book.sheets_metadata().to_vec().into_iter().enumerate() {
        let Some(mut gather) = Gather::of(report, &sheet, base) else {
            continue;
        };
        // Single bytes of a code page written as if they were Unicode come with NULs among them.
        gather.raised = Some(&survey.raised).filter(|raised| !raised.is_empty());
        gather.drops_nul = options.xls_codepage.is_some();
        if let Err(reason) = read_sheet(&mut book, &sheet.name, index, survey, &mut gather) {
            gather.flaw(Flaw::SheetUnreadable { reason });
        }
        let read = gather.finish();
        report.add(read);
    }
    Ok(())
}

fn read_sheet(
    book: &mut Xls<Cursor<&[u8]>>,
    name: &str,
    index: usize,
    survey: &Survey,
    gather: &mut Gather<'_>,
) -> Result<(), String> {
    let range = guard(|| book.worksheet_range(name))?.map_err(|e| e.to_string())?;
    gather.range(&range, |at| survey.format(index, at));
    for ((row, col), words) in survey.doubtful(index) {
        gather
            .grid()
            .put(Address::new(*row, *col), Cell::text(*words));
    }
    // `calamine` passes over a cell whose text is not in the table.
    let mut lost = survey.texts(index);
    let is_lost = |at: &(u32, u32)| matches!(range.get_value(*at), None | Some(Data::Empty));
    if let Some((row, col)) = lost.find(is_lost) {
        let cells = 1 + lost.filter(is_lost).count();
        gather.flaw(Flaw::SheetUnreadable {
            reason: format!(
                "{cells} cells, the first {}, have a text that is not in the workbook",
                Address::new(row, col)
            ),
        });
    }
    gather.tell_hidden(survey.hidden(index));
    let formulas = guard(|| book.worksheet_formula(name))?.map_err(|e| e.to_string())?;
    gather.formulas(&range, &formulas);
    let merges = guard(|| book.merge_cells_by_sheet_name(name))?.map_err(|e| e.to_string())?;
    gather
        .grid()
        .merges
        .extend(merges.into_iter().map(|m| Area {
            top: m.start.0,
            left: m.start.1,
            bottom: m.end.0,
            right: m.end.1,
        }));
    Ok(())
}
