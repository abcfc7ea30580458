//! Drawing the ward from a journal: from the index as far as it goes, and the rest by folding.
//! There is one loop that folds, here: whatever is to be checked of an entry before it counts
//! is checked in it.

use std::collections::BTreeSet;
use std::thread;

use super::index::{Changed, Index, IndexNote, Past};
use super::proof::Checked;
use super::{Batch, EntrySource, Read, Ward};
use crate::journal::{FileFaults, FileReader, Frame, Head, ReadError, ReadJournal};
use crate::record::entry::Entry;
use crate::record::ids::{EntryHash, Pseudonym, Seq};
use crate::record::time::Timestamp;

/// So many entries must have been folded before the index is written again: writing it costs
/// more than folding fewer.
const WORTH_KEEPING: u64 = 1_000;
/// So many frames have their signatures checked together.
const CHECKED_TOGETHER: usize = 256;
/// Fewer signatures than this are checked sooner than threads begin.
const WORTH_THREADS: usize = 16;
/// More threads than this do not pay.
const THREADS_MAX: usize = 8;

/// Reads single entries for the fold, which needs earlier ones when something is amended.
pub struct Source<'a>(pub &'a dyn ReadJournal);

impl EntrySource for Source<'_> {
    fn entry(&self, seq: Seq) -> Option<Entry> {
        match Read::of(self.0, &self.0.read(seq).ok()?) {
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
    /// the index reached is not met, but the index is not used where it can be seen that the
    /// files before that place were touched; `verify` reads everything.
    pub unreadable: Vec<ReadError>,
    /// What is wrong with the journal's files beside that, as when they were last looked at.
    pub faults: FileFaults,
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
            faults: FileFaults::default(),
            base: None,
            changed: BTreeSet::new(),
        }
    }

    /// Folds the whole journal.
    #[must_use]
    pub fn from_journal(journal: &dyn ReadJournal) -> Drawn {
        let mut drawn = Drawn::nothing_yet(journal);
        drawn.catch_up(journal);
        drawn.look_at_files(journal);
        drawn
    }

    /// Looks at the files themselves: a view is complete only if nothing is wrong with them.
    pub fn look_at_files(&mut self, journal: &dyn ReadJournal) {
        self.faults = journal.faults();
    }

    /// Takes the ward from the index and folds the entries after it. The note says why the
    /// index was of no use, if there was one.
    #[must_use]
    pub fn from_index(journal: &FileReader, index: &Index) -> (Drawn, Option<IndexNote>) {
        let (kept, note) = index.load(&Past {
            hash_at: &|seq| hash_at(journal, seq),
            newest: &|| journal.head().seq,
            still_holds: &|marks| journal.still_holds(marks),
        });
        let mut drawn = Drawn::nothing_yet(journal);
        if let Some(kept) = kept {
            drawn.ward = kept.ward;
            drawn.folded = kept.folded;
            drawn.base = Some(kept.folded);
        }
        drawn.catch_up(journal);
        drawn.look_at_files(journal);
        if let Some(IndexNote::Ahead { index }) = &note {
            drawn.faults.were_there(drawn.folded.seq, index.seq);
        }
        (drawn, note)
    }

    /// Folds what is in the journal and not yet in the ward; returns the entries.
    pub fn catch_up(&mut self, journal: &dyn ReadJournal) -> Vec<Entry> {
        let mut fresh = Vec::new();
        let head = journal.head();
        self.unreadable.retain(|error| !is_of_newer_end(error));
        if head == self.folded {
            // A newer program may have begun a segment that this one does not read.
            let beyond = journal.read_from(head.seq.next()).filter_map(Result::err);
            self.unreadable.extend(beyond.filter(is_of_newer_end));
            return fresh;
        }
        let source = Source(journal);
        let mut fold = Fold {
            journal,
            batch: self.ward.batch(&source),
            checked: &|frames| check(frames),
            unreadable: &mut self.unreadable,
        };
        let from = self.folded.seq.next();
        fold.run(
            journal.read_from(from),
            |_| true,
            |read| match read {
                Read::Entry(entry) => {
                    self.changed.extend(entry.patient);
                    fresh.push(*entry);
                }
                Read::Unreadable(unreadable) => self.changed.extend(unreadable.patient),
            },
        );
        let redrawn = fold.batch.finish();
        self.changed.extend(redrawn.into_iter().flatten());
        self.folded = head;
        fresh
    }

    /// The ward as only some of its entries have it: those up to a moment, or up to an entry.
    /// Which signatures hold is known up to `folded`: the chain pins those entries, so they are
    /// the ones that were checked.
    #[must_use]
    pub fn part(&self, journal: &dyn ReadJournal, keep: impl Fn(Seq, Timestamp) -> bool) -> Drawn {
        let mut part = Drawn::nothing_yet(journal);
        // What is lost at the end may have been recorded before the moment asked for.
        part.faults = self.faults.clone();
        let source = Source(journal);
        let known = |frames: &[Frame]| {
            let newer = frames
                .iter()
                .position(|frame| frame.seq() > self.folded.seq);
            let (old, new) = frames.split_at(newer.unwrap_or(frames.len()));
            let held = old.iter().map(|frame| {
                let doubt = self.ward.doubt(frame.seq());
                Checked {
                    signed: doubt.is_none_or(|one| one.doubt != super::proof::Doubt::Signature),
                    proven: doubt.is_none(),
                }
            });
            held.chain(check(new)).collect()
        };
        let mut fold = Fold {
            journal,
            batch: part.ward.batch(&source),
            checked: &known,
            unreadable: &mut part.unreadable,
        };
        // Passed over, not stopped at: a clock that ran ahead for an hour must not hide
        // everything that was written after it.
        let wanted = |frame: &Frame| keep(frame.seq(), frame.header().recorded_at);
        fold.run(journal.read_from(Seq(1)), wanted, |_| {});
        fold.batch.finish();
        part.folded = part
            .ward
            .head()
            .map_or(part.folded, |(seq, hash)| Head { seq, hash });
        part
    }

    /// Whether so much was folded that the index should be written again.
    #[must_use]
    pub fn is_worth_keeping(&self) -> bool {
        let base = self.base.map_or(0, |head| head.seq.0);
        self.folded.seq.0.saturating_sub(base) >= WORTH_KEEPING
    }

    /// Whether everything up to `folded` could be read.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.unreadable.is_empty() && self.ward.lost_since().is_empty()
    }

    /// Writes the index. A ward drawn from a damaged journal is never kept, so that the damage
    /// is met again the next time.
    pub fn keep(&mut self, index: &Index, journal: &FileReader) -> Option<IndexNote> {
        if !self.is_whole() || !self.faults.is_empty() || self.base == Some(self.folded) {
            return None;
        }
        // Without the marks nothing would tell that the files were touched since.
        let marks = journal.marks(self.folded)?;
        let changed = match self.base {
            None => Changed::All,
            Some(since) => Changed::Patients {
                since,
                patients: &self.changed,
            },
        };
        let note = index.store(&self.ward, self.folded, marks, changed);
        if note.is_none() {
            self.base = Some(self.folded);
            self.changed.clear();
        }
        note
    }
}

