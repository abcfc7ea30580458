//! Rolling back, forking, forging: each against a checkpoint that somebody kept.

use std::path::Path;
use std::sync::Arc;

use handfast::journal::note::{Checkpoint as Text, SignedNote};
use handfast::journal::verify::{Finding, Verdict, Wrong};
use handfast::journal::{FileStore, NewEntry, Signer, SigningSeed, Store, WriteOptions};
use handfast::record::codec;
use handfast::record::envelope::Envelope;
use handfast::record::ids::{EntryId, JournalId, Pseudonym, Seq, TreeHash};
use handfast::record::kind::Body;
use handfast::record::kind::proof::{Checkpoint, CheckpointCause, StatedTree};
use handfast::record::kind::ward::{StaffEnrolled, WardOpened};
use handfast::record::person::Handle;
use handfast::record::role::Role;
use handfast::record::time::Timestamp;
use handfast::station::known_checkpoints::KnownCheckpoint;
use handfast::station::proving::{NoProof, newest_own, prove_entry};
use zeroize::Zeroizing;

use crate::ward::{Ward, copy, faults};

fn some_acts(ward: &Ward, times: usize) {
    for _ in 0..times {
        ward.suspend_and_reinstate();
    }
}

#[test]
fn an_honest_journal_fits_every_checkpoint_it_ever_made() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (first, a) = ward.checkpoint(kept.path(), "a");
    some_acts(&ward, 2);
    let (second, b) = ward.checkpoint(kept.path(), "b");
    assert!(second.text.size > first.text.size);
    let (found, compared) = ward.verify(&[&a, &b]);
    assert_eq!(faults(&found), Vec::<&_>::new());
    assert_eq!(found.verdict(), Verdict::Whole);
    assert!(compared.iter().all(|one| one.fits && one.signed));
    assert!(compared.iter().filter(|one| one.named).count() == 2);
}

/// The whole folder as it was yesterday: in itself nothing is wrong with it.
#[test]
fn an_older_self_consistent_journal_is_caught_by_any_later_checkpoint() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (_, a) = ward.checkpoint(kept.path(), "a");
    let yesterday = ward.image();
    some_acts(&ward, 3);
    let (made, b) = ward.checkpoint(kept.path(), "b");
    ward.put_back(&yesterday);
    let (found, _) = ward.verify(&[]);
    assert_eq!(
        found.verdict(),
        Verdict::Whole,
        "nothing shows without the checkpoint"
    );
    let (found, compared) = ward.verify(&[&a, &b]);
    assert_eq!(found.verdict(), Verdict::NotAsWritten);
    let have = found.tree_size;
    let said = faults(&found);
    assert_eq!(said.len(), 1);
    assert!(
        matches!(&said[0].what, Wrong::CheckpointBeyond { size, have: there, .. }
            if *size == made.text.size && *there == have),
        "{said:?}"
    );
    let fits: Vec<bool> = compared
        .iter()
        .filter(|one| one.named)
        .map(|one| one.fits)
        .collect();
    assert_eq!(fits, [true, false]);
}

/// Cut back, and written on with real keys until it is longer than it was.
#[test]
fn a_journal_that_went_on_otherwise_is_caught_and_the_place_narrowed_down() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (first, a) = ward.checkpoint(kept.path(), "a");
    let fork = ward.image();
    some_acts(&ward, 1);
    let (second, b) = ward.checkpoint(kept.path(), "b");
    ward.put_back(&fork);
    some_acts(&ward, 4);
    let (found, _) = ward.verify(&[&a, &b]);
    let said = faults(&found);
    assert_eq!(said.len(), 1, "{said:?}");
    let words = said[0].what.to_string();
    assert!(
        matches!(&said[0].what, Wrong::CheckpointDiffers { size, .. } if *size == second.text.size),
        "{words}"
    );
    let from = format!(
        "among entries {} to {}",
        first.text.size + 1,
        second.text.size
    );
    assert!(words.contains(&from), "{words}");
}

