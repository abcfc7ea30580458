//! The one thread that writes: it takes whatever requests are waiting, chains and signs
//! their entries, writes them with one call, flushes once, and only then answers.
//!
//! Invariants: `head` and `len` describe the file as last flushed; nobody is told "recorded"
//! before the flush that covers it; after a failed flush nothing is written any more.

mod failure;
mod group;

use std::io;
use std::sync::Arc;
use std::sync::mpsc::{SyncSender, sync_channel};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use tokio::sync::mpsc::error::TrySendError;
use tokio::sync::{mpsc, oneshot};

use crate::journal::chain::Head;
use crate::journal::disk::{Disk, DiskFile, Lock, is_full};
use crate::journal::flushed_note;
use crate::journal::frame::{self, Header, PAYLOAD_BYTES_MAX, SEQ_MAX};
use crate::journal::open::{OpenError, list_segments};
use crate::journal::reader::FileReader;
use crate::journal::recovery::make_segment;
use crate::journal::sealing::{SEAL_BYTES, SEALING_CLEAR, seal};
use crate::journal::segment::{SEGMENT_HEADER_BYTES, SegmentHeader};
use crate::journal::store::{AppendError, Appended, NewEntry, ReadJournal};
use crate::record::ids::{EntryId, SealKeyId, Seq};
use failure::Failure;
use group::{Group, Placed, repeat};

/// Requests that may wait; more wait outside.
const QUEUE: usize = 1024;
/// Most requests under one flush.
const GROUP: usize = 512;
/// Most entries in one append.
pub const APPEND_ENTRIES_MAX: usize = 4096;

type Answer = Result<Vec<Appended>, AppendError>;

/// One caller's append.
struct Request {
    entries: Vec<NewEntry>,
    expect: Option<Head>,
    reply: Reply,
}

enum Reply {
    Blocking(SyncSender<Answer>),
    Waiting(oneshot::Sender<Answer>),
}

impl Reply {
    /// A caller that has gone away gets no answer; the entry stands all the same.
    fn send(self, answer: Answer) {
        match self {
            Reply::Blocking(sender) => drop(sender.send(answer)),
            Reply::Waiting(sender) => drop(sender.send(answer)),
        }
    }
}

/// The callers' end of the writer thread.
pub(super) struct WriterHandle {
    queue: Option<mpsc::Sender<Request>>,
    thread: Option<JoinHandle<()>>,
}

impl WriterHandle {
    pub fn start(writer: Writer) -> Result<WriterHandle, OpenError> {
        let (queue, requests) = mpsc::channel(QUEUE);
        let path = writer.reader.layout().root().to_path_buf();
        let thread = thread::Builder::new()
            .name("journal-writer".into())
            .spawn(move || writer.run(requests))
            .map_err(|cause| OpenError::Io { path, cause })?;
        Ok(WriterHandle {
            queue: Some(queue),
            thread: Some(thread),
        })
    }

    pub fn append(&self, entries: Vec<NewEntry>, expect: Option<Head>) -> Answer {
        let ids = ids_of(&entries);
        let (reply, answer) = sync_channel(1);
        let mut request = Request {
            entries,
            expect,
            reply: Reply::Blocking(reply),
        };
        let queue = self.queue()?;
        // `blocking_send` would panic on a thread of an asynchronous runtime.
        while let Err(error) = queue.try_send(request) {
            match error {
                TrySendError::Full(back) => request = back,
                TrySendError::Closed(_) => return Err(ended()),
            }
            thread::sleep(Duration::from_micros(200));
        }
        answer.recv().unwrap_or_else(|_| Err(not_known(ids)))
    }

    pub async fn append_async(&self, entries: Vec<NewEntry>, expect: Option<Head>) -> Answer {
        let ids = ids_of(&entries);
        let (reply, answer) = oneshot::channel();
        let request = Request {
            entries,
            expect,
            reply: Reply::Waiting(reply),
        };
        let sent = self.queue()?.send(request).await;
        sent.map_err(|_| ended())?;
        answer.await.unwrap_or_else(|_| Err(not_known(ids)))
    }

