//! Words for what is reckoned from many samples: means, extremes, spreads and counts. They name lines and tracks
//! that are of no single sample, and tables of nothing else. All words are folded.

use crate::text::fold;

/// Words for a mean that mean nothing else, wherever they stand in a name. Common practice, no source.
const AVERAGES: &[&str] = &[
    "atlag",
    "durchschnitt",
    "gemiddelde",
    "gemiddelden",
    "gennemsnit",
    "genomsnitt",
    "gjennomsnitt",
    "jaargemiddelde",
    "jahresmittel",
    "jahresmittelwert",
    "jahresmittelwerte",
    "keskiarvo",
    "keskiarvot",
    "medelvarde",
    "medelvarden",
    "middelvaerdi",
    "middelverdi",
    "mittelwert",
    "mittelwerte",
    "monatsmittel",
    "monatsmittelwerte",
    "ortalama",
    "priemer",
    "promedio",
    "promedios",
    "prumer",
    "середне",
    "среднее",
    "均值",
    "平均値",
    "平均值",
];

/// Words for a middle that can be part of a name too ("Mean Street"). Common practice, no source.
const MIDDLES: &[&str] = &[
    "average",
    "averages",
    "avg",
    "mean",
    "means",
    "mediaan",
    "mediaani",
    "median",
    "mediana",
    "medianas",
    "mediane",
    "medianes",
    "medians",
    "medyan",
    "moyenne",
    "moyennes",
    "percentile",
    "percentiles",
    "медиана",
    "медіана",
    "中位数",
    "中位數",
    "中央値",
];

/// Other statistics: a name of these, of middles and of [`COMPANIONS`] is one. Common practice, no source.
const OTHERS: &[&str] = &[
    "aantal",
    "alin",
    "antal",
    "antall",
    "anzahl",
    "contagem",
    "conteggio",
    "count",
    "cv",
    "darabszam",
    "desviacion",
    "desvio",
    "deviazione",
    "fwm",
    "geomean",
    "highest",
    "hochste",
    "hochster",
    "hogsta",
    "hogste",
    "hojeste",
    "hoogste",
    "hoyeste",
    "ilosc",
    "iqr",
    "keskihajonta",
    "kleinstwert",
    "kurtosis",
    "laagste",
    "lagsta",
    "lagste",
    "laveste",
    "legkisebb",
    "legnagyobb",
    "liczba",
    "lowest",
    "lukumaara",
    "maks",
    "maksimal",
    "maksimum",
    "massima",
    "massimo",
    "max",
    "maxi",
    "maxim",
    "maxima",
    "maximale",
    "maximales",
    "maximalni",
    "maximo",
    "maximos",
    "maximum",
    "medel",
    "media",
    "medias",
    "medie",
    "middel",
    "min",
    "mini",
    "minim",
    "minima",
    "minimal",
    "minimale",
    "minimales",
    "minimalni",
    "minimo",
    "minimos",
    "minimum",
    "minsta",
    "mittel",
    "n",
    "najmanja",
    "najnizsza",
    "najveca",
    "najwyzsza",
    "nb",
    "nejnizsi",
    "nejvyssi",
    "niedrigste",
    "niedrigster",
    "nombre",
    "numar",
    "odchylenie",
    "odchylka",
    "pienin",
    "pocet",
    "prosjek",
    "quartile",
    "quartiles",
    "range",
    "recuento",
    "sayi",
    "sayisi",
    "sd",
    "se",
    "sem",
    "skewness",
    "spannweite",
    "spredning",
    "srednia",
    "srednie",
    "stabw",
    "standaardafwijking",
    "standardabweichung",
    "standardafvigelse",
    "standardavvik",
    "standardavvikelse",
    "std",
    "stddev",
    "stdev",
    "storsta",
    "suurin",
    "szoras",
    "variance",
    "vwm",
    "ylin",
    "\u{b5}εγιστο",
    "\u{b5}εσος",
    "αποκλιση",
    "ελαχιστο",
    "πληθος",
    "количество",
    "кількість",
    "максимум",
    "минимум",
    "мінімум",
    "число",
    "المتوسط",
    "المعدل",
    "平均",
    "最大",
    "最大值",
    "最小",
    "最小值",
    "标准偏差",
    "标准差",
    "样本数",
    "検体数",
    "標準偏差",
    "標準差",
];

/// Words beside them that alone say nothing. Common practice, no source.
const COMPANIONS: &[&str] = &[
    "all",
    "amostras",
    "and",
    "annual",
    "arithmetic",
    "arithmetischer",
    "arithmetisches",
    "arytmetyczna",
    "campioni",
    "de",
    "deger",
    "der",
    "dev",
    "deviation",
    "di",
    "estandar",
    "et",
    "geometric",
    "grand",
    "harmonic",
    "hodnota",
    "lower",
    "monsters",
    "monthly",
    "muestras",
    "numune",
    "of",
    "or",
    "overall",
    "padrao",
    "probek",
    "proben",
    "samples",
    "smerodatna",
    "standard",
    "standardowe",
    "the",
    "tipica",
    "und",
    "upper",
    "valeur",
    "valeurs",
    "valor",
    "valore",
    "valores",
    "valori",
    "value",
    "values",
    "van",
    "varde",
    "vzorku",
    "waarde",
    "waarden",
    "wartosc",
    "weighted",
    "wert",
    "werte",
    "значение",
    "проб",
    "стандартное",
];

