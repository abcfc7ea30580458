//! Wounds: one number for life, one series each.

use serde::{Deserialize, Serialize};

use super::held::Held;
use crate::record::kind::wound::{Dressing, MeasureMethod, WoundAssessment};
use crate::record::time::Timestamp;

/// One wound.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WoundLife {
    /// Its number.
    pub number: i32,
    /// Every assessment, by when it was made.
    pub assessments: Vec<Held<WoundAssessment>>,
    /// Every dressing without a full assessment, by when it was changed.
    pub dressings: Vec<Held<Dressing>>,
}

impl WoundLife {
    /// The newest assessment.
    #[must_use]
    pub fn newest(&self) -> Option<&Held<WoundAssessment>> {
        self.assessments.last()
    }

    /// Healed at the newest assessment.
    #[must_use]
    pub fn is_healed(&self) -> bool {
        self.newest()
            .is_some_and(|held| held.body.healed == Some(true))
    }

    /// How it has been measured from the start.
    #[must_use]
    pub fn method(&self) -> Option<MeasureMethod> {
        self.assessments.iter().find_map(|held| held.body.method)
    }

    /// When the dressing is to be changed next, by whichever was written last.
    #[must_use]
    pub fn next_change(&self) -> Option<Timestamp> {
        if self.is_healed() {
            return None;
        }
        let assessed = self
            .assessments
            .iter()
            .map(|held| (held.stamp.occurred_at, held.body.next_change));
        let dressed = self
            .dressings
            .iter()
            .map(|held| (held.stamp.occurred_at, held.body.next_change));
        let newest = assessed.chain(dressed).max_by_key(|(at, _)| *at)?;
        newest.1.map(|due| due.0)
    }

    /// Packing counted in and not yet counted out; `None` where a count is missing.
    #[must_use]
    pub fn packing_inside(&self) -> Option<i32> {
        let assessed = self.assessments.iter().map(|held| {
            (
                held.stamp.occurred_at,
                held.body.packing_in,
                held.body.packing_out,
            )
        });
        let dressed = self.dressings.iter().map(|held| {
            (
                held.stamp.occurred_at,
                held.body.packing_in,
                held.body.packing_out,
            )
        });
        let (_, inside, _) = assessed.chain(dressed).max_by_key(|(at, _, _)| *at)?;
        inside.map(|count| count.0)
    }
}
