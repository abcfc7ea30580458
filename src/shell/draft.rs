//! What was not recorded is kept: a refused line, a form left half way, the rest of a line of
//! which one entry was taken. It outlives Ctrl-C, a lock and another person's turn, in memory
//! only.

use super::form::Form;
use super::lines::Refill;
use super::session::{Next, Session, State, held};
use crate::record::draft::Draft;
use crate::record::ids::{EntryId, Pseudonym};
use crate::record::person::Handle;
use crate::shorthand::Entries;

/// Something half done, bound to the patient it was typed for: it never goes to another.
#[derive(Debug, Clone)]
pub(super) struct Kept {
    /// Who was selected, or whom its entries are about; nobody for the ward.
    pub(super) patient: Option<Pseudonym>,
    pub(super) what: Parked,
}

/// Something half done.
#[derive(Debug, Clone)]
pub(super) enum Parked {
    /// A line as it stood.
    Line(String),
    /// A form with the answers so far.
    Form(Box<Form>),
    /// Entries that were not taken, and their line.
    Entries(Entries, String),
    /// Entries of which the first may have been recorded.
    Unsettled(Box<Unsettled>),
}

/// Entries of a line that were not acknowledged. Whether the first stands in the journal is
/// not known, so it must not be entered again before that is.
#[derive(Debug, Clone)]
pub(super) struct Unsettled {
    /// The first entry's own id.
    pub(super) id: EntryId,
    /// Those written with it, in order: none of them stands if the one before it does not.
    pub(super) further: Vec<EntryId>,
    pub(super) entries: Entries,
    /// The line they came from.
    pub(super) line: String,
}

/// Where entries came from, and so what brings them back when they are not recorded.
#[derive(Debug, Clone)]
pub(super) enum Origin {
    /// The line as typed says all of it.
    Line,
    /// A form; its line says only how it began.
    Form(Box<Form>),
    /// A form whose answers are being read back.
    ReadBack(Box<Form>),
    /// The line says more than is left to record.
    Rest,
}

impl Parked {
    /// What would be recorded; a line is read only when it is entered.
    fn entries(&self) -> Option<&Entries> {
        match self {
            Parked::Line(_) => None,
            Parked::Form(form) => Some(&form.entries),
            Parked::Entries(entries, _) => Some(entries),
            Parked::Unsettled(unsettled) => Some(&unsettled.entries),
        }
    }

    fn entries_mut(&mut self) -> Option<&mut Entries> {
        match self {
            Parked::Line(_) => None,
            Parked::Form(form) => Some(&mut form.entries),
            Parked::Entries(entries, _) => Some(entries),
            Parked::Unsettled(unsettled) => Some(&mut unsettled.entries),
        }
    }

    /// In a few words, for whoever left it.
    pub(super) fn describe(&self) -> String {
        match self {
            Parked::Line(line) => super::prompt::cut(line, 60),
            Parked::Form(form) => format!("a form, {}, {}", form.title(), form.mark()),
            Parked::Entries(_, line) => super::prompt::cut(line, 60),
            Parked::Unsettled(unsettled) => format!(
                "perhaps recorded, perhaps not: {}",
                super::prompt::cut(&unsettled.line, 60)
            ),
        }
    }
}

impl Session {
    /// Keeps something for the person at the keyboard.
    pub(super) fn park(&mut self, mut what: Parked) {
        if let Some(entries) = what.entries_mut() {
            // A slot that was typed may have another patient by the time it is brought back; and
            // one line may be about several patients, so each keeps its own.
            let station = held(&self.station);
            for draft in &mut entries.drafts {
                let typed = draft.patient.as_deref();
                let named = typed.and_then(|text| station.resolve_patient(text).ok());
                if let Some(patient) = named {
                    draft.patient = Some(patient.to_string());
                }
            }
        }
        let patient = match what.entries() {
            None => self.patient,
            Some(entries) => self.subject_of(entries),
        };
        if let Some(actor) = &self.actor {
            let kept = self.parked.entry(actor.handle.clone()).or_default();
            kept.push(Kept { patient, what });
            self.warned = false;
        }
    }

    /// Keeps what was being typed or asked when the person left.
    pub(super) fn park_typing(&mut self, typing: &str) {
        match std::mem::replace(&mut self.state, State::Ready(None)) {
            State::Form(mut form) => {
                if !typing.trim().is_empty() {
                    form.typing = Some(typing.to_owned());
                }
                self.park(Parked::Form(Box::new(form)));
            }
            State::Confirm(entries, line, origin) => self.keep(entries, &line, origin),
            State::Ready(_) if !typing.trim().is_empty() => {
                self.park(Parked::Line(typing.to_owned()))
            }
            State::Ready(_) | State::Undoing | State::Why { .. } => {}
        }
    }

