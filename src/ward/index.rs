//! The disposable index: a copy of the ward's state as it stood after some entry, so that a
//! command need not fold the whole journal. The journal is the only truth; whatever is wrong
//! with the index, it is put aside and drawn again, and nobody is kept waiting by an error.
//!
//! Trust: nobody relies on it. Losing it costs the time of one fold. Whoever can alter it can
//! also replace the program; accidental damage, another journal's index, an index from before
//! or after, and one drawn by another version of the program are all noticed here.
//!
//! It is kept with sled, which is used in no other module. sled meets a damaged file mostly by
//! panicking, or by opening as if it were empty; so every call runs on a thread of its own
//! behind a guard (`guard`), rows carry their digest (`rows`), and where the index stands is
//! written in the same transaction as the rows (`cache`). The folder is open only while it
//! is read or written, because sled lets in one process at a time.

mod cache;
mod folder;
mod guard;
mod rows;
mod sealed_rows;

use std::collections::BTreeSet;
use std::time::Duration;

use zeroize::Zeroizing;

use super::Ward;
use crate::journal::{Head, Layout, SegmentMarks};
use crate::record::ids::{EntryHash, JournalId, Pseudonym, Seq};
use cache::{Trouble, Written};
use folder::Folder;
use rows::Watermark;
use sealed_rows::RowKey;

/// Version of what the fold makes of entries. Raise it whenever the ward's serialised form, or
/// what any entry does to the ward, changes: an index of another version is then drawn anew. A
/// test compares the state of a fixed journal and fails when this was forgotten.
pub const SCHEMA: u32 = 14;

/// Version of how rows are laid out.
const FORMAT: u32 = 2;

/// How long to wait for the index before going on without it.
const PATIENCE: Duration = Duration::from_secs(10);

/// A ward taken from the index.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// As folded up to `folded`.
    pub ward: Ward,
    /// The newest entry it was drawn from, readable or not.
    pub folded: Head,
}

/// What is asked of the journal, before an index is believed.
pub struct Past<'a> {
    /// Which hash an entry has; `None` if there is none such.
    pub hash_at: &'a dyn Fn(Seq) -> Option<EntryHash>,
    /// The newest entry, asked after `hash_at`.
    pub newest: &'a dyn Fn() -> Seq,
    /// Whether the files up to a place are, as far as can be seen, untouched.
    pub still_holds: &'a dyn Fn(&SegmentMarks) -> bool,
}

/// Which patients' rows must be written.
#[derive(Debug, Clone, Copy)]
pub enum Changed<'a> {
    /// Everything.
    All,
    /// These, in a ward that was taken from the index as it stood at `since`.
    Patients {
        /// Where the index stood.
        since: Head,
        /// Who changed since.
        patients: &'a BTreeSet<Pseudonym>,
    },
}

/// Why the index was not used or not written, each with what was done instead. Never an error: the ward is then drawn from the
/// journal.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum IndexNote {
    /// It cannot be read.
    #[error("the index was damaged ({why}); it was put aside and is drawn anew from the journal")]
    Damaged {
        /// What was found.
        why: String,
    },
    /// It was made from another journal.
    #[error("the index belonged to another journal; it was put aside and is drawn anew")]
    Foreign,
    /// There is none.
    #[error("there was no index; the ward was drawn from the journal")]
    Missing,
    /// There is only one that this program does not read.
    #[error(
        "the index was made by another version of the program, or for another journal; the ward \
         was drawn anew from the journal"
    )]
    OtherVersion,
    /// The files were touched below where it stands.
    #[error(
        "the journal's files were touched below entry {}, to where the index had been drawn (a \
         copy or a restored backup does that too); it was put aside and is drawn anew. If nobody \
         copied them, run `handfast verify`",
        index.seq
    )]
    FilesTouched {
        /// Where the index stood.
        index: Head,
    },
    /// It knows an entry that the journal does not have, or has otherwise.
    #[error(
        "the index was drawn up to entry {}, which the journal does not have in that form; it was \
         put aside and is drawn anew. If entries may be missing, run `handfast verify`",
        index.seq
    )]
    NotOfThisHistory {
        /// Where the index stood.
        index: Head,
    },
    /// It stands beyond the newest entry there is. It stays where it is: it is what remembers.
    #[error(
        "the index was drawn up to entry {}, and the journal does not go so far: entries are \
         missing, unless an older backup was put back on purpose. The ward was drawn from the \
         journal; run `handfast verify` and tell governance. Once that is settled, delete the \
         folder `index`",
        index.seq
    )]
    Ahead {
        /// Where the index stands.
        index: Head,
    },
    /// Another process has it open.
    #[error("the index is in use by another process; the ward was drawn from the journal")]
    InUse,
    /// It did not answer in time.
    #[error("the index did not answer in time; it was put aside and is drawn anew")]
    TooSlow,
    /// It may not be written, or there is no room.
    #[error("the index cannot be kept ({why}); the ward is drawn from the journal each time")]
    NotKept {
        /// What the system said.
        why: String,
    },
}

/// Where a journal's index is kept.
#[derive(Debug, Clone)]
pub struct Index {
    folder: Folder,
    journal: JournalId,
    patience: Duration,
    /// What rows are encrypted with, in a sealed journal.
    key: Option<RowKey>,
}

/// Takes the index of a sealed journal away, with whatever it holds.
///
/// # Errors
/// When it is there and cannot be removed.
pub fn forget_sealed(layout: &Layout) -> std::io::Result<()> {
    folder::remove_all(&layout.sealed_index_dir())
}

