//! Shifts and handovers.

use serde::{Deserialize, Serialize};

use super::Ward;
use super::held::{Held, Stamp};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::shift::{Handover, HandoverMove, HandoverStep, Shift};
use crate::record::person::Handle;
use crate::record::time::Timestamp;

/// A step of a handover, with the patient it names.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HandoverStepHeld {
    /// Who, when, and what.
    pub held: Held<HandoverStep>,
    /// The patient it is about; none for the whole ward.
    pub patient: Option<Pseudonym>,
}

/// One handover.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HandoverLife {
    /// As it was prepared.
    pub prepared: Held<Handover>,
    /// Every step, in the order recorded.
    pub steps: Vec<HandoverStepHeld>,
}

impl HandoverLife {
    /// The entry that prepared it.
    #[must_use]
    pub const fn seq(&self) -> Seq {
        self.prepared.seq()
    }

    /// Newest entry on its sheet; without a sheet, the entry that prepared it.
    #[must_use]
    pub fn sheet_head(&self) -> Seq {
        let sheet = self.prepared.body.sheet.as_ref();
        sheet.map_or(self.seq(), |sheet| sheet.head_seq)
    }

    /// Who accepted the whole ward, and when.
    #[must_use]
    pub fn accepted(&self) -> Option<&Stamp> {
        let whole = |step: &&HandoverStepHeld| {
            step.patient.is_none() && step.held.body.step == HandoverMove::Accepted
        };
        self.steps.iter().find(whole).map(|step| &step.held.stamp)
    }

    /// Who declined the whole ward, if nobody accepted it since.
    #[must_use]
    pub fn declined(&self) -> Option<&HandoverStepHeld> {
        let last = self.steps.iter().rfind(|step| {
            let step_of_whole = step.patient.is_none();
            let verdict = matches!(
                step.held.body.step,
                HandoverMove::Accepted | HandoverMove::Declined
            );
            step_of_whole && verdict
        })?;
        (last.held.body.step == HandoverMove::Declined).then_some(last)
    }

    /// Neither accepted nor declined.
    #[must_use]
    pub fn is_pending(&self) -> bool {
        self.accepted().is_none() && self.declined().is_none()
    }

    /// Queries nobody has answered.
    #[must_use]
    pub fn open_queries(&self) -> Vec<&HandoverStepHeld> {
        open_among(&self.steps)
    }

    /// Patients the receiver has not taken over: declined one by one, or asked about and not
    /// answered when the ward was accepted; and not accepted one by one since. An answer that
    /// comes later does not take them over: the receiver reads it first.
    #[must_use]
    pub fn patients_held_back(&self) -> Vec<Pseudonym> {
        let mut held_back: Vec<Pseudonym> = Vec::new();
        for (at, step) in self.steps.iter().enumerate() {
            match (step.held.body.step, step.patient) {
                (HandoverMove::Declined, Some(patient)) => hold(&mut held_back, patient),
                (HandoverMove::Accepted, Some(patient)) => {
                    held_back.retain(|held| *held != patient);
                }
                (HandoverMove::Accepted, None) => {
                    for patient in asked_about(&self.steps[..at]) {
                        hold(&mut held_back, patient);
                    }
                }
                _ => {}
            }
        }
        held_back
    }

    /// The step that holds a patient back: the newest refusal, or the newest open query.
    #[must_use]
    pub fn held_back_by(&self, patient: Pseudonym) -> Option<&HandoverStepHeld> {
        let of_patient = |step: &&HandoverStepHeld| {
            let holds = matches!(
                step.held.body.step,
                HandoverMove::Declined | HandoverMove::Query
            );
            step.patient == Some(patient) && holds
        };
        self.steps.iter().rfind(of_patient)
    }
}

fn hold(held_back: &mut Vec<Pseudonym>, patient: Pseudonym) {
    if !held_back.contains(&patient) {
        held_back.push(patient);
    }
}

