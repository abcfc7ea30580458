//! Durable append: one writer and 64, beside SQLite storing the same bytes in the same run.
//!
//! `cargo bench --bench append`. Each entry has a 300-byte payload. Ours is hashed, chained and
//! signed (Ed25519) by its author and on stable storage when acknowledged. SQLite: WAL,
//! synchronous=FULL, one transaction an entry (and, for 64 writers, one batching writer
//! thread, which is SQLite's best case); it neither chains nor signs.

use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::time::{Duration, Instant};

use handfast::journal::verify::{VerifyOptions, verify};
use handfast::journal::{FileStore, NewEntry, Signer, SigningSeed, Store, WriteOptions};
use handfast::record::ids::{EntryId, JournalId, Pseudonym};
use handfast::record::time::Timestamp;
use rusqlite::Connection;
use zeroize::Zeroizing;

const PAYLOAD_BYTES: usize = 300;
const ONE_WRITER_ENTRIES: u64 = 3_000;
const MANY_WRITERS: u64 = 64;
const ENTRIES_EACH: u64 = 1_000;

fn main() {
    // `cargo test --benches` runs this too; it measures only when asked to.
    if !std::env::args().any(|arg| arg == "--bench") {
        println!("not measured: run with `cargo bench --bench append`");
        return;
    }
    let dir = tempfile::tempdir_in(".").expect("a folder on the disk that is measured");
    println!("entries of {PAYLOAD_BYTES} B; folder on the current disk");
    one_writer_ours(&dir.path().join("one"));
    one_writer_sqlite(&dir.path().join("one.sqlite"));
    many_writers_ours(&dir.path().join("many"));
    many_writers_async(&dir.path().join("async"));
    many_writers_sqlite(&dir.path().join("many.sqlite"));
    verify_rate(&dir.path().join("many"));
}

fn signer() -> Arc<dyn Signer> {
    Arc::new(SigningSeed::from_bytes(&Zeroizing::new([7; 32])))
}

fn entry(number: u64, signer: &Arc<dyn Signer>) -> NewEntry {
    let mut id = [0; 16];
    id[..8].copy_from_slice(&number.to_le_bytes());
    id[8..].copy_from_slice(&blake3::hash(&number.to_le_bytes()).as_bytes()[..8]);
    NewEntry {
        id: EntryId(id),
        recorded_at: Timestamp(1_792_000_000_000_000 + i64::try_from(number).unwrap_or(0)),
        kind: 21,
        kind_version: 1,
        patient: Pseudonym([1; 16]),
        encoding: 1,
        payload: vec![b'x'; PAYLOAD_BYTES],
        signer: Arc::clone(signer),
        seal: None,
    }
}

fn open(dir: &Path) -> FileStore {
    FileStore::create(dir, JournalId([3; 16])).expect("a new journal");
    let options = WriteOptions::new("bench", Timestamp(1_792_000_000_000_000));
    FileStore::open_writer(dir, &options)
        .expect("the journal")
        .0
}

fn one_writer_ours(dir: &Path) {
    let (store, signer) = (open(dir), signer());
    let mut times = Vec::new();
    for number in 0..ONE_WRITER_ENTRIES {
        let entry = entry(number, &signer);
        let begun = Instant::now();
        store.append(vec![entry], None).expect("appended");
        times.push(begun.elapsed());
    }
    report("handfast, 1 writer", &mut times, None);
}

fn one_writer_sqlite(path: &Path) {
    let db = sqlite(path);
    let payload = vec![b'x'; PAYLOAD_BYTES];
    let mut times = Vec::new();
    for number in 0..ONE_WRITER_ENTRIES {
        let begun = Instant::now();
        db.execute(
            "INSERT INTO entry VALUES (?1, ?2)",
            (number.cast_signed(), &payload),
        )
        .expect("inserted");
        times.push(begun.elapsed());
    }
    report("SQLite WAL FULL, 1 writer", &mut times, None);
}

fn sqlite(path: &Path) -> Connection {
    let db = Connection::open(path).expect("a database");
    db.execute_batch(
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;
         CREATE TABLE entry (seq INTEGER PRIMARY KEY, payload BLOB NOT NULL);",
    )
    .expect("a table");
    db
}

fn many_writers_ours(dir: &Path) {
    let (store, signer) = (Arc::new(open(dir)), signer());
    let begun = Instant::now();
    let writers: Vec<_> = (0..MANY_WRITERS)
        .map(|writer| {
            let (store, signer) = (Arc::clone(&store), Arc::clone(&signer));
            std::thread::spawn(move || {
                let mut times = Vec::new();
                for number in 0..ENTRIES_EACH {
                    let entry = entry(writer * ENTRIES_EACH + number, &signer);
                    let begun = Instant::now();
                    store.append(vec![entry], None).expect("appended");
                    times.push(begun.elapsed());
                }
                times
            })
        })
        .collect();
    let mut times: Vec<Duration> = writers
        .into_iter()
        .flat_map(|writer| writer.join().expect("a writer"))
        .collect();
    report("handfast, 64 threads", &mut times, Some(begun.elapsed()));
}

