//! Headings that were taken apart before. Reports write the same few hundred on every sheet, and taking
//! one apart costs more than anything else that a small report needs.

use super::context::HeadingContext;
use super::heading::Heading;
use hashbrown::{Equivalent, HashMap};
use std::sync::RwLock;

/// Headings remembered: those of some dozen laboratories, and the names between them. Then all are
/// forgotten, since the next laboratory writes others.
const MOST: usize = 1 << 14;

/// Bytes of a text that is remembered; longer ones are hardly ever headings.
const LONGEST: usize = 120;

/// Changes no answer: a heading is what its text and its context say, and the words stay the same.
#[derive(Debug, Default)]
pub(super) struct Memo {
    known: RwLock<HashMap<Key, Heading>>,
}

#[derive(Debug, PartialEq, Eq, Hash)]
struct Key {
    context: HeadingContext,
    text: Box<str>,
}

/// A key to look up. Hashes as [`Key`] does.
#[derive(Hash)]
struct Asked<'a> {
    context: &'a HeadingContext,
    text: &'a str,
}

impl Equivalent<Key> for Asked<'_> {
    fn equivalent(&self, key: &Key) -> bool {
        *self.text == *key.text && *self.context == key.context
    }
}

impl Memo {
    /// The heading of a text, which `read` takes apart where that was not done before.
    pub(super) fn heading(
        &self,
        text: &str,
        context: &HeadingContext,
        read: impl FnOnce() -> Heading,
    ) -> Heading {
        if text.len() > LONGEST {
            return read();
        }
        // A lock is only lost to a panic of another thread: then everything is read again.
        if let Ok(known) = self.known.read()
            && let Some(heading) = known.get(&Asked { context, text })
        {
            return heading.clone();
        }
        let heading = read();
        if let Ok(mut known) = self.known.write() {
            if known.len() == MOST {
                known.clear();
            }
            let key = Key {
                context: context.clone(),
                text: text.into(),
            };
            known.insert(key, heading.clone());
        }
        heading
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vocabulary::Vocabulary;

    #[test]
    fn a_heading_is_the_same_when_it_is_asked_again() {
        let memo = Memo::default();
        let mut capitals = HeadingContext::default();
        capitals.all_capitals = true;
        let vocabulary = Vocabulary::built_in();
        for _ in 0..2 {
            for context in [&capitals, &HeadingContext::default()] {
                for text in ["CA", "Nitrate as N mg/L", "", "Bore 4"] {
                    let read = || vocabulary.read_heading_in(text, context);
                    assert_eq!(memo.heading(text, context, read), read(), "{text}");
                }
            }
        }
        assert_eq!(memo.known.read().map(|known| known.len()).ok(), Some(8));
    }

    #[test]
    fn what_is_remembered_is_bounded() {
        let memo = Memo::default();
        let context = HeadingContext::default();
        for i in 0..=MOST {
            memo.heading(&i.to_string(), &context, Heading::default);
        }
        memo.heading(&"x".repeat(LONGEST + 1), &context, Heading::default);
        assert_eq!(memo.known.read().map(|known| known.len()).ok(), Some(1));
    }
}
