//! Words that stand in a result cell instead of a number, in nine languages.
//!
//! Common practice, no single source, except where a line says otherwise. What means two things in two
//! languages is `Ambiguous` and stays unplaced until a mapping lists it among its qualifier codes.

use super::fold::fold;

/// Which limit a text speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LimitKind {
    Detection,
    Quantification,
    /// The text does not say which.
    Any,
}

/// What a word in a result cell means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Word {
    /// Looked for and not found.
    NotDetected,
    /// Below the limit named; its number stands elsewhere.
    BelowLimit(LimitKind),
    /// Too many to count, confluent.
    AboveRange,
    /// Detected, too little to give a number.
    Trace,
    /// Beside a number: it lies above the limits, and counts as it stands.
    Quantified,
    /// Not asked for, not analysed, lost.
    NotDetermined,
    /// The result will follow.
    Pending,
    /// Found, of bacteria.
    Present,
    /// Not found, of bacteria.
    Missing,
    /// A judgement on a number that is not given.
    Judgement,
    /// Two meanings in two languages, or too short to be sure.
    Ambiguous,
}

/// Looks a whole text up; `None` when it is none of the words.
pub fn word(text: &str) -> Option<Word> {
    if text.len() > 80 {
        return None;
    }
    let mut folded = fold(text);
    while folded.contains(". ") {
        folded = folded.replace(". ", ".");
    }
    find(&folded)
        .or_else(|| find(folded.strip_suffix(['.', ':'])?))
        .or_else(|| find(folded.strip_prefix(['(', '['])?.strip_suffix([')', ']'])?))
}

fn find(folded: &str) -> Option<Word> {
    WORDS
        .binary_search_by_key(&folded, |(text, _)| text)
        .ok()
        .map(|i| WORDS[i].1)
}

/// The limit that an abbreviation or name of one means (`LOD`, `BG`), as it stands behind a `<`.
pub fn limit_word(text: &str) -> Option<LimitKind> {
    let folded = fold(text).replace(['.', ' '], "");
    LIMITS
        .binary_search_by_key(&folded.as_str(), |(text, _)| text)
        .ok()
        .map(|i| LIMITS[i].1)
}

/// A yes or no as databases and people write them; `None` for anything else. Common practice, no source.
pub fn yes_or_no(text: &str) -> Option<bool> {
    match fold(text).as_str() {
        "true" | "t" | "y" | "j" | "1" | "x" => Some(true),
        "false" | "f" | "n" | "0" => Some(false),
        _ => match word(text)? {
            Word::Present => Some(true),
            Word::Missing => Some(false),
            _ => None,
        },
    }
}

use LimitKind::{Any, Detection, Quantification};
use Word::{
    AboveRange, Ambiguous, BelowLimit, Judgement, Missing, NotDetected, NotDetermined, Pending,
    Present, Quantified, Trace,
};

/// Sorted; folded, without points and spaces.
const LIMITS: &[(&str, LimitKind)] = &[
    // aantoonbaarheidsgrens (nl)
    ("aantgr", Detection),
    ("aantoonbaarheidsgrens", Detection),
    ("aantoonbgr", Detection),
    // Bestimmungsgrenze (de)
    ("bestgr", Quantification),
    ("bestimmungsgrenze", Quantification),
    ("bg", Quantification),
    ("crdl", Any),
    ("crql", Any),
    ("detectielimiet", Detection),
    ("detectionlimit", Detection),
    ("detektionsgraense", Detection),
    ("detlim", Detection),
    ("detlimit", Detection),
    ("dl", Detection),
    ("granicaoznaczalnosci", Quantification),
    ("granicawykrywalnosci", Detection),
    ("idl", Detection),
    // limite de cuantificacion (es)
    ("lc", Quantification),
    ("ld", Detection),
    // limite de deteccion del metodo (es)
    ("ldm", Detection),
    ("limitededetection", Detection),
    ("limitedequantification", Quantification),
    ("limitofdetection", Detection),
    ("limitofquantification", Quantification),
    ("lod", Detection),
    ("loq", Quantification),
    ("lor", Any),
    ("lq", Quantification),
    ("mdl", Detection),
    ("mrl", Any),
    ("nachweisgrenze", Detection),
    // Nachweisgrenze (de)
    ("nwg", Detection),
    ("pql", Quantification),
    ("ql", Quantification),
    ("rapportagegrens", Any),
    ("reportinglimit", Any),
    ("rg", Any),
    ("rl", Any),
];

