//! Signed notes and what stands in them: the C2SP documents signed-note, tlog-checkpoint,
//! tlog-cosignature (version 1) and tlog-proof. Text that can be printed, mailed, and checked with
//! other people's programs.
//!
//! All of it comes from strangers: what is read is taken strictly, within limits, and never panics.

mod checkpoint;
mod key;
mod proof;
mod signed;
#[cfg(test)]
mod tests;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

pub use checkpoint::{Checkpoint, ORIGIN_START, origin};
pub use key::{KeyName, NoteKind, VerifierKey};
pub use proof::{ConsistencyProof, InclusionProof};
pub use signed::{NOTE_BYTES_MAX, SIGNATURES_MAX, SignatureLine, Signed, SignedNote};

/// Why a text is not what it should be, or not signed as it should be.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoteError {
    /// Longer than any note may be.
    #[error("it is longer than {NOTE_BYTES_MAX} bytes; no note is")]
    TooLong,
    /// Not UTF-8, or with control characters.
    #[error("it is not plain text (UTF-8 without control characters but line ends)")]
    NotText,
    /// No blank line, or no text before it or no signature after it.
    #[error("it is no signed note: a text, a blank line, and at least one signature line")]
    NoNote,
    /// A line after the blank line is no signature.
    #[error("signature line {line} is not \"— NAME BASE64\"")]
    SignatureLine {
        /// Which of the signature lines, from 1.
        line: usize,
    },
    /// More signatures than anybody needs.
    #[error("it has more than {SIGNATURES_MAX} signatures")]
    TooManySignatures,
    /// A name no key can have.
    #[error("\"{given}\" is no key name: it has no spaces and no +, and is not empty")]
    KeyName {
        /// What was given.
        given: String,
    },
    /// Not a verifier key.
    #[error(
        "\"{given}\" is no verifier key: {why}. It looks like NAME+8 hexadecimal digits+BASE64"
    )]
    VerifierKey {
        /// What was given.
        given: String,
        /// What is wrong.
        why: &'static str,
    },
    /// The text of the note is no checkpoint.
    #[error("its text is no checkpoint: {0}")]
    Checkpoint(&'static str),
    /// Not a proof.
    #[error("it is no proof: {0}")]
    Proof(&'static str),
    /// No signature by that key.
    #[error("it is not signed by {name}, whose key was asked for")]
    NotSigned {
        /// The key's name.
        name: String,
    },
    /// A signature that says it is by that key is not.
    #[error("the signature that says it is {name}'s does not hold: text or signature were altered")]
    Forged {
        /// The key's name.
        name: String,
    },
}

/// Standard base 64 with padding, in its one form.
fn to_base64(bytes: &[u8]) -> String {
    STANDARD.encode(bytes)
}

/// Reads what [`to_base64`] writes, and nothing else.
fn from_base64(text: &str) -> Option<Vec<u8>> {
    STANDARD.decode(text).ok()
}

/// A hash in base 64.
fn hash_from_base64(text: &str) -> Option<crate::record::ids::TreeHash> {
    let bytes = from_base64(text)?;
    <[u8; 32]>::try_from(bytes)
        .ok()
        .map(crate::record::ids::TreeHash)
}

/// A decimal number in its one form: digits only, no leading zeros.
fn decimal(text: &str) -> Option<u64> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit());
    let one_form = text == "0" || !text.starts_with('0');
    (plain && one_form && !text.is_empty())
        .then(|| text.parse().ok())
        .flatten()
}
