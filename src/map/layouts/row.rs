//! What a row of a `results-down` table says of itself: label, unit, basis and fraction become an analyte
//! with its conversion, in the same way as a heading does. `normalize` asks once for each combination.

use crate::finding::Finding;
use crate::locate::Layout;
use crate::map::expressed::evidence::{limit, settle_row};
use crate::map::expressed::stated::Stated;
use crate::map::findings::{UNIT_MISSING, finding};
use crate::map::heads::head::Head;
use crate::map::heads::resolve::{Beside, Context, resolve};
use crate::map::left_out::guides::is_contaminant_level;
use crate::map::plan::{AnalyteTrack, Plan, TrackRole};
use crate::map::rules::{LabelRule, RuleMeaning, Rules, StatedUnit};
use crate::place::Address;
use crate::read::CellView;
use crate::reading::{Word, word};
use crate::vocabulary::{
    Basis, Dimension, Field, Fraction, HeadingContext, Meaning, Unit, Vocabulary,
};
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The texts of a row; `None` where the row, or the table, has no such cell.
#[derive(Clone, Copy, Debug, Default)]
pub struct RowWords<'a> {
    pub label: &'a str,
    pub unit: Option<&'a str>,
    pub basis: Option<&'a str>,
    pub fraction: Option<&'a str>,
    /// For rules of a mapping that hold from or to a day.
    pub sampled_on: Option<Date>,
}

/// What a row is about.
#[derive(Clone, Debug)]
pub enum RowMeaning {
    Analyte(Box<AnalyteTrack>),
    /// The label names identity or a remark, not an analyte.
    Field(Field),
    SetAside(Arc<str>),
}

/// Reads the rows of one table.
#[derive(Debug)]
pub struct RowReader<'p> {
    plan: &'p Plan,
    vocabulary: &'p Vocabulary,
    context: HeadingContext,
    /// What the mapping says of units and bases in general.
    defaults: Rules,
    file: Arc<str>,
    sheet: Arc<str>,
    /// The tables of the report have a column of units: a row without one leaves it open.
    units_are_stated: bool,
    /// Limits of laws that stand beside a label, and whether each calls itself a maximum contaminant level.
    limits: BTreeMap<String, Vec<(f64, bool)>>,
}