/// Sorted; folded as `fold` does, one blank never after a point.
const WORDS: &[(&str, Word)] = &[
    ("#n/a", NotDetermined),
    ("+", Present),
    ("-", NotDetermined),
    ("--", NotDetermined),
    ("---", NotDetermined),
    (".", NotDetermined),
    ("..", NotDetermined),
    ("...", NotDetermined),
    ("/", NotDetermined),
    ("//", NotDetermined),
    ("?", NotDetermined),
    ("abnormal", Judgement),
    ("absence", Missing),
    ("absent", Missing),
    ("abwesend", Missing),
    ("acceptable", Judgement),
    ("afwezig", Missing),
    ("amber", Judgement),
    ("anwesend", Present),
    ("assente", Missing),
    ("aucun", Ambiguous),
    ("ausente", Missing),
    ("bad", Judgement),
    ("bdl", BelowLimit(Detection)),
    ("below detection", BelowLimit(Detection)),
    ("below detection limit", BelowLimit(Detection)),
    ("below limit of detection", BelowLimit(Detection)),
    ("below limit of quantification", BelowLimit(Quantification)),
    ("below loq", BelowLimit(Quantification)),
    ("below mdl", BelowLimit(Detection)),
    ("below quantification limit", BelowLimit(Quantification)),
    ("below reporting limit", BelowLimit(Any)),
    ("bld", BelowLimit(Detection)),
    ("blod", BelowLimit(Detection)),
    ("bloq", BelowLimit(Quantification)),
    ("blq", BelowLimit(Quantification)),
    ("bql", BelowLimit(Quantification)),
    ("brl", BelowLimit(Any)),
    ("confluent", AboveRange),
    ("conform", Judgement),
    ("conforme", Judgement),
    ("detecte", Present),
    ("detected", Present),
    // Remarks of the French national exchange format for water data, from memory.
    ("domaine de validite", Quantified),
    ("ei todettu", NotDetected),
    ("ej detekterad", NotDetected),
    ("ej pavisad", NotDetected),
    ("en cours", Pending),
    ("fail", Judgement),
    ("folgt", Pending),
    ("follows", Pending),
    ("good", Judgement),
    ("green", Judgement),
    ("gut", Judgement),
    ("high", Judgement),
    ("hoch", Judgement),
    ("hoog", Judgement),
    ("i.m.", NotDetected),
    ("i.p.", NotDetected),
    ("ikke analyseret", NotDetermined),
    ("ikke bestemt", NotDetermined),
    ("ikke malelig", NotDetected),
    ("ikke malt", NotDetermined),
    ("ikke pavist", NotDetected),
    ("in behandeling", Pending),
    ("in bewerking", Pending),
    ("in progress", Pending),
    ("incontables", AboveRange),
    ("incontavel", AboveRange),
    ("indenombrable", AboveRange),
    ("indenombrables", AboveRange),
    ("ja", Present),
    ("laag", Judgement),
    ("low", Judgement),
    ("medium", Judgement),
    ("missing", NotDetermined),
    ("n.a.", Ambiguous),
    ("n.b.", NotDetermined),
    ("n.d", NotDetected),
    ("n.d.", NotDetected),
    ("n.m.", NotDetermined),
    ("n.n", NotDetected),
    ("n.n.", NotDetected),
    ("n.q.", BelowLimit(Quantification)),
    ("n.r.", Ambiguous),
    ("n.t.", NotDetermined),
    ("n.u.", NotDetermined),
    ("n/a", NotDetermined),
    ("n/d", NotDetected),
    ("na", NotDetermined),
    ("nao analisado", NotDetermined),
    ("nao detectado", NotDetected),
    ("nao determinado", NotDetermined),
    ("nao detetado", NotDetected),
    ("nd", NotDetected),
    ("nedetectat", NotDetected),
    ("nee", Missing),
    ("negatief", Missing),
    ("negatif", Missing),
    ("negativ", Missing),
    ("negative", Missing),
    ("negativo", Missing),
    ("nein", Missing),
    ("nej", Missing),
    ("nem kimutathato", NotDetected),
    ("nicht auszahlbar", AboveRange),
    ("nicht bestimmbar", Ambiguous),
    ("nicht bestimmt", NotDetermined),
    ("nicht gemessen", NotDetermined),
    ("nicht nachgewiesen", NotDetected),
    ("nicht nachweisbar", NotDetected),
    ("nicht quantifizierbar", BelowLimit(Quantification)),
    ("nicht untersucht", NotDetermined),
    ("nie badano", NotDetermined),
    ("nie oznaczano", NotDetermined),
    ("nie oznaczono", NotDetermined),
    ("nie wykryto", NotDetected),
    ("nieobecne", Missing),
    ("niet aangetoond", NotDetected),
    ("niet aantoonbaar", NotDetected),
    ("niet bepaald", NotDetermined),
    ("niet gemeten", NotDetermined),
    ("niet onderzocht", NotDetermined),
    // Usual for carbonate on Indian reports; from memory.
    ("nil", NotDetected),
    ("niskie", Judgement),
    ("nn", NotDetected),
    ("no", Missing),
    ("no analizado", NotDetermined),
    ("no data", NotDetermined),
    ("no detectable", NotDetected),
    ("no detectado", NotDetected),
    ("no determinado", NotDetermined),
    ("no result", NotDetermined),
    ("no sample", NotDetermined),
    ("nodata", NotDetermined),
    ("non", Missing),
    ("non analizzato", NotDetermined),
    ("non analyse", NotDetermined),
    ("non decele", NotDetected),
    ("non detect", NotDetected),
    ("non detecte", NotDetected),
    ("non determinato", NotDetermined),
    ("non determine", NotDetermined),
    ("non dose", NotDetermined),
    ("non mesure", NotDetermined),
    ("non quantifiable", BelowLimit(Quantification)),
    ("non quantifie", BelowLimit(Quantification)),
    ("non rilevabile", NotDetected),
    ("non rilevato", NotDetected),
    ("non-detect", NotDetected),
    ("none", Ambiguous),
    ("none detected", NotDetected),
    ("normal", Judgement),
    ("not analysed", NotDetermined),
    ("not analyzed", NotDetermined),
    ("not available", NotDetermined),
    ("not detected", NotDetected),
    ("not determined", NotDetermined),
    ("not measured", NotDetermined),
    ("not reported", NotDetermined),
    ("not requested", NotDetermined),
    ("not sampled", NotDetermined),
    ("not tested", NotDetermined),
    ("nq", BelowLimit(Quantification)),
    ("nr", NotDetermined),
    ("nt", NotDetermined),
    ("null", NotDetermined),
    ("obecne", Present),
    ("ok", Judgement),
    ("ontelbaar", AboveRange),
    ("oui", Present),
    ("pass", Judgement),
    ("pavist", Present),
    ("pending", Pending),
    ("pos", Present),
    ("positief", Present),
    ("positif", Present),
    ("positiv", Present),
    ("positive", Present),
    ("positivo", Present),
    ("presence", Present),
    ("present", Present),
    ("presente", Present),
    ("red", Judgement),
    // Remarks of the French national exchange format for water data, from memory.
    ("resultat < au seuil de detection", BelowLimit(Detection)),
    (
        "resultat < au seuil de quantification",
        BelowLimit(Quantification),
    ),
    ("resultat < seuil de detection", BelowLimit(Detection)),
    (
        "resultat < seuil de quantification",
        BelowLimit(Quantification),
    ),
    (
        "resultat > seuil de quantification et < au seuil de saturation",
        Quantified,
    ),
    ("rosso", Judgement),
    ("s/d", NotDetermined),
    ("si", Present),
    ("sim", Present),
    ("slady", Trace),
    ("spor", Trace),
    ("sporen", Trace),
    ("spur", Trace),
    ("spuren", Trace),
    ("tak", Present),
    ("tespit edilemedi", NotDetected),
    ("tntc", AboveRange),
    ("to follow", Pending),
    ("too many to count", AboveRange),
    ("too numerous to count", AboveRange),
    ("tr", Trace),
    ("tr.", Trace),
    ("tracce", Trace),
    ("trace", Trace),
    ("traces", Trace),
    (
        "traces (< seuil de quantification et > seuil de detection)",
        Trace,
    ),
    // unter der Bestimmungsgrenze (de)
    ("u.b.", BelowLimit(Quantification)),
    ("u.d.", NotDetected),
    ("under detektionsgraensen", BelowLimit(Detection)),
    ("unter bestimmungsgrenze", BelowLimit(Quantification)),
    ("unter der bestimmungsgrenze", BelowLimit(Quantification)),
    ("unter der nachweisgrenze", BelowLimit(Detection)),
    ("unter nachweisgrenze", BelowLimit(Detection)),
    ("vestiges", Trace),
    ("vestigios", Trace),
    ("vorhanden", Present),
    ("w toku", Pending),
    ("wysokie", Judgement),
    ("x", NotDetermined),
    ("yes", Present),
    ("zie rapport", Pending),
    ("н.о.", NotDetected),
    ("н/о", NotDetected),
    ("не выявлено", NotDetected),
    ("не обн", NotDetected),
    ("не обн.", NotDetected),
    ("не обнаружен", NotDetected),
    ("не обнаружено", NotDetected),
    ("следы", Trace),
    ("不検出", NotDetected),
    ("低于检出限", BelowLimit(Detection)),
    ("定量下限未満", BelowLimit(Quantification)),
    ("定量限界未満", BelowLimit(Quantification)),
    ("未检出", NotDetected),
    ("未檢出", NotDetected),
    ("检出限以下", BelowLimit(Detection)),
    ("検出せす", NotDetected),
    ("検出限界以下", BelowLimit(Detection)),
    ("検出限界未満", BelowLimit(Detection)),
    ("痕跡", Trace),
];

