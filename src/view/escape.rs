//! Text written by people, made harmless for the medium it is shown in. One function per
//! medium; nothing is dropped: what cannot be shown as it is, is shown as a visible mark.

use std::borrow::Cow;

/// For a terminal: characters that a terminal obeys, that reorder what stands around them or
/// that nobody can see become visible marks. Line feeds stay; a tab becomes a blank.
#[must_use]
pub fn terminal(text: &str) -> Cow<'_, str> {
    if !text.chars().any(|c| c != '\n' && needs_mark(c)) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '\n' => shown.push('\n'),
            '\t' => shown.push(' '),
            c if needs_mark(c) => push_mark(&mut shown, c),
            c => shown.push(c),
        }
    }
    Cow::Owned(shown)
}

/// The same for one line: line feeds become marks as well.
#[must_use]
pub fn terminal_line(text: &str) -> Cow<'_, str> {
    match terminal(text) {
        Cow::Borrowed(text) if !text.contains('\n') => Cow::Borrowed(text),
        shown => Cow::Owned(shown.replace('\n', " \u{21B5} ")),
    }
}

/// For HTML: the same marks as for a terminal. The template escapes what HTML itself obeys.
#[must_use]
pub fn page(text: &str) -> Cow<'_, str> {
    terminal(text)
}

/// For a spreadsheet cell: what begins like a formula is made text by an apostrophe; a plain
/// number stays a number. Control characters become marks.
#[must_use]
pub fn csv_cell(text: &str) -> Cow<'_, str> {
    let shown = terminal(text);
    let first = shown.trim_start().chars().next();
    let formula = first.is_some_and(|c| {
        matches!(
            c,
            '=' | '+' | '-' | '@' | '|' | '%' | '\u{FF1D}' | '\u{FF0B}' | '\u{FF0D}' | '\u{FF20}'
        )
    });
    if formula && shown.parse::<f64>().is_err() {
        Cow::Owned(format!("'{shown}"))
    } else {
        shown
    }
}

/// A character that is not shown as itself: C0 and C1 controls, marks that reorder text
/// (Unicode bidirectional algorithm, UAX #9), line and paragraph separators, and tag
/// characters, which are invisible.
#[must_use]
pub fn needs_mark(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{061C}'
                | '\u{200E}'
                | '\u{200F}'
                | '\u{2028}'
                | '\u{2029}'
                | '\u{202A}'..='\u{202E}'
                | '\u{2066}'..='\u{2069}'
                | '\u{E0000}'..='\u{E007F}'
        )
}

/// The control picture of a C0 control (U+2400 and on), the number of anything else.
fn push_mark(shown: &mut String, c: char) {
    let code = u32::from(c);
    let picture = match code {
        0..=0x1F => char::from_u32(0x2400 + code),
        0x7F => Some('\u{2421}'),
        _ => None,
    };
    match picture {
        Some(picture) => shown.push(picture),
        None => shown.push_str(&format!("<U+{code:04X}>")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_terminal_obeys_is_shown_instead() {
        assert_eq!(terminal("\u{1b}[31mred\u{7}"), "\u{241b}[31mred\u{2407}");
        assert_eq!(terminal("a\u{202e}b\u{2069}c"), "a<U+202E>b<U+2069>c");
        assert_eq!(
            terminal("\u{9b}2J\u{85}\u{2028}"),
            "<U+009B>2J<U+0085><U+2028>"
        );
        assert_eq!(
            terminal("two\nlines\tand a tab\r"),
            "two\nlines and a tab\u{240d}"
        );
        assert_eq!(terminal_line("two\nlines"), "two \u{21b5} lines");
    }

    #[test]
    fn plain_text_of_any_script_is_left_alone() {
        for text in [
            "well, eating",
            "37.1 °C",
            "Zoë Ó Briain",
            "שלום",
            "नमस्ते",
            "👩🏽‍⚕️",
        ] {
            assert!(matches!(terminal(text), Cow::Borrowed(_)), "{text}");
        }
    }

    proptest::proptest! {
        #[test]
        fn nothing_a_terminal_obeys_comes_through(text in "\\PC*|[\\x00-\\x9f\u{2028}\u{202a}-\u{202e}a-z]*") {
            proptest::prop_assert!(!terminal(&text).chars().any(|c| c != '\n' && needs_mark(c)));
            proptest::prop_assert!(!terminal_line(&text).chars().any(needs_mark));
        }
    }
}
