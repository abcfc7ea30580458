//! Destroyed entries are told from a torn tail: the first stop all writing until a keeper
//! has accepted the report, the second is cut and reported.

use std::path::Path;

use super::bench_material::*;
use crate::journal::verify::{VerifyOptions, verify};
use crate::journal::{
    DamageFinding, FileReader, FileStore, Head, Layout, OpenError, ReadError, ReadJournal,
    RecoveryReport, SEGMENT_HEADER_BYTES, Store, WriteOptions,
};
use crate::record::ids::{EntryHash, Seq};

fn segment(dir: &Path) -> std::path::PathBuf {
    Layout::new(dir).segment(Seq(1))
}

fn change(dir: &Path, how: impl FnOnce(&mut Vec<u8>)) {
    let path = segment(dir);
    let mut bytes = std::fs::read(&path).unwrap();
    how(&mut bytes);
    std::fs::write(path, bytes).unwrap();
}

/// As after a power cut: the closing note was never written.
fn forget_note(dir: &Path) {
    std::fs::remove_file(Layout::new(dir).flushed_note()).unwrap();
}

fn refused(dir: &Path) -> RecoveryReport {
    match FileStore::open_writer(dir, &options()) {
        Err(OpenError::Damaged { report }) => *report,
        Err(other) => panic!("{other}"),
        Ok(_) => panic!("a damaged journal was opened for writing"),
    }
}

fn frame_bytes(n: u64) -> usize {
    crate::journal::HEADER_BYTES + entry(n).payload.len() + crate::journal::TRAILER_BYTES
}

fn start_of(n: u64) -> usize {
    SEGMENT_HEADER_BYTES + (1..n).map(frame_bytes).sum::<usize>()
}

#[test]
fn an_acknowledged_entry_with_a_later_one_behind_it_is_damage_even_without_the_note() {
    let dir = journal();
    forget_note(dir.path());
    change(dir.path(), |bytes| bytes[start_of(2) + 200] ^= 1);
    let before = std::fs::read(segment(dir.path())).unwrap();
    let report = refused(dir.path());
    let [
        DamageFinding::Entries {
            first,
            last,
            recorded_at,
            author,
            ..
        },
    ] = &report.damaged[..]
    else {
        panic!("{report:?}");
    };
    assert_eq!((*first, *last), (Seq(2), Seq(2)));
    assert_eq!(*recorded_at, Some(entry(2).recorded_at));
    assert_eq!(*author, Some(entry(2).signer.public()));
    assert_eq!(
        std::fs::read(segment(dir.path())).unwrap(),
        before,
        "nothing was changed"
    );
    let read = all(&FileReader::open(dir.path()).unwrap());
    assert!(
        matches!(&read[1], Err(ReadError::Damaged { seq: Seq(2), .. })),
        "{:?}",
        read[1]
    );
    assert_eq!(read.iter().filter(|item| item.is_ok()).count(), 3);
}

#[test]
fn after_a_keeper_accepts_the_report_writing_goes_on_and_the_damage_stays_known() {
    let dir = journal();
    change(dir.path(), |bytes| bytes[start_of(2) + 200] ^= 1);
    let report = refused(dir.path());
    let other = crate::record::ids::Digest([9; 32]);
    FileStore::accept_damage(dir.path(), other).unwrap();
    assert_eq!(
        refused(dir.path()).digest,
        report.digest,
        "another report was accepted"
    );
    FileStore::accept_damage(dir.path(), report.digest).unwrap();
    let (store, _) = FileStore::open_writer(dir.path(), &options()).unwrap();
    assert_eq!(store.append(vec![entry(5)], None).unwrap()[0].seq, Seq(5));
    assert_eq!(
        store.read(Seq(4)).unwrap().head().hash,
        store.read(Seq(5)).unwrap().header().prev
    );
    drop(store);
    let (store, again) = FileStore::open_writer(dir.path(), &options()).unwrap();
    assert_eq!((again.damaged.len(), again.cut), (0, None));
    drop(store);
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!(found.findings.len(), 1, "{:?}", found.findings);
    assert_eq!(found.findings[0].seq, Some(Seq(2)));
}

