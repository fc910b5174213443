//! The command. All of it is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    wellread::cli::main()
}
