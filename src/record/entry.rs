//! One entry as everyone above the journal sees it.

use super::envelope::Envelope;
use super::ids::{EntryHash, EntryId, PersonKey, Pseudonym, Seq};
use super::kind::{Body, Kind};
use super::time::{Span, Timestamp};

/// One immutable record, decoded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Place in the journal.
    pub seq: Seq,
    /// Hash of the whole frame.
    pub hash: EntryHash,
    /// Chosen by the writer.
    pub id: EntryId,
    /// When it was written.
    pub recorded_at: Timestamp,
    /// Who wrote it.
    pub author: PersonKey,
    /// Which patient, if any.
    pub patient: Option<Pseudonym>,
    /// What every entry says.
    pub envelope: Envelope,
    /// Its own fields.
    pub body: Body,
}

impl Entry {
    /// Which kind it is.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        self.body.kind()
    }

    /// When it happened.
    #[must_use]
    pub const fn occurred_at(&self) -> Timestamp {
        self.envelope.occurred_at
    }

    /// How long after it happened it was written; never negative.
    #[must_use]
    pub fn delay(&self) -> Span {
        self.recorded_at
            .since(self.envelope.occurred_at)
            .max(Span::ZERO)
    }
}