/// Queries among these steps that none of them answers.
fn open_among(steps: &[HandoverStepHeld]) -> Vec<&HandoverStepHeld> {
    let answered: Vec<Seq> = steps.iter().filter_map(|s| s.held.body.query).collect();
    steps
        .iter()
        .filter(|step| step.held.body.step == HandoverMove::Query)
        .filter(|step| !answered.contains(&step.held.seq()))
        .collect()
}

/// Patients with an open query who were not accepted one by one after it was asked.
fn asked_about(steps: &[HandoverStepHeld]) -> Vec<Pseudonym> {
    let taken_since = |query: &HandoverStepHeld| {
        steps.iter().any(|step| {
            step.held.seq() > query.held.seq()
                && step.patient == query.patient
                && step.held.body.step == HandoverMove::Accepted
        })
    };
    let open = open_among(steps).into_iter();
    open.filter(|query| !taken_since(query))
        .filter_map(|query| query.patient)
        .collect()
}

impl Ward {
    /// Who has not been taken over, and in which handover: held back in the newest one that
    /// was accepted, or in one that waits.
    #[must_use]
    pub fn not_taken_over(&self) -> Vec<(Seq, Pseudonym)> {
        let newest = self.last_accepted().map(HandoverLife::seq);
        let lives = self.handovers().values();
        lives
            .filter(|life| life.is_pending() || Some(life.seq()) == newest)
            .flat_map(|life| {
                let held_back = life.patients_held_back().into_iter();
                held_back.map(|patient| (life.seq(), patient))
            })
            .collect()
    }

    /// The newest entry of the sheet on which a patient was last taken over, where `whole` is
    /// that of the sheet on which the ward was: for somebody held back then, an older one, and
    /// [`Seq::NONE`] for somebody who was never taken over.
    #[must_use]
    pub fn taken_over_with(&self, patient: Pseudonym, whole: Seq) -> Seq {
        // A sheet is drawn as its handover is written, so both are in the same order.
        let mut newest_first = self
            .handovers()
            .values()
            .rev()
            .filter(|life| life.sheet_head() <= whole && life.accepted().is_some());
        let held_back = |life: &HandoverLife| life.patients_held_back().contains(&patient);
        if !newest_first.next().is_some_and(held_back) {
            return whole;
        }
        let taken = newest_first.find(|life| !held_back(life));
        taken.map_or(Seq::NONE, HandoverLife::sheet_head)
    }
}

/// Whether somebody is on a shift that takes over from the giver at a moment: one that is on, or the
/// next to begin, and that the giver is not on. `None` where no such shift is entered.
#[must_use]
pub fn is_oncoming(
    shifts: &[Held<Shift>],
    moment: Timestamp,
    giver: Option<&Handle>,
    who: &Handle,
) -> Option<bool> {
    let next = shift_after(shifts, moment).map(|held| held.body.from.0);
    let takes_over = |held: &&Held<Shift>| {
        let shift = &held.body;
        let is_on = shift.from.0 <= moment && moment < shift.until.0;
        let gives = giver.is_some_and(|giver| shift.staff.contains(giver));
        (is_on || next == Some(shift.from.0)) && !gives
    };
    let mut oncoming = shifts.iter().filter(takes_over).peekable();
    oncoming.peek()?;
    Some(oncoming.any(|held| held.body.staff.contains(who)))
}

/// The shift that is on at a moment.
#[must_use]
pub fn shift_at(shifts: &[Held<Shift>], moment: Timestamp) -> Option<&Held<Shift>> {
    shifts
        .iter()
        .rev()
        .find(|held| held.body.from.0 <= moment && moment < held.body.until.0)
}

/// The first shift that begins after a moment.
#[must_use]
pub fn shift_after(shifts: &[Held<Shift>], moment: Timestamp) -> Option<&Held<Shift>> {
    shifts
        .iter()
        .filter(|held| held.body.from.0 > moment)
        .min_by_key(|held| held.body.from)
}
