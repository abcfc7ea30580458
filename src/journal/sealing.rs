//! Sealed payloads: encrypted where the frame is built, opened by a pure function.
//!
//! XChaCha20-Poly1305 with one data key for each patient and one for the ward. What is bound is
//! the frame's header, so a sealed payload fits its own place, author, kind and patient and no
//! other. The cipher does not commit to its key; the header's key id does, and is checked.
//! Hashes, chain and signatures are over the sealed bytes: whoever verifies needs no key, and a
//! key that is destroyed takes no proof with it.

use std::collections::HashMap;
use std::ops::Deref;
use std::sync::Arc;

use chacha20::{R20, hchacha};
use chacha20poly1305::aead::{Aead, KeyInit, Payload as Bound};
use chacha20poly1305::{ChaCha20Poly1305, XChaCha20Poly1305, XNonce};
use serde::{Deserialize, Serialize};
use zeroize::Zeroizing;

use crate::journal::frame::{Frame, Header};
use crate::record::ids::SealKeyId;

/// The payload is in clear.
pub const SEALING_CLEAR: u8 = 0;
/// The payload is sealed with a data key, as this file does it.
pub const SEALING_DATA_KEY: u8 = 1;
/// By how many bytes a sealed payload is longer than what it holds.
pub const SEAL_BYTES: usize = 16;

/// BLAKE3 contexts; part of the format.
mod context {
    pub const KEY_ID: &str = "handfast journal v1 sealing key id";
    pub const NONCE: &str = "handfast journal v1 sealing nonce";
}

/// Seals and opens payloads. Wiped from memory when dropped; never printed.
pub struct DataKey {
    secret: Zeroizing<[u8; 32]>,
    id: SealKeyId,
}

impl DataKey {
    /// From its 32 secret bytes.
    #[must_use]
    pub fn from_bytes(secret: Zeroizing<[u8; 32]>) -> DataKey {
        let mut id = [0; SealKeyId::LEN];
        id.copy_from_slice(&blake3::derive_key(context::KEY_ID, &*secret)[..SealKeyId::LEN]);
        DataKey {
            secret,
            id: SealKeyId(id),
        }
    }

    /// Names the key in frames: no other key has this id.
    #[must_use]
    pub const fn id(&self) -> SealKeyId {
        self.id
    }

    /// The secret itself, for whoever wraps it.
    #[must_use]
    pub fn secret(&self) -> &[u8; 32] {
        &self.secret
    }

    /// What opens this one sealed payload and no other: the key that XChaCha20 derives from the data key for
    /// the frame's nonce (HChaCha20, draft-irtf-cfrg-xchacha-03, section 2.3). It gives the data key away to
    /// nobody.
    #[must_use]
    pub fn opening(&self, frame: &Frame) -> Opening {
        let mut input = [0; 16];
        input.copy_from_slice(&frame.header().seal_nonce[..16]);
        let derived = hchacha::<R20>((&*self.secret).into(), (&input).into());
        Opening(derived.into())
    }

    fn cipher(&self) -> XChaCha20Poly1305 {
        XChaCha20Poly1305::new((&*self.secret).into())
    }

    /// A nonce that no other header or payload gets under this key, even if the randomness
    /// repeats, as it can on a machine that is put back to an earlier state.
    fn nonce(&self, random: &[u8; 32], header: &[u8], payload: &[u8]) -> [u8; 24] {
        let key = Zeroizing::new(blake3::derive_key(context::NONCE, &*self.secret));
        let mut hasher = blake3::Hasher::new_keyed(&key);
        hasher.update(random);
        hasher.update(header);
        hasher.update(payload);
        let mut nonce = [0; 24];
        nonce.copy_from_slice(&hasher.finalize().as_bytes()[..24]);
        nonce
    }
}

/// Opens one sealed payload. Whoever is given it reads that entry, and nothing else.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Opening(pub [u8; 32]);

/// Opens a sealed frame with what was given for it alone. That it opens shows that the payload was made for
/// this frame's header, and that it is what was sealed, unless whoever sealed it prepared it then to open with
/// two keys: the header commits to the data key, and nothing to this one
/// (`docs/decisions/0011-extracts-of-sealed-records.md`).
///
/// # Errors
/// Why it does not open.
pub fn open_with<'a>(frame: &'a Frame, opening: &Opening) -> Result<Payload<'a>, SealFault> {
    let header = frame.header();
    if header.sealing != SEALING_DATA_KEY {
        return Err(SealFault::Unknown(header.sealing));
    }
    let mut nonce = [0; 12];
    nonce[4..].copy_from_slice(&header.seal_nonce[16..]);
    let bound = Bound {
        msg: frame.payload(),
        aad: &header.bound(),
    };
    ChaCha20Poly1305::new((&opening.0).into())
        .decrypt(&nonce.into(), bound)
        .map(|bytes| Payload::Opened(Zeroizing::new(bytes)))
        .map_err(|_| SealFault::DoesNotOpen)
}

