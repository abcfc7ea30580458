//! Lines of plain words broken between words at the width of a terminal.

use unicode_width::UnicodeWidthStr;

/// Breaks each line that is wider than `columns`; what follows a break is indented like the
/// line's own beginning and two columns more. A word wider than a line is left whole.
#[must_use]
pub fn wrapped(text: &str, columns: usize) -> String {
    let lines = text
        .split('\n')
        .map(|line| wrap_line(line, columns.max(20)));
    lines.collect::<Vec<_>>().join("\n")
}

fn wrap_line(line: &str, columns: usize) -> String {
    if line.width() <= columns {
        return line.to_owned();
    }
    let indent = line.len() - line.trim_start_matches(' ').len();
    let hanging = " ".repeat((indent + 2).min(columns / 2));
    let mut text = String::new();
    let mut width = 0;
    // Blanks inside the line are kept: they line up columns.
    for word in line.split_inclusive(' ') {
        let bare = word.trim_end_matches(' ').width();
        if width > 0 && width + bare > columns && !text.trim().is_empty() {
            text.truncate(text.trim_end_matches(' ').len());
            text.push('\n');
            text.push_str(&hanging);
            width = hanging.len();
        }
        text.push_str(word);
        width += word.width();
    }
    text.truncate(text.trim_end_matches(' ').len());
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words() {
        let text = "  rr: \"ninety\" is not a number. Accepted: 1 to 80\nshort";
        let shown = wrapped(text, 24);
        assert_eq!(
            shown,
            "  rr: \"ninety\" is not a\n    number. Accepted: 1\n    to 80\nshort"
        );
        assert_eq!(
            wrapped("T07   PELL, Rose   well", 40),
            "T07   PELL, Rose   well"
        );
        let word = "x".repeat(50);
        assert_eq!(wrapped(&word, 24), word);
    }

    proptest::proptest! {
        #[test]
        fn nothing_but_blanks_is_lost(text in "[a-z ]{0,200}", columns in 20_usize..100) {
            let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
            proptest::prop_assert_eq!(words(&wrapped(&text, columns)), words(&text));
        }
    }
}
