//! The ring follows the journal.

use super::ring::{self, Readers, RingFile};
use super::wrap::{KeptKey, RingKey};
use super::{SealingError, Station};
use crate::journal::{ReadJournal, Signer};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::station::Actor;

/// How the ring stands beside the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RingState {
    /// Its number: one more with every renewal.
    pub number: u64,
    /// For whom it is wrapped.
    pub people: Vec<Handle>,
    /// Who may read and waits for a colleague.
    pub waiting: Vec<Handle>,
    /// How many data keys lie under it.
    pub keys: usize,
    /// It is to be renewed by whoever reads and unlocks next.
    pub due: bool,
}

impl Station {
    /// With the ring key at hand: takes out whoever may not read and the keys of destroyed records, lets in
    /// whoever is new, and renews the ring where somebody lost the right since it was drawn.
    pub(super) fn follow_journal(
        &self,
        file: &mut RingFile,
        key: RingKey,
        signer: &dyn Signer,
    ) -> Result<RingKey, SealingError> {
        let ward = self.ward();
        let Some(readers) = Readers::of(ward) else {
            return Ok(key);
        };
        if file.drawn_at < ward.ring_due_since() {
            return self.renew(file, &key, &readers, signer);
        }
        let mut changed = file.purge(&readers, ward);
        for (handle, reading) in &readers.people {
            if !file.people.iter().any(|one| one.reading == *reading) {
                file.let_in(&key, handle, *reading)?;
                changed = true;
            }
        }
        if changed {
            self.write_if_it_can_be(file)?;
        }
        Ok(key)
    }

    /// A new ring key, every data key under it, and new data keys for what is written from now on.
    pub(super) fn renew(
        &self,
        file: &mut RingFile,
        key: &RingKey,
        readers: &Readers,
        signer: &dyn Signer,
    ) -> Result<RingKey, SealingError> {
        let journal = self.reader.journal();
        let number = file.ring.saturating_add(1);
        file.purge(readers, self.ward());
        let (mut next, next_key) =
            RingFile::draw(journal, number, self.head().seq, readers, signer)?;
        for kept in &file.keys {
            let Some(data) = kept.open(key, journal) else {
                return Err(SealingError::Damaged("a data key in it does not open"));
            };
            let place = (kept.patient, kept.made_in);
            next.keys
                .push(KeptKey::new(&next_key, journal, place, &data)?);
        }
        // A ring that cannot be stored is not the ring: the old one stays in force until it can.
        next.write(self.layout())?;
        *file = next;
        Ok(next_key)
    }

    /// Without the ring key: takes out whoever may not read and the keys of destroyed records. Where nothing
    /// was sealed yet, a keeper draws a ring for all who are enrolled. `None` where nothing is sealed.
    pub(super) fn tidy_ring(&mut self, actor: &Actor) -> Result<Option<RingState>, SealingError> {
        let Some(readers) = Readers::of(self.ward()) else {
            return Ok(None);
        };
        let _lock = ring::lock(self.layout())?;
        let journal = self.reader.journal();
        let nothing_sealed = self.records.is_none() && self.ward().sealing().unopened().is_empty();
        let may_draw = nothing_sealed && actor.role == Role::Keeper;
        let draw = |number| {
            let signer = &*actor.signer;
            let drawn = RingFile::draw(journal, number, self.head().seq, &readers, signer);
            drawn.map(|(file, _)| file)
        };
        let file = match RingFile::read(self.layout()) {
            Err(SealingError::NoRing { .. }) if may_draw => {
                let file = draw(1)?;
                file.write(self.layout())?;
                file
            }
            Err(error) => return Err(error),
            Ok(mut file) => {
                file.check(journal, self.ward())?;
                let state = self.state_of(&file, &readers);
                if may_draw && file.keys.is_empty() && (state.due || !state.waiting.is_empty()) {
                    file = draw(file.ring.saturating_add(1))?;
                    file.write(self.layout())?;
                } else if file.purge(&readers, self.ward()) {
                    self.write_if_it_can_be(&file)?;
                }
                file
            }
        };
        Ok(Some(self.state_of(&file, &readers)))
    }

    /// How the ring stands; `None` in a journal whose records are in clear.
    ///
    /// # Errors
    /// When it is missing or damaged.
    pub fn ring_state(&self) -> Result<Option<RingState>, SealingError> {
        let Some(readers) = Readers::of(self.ward()) else {
            return Ok(None);
        };
        let file = RingFile::read(self.layout())?;
        file.check(self.reader.journal(), self.ward())?;
        Ok(Some(self.state_of(&file, &readers)))
    }

    fn state_of(&self, file: &RingFile, readers: &Readers) -> RingState {
        let waits = |reading| !file.people.iter().any(|one| one.reading == reading);
        let waiting = readers.people.iter().filter(|(_, reading)| waits(*reading));
        RingState {
            number: file.ring,
            people: file.people.iter().map(|one| one.handle.clone()).collect(),
            waiting: waiting.map(|(handle, _)| handle.clone()).collect(),
            keys: file.keys.len(),
            due: file.drawn_at < self.ward().ring_due_since(),
        }
    }

    /// A folder that cannot be written (a copy on a read-only disk) can be read all the same.
    fn write_if_it_can_be(&self, file: &RingFile) -> Result<(), SealingError> {
        match file.write(self.layout()) {
            Err(SealingError::Io { cause, .. })
                if matches!(
                    cause.kind(),
                    std::io::ErrorKind::ReadOnlyFilesystem | std::io::ErrorKind::PermissionDenied
                ) =>
            {
                Ok(())
            }
            other => other,
        }
    }
}
