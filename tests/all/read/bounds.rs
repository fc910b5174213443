//! Files that are too much, made when the test runs.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
use wellread::read::{Encoding, Opened, Options, open};

fn codes(opened: &Opened) -> Vec<&str> {
    opened.report().findings.iter().map(|f| &*f.code).collect()
}

fn open_file(path: &Path, options: &Options) -> Opened {
    open(path, &"file".into(), options)
}

#[test]
fn all_columns_of_a_sheet_are_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wide.csv");
    let line = |n: usize| (0..n).map(|i| i.to_string()).collect::<Vec<_>>().join(",");
    std::fs::write(&path, format!("{}\n{}\n", line(16_384), line(3))).unwrap();
    let opened = open_file(&path, &Options::default());
    assert_eq!(codes(&opened), [""; 0]);
    assert_eq!(opened.report().sheets[0].grid.count(), 16_387);
    std::fs::write(&path, format!("{}\n", line(16_385))).unwrap();
    let opened = open_file(&path, &Options::default());
    assert_eq!(codes(&opened), ["cell-bound"]);
    assert_eq!(
        opened.report().findings[0].message,
        "more than 16384 columns; what lies beyond is not read"
    );
    assert_eq!(opened.report().sheets[0].grid.count(), 16_384);
}

#[test]
fn a_stream_of_more_rows_than_a_sheet_has_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long.csv");
    let mut file = BufWriter::new(File::create(&path).unwrap());
    for row in 0..1_048_577_u32 {
        writeln!(file, "{row};7").unwrap();
    }
    file.into_inner().unwrap();
    let opened = open_file(
        &path,
        &Options {
            stream_above: 1 << 20,
            ..Options::default()
        },
    );
    let Opened::Stream(stream) = &opened else {
        panic!("a stream is expected")
    };
    assert_eq!(stream.lines(), 1_048_577);
    let mut last = None;
    stream
        .chunk(stream.chunks() - 1)
        .unwrap()
        .for_each_row(|row, fields| last = Some((row, fields[0].to_owned())));
    assert_eq!(last, Some((1_048_576, "1048576".to_owned())));
}

#[test]
fn err_a_record_that_never_ends_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("endless.csv");
    std::fs::write(&path, "x".repeat(20 << 20)).unwrap();
    let opened = open_file(&path, &Options::default());
    assert!(opened.report().refused);
    assert_eq!(
        opened.report().findings[0].message,
        "a record is longer than 8388608 bytes"
    );
}

#[test]
#[ignore = "writes 1 GB"]
fn err_a_line_of_a_gigabyte_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("endless.csv");
    let mut file = File::create(&path).unwrap();
    let block = "7,".repeat(1 << 19);
    (0..1024).for_each(|_| file.write_all(block.as_bytes()).unwrap());
    let opened = open_file(&path, &Options::default());
    assert_eq!(codes(&opened), ["record-too-long"]);
}

#[test]
fn err_a_long_text_in_a_stated_encoding_of_two_bytes_is_refused_with_advice() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kanji.csv");
    std::fs::write(&path, b"a;\x83\x6a\n".repeat(1000)).unwrap();
    let options = Options {
        stream_above: 100,
        encoding: Encoding::parse("shift_jis"),
        ..Options::default()
    };
    let opened = open_file(&path, &options);
    assert_eq!(codes(&opened), ["encoding-unstreamable"]);
    assert_eq!(opened.report().findings[0].help, "save the file as UTF-8");
}

#[test]
fn a_stream_in_another_encoding_is_decoded() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("latin.csv");
    std::fs::write(&path, b"a;\xb5g/L\n".repeat(500)).unwrap();
    let opened = open_file(
        &path,
        &Options {
            stream_above: 100,
            chunk_bytes: 64,
            ..Options::default()
        },
    );
    let Opened::Stream(stream) = &opened else {
        panic!("a stream is expected")
    };
    assert_eq!(codes(&opened), ["encoding-assumed"]);
    let mut seen = 0;
    for index in 0..stream.chunks() {
        stream
            .chunk(index)
            .unwrap()
            .for_each_row(|_, fields| seen += usize::from(fields == ["a", "µg/L"]));
    }
    assert_eq!(seen, 500);
}

