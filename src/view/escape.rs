//! Text written by people, made harmless for the medium it is shown in. One function per
//! medium; nothing is dropped: what cannot be shown as it is, is shown as a visible mark.
//!
//! Two names that differ only in a character nobody can see would be taken for one, and a
//! word with such a character in it is not found again. So every invisible character is shown
//! by its number, the joiners among them, although some scripts and emoji need those: Persian
//! `\u{200C}` inside a word, Sinhala and other Indic `\u{200D}`, an emoji made of several. There
//! the number stands in the word and the letters or pictures beside it do not join. What is
//! stored, and what JSON gives back, is exactly what was written.

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

/// A character that is not shown as itself: C0 and C1 controls, line and paragraph separators,
/// and whatever is invisible or steers what stands around it (see the list of ranges).
#[must_use]
pub fn needs_mark(c: char) -> bool {
    c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') || is_invisible(c)
}

fn is_invisible(c: char) -> bool {
    let at = INVISIBLE.partition_point(|(first, _)| *first <= c);
    at > 0 && c <= INVISIBLE[at - 1].1
}

/// Unicode 16.0: every character with the property Default_Ignorable_Code_Point
/// (`DerivedCoreProperties.txt`, UAX #44) or the general category Cf, format. Bidirectional
/// controls (UAX #9), joiners, fillers, variation selectors and tags are among them.
const INVISIBLE: &[(char, char)] = &[
    ('\u{AD}', '\u{AD}'),       // soft hyphen
    ('\u{34F}', '\u{34F}'),     // combining grapheme joiner
    ('\u{600}', '\u{605}'),     // Arabic number signs
    ('\u{61C}', '\u{61C}'),     // Arabic letter mark
    ('\u{6DD}', '\u{6DD}'),     // Arabic end of ayah
    ('\u{70F}', '\u{70F}'),     // Syriac abbreviation mark
    ('\u{890}', '\u{891}'),     // Arabic pound and piastre marks
    ('\u{8E2}', '\u{8E2}'),     // Arabic disputed end of ayah
    ('\u{115F}', '\u{1160}'),   // Hangul fillers
    ('\u{17B4}', '\u{17B5}'),   // Khmer inherent vowels
    ('\u{180B}', '\u{180F}'),   // Mongolian variation selectors, vowel separator
    ('\u{200B}', '\u{200F}'),   // zero-width space, joiners, direction marks
    ('\u{202A}', '\u{202E}'),   // bidirectional embeddings and overrides
    ('\u{2060}', '\u{206F}'),   // word joiner, invisible operators, isolates
    ('\u{3164}', '\u{3164}'),   // Hangul filler
    ('\u{FE00}', '\u{FE0F}'),   // variation selectors
    ('\u{FEFF}', '\u{FEFF}'),   // zero-width no-break space
    ('\u{FFA0}', '\u{FFA0}'),   // halfwidth Hangul filler
    ('\u{FFF0}', '\u{FFFB}'),   // specials, interlinear annotation
    ('\u{110BD}', '\u{110BD}'), // Kaithi number sign
    ('\u{110CD}', '\u{110CD}'), // Kaithi number sign above
    ('\u{13430}', '\u{1343F}'), // Egyptian hieroglyph format controls
    ('\u{1BCA0}', '\u{1BCA3}'), // shorthand format controls
    ('\u{1D173}', '\u{1D17A}'), // musical format controls
    ('\u{E0000}', '\u{E0FFF}'), // tags, variation selectors, reserved for such
];

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
            "👩🏽",
        ] {
            assert!(matches!(terminal(text), Cow::Borrowed(_)), "{text}");
        }
    }

    /// What the module's documentation says of the joiners.
    #[test]
    fn joiners_are_shown_even_where_a_script_or_an_emoji_needs_them() {
        assert_eq!(terminal("👩🏽\u{200D}⚕\u{FE0F}"), "👩🏽<U+200D>⚕<U+FE0F>");
        assert_eq!(terminal("می\u{200C}خواهم"), "می<U+200C>خواهم");
        assert_eq!(terminal("A\u{200B}da"), "A<U+200B>da");
        assert_eq!(page("A\u{AD}da"), "A<U+00AD>da");
        assert_eq!(csv_cell("\u{FEFF}=1+1"), "<U+FEFF>=1+1");
        assert_eq!(terminal_line("\u{3164}"), "<U+3164>");
    }

    /// Against the tables of another project, made from Unicode's own files.
    #[test]
    fn the_ranges_are_the_two_properties_and_no_more() {
        let class = r"[\p{Default_Ignorable_Code_Point}\p{Cf}]";
        let parsed = regex_syntax::parse(class).expect("known properties");
        let regex_syntax::hir::HirKind::Class(regex_syntax::hir::Class::Unicode(class)) =
            parsed.kind()
        else {
            panic!("a class of characters");
        };
        let theirs: Vec<(char, char)> = class
            .ranges()
            .iter()
            .map(|range| (range.start(), range.end()))
            .collect();
        assert_eq!(INVISIBLE, theirs);
    }

    proptest::proptest! {
        #[test]
        fn nothing_a_terminal_obeys_comes_through(text in "\\PC*|[\\x00-\\x9f\u{2028}\u{202a}-\u{202e}a-z]*") {
            proptest::prop_assert!(!terminal(&text).chars().any(|c| c != '\n' && needs_mark(c)));
            proptest::prop_assert!(!terminal_line(&text).chars().any(needs_mark));
        }
    }
}
