//! Extracts of journals that were false from the beginning: every proof in them holds but one. Whoever forges
//! has all keys of a small ward and builds the tree as they like; each case is found by one check alone.

use std::sync::Arc;

use handfast::journal::note::{Checkpoint as Text, NoteKind, SignedNote, VerifierKey};
use handfast::journal::tree::{
    AUTHORITY_KINDS, MemoryTree, PatientTally, TreeEntry, entry_leaf, patients_root, prove_patient,
};
use handfast::journal::{
    FileReader, FileStore, Frame, NewEntry, ReadJournal, Signer, SigningSeed, Store, WriteOptions,
};
use handfast::record::codec;
use handfast::record::envelope::Envelope;
use handfast::record::ids::{EntryHash, EntryId, JournalId, PersonKey, Pseudonym, Seq, to_hex};
use handfast::record::kind::Body;
use handfast::record::kind::contact::NursingNote;
use handfast::record::kind::proof::{Checkpoint, CheckpointCause, StatedTree, WardKey};
use handfast::record::kind::ward::{StaffChanged, StaffEnrolled, StaffMove, WardOpened};
use handfast::record::person::Handle;
use handfast::record::role::Role;
use handfast::record::time::Timestamp;
use handfast::station::extract::check::check;
use handfast::station::extract::{Extract, FORMAT, PatientPart, Shown};
use zeroize::Zeroizing;

const JOURNAL: JournalId = JournalId([8; 16]);
const PATIENT: Pseudonym = Pseudonym([5; 16]);
const NOW: Timestamp = Timestamp(1_795_514_400_000_000);
const KEEPER: u8 = 1;
const NURSE: u8 = 2;
const STRANGER: u8 = 3;
const WARD: u8 = 4;

fn key(whose: u8) -> SigningSeed {
    SigningSeed::from_bytes(&Zeroizing::new([whose; 32]))
}

fn role(whose: u8) -> Role {
    if whose == KEEPER {
        Role::Keeper
    } else {
        Role::Nurse
    }
}

/// Who writes what about whom.
type Written = (u8, Body, Pseudonym);

fn opened() -> Written {
    let body = WardOpened {
        name: "False Ward".into(),
        zone: "UTC".into(),
        teaching: true,
    };
    (KEEPER, body.into(), Pseudonym::ZERO)
}

fn enrols(whose: u8, handle: &str) -> Written {
    let body = StaffEnrolled {
        handle: Handle(handle.to_owned()),
        name: handle.into(),
        role: role(whose),
        registration: None,
        key: Some(key(whose).public()),
        reading: None,
    };
    (KEEPER, body.into(), Pseudonym::ZERO)
}

fn announces(by: u8, ward_key: PersonKey) -> Written {
    let body = WardKey {
        reason: None,
        key: Some(ward_key),
    };
    (by, body.into(), Pseudonym::ZERO)
}

fn suspends() -> Written {
    let body = StaffChanged {
        handle: Handle("nan".to_owned()),
        change: StaffMove::Suspended,
        role: None,
        reason: "a reason".into(),
        key: None,
        reading: None,
    };
    (KEEPER, body.into(), Pseudonym::ZERO)
}

fn notes(by: u8, text: &str) -> Written {
    let body = NursingNote {
        text: text.into(),
        topic: None,
        said_by: None,
    };
    (by, body.into(), PATIENT)
}

/// A ward with a keeper, a nurse and a key, and a nurse's notes: entries 1 to 6.
fn ward() -> Vec<Written> {
    vec![
        opened(),
        enrols(KEEPER, "kim"),
        enrols(NURSE, "nan"),
        announces(KEEPER, key(WARD).public()),
        notes(NURSE, "one"),
        notes(NURSE, "two"),
    ]
}

/// A journal in memory, as whoever forges it would have it.
struct Forged {
    dir: tempfile::TempDir,
    frames: Vec<Frame>,
}

impl Forged {
    fn of(written: Vec<Written>) -> Forged {
        let dir = tempfile::tempdir().unwrap();
        FileStore::create(dir.path(), JOURNAL).unwrap();
        let mut forged = Forged {
            dir,
            frames: Vec::new(),
        };
        forged.append(written);
        forged
    }

    fn append(&mut self, written: Vec<Written>) {
        let options = WriteOptions::new("a forger", NOW);
        let (store, _) = FileStore::open_writer(self.dir.path(), &options).unwrap();
        let had = self.frames.len();
        for (n, (by, body, patient)) in written.into_iter().enumerate() {
            let envelope = Envelope {
                occurred_at: NOW,
                approximate: false,
                role: role(by),
                episode: None,
                late_reason: None,
                related: Vec::new(),
                confirmed: Vec::new(),
            };
            let signer: Arc<dyn Signer> = Arc::new(key(by));
            let entry = NewEntry {
                id: EntryId([u8::try_from(had + n + 1).unwrap(); 16]),
                recorded_at: NOW,
                kind: body.kind().code(),
                kind_version: body.kind().version(),
                patient,
                encoding: codec::ENCODING,
                payload: codec::encode(&envelope, &body).unwrap(),
                signer,
                seal: None,
            };
            store.append(vec![entry], None).unwrap();
        }
        drop(store);
        let reader = FileReader::open(self.dir.path()).unwrap();
        let fresh = reader.read_from(Seq(had as u64 + 1));
        self.frames.extend(fresh.map(Result::unwrap));
    }

