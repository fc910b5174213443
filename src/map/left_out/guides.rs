//! Lines whose name says that they hold the limits of a standard, shares or weights. They stand among the
//! samples of a table and look like them; none of them is water that was sampled.

use crate::text::{fold, words};
use regex::Regex;
use std::sync::LazyLock;

/// Who sets limits, and the names of their rules, as whole words. Common practice, no source.
const BODIES: &[&str] = &[
    "who", "oms", "bis", "icmr", "cpcb", "epa", "usepa", "eu", "fao", "trinkwv", "tvo", "dwi",
    "nhmrc", "adwg", "conama", "sanpin", "gost", "ksa", "nsdwq", "sans", "kebs", "tbs", "ebs",
    "ncdwq", "cehca", "ecr", "dwsp",
];

/// What is said of a limit, as whole words; any of them makes the name one when all others are of these
/// lists too.
const LIMITS: &[&str] = &[
    "standard",
    "standards",
    "guideline",
    "guidelines",
    "permissible",
    "desirable",
    "allowable",
    "admissible",
    "acceptable",
    "limit",
    "limits",
    "limite",
    "limites",
    "limiti",
    "mcl",
    "mac",
    "pcv",
    "grenzwert",
    "richtwert",
    "norm",
    "norma",
    "norme",
    "normes",
    "normas",
    "vmp",
    "vma",
    "threshold",
    "recommended",
    "tolerance",
    "ideal",
    "allowed",
    "permitted",
    "zulassig",
];

/// Words for the results of an earlier report, folded; and what stands beside them. Common practice, no source.
const EARLIER: &[&str] = &[
    "previous",
    "prev",
    "prior",
    "last",
    "vorher",
    "vorherig",
    "vorherige",
    "vorheriges",
    "vorbefund",
    "vorwert",
    "letzte",
    "letzter",
    "letztes",
    "vorige",
    "vorig",
    "voriger",
    "laatste",
    "precedent",
    "precedente",
    "precedents",
    "precedentes",
    "dernier",
    "derniers",
    "anterior",
    "anteriores",
    "precedenti",
    "forrige",
    "foregaende",
    "tidligere",
    "poprzedni",
    "poprzednia",
    "poprzednie",
];
const BESIDE_EARLIER: &[&str] = &[
    "result",
    "results",
    "value",
    "values",
    "sample",
    "test",
    "analysis",
    "report",
    "year",
    "ergebnis",
    "ergebnisse",
    "wert",
    "probe",
    "analyse",
    "resultaat",
    "monster",
    "resultat",
    "resultats",
    "resultado",
    "resultados",
    "valor",
    "muestra",
    "analisis",
    "risultato",
    "risultati",
    "analisi",
    "campione",
    "prove",
    "prov",
    "wynik",
    "wyniki",
];

/// "Previous", "Previous result", "Vorwert": of another day than the samples beside it.
pub(super) fn is_earlier(text: &str) -> bool {
    let folded = fold(text);
    words(&folded).any(|word| EARLIER.contains(&word))
        && words(&folded).all(|word| EARLIER.contains(&word) || BESIDE_EARLIER.contains(&word))
}

/// Words between them that say nothing.
const BETWEEN: &[&str] = &[
    "max",
    "maximum",
    "min",
    "minimum",
    "highest",
    "drinking",
    "drink",
    "irrigation",
    "water",
    "quality",
    "for",
    "of",
    "the",
    "in",
    "and",
    "by",
    "value",
    "values",
    "valeur",
    "valor",
    "level",
    "levels",
    "requirement",
    "concentration",
    "range",
    "most",
    "de",
    "da",
    "do",
    "der",
    "per",
    "si",
    "sn",
    "mg",
    "l",
    "is",
    "no",
    "indian",
    "national",
    "us",
];

/// Numbers reckoned from those of a sample: of an index of water quality, or of what is still to be added to
/// the water. Folded. Common practice, no source.
const WEIGHTS: &[&str] = &[
    "unit weight",
    "relative weight",
    "weight",
    "weights",
    "qi",
    "wi",
    "qiwi",
    "wiqi",
    "qi wi",
    "wi qi",
    "correction",
    "change",
    "changes",
    "delta",
    "difference",
    "trend",
    "deviation",
    "adjustment",
    "addition",
    "to add",
    "to give",
    "feed to give",
    "te geven",
    "zu geben",
    "deficit",
    "surplus",
    "veranderung",
    "anderung",
    "korrektur",
    "differenz",
    "abweichung",
    "zugabe",
    "correctie",
    "verandering",
    "verschil",
    "toevoeging",
    "ecart",
    "ajout",
    "evolution",
    "cambio",
    "variacion",
    "variazione",
    "variacao",
    "aendring",
    "forandring",
    "zmiana",
    "correccion",
    "diferencia",
    "correzione",
    "differenza",
    "correcao",
    "diferenca",
];

