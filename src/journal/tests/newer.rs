//! A segment that says it is in a newer format, truly or by a flipped byte. What can be read is
//! read, what is missing is named, and nothing is written.

use std::path::Path;

use super::bench_material::*;
use crate::journal::chain::Head;
use crate::journal::disk::RealDisk;
use crate::journal::flushed_note;
use crate::journal::verify::{Verdict, VerifyOptions, verify};
use crate::journal::{
    FileReader, FileStore, Layout, OpenError, ReadError, ReadJournal, Refreshed, SegmentHeader,
    Store,
};
use crate::record::ids::{EntryHash, Seq};

/// Entries 1 to 4 in one segment and 5 to 6 in the next.
fn journal() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    for n in 1..=4 {
        open(dir.path()).append(vec![entry(n)], None).unwrap();
    }
    let head = FileReader::open(dir.path()).unwrap().head();
    let header = SegmentHeader {
        journal: JOURNAL,
        first: Seq(5),
        prev: head.hash,
    };
    std::fs::write(segment(dir.path(), 5), header.encode()).unwrap();
    for n in 5..=6 {
        open(dir.path()).append(vec![entry(n)], None).unwrap();
    }
    assert_eq!(read(dir.path()), ["1", "2", "3", "4", "5", "6"]);
    dir
}

fn segment(dir: &Path, first: u64) -> std::path::PathBuf {
    Layout::new(dir).segment(Seq(first))
}

fn alter(dir: &Path, first: u64, change: impl FnOnce(&mut Vec<u8>)) {
    let path = segment(dir, first);
    let mut bytes = std::fs::read(&path).unwrap();
    change(&mut bytes);
    std::fs::write(path, bytes).unwrap();
}

/// Frames as a newer program may write them: nothing this one can read.
fn newer(bytes: &mut [u8]) {
    bytes[8] = 2;
    bytes[104..].iter_mut().for_each(|byte| *byte ^= 0x55);
}

/// Every entry by its number, and what is said in place of the others.
fn read(dir: &Path) -> Vec<String> {
    let reader = FileReader::open(dir).unwrap();
    let told = |item: Result<crate::journal::Frame, ReadError>| match item {
        Ok(frame) => {
            let seq = frame.seq();
            assert_eq!(reader.read(seq).unwrap().hash(), frame.hash());
            seq.0.to_string()
        }
        Err(error) => error.in_short(),
    };
    reader.read_from(Seq(1)).map(told).collect()
}

/// Refused for the format, twice, and not a byte is changed.
fn writing_is_refused(dir: &Path) {
    let before = [1, 5].map(|first| std::fs::read(segment(dir, first)).ok());
    for _ in 0..2 {
        match FileStore::open_writer(dir, &options()) {
            Err(error @ OpenError::NewerFormat { .. }) => {
                assert!(error.to_string().contains("use a newer handfast"));
            }
            Err(error) => panic!("{error}"),
            Ok(_) => panic!("opened for writing"),
        }
    }
    let after = [1, 5].map(|first| std::fs::read(segment(dir, first)).ok());
    assert_eq!(before, after);
}

#[test]
fn a_last_segment_in_a_newer_format_hides_nothing_before_it_and_is_named() {
    let dir = journal();
    alter(dir.path(), 5, |bytes| newer(bytes));
    // The note of the last clean close still says that there were six.
    let said = "entries #5 to #6 are missing, and any after #6 (newer format)";
    assert_eq!(read(dir.path()), ["1", "2", "3", "4", said]);
    let reader = FileReader::open(dir.path()).unwrap();
    for wanted in [5, 6, 7, 900] {
        let error = reader.read(Seq(wanted)).unwrap_err();
        let ReadError::NewerFormat { segment, found, .. } = error else {
            panic!("{error}");
        };
        assert_eq!((segment, found), (Seq(5), 2));
    }
    writing_is_refused(dir.path());
    // Without the note nobody can say how many there were.
    std::fs::remove_file(Layout::new(dir.path()).flushed_note()).unwrap();
    let said = "any entries after #4 are missing (newer format)";
    assert_eq!(read(dir.path()), ["1", "2", "3", "4", said]);
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!((found.verdict(), found.entries), (Verdict::NotAsWritten, 4));
    // A name further on says that there were entries up to it.
    std::fs::rename(segment(dir.path(), 5), segment(dir.path(), 9)).unwrap();
    let said = "entries #5 to #8 are missing, and any after #8 (newer format)";
    assert_eq!(read(dir.path()), ["1", "2", "3", "4", said]);
}

