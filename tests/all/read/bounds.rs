//! Files that are too much, made when the test runs.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
use wellread::read::{Opened, Options, open};

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
fn err_a_long_text_in_utf_16_is_refused_with_advice() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wide.csv");
    let bytes: Vec<u8> = "a;b\n"
        .repeat(1000)
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    std::fs::write(&path, bytes).unwrap();
    let opened = open_file(
        &path,
        &Options {
            stream_above: 100,
            ..Options::default()
        },
    );
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

/// What a sheet gives in which one text of the table stands in every cell, ten of them a row.
fn shown_often(text: &str, rows: usize) -> Opened {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shown-often.xlsx");
    let mut package = zip::ZipWriter::new(File::create(&path).unwrap());
    let main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    let office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let relationships = "http://schemas.openxmlformats.org/package/2006/relationships";
    let cells = "<c t=\"s\"><v>0</v></c>".repeat(10);
    for (name, content) in [
        (
            "_rels/.rels",
            format!(
                "<Relationships xmlns=\"{relationships}\"><Relationship Id=\"rId1\" Type=\"{office}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/workbook.xml",
            format!(
                "<workbook xmlns=\"{main}\" xmlns:r=\"{office}\"><sheets><sheet name=\"S\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            format!(
                "<Relationships xmlns=\"{relationships}\"><Relationship Id=\"rId1\" Type=\"{office}/worksheet\" Target=\"worksheets/sheet1.xml\"/><Relationship Id=\"rId2\" Type=\"{office}/sharedStrings\" Target=\"sharedStrings.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/sharedStrings.xml",
            format!("<sst xmlns=\"{main}\"><si><t>{text}</t></si></sst>"),
        ),
        (
            "xl/worksheets/sheet1.xml",
            format!(
                "<worksheet xmlns=\"{main}\"><sheetData>{}</sheetData></worksheet>",
                format!("<row>{cells}</row>").repeat(rows)
            ),
        ),
    ] {
        package
            .start_file(name, zip::write::SimpleFileOptions::default())
            .unwrap();
        package.write_all(content.as_bytes()).unwrap();
    }
    package.finish().unwrap();
    open_file(&path, &Options::default())
}

#[test]
#[ignore = "reads 512 MB of text"]
fn err_one_long_text_in_very_many_cells_is_cut_off() {
    let opened = shown_often(&"x".repeat(32_000), 100_000);
    assert_eq!(codes(&opened), ["cell-bound"]);
    assert_eq!(
        opened.report().findings[0].message,
        "more than 536870912 bytes of text in the cells of the workbook; what lies beyond is not read"
    );
}

#[test]
#[ignore = "reads five million cells"]
fn err_more_texts_than_can_be_held_are_cut_off() {
    let opened = shown_often("x", 500_001);
    assert_eq!(codes(&opened), ["cell-bound"]);
    assert_eq!(
        opened.report().findings[0].message,
        "more than 5000000 texts in the cells of the workbook; what lies beyond is not read"
    );
    assert_eq!(opened.report().sheets[0].grid.count(), 5_000_000);
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
