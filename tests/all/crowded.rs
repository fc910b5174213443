//! Sheets crowded with tables. What is asked of each table must not be asked of all its neighbours: these
//! sheets took minutes and gigabytes once. Nothing is timed; a sheet that is read so again would not end.

use wellread::read::{Options, open_text};
use wellread::record::{Extract, Sample};
use wellread::run::mapped;
use wellread::vocabulary::Vocabulary;

/// What a text gives, with its samples and results counted.
fn counted(text: &str) -> (Extract, usize, u64) {
    let report = open_text(text, &"crowded.csv".into(), &Options::default());
    let seen = mapped(report, None, Vocabulary::built_in());
    let extract = seen.extract;
    let results = extract.sheets[0].results;
    assert!(extract.sheets[0].holds());
    let samples = extract.samples.len();
    (extract, samples, results)
}

#[test]
fn forms_beneath_each_other_are_samples() {
    let form = |i: u32| format!("Sample,W{i}\npH,7.1\nCa mg/L,{i}.5\nMg mg/L,12\n\n");
    let text: String = (0..2_000).map(form).collect();
    let (_, samples, results) = counted(&text);
    assert_eq!((samples, results), (2_000, 6_000));
}

#[test]
fn tables_beside_each_other_keep_their_own() {
    let row = |cells: fn(u32, u32) -> String, row: u32| {
        let tables: Vec<String> = (0..400).map(|table| cells(table, row)).collect();
        tables.join(",,") + "\n"
    };
    let mut text = row(|_, _| "Sample,pH,Ca mg/L".into(), 0);
    for line in 0..5 {
        text += &row(|table, row| format!("W{table}-{row},7.1,{row}.5"), line);
    }
    let (_, samples, results) = counted(&text);
    assert_eq!((samples, results), (2_000, 4_000));
}

#[test]
fn tables_beneath_each_other_have_the_label_that_is_nearest() {
    let table = |i: u32| {
        format!("Client:,Farm {i}\nSample,Sampled,pH,Ca mg/L\nW{i},2026-05-01,7.1,{i}.5\n\n")
    };
    let text: String = (0..2_000).map(table).collect();
    let (extract, samples, results) = counted(&text);
    assert_eq!((samples, results), (2_000, 4_000));
    for sample in &extract.samples {
        let number = number_of(sample);
        assert_eq!(sample.client.as_deref(), Some(&*format!("Farm {number}")));
    }
}

#[test]
fn lines_of_clients_between_lone_tables_end_each() {
    let table = |i: u32| format!("Client: Farm {i}\nSample,pH,Ca mg/L,Cl mg/L\nW{i},7.5,80,30\n");
    let text: String = (0..8_000).map(table).collect();
    let (_, samples, results) = counted(&text);
    assert_eq!((samples, results), (8_000, 24_000));
}

#[test]
fn lines_of_sites_between_the_samples_name_them() {
    let site = |i: u32| format!("Site {i}\nW{i},2026-05-01,7.1,{i}.5\n");
    let text: String = (0..2_000).map(site).collect();
    let (extract, samples, results) = counted(&format!("Sample,Sampled,pH,Ca mg/L\n{text}"));
    assert_eq!((samples, results), (2_000, 4_000));
    for sample in &extract.samples {
        let number = number_of(sample);
        assert_eq!(sample.site.as_deref(), Some(&*format!("Site {number}")));
    }
}

#[test]
fn lines_without_a_name_are_left_out_among_many() {
    let line = |i: u32| match i % 6 {
        0 => format!(",,7.1,{i}\n"),
        _ => format!("W{i},2026-05-01,7.1,{i}\n"),
    };
    let text: String = (1..=6_000).map(line).collect();
    let (extract, samples, results) = counted(&format!("Sample,Sampled,pH,Ca mg/L\n{text}"));
    assert_eq!((samples, results), (5_000, 10_000));
    let nameless = (extract.unplaced.iter()).filter(|cell| &*cell.reason == "line-nameless");
    assert_eq!(nameless.count(), 2_000);
}

#[test]
fn lists_beneath_each_other_have_the_label_that_is_nearest() {
    let list = |i: u32| {
        format!(
            "Client: Farm {i}\nSample,Sampled,Parameter,Result,Unit\n\
             W{i},2026-05-01,Ca,{i}.5,mg/L\nW{i},2026-05-01,Mg,7,mg/L\n\n"
        )
    };
    let text: String = (0..500).map(list).collect();
    let (extract, samples, results) = counted(&text);
    assert_eq!((samples, results), (500, 1_000));
    for sample in &extract.samples {
        let number = number_of(sample);
        assert_eq!(sample.client.as_deref(), Some(&*format!("Farm {number}")));
    }
}

/// The number in the name of a sample: "7" of "W7".
fn number_of(sample: &Sample) -> &str {
    let name = sample.sample_ref.as_deref().unwrap();
    name.trim_start_matches('W')
}

#[test]
fn headings_without_an_end_are_no_tables() {
    for heading in [
        "Ca,Mg,Na,K\n",
        "Sample,Date,Ca,Mg\n",
        "Sample,Parameter,Result,Unit\n",
    ] {
        let (_, samples, results) = counted(&heading.repeat(20_000));
        assert_eq!((samples, results), (0, 0), "{heading}");
    }
}
