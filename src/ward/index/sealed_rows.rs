//! Rows of a sealed journal's index, encrypted: it holds nothing readable.
//!
//! XChaCha20-Poly1305 under a key that comes from the ring, bound to the row's own key. The nonce is a
//! keyed hash of the row, so it repeats only for the same row with the same contents.

use std::fmt;
use std::sync::Arc;

use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{XChaCha20Poly1305, XNonce};
use zeroize::Zeroizing;

const NONCE: usize = 24;
const NONCE_CONTEXT: &str = "handfast ward index row nonce v1";
const ID_CONTEXT: &str = "handfast ward index row key id v1";

/// What rows are encrypted with.
#[derive(Clone)]
pub(super) struct RowKey(Arc<Zeroizing<[u8; 32]>>);

impl fmt::Debug for RowKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("RowKey")
    }
}

impl RowKey {
    pub fn new(key: &Zeroizing<[u8; 32]>) -> RowKey {
        RowKey(Arc::new(key.clone()))
    }

    /// Tells an index of one ring from that of another.
    pub fn id(&self) -> [u8; 32] {
        blake3::derive_key(ID_CONTEXT, &**self.0)
    }

    fn cipher(&self) -> XChaCha20Poly1305 {
        XChaCha20Poly1305::new((&**self.0).into())
    }

    /// `None` only for a row longer than the cipher takes.
    pub fn seal(&self, row: &[u8], content: Vec<u8>) -> Option<Vec<u8>> {
        let content = Zeroizing::new(content);
        let key = Zeroizing::new(blake3::derive_key(NONCE_CONTEXT, &**self.0));
        let mut hasher = blake3::Hasher::new_keyed(&key);
        hasher.update(&(row.len() as u64).to_le_bytes());
        hasher.update(row);
        hasher.update(&content);
        let mut nonce = [0; NONCE];
        nonce.copy_from_slice(&hasher.finalize().as_bytes()[..NONCE]);
        let bound = Payload {
            msg: &content,
            aad: row,
        };
        let sealed = self.cipher().encrypt(&XNonce::from(nonce), bound).ok()?;
        Some([&nonce[..], &sealed].concat())
    }

    /// `None` if it was altered, is another row, or of another key.
    pub fn open(&self, row: &[u8], sealed: &[u8]) -> Option<Zeroizing<Vec<u8>>> {
        let (nonce, sealed) = sealed.split_at_checked(NONCE)?;
        let nonce: [u8; NONCE] = nonce.try_into().ok()?;
        let bound = Payload {
            msg: sealed,
            aad: row,
        };
        let opened = self.cipher().decrypt(&XNonce::from(nonce), bound).ok()?;
        Some(Zeroizing::new(opened))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_opens_with_its_key_and_under_its_name_alone() {
        let (key, other) = (
            RowKey::new(&Zeroizing::new([1; 32])),
            RowKey::new(&Zeroizing::new([2; 32])),
        );
        let sealed = key.seal(b"p1", b"a patient's state".to_vec()).unwrap();
        assert!(!sealed.windows(7).any(|window| window == b"patient"));
        assert_eq!(
            key.open(b"p1", &sealed).as_deref().map(Vec::as_slice),
            Some(&b"a patient's state"[..])
        );
        assert!(key.open(b"p2", &sealed).is_none());
        assert!(other.open(b"p1", &sealed).is_none());
        let mut altered = sealed;
        altered[30] ^= 1;
        assert!(key.open(b"p1", &altered).is_none());
    }
}
