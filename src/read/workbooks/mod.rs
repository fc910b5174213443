//! Workbooks: packages and records are looked through before anything is laid out, then cells are put on grids.

pub(super) mod biff;
pub(super) mod bytes;
pub(super) mod content;
pub(super) mod displayed;
pub(super) mod hidden;
pub(super) mod markup;
pub(super) mod mend;
pub(super) mod ods;
pub(super) mod ods_prefixes;
pub(super) mod ods_tables;
pub(super) mod ole;
pub(super) mod package;
pub(super) mod rich;
pub(super) mod serial;
pub(super) mod sheet_scan;
pub(super) mod shown;
pub(super) mod strings;
pub(super) mod workbook;
pub(super) mod xls;
pub(super) mod xlsb;
pub(super) mod xlsb_scan;
pub(super) mod xlsx;
pub(super) mod xml_2003;
