//! What stands between the rest of the program and wherever the journal is kept: a head,
//! appending, and reading from a place. The file store is one answer; a shared engine can be
//! another without a change above.

use std::io;
use std::path::Path;
use std::sync::Arc;

use crate::journal::chain::Head;
use crate::journal::frame::{Frame, FrameFault};
use crate::journal::layout::Layout;
use crate::journal::recovery::FileFaults;
use crate::journal::sealing::{self, Payload, Seal, SealFault};
use crate::journal::signer::Signer;
use crate::record::ids::{EntryHash, EntryId, JournalId, PersonKey, Pseudonym, Seq};
use crate::record::time::Timestamp;

/// An entry that is to be appended.
#[derive(Clone)]
pub struct NewEntry {
    /// Chosen by whoever makes the entry, before the first attempt to append it, and kept for
    /// every further attempt.
    pub id: EntryId,
    /// When it was recorded, by the caller's clock.
    pub recorded_at: Timestamp,
    /// Number of the entry's kind.
    pub kind: u16,
    /// Version of the kind's fields.
    pub kind_version: u8,
    /// The patient it is about, or [`Pseudonym::ZERO`].
    pub patient: Pseudonym,
    /// Number of the payload's encoding.
    pub encoding: u8,
    /// At most [`crate::journal::PAYLOAD_BYTES_MAX`] bytes.
    pub payload: Vec<u8>,
    /// Signs it as its author.
    pub signer: Arc<dyn Signer>,
    /// How the payload is sealed; `None` leaves it in clear.
    pub seal: Option<Seal>,
}

/// What became of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Appended {
    /// Its place.
    pub seq: Seq,
    /// Its entry hash.
    pub hash: EntryHash,
    /// When it was recorded: the first time, if this is a repeat.
    pub recorded_at: Timestamp,
    /// Whether it was there before; then nothing was written.
    pub duplicate: bool,
}

/// Reading a journal. Every frame handed out fits its hash and follows the one before it, as
/// far as the one before is intact. Signatures are the verifier's business.
pub trait ReadJournal: Send + Sync {
    /// Which journal it is.
    fn journal(&self) -> JournalId;

    /// The newest entry this reader knows of.
    fn head(&self) -> Head;

    /// The entries from `seq` to the head as of now, in order. A damaged or missing entry is
    /// one `Err`, and the entries after it follow.
    fn read_from(&self, seq: Seq) -> Box<dyn Iterator<Item = Result<Frame, ReadError>> + '_>;

    /// One entry.
    ///
    /// # Errors
    /// [`ReadError::Missing`] if there is no such entry, else as [`ReadJournal::read_from`].
    fn read(&self, seq: Seq) -> Result<Frame, ReadError>;

    /// Where the entry with this id is, if it is in the journal.
    ///
    /// # Errors
    /// When the journal cannot be read. Damaged entries are passed over.
    fn find(&self, id: EntryId) -> Result<Option<Seq>, ReadError>;

    /// What an entry says, if it lies in clear or the reader was given its key.
    ///
    /// # Errors
    /// Why it cannot be had.
    fn payload<'a>(&self, frame: &'a Frame) -> Result<Payload<'a>, SealFault> {
        sealing::payload_of(frame, None)
    }

    /// What is wrong with the files beside what reading meets; above all, whether entries after
    /// the head were there once. Nothing where there are no files.
    fn faults(&self) -> FileFaults {
        FileFaults::default()
    }
}

/// A journal that can be appended to.
pub trait Store: ReadJournal {
    /// Appends the entries, all or none, after everything else that is there; returns when
    /// they are on stable storage. With `expect`, only if the head is still that one. An
    /// entry whose id is already in the journal is not written again.
    ///
    /// # Errors
    /// See [`AppendError`]; only [`AppendError::NotKnown`] leaves open what was recorded.
    fn append(
        &self,
        entries: Vec<NewEntry>,
        expect: Option<Head>,
    ) -> Result<Vec<Appended>, AppendError>;
}

/// Why entries were not appended. Unless a variant says otherwise, nothing was recorded.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AppendError {
    /// Somebody else appended first.
    #[error(
        "the journal has moved on: it stands at {}, not at {}; nothing was recorded",
        found.seq, expected.seq
    )]
    Conflict {
        /// The head the caller had seen.
        expected: Head,
        /// The head it is.
        found: Head,
    },
    /// An entry is too long.
    #[error("the entry has {bytes} bytes; {max} is the most; nothing was recorded")]
    TooLarge {
        /// The entry.
        id: EntryId,
        /// Its payload's bytes.
        bytes: usize,
        /// The most a payload may have.
        max: usize,
    },
    /// More entries than one append takes.
    #[error("{entries} entries at once; {max} is the most; nothing was recorded")]
    TooMany {
        /// How many were given.
        entries: usize,
        /// How many may be.
        max: usize,
    },
    /// The id belongs to a different entry.
    #[error("the entry id is already that of entry {seq}, which differs; nothing was recorded")]
    IdTaken {
        /// The id.
        id: EntryId,
        /// The entry that has it.
        seq: Seq,
    },
    /// No number is left for the entries.
    #[error("all entry numbers are used up; nothing was recorded")]
    NumbersUsedUp,
    /// A time that no entry can have.
    #[error(
        "the computer's clock says {}, which no entry can have; nothing was recorded, set the \
         clock and try again", at.rfc3339()
    )]
    Time {
        /// The time.
        at: Timestamp,
    },
    /// No room.
    #[error(
        "the disk is full: nothing was recorded, and nothing that was recorded before is lost; \
         make room and try again"
    )]
    DiskFull,
    /// The write failed and was undone.
    #[error("writing failed ({cause}): nothing was recorded")]
    WriteFailed {
        /// What the system said.
        cause: String,
    },
    /// The entries may or may not be recorded. Asking again with the same ids is safe, once
    /// the journal has been opened anew.
    #[error(
        "it is not known whether this was recorded ({cause}); open the journal again and ask again"
    )]
    NotKnown {
        /// The entries it is not known of.
        ids: Vec<EntryId>,
        /// What happened.
        cause: String,
    },
    /// An earlier flush failed or the writer has ended.
    #[error("writing is closed ({cause}): nothing was recorded; open the journal again")]
    Closed {
        /// What happened.
        cause: String,
    },
    /// Whether an id is new could not be found out.
    #[error("the journal could not be searched for the entry id: {0}; nothing was recorded")]
    Search(ReadError),
}

