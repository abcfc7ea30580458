//! Opening somebody's record: asked why where it is allocated to a colleague, and put into the access
//! record, where one is kept.

use super::session::{Session, State, held};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::ward::AccessAct;
use crate::record::person::Handle;
use crate::record::time::Timestamp;
use crate::shorthand::{Parsed, parse};
use crate::station::{Opening, reservations};
use crate::view::access::{AccessOf, access_record};

/// What one key says; anything else is taken as typed.
const USUAL: [(&str, &str); 4] = [
    ("1", "answering a call, an alert or a message"),
    ("2", "covering for a colleague"),
    ("3", "handing over or taking over"),
    ("4", "review or supervision"),
];

impl Session {
    /// The question, if whoever is at the keyboard is to be asked why before the record opens. `line` is
    /// what goes on once it is answered.
    pub(super) fn asks_why(&mut self, patient: Pseudonym, line: &str) -> Option<String> {
        let actor = self.actor.as_ref()?;
        if self.why_answered == Some(patient)
            || !self.can_ask
            || self.looking_aside
            || !held(&self.station).is_to_be_asked_why(actor, patient)
        {
            return None;
        }
        let who = self.full(Some(patient));
        let line = line.to_owned();
        self.state = State::Why { patient, line };
        Some(format!("{who} is allocated to a colleague. {}", choices()))
    }

    /// The access record of the patient, of a member of staff, or of the ward.
    pub(super) fn access(&mut self, about: &str, as_of: Option<Timestamp>, line: &str) -> String {
        let named = about.trim();
        let staff = Handle::parse(named)
            .filter(|handle| held(&self.station).ward().staff(handle).is_some());
        let of = match (staff, self.patient_of(named)) {
            (Some(handle), _) => AccessOf::Staff(handle),
            (None, Ok(Some(patient))) => AccessOf::Patient(patient),
            (None, Ok(None)) => AccessOf::Ward,
            (None, Err(said)) => {
                let said = format!("{said} Accepted: a patient, a handle, or ward for everything.");
                return self.back_with(line, &said);
            }
        };
        let (page, reservations) = {
            let station = held(&self.station);
            let now = as_of.unwrap_or_else(|| station.now());
            let then = as_of.map(|moment| station.as_of(moment));
            let drawn = then.as_ref().unwrap_or_else(|| station.drawn());
            let record = access_record(&super::views::vantage(&drawn.ward, now), &of);
            (record.page(), reservations(drawn))
        };
        self.draw(&page, &reservations);
        String::new()
    }

    /// One entry, of a record that is opened with it.
    pub(super) fn show_opened(&mut self, seq: Seq, line: &str) -> String {
        match self.opens_entry(seq, line) {
            Err(asked) => asked,
            Ok(note) => {
                let said = self.show(seq);
                note.map_or(said.clone(), |note| format!("{note}\n{said}"))
            }
        }
    }

    /// Opens the record that an entry is in; gives what could not be recorded, or the question that comes first.
    pub(super) fn opens_entry(&mut self, seq: Seq, line: &str) -> Result<Option<String>, String> {
        let whose = held(&self.station).patient_of(seq);
        let Some(whose) = whose else {
            return Ok(None);
        };
        match self.asks_why(whose, line) {
            Some(asked) => Err(asked),
            None => Ok(self.opens(Some(whose), "in the shell")),
        }
    }

    /// Takes the reason, opens the record and goes on with the line.
    pub(super) fn answer_why(&mut self, patient: Pseudonym, line: &str, said: &str) -> String {
        let said = said.trim();
        if matches!(said.to_lowercase().as_str(), "cancel" | "no" | "n") {
            return "The record was not opened.".to_owned();
        }
        if let Some(doubt) = self.doubts_reason(said) {
            self.state = State::Why {
                patient,
                line: line.to_owned(),
            };
            return doubt;
        }
        self.why_answered = Some(patient);
        let usual = USUAL.iter().find(|(key, _)| *key == said);
        let reason = usual.map_or(said, |(_, words)| words);
        let note = self.opens_because(Some(patient), "in the shell", Some(reason));
        let shown = self.line_or_patient(line);
        note.map_or(shown.clone(), |note| format!("{shown}\n{note}"))
    }

    /// What is a line to be recorded, a command or a slot was hardly meant as a reason: it is asked about once,
    /// nothing is lost of it, and it is the reason if it is typed again.
    fn doubts_reason(&mut self, said: &str) -> Option<String> {
        if self.why_doubted.take().is_some_and(|before| before == said) {
            self.for_patient = None;
            return None;
        }
        if said.is_empty() || USUAL.iter().any(|(key, _)| *key == said) {
            return None;
        }
        let slot = self.is_slot(said);
        let words = !slot
            && matches!(
                parse(said, &self.context()),
                Ok(Parsed::Unknown { .. } | Parsed::Nothing)
            );
        if words {
            return None;
        }
        self.why_doubted = Some(said.to_owned());
        if slot {
            return Some(format!("That is a slot, and no reason. {}", choices()));
        }
        self.for_patient = Some(said.to_owned());
        Some(format!(
            "\"{said}\" looks like a line of its own: NOTHING WAS RECORDED. It comes back once the record is open. \
             Typed again it is taken as the reason. {}",
            choices()
        ))
    }

    /// Puts into the access record that a record is on the screen. Says so if that could not be done.
    pub(super) fn opens(&mut self, patient: Option<Pseudonym>, what: &str) -> Option<String> {
        self.opens_because(patient, what, None)
    }

    fn opens_because(
        &mut self,
        patient: Option<Pseudonym>,
        what: &str,
        reason: Option<&str>,
    ) -> Option<String> {
        let actor = self.actor.clone()?;
        let opening = Opening {
            patient,
            act: AccessAct::Opened,
            what,
            reason: reason.filter(|reason| !reason.is_empty()),
        };
        let recorded = held(&self.station).record_opening(&actor, &opening);
        recorded
            .err()
            .map(|error| format!("That this was opened could not be recorded: {error}."))
    }
}

fn choices() -> String {
    let keys: Vec<String> = USUAL
        .iter()
        .map(|(key, words)| format!("{key} {words}"))
        .collect();
    format!(
        "Why do you open this record?\n  {}\n  or a few words (nothing clinical: it is not sealed); Enter opens it without a reason, cancel does not open it.",
        keys.join("\n  ")
    )
}
