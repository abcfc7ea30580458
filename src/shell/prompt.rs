//! The line above and the mark before what is typed.

use std::borrow::Cow;

use reedline::{Color, Prompt, PromptEditMode, PromptHistorySearch};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::known::SharedKnown;
use crate::view::escape::terminal_line;

/// Drawn again whenever the editor draws, so that counts change while a line is typed.
pub(super) struct WardPrompt {
    pub(super) known: SharedKnown,
    /// Before the cursor: the selected patient, or the field a form asks for.
    pub(super) mark: String,
    /// Columns of the terminal.
    pub(super) columns: usize,
    /// Show the status line.
    pub(super) status: bool,
}

impl Prompt for WardPrompt {
    fn render_prompt_left(&self) -> Cow<'_, str> {
        let mark = cut(&terminal_line(&self.mark), self.columns / 2);
        if !self.status {
            return Cow::Owned(mark);
        }
        let status = self
            .known
            .get()
            .status
            .fitted(self.columns.saturating_sub(1));
        Cow::Owned(format!("{status}\n{mark}"))
    }

    fn render_prompt_right(&self) -> Cow<'_, str> {
        Cow::Borrowed("")
    }

    fn render_prompt_indicator(&self, _: PromptEditMode) -> Cow<'_, str> {
        Cow::Borrowed("> ")
    }

    fn render_prompt_multiline_indicator(&self) -> Cow<'_, str> {
        Cow::Borrowed("  ")
    }

    fn render_prompt_history_search_indicator(&self, search: PromptHistorySearch) -> Cow<'_, str> {
        Cow::Owned(format!("(searching {}) ", terminal_line(&search.term)))
    }

    fn get_prompt_color(&self) -> Color {
        Color::Cyan
    }

    fn get_indicator_color(&self) -> Color {
        Color::Cyan
    }
}

/// At most `columns` wide, with a mark where something was cut off.
pub(super) fn cut(text: &str, columns: usize) -> String {
    if text.width() <= columns {
        return text.to_owned();
    }
    let mut shown = String::new();
    let mut width = 1;
    for c in text.chars() {
        width += c.width().unwrap_or(0);
        if width > columns {
            break;
        }
        shown.push(c);
    }
    shown.push('…');
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_cut_to_its_columns_with_a_mark() {
        assert_eq!(cut("日本語です", 5), "日本…");
        assert_eq!(cut("T07 PELL, Rose", 14), "T07 PELL, Rose");
        assert_eq!(cut("T07 PELL, Rose", 13), "T07 PELL, Ro…");
    }
}
