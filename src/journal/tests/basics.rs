//! The ordinary days: append, read, close, open again, share.

use std::sync::Arc;

use super::bench_material::*;
use crate::journal::{
    AppendError, FileReader, FileStore, Head, OpenError, PAYLOAD_BYTES_MAX, ReadJournal, Refreshed,
    Store, WriteOptions,
};
use crate::record::ids::Seq;

#[test]
fn what_was_appended_is_read_back_in_order_and_signed() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let store = open(dir.path());
    let appended = store.append(entries(1..=3), None).unwrap();
    assert_eq!(appended[2].seq, Seq(3));
    let frames: Vec<_> = all(&store).into_iter().map(Result::unwrap).collect();
    let mut head = Head::empty(JOURNAL);
    for (frame, answer) in frames.iter().zip(&appended) {
        assert!(frame.follows(&head) && frame.signature_holds());
        head = frame.head();
        assert_eq!((answer.seq, answer.hash), (head.seq, head.hash));
    }
    assert_eq!(store.head(), head);
    assert_eq!(payloads(&store), ["entry 1", "entry 2", "entry 3"]);
    assert_eq!(frames[0].header().following, 2);
}

#[test]
fn a_journal_outlives_its_writer_and_a_clean_close_leaves_nothing_in_doubt() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    for n in 1..=5 {
        let (store, report) = FileStore::open_writer(dir.path(), &options()).unwrap();
        assert_eq!(
            (report.reflushed, &report.cut),
            (0, &None),
            "before entry {n}"
        );
        store.append(vec![entry(n)], None).unwrap();
    }
    let reader = FileReader::open(dir.path()).unwrap();
    assert_eq!(reader.head().seq, Seq(5));
    assert_eq!(payloads(&reader).len(), 5);
    assert!(FileReader::open(&dir.path().join("nowhere")).is_err());
}

#[test]
fn the_same_id_twice_is_one_entry_in_one_append_across_appends_and_after_reopening() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let store = open(dir.path());
    let twice = store.append(vec![entry(1), entry(1)], None).unwrap();
    assert_eq!(twice[1].seq, Seq(1));
    assert!(twice[1].duplicate && !twice[0].duplicate);
    store.append(vec![entry(2)], None).unwrap();
    let mut later = entry(1);
    later.recorded_at = entry(9).recorded_at;
    // A retry after others have written is no conflict: it writes nothing.
    let stale = Some(Head::empty(JOURNAL));
    let again = store.append(vec![later], stale).unwrap();
    assert_eq!((again[0].seq, again[0].duplicate), (Seq(1), true));
    assert_eq!(again[0].recorded_at, entry(1).recorded_at);
    drop(store);
    let store = open(dir.path());
    assert!(store.append(vec![entry(2)], None).unwrap()[0].duplicate);
    assert_eq!(store.find(entry(2).id).unwrap(), Some(Seq(2)));
    assert_eq!(store.find(entry(3).id).unwrap(), None);
    assert_eq!(store.head().seq, Seq(2));
    let mut other = entry(1);
    other.signer = signer(9);
    assert_eq!(
        store.append(vec![other], None),
        Err(AppendError::IdTaken {
            id: entry(1).id,
            seq: Seq(1)
        })
    );
}

#[test]
fn whoever_expects_an_older_head_is_told_and_nothing_is_written() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let store = open(dir.path());
    let empty = store.head();
    store.append(vec![entry(1)], Some(empty)).unwrap();
    let conflict = store.append(vec![entry(2)], Some(empty)).unwrap_err();
    let found = store.head();
    assert_eq!(
        conflict,
        AppendError::Conflict {
            expected: empty,
            found
        }
    );
    assert_eq!(store.head().seq, Seq(1));
}

#[test]
fn one_oversized_entry_refuses_the_whole_append() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let store = open(dir.path());
    let mut large = entry(2);
    large.payload = vec![0; PAYLOAD_BYTES_MAX + 1];
    let refused = store.append(vec![entry(1), large.clone()], None);
    assert!(matches!(refused, Err(AppendError::TooLarge { id, .. }) if id == large.id));
    assert_eq!(store.head().seq, Seq::NONE);
    large.payload.pop();
    store.append(vec![large], None).unwrap();
    assert_eq!(
        store.read(Seq(1)).unwrap().payload().len(),
        PAYLOAD_BYTES_MAX
    );
}

