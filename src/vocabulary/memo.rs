//! Texts that were read before. Reports write the same few hundred headings on every sheet, and taking
//! one apart costs more than anything else that a small report needs.

use super::alone::Alone;
use super::context::HeadingContext;
use super::heading::Heading;
use hashbrown::{Equivalent, HashMap};
use std::hash::Hash;
use std::sync::{Arc, RwLock};

/// Texts remembered: those of some dozen laboratories, and the names between them. Then all are
/// forgotten, since the next laboratory writes others.
const MOST: usize = 1 << 14;

/// Bytes of a text that is remembered; longer ones are hardly ever headings.
const LONGEST: usize = 120;

/// Changes no answer: a text says what it says, with its context where that counts, and the words stay
/// the same.
#[derive(Debug, Default)]
pub(super) struct Memo {
    alone: Known<Box<str>, Alone>,
    /// Only of texts that say different things in different contexts.
    in_context: Known<Key, Heading>,
}

type Known<K, V> = RwLock<HashMap<K, Arc<V>>>;

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

impl From<&Asked<'_>> for Key {
    fn from(asked: &Asked<'_>) -> Self {
        Self {
            context: asked.context.clone(),
            text: asked.text.into(),
        }
    }
}

impl Memo {
    /// What a text says alone, which `read` finds out where that was not done before.
    pub(super) fn alone(&self, text: &str, read: impl FnOnce() -> Alone) -> Arc<Alone> {
        if text.len() > LONGEST {
            return Arc::new(read());
        }
        remembered(&self.alone, text, read)
    }

    /// The heading of a text, which `read` takes apart where that was not done before.
    pub(super) fn in_context(
        &self,
        text: &str,
        context: &HeadingContext,
        read: impl FnOnce() -> Heading,
    ) -> Arc<Heading> {
        if text.len() > LONGEST {
            return Arc::new(read());
        }
        remembered(&self.in_context, &Asked { context, text }, read)
    }
}

fn remembered<Q, K, V>(known: &Known<K, V>, asked: &Q, read: impl FnOnce() -> V) -> Arc<V>
where
    Q: Hash + Equivalent<K> + ?Sized,
    K: Eq + Hash + for<'a> From<&'a Q>,
{
    // A lock is only lost to a panic of another thread: then everything is read again.
    if let Ok(known) = known.read()
        && let Some(held) = known.get(asked)
    {
        return held.clone();
    }
    let new = Arc::new(read());
    if let Ok(mut known) = known.write() {
        if known.len() == MOST {
            known.clear();
        }
        known.insert(K::from(asked), new.clone());
    }
    new
}

#[cfg(test)]
mod tests {
    use super::*;

    fn held<K, V>(known: &Known<K, V>) -> Option<usize> {
        known.read().map(|known| known.len()).ok()
    }

    #[test]
    fn a_text_is_read_once_alone_and_once_in_each_context() {
        let memo = Memo::default();
        let mut capitals = HeadingContext::default();
        capitals.all_capitals = true;
        let heading = |text: &str| Heading {
            nearest: Some(text.to_owned()),
            ..Heading::default()
        };
        for round in 0..2 {
            for context in [&capitals, &HeadingContext::default()] {
                let first = memo.in_context("CA", context, || heading(&format!("{context:?}")));
                assert_eq!(*first, heading(&format!("{context:?}")), "{round}");
            }
            memo.alone("CA", Alone::default);
        }
        assert_eq!(held(&memo.in_context), Some(2));
        assert_eq!(held(&memo.alone), Some(1));
    }

    #[test]
    fn what_is_remembered_is_bounded() {
        let memo = Memo::default();
        for i in 0..=MOST {
            memo.alone(&i.to_string(), Alone::default);
        }
        memo.alone(&"x".repeat(LONGEST + 1), Alone::default);
        assert_eq!(held(&memo.alone), Some(1));
    }
}
