//! Who signs an entry.

use ed25519_dalek::{Signature, Signer as _, SigningKey, VerifyingKey};
use zeroize::Zeroizing;

use crate::record::ids::PersonKey;

/// Somebody who can sign entries. The writer calls it with the entry's place in the chain
/// already fixed, so a signature binds everything before the entry as well.
pub trait Signer: Send + Sync {
    /// The key the signatures are checked against.
    fn public(&self) -> PersonKey;
    /// Ed25519 signature over `message`.
    fn sign(&self, message: &[u8]) -> [u8; 64];
}

/// A person's unlocked Ed25519 key. Wiped from memory when dropped; never printed.
pub struct SigningSeed(SigningKey);

impl SigningSeed {
    /// From the 32 secret bytes of RFC 8032.
    #[must_use]
    pub fn from_bytes(seed: &Zeroizing<[u8; 32]>) -> SigningSeed {
        SigningSeed(SigningKey::from_bytes(seed))
    }
}

impl Signer for SigningSeed {
    fn public(&self) -> PersonKey {
        PersonKey(self.0.verifying_key().to_bytes())
    }

    fn sign(&self, message: &[u8]) -> [u8; 64] {
        self.0.sign(message).to_bytes()
    }
}

/// Whether `signature` over `message` is `author`'s, by the strict rules: a weak key or an
/// ambiguous encoding is no signature, so that every verifier reaches the same verdict.
pub fn signature_holds(author: PersonKey, message: &[u8], signature: &[u8; 64]) -> bool {
    VerifyingKey::from_bytes(&author.0).is_ok_and(|key| {
        key.verify_strict(message, &Signature::from_bytes(signature))
            .is_ok()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::ids::{from_hex, to_hex};

    /// RFC 8032 section 7.1, TEST 2.
    #[test]
    fn signs_as_rfc_8032_says() {
        let seed = from_hex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb");
        let seed = Zeroizing::new(<[u8; 32]>::try_from(seed.unwrap()).unwrap());
        let signer = SigningSeed::from_bytes(&seed);
        assert_eq!(
            signer.public().to_string(),
            "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c"
        );
        let signature = signer.sign(&[0x72]);
        assert_eq!(
            to_hex(&signature),
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da\
             085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
        );
        assert!(signature_holds(signer.public(), &[0x72], &signature));
        assert!(!signature_holds(signer.public(), &[0x73], &signature));
    }

    /// The all-small-order key and signature that lax checkers accept for any message.
    #[test]
    fn a_weak_key_signs_nothing() {
        let mut weak = [0; 32];
        weak[0] = 1;
        let mut signature = [0; 64];
        signature[0] = 1;
        assert!(!signature_holds(PersonKey(weak), b"anything", &signature));
    }
}