#[test]
fn a_note_that_cannot_be_true_does_not_count_entries() {
    let dir = journal();
    alter(dir.path(), 5, |bytes| newer(bytes));
    let head = Head {
        seq: Seq(u64::MAX),
        hash: EntryHash([1; 32]),
    };
    flushed_note::write(&RealDisk, &Layout::new(dir.path()), JOURNAL, &head);
    let said = "any entries after #4 are missing (newer format)";
    assert_eq!(read(dir.path()), ["1", "2", "3", "4", said]);
}

#[test]
fn a_first_segment_in_a_newer_format_has_its_entries_counted_as_missing() {
    let dir = journal();
    alter(dir.path(), 1, |bytes| newer(bytes));
    let said = "entries #1 to #4 are missing (newer format)";
    assert_eq!(read(dir.path()), [said, "5", "6"]);
    writing_is_refused(dir.path());
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!((found.verdict(), found.entries), (Verdict::NotAsWritten, 2));
}

/// The entries continue one another, so where others follow nothing is missing.
#[test]
fn a_flipped_byte_of_the_version_hides_no_entry() {
    for at in [8, 9] {
        for bit in 1..8 {
            let dir = journal();
            alter(dir.path(), 1, |bytes| bytes[at] ^= 1 << bit);
            assert_eq!(read(dir.path()), ["1", "2", "3", "4", "5", "6"]);
            writing_is_refused(dir.path());

            let dir = journal();
            alter(dir.path(), 5, |bytes| bytes[at] ^= 1 << bit);
            let said = "any entries after #6 are missing (newer format)";
            assert_eq!(read(dir.path()), ["1", "2", "3", "4", "5", "6", said]);
            writing_is_refused(dir.path());
        }
    }
}

#[test]
fn a_flipped_byte_of_the_version_of_the_only_segment_hides_no_entry() {
    let dir = journal();
    std::fs::remove_file(segment(dir.path(), 5)).unwrap();
    std::fs::remove_file(Layout::new(dir.path()).flushed_note()).unwrap();
    alter(dir.path(), 1, |bytes| bytes[8] ^= 0x10);
    let said = "any entries after #4 are missing (newer format)";
    assert_eq!(read(dir.path()), ["1", "2", "3", "4", said]);
    writing_is_refused(dir.path());
    let found = verify(dir.path(), VerifyOptions::default()).unwrap();
    assert_eq!((found.verdict(), found.entries), (Verdict::NotAsWritten, 4));
}

#[test]
fn a_newer_program_that_goes_on_while_the_journal_is_open_is_noticed() {
    let dir = journal();
    let reader = FileReader::open(dir.path()).unwrap();
    let head = reader.head();
    assert_eq!(reader.read_from(Seq(7)).count(), 0);
    std::fs::write(segment(dir.path(), 7), *b"handfast\x02\x00and more").unwrap();
    assert_eq!(
        reader.refresh().unwrap(),
        Refreshed::Grew { from: head },
        "whoever draws must look again"
    );
    let told: Vec<_> = reader.read_from(Seq(7)).collect();
    assert!(
        matches!(told[..], [Err(ReadError::NewerFormat { .. })]),
        "{told:?}"
    );
    assert_eq!(reader.refresh().unwrap(), Refreshed::Unchanged);
}
