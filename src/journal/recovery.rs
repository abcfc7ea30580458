//! Opening after a crash: keep every acknowledged entry, cut only a torn tail, and tell the
//! two apart. [`assess`] only looks; [`settle`] acts on what it found.
//!
//! Invariants: an entry numbered at or below `known_flushed` is never cut; bytes are cut only
//! after they lie, flushed, in `aside/`; entries above `known_flushed` that survived are
//! copied into a new file under a new flush before anything more is acknowledged.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::journal::chain::{self, Head};
use crate::journal::disk::{CHUNK_BYTES, Disk, replace_file};
use crate::journal::flushed_note;
use crate::journal::frame::{Frame, SEQ_MAX};
use crate::journal::layout::Layout;
use crate::journal::open::{OpenError, journal_of, read_header, segments_of_journal};
use crate::journal::reader::{FileReader, start_of};
use crate::journal::segment::{
    BadStretch, Piece, SEGMENT_HEADER_BYTES, Scan, SegmentFault, SegmentHeader,
};
use crate::journal::store::{Damage, ReadJournal, entries_are};
use crate::record::ids::{Digest, EntryHash, JournalId, PersonKey, Seq, to_hex};
use crate::record::time::Timestamp;

/// What opening found and did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecoveryReport {
    /// Where the journal stands now.
    pub head: Head,
    /// The torn tail that was cut, if there was one.
    pub cut: Option<CutTail>,
    /// Entries that had survived without a known flush and were put under a new one.
    pub reflushed: u64,
    /// Damage to acknowledged entries in the last segment, or entries missing from the end.
    /// (Damage further back is found by reading and by `verify`.)
    pub damaged: Vec<DamageFinding>,
    /// Names exactly these findings: what a keeper accepts.
    pub digest: Digest,
}

/// A tail that no acknowledgement ever covered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CutTail {
    /// First entry of the segment it was cut from.
    pub segment: Seq,
    /// Where in the segment it began.
    pub offset: u64,
    /// How many bytes it had.
    pub bytes: u64,
    /// Intact entries among them: written, never acknowledged, no longer in the journal.
    pub entries: u64,
    /// Where the bytes now lie.
    pub aside: PathBuf,
}

/// One thing that is wrong and cannot be a tear.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DamageFinding {
    /// Acknowledged entries whose bytes or links are wrong.
    Entries {
        /// The first of them.
        first: Seq,
        /// The last.
        last: Seq,
        /// First entry of the segment.
        segment: Seq,
        /// Where in the segment.
        offset: u64,
        /// When it was recorded, if that can still be read.
        recorded_at: Option<Timestamp>,
        /// Who wrote it, if that can still be read.
        author: Option<PersonKey>,
        /// What is wrong.
        what: Damage,
    },
    /// Acknowledged entries are not there.
    Missing {
        /// The first that is not there.
        first: Seq,
        /// The last.
        last: Seq,
    },
    /// An entry is not the one it was.
    Replaced {
        /// The entry.
        seq: Seq,
        /// The hash it had.
        expected: EntryHash,
        /// The hash it has.
        found: EntryHash,
    },
    /// Bytes between entries that belong to none.
    Stray {
        /// First entry of the segment.
        segment: Seq,
        /// Where in the segment.
        offset: u64,
        /// How many bytes.
        bytes: u64,
    },
    /// The beginning of the segment.
    Header {
        /// First entry of the segment, by its name.
        segment: Seq,
        /// What is wrong.
        fault: SegmentFault,
    },
    /// The segment is from another journal or has another's name.
    Foreign {
        /// First entry of the segment, by its name.
        segment: Seq,
        /// The journal it says it belongs to.
        journal: JournalId,
        /// The first entry it says it has.
        first: Seq,
    },
}

