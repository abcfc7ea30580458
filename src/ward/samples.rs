//! Samples and results: taken, arrived, resulted, seen, acted on.

use serde::{Deserialize, Serialize};

use super::held::Held;
use super::policy::Policy;
use crate::record::ids::Seq;
use crate::record::kind::sample::{LabResult, ResultReview, Sample, SampleMove, SampleStep};
use crate::record::time::Timestamp;

/// One sample and what became of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SampleLife {
    /// As it was taken.
    pub taken: Held<Sample>,
    /// Every step, by when it happened; of two at one moment the later written is later.
    pub steps: Vec<Held<SampleStep>>,
    /// Results that name it.
    pub results: Vec<Seq>,
}

impl SampleLife {
    /// A result is still to come.
    #[must_use]
    pub fn is_awaited(&self) -> bool {
        self.results.is_empty() && !self.has_failed()
    }

    /// Rejected or lost: nothing will come of it.
    #[must_use]
    pub fn has_failed(&self) -> bool {
        let last = self.steps.last().map(|step| step.body.step);
        matches!(last, Some(SampleMove::Rejected | SampleMove::Lost))
    }

    /// When its result should be there, while it is not.
    #[must_use]
    pub fn result_due(&self) -> Option<Timestamp> {
        if !self.is_awaited() {
            return None;
        }
        self.taken.body.result_by.map(|due| due.0)
    }
}

/// One result and who looked at it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ResultLife {
    /// As it was reported.
    pub reported: Held<LabResult>,
    /// Every review, by when it happened; of two at one moment the later written is later.
    pub reviews: Vec<Held<ResultReview>>,
}

impl ResultLife {
    /// Nobody has looked at it.
    #[must_use]
    pub fn is_unreviewed(&self) -> bool {
        self.reviews.is_empty()
    }

    /// The laboratory called it critical, or one of its values is by the ward's policy.
    #[must_use]
    pub fn is_critical(&self, policy: &Policy) -> bool {
        policy.calls_critical(&self.reported.body)
    }
}
