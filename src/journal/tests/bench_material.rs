//! What the other tests are made of.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use zeroize::Zeroizing;

use crate::journal::disk::simulated::SimulatedDisk;
use crate::journal::{
    FileReader, FileStore, Frame, Layout, NewEntry, OpenError, ReadError, ReadJournal,
    RecoveryReport, Signer, SigningSeed, WriteOptions,
};
use crate::record::ids::{EntryId, JournalId, Pseudonym, Seq};
use crate::record::time::Timestamp;

pub const JOURNAL: JournalId = JournalId([7; 16]);

pub fn signer(number: u8) -> Arc<dyn Signer> {
    Arc::new(SigningSeed::from_bytes(&Zeroizing::new([number; 32])))
}

/// Entry number `n` of the tests: its id, time and payload follow from the number.
pub fn entry(n: u64) -> NewEntry {
    let mut id = [0xee; 16];
    id[..8].copy_from_slice(&n.to_be_bytes());
    NewEntry {
        id: EntryId(id),
        recorded_at: Timestamp(Timestamp::EARLIEST.0 + n.cast_signed() * 1_000_000),
        kind: 1,
        kind_version: 1,
        patient: Pseudonym([u8::try_from(n % 5).unwrap(); 16]),
        encoding: 1,
        payload: format!("entry {n}").into_bytes(),
        signer: signer(u8::try_from(n % 3).unwrap() + 1),
        seal: None,
    }
}

pub fn entries(numbers: std::ops::RangeInclusive<u64>) -> Vec<NewEntry> {
    numbers.map(entry).collect()
}

pub fn options() -> WriteOptions {
    WriteOptions {
        wait: Duration::ZERO,
        ..WriteOptions::new("a test", Timestamp::EARLIEST)
    }
}

pub fn create(dir: &Path) {
    FileStore::create(dir, JOURNAL).unwrap();
}

pub fn open(dir: &Path) -> FileStore {
    FileStore::open_writer(dir, &options()).unwrap().0
}

pub fn layout() -> Layout {
    Layout::new("/j")
}

pub fn simulated_open(
    disk: &SimulatedDisk,
    options: &WriteOptions,
) -> Result<(FileStore, RecoveryReport), OpenError> {
    FileStore::open_writer_on(Arc::new(disk.clone()), layout(), options)
}

pub fn simulated_reader(disk: &SimulatedDisk) -> FileReader {
    FileReader::open_on(Arc::new(disk.clone()), layout()).unwrap()
}

pub fn all(journal: &dyn ReadJournal) -> Vec<Result<Frame, ReadError>> {
    journal.read_from(Seq(1)).collect()
}

pub fn payloads(journal: &dyn ReadJournal) -> Vec<String> {
    all(journal)
        .into_iter()
        .map(|frame| String::from_utf8(frame.unwrap().payload().to_vec()).unwrap())
        .collect()
}

/// Entries 1..=4 in one segment, cleanly closed.
pub(super) fn journal() -> tempfile::TempDir {
    use crate::journal::Store as _;

    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let store = open(dir.path());
    for n in 1..=4 {
        store.append(vec![entry(n)], None).unwrap();
    }
    dir
}