/// Why an entry cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// The entry's bytes are not what was written.
    #[error(
        "{} damaged: {what} (segment {}, byte {offset})",
        entries_are(*seq, *last), segment.0
    )]
    Damaged {
        /// The entry, by its place between its neighbours.
        seq: Seq,
        /// The last entry the damage swallowed; mostly `seq` itself.
        last: Seq,
        /// First entry of the segment it lies in.
        segment: Seq,
        /// Where in the segment.
        offset: u64,
        /// When it was recorded, if that can still be read.
        recorded_at: Option<Timestamp>,
        /// Who wrote it, if that can still be read.
        author: Option<PersonKey>,
        /// What is wrong.
        what: Box<Damage>,
    },
    /// Entries are not there.
    #[error("{} missing", entries_are(*first, *last))]
    Missing {
        /// The first that is not there.
        first: Seq,
        /// The last.
        last: Seq,
    },
    /// Entries lie in a part of the journal that says it is in a newer format.
    #[error(
        "{}: segment {} says that it is in format {found}, which this program does not read; \
         a newer handfast may show them",
        not_seen(*first, *last, *open_end), segment.0
    )]
    NewerFormat {
        /// The first entry that cannot be had.
        first: Seq,
        /// The last that is known to have been there; the one before `first` if none is.
        last: Seq,
        /// Whether there may be more after it.
        open_end: bool,
        /// First entry of the segment, by its name.
        segment: Seq,
        /// The format it says it is in.
        found: u16,
    },
    /// The folder or a file in it cannot be read.
    #[error("{path} cannot be read: {cause}")]
    Unreadable {
        /// The file or folder, from the journal's folder on.
        path: String,
        /// What the system said.
        cause: String,
    },
}

/// What is wrong with a damaged entry.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Damage {
    /// Its bytes.
    #[error(transparent)]
    Bytes(#[from] FrameFault),
    /// It is intact but does not continue the chain.
    #[error("it names {found} as the entry before it, which has {expected}")]
    Link {
        /// The hash of the entry before.
        expected: EntryHash,
        /// The hash it names.
        found: EntryHash,
    },
    /// It is intact but has another entry's number.
    #[error("it has the number of entry {found}")]
    OutOfPlace {
        /// The number it carries.
        found: Seq,
    },
}

impl ReadError {
    /// Whatever path the journal was opened by, an acceptance of this finding fits it again.
    pub(super) fn io(layout: &Layout, path: &Path, error: &io::Error) -> ReadError {
        let path = path.strip_prefix(layout.root()).unwrap_or(path);
        ReadError::Unreadable {
            path: path.display().to_string(),
            cause: error.to_string(),
        }
    }
}

impl ReadError {
    /// Which entries cannot be had, without the bytes: "entry #4 is damaged".
    #[must_use]
    pub fn in_short(&self) -> String {
        match self {
            ReadError::Damaged { seq, last, .. } => {
                format!("{} damaged", entries_are(*seq, *last))
            }
            ReadError::NewerFormat {
                first,
                last,
                open_end,
                ..
            } => format!("{} (newer format)", not_seen(*first, *last, *open_end)),
            ReadError::Missing { .. } | ReadError::Unreadable { .. } => self.to_string(),
        }
    }

    /// Whether it means that the entry `seq` cannot be had.
    pub(super) fn concerns(&self, wanted: Seq) -> bool {
        match self {
            ReadError::Damaged { seq, last, .. } => (*seq..=*last).contains(&wanted),
            ReadError::Missing { first, last } => (*first..=*last).contains(&wanted),
            ReadError::NewerFormat {
                first,
                last,
                open_end,
                ..
            } => wanted >= *first && (*open_end || wanted <= *last),
            ReadError::Unreadable { .. } => true,
        }
    }
}

/// "entries #2 to #4 are missing", and what may be missing after them.
fn not_seen(first: Seq, last: Seq, open_end: bool) -> String {
    let before = Seq(first.0.saturating_sub(1));
    match (first <= last, open_end) {
        (false, _) => format!("any entries after {before} are missing"),
        (true, false) => format!("{} missing", entries_are(first, last)),
        (true, true) => format!("{} missing, and any after {last}", entries_are(first, last)),
    }
}

/// "entry #2 is", "entries #2 to #4 are".
pub(super) fn entries_are(first: Seq, last: Seq) -> String {
    if first == last {
        format!("entry {first} is")
    } else {
        format!("entries {first} to {last} are")
    }
}
