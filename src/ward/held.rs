//! An entry's fields together with who wrote them and when.

use serde::{Deserialize, Serialize};

use super::proof::Doubt;
use crate::record::entry::Entry;
use crate::record::ids::{PersonKey, Seq};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::record::time::{Span, Timestamp};

/// Who wrote an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Author {
    /// Somebody on the staff, in the role in which they wrote.
    Staff(Handle, Role),
    /// A key that nobody on the staff has.
    Unknown(PersonKey),
    /// Somebody who may be another than the key's owner.
    Unproved(PersonKey, Doubt),
}

impl Author {
    /// The handle, if it is somebody on the staff.
    #[must_use]
    pub const fn handle(&self) -> Option<&Handle> {
        match self {
            Author::Staff(handle, _) => Some(handle),
            Author::Unknown(_) | Author::Unproved(..) => None,
        }
    }

    /// Whether this handle wrote it.
    #[must_use]
    pub fn is(&self, handle: &Handle) -> bool {
        self.handle() == Some(handle)
    }
}

impl std::fmt::Display for Author {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Author::Staff(handle, role) => write!(f, "{handle} ({})", role.short()),
            Author::Unknown(key) => write!(f, "unknown key {}", key.short()),
            Author::Unproved(key, doubt) => write!(f, "{doubt} (key {})", key.short()),
        }
    }
}

/// Who wrote it, which entry it is, when it happened and when it was recorded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    /// The entry.
    pub seq: Seq,
    /// When it happened.
    pub occurred_at: Timestamp,
    /// The time was given as approximate.
    pub approximate: bool,
    /// When it was written.
    pub recorded_at: Timestamp,
    /// Who wrote it.
    pub author: Author,
    /// Entries it belongs with: of an answer, the question.
    pub related: Vec<Seq>,
    /// It does not count as its author's word: it opens something or stands beside what is
    /// proven, and takes the place of nothing.
    pub limited: bool,
}

impl Stamp {
    /// Of one entry.
    #[must_use]
    pub fn of(entry: &Entry, author: Author) -> Stamp {
        Stamp {
            seq: entry.seq,
            occurred_at: entry.envelope.occurred_at,
            approximate: entry.envelope.approximate,
            recorded_at: entry.recorded_at,
            author,
            related: entry.envelope.related.clone(),
            limited: false,
        }
    }

    /// The same of an entry of which only what it opens counts, if it is one. It belongs with
    /// no other: that is how a note answers a question.
    #[must_use]
    pub(super) fn limited(mut self, limited: bool) -> Stamp {
        self.limited = limited;
        if limited {
            self.related.clear();
        }
        self
    }

    /// How long after it happened it was written.
    #[must_use]
    pub fn delay(&self) -> Span {
        self.recorded_at.since(self.occurred_at).max(Span::ZERO)
    }
}

/// Fields with their stamp.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Held<T> {
    /// Who and when.
    pub stamp: Stamp,
    /// The fields.
    pub body: T,
}

impl<T> Held<T> {
    /// Both.
    pub const fn new(stamp: Stamp, body: T) -> Held<T> {
        Held { stamp, body }
    }

    /// The entry.
    pub const fn seq(&self) -> Seq {
        self.stamp.seq
    }
}