/// How an entry that is to be appended is sealed.
#[derive(Clone)]
pub struct Seal {
    /// With which key.
    pub key: Arc<DataKey>,
    /// Fresh for every entry.
    pub random: [u8; 32],
}

/// Why a sealed payload is not at hand.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    thiserror::Error,
)]
pub enum SealFault {
    /// Nobody who may read it has unlocked.
    #[error("it is sealed, and nobody who may read records has unlocked")]
    Locked,
    /// Its key is not among those that are at hand.
    #[error("it is sealed, and its key {0} is not there")]
    NoKey(SealKeyId),
    /// Another key was given.
    #[error("it is sealed with key {0}, and another one was given")]
    OtherKey(SealKeyId),
    /// The payload does not fit its key and header.
    #[error(
        "its sealed payload does not open with its key: it was made for another place or altered"
    )]
    DoesNotOpen,
    /// Sealed in a way this program does not know.
    #[error("it is sealed in a way ({0}) that this program does not know")]
    Unknown(u8),
}

/// What an entry says, in clear. What was opened is wiped from memory when dropped.
pub enum Payload<'a> {
    /// It lies in clear.
    Clear(&'a [u8]),
    /// It was sealed.
    Opened(Zeroizing<Vec<u8>>),
}

impl Deref for Payload<'_> {
    type Target = [u8];
    fn deref(&self) -> &[u8] {
        match self {
            Payload::Clear(bytes) => bytes,
            Payload::Opened(bytes) => bytes,
        }
    }
}

/// The data keys at hand. Never printed.
#[derive(Clone, Default)]
pub struct DataKeys(HashMap<SealKeyId, Arc<DataKey>>);

impl DataKeys {
    /// One more.
    pub fn add(&mut self, key: Arc<DataKey>) {
        self.0.insert(key.id(), key);
    }

    /// By its id.
    #[must_use]
    pub fn get(&self, id: SealKeyId) -> Option<&Arc<DataKey>> {
        self.0.get(&id)
    }
}

/// What a frame's payload says, with the keys at hand; `None` stands for "locked".
///
/// # Errors
/// Why it cannot be had.
pub fn payload_of<'a>(frame: &'a Frame, keys: Option<&DataKeys>) -> Result<Payload<'a>, SealFault> {
    let header = frame.header();
    if header.sealing == SEALING_CLEAR {
        return Ok(Payload::Clear(frame.payload()));
    }
    let keys = keys.ok_or(SealFault::Locked)?;
    let key = keys
        .get(header.seal_key)
        .ok_or(SealFault::NoKey(header.seal_key))?;
    open_sealed(frame, key).map(Payload::Opened)
}

/// Opens a sealed frame.
///
/// # Errors
/// Why it does not open.
pub fn open_sealed(frame: &Frame, key: &DataKey) -> Result<Zeroizing<Vec<u8>>, SealFault> {
    let header = frame.header();
    if header.sealing != SEALING_DATA_KEY {
        return Err(SealFault::Unknown(header.sealing));
    }
    if header.seal_key != key.id {
        return Err(SealFault::OtherKey(header.seal_key));
    }
    let bound = Bound {
        msg: frame.payload(),
        aad: &header.bound(),
    };
    key.cipher()
        .decrypt(&XNonce::from(header.seal_nonce), bound)
        .map(Zeroizing::new)
        .map_err(|_| SealFault::DoesNotOpen)
}

/// The header and payload of a frame that is sealed. `header` is that of the same frame in clear.
/// `None` only for a payload longer than the cipher takes, which no entry's is.
pub(super) fn seal(header: &Header, payload: &[u8], seal: &Seal) -> Option<(Header, Vec<u8>)> {
    let bytes = payload.len().checked_add(SEAL_BYTES)?;
    let mut sealed = Header {
        payload_bytes: u32::try_from(bytes).ok()?,
        sealing: SEALING_DATA_KEY,
        seal_key: seal.key.id,
        seal_nonce: [0; 24],
        ..*header
    };
    sealed.seal_nonce = seal.key.nonce(&seal.random, &sealed.bound(), payload);
    let bound = Bound {
        msg: payload,
        aad: &sealed.bound(),
    };
    let nonce = XNonce::from(sealed.seal_nonce);
    let payload = seal.key.cipher().encrypt(&nonce, bound).ok()?;
    Some((sealed, payload))
}
