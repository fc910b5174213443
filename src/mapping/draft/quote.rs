//! Texts of a report written as TOML.

use std::fmt::Write;

/// A basic string on one line.
pub(in crate::mapping) fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            c if c.is_control() => {
                write!(quoted, "\\u{:04X}", u32::from(c))
                    .expect("text can always be written into a string");
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

/// A label as a key or a wording: word for word, or as a pattern where it would be taken for one (or
/// for a place).
pub(super) fn wording(label: &str) -> String {
    let label = label.split_whitespace().collect::<Vec<_>>().join(" ");
    let like_pattern = label.len() > 2 && label.starts_with('/') && label.ends_with('/');
    if like_pattern || label.starts_with('@') {
        return quoted(&format!("/{}/", regex::escape(&label)));
    }
    quoted(&label)
}

/// A text for a comment: on one line, without control characters.
pub(super) fn comment(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").replace(char::is_control, "\u{fffd}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn quoted_texts_read_back(text in any::<String>()) {
            let line = format!("a = {}", quoted(&text));
            let table: toml::Table = toml::from_str(&line).expect("a line of TOML");
            prop_assert_eq!(table["a"].as_str(), Some(&*text));
        }

        #[test]
        fn comments_stay_comments(text in any::<String>()) {
            let line = format!("# {}\na = 1", comment(&text));
            let table: toml::Table = toml::from_str(&line).expect("a line of TOML");
            prop_assert_eq!(table.len(), 1);
        }
    }

    #[test]
    fn labels_that_look_like_patterns_or_places_become_patterns() {
        for (label, key) in [
            ("NO3", "\"NO3\""),
            ("Nitrate\n(as N)", "\"Nitrate (as N)\""),
            ("@F", "\"/@F/\""),
            ("/a.b/", "\"//a\\\\.b//\""),
        ] {
            assert_eq!(wording(label), key);
        }
    }
}
