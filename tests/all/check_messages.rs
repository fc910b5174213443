//! What each check says, to the letter: one case a code, and its twin that must be silent.

use crate::check::{row, said};
use crate::check_waters::{Report, Row, Value, published_reports};
use jiff::ToSpan;
use jiff::civil::date;
use std::collections::{BTreeMap, BTreeSet};
use wellread::check::{CHECKS, Limits, judge};
use wellread::place::Address;
use wellread::record::{Censored, Extract, Measurement, Origin, Recipe, RecipeId, SampleId};
use wellread::vocabulary::{Fraction, Vocabulary};

/// Code, the samples with the flaw (or, when asked for, without), and the message.
type Case = (&'static str, fn(bool) -> Extract, &'static str);

const NO: f64 = f64::NAN;

fn extract(rows: Vec<Row>) -> Extract {
    read_with(rows, &[])
}

/// Factors that the report's own unit or basis multiplies by.
fn read_with(rows: Vec<Row>, factors: &[(&str, f64)]) -> Extract {
    let report = Report {
        file: "a.csv".to_owned(),
        rows,
        factors: (factors.iter())
            .map(|(code, factor)| ((*code).to_owned(), *factor))
            .collect(),
    };
    report.extract(Vocabulary::built_in())
}

/// One sample, changed where flawed.
fn one(flawed: bool, changes: &[(&str, f64)]) -> Extract {
    extract(vec![row("S1", if flawed { changes } else { &[] })])
}

/// One sample of a water that is not the usual one, changed where flawed.
fn other(water: &[(&str, f64)], flawed: bool, changes: &[(&str, f64)]) -> Extract {
    let mut all = water.to_vec();
    if flawed {
        all.extend(changes);
    }
    extract(vec![row("S1", &all)])
}

/// One sample with a result below a limit.
fn below(code: &str, limit: f64) -> Extract {
    let mut sample = row("S1", &[]);
    sample.values.insert(code.to_owned(), limited(limit));
    extract(vec![sample])
}

fn limited(limit: f64) -> Value {
    Value {
        value: limit,
        censored: Some(Censored::Below),
        fraction: None,
    }
}

/// Samples of different strength, `change` done to each of them where flawed.
fn series(count: u32, flawed: bool, change: impl Fn(usize, &mut Row)) -> Vec<Row> {
    (0..count)
        .map(|i| {
            let mut row = row(&format!("S{i}"), &[]);
            strengthen(&mut row, 0.5 + 0.15 * f64::from(i));
            if flawed {
                change(i as usize, &mut row);
            }
            row
        })
        .collect()
}

/// Everything but pH, to a tenth.
fn strengthen(row: &mut Row, strength: f64) {
    for (code, value) in &mut row.values {
        if code != "ph" {
            value.value = (value.value * strength * 10.0).round() / 10.0;
        }
    }
}

fn put(row: &mut Row, code: &str, value: f64) {
    let value = Value {
        value,
        censored: None,
        fraction: None,
    };
    row.values.insert(code.to_owned(), value);
}

/// One source, sampled every six months from May 2021 on, with a little scatter.
fn history(count: u32, change: impl Fn(usize, &mut Row)) -> Vec<Row> {
    (0..count)
        .map(|i| {
            let mut row = row("Bore", &[]);
            strengthen(&mut row, 1.0 + 0.01 * f64::from(i * 7 % 5));
            row.source = Some("Bore".to_owned());
            row.sampled_on = Some(date(2021, 5, 12) + (6 * i64::from(i)).months());
            change(i as usize, &mut row);
            row
        })
        .collect()
}

/// Adds a second result of an analyte that the first sample has.
fn beside(
    mut extract: Extract,
    code: &str,
    value: f64,
    unit: (&str, f64),
    fraction: Option<Fraction>,
) -> Extract {
    let vocabulary = Vocabulary::built_in();
    extract.recipes.push(Recipe {
        analyte: vocabulary.find(code).unwrap(),
        fraction,
        factor: Some(unit.1),
        label_text: Some(format!("{code} again").into()),
        unit_text: Some(unit.0.into()),
        basis_text: None,
        unit_from: Origin::Heading,
        assumption: None,
    });
    extract.measurements.push(Measurement {
        sample: SampleId(0),
        recipe: RecipeId(extract.recipes.len() as u32 - 1),
        value: Some(value * unit.1),
        censored: None,
        value_text: value.to_string().into(),
        sheet: 0,
        at: Address::new(1, 30),
    });
    extract
}