    /// A bit of an entry's signature, and its hash made good.
    fn alter_signature(&mut self, seq: usize) {
        let bytes = self.frames[seq - 1].bytes();
        let mut bytes = bytes[..bytes.len() - 32].to_vec();
        *bytes.last_mut().unwrap() ^= 1;
        let hash = blake3::derive_key("handfast journal v1 entry hash", &bytes);
        bytes.extend_from_slice(&hash);
        self.frames[seq - 1] = Frame::check(&bytes).unwrap();
    }

    fn tree(&self) -> MemoryTree {
        let hashes = self.frames.iter().map(|frame| entry_leaf(frame.hash()));
        hashes.collect()
    }

    /// What each has, but for entries that are kept out of it.
    fn tally(&self, without: &[u64]) -> PatientTally {
        let mut tally = PatientTally::default();
        let counted = self
            .frames
            .iter()
            .filter(|frame| !without.contains(&frame.seq().0));
        for frame in counted {
            tally.take(&TreeEntry::from(frame));
        }
        tally
    }

    /// The true statement of what is there.
    fn statement(&self, tally: &PatientTally) -> StatedTree {
        StatedTree {
            size: self.frames.len() as u64,
            root: self.tree().root(),
            patients: 1,
            patients_root: patients_root(tally),
        }
    }

    fn append_checkpoint(&mut self, stated: StatedTree) {
        let cause = CheckpointCause::Asked;
        let stated = Some(stated);
        let body = Checkpoint { cause, stated }.into();
        self.append(vec![(KEEPER, body, Pseudonym::ZERO)]);
    }

    /// The usual: a true checkpoint at the end, and an extract of everything.
    fn finish(mut self) -> Extract {
        let tally = self.tally(&[]);
        self.append_checkpoint(self.statement(&tally));
        self.extract(JOURNAL, WARD, &tally, &[])
    }

    /// An extract of everything, on a checkpoint over everything that this key signs.
    fn extract(
        &self,
        journal: JournalId,
        signer: u8,
        tally: &PatientTally,
        not_counted: &[u64],
    ) -> Extract {
        let tree = self.tree();
        let size = tree.size();
        let text = Text::of(journal, size, tree.root());
        let name = text.key_name().unwrap();
        let note = SignedNote::sign(text.to_text(), &name, &key(signer)).unwrap();
        let ward_key = VerifierKey {
            name,
            kind: NoteKind::Note,
            key: key(signer).public(),
        };
        let shown = |(index, frame): (usize, &Frame)| Shown {
            opening: None,
            seq: frame.seq(),
            index: index as u64,
            hash: frame.hash(),
            frame: Some(to_hex(frame.bytes())),
            withheld: None,
            path: tree.inclusion(index as u64, size).unwrap(),
        };
        let all = self.frames.iter().enumerate().map(shown);
        let (entries, authority) = all.partition(|shown: &Shown| {
            let frame = &self.frames[usize::try_from(shown.index).unwrap()];
            frame.header().patient == PATIENT
        });
        let part = |patient: Pseudonym| {
            let counted = self.frames.iter().filter(|frame| {
                let header = frame.header();
                let is_authority = AUTHORITY_KINDS.contains(&header.kind);
                header.patient == patient
                    && (patient != Pseudonym::ZERO || is_authority)
                    && !not_counted.contains(&header.seq.0)
            });
            let hashes: Vec<EntryHash> = counted.map(Frame::hash).collect();
            let counted = usize::try_from(tally.of(patient).entries).unwrap();
            PatientPart {
                patient,
                hashes: hashes.into_iter().take(counted).collect(),
                path: prove_patient(tally, patient).unwrap(),
            }
        };
        Extract {
            format: FORMAT.to_owned(),
            program: "a forger's".to_owned(),
            made_at: String::new(),
            made_by: String::new(),
            scope: String::new(),
            purpose: String::new(),
            journal,
            checkpoint: note.to_text(),
            ward_key: ward_key.to_string(),
            entries,
            authority,
            patients: vec![part(Pseudonym::ZERO), part(PATIENT)],
        }
    }
}

/// The one thing that is found.
fn only(extract: &Extract, what: &str) {
    let problems = check(extract).problems;
    assert_eq!(problems.len(), 1, "{what}: {problems:?}");
    assert!(problems[0].contains(what), "{what}: {problems:?}");
}

