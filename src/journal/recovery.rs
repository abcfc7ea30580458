//! Opening after a crash: keep every acknowledged entry, cut only a torn tail, and tell the
//! two apart. `assess` only looks; `settle` acts on what it found.
//!
//! Invariants: an entry numbered at or below `known_flushed` is never cut; bytes are cut only
//! after they lie, flushed, in `aside/`; entries above `known_flushed` that survived are
//! copied into a new file under a new flush before anything more is acknowledged.

mod acceptance;
mod aside;
mod assess;
mod finding;
mod join;
mod judge;
mod look;
mod settle;

use std::fmt;
use std::path::PathBuf;

use crate::journal::chain::Head;
use crate::record::ids::{Digest, Seq};

pub(super) use acceptance::accept;
pub(super) use aside::lying_aside;
pub(super) use assess::assess;
pub(super) use join::end_of;
pub(super) use look::look_at_files;
pub(super) use settle::{make_segment, report_of, settle};

pub use aside::LyingAside;
pub use finding::DamageFinding;
pub use look::FileFaults;

/// What opening found and did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecoveryReport {
    /// Where the journal stands now.
    pub head: Head,
    /// The torn tail that was cut, if there was one.
    pub cut: Option<CutTail>,
    /// Entries that had survived without a known flush and were put under a new one.
    pub reflushed: u64,
    /// Damage to acknowledged entries in the last segment, or entries missing from the end.
    /// (Damage further back is found by reading and by `verify`.)
    pub damaged: Vec<DamageFinding>,
    /// Names exactly these findings: what a keeper accepts.
    pub digest: Digest,
}

/// A tail that no acknowledgement ever covered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CutTail {
    /// First entry of the segment it was cut from.
    pub segment: Seq,
    /// Where in the segment it began.
    pub offset: u64,
    /// How many bytes it had.
    pub bytes: u64,
    /// Intact entries among them: written, never acknowledged, no longer in the journal.
    pub entries: u64,
    /// Where the bytes now lie.
    pub aside: PathBuf,
}

impl fmt::Display for CutTail {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (bytes, segment, offset) = (self.bytes, self.segment.0, self.offset);
        write!(
            f,
            "The journal ended in {bytes} bytes of an append that was never finished "
        )?;
        write!(f, "(segment {segment}, byte {offset}); ")?;
        match self.entries {
            0 => {}
            1 => f.write_str("one entry in them was whole but never acknowledged as recorded; ")?,
            n => write!(f, "{n} entries in them were whole but never acknowledged; ")?,
        }
        let aside = self.aside.display();
        write!(
            f,
            "they are cut off and kept in {aside}. If something you entered before the "
        )?;
        f.write_str("stop is not in the log, enter it again.")
    }
}
