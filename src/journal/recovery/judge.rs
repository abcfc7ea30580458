//! Decides for each fault of the last segment whether it is a tear or damage.

use std::sync::Arc;

use super::assess::{Found, Mark, hash_at};
use super::finding::DamageFinding;
use crate::journal::chain::Head;
use crate::journal::disk::Disk;
use crate::journal::layout::Layout;
use crate::journal::open::OpenError;
use crate::journal::segment::{BadStretch, SEGMENT_HEADER_BYTES, SegmentFault, SegmentHeader};
use crate::journal::store::Damage;
use crate::record::ids::{JournalId, Seq};

/// Walks what was found, deciding for each fault whether it is a tear or damage.
pub(super) struct Judge {
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
    pub fn new(segment: Seq, known: Seq, before: Head, linked: bool) -> Judge {
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

    pub fn header(&mut self, journal: JournalId, header: Result<SegmentHeader, SegmentFault>) {
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

    pub fn walk(&mut self, found: &[Found]) {
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
    pub fn finish(self, found: &[Found]) -> Judged {
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

pub(super) struct Judged {
    pub head: Head,
    pub keep: u64,
    pub cut: Option<(u64, u64)>,
    pub findings: Vec<DamageFinding>,
}

impl Judged {
    /// Compares with the head a writer noted when it closed.
    pub fn remembered(&mut self, found: &[Found], note: Option<Head>) {
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

    /// The segment does not begin where the entries before it, up to `after`, end.
    pub fn not_joined(&mut self, after: Head, gap: DamageFinding) {
        let empty = self.keep == SEGMENT_HEADER_BYTES as u64;
        if empty || after.seq > self.head.seq {
            self.head = after;
        }
        self.findings.push(gap);
    }

    /// Compares with what is remembered outside the journal.
    pub fn outside_memory(
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
