//! One append-only file: a header that says which journal it belongs to and where in it,
//! then frames with nothing between. Reads around whatever is damaged, in bounded memory.

use std::io;
use std::path::PathBuf;

use crate::journal::chain::{self, Head};
use crate::journal::disk::{CHUNK_BYTES, Disk};
use crate::journal::frame::{
    FORMAT_VERSION, FRAME_BYTES_MAX, Frame, FrameFault, HEADER_BYTES, Header, MAGIC, SEQ_MAX,
};
use crate::record::ids::{EntryHash, JournalId, Seq, to_hex};

/// How every segment begins.
const SEGMENT_MAGIC: [u8; 8] = *b"handfast";
/// Bytes of a segment before its first frame.
pub const SEGMENT_HEADER_BYTES: usize = at::END;

/// Further from a segment's first entry than this no entry of it can be: the bytes between
/// would fill a thousand gigabytes. An intact frame with such a number was made up.
const SEGMENT_ENTRIES_MAX: u64 = 1 << 32;

/// Bytes a walk reads at first.
const READ_FIRST_BYTES: usize = 96 * 1024;

/// Offsets in the segment header.
mod at {
    pub const MAGIC: usize = 0;
    pub const VERSION: usize = MAGIC + 8;
    pub const HEADER_LEN: usize = VERSION + 2;
    pub const RESERVED: usize = HEADER_LEN + 2;
    pub const JOURNAL: usize = RESERVED + 4;
    pub const FIRST: usize = JOURNAL + 16;
    pub const PREV: usize = FIRST + 8;
    pub const CHECK: usize = PREV + 32;
    pub const END: usize = CHECK + 32;
}

const _: () = assert!(SEGMENT_HEADER_BYTES == 104);

/// What a segment says about itself. Its being there also says that every entry before
/// `first` was flushed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SegmentHeader {
    /// The journal it belongs to.
    pub journal: JournalId,
    /// Number of its first entry.
    pub first: Seq,
    /// Hash of the entry before.
    pub prev: EntryHash,
}

/// Why a segment's beginning is not a segment header.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SegmentFault {
    /// Not a segment at all.
    #[error("the file does not begin as a segment (found {found})")]
    Magic {
        /// The first bytes, in hexadecimal.
        found: String,
    },
    /// Written by a newer program.
    #[error("the segment is in format {found}; this program reads format {FORMAT_VERSION}")]
    Version {
        /// The format it says.
        found: u16,
    },
    /// Too short to hold a header.
    #[error("the file has {found} bytes; a segment header alone has {SEGMENT_HEADER_BYTES}")]
    Incomplete {
        /// Bytes that are there.
        found: usize,
    },
    /// Its check value does not fit.
    #[error("the segment header was altered")]
    Check,
}

impl SegmentHeader {
    /// The header's bytes.
    pub(super) fn encode(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(SEGMENT_HEADER_BYTES);
        out.extend_from_slice(&SEGMENT_MAGIC);
        out.extend_from_slice(&FORMAT_VERSION.to_le_bytes());
        out.extend_from_slice(&(SEGMENT_HEADER_BYTES as u16).to_le_bytes());
        out.extend_from_slice(&[0; 4]);
        out.extend_from_slice(&self.journal.0);
        out.extend_from_slice(&self.first.0.to_le_bytes());
        out.extend_from_slice(&self.prev.0);
        let check = chain::segment_check(&out);
        out.extend_from_slice(&check);
        out
    }