/// What a grower means to give, not what was measured: as words, and words that stand beside them. Folded. Common
/// practice, no source.
const AIMS: &[&str] = &[
    "advice",
    "advies",
    "bemestingsadvies",
    "bemestingsschema",
    "consigna",
    "consigne",
    "dosage",
    "dosering",
    "dosierung",
    "dosificacion",
    "dosing",
    "duengeplan",
    "dungeplan",
    "receita",
    "recept",
    "receta",
    "recette",
    "recipe",
    "recipes",
    "rezept",
    "rezeptur",
    "ricetta",
    "schema",
    "setpoint",
    "setpoints",
    "soll",
    "sollwert",
    "sollwerte",
    "streefcijfer",
    "streefcijfers",
    "streefwaarde",
    "streefwaarden",
    "target",
    "targets",
    "zalecenie",
    "zalecenia",
];
const BESIDE_AIMS: &[&str] = &[
    "bak",
    "crop",
    "cucumber",
    "drain",
    "drip",
    "druppel",
    "feed",
    "feeding",
    "fertigation",
    "fertiliser",
    "fertilizer",
    "for",
    "irrigation",
    "level",
    "levels",
    "mat",
    "nutrient",
    "nutrients",
    "pepper",
    "range",
    "rose",
    "roses",
    "slab",
    "solution",
    "strawberry",
    "tank",
    "tomato",
    "value",
    "values",
    "water",
];

/// "Target drip", "Recipe A": what is to be given. "Target Hill" is a place.
pub(super) fn is_aim(text: &str) -> bool {
    let folded = fold(text);
    let mut words = (folded.split(|c: char| !c.is_alphanumeric())).filter(|w| !w.is_empty());
    let is_one = |word: &str| AIMS.contains(&word);
    words.clone().any(is_one)
        && words.all(|w| is_one(w) || BESIDE_AIMS.contains(&w) || w.chars().count() < 3)
}

/// Names of sheets and titles of what was reckoned or supposed. Folded. Common practice, no source.
const RECKONED: &[&str] = &[
    "deltas",
    "differences",
    "forecast",
    "normalised",
    "normalized",
    "prognose",
    "rank",
    "ranking",
    "rankings",
    "ranks",
    "scenario",
    "scenarios",
    "scores",
    "simulated",
    "simulation",
    "standardised",
    "standardized",
    "trends",
    "z scores",
];

/// Whether a sheet or a title of this name is of aims, changes or ranks: nothing in it was measured.
pub(super) fn is_not_measured(title: &str) -> bool {
    let folded = fold(title);
    let name = folded.trim();
    is_aim(title) || WEIGHTS.contains(&name) || RECKONED.contains(&name)
}

/// Norms of drinking water by number, signs left out. Common practice, no source.
const NORMS: &[&str] = &[
    "eas12", "gb5749", "gbt14848", "inen1108", "is10500", "nch409", "nis554", "nom127", "qcvn01",
    "qcvn09", "sls614", "ts266",
];

/// "Kenya Standards", "Sri Lankan standard (SLS 614)": a country's, not a place called Standard.
fn is_of_a_country(words: &[&str]) -> bool {
    (1..words.len()).any(|i| match words[i] {
        "standards" | "guidelines" => i + 1 == words.len(),
        "standard" | "guideline" => ["an", "ese", "ish"]
            .iter()
            .any(|end| words[i - 1].ends_with(end)),
        _ => false,
    })
}

/// "WHO (2011)", "BIS permissible limit", "Max. allowable": all words are those of limits, and the numbers
/// among them are years or numbers of standards, not of samples ("EU 3").
pub(in crate::map) fn is_guideline(text: &str) -> bool {
    let folded = fold(text);
    let joined: String = folded.chars().filter(|c| c.is_alphanumeric()).collect();
    if NORMS.iter().any(|norm| joined.starts_with(norm)) {
        return true;
    }
    let words: Vec<&str> = words(&folded).collect();
    if is_of_a_country(&words) {
        return true;
    }
    let numeric = |w: &&str| w.bytes().all(|b| b.is_ascii_digit());
    let long_number = |w: &&str| w.len() >= 4;
    words
        .iter()
        .any(|w| BODIES.contains(w) || LIMITS.contains(w))
        && words.iter().all(|w| {
            BODIES.contains(w)
                || LIMITS.contains(w)
                || BETWEEN.contains(w)
                || (numeric(w) && long_number(w))
        })
}

