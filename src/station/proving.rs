//! Proofs for outsiders: that an entry is among those a checkpoint covers, and that one checkpoint's
//! entries are the beginning of another's. Works on a bare folder and needs no secret.

use std::path::Path;

use super::judge::RightsJudge;
use super::known_checkpoints::KnownCheckpoint;
use crate::journal::note::{ConsistencyProof, InclusionProof};
use crate::journal::tree::{AUTHORITY_KINDS, KeptTree};
use crate::journal::verify::AuthorJudge as _;
use crate::journal::{FileReader, OpenError, ReadError, ReadJournal};
use crate::record::ids::{EntryHash, PersonKey, Seq};

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
    /// The ward did not sign it.
    #[error(
        "{from} is not signed with a key that this journal announces as the ward's, so nothing is proved by it"
    )]
    NotSigned {
        /// Which checkpoint.
        from: String,
    },
    /// None in the folder can be used.
    #[error("this journal's folder holds no checkpoint of these entries that the ward signed")]
    None,
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
    /// How many entries the checkpoint covers.
    pub size: u64,
    /// Which checkpoint it is.
    pub from: String,
}

/// A journal and what is needed to tell which checkpoints are its own.
struct Tried<'r> {
    reader: &'r FileReader,
    tree: KeptTree<'r>,
    keys: Vec<PersonKey>,
}

impl<'r> Tried<'r> {
    fn of(reader: &'r FileReader) -> Result<Tried<'r>, ReadError> {
        Ok(Tried {
            reader,
            tree: KeptTree::follow(reader)?,
            keys: ward_keys(reader)?,
        })
    }

    /// Whether the ward signed it and it is of these entries.
    fn fits(&mut self, known: &KnownCheckpoint) -> Result<(), NoProof> {
        let from = || known.from.clone();
        if known.text.journal() != Some(self.reader.journal()) {
            return Err(NoProof::DoesNotFit { from: from() });
        }
        if !known.is_signed_by(&self.keys) {
            return Err(NoProof::NotSigned { from: from() });
        }
        if !self.tree.has_root(known.text.size, known.text.root)? {
            return Err(NoProof::DoesNotFit { from: from() });
        }
        Ok(())
    }

    /// The first of these that fits, passing over what does not; if somebody named the only one, why not.
    fn first_fit<'k>(
        &mut self,
        known: &[&'k KnownCheckpoint],
    ) -> Result<Option<&'k KnownCheckpoint>, NoProof> {
        for one in known {
            match self.fits(one) {
                Ok(()) => return Ok(Some(one)),
                Err(NoProof::DoesNotFit { .. } | NoProof::NotSigned { .. }) if !one.named => {}
                Err(error) => return Err(error),
            }
        }
        Ok(None)
    }
}

/// Every key that the journal announces as the ward's own, by entries whose authors might.
fn ward_keys(reader: &FileReader) -> Result<Vec<PersonKey>, ReadError> {
    let mut judge = RightsJudge::new();
    for item in reader.read_from(Seq(1)) {
        let frame = match item {
            Ok(frame) => frame,
            Err(ReadError::Damaged { .. } | ReadError::Missing { .. }) => continue,
            Err(error) => return Err(error),
        };
        if !AUTHORITY_KINDS.contains(&frame.header().kind) {
            continue;
        }
        if let Ok(signed) = frame.check_signature() {
            // What it finds is for `verify`: an entry that it finds wrong announces nothing.
            let _ = judge.judge(&signed);
        }
    }
    Ok(judge.ward_keys().to_vec())
}

/// The newest checkpoint in the folder that is of these entries and that the ward signed. Whatever else lies
/// there is passed over.
///
/// # Errors
/// See [`NoProof`].
pub fn newest_own(dir: &Path) -> Result<Option<KnownCheckpoint>, NoProof> {
    let own = KnownCheckpoint::in_folder(dir);
    if own.is_empty() {
        return Ok(None);
    }
    let reader = FileReader::open(dir)?;
    let newest_first: Vec<_> = own.iter().rev().collect();
    let newest = Tried::of(&reader)?.first_fit(&newest_first)?.cloned();
    newest.map(Some).ok_or(NoProof::None)
}

/// Proves that an entry is among those of a checkpoint: the first of these, newest first, that the ward signed
/// and that is of these entries. One that somebody named must be.
///
/// # Errors
/// See [`NoProof`].
pub fn prove_entry(dir: &Path, seq: Seq, known: &[KnownCheckpoint]) -> Result<Proved, NoProof> {
    let reader = FileReader::open(dir)?;
    let hash = reader.read(seq)?.hash();
    let mut tried = Tried::of(&reader)?;
    let known: Vec<&KnownCheckpoint> = known.iter().collect();
    let fits = tried.first_fit(&known)?;
    let known = fits.ok_or(NoProof::NotCovered { seq })?;
    let (size, root) = (known.text.size, known.text.root);
    let proved = tried.tree.prove((seq, hash), (size, root))?;
    let (index, path) = proved.ok_or(NoProof::NotCovered { seq })?;
    let proof = InclusionProof {
        extra: None,
        index,
        path,
        checkpoint: known.note.clone(),
    };
    let from = known.from.clone();
    Ok(Proved {
        proof,
        hash,
        size,
        from,
    })
}

/// Proves that the entries of a newer checkpoint, the first of these that fits, begin with those of the older.
///
/// # Errors
/// See [`NoProof`].
pub fn prove_extends(
    dir: &Path,
    old: &KnownCheckpoint,
    newer: &[KnownCheckpoint],
) -> Result<ConsistencyProof, NoProof> {
    let reader = FileReader::open(dir)?;
    let mut tried = Tried::of(&reader)?;
    let newer: Vec<&KnownCheckpoint> = newer.iter().collect();
    let new = tried.first_fit(&newer)?.ok_or(NoProof::None)?;
    if old.text.size > new.text.size {
        let (old, new) = (old.from.clone(), new.from.clone());
        return Err(NoProof::WrongWay { old, new });
    }
    tried.fits(old)?;
    let path = tried.tree.consistency(old.text.size, new.text.size)?;
    let from = new.from.clone();
    Ok(ConsistencyProof {
        old: old.text.size,
        path: path.ok_or(NoProof::DoesNotFit { from })?,
        checkpoint: new.note.clone(),
    })
}
