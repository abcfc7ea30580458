//! Which hash is which leaf.

use super::entry_leaf;
use crate::journal::chain::genesis;
use crate::journal::frame::Frame;
use crate::record::ids::{EntryHash, JournalId, Pseudonym, Seq, TreeHash};

/// What the tree needs to know of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TreeEntry {
    /// Its number.
    pub seq: Seq,
    /// The hash it names as that of the entry before.
    pub prev: EntryHash,
    /// Its own hash.
    pub hash: EntryHash,
    /// The patient it is about, or zero.
    pub patient: Pseudonym,
    /// Its kind, by number.
    pub kind: u16,
}

impl From<&Frame> for TreeEntry {
    fn from(frame: &Frame) -> TreeEntry {
        let header = frame.header();
        TreeEntry {
            seq: header.seq,
            prev: header.prev,
            hash: frame.hash(),
            patient: header.patient,
            kind: header.kind,
        }
    }
}

/// Turns entries, in order, into leaves, and remembers which entry is which.
///
/// Without damage entry `n` is leaf `n - 1`. A damaged entry keeps its leaf where the entry after it
/// names its hash; of several damaged ones in a row only the last does, and the numbers shift. They
/// shift too after a gap that was accepted as lost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leaves {
    /// The hash that the next entry should name as the one before.
    pub(super) before: EntryHash,
    pub(super) size: u64,
    /// Where the numbering of leaves shifts against that of entries: entry, leaf.
    pub(super) shifts: Vec<(Seq, u64)>,
}

impl Leaves {
    /// Of a journal without entries.
    #[must_use]
    pub fn of(journal: JournalId) -> Leaves {
        Leaves {
            before: genesis(journal),
            size: 0,
            shifts: Vec::new(),
        }
    }

    /// The leaves that this entry adds: its own, after that of the entry it names if that is not
    /// the last one.
    pub fn take(&mut self, entry: &TreeEntry) -> Vec<TreeHash> {
        let mut added = Vec::with_capacity(2);
        if entry.prev != self.before {
            self.place(Seq(entry.seq.0.saturating_sub(1)));
            added.push(entry_leaf(entry.prev));
        }
        self.place(entry.seq);
        added.push(entry_leaf(entry.hash));
        self.before = entry.hash;
        added
    }

    fn place(&mut self, seq: Seq) {
        if self.index(seq) != Some(self.size) {
            self.shifts.push((seq, self.size));
        }
        self.size = self.size.saturating_add(1);
    }

    /// How many leaves there are.
    #[must_use]
    pub fn size(&self) -> u64 {
        self.size
    }

    /// Which leaf the entry would be. That it is this one shows by its hash only.
    #[must_use]
    pub fn index(&self, seq: Seq) -> Option<u64> {
        let after = self.shifts.partition_point(|(from, _)| *from <= seq);
        let (from, leaf) = match after.checked_sub(1) {
            Some(at) => self.shifts[at],
            None => (Seq(1), 0),
        };
        seq.0.checked_sub(from.0)?.checked_add(leaf)
    }
}
