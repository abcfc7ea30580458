//! The journal as a folder of segment files: making one, and opening it for writing.
//!
//! A [`FileStore`] holds the folder's lock from opening to drop. Several processes share a
//! journal by opening it for one act at a time; a server keeps it open.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use crate::journal::chain::Head;
use crate::journal::disk::{Disk, RealDisk};
use crate::journal::frame::Frame;
use crate::journal::layout::Layout;
use crate::journal::lock::{self, Holder};
use crate::journal::open::{OpenError, list_segments, remains};
use crate::journal::reader::{FileReader, View};
use crate::journal::recovery::{self, LyingAside, RecoveryReport};
use crate::journal::sealing::{Payload, SealFault};
use crate::journal::segment::SegmentHeader;
use crate::journal::store::{AppendError, Appended, NewEntry, ReadError, ReadJournal, Store};
use crate::journal::writer::{Writer, WriterHandle};
use crate::record::ids::{Digest, EntryId, JournalId, Seq};
use crate::record::time::Timestamp;

/// How large a segment grows before the next one is begun, unless told otherwise.
pub const SEGMENT_BYTES: u64 = 8 * 1024 * 1024;

/// How to open a journal for writing.
#[derive(Debug, Clone)]
pub struct WriteOptions {
    /// Who opens it, for whoever finds it busy: a person and a command.
    pub who: String,
    /// When, for the same purpose.
    pub opened_at: Timestamp,
    /// How long to wait for another writer to finish.
    pub wait: Duration,
    /// The newest head that anything outside the journal remembers. If the journal is behind
    /// it, acknowledged entries are missing.
    pub expected_at_least: Option<Head>,
    /// Size at which a segment is closed, in bytes.
    pub segment_bytes: u64,
}

impl WriteOptions {
    /// For one person or command; waits two seconds.
    #[must_use]
    pub fn new(who: impl Into<String>, opened_at: Timestamp) -> WriteOptions {
        WriteOptions {
            who: who.into(),
            opened_at,
            wait: Duration::from_secs(2),
            expected_at_least: None,
            segment_bytes: SEGMENT_BYTES,
        }
    }
}

/// A journal folder open for writing: this process is its only writer while this lives.
pub struct FileStore {
    reader: Arc<FileReader>,
    writer: WriterHandle,
}

impl FileStore {
    /// Makes an empty journal in `dir`, which may exist but may hold neither one nor what is
    /// left of one: keys and notes of a journal whose segments are gone are worth more than a new
    /// journal in their place.
    ///
    /// # Errors
    /// See [`OpenError`].
    pub fn create(dir: &Path, journal: JournalId) -> Result<(), OpenError> {
        FileStore::create_on(&RealDisk, &Layout::new(dir), journal)
    }

