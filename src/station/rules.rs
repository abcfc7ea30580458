//! What an entry must hold to whoever writes it, beside the rights table: asked by `submit`
//! before an entry is written, and by the judge that verification asks afterwards.

use crate::record::ids::Pseudonym;
use crate::record::kind::shift::HandoverMove;
use crate::record::person::Handle;
use crate::record::time::{Span, Timestamp};
use crate::ward::shifts::HandoverLife;

/// Computers on a ward whose clocks are further apart than this are not all right. No source:
/// a day is longer than any shift and than any mistake in the time zone.
const CLOCKS_APART_MAX: Span = Span::hours(24);

/// Whether something is said to have happened later than it was recorded.
pub(super) fn is_to_come(occurred_at: Timestamp, recorded_at: Timestamp) -> bool {
    occurred_at > recorded_at
}

/// Whether one clock is ahead of another by more than clocks may be.
pub(super) fn is_far_ahead(ahead: Timestamp, of: Timestamp) -> bool {
    ahead > of.plus(CLOCKS_APART_MAX)
}

/// Why somebody's verdict on a handover does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoVerdict {
    /// It was accepted or declined before.
    Settled,
    /// They gave it.
    OwnHandover,
}

impl NoVerdict {
    /// What the entry does that it should not, before the handover's number.
    pub const fn in_words(self) -> &'static str {
        match self {
            NoVerdict::Settled => "settles once more",
            NoVerdict::OwnHandover => "is an acceptance by whoever gave",
        }
    }
}

/// Whether a step that accepts or declines may be taken by this person. A patient held back is
/// taken one by one, also after the rest was accepted.
pub(super) fn verdict(
    life: &HandoverLife,
    step: HandoverMove,
    by: &Handle,
    patient: Option<Pseudonym>,
) -> Result<(), NoVerdict> {
    let held_back = patient.is_some_and(|one| life.patients_held_back().contains(&one));
    let settles = matches!(step, HandoverMove::Accepted | HandoverMove::Declined);
    if settles && !life.is_pending() && !held_back {
        return Err(NoVerdict::Settled);
    }
    if step == HandoverMove::Accepted && life.prepared.stamp.author.is(by) {
        return Err(NoVerdict::OwnHandover);
    }
    Ok(())
}