/// Whether a text says "the same as above" ("idem", "ditto", the mark below a word).
pub fn is_ditto(text: &str) -> bool {
    // Common practice, no source.
    const WORDS: &[&str] = &[
        "idem",
        "id.",
        "ditto",
        "do.",
        "dto",
        "dto.",
        "dito",
        "same",
        "same as above",
        "as above",
        "wie oben",
        "s.o.",
        "come sopra",
        "jw.",
        "j.w.",
        "то же",
        "同上",
    ];
    const MARKS: &[&str] = &[
        "\"", "''", "\u{2033}", "\u{3003}", "\u{201d}", "\u{201e}", ",,", "-\"-", "- \" -", "-''-",
    ];
    let text = text.trim();
    MARKS.contains(&text) || WORDS.contains(&text.to_lowercase().as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_sorted_unique_and_folded() {
        for pair in WORDS.windows(2) {
            assert!(
                pair[0].0 < pair[1].0,
                "{:?} before {:?}",
                pair[0].0,
                pair[1].0
            );
        }
        for pair in LIMITS.windows(2) {
            assert!(
                pair[0].0 < pair[1].0,
                "{:?} before {:?}",
                pair[0].0,
                pair[1].0
            );
        }
        for (text, _) in WORDS {
            assert_eq!(&fold(text), text);
        }
    }
}
