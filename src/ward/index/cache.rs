//! The only file that calls sled (0.34.7). What was measured about it, and follows here:
//! transactions of at most 1,000 rows with a flush after each (`apply_batch` and unflushed
//! transactions eat memory); a small cache and no flushing thread; any error while reading
//! means that the index is thrown away. Nothing here is called outside `guard`.

use std::io;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use sled::transaction::{ConflictableTransactionError, TransactionError, TransactionalTree};

use super::rows::{self, Row, WATERMARK, Watermark};
use crate::journal::Head;

/// Rows in one transaction.
const ROWS_MAX: usize = 1_000;
/// Bytes in one transaction, unless one row alone has more.
const BYTES_MAX: usize = 8 << 20;
/// How long to wait for the lock: less than it takes to fold a large journal instead.
const LOCK_PATIENCE: Duration = Duration::from_millis(300);
/// How often to try.
const LOCK_STEP: Duration = Duration::from_millis(5);
/// sled's own cache.
const CACHE_BYTES: u64 = 64 << 20;

/// Why the index cannot be used or written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Trouble {
    /// Its bytes are no good.
    Damaged(String),
    /// It is another journal's.
    Foreign,
    /// It stands at an entry this journal does not have.
    NotOfThisHistory(Head),
    /// It stands beyond the newest entry of this journal.
    Ahead(Head),
    /// The files it was drawn from were touched since.
    FilesTouched(Head),
    /// Another process has it.
    InUse,
    /// It took too long.
    TooSlow,
    /// It may not be written.
    NotKept(String),
}

impl Trouble {
    pub(super) fn damaged(what: &str) -> Trouble {
        Trouble::Damaged(what.to_owned())
    }
}

impl From<io::Error> for Trouble {
    fn from(error: io::Error) -> Trouble {
        Trouble::NotKept(error.to_string())
    }
}

impl From<sled::Error> for Trouble {
    fn from(error: sled::Error) -> Trouble {
        match &error {
            // sled says it in words only: another process, or another handle, has the lock.
            sled::Error::Io(io) if io.to_string().contains("could not acquire lock") => {
                Trouble::InUse
            }
            sled::Error::Io(io) if is_refused(io.kind()) => Trouble::NotKept(io.to_string()),
            _ => Trouble::Damaged(one_line(&error.to_string())),
        }
    }
}

impl From<TransactionError<Trouble>> for Trouble {
    fn from(error: TransactionError<Trouble>) -> Trouble {
        match error {
            TransactionError::Abort(trouble) => trouble,
            TransactionError::Storage(error) => error.into(),
        }
    }
}

/// The system does not let us, which says nothing about the bytes.
fn is_refused(kind: io::ErrorKind) -> bool {
    matches!(
        kind,
        io::ErrorKind::PermissionDenied
            | io::ErrorKind::ReadOnlyFilesystem
            | io::ErrorKind::StorageFull
            | io::ErrorKind::QuotaExceeded
    )
}

fn one_line(text: &str) -> String {
    let line = text.lines().next().unwrap_or_default().chars();
    line.filter(|c| !c.is_control()).take(120).collect()
}

/// What is in the index.
#[derive(Debug)]
pub(super) struct Stored {
    pub mark: Watermark,
    pub rows: Vec<Row>,
}

/// Whether rows were written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Written {
    /// They were, or the index was further on already.
    Done,
    /// The changes follow from another state than the one there.
    NotTheBase,
}

/// Opens the index, waiting a little for whoever has it: other processes keep it open only
/// while they read or write it, and sled lets go of its lock a moment after it was closed.
fn open(path: &Path) -> Result<sled::Db, Trouble> {
    let until = Instant::now() + LOCK_PATIENCE;
    loop {
        let opened = sled::Config::new()
            .path(path)
            .cache_capacity(CACHE_BYTES)
            .flush_every_ms(None)
            .open();
        match opened.map_err(Trouble::from) {
            Err(Trouble::InUse) if Instant::now() < until => thread::sleep(LOCK_STEP),
            settled => return settled,
        }
    }
}

/// Everything in the index.
pub(super) fn read(path: &Path) -> Result<Stored, Trouble> {
    let db = open(path)?;
    let mark = db
        .get(WATERMARK)?
        .ok_or_else(|| Trouble::damaged("it does not say where it stands"))?;
    let mark = Watermark::read(&mark)?;
    let mut rows = Vec::new();
    for item in &*db {
        let (key, value) = item?;
        if key != WATERMARK {
            rows.push((key.to_vec(), value.to_vec()));
        }
    }
    Ok(Stored { mark, rows })
}

