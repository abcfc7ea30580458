//! The ring follows the journal.

use std::collections::BTreeSet;

use super::ring::{self, Readers, RingFile};
use super::trust::{Standing, Vouched};
use super::wrap::{KeptKey, RingKey};
use super::{SealingError, Station};
use crate::journal::{FolderLock, ReadJournal, SEALING_CLEAR, Signer};
use crate::record::ids::{SealKeyId, Seq};
use crate::record::person::Handle;
use crate::record::role::Role;
use crate::station::Actor;

/// How the ring stands beside the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RingState {
    /// Its number: larger with every renewal.
    pub number: u64,
    /// For whom it is wrapped.
    pub people: Vec<Handle>,
    /// Who may read and waits for a colleague.
    pub waiting: Vec<Handle>,
    /// How many data keys lie under it.
    pub keys: usize,
    /// It is to be renewed by whoever reads and unlocks next: somebody lost the right to read, or
    /// the file is not as it was last written.
    pub due: bool,
    /// Whoever drew it reads no records: it is renewed by the first who does.
    pub drawn_by_non_reader: bool,
    /// The file is not as anybody on the staff last wrote it, or is of the first format.
    pub altered: bool,
    /// Data keys in it that cannot be read or do not open.
    pub damaged: usize,
}

/// The ring, opened and locked for as long as this lives.
pub(super) struct HeldRing {
    pub file: RingFile,
    pub key: RingKey,
    /// Why a ring that is due could not be renewed: it opens what is there, and seals nothing.
    pub not_renewed: Option<SealingError>,
    lock: Option<FolderLock>,
}

impl HeldRing {
    /// Lets others at the ring; what was read of it stays.
    pub fn unlock(&mut self) {
        self.lock = None;
    }
}

impl Station {
    /// The ring as it lies there, and how far it is to be believed.
    pub(super) fn ring_there(&self) -> Result<(RingFile, Standing), SealingError> {
        let file = RingFile::read(self.layout())?;
        let standing = file.check(self.reader.journal(), self.ward(), self.head().seq)?;
        Ok((file, standing))
    }

    /// Opens the ring for somebody who reads and brings it up with the journal.
    pub(super) fn hold_ring(&self, actor: &Actor) -> Result<HeldRing, SealingError> {
        let lock = ring::lock(self.layout())?;
        let (file, standing) = self.ring_there()?;
        let key = file
            .open(&actor.reading)
            .ok_or_else(|| SealingError::NotYetFor {
                handle: actor.handle.clone(),
                colleagues: readers_but(&actor.handle, &file),
            })?;
        let mut held = HeldRing {
            file,
            key,
            not_renewed: None,
            lock,
        };
        self.follow_journal(&mut held, standing, &*actor.signer)?;
        Ok(held)
    }

    /// With the ring key at hand: takes out whoever may not read and the keys of destroyed records, lets in
    /// whoever is new, and renews the ring where it is due.
    fn follow_journal(
        &self,
        held: &mut HeldRing,
        standing: Standing,
        signer: &dyn Signer,
    ) -> Result<(), SealingError> {
        let ward = self.ward();
        let Some(readers) = Readers::of(ward) else {
            return Ok(());
        };
        if standing.is_due() {
            held.file.purge(&readers, ward);
            match self.renew(&held.file, &held.key, &readers, signer) {
                Ok(renewed) => (held.file, held.key) = renewed,
                // A copy on a read-only disk can be read all the same.
                Err(error) if error.is_of_a_place_for_reading() => held.not_renewed = Some(error),
                Err(error) => return Err(error),
            }
            return Ok(());
        }
        let file = &mut held.file;
        let mut changed = file.purge(&readers, ward) | file.set_apart(&held.key);
        if standing.vouched == Vouched::Reader {
            for (handle, reading) in &readers.people {
                if !file.people.iter().any(|one| one.reading == *reading) {
                    changed |= file.let_in(&held.key, handle, *reading)?;
                }
            }
        } else {
            // Whoever has no key cannot tell a wrapped key from other bytes.
            file.wrap_for_all(&held.key, &readers)?;
            changed = true;
        }
        if !changed {
            return Ok(());
        }
        match file.write(self.layout(), Some(signer)) {
            Err(error) if error.is_of_a_place_for_reading() => Ok(()),
            other => other,
        }
    }

    /// A new ring key, every data key under it, and new data keys for what is written from now on.
    /// A ring that cannot be stored is not the ring: the old one stays until it can.
    pub(super) fn renew(
        &self,
        file: &RingFile,
        key: &RingKey,
        readers: &Readers,
        signer: &dyn Signer,
    ) -> Result<(RingFile, RingKey), SealingError> {
        let (journal, head) = (self.reader.journal(), self.head().seq);
        let mut old = file.clone();
        old.purge(readers, self.ward());
        old.set_apart(key);
        let number = file.ring.saturating_add(1).max(head.0);
        let (mut next, next_key) = RingFile::draw(journal, number, head, readers, signer)?;
        for kept in &old.keys {
            let Some(data) = kept.open(key, journal) else {
                continue;
            };
            // A key that says it was made in a ring to come was put there by somebody who knew the
            // old ring key, so that it would be used from now on.
            let made_in = kept.made_in.min(number.saturating_sub(1));
            let place = (kept.patient, made_in);
            next.keys
                .push(KeptKey::new(&next_key, journal, place, &data)?);
        }
        next.spoilt = old.spoilt;
        next.write(self.layout(), Some(signer))?;
        Ok((next, next_key))
    }

