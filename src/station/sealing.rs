//! Sealed records: the ring of keys, who holds it, and what becomes of it when people or records go.
//!
//! The ring follows the journal: for whom the keys are wrapped is decided by the staff entries,
//! which keepers signed, and brought about by whoever reads and unlocks next. A keeper holds no
//! key. Why, and what that does not do, is `docs/decisions/0008-sealing.md`; the formats are
//! `docs/sealing.md`.

mod acts;
mod ring;
mod shares;
#[cfg(test)]
mod tests;
mod trust;
mod upkeep;
mod wrap;

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Arc;

pub use acts::DestructionRequest;
pub use shares::{NotAShare, Share};
pub use upkeep::RingState;
pub use wrap::ReadingSecret;

use super::{Actor, Station};
use crate::journal::disk::FileStamp;
use crate::journal::{DataKey, DataKeys, ReadJournal, Seal};
use crate::record::entry::Entry;
use crate::record::ids::{JournalId, Pseudonym, Seq};
use crate::record::kind::{Body, Kind};
use crate::record::person::Handle;
use crate::ward::Ward;
use ring::RingFile;
use upkeep::HeldRing;
use wrap::{KeptKey, RingKey, random};

/// Why the keys to the records are not at hand.
#[derive(Debug, thiserror::Error)]
pub enum SealingError {
    /// No ring file.
    #[error(
        "the keys to the records are not there ({}): put the newest copy of that file back; without any copy the records cannot be read by anybody",
        path.display()
    )]
    NoRing {
        /// Where it should be.
        path: PathBuf,
    },
    /// The ring file is not what was written.
    #[error(
        "the keys to the records are damaged (sealing/ring.json: {0}): put a copy of that file back"
    )]
    Damaged(&'static str),
    /// The person is enrolled and the ring was not yet wrapped for them.
    #[error(
        "the keys to the records are not wrapped for {handle} yet: they are as soon as a colleague who reads records unlocks ({colleagues}). If none of them can, two recovery shares do it: `handfast sealing recover`"
    )]
    NotYetFor {
        /// Who.
        handle: Handle,
        /// Who can help, by handle.
        colleagues: String,
    },
    /// The role reads no records.
    #[error("{handle} reads no records here: they are sealed, and {role} holds no key to them")]
    ReadsNone {
        /// Who.
        handle: Handle,
        /// In which role, with its article.
        role: String,
    },
    /// Two shares that do not belong together, or not to this ward.
    #[error(
        "these two shares are not two different ones of this ward's recovery key; nothing was changed. Accepted: any two of the three that were written down when it was made"
    )]
    WrongShares,
    /// The recovery shares did not reach whoever was to have them.
    #[error(
        "the three recovery shares could not be handed over ({0}), so nothing was sealed for them and nothing recorded"
    )]
    SharesNotGiven(String),
    /// Somebody else is at the ring.
    #[error("the keys are being changed by somebody else just now; try again in a moment")]
    Busy,
    /// The record's keys were destroyed.
    #[error("the keys to this record were destroyed in entry {0}; nothing can be added to it")]
    Destroyed(Seq),
    /// The operating system gave no random bytes.
    #[error("the operating system gave no random bytes; no key can be made")]
    Random,
    /// The system refused.
    #[error("{} could not be read or written", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: std::io::Error,
    },
}

impl SealingError {
    /// The folder can be read and not written, as a copy on a read-only disk.
    fn is_of_a_place_for_reading(&self) -> bool {
        use std::io::ErrorKind::{PermissionDenied, ReadOnlyFilesystem};
        matches!(self, SealingError::Io { cause, .. }
            if matches!(cause.kind(), ReadOnlyFilesystem | PermissionDenied))
    }
}

/// The keys to the records, while somebody who reads them is unlocked.
pub(super) struct OpenRecords {
    reading: Arc<ReadingSecret>,
    ring: RingKey,
    /// The newest entry whoever drew the ring had read.
    drawn_at: Seq,
    /// The ring is to be renewed: it opens what is there, and seals nothing.
    due: bool,
    /// The ring file as it was when it was read.
    stamp: Option<FileStamp>,
    keys: Arc<DataKeys>,
    /// What new entries are sealed with.
    current: HashMap<Pseudonym, Arc<DataKey>>,
}

