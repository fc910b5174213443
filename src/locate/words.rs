//! Words that tell what a line of a table is when the vocabulary of analytes and fields does not.

/// Does a result cell say that there is no number? Only to tell lines of samples from lines of
/// headings; what the word means is read later.
pub fn says_nothing_found(folded: &str) -> bool {
    // Common practice, no source; the full list with meanings is part of the grammar of values.
    matches!(
        folded.trim_end_matches('.'),
        "" | "-"
            | "--"
            | "---"
            | "–"
            | "—"
            | "nd"
            | "n.d"
            | "n/d"
            | "na"
            | "n.a"
            | "n/a"
            | "n.n"
            | "nn"
            | "n.b"
            | "bdl"
            | "bql"
            | "blq"
            | "<lod"
            | "<loq"
            | "<dl"
            | "<mdl"
            | "<bg"
            | "<ng"
            | "<lq"
            | "<ld"
            | "nil"
            | "absent"
            | "not detected"
            | "ur"
            | "nr"
            | "trace"
            | "tr"
    ) || folded.starts_with("bql")
        || folded.starts_with("< ")
        || folded.starts_with("nd ")
}
