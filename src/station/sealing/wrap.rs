//! How keys are wrapped: for people (HPKE, RFC 9180) and under the ring key (XChaCha20-Poly1305).
//! `docs/sealing.md` spells it out for others.

use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{XChaCha20Poly1305, XNonce};
use hpke::{Deserializable, Kem as _, OpModeR, OpModeS, Serializable};
use serde::{Deserialize, Serialize};
use zeroize::Zeroizing;

use super::SealingError;
use crate::journal::DataKey;
use crate::record::ids::{JournalId, Pseudonym, ReadingKey, SealKeyId, from_hex, to_hex};
use crate::station::keys::fill;

/// RFC 9180: DHKEM(X25519, HKDF-SHA256), HKDF-SHA256, ChaCha20Poly1305, base mode.
type Kem = hpke::kem::X25519HkdfSha256;
type Kdf = hpke::kdf::HkdfSha256;
type Aead9180 = hpke::aead::ChaCha20Poly1305;

/// BLAKE3 contexts; part of the format.
mod context {
    pub const READING: &str = "handfast reading key v1";
    pub const RING_ID: &str = "handfast ring key id v1";
    pub const INDEX: &str = "handfast index key v1";
}

/// A secret X25519 key, with which what is wrapped for it is opened. Wiped from memory when
/// dropped; never printed.
pub struct ReadingSecret {
    secret: Zeroizing<[u8; 32]>,
    public: ReadingKey,
}

impl ReadingSecret {
    /// The reading key that belongs to a signing key's seed.
    #[must_use]
    pub fn of_seed(seed: &Zeroizing<[u8; 32]>) -> ReadingSecret {
        ReadingSecret::from_bytes(Zeroizing::new(blake3::derive_key(
            context::READING,
            &**seed,
        )))
    }

    /// From its 32 secret bytes.
    #[must_use]
    pub fn from_bytes(secret: Zeroizing<[u8; 32]>) -> ReadingSecret {
        let mut public = [0; 32];
        // 32 bytes are always a key.
        if let Ok(key) = <Kem as hpke::Kem>::PrivateKey::from_bytes(&*secret) {
            public.copy_from_slice(&Kem::sk_to_pk(&key).to_bytes());
        }
        ReadingSecret {
            secret,
            public: ReadingKey(public),
        }
    }

    /// The secret itself, for whoever splits it.
    pub(super) const fn secret(&self) -> &Zeroizing<[u8; 32]> {
        &self.secret
    }

    /// Its public half.
    #[must_use]
    pub const fn public(&self) -> ReadingKey {
        self.public
    }
}

/// A ring key, wrapped for one reading key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Wrapped {
    /// What RFC 9180 calls `enc`, in hexadecimal.
    pub enc: String,
    /// The ring key sealed, 48 bytes in hexadecimal.
    pub sealed: String,
}

/// The key under which data keys lie. Wiped from memory when dropped; never printed.
pub(super) struct RingKey(Zeroizing<[u8; 32]>);

impl RingKey {
    pub fn fresh() -> Result<RingKey, SealingError> {
        Ok(RingKey(random()?))
    }

    /// Names it, and fits no other.
    pub fn id(&self) -> SealKeyId {
        let mut id = [0; SealKeyId::LEN];
        id.copy_from_slice(&blake3::derive_key(context::RING_ID, &*self.0)[..SealKeyId::LEN]);
        SealKeyId(id)
    }

    /// The key the index is encrypted with.
    pub fn index_key(&self) -> Zeroizing<[u8; 32]> {
        Zeroizing::new(blake3::derive_key(context::INDEX, &*self.0))
    }

    pub fn wrap_for(&self, to: ReadingKey, info: &str) -> Result<Wrapped, SealingError> {
        let failed = |_| SealingError::Damaged("a reading key in the journal is none");
        // The library draws randomness itself, and would panic where there is none.
        let _: Zeroizing<[u8; 32]> = random()?;
        let to = <Kem as hpke::Kem>::PublicKey::from_bytes(&to.0).map_err(failed)?;
        let (enc, sealed) = hpke::single_shot_seal::<Aead9180, Kdf, Kem>(
            &OpModeS::Base,
            &to,
            info.as_bytes(),
            &*self.0,
            &[],
        )
        .map_err(failed)?;
        Ok(Wrapped {
            enc: to_hex(&enc.to_bytes()),
            sealed: to_hex(&sealed),
        })
    }

    /// `None` if it was not wrapped for this key and in this place.
    pub fn unwrap(wrapped: &Wrapped, with: &ReadingSecret, info: &str) -> Option<RingKey> {
        let enc = from_hex(&wrapped.enc)?;
        let enc = <Kem as hpke::Kem>::EncappedKey::from_bytes(&enc).ok()?;
        let key = <Kem as hpke::Kem>::PrivateKey::from_bytes(&*with.secret).ok()?;
        let sealed = from_hex(&wrapped.sealed)?;
        let info = info.as_bytes();
        let opened = hpke::single_shot_open::<Aead9180, Kdf, Kem>(
            &OpModeR::Base,
            &key,
            &enc,
            info,
            &sealed,
            &[],
        );
        array(&Zeroizing::new(opened.ok()?)).map(RingKey)
    }
}