/// Sodium bicarbonate water, as a softener makes it.
const SOFTENED: [(&str, f64); 8] = [
    ("calcium", 2.0),
    ("magnesium", 1.0),
    ("sodium", 150.0),
    ("potassium", 1.0),
    ("bicarbonate", 366.0),
    ("chloride", 20.0),
    ("sulfate", 8.0),
    ("conductivity", 610.0),
];

/// W2 of the published waters: sodium and sulfate.
const SODIUM_SULFATE: [(&str, f64); 9] = [
    ("calcium", 40.0),
    ("magnesium", 15.0),
    ("sodium", 120.0),
    ("potassium", 20.0),
    ("bicarbonate", 170.8),
    ("sulfate", 234.0),
    ("chloride", 45.0),
    ("nitrate", 1.0),
    ("conductivity", 890.0),
];

#[rustfmt::skip]
const CASES: &[Case] = &[
    ("alkalinity-at-acid-ph", |flawed| one(flawed, &[("ph", 1.9)]), "S1: pH 1.9 and 5.33 meq/L of alkalinity exclude each other: pH of the acidified bottle?"),
    ("alkalinity-disagrees", |flawed| one(flawed, &[("alkalinity", 325.0)]), "S1: alkalinity 325 mg/L CaCO3 is 6.49 meq/L, bicarbonate 325 and carbonate give 5.33: both are as CaCO3, or both as HCO3"),
    ("balance-not-checkable", |flawed| one(flawed, &[("sodium", NO)]), "S1: no charge balance, because sodium is missing"),
    ("balance-undecided", |flawed| below("chloride", if flawed { 20.0 } else { 2.0 }), "S1: results below their limits leave open whether cations and anions balance"),
    ("basis-doubtful", |flawed| extract(series(10, flawed, |_, row| { row.scale("bicarbonate", 1.0 / 1.2193); })), "column 'bicarbonate': its numbers fit if bicarbonate is as CaCO3: 10 of 10 samples then balance within 2 %, before 0; conductivity from the ions within 10 % of measured in 10 of 10, before 8; fits less well if nitrate is as N (10 of 10 within 5 %); fits less well if magnesium is as MgO (10 of 10 within 2 %)"),
    ("carbon-dioxide-disagrees", |flawed| other(&[("carbon_dioxide", 21.0)], flawed, &[("carbon_dioxide", 200.0)]), "S1: carbon dioxide 200 mg/L does not go with pH 7.4 and alkalinity, which give 21.2"),
    ("carbonate-at-low-ph", |flawed| one(flawed, &[("carbonate", 24.0), ("ph", 7.2)]), "S1: carbonate 24 mg/L does not exist at pH 7.2: at most about 0.273 mg/L can"),
    ("carbonate-hardness-above-total", |flawed| one(flawed, &[("hardness", 370.0), ("hardness_carbonate", 450.0)]), "S1: carbonate hardness 450 is above total hardness 370 mg/L CaCO3: softened or sodium bicarbonate water, or the two are exchanged"),
    ("charge-imbalance", |flawed| one(flawed, &[("calcium", 97.0)]), "S1: cations 8.03 and anions 7.56 meq/L differ by +3.0 %; conductivity agrees with the anions, so look at the cations first"),
    ("columns-repeat", |flawed| extract(series(6, flawed, |_, row| { let chloride = row.values["chloride"].value; put(row, "sulfate", chloride); })), "chloride and sulfate are the same number in all 6 samples: was one column copied over the other?"),
    ("conductivity-disagrees", |flawed| one(flawed, &[("conductivity", 606.0)]), "S1: the ions explain 685 µS/cm, measured are 606 (1.13 times): a little more than sound reports do"),
    ("constant-column", |flawed| extract(series(6, true, |i, row| { put(row, "ph", 7.0 + 0.1 * i as f64); if flawed { put(row, "nitrate", 50.0); } })), "nitrate is exactly 50 in all 6 samples (the European limit for drinking water): was a limit or guideline column read as results?"),
    ("date-origin-doubtful", |flawed| extract(history(5, |i, row| {
        row.sampled_on = Some(date(2026, 5, 12 + i as i8));
        if flawed && i == 4 { row.sampled_on = Some(date(2022, 5, 11)); }
    })), "Bore, 2022-05-11: taken 4.01 years from the other samples of this file, as far as the two date systems of spreadsheets are apart"),
    ("dates-out-of-order", |flawed| extract(vec![{ let mut row = row("S1", &[]); row.sampled_on = Some(date(2026, 12, 5)); row.received_on = Some(if flawed { date(2026, 5, 14) } else { date(2026, 12, 6) }); row }]), "S1, 2026-12-05: received on 2026-05-14, before it was taken on 2026-12-05; 2026-05-12, if day and month are exchanged"),
    ("decimal-slip", |flawed| one(flawed, &[("calcium", 920.0)]), "S1: cations and anions differ by +73.3 %, the ions explain 3.23 times the conductivity; fits (+1.5 %, 0.993 times) if the decimal sign of calcium slipped (920 for 92)"),
    ("digits-beyond-measure", |flawed| extract(series(6, flawed, |i, row| put(row, "sodium", 8.0 + (i as f64 + 1.0) / 7.0))), "seven digits or more in sodium: converted or computed on the way, not as a laboratory prints"),
    ("dilution-doubtful", |flawed| one(flawed, &[("calcium", 920.0), ("magnesium", 340.0), ("sodium", 82.0), ("potassium", 14.0), ("bicarbonate", 3250.0), ("sulfate", 840.0), ("chloride", 96.0), ("nitrate", 130.0)]), "S1: cations and anions differ by +1.5 %, the ions explain 7.42 times the conductivity; fits (+1.5 %, 0.993 times) if all ions are 10 times too large (a dilution)"),
    ("dissolved-above-total", |flawed| {
        let mut sample = row("S1", &[]);
        sample.values.insert("iron".to_owned(), Value { value: 0.4, censored: None, fraction: Some(Fraction::Total) });
        beside(extract(vec![sample]), "iron", if flawed { 1.9 } else { 0.3 }, ("mg/L", 1.0), Some(Fraction::Dissolved))
    }, "S1: dissolved iron 1.9 is above total 0.4 mg/L: columns exchanged?"),
    ("feed-in-source", |flawed| one(flawed, &[("nitrate", 307.0), ("potassium", 60.0), ("conductivity", 1900.0)]), "S1: nitrate 307 mg/L with much potassium and salt looks like feed or drain water, not a source"),
    ("hardness-disagrees", |flawed| one(flawed, &[("hardness", 20.7)]), "S1: hardness 20.7 mg/L CaCO3 is reported, calcium and magnesium give 370; fits if hardness is in °dH"),
    ("hardness-unit-doubtful", |flawed| extract(series(6, true, |i, row| { let hardness = 369.8 * (0.5 + 0.15 * i as f64); put(row, "hardness", if flawed { (hardness / 1.7848).round() / 10.0 } else { hardness.round() }); })), "hardness follows from calcium and magnesium in 6 of 6 samples if hardness is in °dH, as read in none of them"),
    ("held-too-long", |flawed| extract(vec![{ let mut row = row("S1", &[]); row.sampled_on = Some(date(2026, 5, 1)); row.received_on = Some(date(2026, 5, if flawed { 10 } else { 2 })); row }]), "S1, 2026-05-01: 9 days from sampling to the laboratory are too many for nitrate"),
    ("ion-missing", |flawed| other(&SODIUM_SULFATE, flawed, &[("sodium", 0.0)]), "S1: cations and anions differ by -41.1 %, the ions explain 0.763 times the conductivity; fits (+0.0 %, 0.981 times) if sodium 0 stands for 'not measured' (about 120 mg/L would close the balance); fits less well if the decimal sign of potassium slipped (20 for 200)"),
    ("iron-lost", |flawed| one(flawed, &[("manganese", 0.4), ("iron", 0.01)]), "S1: manganese 0.4 but hardly any iron: lost in a bottle that was not acidified?"),
    ("jump-in-history", |flawed| extract(history(6, |i, row| if flawed && i == 5 { strengthen(row, 1.6) })), "Bore, 2023-11-12: potassium 2.2 (usually about 1.4); everything is 1.56 times the usual"),
    ("laboratories-differ", |flawed| extract((0..3).flat_map(|i| ["North", "South"].map(|lab| {
        let mut row = history(i + 1, |_, _| ()).remove(i as usize);
        row.lab = Some(lab.to_owned());
        if flawed && lab == "South" { row.scale("potassium", 1.5); }
        row
    })).collect()), "Bore, 2021-05-12: potassium at North is 0.667 times that at South, in all 3 samples taken on the same day"),
    ("limit-too-high", |flawed| below("boron", if flawed { 1.0 } else { 0.02 }), "S1: boron below 1 mg/L: too coarse to tell whether it is above 0.5"),
    ("manganese-for-magnesium", |flawed| one(flawed, &[("manganese", 9.2), ("magnesium", 0.05)]), "S1: manganese 9.2 and magnesium 0.05 mg/L: usually the other way round; was a heading misread?"),
    ("metal-in-soft-water", |flawed| {
        let bare = |conductivity| [("conductivity", conductivity), ("zinc", 0.9), ("calcium", NO), ("sodium", NO), ("bicarbonate", NO)];
        extract(vec![row("S1", &bare(if flawed { 40.0 } else { 400.0 }))])
    }, "S1: zinc 0.9 mg/L in water almost without salts: from a galvanised roof, gutter or pipe? It counts as supply"),
    ("metal-unit-doubtful", |flawed| one(flawed, &[("iron", 180.0)]), "S1: iron 180 mg/L: is it µg/L?"),
    ("nitrogen-above-total", |flawed| one(flawed, &[("nitrogen_total", 1.0)]), "S1: nitrate, nitrite and ammonium hold 2.94 mg/L N, total nitrogen is only 1: nitrate is probably as NO3, read as N"),
    ("oversaturated", |flawed| one(flawed, &[("ph", 9.2)]), "S1: with pH 9.2 this much calcium would have fallen out as lime (saturation index +2.1)"),
    ("part-above-whole", |flawed| one(flawed, &[("chlorine_free", 0.5), ("chlorine_total", 0.2)]), "S1: free chlorine 0.5 mg/L is more than total chlorine 0.2 mg/L, of which it is a part: columns exchanged?"),
    ("phenolphthalein-at-low-ph", |flawed| one(flawed, &[("alkalinity_p", 60.0)]), "S1: phenolphthalein alkalinity 60 mg/L CaCO3 cannot be at pH 7.4: is it total alkalinity?"),
    ("potassium-above-sodium", |flawed| one(flawed, &[("potassium", 46.0), ("sodium", 6.0), ("chloride", 46.0), ("conductivity", 800.0)]), "S1: potassium 46 and sodium 6 mg/L: usually the other way round"),
    ("printed-index-disagrees", |flawed| one(flawed, &[("sodium_adsorption_ratio", 1.5)]), "S1: the report prints a sodium adsorption ratio of 1.5, its numbers give 0.186"),
    ("redox-contradiction", |flawed| one(flawed, &[("dissolved_oxygen", 8.0), ("iron", 1.2)]), "S1: oxygen and dissolved iron do not last beside each other: a mixture of waters, or a late analysis?"),
    ("results-disagree", |flawed| beside(one(false, &[]), "nitrate", if flawed { 22.0 } else { 13.0 }, ("mg/L", 1.0), None), "S1: two results for nitrate: 13 here, 22 in a.csv: AE2; neither is used"),
    ("round-numbers", |flawed| one(flawed, &[("calcium", 95.0), ("magnesium", 35.0), ("bicarbonate", 325.0), ("sulfate", 85.0), ("hardness", 370.0)]), "S1: all 5 larger numbers are multiples of 5: a quick test rather than a laboratory?"),
    ("rows-slipped", |flawed| {
        let mut rows = published_reports(Vocabulary::built_in(), 1).remove(0).rows;
        for row in &mut rows { (row.source, row.sampled_on) = (None, None); }
        let sulfates: Vec<Value> = rows.iter().map(|row| row.values["sulfate"].clone()).collect();
        for i in 4..rows.len() - 1 {
            if flawed { rows[i].values.insert("sulfate".to_owned(), sulfates[i + 1].clone()); }
        }
        extract(rows)
    }, "sulfate from H1 2024-03 to M 2024-03: each fits the sample before it, as if slipped by one row: 9 of 9 samples then agree with themselves, before 2"),
    ("sample-mixed", |flawed| {
        let again: &[(&str, f64)] = if flawed { &[("calcium", 20.0), ("magnesium", 4.0), ("sodium", 41.0), ("potassium", 9.0), ("bicarbonate", 95.0), ("chloride", 71.0)] } else { &[("calcium", 20.0), ("magnesium", 4.0)] };
        again.iter().fold(one(false, &[]), |extract, (code, value)| beside(extract, code, *value, ("mg/L", 1.0), None))
    }, "S1: 6 analytes have two results far from each other (bicarbonate 325 here, 95 in a.csv: AE2): two waters under one name? none of its numbers is used"),
    ("samples-repeat", |flawed| extract(vec![row("S1", &[]), row("S2", &[("nitrate", 14.0), ("calcium", if flawed { 92.0 } else { 90.0 }), ("chloride", if flawed { 9.6 } else { 9.8 }), ("bicarbonate", if flawed { 325.0 } else { 320.0 })])]), "S2: 9 of 10 numbers are those of S1: has a row been copied or slipped?"),
    ("season-in-history", |flawed| extract(history(8, |i, row| if flawed && i % 2 == 0 { strengthen(row, 1.4) })), "Bore, 2024-11-12: the source goes with the seasons: conductivity 990 from April to September, 700 from October to March; chloride 13.8 from April to September, 9.75 from October to March; nitrate 18.7 from April to September, 13.2 from October to March"),
    ("softened-water", |flawed| if flawed { other(&SOFTENED, false, &[]) } else { one(false, &[]) }, "S1: sodium is 97 % of the cations beside bicarbonate: softened water, or a deep sodium bicarbonate well"),
    ("solids-disagree", |flawed| one(flawed, &[("dissolved_solids", 1311.0)]), "S1: dissolved solids 1311 mg/L are 1.9 times conductivity 690 µS/cm, usual is 0.55 to 0.75"),
    ("solids-from-conductivity", |flawed| extract(series(6, true, |i, row| { let factor = if flawed { 0.64 } else { 0.6 + 0.02 * (i % 3) as f64 }; let solids = row.values["conductivity"].value * factor; put(row, "dissolved_solids", solids); })), "dissolved solids are 0.64 times conductivity in 6 of 6 samples: computed, not measured"),
    ("step-at-laboratory", |flawed| extract(history(6, |i, row| {
        row.lab = Some(if i < 3 { "North" } else { "South" }.to_owned());
        if flawed && i >= 3 { row.scale("bicarbonate", 1.0 / 1.2193); }
    })), "Bore, 2022-11-12: bicarbonate from South is 0.812 times what it was from the laboratory before, which is the factor of CaCO3 to HCO3 (1.2193)"),
    ("sulfur-taken-as-sulfate", |flawed| one(flawed, &[("sulfate", NO), ("sulfur", 28.0)]), "S1: sulfur was taken as sulfate for charge balance and figures"),
    ("trend-in-history", |flawed| extract(history(8, |i, row| if flawed { put(row, "chloride", 9.0 + 1.5 * i as f64) })), "Bore, 2024-11-12: chloride from 9.75 to 18.8 over the years"),
    ("unit-doubtful", |flawed| extract(series(10, flawed, |_, row| { row.scale("bicarbonate", 1.0 / 61.016); })), "column 'bicarbonate': its numbers fit if bicarbonate is in meq/L: 10 of 10 samples then balance within 2 %, before 0; conductivity from the ions within 10 % of measured in 10 of 10, before 0"),
    ("units-contradict", |flawed| beside(one(false, &[]), "nitrate", if flawed { 0.08 } else { 0.21 }, ("meq/L", 62.004), None), "S1: nitrate 13 mg/L and 0.08 meq/L do not belong together: the second is 4.96 mg/L"),
    ("value-below-limit", |flawed| extract(series(6, true, |i, row| { row.values.insert("boron".to_owned(), if i == 2 { Value { value: if flawed { 0.01 } else { 0.04 }, censored: None, fraction: None } } else { limited(0.03) }); })), "S2: boron 0.01 is below the limit of its column, 0.03: was the '<' lost, or is the limit in another unit?"),
    ("value-equals-limit", |flawed| extract(series(6, true, |i, row| put(row, "boron", if i == 2 { 0.05 } else if flawed { 0.02 } else { 0.02 + 0.001 * i as f64 }))), "boron is 0.02 in 5 of 6 samples and never less: probably '<0.02' without its sign"),
    ("value-impossible", |flawed| one(flawed, &[("ph", 74.0)]), "S1: pH 74 cannot be right (possible: 1 to 13); was 7.4 meant?"),
    ("value-unusual", |flawed| one(flawed, &[("fluoride", 9.0)]), "S1: fluoride 9 mg/L is unusual (mostly 0 to 1.5)"),
    ("values-exchanged", |flawed| other(&SODIUM_SULFATE, flawed, &[("sodium", 20.0), ("potassium", 120.0)]), "S1: cations and anions differ by -11.1 %, the ions explain 0.961 times the conductivity; fits (+0.0 %, 0.982 times) if sodium and potassium are exchanged; fits less well if the decimal sign of chloride slipped (45 for 4.5); fits less well if magnesium is in °fH"),
];

