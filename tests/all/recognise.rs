//! Recognition: small sheets drawn as text, and the plan expected of each, drawn as text too.

mod cross_tables;
mod days;
mod evidence;
mod groups;
mod names;
mod other_media;
mod results_down;
mod statistics;

use std::path::Path;
use std::sync::Arc;
use wellread::map;
use wellread::place::Address;
use wellread::read::{Cell, Options, Report, Sheet, open};
use wellread::vocabulary::Vocabulary;

/// A sheet from lines of cells parted by `|`; what reads as a number is one.
fn sheet(name: &str, picture: &str) -> Sheet {
    let mut sheet = Sheet {
        name: name.into(),
        ..Sheet::default()
    };
    for (row, line) in (0u32..).zip(picture.trim_matches('\n').lines()) {
        for (col, text) in (0u32..).zip(line.split('|')) {
            let text = text.trim();
            let cell = text
                .parse::<f64>()
                .map_or_else(|_| Cell::text(text), Cell::number);
            sheet.grid.put(Address::new(row, col), cell);
        }
    }
    sheet
}

/// The plan of one sheet as a picture, without its findings.
fn planned(picture: &str) -> String {
    let report = Report {
        file: "report.xlsx".into(),
        sheets: vec![sheet("", picture)],
        ..Report::default()
    };
    let plan = map::plan(&report, Vocabulary::built_in(), None);
    let drawn = map::picture(&plan, &report, Vocabulary::built_in());
    drawn
        .lines()
        .filter(|line| {
            line.starts_with(' ') || line.starts_with("negative") || line.starts_with("missing")
        })
        .map(|line| format!("{}\n", line.trim()))
        .collect()
}

/// The findings of one sheet: severity, code, cell and message.
fn findings(picture: &str) -> String {
    let report = Report {
        file: "report.xlsx".into(),
        sheets: vec![sheet("", picture)],
        ..Report::default()
    };
    let plan = map::plan(&report, Vocabulary::built_in(), None);
    plan.findings
        .iter()
        .map(|f| {
            let at = f.place.cell.map_or_else(String::new, |c| c.to_string());
            format!("{} {} {at}: {}\n", f.severity, f.code, f.message)
        })
        .collect()
}

/// An expected picture without the line break that opens it.
fn lines(text: &str) -> &str {
    text.trim_start_matches('\n')
}

#[test]
fn names_then_units_then_bases() {
    let picture = r#"
Sample | Nitrate | Phosphate | Iron
       | mg/l    | mg/l      | µg/l
       | as N    | as P      | total
Tank A | 5.0     | 0.01      | 340
Tank B | 4.1     | 0.02      | 35
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-down 4..5, headings A1:D1 B2:D2 B3:D3
A sample_ref
B nitrate 'Nitrate' in 'mg/l' as N x4.42664
C phosphate 'Phosphate' in 'mg/l' as P x3.06612
D iron total 'Iron' in 'µg/l' x0.00100
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
"#
        )
    );
}

#[test]
fn a_label_column_with_units_limits_and_guidelines() {
    let picture = r#"
Parameter   | Unit | LOD  | T26-01 | T26-02 | Guide
Sampled     |      |      | 2026-03-17 | 2026-03-18 |
pH          |      |      | 7.1    | 6.3    | 6.5-8.4
Major ions
Calcium     | mg/l | 0.1  | 118    | 4.1    | <150
Iron        | mg/l | 0.02 | 0.35   | <0.02  | <0.2
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-across D..F, headings A1:C1 A2 A3 A4 A5:C5 A6:C6
1 sample_ref
2 sampled_on
3 ph 'pH'
4 unplaced: heading-unknown
5 calcium 'Calcium' in 'mg/l' limit 0.1
6 iron 'Iron' in 'mg/l' limit 0.02
line F set aside: guideline
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
"#
        )
    );
}