    /// Reads and proves the header at the start of `bytes`.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn parse(bytes: &[u8]) -> Result<SegmentHeader, SegmentFault> {
        let start = &bytes[..bytes.len().min(SEGMENT_MAGIC.len())];
        if start != SEGMENT_MAGIC {
            return Err(SegmentFault::Magic {
                found: to_hex(start),
            });
        }
        // The version is looked at first: a newer header may have another length.
        if bytes.len() >= at::HEADER_LEN {
            let found = u16::from_le_bytes([bytes[at::VERSION], bytes[at::VERSION + 1]]);
            if found != FORMAT_VERSION {
                return Err(SegmentFault::Version { found });
            }
        }
        let Some(bytes) = bytes.get(..SEGMENT_HEADER_BYTES) else {
            return Err(SegmentFault::Incomplete { found: bytes.len() });
        };
        SegmentHeader::proved(bytes)
    }

    /// The journal id where it lies, whether or not the header is intact; `None` if the file is
    /// too short.
    pub(super) fn claimed_journal(bytes: &[u8]) -> Option<JournalId> {
        let id = bytes.get(at::JOURNAL..at::FIRST)?;
        id.try_into().ok().map(JournalId)
    }

    fn proved(bytes: &[u8]) -> Result<SegmentHeader, SegmentFault> {
        let (mut journal, mut first, mut prev) = ([0; 16], [0; 8], [0; 32]);
        journal.copy_from_slice(&bytes[at::JOURNAL..at::FIRST]);
        first.copy_from_slice(&bytes[at::FIRST..at::PREV]);
        prev.copy_from_slice(&bytes[at::PREV..at::CHECK]);
        let header = SegmentHeader {
            journal: JournalId(journal),
            first: Seq(u64::from_le_bytes(first)),
            prev: EntryHash(prev),
        };
        // Encoding is one-to-one, so this compares the length, the reserved bytes and the check.
        if header.encode() == bytes && (1..=SEQ_MAX).contains(&header.first.0) {
            Ok(header)
        } else {
            Err(SegmentFault::Check)
        }
    }

    /// The head the segment's first entry follows.
    #[must_use]
    pub fn before(&self) -> Head {
        Head {
            seq: Seq(self.first.0.saturating_sub(1)),
            hash: self.prev,
        }
    }
}

/// A stretch of a segment that holds no intact frame.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadStretch {
    /// Where it begins in the file.
    pub offset: u64,
    /// How many bytes it has.
    pub bytes: u64,
    /// What is wrong at its beginning.
    pub fault: FrameFault,
    /// The header there, if that at least is intact: what can still be said about the entry.
    pub header: Option<Header>,
    /// Otherwise, what the altered header there now says, if its shape is a header's.
    pub claimed: Option<Box<Header>>,
    /// Whether it reaches the end of the file.
    pub at_end: bool,
}

/// What a scan finds next.
#[derive(Debug)]
pub enum Piece {
    /// An intact frame and its offset.
    Frame(u64, Frame),
    /// Something else.
    Bad(BadStretch),
}

/// Walks a segment's frames from an offset, going on at the next intact frame after damage.
pub struct Scan<'d> {
    bytes: Window<'d>,
    first: Seq,
    at: u64,
    last_seq: Seq,
}

impl<'d> Scan<'d> {
    /// A walk over the segment at `path`, whose name says that it begins with `first`, from
    /// `offset`, which must be where a frame begins.
    #[must_use]
    pub fn new(disk: &'d dyn Disk, path: PathBuf, first: Seq, offset: u64) -> Scan<'d> {
        Scan {
            bytes: Window::new(disk, path),
            first,
            at: offset,
            last_seq: Seq::NONE,
        }
    }

    /// Where the walk stands.
    #[must_use]
    pub fn offset(&self) -> u64 {
        self.at
    }

    /// The next piece; `None` at the end of the file.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn next_piece(&mut self) -> io::Result<Option<Piece>> {
        let offset = self.at;
        let bytes = self.bytes.at(offset, FRAME_BYTES_MAX)?;
        if bytes.is_empty() {
            return Ok(None);
        }
        match Frame::check(bytes) {
            Ok(frame) if !may_hold(self.first, frame.seq()) => {
                let found = frame.seq().0;
                let header = Some(*frame.header());
                self.bad_stretch(offset, FrameFault::Number { found }, header)
                    .map(Some)
            }
            Ok(frame) => {
                self.at += frame.bytes().len() as u64;
                self.last_seq = frame.seq();
                Ok(Some(Piece::Frame(offset, frame)))
            }
            Err(fault) => {
                let header = Header::parse(bytes).ok();
                self.bad_stretch(offset, fault, header).map(Some)
            }
        }
    }

