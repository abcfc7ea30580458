//! What opening a journal folder can run into, and the first look at one.

use std::io;
use std::path::{Path, PathBuf};

use crate::journal::chain::Head;
use crate::journal::disk::{Disk, FileKind, is_full, is_read_only};
use crate::journal::frame::{FRAME_BYTES_MAX, Frame};
use crate::journal::layout::Layout;
use crate::journal::lock::Holder;
use crate::journal::recovery::RecoveryReport;
use crate::journal::segment::{SEGMENT_HEADER_BYTES, SegmentFault, SegmentHeader};
use crate::record::ids::{JournalId, Seq};

/// Why a journal could not be made or opened.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// No journal in the folder.
    #[error("{} holds no journal; make one with `init`, or name the right folder", dir.display())]
    NotAJournal {
        /// The folder.
        dir: PathBuf,
    },
    /// A journal is already there.
    #[error("{} already holds a journal; nothing was changed", dir.display())]
    AlreadyThere {
        /// The folder.
        dir: PathBuf,
    },
    /// No entries, but what else a journal's folder holds.
    #[error(
        "{} holds no entries but the remains of a journal: {}; nothing was changed. Put `segments` \
         back from a backup, or name an empty folder; if the old journal is not wanted, move \
         these away first",
        dir.display(), found.join(", ")
    )]
    Remains {
        /// The folder.
        dir: PathBuf,
        /// Names in it.
        found: Vec<String>,
    },
    /// Another process is writing.
    #[error("the journal is in use by {holder}; nothing was recorded, try again in a moment")]
    Busy {
        /// Who has the lock, as far as they said.
        holder: Holder,
    },
    /// We may read but not write here.
    #[error(
        "{} cannot be written: {cause}; the journal can still be read, ask whoever looks after \
         this computer for write access", path.display()
    )]
    ReadOnly {
        /// What could not be written.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: io::Error,
    },
    /// A new journal cannot be put here.
    #[error(
        "no journal was made: {} cannot be written ({cause}); name a folder that you may write in, \
         or ask whoever looks after this computer for write access", dir.display()
    )]
    NotMade {
        /// The folder named for the journal.
        dir: PathBuf,
        /// What the system said.
        #[source]
        cause: io::Error,
    },
    /// No room.
    #[error("the disk is full; nothing is lost, make room and try again")]
    DiskFull,
    /// Written by a newer program.
    #[error(
        "the journal is in format {found}, this program knows formats up to {supported}; \
         use a newer handfast"
    )]
    NewerFormat {
        /// The format found.
        found: u16,
        /// The newest format this program knows.
        supported: u16,
    },
    /// Acknowledged entries are damaged or gone. Reading goes on; writing waits until a
    /// keeper has looked at the report and accepted it.
    #[error(
        "the journal is damaged in {} (report {}); it can be read, but nothing is written until \
         a keeper accepts the report",
        places(report.damaged.len()), report.digest.short()
    )]
    Damaged {
        /// What was found.
        report: Box<RecoveryReport>,
    },
    /// There are segments, and none says which journal it is part of.
    #[error(
        "{} holds a journal whose beginning cannot be read: {fault} (segment {}); nothing is \
         written to it. Restore it from a backup, and keep this folder as it is for governance",
        dir.display(), segment.0
    )]
    NoHeader {
        /// The folder.
        dir: PathBuf,
        /// First entry of the first segment, by its name.
        segment: Seq,
        /// What is wrong with it.
        fault: SegmentFault,
    },
    /// A segment's name leaves no numbers for the entries after it.
    #[error(
        "{} says that nearly all entry numbers are used up, which cannot be: it was not made by \
         handfast. The journal can be read; to write, take that file out of the folder and keep \
         it for governance", path.display()
    )]
    NumbersUsedUp {
        /// The file.
        path: PathBuf,
    },
    /// Anything else the system refused.
    #[error("{} could not be opened", path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: io::Error,
    },
}

/// `1 place`, `3 places`.
fn places(count: usize) -> String {
    match count {
        1 => "1 place".to_owned(),
        more => format!("{more} places"),
    }
}

