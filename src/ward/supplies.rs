//! What is on its way to the patient or in the house: supplies, lines, kit.

use serde::{Deserialize, Serialize};

use super::held::Held;
use crate::record::ids::Seq;
use crate::record::kind::supply::{
    BodyLine, Kit, KitMove, KitStep, LineCare, LineMove, Supply, SupplyMove, SupplyStep,
};
use crate::record::time::Timestamp;

/// One supply and where it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SupplyLife {
    /// As it was asked for.
    pub asked: Held<Supply>,
    /// Every step, by when it happened; of two at one moment the later written is later.
    pub steps: Vec<Held<SupplyStep>>,
}

impl SupplyLife {
    /// The patient does not have it and still needs it. What was returned or lost stays open
    /// until it is delivered, destroyed, or stated to be no longer needed.
    #[must_use]
    pub fn is_open(&self) -> bool {
        !self
            .steps
            .iter()
            .any(|step| step.body.no_longer_needed == Some(true))
            && !self.where_it_is().is_some_and(SupplyMove::is_final)
    }

    /// The newest step; `None` before the first.
    #[must_use]
    pub fn where_it_is(&self) -> Option<SupplyMove> {
        self.steps.last().map(|step| step.body.step)
    }

    /// The dose that was said to be missed, newest first.
    #[must_use]
    pub fn dose_missed(&self) -> Option<&str> {
        self.steps
            .iter()
            .rev()
            .find_map(|step| step.body.dose_missed.as_ref())
            .map(|l| l.as_str())
    }
}

/// One line or device in the patient.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineLife {
    /// As it was found or put in.
    pub found: Held<BodyLine>,
    /// Every care, by when it happened; of two at one moment the later written is later.
    pub care: Vec<Held<LineCare>>,
}

impl LineLife {
    /// The entry that introduced it.
    #[must_use]
    pub const fn seq(&self) -> Seq {
        self.found.seq()
    }

    /// Still in the patient.
    #[must_use]
    pub fn is_in(&self) -> bool {
        !self
            .care
            .iter()
            .any(|care| care.body.step == LineMove::Removed)
    }

    /// The newest site score.
    #[must_use]
    pub fn site_score(&self) -> Option<i32> {
        self.care
            .iter()
            .rev()
            .find_map(|care| care.body.site_score)
            .map(|score| score.0)
    }

    /// When care is due next.
    #[must_use]
    pub fn next_care(&self) -> Option<Timestamp> {
        if !self.is_in() {
            return None;
        }
        let newest = self.care.last().map(|care| care.body.next_care);
        newest.unwrap_or(self.found.body.next_care).map(|due| due.0)
    }
}

/// One piece of monitoring kit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KitLife {
    /// As it was issued.
    pub issued: Held<Kit>,
    /// Every step, by when it happened; of two at one moment the later written is later.
    pub steps: Vec<Held<KitStep>>,
}

impl KitLife {
    /// Still in the house.
    #[must_use]
    pub fn is_out(&self) -> bool {
        self.steps
            .last()
            .is_none_or(|step| step.body.step != KitMove::Returned)
    }

    /// It measures nothing now: flat battery, out of range, or fault, with the moment it began.
    #[must_use]
    pub fn silent_since(&self) -> Option<(KitMove, Timestamp)> {
        let last = self
            .steps
            .last()
            .filter(|step| step.body.step.is_silent())?;
        Some((last.body.step, last.stamp.occurred_at))
    }

    /// Serial number now.
    #[must_use]
    pub fn serial(&self) -> &str {
        let swapped = self
            .steps
            .iter()
            .rev()
            .find_map(|step| step.body.serial.as_ref());
        swapped.unwrap_or(&self.issued.body.serial).as_str()
    }
}
