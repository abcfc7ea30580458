//! An extract: part of a journal as one file that proves itself. One patient, one episode, one alert's
//! life or a stretch of time, with the proofs that the entries belong, the entries that say who was
//! allowed to write them, and what the checkpoint says the patient has in all.
//!
//! Made from a journal; checked (`check`) with nothing but the file.

pub mod check;

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::known_checkpoints::KnownCheckpoint;
use crate::journal::note::{NoteKind, VerifierKey};
use crate::journal::tree::{
    AUTHORITY_KINDS, Grown, KeptTree, PatientTally, TreeEntry, prove_patient,
};
use crate::journal::{FileReader, Frame, ReadError, ReadJournal};
use crate::record::entry::Entry;
use crate::record::ids::{EntryHash, JournalId, PersonKey, Pseudonym, Seq, TreeHash, to_hex};
use crate::record::kind::ward::{Access, AccessAct};
use crate::record::kind::{Body, Kind};
use crate::record::time::Timestamp;
use crate::ward::Read;

/// What the file says it is.
pub const FORMAT: &str = "handfast extract 1";

/// What is asked for; what is stated must all fit.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Scope {
    /// Only this patient's.
    pub patient: Option<Pseudonym>,
    /// Only this episode's, by its admission.
    pub episode: Option<Seq>,
    /// Only this alert and what was done about it.
    pub alert: Option<Seq>,
    /// Only what was recorded from then on.
    pub from: Option<Timestamp>,
    /// Only what was recorded up to then.
    pub until: Option<Timestamp>,
}

/// What is asked, by whom and why, and what is held back.
#[derive(Debug, Clone, Default)]
pub struct ExtractRequest {
    /// Which entries.
    pub scope: Scope,
    /// The same in words, for whoever reads it.
    pub words: String,
    /// Why it is made.
    pub purpose: String,
    /// Who makes it.
    pub made_by: String,
    /// Entries that are shown by their hash only, each with the reason.
    pub withheld: Vec<(Seq, String)>,
    /// The checkpoint it is to rest on; the newest fitting one in the journal's folder otherwise.
    pub against: Option<KnownCheckpoint>,
}

/// The file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Extract {
    /// [`FORMAT`].
    pub format: String,
    /// Which program made it.
    pub program: String,
    /// When, RFC 3339.
    pub made_at: String,
    /// Who made it, as they were signed in. Nothing vouches for it.
    pub made_by: String,
    /// What was asked for, in words. Nothing vouches for it.
    pub scope: String,
    /// Why. Nothing vouches for it.
    pub purpose: String,
    /// Which journal.
    pub journal: JournalId,
    /// The checkpoint, a signed note.
    pub checkpoint: String,
    /// The ward's key, as `NAME+ID+BASE64`.
    pub ward_key: String,
    /// What was asked for.
    pub entries: Vec<Shown>,
    /// Who opened the ward and was on its staff, its key, and the newest checkpoint's entry.
    pub authority: Vec<Shown>,
    /// What the checkpoint says each patient of the extract has in all; and, under zero, the authority.
    pub patients: Vec<PatientPart>,
}

/// One entry with the proof that it belongs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shown {
    /// Its number.
    pub seq: Seq,
    /// Its leaf.
    pub index: u64,
    /// Its hash.
    pub hash: EntryHash,
    /// The whole entry as it lies in the journal, in hexadecimal; none if it is withheld.
    pub frame: Option<String>,
    /// What opens it, where it is sealed in the journal and was opened for the reader of the extract: 32 bytes in
    /// hexadecimal, for this entry alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opening: Option<String>,
    /// Why it is withheld.
    pub withheld: Option<String>,
    /// From the leaf's sibling to the root's child.
    pub path: Vec<TreeHash>,
}

/// All entries of a patient, by their hashes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PatientPart {
    /// Whose; zero for the authority.
    pub patient: Pseudonym,
    /// The hashes of all entries that bear the pseudonym, in order.
    pub hashes: Vec<EntryHash>,
    /// The proof that the checkpoint's entry commits to exactly these.
    pub path: Vec<TreeHash>,
}

/// Why there is no extract.
#[derive(Debug, thiserror::Error)]
pub enum NoExtract {
    /// The journal cannot be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// No checkpoint fits.
    #[error(
        "there is no checkpoint that an extract could rest on; nothing was written. `handfast checkpoint \
         make` makes one"
    )]
    NoCheckpoint,
    /// The checkpoint that was named does not fit.
    #[error(
        "{0} is no checkpoint of these entries that this ward's present key signed; nothing was written. \
         `handfast verify --against {0}` says more"
    )]
    NotThisCheckpoint(String),
    /// Nothing is in it.
    #[error("no entry before the newest checkpoint is what was asked for; nothing was written")]
    Nothing,
    /// An entry to withhold is not in it.
    #[error(
        "{0} is not among the entries asked for, so it cannot be withheld; nothing was written"
    )]
    NotThere(Seq),
    /// The tree or the commitment does not fit what was read.
    #[error(
        "the journal does not fit its own checkpoint; nothing was written. `handfast verify` says more"
    )]
    DoesNotFit,
}

