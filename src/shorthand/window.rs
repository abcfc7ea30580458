//! A task's window as people say it: `between 20:00 and 22:00`, `due 20:00 to 22:00`, `20:00-22:00`.

use std::ops::Range;

use super::lex::Token;
use super::mistake::Mistake;
use super::scope::Scope;
use crate::record::kind::Kind;
use crate::record::time::{Leaning, TimeRefusal, Window, parse_window};

/// Most words a window has: `25 October 2026 14:00 GMT to 16:00 GMT`.
const WINDOW_WORDS_MAX: usize = 8;

const ACCEPTED: &str = "between 20:00 and 22:00, due 20:00-22:00, or from 20:00 due 22:00";

/// A window found in the line.
pub(super) struct Said {
    /// Exact, so that it is read again as it was.
    pub(super) from: String,
    pub(super) due: String,
    /// How many words it took.
    pub(super) used: usize,
    pub(super) at: Range<usize>,
}

/// Takes a window from the front of `tokens`, if they are one.
pub(super) fn take(scope: &Scope, tokens: &[Token]) -> Option<Result<Said, Mistake>> {
    let part = scope
        .parts
        .iter()
        .position(|part| part.kind == Kind::Task)?;
    let first = tokens
        .first()
        .filter(|token| !token.quoted && token.equals.is_none())?;
    let word = first.lower();
    let between = word == "between";
    let lead = usize::from(matches!(word.as_str(), "due" | "from"));
    if lead == 0 && !between && !is_pair(&word) {
        return None;
    }
    let runs = runs(&tokens[lead..]);
    // A moment alone may have a hyphen or an "and" behind it: it is the longer reading that is meant.
    let due = scope.field(part, "due")?;
    let alone = |run: &String| scope.accepts(&due, run);
    let alone = runs.iter().rposition(alone).map_or(0, |at| at + 1);
    let alone = if lead == 0 { 0 } else { alone };
    let mut refused = None;
    for (at, run) in runs.iter().enumerate().skip(alone).rev() {
        let range = first.at.start..tokens[lead + at].at.end;
        match parse_window(run, scope.cx.now, scope.cx.zone, Leaning::Future) {
            Ok(Window { from, to }) => {
                return Some(Ok(Said {
                    from: from.rfc3339(),
                    due: to.rfc3339(),
                    used: lead + at + 1,
                    at: range,
                }));
            }
            Err(refusal) if is_known(&refusal) => {
                refused = refused.or(Some((refusal, range)));
            }
            Err(_) => {}
        }
    }
    match refused {
        Some((refusal, at)) => Some(Err(Mistake::new(at, refusal.what(), refusal.accepted()))),
        None if lead == 0 => {
            let what = format!("\"{}\" begins no window of time", first.text);
            Some(Err(Mistake::new(first.at.clone(), what, ACCEPTED)))
        }
        None => None,
    }
}

/// `20:00-22:00` in one word.
fn is_pair(word: &str) -> bool {
    let ends = word.split_once(['-', '\u{2013}']);
    let clock = |end: &str| end.starts_with(|c: char| c.is_ascii_digit());
    ends.is_some_and(|(from, to)| clock(from) && clock(to)) && word.contains([':', '.', 'm'])
}

/// A time that was understood, and cannot be taken as it stands.
const fn is_known(refusal: &TimeRefusal) -> bool {
    matches!(
        refusal,
        TimeRefusal::HappensTwice { .. }
            | TimeRefusal::NeverHappens { .. }
            | TimeRefusal::WrongLetters { .. }
            | TimeRefusal::Pointed { .. }
            | TimeRefusal::NoonOrMidnight { .. }
    )
}

/// All runs of words from the first on, shortest first.
fn runs(tokens: &[Token]) -> Vec<String> {
    let words: Vec<&str> = tokens
        .iter()
        .take_while(|token| !token.quoted)
        .take(WINDOW_WORDS_MAX)
        .map(|token| token.text.as_str())
        .collect();
    (1..=words.len())
        .map(|count| words[..count].join(" "))
        .collect()
}