    /// The same on any disk.
    ///
    /// # Errors
    /// See [`OpenError`].
    pub fn create_on(
        disk: &dyn Disk,
        layout: &Layout,
        journal: JournalId,
    ) -> Result<(), OpenError> {
        let dir = layout.segments_dir();
        let failed = |cause| OpenError::io(&dir, cause);
        let root = || layout.root().to_path_buf();
        match list_segments(disk, layout) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
            Err(error) => return Err(failed(error)),
            Ok(segments) if segments.is_empty() => {}
            Ok(_) => return Err(OpenError::AlreadyThere { dir: root() }),
        }
        let found = remains(disk, layout).map_err(failed)?;
        if !found.is_empty() {
            let dir = root();
            return Err(OpenError::Remains { dir, found });
        }
        let not_made = |cause| match failed(cause) {
            OpenError::ReadOnly { cause, .. } => OpenError::NotMade { dir: root(), cause },
            other => other,
        };
        disk.create_dir(&dir).map_err(not_made)?;
        let header = SegmentHeader {
            journal,
            first: Seq(1),
            prev: Head::empty(journal).hash,
        };
        recovery::make_segment(disk, layout, &header).map_err(not_made)
    }

    /// Opens the journal in `dir` for writing, recovering from a crash if there was one.
    ///
    /// # Errors
    /// See [`OpenError`]; after any of them the journal can still be opened for reading.
    pub fn open_writer(
        dir: &Path,
        options: &WriteOptions,
    ) -> Result<(FileStore, RecoveryReport), OpenError> {
        FileStore::open_writer_on(Arc::new(RealDisk), Layout::new(dir), options)
    }

    /// The same on any disk.
    ///
    /// # Errors
    /// See [`OpenError`].
    pub fn open_writer_on(
        disk: Arc<dyn Disk>,
        layout: Layout,
        options: &WriteOptions,
    ) -> Result<(FileStore, RecoveryReport), OpenError> {
        crate::journal::open::segments_of_journal(&*disk, &layout)?;
        let holder = Holder {
            pid: std::process::id(),
            since: Some(options.opened_at),
            who: options.who.clone(),
        };
        let lock = lock::take(&*disk, &layout, &holder, options.wait)?;
        let assessment = recovery::assess(&disk, &layout, options.expected_at_least)?;
        let journal = assessment.journal;
        let settled = recovery::settle(&*disk, &layout, assessment)?;
        let view = View {
            segments: Arc::new(settled.segments),
            head: settled.head,
            end: settled.end,
            newer_end: None,
        };
        let reader = FileReader::with_view(Arc::clone(&disk), layout, journal, view, true);
        let reader = Arc::new(reader);
        let writer = Writer::open(disk, Arc::clone(&reader), lock, options.segment_bytes)?;
        let writer = WriterHandle::start(writer)?;
        Ok((FileStore { reader, writer }, settled.report))
    }

    /// Looks at the folder as opening for writing would, and changes nothing.
    ///
    /// # Errors
    /// See [`OpenError`]; damage is in the report.
    pub fn inspect(dir: &Path, memory: Option<Head>) -> Result<RecoveryReport, OpenError> {
        let layout = Layout::new(dir);
        let disk: Arc<dyn Disk> = Arc::new(RealDisk);
        let assessment = recovery::assess(&disk, &layout, memory)?;
        recovery::report_of(&*disk, &layout, &assessment)
    }

    /// The unfinished ends that were cut off in the past and lie aside.
    #[must_use]
    pub fn lying_aside(dir: &Path) -> Vec<LyingAside> {
        recovery::lying_aside(&RealDisk, &Layout::new(dir))
    }

    /// Notes that a keeper has read the findings that `digest` names; writing may then go on.
    ///
    /// # Errors
    /// When that cannot be written down.
    pub fn accept_damage(dir: &Path, digest: Digest) -> Result<(), OpenError> {
        recovery::accept(&RealDisk, &Layout::new(dir), digest)
    }

    /// The reading half, to be shared.
    #[must_use]
    pub fn reader(&self) -> Arc<FileReader> {
        Arc::clone(&self.reader)
    }

    /// [`Store::append`] for asynchronous callers. Dropping the future does not undo the
    /// append: the entries may stand all the same, and asking again by id is safe.
    ///
    /// # Errors
    /// See [`AppendError`].
    pub async fn append_async(
        &self,
        entries: Vec<NewEntry>,
        expect: Option<Head>,
    ) -> Result<Vec<Appended>, AppendError> {
        self.writer.append_async(entries, expect).await
    }
}

impl Store for FileStore {
    /// Blocks the calling thread until the entries are on stable storage.
    fn append(
        &self,
        entries: Vec<NewEntry>,
        expect: Option<Head>,
    ) -> Result<Vec<Appended>, AppendError> {
        self.writer.append(entries, expect)
    }
}

impl ReadJournal for FileStore {
    fn journal(&self) -> JournalId {
        self.reader.journal()
    }

    fn head(&self) -> Head {
        self.reader.head()
    }

    fn read_from(&self, seq: Seq) -> Box<dyn Iterator<Item = Result<Frame, ReadError>> + '_> {
        self.reader.read_from(seq)
    }

    fn read(&self, seq: Seq) -> Result<Frame, ReadError> {
        self.reader.read(seq)
    }

    fn find(&self, id: EntryId) -> Result<Option<Seq>, ReadError> {
        self.reader.find(id)
    }

    fn payload<'a>(&self, frame: &'a Frame) -> Result<Payload<'a>, SealFault> {
        self.reader.payload(frame)
    }
}
