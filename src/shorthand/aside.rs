//! Whether a text typed as an answer would be a line of its own.

use super::command::{self, Act, Command};
use super::{Parsed, ShorthandContext, lex, parse, verb};

/// Whether `text`, typed alone, would be a command or begin an entry: `tasks`, `show #12`,
/// `close #12 mistake`. Sentences that only begin with such a word are not meant, and neither
/// are those after a word that takes any text (`ask the registrar about fluids`).
#[must_use]
pub fn reads_as_line(text: &str, cx: &ShorthandContext) -> bool {
    let Some((word, after)) = lex::first_word(text) else {
        return false;
    };
    let word = word.text.to_lowercase();
    let verb = verb::verb_named(&word);
    if text[after..].trim().is_empty() {
        return verb.is_some() || command::act_named(&word).is_some();
    }
    match parse(text, cx) {
        Ok(Parsed::Command(Command::Plain { act, .. })) => {
            !matches!(act, Act::Help | Act::Select | Act::Patients)
        }
        Ok(Parsed::Command(_)) => true,
        Ok(Parsed::Entries(_)) => verb.is_some_and(|verb| !verb.rest_is_text),
        _ => false,
    }
}
