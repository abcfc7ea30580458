//! Ghost text after the cursor. It comes from the tables and the ward, never from history:
//! an earlier line may be about another patient. Only the rest of a command word can be
//! accepted with a key; an example's numbers can not.

use nu_ansi_term::{Color, Style};
use reedline::{Hinter, History};

use super::activity::Activity;
use super::known::SharedKnown;
use crate::record::field::Shape;
use crate::shorthand::{COMMANDS, VERBS, Verb, entry_field, field_words, verb_named};

pub(super) struct WardHinter {
    pub(super) known: SharedKnown,
    pub(super) activity: Activity,
    pub(super) acceptable: String,
}

impl Hinter for WardHinter {
    fn handle(&mut self, line: &str, pos: usize, _: &dyn History, colour: bool, _: &str) -> String {
        self.activity.saw(line, pos);
        self.acceptable.clear();
        if pos != line.len() || line.is_empty() || self.known.get().asking {
            return String::new();
        }
        let hint = match rest_of_word(line) {
            Some(rest) => {
                self.acceptable = rest.to_owned();
                rest.to_owned()
            }
            None => self.example(line).unwrap_or_default(),
        };
        if colour && !hint.is_empty() {
            Style::new().fg(Color::DarkGray).paint(hint).to_string()
        } else {
            hint
        }
    }

    fn complete_hint(&self) -> String {
        self.acceptable.clone()
    }

    fn next_hint_token(&self) -> String {
        self.acceptable.clone()
    }
}

impl WardHinter {
    fn example(&self, line: &str) -> Option<String> {
        if !line.ends_with(' ') {
            return None;
        }
        let mut words = line.split_whitespace();
        let verb = verb_named(&words.next()?.to_lowercase())?;
        match words.next_back() {
            None => Some(self.opening(verb)),
            Some(word) => field_hint(verb, &word.to_lowercase()),
        }
    }

    /// The open entry the verb is about, or the verb's example.
    fn opening(&self, verb: &Verb) -> String {
        let known = self.known.get();
        let first = entry_field(verb.kind)
            .and_then(|field| known.open_for(field).into_iter().next().cloned());
        match first {
            Some(open) if !verb.fixed.is_empty() && verb.also.is_none() => {
                format!(
                    "{} {}",
                    open.seq,
                    crate::view::escape::terminal_line(&open.label)
                )
            }
            _ => verb
                .example
                .split_once(' ')
                .map(|(_, rest)| rest.to_owned())
                .unwrap_or_default(),
        }
    }
}

/// How the field just named is written.
fn field_hint(verb: &Verb, word: &str) -> Option<String> {
    let kinds = std::iter::once(verb.kind).chain(verb.also.map(|(kind, _)| kind));
    let specs = kinds.flat_map(|kind| kind.specs());
    let named = |name: &str| name == word || field_words(name).contains(&word);
    let spec = specs.into_iter().find(|spec| named(spec.name))?;
    let says = !matches!(spec.shape, Shape::YesNo);
    says.then(|| spec.hint.to_owned())
}

/// The rest of the only word that begins as the line does.
fn rest_of_word(line: &str) -> Option<&'static str> {
    if line.contains(char::is_whitespace) || line.len() < 2 {
        return None;
    }
    let words = VERBS
        .iter()
        .flat_map(|verb| verb.words)
        .chain(COMMANDS.iter().flat_map(|c| c.words));
    let mut begun = words.filter(|word| word.starts_with(line) && word.len() > line.len());
    let whole =
        verb_named(line).is_some() || COMMANDS.iter().any(|command| command.words.contains(&line));
    match (begun.next(), begun.next()) {
        (Some(only), None) if !whole => Some(&only[line.len()..]),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use reedline::FileBackedHistory;

    #[test]
    fn ghost_text_explains_and_only_a_command_word_can_be_accepted() {
        let known = SharedKnown::default();
        let mut hinter = WardHinter {
            known,
            activity: Activity::default(),
            acceptable: String::new(),
        };
        let history = FileBackedHistory::default();
        let mut hint = |line: &str| {
            let shown = hinter.handle(line, line.len(), &history, false, "");
            (shown, hinter.complete_hint())
        };
        assert_eq!(hint("timel"), ("ine".to_owned(), "ine".to_owned()));
        let (shown, accepted) = hint("v ");
        assert!(shown.starts_with("rr18 s96"), "{shown}");
        assert_eq!(
            accepted, "",
            "an example's readings must never be taken for real"
        );
        assert!(hint("obs rr ").0.contains("breaths a minute"));
    }
}
