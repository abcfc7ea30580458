//! Which entry ids the journal already has, so that appending twice is one entry.
//!
//! The ids of the last segment are gathered from its frame headers. Those of a finished
//! segment are looked up in its `ids_file`; a writer makes that file where it is missing, a
//! reader keeps the ids in memory instead.

use std::collections::{HashMap, HashSet};
use std::io;

use crate::journal::disk::Disk;
use crate::journal::frame::SEQ_MAX;
use crate::journal::ids_file::{self, Looked, Of};
use crate::journal::layout::Layout;
use crate::journal::reader::View;
use crate::journal::segment::{SEGMENT_HEADER_BYTES, Scan, SegmentHeader};
use crate::record::ids::{EntryId, JournalId, Seq};

/// What is known of the journal's entry ids.
#[derive(Debug, Default)]
pub(super) struct EntryIds {
    /// Ids of the last segment.
    recent: HashMap<EntryId, Seq>,
    /// Ids of finished segments that have no ids file.
    kept: HashMap<EntryId, Seq>,
    /// Which segments those are.
    kept_segments: HashSet<Seq>,
    /// Finished segments and what their ids file must say about itself.
    named: HashMap<Seq, Of>,
    /// The last segment, and where in it gathering stopped.
    gathered: Option<(Seq, u64)>,
}

/// Where to look, and whether files may be made.
#[derive(Clone, Copy)]
pub(super) struct Place<'a> {
    pub disk: &'a dyn Disk,
    pub layout: &'a Layout,
    pub journal: JournalId,
    pub may_write: bool,
}

impl EntryIds {
    /// Where the entry with this id is, up to the view's head.
    ///
    /// # Errors
    /// When a segment cannot be read.
    pub fn find(&mut self, at: Place<'_>, view: &View, id: EntryId) -> io::Result<Option<Seq>> {
        let Some((&last, finished)) = view.segments.split_last() else {
            return Ok(None);
        };
        self.catch_up(at, view, last)?;
        let known = self.recent.get(&id).or_else(|| self.kept.get(&id));
        if let Some(seq) = known.filter(|seq| **seq <= view.head.seq) {
            return Ok(Some(*seq));
        }
        // Whoever asks again mostly does so soon: newest segments first.
        for (index, &first) in finished.iter().enumerate().rev() {
            if self.kept_segments.contains(&first) {
                continue;
            }
            let next = view.segments[index + 1];
            let found = self.find_in(at, first, next, id)?;
            if let Some(seq) = found.filter(|seq| *seq <= view.head.seq) {
                return Ok(Some(seq));
            }
        }
        Ok(None)
    }

    /// Entries just appended, so that they need not be read back.
    pub fn note(&mut self, before: (Seq, u64), after: (Seq, u64), entries: &[(EntryId, Seq)]) {
        if self.gathered == Some(before) {
            self.recent.extend(entries.iter().copied());
            self.gathered = Some(after);
        }
    }

    fn catch_up(&mut self, at: Place<'_>, view: &View, last: Seq) -> io::Result<()> {
        if self.gathered == Some((last, view.end)) {
            return Ok(());
        }
        let offset = match self.gathered {
            Some((segment, offset)) if segment == last => offset,
            // What was the last segment is finished: its ids file takes over, so that a writer
            // that runs for years does not keep every id.
            _ => {
                self.recent.clear();
                SEGMENT_HEADER_BYTES as u64
            }
        };
        let (ids, end) = gather(at, last, offset, view.head.seq)?;
        add(&mut self.recent, ids);
        self.gathered = Some((last, end));
        Ok(())
    }

    fn find_in(
        &mut self,
        at: Place<'_>,
        first: Seq,
        next: Seq,
        id: EntryId,
    ) -> io::Result<Option<Seq>> {
        let of = self.name_of(at, first, next)?;
        let looked = of.map_or(Looked::NoFile, |of| {
            ids_file::look_up(at.disk, at.layout, &of, id)
        });
        match looked {
            Looked::At(seq) => return Ok(Some(seq)),
            Looked::Absent => return Ok(None),
            Looked::NoFile => {}
        }
        let (ids, _) = gather(at, first, SEGMENT_HEADER_BYTES as u64, Seq(SEQ_MAX))?;
        let found = ids
            .iter()
            .find(|(there, _)| *there == id)
            .map(|(_, seq)| *seq);
        let written = of
            .filter(|_| at.may_write)
            .is_some_and(|of| ids_file::write(at.disk, at.layout, &of, ids.clone()).is_ok());
        if !written {
            add(&mut self.kept, ids);
            self.kept_segments.insert(first);
        }
        Ok(found)
    }

    /// What a finished segment's ids file must say about itself: the next segment knows.
    /// `None` if that one's header is damaged.
    fn name_of(&mut self, at: Place<'_>, first: Seq, next: Seq) -> io::Result<Option<Of>> {
        if let Some(of) = self.named.get(&first) {
            return Ok(Some(*of));
        }
        let path = at.layout.segment(next);
        let bytes = at.disk.read(&path, 0, SEGMENT_HEADER_BYTES)?;
        let of = SegmentHeader::parse(&bytes).ok().map(|header| Of {
            journal: at.journal,
            first,
            last_hash: header.prev,
        });
        self.named.extend(of.map(|of| (first, of)));
        Ok(of)
    }
}

/// The first entry with an id is the entry.
fn add(places: &mut HashMap<EntryId, Seq>, ids: Vec<(EntryId, Seq)>) {
    for (id, seq) in ids {
        let place = places.entry(id).or_insert(seq);
        *place = seq.min(*place);
    }
}

/// The ids in a segment from `offset` to the entry `last`, and where that ends.
fn gather(
    at: Place<'_>,
    first: Seq,
    offset: u64,
    last: Seq,
) -> io::Result<(Vec<(EntryId, Seq)>, u64)> {
    let mut scan = Scan::new(at.disk, at.layout.segment(first), first, offset);
    let (mut ids, mut end) = (Vec::new(), offset);
    while let Some((_, header)) = scan.next_header()? {
        if header.seq > last {
            break;
        }
        ids.push((header.id, header.seq));
        end = scan.offset();
    }
    Ok((ids, end))
}
