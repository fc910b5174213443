//! Workbooks: packages and records are looked through before anything is laid out, then cells are put on grids.

mod biff;
mod bytes;
mod content;
mod displayed;
mod hidden;
mod markup;
mod mend;
pub(super) mod ods;
mod ods_prefixes;
mod ods_tables;
pub(super) mod ole;
pub(super) mod package;
mod rich;
mod serial;
mod sheet_scan;
mod shown;
mod strings;
mod workbook;
mod xls;
mod xlsb;
mod xlsb_scan;
mod xlsx;
pub(super) mod xml_2003;
