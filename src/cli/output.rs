//! Where a command writes: text for people or JSON for programs.

use std::io::{self, IsTerminal, Write};
use std::path::Path;

use serde::Serialize;

use super::report::CliError;
use crate::journal::replace_small_file;
use crate::view::escape;
use crate::view::render::text::Paper;
use crate::view::render::wrap::wrapped;

/// The command's standard output.
pub struct Output {
    /// JSON instead of text.
    pub json: bool,
    /// Columns of the terminal; 80 where there is none.
    pub width: usize,
    /// Emphasis may be used.
    pub styled: bool,
    /// Sentences are broken at the width: on a terminal, or where one was asked for.
    wraps: bool,
}

impl Output {
    /// As the terminal and the environment have it.
    #[must_use]
    pub fn new(json: bool, width: Option<usize>) -> Output {
        let is_terminal = io::stdout().is_terminal();
        let columns = || {
            let size = rustix::termios::tcgetwinsize(io::stdout()).ok()?;
            Some(usize::from(size.ws_col)).filter(|columns| *columns >= 40)
        };
        let styled = is_terminal && std::env::var_os("NO_COLOR").is_none();
        Output {
            json,
            width: width.or_else(columns).unwrap_or(80),
            styled,
            wraps: is_terminal || width.is_some(),
        }
    }

    /// Text that the program made; what people wrote in it has been made harmless already.
    ///
    /// # Errors
    /// When standard output is gone.
    pub fn text(&self, text: &str) -> Result<(), CliError> {
        let mut out = io::stdout().lock();
        out.write_all(text.as_bytes())?;
        if !text.ends_with('\n') {
            out.write_all(b"\n")?;
        }
        Ok(())
    }

    /// A line that may hold what people wrote.
    ///
    /// # Errors
    /// When standard output is gone.
    pub fn line(&self, text: &str) -> Result<(), CliError> {
        self.text(&escape::terminal(text))
    }

    /// The same of sentences: broken between words at the width of the terminal. Elsewhere each
    /// stays on its line, for whoever looks for words in it.
    ///
    /// # Errors
    /// When standard output is gone.
    pub fn sentences(&self, text: &str) -> Result<(), CliError> {
        let text = escape::terminal(text);
        match self.wraps {
            true => self.text(&wrapped(&text, self.width)),
            false => self.text(&text),
        }
    }

    /// What text is drawn on.
    #[must_use]
    pub const fn paper(&self) -> Paper {
        Paper {
            width: self.width,
            styled: self.styled,
        }
    }

    /// Into a file, or to standard output.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn to(&self, file: Option<&Path>, text: &str) -> Result<(), CliError> {
        match file {
            None => self.text(text),
            Some(path) => replace_small_file(path, text.as_bytes()).map_err(CliError::from),
        }
    }

    /// One JSON document.
    ///
    /// # Errors
    /// When standard output is gone.
    pub fn json<T: Serialize>(&self, value: &T) -> Result<(), CliError> {
        let text = crate::view::render::json::compact(value);
        self.text(&text)
    }
}

/// A message to people that is not the command's result: on standard error.
pub fn say(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{}", escape::terminal(text));
}