    /// Without the ring key: takes out whoever may not read and the keys of destroyed records. Where nothing
    /// was sealed yet, a keeper draws a ring for all who are enrolled. `None` where nothing is sealed.
    pub(super) fn tidy_ring(&mut self, actor: &Actor) -> Result<Option<RingState>, SealingError> {
        let Some(readers) = Readers::of(self.ward()) else {
            return Ok(None);
        };
        let _lock = ring::lock(self.layout())?;
        let nothing_sealed = self.records.is_none() && self.ward().sealing().unopened().is_empty();
        let may_draw = nothing_sealed && actor.role == Role::Keeper;
        match self.ring_there() {
            Err(SealingError::NoRing { .. }) if may_draw => {
                self.draw_first(0, &readers, &*actor.signer)?;
            }
            Err(error) => return Err(error),
            Ok((mut file, standing)) => {
                let state = self.state_of(&file, standing, &readers);
                if may_draw && file.keys.is_empty() && (state.due || !state.waiting.is_empty()) {
                    self.draw_first(file.ring, &readers, &*actor.signer)?;
                } else if file.purge(&readers, self.ward()) {
                    // Nobody signs for what nobody vouched for before.
                    let vouched = standing.vouched != Vouched::Nobody;
                    let signer = vouched.then_some(&*actor.signer);
                    match file.write(self.layout(), signer) {
                        Err(error) if error.is_of_a_place_for_reading() => {}
                        other => other?,
                    }
                }
            }
        }
        let (file, standing) = self.ring_there()?;
        Ok(Some(self.state_of(&file, standing, &readers)))
    }

    /// A ring for a ward in which nothing was sealed yet.
    fn draw_first(
        &self,
        before: u64,
        readers: &Readers,
        signer: &dyn Signer,
    ) -> Result<(), SealingError> {
        let (journal, number) = (self.reader.journal(), before.saturating_add(1));
        let (mut file, _) = RingFile::draw(journal, number, self.head().seq, readers, signer)?;
        file.write(self.layout(), Some(signer))
    }

    /// How the ring stands; `None` in a journal whose records are in clear.
    ///
    /// # Errors
    /// When it is missing or damaged.
    pub fn ring_state(&self) -> Result<Option<RingState>, SealingError> {
        let Some(readers) = Readers::of(self.ward()) else {
            return Ok(None);
        };
        let (file, standing) = self.ring_there()?;
        Ok(Some(self.state_of(&file, standing, &readers)))
    }

    /// How many keys entries are sealed with that the ring file does not hold, those of destroyed
    /// records apart: then it is older than the journal, or rows were taken out. Reads every header.
    ///
    /// # Errors
    /// When the ring file is missing or damaged.
    pub fn keys_lacking(&self) -> Result<usize, SealingError> {
        let (file, _) = self.ring_there()?;
        let held: BTreeSet<SealKeyId> = file.keys.iter().map(|key| key.id).collect();
        let destroyed = self.ward().sealing().destroyed();
        let frames = self.reader.read_from(Seq(1)).filter_map(Result::ok);
        let named = frames.filter_map(|frame| {
            let header = frame.header();
            let sealed = header.sealing != SEALING_CLEAR;
            (sealed && !destroyed.contains_key(&header.patient)).then_some(header.seal_key)
        });
        let lacking: BTreeSet<SealKeyId> = named.filter(|id| !held.contains(id)).collect();
        Ok(lacking.len())
    }

    fn state_of(&self, file: &RingFile, standing: Standing, readers: &Readers) -> RingState {
        let waits = |reading| !file.people.iter().any(|one| one.reading == reading);
        let waiting = readers.people.iter().filter(|(_, reading)| waits(*reading));
        RingState {
            number: file.ring,
            people: file.people.iter().map(|one| one.handle.clone()).collect(),
            waiting: waiting.map(|(handle, _)| handle.clone()).collect(),
            keys: file.keys.len(),
            due: standing.stale,
            drawn_by_non_reader: standing.by_non_reader,
            altered: standing.vouched == Vouched::Nobody,
            damaged: file.spoilt.len(),
        }
    }
}

/// Who else could wrap the keys for somebody.
fn readers_but(handle: &Handle, file: &RingFile) -> String {
    let others = file.people.iter().filter(|one| one.handle != *handle);
    let names: Vec<&str> = others.map(|one| one.handle.as_str()).collect();
    if names.is_empty() {
        "nobody yet".to_owned()
    } else {
        names.join(", ")
    }
}