/// A share, a change, a correction or a weight: "Removal %", "Recovery (%)", "Unit weight Wi". A sample is not named in
/// percent; what is, was reckoned from samples.
pub(in crate::map) fn is_share(text: &str) -> bool {
    let text = text.trim();
    let percent = text.ends_with('%') || text.ends_with("(%)") || text.starts_with("% ");
    let folded = fold(text);
    let bare = folded.trim_end_matches(" wi").trim();
    percent && text.chars().any(char::is_alphabetic)
        || is_mass(text)
        || WEIGHTS.contains(&folded.as_str())
        || WEIGHTS.contains(&bare)
}

/// "Tank A kg": what is weighed out.
fn is_mass(text: &str) -> bool {
    let end = text.rsplit([' ', '(', '[']).next().unwrap_or_default();
    end.len() < text.len() && matches!(end.trim_end_matches([')', ']']), "kg" | "kg/m3" | "g/m3")
}

/// The limits of 40 CFR 141 call themselves so.
pub(in crate::map) fn is_contaminant_level(text: &str) -> bool {
    let folded = fold(text);
    folded.contains("contaminant level")
        || words(&folded).any(|word| matches!(word, "mcl" | "epa" | "usepa"))
}

static RANGE: LazyLock<Regex> = LazyLock::new(|| {
    Regex::new(
        r"^\s*(\d{1,2}(?:[.,]\d+)?)\s*(?:-|–|—|÷|~|to|bis|tot|do|à|a)\s*(\d{1,2}(?:[.,]\d+)?)\s*$",
    )
    .expect("a valid pattern")
});

/// "6.5-8.5": no pH of one sample is known to one unit only. Limits of a law and spreads of several
/// samples are written so.
pub(super) fn is_wide_ph(text: &str) -> bool {
    let Some(found) = RANGE.captures(text) else {
        return false;
    };
    let end = |i: usize| found[i].replace(',', ".").parse::<f64>();
    match (end(1), end(2)) {
        (Ok(low), Ok(high)) => high <= 14.0 && high - low >= 1.0,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_by_name() {
        for text in [
            "WHO",
            "WHO (2011)",
            "BIS",
            "BIS desirable",
            "BIS 10500:2012",
            "IS 10500 permissible limit",
            "WHO Standard",
            "Max. permissible",
            "EU limit",
            "Desirable limit (mg/l)",
            "Standard (Si)",
            "Ideal value",
            "Norme OMS",
            "TrinkwV 2001",
            "US EPA MCL",
            "IS 10500",
            "NOM-127-SSA1",
            "Kenya Standards",
            "Sri Lankan standard (SLS 614)",
        ] {
            assert!(is_guideline(text), "{text}");
        }
    }

    #[test]
    fn err_samples_are_no_limits() {
        for text in [
            "EU 3",
            "Who's well",
            "Bis 2 km",
            "IS 1",
            "Water",
            "Max Planck",
            "Quality spring",
            "2011",
            "",
            "BISHOP",
        ] {
            assert!(!is_guideline(text), "{text}");
        }
    }

    #[test]
    fn shares_and_weights() {
        for text in [
            "Removal %",
            "Recovery (%)",
            "% change",
            "Unit weight Wi",
            "Qi",
            "WiQi",
            "Correction",
            "Zugabe",
            "Écart",
            "Change",
            "Veränderung",
        ] {
            assert!(is_share(text), "{text}");
        }
        for text in ["Well 5", "%", "Quist", "50 % mix tank", "Weight Street"] {
            assert!(!is_share(text), "{text}");
        }
    }

    #[test]
    fn aims() {
        for text in ["Target drip", "Recipe A", "Advies", "Setpoint EC", "Soll"] {
            assert!(is_aim(text), "{text}");
        }
        for text in ["Target Hill", "Drip", "Drain", "Recipe Street", "Water", ""] {
            assert!(!is_aim(text), "{text}");
        }
        assert!(is_share("Tank A kg") && !is_share("kg") && !is_share("Tank A"));
    }

    #[test]
    fn wide_ranges_of_ph() {
        for text in ["6.5-8.5", "6,5 – 9,5", "6.5 to 8.5"] {
            assert!(is_wide_ph(text), "{text}");
        }
        for text in ["7.2-7.4", "7.2", "2020-05", "<7", "6-2021", ""] {
            assert!(!is_wide_ph(text), "{text}");
        }
    }
}
