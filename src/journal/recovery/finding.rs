//! What can be wrong in a way that no tear explains: one variant per thing, with its place.

use std::fmt;

use crate::journal::chain::Head;
use crate::journal::disk::FileKind;
use crate::journal::segment::SegmentFault;
use crate::journal::store::{Damage, entries_are};
use crate::record::ids::{EntryHash, JournalId, PersonKey, Seq};
use crate::record::time::Timestamp;

/// One thing that is wrong and cannot be a tear.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DamageFinding {
    /// Acknowledged entries whose bytes or links are wrong.
    Entries {
        /// The first of them.
        first: Seq,
        /// The last.
        last: Seq,
        /// First entry of the segment.
        segment: Seq,
        /// Where in the segment.
        offset: u64,
        /// When it was recorded, if that can still be read.
        recorded_at: Option<Timestamp>,
        /// Who wrote it, if that can still be read.
        author: Option<PersonKey>,
        /// What is wrong.
        what: Damage,
    },
    /// Acknowledged entries are not there.
    Missing {
        /// The first that is not there.
        first: Seq,
        /// The last.
        last: Seq,
    },
    /// An entry is not the one it was.
    Replaced {
        /// The entry.
        seq: Seq,
        /// The hash it had.
        expected: EntryHash,
        /// The hash it has.
        found: EntryHash,
    },
    /// A segment does not begin where the entries before it end.
    Gap {
        /// First entry of the segment, by its name.
        segment: Seq,
        /// The newest entry before it that is there.
        after: Head,
        /// The entry it says it continues.
        claims: Head,
    },
    /// Something that has a segment's name and is no file.
    NotAFile {
        /// The first entry it would have, by its name.
        segment: Seq,
        /// What it is.
        found: FileKind,
    },
    /// Bytes between entries that belong to none.
    Stray {
        /// First entry of the segment.
        segment: Seq,
        /// Where in the segment.
        offset: u64,
        /// How many bytes.
        bytes: u64,
    },
    /// The beginning of the segment.
    Header {
        /// First entry of the segment, by its name.
        segment: Seq,
        /// What is wrong.
        fault: SegmentFault,
    },
    /// The segment is from another journal or has another's name.
    Foreign {
        /// First entry of the segment, by its name.
        segment: Seq,
        /// The journal it says it belongs to.
        journal: JournalId,
        /// The first entry it says it has.
        first: Seq,
    },
}

impl fmt::Display for DamageFinding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Entries {
                first,
                last,
                segment,
                offset,
                what,
                ..
            } => {
                let (segment, bytes) = (segment.0, offset);
                write!(f, "{} damaged: {what} ", entries_are(*first, *last))?;
                write!(f, "(segment {segment}, byte {bytes})")
            }
            Self::Missing { first, last } => {
                let entries = entries_are(*first, *last);
                write!(f, "{entries} missing, though acknowledged")
            }
            Self::Replaced {
                seq,
                expected,
                found,
            } => write!(f, "entry {seq} had the hash {expected}, now it has {found}"),
            Self::Gap {
                segment,
                after,
                claims,
            } => gap_in_words(f, *segment, *after, *claims),
            Self::NotAFile { segment, found } => write!(
                f,
                "where segment {} should be there is {found}; it is not followed nor read",
                segment.0
            ),
            Self::Stray {
                segment,
                offset,
                bytes,
            } => {
                let segment = segment.0;
                write!(f, "{bytes} bytes at byte {offset} of segment {segment} ")?;
                f.write_str("belong to no entry")
            }
            Self::Header { segment, fault } => {
                write!(f, "the beginning of segment {}: {fault}", segment.0)
            }
            Self::Foreign {
                segment,
                journal,
                first,
            } => {
                write!(f, "segment {} says it begins with {first} ", segment.0)?;
                write!(f, "of journal {journal}")
            }
        }
    }
}

fn gap_in_words(
    f: &mut fmt::Formatter<'_>,
    segment: Seq,
    after: Head,
    claims: Head,
) -> fmt::Result {
    let name = segment.0;
    let ends = match after.seq {
        Seq::NONE => "no entry is there before it".to_owned(),
        seq => format!("the entries before it end with {seq}"),
    };
    if claims.seq > after.seq {
        let entries = entries_are(after.seq.next(), claims.seq);
        write!(
            f,
            "segment {name} begins with {segment} and {ends}: {entries} missing, "
        )?;
        f.write_str("or the segment does not belong to the journal")
    } else if claims.seq < after.seq {
        write!(f, "segment {name} begins with {segment}, but {ends}: ")?;
        f.write_str("it does not belong to the journal")
    } else {
        let (says, is) = (claims.hash, after.hash);
        write!(
            f,
            "segment {name} says it continues {says}, but {ends}, {is}"
        )
    }
}
