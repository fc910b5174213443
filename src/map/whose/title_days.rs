//! What a title says of days: "Water analysis 12 March 2021", "Proben vom 12.03.2021", "Printed 12/03/2021".

use crate::reading::{DateFault, DateOrder, read_date};
use crate::text::{self, fold};
use std::ops::Range;

/// A title with more words is a remark.
const MOST_WORDS: usize = 10;
/// "12 March 2021", "12. März 2021", "den 12 mars 2021", and a day of the week.
const MOST_WORDS_OF_A_DAY: usize = 5;

/// Beginnings of words for the taking of samples. Common practice, no source.
const SAMPLING: &[&str] = &[
    "beprob",
    "bemonster",
    "campion",
    "collect",
    "colheit",
    "coleta",
    "amostr",
    "entnahm",
    "entnomm",
    "genomen",
    "monster",
    "muestre",
    "numune al",
    "odber",
    "odbior",
    "pobor",
    "pobran",
    "prelev",
    "prelie",
    "probenahm",
    "probennahm",
    "provetag",
    "provtag",
    "prøvetag",
    "sampl",
    "taken",
    "toma ",
    "uzork",
    "recolt",
    "отбор",
    "采样",
    "取样",
    "採水",
];

/// Beginnings of words for the days of papers, laws and laboratories. Common practice, no source.
const OF_PAPERS: &[&str] = &[
    "accord",
    "analysed",
    "analyzed",
    "approv",
    "aprob",
    "arret",
    "auftrag",
    "ausgab",
    "ausgestell",
    "bericht",
    "besluit",
    "bestell",
    "boletim",
    "boletin",
    "bulletin",
    "complet",
    "creat",
    "decree",
    "decret",
    "directiv",
    "druck",
    "drukow",
    "due",
    "edition",
    "eingang",
    "emess",
    "emis",
    "emit",
    "erstell",
    "export",
    "finish",
    "freigab",
    "gedruck",
    "generat",
    "gesetz",
    "gueltig",
    "gultig",
    "imprim",
    "inform",
    "invoic",
    "issu",
    "iso",
    "kontrakt",
    "law",
    "mottag",
    "modtag",
    "norm",
    "ontvang",
    "order",
    "ordinanc",
    "print",
    "public",
    "publis",
    "rapport",
    "raport",
    "receiv",
    "receb",
    "recep",
    "recib",
    "regul",
    "rechnung",
    "releas",
    "relator",
    "report",
    "request",
    "revis",
    "richtlin",
    "sign",
    "sprawozd",
    "stampa",
    "stand",
    "start",
    "status",
    "tested",
    "tryk",
    "updat",
    "utskr",
    "valid",
    "verordn",
    "version",
    "wydruk",
];

/// Beginnings of words for what is analysed. Common practice, no source.
const OF_WATER: &[&str] = &[
    "acqu",
    "agua",
    "aigua",
    "analis",
    "analiz",
    "analys",
    "apa",
    "badan",
    "campag",
    "campan",
    "chemi",
    "chimi",
    "cours",
    "eau",
    "ergebn",
    "gietwater",
    "groundwater",
    "grundwasser",
    "kampagn",
    "laboratory",
    "meetr",
    "messung",
    "monitor",
    "quali",
    "quimi",
    "result",
    "round",
    "survey",
    "uitslag",
    "vand",
    "vann",
    "vatten",
    "vesi",
    "visit",
    "voda",
    "vody",
    "wasser",
    "water",
    "wod",
    "вод",
    "анализ",
    "水",
];

/// Words between them. Common practice, no source.
const BETWEEN: &[&str] = &[
    "a", "al", "am", "at", "av", "beim", "d", "da", "das", "date", "datum", "de", "dei", "del",
    "della", "den", "der", "des", "di", "die", "do", "du", "el", "fecha", "for", "from", "fur",
    "i", "in", "l", "la", "le", "les", "of", "on", "op", "os", "pa", "par", "per", "pour",
    "samples", "the", "van", "vom", "von", "were", "z", "z dnia", "dnia",
];

