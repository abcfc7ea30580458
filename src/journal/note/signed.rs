//! A text with signatures.

use super::{KeyName, NoteError, NoteKind, VerifierKey, from_base64, to_base64};
use crate::journal::signer::{Signer, signature_holds};

/// Most bytes a note may have: room for sixteen signatures of the largest kind there is.
pub const NOTE_BYTES_MAX: usize = 128 * 1024;
/// Most signatures a note may have; the document asks for at least 16.
pub const SIGNATURES_MAX: usize = 64;

/// One signature line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignatureLine {
    /// Whose it says it is.
    pub name: KeyName,
    /// Which of their keys.
    pub id: [u8; 4],
    /// The signature, in the form of the key's kind.
    pub bytes: Vec<u8>,
}

/// A signature that holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signed {
    /// When a witness signed, in seconds since 1970-01-01T00:00:00Z; only witnesses say.
    pub at: Option<u64>,
}

/// A text and who signed it. Having one proves nothing: [`SignedNote::check`] does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedNote {
    text: String,
    pub(super) signatures: Vec<SignatureLine>,
}

impl SignedNote {
    /// A note with one signature by `name`.
    ///
    /// # Errors
    /// [`NoteError::NotText`] if the text does not end a line or has control characters,
    /// [`NoteError::TooLong`] if nobody could read the note.
    pub fn sign(
        text: String,
        name: &KeyName,
        signer: &dyn Signer,
    ) -> Result<SignedNote, NoteError> {
        if !text.ends_with('\n') || !is_plain(&text) {
            return Err(NoteError::NotText);
        }
        let mut note = SignedNote {
            text,
            signatures: Vec::new(),
        };
        let key = VerifierKey {
            name: name.clone(),
            kind: NoteKind::Note,
            key: signer.public(),
        };
        let bytes = signer.sign(note.text.as_bytes()).to_vec();
        note.put(&key, bytes)?;
        Ok(note)
    }

    /// Adds a witness's signature as of this many seconds since 1970; one by the same key is replaced.
    ///
    /// # Errors
    /// [`NoteError::TooManySignatures`] or [`NoteError::TooLong`] if nobody could read the note with it. It is
    /// then as it was.
    pub fn cosign(
        &mut self,
        name: &KeyName,
        signer: &dyn Signer,
        at: u64,
    ) -> Result<(), NoteError> {
        let key = VerifierKey {
            name: name.clone(),
            kind: NoteKind::Cosignature,
            key: signer.public(),
        };
        let mut bytes = at.to_be_bytes().to_vec();
        bytes.extend_from_slice(&signer.sign(&cosigned(at, &self.text)));
        self.put(&key, bytes)
    }

    /// What is written must be readable: the limits of [`SignedNote::parse`] hold before, not after.
    fn put(&mut self, key: &VerifierKey, bytes: Vec<u8>) -> Result<(), NoteError> {
        let id = key.id();
        let mut with_it = self.clone();
        with_it
            .signatures
            .retain(|line| line.id != id || line.name != key.name);
        if with_it.signatures.len() >= SIGNATURES_MAX {
            return Err(NoteError::TooManySignatures);
        }
        with_it.signatures.push(SignatureLine {
            name: key.name.clone(),
            id,
            bytes,
        });
        if with_it.to_text().len() > NOTE_BYTES_MAX {
            return Err(NoteError::TooLong);
        }
        *self = with_it;
        Ok(())
    }

    /// The signed text, with its last line end.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The signatures, not checked.
    #[must_use]
    pub fn signatures(&self) -> &[SignatureLine] {
        &self.signatures
    }

    /// Reads a note.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn parse(bytes: &[u8]) -> Result<SignedNote, NoteError> {
        if bytes.len() > NOTE_BYTES_MAX {
            return Err(NoteError::TooLong);
        }
        let all = std::str::from_utf8(bytes).map_err(|_| NoteError::NotText)?;
        if !is_plain(all) {
            return Err(NoteError::NotText);
        }
        // The last blank line: the text may have some of its own.
        let (text, lines) = all.rsplit_once("\n\n").ok_or(NoteError::NoNote)?;
        let lines = lines.strip_suffix('\n').ok_or(NoteError::NoNote)?;
        let mut signatures = Vec::new();
        for (done, line) in lines.split('\n').enumerate() {
            if done == SIGNATURES_MAX {
                return Err(NoteError::TooManySignatures);
            }
            let read = signature(line).ok_or(NoteError::SignatureLine { line: done + 1 })?;
            signatures.push(read);
        }
        Ok(SignedNote {
            text: format!("{text}\n"),
            signatures,
        })
    }

    /// The note as it is kept and mailed.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut out = format!("{}\n", self.text);
        for line in &self.signatures {
            let mut bytes = line.id.to_vec();
            bytes.extend_from_slice(&line.bytes);
            out.push_str(&format!("— {} {}\n", line.name, to_base64(&bytes)));
        }
        out
    }

    /// Whether the key signed it. Signatures by others are passed over.
    ///
    /// # Errors
    /// [`NoteError::NotSigned`] if none says it is by this key, [`NoteError::Forged`] if one does and
    /// does not hold, even if another does.
    pub fn check(&self, key: &VerifierKey) -> Result<Signed, NoteError> {
        let (name, id) = (&key.name, key.id());
        let mine = |line: &&SignatureLine| line.name == *name && line.id == id;
        let mut found = None;
        for line in self.signatures.iter().filter(mine) {
            let signed = self.holds(key, &line.bytes);
            let name = name.to_string();
            found = Some(signed.ok_or(NoteError::Forged { name })?);
        }
        let name = name.to_string();
        found.ok_or(NoteError::NotSigned { name })
    }

    fn holds(&self, key: &VerifierKey, bytes: &[u8]) -> Option<Signed> {
        match key.kind {
            NoteKind::Note => {
                let signature = bytes.try_into().ok()?;
                signature_holds(key.key, self.text.as_bytes(), signature)
                    .then_some(Signed { at: None })
            }
            NoteKind::Cosignature => {
                let (at, signature) = bytes.split_first_chunk::<8>()?;
                let at = u64::from_be_bytes(*at);
                let signature = signature.try_into().ok()?;
                let in_range = i64::try_from(at).is_ok();
                (in_range && signature_holds(key.key, &cosigned(at, &self.text), signature))
                    .then_some(Signed { at: Some(at) })
            }
        }
    }
}

/// What a witness signs.
fn cosigned(at: u64, text: &str) -> Vec<u8> {
    format!("cosignature/v1\ntime {at}\n{text}").into_bytes()
}

fn is_plain(text: &str) -> bool {
    text.chars().all(|c| c >= ' ' || c == '\n')
}

fn signature(line: &str) -> Option<SignatureLine> {
    let (name, base64) = line.strip_prefix("— ")?.split_once(' ')?;
    let bytes = from_base64(base64)?;
    let (id, bytes) = bytes.split_first_chunk::<4>()?;
    (!bytes.is_empty()).then_some(())?;
    Some(SignatureLine {
        name: name.parse().ok()?,
        id: *id,
        bytes: bytes.to_vec(),
    })
}