#[test]
fn tables_stacked_under_titles() {
    let picture = r#"
Nursery East
Sample | pH  | Ca mg/l
E1     | 7.2 | 118
E2     | 7.4 | 96

Nursery West
Sample | pH  | Na mg/l
W1     | 6.9 | 21
W2     | 6.8 | 22
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-down 3..4, headings A2:C2
site from A1
A sample_ref
B ph 'pH'
C calcium 'Ca mg/l' in 'mg/l'
samples-down 8..9, headings A7:C7
site from A6
A sample_ref
B ph 'pH'
C sodium 'Na mg/l' in 'mg/l'
identity A1 A6
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
"#
        )
    );
}

#[test]
fn tables_side_by_side() {
    let picture = r#"
Parameter | Well 1 |  | Parameter | Well 1
pH        | 7.2    |  | Iron mg/l  | 0.35
Ca mg/l   | 118    |  | Boron mg/l | 0.04
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-across B..B, headings A1 A2 A3
1 sample_ref
2 ph 'pH'
3 calcium 'Ca mg/l' in 'mg/l'
samples-across E..E, headings D1 D2 D3
1 sample_ref
2 iron 'Iron mg/l' in 'mg/l'
3 boron 'Boron mg/l' in 'mg/l'
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
"#
        )
    );
}

/// Units change half-way down: what follows is not in the first ones.
#[test]
fn err_other_units_further_down_end_a_table() {
    let picture = r#"
Sample | Ca   | Mg   | NO3
       | mg/L | mg/L | mg/L
A      | 80   | 12   | 30
       | meq/L | meq/L | mg/L as N
C      | 4.0  | 1.0  | 6.8
"#;
    assert_eq!(
        findings(picture),
        "error other-table A4: other headings begin here: nothing below is placed by the headings of \
         the first table\n"
    );
    // The same units again, as on every printed page, change nothing.
    assert_eq!(
        findings(
            &picture
                .replace("meq/L", "mg/L")
                .replace("mg/L as N", "mg/L")
        ),
        ""
    );
}

/// A unit that nobody knows is none that could be left out.
#[test]
fn err_an_unknown_unit_below_the_names_is_not_taken_for_silence() {
    let picture = r#"
Well | Cl    | Na+K  | SO4   | TDS
     | % meq | % meq | % meq | mg/l
W1   | 20    | 30    | 10    | 512
W2   | 22    | 31    | 13    | 550
"#;
    assert_eq!(
        findings(picture),
        "warning unit-unknown B1: 'Cl' is given in '% meq', which is no known unit\n\
         warning unit-unknown D1: 'SO4' is given in '% meq', which is no known unit\n\
         warning analyte-unknown C1: no analyte is called 'Na+K'\n"
    );
}

/// Two groups of one table, each under its unit.
#[test]
fn a_unit_above_the_names_is_that_of_its_group() {
    let picture = r#"
Sample | mg/L |    |    | meq/L |    |
       | Ca   | Mg | Cl | Ca    | Mg | Cl
A      | 80.2 | 12.2 | 35.5 | 4.0 | 1.0 | 1.0
B      | 40.1 | 24.3 | 71   | 2.0 | 2.0 | 2.0
"#;
    let planned = planned(picture);
    for track in ["C magnesium 'Mg' in 'mg/L'", "D chloride 'Cl' in 'mg/L'"] {
        assert!(planned.contains(track), "{planned}");
    }
    assert!(!planned.contains("assumed"), "{planned}");
}

/// Each sample with a column of its own limits: none of them is a sample.
#[test]
fn err_limits_of_a_sample_are_no_sample() {
    let picture = r#"
Analyse      | Tank A | Tank A BG | Tank B | Tank B LOQ
Calcium mg/l | 88     | 0.5       | 92     | 0.5
Eisen mg/l   | 0.02   | 0.01      | 0.03   | 0.01
"#;
    let planned = planned(picture);
    for column in ["C", "E"] {
        assert!(
            planned.contains(&format!("line {column} unplaced: limit-line")),
            "{planned}"
        );
    }
}

