//! What a reader is told of the files it reads: no less than a writer who opens them.

use std::path::Path;

use super::bench_material::*;
use crate::journal::{
    DamageFinding, FileFaults, FileReader, FileStore, Layout, NewEntry, ReadJournal,
    SEGMENT_HEADER_BYTES, SegmentHeader, Store,
};
use crate::record::ids::{EntryHash, JournalId, Seq};

fn faults(dir: &Path) -> FileFaults {
    FileReader::open(dir).unwrap().faults()
}

/// What a page says, beside what reading the entries meets.
fn said(dir: &Path) -> Vec<String> {
    let reader = FileReader::open(dir).unwrap();
    let met: Vec<_> = all(&reader).into_iter().filter_map(Result::err).collect();
    reader.faults().in_words(&met)
}

fn change(dir: &Path, how: impl FnOnce(&mut Vec<u8>)) {
    let path = Layout::new(dir).segment(Seq(1));
    let mut bytes = std::fs::read(&path).unwrap();
    how(&mut bytes);
    std::fs::write(path, bytes).unwrap();
}

fn note(dir: &Path) -> std::path::PathBuf {
    Layout::new(dir).flushed_note()
}

#[test]
fn a_sound_journal_and_one_copied_while_somebody_wrote_say_nothing() {
    let dir = journal();
    assert!(faults(dir.path()).is_empty());
    let behind = std::fs::read(note(dir.path())).unwrap();
    open(dir.path()).append(entries(5..=6), None).unwrap();
    std::fs::write(note(dir.path()), behind).unwrap();
    assert!(faults(dir.path()).is_empty(), "the note is behind");
    std::fs::remove_file(note(dir.path())).unwrap();
    assert!(faults(dir.path()).is_empty(), "there is no note");
    // An append that was never acknowledged is torn off at any byte.
    let whole = std::fs::read(Layout::new(dir.path()).segment(Seq(1))).unwrap();
    let fourth = FileReader::open(dir.path()).unwrap().read(Seq(5)).unwrap();
    let start = whole
        .windows(fourth.bytes().len())
        .position(|at| at == fourth.bytes())
        .unwrap();
    for end in start..whole.len() {
        change(dir.path(), |bytes| {
            bytes.clear();
            bytes.extend_from_slice(&whole[..end]);
        });
        assert!(faults(dir.path()).is_empty(), "cut at {end}");
    }
}

#[test]
fn every_byte_cut_from_an_acknowledged_end_is_said() {
    let dir = journal();
    let whole = std::fs::read(Layout::new(dir.path()).segment(Seq(1))).unwrap();
    for end in SEGMENT_HEADER_BYTES..whole.len() {
        change(dir.path(), |bytes| bytes.truncate(end));
        let reader = FileReader::open(dir.path()).unwrap();
        let first = reader.head().seq.next();
        let lost = reader.faults().lost_end;
        assert_eq!(lost, Some((first, Seq(4))), "cut at {end}");
        change(dir.path(), |bytes| bytes.clone_from(&whole));
    }
    change(dir.path(), |bytes| bytes.truncate(whole.len() - 1));
    let words = "what was on stable storage as entry #4 is missing or damaged";
    assert_eq!(said(dir.path()), [words]);
}

#[test]
fn every_byte_flipped_in_the_newest_entry_or_the_header_is_said() {
    let dir = journal();
    let whole = std::fs::read(Layout::new(dir.path()).segment(Seq(1))).unwrap();
    let last = FileReader::open(dir.path()).unwrap().read(Seq(4)).unwrap();
    let newest = whole.len() - last.bytes().len()..whole.len();
    for at in (0..SEGMENT_HEADER_BYTES).chain(newest) {
        change(dir.path(), |bytes| bytes[at] ^= 1);
        // Of a format that looks newer, reading itself speaks as well.
        assert!(!faults(dir.path()).is_empty(), "byte {at}");
        change(dir.path(), |bytes| bytes[at] ^= 1);
    }
    assert!(said(dir.path()).is_empty());
}

