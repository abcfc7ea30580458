//! What was not recorded is kept: a refused line, a form left half way, the rest of a line of
//! which one entry was taken. It outlives Ctrl-C, a lock and another person's turn, in memory
//! only.

use super::form::Form;
use super::lines::Refill;
use super::session::{Session, State};
use crate::record::draft::Draft;
use crate::shorthand::Entries;

/// Something half done.
#[derive(Debug, Clone)]
pub(super) enum Parked {
    /// A line as it stood.
    Line(String),
    /// A form with the answers so far.
    Form(Box<Form>),
    /// Entries that were not taken, and their line.
    Entries(Entries, String),
}

impl Parked {
    /// In a few words, for whoever left it.
    pub(super) fn describe(&self) -> String {
        match self {
            Parked::Line(line) => super::prompt::cut(line, 60),
            Parked::Form(form) => format!("a form, {}", form.mark()),
            Parked::Entries(_, line) => super::prompt::cut(line, 60),
        }
    }
}

impl Session {
    /// Keeps something for the person at the keyboard.
    pub(super) fn park(&mut self, parked: Parked) {
        if let Some(actor) = &self.actor {
            self.parked.insert(actor.handle.clone(), parked);
        }
    }

    /// Keeps what was being typed or asked when the person left.
    pub(super) fn park_typing(&mut self, typing: &str) {
        match std::mem::replace(&mut self.state, State::Ready(None)) {
            State::Form(form) => self.park(Parked::Form(Box::new(form))),
            State::Confirm(_, line) => self.park(Parked::Line(line)),
            State::Ready(_) if !typing.trim().is_empty() => {
                self.park(Parked::Line(typing.to_owned()))
            }
            State::Ready(_) => {}
        }
    }

    /// Ctrl-C: away from what was being done, which is kept.
    pub(super) fn interrupted(&mut self, typing: &str) -> String {
        let was_busy = !matches!(self.state, State::Ready(_)) || !typing.trim().is_empty();
        self.park_typing(typing);
        self.refresh_known();
        if was_busy {
            "Stopped. It is kept: \"draft\" brings it back. \"quit\" ends.".to_owned()
        } else {
            "\"quit\" ends, \"lock\" leaves the keyboard.".to_owned()
        }
    }

    /// Brings back what was kept.
    pub(super) fn bring_back(&mut self) -> String {
        let handle = self.actor.as_ref().map(|actor| actor.handle.clone());
        let Some(parked) = handle.and_then(|handle| self.parked.remove(&handle)) else {
            return "Nothing is kept for you.".to_owned();
        };
        let said = match parked {
            Parked::Line(line) => {
                self.state = State::Ready(Some(Refill::at_end(&line)));
                String::new()
            }
            Parked::Form(form) => {
                let question = form.opening();
                self.state = State::Form(*form);
                question
            }
            Parked::Entries(entries, line) => self.enter(entries, &line),
        };
        self.refresh_known();
        said
    }
}

/// A draft as a line that could be typed, for editing one that came from an offer.
pub(super) fn typed_line(draft: &Draft) -> String {
    let quoted = |value: &str| {
        let plain = !value.is_empty() && !value.contains(|c: char| c.is_whitespace() || c == '"');
        if plain {
            value.to_owned()
        } else {
            format!("\"{}\"", value.replace('"', "\\\""))
        }
    };
    let mut line = draft.kind.clone();
    for (name, value) in &draft.fields {
        line.push_str(&format!(" {name}={}", quoted(value)));
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::kind::Kind;
    use crate::record::time::{Timestamp, WardZone};
    use crate::shorthand::{Parsed, ShorthandContext, parse};

    #[test]
    fn a_draft_written_out_reads_as_itself() {
        let cx = ShorthandContext {
            now: Timestamp(1_784_208_000_000_000),
            zone: WardZone::LONDON,
            patient: None,
        };
        let draft = Draft::new(Kind::AlertStep)
            .with("alert", "#12")
            .with("step", "closed")
            .with("outcome", "mistake")
            .with("what", "said \"oops\", is well");
        let Ok(Parsed::Entries(entries)) = parse(&typed_line(&draft), &cx) else {
            panic!("{}", typed_line(&draft));
        };
        assert_eq!(entries.drafts[0].fields, draft.fields);
    }
}
