//! Table tests of result cells: one line a case, written in the short form of `shown`.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use super::{Bound, Decimal, LimitKind, QualifierCode, Reading, Remark, Unread, ValueReader};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// `<0.05`, `12.3 ±0.4 [mg/l] (noted)`, `below any`, `unread: range`, …
fn shown(reading: &Reading<'_>) -> String {
    match reading {
        Reading::Number(figure) => {
            let mut out = match figure.bound {
                Bound::Exact => String::new(),
                Bound::Below => "<".to_owned(),
                Bound::Above => ">".to_owned(),
            };
            out += &figure.number.to_string();
            if let Some(uncertainty) = figure.uncertainty {
                out += &format!(" ±{}", uncertainty.number);
                if uncertainty.percent {
                    out.push('%');
                }
            }
            if let Some(unit) = figure.unit {
                out += &format!(" [{unit}]");
            }
            out += match figure.remark {
                Remark::None => "",
                Remark::Noted => " (noted)",
                Remark::Estimated => " (estimated)",
                Remark::LimitByWord => " (limit by word)",
                Remark::Corrected => " (corrected)",
                Remark::Apostrophe => " (apostrophe)",
            };
            out
        }
        Reading::BelowLimit { kind, inside } => {
            let kind = match kind {
                LimitKind::Detection => "detection",
                LimitKind::Quantification => "quantification",
                LimitKind::Any => "any",
            };
            format!("below {kind}") + &inside.map_or_else(String::new, |n| format!(" ({n})"))
        }
        Reading::NotDetected { inside } => {
            "not detected".to_owned() + &inside.map_or_else(String::new, |n| format!(" ({n})"))
        }
        Reading::AboveRange => "above range".to_owned(),
        Reading::Trace => "trace".to_owned(),
        Reading::NotDetermined => "not determined".to_owned(),
        Reading::Pending => "pending".to_owned(),
        Reading::Presence(true) => "present".to_owned(),
        Reading::Presence(false) => "not present".to_owned(),
        Reading::Unread(Unread::Garbled(suggestion)) => format!("unread: garbled {suggestion}"),
        Reading::Unread(Unread::Ambiguous { decimal, grouped }) => {
            format!("unread: {decimal} or {grouped}")
        }
        Reading::Unread(unread) => format!("unread: {}", unread.reason()),
    }
}

fn read(text: &str, decimal: Decimal) -> String {
    shown(
        &ValueReader {
            decimal,
            codes: &BTreeMap::new(),
        }
        .read(text),
    )
}

