//! The ring file: the ring key, wrapped for whoever reads, and the data keys under it.
//!
//! One file, replaced whole, so that renewing the ring is done or not done. Nothing in it is secret
//! without a reading key. How far it is believed is `trust`'s to say; for whom it is wrapped is
//! decided by the journal, not by it.

use std::path::PathBuf;
use std::time::Duration;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::SealingError;
use super::trust::Written;
use super::wrap::{KeptKey, ReadingSecret, RingKey, Wrapped};
use crate::journal::disk::{Disk, FileStamp, RealDisk};
use crate::journal::{
    FolderLock, Layout, Signer, lock_folder, read_small_file, replace_small_file,
};
use crate::record::ids::{JournalId, PersonKey, Pseudonym, ReadingKey, SealKeyId, Seq, to_hex};
use crate::record::person::Handle;
use crate::ward::Ward;

/// The whole file is signed for by whoever wrote it last.
const FORMAT: u32 = 2;
/// Of the first builds: only the ring itself is signed for. Read, and renewed as soon as can be.
const FORMAT_RING_ALONE: u32 = 1;
/// A ring file is never larger: some 250 bytes a key.
const BYTES_MAX: usize = 64 << 20;
/// How long to wait while somebody else changes the ring.
const PATIENCE: Duration = Duration::from_secs(10);

