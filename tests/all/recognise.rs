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

/// Prints how headings are read: `WELLREAD_HEADS='AL_AES|CA_AES'`.
#[test]
#[ignore = "prints for people"]
#[allow(clippy::print_stdout, reason = "this is what it is for")]
fn readings_of_headings() {
    let vocabulary = Vocabulary::built_in();
    let heads = std::env::var("WELLREAD_HEADS").unwrap_or_default();
    let context = vocabulary.heading_context(heads.split('|'));
    println!("{context:?}");
    for head in heads.split('|') {
        println!("{head}: {:?}", vocabulary.read_heading_in(head, &context));
        println!(
            "   unit {:?} basis {:?}",
            vocabulary.read_unit(head).map(|u| u.0.code),
            vocabulary.read_basis(head)
        );
    }
}