    /// Ctrl-C: away from what was being done, which is kept.
    pub(super) fn interrupted(&mut self, typing: &str) -> String {
        let asked = !matches!(
            self.state,
            State::Ready(_) | State::Undoing | State::Why { .. }
        );
        let was_busy = asked || !typing.trim().is_empty();
        self.park_typing(typing);
        self.refresh_known();
        if was_busy {
            "Stopped. It is kept: \"draft\" brings it back. \"quit\" ends.".to_owned()
        } else {
            "\"quit\" ends, \"lock\" leaves the keyboard.".to_owned()
        }
    }

    /// What is kept for somebody, newest first, in words.
    pub(super) fn kept_for(&self, handle: &Handle) -> Option<String> {
        let kept = self.parked.get(handle).filter(|kept| !kept.is_empty())?;
        let described: Vec<String> = kept.iter().rev().map(|kept| self.described(kept)).collect();
        Some(described.join("\n  "))
    }

    fn described(&self, kept: &Kept) -> String {
        format!("{}: {}", self.short(kept.patient), kept.what.describe())
    }

    /// What the end of the shell would lose, if anything is kept. Of others only how much:
    /// what they typed is theirs.
    pub(super) fn lost_by_quitting(&self) -> Option<String> {
        let mine = self.actor.as_ref().map(|actor| &actor.handle);
        let lines: Vec<String> = self
            .parked
            .iter()
            .filter(|(_, kept)| !kept.is_empty())
            .map(|(handle, kept)| match self.kept_for(handle) {
                Some(described) if Some(handle) == mine => format!("  {described}"),
                _ => format!("  {handle}: {} kept", kept.len()),
            })
            .collect();
        (!lines.is_empty()).then(|| {
            format!(
                "Not recorded, and lost when the shell ends:\n{}\n\"draft\" brings it back; \"quit\" again ends.",
                lines.join("\n")
            )
        })
    }

    /// Ends, but says first what would be lost, where somebody is there to read it.
    pub(super) fn quit(&mut self) -> String {
        self.park_typing("");
        let warned = std::mem::replace(&mut self.warned, true);
        match self.lost_by_quitting() {
            Some(warning) if self.can_ask && !warned => warning,
            _ => {
                self.next = Next::Quit;
                String::new()
            }
        }
    }

    /// Brings back what was kept last, of the selected patient before all others, and selects
    /// the patient it was typed for: it is never recorded of another.
    pub(super) fn bring_back(&mut self) -> String {
        let selected = self.patient;
        let handle = self.actor.as_ref().map(|actor| actor.handle.clone());
        let kept = handle
            .as_ref()
            .and_then(|handle| self.parked.get_mut(handle));
        let newest = |kept: &mut Vec<Kept>| {
            let theirs = kept.iter().rposition(|one| one.patient == selected);
            let at = theirs.or_else(|| kept.len().checked_sub(1))?;
            Some(kept.remove(at))
        };
        let Some(Kept { patient, what }) = kept.and_then(newest) else {
            return "Nothing is kept for you.".to_owned();
        };
        let reselected = self.reselect(patient, &what);
        let said = self.go_on_with(what);
        self.refresh_known();
        let left = handle.and_then(|handle| self.kept_for(&handle));
        let left = left.map(|left| format!("Also kept for you:\n  {left}"));
        let parts = [reselected, Some(said), left].into_iter().flatten();
        let parts: Vec<String> = parts.filter(|part| !part.is_empty()).collect();
        parts.join("\n")
    }

    /// Selects whom something kept is about; says so if that was somebody else.
    fn reselect(&mut self, patient: Option<Pseudonym>, what: &Parked) -> Option<String> {
        let of_ward = patient.is_none() && what.entries().is_some();
        if patient == self.patient || of_ward {
            return None;
        }
        self.patient = patient;
        self.lapse();
        Some(match patient {
            Some(_) => format!(
                "{} is selected again: what was kept is about this patient.",
                self.full(patient)
            ),
            None => "No patient is selected: what was kept was typed with none.".to_owned(),
        })
    }

    fn go_on_with(&mut self, what: Parked) -> String {
        match what {
            Parked::Line(line) => {
                self.state = State::Ready(Some(Refill::at_end(&line)));
                String::new()
            }
            Parked::Form(form) if form.done => self.enter_form(*form),
            Parked::Form(form) => {
                let question = form.opening(&self.whose(&form.entries));
                self.state = State::Form(*form);
                question
            }
            Parked::Entries(entries, line) => self.enter_rest(entries, &line),
            Parked::Unsettled(unsettled) => self.settle(*unsettled),
        }
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
    let common = [
        ("patient", &draft.patient),
        ("at", &draft.at),
        ("late", &draft.late_reason),
        ("related", &draft.related),
    ];
    for (name, value) in common {
        if let Some(value) = value {
            line.push_str(&format!(" {name}={}", quoted(value)));
        }
    }
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
            .with("what", "said \"oops\", is well")
            .with("patient", "T07")
            .with("at", "yesterday 22:15")
            .with("late_reason", "was with another patient")
            .with("related", "#3 #4");
        let Ok(Parsed::Entries(entries)) = parse(&typed_line(&draft), &cx) else {
            panic!("{}", typed_line(&draft));
        };
        assert_eq!(entries.drafts[0], draft);
    }
}
