//! Reading a journal folder: takes no lock, writes nothing, and lives with another process
//! appending at the same time.
//!
//! Invariants: the view's head is an intact frame (or the head before the first); nothing
//! after it is handed out; a group of entries appended together is seen whole or not at all.

use std::collections::HashMap;
use std::io;
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::journal::chain::Head;
use crate::journal::disk::{Disk, RealDisk};
use crate::journal::entry_ids::{EntryIds, Place};
use crate::journal::flushed_note;
use crate::journal::frame::{FORMAT_VERSION, Frame, SEQ_MAX};
use crate::journal::layout::Layout;
use crate::journal::open::{OpenError, identify, list_segments, segments_of_journal};
use crate::journal::recovery::{FileFaults, end_of, look_at_files};
use crate::journal::sealing::{self, DataKeys, Opening, Payload, SealFault};
use crate::journal::segment::{Piece, SEGMENT_HEADER_BYTES, Scan, SegmentFault, SegmentHeader};
use crate::journal::store::{ReadError, ReadJournal};
use crate::journal::walk::Walk;
use crate::record::ids::{EntryHash, EntryId, JournalId, Seq};

/// Every how many frames an offset is remembered.
const SPARSE_STEP: usize = 32;
/// How often faults of the files are looked at, so that a writer at work is not taken for one.
const LOOKS: usize = 3;

/// A journal folder open for reading.
pub struct FileReader {
    disk: Arc<dyn Disk>,
    layout: Layout,
    journal: JournalId,
    view: Mutex<View>,
    offsets: Mutex<HashMap<Seq, Offsets>>,
    ids: Mutex<EntryIds>,
    /// The data keys it was given; `None` while it is locked.
    keys: Mutex<Option<Arc<DataKeys>>>,
    /// Only a writer's own reader may keep ids files: it has the lock.
    may_write_ids: bool,
}

/// What the reader knows of the folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct View {
    /// First entries of the segments, ascending.
    pub segments: Arc<Vec<Seq>>,
    /// The newest entry.
    pub head: Head,
    /// Where the newest entry ends in the last segment.
    pub end: u64,
    /// The last segment's format, where it says that it is one this program does not read.
    pub newer_end: Option<NewerEnd>,
}

/// A last segment that says it is in a newer format: entries may lie in it that are not seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NewerEnd {
    pub segment: Seq,
    pub found: u16,
    /// The highest entry that is known to have been there.
    pub known: Seq,
}

/// Offsets of every [`SPARSE_STEP`]th frame of one segment.
#[derive(Debug, Clone, Default)]
struct Offsets {
    places: Vec<(Seq, u64)>,
    /// Scanned to here.
    scanned_to: u64,
    /// Whether that is the end of a segment to which nothing is added any more.
    complete: bool,
    /// Highest number among the headers.
    highest: Seq,
    /// Frames since the last remembered one.
    since: usize,
}

/// What [`FileReader::refresh`] found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refreshed {
    /// Nothing new.
    Unchanged,
    /// Entries were appended since the head before.
    Grew {
        /// The head before.
        from: Head,
    },
    /// Entries this reader had seen were never acknowledged and are gone, or the folder now
    /// holds something else. Whatever was drawn from them must be drawn anew.
    WentBack {
        /// The head before.
        from: Head,
    },
}

impl FileReader {
    /// Opens the journal in `dir` for reading. Takes no lock and writes nothing.
    ///
    /// # Errors
    /// See [`OpenError`]. Damage is no error here.
    pub fn open(dir: &Path) -> Result<FileReader, OpenError> {
        FileReader::open_on(Arc::new(RealDisk), Layout::new(dir))
    }

    /// The same on any disk.
    ///
    /// # Errors
    /// See [`OpenError`].
    pub fn open_on(disk: Arc<dyn Disk>, layout: Layout) -> Result<FileReader, OpenError> {
        let segments = segments_of_journal(&*disk, &layout)?;
        let journal = identify(&*disk, &layout, &segments)?.journal;
        let view = look(&*disk, &layout, segments, journal, None)
            .map_err(|error| OpenError::io(&layout.segments_dir(), error))?;
        Ok(FileReader::with_view(disk, layout, journal, view, false))
    }

    pub(super) fn with_view(
        disk: Arc<dyn Disk>,
        layout: Layout,
        journal: JournalId,
        view: View,
        may_write_ids: bool,
    ) -> FileReader {
        FileReader {
            disk,
            layout,
            journal,
            view: Mutex::new(view),
            offsets: Mutex::default(),
            ids: Mutex::default(),
            keys: Mutex::default(),
            may_write_ids,
        }
    }

