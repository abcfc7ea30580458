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

    /// What packing is in the wound, by every count in the order of the changes.
    #[must_use]
    pub fn packing(&self) -> Packing {
        let assessed = self
            .assessments
            .iter()
            .map(|held| (&held.stamp, held.body.packing_out, held.body.packing_in));
        let dressed = self
            .dressings
            .iter()
            .map(|held| (&held.stamp, held.body.packing_out, held.body.packing_in));
        let mut changes: Vec<_> = assessed.chain(dressed).collect();
        changes.sort_by_key(|(stamp, _, _)| (stamp.occurred_at, stamp.seq));
        let mut packing = Packing {
            inside: 0,
            is_counted: true,
        };
        for (_, out, put_in) in changes {
            packing.change(out.map(|count| count.0), put_in.map(|count| count.0));
        }
        packing
    }
}

/// Packing in a wound, as counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Packing {
    /// Pieces counted in and not yet counted out; at least so many.
    pub inside: i32,
    /// Every count is there and they agree. Once one is missing it stays so until that entry
    /// is corrected: nothing written later says what was left in before.
    pub is_counted: bool,
}

impl Packing {
    fn change(&mut self, out: Option<i32>, put_in: Option<i32>) {
        match out {
            Some(out) => {
                self.is_counted &= out <= self.inside;
                self.inside = self.inside.saturating_sub(out).max(0);
            }
            // There was packing, and nobody said what became of it.
            None if self.inside > 0 => {
                self.is_counted = false;
                self.inside = 0;
            }
            None => {}
        }
        self.inside = self.inside.saturating_add(put_in.unwrap_or(0));
    }
}
