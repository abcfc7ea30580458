//! What stands beside the text of a note and is about the entry: when it happened, why it is
//! written late, what it belongs with. Only beside a text in quotes can it be told from the text.

use std::ops::Range;

use super::lex::Token;
use super::mistake::Mistake;

/// Most words a time has: `25 October 2026 01:30 GMT`, and "about" before it.
const TIME_WORDS_MAX: usize = 6;

/// What a run of words is as a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum AsTime {
    /// A time, or one that has to be asked about.
    Meant,
    /// Words.
    None,
}

/// Whether a line is one text in quotes with nothing beside it but what is about the entry.
pub(super) fn is_about_entry(tokens: &[Token], time: &impl Fn(&str) -> AsTime) -> bool {
    let (mut texts, mut beside, mut at) = (0, 0, 0);
    while let Some(token) = tokens.get(at) {
        let used = group(&tokens[at..], time);
        match used {
            Some(used) => {
                beside += 1;
                at += used;
            }
            None if token.quoted => {
                texts += 1;
                at += 1;
            }
            None => return false,
        }
    }
    texts == 1 && beside > 0
}

/// How many words say one thing about the entry, from the first on.
fn group(tokens: &[Token], time: &impl Fn(&str) -> AsTime) -> Option<usize> {
    let first = tokens.first().filter(|token| !token.quoted)?;
    let word = first.lower();
    if let Some(equals) = first.equals {
        let name = &word[..equals.min(word.len())];
        return matches!(name, "at" | "happened" | "late" | "related").then_some(1);
    }
    match word.as_str() {
        "at" | "happened" => Some(1 + time_after(&tokens[1..], time)?),
        "late" => tokens.get(1).filter(|next| next.quoted).map(|_| 2),
        "related" => {
            let numbers = tokens[1..].iter().take_while(|t| t.text.starts_with('#'));
            Some(1 + numbers.count()).filter(|used| *used > 1)
        }
        "confirm" => Some(1),
        _ if first.text.len() > 1 && first.text.starts_with('@') => Some(1),
        _ => None,
    }
}

/// How many words after `at` are a time; all up to the next of these words, or none. A figure is
/// meant as one even where it is none: it is refused rather than made a word of the note.
fn time_after(tokens: &[Token], time: &impl Fn(&str) -> AsTime) -> Option<usize> {
    let ends = |token: &&Token| {
        let beside = ["late", "related", "confirm", "at", "happened"];
        !token.quoted && token.equals.is_none() && !beside.contains(&token.lower().as_str())
    };
    let words: Vec<&str> = tokens
        .iter()
        .take_while(ends)
        .take(TIME_WORDS_MAX)
        .map(|token| token.text.as_str())
        .collect();
    let figure = words.first()?.starts_with(|c: char| c.is_ascii_digit());
    let is_time = |count: &usize| time(&words[..*count].join(" ")) == AsTime::Meant;
    let count = (1..=words.len()).rev().find(is_time);
    count.or_else(|| figure.then_some(words.len()))
}

/// A note that begins with a time and goes on without quotes could begin with it as its text.
pub(super) fn either(
    line: &str,
    from: usize,
    tokens: &[Token],
    time: &impl Fn(&str) -> AsTime,
) -> Option<Mistake> {
    let first = tokens.first()?;
    let is_at = !first.quoted && matches!(first.lower().as_str(), "at" | "happened");
    let used = is_at.then(|| group(tokens, time)).flatten()?;
    let last = &tokens[used - 1];
    let before = line[..from].trim();
    let rest = line[last.at.end..].trim();
    let when = line[first.at.end..last.at.end].trim();
    let at: Range<usize> = first.at.start..last.at.end;
    if rest.is_empty() {
        return Some(Mistake::new(
            at,
            "a time, and no text of the note",
            format!("{before} at={} and the text", quoted(when)),
        ));
    }
    let what = "the time could be when it happened, or the beginning of the note";
    let accepted = format!(
        "{before} at={} {rest} (it happened then), or {before} \"{} {when} {rest}\" (it is text)",
        quoted(when),
        first.text,
    );
    Some(Mistake::new(at, what, accepted))
}

/// A time of several words, as one value.
fn quoted(when: &str) -> String {
    if when.contains(char::is_whitespace) {
        format!("\"{when}\"")
    } else {
        when.to_owned()
    }
}
