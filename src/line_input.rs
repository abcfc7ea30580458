//! Lines from standard input, each of bounded length. A line that is longer is no line at all:
//! its end must not be taken for the next one.

use std::io::{self, BufRead, Read};

/// A line that was longer than it may be. All of it was skipped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the line is longer than {most} bytes and was not read; at most {most} bytes are")]
pub struct LineTooLong {
    /// Bytes a line may have, its end left out.
    pub most: usize,
}

/// The next line without its end (`\n` or `\r\n`); nothing at the end of the input. Whether it
/// is text is for the caller to see.
///
/// # Errors
/// When the input cannot be read.
pub fn next_line(
    input: &mut impl BufRead,
    most: usize,
) -> io::Result<Option<Result<Vec<u8>, LineTooLong>>> {
    let mut line = Vec::new();
    // Room for a line of `most` bytes and its end.
    let room = u64::try_from(most).unwrap_or(u64::MAX).saturating_add(2);
    if input.by_ref().take(room).read_until(b'\n', &mut line)? == 0 {
        return Ok(None);
    }
    let ended = line.pop_if(|byte| *byte == b'\n').is_some();
    let full = !ended && line.len() as u64 == room;
    if ended {
        line.pop_if(|byte| *byte == b'\r');
    }
    if line.len() <= most {
        return Ok(Some(Ok(line)));
    }
    if full {
        input.skip_until(b'\n')?;
    }
    Ok(Some(Err(LineTooLong { most })))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str, most: usize) -> Vec<Result<String, LineTooLong>> {
        // A buffer shorter than a line, so that a line comes in pieces.
        let mut input = io::BufReader::with_capacity(3, text.as_bytes());
        let mut lines = Vec::new();
        while let Some(line) = next_line(&mut input, most).unwrap() {
            lines.push(line.map(|line| String::from_utf8(line).unwrap()));
        }
        lines
    }

    #[test]
    fn a_line_too_long_is_skipped_to_its_end() {
        let long = Err(LineTooLong { most: 4 });
        let is = |text: &str| Ok(text.to_owned());
        for (text, expected) in [
            ("", vec![]),
            ("abcd\n\nab", vec![is("abcd"), is(""), is("ab")]),
            ("abcd\r\nab\r\n", vec![is("abcd"), is("ab")]),
            ("abcde\nab\n", vec![long.clone(), is("ab")]),
            ("abcdef\nab\n", vec![long.clone(), is("ab")]),
            ("abcdefghijk\nab\n", vec![long.clone(), is("ab")]),
            ("ab\nabcdefghijk", vec![is("ab"), long.clone()]),
            ("abcde", vec![long.clone()]),
        ] {
            assert_eq!(lines(text, 4), expected, "{text:?}");
        }
    }
}
