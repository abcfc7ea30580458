//! The ward as rows, and rows as the ward.
//!
//! | key | value |
//! |---|---|
//! | `w` | what concerns the whole ward |
//! | `p` pseudonym | one patient |
//! | `0xff wm` | the watermark: where in which journal this is |
//!
//! A value is 16 bytes of digest over key and content, then the content in bincode's legacy
//! layout. The watermark counts the patients' rows and holds the exclusive-or of all digests,
//! so that a missing, stale or strange row is noticed.

use std::collections::BTreeMap;

use bincode::config::{Configuration, Fixint, Limit, LittleEndian};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use super::cache::Trouble;
use super::sealed_rows::RowKey;
use super::{Changed, Ward};
use crate::journal::{Head, SegmentMarks};
use crate::record::ids::{JournalId, Pseudonym};
use crate::ward::Patient;

/// Key of the ward's own row.
pub(super) const WARD: &[u8] = b"w";
/// First byte of a patient's key.
const PATIENT: u8 = b'p';
/// Key of the watermark.
pub(super) const WATERMARK: &[u8] = b"\xffwm";

/// Bytes of digest before each row's content.
const DIGEST: usize = 16;
/// No row is longer; nothing that claims to be is allocated.
const ROW_BYTES_MAX: usize = 256 << 20;

const LAYOUT: Configuration<LittleEndian, Fixint, Limit<ROW_BYTES_MAX>> =
    bincode::config::legacy().with_limit::<ROW_BYTES_MAX>();

/// Key and value of one row.
pub(super) type Row = (Vec<u8>, Vec<u8>);
/// Digest of one row, or of several together.
pub(super) type RowDigest = [u8; DIGEST];

/// Where in which journal an index stands, and over which rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Watermark {
    seq: crate::record::ids::Seq,
    hash: crate::record::ids::EntryHash,
    journal: JournalId,
    schema: u32,
    /// The files up to there.
    marks: SegmentMarks,
    /// Patients' rows.
    pub patients: u64,
    /// Digests of all rows but this, together.
    pub sum: RowDigest,
}

impl Watermark {
    /// Over no rows yet.
    pub(super) fn new(
        journal: JournalId,
        folded: Head,
        marks: SegmentMarks,
        schema: u32,
    ) -> Watermark {
        Watermark {
            seq: folded.seq,
            hash: folded.hash,
            journal,
            schema,
            marks,
            patients: 0,
            sum: [0; DIGEST],
        }
    }

    pub(super) const fn folded(&self) -> Head {
        Head {
            seq: self.seq,
            hash: self.hash,
        }
    }

    pub(super) const fn journal(&self) -> JournalId {
        self.journal
    }

    pub(super) const fn schema(&self) -> u32 {
        self.schema
    }

    pub(super) const fn marks(&self) -> &SegmentMarks {
        &self.marks
    }

    /// Whether it stands at this place of the same history, under the same schema.
    pub(super) fn is_at(&self, since: Head, same: &Watermark) -> bool {
        (self.journal, self.schema, self.folded()) == (same.journal, same.schema, since)
    }

    /// Whether it stands at the same place, or further on in the same journal. An index that
    /// went on in a history that was since lost is found out when it is next read.
    pub(super) fn is_no_older_than(&self, other: &Watermark) -> bool {
        let alike = (self.journal, self.schema) == (other.journal, other.schema);
        alike && (self.seq > other.seq || (self.seq, self.hash) == (other.seq, other.hash))
    }

    /// Takes a row into account, or out of it again.
    pub(super) fn toggle(&mut self, value: &[u8]) {
        for (sum, byte) in self.sum.iter_mut().zip(value) {
            *sum ^= byte;
        }
    }

    pub(super) fn row(&self) -> Result<Row, bincode::error::EncodeError> {
        // Says where the index stands and nothing about anybody.
        row(WATERMARK.to_vec(), self, None)
    }

    pub(super) fn read(value: &[u8]) -> Result<Watermark, Trouble> {
        content(WATERMARK, value, None)
    }
}

/// Whether this is the key of a patient's row.
pub(super) fn is_patient(key: &[u8]) -> bool {
    key.first() == Some(&PATIENT)
}