    /// What opens this sealed frame and no other; `None` where it lies in clear or its key is not at hand.
    #[must_use]
    pub fn opening(&self, frame: &Frame) -> Option<Opening> {
        let keys = lock(&self.keys).clone()?;
        let key = keys.get(frame.header().seal_key)?;
        let sealed = frame.header().sealing == sealing::SEALING_DATA_KEY;
        sealed.then(|| key.opening(frame))
    }

    /// Gives it the data keys with which it opens payloads from now on; `None` locks it.
    pub fn set_keys(&self, keys: Option<Arc<DataKeys>>) {
        *lock(&self.keys) = keys;
    }

    pub(super) fn disk(&self) -> &dyn Disk {
        &*self.disk
    }

    /// Where things lie in the folder.
    #[must_use]
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Looks whether another process has appended.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn refresh(&self) -> Result<Refreshed, ReadError> {
        let before = self.view();
        let dir = self.layout.segments_dir();
        let after = list_segments(&*self.disk, &self.layout)
            .and_then(|segments| {
                look(
                    &*self.disk,
                    &self.layout,
                    segments,
                    self.journal,
                    Some(&before),
                )
            })
            .map_err(|error| ReadError::io(&self.layout, &dir, &error))?;
        if after == before {
            return Ok(Refreshed::Unchanged);
        }
        let from = before.head;
        if !self.bytes_still_there(&before).unwrap_or(false) {
            // Not flushed, undone, and other entries are there: their frames begin elsewhere.
            lock(&self.offsets).clear();
        }
        let kept = after.head.seq > from.seq && self.still_there(&after, &from);
        *lock(&self.view) = after.clone();
        if kept || after.head == from {
            return Ok(Refreshed::Grew { from });
        }
        lock(&self.offsets).clear();
        *lock(&self.ids) = EntryIds::default();
        Ok(Refreshed::WentBack { from })
    }

    /// Whether the segment that was the last still has the newest entry where it was.
    fn bytes_still_there(&self, before: &View) -> io::Result<bool> {
        match before.segments.last() {
            Some(&last) => same_end(&*self.disk, &self.layout, last, before),
            None => Ok(false),
        }
    }

    fn faults_now(&self) -> FileFaults {
        let newest = || {
            let before = self.view();
            let segments = list_segments(&*self.disk, &self.layout);
            let now = segments.and_then(|segments| {
                let disk = &*self.disk;
                look(disk, &self.layout, segments, self.journal, Some(&before))
            });
            now.map_or(before.head.seq, |view| view.head.seq)
        };
        look_at_files(&self.disk, &self.layout, self.journal, newest)
    }

    /// Whether the entry that was the head is still in the journal as it was.
    fn still_there(&self, view: &View, head: &Head) -> bool {
        head.seq == Seq::NONE
            || self
                .read_in(view, head.seq)
                .map_or(true, |frame| frame.hash() == head.hash)
    }

    /// The writer's word that everything up to here is now in the journal.
    pub(super) fn publish(&self, head: Head, end: u64, new_segment: Option<Seq>) {
        let mut view = lock(&self.view);
        if let Some(first) = new_segment {
            Arc::make_mut(&mut view.segments).push(first);
        }
        view.head = head;
        view.end = end;
    }

    /// The writer's word on the ids of what it has just published.
    pub(super) fn note_ids(
        &self,
        before: (Seq, u64),
        after: (Seq, u64),
        entries: &[(EntryId, Seq)],
    ) {
        lock(&self.ids).note(before, after, entries);
    }

    pub(super) fn view(&self) -> View {
        lock(&self.view).clone()
    }

    fn read_in(&self, view: &View, seq: Seq) -> Result<Frame, ReadError> {
        let missing = ReadError::Missing {
            first: seq,
            last: seq,
        };
        for item in Walk::new(self, view.clone(), seq) {
            match item {
                Ok(frame) if frame.seq() == seq => return Ok(frame),
                Ok(frame) if frame.seq() > seq => return Err(missing),
                Ok(_) => {}
                Err(error) if error.concerns(seq) => return Err(error),
                Err(_) => {}
            }
        }
        Err(missing)
    }

