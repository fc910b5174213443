//! Limits of classes and checks: `mappings/limits.toml`, built in; a copy in the user's mappings folder
//! overrides what it names. Here is no chemistry: only numbers, names and where they come from.

mod acknowledged;
mod class;
mod raw;

pub(super) use acknowledged::Acknowledged;
pub(super) use class::{Class, InfiltrationRow, Reach, SodiumLine, infiltration};

use crate::error::{Error, Result};
use crate::file::{SETTINGS_BYTES, read_whole_text};
use crate::finding::{Finding, Severity};
use crate::problem::Problems;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

/// Name of the file in a mappings folder.
pub(super) const FILE_NAME: &str = "limits.toml";

const BUILT_IN: &str = include_str!("../../../mappings/limits.toml");

/// How far cations and anions may differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Width {
    /// meq/L.
    Charge(f64),
    /// Percent of both sums.
    Percent(f64),
}

/// What is accepted up to a sum of anions, meq/L.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Band {
    pub anions_up_to: f64,
    pub width: Width,
}

impl Band {
    pub(super) fn in_words(&self) -> String {
        match self.width {
            Width::Charge(meq) => format!("{meq} meq/L up to {} meq/L", self.anions_up_to),
            Width::Percent(percent) => format!("{percent} % up to {} meq/L", self.anions_up_to),
        }
    }
}

/// The limits of one check.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct CheckLimits {
    pub severity: Severity,
    /// Switched off by the user.
    pub quiet: bool,
    /// By name: so few that looking through them is the quickest.
    pub numbers: Vec<(&'static str, f64)>,
    pub source: String,
}

impl CheckLimits {
    /// A number of the check.
    pub(super) fn number(&self, name: &str) -> f64 {
        let named = self.numbers.iter().find(|(known, _)| *known == name);
        named.expect(NAMED).1
    }
}

/// What a test holds.
const NAMED: &str = "the built-in limits name every limit of every check, a test reads them";

/// All limits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Limits {
    pub(super) bands: Vec<Band>,
    pub(super) balance_source: String,
    pub(super) saturation_temperature_cel: f64,
    pub(super) feed_conductivity_us_cm: f64,
    pub(super) classes: Vec<Class>,
    pub(super) infiltration: Vec<InfiltrationRow>,
    pub(super) infiltration_source: String,
    pub(super) sodium_lines: Vec<SodiumLine>,
    pub(super) sodium_beyond: Cow<'static, str>,
    pub(super) sodium_source: String,
    pub(super) checks: BTreeMap<&'static str, CheckLimits>,
    pub(super) acknowledged: Vec<Acknowledged>,
}

