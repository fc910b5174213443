//! stub
use super::findings::Flaw;
use super::grid::Report;
use super::open::Form;
use super::options::Options;
pub(super) fn read(_bytes: &[u8], _o: &Options, _report: &mut Report) -> Result<Form, Flaw> {
    Err(Flaw::BinaryFile)
}
