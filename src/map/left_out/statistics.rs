//! Words for what is reckoned from many samples: means, extremes, spreads and counts. They name lines and tracks
//! that are of no single sample, and tables of nothing else.

use super::statistic_words::{
    AVERAGES, COMPANIONS, FIGURES, MIDDLES, OTHERS, PHRASES, REPEATS, SPREAD, SUMMARIES, TITLES,
};
use crate::text::{fold, words};
use hashbrown::HashSet;
use std::sync::LazyLock;

/// The words without one of which a name is of no statistic: nearly all names have none.
static TELLING: LazyLock<HashSet<&str>> = LazyLock::new(|| {
    let starts = PHRASES.iter().filter_map(|phrase| phrase.split(' ').next());
    let words = [AVERAGES, MIDDLES, OTHERS, SPREAD].into_iter().flatten();
    words.copied().chain(starts).collect()
});

fn is_in(list: &[&str], word: &str) -> bool {
    list.binary_search(&word).is_ok()
}

/// What the name of a sheet or the title of a table says of its lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Told {
    /// A summary: of what stands elsewhere, or of nothing else.
    Summary,
    /// Means or other statistics.
    Statistics,
    /// What is wanted, reckoned or changed, or drawn up by a spreadsheet from a table ("Average of Value").
    NotMeasured,
}

/// Whether a line of this name is of many samples.
pub(in crate::map) fn is_statistic(text: &str) -> bool {
    let text = text.trim();
    if matches!(text, "Ø" | "ø" | "∅") {
        return true;
    }
    let folded = fold(text);
    let words: Vec<&str> = words(&folded).collect();
    if !words.iter().any(|w| TELLING.contains(w)) {
        return false;
    }
    are_statistics(&words)
        || is_in(PHRASES, &words.join(" "))
        || words.iter().any(|w| is_in(AVERAGES, w) || is_in(SPREAD, w))
        || is_of_many(&words)
}

fn are_statistics(words: &[&str]) -> bool {
    let tells = |w: &&str| is_in(OTHERS, w) || is_in(MIDDLES, w);
    words.iter().any(tells) && words.iter().all(|w| tells(w) || is_in(COMPANIONS, w))
}

/// The same of a heading, where "total" is a fraction and no sum.
pub(in crate::map) fn heads_statistics(text: &str) -> bool {
    is_statistic(text) && !text.trim().eq_ignore_ascii_case("total")
}

/// "World river average", "Site A mean", "Mean ± SD", "Average concentration (mg/L)": of many samples, not of one.
/// "Mean Street" has a word that says nothing of figures behind.
fn is_of_many(words: &[&str]) -> bool {
    let of_figures =
        |w: &&str| is_in(MIDDLES, w) || is_in(FIGURES, w) || w.bytes().all(|b| b.is_ascii_digit());
    let Some(at) = words.iter().position(|w| is_in(MIDDLES, w)) else {
        return false;
    };
    // "Concentration AVG" says of each line that its numbers are means of repeated measurements.
    let of_repeats = at > 0 && words[..at].iter().all(of_figures);
    !of_repeats && words[at..].iter().all(of_figures)
}

/// "Average of Chloride", "Summe von Wert": how spreadsheets head what they drew together. The first word is one of a
/// statistic or a sum, the second "of".
pub(super) fn heads_drawn_together(text: &str) -> bool {
    const OF: &[&str] = &["of", "von", "de", "di", "van", "av", "af", "z"];
    const SUMS: &[&str] = &[
        "sum", "summe", "somme", "suma", "soma", "somma", "som", "count",
    ];
    let folded = fold(text);
    let words: Vec<&str> = words(&folded).collect();
    let is_one =
        |w: &str| is_in(AVERAGES, w) || is_in(MIDDLES, w) || is_in(OTHERS, w) || SUMS.contains(&w);
    let of_ions = |w: &&str| {
        ["cation", "anion", "kation", "ion"]
            .iter()
            .any(|ion| w.starts_with(ion))
    };
    let is_repeated = |w: &&str| REPEATS.iter().any(|start| w.starts_with(start));
    words.len() > 2
        && !words.iter().any(is_repeated)
        && is_one(words[0])
        && OF.contains(&words[1])
        && !words.iter().any(of_ions)
}