/// Point and undecided give the same; a comma file the same with commas.
#[test]
fn forms_of_a_result_cell() {
    let wrong: Vec<String> = FORMS
        .iter()
        .map(|(text, expected)| (text, expected, read(text, Decimal::Undecided)))
        .filter(|(_, expected, found)| found != *expected)
        .map(|(text, expected, found)| format!("{text:?}: {found:?}, not {expected:?}"))
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

const FORMS: &[(&str, &str)] = &[
    // below a limit
    ("<0,05", "<0.05"),
    ("< 0.05", "<0.05"),
    ("<.05", "<0.05"),
    ("<,05", "<0.05"),
    ("0.05<", "<0.05"),
    ("0,05 <", "<0.05"),
    ("&lt;0.05", "<0.05"),
    ("&lt; 0,05", "<0.05"),
    ("‹0.05", "<0.05"),
    ("＜0.05", "<0.05"),
    ("＜０.０５", "<0.05"),
    ("≤0.05", "<0.05"),
    ("<=0.05", "<0.05"),
    ("<\u{a0}0.05", "<0.05"),
    ("<  5", "<5"),
    ("<5", "<5"),
    ("<0.05 mg/l", "<0.05 [mg/l]"),
    ("<0.05*", "<0.05 (noted)"),
    ("(<0.05)", "<0.05"),
    ("less than 0.05", "<0.05"),
    ("kleiner als 0,05", "<0.05"),
    ("kleiner 0,05", "<0.05"),
    ("minder dan 0,05", "<0.05"),
    ("kleiner dan 0,05", "<0.05"),
    ("inférieur à 0,05", "<0.05"),
    ("moins de 0,05", "<0.05"),
    ("menor que 0,05", "<0.05"),
    ("inferiore a 0,05", "<0.05"),
    ("inferior a 0,05", "<0.05"),
    ("mindre end 0,05", "<0.05"),
    ("poniżej 0,05", "<0.05"),
    ("<0.1 (0.03)", "<0.1 (noted)"),
    ("n.d. <0.05", "<0.05"),
    ("ND < 0.05", "<0.05"),
    ("ND (<0.05)", "<0.05"),
    ("n.n. (<0,05)", "<0.05"),
    ("0.05 ND", "<0.05 (limit by word)"),
    ("0.05 (nd)", "<0.05 (limit by word)"),
    ("<1.2E-3", "<0.0012"),
    ("<1,2*10^-3", "<0.0012"),
    ("менее 0,05", "<0.05"),
    ("более 100", ">100"),
    ("0.03未満", "<0.03"),
    ("<LOQ 0.05", "<0.05 (limit by word)"),
    ("< LOD = 0,02", "<0.02 (limit by word)"),
    ("<LOQ (0.05)", "below quantification (0.05)"),
    // below a limit that stands elsewhere
    ("<LOD", "below detection"),
    ("< LOD", "below detection"),
    ("<LOQ", "below quantification"),
    ("<NWG", "below detection"),
    ("< NWG", "below detection"),
    ("<BG", "below quantification"),
    ("< BG", "below quantification"),
    ("<RL", "below any"),
    ("<MDL", "below detection"),
    ("<LD", "below detection"),
    ("<LQ", "below quantification"),
    ("<LDM", "below detection"),
    ("<det.lim.", "below detection"),
    ("<aant.gr.", "below detection"),
    ("<DL", "below detection"),
    ("<L.D.", "below detection"),
    ("BDL", "below detection"),
    ("bdl", "below detection"),
    ("BLD", "below detection"),
    ("BQL", "below quantification"),
    ("BQL (0.5)", "below quantification (0.5)"),
    ("BQL (0.025)", "below quantification (0.025)"),
    ("below detection limit", "below detection"),
    ("unter Bestimmungsgrenze", "below quantification"),
    ("under detektionsgrænsen", "below detection"),
    // not detected
    ("n.n.", "not detected"),
    ("nn", "not detected"),
    ("N.N.", "not detected"),
    ("n. n.", "not detected"),
    ("ND", "not detected"),
    ("n.d.", "not detected"),
    ("nd", "not detected"),
    ("N.D.", "not detected"),
    ("n.d", "not detected"),
    ("(ND)", "not detected"),
    ("ND (0.05)", "not detected (0.05)"),
    ("i.m.", "not detected"),
    ("i.p.", "not detected"),
    ("u.d.", "not detected"),
    ("nie wykryto", "not detected"),
    ("non rilevabile", "not detected"),
    ("no detectado", "not detected"),
    ("não detetado", "not detected"),
    ("não detectado", "not detected"),
    ("not detected", "not detected"),
    ("Not Detected", "not detected"),
    ("nicht nachweisbar", "not detected"),
    ("nicht nachgewiesen", "not detected"),
    ("не обнаружено", "not detected"),
    ("未检出", "not detected"),
    ("不検出", "not detected"),
    ("niet aantoonbaar", "not detected"),
    ("non détecté", "not detected"),
    ("ikke påvist", "not detected"),
    ("ikke målelig", "not detected"),
    // two meanings
    ("n.a.", "unread: word-ambiguous"),
    ("n.r.", "unread: word-ambiguous"),
    ("none", "unread: word-ambiguous"),
    // not determined
    ("n.b.", "not determined"),
    ("n.u.", "not determined"),
    ("not tested", "not determined"),
    ("not analysed", "not determined"),
    ("non dosé", "not determined"),
    ("no analizado", "not determined"),
    ("non determinato", "not determined"),
    ("não analisado", "not determined"),
    ("ikke analyseret", "not determined"),
    ("nie badano", "not determined"),
    ("nicht bestimmt", "not determined"),
    ("niet bepaald", "not determined"),
    ("-", "not determined"),
    ("--", "not determined"),
    ("—", "not determined"),
    ("–", "not determined"),
    ("/", "not determined"),
    (".", "not determined"),
    ("x", "not determined"),
    ("n/a", "not determined"),
    ("N/A", "not determined"),
    ("NA", "not determined"),
    ("#N/A", "not determined"),
    ("NULL", "not determined"),
    ("", "not determined"),
    ("  ", "not determined"),
    // zero is a number; whether it makes sense is decided later
    ("0", "0"),
    ("0.0", "0"),
    ("0,00", "0"),
    // traces and estimates
    ("traces", "trace"),
    ("Spuren", "trace"),
    ("sporen", "trace"),
    ("tracce", "trace"),
    ("vestigios", "trace"),
    ("spor", "trace"),
    ("ślady", "trace"),
    ("(0.03)", "0.03 (estimated)"),
    ("0.03 J", "0.03 (estimated)"),
    ("ca. 12", "12 (estimated)"),
    ("ca 12", "12 (estimated)"),
    ("c. 12", "12 (estimated)"),
    ("~12", "12 (estimated)"),
    ("≈12", "12 (estimated)"),
    ("≈ 12,5", "12.5 (estimated)"),
    ("est. 12", "12 (estimated)"),
    ("12 est.", "12 (estimated)"),
    ("etwa 12", "12 (estimated)"),
    ("environ 12", "12 (estimated)"),
    ("około 12", "12 (estimated)"),
    // above
    (">100", ">100"),
    ("> 2420", ">2420"),
    (">200,5", ">200.5"),
    ("≥100", ">100"),
    ("&gt;100", ">100"),
    ("＞100", ">100"),
    ("more than 100", ">100"),
    ("über 100", ">100"),
    ("meer dan 100", ">100"),
    ("powyżej 100", ">100"),
    ("TNTC", "above range"),
    ("confluent", "above range"),
    ("ontelbaar", "above range"),
    ("nicht auszählbar", "above range"),
    ("incontables", "above range"),
    // uncertainty
    ("12.5 ± 0.4", "12.5 ±0.4"),
    ("12.5±0.4", "12.5 ±0.4"),
    ("12.5 (±3 %)", "12.5 ±3%"),
    ("12.5 (± 3%)", "12.5 ±3%"),
    ("12,5 +/- 0,4", "12.5 ±0.4"),
    ("12,5 +- 0,4", "12.5 ±0.4"),
    ("12.5 ± 0.4 mg/l", "12.5 ±0.4 [mg/l]"),
    ("12.5 ± 10 %", "12.5 ±10%"),
    // ranges and several values
    ("10-20", "unread: range"),
    ("10–20", "unread: range"),
    ("10 - 20", "unread: range"),
    ("10 … 20", "unread: range"),
    ("10...20", "unread: range"),
    ("10 bis 20", "unread: range"),
    ("10 to 20", "unread: range"),
    ("<5 - <10", "unread: range"),
    ("7.2/7.4", "unread: several-values"),
    ("7.2 / 7.4", "unread: several-values"),
    ("7.2 / 7.5 / 7.9", "unread: several-values"),
    ("7,2; 7,4", "unread: several-values"),
    ("7.2 (7.0)", "unread: several-values"),
    // footnotes
    ("0.05 *", "0.05 (noted)"),
    ("0.05*", "0.05 (noted)"),
    ("38 **", "38 (noted)"),
    ("12.3 (a)", "12.3 (noted)"),
    ("12.3(a)", "12.3 (noted)"),
    ("12.3¹", "12.3 (noted)"),
    ("12.3 ¹", "12.3 (noted)"),
    ("12.3 1)", "12.3 (noted)"),
    ("12.3a)", "12.3 (noted)"),
    ("12.3†", "12.3 (noted)"),
    ("5,4 !", "5.4 (noted)"),
    ("12.3 high", "12.3 (noted)"),
    ("12.31)", "unread: footnote-ambiguous"),
    ("381)", "unread: footnote-ambiguous"),
    ("10³", "unread: footnote-ambiguous"),
    ("10⁴", "unread: footnote-ambiguous"),
    // group signs and broken decimal signs
    ("1,234.5", "1234.5"),
    ("1 234,5", "1234.5"),
    ("1.234,5", "1234.5"),
    ("1'234.5", "1234.5"),
    ("1’234,5", "1234.5"),
    ("1\u{2009}234,5", "1234.5"),
    ("1.234", "unread: 1.234 or 1234"),
    ("1,234", "unread: 1.234 or 1234"),
    ("<1.234", "unread: 1.234 or 1234"),
    (",35", "0.35"),
    (".35", "0.35"),
    ("35,", "35"),
    ("0,350", "0.35"),
    ("00,35", "0.35"),
    // digits of other scripts
    ("١٢٫٥", "12.5"),
    ("۱۲۳۴", "1234"),
    ("<۰٫۰۵", "<0.05"),
    ("७.४", "7.4"),
    ("１２．５", "12.5"),
    // exponents
    ("1.2E-3", "0.0012"),
    ("1,2E-03", "0.0012"),
    ("1.2*10^-3", "0.0012"),
    ("1.2x10-3", "0.0012"),
    ("4,1·10³", "4100"),
    ("2.0e+02", "200"),
    ("4,1·10³ KBE/100 ml", "4100 [KBE/100 ml]"),
    // scanning errors: a suggestion, never a number
    ("O.O5", "unread: garbled 0.05"),
    ("l2.3", "unread: garbled 12.3"),
    ("I2,3", "unread: garbled 12,3"),
    ("S5", "unread: garbled 55"),
    ("7 2", "unread: garbled 7 2"),
    ("1 2.3", "unread: garbled 1 2.3"),
    ("0..5", "unread: garbled 0.5"),
    ("0,,5", "unread: garbled 0,5"),
    // apostrophes
    ("'12.3", "12.3 (apostrophe)"),
    ("’12,3", "12.3 (apostrophe)"),
    // units
    ("12.3 mg/l", "12.3 [mg/l]"),
    ("12.3mg/l", "12.3 [mg/l]"),
    ("0,69 mS/cm (25 °C)", "0.69 [mS/cm (25 °C)]"),
    ("12 °dH", "12 [°dH]"),
    ("5%", "5 [%]"),
    ("12 /100 ml", "12 [/100 ml]"),
    ("12.3 mg/l *", "12.3 [mg/l] (noted)"),
    ("12.3 (mg/l)", "12.3 [mg/l]"),
    ("12.3 µg/L", "12.3 [µg/L]"),
    // formula errors
    ("#DIV/0!", "unread: formula-error"),
    ("#VALUE!", "unread: formula-error"),
    ("#REF!", "unread: formula-error"),
    ("#NAME?", "unread: formula-error"),
    ("####", "unread: formula-error"),
    ("Err:502", "unread: formula-error"),
    // presence
    ("ja", "present"),
    ("nein", "not present"),
    ("+", "present"),
    ("pos", "present"),
    ("present", "present"),
    ("obecne", "present"),
    ("nieobecne", "not present"),
    ("påvist", "present"),
    ("absent", "not present"),
    ("negativ", "not present"),
    // judgements and words
    ("high", "unread: judgement"),
    ("low", "unread: judgement"),
    ("OK", "unread: judgement"),
    ("conform", "unread: judgement"),
    ("conforme", "unread: judgement"),
    ("turbid", "unread: not-a-number"),
    ("pH 7.2", "unread: not-a-number"),
    ("12.3-", "unread: not-a-number"),
    ("03.04.2026", "unread: not-a-number"),
    ("NaN", "unread: not-finite"),
    ("nan", "unread: not-finite"),
    ("inf", "unread: not-finite"),
    ("-inf", "unread: not-finite"),
    ("Infinity", "unread: not-finite"),
    ("1e400", "unread: number-out-of-range"),
    ("<0", "unread: limit-of-zero"),
    ("<0.0", "unread: limit-of-zero"),
    ("<-5", "unread: not-a-number"),
    ("<<", "unread: not-a-number"),
    ("<", "unread: not-a-number"),
    (">", "unread: not-a-number"),
    // not final
    ("pending", "pending"),
    ("folgt", "pending"),
    ("in bewerking", "pending"),
    // corrections
    ("12.3 → 11.9", "11.9 (corrected)"),
    ("12.3 -> 11.9", "11.9 (corrected)"),
    // signs
    ("-3", "-3"),
    ("−3", "-3"),
    ("–3", "-3"),
    ("-0.05", "-0.05"),
    ("+3", "3"),
];

#[test]
fn a_decided_file_reads_its_own_sign_only() {
    for (text, decimal, expected) in [
        ("1.234", Decimal::Point, "1.234"),
        ("1.234", Decimal::Comma, "1234"),
        ("1,234", Decimal::Point, "1234"),
        ("1,234", Decimal::Comma, "1.234"),
        ("0,35", Decimal::Point, "unread: against-decimal-sign"),
        ("<0,35", Decimal::Point, "unread: against-decimal-sign"),
        ("0.35", Decimal::Comma, "unread: against-decimal-sign"),
        ("12,5 ± 0,4", Decimal::Comma, "12.5 ±0.4"),
        ("<0,05 mg/l", Decimal::Comma, "<0.05 [mg/l]"),
    ] {
        assert_eq!(read(text, decimal), expected, "{text:?} {decimal:?}");
    }
}

#[test]
fn codes_of_the_laboratory_come_before_the_common_words() {
    let codes: BTreeMap<String, QualifierCode> = [
        ("U", QualifierCode::Below),
        ("n.a.", QualifierCode::Absent),
        ("ND", QualifierCode::Missing),
        ("R", QualifierCode::Reject),
        ("H", QualifierCode::Keep),
        ("G", QualifierCode::Above),
    ]
    .into_iter()
    .map(|(text, code)| (text.to_owned(), code))
    .collect();
    let reader = ValueReader {
        decimal: Decimal::Point,
        codes: &codes,
    };
    for (text, expected) in [
        ("0.05 U", "<0.05 (limit by word)"),
        ("0.05U", "<0.05 (limit by word)"),
        ("U 0.05", "<0.05 (limit by word)"),
        ("U", "below any"),
        ("n.a.", "not detected"),
        ("ND", "not determined"),
        ("0.05 R", "unread: rejected-by-code"),
        ("0.05 H", "0.05 (noted)"),
        ("100 G", ">100 (limit by word)"),
        ("0.05 K", "0.05 [K]"),
    ] {
        assert_eq!(shown(&reader.read(text)), expected, "{text:?}");
    }
}

proptest! {
    #[test]
    fn no_text_panics_and_no_number_is_infinite(text in "\\PC{0,40}") {
        let codes = BTreeMap::new();
        for decimal in [Decimal::Point, Decimal::Comma, Decimal::Undecided] {
            if let Reading::Number(figure) = (ValueReader { decimal, codes: &codes }).read(&text) {
                prop_assert!(figure.number.is_finite());
            }
        }
    }

    #[test]
    fn no_cell_like_text_panics(text in "[-+0-9., <>()±%a-zA-Zµ°/*^¹³→&;#'’\u{a0}\u{ff1c}]{0,20}") {
        let codes = BTreeMap::new();
        for decimal in [Decimal::Point, Decimal::Comma, Decimal::Undecided] {
            if let Reading::Number(figure) = (ValueReader { decimal, codes: &codes }).read(&text) {
                prop_assert!(figure.number.is_finite());
                prop_assert!(figure.bound == Bound::Exact || figure.number > 0.0);
            }
        }
    }

    #[test]
    fn a_bound_keeps_its_number(number in 0.001f64..1e6) {
        let text = format!("<{number:.3}");
        let expected: f64 = format!("{number:.3}").parse().unwrap();
        let codes = BTreeMap::new();
        let reader = ValueReader { decimal: Decimal::Point, codes: &codes };
        match reader.read(&text) {
            Reading::Number(figure) => {
                prop_assert_eq!(figure.number, expected);
                prop_assert_eq!(figure.bound, Bound::Below);
            }
            other => prop_assert!(false, "{other:?}"),
        }
    }
}