/// A comma as decimal sign says in which part of the world a date was written.
#[test]
fn dates_beside_decimal_commas_have_the_day_first() {
    let with_comma = r#"
Poço | Data       | Cloreto mg/L
P-1  | 05/11/2022 | 9,8
P-2  | 06/11/2022 | 210,35
"#;
    assert_eq!(
        findings(with_comma),
        "note dates-by-convention B2: '05/11/2022' is read with the day first, as where commas are \
         decimal signs\n"
    );
    assert_eq!(
        findings(&with_comma.replace(',', ".")),
        "warning dates-undecided B2: nothing in the file tells day and month of '05/11/2022' apart\n"
    );
}

#[test]
fn qualifiers_beside_their_values() {
    let picture = r#"
Sample | Fe_q | Fe mg/l | Mn_q | Mn mg/l | Cu mg/l | Cu_q
A      |      | 0.35    | <    | 0.01    | 0.02    | J
B      | <    | 0.02    |      | 0.05    | 0.01    | ND
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-down 2..3, headings A1:G1
A sample_ref
B Qualifier of C
C iron 'Fe mg/l' in 'mg/l'
D Qualifier of E
E manganese 'Mn mg/l' in 'mg/l'
F copper 'Cu mg/l' in 'mg/l'
G Qualifier of F
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
"#
        )
    );
}

#[test]
fn statistics_controls_and_nameless_sums() {
    let picture = r#"
Sample | Ca mg/l | Mg mg/l
S1     | 10      | 2
S2     | 12      | 3
S3     | 14      | 4
S4     | 14      | 4
S5     | 14      | 4
Blank  | 0.1     | 0.1
       | 50      | 13
Mean   | 12.5    | 3.2
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-down 2..9, headings A1:C1
A sample_ref
B calcium 'Ca mg/l' in 'mg/l'
C magnesium 'Mg mg/l' in 'mg/l'
line 7 unplaced: quality-control
line 8 unplaced: line-nameless
line 9 unplaced: statistic
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
warning line-nameless B8: a line of values without any name: a sum or a limit, not placed
"#
        )
    );
}

#[test]
fn a_line_of_negative_limits_and_numbers_for_missing() {
    let picture = r#"
Sample            | Al_AES  | Zn_AES
DET. LIMIT MG/L   | -0.004  | -0.001
S1                | -0.004  | 0.02
S2                | 0.05    | -0.001
S3                | 0.06    | -0.001
S4                | 9999    | 9999
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-down 2..6, headings A1:C1
A sample_ref
B aluminium 'Al_AES' in 'MG/L' limit 0.004
C zinc 'Zn_AES' in 'MG/L' limit 0.001
line 2 heading
negative numbers are limits
missing numbers [9999.0]
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
warning unit-from-limit B1: 'Al_AES' has no unit but its limit is in 'MG/L': taken for the values too
warning unit-from-limit C1: 'Zn_AES' has no unit but its limit is in 'MG/L': taken for the values too
note missing-number : 9999 recurs far above all other numbers: taken as 'no result'
note negative-is-limit : negative numbers repeat the limit of their column: taken as 'below that limit'
"#
        )
    );
}

#[test]
fn a_result_in_two_units() {
    let picture = r#"
Parameter | Unit | Well 1 | Well 2
Nitrate (as N)   | mg/l | 5.0  | 2.0
Nitrate (as NO3) | mg/l | 22.1 | 8.85
Chloride         | mg/l | 38   | 12
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-across C..D, headings A1:B1 A2:B2 A3:B3 A4:B4
1 sample_ref
2 nitrate 'Nitrate (as N)' in 'mg/l' as N x4.42664
3 set aside: same-result-in-other-unit
4 chloride 'Chloride' in 'mg/l'
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
note same-result-twice A3: the same results as A2 in another unit; those are taken
"#
        )
    );
}

#[test]
fn dates_across_under_the_name_of_the_source() {
    let picture = r#"
Borehole 1
Date    | 2022-03-15 | 2022-09-20
HCO3 mg/l | 318 | 325
Ca mg/l   | 118 | 121
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
samples-across B..C, headings A2 A3 A4
source from A1
2 sampled_on
3 bicarbonate 'HCO3 mg/l' in 'mg/l' as HCO3
4 calcium 'Ca mg/l' in 'mg/l'
identity A1
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
"#
        )
    );
}

