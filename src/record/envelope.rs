//! What every entry says besides its own fields.

use serde::{Deserialize, Serialize};

use super::ids::Seq;
use super::role::Role;
use super::time::Timestamp;

/// Stands before the fields in every payload of encoding 1. Frozen: a change is a new
/// payload encoding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Envelope {
    /// When it happened, which is not when it was recorded.
    pub occurred_at: Timestamp,
    /// The writer gave the time as approximate.
    pub approximate: bool,
    /// The role in which the author wrote.
    pub role: Role,
    /// The patient's episode: the entry number of the admission.
    pub episode: Option<Seq>,
    /// Why it was written late, if it was.
    pub late_reason: Option<String>,
    /// Other entries it belongs with.
    pub related: Vec<Seq>,
    /// Fields whose unusual values the writer confirmed.
    pub confirmed: Vec<String>,
}
