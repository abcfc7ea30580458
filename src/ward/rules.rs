//! What an entry must hold to whoever writes it, beside the rights table: asked by `submit`
//! before an entry is written, by the fold when it takes one in, and by the judge that
//! verification asks afterwards.

use super::Ward;
use super::shifts::HandoverLife;
use crate::record::entry::Entry;
use crate::record::ids::{EntryHash, Pseudonym, Seq};
use crate::record::kind::Body;
use crate::record::kind::shift::{Handover, HandoverMove, HandoverStep};
use crate::record::kind::ward::{StaffChanged, StaffMove};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::{Span, Timestamp};

use super::log::replaced;

/// Computers on a ward whose clocks are further apart than this are not all right. No source:
/// a day is longer than any shift and than any mistake in the time zone.
const CLOCKS_APART_MAX: Span = Span::hours(24);

/// Whether something is said to have happened later than it was recorded.
#[must_use]
pub fn is_to_come(occurred_at: Timestamp, recorded_at: Timestamp) -> bool {
    occurred_at > recorded_at
}

/// Whether one clock is ahead of another by more than clocks may be.
#[must_use]
pub fn is_far_ahead(ahead: Timestamp, of: Timestamp) -> bool {
    ahead > of.plus(CLOCKS_APART_MAX)
}

/// Why somebody's verdict on a handover does not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoVerdict {
    /// It was accepted or declined before.
    Settled,
    /// They gave it.
    OwnHandover,
}

impl NoVerdict {
    /// What the entry does that it should not, before the handover's number.
    #[must_use]
    pub const fn in_words(self) -> &'static str {
        match self {
            NoVerdict::Settled => "settles once more",
            NoVerdict::OwnHandover => "is an acceptance by whoever gave",
        }
    }
}

/// Whether a step that accepts or declines may be taken by this person. A patient held back is
/// taken one by one, also after the rest was accepted.
///
/// # Errors
/// Why not.
pub fn verdict(
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

/// What an entry by somebody who might write it breaks all the same, in a sentence's second
/// half, by the entries folded before it. `before` is the entry just before it, where that is
/// known.
pub(super) fn broken(
    ward: &Ward,
    entry: &Entry,
    by: &Handle,
    before: Option<(Seq, EntryHash)>,
) -> Option<String> {
    if is_to_come(entry.envelope.occurred_at, entry.recorded_at) {
        return Some(to_come(entry.envelope.occurred_at, entry.recorded_at));
    }
    match &entry.body {
        Body::Amendment(amendment) => {
            let (envelope, _) = replaced(amendment.replacement.as_ref()?)?;
            is_to_come(envelope.occurred_at, entry.recorded_at)
                .then(|| CORRECTED_TO_COME.to_owned())
        }
        Body::Handover(handover) => drawn_from(handover, entry.seq, before?),
        Body::HandoverStep(step) => {
            let life = ward.handovers().get(&step.handover)?;
            broken_step(life, step, by, entry.patient)
        }
        _ => None,
    }
}

/// Whether a change of staff would leave nobody who can change staff.
#[must_use]
pub fn leaves_no_keeper(ward: &Ward, changed: &StaffChanged) -> bool {
    let ends = match changed.change {
        StaffMove::Suspended => true,
        StaffMove::RoleChanged => changed.role.is_some_and(|role| role != Role::Keeper),
        StaffMove::Reinstated | StaffMove::KeyReplaced => false,
    };
    let mut keepers = ward
        .roster()
        .filter(|staff| staff.role == Role::Keeper && !staff.is_suspended());
    ends && keepers.all(|staff| staff.handle == changed.handle)
        && ward
            .staff(&changed.handle)
            .is_some_and(|staff| staff.role == Role::Keeper && !staff.is_suspended())
}

/// That something is said to have happened after it was recorded.
#[must_use]
pub fn to_come(occurred_at: Timestamp, recorded_at: Timestamp) -> String {
    let ahead = occurred_at.since(recorded_at).spoken();
    format!("says it happened {ahead} after it was recorded")
}

/// Said of a correction whose time lies after it.
pub const CORRECTED_TO_COME: &str = "corrects the time it happened to one after the correction";

/// A sheet is drawn from everything before it, no more and no less: what is wrong with the entry
/// that a handover names as its sheet's last.
#[must_use]
pub fn drawn_from(handover: &Handover, prepared: Seq, before: (Seq, EntryHash)) -> Option<String> {
    let sheet = handover.sheet.as_ref()?;
    let right = sheet.head_seq.next() == prepared && (sheet.head_seq, sheet.head_hash) == before;
    (!right).then(|| {
        format!(
            "names a sheet drawn from {}, and not from the entry before it",
            sheet.head_seq
        )
    })
}

/// What is wrong with a step of a handover, if something is.
#[must_use]
pub fn broken_step(
    life: &HandoverLife,
    step: &HandoverStep,
    by: &Handle,
    patient: Option<Pseudonym>,
) -> Option<String> {
    if let Err(broken) = verdict(life, step.step, by, patient) {
        return Some(format!("{} {}", broken.in_words(), step.handover));
    }
    let named = life.prepared.body.sheet.as_ref().map(|sheet| sheet.digest);
    let accepts = step.step == HandoverMove::Accepted;
    (accepts && step.digest != named).then(|| {
        format!(
            "accepts another sheet than {} was prepared with: {} instead of {}",
            step.handover,
            step.digest
                .map_or_else(|| "none".to_owned(), |digest| digest.short()),
            named.map_or_else(|| "none".to_owned(), |digest| digest.short()),
        )
    })
}
