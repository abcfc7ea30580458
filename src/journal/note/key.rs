//! Names and keys of those who sign notes.

use std::fmt;
use std::str::FromStr;

use sha2::{Digest as _, Sha256};

use super::{NoteError, from_base64, to_base64};
use crate::record::ids::{PersonKey, from_hex, to_hex};

/// More bytes no name needs.
const NAME_BYTES_MAX: usize = 255;

/// The name of a key: no white space, no plus sign, no control characters, not empty.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct KeyName(String);

impl KeyName {
    /// The name as text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for KeyName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl FromStr for KeyName {
    type Err = NoteError;

    fn from_str(text: &str) -> Result<KeyName, NoteError> {
        let refused = |c: char| c.is_whitespace() || c.is_control() || c == '+';
        if text.is_empty() || text.len() > NAME_BYTES_MAX || text.contains(refused) {
            let given = text.chars().take(80).collect();
            return Err(NoteError::KeyName { given });
        }
        Ok(KeyName(text.to_owned()))
    }
}

/// What a signature is over; the byte is assigned by the signed-note document.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoteKind {
    /// Ed25519 over the note's text.
    Note = 0x01,
    /// A witness's Ed25519 over a time and the text of a checkpoint.
    Cosignature = 0x04,
}

/// Whose signature is looked for in a note.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VerifierKey {
    /// The key's name.
    pub name: KeyName,
    /// What it signs.
    pub kind: NoteKind,
    /// The Ed25519 public key.
    pub key: PersonKey,
}

impl VerifierKey {
    /// The first four bytes of SHA-256 over name, newline, kind and key.
    #[must_use]
    pub fn id(&self) -> [u8; 4] {
        let mut hasher = Sha256::new();
        hasher.update(self.name.as_str());
        hasher.update([b'\n', self.kind as u8]);
        hasher.update(self.key.0);
        let hash: [u8; 32] = hasher.finalize().into();
        [hash[0], hash[1], hash[2], hash[3]]
    }
}

/// `NAME+ID+BASE64`, as the signed-note document's verifier keys.
impl fmt::Display for VerifierKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut typed = vec![self.kind as u8];
        typed.extend_from_slice(&self.key.0);
        let (id, key) = (to_hex(&self.id()), to_base64(&typed));
        write!(f, "{}+{id}+{key}", self.name)
    }
}

impl FromStr for VerifierKey {
    type Err = NoteError;

    fn from_str(text: &str) -> Result<VerifierKey, NoteError> {
        let text = text.trim();
        let refuse = |why| NoteError::VerifierKey {
            given: text.chars().take(120).collect(),
            why,
        };
        let mut parts = text.splitn(3, '+');
        let (Some(name), Some(id), Some(typed)) = (parts.next(), parts.next(), parts.next()) else {
            return Err(refuse("it has not three parts"));
        };
        let typed = from_base64(typed).ok_or_else(|| refuse("its key is not base 64"))?;
        let kind = match typed.first() {
            Some(0x01) => NoteKind::Note,
            Some(0x04) => NoteKind::Cosignature,
            _ => return Err(refuse("only Ed25519 keys of types 1 and 4 are read")),
        };
        let key = <[u8; 32]>::try_from(&typed[1..]);
        let key = key.map_err(|_| refuse("its key has not 32 bytes"))?;
        let key = VerifierKey {
            name: name.parse()?,
            kind,
            key: PersonKey(key),
        };
        let one_form = id.bytes().all(|byte| !byte.is_ascii_uppercase());
        if !one_form || from_hex(id).is_none_or(|id| id != key.id()) {
            return Err(refuse("its id is not that of name and key"));
        }
        Ok(key)
    }
}