#[test]
fn a_forged_checkpoint_is_not_believed() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (made, good) = ward.checkpoint(kept.path(), "good");
    let other = SigningSeed::from_bytes(&Zeroizing::new([9; 32]));
    let name = made.text.key_name().unwrap();
    let forged = SignedNote::sign(made.text.to_text(), &name, &other).unwrap();
    let altered = made.note.to_text().replacen(
        &format!("\n{}\n", made.text.size),
        &format!("\n{}\n", made.text.size - 1),
        1,
    );
    let stranger = Text::of(JournalId([5; 16]), made.text.size, made.text.root);
    let stranger = SignedNote::sign(stranger.to_text(), &stranger.key_name().unwrap(), &other);
    for (what, text) in [("another key", forged.to_text()), ("another size", altered)] {
        let path = kept.path().join("forged");
        std::fs::write(&path, text).unwrap();
        let (found, _) = ward.verify(&[&path]);
        let said = faults(&found);
        assert_eq!(said.len(), 1, "{what}");
        assert!(
            matches!(said[0].what, Wrong::CheckpointNotOurs { .. }),
            "{what}"
        );
    }
    // One of another ward says nothing of this one, and nobody is to think that it did.
    let path = kept.path().join("stranger");
    std::fs::write(&path, stranger.unwrap().to_text()).unwrap();
    let (found, compared) = ward.verify(&[&path]);
    assert_eq!(found.verdict(), Verdict::NotTested);
    assert_eq!(faults(&found), Vec::<&_>::new());
    assert!(
        compared
            .iter()
            .any(|one| one.named && !one.ours && !one.fits)
    );
    let (found, _) = ward.verify(&[&good]);
    assert_eq!(found.verdict(), Verdict::Whole);
}

/// What is put among the journal's own checkpoints is noted and passed over: it stops nobody.
#[test]
fn a_stranger_among_the_wards_own_checkpoints_is_a_note() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (made, _) = ward.checkpoint(kept.path(), "good");
    let other = SigningSeed::from_bytes(&Zeroizing::new([9; 32]));
    let mut false_text = made.text.clone();
    false_text.root = TreeHash([7; 32]);
    let name = false_text.key_name().unwrap();
    let forged = SignedNote::sign(false_text.to_text(), &name, &other).unwrap();
    let path = made.path.with_file_name("00000000000000000001.txt");
    std::fs::write(path, forged.to_text()).unwrap();
    let (found, _) = ward.verify(&[]);
    assert_eq!(found.verdict(), Verdict::Whole);
    assert!(
        found
            .findings
            .iter()
            .any(|one| matches!(one.what, Wrong::CheckpointNotOurs { .. }))
    );
}

/// The newest entry written once more by its author, with their own key: in itself nothing is wrong with that
/// journal, and it is as long. Only the checkpoint tells.
#[test]
fn the_newest_entry_written_anew_by_its_author_shows_against_the_checkpoint() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let before = ward.image();
    let (first, a) = ward.checkpoint(kept.path(), "a");
    ward.put_back(&before);
    let (second, _) = ward.checkpoint(kept.path(), "b");
    assert_eq!(first.text.size, second.text.size);
    let (found, _) = ward.verify(&[]);
    assert_eq!(found.verdict(), Verdict::Whole);
    let (found, _) = ward.verify(&[&a]);
    let said = faults(&found);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        matches!(&said[0].what, Wrong::CheckpointDiffers { size, .. } if *size == first.text.size),
        "{said:?}"
    );
}

