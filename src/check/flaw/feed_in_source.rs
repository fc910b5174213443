//! # feed-in-source: feed or drain water under the name of a source
//!
//! ## What it finds
//!
//! Nitrate above 221 mg/L (50 as N) together with potassium above 50 mg/L and conductivity above
//! 1500 µS/cm.
//!
//! ## Why it matters
//!
//! A feed solution or drain water sampled under the name of the source would be fed twice.
//!
//! ## When it is wrong
//!
//! Wells under heavily manured ground. A source that is called drain or recycled is not asked
//! about.
//!
//! ## Source
//!
//! Common practice, no source.

use super::prelude::*;

pub(super) const CHECK: Check = Check {
    code: CODE,
    severity: Severity::Warning,
    limits: &["nitrate", "potassium", "conductivity"],
    gist: "this looks like feed or drain water",
    yields_to: &[
        "basis-doubtful",
        "decimal-slip",
        "unit-doubtful",
        "dilution-doubtful",
    ],
    scope: Scope::Sample(find),
    text: include_str!("feed_in_source.rs"),
};

const CODE: &str = "feed-in-source";

fn find(case: &SampleCase<'_>, found: &mut Vec<Found>) {
    let Some(nitrate) = case.plain(Substance::Nitrate) else {
        return;
    };
    let above = |substance: Substance, name: &str| {
        case.plain(substance).is_some_and(|v| v > case.limit(name))
    };
    if nitrate <= case.limit("nitrate")
        || !(above(Substance::Potassium, "potassium")
            && above(Substance::Conductivity, "conductivity"))
    {
        return;
    }
    let about = case.sample.about;
    let said = [
        &about.source,
        &about.source_kind,
        &about.sample_ref,
        &about.site,
    ];
    let drain = said.into_iter().flatten().any(|text| {
        let text = text.to_lowercase();
        [
            "drain", "feed", "fertig", "recyc", "leach", "effluent", "sewage", "waste",
        ]
        .iter()
        .any(|word| text.contains(word))
    });
    if drain {
        return;
    }
    let message = format!(
        "{}: nitrate {} mg/L with much potassium and salt looks like feed or drain water, not a source",
        case.who(),
        significant(nitrate),
    );
    found.push(case.found(
        CODE,
        Substance::Nitrate,
        message,
        "ask where the sample was taken",
    ));
}
