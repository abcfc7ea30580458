//! Handing the ward over: a sheet is prepared, given, queried, accepted or declined.

use super::effects::name_and_slot;
use super::outcome::{Receipt, SubmitError};
use super::{Actor, Station};
use crate::journal::ReadError;
use crate::record::draft::Draft;
use crate::record::ids::{Digest, Pseudonym, Seq};
use crate::record::kind::Kind;
use crate::record::kind::shift::{Handover, SheetName, Shift};
use crate::record::person::Handle;
use crate::record::time::Timestamp;
use crate::view::handover::{Sheet, SheetRequest, sheet};
use crate::view::page::Reservations;
use crate::ward::shifts::{HandoverLife, shift_after, shift_at};
use crate::ward::{Held, Ward};

/// A handover to be prepared.
#[derive(Debug, Clone, Default)]
pub struct HandoverRequest {
    /// The shift that gives; taken from the shifts if left out.
    pub from_shift: Option<String>,
    /// The shift that takes; taken from the shifts if left out.
    pub to_shift: Option<String>,
    /// Who receives.
    pub receiver: Option<Handle>,
    /// What the giver says first.
    pub opening: Option<String>,
}

/// A sheet drawn again, and whether it is still the one that was named.
#[derive(Debug, Clone)]
pub struct HandoverState {
    /// The sheet.
    pub sheet: Sheet,
    /// What it hashes to now.
    pub digest: Digest,
    /// What the journal says it hashed to.
    pub named: Digest,
    /// The journal up to the sheet's head is whole, and that head has the hash it was named by.
    pub same_entries: bool,
    /// What could not be read when it was drawn again, and what is in doubt.
    pub reservations: Reservations,
}

/// What came of drawing a named sheet again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MadeAgain {
    /// It is the sheet that was named.
    ToTheByte,
    /// The entries are the ones it was drawn from: the chain up to its head has the hash it was
    /// named by. So the program that drew it lays sheets out otherwise than this one, or named a
    /// digest that no sheet had.
    OtherForm,
    /// The entries are not the ones it was drawn from, or cannot all be read.
    OtherEntries,
}

impl HandoverState {
    /// Drawn again to the byte.
    #[must_use]
    pub fn is_same(&self) -> bool {
        self.digest == self.named
    }

    /// Whether it could be drawn again to the byte, and if not, why.
    #[must_use]
    pub fn made_again(&self) -> MadeAgain {
        if self.is_same() {
            MadeAgain::ToTheByte
        } else if self.same_entries {
            MadeAgain::OtherForm
        } else {
            MadeAgain::OtherEntries
        }
    }
}

impl Station {
    /// Prepares a handover: draws the sheet from the ward as it stands and names it by digest.
    ///
    /// # Errors
    /// Not this person's to write, or nothing can be written.
    pub fn prepare_handover(
        &mut self,
        actor: &Actor,
        request: &HandoverRequest,
    ) -> Result<Receipt, SubmitError> {
        let writer = self.open_writer(actor)?;
        self.authorise_under(&writer, actor, Kind::Handover, None)?;
        if let Some(receiver) = &request.receiver
            && self
                .ward()
                .staff(receiver)
                .is_none_or(|staff| staff.is_suspended())
        {
            let what = format!("{receiver} is not on the staff");
            return Err(SubmitError::refuse_field("receiver", what, self.handles()));
        }
        let as_of = self.now();
        let (from, to) = shift_names(self.ward(), as_of);
        let mut handover = Handover {
            from_shift: request.from_shift.as_deref().unwrap_or(&from).into(),
            to_shift: request.to_shift.as_deref().unwrap_or(&to).into(),
            receiver: request.receiver.clone(),
            opening: request.opening.as_deref().map(Into::into),
            sheet: None,
        };
        let sheet_request = SheetRequest {
            receiver: handover.receiver.clone(),
            opening: request.opening.clone(),
            ..SheetRequest::new(
                self.ward(),
                &handover.from_shift.0,
                &handover.to_shift.0,
                Some(actor.handle.clone()),
            )
        };
        let drawn = sheet(self.ward(), as_of, &sheet_request);
        let head = self.head();
        handover.sheet = Some(SheetName {
            as_of,
            head_seq: head.seq,
            head_hash: head.hash,
            digest: drawn.digest(),
        });
        self.append_under(&writer, actor, handover.into(), None, None)
    }