impl fmt::Display for DamageFinding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Entries {
                first,
                last,
                segment,
                offset,
                what,
                ..
            } => {
                let (segment, bytes) = (segment.0, offset);
                write!(f, "{} damaged: {what} ", entries_are(*first, *last))?;
                write!(f, "(segment {segment}, byte {bytes})")
            }
            Self::Missing { first, last } => {
                let entries = entries_are(*first, *last);
                write!(f, "{entries} missing, though acknowledged")
            }
            Self::Replaced {
                seq,
                expected,
                found,
            } => write!(f, "entry {seq} had the hash {expected}, now it has {found}"),
            Self::Stray {
                segment,
                offset,
                bytes,
            } => {
                let segment = segment.0;
                write!(f, "{bytes} bytes at byte {offset} of segment {segment} ")?;
                f.write_str("belong to no entry")
            }
            Self::Header { segment, fault } => {
                write!(f, "the beginning of segment {}: {fault}", segment.0)
            }
            Self::Foreign {
                segment,
                journal,
                first,
            } => {
                write!(f, "segment {} says it begins with {first} ", segment.0)?;
                write!(f, "of journal {journal}")
            }
        }
    }
}

/// What is in the folder, before anything is changed.
pub(super) struct Assessment {
    pub journal: JournalId,
    pub segments: Vec<Seq>,
    /// The newest entry that stays.
    pub head: Head,
    /// Highest entry that is known to have been flushed.
    pub known_flushed: Seq,
    /// Bytes of the last segment that stay.
    pub keep: u64,
    /// What follows them, and how many intact entries are in it.
    pub cut: Option<(u64, u64)>,
    pub findings: Vec<DamageFinding>,
}

impl Assessment {
    /// The digest a keeper accepts.
    pub fn digest(&self) -> Digest {
        let lines: Vec<String> = self.findings.iter().map(ToString::to_string).collect();
        Digest(chain::findings_digest(lines.join("\n").as_bytes()))
    }

    /// Entries that stay without a known flush.
    pub fn in_doubt(&self) -> u64 {
        self.head.seq.0.saturating_sub(self.known_flushed.0)
    }
}

/// An intact frame of the last segment.
struct Mark {
    offset: u64,
    end: u64,
    head: Head,
    prev: EntryHash,
    following: u16,
    recorded_at: Timestamp,
    author: PersonKey,
}

enum Found {
    Intact(Mark),
    Bad(BadStretch),
}

/// Looks at the folder without changing anything. `memory` is the newest head that anything
/// outside the journal (an index, a checkpoint, a receipt) remembers.
///
/// # Errors
/// When the folder holds no journal, a newer format, or cannot be read.
pub(super) fn assess(
    shared: &Arc<dyn Disk>,
    layout: &Layout,
    memory: Option<Head>,
) -> Result<Assessment, OpenError> {
    let disk = &**shared;
    let segments = segments_of_journal(disk, layout)?;
    let journal = journal_of(disk, layout, &segments)?;
    let last = segments.last().copied().unwrap_or(Seq(1));
    let path = layout.segment(last);
    let unreadable = |cause| OpenError::Io {
        path: path.clone(),
        cause,
    };
    let header = read_header(disk, layout, last)?;
    let before = match &header {
        Ok(header) => header.before(),
        Err(_) => start_of(disk, layout, &segments).map_err(unreadable)?,
    };
    let (found, synced) = survey(disk, &path).map_err(unreadable)?;
    let note = flushed_note::read(disk, layout, journal);
    // What notes and names claim is bounded before anything is computed with it.
    let note = note.filter(|head| head.seq.0 <= SEQ_MAX);
    let memory = memory.filter(|head| head.seq.0 <= SEQ_MAX);
    let known = synced
        .max(Seq(last.0.saturating_sub(1)))
        .max(note.map_or(Seq::NONE, |head| head.seq));
    let mut judge = Judge::new(last, known, before, header.is_ok());
    judge.header(journal, header);
    judge.walk(&found);
    let mut judged = judge.finish(&found);
    judged.remembered(&found, note);
    judged.outside_memory(shared, layout, &found, memory)?;
    Ok(Assessment {
        journal,
        segments,
        head: judged.head,
        known_flushed: known,
        keep: judged.keep,
        cut: judged.cut,
        findings: judged.findings,
    })
}

