//! Which entry ids the journal already has, so that appending twice is one entry.

use std::collections::HashMap;
use std::io;

use crate::journal::disk::Disk;
use crate::journal::layout::Layout;
use crate::journal::reader::View;
use crate::journal::segment::{SEGMENT_HEADER_BYTES, Scan};
use crate::record::ids::{EntryId, Seq};

/// Every entry id up to some place, gathered from frame headers when first asked.
#[derive(Debug, Default)]
pub(super) struct EntryIds {
    places: HashMap<EntryId, Seq>,
    /// Segment and offset up to which ids were gathered.
    gathered: Option<(Seq, u64)>,
}

impl EntryIds {
    /// Where the entry with this id is, up to the view's head.
    ///
    /// # Errors
    /// When a segment cannot be read.
    pub fn find(
        &mut self,
        disk: &dyn Disk,
        layout: &Layout,
        view: &View,
        id: EntryId,
    ) -> io::Result<Option<Seq>> {
        self.catch_up(disk, layout, view)?;
        let found = self.places.get(&id).copied();
        Ok(found.filter(|seq| *seq <= view.head.seq))
    }

    /// Entries just appended, so that they need not be read back.
    pub fn note(&mut self, before: (Seq, u64), after: (Seq, u64), entries: &[(EntryId, Seq)]) {
        if self.gathered == Some(before) {
            self.places.extend(entries.iter().copied());
            self.gathered = Some(after);
        }
    }

    fn catch_up(&mut self, disk: &dyn Disk, layout: &Layout, view: &View) -> io::Result<()> {
        let (from, offset) = self.gathered.unwrap_or_default();
        if view.segments.last() == Some(&from) && offset == view.end {
            return Ok(());
        }
        let start = SEGMENT_HEADER_BYTES as u64;
        for &first in &view.segments[view.segments.partition_point(|first| *first < from)..] {
            let at = if first == from { offset } else { start };
            let end = self.gather(disk, layout, first, at, view.head.seq)?;
            self.gathered = Some((first, end));
        }
        Ok(())
    }

    /// Takes up the ids of one segment from `offset` to `last`; returns where it stopped.
    fn gather(
        &mut self,
        disk: &dyn Disk,
        layout: &Layout,
        first: Seq,
        offset: u64,
        last: Seq,
    ) -> io::Result<u64> {
        let mut scan = Scan::new(disk, layout.segment(first), offset);
        let mut end = offset;
        while let Some((_, header)) = scan.next_header()? {
            if header.seq > last {
                break;
            }
            // The first entry with an id is the entry.
            self.places.entry(header.id).or_insert(header.seq);
            end = scan.offset();
        }
        Ok(end)
    }
}
