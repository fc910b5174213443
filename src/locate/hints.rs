//! What a mapping may say about where a table is. Everything is optional; what is absent is found.

use super::Layout;
use crate::place::Area;
use regex::Regex;
use std::sync::Arc;

/// A text as a mapping names it: word for word (case and spaces folded), or by a pattern.
#[derive(Clone, Debug)]
pub enum Wording {
    Text(Arc<str>),
    Pattern(Regex),
}

impl Wording {
    pub fn fits(&self, text: &str) -> bool {
        match self {
            Self::Text(wanted) if wanted.is_ascii() && text.is_ascii() => {
                let (mut wanted, mut words) = (wanted.split_whitespace(), text.split_whitespace());
                let is_same = |word| words.next().is_some_and(|w| w.eq_ignore_ascii_case(word));
                wanted.all(is_same) && words.next().is_none()
            }
            Self::Text(wanted) => folded(wanted).eq(folded(text)),
            Self::Pattern(pattern) => pattern.is_match(text.trim()),
        }
    }
}

/// Words of a text in lower case, whatever white space stands between them.
fn folded(text: &str) -> impl Iterator<Item = String> + '_ {
    text.split_whitespace().map(str::to_lowercase)
}

/// One block as a mapping describes it.
#[derive(Clone, Debug, Default)]
pub struct Hints {
    pub layout: Option<Layout>,
    /// Only this part of the sheet is looked at; what lies outside is left to recognition of titles.
    pub area: Option<Area>,
    /// The heading lines themselves, zero-based.
    pub heading_lines: Option<Vec<u32>>,
    /// How many heading lines there are, where their place is found by the anchor or the labels.
    pub heading_count: Option<u32>,
    /// A cell with this text stands in the first heading line.
    pub anchor: Option<Wording>,
    /// Blank heading cells take the text to their left, even without a merge.
    pub header_fill: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wordings_fit_whole_texts() {
        let text = Wording::Text("Sample  No.".into());
        assert!(text.fits(" sample no. "));
        for other in ["sample no. 2", "sample", "", "sample № "] {
            assert!(!text.fits(other), "{other}");
        }
        assert!(Wording::Text("Størrelse".into()).fits("STØRRELSE"));
        let pattern = Wording::Pattern(Regex::new("^Fe\\b").expect("a pattern"));
        assert!(pattern.fits("Fe, total"));
        assert!(!pattern.fits("Ferric"));
    }
}
