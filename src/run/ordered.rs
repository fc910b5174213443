//! Work that is done on all threads and taken in by one, in order.

use crate::error::{Error, Result};
use rayon::{ScopeFifo, Yield};
use std::collections::VecDeque;
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError, sync_channel};
use std::time::Duration;

/// How long a thread that waits for a thing does not look for other work.
const PATIENCE: Duration = Duration::from_micros(100);

/// Makes the things 0 to `count` on all threads and takes each as soon as those before it are taken.
/// At most `ahead` (not 0) are made or being made before the one that is taken, so that memory does not
/// grow with `count`. What comes out is the same for any number of threads.
///
/// Stops at the first that cannot be taken; those that are being made then are made in vain.
pub(super) fn in_order<T: Send>(
    ahead: usize,
    count: usize,
    make: impl Fn(usize) -> T + Sync,
    take: impl FnMut(T) -> Result<()> + Send,
) -> Result<()> {
    // First in, first out: a thread that runs dry begins with the one that is needed first.
    rayon::scope_fifo(|scope| deliver(scope, ahead, count, &make, take))
}

fn deliver<'s, T: Send + 's>(
    scope: &ScopeFifo<'s>,
    ahead: usize,
    count: usize,
    make: &'s (impl Fn(usize) -> T + Sync),
    mut take: impl FnMut(T) -> Result<()>,
) -> Result<()> {
    let mut begun: VecDeque<Receiver<T>> = VecDeque::new();
    let mut next = 0..count;
    loop {
        while begun.len() < ahead
            && let Some(index) = next.next()
        {
            let (give, receiver) = sync_channel(1);
            scope.spawn_fifo(move |_| {
                // Nobody receives it where an earlier one could not be taken.
                drop(give.send(make(index)));
            });
            begun.push_back(receiver);
        }
        match begun.pop_front() {
            Some(receiver) => take(made(&receiver)?)?,
            None => return Ok(()),
        }
    }
}

/// Waits for a thing; until it is there, this thread makes others.
fn made<T>(receiver: &Receiver<T>) -> Result<T> {
    // The scope goes on with the panic of a thing that could not be made, after this error.
    let lost = || Error::Law("a part of the run has failed".to_owned());
    loop {
        match receiver.try_recv() {
            Ok(thing) => return Ok(thing),
            Err(TryRecvError::Disconnected) => return Err(lost()),
            Err(TryRecvError::Empty) => {}
        }
        if rayon::yield_now() != Some(Yield::Executed) {
            // All that is begun is in the hands of other threads, which may soon have something to share.
            match receiver.recv_timeout(PATIENCE) {
                Ok(thing) => return Ok(thing),
                Err(RecvTimeoutError::Disconnected) => return Err(lost()),
                Err(RecvTimeoutError::Timeout) => {}
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicUsize, Ordering};

    fn with_threads<T: Send>(threads: usize, run: impl FnOnce() -> T + Send) -> T {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        pool.build().unwrap().install(run)
    }

    #[test]
    fn things_are_taken_in_order_and_not_too_far_ahead() {
        for (threads, ahead, count) in [(1, 1, 5), (1, 4, 9), (3, 4, 100), (3, 1, 20), (2, 8, 0)] {
            let (begun, taken) = (AtomicUsize::new(0), AtomicUsize::new(0));
            let mut order = Vec::new();
            with_threads(threads, || {
                let make = |index| {
                    let before = begun.fetch_add(1, Ordering::SeqCst);
                    assert!(before <= taken.load(Ordering::SeqCst) + ahead);
                    index
                };
                let take = |index| {
                    taken.fetch_add(1, Ordering::SeqCst);
                    order.push(index);
                    Ok(())
                };
                in_order(ahead, count, make, take)
            })
            .unwrap();
            assert_eq!(
                order,
                (0..count).collect::<Vec<_>>(),
                "{threads} {ahead} {count}"
            );
        }
    }

    #[test]
    fn err_the_first_that_cannot_be_taken_ends_it() {
        let mut taken = Vec::new();
        let ended = in_order(
            3,
            100,
            |index| index,
            |index| {
                taken.push(index);
                match index {
                    7 => Err(Error::Usage("no more".to_owned())),
                    _ => Ok(()),
                }
            },
        );
        assert_eq!(ended.unwrap_err().to_string(), "no more");
        assert_eq!(taken, (0..=7).collect::<Vec<_>>());
    }
}
