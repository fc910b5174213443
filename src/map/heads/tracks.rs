//! What each track of a table means: analytes, identity, companions, or nothing we know.

use super::companion::{COMPANION_OF_WHAT, companion_label, letters_over_numbers};
use super::flags::{flag, holds_only};
use super::head::Head;
use crate::locate::Look;
use crate::map::left_out::lines::{GUIDELINE, STATISTIC};
use crate::map::left_out::statistics::heads_statistics;
use crate::map::plan::{TrackRole, ValueRole};
use crate::map::rules::{LabelRule, RuleMeaning, Rules};
use crate::map::sight::Sight;
use crate::reading::sign;
use crate::vocabulary::{Field, Meaning};

/// A track before its analyte is resolved.
#[derive(Clone, Debug)]
pub(in crate::map) enum Draft {
    /// The head names an analyte (or several); to be resolved.
    Analyte,
    /// Everything else is decided.
    Role(TrackRole),
    /// A head that is none of our words.
    Unknown,
}

/// The rules of a mapping that fit a track of this sheet, in their order.
pub(in crate::map) fn rules_for<'r>(
    rules: Option<&'r Rules>,
    sheet: &str,
    head: &Head,
    at: u32,
) -> impl Iterator<Item = &'r LabelRule> {
    let label = head.label.as_deref().unwrap_or("");
    rules
        .into_iter()
        .flat_map(|r| &r.labels)
        .filter(move |rule| {
            rule.sheet.as_ref().is_none_or(|s| s.fits(sheet))
                && match rule.at {
                    Some(wanted) => wanted == at,
                    None => !label.is_empty() && rule.label.fits(label),
                }
        })
}

/// The first of them that holds whatever the day.
pub(in crate::map) fn rule_for<'r>(
    rules: Option<&'r Rules>,
    sheet: &str,
    head: &Head,
    at: u32,
) -> Option<&'r LabelRule> {
    rules_for(rules, sheet, head, at).find(|rule| rule.from.is_none() && rule.to.is_none())
}

/// First meaning of each track, from its own head and its neighbours'.
pub(in crate::map) fn draft(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    rules: Option<&Rules>,
    sheet: &str,
    lines: &[u32],
) -> Vec<Draft> {
    let mut drafts: Vec<Draft> = heads
        .iter()
        .map(|(track, head)| {
            // A rule that holds for some days only can still name the analyte; whether it does for these
            // samples is seen when the track is resolved.
            let timed = rules_for(rules, sheet, head, *track)
                .any(|r| matches!(r.meaning, Some(RuleMeaning::Analyte(_))));
            match rule_for(rules, sheet, head, *track) {
                None if timed => Draft::Analyte,
                rule => own_meaning(head, rule),
            }
        })
        .collect();
    shared_names(sight, heads, &mut drafts, lines);
    named_companions(sight, heads, &mut drafts, lines);
    neighbour_companions(sight, heads, &mut drafts, lines);
    drafts
}

fn own_meaning(head: &Head, rule: Option<&LabelRule>) -> Draft {
    if let Some(meaning) = rule.and_then(|r| r.meaning.as_ref()) {
        return match meaning {
            RuleMeaning::Analyte(_) => Draft::Analyte,
            RuleMeaning::Field(field) => Draft::Role(field_role(*field)),
            RuleMeaning::SetAside(reason) => Draft::Role(TrackRole::SetAside(reason.clone())),
        };
    }
    match &head.meaning {
        Meaning::Analyte(_) | Meaning::Ambiguous(_) => Draft::Analyte,
        Meaning::Field(field) => Draft::Role(field_role(*field)),
        Meaning::Unknown => Draft::Unknown,
    }
}

/// A field as a track of its own. Guidelines are never results; they are set aside with that word.
fn field_role(field: Field) -> TrackRole {
    match field {
        Field::Guideline => TrackRole::SetAside(GUIDELINE.into()),
        other => TrackRole::Field(other),
    }
}

