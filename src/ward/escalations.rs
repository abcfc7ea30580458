//! Escalations: open until somebody answered and it was closed.

use serde::{Deserialize, Serialize};

use super::held::Held;
use crate::record::ids::Seq;
use crate::record::kind::alert::{Escalation, EscalationMove, EscalationStep};
use crate::record::time::Timestamp;

/// One escalation and what became of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EscalationLife {
    /// As it was made.
    pub made: Held<Escalation>,
    /// Every step, by when it happened; of two at one moment the later written is later.
    pub steps: Vec<Held<EscalationStep>>,
}

impl EscalationLife {
    /// The entry that made it.
    #[must_use]
    pub const fn seq(&self) -> Seq {
        self.made.seq()
    }

    /// Not closed.
    #[must_use]
    pub fn is_open(&self) -> bool {
        !self
            .steps
            .iter()
            .any(|step| step.body.step == EscalationMove::Closed)
    }

    /// The newest answer.
    #[must_use]
    pub fn answer(&self) -> Option<&Held<EscalationStep>> {
        self.steps
            .iter()
            .rev()
            .find(|step| step.body.step == EscalationMove::Answered)
    }

    /// By when an answer is needed, while there is none.
    #[must_use]
    pub fn answer_due(&self) -> Option<Timestamp> {
        if self.answer().is_some() {
            return None;
        }
        self.made.body.answer_by.map(|due| due.0)
    }

    /// When the agreed plan is to be looked at again, until it was.
    #[must_use]
    pub fn review_due(&self) -> Option<Timestamp> {
        let at = self
            .steps
            .iter()
            .rposition(|step| step.body.review_at.is_some())?;
        let later = &self.steps[at + 1..];
        if later
            .iter()
            .any(|step| step.body.step == EscalationMove::Reviewed)
        {
            return None;
        }
        self.steps[at].body.review_at.map(|due| due.0)
    }
}