/// Said of what lies behind the newest entry, for as long as it lies there.
fn is_of_newer_end(error: &ReadError) -> bool {
    matches!(error, ReadError::NewerFormat { open_end: true, .. })
}

/// The one loop that folds.
struct Fold<'w, 'a> {
    journal: &'a dyn ReadJournal,
    batch: Batch<'w>,
    checked: &'a dyn Fn(&[Frame]) -> Vec<Checked>,
    unreadable: &'a mut Vec<ReadError>,
}

impl Fold<'_, '_> {
    fn run(
        &mut self,
        frames: impl Iterator<Item = Result<Frame, ReadError>>,
        wanted: impl Fn(&Frame) -> bool,
        mut taken: impl FnMut(Read),
    ) {
        let mut waiting: Vec<Frame> = Vec::new();
        for item in frames {
            match item {
                Ok(frame) => {
                    if !wanted(&frame) {
                        // What comes after may rest on it.
                        self.take(&mut waiting, &mut taken);
                        self.batch.leave_out();
                        continue;
                    }
                    waiting.push(frame);
                    if waiting.len() >= CHECKED_TOGETHER {
                        self.take(&mut waiting, &mut taken);
                    }
                }
                Err(error) => {
                    self.take(&mut waiting, &mut taken);
                    self.batch.pass_over_loss(&error.to_string());
                    self.unreadable.push(error);
                }
            }
        }
        self.take(&mut waiting, &mut taken);
    }

    fn take(&mut self, waiting: &mut Vec<Frame>, taken: &mut impl FnMut(Read)) {
        let checked = (self.checked)(waiting);
        for (frame, checked) in waiting.drain(..).zip(checked) {
            let read = Read::of(self.journal, &frame);
            match &read {
                Read::Entry(entry) => self.batch.apply_checked(entry, checked),
                Read::Unreadable(unreadable) => {
                    self.batch.apply_unreadable(unreadable, checked.signed);
                }
            }
            taken(read);
        }
    }
}

/// What can be told of frames by themselves.
fn check(frames: &[Frame]) -> Vec<Checked> {
    let signed = signatures_hold(frames).into_iter();
    signed
        .map(|signed| Checked {
            signed,
            proven: false,
        })
        .collect()
}

/// Which frames their authors signed. Each is checked for itself, by the rule `verify` uses:
/// checking many in one equation is quicker and can accept a signature that alone would fail.
fn signatures_hold(frames: &[Frame]) -> Vec<bool> {
    if frames.len() < WORTH_THREADS {
        return frames.iter().map(Frame::signature_holds).collect();
    }
    let threads = thread::available_parallelism().map_or(1, usize::from);
    let share = frames.len().div_ceil(threads.min(THREADS_MAX)).max(1);
    let mut holds = vec![false; frames.len()];
    thread::scope(|scope| {
        for (frames, holds) in frames.chunks(share).zip(holds.chunks_mut(share)) {
            scope.spawn(move || {
                for (frame, holds) in frames.iter().zip(holds) {
                    *holds = frame.signature_holds();
                }
            });
        }
    });
    holds
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
