//! Sealed payloads: what they keep from whom, and what cannot be done with them unnoticed.

use std::sync::Arc;

use zeroize::Zeroizing;

use super::bench_material::*;
use crate::journal::verify::{Verdict, VerifyOptions, Wrong, verify};
use crate::journal::{
    AppendError, DataKey, DataKeys, FileReader, FileStore, Frame, Header, Layout, NewEntry,
    PAYLOAD_BYTES_MAX, ReadJournal, SEAL_BYTES, SEGMENT_HEADER_BYTES, Seal, SealFault, Store,
    frame, open_sealed, payload_of,
};
use crate::record::ids::{Pseudonym, SealKeyId, Seq};

fn key(byte: u8) -> Arc<DataKey> {
    Arc::new(DataKey::from_bytes(Zeroizing::new([byte; 32])))
}

fn sealed(n: u64, key: &Arc<DataKey>) -> NewEntry {
    let mut random = [0; 32];
    random[..8].copy_from_slice(&n.to_le_bytes());
    let key = Arc::clone(key);
    NewEntry {
        seal: Some(Seal { key, random }),
        ..entry(n)
    }
}

/// Entry 1 in clear, 2 and 3 sealed with key 1, 4 with key 2.
fn journal() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let (one, two) = (key(1), key(2));
    let entries = vec![entry(1), sealed(2, &one), sealed(3, &one), sealed(4, &two)];
    open(dir.path()).append(entries, None).unwrap();
    dir
}

fn frames(dir: &std::path::Path) -> Vec<Frame> {
    let reader = FileReader::open(dir).unwrap();
    reader.read_from(Seq(1)).map(Result::unwrap).collect()
}

/// An insider's frame: the header changed, whatever payload, signed anew by the same author.
fn forged(from: &Frame, payload: &[u8], change: impl Fn(&mut Header)) -> Frame {
    let mut header = *from.header();
    header.payload_bytes = u32::try_from(payload.len()).unwrap();
    change(&mut header);
    let mut bytes = Vec::new();
    let author = header.author;
    let signer = (1..=3).map(signer).find(|one| one.public() == author);
    frame::encode(&header, payload, &*signer.unwrap(), &mut bytes);
    Frame::check(&bytes).unwrap()
}

#[test]
fn the_key_opens_what_it_sealed_and_the_disk_holds_nothing_readable() {
    let dir = journal();
    let frames = frames(dir.path());
    let bytes = std::fs::read(Layout::new(dir.path()).segment(Seq(1))).unwrap();
    let says = |text: &[u8]| bytes.windows(text.len()).any(|window| window == text);
    assert!(says(b"entry 1"));
    for n in 2..=4 {
        assert!(!says(format!("entry {n}").as_bytes()), "entry {n}");
    }
    let mut keys = DataKeys::default();
    keys.add(key(1));
    let read = |frame: &Frame| payload_of(frame, Some(&keys)).map(|bytes| bytes.to_vec());
    assert_eq!(read(&frames[0]), Ok(b"entry 1".to_vec()));
    assert_eq!(read(&frames[1]), Ok(b"entry 2".to_vec()));
    assert_eq!(read(&frames[2]), Ok(b"entry 3".to_vec()));
    // The other patient's key was not given: said so, not passed over.
    assert_eq!(read(&frames[3]), Err(SealFault::NoKey(key(2).id())));
    assert_eq!(payload_of(&frames[1], None).err(), Some(SealFault::Locked));
    // The same through a reader that is given the keys, and that is locked again.
    let reader = FileReader::open(dir.path()).unwrap();
    assert_eq!(reader.payload(&frames[1]).err(), Some(SealFault::Locked));
    reader.set_keys(Some(Arc::new(keys)));
    assert_eq!(&*reader.payload(&frames[1]).unwrap(), b"entry 2");
    reader.set_keys(None);
    assert_eq!(reader.payload(&frames[1]).err(), Some(SealFault::Locked));
}

#[test]
fn another_key_opens_nothing_even_when_the_header_names_it() {
    let dir = journal();
    let frame = &frames(dir.path())[1];
    let other = SealFault::OtherKey(key(1).id());
    assert_eq!(open_sealed(frame, &key(2)).err(), Some(other));
    let named = forged(frame, frame.payload(), |header| {
        header.seal_key = key(2).id()
    });
    let fault = open_sealed(&named, &key(2)).err();
    assert_eq!(fault, Some(SealFault::DoesNotOpen));
}

