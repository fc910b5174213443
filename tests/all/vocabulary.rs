//! The vocabulary from outside: tables, headings, conversions.

#[test]
fn probe() {
    let v = wellread::vocabulary::Vocabulary::built_in();
    println!("{} analytes", v.analytes().len());
    for t in std::env::var("PROBE").unwrap_or_default().split('|') {
        println!("{t:40} {:?}", v.read_heading(t));
    }
}
