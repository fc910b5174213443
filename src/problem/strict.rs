//! Strict TOML: text becomes raw structs, and all unknown keys and wrong types are told at once.

use super::Problems;
use serde::de::DeserializeOwned;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

/// More mistakes of form than this are not looked for: the file is then no file of ours at all.
const MISTAKES_OF_FORM: usize = 50;

/// Reads a TOML text into a strict struct (`deny_unknown_fields`).
///
/// Returns what can be read without the parts that are wrong, so that a caller can go on and
/// collect its own problems; it must give up in the end when `problems` is not empty. `None` when
/// nothing could be read.
pub fn read_toml<T: DeserializeOwned>(text: &str, problems: &mut Problems<'_>) -> Option<T> {
    let (mut tree, mut errors) = DeTable::parse_recoverable(text);
    let broken = !errors.is_empty();
    // The parser may stumble twice over one slip.
    errors.dedup_by_key(|error| error.span());
    for error in errors {
        syntax(&error, text, problems);
    }
    let top = keys_of::<T>();
    // `serde` stops at its first error: each wrong part is cut out of the tree and the rest read
    // again, until nothing is wrong any more.
    for _ in 0..MISTAKES_OF_FORM {
        match T::deserialize(toml::de::Deserializer::from(tree.clone())) {
            Ok(raw) => return Some(raw),
            Err(error) => {
                let span = error.span().unwrap_or(0..0);
                // After a broken line, what follows stands in the wrong table: such messages would
                // only distract from the syntax error.
                if !broken {
                    form(error.message(), span.clone(), &top, problems);
                }
                if !cut(tree.get_mut(), &span) {
                    return None;
                }
            }
        }
    }
    None
}

/// The keys of the struct itself, as `serde` lists them when it meets one that cannot be there.
fn keys_of<T: DeserializeOwned>() -> Vec<String> {
    match toml::from_str::<T>("'\\u0000' = 1") {
        Ok(_) => Vec::new(),
        Err(error) => known_keys(error.message()).map(String::from).collect(),
    }
}

/// The known keys in "unknown field `a`, expected one of `b`, `c`".
fn known_keys(message: &str) -> impl Iterator<Item = &str> {
    message
        .split('`')
        .skip(3)
        .step_by(2)
        .filter(|word| !word.is_empty())
}

/// A line that is no TOML, with help for the slips that people make.
fn syntax(error: &toml::de::Error, text: &str, problems: &mut Problems<'_>) {
    let span = error.span().unwrap_or(0..0);
    let line = line_at(text, span.start);
    let help = if error.message().contains("escape") {
        "a backslash needs single quotes: 'like \\d this'"
    } else if has_decimal_comma(line) {
        "decimals are written with a point: 0.5"
    } else if error.message().contains("unquoted key") || has_bare_odd_key(line) {
        "a name with spaces, slashes, brackets or accents needs quotes: \"mg/L\" = …"
    } else if error.message().contains("duplicate key") {
        "each key stands once in its table"
    } else {
        ""
    };
    let problem = problems.push(span, error.message().to_lowercase());
    if !help.is_empty() {
        problem.help(help);
    }
}

fn line_at(text: &str, at: usize) -> &str {
    let at = (0..=at.min(text.len()))
        .rev()
        .find(|at| text.is_char_boundary(*at))
        .expect("0 is a boundary");
    let start = text[..at].rfind('\n').map_or(0, |i| i + 1);
    text[start..].lines().next().unwrap_or("")
}

/// `min = 0,5`
fn has_decimal_comma(line: &str) -> bool {
    line.split('=').skip(1).any(|value| {
        value.trim().split_once(',').is_some_and(|(before, after)| {
            !before.is_empty()
                && before.bytes().all(|b| b.is_ascii_digit())
                && after.starts_with(|c: char| c.is_ascii_digit())
        })
    })
}

/// `mg/L = 1`
fn has_bare_odd_key(line: &str) -> bool {
    line.split_once('=').is_some_and(|(key, _)| {
        let key = key.trim();
        !key.starts_with(['"', '\'', '[', '#', '{'])
            && key
                .chars()
                .any(|c| !(c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '.')))
    })
}

/// A key that is none of ours or a value of another type.
fn form(message: &str, span: Range<usize>, top: &[String], problems: &mut Problems<'_>) {
    if let Some(rest) = message.strip_prefix("unknown field `") {
        let found = rest.split('`').next().unwrap_or(rest);
        let known: Vec<&str> = known_keys(message).collect();
        let belongs_on_top = top.iter().any(|key| key == found);
        let problem = problems
            .push(span, format!("unknown key '{found}'"))
            .nearest(found, known);
        if belongs_on_top {
            problem.help(format!(
                "'{found}' belongs to the whole file: above the first line in [brackets]"
            ));
        }
        return;
    }
    let text_wanted = message.ends_with("expected a string");
    let date_wanted = message.contains("datetime");
    let problem = problems.push(span, message.replace('`', "'"));
    if text_wanted {
        problem.help("text stands between quotes: \"…\"");
    } else if date_wanted {
        problem.help("a date stands without quotes: 2026-05-31");
    }
}