#[test]
fn a_true_one_made_this_way_holds() {
    let extract = Forged::of(ward()).finish();
    let checked = check(&extract);
    assert_eq!(checked.problems, Vec::<String>::new());
    let one = &checked.patients[0];
    assert_eq!((one.in_all, one.shown), (2, 2));
}

#[test]
fn an_author_who_might_not_is_found_by_the_judge() {
    let with = |more: Vec<Written>| ward().into_iter().chain(more).collect();
    let suspended = Forged::of(with(vec![suspends(), notes(NURSE, "three")]));
    only(&suspended.finish(), "while suspended");
    let stranger = Forged::of(with(vec![notes(STRANGER, "three")]));
    only(&stranger.finish(), "nobody on the staff had");
}

#[test]
fn a_signature_that_does_not_hold_is_found() {
    let mut forged = Forged::of(ward());
    forged.alter_signature(5);
    let extract = forged.finish();
    only(&extract, "entry #5 is not signed by the author it names");
}

#[test]
fn a_ward_key_must_be_announced_by_a_keeper_and_not_replaced() {
    let mut written = ward();
    written.remove(3);
    only(&Forged::of(written).finish(), "no keeper announced the key");
    let mut written = ward();
    written.push(announces(KEEPER, key(77).public()));
    only(&Forged::of(written).finish(), "had replaced by then");
}

/// The same entries under the name of another journal: only the first entry tells which one it opened.
#[test]
fn entries_of_another_journal_are_found_by_the_first() {
    let mut forged = Forged::of(ward());
    let tally = forged.tally(&[]);
    forged.append_checkpoint(forged.statement(&tally));
    let extract = forged.extract(JournalId([9; 16]), WARD, &tally, &[]);
    only(&extract, "its first entry opens another journal");
}

#[test]
fn an_entry_the_checkpoint_does_not_count_is_found() {
    let mut forged = Forged::of(ward());
    let tally = forged.tally(&[6]);
    forged.append_checkpoint(forged.statement(&tally));
    let extract = forged.extract(JOURNAL, WARD, &tally, &[6]);
    only(&extract, "entry #6 is not among those patient");
}

#[test]
fn a_suspension_left_out_is_missed() {
    let mut written = ward();
    written.push(suspends());
    let mut extract = Forged::of(written).finish();
    extract.authority.retain(|shown| shown.seq != Seq(7));
    only(
        &extract,
        "1 of the entries that say who may write what are not in it",
    );
}

/// Whoever holds the ward's key signs a checkpoint over what came after the newest checkpoint's entry.
#[test]
fn a_checkpoint_without_its_own_entry_is_nothing_to_rest_on() {
    let grown = || {
        let mut forged = Forged::of(ward());
        let tally = forged.tally(&[]);
        forged.append_checkpoint(forged.statement(&tally));
        forged.append(vec![suspends(), notes(NURSE, "three")]);
        (forged, tally)
    };
    let (forged, tally) = grown();
    let mut extract = forged.extract(JOURNAL, WARD, &tally, &[]);
    // The suspension is left out, and nothing that is counted is missing.
    extract.authority.retain(|shown| shown.seq != Seq(8));
    let problems = check(&extract).problems;
    assert!(problems[0].contains("entry #9 lies after the checkpoint's entry #7"));
    assert!(
        problems[1].contains("is that of another one"),
        "{problems:?}"
    );
    extract.entries.retain(|shown| shown.seq != Seq(9));
    only(&extract, "is that of another one");
}

/// The same with a tree that has it at its end again: what its author stated before it is another tree.
#[test]
fn a_checkpoints_entry_moved_to_the_end_states_another_tree() {
    let mut forged = Forged::of(ward());
    let tally = forged.tally(&[]);
    let stated = StatedTree {
        root: forged.tree().root(),
        ..forged.statement(&tally)
    };
    forged.append_checkpoint(StatedTree {
        root: entry_leaf(EntryHash([3; 32])),
        ..stated.clone()
    });
    let extract = forged.extract(JOURNAL, WARD, &tally, &[]);
    only(
        &extract,
        "states other entries before it than the checkpoint has",
    );
    let mut forged = Forged::of(ward());
    forged.append_checkpoint(StatedTree { size: 5, ..stated });
    let extract = forged.extract(JOURNAL, WARD, &tally, &[]);
    only(
        &extract,
        "states other entries before it than the checkpoint has",
    );
}

/// A note put before its author's suspension in the tree, with a number after it, or the other way round.
#[test]
fn numbers_and_places_go_together() {
    let mut forged = Forged::of(ward());
    forged.frames.swap(4, 5);
    let tally = forged.tally(&[]);
    forged.append_checkpoint(forged.statement(&tally));
    let extract = forged.extract(JOURNAL, WARD, &tally, &[]);
    only(&extract, "is not where its number says");
}
