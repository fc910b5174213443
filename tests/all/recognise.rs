//! Recognition of whole files: what is planned, without any mapping.

use std::path::Path;
use std::sync::Arc;
use wellread::map;
use wellread::read::{Options, open};
use wellread::vocabulary::Vocabulary;

/// Prints the plans of the real files (shown with `--nocapture`), or of the file in `WELLREAD_LOOK`.
#[test]
#[ignore = "prints plans for people; run with --ignored --nocapture"]
#[allow(clippy::print_stdout, reason = "this is what it is for")]
fn plans_of_real_files() {
    let Ok(path) = std::env::var("WELLREAD_LOOK") else {
        println!("set WELLREAD_LOOK to a file");
        return;
    };
    let name: Arc<str> = path.as_str().into();
    let opened = open(Path::new(&path), &name, &Options::default());
    let plan = map::plan(opened.report(), Vocabulary::built_in(), None);
    println!(
        "{}",
        map::picture(&plan, opened.report(), Vocabulary::built_in())
    );
}