/// Writes rows so that the index then stands at `mark`: into the state `since`, or with no
/// `since` in place of whatever is there.
pub(super) fn write(
    path: &Path,
    since: Option<Head>,
    rows: &[Row],
    mark: Watermark,
) -> Result<Written, Trouble> {
    let db = open(path)?;
    let there = match db.get(WATERMARK)? {
        Some(value) => Some(Watermark::read(&value)?),
        None => None,
    };
    match (since, there) {
        (_, Some(there)) if there.is_no_older_than(&mark) => Ok(Written::Done),
        (None, _) => replace(&db, rows, mark),
        (Some(since), Some(there)) if there.is_at(since, &mark) => add(&db, there, rows, mark),
        (Some(_), _) => Ok(Written::NotTheBase),
    }
}

/// Takes the watermark away first: until it is back, there is no index.
fn replace(db: &sled::Db, rows: &[Row], mut mark: Watermark) -> Result<Written, Trouble> {
    db.remove(WATERMARK)?;
    db.clear()?;
    db.flush()?;
    for (_, value) in rows {
        mark.toggle(value);
    }
    mark.patients = count(rows);
    let mut batches = batches(rows);
    let last = batches.pop().unwrap_or_default();
    for batch in batches {
        db.transaction(|tree| put(tree, batch))?;
        db.flush()?;
    }
    finish(db, last, &mark)
}

/// Changed rows and the new watermark, in one transaction if they fit; else the watermark
/// goes first, as above.
fn add(
    db: &sled::Db,
    there: Watermark,
    rows: &[Row],
    mut mark: Watermark,
) -> Result<Written, Trouble> {
    mark.sum = there.sum;
    mark.patients = there.patients;
    for (key, value) in rows {
        match db.get(key)? {
            Some(old) => mark.toggle(&old),
            None if rows::is_patient(key) => mark.patients += 1,
            None => {}
        }
        mark.toggle(value);
    }
    let mut batches = batches(rows);
    let last = batches.pop().unwrap_or_default();
    if !batches.is_empty() {
        db.remove(WATERMARK)?;
        db.flush()?;
    }
    for batch in batches {
        db.transaction(|tree| put(tree, batch))?;
        db.flush()?;
    }
    finish(db, last, &mark)
}

fn finish(db: &sled::Db, last: &[Row], mark: &Watermark) -> Result<Written, Trouble> {
    let (key, value) = mark
        .row()
        .map_err(|why| Trouble::NotKept(why.to_string()))?;
    db.transaction(|tree| {
        put(tree, last)?;
        tree.insert(key.as_slice(), value.as_slice())?;
        Ok(())
    })?;
    db.flush()?;
    Ok(Written::Done)
}

fn put(
    tree: &TransactionalTree,
    rows: &[Row],
) -> Result<(), ConflictableTransactionError<Trouble>> {
    for (key, value) in rows {
        tree.insert(key.as_slice(), value.as_slice())?;
    }
    Ok(())
}

fn count(rows: &[Row]) -> u64 {
    rows.iter().filter(|(key, _)| rows::is_patient(key)).count() as u64
}

/// Rows in groups, each fit for one transaction.
fn batches(rows: &[Row]) -> Vec<&[Row]> {
    let mut batches = Vec::new();
    let mut rest = rows;
    while !rest.is_empty() {
        let mut bytes = 0;
        let fitting = rest.iter().take(ROWS_MAX).take_while(|(key, value)| {
            bytes += key.len() + value.len();
            bytes <= BYTES_MAX
        });
        let (batch, later) = rest.split_at(fitting.count().max(1));
        batches.push(batch);
        rest = later;
    }
    batches
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_transaction_is_bounded_in_rows_and_bytes() {
        let small: Vec<Row> = (0..2_500).map(|_| (vec![0], vec![0])).collect();
        let sizes = |rows: &[Row]| batches(rows).iter().map(|b| b.len()).collect::<Vec<_>>();
        assert_eq!(sizes(&small), [1_000, 1_000, 500]);
        let huge: Vec<Row> = (0..3).map(|_| (vec![0], vec![0; BYTES_MAX])).collect();
        assert_eq!(sizes(&huge), [1, 1, 1]);
        assert!(batches(&[]).is_empty());
    }
}
