//! Somebody puts files among the segments. No key is needed for that, so nothing may come of it:
//! what was recorded stays readable, no number is given twice, and nothing hangs.

use std::os::unix::fs::symlink;
use std::path::Path;

use super::bench_material::*;
use crate::journal::frame::{SEQ_GIVEN_MAX, SEQ_MAX};
use crate::journal::verify::{Level, Verdict, VerifyOptions, Wrong, verify};
use crate::journal::{
    DamageFinding, FileReader, FileStore, Layout, OpenError, ReadJournal, RecoveryReport,
    SegmentHeader, Store,
};
use crate::record::ids::{EntryHash, Seq};

/// A segment without entries that says it begins with `first` and continues `prev`.
fn put_empty(dir: &Path, first: u64, prev: EntryHash) {
    let header = SegmentHeader {
        journal: JOURNAL,
        first: Seq(first),
        prev,
    };
    std::fs::write(Layout::new(dir).segment(Seq(first)), header.encode()).unwrap();
}

fn report(dir: &Path) -> RecoveryReport {
    match FileStore::open_writer(dir, &options()) {
        Err(OpenError::Damaged { report }) => *report,
        Err(other) => panic!("{other}"),
        Ok(_) => panic!("the journal was opened for writing"),
    }
}

/// Every entry of [`journal`] is read, in order and each by its number.
fn all_four_are_read(dir: &Path) {
    let reader = FileReader::open(dir).unwrap();
    assert_eq!(reader.head().seq, Seq(4));
    assert_eq!(
        payloads(&reader),
        ["entry 1", "entry 2", "entry 3", "entry 4"]
    );
    for n in 1..=4 {
        assert_eq!(reader.read(Seq(n)).unwrap().seq(), Seq(n));
        assert_eq!(reader.find(entry(n).id).unwrap(), Some(Seq(n)));
    }
}

#[test]
fn an_empty_segment_after_a_gap_stops_writing_and_hides_nothing() {
    for first in [6, 1_000, 5_000_000, SEQ_GIVEN_MAX - 1] {
        let dir = journal();
        let head = FileReader::open(dir.path()).unwrap().head();
        for prev in [head.hash, EntryHash([3; 32])] {
            put_empty(dir.path(), first, prev);
            all_four_are_read(dir.path());
            let found = report(dir.path()).damaged;
            assert!(
                matches!(found[..], [DamageFinding::Gap { .. }]),
                "{found:?}"
            );
            let text = found[0].to_string();
            assert!(
                text.contains("end with #4") && text.contains("#5"),
                "{text}"
            );
            let found = verify(dir.path(), VerifyOptions::default()).unwrap();
            assert_eq!(found.verdict(), Verdict::NotAsWritten);
            assert_eq!((found.entries, found.head), (4, head));
            assert_eq!(found.findings[0].seq, Some(Seq(5)), "{:?}", found.findings);
        }
        std::fs::remove_file(Layout::new(dir.path()).segment(Seq(first))).unwrap();
        let next = open(dir.path()).append(vec![entry(5)], None).unwrap();
        assert_eq!(next[0].seq, Seq(5), "put aside, it leaves no trace");
    }
}

#[test]
fn an_empty_segment_that_begins_too_early_stops_writing_and_hides_nothing() {
    let dir = journal();
    let head = FileReader::open(dir.path()).unwrap().head();
    for first in 2..=4 {
        put_empty(dir.path(), first, head.hash);
        all_four_are_read(dir.path());
        let found = report(dir.path()).damaged;
        assert!(
            found.iter().any(|f| matches!(f, DamageFinding::Gap { .. })),
            "{found:?}"
        );
        let found = verify(dir.path(), VerifyOptions::default()).unwrap();
        let overlap = |wrong: &Wrong| matches!(wrong, Wrong::SegmentOverlaps { .. });
        assert!(found.findings.iter().any(|f| overlap(&f.what)), "{found:?}");
        std::fs::remove_file(Layout::new(dir.path()).segment(Seq(first))).unwrap();
    }
    // Next in number, but continuing something else.
    put_empty(dir.path(), 5, EntryHash([3; 32]));
    all_four_are_read(dir.path());
    assert!(matches!(
        report(dir.path()).damaged[..],
        [DamageFinding::Gap { .. }]
    ));
}

/// A copy of entries under a name of its own, in the middle: reading by number begins there.
#[test]
fn a_segment_of_copied_entries_hides_nothing() {
    let dir = journal();
    let layout = Layout::new(dir.path());
    let all = std::fs::read(layout.segment(Seq(1))).unwrap();
    let second = FileReader::open(dir.path()).unwrap().read(Seq(2)).unwrap();
    let header = SegmentHeader {
        journal: JOURNAL,
        first: Seq(2),
        prev: second.header().prev,
    };
    let forged = [header.encode(), second.bytes().to_vec()].concat();
    std::fs::write(layout.segment(Seq(2)), forged).unwrap();
    all_four_are_read(dir.path());
    report(dir.path());
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!(found.verdict(), Verdict::NotAsWritten);
    assert_eq!(found.entries, 4, "a copy is not one more intact entry");
    assert_eq!(std::fs::read(layout.segment(Seq(1))).unwrap(), all);
}