/// A data key under the ring key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct KeptKey {
    /// The id it has in frames.
    pub id: SealKeyId,
    /// Whose record; zero for the ward.
    pub patient: Pseudonym,
    /// Number of the ring it was made in.
    pub made_in: u64,
    pub(super) nonce: String,
    pub(super) sealed: String,
}

impl KeptKey {
    pub fn new(
        ring: &RingKey,
        journal: JournalId,
        (patient, made_in): (Pseudonym, u64),
        key: &DataKey,
    ) -> Result<KeptKey, SealingError> {
        let id = key.id();
        let mut nonce = [0; 24];
        fill(&mut nonce).map_err(|_| SealingError::Random)?;
        let bound = Payload {
            msg: key.secret(),
            aad: &bound(journal, patient, id, made_in),
        };
        let sealed = XChaCha20Poly1305::new((&*ring.0).into())
            .encrypt(&XNonce::from(nonce), bound)
            .map_err(|_| SealingError::Damaged("a key could not be wrapped"))?;
        Ok(KeptKey {
            id,
            patient,
            made_in,
            nonce: to_hex(&nonce),
            sealed: to_hex(&sealed),
        })
    }

    /// `None` if it was altered or is of another ring.
    pub fn open(&self, ring: &RingKey, journal: JournalId) -> Option<DataKey> {
        let nonce: [u8; 24] = from_hex(&self.nonce)?.try_into().ok()?;
        let bound = Payload {
            msg: &from_hex(&self.sealed)?,
            aad: &bound(journal, self.patient, self.id, self.made_in),
        };
        let opened = XChaCha20Poly1305::new((&*ring.0).into())
            .decrypt(&XNonce::from(nonce), bound)
            .ok()?;
        let key = DataKey::from_bytes(array(&Zeroizing::new(opened))?);
        (key.id() == self.id).then_some(key)
    }
}

fn bound(journal: JournalId, patient: Pseudonym, id: SealKeyId, made_in: u64) -> Vec<u8> {
    format!("handfast data key 1\n{journal}\n{patient}\n{id}\n{made_in}").into_bytes()
}

/// 32 fresh secret bytes.
pub(super) fn random() -> Result<Zeroizing<[u8; 32]>, SealingError> {
    let mut bytes = Zeroizing::new([0; 32]);
    fill(&mut *bytes).map_err(|_| SealingError::Random)?;
    Ok(bytes)
}

fn array(bytes: &[u8]) -> Option<Zeroizing<[u8; 32]>> {
    <[u8; 32]>::try_from(bytes).ok().map(Zeroizing::new)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_wrapped_opens_for_its_person_in_its_place_alone() {
        let ann = ReadingSecret::of_seed(&Zeroizing::new([1; 32]));
        let bo = ReadingSecret::of_seed(&Zeroizing::new([2; 32]));
        let ring = RingKey::fresh().unwrap();
        let wrapped = ring.wrap_for(ann.public(), "here").unwrap();
        let opened = |with, info| RingKey::unwrap(&wrapped, with, info).map(|ring| ring.id());
        assert_eq!(opened(&ann, "here"), Some(ring.id()));
        assert_eq!(opened(&ann, "there"), None);
        assert_eq!(opened(&bo, "here"), None);
        assert!(ring.wrap_for(ReadingKey::ZERO, "here").is_err());
    }

    #[test]
    fn a_data_key_opens_under_its_ring_for_its_record_alone() {
        let (ring, other) = (RingKey::fresh().unwrap(), RingKey::fresh().unwrap());
        let journal = JournalId([1; 16]);
        let key = DataKey::from_bytes(Zeroizing::new([9; 32]));
        let kept = KeptKey::new(&ring, journal, (Pseudonym([2; 16]), 3), &key).unwrap();
        let id = |kept: &KeptKey, ring| kept.open(ring, journal).map(|key| key.id());
        assert_eq!(id(&kept, &ring), Some(key.id()));
        assert_eq!(id(&kept, &other), None);
        assert!(kept.open(&ring, JournalId([2; 16])).is_none());
        let mut moved = kept.clone();
        moved.patient = Pseudonym([3; 16]);
        assert_eq!(id(&moved, &ring), None);
        let mut backdated = kept.clone();
        backdated.made_in += 1;
        assert_eq!(id(&backdated, &ring), None);
        let mut renamed = kept;
        renamed.id = SealKeyId([3; 16]);
        assert_eq!(id(&renamed, &ring), None);
    }
}
