//! How a line looks while it is typed.

use nu_ansi_term::Style;
use reedline::{Highlighter, StyledText};

use crate::view::escape;

/// Shows pasted control characters and marks that reorder text as one visible mark each:
/// the editor would otherwise send them to the terminal as they are.
pub(super) struct SafeLine;

impl Highlighter for SafeLine {
    fn highlight(&self, line: &str, _cursor: usize) -> StyledText {
        let safe: String = line
            .chars()
            .map(|c| {
                if c != '\n' && escape::needs_mark(c) {
                    '\u{FFFD}'
                } else {
                    c
                }
            })
            .collect();
        let mut text = StyledText::new();
        text.push((Style::new(), safe));
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pasted_escape_never_reaches_the_terminal() {
        let shown = SafeLine
            .highlight("a\u{1b}[2Jb\u{202e}c\nd", 0)
            .raw_string();
        assert_eq!(shown, "a\u{FFFD}[2Jb\u{FFFD}c\nd");
    }
}
