//! Looking at a folder before anything in it is changed.

use std::io;
use std::path::Path;
use std::sync::Arc;

use super::acceptance::is_accepted;
use super::finding::DamageFinding;
use super::join;
use super::judge::Judge;
use crate::journal::chain::{self, Head};
use crate::journal::disk::Disk;
use crate::journal::flushed_note;
use crate::journal::frame::{Frame, SEQ_GIVEN_MAX, SEQ_MAX};
use crate::journal::layout::Layout;
use crate::journal::open::{
    OpenError, identify_to_write, not_files, read_header, segments_of_journal,
};
use crate::journal::reader::{FileReader, start_of};
use crate::journal::segment::{BadStretch, Piece, SEGMENT_HEADER_BYTES, Scan};
use crate::journal::store::ReadJournal;
use crate::record::ids::{Digest, EntryHash, JournalId, PersonKey, Seq};
use crate::record::time::Timestamp;

/// What is in the folder, before anything is changed.
pub(in crate::journal) struct Assessment {
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
        digest_of(&self.findings)
    }

    /// Entries that stay without a known flush.
    pub fn in_doubt(&self) -> u64 {
        self.head.seq.0.saturating_sub(self.known_flushed.0)
    }
}

/// The digest that names exactly these findings.
pub(super) fn digest_of(findings: &[DamageFinding]) -> Digest {
    let lines: Vec<String> = findings.iter().map(ToString::to_string).collect();
    Digest(chain::findings_digest(lines.join("\n").as_bytes()))
}

/// The digest that says of one finding that a keeper's acceptance of it was acted on, so that
/// it keeps nothing from being written any more. Not the digest of a report.
pub(super) fn digest_for_good(finding: &DamageFinding) -> Digest {
    Digest(chain::findings_digest(
        format!("for good: {finding}").as_bytes(),
    ))
}

/// An intact frame of the last segment.
pub(super) struct Mark {
    pub offset: u64,
    pub end: u64,
    pub head: Head,
    pub prev: EntryHash,
    pub following: u16,
    pub recorded_at: Timestamp,
    pub author: PersonKey,
}

pub(super) enum Found {
    Intact(Mark),
    Bad(BadStretch),
}

/// Looks at the folder without changing anything. `memory` is the newest head that anything
/// outside the journal (an index, a checkpoint, a receipt) remembers.
///
/// # Errors
/// When the folder holds no journal, a newer format, or cannot be read.
pub(in crate::journal) fn assess(
    shared: &Arc<dyn Disk>,
    layout: &Layout,
    memory: Option<Head>,
) -> Result<Assessment, OpenError> {
    let disk = &**shared;
    let note = flushed_note::bytes(disk, layout);
    let segments = segments_of_journal(disk, layout)?;
    let journal = identify_to_write(disk, layout, &segments)?.proven()?;
    assess_known(shared, layout, journal, segments, &note, memory)
}

/// The same of a journal whose id is known, and with the bytes of its `flushed` note: those must
/// have been read before the segments were listed.
pub(super) fn assess_known(
    shared: &Arc<dyn Disk>,
    layout: &Layout,
    journal: JournalId,
    segments: Vec<Seq>,
    note: &[u8],
    memory: Option<Head>,
) -> Result<Assessment, OpenError> {
    let disk = &**shared;
    let last = segments.last().copied().unwrap_or(Seq(1));
    let path = layout.segment(last);
    let strange = not_files(disk, layout).map_err(|cause| OpenError::io(&path, cause))?;
    // Where a segment was once, there was at least its first entry.
    let strangest = strange.iter().map(|(first, _)| *first).max();
    let named = strangest.unwrap_or_default().max(last);
    if named.0 > SEQ_GIVEN_MAX {
        let path = layout.segment(named);
        return Err(OpenError::NumbersUsedUp { path });
    }
    let unreadable = |cause| OpenError::Io {
        path: path.clone(),
        cause,
    };
    let header = read_header(disk, layout, last)?;
    let before = match &header {
        Ok(header) => header.before(),
        Err(_) => start_of(disk, layout, &segments).map_err(unreadable)?,
    };
    let (found, synced) = survey(disk, &path, last).map_err(unreadable)?;
    // What notes and names claim is bounded before anything is computed with it.
    let sane = |head: &Head| head.seq.0 <= SEQ_MAX;
    let note = flushed_note::of(note, journal).filter(sane);
    let memory = memory.filter(sane);
    let known = synced
        .max(Seq(last.0.saturating_sub(1)))
        .max(strangest.unwrap_or_default())
        .max(note.map_or(Seq::NONE, |head| head.seq));
    let mut judge = Judge::new(last, known, before, header.is_ok());
    let claims = Head {
        seq: Seq(last.0.saturating_sub(1)),
        hash: before.hash,
    };
    judge.header(journal, header);
    judge.walk(&found);
    let mut judged = judge.finish(&found);
    judged.remembered(&found, note);
    judged.outside_memory(shared, layout, &found, memory)?;
    let earlier = &segments[..segments.len() - 1];
    let after = join::end_of(disk, layout, earlier).map_err(unreadable)?;
    let after = after.unwrap_or_else(|| Head::empty(journal));
    // What a keeper has accepted by itself stays accepted, whatever else happens later.
    let gap = join::gap(last, after, claims);
    let gap = gap.filter(|gap| !is_accepted(disk, layout, digest_for_good(gap)));
    if let Some(gap) = gap {
        judged.not_joined(after, gap);
    }
    for (segment, found) in strange {
        let finding = DamageFinding::NotAFile { segment, found };
        if !is_accepted(disk, layout, digest_for_good(&finding)) {
            judged.findings.push(finding);
        }
    }
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
fn survey(disk: &dyn Disk, path: &Path, first: Seq) -> io::Result<(Vec<Found>, Seq)> {
    let mut scan = Scan::new(disk, path.to_path_buf(), first, SEGMENT_HEADER_BYTES as u64);
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

/// The hash of an entry, from the last segment if it is there, else by reading it; `None` if
/// it cannot be had.
pub(super) fn hash_at(
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
