//! What the suites are made of.

use std::path::Path;
use std::sync::Arc;

use handfast::journal::{FileStore, NewEntry, OpenError, SigningSeed, WriteOptions};
use handfast::record::ids::{EntryId, Pseudonym, from_hex};
use handfast::record::time::Timestamp;
use zeroize::Zeroizing;

/// RFC 8032 section 7.1, the secret keys of TEST 1 and TEST 2.
pub const SEEDS: [&str; 2] = [
    "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
    "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
];

pub fn signer(which: usize) -> Arc<SigningSeed> {
    let bytes = from_hex(SEEDS[which]).unwrap();
    Arc::new(SigningSeed::from_bytes(&Zeroizing::new(
        bytes.try_into().unwrap(),
    )))
}

pub fn entry(n: u64, bytes: usize) -> NewEntry {
    let mut id = [0; 16];
    id[..8].copy_from_slice(&n.to_be_bytes());
    NewEntry {
        id: EntryId(id),
        recorded_at: Timestamp::EARLIEST,
        kind: 1,
        kind_version: 1,
        patient: Pseudonym::ZERO,
        encoding: 1,
        payload: vec![b'x'; bytes],
        signer: signer(0),
        seal: None,
    }
}

pub fn options() -> WriteOptions {
    WriteOptions::new("a test", Timestamp::EARLIEST)
}

pub fn open(dir: &Path) -> Result<FileStore, OpenError> {
    FileStore::open_writer(dir, &options()).map(|(store, _)| store)
}
