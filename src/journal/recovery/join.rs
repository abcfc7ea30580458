//! Whether a segment begins where the one before it ended.
//!
//! A segment's being there says that every entry before its first was flushed. Believed blindly,
//! an empty file with a made-up number would make the next entries unreachable, or give numbers
//! out twice; so what it says is held against the entries that are there.

use std::io;

use super::finding::DamageFinding;
use crate::journal::chain::Head;
use crate::journal::disk::Disk;
use crate::journal::layout::Layout;
use crate::journal::segment::{Piece, SEGMENT_HEADER_BYTES, Scan};
use crate::record::ids::Seq;

/// The last intact entry that lies in these segments, by its place in the files; `None` if they
/// hold none. Segments without entries are passed over.
pub(in crate::journal) fn end_of(
    disk: &dyn Disk,
    layout: &Layout,
    segments: &[Seq],
) -> io::Result<Option<Head>> {
    for &first in segments.iter().rev() {
        let end = match last_by_headers(disk, layout, first)? {
            Some(head) => Some(head),
            None => last_intact(disk, layout, first)?,
        };
        if end.is_some() {
            return Ok(end);
        }
    }
    Ok(None)
}

/// The last frame that headers lead to, if it is intact: cheap, since no other frame is hashed.
fn last_by_headers(disk: &dyn Disk, layout: &Layout, first: Seq) -> io::Result<Option<Head>> {
    let path = layout.segment(first);
    let mut scan = Scan::new(disk, path.clone(), first, SEGMENT_HEADER_BYTES as u64);
    let mut last = None;
    while let Some((offset, _)) = scan.next_header()? {
        last = Some(offset);
    }
    let Some(offset) = last else { return Ok(None) };
    let piece = Scan::new(disk, path, first, offset).next_piece()?;
    Ok(match piece {
        Some(Piece::Frame(_, frame)) => Some(frame.head()),
        _ => None,
    })
}

fn last_intact(disk: &dyn Disk, layout: &Layout, first: Seq) -> io::Result<Option<Head>> {
    let start = SEGMENT_HEADER_BYTES as u64;
    let mut scan = Scan::new(disk, layout.segment(first), first, start);
    let mut last = None;
    while let Some(piece) = scan.next_piece()? {
        if let Piece::Frame(_, frame) = piece {
            last = Some(frame.head());
        }
    }
    Ok(last)
}

/// What is wrong between the entries that end with `after` and a segment that says it begins
/// after `claims`; `None` if they join.
pub(super) fn gap(segment: Seq, after: Head, claims: Head) -> Option<DamageFinding> {
    (after != claims).then_some(DamageFinding::Gap {
        segment,
        after,
        claims,
    })
}