#[test]
fn every_field_of_the_header_and_every_byte_of_the_payload_is_bound() {
    let dir = journal();
    let frames = frames(dir.path());
    let frame = &frames[1];
    let changes: [fn(&mut Header); 12] = [
        |header| header.kind ^= 1,
        |header| header.kind_version ^= 1,
        |header| header.encoding ^= 1,
        |header| header.seq = header.seq.next(),
        |header| header.synced_through.0 ^= 1,
        |header| header.recorded_at.0 ^= 1,
        |header| header.following ^= 1,
        |header| header.id.0[0] ^= 1,
        |header| header.prev.0[0] ^= 1,
        |header| header.author = signer(2).public(),
        |header| header.patient = Pseudonym([9; 16]),
        |header| header.seal_nonce[0] ^= 1,
    ];
    for (index, change) in changes.into_iter().enumerate() {
        let moved = forged(frame, frame.payload(), change);
        if moved.header() == frame.header() {
            panic!("change {index} changed nothing");
        }
        let fault = open_sealed(&moved, &key(1)).err();
        assert_eq!(fault, Some(SealFault::DoesNotOpen), "change {index}");
    }
    for at in 0..frame.payload().len() {
        let mut payload = frame.payload().to_vec();
        payload[at] ^= 1;
        let fault = open_sealed(&forged(frame, &payload, |_| ()), &key(1)).err();
        assert_eq!(fault, Some(SealFault::DoesNotOpen), "byte {at}");
    }
    // Two payloads of one patient, changed for each other by their own author.
    let swapped = forged(frame, frames[2].payload(), |_| ());
    let fault = open_sealed(&swapped, &key(1)).err();
    assert_eq!(fault, Some(SealFault::DoesNotOpen));
    let with_nonce = forged(frame, frames[2].payload(), |header| {
        header.seal_nonce = frames[2].header().seal_nonce;
    });
    let fault = open_sealed(&with_nonce, &key(1)).err();
    assert_eq!(fault, Some(SealFault::DoesNotOpen));
}

#[test]
fn a_verifier_needs_no_key_and_finds_what_is_no_sealing() {
    let dir = journal();
    let check = |dir: &std::path::Path| verify(dir, VerifyOptions::default()).unwrap();
    let found = check(dir.path());
    assert_eq!(found.verdict(), Verdict::Whole);
    assert_eq!((found.entries, found.sealed), (4, 3));
    let path = Layout::new(dir.path()).segment(Seq(1));
    let bytes = std::fs::read(&path).unwrap();
    let frames = frames(dir.path());
    let clear = forged(&frames[0], b"entry 1", |header| {
        header.seal_key = key(1).id()
    });
    let newer = forged(&frames[1], frames[1].payload(), |header| header.sealing = 2);
    let bare = forged(&frames[1], b"too short", |_| ());
    let keyless = forged(&frames[1], frames[1].payload(), |header| {
        header.seal_key = SealKeyId::ZERO;
    });
    for (frame, what) in [
        (clear, "a key in clear"),
        (newer, "another sealing"),
        (bare, "no room for a tag"),
        (keyless, "no key"),
    ] {
        let at = frame.seq().0 as usize - 1;
        let before: usize = frames[..at].iter().map(|frame| frame.bytes().len()).sum();
        let mut altered = bytes[..SEGMENT_HEADER_BYTES + before].to_vec();
        altered.extend_from_slice(frame.bytes());
        std::fs::write(&path, &altered).unwrap();
        let found = check(dir.path());
        let named = |finding: &crate::journal::verify::Finding| {
            finding.what == Wrong::Sealing && finding.seq == Some(frame.seq())
        };
        assert!(
            found.findings.iter().any(named),
            "{what}: {:?}",
            found.findings
        );
    }
}

#[test]
fn a_nonce_is_used_for_one_place_and_one_payload_even_if_the_randomness_repeats() {
    let one = key(1);
    let nonces: Vec<_> = [(1, "a"), (1, "b"), (2, "a")]
        .into_iter()
        .map(|(entries, text)| {
            let dir = tempfile::tempdir().unwrap();
            create(dir.path());
            let store = open(dir.path());
            for n in 1..entries {
                store.append(vec![entry(n)], None).unwrap();
            }
            let mut last = sealed(9, &one);
            last.payload = text.as_bytes().to_vec();
            store.append(vec![last], None).unwrap();
            drop(store);
            frames(dir.path()).last().unwrap().header().seal_nonce
        })
        .collect();
    assert!(nonces[0] != nonces[1] && nonces[0] != nonces[2] && nonces[1] != nonces[2]);
}

#[test]
fn a_payload_that_is_too_long_sealed_leaves_nothing_of_its_append() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let (store, _) = FileStore::open_writer(dir.path(), &options()).unwrap();
    let most = PAYLOAD_BYTES_MAX - SEAL_BYTES;
    let mut long = sealed(2, &key(1));
    long.payload = vec![b'x'; most + 1];
    let refused = store.append(vec![sealed(1, &key(1)), long], None);
    assert!(
        matches!(refused, Err(AppendError::TooLarge { max, .. }) if max == most),
        "{refused:?}"
    );
    let mut fits = sealed(3, &key(1));
    fits.payload = vec![b'x'; most];
    store.append(vec![fits], None).unwrap();
    drop(store);
    let frames = frames(dir.path());
    assert_eq!(frames.len(), 1);
    assert_eq!(frames[0].payload().len(), PAYLOAD_BYTES_MAX);
    assert_eq!(open_sealed(&frames[0], &key(1)).unwrap().len(), most);
}
