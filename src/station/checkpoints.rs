//! Checkpoints: statements of where the journal stands, signed by the ward, to be kept elsewhere.
//!
//! A checkpoint's entry states the tree over the entries before it and what each patient has among
//! them. The signed note is over the tree that includes the entry and whatever was appended with it.
//! One is made when somebody asks, before each accepted handover's acceptance and before the first
//! act of a ward's day, in the same append: the act itself never fails with it. The first one that a process makes
//! waits for one reading of the journal, since nothing else tells what is there (`OwnTree`).

use std::path::PathBuf;

use zeroize::Zeroizing;

use super::outcome::{Receipt, SubmitError};
use super::submit::Decided;
use super::ward_key::{self, WardKeyError};
use super::{Actor, Station, StationError, keys};
use crate::journal::note::{Checkpoint as Text, NoteError, SignedNote};
use crate::journal::tree::{Grown, TreeEntry};
use crate::journal::{
    FileReader, FileStore, ReadError, ReadJournal, Signer as _, SigningSeed, replace_small_file,
};
use crate::record::ids::{EntryHash, Seq, TreeHash};
use crate::record::kind::proof::{Checkpoint, CheckpointCause, StatedTree, WardKey};
use crate::record::kind::shift::HandoverMove;
use crate::record::kind::{Body, Kind};
use crate::ward::Read;

/// A checkpoint that was made and stored.
#[derive(Debug, Clone)]
pub struct Made {
    /// The signed note.
    pub note: SignedNote,
    /// What it says.
    pub text: Text,
    /// Where it lies.
    pub path: PathBuf,
}

/// The tree over everything, grown in this process from the segments. Nothing that lies in the folder
/// beside them is believed for what is signed: `tree/` can be written by whoever has the folder.
pub(super) struct OwnTree {
    grown: Grown,
    /// The last entry that was taken in, and its hash.
    last: Option<(Seq, EntryHash)>,
}

impl OwnTree {
    fn nothing_yet(reader: &FileReader, wanted: impl IntoIterator<Item = u64>) -> OwnTree {
        let grown = Grown::of(reader.journal(), wanted);
        OwnTree { grown, last: None }
    }

    /// Whether it is of the entries that are there.
    fn is_of(&self, reader: &FileReader) -> bool {
        let there = |(seq, hash)| reader.read(seq).is_ok_and(|frame| frame.hash() == hash);
        self.last.is_none_or(there)
    }

