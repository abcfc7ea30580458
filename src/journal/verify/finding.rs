//! What verification can find: one variant per thing that can be wrong, with expected and
//! actual, as data.

use crate::journal::disk::FileKind;
use crate::journal::frame::FrameFault;
use crate::journal::segment::{BadStretch, SegmentFault};
use crate::record::ids::{EntryHash, JournalId, PersonKey, Seq, TreeHash};
use crate::record::time::Timestamp;

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Worth knowing; nothing recorded is in question.
    Note,
    /// What is there is unaltered, but not all of it could be judged.
    Unjudged,
    /// What is there is unaltered, but the journal may have gone on: its end is torn, or nothing
    /// vouches for it.
    End,
    /// What it was to be held against is of something else.
    Untested,
    /// Something recorded was altered, removed, inserted or cannot be trusted.
    Fault,
}

/// One thing that is wrong, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it weighs.
    pub level: Level,
    /// The entry it is about, or the first of several.
    pub seq: Option<Seq>,
    /// The last entry it is about.
    pub last: Option<Seq>,
    /// When that entry was recorded, where it can still be read.
    pub recorded_at: Option<Timestamp>,
    /// Who wrote it, where it can still be read.
    pub author: Option<PersonKey>,
    /// Whether time and author are only what an altered header now says.
    pub claimed: bool,
    /// First entry of the segment it lies in, by the segment's name.
    pub segment: Option<Seq>,
    /// Where in the segment, in bytes.
    pub offset: Option<u64>,
    /// What is wrong.
    pub what: Wrong,
}

/// What is wrong.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Wrong {
    /// An entry's bytes.
    #[error(transparent)]
    Bytes(FrameFault),
    /// The newest bytes are no whole entry: an append was cut short.
    #[error("the journal ends with {bytes} bytes of an unfinished entry ({fault})")]
    TornTail {
        /// How many bytes.
        bytes: u64,
        /// What they lack.
        fault: FrameFault,
    },
    /// The newest entries are part of an append whose rest is not there.
    #[error("{missing} more entries of the same append should follow")]
    TornGroup {
        /// How many are not there.
        missing: u16,
    },
    /// An entry's place among those appended with it.
    #[error("{found} entries of the same append should follow it, {expected} were announced")]
    Group {
        /// What the entry before announced.
        expected: u16,
        /// What it says itself.
        found: u16,
    },
    /// Entries are not there.
    #[error("missing from the journal")]
    Missing,
    /// Entries are not there, and somebody knows that they were.
    #[error("missing from the end of the journal; {known_from} says the journal reached them")]
    MissingAtEnd {
        /// Who knows.
        known_from: &'static str,
    },
    /// The last segment holds no entry.
    #[error(
        "the newest file holds no entry: either it was just begun when writing stopped, or \
         entries were cut off it"
    )]
    NoEntryInLast,
    /// Nothing says that this is the newest entry.
    #[error(
        "nothing vouches that this is the last entry ({why}): a computer that stopped in the \
         middle leaves it so, and so does somebody who cuts newer entries off"
    )]
    EndNotVouched {
        /// What is missing.
        why: &'static str,
    },
    /// Something that should be a file is none.
    #[error("{name:?} is {found}, not a file; it was not followed nor read")]
    NotAFile {
        /// Its name.
        name: String,
        /// What it is.
        found: FileKind,
    },
    /// A segment begins with an entry that an earlier one holds.
    #[error("the segment begins with {found}, but the entries before it go on to {before}")]
    SegmentOverlaps {
        /// What it begins with, by its name.
        found: Seq,
        /// The newest entry before it.
        before: Seq,
    },
    /// An entry stands where it does not belong: a repeat, or out of order.
    #[error("stands where {expected} should be")]
    OutOfOrder {
        /// The entry that should be there.
        expected: Seq,
    },
    /// The chain is broken.
    #[error("names {found} as the entry before it; that one has {expected}")]
    Link {
        /// The hash of the entry before.
        expected: EntryHash,
        /// The hash it names.
        found: EntryHash,
    },
    /// The signature is not its author's.
    #[error("the signature is not that of the author it names")]
    Signature,
    /// The entry differs from the one that somebody remembers.
    #[error("has the hash {found}; {known_from} says {expected}")]
    Replaced {
        /// Who remembers.
        known_from: &'static str,
        /// The hash remembered.
        expected: EntryHash,
        /// The hash found.
        found: EntryHash,
    },
    /// Two entries with one id.
    #[error("has the same entry id as {first}")]
    RepeatedId {
        /// The earlier one.
        first: Seq,
    },
    /// Header bytes that format 1 leaves zero.
    #[error("uses header fields that format 1 leaves empty")]
    Reserved,
    /// Its sealing is none that format 1 knows.
    #[error("says that it is sealed in a way that format 1 does not have")]
    Sealing,
    /// It claims to have known of a later flush.
    #[error("says that entry {found} was flushed before it was written")]
    SyncedThrough {
        /// What it says.
        found: Seq,
    },
    /// Its time is before that of the entry before it.
    #[error("recorded earlier than the entry before it ({before}); a clock was set back", before = before.rfc3339())]
    ClockBackwards {
        /// Time of the entry before.
        before: Timestamp,
    },
    /// Bytes between entries that belong to none.
    #[error("{bytes} bytes that belong to no entry")]
    Stray {
        /// How many.
        bytes: u64,
    },
    /// A segment's beginning.
    #[error(transparent)]
    SegmentHeader(SegmentFault),
    /// A segment says that it begins with another entry than its name says.
    #[error("the segment says it begins with {found}")]
    SegmentMisnamed {
        /// What it says.
        found: Seq,
    },
    /// A segment of another journal.
    #[error("the segment belongs to journal {found}, the others to {expected}")]
    SegmentForeign {
        /// The journal the first readable segment belongs to.
        expected: JournalId,
        /// The journal this one belongs to.
        found: JournalId,
    },
    /// A segment continues another entry than the one before it.
    #[error("the segment says it continues {found}; the entry before has {expected}")]
    SegmentLink {
        /// Hash of the entry before.
        expected: EntryHash,
        /// The hash the segment names.
        found: EntryHash,
    },
    /// A file that does not belong into `segments/`.
    #[error("the file {name:?} is no segment")]
    UnknownFile {
        /// Its name.
        name: String,
    },
    /// A file that ends like a segment and begins with no entry's number.
    #[error(
        "the file {name:?} is named like a segment, and no segment has such a name: nobody reads it"
    )]
    NoSegmentName {
        /// Its name.
        name: String,
    },
    /// A segment that cannot be read.
    #[error("cannot be read: {cause}")]
    Unreadable {
        /// What the system said.
        cause: String,
    },
    /// The entries are not those that a checkpoint kept elsewhere states.
    #[error(
        "the first {size} entries are not those that the checkpoint {from} states: it says root \
         {expected}, they have {found}{since}"
    )]
    CheckpointDiffers {
        /// Where the checkpoint comes from.
        from: String,
        /// How many entries it covers.
        size: u64,
        /// The root it states.
        expected: TreeHash,
        /// The root they have.
        found: TreeHash,
        /// Up to where another checkpoint fits, in words.
        since: String,
    },
    /// A checkpoint covers more entries than there are.
    #[error(
        "missing from the end of the journal: the checkpoint {from} covers {size} entries, and {have} are here"
    )]
    CheckpointBeyond {
        /// Where the checkpoint comes from.
        from: String,
        /// How many entries it covers.
        size: u64,
        /// How many there are.
        have: u64,
    },
    /// A checkpoint that somebody named is of another journal.
    #[error(
        "the checkpoint {from} is of \"{origin}\", another journal: this one was not tested against it"
    )]
    CheckpointOfAnother {
        /// Where it comes from.
        from: String,
        /// Which journal it says it is of.
        origin: String,
    },
    /// A note that says it is a checkpoint cannot be one of this journal's.
    #[error("the checkpoint {from} is not one of this journal's: {why}")]
    CheckpointNotOurs {
        /// Where it comes from.
        from: String,
        /// Why.
        why: String,
    },
    /// Entries of a kind that the caller's judge does not know; the finding names the first.
    #[error(
        "the first of {entries} of kind {kind}, which this program does not know: whether their \
         authors had the right to write them was not judged"
    )]
    NotJudged {
        /// The kind, by number.
        kind: u16,
        /// How many there are.
        entries: u64,
    },
    /// What the caller's judge said about an author.
    #[error("{0}")]
    Author(String),
}

