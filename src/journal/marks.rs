//! What can cheaply be seen of the files in which the entries up to some place lie, so that
//! whoever kept something drawn from those entries can ask whether the files are untouched.
//!
//! The segment with the newest of them is compared byte for byte. Of earlier segments only
//! names, sizes and the system's times are: a disk that loses a bit in one changes none of
//! these, and only reading (`verify`) finds that.

use std::io;

use serde::{Deserialize, Serialize};

use crate::journal::chain::Head;
use crate::journal::disk::{CHUNK_BYTES, FileStamp};
use crate::journal::reader::FileReader;
use crate::journal::segment::{Piece, SEGMENT_HEADER_BYTES, Scan};
use crate::record::ids::{Digest, Seq};

/// The files up to an entry, as they were.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct SegmentMarks {
    /// First entry of the segment the entry lies in.
    first: Seq,
    /// Where in it the entry ends.
    end: u64,
    /// Digest of the segment's bytes up to there.
    bytes: Digest,
    /// Digest over names, sizes and times of the segments before it.
    earlier: Digest,
}

impl FileReader {
    /// The files up to an entry; `None` if the entry is not there in that form, or a file
    /// cannot be read.
    #[must_use]
    pub fn marks(&self, head: Head) -> Option<SegmentMarks> {
        let (first, end) = self.place_of(head).ok()??;
        self.look_at(first, end).ok()
    }

    /// Whether the files up to the marked place are, as far as can be seen, untouched.
    #[must_use]
    pub fn still_holds(&self, marks: &SegmentMarks) -> bool {
        self.look_at(marks.first, marks.end)
            .is_ok_and(|now| now == *marks)
    }

    fn place_of(&self, head: Head) -> io::Result<Option<(Seq, u64)>> {
        let view = self.view();
        let Some(&first) = view.segments.iter().rfind(|first| **first <= head.seq) else {
            return Ok(None);
        };
        let path = self.layout().segment(first);
        let mut scan = Scan::new(self.disk(), path, first, SEGMENT_HEADER_BYTES as u64);
        while let Some(piece) = scan.next_piece()? {
            if matches!(&piece, Piece::Frame(_, frame) if frame.head() == head) {
                return Ok(Some((first, scan.offset())));
            }
        }
        Ok(None)
    }

    fn look_at(&self, first: Seq, end: u64) -> io::Result<SegmentMarks> {
        let mut earlier = blake3::Hasher::new();
        for &segment in self.view().segments.iter().filter(|s| **s < first) {
            let stamp = self.disk().stamp(&self.layout().segment(segment))?;
            let FileStamp {
                bytes,
                modified,
                changed,
            } = stamp;
            earlier.update(&segment.0.to_le_bytes());
            earlier.update(&bytes.to_le_bytes());
            for (seconds, nanos) in [modified, changed] {
                earlier.update(&seconds.to_le_bytes());
                earlier.update(&nanos.to_le_bytes());
            }
        }
        Ok(SegmentMarks {
            first,
            end,
            bytes: self.digest_of(first, end)?,
            earlier: Digest(*earlier.finalize().as_bytes()),
        })
    }

    fn digest_of(&self, first: Seq, end: u64) -> io::Result<Digest> {
        let path = self.layout().segment(first);
        let mut hasher = blake3::Hasher::new();
        let mut at = 0;
        while at < end {
            let wanted = usize::try_from(end - at).unwrap_or(CHUNK_BYTES);
            let bytes = self.disk().read(&path, at, wanted.min(CHUNK_BYTES))?;
            if bytes.is_empty() {
                break;
            }
            at += bytes.len() as u64;
            hasher.update(&bytes);
        }
        Ok(Digest(*hasher.finalize().as_bytes()))
    }
}