/// Words that make a day another than that of the samples at hand. Common practice, no source.
const OTHER_DAYS: &[&str] = &[
    "after",
    "anterior",
    "before",
    "dernier",
    "derniere",
    "geen",
    "ikke",
    "inte",
    "last",
    "laatste",
    "letzte",
    "letzter",
    "nachste",
    "naechste",
    "next",
    "nicht",
    "niet",
    "non",
    "not",
    "pas",
    "plan",
    "planned",
    "precedent",
    "previous",
    "prior",
    "prochain",
    "proximo",
    "since",
    "ultima",
    "ultimo",
    "until",
    "volgende",
    "vorherige",
    "vorige",
];

/// Words that make a day one of an analysis, not of what is analysed. Common practice, no source.
const DATE: &[&str] = &[
    "data", "date", "dato", "datum", "dag", "day", "dia", "dzien", "fecha", "giorno", "jour", "tag",
];

/// Of whom or what the day in a title is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Speaks {
    OfSampling,
    /// Of water or its analysis, and of no paper.
    OfWater,
    /// Of nothing but perhaps a name.
    Barely,
    /// Of another time, of an analysis or of a paper.
    OfAnother,
}

/// The only day that a title holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::map) struct TitleDay<'t> {
    pub(in crate::map) text: &'t str,
    pub(super) speaks: Speaks,
    /// What stands before or behind it, where that is a name.
    pub(super) name: Option<&'t str>,
}

/// `None` where a title holds no day, or several.
pub(in crate::map) fn day_in(title: &str) -> Option<TitleDay<'_>> {
    let words = words(title);
    if words.len() > MOST_WORDS {
        return None;
    }
    let day = day_among(title, &words)?;
    let (before, behind) = (&title[..day.start], &title[day.end..]);
    if day_among(before, &self::words(before)).is_some()
        || day_among(behind, &self::words(behind)).is_some()
    {
        return None;
    }
    if ends_a_stretch(before) {
        return None;
    }
    let rest = fold(&format!("{before} {behind}"));
    let rest: Vec<&str> = text::words(&rest).collect();
    let speaks = speaks(&rest, before.trim_end().ends_with(':'));
    let is_between = |w: &&str| begins(SAMPLING, w) || begins(OF_WATER, w) || BETWEEN.contains(w);
    let name = [before, behind].map(|part| part.trim_matches(|c: char| !c.is_alphanumeric()));
    let name = match name {
        [name, ""] | ["", name] if !name.is_empty() && !rest.iter().all(is_between) => Some(name),
        _ => None,
    };
    Some(TitleDay {
        text: &title[day],
        speaks,
        name,
    })
}

/// What a label says of the day in the cell beside it; `None` where it is a remark, or holds another day.
pub(super) fn speaks_beside(label: &str) -> Option<Speaks> {
    let words = words(label);
    let is_label = words.len() < MOST_WORDS && day_among(label, &words).is_none();
    (is_label && !ends_a_stretch(label)).then(|| {
        let folded = fold(label);
        speaks(&text::words(&folded).collect::<Vec<_>>(), false)
    })
}

/// Of whom or what a day is, by the folded words beside it. `is_label`: a colon parts them from the day.
fn speaks(words: &[&str], is_label: bool) -> Speaks {
    let says = |list: &[&str]| words.iter().any(|word| begins(list, word));
    // "Date of analysis 12.03.2021", "Analysis: 12.03.2021"
    let is_labelled = is_label || words.iter().any(|word| DATE.contains(word));
    let is_another = words.iter().any(|word| OTHER_DAYS.contains(word));
    if is_another || says(OF_PAPERS) {
        Speaks::OfAnother
    } else if says(SAMPLING) {
        Speaks::OfSampling
    } else if is_labelled {
        Speaks::OfAnother
    } else if says(OF_WATER) {
        Speaks::OfWater
    } else {
        Speaks::Barely
    }
}