/// The ring file as it lies on the disk.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct RingFile {
    format: u32,
    pub(super) journal: JournalId,
    /// Larger with every renewal, and never below the newest entry's number when it was drawn: a
    /// ring renewed from an old copy does not take the number of one that was in force since.
    pub ring: u64,
    /// Names the ring key.
    pub ring_id: SealKeyId,
    /// The newest entry whoever drew the ring had read.
    pub drawn_at: Seq,
    /// Whose signing key signed for it.
    pub(super) by: PersonKey,
    pub(super) signature: String,
    pub people: Vec<ForPerson>,
    /// For the ward's recovery key; `None` where that cannot be read.
    pub recovery: Option<ForRecovery>,
    pub keys: Vec<KeptKey>,
    /// Rows of data keys that cannot be read or do not open, as they were met.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub spoilt: Vec<String>,
    /// Who wrote all of this; `None` in the format of the first builds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub written: Option<Written>,
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
        let mut file = RingFile {
            format: FORMAT,
            journal,
            ring: number,
            ring_id,
            drawn_at,
            by: signer.public(),
            signature: to_hex(&signer.sign(message.as_bytes())),
            people: Vec::new(),
            recovery: None,
            keys: Vec::new(),
            spoilt: Vec::new(),
            written: None,
        };
        file.wrap_for_all(&key, readers)?;
        Ok((file, key))
    }

    /// Wraps the ring key anew for everybody who reads and for the recovery key, whatever was there.
    pub fn wrap_for_all(&mut self, key: &RingKey, readers: &Readers) -> Result<(), SealingError> {
        self.people.clear();
        for (handle, reading) in &readers.people {
            self.let_in(key, handle, *reading)?;
        }
        let reading = readers.recovery;
        let wrapped = self.wrapped(key, reading)?;
        self.recovery = wrapped.map(|wrapped| ForRecovery { reading, wrapped });
        Ok(())
    }

    /// Wraps the ring key for one more person. Says whether it did: what a keeper entered as a key
    /// and is none locks nobody else out.
    pub fn let_in(
        &mut self,
        key: &RingKey,
        handle: &Handle,
        reading: ReadingKey,
    ) -> Result<bool, SealingError> {
        let Some(wrapped) = self.wrapped(key, reading)? else {
            return Ok(false);
        };
        self.people.push(ForPerson {
            handle: handle.clone(),
            reading,
            wrapped,
        });
        Ok(true)
    }

    fn wrapped(&self, key: &RingKey, to: ReadingKey) -> Result<Option<Wrapped>, SealingError> {
        let info = info(self.journal, self.ring, self.ring_id, to);
        match key.wrap_for(to, &info) {
            Err(SealingError::Damaged(_)) => Ok(None),
            other => other.map(Some),
        }
    }

    /// The ring key, for whoever it is wrapped for; `None` for anybody else. A row that holds another
    /// key stands in the way of none after it.
    pub fn open(&self, with: &ReadingSecret) -> Option<RingKey> {
        let reading = with.public();
        let people = self.people.iter().map(|one| (one.reading, &one.wrapped));
        let recovery = self.recovery.iter().map(|one| (one.reading, &one.wrapped));
        let info = info(self.journal, self.ring, self.ring_id, reading);
        people
            .chain(recovery)
            .filter(|(to, _)| *to == reading)
            .filter_map(|(_, wrapped)| RingKey::unwrap(wrapped, with, &info))
            .find(|key| key.id() == self.ring_id)
    }

    /// Sets apart the data keys that do not open: they are carried along and counted, and lock
    /// nobody out of the others. Says whether there were any.
    pub fn set_apart(&mut self, key: &RingKey) -> bool {
        let (journal, spoilt) = (self.journal, &mut self.spoilt);
        let before = spoilt.len();
        self.keys.retain(|kept| {
            let opens = kept.open(key, journal).is_some();
            if !opens {
                spoilt.push(serde_json::to_string(kept).unwrap_or_else(|_| format!("{kept:?}")));
            }
            opens
        });
        self.spoilt.len() > before
    }

    /// Takes out whoever may not read, and the keys of destroyed records: for that no key is needed.
    /// Says whether anything was taken out.
    pub fn purge(&mut self, readers: &Readers, ward: &Ward) -> bool {
        let size = |file: &RingFile| (file.people.len(), file.keys.len(), file.spoilt.len());
        let before = size(self);
        self.people.retain(|one| {
            readers
                .people
                .iter()
                .any(|(handle, reading)| (handle, reading) == (&one.handle, &one.reading))
        });
        let destroyed = ward.sealing().destroyed();
        self.keys
            .retain(|key| !destroyed.contains_key(&key.patient));
        self.spoilt.retain(|row| {
            let mut gone = destroyed.keys();
            !gone.any(|patient| row.contains(&patient.to_string()))
        });
        before != size(self)
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
        RingFile::from_json(&bytes)
    }

    /// A row that cannot be read is not the end of the others: keys are set apart, people and the
    /// recovery key are wrapped for anew.
    fn from_json(bytes: &[u8]) -> Result<RingFile, SealingError> {
        let unread = |_| SealingError::Damaged("it cannot be read");
        let mut value: Value = serde_json::from_slice(bytes).map_err(unread)?;
        let spoilt = take_unread::<KeptKey>(&mut value, "keys");
        drop(take_unread::<ForPerson>(&mut value, "people"));
        if let Some(recovery) = value.get_mut("recovery")
            && ForRecovery::deserialize(&*recovery).is_err()
        {
            *recovery = Value::Null;
        }
        let mut file: RingFile = serde_json::from_value(value).map_err(unread)?;
        if ![FORMAT, FORMAT_RING_ALONE].contains(&file.format) {
            return Err(SealingError::Damaged("it is in another format"));
        }
        file.spoilt.extend(spoilt);
        Ok(file)
    }

    /// Stores it, signed for by whoever writes it. Without a signer it is stored as it was found,
    /// less what was taken out: nobody signs for what nobody vouched for.
    pub fn write(
        &mut self,
        layout: &Layout,
        signer: Option<&dyn Signer>,
    ) -> Result<(), SealingError> {
        if let Some(signer) = signer {
            self.format = FORMAT;
            self.written = Some(Written::by(self, signer)?);
        }
        let text = serde_json::to_vec_pretty(self)
            .map_err(|_| SealingError::Damaged("it cannot be put into words"))?;
        let path = path(layout);
        replace_small_file(&path, &text).map_err(|cause| SealingError::Io { path, cause })
    }
}

/// Takes the rows out of a list that cannot be read as what they should be.
fn take_unread<T: DeserializeOwned>(file: &mut Value, list: &str) -> Vec<String> {
    let mut taken = Vec::new();
    if let Some(rows) = file.get_mut(list).and_then(Value::as_array_mut) {
        rows.retain(|row| {
            let reads = T::deserialize(row).is_ok();
            if !reads {
                taken.push(row.to_string());
            }
            reads
        });
    }
    taken
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
pub(super) fn signing_text(
    journal: JournalId,
    ring: u64,
    ring_id: SealKeyId,
    drawn_at: Seq,
) -> String {
    format!(
        "handfast ring 1\n{journal}\n{ring}\n{ring_id}\n{}",
        drawn_at.0
    )
}