/// A walk through a journal up to a checkpoint, and what was found on it.
struct Gathered {
    entries: Vec<Frame>,
    authority: Vec<Frame>,
    hashes: BTreeMap<Pseudonym, Vec<EntryHash>>,
    /// The newest checkpoint's entry, and what each patient had before it.
    stated: Option<(Frame, PatientTally)>,
}

/// Makes an extract against the newest fitting checkpoint in the journal's folder.
///
/// # Errors
/// See [`NoExtract`].
pub fn make(
    reader: &FileReader,
    ward_key: Option<PersonKey>,
    made_at: Timestamp,
    request: &ExtractRequest,
) -> Result<Extract, NoExtract> {
    let mut tree = KeptTree::follow(reader)?;
    let ward_key = ward_key.ok_or(NoExtract::NoCheckpoint)?;
    let known = match &request.against {
        Some(named) if fits_as(reader, &mut tree, ward_key, named)? => named.clone(),
        Some(named) => return Err(NoExtract::NotThisCheckpoint(named.from.clone())),
        None => newest_fitting(reader, &mut tree, ward_key)?,
    };
    let gathered = gather(reader, known.text.size, &request.scope)?;
    if gathered.entries.is_empty() {
        return Err(NoExtract::Nothing);
    }
    let is_there = |seq: &Seq| gathered.entries.iter().any(|frame| frame.seq() == *seq);
    if let Some((seq, _)) = request.withheld.iter().find(|(seq, _)| !is_there(seq)) {
        return Err(NoExtract::NotThere(*seq));
    }
    let (stated, tally) = gathered.stated.as_ref().ok_or(NoExtract::NoCheckpoint)?;
    let size = (known.text.size, known.text.root);
    let mut show = |frames: &[Frame], withheld: &[(Seq, String)]| {
        let shown = frames
            .iter()
            .map(|frame| shown(reader, &mut tree, frame, size, withheld));
        shown.collect::<Result<Vec<_>, _>>()
    };
    let entries = show(&gathered.entries, &request.withheld)?;
    let mut authority = show(&gathered.authority, &[])?;
    authority.extend(show(std::slice::from_ref(stated), &[])?);
    let mut whose: Vec<Pseudonym> = gathered
        .entries
        .iter()
        .map(|frame| frame.header().patient)
        .collect();
    whose.extend([Pseudonym::ZERO]);
    whose.extend(request.scope.patient);
    whose.sort_unstable();
    whose.dedup();
    let parts = whose
        .into_iter()
        .filter_map(|patient| part(&gathered, tally, patient));
    let name = known.text.key_name().map_err(|_| NoExtract::NoCheckpoint)?;
    let key = VerifierKey {
        name,
        kind: NoteKind::Note,
        key: ward_key,
    };
    Ok(Extract {
        format: FORMAT.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        made_at: made_at.rfc3339(),
        made_by: request.made_by.clone(),
        scope: request.words.clone(),
        purpose: request.purpose.clone(),
        journal: reader.journal(),
        checkpoint: known.note.to_text(),
        ward_key: key.to_string(),
        entries,
        authority,
        patients: parts.collect(),
    })
}

fn newest_fitting(
    reader: &FileReader,
    tree: &mut KeptTree<'_>,
    ward_key: PersonKey,
) -> Result<KnownCheckpoint, NoExtract> {
    let known = KnownCheckpoint::in_folder(reader.layout().root());
    for known in known.into_iter().rev() {
        if fits_as(reader, tree, ward_key, &known)? {
            return Ok(known);
        }
    }
    Err(NoExtract::NoCheckpoint)
}

/// Whether it is the ward's, of these entries.
fn fits_as(
    reader: &FileReader,
    tree: &mut KeptTree<'_>,
    ward_key: PersonKey,
    known: &KnownCheckpoint,
) -> Result<bool, ReadError> {
    let ours = known.text.journal() == Some(reader.journal()) && known.is_signed_by(&[ward_key]);
    Ok(ours && tree.has_root(known.text.size, known.text.root)?)
}

