//! Readers that live while the folder changes under them.

use std::os::unix::fs::symlink;

use super::bench_material::*;
use crate::journal::disk::simulated::SimulatedDisk;
use crate::journal::{FileReader, FileStore, NewEntry, ReadError, ReadJournal, Refreshed, Store};
use crate::record::ids::Seq;

/// Bytes of the segment after the first ten entries and then one more append.
fn after_ten_and(more: Vec<NewEntry>) -> Vec<u8> {
    let disk = SimulatedDisk::new(1, &[]);
    FileStore::create_on(&disk, &layout(), JOURNAL).unwrap();
    let (store, _) = simulated_open(&disk, &options()).unwrap();
    store.append(entries(1..=10), None).unwrap();
    store.append(more, None).unwrap();
    drop(store);
    disk.bytes(&layout().segment(Seq(1))).unwrap()
}

/// Entries from the eleventh on, whose frames are longer than usual.
fn longer(last: u64, by: usize) -> Vec<NewEntry> {
    let mut group = entries(11..=last);
    for entry in &mut group {
        entry.payload.extend(vec![b'.'; by]);
    }
    group
}

fn reader_at_ten() -> (SimulatedDisk, FileReader) {
    let disk = SimulatedDisk::new(1, &[]);
    FileStore::create_on(&disk, &layout(), JOURNAL).unwrap();
    disk.put(&layout().segment(Seq(1)), &after_ten_and(Vec::new()));
    let reader = simulated_reader(&disk);
    assert_eq!(reader.head().seq, Seq(10));
    (disk, reader)
}

fn each_is_read(reader: &FileReader, last: u64) {
    for n in 1..=last {
        let read = reader.read(Seq(n));
        assert!(read.is_ok(), "{n}: {read:?}");
    }
}

#[test]
fn an_append_that_is_undone_and_made_anew_is_no_damage_to_a_reader_that_saw_its_bytes() {
    let (disk, reader) = reader_at_ten();
    let mut unfinished = after_ten_and(longer(110, 300));
    unfinished.truncate(unfinished.len() - 10);
    disk.put(&layout().segment(Seq(1)), &unfinished);
    assert_eq!(reader.refresh().unwrap(), Refreshed::Unchanged);
    each_is_read(&reader, 10);
    disk.put(&layout().segment(Seq(1)), &after_ten_and(longer(130, 1)));
    let from = reader.head();
    assert_eq!(reader.refresh().unwrap(), Refreshed::Grew { from });
    each_is_read(&reader, 130);
}

#[test]
fn entries_that_were_seen_undone_and_followed_by_others_are_no_damage() {
    let (disk, reader) = reader_at_ten();
    disk.put(&layout().segment(Seq(1)), &after_ten_and(longer(110, 300)));
    reader.refresh().unwrap();
    each_is_read(&reader, 110);
    disk.put(&layout().segment(Seq(1)), &after_ten_and(longer(130, 1)));
    let from = reader.head();
    assert_eq!(reader.refresh().unwrap(), Refreshed::WentBack { from });
    each_is_read(&reader, 130);
}

/// An acceptance of damage names places in words; the same place has to have the same name
/// whatever path the journal was opened by.
#[test]
fn what_cannot_be_read_is_named_by_its_place_in_the_journal() {
    let dir = tempfile::tempdir().unwrap();
    let (journal, other) = (dir.path().join("ward"), dir.path().join("other"));
    create(&journal);
    open(&journal).append(entries(1..=3), None).unwrap();
    symlink(&journal, &other).unwrap();
    let readers = [&journal, &other].map(|path| FileReader::open(path).unwrap());
    let segment = readers[0].layout().segment(Seq(1));
    std::fs::remove_file(&segment).unwrap();
    std::fs::create_dir(&segment).unwrap();
    let name = segment.file_name().unwrap().to_str().unwrap().to_owned();
    named(&readers, &format!("segments/{name}"), |reader| {
        reader.read(Seq(1)).map(|_| ())
    });
    std::fs::remove_dir_all(readers[0].layout().segments_dir()).unwrap();
    named(&readers, "segments", |reader| reader.refresh().map(|_| ()));
}

fn named(
    readers: &[FileReader],
    expected: &str,
    ask: impl Fn(&FileReader) -> Result<(), ReadError>,
) {
    let errors: Vec<ReadError> = readers.iter().map(|r| ask(r).unwrap_err()).collect();
    for error in &errors {
        let ReadError::Unreadable { path, .. } = error else {
            panic!("{error}")
        };
        assert_eq!(path, expected);
    }
    assert_eq!(errors[0], errors[1]);
}
