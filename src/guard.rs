//! A panic inside a foreign reader must not end the run: it indexes into what a file claims, and a report,
//! or a dataset that somebody meddled with, is untrusted input. It is caught here and becomes an error of
//! the one file. An allocation failure cannot be caught; for that see `read::bounds`.

use std::cell::Cell;
use std::panic::{self, AssertUnwindSafe};
use std::sync::Once;

thread_local! {
    static GUARDED: Cell<bool> = const { Cell::new(false) };
}

/// Runs a call into a foreign reader; `Err` holds the words of its panic. The reader may be used
/// again afterwards: its state is buffers and counters, and what it gives is bounded by the caller.
pub(crate) fn guard<T>(call: impl FnOnce() -> T) -> Result<T, String> {
    static QUIET: Once = Once::new();
    QUIET.call_once(|| {
        let usual = panic::take_hook();
        // The finding tells what went wrong; the user has no use for a backtrace of the reader's.
        panic::set_hook(Box::new(move |info| {
            if !GUARDED.get() {
                usual(info);
            }
        }));
    });
    let outer = GUARDED.replace(true);
    let result = panic::catch_unwind(AssertUnwindSafe(call));
    GUARDED.set(outer);
    result.map_err(|payload| {
        let words = payload
            .downcast_ref::<String>()
            .map(String::as_str)
            .or_else(|| payload.downcast_ref::<&str>().copied());
        words.map_or_else(
            || "the reader failed".to_owned(),
            |w| format!("the reader failed: {w}"),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_result_passes_through() {
        assert_eq!(guard(|| 7), Ok(7));
    }

    #[test]
    fn err_a_panic_becomes_its_words() {
        let caught = guard(|| -> u8 { panic!("index {}", 9) });
        assert_eq!(caught, Err("the reader failed: index 9".to_owned()));
    }
}
