//! Hostile texts and files in very great number: nothing panics, hangs or breaks the tally. Each trial is
//! made from its number alone, so that one that fails can be made again.
//!
//! `WELLREAD_TRIALS=1000000 cargo test --release --test all -- fuzz --ignored --nocapture` makes so many of
//! each target, and a share of that of the slow ones; `WELLREAD_TARGET=dates` of that one only;
//! `WELLREAD_FIRST=7` begins at trial 7.

mod dice;
mod package;
mod pieces;
mod targets;

use dice::Dice;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::{Duration, Instant};
use targets::{TARGETS, Trial};

/// Failures shown of one target: by then the cause is known.
const SHOWN: usize = 5;

/// What the trials of one target came to.
struct Tried {
    failed: Vec<u64>,
    slowest: (Duration, u64),
}

fn try_all(trial: Trial, folder: &Path, numbers: std::ops::Range<u64>) -> Tried {
    let mut tried = Tried {
        failed: Vec::new(),
        slowest: (Duration::ZERO, 0),
    };
    for number in numbers {
        let began = Instant::now();
        if catch_unwind(AssertUnwindSafe(|| trial(&mut Dice::new(number), folder))).is_err() {
            tried.failed.push(number);
            if tried.failed.len() == SHOWN {
                break;
            }
        }
        tried.slowest = tried.slowest.max((began.elapsed(), number));
    }
    tried
}

/// Tries the targets, each as often as `times` says, and tells what failed.
fn try_targets(first: u64, times: impl Fn(&str, u64) -> u64) {
    let folder = tempfile::tempdir().unwrap();
    let mut failed = Vec::new();
    for (name, trial, plain) in TARGETS {
        let count = times(name, *plain);
        let began = Instant::now();
        let tried = try_all(*trial, folder.path(), first..first + count);
        println!(
            "{name}: {count} trials from {first} in {:.0?}, slowest {:.1?} (trial {})",
            began.elapsed(),
            tried.slowest.0,
            tried.slowest.1
        );
        failed.extend(tried.failed.iter().map(|number| format!("{name} {number}")));
    }
    assert!(failed.is_empty(), "failed: {}", failed.join(", "));
}

#[test]
fn hostile_texts_and_files_hold_the_laws() {
    try_targets(0, |_, plain| plain);
}

#[test]
#[ignore = "as long as WELLREAD_TRIALS asks"]
fn very_many_hostile_texts_and_files_hold_the_laws() {
    let asked = |name: &str| std::env::var(name).ok();
    let number = |name: &str| asked(name).and_then(|n| n.parse().ok());
    let trials = number("WELLREAD_TRIALS").unwrap_or(100_000);
    let quickest = TARGETS.iter().map(|(_, _, plain)| *plain).max().unwrap();
    let only = asked("WELLREAD_TARGET");
    try_targets(
        number("WELLREAD_FIRST").unwrap_or(0),
        |name, plain| match &only {
            Some(only) if only != name => 0,
            Some(_) => trials,
            None => trials * plain / quickest,
        },
    );
}
