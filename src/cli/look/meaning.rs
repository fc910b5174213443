//! What a track, a line or a fact means, in the few words that fit beside it in a picture.

use crate::map::{AnalyteTrack, LineRole, TrackRole, ValueRole};
use crate::place::column_letters;
use crate::record::Origin;
use crate::vocabulary::Vocabulary;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Plain,
    Heading,
    Analyte,
    /// An analyte whose unit or basis nobody stated.
    Assumed,
    Identity,
    Companion,
    SetAside,
    Unplaced,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Meaning {
    pub(super) kind: Kind,
    /// `nitrate`, `sample_ref`, `set aside`.
    pub(super) name: String,
    /// Unit and basis as the report has them; empty where there is none.
    pub(super) unit: String,
    /// The factor to the canonical unit, or why a track is not read; empty where there is nothing to say.
    pub(super) note: String,
}

/// Names of the positions of tracks: columns, or rows of an `across` block.
pub(super) fn position(at: u32, across: bool) -> String {
    if across {
        (u64::from(at) + 1).to_string()
    } else {
        column_letters(at)
    }
}

pub(super) fn track(role: &TrackRole, across: bool, vocabulary: &Vocabulary) -> Meaning {
    let plain = |kind, name: &str, note: &str| Meaning {
        kind,
        name: name.to_string(),
        unit: String::new(),
        note: note.to_string(),
    };
    match role {
        TrackRole::Analyte(track) => analyte(track, vocabulary),
        TrackRole::Field(field) => plain(Kind::Identity, field.name(), ""),
        TrackRole::Companion { of, role } => plain(
            Kind::Companion,
            &format!("{} of {}", value_role(*role), position(*of, across)),
            "",
        ),
        TrackRole::SetAside(reason) => plain(Kind::SetAside, "set aside", reason),
        TrackRole::Unplaced(reason) => plain(Kind::Unplaced, "not placed", reason),
    }
}

fn analyte(track: &AnalyteTrack, vocabulary: &Vocabulary) -> Meaning {
    let analyte = vocabulary.analyte(track.analyte);
    let name = match track.fraction {
        Some(fraction) => format!("{} {fraction}", analyte.code),
        None => analyte.code.clone(),
    };
    let assumed = track.unit_from == Origin::Assumed;
    let unit = track.unit_text.as_deref().unwrap_or(&analyte.unit);
    // What the canonical number counts needs no word where the report says so by its label alone.
    let told = track.basis_text.is_some() || assumed || track.basis != analyte.basis;
    let basis = match &track.basis {
        Some(basis) if told => format!(" as {basis}"),
        _ => String::new(),
    };
    let doubt = if assumed { "?" } else { "" };
    let factor = track.conversion.factor;
    let note = match track.conversion.plain_factor() {
        Some(1.0) => String::new(),
        // Four digits show which conversion it is; the dataset has all of them.
        Some(_) => format!("×{}", (factor * 1e4).round() / 1e4),
        None => "converted".into(),
    };
    Meaning {
        kind: if assumed {
            Kind::Assumed
        } else {
            Kind::Analyte
        },
        name,
        unit: format!("{unit}{basis}{doubt}"),
        note,
    }
}

pub(super) const fn value_role(role: ValueRole) -> &'static str {
    match role {
        ValueRole::Qualifier => "qualifier",
        ValueRole::DetectionLimit => "detection limit",
        ValueRole::QuantificationLimit => "quantification limit",
        ValueRole::Uncertainty => "uncertainty",
        ValueRole::Method => "method",
        ValueRole::Unit => "unit",
        ValueRole::Flag { .. } => "below a limit or not",
    }
}

/// What a line that is no sample is.
pub(super) fn line(role: &LineRole, across: bool) -> (Kind, String) {
    match role {
        LineRole::Heading => (Kind::Heading, "heading".into()),
        LineRole::Companion { of, role } => (
            Kind::Companion,
            format!("{} of {}", value_role(*role), position(*of, !across)),
        ),
        LineRole::SetAside(_) => (Kind::SetAside, "set aside".into()),
        LineRole::Unplaced(_) => (Kind::Unplaced, "not placed".into()),
    }
}