/// Damage keeps the leaf of an entry that another one names; of the newest entry it takes it.
#[test]
fn a_bit_of_the_newest_entry_takes_it_from_the_checkpoint() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (made, good) = ward.checkpoint(kept.path(), "good");
    let segments = ward.path().join("segments");
    let files = std::fs::read_dir(&segments).unwrap();
    let newest = files.map(|file| file.unwrap().path()).max().unwrap();
    let bytes = std::fs::read(&newest).unwrap();
    for (at, takes) in [
        (400, false),
        (bytes.len() / 2, false),
        (bytes.len() - 40, true),
    ] {
        let mut bad = bytes.clone();
        bad[at] ^= 1;
        std::fs::write(&newest, &bad).unwrap();
        let (found, compared) = ward.verify(&[&good]);
        assert_eq!(found.verdict(), Verdict::NotAsWritten, "byte {at}");
        let named = compared.iter().find(|one| one.named).unwrap();
        assert_eq!(named.fits, !takes, "byte {at}");
        let beyond = |one: &&Finding| matches!(&one.what, Wrong::CheckpointBeyond { size, .. } if *size == made.text.size);
        let said = faults(&found).iter().filter(|one| beyond(one)).count();
        assert_eq!(said > 0, takes, "byte {at}");
    }
}

/// What others put into `checkpoints/` stops no proof: the newest that the ward signed and that fits is taken.
#[test]
fn a_foreign_file_among_the_checkpoints_stops_no_proof() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (made, good) = ward.checkpoint(kept.path(), "good");
    let own = KnownCheckpoint::in_folder(ward.path()).len();
    let other = SigningSeed::from_bytes(&Zeroizing::new([9; 32]));
    let sign = |text: &Text, signer: &SigningSeed| {
        let name = text.key_name().unwrap();
        SignedNote::sign(text.to_text(), &name, signer).unwrap()
    };
    let mut larger = made.text.clone();
    (larger.size, larger.root) = (1_000_000, TreeHash([7; 32]));
    let path = made.path.with_file_name("00000000000001000000.txt");
    std::fs::write(&path, sign(&larger, &other).to_text()).unwrap();
    // True, and signed by a stranger.
    let path = made.path.with_file_name("00000000000002000000.txt");
    std::fs::write(&path, sign(&made.text, &other).to_text()).unwrap();
    let mut known = KnownCheckpoint::in_folder(ward.path());
    assert_eq!(known.len(), own + 2);
    known.reverse();
    let proved = prove_entry(ward.path(), Seq(3), &known).unwrap();
    assert_eq!(proved.size, made.text.size);
    assert_eq!(proved.proof.checkpoint, made.note);
    let newest = newest_own(ward.path()).unwrap().unwrap();
    assert_eq!(newest.note, made.note);
    // One that is named is taken or refused, never passed over.
    let forged = kept.path().join("forged");
    std::fs::write(&forged, sign(&made.text, &other).to_text()).unwrap();
    let [forged, good] = [&forged, &good].map(|path| KnownCheckpoint::read(path).unwrap());
    let refused = prove_entry(ward.path(), Seq(3), &[forged]);
    assert!(matches!(refused, Err(NoProof::NotSigned { .. })));
    prove_entry(ward.path(), Seq(3), &[good]).unwrap();
}

/// A journal in which the writer's program lies about what it commits to.
#[test]
fn a_checkpoint_entry_that_states_what_is_not_so_is_a_finding() {
    let whole = StatedTree {
        size: 2,
        root: TreeHash::ZERO,
        patients: 0,
        patients_root: TreeHash::ZERO,
    };
    let dir = tempfile::tempdir().unwrap();
    let said = verdict_on(dir.path(), Some(whole.clone()));
    assert!(
        said.contains("states other entries than are before it: 2 with root"),
        "{said}"
    );
    // The true root is in the sentence: with it, only what is said of patients is false.
    let root = said
        .rsplit("root ")
        .next()
        .unwrap()
        .trim_end_matches(['"', ')'])
        .to_owned();
    let root: TreeHash = root[..64].parse().unwrap();
    let dir = tempfile::tempdir().unwrap();
    let said = verdict_on(dir.path(), Some(StatedTree { root, ..whole }));
    assert!(said.contains("of 0 patients what is not so"), "{said}");
    let dir = tempfile::tempdir().unwrap();
    let said = verdict_on(dir.path(), None);
    assert!(said.contains("states nothing"), "{said}");
}