fn many_writers_async(dir: &Path) {
    let (store, signer) = (Arc::new(open(dir)), signer());
    let runtime = tokio::runtime::Builder::new_current_thread()
        .build()
        .expect("a runtime");
    let begun = Instant::now();
    let mut times: Vec<Duration> = runtime.block_on(async {
        let sessions: Vec<_> = (0..MANY_WRITERS)
            .map(|writer| {
                let (store, signer) = (Arc::clone(&store), Arc::clone(&signer));
                tokio::spawn(async move {
                    let mut times = Vec::new();
                    for number in 0..ENTRIES_EACH {
                        let entry = entry(writer * ENTRIES_EACH + number, &signer);
                        let begun = Instant::now();
                        store
                            .append_async(vec![entry], None)
                            .await
                            .expect("appended");
                        times.push(begun.elapsed());
                    }
                    times
                })
            })
            .collect();
        let mut times = Vec::new();
        for session in sessions {
            times.extend(session.await.expect("a session"));
        }
        times
    });
    report(
        "handfast, 64 sessions on an event loop",
        &mut times,
        Some(begun.elapsed()),
    );
}

type Job = (i64, SyncSender<()>);

/// One writer thread that commits whatever is waiting in one transaction.
fn many_writers_sqlite(path: &Path) {
    let db = sqlite(path);
    let (jobs, waiting): (SyncSender<Job>, Receiver<Job>) = sync_channel(1024);
    let writer = std::thread::spawn(move || batch(&db, &waiting));
    let begun = Instant::now();
    let clients: Vec<_> = (0..MANY_WRITERS)
        .map(|client| {
            let jobs = jobs.clone();
            std::thread::spawn(move || {
                let (done, wait) = sync_channel(1);
                let mut times = Vec::new();
                for number in 0..ENTRIES_EACH {
                    let seq = (client * ENTRIES_EACH + number).cast_signed();
                    let begun = Instant::now();
                    jobs.send((seq, done.clone())).expect("the writer lives");
                    wait.recv().expect("an answer");
                    times.push(begun.elapsed());
                }
                times
            })
        })
        .collect();
    drop(jobs);
    let mut times: Vec<Duration> = clients
        .into_iter()
        .flat_map(|client| client.join().expect("a client"))
        .collect();
    let elapsed = begun.elapsed();
    writer.join().expect("the writer");
    report(
        "SQLite WAL FULL, 64 threads, one batching writer",
        &mut times,
        Some(elapsed),
    );
}

fn batch(db: &Connection, waiting: &Receiver<Job>) {
    let payload = vec![b'x'; PAYLOAD_BYTES];
    while let Ok(first) = waiting.recv() {
        let mut group = vec![first];
        group.extend(waiting.try_iter().take(511));
        db.execute_batch("BEGIN IMMEDIATE").expect("a transaction");
        {
            let mut insert = db
                .prepare_cached("INSERT INTO entry VALUES (?1, ?2)")
                .expect("a statement");
            for (seq, _) in &group {
                insert.execute((seq, &payload)).expect("inserted");
            }
        }
        db.execute_batch("COMMIT").expect("committed");
        for (_, done) in group {
            let _ = done.send(());
        }
    }
}

fn verify_rate(dir: &Path) {
    let begun = Instant::now();
    let found = verify(dir, VerifyOptions::default()).expect("a journal");
    let seconds = begun.elapsed().as_secs_f64();
    assert!(found.is_sound(), "the bench's own journal is whole");
    #[expect(clippy::cast_precision_loss, reason = "a rate for people")]
    let rate = found.entries as f64 / seconds;
    println!(
        "{:<52} {rate:>10.0} entries/s ({} entries)",
        "verify: hashes, chain and signatures", found.entries
    );
}

fn report(what: &str, times: &mut [Duration], elapsed: Option<Duration>) {
    times.sort_unstable();
    let at = |share: f64| {
        #[expect(
            clippy::cast_precision_loss,
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "an index of a percentile"
        )]
        let index = ((times.len() - 1) as f64 * share) as usize;
        times.get(index).copied().unwrap_or_default().as_secs_f64() * 1e3
    };
    #[expect(clippy::cast_precision_loss, reason = "a rate for people")]
    let rate = elapsed.map(|elapsed| {
        format!(
            "{:>10.0} entries/s",
            times.len() as f64 / elapsed.as_secs_f64()
        )
    });
    println!(
        "{what:<52} p50 {:>7.3} ms  p99 {:>7.3} ms  {}",
        at(0.5),
        at(0.99),
        rate.unwrap_or_default()
    );
}
