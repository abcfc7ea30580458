//! Lines from standard input that is not a terminal: the same words, no questions.

use std::io::{self, BufRead, Write};

use zeroize::Zeroizing;

use super::{Ask, Lines, Typed};

/// Most bytes in one line; more than any entry may have.
const LINE_BYTES_MAX: u64 = 64 * 1024;

pub(in crate::shell) struct PlainLines<R, W> {
    pub(in crate::shell) input: R,
    pub(in crate::shell) output: W,
}

impl<R: BufRead, W: Write> PlainLines<R, W> {
    fn next(&mut self) -> io::Result<Option<String>> {
        let mut line = Vec::new();
        let limited = &mut io::Read::take(&mut self.input, LINE_BYTES_MAX);
        if limited.read_until(b'\n', &mut line)? == 0 {
            return Ok(None);
        }
        let text = String::from_utf8(line).map_err(|_| {
            io::Error::new(
                io::ErrorKind::InvalidData,
                "a line of the input is not UTF-8 text",
            )
        })?;
        Ok(Some(text.trim_end_matches(['\n', '\r']).to_owned()))
    }
}

impl<R: BufRead, W: Write> Lines for PlainLines<R, W> {
    fn read(&mut self, _: &Ask) -> io::Result<Typed> {
        Ok(self.next()?.map_or(Typed::Ended, Typed::Line))
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
