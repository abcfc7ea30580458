//! Proofs for outsiders: that an entry is among those a checkpoint covers, and that one checkpoint's
//! entries are the beginning of another's. Works on a bare folder and needs no secret.

use std::path::Path;

use super::known_checkpoints::KnownCheckpoint;
use crate::journal::note::{ConsistencyProof, InclusionProof};
use crate::journal::tree::{KeptTree, entry_leaf};
use crate::journal::{FileReader, OpenError, ReadError, ReadJournal};
use crate::record::ids::{EntryHash, Seq};

/// Why there is no proof.
#[derive(Debug, thiserror::Error)]
pub enum NoProof {
    /// The folder holds no journal.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The journal or the entry cannot be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// No checkpoint covers the entry.
    #[error("no checkpoint given or in the journal's folder covers {seq}")]
    NotCovered {
        /// The entry.
        seq: Seq,
    },
    /// The checkpoint is not one of these entries.
    #[error(
        "{from} is no checkpoint of these entries: they have another root at its size, or there are fewer; \
         `handfast verify --against {from}` says more"
    )]
    DoesNotFit {
        /// Which checkpoint.
        from: String,
    },
    /// The older checkpoint covers more.
    #[error("{old} covers more entries than {new}; a proof goes from the smaller to the larger")]
    WrongWay {
        /// The one that was given as the older.
        old: String,
        /// The other.
        new: String,
    },
}

/// An inclusion proof, and the hash it is about.
pub struct Proved {
    /// The proof.
    pub proof: InclusionProof,
    /// The entry's hash, whose leaf is proved.
    pub hash: EntryHash,
}

/// Proves that an entry is among those of a checkpoint: the first of these that covers it.
///
/// # Errors
/// See [`NoProof`].
pub fn prove_entry(dir: &Path, seq: Seq, known: &[KnownCheckpoint]) -> Result<Proved, NoProof> {
    let reader = FileReader::open(dir)?;
    let hash = reader.read(seq)?.hash();
    let mut tree = KeptTree::follow(&reader)?;
    let index = tree.index(seq).ok_or(NoProof::NotCovered { seq })?;
    let covers = |known: &&KnownCheckpoint| {
        known.text.journal() == Some(reader.journal()) && index < known.text.size
    };
    let known = known
        .iter()
        .find(covers)
        .ok_or(NoProof::NotCovered { seq })?;
    fits(&mut tree, known)?;
    let path = tree.inclusion(entry_leaf(hash), index, known.text.size)?;
    let path = path.ok_or(NoProof::NotCovered { seq })?;
    let proof = InclusionProof {
        extra: None,
        index,
        path,
        checkpoint: known.note.clone(),
    };
    Ok(Proved { proof, hash })
}

/// Proves that the entries of the newer checkpoint begin with those of the older.
///
/// # Errors
/// See [`NoProof`].
pub fn prove_extends(
    dir: &Path,
    old: &KnownCheckpoint,
    new: &KnownCheckpoint,
) -> Result<ConsistencyProof, NoProof> {
    let reader = FileReader::open(dir)?;
    let mut tree = KeptTree::follow(&reader)?;
    if old.text.size > new.text.size {
        let (old, new) = (old.from.clone(), new.from.clone());
        return Err(NoProof::WrongWay { old, new });
    }
    fits(&mut tree, old)?;
    fits(&mut tree, new)?;
    let path = tree.consistency(old.text.size, new.text.size)?;
    let from = new.from.clone();
    Ok(ConsistencyProof {
        old: old.text.size,
        path: path.ok_or(NoProof::DoesNotFit { from })?,
        checkpoint: new.note.clone(),
    })
}

fn fits(tree: &mut KeptTree<'_>, known: &KnownCheckpoint) -> Result<(), NoProof> {
    if tree.root_at(known.text.size)? == Some(known.text.root) {
        return Ok(());
    }
    let from = known.from.clone();
    Err(NoProof::DoesNotFit { from })
}