/// Takes the key or value at `span` out of the tree; `false` when nothing stands there.
fn cut(table: &mut DeTable<'_>, span: &Range<usize>) -> bool {
    let within = |outer: Range<usize>| outer.start <= span.start && span.end <= outer.end;
    let mut gone = None;
    for (key, value) in table.iter_mut() {
        if within(key.span()) {
            gone = Some(key.clone());
            break;
        }
        if cut_below(value, span) {
            return true;
        }
        if within(value.span()) {
            gone = Some(key.clone());
            break;
        }
    }
    gone.is_some_and(|key| table.remove(&key).is_some())
}

fn cut_below(value: &mut Spanned<DeValue<'_>>, span: &Range<usize>) -> bool {
    match value.get_mut() {
        DeValue::Table(table) => cut(table, span),
        DeValue::Array(array) => {
            if array.iter_mut().any(|item| cut_below(item, span)) {
                return true;
            }
            let at = array.iter().position(|item| {
                let outer = item.span();
                outer.start <= span.start && span.end <= outer.end
            });
            if let Some(at) = at {
                let mut place = 0;
                // The array type has no `remove`.
                let kept = std::mem::replace(array, DeArray::new())
                    .into_iter()
                    .filter(|_| {
                        place += 1;
                        place != at + 1
                    })
                    .collect();
                *array = kept;
            }
            at.is_some()
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde::Deserialize;
    use std::collections::BTreeMap;

    #[derive(Debug, Default, Deserialize, PartialEq)]
    #[serde(deny_unknown_fields, default)]
    struct Raw {
        title: Option<Spanned<String>>,
        numbers: Vec<Spanned<f64>>,
        words: BTreeMap<Spanned<String>, Inner>,
        list: Vec<Inner>,
    }

    #[derive(Debug, Default, Deserialize, PartialEq)]
    #[serde(deny_unknown_fields, default)]
    struct Inner {
        unit: Option<Spanned<String>>,
        from: Option<Spanned<toml::value::Datetime>>,
    }

    fn messages(text: &str) -> Vec<String> {
        let mut problems = Problems::new("a.toml", text);
        read_toml::<Raw>(text, &mut problems);
        let mut found = problems.found().to_vec();
        found.sort_by_key(|p| p.span.start);
        found
            .iter()
            .map(|p| {
                let line = text[..p.span.start].matches('\n').count() + 1;
                let mut told = format!("{line}: {}", p.message);
                if !p.label.is_empty() {
                    told.push_str(&format!(" [{}]", p.label));
                }
                for help in &p.help {
                    told.push_str(&format!(" ({help})"));
                }
                told
            })
            .collect()
    }

    #[test]
    fn what_is_right_is_read_with_its_place() {
        let text = "title = 'x'\nnumbers = [1, 2.5]\n[words]\n'mg/L' = { unit = 'g' }\n[[list]]\nfrom = 2026-01-02\n";
        let mut problems = Problems::new("a.toml", text);
        let raw: Raw = read_toml(text, &mut problems).expect("readable");
        assert!(problems.is_empty());
        assert_eq!(raw.title.expect("a title").span(), 8..11);
        assert_eq!(raw.words.keys().next().expect("a key").span(), 39..45);
        assert_eq!(raw.list.len(), 1);
    }

    #[test]
    fn err_all_mistakes_of_form_are_told_at_once() {
        let text = "titel = 'x'\nnumbers = [1, 'b', 3, 'd']\n[words]\na = { unt = 'g', unit = 3 }\n[[list]]\n[[list]]\nfrom = '2026'\n[lsit]\n";
        assert_eq!(
            messages(text),
            [
                "1: unknown key 'titel' [did you mean 'title'?] (known here: title, numbers, words, list)",
                "2: invalid type: string \"b\", expected f64",
                "2: invalid type: string \"d\", expected f64",
                "4: unknown key 'unt' [did you mean 'unit'?] (known here: unit, from)",
                "4: invalid type: integer '3', expected a string (text stands between quotes: \"…\")",
                "7: invalid type: string \"2026\", expected a TOML datetime (a date stands without quotes: 2026-05-31)",
                "8: unknown key 'lsit' [did you mean 'list'?] (known here: title, numbers, words, list)",
            ]
        );
    }

    #[test]
    fn err_slips_of_syntax_get_help() {
        for (text, help) in [
            ("title = \"\\d+ mg\"\n", "single quotes"),
            ("numbers = 0,5\n", "with a point"),
            ("mg/L = 1\n", "needs quotes"),
            ("title = 'a'\ntitle = 'b'\n", "stands once in its table"),
        ] {
            let told = messages(text);
            assert!(told[0].contains(help), "{text}: {told:?}");
        }
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "\\PC{0,80}") {
            let mut problems = Problems::new("a.toml", &text);
            let read = read_toml::<Raw>(&text, &mut problems);
            prop_assert!(read.is_some() || !problems.is_empty());
            problems.render();
        }

        #[test]
        fn no_near_toml_panics(text in "(title|words|list|numbers|\\[|\\]|\\{|\\}|=|'|\"|\n|,|1|ö|\\.| ){0,40}") {
            let mut problems = Problems::new("a.toml", &text);
            let read = read_toml::<Raw>(&text, &mut problems);
            prop_assert!(read.is_some() || !problems.is_empty());
            problems.render();
        }
    }
}
