//! `wellread convert`.

use super::{Outcome, Terminal};
use crate::error::{Error, Result};
use clap::Args;

#[derive(Debug, Args)]
pub(super) struct Arguments {}

pub(super) fn run(arguments: &Arguments, terminal: &mut Terminal) -> Result<Outcome> {
    let _ = (arguments, terminal);
    Err(Error::Usage("not built yet".into()))
}