/// Everything in a segment, and the highest entry its intact frames say was flushed.
fn survey(disk: &dyn Disk, path: &Path) -> io::Result<(Vec<Found>, Seq)> {
    let mut scan = Scan::new(disk, path.to_path_buf(), SEGMENT_HEADER_BYTES as u64);
    let (mut found, mut synced) = (Vec::new(), Seq::NONE);
    while let Some(piece) = scan.next_piece()? {
        found.push(match piece {
            Piece::Bad(bad) => Found::Bad(bad),
            Piece::Frame(offset, frame) => {
                // No frame can have known of a flush of itself.
                let honest = Seq(frame.seq().0.saturating_sub(1));
                synced = synced.max(frame.header().synced_through.min(honest));
                Found::Intact(mark(offset, scan.offset(), &frame))
            }
        });
    }
    Ok((found, synced))
}

fn mark(offset: u64, end: u64, frame: &Frame) -> Mark {
    let header = frame.header();
    Mark {
        offset,
        end,
        head: frame.head(),
        prev: header.prev,
        following: header.following,
        recorded_at: header.recorded_at,
        author: header.author,
    }
}

/// Walks what was found, deciding for each fault whether it is a tear or damage.
struct Judge {
    segment: Seq,
    known: Seq,
    /// The newest entry so far that stays.
    head: Head,
    /// Whether the hash in `head` can be compared.
    linked: bool,
    keep: u64,
    /// End of the last whole group, and the head there.
    group: (u64, Head),
    hole: Option<BadStretch>,
    torn: bool,
    findings: Vec<DamageFinding>,
}

impl Judge {
    fn new(segment: Seq, known: Seq, before: Head, linked: bool) -> Judge {
        let head = Head {
            seq: Seq(segment.0.saturating_sub(1)),
            hash: before.hash,
        };
        let keep = SEGMENT_HEADER_BYTES as u64;
        Judge {
            segment,
            known,
            head,
            linked,
            keep,
            group: (keep, head),
            hole: None,
            torn: false,
            findings: Vec::new(),
        }
    }

    fn header(&mut self, journal: JournalId, header: Result<SegmentHeader, SegmentFault>) {
        let segment = self.segment;
        match header {
            Err(fault) => self.findings.push(DamageFinding::Header { segment, fault }),
            Ok(header) if header.journal != journal || header.first != segment => {
                self.findings.push(DamageFinding::Foreign {
                    segment,
                    journal: header.journal,
                    first: header.first,
                });
            }
            Ok(_) => {}
        }
    }

    fn walk(&mut self, found: &[Found]) {
        for piece in found {
            match piece {
                Found::Bad(bad) => {
                    self.hole.get_or_insert_with(|| bad.clone());
                }
                Found::Intact(mark) => self.intact(mark),
            }
            if self.torn {
                return;
            }
        }
        if let Some(hole) = self.hole.take() {
            let last = self.known;
            if self.acknowledged() {
                self.damage_of(&hole, last);
                self.keep = hole.offset + hole.bytes;
                self.group = (self.keep, self.head);
            } else {
                self.torn = true;
            }
        } else if self.acknowledged() {
            let (first, last) = (self.head.seq.next(), self.known);
            self.findings.push(DamageFinding::Missing { first, last });
        }
    }

    /// Whether the entry that should come next was flushed once.
    fn acknowledged(&self) -> bool {
        self.head.seq < self.known
    }

    fn intact(&mut self, mark: &Mark) {
        let next = self.head.seq.next();
        let linked = !self.linked || mark.prev == self.head.hash;
        if mark.head.seq == next && linked {
            if let Some(hole) = self.hole.take() {
                self.findings.push(DamageFinding::Stray {
                    segment: self.segment,
                    offset: hole.offset,
                    bytes: hole.bytes,
                });
            }
            return self.accept(mark);
        }
        if !self.acknowledged() {
            self.torn = true;
            return;
        }
        match self.hole.take() {
            Some(hole) if mark.head.seq > next => {
                self.damage_of(&hole, Seq(mark.head.seq.0 - 1));
                self.accept(mark);
            }
            hole => {
                self.misplaced(mark, hole.is_none() && mark.head.seq == next);
            }
        }
    }

