//! Where lines come from and answers go: a terminal with an editor, or plain input.

mod plain;
mod terminal;

use std::io;
use std::ops::Range;

use zeroize::Zeroizing;

use crate::line_input::LineTooLong;
pub(super) use plain::PlainLines;
pub(super) use terminal::{TerminalLines, columns};

/// Text to begin with, and the part of it to be mended: it is selected, so that typing
/// replaces it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Refill {
    pub(super) line: String,
    pub(super) at: Range<usize>,
}

impl Refill {
    /// The cursor behind the last character.
    pub(super) fn at_end(line: &str) -> Refill {
        Refill {
            line: line.to_owned(),
            at: line.len()..line.len(),
        }
    }

    /// One word selected. Of anything longer only the end, so that a key pressed too early
    /// replaces no sentence.
    pub(super) fn at_word(line: &str, at: Range<usize>) -> Refill {
        let line = line.to_owned();
        match line.get(at.clone()) {
            None => Refill::at_end(&line),
            Some(part) if part.contains(char::is_whitespace) => Refill {
                line,
                at: at.end..at.end,
            },
            Some(_) => Refill { line, at },
        }
    }

    /// The word that begins at a byte selected.
    pub(super) fn from_byte(line: &str, start: usize) -> Refill {
        let rest = line.get(start..).unwrap_or_default();
        let length = rest.find(char::is_whitespace).unwrap_or(rest.len());
        Refill::at_word(line, start..start + length)
    }
}

/// What is asked for.
#[derive(Debug, Clone, Default)]
pub(super) struct Ask {
    /// Stands before the cursor.
    pub(super) mark: String,
    /// Text to begin with.
    pub(super) refill: Option<Refill>,
    /// Takes several lines; an empty one ends them.
    pub(super) takes_lines: bool,
    /// Show the ward's status line.
    pub(super) status: bool,
}

/// What came.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Typed {
    /// A line.
    Line(String),
    /// Ctrl-C, with the line as it stood.
    Interrupted(String),
    /// Nobody typed for too long, with the line as it stood.
    Idle(String),
    /// More than a line may hold; none of it was taken.
    TooLong(LineTooLong),
    /// The end of the input.
    Ended,
}

/// A source of lines and a place for answers.
pub(super) trait Lines {
    /// Waits for a line.
    fn read(&mut self, ask: &Ask) -> io::Result<Typed>;
    /// Waits for a secret, which is not shown. Nothing at the end of the input.
    fn secret(&mut self, question: &str) -> io::Result<Option<Zeroizing<String>>>;
    /// Shows an answer.
    fn say(&mut self, text: &str) -> io::Result<()>;
    /// Another person takes over: nothing of what was typed or shown stays.
    fn fresh(&mut self) -> io::Result<()>;
    /// A person is there to be asked.
    fn can_ask(&self) -> bool;
}