#[test]
fn a_form_scattered_over_the_page() {
    let picture = r#"
Client: | Thistle Nursery | | Report no.: | Q-5512-1
pH: 7.2
Remarks: none
Chloride: | 38 | mg/l
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
form
client from B1
report_ref from E1
A2 ph 'pH'
B4 chloride 'Chloride' in 'mg/l'
titles A1 D1 A4
identity B1 E1
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
"#
        )
    );
}

#[test]
fn a_logger_is_no_report() {
    let picture = r#"
Date       | Level | Temperature
2026-03-17 | 10.1  | 22.0
2026-03-18 | 10.2  | 22.1
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
"#
        )
    );
    assert_eq!(
        findings(picture),
        lines(
            r#"
warning sheet-not-recognised : nothing here looks like results of a water analysis
"#
        )
    );
}

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

/// Identity that the tables of the second sheet get from the first.
fn facts_from_cover(cover: &str, results: &str) -> Vec<String> {
    let report = Report {
        file: "report.xlsx".into(),
        sheets: vec![sheet("Cover", cover), sheet("Results", results)],
        ..Report::default()
    };
    let plan = map::plan(&report, Vocabulary::built_in(), None);
    let facts = plan.sheets[1].blocks.iter().flat_map(|block| &block.facts);
    facts
        .filter_map(|fact| match &fact.from {
            map::Source::Text(text) => Some(format!("{}: {text}", fact.field.name())),
            _ => None,
        })
        .collect()
}

#[test]
fn a_cover_tells_who_and_where_for_the_sheets_of_results() {
    let results = "Sample | pH | Calcium mg/l\nB1 | 7.2 | 118\nB2 | 7.0 | 96";
    assert_eq!(
        facts_from_cover(
            "Client: | Fernhill Nurseries\nLaboratory: | Aquilab",
            results
        ),
        ["client: Fernhill Nurseries", "lab: Aquilab"]
    );
}

#[test]
fn err_a_cover_names_no_sample_and_gives_way_to_the_table() {
    let results = "Sample | Site | pH | Calcium mg/l\nB1 | East | 7.2 | 118\nB2 | West | 7.0 | 96";
    let none: [&str; 0] = [];
    assert_eq!(
        facts_from_cover("Sample: | B7\nSite: | North", results),
        none
    );
}

/// What one sheet proves, the other does not: its warning stays.
#[test]
fn evidence_of_one_sheet_settles_no_other() {
    let plain = "Sample | Nitrate mg/l\nA | 22\nB | 31";
    let with_limit = "Sample | Nitrate mg/l\nA | 22\nB | 31\nWHO limit | 50";
    let report = Report {
        file: "report.xlsx".into(),
        sheets: vec![sheet("2025", plain), sheet("2026", with_limit)],
        ..Report::default()
    };
    let plan = map::plan(&report, Vocabulary::built_in(), None);
    let told: Vec<String> = (plan.findings.iter())
        .map(|f| format!("{} {}", f.code, f.place))
        .collect();
    assert_eq!(
        told,
        [
            "basis-assumed report.xlsx: 2025!B1",
            "basis-from-evidence report.xlsx: 2026!B1",
            "said-by-sheet report.xlsx: 2025",
            "said-by-sheet report.xlsx: 2026"
        ]
    );
}

#[test]
fn err_signs_of_no_column_are_told() {
    let picture = r#"
Site   | rx | Depth | Nitrate mg/l NO3 | Chloride mg/l
Bore 1 | <  | 12    | 0.5              | 21
Bore 2 |    | 14    | 18.5             | 35
Bore 3 | <  | 11    | 0.5              | 28
"#;
    assert!(
        findings(picture).contains(
            "warning sign-of-which B2: a sign under 'rx', and nothing tells whose: a number of this \
             line is a limit\n"
        ),
        "{}",
        findings(picture)
    );
    // Beside the only analyte, the sign is its own.
    let owned = r#"
Site   | rx | Nitrate mg/l NO3
Bore 1 | <  | 0.5
Bore 2 |    | 18.5
Bore 3 | <  | 0.5
"#;
    assert!(!findings(owned).contains("sign-of-which"));
}