#[test]
fn after_a_keeper_accepts_a_gap_entries_are_readable_and_no_number_is_given_twice() {
    for (first, next) in [(5_000_000, 5_000_001), (2, 5)] {
        let dir = journal();
        put_empty(dir.path(), first, EntryHash([3; 32]));
        let report = report(dir.path());
        FileStore::accept_damage(dir.path(), report.digest).unwrap();
        for round in 0..3 {
            let store = open(dir.path());
            let appended = store.append(vec![entry(10 + round)], None).unwrap();
            assert_eq!(appended[0].seq, Seq(next + round), "after {first}");
        }
        let reader = FileReader::open(dir.path()).unwrap();
        for round in 0..3 {
            let read = reader.read(Seq(next + round)).unwrap();
            assert_eq!(read.payload(), entry(10 + round).payload);
        }
        let fourth = reader.read(Seq(4)).unwrap();
        let fifth = reader.read(Seq(next)).unwrap();
        assert_eq!(fifth.header().prev, fourth.hash(), "after {first}");
        assert_eq!(reader.read_from(Seq(1)).filter(Result::is_ok).count(), 7);
        let found = verify(dir.path(), VerifyOptions::default()).unwrap();
        assert_eq!(found.verdict(), Verdict::NotAsWritten, "the finding stays");
        assert_eq!(found.entries, 7);
    }
}

#[test]
fn numbers_near_the_end_are_refused_in_words_and_cannot_be_accepted() {
    for first in [SEQ_GIVEN_MAX + 1, SEQ_MAX - 1, SEQ_MAX] {
        let dir = journal();
        put_empty(dir.path(), first, EntryHash([3; 32]));
        all_four_are_read(dir.path());
        let Err(error) = FileStore::open_writer(dir.path(), &options()) else {
            panic!("{first} was opened for writing");
        };
        assert!(matches!(error, OpenError::NumbersUsedUp { .. }), "{error}");
        assert!(error.to_string().contains("take that file out"), "{error}");
        let found = verify(dir.path(), VerifyOptions::default()).unwrap();
        assert_eq!(found.verdict(), Verdict::NotAsWritten);
    }
    // Beyond what an entry can have it is no segment at all.
    let dir = journal();
    put_empty(dir.path(), u64::MAX, EntryHash([3; 32]));
    all_four_are_read(dir.path());
    open(dir.path());
    // `verify` says that it is there: entries in it would be read by nobody.
    for name in [
        "99999999999999999999.hfs",
        "17.hfs",
        "00000000000000000001.HFS",
    ] {
        let dir = journal();
        open(dir.path());
        let check = || verify(dir.path(), VerifyOptions::default()).unwrap();
        assert_eq!(check().verdict(), Verdict::Whole);
        let segments = Layout::new(dir.path()).segments_dir();
        std::fs::write(segments.join(name), b"x").unwrap();
        assert_eq!(check().verdict(), Verdict::NotAsWritten, "{name}");
        std::fs::rename(segments.join(name), segments.join("readme.txt")).unwrap();
        assert_eq!(check().verdict(), Verdict::Whole, "a note");
    }
}

/// An intact frame, its hash and signature right, with a number from nowhere.
#[test]
fn a_made_up_frame_with_a_huge_number_is_cut_and_takes_no_number() {
    for seq in [SEQ_MAX, SEQ_MAX - 1, 1 << 40] {
        let dir = journal();
        let path = Layout::new(dir.path()).segment(Seq(1));
        let mut header = *FileReader::open(dir.path())
            .unwrap()
            .read(Seq(4))
            .unwrap()
            .header();
        (header.seq, header.synced_through) = (Seq(seq), Seq(seq - 1));
        let mut bytes = std::fs::read(&path).unwrap();
        let payload = vec![1; header.payload_bytes as usize];
        let by = entry(4).signer;
        crate::journal::frame::encode(&header, &payload, &*by, &mut bytes);
        std::fs::write(&path, bytes).unwrap();
        all_four_are_read(dir.path());
        let (store, report) = FileStore::open_writer(dir.path(), &options()).unwrap();
        assert!(report.cut.is_some(), "{seq}");
        assert_eq!(store.append(vec![entry(5)], None).unwrap()[0].seq, Seq(5));
    }
}