impl Finding {
    /// A fault not yet located.
    /// About the journal as a whole.
    #[must_use]
    pub fn fault(what: Wrong) -> Finding {
        Finding {
            level: Level::Fault,
            seq: None,
            last: None,
            recorded_at: None,
            author: None,
            claimed: false,
            segment: None,
            offset: None,
            what,
        }
    }

    /// The same about these entries.
    pub(super) fn about(mut self, first: Seq, last: Seq) -> Finding {
        self.seq = Some(first);
        self.last = Some(last);
        self
    }

    /// The same, with what the frame's header still tells.
    pub(super) fn told_by(mut self, bad: &BadStretch) -> Finding {
        if let Some(header) = bad.header.or(bad.claimed.as_deref().copied()) {
            self.recorded_at = Some(header.recorded_at);
            self.author = Some(header.author);
            self.claimed = bad.header.is_none();
        }
        self
    }

    /// The same, weighing so much.
    pub(super) fn weighing(mut self, level: Level) -> Finding {
        self.level = level;
        self
    }

    /// The same, lying here.
    pub(super) fn lying(mut self, segment: Seq, offset: u64) -> Finding {
        self.segment = Some(segment);
        self.offset = Some(offset);
        self
    }
}

impl std::fmt::Display for Finding {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match (self.seq, self.last) {
            (Some(first), Some(last)) if last > first => write!(f, "entries {first} to {last}")?,
            (Some(first), _) => write!(f, "entry {first}")?,
            (None, _) => f.write_str("the journal")?,
        }
        if self.claimed {
            f.write_str(", as its altered header now says")?;
        }
        if let Some(at) = self.recorded_at {
            write!(f, ", recorded {}", at.rfc3339())?;
        }
        if let Some(author) = self.author {
            write!(f, " by key {}", author.short())?;
        }
        write!(f, ": {}", self.what)?;
        match (self.segment, self.offset) {
            (Some(segment), Some(offset)) => {
                write!(f, " (segment {}, byte {offset})", segment.0)
            }
            (Some(segment), None) => write!(f, " (segment {})", segment.0),
            _ => Ok(()),
        }
    }
}