/// A header that was made up whole has a check value that fits.
#[test]
fn a_header_that_belongs_elsewhere_is_said_in_every_segment() {
    let dir = journal();
    let head = FileReader::open(dir.path()).unwrap().head();
    let later = SegmentHeader {
        journal: JOURNAL,
        first: Seq(5),
        prev: head.hash,
    };
    let layout = Layout::new(dir.path());
    std::fs::write(layout.segment(Seq(5)), later.encode()).unwrap();
    open(dir.path()).append(vec![entry(5)], None).unwrap();
    assert!(faults(dir.path()).is_empty());
    let sound = std::fs::read(layout.segment(Seq(1))).unwrap();
    let true_one = SegmentHeader::parse(&sound).unwrap();
    for header in [
        SegmentHeader {
            journal: JournalId([8; 16]),
            ..true_one
        },
        SegmentHeader {
            first: Seq(2),
            ..true_one
        },
        SegmentHeader {
            prev: EntryHash([8; 32]),
            ..true_one
        },
    ] {
        let bytes = header.encode();
        change(dir.path(), |all| all[..bytes.len()].copy_from_slice(&bytes));
        assert!(!said(dir.path()).is_empty(), "{header:?}");
    }
}

#[test]
fn an_empty_or_strange_file_beyond_the_end_is_said() {
    for strange in [false, true] {
        let dir = journal();
        let place = Layout::new(dir.path()).segment(Seq(9));
        match strange {
            true => std::fs::create_dir(&place).unwrap(),
            false => std::fs::write(&place, b"").unwrap(),
        }
        let said = said(dir.path());
        assert!(
            said.iter().any(|what| what.contains("segment 9")),
            "{said:?}"
        );
        assert!(said[0].contains("entries #5 to #"), "{said:?}");
    }
}

#[test]
fn a_last_segment_that_is_gone_renamed_or_emptied_is_said() {
    let dir = journal();
    let layout = Layout::new(dir.path());
    let head = FileReader::open(dir.path()).unwrap().head();
    let header = SegmentHeader {
        journal: JOURNAL,
        first: Seq(5),
        prev: head.hash,
    };
    let place = layout.segment(Seq(5));
    std::fs::write(&place, header.encode()).unwrap();
    open(dir.path()).append(entries(5..=6), None).unwrap();
    let bytes = std::fs::read(&place).unwrap();
    let lost = Some((Seq(5), Seq(6)));
    std::fs::write(&place, b"").unwrap();
    assert_eq!(faults(dir.path()).lost_end, lost, "emptied");
    std::fs::remove_file(&place).unwrap();
    assert_eq!(faults(dir.path()).lost_end, lost, "gone");
    std::fs::write(place.with_extension("old"), &bytes).unwrap();
    assert_eq!(faults(dir.path()).lost_end, lost, "called otherwise");
    std::fs::write(layout.segment(Seq(8)), &bytes).unwrap();
    assert!(!said(dir.path()).is_empty(), "under another number");
}

#[test]
fn a_newest_entry_that_was_replaced_is_said() {
    let (dir, other) = (journal(), tempfile::tempdir().unwrap());
    create(other.path());
    let store = open(other.path());
    store.append(entries(1..=3), None).unwrap();
    let forged = NewEntry {
        signer: signer(9),
        ..entry(4)
    };
    drop(store);
    let store: FileStore = open(other.path());
    store.append(vec![forged], None).unwrap();
    drop(store);
    std::fs::copy(note(dir.path()), note(other.path())).unwrap();
    let found = faults(other.path());
    let replaced =
        |one: &DamageFinding| matches!(one, DamageFinding::Replaced { seq, .. } if *seq == Seq(4));
    assert!(found.findings.iter().any(replaced), "{found:?}");
}

/// Reading goes on beside a writer: what it is in the middle of is no loss.
#[test]
fn a_writer_at_work_is_never_taken_for_loss() {
    let dir = journal();
    let reader = FileReader::open(dir.path()).unwrap();
    std::thread::scope(|scope| {
        let writing = scope.spawn(|| {
            for n in 5..=120 {
                open(dir.path()).append(vec![entry(n)], None).unwrap();
            }
        });
        while !writing.is_finished() {
            assert_eq!(reader.faults(), FileFaults::default());
            assert_eq!(faults(dir.path()), FileFaults::default());
        }
    });
}