impl Index {
    /// The index of a journal. Touches nothing.
    #[must_use]
    pub fn new(layout: &Layout, journal: JournalId) -> Index {
        Index {
            folder: Folder::new(layout.index_dir(), &generation(journal, None)),
            journal,
            patience: PATIENCE,
            key: None,
        }
    }

    /// The same for whoever reads sealed records: in a folder of its own, rows encrypted. With
    /// another key it is another index.
    #[must_use]
    pub fn sealed_with(self, layout: &Layout, key: &Zeroizing<[u8; 32]>) -> Index {
        let key = RowKey::new(key);
        Index {
            folder: Folder::new(
                layout.sealed_index_dir(),
                &generation(self.journal, Some(&key)),
            ),
            key: Some(key),
            ..self
        }
    }

    /// The ward as the index has it, if its place in the journal's history is certain.
    #[must_use]
    pub fn load(&self, past: &Past<'_>) -> (Option<Kept>, Option<IndexNote>) {
        let Some(path) = self.folder.current() else {
            let note = match self.folder.holds_others() {
                true => IndexNote::OtherVersion,
                false => IndexNote::Missing,
            };
            return (None, Some(note));
        };
        let read = guard::run(self.patience, move || cache::read(&path));
        match read.and_then(|rows| self.check(&rows, past)) {
            Ok(kept) => (Some(kept), None),
            Err(trouble) => (None, Some(self.settle(trouble))),
        }
    }

    /// Keeps the ward as it stands after `folded`. An index of the same history that is
    /// further on is left alone.
    #[must_use]
    pub fn store(
        &self,
        ward: &Ward,
        folded: Head,
        marks: SegmentMarks,
        changed: Changed<'_>,
    ) -> Option<IndexNote> {
        let mark = Watermark::new(self.journal, folded, marks, SCHEMA);
        let stored = self.write(ward, &mark, changed);
        match stored {
            Ok(Written::Done) => None,
            // The rows there were not those the changes follow from.
            Ok(Written::NotTheBase) => self
                .write(ward, &mark, Changed::All)
                .err()
                .map(|trouble| self.settle(trouble)),
            Err(trouble) => Some(self.settle(trouble)),
        }
    }

    fn write(
        &self,
        ward: &Ward,
        mark: &Watermark,
        changed: Changed<'_>,
    ) -> Result<Written, Trouble> {
        let rows = rows::of(ward, &changed, self.key.as_ref())
            .map_err(|why| Trouble::NotKept(why.to_string()))?;
        let since = match changed {
            Changed::All => None,
            Changed::Patients { since, .. } => Some(since),
        };
        let path = self.folder.for_writing()?;
        let mark = mark.clone();
        guard::run(self.patience, move || {
            cache::write(&path, since, &rows, mark)
        })
    }

    /// Rows become a ward only if they are whole and of this journal's history.
    fn check(&self, stored: &cache::Stored, past: &Past<'_>) -> Result<Kept, Trouble> {
        let mark = &stored.mark;
        if mark.journal() != self.journal {
            return Err(Trouble::Foreign);
        }
        if mark.schema() != SCHEMA {
            return Err(Trouble::Damaged(format!(
                "it was drawn by schema {}",
                mark.schema()
            )));
        }
        let folded = mark.folded();
        let hash = (past.hash_at)(folded.seq);
        if hash.is_none() && folded.seq > (past.newest)() {
            return Err(Trouble::Ahead(folded));
        }
        if hash != Some(folded.hash) {
            return Err(Trouble::NotOfThisHistory(folded));
        }
        if !(past.still_holds)(mark.marks()) {
            return Err(Trouble::FilesTouched(folded));
        }
        let ward = rows::ward_of(&stored.rows, mark, self.key.as_ref())?;
        Ok(Kept { ward, folded })
    }

    /// Puts aside what cannot be used and says what was the matter.
    fn settle(&self, trouble: Trouble) -> IndexNote {
        let note = match trouble {
            Trouble::InUse => return IndexNote::InUse,
            Trouble::Ahead(index) => return IndexNote::Ahead { index },
            Trouble::NotKept(why) => return IndexNote::NotKept { why },
            Trouble::Damaged(why) => IndexNote::Damaged { why },
            Trouble::Foreign => IndexNote::Foreign,
            Trouble::NotOfThisHistory(index) => IndexNote::NotOfThisHistory { index },
            Trouble::FilesTouched(index) => IndexNote::FilesTouched { index },
            Trouble::TooSlow => IndexNote::TooSlow,
        };
        match self.folder.put_aside() {
            Ok(()) => note,
            Err(error) => IndexNote::NotKept {
                why: error.to_string(),
            },
        }
    }
}

/// Names what an index is good for: this journal, this fold, this layout of rows, this
/// release of the program.
fn generation(journal: JournalId, key: Option<&RowKey>) -> String {
    let mut hasher = blake3::Hasher::new_derive_key("handfast ward index generation v1");
    hasher.update(&journal.0);
    hasher.update(&SCHEMA.to_le_bytes());
    hasher.update(&FORMAT.to_le_bytes());
    hasher.update(env!("CARGO_PKG_VERSION").as_bytes());
    if let Some(key) = key {
        hasher.update(&key.id());
    }
    crate::record::ids::to_hex(&hasher.finalize().as_bytes()[..8])
}
