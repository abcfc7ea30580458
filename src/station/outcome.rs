//! What comes back when somebody asks the station to record something.

use super::id_source::NoRandom;
use super::sealing::SealingError;
use crate::journal::{OpenError, ReadError};
use crate::record::codec::EncodeError;
use crate::record::draft::Draft;
use crate::record::ids::{EntryHash, EntryId, Pseudonym, Seq};
use crate::record::kind::Kind;
use crate::record::person::Handle;
use crate::record::problem::{Refusal, Unusual};
use crate::record::role::Role;
use crate::record::time::Timestamp;

/// An entry stands in the journal, on stable storage.
#[derive(Debug, Clone)]
pub struct Receipt {
    /// Its number.
    pub seq: Seq,
    /// Its hash.
    pub hash: EntryHash,
    /// When it was recorded.
    pub recorded_at: Timestamp,
    /// What kind it is.
    pub kind: Kind,
    /// Which patient it is about.
    pub patient: Option<Pseudonym>,
    /// The patient's slot, if there is one.
    pub slot: Option<String>,
    /// What it changed, in sentences.
    pub changed: Vec<String>,
    /// What could be done next, one key each.
    pub offers: Vec<Offer>,
}

/// Something the writer may want to do next.
#[derive(Debug, Clone)]
pub struct Offer {
    /// The key that takes it.
    pub key: char,
    /// What it does.
    pub label: String,
    /// The entry it would make; some fields may still be missing.
    pub draft: Draft,
}

/// Why nothing was recorded, or why that is not known. What was typed is still with the
/// caller in every case.
#[derive(Debug, thiserror::Error)]
pub enum SubmitError {
    /// Something in it cannot be taken.
    #[error("{}", list(.0))]
    Refused(Vec<Refusal>),
    /// Something in it is unusual and was not confirmed.
    #[error("please confirm: {}", list(.0))]
    Confirm(Vec<Unusual>),
    /// Not this person's to write.
    #[error(
        "{} may not write \"{}\"; it can be written by: {}",
        role.with_article(), kind.name(), roles(allowed)
    )]
    NotAllowed {
        /// The role that was refused.
        role: Role,
        /// What it wanted to write.
        kind: Kind,
        /// Who may.
        allowed: Vec<Role>,
    },
    /// The person is not, or no longer, on the staff.
    #[error("{handle} may not write here: {why}")]
    NotStaff {
        /// Who.
        handle: Handle,
        /// Enrolment missing, suspended, or another key.
        why: &'static str,
    },
    /// A colleague has this alert.
    #[error(
        "alert {alert} is with {by} since {since}; take it over with take_over=yes if you have agreed that"
    )]
    Taken {
        /// Which alert.
        alert: Seq,
        /// Who has it.
        by: String,
        /// Since when, on the ward's clock.
        since: String,
    },
    /// The flush failed and reopening could not settle it.
    #[error(
        "not known whether {} ({cause}); do not enter it again: `handfast settle {id}` will say{}",
        were_recorded(*id, further), then_settle(further)
    )]
    NotKnown {
        /// The entry's own id.
        id: EntryId,
        /// Those that were written with it, in order: any number of them from the first on may
        /// have been recorded, and none without those before it.
        further: Vec<EntryId>,
        /// What happened.
        cause: String,
    },
    /// Something recorded earlier is damaged, and no keeper has accepted that yet.
    #[error(
        "the journal is damaged ({}); it can be read, but nothing is written until a keeper accepts the report",
        places.join("; ")
    )]
    Damaged {
        /// One sentence for each place.
        places: Vec<String>,
    },
    /// The journal cannot be opened for writing.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The journal cannot be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The journal took nothing.
    #[error(transparent)]
    Append(crate::journal::AppendError),
    /// The entry is too long.
    #[error(transparent)]
    Encode(#[from] EncodeError),
    /// The keys to sealed records are not at hand.
    #[error("{0}; nothing was recorded")]
    Sealing(#[from] SealingError),
    /// The operating system gave no random bytes.
    #[error("{0}; nothing was recorded")]
    Random(#[from] NoRandom),
}

impl SubmitError {
    /// Nothing is written until a keeper has accepted what is damaged.
    #[must_use]
    pub const fn is_damage(&self) -> bool {
        matches!(
            self,
            SubmitError::Damaged { .. } | SubmitError::Open(OpenError::Damaged { .. })
        )
    }

    /// One refusal about the whole entry.
    pub(super) fn refuse(what: impl Into<String>, accepted: impl Into<String>) -> SubmitError {
        SubmitError::Refused(vec![Refusal::whole(what, accepted)])
    }

    /// One refusal about one field.
    pub(super) fn refuse_field(
        field: &str,
        what: impl Into<String>,
        accepted: impl Into<String>,
    ) -> SubmitError {
        SubmitError::Refused(vec![Refusal::field(field, what, accepted)])
    }
}

fn list<T: std::fmt::Display>(items: &[T]) -> String {
    let lines: Vec<String> = items.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

fn were_recorded(id: EntryId, further: &[EntryId]) -> String {
    if further.is_empty() {
        return format!("entry {id} was recorded");
    }
    format!("entry {id} and {} with it were recorded", further.len())
}

fn then_settle(further: &[EntryId]) -> String {
    if further.is_empty() {
        return String::new();
    }
    let ids: Vec<String> = further.iter().map(ToString::to_string).collect();
    format!(" of it, and then of {}", ids.join(", "))
}

fn roles(roles: &[Role]) -> String {
    let labels: Vec<String> = roles
        .iter()
        .map(|role| role.label().to_lowercase())
        .collect();
    labels.join(", ")
}
