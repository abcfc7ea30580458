//! The walk over all segments, and what is remembered on the way.

use std::collections::HashMap;
use std::thread;

use super::finding::{Finding, Level, Wrong};
use super::{NotJudged, Progress, Verification, VerifyOptions, strangers};
use crate::journal::chain::Head;
use crate::journal::disk::{Disk, FileKind};
use crate::journal::frame::Frame;
use crate::journal::layout::Layout;
use crate::journal::open::not_files;
use crate::journal::recovery::lying_aside;
use crate::journal::sealing::{SEAL_BYTES, SEALING_CLEAR, SEALING_DATA_KEY};
use crate::journal::segment::{BadStretch, Piece, SEGMENT_HEADER_BYTES, Scan, SegmentHeader};
use crate::journal::tree::{Grown, TreeEntry};
use crate::record::ids::{EntryId, JournalId, SealKeyId, Seq};
use crate::record::time::Timestamp;

/// Frames whose signatures are checked together, shared out over threads.
const BATCH_FRAMES: usize = 1024;
/// Or this many bytes of them.
const BATCH_BYTES: usize = 4 << 20;
/// Most threads checking signatures.
const THREADS_MAX: usize = 8;

pub(super) struct Pass<'a, 'o> {
    disk: &'a dyn Disk,
    layout: &'a Layout,
    journal: JournalId,
    options: VerifyOptions<'o>,
    remembered: Vec<(Head, &'static str)>,
    findings: Vec<Finding>,
    /// The newest entry in its place.
    head: Head,
    /// Whether the next entry's link can be compared with `head`.
    linked: bool,
    /// The head before a jump in the numbers, in case the jump was the intruder.
    before_jump: Option<Head>,
    recorded_at: Option<Timestamp>,
    /// Entries of the same append that the last one announced.
    following: u16,
    /// Damage whose extent is not known until the next intact entry.
    pending: Option<(Seq, BadStretch)>,
    /// Highest entry some intact entry says was flushed.
    synced: Seq,
    ids: HashMap<EntryId, Seq>,
    batch: Vec<Placed>,
    batch_bytes: usize,
    /// Entries about which nothing is wrong.
    entries: u64,
    sealed: u64,
    looked_at: u64,
    /// The newest intact entry in its place.
    newest: Head,
    /// Whether the segment looked at last holds an intact entry.
    holds_entries: bool,
    last_segment: Option<Seq>,
    /// The tree over the entries that were judged.
    tree: Grown,
}

struct Placed {
    frame: Frame,
    segment: Seq,
    offset: u64,
    /// Whether it is where it belongs, so that the judge may take it in.
    in_place: bool,
    /// Whether something is wrong with it already.
    blamed: bool,
    /// Whether it is a leaf of the tree by itself.
    is_leaf: bool,
}

impl<'a, 'o> Pass<'a, 'o> {
    pub fn new(
        disk: &'a dyn Disk,
        layout: &'a Layout,
        journal: JournalId,
        remembered: Vec<(Head, &'static str)>,
        options: VerifyOptions<'o>,
    ) -> Pass<'a, 'o> {
        let tree = Grown::of(journal, options.tree_sizes.iter().copied());
        Pass {
            tree,
            disk,
            layout,
            journal,
            options,
            remembered,
            findings: Vec::new(),
            head: Head::empty(journal),
            linked: true,
            before_jump: None,
            recorded_at: None,
            following: 0,
            pending: None,
            synced: Seq::NONE,
            ids: HashMap::new(),
            batch: Vec::new(),
            batch_bytes: 0,
            entries: 0,
            sealed: 0,
            looked_at: 0,
            newest: Head::empty(journal),
            holds_entries: false,
            last_segment: None,
        }
    }

    pub fn unknown_files(&mut self) {
        for name in strangers(self.disk, self.layout).unwrap_or_default() {
            // Entries that lie in such a file are read by nobody.
            let finding = if Layout::looks_like_segment(&name) {
                Finding::fault(Wrong::NoSegmentName { name })
            } else {
                Finding::fault(Wrong::UnknownFile { name }).weighing(Level::Note)
            };
            self.findings.push(finding);
        }
        for (first, found) in not_files(self.disk, self.layout).unwrap_or_default() {
            let path = self.layout.segment(first);
            let mut finding = Finding::fault(not_a_file(&path, found));
            finding.segment = Some(first);
            self.findings.push(finding);
        }
        for path in [self.layout.flushed_note(), self.layout.lock()] {
            let found = self.disk.kind(&path).unwrap_or(FileKind::File);
            if found != FileKind::File {
                let finding = Finding::fault(not_a_file(&path, found));
                self.findings.push(finding.weighing(Level::Note));
            }
        }
    }

    /// No header names the journal for sure, so nothing can be held against its name.
    pub fn journal_is_not_known(&mut self) {
        self.linked = false;
    }

    pub fn all(&mut self, segments: &[Seq]) {
        for (done, &first) in segments.iter().enumerate() {
            self.segment(first);
            if let Some(progress) = &mut self.options.progress {
                progress(Progress {
                    segments_done: done + 1,
                    segments: segments.len(),
                    entries: self.looked_at,
                });
            }
        }
    }

    fn segment(&mut self, first: Seq) {
        let path = self.layout.segment(first);
        (self.holds_entries, self.last_segment) = (false, Some(first));
        let header = self.disk.read(&path, 0, SEGMENT_HEADER_BYTES);
        // Every earlier segment was flushed before this one could be there.
        self.synced = self.synced.max(Seq(first.0 - 1));
        match header {
            Ok(bytes) => self.segment_header(first, &bytes),
            Err(error) => return self.unreadable(first, &error),
        }
        let mut scan = Scan::new(self.disk, path, first, SEGMENT_HEADER_BYTES as u64);
        loop {
            match scan.next_piece() {
                Ok(None) => return,
                Ok(Some(Piece::Frame(offset, frame))) => self.frame(first, offset, frame),
                Ok(Some(Piece::Bad(bad))) => self.bad(first, bad),
                Err(error) => return self.unreadable(first, &error),
            }
        }
    }

    fn unreadable(&mut self, first: Seq, error: &std::io::Error) {
        let cause = error.to_string();
        let mut finding = Finding::fault(Wrong::Unreadable { cause });
        finding.segment = Some(first);
        self.findings.push(finding);
        self.linked = false;
    }

    fn segment_header(&mut self, first: Seq, bytes: &[u8]) {
        let next = self.head.seq.next();
        if first > next {
            self.lost(next, Seq(first.0 - 1));
        } else {
            self.stray();
        }
        if first < next {
            let (found, before) = (first, self.head.seq);
            self.segment_fault(first, Wrong::SegmentOverlaps { found, before });
        }
        match SegmentHeader::parse(bytes) {
            Err(fault) => self.segment_fault(first, Wrong::SegmentHeader(fault)),
            Ok(header) => self.segment_claims(first, &header),
        }
    }

    fn segment_claims(&mut self, name: Seq, header: &SegmentHeader) {
        if header.journal != self.journal {
            let (expected, found) = (self.journal, header.journal);
            self.segment_fault(name, Wrong::SegmentForeign { expected, found });
        }
        if header.first != name {
            let found = header.first;
            self.segment_fault(name, Wrong::SegmentMisnamed { found });
        }
        if self.linked && header.prev != self.head.hash {
            let (expected, found) = (self.head.hash, header.prev);
            self.segment_fault(name, Wrong::SegmentLink { expected, found });
        } else if !self.linked {
            // After a gap the segment's own word is all there is to hold its first entry to.
            self.head.hash = header.prev;
            self.linked = true;
        }
    }

    fn segment_fault(&mut self, segment: Seq, what: Wrong) {
        self.findings.push(Finding::fault(what).lying(segment, 0));
    }

    fn bad(&mut self, segment: Seq, bad: BadStretch) {
        // Two stretches with nothing intact between them are two faults about the same gap;
        // the first stands for both.
        self.pending.get_or_insert((segment, bad));
    }

    /// The entries from `first` to `last` are not there, or not intact. The number of the
    /// next intact entry is what says so.
    fn lost(&mut self, first: Seq, last: Seq) {
        let finding = match self.pending.take() {
            Some((segment, bad)) => {
                let finding = Finding::fault(Wrong::Bytes(bad.fault)).told_by(&bad);
                finding.lying(segment, bad.offset)
            }
            None => Finding::fault(Wrong::Missing),
        };
        self.findings.push(finding.about(first, last));
        self.linked = false;
        self.head.seq = last;
        self.following = 0;
    }

    /// Bytes that took no entry's place.
    fn stray(&mut self) {
        if let Some((segment, bad)) = self.pending.take() {
            let finding = Finding::fault(Wrong::Stray { bytes: bad.bytes }).told_by(&bad);
            self.findings.push(finding.lying(segment, bad.offset));
        }
    }

    fn frame(&mut self, segment: Seq, offset: u64, frame: Frame) {
        self.looked_at += 1;
        self.holds_entries = true;
        let faults = self.faults();
        let misnames = self.linked
            && frame.seq() == self.head.seq.next()
            && frame.header().prev != self.head.hash;
        let in_place = self.place(segment, offset, &frame);
        self.fields(segment, offset, &frame, in_place);
        let blamed = self.faults() > faults && self.blames(frame.seq(), faults);
        self.batch_bytes += frame.bytes().len();
        self.batch.push(Placed {
            frame,
            segment,
            offset,
            in_place,
            blamed,
            is_leaf: in_place && !misnames,
        });
        if self.batch.len() >= BATCH_FRAMES || self.batch_bytes >= BATCH_BYTES {
            self.signatures();
        }
    }

    /// Order and link. Returns whether the entry is where it belongs.
    fn place(&mut self, segment: Seq, offset: u64, frame: &Frame) -> bool {
        let next = self.head.seq.next();
        if frame.seq() > next {
            self.before_jump = self.pending.is_none().then_some(self.head);
            self.lost(next, Seq(frame.seq().0 - 1));
        } else {
            self.stray();
        }
        if frame.seq() < next {
            return self.out_of_order(segment, offset, frame);
        }
        if self.linked && frame.header().prev != self.head.hash {
            let (expected, found) = (self.head.hash, frame.header().prev);
            self.about(segment, offset, frame, Wrong::Link { expected, found });
        }
        self.head = frame.head();
        self.newest = self.head;
        self.linked = true;
        true
    }

    fn out_of_order(&mut self, segment: Seq, offset: u64, frame: &Frame) -> bool {
        let expected = self.head.seq.next();
        self.about(segment, offset, frame, Wrong::OutOfOrder { expected });
        match self.before_jump.take() {
            // It continues what came before the jump: the jump was the intruder.
            Some(before) if frame.follows(&before) => {
                self.head = frame.head();
                self.newest = self.head;
                true
            }
            _ => false,
        }
    }

    /// What an entry says about itself and its neighbours.
    fn fields(&mut self, segment: Seq, offset: u64, frame: &Frame, in_place: bool) {
        let header = *frame.header();
        if header.reserved != [0; 5] {
            self.about(segment, offset, frame, Wrong::Reserved);
        }
        self.sealing(segment, offset, frame);
        if header.synced_through >= header.seq {
            let found = header.synced_through;
            self.about(segment, offset, frame, Wrong::SyncedThrough { found });
        } else {
            self.synced = self.synced.max(header.synced_through);
        }
        if !in_place {
            return;
        }
        if self.following > 0 && header.following != self.following - 1 {
            let (expected, found) = (self.following - 1, header.following);
            self.about(segment, offset, frame, Wrong::Group { expected, found });
        }
        self.following = header.following;
        match self.ids.get(&header.id) {
            Some(&first) => self.about(segment, offset, frame, Wrong::RepeatedId { first }),
            None => drop(self.ids.insert(header.id, header.seq)),
        }
        if let Some(before) = self.recorded_at.filter(|at| header.recorded_at < *at) {
            let finding = located(segment, offset, frame, Wrong::ClockBackwards { before });
            self.findings.push(finding.weighing(Level::Note));
        }
        self.recorded_at = Some(header.recorded_at);
        self.compare(segment, offset, frame);
    }

    /// That a sealed payload is one as far as it can be seen without its key, and that one in clear
    /// names none.
    fn sealing(&mut self, segment: Seq, offset: u64, frame: &Frame) {
        let header = frame.header();
        let keyed = header.seal_key != SealKeyId::ZERO && header.seal_nonce != [0; 24];
        let unkeyed = header.seal_key == SealKeyId::ZERO && header.seal_nonce == [0; 24];
        let holds = match header.sealing {
            SEALING_CLEAR => unkeyed,
            SEALING_DATA_KEY => keyed && frame.payload().len() >= SEAL_BYTES,
            _ => false,
        };
        if !holds {
            self.about(segment, offset, frame, Wrong::Sealing);
        }
        self.sealed += u64::from(header.sealing != SEALING_CLEAR);
    }

    fn compare(&mut self, segment: Seq, offset: u64, frame: &Frame) {
        let known = self.remembered.iter();
        let differing: Vec<_> = known
            .filter(|(head, _)| head.seq == frame.seq() && head.hash != frame.hash())
            .copied()
            .collect();
        for (head, known_from) in differing {
            let what = Wrong::Replaced {
                known_from,
                expected: head.hash,
                found: frame.hash(),
            };
            self.about(segment, offset, frame, what);
        }
    }

    fn about(&mut self, segment: Seq, offset: u64, frame: &Frame, what: Wrong) {
        self.findings.push(located(segment, offset, frame, what));
    }

    /// Checks the signatures of the batch and hands the entries to the judge.
    fn signatures(&mut self) {
        let batch = std::mem::take(&mut self.batch);
        self.batch_bytes = 0;
        let threads = thread::available_parallelism().map_or(1, usize::from);
        let share = batch.len().div_ceil(threads.min(THREADS_MAX)).max(1);
        let mut holds = vec![false; batch.len()];
        thread::scope(|scope| {
            for (frames, holds) in batch.chunks(share).zip(holds.chunks_mut(share)) {
                scope.spawn(move || {
                    for (placed, holds) in frames.iter().zip(holds) {
                        *holds = placed.frame.signature_holds();
                    }
                });
            }
        });
        for (placed, holds) in batch.into_iter().zip(holds) {
            self.judge(placed, holds);
        }
    }

    fn judge(&mut self, placed: Placed, holds: bool) {
        let leaf = placed.is_leaf.then(|| TreeEntry::from(&placed.frame));
        self.judge_author(placed, holds);
        if let Some(leaf) = leaf {
            self.tree.take(&leaf);
        }
    }

    fn judge_author(&mut self, placed: Placed, holds: bool) {
        let (segment, offset) = (placed.segment, placed.offset);
        if !holds {
            return self.about(segment, offset, &placed.frame, Wrong::Signature);
        }
        let counts = placed.in_place && !placed.blamed;
        let Some(judge) = self.options.judge.as_mut().filter(|_| placed.in_place) else {
            self.entries += u64::from(counts);
            return;
        };
        let Ok(signed) = placed.frame.check_signature() else {
            return;
        };
        match judge.judge_after(&signed, &self.tree) {
            Some(words) => self.about(segment, offset, &signed, Wrong::Author(words)),
            None => self.entries += u64::from(counts),
        }
    }

    fn faults(&self) -> usize {
        self.findings.len()
    }

    /// Whether one of the findings from `since` on is a fault of this entry itself.
    fn blames(&self, seq: Seq, since: usize) -> bool {
        self.findings[since..].iter().any(|finding| {
            finding.level == Level::Fault && finding.seq == Some(seq) && finding.last == Some(seq)
        })
    }

    /// What the end of the journal says, and everything in order.
    pub fn finish(mut self, segments: usize) -> Verification {
        self.signatures();
        self.not_judged();
        self.end();
        self.findings
            .sort_by_key(|finding| (finding.segment, finding.offset, finding.seq));
        Verification {
            journal: self.journal,
            head: self.newest,
            entries: self.entries,
            sealed: self.sealed,
            segments,
            tree_size: self.tree.size(),
            tree_root: self.tree.root(),
            tree_roots: self.tree.roots().clone(),
            findings: self.findings,
            aside: lying_aside(self.disk, self.layout),
        }
    }

    fn not_judged(&mut self) {
        let judge = self.options.judge.as_ref();
        for NotJudged {
            kind,
            entries,
            first,
        } in judge.map_or_else(Vec::new, |judge| judge.not_judged())
        {
            let finding = Finding::fault(Wrong::NotJudged { kind, entries });
            let finding = finding.about(first, first);
            self.findings.push(finding.weighing(Level::Unjudged));
        }
    }

    fn end(&mut self) {
        let next = self.head.seq.next();
        let level = if next <= self.acknowledged() {
            Level::Fault
        } else {
            Level::End
        };
        let torn = self.pending.is_some() || self.following > 0;
        if let Some((segment, bad)) = self.pending.take() {
            let (bytes, fault) = (bad.bytes, bad.fault);
            let finding = Finding::fault(Wrong::TornTail { bytes, fault }).told_by(&bad);
            let finding = finding.about(next, next).lying(segment, bad.offset);
            self.findings.push(finding.weighing(level));
        } else if self.following > 0 {
            let missing = self.following;
            let finding = Finding::fault(Wrong::TornGroup { missing });
            let finding = finding.about(self.head.seq, self.head.seq);
            self.findings.push(finding.weighing(level));
        }
        if !torn {
            self.vouched();
        }
        for (head, known_from) in self.remembered.clone() {
            if head.seq > self.head.seq {
                let finding = Finding::fault(Wrong::MissingAtEnd { known_from });
                self.findings.push(finding.about(next, head.seq));
            }
        }
    }

    /// Whether anything outside the entries says that the newest one here is the newest there was.
    fn vouched(&mut self) {
        if !self.holds_entries {
            let mut finding = Finding::fault(Wrong::NoEntryInLast).weighing(Level::End);
            finding.segment = self.last_segment;
            self.findings.push(finding);
        }
        let newest = self.newest;
        if self.remembered.iter().any(|(head, _)| *head == newest) {
            return;
        }
        let why = match self.remembered.iter().map(|(head, _)| head.seq).max() {
            None => "there is no `flushed` note, and no number and hash noted elsewhere was given",
            Some(seq) if seq < newest.seq => {
                "the `flushed` note, or what was noted elsewhere, is of an earlier entry"
            }
            // Another hash or a later entry: that is a fault already.
            Some(_) => return,
        };
        let finding = Finding::fault(Wrong::EndNotVouched { why });
        let finding = finding.about(newest.seq, newest.seq);
        self.findings.push(finding.weighing(Level::End));
    }

    /// Highest entry that anything says was flushed.
    fn acknowledged(&self) -> Seq {
        let remembered = self.remembered.iter().map(|(head, _)| head.seq).max();
        self.synced.max(remembered.unwrap_or_default())
    }
}

fn not_a_file(path: &std::path::Path, found: FileKind) -> Wrong {
    let name = path.file_name().unwrap_or_default();
    let name = name.to_string_lossy().into_owned();
    Wrong::NotAFile { name, found }
}

fn located(segment: Seq, offset: u64, frame: &Frame, what: Wrong) -> Finding {
    let mut finding = Finding::fault(what);
    finding.recorded_at = Some(frame.header().recorded_at);
    finding.author = Some(frame.header().author);
    finding
        .about(frame.seq(), frame.seq())
        .lying(segment, offset)
}
