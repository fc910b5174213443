//! The command. All of it is in the library.

use std::process::ExitCode;

/// Samples, names and findings are many small pieces, made by one thread and dropped by another; the
/// system's allocator took a fifth of a run over them.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    wellread::cli::main()
}