fn messages(extract: &Extract, code: &str) -> Vec<String> {
    let vocabulary = Vocabulary::built_in();
    let judgement = judge(
        std::slice::from_ref(extract),
        vocabulary,
        Limits::built_in(),
    );
    said(&judgement.findings, code)
}

#[test]
fn each_check_says_this_and_no_more() {
    let mut wrong = Vec::new();
    for (code, case, message) in CASES {
        let said = messages(&case(true), code);
        if said != [(*message).to_owned()] {
            wrong.push(format!("{code}: {said:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn err_without_the_flaw_each_is_silent() {
    for (code, case, _) in CASES {
        let said = messages(&case(false), code);
        assert!(said.is_empty(), "{code}: {said:#?}");
    }
}

/// Samples four years apart are a history, not a slip.
#[test]
fn err_a_file_of_many_years_has_no_doubtful_dates() {
    let years = extract(history(12, |i, row| {
        row.sampled_on = Some(date(2010 + i as i16, 5, 12));
    }));
    assert_eq!(messages(&years, "date-origin-doubtful"), [""; 0]);
}

/// A sample that says neither site nor source is known by its name; a number is no name.
#[test]
fn a_sample_name_that_comes_back_is_its_source() {
    let named = |name: &str| {
        extract(history(6, |i, row| {
            // One of the laboratories has a column for the source.
            let source = (i == 2 && name == "Borehole 1").then(|| name.to_owned());
            (row.name, row.source) = (name.to_owned(), source);
            if i == 5 {
                strengthen(row, 1.6);
            }
        }))
    };
    for (name, jumps) in [
        ("Borehole 1", 1),
        ("Reservoir", 1),
        ("Brunnen Nord", 1),
        ("Sample 1", 0),
        ("S1", 0),
        ("26-0411", 0),
    ] {
        let said = messages(&named(name), "jump-in-history");
        assert_eq!(said.len(), jumps, "{name}: {said:#?}");
    }
}

/// Nitrate that rises together with calcium, report by report, is a source that changes: read as converted
/// once too often it would be as before, but no longer balance.
#[test]
fn err_a_rising_source_that_balances_has_no_cause() {
    let risen = [0.0, 0.0, 0.0, 0.0, 7.0, 17.0, 32.0, 47.0];
    let told = |calcium: f64| {
        let rows = history(8, |i, row| {
            let mut add = |code: &str, more: f64| {
                let value = row.values[code].value + more;
                put(row, code, value);
            };
            add("bicarbonate", 21.0);
            add("nitrate", risen[i]);
            add("calcium", calcium * risen[i]);
            add("conductivity", 3.0 * calcium * risen[i]);
        });
        let reports: Vec<Extract> = (rows.into_iter().enumerate())
            .map(|(i, row)| {
                let mut report = extract(vec![row]);
                report.file = format!("{i}.csv").into();
                report.samples[0].key = format!("{i}").into();
                report
            })
            .collect();
        let judgement = judge(&reports, Vocabulary::built_in(), Limits::built_in());
        said(&judgement.findings, "basis-doubtful")
    };
    // So much calcium carries as much charge as 1 mg/L of nitrate.
    assert_eq!(told(0.323), [""; 0]);
    let alone = told(0.0);
    assert_eq!(alone.len(), 1, "{alone:#?}");
    assert!(alone[0].starts_with("Bore, 2024-11-12: "), "{alone:#?}");
}

#[test]
fn every_code_has_its_case() {
    // Of several reports: in `growth`.
    let told = CASES
        .iter()
        .map(|(code, ..)| *code)
        .chain(["sample-of-folders"]);
    let told: BTreeSet<&str> = told.collect();
    let all: BTreeSet<&str> = CHECKS.iter().map(|check| check.code).collect();
    assert_eq!(told, all);
}

#[test]
fn a_message_starts_with_its_sample_and_is_no_essay() {
    let mut long = BTreeMap::new();
    for (code, case, _) in CASES {
        for message in messages(&case(true), code) {
            assert!(!message.ends_with('.'), "{code}: {message}");
            // Two lines of a terminal; explanations list what else would fit.
            if message.len() > 260 {
                long.insert(*code, message);
            }
        }
    }
    let explanations = [
        "basis-doubtful",
        "ion-missing",
        "rows-slipped",
        "unit-doubtful",
        "values-exchanged",
    ];
    long.retain(|code, _| !explanations.contains(code));
    assert!(long.is_empty(), "{long:#?}");
}