impl OpenRecords {
    fn load(
        file: &RingFile,
        due: bool,
        (reading, ring): (Arc<ReadingSecret>, RingKey),
        stamp: Option<FileStamp>,
        journal: JournalId,
    ) -> OpenRecords {
        let (mut keys, mut current) = (DataKeys::default(), HashMap::new());
        // One that does not open is missing: entries sealed with it say so.
        for kept in &file.keys {
            let Some(key) = kept.open(&ring, journal).map(Arc::new) else {
                continue;
            };
            keys.add(Arc::clone(&key));
            if kept.made_in == file.ring && !due {
                current.insert(kept.patient, key);
            }
        }
        OpenRecords {
            reading,
            ring,
            drawn_at: file.drawn_at,
            due,
            stamp,
            keys: Arc::new(keys),
            current,
        }
    }

    /// Whether somebody may know its keys who must not read what is written now.
    fn is_due(&self, ward: &Ward) -> bool {
        self.due || self.drawn_at < ward.ring_due_since()
    }

    /// The key the index is encrypted with.
    pub fn index_key(&self) -> zeroize::Zeroizing<[u8; 32]> {
        self.ring.index_key()
    }
}

impl Station {
    /// Whether what is written about patients is sealed.
    #[must_use]
    pub fn is_sealed(&self) -> bool {
        self.ward().is_sealed()
    }

    /// Makes the records readable for somebody who may read them; for anybody else it locks them, if
    /// they are sealed.
    ///
    /// # Errors
    /// See [`SealingError`].
    pub(super) fn open_records(&mut self, actor: &Actor) -> Result<(), SealingError> {
        if !self.is_sealed() {
            return Ok(());
        }
        if !actor.role.reads_records() {
            self.lock_records();
            // The ring opens nothing for them: what is wrong with it keeps them from no act of theirs.
            if let (Err(error), Some(tell)) = (self.tidy_ring(actor), &self.tell_recovered) {
                tell(&format!(
                    "Note: the ring of keys could not be brought up to date: {error}."
                ));
            }
            return Ok(());
        }
        let held = self.hold_ring(actor)?;
        self.take_ring(held, actor);
        Ok(())
    }

    fn take_ring(&mut self, mut held: HeldRing, actor: &Actor) {
        let stamp = ring::stamp(self.layout());
        held.unlock();
        let due = held.not_renewed.is_some();
        let keys = (Arc::clone(&actor.reading), held.key);
        let journal = self.reader.journal();
        self.take_records(OpenRecords::load(&held.file, due, keys, stamp, journal));
    }

    /// Nobody reads until somebody who may unlocks: keys and clear text go out of memory, as far as a
    /// program can see to that.
    pub fn lock_records(&mut self) {
        if self.records.take().is_some() {
            self.reader.set_keys(None);
            self.draw_anew();
        }
    }

    /// Whether the records are open, or lie in clear.
    #[must_use]
    pub fn reads_records(&self) -> bool {
        self.records.is_some() || !self.is_sealed()
    }

    fn take_records(&mut self, records: OpenRecords) {
        let had_keys = self.records.is_some();
        self.reader.set_keys(Some(Arc::clone(&records.keys)));
        self.records = Some(records);
        if !had_keys || !self.ward().sealing().unopened().is_empty() {
            self.draw_anew();
        }
    }

    fn draw_anew(&mut self) {
        self.drawn = crate::ward::draw::Drawn::nothing_yet(&*self.reader);
        self.take_up_index();
    }

    /// Keys that others made since, before their entries are folded.
    pub(super) fn take_in_new_keys(&mut self) {
        let stamp = ring::stamp(self.layout());
        let changed = self
            .records
            .as_ref()
            .is_some_and(|records| records.stamp != stamp);
        if changed {
            // A ring that the entries to come explain is looked at after them.
            let _ = self.take_up_ring();
        }
    }