    fn misplaced(&mut self, mark: &Mark, link_only: bool) {
        let next = self.head.seq.next();
        let what = if link_only {
            Damage::Link {
                expected: self.head.hash,
                found: mark.prev,
            }
        } else {
            Damage::OutOfPlace {
                found: mark.head.seq,
            }
        };
        self.findings.push(DamageFinding::Entries {
            first: next,
            last: next.max(Seq(mark.head.seq.0.saturating_sub(1))),
            segment: self.segment,
            offset: mark.offset,
            recorded_at: Some(mark.recorded_at),
            author: Some(mark.author),
            what,
        });
        if mark.head.seq >= next {
            self.accept(mark);
        } else {
            self.keep = mark.end;
        }
    }

    fn accept(&mut self, mark: &Mark) {
        self.head = mark.head;
        self.linked = true;
        self.keep = mark.end;
        if mark.following == 0 || mark.head.seq <= self.known {
            self.group = (self.keep, self.head);
        }
    }

    fn damage_of(&mut self, hole: &BadStretch, last: Seq) {
        self.findings.push(DamageFinding::Entries {
            first: self.head.seq.next(),
            last,
            segment: self.segment,
            offset: hole.offset,
            recorded_at: hole.header.map(|header| header.recorded_at),
            author: hole.header.map(|header| header.author),
            what: Damage::Bytes(hole.fault),
        });
    }

    /// What stays is what ends a whole group; what follows is cut.
    fn finish(self, found: &[Found]) -> Judged {
        let (keep, head) = self.group;
        let end = found.last().map_or(keep, |piece| match piece {
            Found::Intact(mark) => mark.end,
            Found::Bad(bad) => bad.offset + bad.bytes,
        });
        let cut_entries = found
            .iter()
            .filter(|piece| matches!(piece, Found::Intact(mark) if mark.offset >= keep))
            .count();
        Judged {
            head,
            keep,
            cut: (end > keep).then_some((end - keep, cut_entries as u64)),
            findings: self.findings,
        }
    }
}

struct Judged {
    head: Head,
    keep: u64,
    cut: Option<(u64, u64)>,
    findings: Vec<DamageFinding>,
}

impl Judged {
    /// Compares with the head a writer noted when it closed.
    fn remembered(&mut self, found: &[Found], note: Option<Head>) {
        let Some(note) = note else { return };
        let same = found.iter().find_map(|piece| match piece {
            Found::Intact(mark) if mark.head.seq == note.seq => Some(mark.head.hash),
            _ => None,
        });
        if let Some(found) = same.filter(|hash| *hash != note.hash) {
            self.findings.push(DamageFinding::Replaced {
                seq: note.seq,
                expected: note.hash,
                found,
            });
        }
    }

    /// Compares with what is remembered outside the journal.
    fn outside_memory(
        &mut self,
        disk: &Arc<dyn Disk>,
        layout: &Layout,
        found: &[Found],
        memory: Option<Head>,
    ) -> Result<(), OpenError> {
        let Some(memory) = memory.filter(|head| head.seq > Seq::NONE) else {
            return Ok(());
        };
        if memory.seq > self.head.seq {
            let already = self.findings.iter().any(|finding| {
                matches!(finding, DamageFinding::Missing { last, .. } if *last >= memory.seq)
            });
            if !already {
                let (first, last) = (self.head.seq.next(), memory.seq);
                self.findings.push(DamageFinding::Missing { first, last });
            }
            return Ok(());
        }
        let hash = hash_at(disk, layout, found, memory.seq)?;
        if let Some(found) = hash.filter(|hash| *hash != memory.hash) {
            self.findings.push(DamageFinding::Replaced {
                seq: memory.seq,
                expected: memory.hash,
                found,
            });
        }
        Ok(())
    }
}

/// The hash of an entry, from the last segment if it is there, else by reading it; `None` if
/// it cannot be had.
fn hash_at(
    disk: &Arc<dyn Disk>,
    layout: &Layout,
    found: &[Found],
    seq: Seq,
) -> Result<Option<EntryHash>, OpenError> {
    let here = found.iter().find_map(|piece| match piece {
        Found::Intact(mark) if mark.head.seq == seq => Some(mark.head.hash),
        _ => None,
    });
    if here.is_some() {
        return Ok(here);
    }
    let reader = FileReader::open_on(Arc::clone(disk), layout.clone())?;
    Ok(reader.read(seq).ok().map(|frame| frame.hash()))
}

