//! Reading entries in order, around whatever is damaged.
//!
//! Invariants: an entry is handed out at most once, in ascending order, and only if its hash
//! fits and it continues the entry before (as far as that one is intact). An intact frame in
//! a place where it does not belong never hides the entries after it.

use std::io;

use crate::journal::chain::Head;
use crate::journal::frame::{Frame, Header};
use crate::journal::reader::{FileReader, View, newer_format};
use crate::journal::segment::{BadStretch, Piece, SEGMENT_HEADER_BYTES, Scan, SegmentHeader};
use crate::journal::store::{Damage, ReadError};
use crate::record::ids::Seq;

/// An iterator over the entries of a view.
pub(super) struct Walk<'r> {
    reader: &'r FileReader,
    view: View,
    /// The entry to hand out next.
    next: Seq,
    /// Index of the segment to open next.
    segment: usize,
    /// Index of the earliest segment that was looked into.
    floor: usize,
    open: Option<OpenSegment<'r>>,
    /// The entry before, when it was intact and where it belongs.
    link: Option<Head>,
    /// Damage whose extent is not known until the next intact frame.
    pending: Option<(Seq, BadStretch)>,
    /// An entry to hand out after an error about what lies before it.
    held: Option<Frame>,
    done: bool,
}

struct OpenSegment<'r> {
    first: Seq,
    scan: Scan<'r>,
    ahead: Option<Option<Piece>>,
}

impl OpenSegment<'_> {
    fn next(&mut self) -> io::Result<Option<Piece>> {
        match self.ahead.take() {
            Some(piece) => Ok(piece),
            None => self.scan.next_piece(),
        }
    }

    fn peek(&mut self) -> io::Result<Option<&Piece>> {
        if self.ahead.is_none() {
            self.ahead = Some(self.scan.next_piece()?);
        }
        Ok(self.ahead.as_ref().and_then(Option::as_ref))
    }
}