/// A name over several tracks: the track under "Data" or "Result" holds the values, the others what their
/// own heads say. Where nothing is said, the only track with numbers holds them.
fn shared_names(sight: &Sight<'_, '_>, heads: &[(u32, Head)], drafts: &mut [Draft], lines: &[u32]) {
    let mut i = 0;
    while i < heads.len() {
        let mut j = i + 1;
        while j < heads.len()
            && heads[i].1.shared
            && heads[j].1.shared
            && heads[j].1.at == heads[i].1.at
        {
            j += 1;
        }
        if matches!(drafts[i], Draft::Analyte) {
            if j - i > 1 {
                under_one_name(sight, &heads[i..j], &mut drafts[i..j], lines);
            } else if let Some(field) = heads[i].1.sub
                && field != Field::Value
            {
                drafts[i] = sub_role(field, None);
            } else if heads[i]
                .1
                .sub_words
                .as_deref()
                .is_some_and(heads_statistics)
                || heads[i]
                    .1
                    .group_unit
                    .as_ref()
                    .is_some_and(|group| heads_statistics(&group.text))
            {
                // "Ca" over "Mean", or under "Average concentration (mg/L)": of many samples, not of one.
                drafts[i] = Draft::Role(TrackRole::Unplaced(STATISTIC.into()));
            }
        }
        i = j;
    }
}

fn under_one_name(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    drafts: &mut [Draft],
    lines: &[u32],
) {
    let holds_numbers = |track: u32| {
        lines
            .iter()
            .filter(|line| matches!(sight.look(**line, track), Look::Number))
            .count()
            * 2
            > lines.len().min(20)
    };
    let named: Vec<usize> = (0..heads.len())
        .filter(|i| heads[*i].1.sub == Some(Field::Value))
        .collect();
    let open: Vec<usize> = (0..heads.len())
        .filter(|i| heads[*i].1.sub.is_none() && heads[*i].1.sub_words.is_none())
        .collect();
    let with_unit: Vec<usize> = open
        .iter()
        .copied()
        .filter(|i| heads[*i].1.unit.is_some())
        .collect();
    let values: Vec<usize> = if !named.is_empty() {
        named
    } else if with_unit.len() > 1 && with_unit.len() == open.len() {
        // "Hardness" over "°dH" and "mmol/l": one result in two units; compared later.
        open
    } else {
        let numeric: Vec<usize> = open
            .into_iter()
            .filter(|i| holds_numbers(heads[*i].0))
            .collect();
        numeric.into_iter().take(1).collect()
    };
    let of = values.first().map(|i| heads[*i].0);
    for i in 0..heads.len() {
        if values.contains(&i) {
            continue;
        }
        drafts[i] = match heads[i].1.sub {
            Some(field) => sub_role(field, of),
            None => Draft::Role(TrackRole::Unplaced("heading-shared".into())),
        };
    }
}

/// A track under an analyte's name that is not the value itself.
fn sub_role(field: Field, of: Option<u32>) -> Draft {
    Draft::Role(match (value_role(field), of) {
        (Some(role), Some(of)) => TrackRole::Companion { of, role },
        _ => match field {
            Field::Guideline => TrackRole::SetAside(GUIDELINE.into()),
            // Dates and numbers of the measurement, not of the sample.
            _ => TrackRole::Field(Field::Other),
        },
    })
}

const fn value_role(field: Field) -> Option<ValueRole> {
    Some(match field {
        Field::Qualifier => ValueRole::Qualifier,
        Field::DetectionLimit => ValueRole::DetectionLimit,
        Field::QuantificationLimit => ValueRole::QuantificationLimit,
        Field::Uncertainty => ValueRole::Uncertainty,
        Field::Method => ValueRole::Method,
        Field::Unit => ValueRole::Unit,
        _ => return None,
    })
}

/// Companions by name. The rest of the label must be the label of a track, or read as its analyte.
fn named_companions(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    drafts: &mut [Draft],
    lines: &[u32],
) {
    for i in 0..heads.len() {
        let Some(label) = heads[i].1.label.as_deref() else {
            continue;
        };
        let Some((base, role)) = companion_label(label) else {
            continue;
        };
        let role = match role {
            ValueRole::Qualifier => flag(sight, heads[i].0, label, lines).unwrap_or(role),
            other => other,
        };
        let meaning = sight.reader.heading(&base).meaning.clone();
        let owner = (0..heads.len())
            .filter(|j| *j != i && matches!(drafts[*j], Draft::Analyte))
            .find(|j| {
                let head = &heads[*j].1;
                head.label
                    .as_deref()
                    .is_some_and(|l| l.eq_ignore_ascii_case(&base))
                    || (matches!(meaning, Meaning::Analyte(_))
                        && head.meaning == meaning
                        && heads[*j].0.abs_diff(heads[i].0) == 1)
            });
        if let Some(j) = owner {
            drafts[i] = Draft::Role(TrackRole::Companion {
                of: heads[j].0,
                role,
            });
        }
    }
}