/// What is left for the writer after [`settle`].
pub(super) struct Settled {
    pub segments: Vec<Seq>,
    pub head: Head,
    /// Length of the last segment.
    pub end: u64,
    pub report: RecoveryReport,
}

/// Acts on an assessment: puts a torn tail aside, puts what survived without a known flush
/// under a new one, and closes a damaged segment by beginning another after it. Crashing
/// anywhere in it leaves a folder for which it does the same again.
///
/// # Errors
/// [`OpenError::Damaged`] if there are findings nobody has accepted; what the disk says.
pub(super) fn settle(
    disk: &dyn Disk,
    layout: &Layout,
    assessment: Assessment,
) -> Result<Settled, OpenError> {
    let report = report_of(disk, layout, &assessment)?;
    if !report.damaged.is_empty() && !is_accepted(disk, layout, report.digest) {
        let report = Box::new(report);
        return Err(OpenError::Damaged { report });
    }
    let dir = layout.segments_dir();
    remove_unfinished(disk, layout).map_err(|cause| OpenError::io(&dir, cause))?;
    let last = assessment.segments.last().copied().unwrap_or(Seq(1));
    if let Some(cut) = &report.cut {
        put_aside(disk, layout, cut).map_err(|cause| OpenError::io(&cut.aside, cause))?;
    }
    if report.cut.is_some() || assessment.in_doubt() > 0 {
        copy_segment(disk, layout, last, assessment.keep)
            .map_err(|cause| OpenError::io(&layout.segment(last), cause))?;
    }
    let settled = Settled {
        head: assessment.head,
        end: assessment.keep,
        segments: assessment.segments.clone(),
        report,
    };
    if settled.report.damaged.is_empty() {
        return Ok(settled);
    }
    after_damage(disk, layout, &assessment, settled)
}

/// Begins a segment after a damaged one. Numbers that were ever acknowledged are not given
/// out again: the new segment begins after the highest of them.
fn after_damage(
    disk: &dyn Disk,
    layout: &Layout,
    assessment: &Assessment,
    mut settled: Settled,
) -> Result<Settled, OpenError> {
    let lost = assessment.findings.iter().map(|finding| match finding {
        DamageFinding::Missing { last, .. } | DamageFinding::Entries { last, .. } => *last,
        _ => Seq::NONE,
    });
    let highest = lost.max().unwrap_or_default();
    settled.head.seq = settled.head.seq.max(highest).max(assessment.known_flushed);
    let header = SegmentHeader {
        journal: assessment.journal,
        first: settled.head.seq.next(),
        prev: settled.head.hash,
    };
    let made = make_segment(disk, layout, &header);
    made.map_err(|cause| OpenError::io(&layout.segment(header.first), cause))?;
    if settled.segments.last() != Some(&header.first) {
        settled.segments.push(header.first);
    }
    settled.end = SEGMENT_HEADER_BYTES as u64;
    settled.report.head = settled.head;
    Ok(settled)
}

pub(super) fn report_of(
    disk: &dyn Disk,
    layout: &Layout,
    assessment: &Assessment,
) -> Result<RecoveryReport, OpenError> {
    let segment = assessment.segments.last().copied().unwrap_or(Seq(1));
    let path = layout.segment(segment);
    let cut = match assessment.cut {
        None => None,
        Some((bytes, entries)) => {
            let offset = assessment.keep;
            let digest =
                digest_of(disk, &path, offset).map_err(|cause| OpenError::io(&path, cause))?;
            Some(CutTail {
                segment,
                offset,
                bytes,
                entries,
                aside: layout.aside_file(segment, offset, &digest),
            })
        }
    };
    Ok(RecoveryReport {
        head: assessment.head,
        cut,
        reflushed: assessment.in_doubt(),
        damaged: assessment.findings.clone(),
        digest: assessment.digest(),
    })
}