#[test]
fn err_a_stream_whose_file_changes_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("growing.csv");
    std::fs::write(&path, "a;1\n".repeat(1000)).unwrap();
    let opened = open_file(
        &path,
        &Options {
            stream_above: 100,
            chunk_bytes: 1000,
            ..Options::default()
        },
    );
    let Opened::Stream(stream) = &opened else {
        panic!("a stream is expected")
    };
    assert!(stream.chunk(0).is_ok());
    std::fs::write(&path, "a;1\n".repeat(1001)).unwrap();
    assert_eq!(stream.chunk(0).unwrap_err().code, "file-changed");
    std::fs::remove_file(&path).unwrap();
    assert_eq!(stream.chunk(0).unwrap_err().code, "file-unreadable");
}

#[test]
fn err_a_package_of_too_many_parts_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("parts.xlsx");
    let mut package = zip::ZipWriter::new(File::create(&path).unwrap());
    for i in 0..10_001 {
        package
            .start_file(format!("xl/{i}"), zip::write::SimpleFileOptions::default())
            .unwrap();
    }
    package.finish().unwrap();
    let opened = open_file(&path, &Options::default());
    assert_eq!(codes(&opened), ["part-too-large"]);
}

#[test]
fn err_a_workbook_of_very_many_bytes_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.xlsx");
    let mut file = File::create(&path).unwrap();
    file.write_all(b"PK\x03\x04").unwrap();
    // Of nothing: it takes no room.
    file.set_len((256 << 20) + 1).unwrap();
    let opened = open_file(&path, &Options::default());
    assert_eq!(codes(&opened), ["file-too-large"]);
    assert_eq!(
        opened.report().findings[0].message,
        "268435457 bytes; a file of this kind is read up to 268435456"
    );
}

#[test]
#[ignore = "inflates 1.2 GB"]
fn err_a_sheet_that_unfolds_without_end_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bomb.xlsx");
    // Whatever it is called: the workbook says which part a sheet is.
    for part in ["xl/worksheets/sheet1.xml", "xl/media/sheet1.png"] {
        let mut package = zip::ZipWriter::new(File::create(&path).unwrap());
        package
            .start_file(part, zip::write::SimpleFileOptions::default())
            .unwrap();
        let block = vec![b' '; 1 << 20];
        (0..600).for_each(|_| package.write_all(&block).unwrap());
        package.finish().unwrap();
        let opened = open_file(&path, &Options::default());
        assert_eq!(codes(&opened), ["part-too-large"], "{part}");
    }
}

#[test]
#[ignore = "inflates 1.5 GB"]
fn err_parts_that_together_unfold_without_end_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bomb.xlsx");
    let mut package = zip::ZipWriter::new(File::create(&path).unwrap());
    let block = vec![b' '; 1 << 20];
    for sheet in 0..3 {
        package
            .start_file(
                format!("xl/worksheets/sheet{sheet}.xml"),
                zip::write::SimpleFileOptions::default(),
            )
            .unwrap();
        (0..500).for_each(|_| package.write_all(&block).unwrap());
    }
    package.finish().unwrap();
    let opened = open_file(&path, &Options::default());
    assert_eq!(codes(&opened), ["part-too-large"]);
    assert_eq!(
        opened.report().findings[0].message,
        "'all parts together' unfolds to more than 1073741824 bytes"
    );
}

#[test]
fn a_text_of_very_many_short_cells_is_a_stream() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("crowded.csv");
    std::fs::write(&path, "7\n".repeat(4_000_001)).unwrap();
    let opened = open_file(&path, &Options::default());
    let Opened::Stream(stream) = &opened else {
        panic!("a stream is expected")
    };
    assert_eq!((stream.lines(), codes(&opened)), (4_000_001, vec![]));
    // In two bytes a character it cannot be one.
    let wide: Vec<u8> = "7\n"
        .repeat(2_100_000)
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    std::fs::write(&path, wide).unwrap();
    let opened = open_file(&path, &Options::default());
    assert_eq!(opened.report().sheets[0].grid.count(), 2_100_000);
}

#[test]
fn what_is_kept_of_a_stream_to_decide_from_is_bounded() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wide.csv");
    let line = "7,".repeat(16_383) + "7\n";
    std::fs::write(&path, line.repeat(520)).unwrap();
    let opened = open_file(&path, &Options::default());
    assert!(matches!(opened, Opened::Stream(_)));
    assert_eq!(codes(&opened), [""; 0]);
    let kept = opened.report().sheets[0].grid.count();
    assert_eq!(kept, 184 * 16_384, "one record beyond 3 million fields");
}