/// What a qualifier column holds beside signs when nothing else stands in it. Common practice, no source.
const CODES: &[&str] = &["=", "nd", "u", "bdl", "bql", "lt", "gt", "k", "l"];

/// A column of signs without a known head is a column of qualifiers: reading the numbers beside it
/// without them would turn limits into results.
fn sign_columns(sight: &Sight<'_, '_>, heads: &[(u32, Head)], drafts: &mut [Draft], lines: &[u32]) {
    for (i, (track, _)) in heads.iter().enumerate() {
        // Remarks that are nothing but signs are qualifiers, whatever their heading.
        let is_remark = matches!(
            drafts[i],
            Draft::Role(TrackRole::Field(Field::Remark | Field::Other))
        );
        if !is_remark && !matches!(drafts[i], Draft::Unknown) {
            continue;
        }
        let beside = (i > 0 && matches!(drafts[i - 1], Draft::Analyte))
            || matches!(drafts.get(i + 1), Some(Draft::Analyte));
        let is_sign = |text: &str| {
            let text = text.trim();
            // Among remarks a letter is a code.
            sign(text).is_some() || !is_remark && CODES.contains(&text.to_lowercase().as_str())
        };
        // Bare flags beside each analyte are held to belong to one, and refuse what they say yes and no of.
        let is_flag = (heads[i].1.label.as_deref())
            .is_some_and(|label| flag(sight, *track, label, lines).is_some());
        let same_head =
            |j: usize| heads[j].1.label.is_some() && heads[j].1.label == heads[i].1.label;
        // An empty column between analytes that is headed as its sisters are.
        let sister = (0..heads.len()).any(|j| {
            j != i
                && same_head(j)
                && matches!(drafts[j], Draft::Role(TrackRole::Field(Field::Qualifier)))
        });
        let is_blank = || {
            lines
                .iter()
                .all(|line| sight.cell(*line, *track).is_empty())
        };
        let is_told = if is_remark {
            sister && is_blank()
        } else {
            is_flag || sister
        };
        if beside && (is_told || holds_only(sight, *track, lines, is_sign)) {
            drafts[i] = Draft::Role(TrackRole::Field(Field::Qualifier));
        }
    }
}

/// A column of units without any heading, directly behind an analyte: they are of its numbers.
fn unit_columns(sight: &Sight<'_, '_>, heads: &[(u32, Head)], drafts: &mut [Draft], lines: &[u32]) {
    for i in 1..heads.len() {
        let (of, track) = (heads[i - 1].0, heads[i].0);
        let is_bare = matches!(drafts[i], Draft::Unknown) && heads[i].1.label.is_none();
        let is_behind = matches!(drafts[i - 1], Draft::Analyte) && of + 1 == track;
        let is_unit = |text: &str| sight.reader.is_unit(text.trim());
        if !sight.across && is_bare && is_behind && holds_only(sight, track, lines, is_unit) {
            let role = ValueRole::Unit;
            drafts[i] = Draft::Role(TrackRole::Companion { of, role });
        }
    }
}

