//! A line into words, each with its place. Words stand between blanks; text in double quotes
//! is one word; `--` makes the rest of the line one text.

use std::ops::Range;

use super::mistake::Mistake;

/// One word of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Token {
    /// Its text without quotes, and without a comma at its end if it was not quoted.
    pub(super) text: String,
    /// Bytes of the line, quotes included.
    pub(super) at: Range<usize>,
    /// The whole word was in quotes, or stood after `--`.
    pub(super) quoted: bool,
    /// Byte in `text` of the first `=` outside quotes.
    pub(super) equals: Option<usize>,
}

impl Token {
    /// Lower case, for comparing with known words.
    pub(super) fn lower(&self) -> String {
        self.text.to_lowercase()
    }
}

const QUOTES: [char; 3] = ['"', '\u{201C}', '\u{201D}'];

/// Cuts a line, from byte `start` on, into words.
///
/// # Errors
/// A quote that is never closed.
pub(super) fn words(line: &str, start: usize) -> Result<Vec<Token>, Mistake> {
    let mut tokens = Vec::new();
    let mut at = start;
    while let Some(begin) = next_word(line, at) {
        let token = word(line, begin)?;
        at = token.at.end;
        if token.text == "--" && !token.quoted {
            tokens.extend(rest_of_line(line, token.at));
            break;
        }
        if !token.text.is_empty() || token.quoted {
            tokens.push(token);
        }
    }
    Ok(tokens)
}

/// The first word and where the rest of the line begins.
pub(super) fn first_word(line: &str) -> Option<(Token, usize)> {
    let begin = next_word(line, 0)?;
    let end = line[begin..]
        .find(char::is_whitespace)
        .map_or(line.len(), |length| begin + length);
    let token = Token {
        text: line[begin..end].to_owned(),
        at: begin..end,
        quoted: false,
        equals: None,
    };
    Some((token, end))
}

/// A quote was opened and not closed: there is more to come on the next line.
#[must_use]
pub fn is_unfinished(line: &str) -> bool {
    let entries_only = first_word(line).is_some_and(|(word, _)| !takes_rest(&word.text));
    entries_only && words(line, 0).is_err()
}

/// Verbs whose rest of line is text as it stands, quotes and all.
fn takes_rest(word: &str) -> bool {
    super::verb::verb_named(&word.to_lowercase()).is_some_and(|verb| verb.rest_is_text)
}

fn next_word(line: &str, from: usize) -> Option<usize> {
    let found = line[from..].find(|c: char| !c.is_whitespace())?;
    Some(from + found)
}

fn rest_of_line(line: &str, mark: Range<usize>) -> Option<Token> {
    let begin = next_word(line, mark.end)?;
    Some(Token {
        text: line[begin..].trim_end().to_owned(),
        at: begin..line.trim_end().len(),
        quoted: true,
        equals: None,
    })
}

fn word(line: &str, begin: usize) -> Result<Token, Mistake> {
    let mut text = String::new();
    let (mut open, mut equals, mut plain) = (None, None, false);
    let mut end = line.len();
    let mut escaped = false;
    for (offset, c) in line[begin..].char_indices() {
        let here = begin + offset;
        if escaped {
            escaped = false;
            text.push(c);
        } else if open.is_some() && c == '\\' && line[here + 1..].starts_with(QUOTES) {
            escaped = true;
        } else if QUOTES.contains(&c) {
            open = if open.is_some() { None } else { Some(here) };
        } else if c.is_whitespace() && open.is_none() {
            end = here;
            break;
        } else {
            plain |= open.is_none();
            if c == '=' && open.is_none() && equals.is_none() && !text.is_empty() {
                equals = Some(text.len());
            }
            text.push(c);
        }
    }
    if let Some(open) = open {
        let what = "a text is opened with \" and not closed";
        return Err(Mistake::new(open..line.len(), what, "a closing \""));
    }
    if plain && text.len() > 1 && text.ends_with(',') {
        text.pop();
    }
    Ok(Token {
        text,
        at: begin..end,
        quoted: !plain,
        equals,
    })
}

/// Characters nobody types and a terminal may obey: they come in by pasting. Tab and line
/// feed are text.
pub(super) fn strange_characters(line: &str) -> Vec<Mistake> {
    let strange = line.char_indices().filter(|(_, c)| is_strange(*c));
    strange
        .map(|(at, c)| {
            let what = format!(
                "an invisible character (U+{:04X}) came with the text",
                c as u32
            );
            Mistake::new(at..at + c.len_utf8(), what, "the line without it")
        })
        .collect()
}

/// Control characters other than tab and line feed, marks that reorder text, and line
/// separators.
fn is_strange(c: char) -> bool {
    let reorders = matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{200E}' | '\u{200F}' | '\u{061C}');
    let separates = matches!(c, '\u{2028}' | '\u{2029}');
    (c.is_control() && !matches!(c, '\t' | '\n' | '\r')) || reorders || separates
}