impl<'p> RowReader<'p> {
    /// `labels`: those of the table, or of its head; together they tell what each of them can mean.
    pub fn new<'a>(
        plan: &'p Plan,
        vocabulary: &'p Vocabulary,
        file: &Arc<str>,
        sheet: &Arc<str>,
        labels: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        Self {
            plan,
            vocabulary,
            context: vocabulary.heading_context(labels),
            defaults: Rules {
                default_unit: plan.default_unit.clone(),
                default_basis: plan.default_basis.clone(),
                ..Rules::default()
            },
            file: file.clone(),
            sheet: sheet.clone(),
            units_are_stated: plan
                .sheets
                .iter()
                .flat_map(|sheet| &sheet.blocks)
                .filter(|block| block.layout == Layout::ResultsDown)
                .flat_map(|block| &block.tracks)
                .any(|track| matches!(track.role, TrackRole::Field(Field::Unit))),
            limits: BTreeMap::new(),
        }
    }

    /// Makes a limit of a law known that stands beside a label, under a heading of its own.
    pub fn put_limit(&mut self, label: &str, cell: CellView<'_>, heading: &str) {
        if let Some(number) = limit(cell, self.plan.locale.decimal) {
            let limit = (number, is_contaminant_level(heading));
            let known = self.limits.entry(label.to_owned()).or_default();
            if !known.contains(&limit) {
                known.push(limit);
            }
        }
    }

    /// Whether a mapping rule depends on the day of sampling, so that equal words can differ in meaning.
    pub fn depends_on_day(&self) -> bool {
        self.plan
            .labels
            .iter()
            .any(|rule| rule.from.is_some() || rule.to.is_some())
    }

    /// The meaning of a row, or the reason for `unplaced`; findings tell what was assumed or refused.
    /// They stand at `at`, the first row that says so.
    pub fn read(
        &self,
        words: &RowWords<'_>,
        at: Address,
        findings: &mut Vec<Finding>,
    ) -> Result<RowMeaning, Arc<str>> {
        let context = Context {
            vocabulary: self.vocabulary,
            rules: Some(&self.defaults),
            file: self.file.clone(),
            sheet: self.sheet.clone(),
            sheet_units: Stated::new(),
            footnotes: Vec::new(),
            basis_notes: self.plan.basis_notes.clone(),
        };
        let rule = self.rule(words);
        match rule.and_then(|rule| rule.meaning.as_ref()) {
            Some(RuleMeaning::SetAside(reason)) => return Ok(RowMeaning::SetAside(reason.clone())),
            Some(RuleMeaning::Field(field)) => return Ok(RowMeaning::Field(*field)),
            Some(RuleMeaning::Analyte(_)) | None => {}
        }
        let head = self.head(words, at);
        self.known_fraction(words, &head, &context, at, findings)?;
        if let (Meaning::Field(field), None) =
            (&head.meaning, rule.and_then(|rule| rule.meaning.as_ref()))
        {
            return Ok(RowMeaning::Field(*field));
        }
        let unit = self.unit(words, &head, &context, at, findings)?;
        let head = self.with_basis(words, head, unit.as_ref(), rule, &context, at, findings)?;
        let open = unit.is_none() && head.unit.is_none() && self.defaults.default_unit.is_none();
        if open && self.units_are_stated && !self.needs_no_unit(&head, rule) {
            findings.push(finding(
                UNIT_MISSING,
                context.place(at),
                format!(
                    "'{}' has no unit in a row where others have one",
                    words.label
                ),
                "state it in the report, or in a mapping".into(),
            ));
            return Err(UNIT_MISSING.into());
        }
        let beside = Beside {
            rule,
            unit: unit.as_ref(),
        };
        let mut track = resolve(&context, &head, beside, findings)?;
        if let Some(limits) = self.limits.get(words.label) {
            let told = settle_row(&context, &mut track, context.place(at), limits);
            if let Some(told) = &told {
                findings.retain(|f| f.code != "basis-assumed" || f.place != told.place);
            }
            findings.extend(told);
        }
        Ok(RowMeaning::Analyte(Box::new(track)))
    }

    /// A rule states the unit, or there is none to state (pH, ratios); what is no analyte is told elsewhere.
    fn needs_no_unit(&self, head: &Head, rule: Option<&LabelRule>) -> bool {
        if rule.is_some_and(|rule| rule.unit.is_some()) {
            return true;
        }
        let Meaning::Analyte(id) = head.meaning else {
            return true;
        };
        let unit = self.vocabulary.analyte(id).assumed_unit.as_ref();
        unit.is_some_and(|unit| matches!(unit.dimension, Dimension::Ph | Dimension::One))
    }

    /// The first rule that fits the label on the day of sampling. A rule with dates does not fit a row
    /// without one.
    fn rule(&self, words: &RowWords<'_>) -> Option<&LabelRule> {
        let in_time = |rule: &LabelRule| {
            let after = rule
                .from
                .is_none_or(|from| words.sampled_on.is_some_and(|day| day >= from));
            let before = rule
                .to
                .is_none_or(|to| words.sampled_on.is_some_and(|day| day <= to));
            after && before
        };
        self.plan.labels.iter().find(|rule| {
            rule.sheet.as_ref().is_none_or(|s| s.fits(&self.sheet))
                && rule.at.is_none()
                && rule.label.fits(words.label)
                && in_time(rule)
        })
    }

    fn head(&self, words: &RowWords<'_>, at: Address) -> Head {
        let heading = self.vocabulary.read_heading_in(words.label, &self.context);
        // A reference temperature can stand in the unit cell ("µS/cm (20 °C)").
        let of_unit = words
            .unit
            .and_then(|unit| self.vocabulary.temperature_in_unit(unit));
        let fraction = words.fraction.and_then(|text| self.fraction(text));
        Head {
            at: Some(at),
            label: Some(words.label.into()),
            unit: heading.unit.map(|unit| {
                (
                    unit,
                    heading.unit_text.as_deref().unwrap_or(words.label).into(),
                )
            }),
            basis: heading.basis,
            basis_text: heading.basis_text.map(Into::into),
            basis_implied: heading.basis_implied,
            fraction: fraction.or(heading.fraction),
            reference_temperature: of_unit.or(heading.reference_temperature),
            meaning: heading.meaning,
            ..Head::default()
        }
    }

    /// "Dissolved", "Total", "gelöst": the word of a fraction cell, read as part of a heading.
    fn fraction(&self, text: &str) -> Option<Fraction> {
        // Codes of databases; common practice, no source.
        match text {
            "D" => return Some(Fraction::Dissolved),
            "T" => return Some(Fraction::Total),
            _ => {}
        }
        self.vocabulary
            .read_heading_in(&format!("Iron {text}"), &HeadingContext::default())
            .fraction
    }

    /// A fraction that nobody knows ("Suspended", "Extractable") is a part of the analyte, not its concentration.
    fn known_fraction(
        &self,
        words: &RowWords<'_>,
        head: &Head,
        context: &Context<'_>,
        at: Address,
        findings: &mut Vec<Finding>,
    ) -> Result<(), Arc<str>> {
        let Some(text) = words.fraction else {
            return Ok(());
        };
        let has_fractions = match head.meaning {
            Meaning::Analyte(id) => self.vocabulary.analyte(id).has_fractions,
            _ => false,
        };
        // Where and how a sample was handled is said there too ("Field", "lab"), and that nothing is.
        let says_nothing = |text: &str| {
            text.chars().filter(|c| c.is_alphabetic()).count() < 2
                || word(text) == Some(Word::NotDetermined)
                || self
                    .vocabulary
                    .read_heading(&format!("Iron {text}"))
                    .meaning
                    != Meaning::Unknown
        };
        if !has_fractions || says_nothing(text) {
            return Ok(());
        }
        findings.push(finding(
            "fraction-unknown",
            context.place(at),
            format!(
                "'{}' is of '{text}', which is no known fraction",
                words.label
            ),
            "say in a mapping what it is, or set it aside there".into(),
        ));
        Err("fraction-unknown".into())
    }

    /// The row's own unit. A text that is no unit is refused, except where there is none to state (pH).
    fn unit(
        &self,
        words: &RowWords<'_>,
        head: &Head,
        context: &Context<'_>,
        at: Address,
        findings: &mut Vec<Finding>,
    ) -> Result<Option<StatedUnit>, Arc<str>> {
        let Some(text) = words.unit else {
            return Ok(None);
        };
        if let Some((unit, basis)) = self.vocabulary.read_unit(text) {
            return Ok(Some(StatedUnit {
                unit,
                text: text.into(),
                basis,
            }));
        }
        let unitless = |unit: &Unit| matches!(unit.dimension, Dimension::Ph | Dimension::One);
        if let Meaning::Analyte(id) = head.meaning
            && let Some(unit) = self.vocabulary.analyte(id).assumed_unit.as_ref()
            && unitless(unit)
        {
            return Ok(Some(StatedUnit {
                unit: unit.clone(),
                text: text.into(),
                basis: None,
            }));
        }
        if !text.chars().any(char::is_alphanumeric) && text != "%" {
            // A dash in the unit column states nothing.
            return Ok(None);
        }
        findings.push(finding(
            "unit-unknown",
            context.place(at),
            format!(
                "'{}' is given in '{text}', which is no known unit",
                words.label
            ),
            "add the spelling to units.toml, or state the unit in a mapping".into(),
        ));
        Err("unit-unknown".into())
    }

    /// A basis cell holds the species alone, or the words that stand behind a name ("as N").
    fn basis(&self, meaning: &Meaning, text: &str) -> Option<Basis> {
        self.vocabulary.read_basis(text).or_else(|| {
            let Meaning::Analyte(id) = meaning else {
                return None;
            };
            let whole = format!("{} {text}", self.vocabulary.analyte(*id).name);
            self.vocabulary.read_heading_in(&whole, &self.context).basis
        })
    }

    /// Basis cell, unit and label must not say different things: which of them is wrong, nobody can tell.
    #[expect(
        clippy::too_many_arguments,
        reason = "one call, split from `read` for length"
    )]
    fn with_basis(
        &self,
        words: &RowWords<'_>,
        mut head: Head,
        unit: Option<&StatedUnit>,
        rule: Option<&LabelRule>,
        context: &Context<'_>,
        at: Address,
        findings: &mut Vec<Finding>,
    ) -> Result<Head, Arc<str>> {
        let of_cell = match words.basis {
            None => None,
            Some(text) => match self.basis(&head.meaning, text) {
                Some(basis) => Some((basis, text)),
                // A dash in the basis column states nothing.
                None if !text.chars().any(char::is_alphanumeric) => None,
                None => {
                    findings.push(finding(
                        "basis-unknown",
                        context.place(at),
                        format!(
                            "'{}' is expressed as '{text}', which is no known basis",
                            words.label
                        ),
                        "state the basis in a mapping, with 'override = true'".into(),
                    ));
                    return Err("basis-unknown".into());
                }
            },
        };
        let stated: Vec<&Basis> = of_cell
            .iter()
            .map(|(basis, _)| basis)
            .chain(unit.and_then(|unit| unit.basis.as_ref()))
            .collect();
        // What the name only suggests gives way to what the row states.
        let suggested = head.basis_implied && !stated.is_empty();
        let told: Vec<&Basis> = stated
            .into_iter()
            .chain(head.basis.as_ref().filter(|_| !suggested))
            .collect();
        let decided = rule.is_some_and(|rule| rule.overrides && rule.basis.is_some());
        if !decided && told.windows(2).any(|pair| pair[0] != pair[1]) {
            let told: Vec<String> = told.iter().map(ToString::to_string).collect();
            findings.push(finding(
                "basis-contradicts",
                context.place(at),
                format!(
                    "'{}' is expressed in several ways: {}",
                    words.label,
                    told.join(", ")
                ),
                "say in a mapping which of them is meant, with 'override = true'".into(),
            ));
            return Err("basis-contradicts".into());
        }
        if let Some((basis, text)) = of_cell {
            head.basis = Some(basis);
            head.basis_text = Some(text.into());
        }
        Ok(head)
    }
}