/// The rows that must be written: the ward's own first, then the patients' in order.
pub(super) fn of(
    ward: &Ward,
    changed: &Changed<'_>,
    seal: Option<&RowKey>,
) -> Result<Vec<Row>, bincode::error::EncodeError> {
    // Every field is named, so that a new one cannot be forgotten.
    let Ward {
        opened,
        head,
        newest_recorded_at,
        roster,
        opener,
        policy,
        common,
        patients,
        accesses,
        doubtful,
        loss,
        sealing,
        damage_accepted,
        ward_key,
        checkpoint,
        // Of a ward as of an earlier moment, which is never kept.
        opens_later: _,
    } = ward;
    let own = (
        opened,
        head,
        newest_recorded_at,
        roster,
        policy,
        common,
        accesses,
        (
            opener,
            doubtful,
            loss,
            sealing,
            damage_accepted,
            ward_key,
            checkpoint,
        ),
    );
    let mut rows = vec![row(WARD.to_vec(), &own, seal)?];
    for patient in patients.values() {
        let wanted = match changed {
            Changed::All => true,
            Changed::Patients { patients, .. } => patients.contains(&patient.pseudonym),
        };
        if wanted {
            rows.push(row(patient_key(patient.pseudonym), patient, seal)?);
        }
    }
    Ok(rows)
}

/// The ward that rows hold, all of them together fitting their watermark.
pub(super) fn ward_of(
    rows: &[Row],
    mark: &Watermark,
    seal: Option<&RowKey>,
) -> Result<Ward, Trouble> {
    let mut seen = Watermark {
        patients: 0,
        sum: [0; DIGEST],
        ..mark.clone()
    };
    let mut own = None;
    let mut patients: BTreeMap<Pseudonym, Patient> = BTreeMap::new();
    for (key, value) in rows {
        seen.toggle(value);
        if key.as_slice() == WARD {
            own = Some(content(key, value, seal)?);
        } else {
            let patient: Patient = content(key, value, seal)?;
            if *key != patient_key(patient.pseudonym) {
                return Err(Trouble::damaged("a row lies under another's key"));
            }
            seen.patients += 1;
            patients.insert(patient.pseudonym, patient);
        }
    }
    if seen != *mark {
        return Err(Trouble::damaged("rows are missing or of another time"));
    }
    let (opened, head, newest_recorded_at, roster, policy, common, accesses, proof) =
        own.ok_or_else(|| Trouble::damaged("the ward's own row is missing"))?;
    let (opener, doubtful, loss, sealing, damage_accepted, ward_key, checkpoint) = proof;
    Ok(Ward {
        opened,
        head,
        newest_recorded_at,
        roster,
        opener,
        policy,
        common,
        patients,
        accesses,
        doubtful,
        loss,
        sealing,
        damage_accepted,
        ward_key,
        checkpoint,
        opens_later: None,
    })
}

fn patient_key(pseudonym: Pseudonym) -> Vec<u8> {
    let mut key = vec![PATIENT];
    key.extend_from_slice(&pseudonym.0);
    key
}

fn row<T: Serialize>(
    key: Vec<u8>,
    content: &T,
    seal: Option<&RowKey>,
) -> Result<Row, bincode::error::EncodeError> {
    let content = bincode::serde::encode_to_vec(content, LAYOUT)?;
    let content = match seal {
        Some(seal) => seal
            .seal(&key, content)
            .ok_or(bincode::error::EncodeError::Other(
                "a row could not be encrypted",
            ))?,
        None => content,
    };
    let mut value = Vec::with_capacity(DIGEST + content.len());
    value.extend_from_slice(&digest(&key, &content));
    value.extend_from_slice(&content);
    Ok((key, value))
}

fn content<T: DeserializeOwned>(
    key: &[u8],
    value: &[u8],
    seal: Option<&RowKey>,
) -> Result<T, Trouble> {
    let (stated, content) = value
        .split_at_checked(DIGEST)
        .ok_or_else(|| Trouble::damaged("a row is too short"))?;
    if digest(key, content) != stated {
        return Err(Trouble::damaged("a row is not what was written"));
    }
    let opened = match seal {
        Some(seal) => Some(
            seal.open(key, content)
                .ok_or_else(|| Trouble::damaged("a row does not open"))?,
        ),
        None => None,
    };
    let content = opened.as_deref().map_or(content, Vec::as_slice);
    match bincode::serde::decode_from_slice(content, LAYOUT) {
        Ok((read, used)) if used == content.len() => Ok(read),
        _ => Err(Trouble::damaged("a row does not fit its form")),
    }
}

fn digest(key: &[u8], content: &[u8]) -> RowDigest {
    let mut hasher = blake3::Hasher::new_derive_key("handfast ward index row v1");
    hasher.update(&(key.len() as u64).to_le_bytes());
    hasher.update(key);
    hasher.update(content);
    let mut digest = [0; DIGEST];
    digest.copy_from_slice(&hasher.finalize().as_bytes()[..DIGEST]);
    digest
}