    fn queue(&self) -> Result<&mpsc::Sender<Request>, AppendError> {
        self.queue.as_ref().ok_or_else(ended)
    }
}

impl Drop for WriterHandle {
    /// Everything that was accepted is written and answered before this returns.
    fn drop(&mut self) {
        self.queue = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn ids_of(entries: &[NewEntry]) -> Vec<EntryId> {
    entries.iter().map(|entry| entry.id).collect()
}

fn ended() -> AppendError {
    AppendError::Closed {
        cause: "the writer has ended".into(),
    }
}

fn not_known(ids: Vec<EntryId>) -> AppendError {
    AppendError::NotKnown {
        ids,
        cause: "the writer ended before it answered".into(),
    }
}

/// The writer's own state; lives on its thread.
pub(super) struct Writer {
    disk: Arc<dyn Disk>,
    reader: Arc<FileReader>,
    file: Box<dyn DiskFile>,
    segment: Seq,
    /// Bytes of the segment up to the last flushed entry.
    len: u64,
    head: Head,
    segment_bytes: u64,
    /// Why nothing may be written any more.
    poisoned: Option<String>,
    /// Held until everything else is gone.
    _lock: Box<dyn Lock>,
}

impl Writer {
    pub fn open(
        disk: Arc<dyn Disk>,
        reader: Arc<FileReader>,
        lock: Box<dyn Lock>,
        segment_bytes: u64,
    ) -> Result<Writer, OpenError> {
        let view = reader.view();
        let segment = view.segments.last().copied().unwrap_or(Seq(1));
        let path = reader.layout().segment(segment);
        let file = disk
            .open(&path, false)
            .map_err(|cause| OpenError::io(&path, cause))?;
        Ok(Writer {
            disk,
            reader,
            file,
            segment,
            len: view.end,
            head: view.head,
            segment_bytes,
            poisoned: None,
            _lock: lock,
        })
    }

    fn run(mut self, mut requests: mpsc::Receiver<Request>) {
        let mut waiting = Vec::with_capacity(GROUP);
        while requests.blocking_recv_many(&mut waiting, GROUP) > 0 {
            self.serve(waiting.drain(..));
        }
        // `head` is the last one a flush confirmed, also after a failed flush; saying so lets
        // the next opening tell what the failure destroyed from what was never acknowledged.
        let (layout, journal) = (self.reader.layout(), self.reader.journal());
        flushed_note::write(&*self.disk, layout, journal, &self.head);
    }

    /// One group: everything that was waiting, under one flush.
    fn serve(&mut self, requests: impl Iterator<Item = Request>) {
        if let Err(error) = self.roll_if_full() {
            return requests.for_each(|request| request.reply.send(Err(error.clone())));
        }
        let mut group = Group::default();
        let mut head = self.head;
        for request in requests {
            let ids = ids_of(&request.entries);
            let answer = self.place(&mut group, &mut head, request.entries, request.expect);
            group.answers.push((request.reply, ids, answer));
        }
        let failure = if group.bytes.is_empty() {
            None
        } else {
            self.store(&group, head).err()
        };
        // Answers that do not rest on the failed flush stay as they are.
        let flushed = self.head.seq;
        for (reply, ids, answer) in group.answers {
            reply.send(match &failure {
                Some(failure) if rests_on_more_than(&answer, flushed) => {
                    Err(failure.for_entries(ids))
                }
                _ => answer,
            });
        }
    }

    /// Adds one request's entries to the group, or says why not.
    fn place(
        &self,
        group: &mut Group,
        head: &mut Head,
        entries: Vec<NewEntry>,
        expect: Option<Head>,
    ) -> Answer {
        if let Some(cause) = &self.poisoned {
            let cause = cause.clone();
            return Err(AppendError::Closed { cause });
        }
        check_entries(&entries)?;
        let known = self.known(group, &entries)?;
        let fresh = known.iter().filter(|place| place.is_none()).count();
        if let Some(expected) = expect
            && fresh > 0
            && expected != *head
        {
            let found = *head;
            return Err(AppendError::Conflict { expected, found });
        }
        if head.seq.0.saturating_add(fresh as u64) > SEQ_MAX {
            return Err(AppendError::NumbersUsedUp);
        }
        let mark = group.mark(*head);
        let mut left = fresh;
        let mut answers = Vec::with_capacity(entries.len());
        for (entry, known) in entries.into_iter().zip(known) {
            answers.push(match known {
                Some(placed) => placed.appended,
                None => match group.placed.get(&entry.id) {
                    // The same id twice in one request.
                    Some(placed) => repeat(*placed).appended,
                    None => {
                        left -= 1;
                        let encoded = self.encode(group, head, &entry, left);
                        encoded.inspect_err(|_| group.undo(&mark, head))?
                    }
                },
            });
        }
        Ok(answers)
    }

    /// For each entry, the place it already has.
    fn known(
        &self,
        group: &Group,
        entries: &[NewEntry],
    ) -> Result<Vec<Option<Placed>>, AppendError> {
        entries
            .iter()
            .map(|entry| {
                let placed = match group.placed.get(&entry.id) {
                    Some(placed) => Some(repeat(*placed)),
                    None => self.in_journal(entry.id)?,
                };
                match placed {
                    Some(placed) if !placed.is_of(entry) => Err(AppendError::IdTaken {
                        id: entry.id,
                        seq: placed.appended.seq,
                    }),
                    placed => Ok(placed),
                }
            })
            .collect()
    }

    fn in_journal(&self, id: EntryId) -> Result<Option<Placed>, AppendError> {
        let Some(seq) = self.reader.find(id).map_err(AppendError::Search)? else {
            return Ok(None);
        };
        let frame = self.reader.read(seq).map_err(AppendError::Search)?;
        let header = frame.header();
        Ok(Some(Placed {
            appended: Appended {
                seq,
                hash: frame.hash(),
                recorded_at: header.recorded_at,
                duplicate: true,
            },
            author: header.author,
            kind: header.kind,
            patient: header.patient,
        }))
    }

    fn encode(
        &self,
        group: &mut Group,
        head: &mut Head,
        entry: &NewEntry,
        left: usize,
    ) -> Result<Appended, AppendError> {
        let header = Header {
            payload_bytes: u32::try_from(entry.payload.len()).unwrap_or(u32::MAX),
            kind: entry.kind,
            kind_version: entry.kind_version,
            encoding: entry.encoding,
            seq: head.seq.next(),
            synced_through: self.head.seq,
            recorded_at: entry.recorded_at,
            following: u16::try_from(left).unwrap_or(u16::MAX),
            sealing: SEALING_CLEAR,
            reserved: [0; 5],
            id: entry.id,
            prev: head.hash,
            author: entry.signer.public(),
            patient: entry.patient,
            seal_key: SealKeyId::ZERO,
            seal_nonce: [0; 24],
        };
        let sealed = match &entry.seal {
            None => None,
            Some(how) => Some(seal(&header, &entry.payload, how).ok_or(too_large(entry))?),
        };
        let (header, payload) = match &sealed {
            Some((header, payload)) => (*header, payload),
            None => (header, &entry.payload),
        };
        let hash = frame::encode(&header, payload, &*entry.signer, &mut group.bytes);
        let appended = Appended {
            seq: header.seq,
            hash,
            recorded_at: header.recorded_at,
            duplicate: false,
        };
        let placed = Placed {
            appended,
            author: header.author,
            kind: header.kind,
            patient: header.patient,
        };
        group.placed.insert(entry.id, placed);
        group.new_ids.push((entry.id, header.seq));
        *head = Head {
            seq: header.seq,
            hash,
        };
        Ok(appended)
    }

    /// Writes and flushes a group; then, and only then, it is in the journal.
    fn store(&mut self, group: &Group, head: Head) -> Result<(), Failure> {
        if let Err(error) = self.file.write_at(self.len, &group.bytes) {
            return Err(self.undo(&error));
        }
        if let Err(error) = self.file.sync() {
            return Err(self.poison(format!("flushing to the disk failed: {error}")));
        }
        let before = (self.segment, self.len);
        self.len += group.bytes.len() as u64;
        self.head = head;
        self.reader.publish(head, self.len, None);
        self.reader
            .note_ids(before, (self.segment, self.len), &group.new_ids);
        Ok(())
    }

    /// A write failed: put the file back as it was. If that fails too, nothing is known.
    fn undo(&mut self, error: &io::Error) -> Failure {
        let undone = self.file.set_len(self.len).and_then(|()| self.file.sync());
        match undone {
            Ok(()) if is_full(error) => Failure::Full,
            Ok(()) => Failure::Undone(error.to_string()),
            Err(worse) => self.poison(format!("writing failed ({error}), undoing too ({worse})")),
        }
    }

    fn poison(&mut self, cause: String) -> Failure {
        self.poisoned = Some(cause.clone());
        Failure::Unknown(cause)
    }

    /// Begins the next segment when this one is large enough. Everything in this one is
    /// flushed, which is what the next one's being there says.
    fn roll_if_full(&mut self) -> Result<(), AppendError> {
        let full = self.len >= self.segment_bytes && self.len > SEGMENT_HEADER_BYTES as u64;
        if !full || self.poisoned.is_some() {
            return Ok(());
        }
        let header = SegmentHeader {
            journal: self.reader.journal(),
            first: self.head.seq.next(),
            prev: self.head.hash,
        };
        let path = self.reader.layout().segment(header.first);
        let made = make_segment(&*self.disk, self.reader.layout(), &header);
        let opened = made.and_then(|()| self.disk.open(&path, false));
        let file = opened.map_err(|error| self.roll_failed(&error))?;
        self.file = file;
        self.segment = header.first;
        self.len = SEGMENT_HEADER_BYTES as u64;
        self.reader.publish(self.head, self.len, Some(header.first));
        Ok(())
    }

    /// If the new segment may be there, this one must not be written to any more: an entry
    /// could end up in both. On a full disk it mostly is not there, and waiting is enough.
    fn roll_failed(&mut self, error: &io::Error) -> AppendError {
        let segments = list_segments(&*self.disk, self.reader.layout());
        if is_full(error) && segments.is_ok_and(|s| s.last() == Some(&self.segment)) {
            return AppendError::DiskFull;
        }
        let cause = format!("beginning a new segment failed: {error}");
        self.poisoned = Some(cause.clone());
        AppendError::Closed { cause }
    }
}

/// Whether an answer speaks of entries beyond the last flushed one.
fn rests_on_more_than(answer: &Answer, flushed: Seq) -> bool {
    match answer {
        Ok(appended) => appended.iter().any(|entry| entry.seq > flushed),
        Err(AppendError::Conflict { found, .. }) => found.seq > flushed,
        Err(AppendError::IdTaken { seq, .. }) => *seq > flushed,
        Err(_) => false,
    }
}

fn check_entries(entries: &[NewEntry]) -> Result<(), AppendError> {
    if entries.len() > APPEND_ENTRIES_MAX {
        return Err(AppendError::TooMany {
            entries: entries.len(),
            max: APPEND_ENTRIES_MAX,
        });
    }
    if let Some(entry) = entries.iter().find(|e| !e.recorded_at.is_storable()) {
        let at = entry.recorded_at;
        return Err(AppendError::Time { at });
    }
    match entries
        .iter()
        .find(|entry| entry.payload.len() > most(entry))
    {
        Some(entry) => Err(too_large(entry)),
        None => Ok(()),
    }
}

/// A sealed payload is longer than what it holds.
const fn most(entry: &NewEntry) -> usize {
    match entry.seal {
        Some(_) => PAYLOAD_BYTES_MAX - SEAL_BYTES,
        None => PAYLOAD_BYTES_MAX,
    }
}

const fn too_large(entry: &NewEntry) -> AppendError {
    AppendError::TooLarge {
        id: entry.id,
        bytes: entry.payload.len(),
        max: most(entry),
    }
}
