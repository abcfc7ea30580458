//! What makes the record provable to outsiders: the ward's own key, and statements of where the
//! journal stood.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::ids::{PersonKey, TreeHash};
use crate::record::text::Line;

fields! {
    /// The ward's own signing key, which signs checkpoints, is made or replaced.
    WardKey {
        /// Why it is made or replaced.
        reason: Option<Line>,
    }
    seen {
        /// Public signing key. Filled in by the program.
        key: Option<PersonKey>,
    }
}

impl CrossCheck for WardKey {
    fn cross_check(&self, _: &mut Findings) {}
}

choices! {
    /// Why a checkpoint is made.
    CheckpointCause {
        Asked = "asked", "asked for";
        Handover = "handover", "with an accepted handover";
        Day = "day", "first act of the day";
    }
}

/// What a checkpoint states of the entries before it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct StatedTree {
    /// How many leaves the tree over the entries before this one has.
    pub size: u64,
    /// Its root.
    pub root: TreeHash,
    /// How many patients have entries among them.
    pub patients: u64,
    /// Root of the tree over what each of these patients has.
    pub patients_root: TreeHash,
}

fields! {
    /// States where the journal stands, and what each patient has in it.
    Checkpoint {
        /// Why it is made.
        cause: CheckpointCause,
    }
    seen {
        /// What is stated of the entries before. Filled in by the program.
        stated: Option<StatedTree>,
    }
}

impl CrossCheck for Checkpoint {
    fn cross_check(&self, _: &mut Findings) {}
}