/// "Between 3 and" before "5 May 2026": the last of several days.
fn ends_a_stretch(before: &str) -> bool {
    const JOINTS: &[&str] = &[
        "and", "to", "until", "till", "through", "und", "bis", "et", "au", "y", "al", "e", "en",
        "tot", "t/m", "til", "og", "och", "i", "do", "a", "až", "-", "–", "&", "+", ",",
    ];
    let lower = before.to_lowercase();
    let mut words = lower.split_whitespace().rev();
    let is_joined = words.next().is_some_and(|word| JOINTS.contains(&word));
    is_joined
        && (words.take(2)).any(|word| {
            let number = word.trim_end_matches(['.', 'º', '°', ',']);
            number
                .parse::<u8>()
                .is_ok_and(|day| (1..=31).contains(&day))
        })
}

fn begins(list: &[&str], word: &str) -> bool {
    // Long ones stand in compounds too ("Prüfbericht").
    list.iter()
        .any(|start| word.starts_with(start) || start.len() > 5 && word.contains(start))
}

/// Where the words of a text stand, without signs at their ends.
fn words(text: &str) -> Vec<Range<usize>> {
    text.split_whitespace()
        .filter_map(|word| {
            let from = word.as_ptr().addr() - text.as_ptr().addr();
            let bare = word.trim_matches(['(', ')', '[', ']', ',', ';', ':', '.', '-', '–']);
            let start = from + (bare.as_ptr().addr() - word.as_ptr().addr());
            (!bare.is_empty()).then(|| start..start + bare.len())
        })
        .collect()
}

/// The shortest run of words that is a day; of several the first.
fn day_among(text: &str, words: &[Range<usize>]) -> Option<Range<usize>> {
    let is_day = |range: &Range<usize>| {
        let read = read_date(&text[range.clone()], DateOrder::Undecided);
        matches!(read, Ok(_) | Err(DateFault::Ambiguous { .. }))
    };
    (1..=MOST_WORDS_OF_A_DAY)
        .flat_map(|count| words.windows(count))
        .map(|run| run[0].start..run[run.len() - 1].end)
        .find(is_day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_in_titles() {
        for (title, speaks, day, name) in [
            (
                "Water analysis 12 March 2021",
                Speaks::OfWater,
                "12 March 2021",
                None,
            ),
            (
                "Analyseresultaten gietwater 12 maart 2021",
                Speaks::OfWater,
                "12 maart 2021",
                None,
            ),
            (
                "Samples taken on 12.03.2021",
                Speaks::OfSampling,
                "12.03.2021",
                None,
            ),
            (
                "Probenahme vom 12.03.2021",
                Speaks::OfSampling,
                "12.03.2021",
                None,
            ),
            (
                "Prélèvement du 12 mars 2021",
                Speaks::OfSampling,
                "12 mars 2021",
                None,
            ),
            (
                "Monsters genomen op 12 maart 2021",
                Speaks::OfSampling,
                "12 maart 2021",
                None,
            ),
            ("Printed: 12/03/2021", Speaks::OfAnother, "12/03/2021", None),
            (
                "Prüfbericht vom 12.03.2021",
                Speaks::OfAnother,
                "12.03.2021",
                None,
            ),
            (
                "North Farm (2021-03-12)",
                Speaks::Barely,
                "2021-03-12",
                Some("North Farm"),
            ),
            (
                "12/03/2021 - North Farm",
                Speaks::Barely,
                "12/03/2021",
                Some("North Farm"),
            ),
            ("12.03.2021", Speaks::Barely, "12.03.2021", None),
        ] {
            let found = day_in(title).unwrap_or_else(|| panic!("{title}"));
            assert_eq!((found.speaks, found.text), (speaks, day), "{title}");
            if speaks != Speaks::OfAnother {
                assert_eq!(found.name, name, "{title}");
            }
        }
    }

    #[test]
    fn err_other_titles_hold_no_day() {
        for title in [
            "Water analysis March 2021",
            "Monitoring 12.03.2021 - 15.03.2021",
            "Bore 4 water quality",
            "Report 21-0458",
            "The pump was taken out on 12 March 2021 and put back the week after that",
        ] {
            assert_eq!(day_in(title), None, "{title}");
        }
    }
}
