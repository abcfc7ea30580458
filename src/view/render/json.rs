//! JSON for machines: every form is a serialised struct with a `schema` field, described in
//! `docs/json.md`. Words stay exactly as written; characters that a terminal would obey or
//! that reorder text are written as `\u` escapes, so the bytes are harmless to print.

use std::fmt::Write;

use serde::Serialize;

use crate::view::escape::needs_mark;

/// On one line, without a line end. These are the bytes a sheet's digest is taken over.
#[must_use]
pub fn compact<T: Serialize>(value: &T) -> String {
    // A view holds only strings, numbers, options, lists and structs: that cannot fail, and a
    // view that could not be shown must not look like an empty one.
    let text = serde_json::to_string(value);
    harmless(&text.unwrap_or_else(|error| failed(&error)))
}

/// Over several lines, for reading.
#[must_use]
pub fn pretty<T: Serialize>(value: &T) -> String {
    let text = serde_json::to_string_pretty(value);
    harmless(&text.unwrap_or_else(|error| failed(&error)))
}

fn failed(error: &serde_json::Error) -> String {
    serde_json::json!({ "error": error.to_string() }).to_string()
}

/// Outside of strings JSON is ASCII, so each such character stands in a string. The line
/// feeds of the indented form are JSON's own.
fn harmless(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if c == '\n' || !needs_mark(c) {
            shown.push(c);
            continue;
        }
        for unit in c.encode_utf16(&mut [0; 2]) {
            // Writing to a string cannot fail.
            let _ = write!(shown, "\\u{unit:04x}");
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hostile_text_comes_back_exactly_from_harmless_bytes() {
        let hostile = "a\u{1b}[2J\u{9b}\u{202e}\u{2028}\u{e0041}\n\"\\ 👩 é\u{7f}";
        for text in [compact(&hostile), pretty(&hostile)] {
            assert!(!text.chars().any(needs_mark), "{text:?}");
            let back: String = serde_json::from_str(&text).expect("it is JSON");
            assert_eq!(back, hostile);
        }
    }
}
