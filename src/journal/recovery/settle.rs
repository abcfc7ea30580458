//! Acting on an assessment.

use std::io;
use std::path::Path;

use super::acceptance::{accept, is_accepted};
use super::assess::{Assessment, digest_for_good};
use super::finding::DamageFinding;
use super::{CutTail, RecoveryReport, join};
use crate::journal::chain::Head;
use crate::journal::disk::{CHUNK_BYTES, Disk, DiskFile, replace_file};
use crate::journal::frame::SEQ_GIVEN_MAX;
use crate::journal::layout::Layout;
use crate::journal::open::OpenError;
use crate::journal::segment::{SEGMENT_HEADER_BYTES, SegmentHeader};
use crate::record::ids::Seq;

/// What is left for the writer after [`settle`].
pub(in crate::journal) struct Settled {
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
pub(in crate::journal) fn settle(
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
    settled.head.seq = highest_acknowledged(assessment);
    let header = SegmentHeader {
        journal: assessment.journal,
        first: settled.head.seq.next(),
        prev: settled.head.hash,
    };
    let path = layout.segment(header.first);
    if header.first.0 > SEQ_GIVEN_MAX {
        return Err(OpenError::NumbersUsedUp { path });
    }
    for finding in &assessment.findings {
        if matches!(finding, DamageFinding::NotAFile { .. }) {
            accept_for_good(disk, layout, finding)?;
        }
    }
    accept_gap(disk, layout, assessment, &header)?;
    make_segment(disk, layout, &header).map_err(|cause| OpenError::io(&path, cause))?;
    if settled.segments.last() != Some(&header.first) {
        settled.segments.push(header.first);
        settled.segments.sort_unstable();
    }
    settled.end = SEGMENT_HEADER_BYTES as u64;
    settled.report.head = settled.head;
    Ok(settled)
}

/// Notes of one finding that its acceptance was acted on.
fn accept_for_good(
    disk: &dyn Disk,
    layout: &Layout,
    finding: &DamageFinding,
) -> Result<(), OpenError> {
    let digest = digest_for_good(finding);
    if is_accepted(disk, layout, digest) {
        return Ok(());
    }
    accept(disk, layout, digest)
}

/// The highest number that anything says was acknowledged.
fn highest_acknowledged(assessment: &Assessment) -> Seq {
    let last = assessment.segments.last().copied();
    let claimed = assessment.findings.iter().map(|finding| match finding {
        DamageFinding::Missing { last, .. } | DamageFinding::Entries { last, .. } => *last,
        // The segment stays as it is, so its name cannot be taken by the new one.
        DamageFinding::Gap { segment, .. } if Some(*segment) == last => *segment,
        _ => Seq::NONE,
    });
    let highest = claimed.max().unwrap_or_default();
    highest
        .max(assessment.head.seq)
        .max(assessment.known_flushed)
}

/// The keeper has accepted what makes this segment begin after a gap, so the gap itself is
/// accepted too: noted before the segment is there, so that a crash between leaves no segment
/// that nobody accepted.
fn accept_gap(
    disk: &dyn Disk,
    layout: &Layout,
    assessment: &Assessment,
    header: &SegmentHeader,
) -> Result<(), OpenError> {
    let earlier: Vec<Seq> = {
        let all = assessment.segments.iter().copied();
        all.filter(|first| *first != header.first).collect()
    };
    let end = join::end_of(disk, layout, &earlier)
        .map_err(|cause| OpenError::io(&layout.segments_dir(), cause))?;
    let end = end.unwrap_or_else(|| Head::empty(assessment.journal));
    let Some(gap) = join::gap(header.first, end, header.before()) else {
        return Ok(());
    };
    accept_for_good(disk, layout, &gap)
}

pub(in crate::journal) fn report_of(
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
    to: &mut dyn DiskFile,
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
pub(in crate::journal) fn make_segment(
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