/// Companions by position: a bare "Q", "LOD" or "Unit" beside each analyte. One such track after several
/// analytes belongs to the line, not to the last of them.
fn neighbour_companions(
    sight: &Sight<'_, '_>,
    heads: &[(u32, Head)],
    drafts: &mut [Draft],
    lines: &[u32],
) {
    sign_columns(sight, heads, drafts, lines);
    // Once more: the head of an empty column is known by now from its sisters.
    sign_columns(sight, heads, drafts, lines);
    letters_over_numbers(sight, heads, drafts, lines);
    unit_columns(sight, heads, drafts, lines);
    let analytes = drafts
        .iter()
        .filter(|d| matches!(d, Draft::Analyte))
        .count();
    let bare: Vec<(usize, ValueRole)> = drafts
        .iter()
        .enumerate()
        .filter_map(|(i, d)| match d {
            Draft::Role(TrackRole::Field(field)) => value_role(*field).map(|role| (i, role)),
            _ => None,
        })
        .collect();
    for role in [
        ValueRole::Qualifier,
        ValueRole::DetectionLimit,
        ValueRole::QuantificationLimit,
        ValueRole::Uncertainty,
        ValueRole::Method,
        ValueRole::Unit,
    ] {
        let of_role: Vec<usize> = bare
            .iter()
            .filter(|(_, r)| *r == role)
            .map(|(i, _)| *i)
            .collect();
        let paired = analytes == 1 || of_role.len() > 1;
        let side = side(drafts, &of_role);
        for i in of_role {
            let owner = match side {
                Some(Side::Before) => (i + 1..heads.len())
                    .find(|j| matches!(drafts[*j], Draft::Analyte))
                    .filter(|j| *j - i <= 2),
                Some(Side::After) => (0..i)
                    .rev()
                    .find(|j| matches!(drafts[*j], Draft::Analyte))
                    .filter(|j| i - *j <= 4),
                None => None,
            };
            let unsure = side.is_none() && role == ValueRole::Qualifier;
            drafts[i] = match owner {
                Some(j) if paired => Draft::Role(TrackRole::Companion {
                    of: heads[j].0,
                    role,
                }),
                _ => Draft::Role(TrackRole::Unplaced(COMPANION_OF_WHAT.into())),
            };
            // Signs that could belong to either neighbour: neither can be read.
            let held = lines
                .iter()
                .any(|line| !sight.cell(*line, heads[i].0).is_empty());
            if unsure && held {
                for j in [i.wrapping_sub(1), i + 1] {
                    if matches!(drafts.get(j), Some(Draft::Analyte)) {
                        drafts[j] = Draft::Role(TrackRole::Unplaced("sign-of-which".into()));
                    }
                }
            }
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    /// The companion stands before its value.
    Before,
    After,
}

/// On which side of their values the companions of one kind stand. Where an analyte stands on both sides
/// of each, the analytes without a companion must be one run at one end of the table (majors first, then
/// trace elements with their signs); `None` where that does not tell either.
fn side(drafts: &[Draft], of_role: &[usize]) -> Option<Side> {
    let analyte = |i: usize| matches!(drafts.get(i), Some(Draft::Analyte));
    let before = of_role.iter().all(|i| analyte(i + 1));
    let after = of_role.iter().all(|i| *i > 0 && analyte(i - 1));
    match (before, after) {
        (true, false) => Some(Side::Before),
        (false, _) => Some(Side::After),
        (true, true) => {
            let all: Vec<usize> = (0..drafts.len()).filter(|i| analyte(*i)).collect();
            let one_run = |owners: Vec<usize>| {
                let with: Vec<bool> = all.iter().map(|i| owners.contains(i)).collect();
                with.windows(2).filter(|w| w[0] != w[1]).count() <= 1
            };
            let before = one_run(of_role.iter().map(|i| i + 1).collect());
            let after = one_run(of_role.iter().map(|i| i - 1).collect());
            match (before, after) {
                (true, false) => Some(Side::Before),
                (false, true) => Some(Side::After),
                _ => None,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_of_companions() {
        for (label, base, role) in [
            ("Fe_q", "Fe", ValueRole::Qualifier),
            ("Fe flag", "Fe", ValueRole::Qualifier),
            ("LOD Fe", "Fe", ValueRole::DetectionLimit),
            ("Nitrate (LOQ)", "Nitrate", ValueRole::QuantificationLimit),
            ("Ca ±", "Ca", ValueRole::Uncertainty),
            ("mn.unit", "mn", ValueRole::Unit),
        ] {
            assert_eq!(
                companion_label(label),
                Some((base.to_owned(), role)),
                "{label}"
            );
        }
    }

    #[test]
    fn err_plain_labels_are_no_companions() {
        for label in ["Fe", "NO3-N", "q", "Iron, total", "Na_IC", "Fe q1"] {
            assert_eq!(companion_label(label), None, "{label}");
        }
    }
}