    /// The sheet of a prepared handover, drawn again from the journal as it stood then.
    ///
    /// # Errors
    /// When the journal cannot be read. `None` if there is no such handover.
    pub fn handover_sheet(&self, handover: Seq) -> Result<Option<HandoverState>, ReadError> {
        let Some(life) = self.ward().handovers().get(&handover) else {
            return Ok(None);
        };
        let Some(name) = life.prepared.body.sheet.clone() else {
            return Ok(None);
        };
        let part = self.as_at(name.head_seq);
        let ward = &part.ward;
        let drawn = sheet(ward, name.as_of, &SheetRequest::again(ward, &life.prepared));
        let digest = drawn.digest();
        Ok(Some(HandoverState {
            sheet: drawn,
            digest,
            named: name.digest,
            same_entries: part.is_whole() && ward.head() == Some((name.head_seq, name.head_hash)),
            reservations: super::reservations(&part),
        }))
    }

    /// Records a step of a handover.
    ///
    /// # Errors
    /// See [`SubmitError`].
    pub fn handover_step(
        &mut self,
        actor: &Actor,
        handover: Seq,
        step: &str,
        patient: Option<String>,
        text: Option<String>,
        query: Option<Seq>,
    ) -> Result<Receipt, SubmitError> {
        let mut draft = Draft::new(Kind::HandoverStep)
            .with("handover", handover.to_string())
            .with("step", step);
        draft.patient = patient;
        if let Some(text) = text {
            draft.set("text", text);
        }
        if let Some(query) = query {
            draft.set("query", query.to_string());
        }
        self.submit(actor, &draft)
    }
}

impl Station {
    /// Drafts that take over each patient who would be held back by an open query when the
    /// ward is accepted: the explicit word that they are taken with their question open.
    #[must_use]
    pub fn accept_each_asked_about(&self, handover: Seq) -> Vec<Draft> {
        let life = self.ward().handovers().get(&handover);
        let open = life.map(HandoverLife::open_queries).unwrap_or_default();
        let mut asked: Vec<Pseudonym> = open.iter().filter_map(|query| query.patient).collect();
        asked.sort_unstable();
        asked.dedup();
        asked
            .into_iter()
            .map(|patient| {
                let mut draft = Draft::new(Kind::HandoverStep)
                    .with("handover", handover.to_string())
                    .with("step", "accepted");
                draft.patient = Some(patient.to_string());
                draft
            })
            .collect()
    }
}

impl Station {
    /// What comes with the ward, or with one patient, and cannot wait, a sentence each: critical
    /// results nobody has looked at, and escalations nobody has answered. Whoever is held back in
    /// the handover is left out.
    #[must_use]
    pub fn comes_with(&self, handover: Seq, patient: Option<Pseudonym>) -> Vec<String> {
        let (ward, now) = (self.ward(), self.now());
        let life = ward.handovers().get(&handover);
        let held_back = life.map(HandoverLife::patients_held_back);
        let held_back = held_back.unwrap_or_default();
        let is_taken = |one: Pseudonym| match patient {
            Some(only) => one == only,
            None => !held_back.contains(&one),
        };
        let results = ward.critical_unseen().into_iter();
        let results = results.filter(|(patient, _)| is_taken(patient.pseudonym));
        let results = results.map(|(patient, life)| {
            let stamp = &life.reported.stamp;
            let waited = now.since(stamp.occurred_at).spoken();
            let whose = name_and_slot(patient);
            format!(
                "CRITICAL RESULT {}, {whose}: nobody has looked at it for {waited}",
                stamp.seq
            )
        });
        let patients = ward.patients().filter(|one| is_taken(one.pseudonym));
        let escalations = patients.flat_map(|patient| {
            let open = patient.escalations.values();
            let open = open.filter(|life| life.is_open() && life.answer().is_none());
            open.map(move |life| (patient, life))
        });
        let escalations = escalations.map(|(patient, life)| {
            let waited = now.since(life.made.stamp.occurred_at).spoken();
            let (whose, to) = (name_and_slot(patient), &life.made.body.to_role);
            format!(
                "ESCALATION {} to {to}, {whose}: NOT ANSWERED for {waited}",
                life.seq()
            )
        });
        results.chain(escalations).collect()
    }
}

/// A sheet for reading, not tied to any handover.
#[must_use]
pub fn sheet_now(ward: &Ward, as_of: Timestamp) -> Sheet {
    let (from, to) = shift_names(ward, as_of);
    sheet(ward, as_of, &SheetRequest::new(ward, &from, &to, None))
}

/// Newest entry on the sheet that was last accepted: what came after it is new.
#[must_use]
pub fn since_last_accepted(ward: &Ward) -> Option<Seq> {
    ward.accepted_but(None).map(|(_, head)| head)
}

/// Names of the shift that is on and the one that follows, as the shifts were entered.
fn shift_names(ward: &Ward, as_of: Timestamp) -> (String, String) {
    let named = |held: Option<&Held<Shift>>| {
        held.map_or_else(
            || "shift not entered".to_owned(),
            |held| held.body.name.0.clone(),
        )
    };
    (
        named(shift_at(ward.shifts(), as_of)),
        named(shift_after(ward.shifts(), as_of)),
    )
}
