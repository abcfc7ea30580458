//! What is hashed and signed, and how one entry is tied to the one before.
//!
//! Invariants: `prev(1) = genesis(journal)`; `prev(n + 1) = entry_hash(n)`. Nothing here
//! knows where a field lies in a frame.

use std::sync::OnceLock;

use blake3::Hasher;

use crate::record::ids::{EntryHash, JournalId, Seq};

/// BLAKE3 key-derivation contexts. Each use of the hash has its own, so that bytes made for
/// one can never stand in for another. They are part of the format and never change.
mod context {
    pub const GENESIS: &str = "handfast journal v1 genesis";
    pub const CONTENT: &str = "handfast journal v1 entry content";
    pub const ENTRY: &str = "handfast journal v1 entry hash";
    pub const HEADER_CHECK: &str = "handfast journal v1 frame header check";
    pub const SEGMENT_CHECK: &str = "handfast journal v1 segment header check";
    pub const FINDINGS: &str = "handfast journal v1 damage findings";
    pub const IDS: &str = "handfast journal v1 entry ids file";
    pub const NOTE: &str = "handfast journal v1 flushed note";
    pub const PATIENT: &str = "handfast journal v1 patient entries";
    pub const TILE: &str = "handfast journal v1 tree file";
}

/// What an author signs is this text followed by the 32 bytes of the content hash.
pub const SIGNATURE_DOMAIN: &[u8; 32] = b"handfast journal v1 entry sign\n\0";

/// Where a journal stands: its newest entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Head {
    /// The newest entry; [`Seq::NONE`] for an empty journal.
    pub seq: Seq,
    /// Its hash, or [`genesis`] for an empty journal.
    pub hash: EntryHash,
}

impl Head {
    /// The head of a journal without entries.
    #[must_use]
    pub fn empty(journal: JournalId) -> Head {
        Head {
            seq: Seq::NONE,
            hash: genesis(journal),
        }
    }
}

/// What the first entry names as the one before it. It differs for every journal, so that no
/// entry fits in another journal.
#[must_use]
pub fn genesis(journal: JournalId) -> EntryHash {
    EntryHash(blake3::derive_key(context::GENESIS, &journal.0))
}

/// Hash over header and payload: what the author's signature stands on.
pub(super) fn content_hash(header_and_payload: &[u8]) -> [u8; 32] {
    static BASE: OnceLock<Hasher> = OnceLock::new();
    derive(&BASE, context::CONTENT, header_and_payload)
}

/// Hash over header, payload and signature: what the next entry names.
pub(super) fn entry_hash(header_payload_signature: &[u8]) -> EntryHash {
    static BASE: OnceLock<Hasher> = OnceLock::new();
    EntryHash(derive(&BASE, context::ENTRY, header_payload_signature))
}

/// Eight bytes that tell an intact frame header from chance and tears. No defence against
/// people: the entry hash and the signature are.
pub(super) fn header_check(header: &[u8]) -> [u8; 8] {
    static BASE: OnceLock<Hasher> = OnceLock::new();
    first_eight(derive(&BASE, context::HEADER_CHECK, header))
}

/// The check value that closes a segment header.
pub(super) fn segment_check(header: &[u8]) -> [u8; 32] {
    blake3::derive_key(context::SEGMENT_CHECK, header)
}

/// Digest of a list of findings, so that a person accepts exactly these.
pub(super) fn findings_digest(text: &[u8]) -> [u8; 32] {
    blake3::derive_key(context::FINDINGS, text)
}

/// The check value in an ids file.
pub(super) fn ids_check(header: &[u8]) -> [u8; 32] {
    blake3::derive_key(context::IDS, header)
}

/// Check value of the flushed note.
pub(super) fn note_check(text: &[u8]) -> [u8; 8] {
    first_eight(blake3::derive_key(context::NOTE, text))
}

/// Hash over one patient's entries, one more each time.
pub(super) fn patient_chain(before: &[u8; 32], entry: EntryHash) -> [u8; 32] {
    static BASE: OnceLock<Hasher> = OnceLock::new();
    let mut both = [0; 64];
    both[..32].copy_from_slice(before);
    both[32..].copy_from_slice(&entry.0);
    derive(&BASE, context::PATIENT, &both)
}

/// Check value of a part of a file under `tree/`.
pub(super) fn tree_check(bytes: &[u8]) -> [u8; 32] {
    blake3::derive_key(context::TILE, bytes)
}

/// The bytes an author signs.
pub(super) fn signing_message(content_hash: &[u8; 32]) -> [u8; 64] {
    let mut message = [0; 64];
    message[..32].copy_from_slice(SIGNATURE_DOMAIN);
    message[32..].copy_from_slice(content_hash);
    message
}

/// Setting up a context costs as much as hashing a small entry, so each is set up once.
fn derive(base: &OnceLock<Hasher>, context: &'static str, bytes: &[u8]) -> [u8; 32] {
    let mut hasher = base.get_or_init(|| Hasher::new_derive_key(context)).clone();
    hasher.update(bytes);
    *hasher.finalize().as_bytes()
}

fn first_eight(hash: [u8; 32]) -> [u8; 8] {
    let mut eight = [0; 8];
    eight.copy_from_slice(&hash[..8]);
    eight
}