/// `None`: nothing of the kind.
pub(super) fn told_by(title: &str) -> Option<Told> {
    let folded = fold(title);
    let words: Vec<&str> = words(&folded).collect();
    let of_repeats = (words.iter()).any(|w| REPEATS.iter().any(|start| w.starts_with(start)));
    if of_repeats || title.contains('±') {
        return None;
    }
    let is_statistic = |w: &&str| is_in(AVERAGES, w) || is_in(MIDDLES, w) || is_in(TITLES, w);
    let numeric = |c: char| c.is_ascii_digit();
    // Letters are of places too ("SE").
    let is_one = folded.len() > 2 && are_statistics(&words);
    if is_one || words.iter().any(is_statistic) && !is_a_name(title) {
        Some(Told::Statistics)
    } else if (words.iter()).any(|w| is_in(SUMMARIES, w.trim_end_matches(numeric))) {
        Some(Told::Summary)
    } else {
        None
    }
}

/// "Mean Street", "Moyenne Durance": a middle before a word in capitals that says nothing of figures.
fn is_a_name(title: &str) -> bool {
    let words: Vec<&str> = words(title).collect();
    let is_plain = |w: &str| is_in(AVERAGES, w) || is_in(TITLES, w);
    let mut pairs = words.windows(2);
    !words.iter().any(|w| is_plain(&fold(w)))
        && pairs.any(|pair| {
            let next = fold(pair[1]);
            is_in(MIDDLES, &fold(pair[0]))
                && pair[1].starts_with(char::is_uppercase)
                && !is_in(FIGURES, &next)
                && !is_in(COMPANIONS, &next)
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn statistics_are_whole_names() {
        for text in [
            "Mean",
            "Mittelwert:",
            "n",
            "Std. Dev.",
            "MAX",
            "Concentration RSD",
            "Mean ± SD",
            "World river average",
            "Average concentration (mg/L)",
            "Site A mean",
            "95th percentile",
            "Mittelwert Nord",
            "Ø",
            "Medelvärde",
            "Średnia arytmetyczna",
            "Wartość min.",
            "Desviación típica",
            "Écart-type",
            "Átlag",
            "Rata-rata",
            "En düşük",
            "平均值",
            "Максимум",
        ] {
            assert!(is_statistic(text), "{text}");
        }
        for text in [
            "Concentration AV",
            "Concentration AVG",
            // A code of a geology or a station.
            "P",
            "Max Planck well",
            "Nurse",
            "Total station",
            "Mean Street",
            "Summer",
            // The middle reach of a river.
            "Medio",
            "Moyenne Durance",
            "Standard",
            "Value 3",
            "O",
        ] {
            assert!(!is_statistic(text), "{text}");
        }
    }

    #[test]
    fn words_are_in_order_to_be_found() {
        for list in [
            AVERAGES, MIDDLES, OTHERS, COMPANIONS, PHRASES, SPREAD, FIGURES, TITLES, SUMMARIES,
        ] {
            assert!(list.is_sorted_by(|a, b| a < b), "{list:?}");
            assert!(list.iter().all(|word| fold(word) == *word), "{list:?}");
        }
    }

    #[test]
    fn pivot_tables() {
        for text in [
            "Average of Value",
            "Sum of Chloride mg/L",
            "Mittelwert von Wert",
            "Count of pH",
        ] {
            assert!(heads_drawn_together(text), "{text}");
        }
        for text in [
            "Sum of cations",
            "Mean of three replicates",
            "Average",
            "Mean Street",
            "Sample",
            "Sum of",
        ] {
            assert!(!heads_drawn_together(text), "{text}");
        }
    }

    #[test]
    fn titles_of_statistics() {
        for (title, told) in [
            ("Mean values per well", Some(Told::Statistics)),
            ("Mean Concentrations 2019-2021", Some(Told::Statistics)),
            ("Means", Some(Told::Statistics)),
            ("Jahresmittelwerte 2020", Some(Told::Statistics)),
            ("Statistik", Some(Told::Statistics)),
            ("Min-Max", Some(Told::Statistics)),
            ("Medie", Some(Told::Statistics)),
            ("SE", None),
            ("Total", None),
            ("Summary", Some(Told::Summary)),
            ("Résumé", Some(Told::Summary)),
            ("Mean Street Nursery", None),
            ("Moyenne Durance", None),
            ("Results (mean of three replicates)", None),
            ("Concentrations, mean ± SD", None),
            ("Water analysis", None),
        ] {
            assert_eq!(told_by(title), told, "{title}");
        }
    }
}
