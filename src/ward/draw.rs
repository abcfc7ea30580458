//! Drawing the ward from a journal: from the index as far as it goes, and the rest by folding.

use std::collections::BTreeSet;

use super::index::{Changed, Index, IndexNote};
use super::{EntrySource, Read, Ward};
use crate::journal::{FileReader, Head, ReadError, ReadJournal};
use crate::record::entry::Entry;
use crate::record::ids::{EntryHash, Pseudonym, Seq};

/// So many entries must have been folded before the index is written again: writing it costs
/// more than folding fewer.
const WORTH_KEEPING: u64 = 2_000;

/// Reads single entries for the fold, which needs earlier ones when something is amended.
pub struct Source<'a>(pub &'a dyn ReadJournal);

impl EntrySource for Source<'_> {
    fn entry(&self, seq: Seq) -> Option<Entry> {
        match Read::from_frame(&self.0.read(seq).ok()?) {
            Read::Entry(entry) => Some(*entry),
            Read::Unreadable(_) => None,
        }
    }
}

/// A ward and how far in the journal it was drawn.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// The ward.
    pub ward: Ward,
    /// The newest entry taken in, readable or not.
    pub folded: Head,
    /// What could not be read on the way, in the order met. Damage before the place to which
    /// the index reached is not met; `verify` finds it.
    pub unreadable: Vec<ReadError>,
    /// Where the index stood, if the ward came from it.
    base: Option<Head>,
    /// Patients with entries since.
    changed: BTreeSet<Pseudonym>,
}

impl Drawn {
    /// Before the first entry.
    #[must_use]
    pub fn nothing_yet(journal: &dyn ReadJournal) -> Drawn {
        Drawn {
            ward: Ward::new(),
            folded: Head::empty(journal.journal()),
            unreadable: Vec::new(),
            base: None,
            changed: BTreeSet::new(),
        }
    }

    /// Folds the whole journal.
    #[must_use]
    pub fn from_journal(journal: &dyn ReadJournal) -> Drawn {
        let mut drawn = Drawn::nothing_yet(journal);
        drawn.catch_up(journal);
        drawn
    }

    /// Takes the ward from the index and folds the entries after it. The note says why the
    /// index was of no use, if there was one.
    #[must_use]
    pub fn from_index(journal: &FileReader, index: &Index) -> (Drawn, Option<IndexNote>) {
        let (kept, note) = index.load(&|seq| hash_at(journal, seq));
        let mut drawn = Drawn::nothing_yet(journal);
        if let Some(kept) = kept {
            drawn.ward = kept.ward;
            drawn.folded = kept.folded;
            drawn.base = Some(kept.folded);
        }
        drawn.catch_up(journal);
        (drawn, note)
    }

    /// Folds what is in the journal and not yet in the ward; returns the entries.
    pub fn catch_up(&mut self, journal: &dyn ReadJournal) -> Vec<Entry> {
        let mut fresh = Vec::new();
        let head = journal.head();
        if head == self.folded {
            return fresh;
        }
        let source = Source(journal);
        let mut batch = self.ward.batch(&source);
        for item in journal.read_from(self.folded.seq.next()) {
            match item.map(|frame| Read::from_frame(&frame)) {
                Ok(Read::Entry(entry)) => {
                    self.changed.extend(entry.patient);
                    batch.apply(&entry);
                    fresh.push(*entry);
                }
                Ok(Read::Unreadable(unreadable)) => {
                    self.changed.extend(unreadable.patient);
                    batch.apply_unreadable(&unreadable);
                }
                Err(error) => self.unreadable.push(error),
            }
        }
        batch.finish();
        self.folded = head;
        fresh
    }

    /// Whether so much was folded that the index should be written again.
    #[must_use]
    pub fn is_worth_keeping(&self) -> bool {
        let base = self.base.map_or(0, |head| head.seq.0);
        self.folded.seq.0.saturating_sub(base) >= WORTH_KEEPING
    }

    /// Writes the index. A ward drawn from a damaged journal is never kept, so that the damage
    /// is met again the next time.
    pub fn keep(&mut self, index: &Index) -> Option<IndexNote> {
        if !self.unreadable.is_empty() || self.base == Some(self.folded) {
            return None;
        }
        let changed = match self.base {
            None => Changed::All,
            Some(since) => Changed::Patients {
                since,
                patients: &self.changed,
            },
        };
        let note = index.store(&self.ward, self.folded, changed);
        if note.is_none() {
            self.base = Some(self.folded);
            self.changed.clear();
        }
        note
    }
}

/// The hash of an entry, for [`Index::load`]. An index may be newer than this reader's view:
/// then it looks again.
#[must_use]
pub fn hash_at(journal: &FileReader, seq: Seq) -> Option<EntryHash> {
    if seq > journal.head().seq {
        journal.refresh().ok()?;
    }
    if seq == Seq::NONE {
        return Some(Head::empty(journal.journal()).hash);
    }
    journal.read(seq).ok().map(|frame| frame.hash())
}