    /// Takes in what came since.
    fn catch_up(&mut self, reader: &FileReader) -> Result<(), ReadError> {
        let from = self.last.map_or(Seq(1), |(seq, _)| seq.next());
        for item in reader.read_from(from) {
            match item {
                Ok(frame) => {
                    self.grown.take(&TreeEntry::from(&frame));
                    self.last = Some((frame.seq(), frame.hash()));
                }
                // Named wherever the journal is shown; `Leaves` says what becomes of its leaf.
                Err(ReadError::Damaged { .. } | ReadError::Missing { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }
}

/// Why a checkpoint's entry stands and its signed text could not be made.
#[derive(Debug, thiserror::Error)]
pub(super) enum NotSigned {
    #[error(transparent)]
    Key(#[from] WardKeyError),
    #[error(transparent)]
    Read(#[from] ReadError),
    #[error(transparent)]
    Note(#[from] NoteError),
    #[error("{} could not be written: {cause}", path.display())]
    Write {
        path: PathBuf,
        cause: std::io::Error,
    },
}

impl Station {
    /// Makes the ward's own key, or a new one in place of it. With `seed`, from these bytes: for a
    /// teaching journal that comes out the same everywhere.
    ///
    /// # Errors
    /// [`SubmitError::NotAllowed`] for anybody but the keeper; when the key cannot be stored.
    pub fn make_ward_key(
        &mut self,
        actor: &Actor,
        seed: Option<Zeroizing<[u8; 32]>>,
        reason: Option<&str>,
    ) -> Result<Receipt, StationError> {
        let seed = match seed {
            Some(seed) => seed,
            None => keys::random_seed()?,
        };
        let writer = self.open_writer(actor)?;
        self.authorise_under(&writer, actor, Kind::WardKey, None)?;
        if self.ward().ward_key().is_some() && reason.is_none() {
            return Err(SubmitError::refuse_field(
                "reason",
                "this ward has a signing key already",
                "why it is replaced",
            )
            .into());
        }
        let made = WardKey {
            reason: reason.map(Into::into),
            key: Some(SigningSeed::from_bytes(&seed).public()),
        };
        // A crash in between leaves a key that was not announced: no checkpoint is signed until a keeper
        // asks again.
        ward_key::write(self.layout(), &seed)?;
        Ok(self.append_under(&writer, actor, made.into(), None, None)?)
    }

    /// Makes a checkpoint because somebody asks.
    ///
    /// # Errors
    /// When the ward has no usable key, when the entry cannot be recorded, or, although it was recorded,
    /// when its signed text cannot be stored.
    pub fn checkpoint(&mut self, actor: &Actor) -> Result<(Receipt, Made), StationError> {
        let writer = self.open_writer(actor)?;
        let authorised = self.authorise_under(&writer, actor, Kind::Checkpoint, None)?;
        ward_key::read(self.layout(), self.ward().ward_key())?;
        let body = self.stated(CheckpointCause::Asked)?;
        let decided = Decided::about_ward(authorised, body);
        let receipt = self.append_without_checkpoint(actor, &writer, vec![decided])?;
        let receipt = receipt.into_iter().next();
        let receipt = receipt.ok_or_else(super::submit::nothing_written)?;
        let made = self.sign_checkpoint();
        Ok((receipt, made.map_err(StationError::not_signed)?))
    }

    /// The tree over everything that is there now, from the segments.
    fn grown(&mut self) -> Result<&Grown, ReadError> {
        let kept = self.tree.take().filter(|tree| tree.is_of(&self.reader));
        let mut tree = kept.unwrap_or_else(|| OwnTree::nothing_yet(&self.reader, []));
        tree.catch_up(&self.reader)?;
        Ok(&self.tree.insert(tree).grown)
    }

    /// What a checkpoint states of everything that is there now.
    fn stated(&mut self, cause: CheckpointCause) -> Result<Body, ReadError> {
        let tree = self.grown()?;
        let stated = StatedTree {
            size: tree.size(),
            root: tree.root(),
            patients: tree.tally().patients(),
            patients_root: tree.patients_root(),
        };
        let stated = Some(stated);
        Ok(Checkpoint { cause, stated }.into())
    }

    /// Appends, with a checkpoint before it if one is due.
    pub(super) fn append_all(
        &mut self,
        actor: &Actor,
        writer: &FileStore,
        decided: Vec<Decided>,
    ) -> Result<Vec<Receipt>, SubmitError> {
        let Some(due) = self.checkpoint_due(actor, &decided) else {
            let mut receipts = self.append_without_checkpoint(actor, writer, decided)?;
            let said = self.sign_what_was_left_unsigned();
            if let (Some(said), Some(receipt)) = (said, receipts.first_mut()) {
                receipt.changed.push(said);
            }
            return Ok(receipts);
        };
        let with = std::iter::once(due).chain(decided).collect();
        let mut receipts = self.append_without_checkpoint(actor, writer, with)?;
        if !receipts.is_empty() {
            receipts.remove(0);
        }
        if let (Err(error), Some(receipt)) = (self.sign_checkpoint(), receipts.first_mut()) {
            let said = format!("the checkpoint made with it has no signed text: {error}");
            receipt.changed.push(said);
        }
        Ok(receipts)
    }

    /// A checkpoint to go before these, if it is time for one and one can be made. Never an error: the
    /// act comes first.
    fn checkpoint_due(&mut self, actor: &Actor, decided: &[Decided]) -> Option<Decided> {
        let announced = self.ward().ward_key();
        let cause = self.cause_of(decided).filter(|_| announced.is_some())?;
        // No word of the ward's about entries that nobody has accepted as they are.
        self.check_damage_is_accepted().ok()?;
        ward_key::read(self.layout(), announced).ok()?;
        let authorised = self.authorise(actor, Kind::Checkpoint).ok()?;
        let body = self.stated(cause).ok()?;
        Some(Decided::about_ward(authorised, body))
    }

    fn cause_of(&self, decided: &[Decided]) -> Option<CheckpointCause> {
        let bodies = || decided.iter().map(Decided::body);
        // A sheet names the entry just before its own; damage is accepted before anything else.
        let stands_alone = |body: &Body| {
            matches!(
                body,
                Body::Handover(_) | Body::WardKey(_) | Body::DamageAccepted(_)
            )
        };
        if bodies().any(stands_alone) {
            return None;
        }
        let accepts = |one: &Decided| {
            let accepted = matches!(one.body(), Body::HandoverStep(step) if step.step == HandoverMove::Accepted);
            accepted && one.patient().is_none()
        };
        if decided.iter().any(accepts) {
            return Some(CheckpointCause::Handover);
        }
        let zone = self.zone();
        let today = zone.date(self.now());
        let newest = self.ward().newest_checkpoint();
        let is_new_day = newest.is_none_or(|(_, at)| zone.date(at) < today);
        is_new_day.then_some(CheckpointCause::Day)
    }

    /// Signs where the journal stands now, and stores it. Under the writer's lock, so that it is what was
    /// just appended.
    fn sign_checkpoint(&mut self) -> Result<Made, NotSigned> {
        let tree = self.grown()?;
        let (size, root) = (tree.size(), tree.root());
        self.sign(size, root)
    }

    fn sign(&self, size: u64, root: TreeHash) -> Result<Made, NotSigned> {
        let signer = ward_key::read(self.layout(), self.ward().ward_key())?;
        let text = Text::of(self.reader.journal(), size, root);
        let note = SignedNote::sign(text.to_text(), &text.key_name()?, &signer)?;
        let path = self.layout().checkpoint(text.size);
        match replace_small_file(&path, note.to_text().as_bytes()) {
            Ok(()) => Ok(Made { note, text, path }),
            Err(cause) => Err(NotSigned::Write { path, cause }),
        }
    }

    /// Signs the newest checkpoint whose entry stands and whose signed text is not there: a disk was full, or
    /// the program was stopped in between. Says so if it did. Whatever is in the way is for the next time.
    fn sign_what_was_left_unsigned(&mut self) -> Option<String> {
        let (seq, _) = self.ward().newest_checkpoint()?;
        let frame = self.reader.read(seq).ok()?;
        let read = Read::from_frame(&frame);
        let Body::Checkpoint(checkpoint) = &read.entry()?.body else {
            return None;
        };
        let stated = checkpoint.stated.clone()?;
        let with_it = 1 + u64::from(frame.header().following);
        let size = stated.size.checked_add(with_it)?;
        if self.layout().checkpoint(size).exists() {
            return None;
        }
        ward_key::read(self.layout(), self.ward().ward_key()).ok()?;
        let mut tree = OwnTree::nothing_yet(&self.reader, [stated.size, size]);
        tree.catch_up(&self.reader).ok()?;
        let roots = tree.grown.roots();
        // What the entry states must be what is there: a false one is for governance, not to be signed.
        let root = *roots.get(&size)?;
        (roots.get(&stated.size) == Some(&stated.root)).then_some(())?;
        self.sign(size, root).ok()?;
        Some(format!(
            "the checkpoint {seq}, which had no signed text, has one now"
        ))
    }
}

impl StationError {
    fn not_signed(error: NotSigned) -> StationError {
        match error {
            NotSigned::Key(error) => StationError::WardKey(error),
            other => StationError::CheckpointNotSigned(other.to_string()),
        }
    }
}