impl OpenError {
    pub(super) fn io(path: &Path, cause: io::Error) -> OpenError {
        let path = path.to_path_buf();
        if is_full(&cause) {
            OpenError::DiskFull
        } else if is_read_only(&cause) {
            OpenError::ReadOnly { path, cause }
        } else {
            OpenError::Io { path, cause }
        }
    }
}

/// First entries of the segments in the folder, ascending. What has a segment's name and is no
/// file is not among them: see [`not_files`].
pub(super) fn list_segments(disk: &dyn Disk, layout: &Layout) -> io::Result<Vec<Seq>> {
    Ok(named_segments(disk, layout)?
        .into_iter()
        .filter(|(_, kind)| *kind == FileKind::File)
        .map(|(first, _)| first)
        .collect())
}

/// Everything that has a segment's name and is no file, with what it is.
pub(super) fn not_files(disk: &dyn Disk, layout: &Layout) -> io::Result<Vec<(Seq, FileKind)>> {
    let mut named = named_segments(disk, layout)?;
    named.retain(|(_, kind)| *kind != FileKind::File);
    Ok(named)
}

fn named_segments(disk: &dyn Disk, layout: &Layout) -> io::Result<Vec<(Seq, FileKind)>> {
    let names = disk.list(&layout.segments_dir())?;
    let mut firsts: Vec<Seq> = names.iter().filter_map(|n| Layout::first_of(n)).collect();
    firsts.sort_unstable();
    let mut named = Vec::with_capacity(firsts.len());
    for first in firsts {
        match disk.kind(&layout.segment(first)) {
            Ok(kind) => named.push((first, kind)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(error),
        }
    }
    Ok(named)
}

/// What there is of a journal beside its segments, by name. A folder that is empty holds
/// nothing.
pub(super) fn remains(disk: &dyn Disk, layout: &Layout) -> io::Result<Vec<String>> {
    let mut found = Vec::new();
    for path in layout.beside_segments() {
        let is_there = match disk.list(&path) {
            Ok(names) => !names.is_empty(),
            Err(error) if error.kind() == io::ErrorKind::NotFound => false,
            Err(error) if error.kind() == io::ErrorKind::NotADirectory => true,
            Err(error) => return Err(error),
        };
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        found.extend(is_there.then(|| name.into_owned()));
    }
    Ok(found)
}

/// First entries of the segments, where a folder without any is no journal.
pub(super) fn segments_of_journal(disk: &dyn Disk, layout: &Layout) -> Result<Vec<Seq>, OpenError> {
    match list_segments(disk, layout) {
        Ok(segments) if !segments.is_empty() => Ok(segments),
        Err(cause)
            if !matches!(
                cause.kind(),
                io::ErrorKind::NotFound | io::ErrorKind::NotADirectory
            ) =>
        {
            Err(OpenError::Io {
                path: layout.segments_dir(),
                cause,
            })
        }
        _ => Err(OpenError::NotAJournal {
            dir: layout.root().to_path_buf(),
        }),
    }
}

/// Which journal a folder holds, and how well that is known.
#[derive(Debug)]
pub(super) struct Identity {
    pub journal: JournalId,
    /// Why it is not known for sure: no segment has an intact header, and the first entry does
    /// not prove the id either. Entries can be read all the same.
    pub doubt: Option<Box<OpenError>>,
}

impl Identity {
    /// The id, where something is to be written that names it.
    pub fn proven(self) -> Result<JournalId, OpenError> {
        match self.doubt {
            None => Ok(self.journal),
            Some(error) => Err(*error),
        }
    }
}

/// Which journal the folder holds, for whoever is to write in it: a newer format in the first or
/// last segment is told at once.
pub(super) fn identify_to_write(
    disk: &dyn Disk,
    layout: &Layout,
    segments: &[Seq],
) -> Result<Identity, OpenError> {
    if let Some(&last) = segments.last() {
        read_header(disk, layout, last)?.ok();
    }
    for &first in segments {
        if read_header(disk, layout, first)?.is_ok() {
            break;
        }
    }
    identify(disk, layout, segments)
}

/// The same for a reader: what its first segment with an intact header says. A newer format is
/// an error only where no entry can be made out.
pub(super) fn identify(
    disk: &dyn Disk,
    layout: &Layout,
    segments: &[Seq],
) -> Result<Identity, OpenError> {
    identify_by(disk, layout, segments, Err)
}

/// The same for a verification, which passes over files that cannot be read, and names them.
pub(super) fn identify_whatever_is_there(
    disk: &dyn Disk,
    layout: &Layout,
    segments: &[Seq],
) -> Result<Identity, OpenError> {
    identify_by(disk, layout, segments, |_| Ok(()))
}

/// `unreadable` says whether a file that cannot be read ends the search.
fn identify_by(
    disk: &dyn Disk,
    layout: &Layout,
    segments: &[Seq],
    unreadable: impl Fn(OpenError) -> Result<(), OpenError>,
) -> Result<Identity, OpenError> {
    let mut newer = None;
    for &first in segments {
        match read_header(disk, layout, first) {
            Ok(Ok(header)) => {
                let (journal, doubt) = (header.journal, None);
                return Ok(Identity { journal, doubt });
            }
            Ok(Err(_)) => {}
            Err(error @ OpenError::NewerFormat { .. }) => newer = newer.or(Some(error)),
            Err(error) => unreadable(error)?,
        }
    }
    without_header(disk, layout, segments, newer)
}

/// No header can be read. One flipped byte can make a format look newer, so the entries are asked
/// first.
fn without_header(
    disk: &dyn Disk,
    layout: &Layout,
    segments: &[Seq],
    newer: Option<OpenError>,
) -> Result<Identity, OpenError> {
    identify_by_entries(disk, layout, segments).map_err(|error| newer.unwrap_or(error))
}

/// No header is intact. The bytes where the id stood are proven by the first entry, which names
/// the hash of the id; if they are not, the entries can still be read.
fn identify_by_entries(
    disk: &dyn Disk,
    layout: &Layout,
    segments: &[Seq],
) -> Result<Identity, OpenError> {
    let mut doubt = None;
    for &first in segments {
        let path = layout.segment(first);
        let read = |offset, len| disk.read(&path, offset, len).unwrap_or_default();
        let (head, start) = (read(0, SEGMENT_HEADER_BYTES), SEGMENT_HEADER_BYTES as u64);
        let Err(fault) = SegmentHeader::parse(&head) else {
            continue;
        };
        let (dir, segment) = (layout.root().to_path_buf(), first);
        let error = OpenError::NoHeader {
            dir,
            segment,
            fault,
        };
        let journal = SegmentHeader::claimed_journal(&head);
        let Ok(frame) = Frame::check(&read(start, FRAME_BYTES_MAX)) else {
            doubt = doubt.or(Some((JournalId([0; 16]), error, false)));
            continue;
        };
        let doubted = journal.unwrap_or(JournalId([0; 16]));
        if frame.follows(&Head::empty(doubted)) {
            let (journal, doubt) = (doubted, None);
            return Ok(Identity { journal, doubt });
        }
        if !matches!(doubt, Some((_, _, true))) {
            doubt = Some((doubted, error, true));
        }
    }
    match doubt {
        Some((journal, error, true)) => Ok(Identity {
            journal,
            doubt: Some(Box::new(error)),
        }),
        Some((_, error, false)) => Err(error),
        None => Err(OpenError::NotAJournal {
            dir: layout.root().to_path_buf(),
        }),
    }
}

/// A segment's header, or what is wrong with it; a newer format is an error of its own.
pub(super) fn read_header(
    disk: &dyn Disk,
    layout: &Layout,
    first: Seq,
) -> Result<Result<SegmentHeader, SegmentFault>, OpenError> {
    let path = layout.segment(first);
    let bytes = disk
        .read(&path, 0, SEGMENT_HEADER_BYTES)
        .map_err(|cause| OpenError::Io { path, cause })?;
    match SegmentHeader::parse(&bytes) {
        Err(SegmentFault::Version { found }) if found > crate::journal::FORMAT_VERSION => {
            Err(OpenError::NewerFormat {
                found,
                supported: crate::journal::FORMAT_VERSION,
            })
        }
        other => Ok(other),
    }
}