#[test]
fn what_is_no_file_is_named_stops_writing_and_neither_stops_nor_hangs_reading() {
    type Put = fn(&Path);
    let puts: [Put; 4] = [
        |path| std::fs::create_dir(path).unwrap(),
        |path| symlink("/etc/hostname", path).unwrap(),
        |path| {
            let mode = rustix::fs::Mode::RUSR;
            rustix::fs::mknodat(rustix::fs::CWD, path, rustix::fs::FileType::Fifo, mode, 0)
                .unwrap();
        },
        |path| drop(std::os::unix::net::UnixListener::bind(path).unwrap()),
    ];
    for put in puts {
        for first in [2, 5, 900] {
            let dir = journal();
            put(&Layout::new(dir.path()).segment(Seq(first)));
            all_four_are_read(dir.path());
            let report = report(dir.path());
            let named = |f: &DamageFinding| matches!(f, DamageFinding::NotAFile { .. });
            assert!(report.damaged.iter().any(named), "{report:?}");
            let found = verify(dir.path(), VerifyOptions::default()).unwrap();
            let named = |wrong: &Wrong| matches!(wrong, Wrong::NotAFile { .. });
            assert!(found.findings.iter().any(|f| named(&f.what)), "{found:?}");
            assert_eq!((found.verdict(), found.entries), (Verdict::NotAsWritten, 4));
            // A keeper who accepts it writes on, past whatever may have been there.
            FileStore::accept_damage(dir.path(), report.digest).unwrap();
            for round in 0..2 {
                let next = open(dir.path()).append(vec![entry(10 + round)], None);
                let expected = 5 + round + first.saturating_sub(4);
                assert_eq!(next.unwrap()[0].seq, Seq(expected), "{first}");
            }
        }
    }
}

/// The journal's only segment: its header's bytes are altered, one after the other.
#[test]
fn entries_are_read_whatever_is_wrong_with_the_only_header() {
    let dir = journal();
    let path = Layout::new(dir.path()).segment(Seq(1));
    let sound = std::fs::read(&path).unwrap();
    for at in (0..104).filter(|at| !(8..10).contains(at)) {
        let mut bytes = sound.clone();
        bytes[at] ^= 0x10;
        std::fs::write(&path, &bytes).unwrap();
        all_four_are_read(dir.path());
        let found = verify(dir.path(), VerifyOptions::default()).unwrap();
        assert_eq!(
            (found.verdict(), found.entries),
            (Verdict::NotAsWritten, 4),
            "byte {at}"
        );
        let faults = found.findings.iter().filter(|f| f.level == Level::Fault);
        assert_eq!(faults.count(), 1, "byte {at}: {:?}", found.findings);
        assert!(
            FileStore::open_writer(dir.path(), &options()).is_err(),
            "byte {at}"
        );
        assert_eq!(std::fs::read(&path).unwrap(), bytes);
    }
    std::fs::write(&path, &sound[..50]).unwrap();
    assert!(
        FileReader::open(dir.path()).is_err(),
        "there is nothing to read"
    );
}

#[test]
fn a_newer_segment_among_others_is_named_and_the_rest_is_checked() {
    let dir = journal();
    let head = FileReader::open(dir.path()).unwrap().head();
    put_empty(dir.path(), 5, head.hash);
    let path = Layout::new(dir.path()).segment(Seq(5));
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[8] = 2;
    std::fs::write(&path, bytes).unwrap();
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!((found.verdict(), found.entries), (Verdict::NotAsWritten, 4));
    assert_eq!(
        found.findings[0].segment,
        Some(Seq(5)),
        "{:?}",
        found.findings
    );
    assert!(matches!(
        FileStore::open_writer(dir.path(), &options()),
        Err(OpenError::NewerFormat { .. })
    ));
}

#[test]
fn the_lock_and_the_note_are_not_followed_when_they_are_links() {
    for name in ["lock", "flushed"] {
        let dir = journal();
        let precious = dir.path().join("precious");
        std::fs::write(&precious, "kept").unwrap();
        let path = dir.path().join(name);
        let _ = std::fs::remove_file(&path);
        symlink(&precious, &path).unwrap();
        let opened = FileStore::open_writer(dir.path(), &options());
        if name == "lock" {
            let Err(OpenError::Io { cause, .. }) = opened else {
                panic!("the lock was followed");
            };
            assert!(cause.to_string().contains("a symbolic link"), "{cause}");
        } else {
            opened.unwrap().0.append(vec![entry(5)], None).unwrap();
        }
        assert_eq!(
            std::fs::read_to_string(&precious).unwrap(),
            "kept",
            "{name}"
        );
        let found = verify(dir.path(), VerifyOptions::default()).unwrap();
        let named = |wrong: &Wrong| matches!(wrong, Wrong::NotAFile { name: n, .. } if n == name);
        assert!(found.findings.iter().any(|f| named(&f.what)), "{found:?}");
    }
}
