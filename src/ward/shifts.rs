//! Shifts and handovers.

use serde::{Deserialize, Serialize};

use super::held::{Held, Stamp};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::shift::{Handover, HandoverMove, HandoverStep, Shift};
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
        let answered: Vec<Seq> = self
            .steps
            .iter()
            .filter_map(|s| s.held.body.query)
            .collect();
        self.steps
            .iter()
            .filter(|step| step.held.body.step == HandoverMove::Query)
            .filter(|step| !answered.contains(&step.held.seq()))
            .collect()
    }

    /// Patients the receiver has not accepted: declined one by one and not accepted since.
    #[must_use]
    pub fn patients_held_back(&self) -> Vec<Pseudonym> {
        let mut held_back = Vec::new();
        for step in &self.steps {
            let Some(patient) = step.patient else {
                continue;
            };
            match step.held.body.step {
                HandoverMove::Declined if !held_back.contains(&patient) => held_back.push(patient),
                HandoverMove::Accepted => held_back.retain(|held| *held != patient),
                _ => {}
            }
        }
        held_back
    }
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