/// Whole names of other words. Common practice, no source.
const PHRASES: &[&str] = &[
    "desv est",
    "dev st",
    "ecart type",
    "en dusuk",
    "en yuksek",
    "flow weighted mean",
    "jumlah",
    "n o de muestras",
    "no de muestras",
    "no of samples",
    "nombre d echantillons",
    "number of samples",
    "numero de amostras",
    "numero de muestras",
    "numero di campioni",
    "p value",
    "rata rata",
    "som",
    "soma",
    "somma",
    "somme",
    "st dev",
    "standard error",
    "sum",
    "suma",
    "summa",
    "summe",
    "total",
    "valeur moyenne",
    "valoare medie",
    "valor medio",
    "valore medio",
    "valori medi",
    "volume weighted mean",
];

/// Words that name the spread of repeated measurements wherever they stand ("Concentration RSD").
const SPREAD: &[&str] = &["rpd", "rsd", "stddev", "stdev"];

/// Words that stand behind a middle. Common practice, no source.
const FIGURES: &[&str] = &[
    "all",
    "conc",
    "concentration",
    "concentrations",
    "content",
    "contents",
    "d",
    "dev",
    "deviation",
    "g",
    "l",
    "max",
    "meq",
    "mg",
    "min",
    "mmol",
    "n",
    "of",
    "ppb",
    "ppm",
    "range",
    "s",
    "samples",
    "sd",
    "se",
    "sites",
    "standard",
    "std",
    "stdev",
    "ug",
    "value",
    "values",
    "wells",
    "\u{b5}g",
];

/// Names of sheets and titles of statistics. Common practice, no source.
const TITLES: &[&str] = &[
    "estadistica",
    "estadisticas",
    "estatistica",
    "estatisticas",
    "statistica",
    "statistiche",
    "statistics",
    "statistieken",
    "statistik",
    "statistiken",
    "statistique",
    "statistiques",
    "stats",
    "statystyka",
    "statystyki",
    "статистика",
    "统计",
];

/// Names of sheets and titles that repeat what stands elsewhere, or show it for the first time. Common practice, no
/// source.
const SUMMARIES: &[&str] = &[
    "oversigt",
    "oversikt",
    "overview",
    "overzicht",
    "ozet",
    "podsumowanie",
    "recapitulatif",
    "resume",
    "resumen",
    "resumo",
    "riepilogo",
    "ringkasan",
    "samenvatting",
    "sammanfattning",
    "sintesi",
    "souhrn",
    "summary",
    "synthese",
    "ubersicht",
    "yhteenveto",
    "zusammenfassung",
    "сводка",
    "汇总",
];

/// Beginnings of words by which a mean is one of repeated measurements, so that it is of one sample all the same.
/// Common practice, no source.
const REPEATS: &[&str] = &[
    "determination",
    "duplic",
    "measurement",
    "messung",
    "repeat",
    "repet",
    "replic",
    "triplic",
    "wiederhol",
];

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
}

fn words(folded: &str) -> Vec<&str> {
    folded
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .collect()
}

/// Whether a line of this name is of many samples.
pub(super) fn is_statistic(text: &str) -> bool {
    let text = text.trim();
    if matches!(text, "Ø" | "ø" | "∅") {
        return true;
    }
    let folded = fold(text);
    let words = words(&folded);
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
pub(super) fn heads_statistics(text: &str) -> bool {
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

/// `None`: nothing of the kind.
pub(super) fn told_by(title: &str) -> Option<Told> {
    let folded = fold(title);
    let words = words(&folded);
    let of_repeats = (words.iter()).any(|w| REPEATS.iter().any(|start| w.starts_with(start)));
    if of_repeats || title.contains('±') {
        return None;
    }
    let is_statistic = |w: &&str| is_in(AVERAGES, w) || is_in(MIDDLES, w) || is_in(TITLES, w);
    // Letters are of places too ("SE").
    let is_one = folded.len() > 2 && are_statistics(&words);
    if is_one || words.iter().any(is_statistic) && !is_a_name(title) {
        Some(Told::Statistics)
    } else if words.iter().any(|w| is_in(SUMMARIES, w)) {
        Some(Told::Summary)
    } else {
        None
    }
}

/// "Mean Street", "Moyenne Durance": a middle before a word in capitals that says nothing of figures.
fn is_a_name(title: &str) -> bool {
    let words: Vec<&str> = title
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .collect();
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