/// What is asked for, up to the checkpoint's own entry: what was appended with it comes after what it states,
/// so nobody could tell from the extract who might still write then.
fn gather(reader: &FileReader, size: u64, scope: &Scope) -> Result<Gathered, NoExtract> {
    let mut grown = Grown::of(reader.journal(), []);
    let mut gathered = Gathered {
        entries: Vec::new(),
        authority: Vec::new(),
        hashes: BTreeMap::new(),
        stated: None,
    };
    let mut taken = BTreeSet::new();
    for item in reader.read_from(Seq(1)) {
        let frame = match item {
            Ok(frame) => frame,
            Err(ReadError::Damaged { .. } | ReadError::Missing { .. }) => continue,
            Err(error) => return Err(error.into()),
        };
        if grown.size() >= size {
            break;
        }
        let header = *frame.header();
        if header.kind == Kind::Checkpoint.code() {
            gathered.stated = Some((frame.clone(), grown.tally().clone()));
        }
        grown.take(&TreeEntry::from(&frame));
        let is_authority = AUTHORITY_KINDS.contains(&header.kind);
        if header.patient != Pseudonym::ZERO || is_authority {
            let of_patient = gathered.hashes.entry(header.patient).or_default();
            of_patient.push(frame.hash());
        }
        if is_authority {
            gathered.authority.push(frame);
        } else if fits(reader, scope, &frame, &taken) {
            taken.insert(frame.seq());
            gathered.entries.push(frame);
        }
    }
    if let Some((stated, _)) = &gathered.stated {
        let at = stated.seq();
        gathered.entries.retain(|frame| frame.seq() < at);
        gathered.authority.retain(|frame| frame.seq() < at);
    }
    Ok(gathered)
}

/// Whether an entry is asked for. `taken` are those before it that are: what withdraws or corrects one of
/// them belongs to it, whenever and by whomever it was written.
fn fits(reader: &FileReader, scope: &Scope, frame: &Frame, taken: &BTreeSet<Seq>) -> bool {
    let header = frame.header();
    let read = Read::of(reader, frame);
    let entry = read.entry();
    if entry.is_some_and(|entry| amends(entry, taken)) {
        return true;
    }
    let of_patient = scope
        .patient
        .is_none_or(|patient| patient == header.patient);
    let of_episode = scope.episode.is_none_or(|episode| {
        frame.seq() == episode || entry.is_some_and(|entry| entry.envelope.episode == Some(episode))
    });
    let of_alert = scope.alert.is_none_or(|alert| {
        frame.seq() == alert || entry.is_some_and(|entry| is_about(entry, alert))
    });
    let in_time = scope.from.is_none_or(|from| header.recorded_at >= from)
        && scope.until.is_none_or(|until| header.recorded_at <= until);
    of_patient && of_episode && of_alert && in_time
}

/// Whether an entry withdraws or corrects one of these.
fn amends(entry: &Entry, taken: &BTreeSet<Seq>) -> bool {
    let Body::Amendment(amendment) = &entry.body else {
        return false;
    };
    taken.contains(&amendment.target)
}

/// Whether an entry is part of an alert's life: a step, or what answers or names it.
fn is_about(entry: &Entry, alert: Seq) -> bool {
    let said = match &entry.body {
        Body::AlertStep(step) => step.alert == alert,
        Body::Contact(contact) => contact.answers == Some(alert),
        _ => false,
    };
    said || entry.envelope.related.contains(&alert)
}

fn shown(
    reader: &FileReader,
    tree: &mut KeptTree<'_>,
    frame: &Frame,
    signed: (u64, TreeHash),
    withheld: &[(Seq, String)],
) -> Result<Shown, NoExtract> {
    let (seq, hash) = (frame.seq(), frame.hash());
    let proved = tree.prove((seq, hash), signed)?;
    let (index, path) = proved.ok_or(NoExtract::DoesNotFit)?;
    let reason = withheld.iter().find(|(held, _)| *held == seq);
    let reason = reason.map(|(_, reason)| reason.clone());
    Ok(Shown {
        seq,
        index,
        hash,
        frame: reason.is_none().then(|| to_hex(frame.bytes())),
        opening: reader
            .opening(frame)
            .filter(|_| reason.is_none())
            .map(|opening| to_hex(&opening.0)),
        withheld: reason,
        path,
    })
}

/// A patient's entries up to the checkpoint's entry; `None` for whoever has none before it.
fn part(gathered: &Gathered, tally: &PatientTally, patient: Pseudonym) -> Option<PatientPart> {
    let path = prove_patient(tally, patient)?;
    let counted = usize::try_from(tally.of(patient).entries).ok()?;
    let hashes = gathered.hashes.get(&patient)?;
    Some(PatientPart {
        patient,
        hashes: hashes.iter().copied().take(counted).collect(),
        path,
    })
}

impl super::Station {
    /// Makes an extract, and records that somebody did and why.
    ///
    /// # Errors
    /// When the person may not, when the export cannot be recorded, or as [`make`].
    pub fn extract(
        &mut self,
        actor: &super::Actor,
        request: &ExtractRequest,
    ) -> Result<Extract, super::StationError> {
        let extract = make(&self.reader, self.ward().ward_key(), self.now(), request);
        let extract = extract.map_err(|error| super::StationError::NoExtract(Box::new(error)))?;
        let patient = request.scope.patient;
        let episode = patient.and_then(|patient| self.ward().patient(patient)?.episode_seq());
        let access = Access {
            act: AccessAct::Exported,
            what: format!(
                "extract of {} entries: {}",
                extract.entries.len(),
                request.words
            )
            .as_str()
            .into(),
            reason: Some(request.purpose.as_str().into()),
        };
        self.append_about(actor, access.into(), patient, episode)?;
        Ok(extract)
    }
}