#[test]
fn a_destroyed_end_is_damage_by_the_note_and_its_numbers_are_never_given_out_again() {
    for cut in [start_of(3), start_of(4) + 10, start_of(4) + 250] {
        let dir = journal();
        change(dir.path(), |bytes| bytes.truncate(cut));
        let report = refused(dir.path());
        FileStore::accept_damage(dir.path(), report.digest).unwrap();
        let (store, _) = FileStore::open_writer(dir.path(), &options()).unwrap();
        assert_eq!(store.append(vec![entry(9)], None).unwrap()[0].seq, Seq(5));
        let read = all(&store);
        assert_eq!(
            read.last().unwrap().as_ref().unwrap().seq(),
            Seq(5),
            "{read:?}"
        );
        assert_eq!(
            read.iter().filter(|item| item.is_err()).count(),
            1,
            "{read:?}"
        );
        drop(store);
        open(dir.path()).append(vec![entry(10)], None).unwrap();
        let found = verify(dir.path(), VerifyOptions::default()).unwrap();
        assert_eq!(found.findings.len(), 1, "{:?}", found.findings);
    }
}

#[test]
fn a_torn_tail_is_cut_kept_aside_and_reported() {
    let dir = journal();
    forget_note(dir.path());
    // Entry 4 was in the last batch; nothing says that it was ever flushed.
    change(dir.path(), |bytes| bytes.truncate(start_of(4) + 100));
    let torn = std::fs::read(segment(dir.path())).unwrap()[start_of(4)..].to_vec();
    let report = FileStore::inspect(dir.path(), None).unwrap();
    let (store, done) = FileStore::open_writer(dir.path(), &options()).unwrap();
    assert_eq!(report, done, "looking first says what opening then does");
    let cut = done.cut.unwrap();
    assert_eq!(
        (cut.segment, cut.offset, cut.bytes),
        (Seq(1), start_of(4) as u64, 100)
    );
    assert_eq!(std::fs::read(cut.aside).unwrap(), torn);
    assert_eq!(store.append(vec![entry(4)], None).unwrap()[0].seq, Seq(4));
    drop(store);
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!(found.findings, []);
}

#[test]
fn a_journal_behind_or_beside_what_is_remembered_elsewhere_is_refused() {
    let dir = journal();
    let head = open(dir.path()).head();
    let next = head.seq.next();
    let beside = EntryHash([1; 32]);
    for remembered in [
        Head {
            seq: next,
            hash: beside,
        },
        Head {
            seq: head.seq,
            hash: beside,
        },
        Head {
            seq: Seq(2),
            hash: beside,
        },
    ] {
        let careful = WriteOptions {
            expected_at_least: Some(remembered),
            ..options()
        };
        let refused = FileStore::open_writer(dir.path(), &careful);
        assert!(
            matches!(refused, Err(OpenError::Damaged { .. })),
            "{remembered:?}"
        );
    }
    let careful = WriteOptions {
        expected_at_least: Some(head),
        ..options()
    };
    FileStore::open_writer(dir.path(), &careful).unwrap();
}

#[test]
fn a_damaged_segment_header_stops_writing_and_not_reading() {
    for at in [0, 9, 12, 20, 35, 60, 90] {
        let dir = journal();
        change(dir.path(), |bytes| bytes[at] ^= 0x10);
        if at != 9 {
            // With one segment, and that unreadable, nothing says which journal this is.
            assert!(FileStore::open_writer(dir.path(), &options()).is_err());
        }
        assert!(FileStore::open_writer(dir.path(), &options()).is_err());
    }
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let small = WriteOptions {
        segment_bytes: 500,
        ..options()
    };
    let (store, _) = FileStore::open_writer(dir.path(), &small).unwrap();
    for n in 1..=4 {
        store.append(vec![entry(n)], None).unwrap();
    }
    drop(store);
    let path = Layout::new(dir.path()).segment(Seq(3));
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[60] ^= 1;
    std::fs::write(path, bytes).unwrap();
    let report = refused(dir.path());
    assert!(
        matches!(report.damaged[..], [DamageFinding::Header { .. }]),
        "{report:?}"
    );
    assert_eq!(payloads(&FileReader::open(dir.path()).unwrap()).len(), 4);
    FileStore::accept_damage(dir.path(), report.digest).unwrap();
    assert_eq!(
        open(dir.path()).append(vec![entry(5)], None).unwrap()[0].seq,
        Seq(5)
    );
}

#[test]
fn what_a_finding_says_names_entry_and_place() {
    let dir = journal();
    change(dir.path(), |bytes| bytes[start_of(2) + 200] ^= 1);
    let report = refused(dir.path());
    let text = report.damaged[0].to_string();
    assert!(
        text.starts_with("entry #2 is damaged: the entry was altered"),
        "{text}"
    );
    let error = OpenError::Damaged {
        report: Box::new(report),
    };
    assert!(
        error
            .to_string()
            .contains("until a keeper accepts the report")
    );
}