impl Limits {
    /// The limits that come with the program.
    pub fn built_in() -> &'static Self {
        static LIMITS: LazyLock<Limits> = LazyLock::new(|| {
            let mut limits = Limits::default();
            let mut problems = Problems::new(FILE_NAME, BUILT_IN);
            raw::overlay(&mut limits, BUILT_IN, &mut problems);
            assert!(
                problems.is_empty(),
                "the built-in limits are sound, a test reads them: {}",
                problems.render()
            );
            limits
        });
        &LIMITS
    }

    /// The built-in limits, overridden by `limits.toml` in each of the folders that has one: what a later
    /// folder names counts before what an earlier one does.
    ///
    /// # Errors
    /// `Error::Mapping` with all problems of a file; `Error::Io` when it cannot be read.
    pub fn load<'p>(folders: impl IntoIterator<Item = &'p Path>) -> Result<Self> {
        let mut limits = Self::built_in().clone();
        for folder in folders {
            limits.override_from(folder)?;
        }
        Ok(limits)
    }

    fn override_from(&mut self, folder: &Path) -> Result<()> {
        let path = folder.join(FILE_NAME);
        if !path.exists() {
            return Ok(());
        }
        let text = read_whole_text(&path, SETTINGS_BYTES).map_err(|source| Error::Io {
            path: path.clone(),
            what: "cannot read the limits",
            source,
        })?;
        let mut problems = Problems::new(path.display().to_string(), &text);
        raw::overlay(self, &text, &mut problems);
        if problems.is_empty() {
            Ok(())
        } else {
            Err(Error::Mapping(problems.render()))
        }
    }

    /// Those of a check.
    pub(super) fn of_check(&self, code: &str) -> &CheckLimits {
        self.checks.get(code).expect(NAMED)
    }

    /// Whether a difference of cations and anions (meq/L) is accepted. Beyond the last band nothing is.
    pub(super) fn accepts_balance(&self, cations: f64, anions: f64) -> bool {
        let difference = (cations - anions).abs();
        let Some(band) = self.bands.iter().find(|band| anions <= band.anions_up_to) else {
            return false;
        };
        match band.width {
            Width::Charge(meq) => difference <= meq,
            Width::Percent(percent) => difference <= percent / 100.0 * (cations + anions),
        }
    }

    /// Whether somebody has looked into this finding, and why it is in order.
    pub(super) fn is_acknowledged(&self, finding: &Finding) -> bool {
        self.acknowledged.iter().any(|a| a.covers(finding))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn loaded(text: &str) -> (Limits, String) {
        let mut limits = Limits::built_in().clone();
        let mut problems = Problems::new(FILE_NAME, text);
        raw::overlay(&mut limits, text, &mut problems);
        let told = problems.render();
        (limits, told)
    }

    #[test]
    fn the_built_in_limits_cover_every_check_and_class() {
        let limits = Limits::built_in();
        for check in super::super::table::CHECKS {
            let held = limits.checks.get(check.code);
            let held = held.unwrap_or_else(|| panic!("{} is not in limits.toml", check.code));
            assert!(!held.source.is_empty(), "{} has no source", check.code);
            let mut names: Vec<_> = held.numbers.iter().map(|(name, _)| *name).collect();
            names.sort_unstable();
            let mut declared = check.limits.to_vec();
            declared.sort_unstable();
            assert_eq!(names, declared, "{}", check.code);
        }
        for class in &limits.classes {
            assert!(!class.source.is_empty(), "{}", class.figure);
        }
    }

    #[test]
    fn a_file_of_the_user_overrides_what_it_names() {
        let (limits, told) = loaded(
            "[figures]\nfeed_conductivity_us_cm = 1500.0\n\n[[class]]\nfigure = \"bicarbonate_class\"\nof = \"alkalinity_used_mg_l\"\nsteps = [{ name = \"gentle\", below = 50.0 }, { name = \"rough\" }]\nsource = \"our adviser\"\n",
        );
        assert_eq!(told, "");
        assert_eq!(limits.feed_conductivity_us_cm, 1500.0);
        assert_eq!(limits.saturation_temperature_cel, 20.0);
        assert_eq!(limits.classes.len(), Limits::built_in().classes.len());
        let class = (limits.classes.iter()).find(|c| c.figure == "bicarbonate_class");
        assert_eq!(class.unwrap().name_of(60.0), Some("rough"));
    }

    #[test]
    fn err_limits_that_hold_for_everything_or_nothing_are_refused() {
        for (name, text) in [
            (
                "width",
                "[balance]\nsource = \"\"\nbands = [{ anions_up_to = 8.0, percent = inf }]\n",
            ),
            (
                "charge",
                "[balance]\nsource = \"\"\nbands = [{ anions_up_to = 8.0, meq_l = -1.0 }]\n",
            ),
            (
                "reach",
                "[balance]\nsource = \"\"\nbands = [{ anions_up_to = nan, percent = 5.0 }]\n",
            ),
            ("feed", "[figures]\nfeed_conductivity_us_cm = 0.0\n"),
            (
                "row",
                "[infiltration]\nsource = \"\"\nrows = [{ ratio_up_to = 3.0, none_above = nan, severe_below = 200.0 }]\n",
            ),
            (
                "line",
                "[sodium_class]\nsource = \"\"\nbeyond = \"S4\"\nlines = [{ name = \"S1\", at = 18.9, slope = -inf }]\n",
            ),
        ] {
            let (_, told) = loaded(text);
            assert!(
                told.contains("a number above 0 is needed here"),
                "{name}: {told}"
            );
        }
    }

    #[test]
    fn err_all_problems_are_told_at_once() {
        let text = "\
[[class]]
figure = \"bicarbonate_clas\"
of = \"ph\"
steps = [{ name = \"a\" }]
source = \"\"

[[class]]
figure = \"salinity_class\"
of = \"conductivty\"
steps = [{ name = \"a\" }]
source = \"\"

[[class]]
figure = \"restriction_ph\"
of = \"ph\"
steps = [{ name = \"a\", below = 7.0 }, { name = \"b\", below = 6.0 }, { name = \"c\" }]
source = \"\"

[check.moonlight]
severity = \"error\"

[[acknowledged]]
code = \"moonlight\"
message = \"m\"
reason = \" \"
name = \"n\"
";
        let (_, told) = loaded(text);
        for expected in [
            "no class column 'bicarbonate_clas'",
            "did you mean 'bicarbonate_class'?",
            "nothing is called 'conductivty'",
            "did you mean 'conductivity'?",
            "the limits of the steps must rise",
            "no check 'moonlight'",
            "an acknowledgement needs a reason",
            "an acknowledgement needs a sample or a file",
        ] {
            assert!(told.contains(expected), "{expected} in\n{told}");
        }
    }
}
