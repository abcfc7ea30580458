//! Checkpoints that somebody kept, held against what a journal's folder holds today.
//!
//! Works on a bare folder and needs no secret: what it says of a journal comes from reading all of it.

use std::path::Path;

use crate::journal::disk::{Disk, RealDisk};
use crate::journal::note::{
    Checkpoint, NOTE_BYTES_MAX, NoteError, NoteKind, SignedNote, VerifierKey,
};
use crate::journal::verify::{Finding, Level, Verification, Wrong};
use crate::journal::{Layout, read_small_file};
use crate::record::ids::PersonKey;

/// A checkpoint that was kept.
#[derive(Debug, Clone)]
pub struct KnownCheckpoint {
    /// Its file's name.
    pub from: String,
    /// The note.
    pub note: SignedNote,
    /// What it says.
    pub text: Checkpoint,
    /// Whether somebody named it, rather than that it lies in the journal's own folder.
    pub named: bool,
}

/// Why a file is no checkpoint.
#[derive(Debug, thiserror::Error)]
pub enum NotACheckpoint {
    /// It cannot be read.
    #[error("{path} cannot be read: {cause}")]
    Unreadable {
        /// Which file.
        path: String,
        /// What the system said.
        cause: std::io::Error,
    },
    /// It is something else.
    #[error("{path} is no checkpoint: {cause}")]
    Other {
        /// Which file.
        path: String,
        /// What is wrong.
        cause: NoteError,
    },
}

/// What became of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Compared {
    /// Its file's name.
    pub from: String,
    /// How many entries it covers.
    pub size: u64,
    /// Whether it says that it is of this journal; nothing else was tested otherwise.
    pub ours: bool,
    /// Whether the journal begins with exactly the entries it states.
    pub fits: bool,
    /// Whether it is signed with a key that the journal announces as the ward's.
    pub signed: bool,
    /// Whether somebody named it.
    pub named: bool,
    /// How many others signed beside the ward; whether their signatures hold was not looked at.
    pub others: usize,
}

impl KnownCheckpoint {
    /// Reads a file that somebody named.
    ///
    /// # Errors
    /// See [`NotACheckpoint`].
    pub fn read(path: &Path) -> Result<KnownCheckpoint, NotACheckpoint> {
        let shown = path.display().to_string();
        let bytes = read_small_file(path, NOTE_BYTES_MAX).map_err(|cause| {
            let path = shown.clone();
            NotACheckpoint::Unreadable { path, cause }
        })?;
        let read = SignedNote::parse(&bytes)
            .and_then(|note| Checkpoint::parse(note.text()).map(|text| (note, text)));
        let (note, text) = read.map_err(|cause| {
            let path = shown.clone();
            NotACheckpoint::Other { path, cause }
        })?;
        Ok(KnownCheckpoint {
            from: shown,
            note,
            text,
            named: true,
        })
    }

    /// Those that lie in the journal's own folder, oldest first. What is no checkpoint is passed over.
    #[must_use]
    pub fn in_folder(dir: &Path) -> Vec<KnownCheckpoint> {
        let folder = Layout::new(dir).checkpoints_dir();
        let mut names = RealDisk.list(&folder).unwrap_or_default();
        names.retain(|name| Layout::is_checkpoint(name));
        names.sort_unstable();
        let read = names.iter().filter_map(|name| {
            let mut known = KnownCheckpoint::read(&folder.join(name)).ok()?;
            known.from = format!("checkpoints/{name}");
            known.named = false;
            Some(known)
        });
        read.collect()
    }

    /// Whether one of these keys signed it as the ward.
    #[must_use]
    pub fn is_signed_by(&self, keys: &[PersonKey]) -> bool {
        let Ok(name) = self.text.key_name() else {
            return false;
        };
        keys.iter().any(|key| {
            let key = VerifierKey {
                name: name.clone(),
                kind: NoteKind::Note,
                key: *key,
            };
            self.note.check(&key).is_ok()
        })
    }
}

/// Holds checkpoints against a verification that was asked for the roots at their sizes, and adds what
/// does not fit to its findings. `keys` are those that the journal announces as the ward's.
pub fn compare(
    found: &mut Verification,
    keys: &[PersonKey],
    known: &[KnownCheckpoint],
) -> Vec<Compared> {
    let mut compared: Vec<Compared> = Vec::new();
    for checkpoint in known {
        let size = checkpoint.text.size;
        let ours = checkpoint.text.journal() == Some(found.journal);
        let signed = ours && checkpoint.is_signed_by(keys);
        let root = found.tree_roots.get(&size);
        compared.push(Compared {
            from: checkpoint.from.clone(),
            size,
            ours,
            fits: ours && root == Some(&checkpoint.text.root),
            signed,
            named: checkpoint.named,
            others: checkpoint.note.signatures().len().saturating_sub(1),
        });
    }
    let fits_to = compared.iter().filter(|one| one.fits && one.signed);
    let fits_to = fits_to.map(|one| (one.size, one.from.clone())).max();
    for (checkpoint, one) in known.iter().zip(&compared) {
        found
            .findings
            .extend(finding(found, checkpoint, one, fits_to.as_ref()));
    }
    let whole = |one: &Compared| one.fits && one.signed && one.size == found.tree_size;
    if compared.iter().any(whole) {
        // A checkpoint over everything there is names the newest entry as well as any note does.
        let is_doubt = |finding: &Finding| matches!(finding.what, Wrong::EndNotVouched { .. });
        found.findings.retain(|finding| !is_doubt(finding));
    }
    compared
}

fn finding(
    found: &Verification,
    checkpoint: &KnownCheckpoint,
    one: &Compared,
    fits_to: Option<&(u64, String)>,
) -> Option<Finding> {
    let from = one.from.clone();
    if !one.ours && one.named {
        let origin = checkpoint.text.origin.clone();
        let finding = Finding::fault(Wrong::CheckpointOfAnother { from, origin });
        let level = Level::Untested;
        return Some(Finding { level, ..finding });
    }
    let why = if !one.ours {
        let origin = &checkpoint.text.origin;
        Some(format!(
            "it is of \"{origin}\", and this is journal {}",
            found.journal
        ))
    } else if !one.signed {
        let keys = "it is not signed with a key that this journal announces as the ward's";
        Some(format!(
            "{keys}; either it or the journal is not what it says"
        ))
    } else {
        None
    };
    if let Some(why) = why {
        let finding = Finding::fault(Wrong::CheckpointNotOurs { from, why });
        // What lies in the folder may be anybody's; what somebody named was to be held against it.
        let level = if one.named { Level::Fault } else { Level::Note };
        return Some(Finding { level, ..finding });
    }
    if one.fits {
        return None;
    }
    let (size, have) = (one.size, found.tree_size);
    let what = match found.tree_roots.get(&size) {
        None => Wrong::CheckpointBeyond { from, size, have },
        Some(root) => Wrong::CheckpointDiffers {
            from,
            size,
            expected: checkpoint.text.root,
            found: *root,
            since: match fits_to.filter(|(fits, _)| *fits < size) {
                None => ". No earlier checkpoint given fits, so the first difference is not narrowed down".to_owned(),
                Some((fits, by)) => format!(
                    ". The first {fits} are, by the checkpoint {by}: what differs lies among entries {} to {size}",
                    fits + 1
                ),
            },
        },
    };
    Some(Finding::fault(what))
}