fn digest_of(disk: &dyn Disk, path: &Path, from: u64) -> io::Result<[u8; 8]> {
    let mut hasher = blake3::Hasher::new();
    let mut offset = from;
    loop {
        let bytes = disk.read(path, offset, CHUNK_BYTES)?;
        hasher.update(&bytes);
        offset += bytes.len() as u64;
        if bytes.len() < CHUNK_BYTES {
            break;
        }
    }
    let mut eight = [0; 8];
    eight.copy_from_slice(&hasher.finalize().as_bytes()[..8]);
    Ok(eight)
}

fn put_aside(disk: &dyn Disk, layout: &Layout, cut: &CutTail) -> io::Result<()> {
    let dir = layout.aside_dir();
    disk.create_dir(&dir)?;
    let mut file = disk.open(&cut.aside, true)?;
    let from = layout.segment(cut.segment);
    copy_bytes(disk, &from, cut.offset, cut.bytes, &mut *file)?;
    file.sync()?;
    disk.sync_dir(&dir)
}

/// Copies the first `keep` bytes of a segment into a new file that then takes its name.
fn copy_segment(disk: &dyn Disk, layout: &Layout, first: Seq, keep: u64) -> io::Result<()> {
    let (path, building) = (layout.segment(first), layout.segment_building(first));
    let mut file = disk.open(&building, true)?;
    copy_bytes(disk, &path, 0, keep, &mut *file)?;
    file.sync()?;
    drop(file);
    disk.rename(&building, &path)?;
    disk.sync_dir(&layout.segments_dir())
}

fn copy_bytes(
    disk: &dyn Disk,
    from: &Path,
    start: u64,
    count: u64,
    to: &mut dyn crate::journal::disk::DiskFile,
) -> io::Result<()> {
    let mut done = 0;
    while done < count {
        let want = usize::try_from(count - done).unwrap_or(CHUNK_BYTES);
        let bytes = disk.read(from, start + done, want.min(CHUNK_BYTES))?;
        if bytes.is_empty() {
            return Err(io::Error::from(io::ErrorKind::UnexpectedEof));
        }
        to.write_at(done, &bytes)?;
        done += bytes.len() as u64;
    }
    Ok(())
}

/// Makes an empty segment: complete and flushed before it gets its name.
pub(super) fn make_segment(
    disk: &dyn Disk,
    layout: &Layout,
    header: &SegmentHeader,
) -> io::Result<()> {
    let building = layout.segment_building(header.first);
    let path = layout.segment(header.first);
    replace_file(disk, &building, &path, &header.encode())
}

fn remove_unfinished(disk: &dyn Disk, layout: &Layout) -> io::Result<()> {
    let dir = layout.segments_dir();
    for name in disk.list(&dir)? {
        if Layout::is_building(&name) {
            disk.remove(&dir.join(name))?;
        }
    }
    Ok(())
}

/// Most bytes of the acceptance file that are looked at: room for 15,000 acceptances.
const ACCEPTANCE_BYTES_MAX: usize = 1 << 20;

fn is_accepted(disk: &dyn Disk, layout: &Layout, digest: Digest) -> bool {
    accepted(disk, layout).is_ok_and(|text| text.lines().any(|line| line == digest.to_string()))
}

fn accepted(disk: &dyn Disk, layout: &Layout) -> io::Result<String> {
    match disk.read(&layout.damage_accepted(), 0, ACCEPTANCE_BYTES_MAX) {
        Ok(bytes) => Ok(String::from_utf8_lossy(&bytes).into_owned()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(String::new()),
        Err(error) => Err(error),
    }
}

/// Notes that a keeper has read the findings with this digest, so that writing may go on
/// after them. Nothing is repaired; `verify` goes on reporting the damage.
///
/// # Errors
/// When the note cannot be written.
pub(super) fn accept(disk: &dyn Disk, layout: &Layout, digest: Digest) -> Result<(), OpenError> {
    let path = layout.damage_accepted();
    let write = || {
        let mut text = accepted(disk, layout)?;
        text.push_str(&to_hex(&digest.0));
        text.push('\n');
        replace_file(
            disk,
            &layout.damage_accepted_building(),
            &path,
            text.as_bytes(),
        )
    };
    write().map_err(|cause| OpenError::io(&path, cause))
}