    /// A frame boundary in `first`'s segment at or before the entry before `seq`, so that
    /// reading from there checks the link of `seq` as well.
    pub(super) fn offset_before(
        &self,
        view: &View,
        first: Seq,
        seq: Seq,
    ) -> Result<u64, ReadError> {
        let start = SEGMENT_HEADER_BYTES as u64;
        if seq.0 <= first.0.saturating_add(1) {
            return Ok(start);
        }
        self.offsets(view, first, |offsets| {
            let wanted = Seq(seq.0 - 1);
            let after = offsets
                .places
                .partition_point(|(place, _)| *place <= wanted);
            after
                .checked_sub(1)
                .map_or(start, |index| offsets.places[index].1)
        })
    }

    /// Whether `first`'s segment holds entries up to `seq` at least.
    pub(super) fn reaches(&self, view: &View, first: Seq, seq: Seq) -> Result<bool, ReadError> {
        self.offsets(view, first, |offsets| offsets.highest >= seq)
    }

    /// Asks the offsets of `first`'s segment, brought up to date.
    fn offsets<T>(
        &self,
        view: &View,
        first: Seq,
        ask: impl FnOnce(&Offsets) -> T,
    ) -> Result<T, ReadError> {
        let mut all = lock(&self.offsets);
        let offsets = all.entry(first).or_default();
        let path = self.layout.segment(first);
        let is_last = view.segments.last() == Some(&first);
        let until = is_last.then_some(view.end);
        if !offsets.complete && until.is_none_or(|end| offsets.scanned_to < end) {
            offsets
                .extend(&*self.disk, &path, first, until)
                .map_err(|error| ReadError::io(&self.layout, &path, &error))?;
            offsets.complete = !is_last;
        }
        Ok(ask(offsets))
    }
}

impl ReadJournal for FileReader {
    fn journal(&self) -> JournalId {
        self.journal
    }

    fn head(&self) -> Head {
        lock(&self.view).head
    }

    fn read_from(&self, seq: Seq) -> Box<dyn Iterator<Item = Result<Frame, ReadError>> + '_> {
        Box::new(Walk::new(self, self.view(), seq))
    }

    fn read(&self, seq: Seq) -> Result<Frame, ReadError> {
        self.read_in(&self.view(), seq)
    }

    fn payload<'a>(&self, frame: &'a Frame) -> Result<Payload<'a>, SealFault> {
        let keys = lock(&self.keys).clone();
        sealing::payload_of(frame, keys.as_deref())
    }

    fn faults(&self) -> FileFaults {
        let mut faults = self.faults_now();
        for _ in 1..LOOKS {
            if faults.is_empty() {
                break;
            }
            faults = self.faults_now();
        }
        faults
    }

    fn find(&self, id: EntryId) -> Result<Option<Seq>, ReadError> {
        let view = self.view();
        let place = Place {
            disk: &*self.disk,
            layout: &self.layout,
            journal: self.journal,
            may_write: self.may_write_ids,
        };
        let found = lock(&self.ids).find(place, &view, id);
        found.map_err(|error| ReadError::io(&self.layout, &self.layout.segments_dir(), &error))
    }
}

impl Offsets {
    /// Goes on to `until`, or to the end of the file. Bytes after a view's end may be undone, and
    /// others put in their place: no offset among them may be remembered.
    fn extend(
        &mut self,
        disk: &dyn Disk,
        path: &Path,
        first: Seq,
        until: Option<u64>,
    ) -> io::Result<()> {
        let from = self.scanned_to.max(SEGMENT_HEADER_BYTES as u64);
        let mut scan = Scan::new(disk, path.to_path_buf(), first, from);
        while until.is_none_or(|end| scan.offset() < end)
            && let Some((offset, header)) = scan.next_header()?
            && until.is_none_or(|end| scan.offset() <= end)
        {
            self.highest = self.highest.max(header.seq);
            self.since += 1;
            if self.since >= SPARSE_STEP {
                self.since = 0;
                self.places.push((header.seq, offset));
            }
            self.scanned_to = scan.offset();
        }
        self.scanned_to = self.scanned_to.max(from);
        Ok(())
    }
}

