//! Lines from standard input that is not a terminal: the same words, no questions.

use std::io::{self, BufRead, Write};

use zeroize::Zeroizing;

use super::{Ask, Lines, Typed};
use crate::line_input::next_line;

/// Most bytes in one line; more than any entry may have.
const LINE_BYTES_MAX: usize = 64 * 1024;

pub(in crate::shell) struct PlainLines<R, W> {
    pub(in crate::shell) input: R,
    pub(in crate::shell) output: W,
}

impl<R: BufRead, W: Write> PlainLines<R, W> {
    fn next(&mut self) -> io::Result<Typed> {
        let Some(line) = next_line(&mut self.input, LINE_BYTES_MAX)? else {
            return Ok(Typed::Ended);
        };
        match line.map(String::from_utf8) {
            Ok(Ok(text)) => Ok(Typed::Line(text)),
            Ok(Err(_)) => Err(io::Error::new(
                io::ErrorKind::InvalidData,
                "a line of the input is not UTF-8 text",
            )),
            Err(long) => Ok(Typed::TooLong(long)),
        }
    }
}

impl<R: BufRead, W: Write> Lines for PlainLines<R, W> {
    fn read(&mut self, _: &Ask) -> io::Result<Typed> {
        self.next()
    }

    fn secret(&mut self, _: &str) -> io::Result<Option<Zeroizing<String>>> {
        Ok(None)
    }

    fn say(&mut self, text: &str) -> io::Result<()> {
        if !text.is_empty() {
            writeln!(self.output, "{}", text.trim_end_matches('\n'))?;
        }
        self.output.flush()
    }

    fn fresh(&mut self) -> io::Result<()> {
        Ok(())
    }

    fn can_ask(&self) -> bool {
        false
    }
}