#[test]
fn segments_roll_and_any_entry_is_found_in_them() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let small = WriteOptions {
        segment_bytes: 20_000,
        ..options()
    };
    let (store, _) = FileStore::open_writer(dir.path(), &small).unwrap();
    for first in (1..=300).step_by(3) {
        store.append(entries(first..=first + 2), None).unwrap();
    }
    let segments = std::fs::read_dir(dir.path().join("segments"))
        .unwrap()
        .count();
    assert!(segments > 3, "{segments} segments");
    drop(store);
    let files = || std::fs::read_dir(dir.path().join("ids")).unwrap().count();
    assert_eq!(
        files(),
        segments - 1,
        "every finished segment has an ids file"
    );
    let (store, _) = FileStore::open_writer(dir.path(), &small).unwrap();
    let retried = store.append(entries(1..=300), None).unwrap();
    assert!(
        retried
            .iter()
            .zip(1..)
            .all(|(a, n)| a.duplicate && a.seq == Seq(n))
    );
    drop(store);
    // Derived: without it the same is found, and a writer makes it again.
    std::fs::remove_dir_all(dir.path().join("ids")).unwrap();
    let (store, _) = FileStore::open_writer(dir.path(), &small).unwrap();
    assert!(store.append(entries(1..=1), None).unwrap()[0].duplicate);
    assert_eq!(store.find(entry(301).id).unwrap(), None);
    assert_eq!(files(), segments - 1);
    drop(store);
    let reader = FileReader::open(dir.path()).unwrap();
    assert_eq!(payloads(&reader).len(), 300);
    for n in 1..=300 {
        let frame = reader.read(Seq(n)).unwrap();
        assert_eq!(frame.payload(), format!("entry {n}").as_bytes());
        assert_eq!(reader.find(entry(n).id).unwrap(), Some(Seq(n)));
        let after: Vec<_> = reader.read_from(Seq(n)).take(2).collect();
        assert_eq!(after[0].as_ref().unwrap().seq(), Seq(n));
    }
    assert!(reader.read(Seq(301)).is_err());
    assert_eq!(reader.read_from(Seq(301)).count(), 0);
}

#[test]
fn a_reader_sees_what_another_process_appends_once_it_looks() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let reader = FileReader::open(dir.path()).unwrap();
    let before = reader.head();
    assert_eq!(reader.refresh().unwrap(), Refreshed::Unchanged);
    let small = WriteOptions {
        segment_bytes: 2_000,
        ..options()
    };
    for round in 0..5 {
        let (store, _) = FileStore::open_writer(dir.path(), &small).unwrap();
        let first = round * 4 + 1;
        store.append(entries(first..=first + 3), None).unwrap();
        drop(store);
        let seen = reader.head();
        assert_eq!(reader.refresh().unwrap(), Refreshed::Grew { from: seen });
        assert_eq!(payloads(&reader).len() as u64, first + 3);
        assert_eq!(reader.find(entry(first).id).unwrap(), Some(Seq(first)));
    }
    assert_eq!(before.seq, Seq::NONE);
}

#[test]
fn a_second_writer_is_told_who_is_writing() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let ours = WriteOptions {
        who: "RN Osei, shell\u{1b}[31m".into(),
        ..options()
    };
    let store = FileStore::open_writer(dir.path(), &ours).unwrap().0;
    let Err(busy) = FileStore::open_writer(dir.path(), &options()) else {
        panic!("two writers");
    };
    let text = busy.to_string();
    assert!(matches!(busy, OpenError::Busy { .. }));
    assert!(text.contains("RN Osei, shell[31m (process"), "{text}");
    assert!(text.contains("since 2000-01-01T00:00:00.000000Z"), "{text}");
    drop(store);
    open(dir.path());
}

#[test]
fn many_writers_share_the_journal_and_nobody_is_lost() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let store = Arc::new(open(dir.path()));
    std::thread::scope(|scope| {
        for writer in 0..8 {
            let store = &store;
            scope.spawn(move || {
                for n in 0..25 {
                    store
                        .append(vec![entry(1000 * writer + n + 1)], None)
                        .unwrap();
                }
            });
        }
    });
    assert_eq!(store.head().seq, Seq(200));
    let mut found = payloads(&*store);
    found.sort();
    found.dedup();
    assert_eq!(found.len(), 200);
}

#[test]
fn asynchronous_callers_get_the_same() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let store = open(dir.path());
    let runtime = tokio::runtime::Builder::new_current_thread()
        .build()
        .unwrap();
    let appended = runtime.block_on(store.append_async(entries(1..=2), None));
    assert_eq!(appended.unwrap()[1].seq, Seq(2));
    // The blocking call does not panic on a runtime's thread either.
    let appended = runtime.block_on(async { store.append(entries(3..=3), None) });
    assert_eq!(appended.unwrap()[0].seq, Seq(3));
}

#[test]
fn making_a_journal_where_one_is_changes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    open(dir.path()).append(vec![entry(1)], None).unwrap();
    let again = FileStore::create(dir.path(), JOURNAL);
    assert!(matches!(again, Err(OpenError::AlreadyThere { .. })));
    assert_eq!(open(dir.path()).head().seq, Seq(1));
}

#[test]
fn a_newer_format_is_named_and_not_touched() {
    let dir = tempfile::tempdir().unwrap();
    create(dir.path());
    let path = crate::journal::Layout::new(dir.path()).segment(Seq(1));
    let mut bytes = std::fs::read(&path).unwrap();
    bytes[8] = 2;
    std::fs::write(&path, &bytes).unwrap();
    for result in [
        FileStore::open_writer(dir.path(), &options()).map(|_| ()),
        FileReader::open(dir.path()).map(|_| ()),
    ] {
        let error = result.unwrap_err();
        assert!(
            matches!(error, OpenError::NewerFormat { found: 2, .. }),
            "{error}"
        );
    }
    assert_eq!(std::fs::read(&path).unwrap(), bytes);
}