impl<'r> Walk<'r> {
    pub(super) fn new(reader: &'r FileReader, view: View, from: Seq) -> Walk<'r> {
        let next = from.max(Seq(1));
        let after = view.segments.partition_point(|first| *first <= next);
        Walk {
            reader,
            view,
            next,
            segment: after.saturating_sub(1),
            floor: after.saturating_sub(1),
            open: None,
            link: None,
            pending: None,
            held: None,
            done: false,
        }
    }

    fn step(&mut self) -> Result<Option<Frame>, ReadError> {
        if let Some(frame) = self.held.take() {
            return Ok(Some(self.hand_out(frame)));
        }
        while self.next <= self.view.head.seq {
            if self.open.is_none() && !self.open_segment()? {
                if self.fall_back()? {
                    continue;
                }
                let last = self.view.head.seq;
                return Err(self.lost_through(last));
            }
            let Some(open) = &mut self.open else { continue };
            let first = open.first;
            let piece = open.next();
            match piece.map_err(|error| self.unreadable(first, &error))? {
                None => self.end_segment()?,
                Some(Piece::Bad(bad)) => {
                    self.link = None;
                    self.pending.get_or_insert((first, bad));
                }
                Some(Piece::Frame(offset, frame)) => {
                    if let Some(frame) = self.take(first, offset, frame)? {
                        return Ok(Some(frame));
                    }
                }
            }
        }
        match self.beyond_head() {
            Some(error) => Err(error),
            None => Ok(None),
        }
    }

    /// What may lie after the head in a segment that says it is in a newer format; told once.
    fn beyond_head(&mut self) -> Option<ReadError> {
        let newer = self.view.newer_end.take()?;
        Some(ReadError::NewerFormat {
            first: self.view.head.seq.next(),
            last: newer.known.max(self.view.head.seq),
            open_end: true,
            segment: newer.segment,
            found: newer.found,
        })
    }

    /// Opens the next segment; `false` if there is none.
    fn open_segment(&mut self) -> Result<bool, ReadError> {
        let Some(&first) = self.view.segments.get(self.segment) else {
            return Ok(false);
        };
        self.segment += 1;
        let offset = self.reader.offset_before(&self.view, first, self.next)?;
        let path = self.reader.layout().segment(first);
        if offset == SEGMENT_HEADER_BYTES as u64 && self.link.is_none() {
            let bytes = self.reader.disk().read(&path, 0, SEGMENT_HEADER_BYTES);
            let bytes = bytes.map_err(|error| self.unreadable(first, &error))?;
            self.link = SegmentHeader::parse(&bytes).ok().map(|h| h.before());
        }
        self.open = Some(OpenSegment {
            first,
            scan: Scan::new(self.reader.disk(), path, first, offset),
            ahead: None,
        });
        self.reach(first).map(|()| true)
    }

    fn end_segment(&mut self) -> Result<(), ReadError> {
        self.open = None;
        match self.view.segments.get(self.segment) {
            Some(&first) => self.reach(first),
            None => Ok(()),
        }
    }

    /// The next segment begins with `first`: whatever was expected before it is lost.
    fn reach(&mut self, first: Seq) -> Result<(), ReadError> {
        if first > self.next {
            if self.fall_back()? {
                return Ok(());
            }
            // A gap that was accepted as lost: the segment's first entry names the last one
            // before the gap, so the link cannot be checked by number.
            self.link = None;
            return Err(self.lost_through(Seq(first.0 - 1)));
        }
        self.pending = None;
        Ok(())
    }

    /// The entry expected is not in the segment whose name says so. A file that was put among
    /// the segments must hide nothing, so one before it that reaches so far is looked into.
    fn fall_back(&mut self) -> Result<bool, ReadError> {
        while let Some(earlier) = self.floor.checked_sub(1) {
            self.floor = earlier;
            let first = self.view.segments[earlier];
            if self.reader.reaches(&self.view, first, self.next)? {
                self.segment = earlier;
                self.open = None;
                self.link = None;
                self.pending = None;
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Judges an intact frame: hand it out, pass over it, or report.
    fn take(
        &mut self,
        segment: Seq,
        offset: u64,
        frame: Frame,
    ) -> Result<Option<Frame>, ReadError> {
        let seq = frame.seq();
        if seq < self.next {
            // Before what was asked for, or a repeat; either way only its link can matter.
            if self.link.is_none_or(|before| frame.follows(&before)) {
                self.link = Some(frame.head());
            }
            return Ok(None);
        }
        if seq > self.next {
            return self.jump(segment, offset, frame);
        }
        self.pending = None;
        match self.link {
            Some(before) if before.seq.next() == seq && before.hash != frame.header().prev => {
                self.link = None;
                self.next = seq.next();
                let what = Damage::Link {
                    expected: before.hash,
                    found: frame.header().prev,
                };
                Err(damaged(
                    seq,
                    seq,
                    segment,
                    offset,
                    Some(frame.header()),
                    what,
                ))
            }
            _ => Ok(Some(self.hand_out(frame))),
        }
    }

    /// An intact frame further on than expected. Believed if what comes after continues it.
    fn jump(
        &mut self,
        segment: Seq,
        offset: u64,
        frame: Frame,
    ) -> Result<Option<Frame>, ReadError> {
        if frame.seq() <= self.view.head.seq && self.is_continued(segment, &frame)? {
            let lost = self.lost_through(Seq(frame.seq().0 - 1));
            self.held = Some(frame);
            return Err(lost);
        }
        self.link = None;
        let what = Damage::OutOfPlace { found: frame.seq() };
        let (seq, header) = (self.next, Some(frame.header()));
        Err(damaged(seq, seq, segment, offset, header, what))
    }

    fn is_continued(&mut self, segment: Seq, frame: &Frame) -> Result<bool, ReadError> {
        let Some(open) = &mut self.open else {
            return Ok(false);
        };
        let head = self.view.head;
        let continued = open.peek().map(|piece| match piece {
            Some(Piece::Frame(_, next)) => next.follows(&frame.head()),
            Some(Piece::Bad(_)) => true,
            None => frame.head() == head || self.view.segments.last() != Some(&segment),
        });
        continued.map_err(|error| self.unreadable(segment, &error))
    }

    fn hand_out(&mut self, frame: Frame) -> Frame {
        self.link = Some(frame.head());
        self.next = frame.seq().next();
        frame
    }

    /// The entries from the one expected to `last` cannot be had.
    fn lost_through(&mut self, last: Seq) -> ReadError {
        let first = self.next;
        self.next = last.next();
        match self.pending.take() {
            Some((segment, bad)) => {
                if let Some(found) = self.newer_format_of(segment) {
                    let open_end = false;
                    return ReadError::NewerFormat {
                        first,
                        last,
                        open_end,
                        segment,
                        found,
                    };
                }
                let what = Damage::Bytes(bad.fault);
                damaged(first, last, segment, bad.offset, bad.header.as_ref(), what)
            }
            None => ReadError::Missing { first, last },
        }
    }

    /// The format a segment says it is in, if this program does not read it.
    fn newer_format_of(&self, segment: Seq) -> Option<u16> {
        let path = self.reader.layout().segment(segment);
        let header = self.reader.disk().read(&path, 0, SEGMENT_HEADER_BYTES);
        newer_format(&header.ok()?)
    }

    /// A file that cannot be read ends the walk: there is no telling what it holds.
    fn unreadable(&mut self, segment: Seq, error: &io::Error) -> ReadError {
        self.done = true;
        let layout = self.reader.layout();
        ReadError::io(layout, &layout.segment(segment), error)
    }
}

impl Iterator for Walk<'_> {
    type Item = Result<Frame, ReadError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.done {
            return None;
        }
        let item = self.step().transpose();
        self.done |= item.is_none();
        item
    }
}

fn damaged(
    seq: Seq,
    last: Seq,
    segment: Seq,
    offset: u64,
    header: Option<&Header>,
    what: Damage,
) -> ReadError {
    ReadError::Damaged {
        seq,
        last,
        segment,
        offset,
        recorded_at: header.map(|header| header.recorded_at),
        author: header.map(|header| header.author),
        what: Box::new(what),
    }
}
