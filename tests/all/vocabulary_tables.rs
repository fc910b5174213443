//! The tables themselves: nothing claimed twice, nothing out of its senses, users' additions.

use std::collections::BTreeMap;
use wellread::text::{fold, squash};
use wellread::vocabulary::{AnalyteId, Meaning, Vocabulary};

fn vocabulary() -> &'static Vocabulary {
    Vocabulary::built_in()
}

fn ids() -> impl Iterator<Item = AnalyteId> {
    (0u16..).map(AnalyteId).take(vocabulary().analytes().len())
}

#[test]
fn analytes_stand_in_the_order_of_the_schema() {
    let codes: Vec<&str> = vocabulary()
        .analytes()
        .iter()
        .map(|a| a.code.as_str())
        .collect();
    assert_eq!(codes.len(), 82);
    assert_eq!(
        codes[..4],
        ["ph", "conductivity", "temperature", "dissolved_solids"]
    );
    assert_eq!(
        codes[80..],
        ["sodium_adsorption_ratio", "charge_balance_reported"]
    );
    let mut unique = codes.clone();
    unique.sort_unstable();
    unique.dedup();
    assert_eq!(unique.len(), codes.len());
}

#[test]
fn columns_are_named_as_the_schema_says() {
    for (code, column) in [
        ("calcium", "calcium_mg_l"),
        ("conductivity", "conductivity_us_cm"),
        ("ph", "ph"),
        ("turbidity", "turbidity_ntu"),
        ("e_coli", "e_coli_cfu_100ml"),
        ("redox", "redox_mv"),
    ] {
        let id = vocabulary().find(code).unwrap();
        assert_eq!(vocabulary().analyte(id).column, column);
    }
}

#[test]
fn ranges_are_sane() {
    for analyte in vocabulary().analytes() {
        let (hard, soft) = (analyte.hard_range.unwrap(), analyte.soft_range.unwrap());
        assert!(
            hard.0 <= soft.0 && soft.0 < soft.1 && soft.1 <= hard.1,
            "{}",
            analyte.code
        );
    }
}

#[test]
fn canonical_bases_come_first() {
    for analyte in vocabulary().analytes() {
        assert_eq!(
            analyte.bases.first(),
            analyte.basis.as_ref(),
            "{}",
            analyte.code
        );
    }
}

/// The text without case, accents and marks, and with case for symbols.
fn key(language: &str, text: &str) -> String {
    if language == "symbol" {
        squash(text).into_owned()
    } else {
        fold(text).replace([' ', '-', '.'], "")
    }
}

#[test]
fn no_label_is_claimed_twice_in_one_language() {
    let mut claimed: BTreeMap<(&str, String), &str> = BTreeMap::new();
    for analyte in vocabulary().analytes() {
        for name in &analyte.names {
            let label = (name.language, key(name.language, &name.text));
            if let Some(other) = claimed.insert(label, &analyte.code) {
                assert_eq!(other, analyte.code, "'{}' ({})", name.text, name.language);
            }
        }
    }
}

/// Also across languages: no label of one analyte is read as another.
#[test]
fn every_label_is_read_as_its_own_analyte() {
    let mut wrong = Vec::new();
    for id in ids() {
        let analyte = vocabulary().analyte(id);
        for name in &analyte.names {
            let heading = vocabulary().read_heading(&name.text);
            let basis_fits = name.basis.is_none() || heading.basis == name.basis;
            let fraction_fits = name.fraction.is_none() || heading.fraction == name.fraction;
            if heading.meaning != Meaning::Analyte(id) || !basis_fits || !fraction_fits {
                wrong.push(format!(
                    "{} '{}' ({}): {heading:?}",
                    analyte.code, name.text, name.language
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A heading is not read out of a longer word: every name with a letter more is no name.
#[test]
fn err_no_name_is_found_inside_a_longer_word() {
    for id in ids() {
        for name in &vocabulary().analyte(id).names {
            let last_is_letter = name.text.chars().last().is_some_and(char::is_alphabetic);
            for longer in [format!("x{}", name.text), format!("{}x", name.text)] {
                if last_is_letter
                    && name.text.chars().all(char::is_alphabetic)
                    && name.language != "symbol"
                {
                    let heading = vocabulary().read_heading(&longer);
                    let read = matches!(heading.meaning, Meaning::Analyte(_));
                    assert!(!read, "'{longer}' read as {:?}", heading.meaning);
                }
            }
        }
    }
}

fn with(files: &[(&str, &str)]) -> Result<Vocabulary, String> {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    Vocabulary::load(Some(folder.path())).map_err(|e| {
        e.to_string()
            .replace(&folder.path().display().to_string(), "mappings")
    })
}

#[test]
fn a_user_adds_names_analytes_units_and_words() {
    let vocabulary = with(&[
        (
            "analytes.toml",
            "[[analyte]]\ncode = 'nitrate'\nhard = [0, 500]\n[[analyte.names]]\nen = ['saltpetre']\n\
             [[analyte]]\ncode = 'rubidium'\nunit = 'mg/L'\nunits = ['mg/L']\nhard = [0, 1]\nsoft = [0, 1]\n\
             [[analyte.names]]\nsymbol = ['Rb']\n",
        ),
        ("units.toml", "[[unit]]\ncode = 'uS/cm'\nspellings = ['gemmhos']\n"),
        ("fields.toml", "[source]\nen = ['waterhole']\n"),
    ])
    .unwrap();
    let nitrate = vocabulary.find("nitrate").unwrap();
    assert_eq!(
        vocabulary.read_heading("Saltpetre").meaning,
        Meaning::Analyte(nitrate)
    );
    assert_eq!(
        vocabulary.read_heading("nitrate").meaning,
        Meaning::Analyte(nitrate)
    );
    assert_eq!(vocabulary.analyte(nitrate).hard_range, Some((0.0, 500.0)));
    let rubidium = vocabulary.find("rubidium").unwrap();
    assert_eq!(
        vocabulary.read_heading("Rb (mg/l)").meaning,
        Meaning::Analyte(rubidium)
    );
    assert_eq!(vocabulary.read_unit("gemmhos").unwrap().0.code, "uS/cm");
    assert!(matches!(
        vocabulary.read_heading("Waterhole").meaning,
        Meaning::Field(_)
    ));
}

#[test]
fn err_all_problems_of_a_users_table_at_once() {
    let told = with(&[(
        "analytes.toml",
        "[[analyte]]\ncode = 'nitrat'\n[[analyte]]\ncode = 'nitrate'\nunit = 'ug/L'\nbases = ['N', 'Xx']\nsilent_basis = 'maybe'\n",
    )])
    .unwrap_err();
    for part in [
        "unknown analyte 'nitrat'; a new one needs a unit",
        "the unit of 'nitrate' is fixed",
        "no formula: 'Xx'",
        "'maybe' is none of 'understood', 'assumed', 'none'",
        "mappings/analytes.toml:2:8",
    ] {
        assert!(told.contains(part), "'{part}' not in:\n{told}");
    }
}

#[test]
fn err_unknown_key_names_the_nearest() {
    let told = with(&[("units.toml", "[[unit]]\ncode = 'uS/cm'\nspelling = ['x']\n")]).unwrap_err();
    assert!(told.contains("spelling"), "{told}");
    assert!(told.contains("mappings/units.toml:3"), "{told}");
}