    /// The next header that can be skipped by, without proving the frame behind it; for
    /// finding places and ids cheaply. `None` at the end of the file.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn next_header(&mut self) -> io::Result<Option<(u64, Header)>> {
        loop {
            let offset = self.at;
            let bytes = self.bytes.at(offset, FRAME_BYTES_MAX)?;
            match Header::parse(bytes) {
                Ok(header) if bytes.len() >= header.frame_bytes() => {
                    self.at += header.frame_bytes() as u64;
                    if may_hold(self.first, header.seq) {
                        return Ok(Some((offset, header)));
                    }
                    continue;
                }
                // An entry still being written, or torn: not there yet.
                Ok(_) => return Ok(None),
                Err(_) if bytes.is_empty() => return Ok(None),
                Err(_) => {}
            }
            let (next, at_end) = self.next_intact(offset, None)?;
            if at_end {
                return Ok(None);
            }
            self.at = next;
        }
    }

    fn bad_stretch(
        &mut self,
        offset: u64,
        fault: FrameFault,
        header: Option<Header>,
    ) -> io::Result<Piece> {
        let claimed = match fault {
            FrameFault::HeaderCheck => {
                Header::claimed(self.bytes.at(offset, HEADER_BYTES)?).map(Box::new)
            }
            _ => None,
        };
        let (end, at_end) = self.next_intact(offset, header.as_ref())?;
        self.at = end;
        Ok(Piece::Bad(BadStretch {
            offset,
            bytes: end - offset,
            fault,
            header,
            claimed,
            at_end,
        }))
    }

    /// Where reading can go on after a bad frame at `offset`, and whether that is the end.
    fn next_intact(&mut self, offset: u64, header: Option<&Header>) -> io::Result<(u64, bool)> {
        // An intact header tells the length. Trusting it first keeps bytes inside a damaged
        // payload that look like a frame from being taken for one.
        if let Some(header) = header {
            let after = offset + header.frame_bytes() as u64;
            let next = self.bytes.at(after, HEADER_BYTES)?;
            if Header::parse(next).is_ok() {
                return Ok((after, false));
            }
        }
        let mut from = offset + 1;
        loop {
            let window = self.bytes.at(from, FRAME_BYTES_MAX)?;
            if window.len() < MAGIC.len() {
                return Ok((from + window.len() as u64, true));
            }
            let Some(found) = find_magic(window) else {
                from += (window.len() - MAGIC.len() + 1) as u64;
                continue;
            };
            from += found as u64;
            let candidate = self.bytes.at(from, FRAME_BYTES_MAX)?;
            if Frame::check(candidate).is_ok_and(|frame| frame.seq() > self.last_seq) {
                return Ok((from, false));
            }
            from += 1;
        }
    }
}

/// Whether a segment that begins with `first` can hold the entry `seq`.
fn may_hold(first: Seq, seq: Seq) -> bool {
    seq.0 < first.0.saturating_add(SEGMENT_ENTRIES_MAX)
}

fn find_magic(bytes: &[u8]) -> Option<usize> {
    bytes.windows(MAGIC.len()).position(|four| four == MAGIC)
}

/// A file seen through a buffer that never grows beyond one chunk, whatever the file says.
struct Window<'d> {
    disk: &'d dyn Disk,
    path: PathBuf,
    base: u64,
    buffer: Vec<u8>,
    /// Whether the buffer ends where the file ended.
    to_end: bool,
    /// Bytes to read next time: little for one entry, a chunk for a long walk. Never less
    /// than the longest frame.
    ahead: usize,
}

const _: () = assert!(READ_FIRST_BYTES >= FRAME_BYTES_MAX);

impl<'d> Window<'d> {
    fn new(disk: &'d dyn Disk, path: PathBuf) -> Window<'d> {
        Window {
            disk,
            path,
            base: 0,
            buffer: Vec::new(),
            to_end: false,
            ahead: READ_FIRST_BYTES,
        }
    }

    /// Up to `len` (at most [`FRAME_BYTES_MAX`]) bytes from `offset`; fewer only at the end of the file.
    fn at(&mut self, offset: u64, len: usize) -> io::Result<&[u8]> {
        let end = self.base + self.buffer.len() as u64;
        let inside = offset >= self.base && (offset + len as u64 <= end || self.to_end);
        if !inside {
            self.buffer = self.disk.read(&self.path, offset, self.ahead)?;
            self.base = offset;
            self.to_end = self.buffer.len() < self.ahead;
            self.ahead = (self.ahead * 2).min(CHUNK_BYTES);
        }
        let start = usize::try_from(offset - self.base).unwrap_or(usize::MAX);
        let rest = self.buffer.get(start..).unwrap_or_default();
        Ok(&rest[..rest.len().min(len)])
    }
}