fn verdict_on(dir: &Path, stated: Option<StatedTree>) -> String {
    let keeper: Arc<dyn Signer> = Arc::new(SigningSeed::from_bytes(&Zeroizing::new([3; 32])));
    let opened = WardOpened {
        name: "False Ward".into(),
        zone: "UTC".into(),
        teaching: true,
    };
    let enrolled = StaffEnrolled {
        handle: Handle("kim".to_owned()),
        name: "Kim".into(),
        role: Role::Keeper,
        registration: None,
        key: Some(keeper.public()),
        reading: None,
    };
    let cause = CheckpointCause::Asked;
    let bodies: [Body; 3] = [
        opened.into(),
        enrolled.into(),
        Checkpoint { cause, stated }.into(),
    ];
    FileStore::create(dir, JournalId([8; 16])).unwrap();
    let now = Timestamp(1_795_514_400_000_000);
    let (store, _) = FileStore::open_writer(dir, &WriteOptions::new("a liar", now)).unwrap();
    let entries = bodies.iter().zip(1_u8..).map(|(body, n)| NewEntry {
        id: EntryId([n; 16]),
        recorded_at: now,
        kind: body.kind().code(),
        kind_version: body.kind().version(),
        patient: Pseudonym::ZERO,
        encoding: codec::ENCODING,
        payload: codec::encode(&envelope(now), body).unwrap(),
        signer: Arc::clone(&keeper),
        seal: None,
    });
    store.append(entries.collect(), None).unwrap();
    drop(store);
    let image = tempfile::tempdir().unwrap();
    copy(dir, image.path());
    let (found, _) = Ward { dir: image }.verify(&[]);
    let said: Vec<String> = faults(&found)
        .iter()
        .map(|one| one.what.to_string())
        .collect();
    assert_eq!(said.len(), 1, "{said:?}");
    said.concat()
}

fn envelope(at: Timestamp) -> Envelope {
    Envelope {
        occurred_at: at,
        approximate: false,
        role: Role::Keeper,
        episode: None,
        late_reason: None,
        related: Vec::new(),
        confirmed: Vec::new(),
    }
}

/// The tree beside the segments is rewritten by somebody who has the folder: its check value needs no key.
#[test]
fn a_poisoned_tree_gets_no_false_signature() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    ward.checkpoint(kept.path(), "a");
    // The tree is kept by what makes proofs.
    let made = KnownCheckpoint::in_folder(ward.path());
    prove_entry(ward.path(), Seq(3), &made).unwrap();
    let before = made.len();
    let state = ward.path().join("tree/state");
    let bytes = std::fs::read(&state).unwrap();
    let mut body = bytes[..bytes.len() - 32].to_vec();
    *body.last_mut().unwrap() ^= 1;
    let check = blake3::derive_key("handfast journal v1 tree file", &body);
    std::fs::write(&state, [&body[..], &check].concat()).unwrap();

    let (_, b) = ward.checkpoint(kept.path(), "b");
    let (found, compared) = ward.verify(&[&b]);
    assert_eq!(faults(&found), Vec::<&_>::new());
    assert!(compared.iter().all(|one| one.fits && one.signed));
    let made = KnownCheckpoint::in_folder(ward.path());
    assert_eq!(made.len(), before + 1);
    prove_entry(ward.path(), Seq(3), &made[before..]).unwrap();
}

/// A disk that was full, a program that was stopped: the entry stands and nothing was signed.
#[test]
fn a_checkpoint_that_was_left_unsigned_is_signed_with_the_next_act() {
    let (ward, kept) = (Ward::new(), tempfile::tempdir().unwrap());
    let (made, a) = ward.checkpoint(kept.path(), "a");
    let as_signed = std::fs::read(&a).unwrap();
    let folder = made.path.parent().unwrap();
    // A file where the folder should be: no text can be written.
    std::fs::remove_dir_all(folder).unwrap();
    std::fs::write(folder, "in the way").unwrap();
    some_acts(&ward, 1);
    std::fs::remove_file(folder).unwrap();
    some_acts(&ward, 1);
    assert_eq!(std::fs::read(&made.path).unwrap(), as_signed);
    let (found, _) = ward.verify(&[&a]);
    assert_eq!(found.verdict(), Verdict::Whole);
}
