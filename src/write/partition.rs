//! Partitions: `results` as a folder of Parquet files by the year of sampling or by a column of few
//! values, named the way distributed engines know (`results/year=2026/results.parquet`).
//!
//! Engines guess the type of a key from its folder names, so a name that must stay text never looks
//! like a number or a date; and the key has a name of its own, since some engines let it hide a
//! column of the same name. The column itself stays in every file.

use super::staged_file::hexadecimal;
use crate::record::Sample;
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// Folders of one dataset: each needs an open file and a row group in memory.
pub(super) const MAX_PARTITIONS: usize = 200;

/// What `results` is partitioned by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Partition {
    /// Of the day of sampling.
    Year,
    Client,
    Site,
    Source,
    SourceKind,
    Region,
    Lab,
}

impl Partition {
    pub const ALL: [Self; 7] = [
        Self::Year,
        Self::Client,
        Self::Site,
        Self::Source,
        Self::SourceKind,
        Self::Region,
        Self::Lab,
    ];

    /// The word on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Year => "year",
            Self::Client => "client",
            Self::Site => "site",
            Self::Source => "source",
            Self::SourceKind => "source_kind",
            Self::Region => "region",
            Self::Lab => "lab",
        }
    }

    /// `None` when it is no word of ours.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|by| by.name() == text)
    }

    /// The folder of a sample's results.
    pub(super) fn folder(self, sample: &Sample) -> String {
        let text = |value: &Option<Arc<str>>| value.as_deref().map(slug);
        let (key, value) = match self {
            Self::Year => (
                "year",
                sample.sampled_on.map(|day| format!("{:04}", day.year())),
            ),
            Self::Client => ("client_slug", text(&sample.client)),
            Self::Site => ("site_slug", text(&sample.site)),
            Self::Source => ("source_slug", text(&sample.source)),
            Self::SourceKind => ("source_kind_slug", text(&sample.source_kind)),
            Self::Region => ("region_slug", text(&sample.region)),
            Self::Lab => ("lab_slug", text(&sample.lab)),
        };
        // The name that readers of such folders take for null.
        let value = value.unwrap_or_else(|| "__HIVE_DEFAULT_PARTITION__".to_owned());
        format!("{key}={value}")
    }
}

/// Longest part of a value that goes into a folder's name, in bytes.
const SLUG_BYTES: usize = 40;

/// A folder name of `[a-z0-9-]` for a text: its plain letters and digits, and six hexadecimal digits
/// that keep apart what they do not. Depends on the text alone; never reads as a number or a date.
fn slug(text: &str) -> String {
    let mut slug = String::new();
    for c in text.chars().flat_map(char::to_lowercase) {
        if slug.len() >= SLUG_BYTES {
            break;
        }
        if c.is_ascii_alphanumeric() {
            slug.push(c);
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    let slug = slug.trim_end_matches('-');
    let hash = hexadecimal(&Sha256::digest(text.as_bytes())[..3]);
    if slug.contains(|c: char| c.is_ascii_alphabetic()) {
        format!("{slug}-{hash}")
    } else {
        format!("x{slug}-{hash}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn folders_are_named_plainly_and_never_like_a_number() {
        let of = |text: &str| Sample {
            site: Some(text.into()),
            ..Sample::default()
        };
        for (text, folder) in [
            ("Borehole 2", "site_slug=borehole-2-6fe12b"),
            ("borehole 2", "site_slug=borehole-2-c06201"),
            ("007", "site_slug=x007-629f4c"),
            ("2026-02-03", "site_slug=x2026-02-03-f2b05f"),
            ("", "site_slug=x-e3b0c4"),
            ("../Übel/=%", "site_slug=bel-1ced4d"),
        ] {
            assert_eq!(Partition::Site.folder(&of(text)), folder, "{text}");
        }
    }

    #[test]
    fn years_are_of_sampling_and_the_undated_are_null() {
        let mut sample = Sample {
            sampled_on: Some(date(2026, 2, 3)),
            ..Sample::default()
        };
        assert_eq!(Partition::Year.folder(&sample), "year=2026");
        sample.sampled_on = None;
        let null = "year=__HIVE_DEFAULT_PARTITION__";
        assert_eq!(Partition::Year.folder(&sample), null);
    }

    #[test]
    fn every_word_reads_back() {
        for by in Partition::ALL {
            assert_eq!(Partition::parse(by.name()), Some(by));
        }
        assert_eq!(Partition::parse("sampled_on"), None);
    }
}
