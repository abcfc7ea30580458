//! Bytes made to do harm: nothing panics, nothing is allocated by a length they claim, and
//! whoever opens the folder gets an answer.

use std::sync::Arc;

use proptest::prelude::*;

use super::bench_material::*;
use crate::journal::disk::simulated::SimulatedDisk;
use crate::journal::verify::{VerifyOptions, verify_on};
use crate::journal::{FileReader, Frame, Header, ReadJournal, SegmentHeader, Store, chain, frame};
use crate::record::ids::{EntryHash, EntryId, PersonKey, Pseudonym, Seq};
use crate::record::time::Timestamp;

/// Looks at a disk in every way there is.
fn look_everywhere(disk: &SimulatedDisk) {
    let _ = verify_on(disk, &layout(), VerifyOptions::default());
    if let Ok(reader) = FileReader::open_on(Arc::new(disk.clone()), layout()) {
        let items = reader.read_from(Seq(1)).take(200).count();
        assert!(items <= 200);
        let _ = reader.read(Seq(2));
        let _ = reader.read(Seq(u64::MAX));
        let _ = reader.read_from(Seq(u64::MAX)).count();
        let _ = reader.find(EntryId([0; 16]));
        let _ = reader.refresh();
    }
    if let Ok((store, _)) = simulated_open(disk, &options()) {
        let _ = store.append(vec![entry(77)], None);
    }
}

/// A frame whose hash and signature hold, with whatever the header says.
fn forged(header: Header, payload: &[u8]) -> Vec<u8> {
    let by = signer(1);
    let header = Header {
        author: by.public(),
        payload_bytes: u32::try_from(payload.len()).unwrap(),
        ..header
    };
    let mut out = Vec::new();
    frame::encode(&header, payload, &*by, &mut out);
    out
}

fn any_header() -> impl Strategy<Value = Header> {
    let number = || prop_oneof![0_u64..6, Just(u64::MAX), Just(1 << 62), any::<u64>()];
    (
        number(),
        number(),
        any::<i64>(),
        any::<u16>(),
        any::<u8>(),
        any::<bool>(),
    )
        .prop_map(|(seq, synced, at, following, sealing, linked)| Header {
            payload_bytes: 0,
            kind: 1,
            kind_version: 1,
            encoding: 1,
            seq: Seq(seq),
            synced_through: Seq(synced),
            recorded_at: Timestamp(at),
            following,
            sealing,
            reserved: [0; 5],
            id: EntryId([sealing; 16]),
            prev: if linked {
                chain::genesis(JOURNAL)
            } else {
                EntryHash([1; 32])
            },
            author: PersonKey::ZERO,
            patient: Pseudonym::ZERO,
            seal_key: crate::record::ids::SealKeyId::ZERO,
            seal_nonce: [0; 24],
        })
}

fn disk_with(first: u64, frames: &[u8]) -> SimulatedDisk {
    let disk = SimulatedDisk::new(1, &[]);
    crate::journal::FileStore::create_on(&disk, &layout(), JOURNAL).unwrap();
    let header = SegmentHeader {
        journal: JOURNAL,
        first: Seq(first),
        prev: chain::genesis(JOURNAL),
    };
    let bytes = [header.encode(), frames.to_vec()].concat();
    disk.put(&layout().segment(Seq(first)), &bytes);
    disk
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_bytes_are_refused_in_words(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let _ = Frame::check(&bytes);
        let _ = Header::parse(&bytes);
        let _ = SegmentHeader::parse(&bytes);
        look_everywhere(&disk_with(1, &bytes));
        let disk = disk_with(1, &[]);
        disk.put(&layout().segment(Seq(1)), &bytes);
        look_everywhere(&disk);
        let disk = disk_with(1, &[]);
        disk.put(&layout().flushed_note(), &bytes);
        disk.put(&layout().damage_accepted(), &bytes);
        disk.put(&layout().lock(), &bytes);
        disk.put(&layout().ids_file(Seq(1)), &bytes);
        look_everywhere(&disk);
    }

    #[test]
    fn well_formed_frames_with_any_numbers_are_survived(
        headers in prop::collection::vec(any_header(), 1..5),
        first in prop_oneof![1_u64..4, Just(1 << 62)],
    ) {
        let frames: Vec<u8> = headers.iter().flat_map(|header| forged(*header, b"x")).collect();
        look_everywhere(&disk_with(first, &frames));
    }
}

/// A payload may hold a whole frame, and a damaged header before it must not bring that frame
/// to life as an earlier entry.
#[test]
fn a_frame_inside_a_payload_is_a_payload() {
    let disk = SimulatedDisk::new(1, &[]);
    crate::journal::FileStore::create_on(&disk, &layout(), JOURNAL).unwrap();
    let (store, _) = simulated_open(&disk, &options()).unwrap();
    store.append(vec![entry(1)], None).unwrap();
    let mut nested = entry(2);
    nested.payload = store.read(Seq(1)).unwrap().bytes().to_vec();
    store.append(vec![nested, entry(3)], None).unwrap();
    let second = store.read(Seq(2)).unwrap();
    drop(store);
    assert_eq!(all(&simulated_reader(&disk)).len(), 3);
    let path = layout().segment(Seq(1));
    let mut bytes = disk.bytes(&path).unwrap();
    let at = bytes
        .windows(64)
        .position(|w| *w == second.bytes()[..64])
        .unwrap();
    bytes[at + 5] ^= 1;
    disk.put(&path, &bytes);
    let read = all(&simulated_reader(&disk));
    let seqs: Vec<u64> = read.iter().flatten().map(|frame| frame.seq().0).collect();
    assert_eq!(seqs, [1, 3], "{read:?}");
    let found = verify_on(&disk, &layout(), VerifyOptions::default()).unwrap();
    assert!(
        found
            .findings
            .iter()
            .any(|finding| finding.seq == Some(Seq(2)))
    );
    assert_eq!(found.entries, 2);
}