    /// After entries were folded: whoever lost the right to read stops reading at once, and a renewed
    /// ring is taken up. Says whether the ward was drawn anew.
    pub(super) fn follow_ring(&mut self, fresh: &[Entry]) -> bool {
        let Some(records) = &self.records else {
            return false;
        };
        let public = records.reading.public();
        let may = self
            .ward()
            .roster()
            .any(|staff| staff.reads_with() == Some(public));
        let same = records.stamp == ring::stamp(self.layout());
        if may && same && !records.is_due(self.ward()) {
            return false;
        }
        if !may || self.take_up_ring().is_err() {
            self.lock_records();
            return true;
        }
        // What was drawn from a destroyed record goes too.
        let destroyed = |entry: &Entry| matches!(entry.body, Body::RecordDestroyed(_));
        let anew = fresh.iter().any(destroyed) || !self.ward().sealing().unopened().is_empty();
        if anew {
            self.draw_anew();
        }
        anew
    }

    /// The one way in which open records follow the ring file: checked against the journal, without
    /// what must not be in it; and while it is due, for reading alone. An old copy that is put back
    /// seals nothing in a session that is open.
    fn take_up_ring(&mut self) -> Result<(), SealingError> {
        let Some(reading) = self.records.as_ref().map(|one| Arc::clone(&one.reading)) else {
            return Ok(());
        };
        let stamp = ring::stamp(self.layout());
        let (mut file, standing) = self.ring_there()?;
        if let Some(readers) = ring::Readers::of(self.ward()) {
            file.purge(&readers, self.ward());
        }
        let key = file
            .open(&reading)
            .ok_or(SealingError::Damaged("it is not wrapped for its reader"))?;
        let (due, journal) = (standing.is_due(), self.reader.journal());
        let fresh = OpenRecords::load(&file, due, (reading, key), stamp, journal);
        self.reader.set_keys(Some(Arc::clone(&fresh.keys)));
        self.records = Some(fresh);
        Ok(())
    }

    /// How an entry is sealed; `None` where it is not.
    pub(super) fn seal_for(
        &mut self,
        actor: &Actor,
        kind: Kind,
        patient: Pseudonym,
    ) -> Result<Option<Seal>, SealingError> {
        if !self.is_sealed() || !kind.is_sealed() {
            return Ok(None);
        }
        if let Some(destroyed) = self.ward().sealing().destroyed().get(&patient) {
            return Err(SealingError::Destroyed(destroyed.seq));
        }
        self.open_for(actor)?;
        let random = *random()?;
        let known = self
            .records
            .as_ref()
            .and_then(|records| records.current.get(&patient));
        let key = match known {
            Some(key) => Arc::clone(key),
            None => self.make_key(actor, patient)?,
        };
        Ok(Some(Seal { key, random }))
    }

    /// The records as this person may read them: a ring that was renewed meanwhile is taken up, and
    /// a colleague's keys at the same station are not used in this person's name.
    pub(super) fn open_for(&mut self, actor: &Actor) -> Result<(), SealingError> {
        if !self.is_sealed() {
            return Ok(());
        }
        let own = self.records.as_ref().is_some_and(|records| {
            let same = records.reading.public() == actor.reading.public();
            let newest = records.stamp == ring::stamp(self.layout());
            same && newest && !records.is_due(self.ward())
        });
        if own {
            return Ok(());
        }
        if !actor.role.reads_records() {
            return Err(SealingError::ReadsNone {
                handle: actor.handle.clone(),
                role: actor.role.with_article(),
            });
        }
        self.open_records(actor)
    }

    /// A new data key, on stable storage before anything is sealed with it.
    fn make_key(
        &mut self,
        actor: &Actor,
        patient: Pseudonym,
    ) -> Result<Arc<DataKey>, SealingError> {
        let mut held = self.hold_ring(actor)?;
        if let Some(why) = held.not_renewed {
            return Err(why);
        }
        let file = &mut held.file;
        if file.current(patient).is_none() {
            let fresh = DataKey::from_bytes(random()?);
            let place = (patient, file.ring);
            let kept = KeptKey::new(&held.key, self.reader.journal(), place, &fresh)?;
            file.keys.push(kept);
            file.write(self.layout(), Some(&*actor.signer))?;
        }
        self.take_ring(held, actor);
        let made = self
            .records
            .as_ref()
            .and_then(|records| records.current.get(&patient));
        made.cloned()
            .ok_or(SealingError::Damaged("a data key in it does not open"))
    }
}
