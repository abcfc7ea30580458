//! The ring file: the ring key, wrapped for whoever reads, and the data keys under it.
//!
//! One file, replaced whole, so that renewing the ring is done or not done. Nothing in it is secret
//! without a reading key. What it says is believed as far as a member of staff signed for the ring
//! and the ring key opens it; for whom it is wrapped is decided by the journal, not by it.

use std::path::PathBuf;
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::SealingError;
use super::wrap::{KeptKey, ReadingSecret, RingKey, Wrapped};
use crate::journal::disk::{Disk, FileStamp, RealDisk};
use crate::journal::{
    FolderLock, Layout, Signer, is_signed_by, lock_folder, read_small_file, replace_small_file,
};
use crate::record::ids::{
    JournalId, PersonKey, Pseudonym, ReadingKey, SealKeyId, Seq, from_hex, to_hex,
};
use crate::record::person::Handle;
use crate::ward::Ward;

const FORMAT: u32 = 1;
/// A ring file is never larger: some 250 bytes a key.
const BYTES_MAX: usize = 64 << 20;
/// How long to wait while somebody else changes the ring.
const PATIENCE: Duration = Duration::from_secs(10);

/// The ring file as it lies on the disk.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct RingFile {
    format: u32,
    journal: JournalId,
    /// One more with every renewal.
    pub ring: u64,
    /// Names the ring key.
    pub ring_id: SealKeyId,
    /// The newest entry whoever drew the ring had read.
    pub drawn_at: Seq,
    /// Whose signing key signed for it.
    by: PersonKey,
    signature: String,
    pub people: Vec<ForPerson>,
    /// For the ward's recovery key.
    pub recovery: ForRecovery,
    pub keys: Vec<KeptKey>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct ForPerson {
    pub handle: Handle,
    pub reading: ReadingKey,
    #[serde(flatten)]
    pub wrapped: Wrapped,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct ForRecovery {
    pub reading: ReadingKey,
    #[serde(flatten)]
    pub wrapped: Wrapped,
}

/// For whom a ring is drawn, by the journal.
pub(super) struct Readers {
    pub people: Vec<(Handle, ReadingKey)>,
    pub recovery: ReadingKey,
}

impl Readers {
    /// Everybody who may read now, and the recovery key; `None` where nothing is sealed.
    pub fn of(ward: &Ward) -> Option<Readers> {
        let recovery = ward.sealing().begun()?.recovery;
        let people = ward
            .roster()
            .filter_map(|staff| Some((staff.handle.clone(), staff.reads_with()?)));
        Some(Readers {
            people: people.collect(),
            recovery,
        })
    }
}

impl RingFile {
    /// A ring with a fresh key and no data keys.
    pub fn draw(
        journal: JournalId,
        number: u64,
        drawn_at: Seq,
        readers: &Readers,
        signer: &dyn Signer,
    ) -> Result<(RingFile, RingKey), SealingError> {
        let key = RingKey::fresh()?;
        let ring_id = key.id();
        let message = signing_text(journal, number, ring_id, drawn_at);
        let recovery = ForRecovery {
            reading: readers.recovery,
            wrapped: key.wrap_for(
                readers.recovery,
                &info(journal, number, ring_id, readers.recovery),
            )?,
        };
        let mut file = RingFile {
            format: FORMAT,
            journal,
            ring: number,
            ring_id,
            drawn_at,
            by: signer.public(),
            signature: to_hex(&signer.sign(message.as_bytes())),
            people: Vec::new(),
            recovery,
            keys: Vec::new(),
        };
        for (handle, reading) in &readers.people {
            file.let_in(&key, handle, *reading)?;
        }
        Ok((file, key))
    }

    /// Wraps the ring key for one more person.
    pub fn let_in(
        &mut self,
        key: &RingKey,
        handle: &Handle,
        reading: ReadingKey,
    ) -> Result<(), SealingError> {
        let info = info(self.journal, self.ring, self.ring_id, reading);
        let wrapped = key.wrap_for(reading, &info)?;
        self.people.push(ForPerson {
            handle: handle.clone(),
            reading,
            wrapped,
        });
        Ok(())
    }

    /// The ring key, for whoever it is wrapped for; `None` for anybody else.
    pub fn open(&self, with: &ReadingSecret) -> Option<RingKey> {
        let reading = with.public();
        let people = self.people.iter().map(|one| (one.reading, &one.wrapped));
        let all = people.chain([(self.recovery.reading, &self.recovery.wrapped)]);
        let info = info(self.journal, self.ring, self.ring_id, reading);
        all.filter(|(to, _)| *to == reading)
            .find_map(|(_, wrapped)| RingKey::unwrap(wrapped, with, &info))
            .filter(|key| key.id() == self.ring_id)
    }

    /// Whether somebody drew it who might: a keeper, or who read records, when the ring was drawn. A
    /// ring of an intruder's own making would have new records sealed for them.
    pub fn check(&self, journal: JournalId, ward: &Ward) -> Result<(), SealingError> {
        if self.journal != journal {
            return Err(SealingError::Damaged("it belongs to another journal"));
        }
        let message = signing_text(journal, self.ring, self.ring_id, self.drawn_at);
        let signature = from_hex(&self.signature).and_then(|bytes| bytes.try_into().ok());
        let signed = signature.is_some_and(|one| is_signed_by(self.by, message.as_bytes(), &one));
        let standing = ward
            .staff_by_key(&self.by)
            .and_then(|staff| staff.standing_at(self.drawn_at.next()));
        let might = standing.is_some_and(|standing| {
            let role = standing.role;
            let may = role.reads_records() || role == crate::record::role::Role::Keeper;
            standing.key == Some(self.by) && !standing.suspended && may
        });
        if signed && might {
            Ok(())
        } else {
            Err(SealingError::Damaged(
                "nobody who may draw it signed for it",
            ))
        }
    }

    /// Takes out whoever may not read, and the keys of destroyed records: for that no key is needed.
    /// Says whether anything was taken out.
    pub fn purge(&mut self, readers: &Readers, ward: &Ward) -> bool {
        let before = (self.people.len(), self.keys.len());
        self.people.retain(|one| {
            readers
                .people
                .iter()
                .any(|(handle, reading)| (handle, reading) == (&one.handle, &one.reading))
        });
        let destroyed = ward.sealing().destroyed();
        self.keys
            .retain(|key| !destroyed.contains_key(&key.patient));
        before != (self.people.len(), self.keys.len())
    }

    /// The newest key of a record that was made in this ring.
    pub fn current(&self, patient: Pseudonym) -> Option<&KeptKey> {
        let mut of_record = self.keys.iter().rev();
        of_record.find(|key| key.patient == patient && key.made_in == self.ring)
    }

    pub fn read(layout: &Layout) -> Result<RingFile, SealingError> {
        let path = path(layout);
        let bytes = match read_small_file(&path, BYTES_MAX) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                return Err(SealingError::NoRing { path });
            }
            Err(cause) => return Err(SealingError::Io { path, cause }),
        };
        let file: RingFile = serde_json::from_slice(&bytes)
            .map_err(|_| SealingError::Damaged("it cannot be read"))?;
        if file.format != FORMAT {
            return Err(SealingError::Damaged("it is in another format"));
        }
        Ok(file)
    }

    pub fn write(&self, layout: &Layout) -> Result<(), SealingError> {
        let text = serde_json::to_vec_pretty(self).unwrap_or_default();
        let path = path(layout);
        replace_small_file(&path, &text).map_err(|cause| SealingError::Io { path, cause })
    }
}

/// What tells that the file was replaced.
pub(super) fn stamp(layout: &Layout) -> Option<FileStamp> {
    RealDisk.stamp(&path(layout)).ok()
}

pub(super) fn path(layout: &Layout) -> PathBuf {
    layout.sealing_dir().join("ring.json")
}

/// One at a time at the ring.
pub(super) fn lock(layout: &Layout) -> Result<Option<FolderLock>, SealingError> {
    match lock_folder(&layout.sealing_dir(), PATIENCE) {
        Ok(None) => Err(SealingError::Busy),
        Ok(lock) => Ok(lock),
        // There is no folder yet, or the file system locks none: what it guards against is two at once.
        Err(_) => Ok(None),
    }
}

/// What a wrapped ring key is bound to.
fn info(journal: JournalId, ring: u64, ring_id: SealKeyId, reading: ReadingKey) -> String {
    format!("handfast ring key 1\n{journal}\n{ring}\n{ring_id}\n{reading}")
}

/// What whoever draws a ring signs.
fn signing_text(journal: JournalId, ring: u64, ring_id: SealKeyId, drawn_at: Seq) -> String {
    format!(
        "handfast ring 1\n{journal}\n{ring}\n{ring_id}\n{}",
        drawn_at.0
    )
}
