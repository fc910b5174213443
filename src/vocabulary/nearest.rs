//! The known label that an unknown one is nearest to: a suggestion, never a match.

use super::tokens::word_key;

/// Known labels as they stand in the tables.
#[derive(Debug, Default)]
pub(super) struct Labels(Vec<Label>);

#[derive(Debug)]
struct Label {
    text: String,
    key: String,
    /// Characters of the key.
    length: usize,
    letters: Letters,
}

impl Labels {
    /// `key`: the text's.
    pub(super) fn push(&mut self, key: String, text: &str) {
        self.0.push(Label {
            text: text.to_owned(),
            length: key.chars().count(),
            letters: Letters::of(&key),
            key,
        });
    }

    /// The first of those with fewest edits; `None` where even those are too many for a slip of the pen.
    pub(super) fn nearest(&self, text: &str) -> Option<&str> {
        let key = word_key(text);
        let length = key.chars().count();
        if !(4..=40).contains(&length) {
            return None;
        }
        let most = 1 + length / 5;
        let letters = Letters::of(&key);
        self.0
            .iter()
            // To count edits takes a hundred times as long as to see that there are too many.
            .filter(|known| known.length.abs_diff(length) <= most)
            .filter(|known| known.letters.edits_to(letters) <= most)
            .map(|known| (strsim::osa_distance(&key, &known.key), known))
            .filter(|(edits, _)| *edits <= most)
            .min_by_key(|(edits, _)| *edits)
            .map(|(_, known)| known.text.as_str())
    }
}

/// How often each letter stands in a text; several letters may be counted together.
#[derive(Clone, Copy, Debug)]
struct Letters([u8; 32]);

impl Letters {
    fn of(text: &str) -> Self {
        let mut counts = [0_u8; 32];
        for letter in text.chars() {
            let count = &mut counts[letter as usize % 32];
            *count = count.saturating_add(1);
        }
        Self(counts)
    }

    /// Edits (a letter more, less, another, two exchanged) that it takes at least from one text to the other.
    fn edits_to(self, other: Self) -> usize {
        let missing = |from: Self, to: Self| -> usize {
            let each = from.0.iter().zip(to.0);
            each.map(|(from, to)| usize::from(to.saturating_sub(*from)))
                .sum()
        };
        missing(self, other).max(missing(other, self))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_text_is_nearer_than_its_letters_say(a in "[a-eµüß0-3 ]{0,40}", b in "[a-eµüß0-3 ]{0,40}") {
            let least = Letters::of(&a).edits_to(Letters::of(&b));
            prop_assert!(least <= strsim::osa_distance(&a, &b));
        }
    }

    #[test]
    fn err_another_word_is_not_near() {
        let mut labels = Labels::default();
        for label in ["Nitrate", "Nitrite", "Sulfate"] {
            labels.push(word_key(label), label);
        }
        for (text, nearest) in [
            ("Nirtate", Some("Nitrate")),
            ("Nitrete", Some("Nitrate")),
            ("Sulfat", Some("Sulfate")),
            ("Silver", None),
            ("Nit", None),
        ] {
            assert_eq!(labels.nearest(text), nearest, "{text}");
        }
    }
}
