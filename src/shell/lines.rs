//! Where lines come from and answers go: a terminal with an editor, or plain input.

mod plain;
mod terminal;

use std::io;

use zeroize::Zeroizing;

pub(super) use plain::PlainLines;
pub(super) use terminal::TerminalLines;

/// What is asked for.
#[derive(Debug, Clone, Default)]
pub(super) struct Ask {
    /// Stands before the cursor.
    pub(super) mark: String,
    /// Text to begin with and the byte where the cursor stands in it.
    pub(super) prefill: Option<(String, usize)>,
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
