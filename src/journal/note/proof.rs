//! Proofs as text: that an entry is in a checkpoint's tree (C2SP tlog-proof), and that a tree extends an
//! older one (the body a C2SP tlog-witness takes).

use super::{
    NOTE_BYTES_MAX, NoteError, SignedNote, decimal, from_base64, hash_from_base64, to_base64,
};
use crate::journal::tree::PROOF_HASHES_MAX;
use crate::record::ids::TreeHash;

const FIRST_LINE: &str = "c2sp.org/tlog-proof@v1";
/// Longest proof text.
const BYTES_MAX: usize = 2 * NOTE_BYTES_MAX;

/// That a leaf is in the tree of a checkpoint.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InclusionProof {
    /// Something for whoever uses it; nothing vouches for it.
    pub extra: Option<Vec<u8>>,
    /// Which leaf, from 0.
    pub index: u64,
    /// From the leaf's sibling to the root's child.
    pub path: Vec<TreeHash>,
    /// The checkpoint.
    pub checkpoint: SignedNote,
}

impl InclusionProof {
    /// Reads a proof.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn parse(bytes: &[u8]) -> Result<InclusionProof, NoteError> {
        let wrong = NoteError::Proof;
        let (head, checkpoint) = split(bytes)?;
        let mut lines = head.split('\n');
        if lines.next() != Some(FIRST_LINE) {
            return Err(wrong("its first line is not \"c2sp.org/tlog-proof@v1\""));
        }
        let mut line = lines.next();
        let extra = match line.and_then(|line| line.strip_prefix("extra ")) {
            None => None,
            Some(extra) => {
                line = lines.next();
                Some(from_base64(extra).ok_or(wrong("its extra line is not base 64"))?)
            }
        };
        let index = line.and_then(|line| line.strip_prefix("index "));
        let index = index
            .and_then(decimal)
            .ok_or(wrong("it has no line \"index N\""))?;
        Ok(InclusionProof {
            extra,
            index,
            path: hashes(lines)?,
            checkpoint,
        })
    }

    /// The proof as text.
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut out = format!("{FIRST_LINE}\n");
        if let Some(extra) = &self.extra {
            out.push_str(&format!("extra {}\n", to_base64(extra)));
        }
        out.push_str(&format!("index {}\n", self.index));
        finish(out, &self.path, &self.checkpoint)
    }
}

/// That the tree of a checkpoint begins with an older one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConsistencyProof {
    /// How many leaves the older tree has.
    pub old: u64,
    /// See [`crate::journal::tree::prove_consistency`].
    pub path: Vec<TreeHash>,
    /// The newer checkpoint.
    pub checkpoint: SignedNote,
}

impl ConsistencyProof {
    /// Reads a proof.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn parse(bytes: &[u8]) -> Result<ConsistencyProof, NoteError> {
        let (head, checkpoint) = split(bytes)?;
        let mut lines = head.split('\n');
        let old = lines.next().and_then(|line| line.strip_prefix("old "));
        let old = old
            .and_then(decimal)
            .ok_or(NoteError::Proof("its first line is not \"old N\""))?;
        Ok(ConsistencyProof {
            old,
            path: hashes(lines)?,
            checkpoint,
        })
    }

    /// The proof as text.
    #[must_use]
    pub fn to_text(&self) -> String {
        finish(format!("old {}\n", self.old), &self.path, &self.checkpoint)
    }
}

/// The lines before the first blank one, and the checkpoint after it.
fn split(bytes: &[u8]) -> Result<(&str, SignedNote), NoteError> {
    if bytes.len() > BYTES_MAX {
        return Err(NoteError::TooLong);
    }
    let text = std::str::from_utf8(bytes).map_err(|_| NoteError::NotText)?;
    let (head, note) = text
        .split_once("\n\n")
        .ok_or(NoteError::Proof("it has no blank line before a checkpoint"))?;
    Ok((head, SignedNote::parse(note.as_bytes())?))
}

fn hashes<'a>(lines: impl Iterator<Item = &'a str>) -> Result<Vec<TreeHash>, NoteError> {
    let mut path = Vec::new();
    for line in lines {
        if path.len() == PROOF_HASHES_MAX {
            return Err(NoteError::Proof("it has more hashes than any proof"));
        }
        let hash = hash_from_base64(line);
        path.push(hash.ok_or(NoteError::Proof("a line is not 32 bytes in base 64"))?);
    }
    Ok(path)
}

fn finish(mut out: String, path: &[TreeHash], checkpoint: &SignedNote) -> String {
    for hash in path {
        out.push_str(&to_base64(&hash.0));
        out.push('\n');
    }
    out.push('\n');
    out.push_str(&checkpoint.to_text());
    out
}
