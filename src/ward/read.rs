//! From a frame of the journal to an entry with meaning.

use crate::journal::{Frame, Opening, Payload, ReadJournal, SealFault, open_with, payload_of};
use crate::record::codec;
use crate::record::entry::Entry;
use crate::record::ids::{EntryHash, PersonKey, Pseudonym, Seq};
use crate::record::time::Timestamp;

/// What a frame turns out to hold.
#[derive(Debug, Clone)]
pub enum Read {
    /// An entry.
    Entry(Box<Entry>),
    /// Something this version of the program cannot read.
    Unreadable(Unreadable),
}

/// A frame that is intact and whose payload this program cannot read: mostly one written by
/// a newer program. It is shown as such and never dropped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    /// Which entry.
    pub seq: Seq,
    /// Its hash.
    pub hash: EntryHash,
    /// When it was written.
    pub recorded_at: Timestamp,
    /// Who wrote it.
    pub author: PersonKey,
    /// Which patient, if any.
    pub patient: Option<Pseudonym>,
    /// Kind, by number.
    pub kind: u16,
    /// Why it cannot be read.
    pub why: String,
    /// Why it was not opened, if it is sealed.
    pub sealed: Option<SealFault>,
}

impl Unreadable {
    /// That it cannot be read, in a line.
    #[must_use]
    pub fn in_short(&self) -> String {
        format!("entry {} cannot be read by this program", self.seq)
    }
}

impl Read {
    /// Decodes a frame's payload where it lies in clear; what is sealed stays so.
    #[must_use]
    pub fn from_frame(frame: &Frame) -> Read {
        Read::with_payload(frame, payload_of(frame, None))
    }

    /// Decodes a frame's payload, opened with the keys the journal's reader was given.
    #[must_use]
    pub fn of(journal: &dyn ReadJournal, frame: &Frame) -> Read {
        Read::with_payload(frame, journal.payload(frame))
    }

    /// Decodes a sealed frame's payload, opened with what was given for it alone.
    #[must_use]
    pub fn opened_with(frame: &Frame, opening: &Opening) -> Read {
        Read::with_payload(frame, open_with(frame, opening))
    }

    fn with_payload(frame: &Frame, payload: Result<Payload<'_>, SealFault>) -> Read {
        let header = frame.header();
        let patient = Some(header.patient).filter(|patient| *patient != Pseudonym::ZERO);
        let unreadable = |why: String, sealed| {
            Read::Unreadable(Unreadable {
                seq: frame.seq(),
                hash: frame.hash(),
                recorded_at: header.recorded_at,
                author: header.author,
                patient,
                kind: header.kind,
                why,
                sealed,
            })
        };
        let payload = match payload {
            Ok(payload) => payload,
            Err(fault) => return unreadable(fault.to_string(), Some(fault)),
        };
        let (kind, version) = (header.kind, header.kind_version);
        match codec::decode(kind, version, header.encoding, &payload) {
            Ok((envelope, body)) => Read::Entry(Box::new(Entry {
                seq: frame.seq(),
                hash: frame.hash(),
                id: header.id,
                recorded_at: header.recorded_at,
                author: header.author,
                patient,
                envelope,
                body,
            })),
            Err(error) => unreadable(error.to_string(), None),
        }
    }

    /// The entry, if it could be read.
    #[must_use]
    pub fn entry(&self) -> Option<&Entry> {
        match self {
            Read::Entry(entry) => Some(entry),
            Read::Unreadable(_) => None,
        }
    }
}