/// One sample a page, pages below each other: each page has its own sample.
#[test]
fn pages_of_a_form_are_samples_of_their_own() {
    let picture = r#"
Laboratory: Blue Jar
Sample: P-101
Calcium: 118 mg/l
Nitrate: 22 mg/l NO3
Sample: P-102
Calcium: 52 mg/l
Nitrate: 9 mg/l NO3
"#;
    assert_eq!(
        planned(picture),
        lines(
            r#"
form
lab from A1 'Blue Jar'
sample_ref from A2 'P-101'
A3 calcium 'Calcium' in 'mg/l'
A4 nitrate 'Nitrate' in 'mg/l NO3' as NO3
form
sample_ref from A5 'P-102'
A6 calcium 'Calcium' in 'mg/l'
A7 nitrate 'Nitrate' in 'mg/l NO3' as NO3
identity A1 A2 A5
"#
        )
    );
    // The name again, as at the head of each printed page, opens no other sample.
    let again = picture.replace("P-102", "P-101");
    assert_eq!(planned(&again).matches("form\n").count(), 1);
}

/// Two lists without a name: whose each number is, nobody can tell.
#[test]
fn err_a_form_of_two_samples_without_names_is_not_placed() {
    let picture = r#"
Calcium: 118 mg/l
Nitrate: 22 mg/l NO3

Calcium: 52 mg/l
Nitrate: 9 mg/l NO3
"#;
    assert_eq!(
        planned(picture)
            .matches("unplaced: sample-of-which")
            .count(),
        4
    );
    assert!(findings(picture).starts_with("warning sample-of-which A1: "));
}

/// Most tracks need no basis: a line with a single one is a heading all the same.
#[test]
fn a_line_of_bases_with_one_cell() {
    let picture = r#"
Sample | Chloride | Nitrate | Sulfate
       | mg/l     | mg/l    | mg/l
       |          | N       |
A      | 21       | 5.1     | 30
B      | 34       | 2.2     | 41
"#;
    let plan = planned(picture);
    assert!(
        plan.contains("C nitrate 'Nitrate' in 'mg/l' as N x4.42664\n"),
        "{plan}"
    );
}

/// A column without a heading, beside one of plain numbers.
#[test]
fn err_limits_without_a_heading_are_no_sample() {
    let picture = r#"
Calcium   | mg/l | 118  | < 150
Iron      | mg/l | 0.12 | < 0.2
Manganese | mg/l | 0.02 | < 0.05
"#;
    assert!(
        planned(picture).ends_with("line D unplaced: line-nameless\n"),
        "{}",
        planned(picture)
    );
}

#[test]
fn err_a_second_caption_with_another_unit_ends_the_table() {
    let table = "
Major ions in mg/L
Sample | Ca  | Mg  | Na  | Cl
W1     | 58  | 12  | 33  | 54
W2     | 85  | 21  | 54  | 77

Major ions in meq/L
Sample | Ca  | Mg  | Na  | Cl
W1     | 2.9 | 1.0 | 1.4 | 1.5
W2     | 4.2 | 1.7 | 2.3 | 2.2
";
    let once = table.replace(
        "Sample | Ca  | Mg  | Na  | Cl\nW1     | 2.9",
        "W1     | 2.9",
    );
    for (picture, line) in [(table, "A6"), (&once, "A6")] {
        assert!(
            findings(picture).contains(&format!("error other-table {line}: ")),
            "{picture}{}",
            findings(picture)
        );
    }
    // The same unit again is the caption of the next page.
    assert!(!findings(&table.replace("meq", "mg")).contains("other-table"));
}