/// What the folder holds now. `before` saves reading again what was seen already.
fn look(
    disk: &dyn Disk,
    layout: &Layout,
    segments: Vec<Seq>,
    journal: JournalId,
    before: Option<&View>,
) -> io::Result<View> {
    let Some(&last) = segments.last() else {
        return Err(io::Error::from(io::ErrorKind::NotFound));
    };
    let path = layout.segment(last);
    let (head, end) = match before {
        Some(view) if still_ends_there(disk, layout, last, view)? => (view.head, view.end),
        _ => (
            start_of(disk, layout, &segments)?,
            SEGMENT_HEADER_BYTES as u64,
        ),
    };
    let (mut head, mut end) = last_whole_group(disk, last, &path, head, end)?;
    if segments.len() > 1 && before.is_none_or(|view| view.head != head) {
        // What the last segment says of the entries before it may be made up, and a segment that
        // begins too early must not hide those that are there.
        let earlier = end_of(disk, layout, &segments[..segments.len() - 1])?;
        let empty = end == SEGMENT_HEADER_BYTES as u64;
        if let Some(earlier) = earlier.filter(|earlier| empty || earlier.seq > head.seq) {
            head = earlier;
            end = SEGMENT_HEADER_BYTES as u64;
        }
    }
    Ok(View {
        segments: Arc::new(segments),
        head,
        end,
        newer_end: newer_end(disk, layout, last, journal)?,
    })
}

fn newer_end(
    disk: &dyn Disk,
    layout: &Layout,
    last: Seq,
    journal: JournalId,
) -> io::Result<Option<NewerEnd>> {
    let bytes = disk.read(&layout.segment(last), 0, SEGMENT_HEADER_BYTES)?;
    let Some(found) = newer_format(&bytes) else {
        return Ok(None);
    };
    // The entries before a segment were flushed before it was made; the note is of a clean close.
    let note = flushed_note::read(disk, layout, journal);
    let noted = note.map_or(Seq::NONE, |head| head.seq);
    let sane = Some(noted).filter(|seq| seq.0 <= SEQ_MAX);
    Ok(Some(NewerEnd {
        segment: last,
        found,
        known: Seq(last.0.saturating_sub(1)).max(sane.unwrap_or_default()),
    }))
}

/// The format a segment says it is in, if that is newer than this program's.
pub(super) fn newer_format(header: &[u8]) -> Option<u16> {
    match SegmentHeader::parse(header) {
        Err(SegmentFault::Version { found }) if found > FORMAT_VERSION => Some(found),
        _ => None,
    }
}

/// Whether the bytes before `view.end` are still the ones that were seen.
fn still_ends_there(disk: &dyn Disk, layout: &Layout, last: Seq, view: &View) -> io::Result<bool> {
    Ok(view.segments.last() == Some(&last) && same_end(disk, layout, last, view)?)
}

/// The same where other segments may have been begun since.
fn same_end(disk: &dyn Disk, layout: &Layout, last: Seq, view: &View) -> io::Result<bool> {
    let Some(hash_at) = view.end.checked_sub(EntryHash::LEN as u64) else {
        return Ok(false);
    };
    let stored = disk.read(&layout.segment(last), hash_at, EntryHash::LEN)?;
    Ok(stored == view.head.hash.0)
}

/// The head before the last segment's first entry.
pub(super) fn start_of(disk: &dyn Disk, layout: &Layout, segments: &[Seq]) -> io::Result<Head> {
    let mut later = Seq::NONE;
    for &first in segments.iter().rev() {
        let path = layout.segment(first);
        if later > Seq::NONE {
            // The later segment's header is damaged: take what this one ends with.
            let start = Head {
                seq: Seq::NONE,
                hash: EntryHash::ZERO,
            };
            let from = SEGMENT_HEADER_BYTES as u64;
            let (head, _) = last_whole_group(disk, first, &path, start, from)?;
            if head.seq > Seq::NONE {
                return Ok(head);
            }
        }
        let bytes = disk.read(&path, 0, SEGMENT_HEADER_BYTES)?;
        if let Ok(header) = SegmentHeader::parse(&bytes) {
            return Ok(header.before());
        }
        later = first;
    }
    Ok(Head {
        seq: Seq::NONE,
        hash: EntryHash::ZERO,
    })
}

/// The newest intact frame that closes a group, from `end` on, and where it ends.
fn last_whole_group(
    disk: &dyn Disk,
    first: Seq,
    path: &Path,
    mut head: Head,
    mut end: u64,
) -> io::Result<(Head, u64)> {
    let mut scan = Scan::new(disk, path.to_path_buf(), first, end);
    while let Some(piece) = scan.next_piece()? {
        if let Piece::Frame(_, frame) = piece
            && frame.header().following == 0
            && frame.seq() > head.seq
        {
            head = frame.head();
            end = scan.offset();
        }
    }
    Ok((head, end))
}

/// The lock, also after a panic elsewhere: what it guards is replaced whole, never left half
/// changed.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
