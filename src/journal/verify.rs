//! Verification: reads a journal from its first byte to its last, needs no secret, changes
//! nothing, never stops at a fault, and reports everything it finds as data.
//!
//! It uses the frame, segment and chain rules and never the writer. What it cannot know is
//! whether an author was entitled to write an entry: that is asked of an [`AuthorJudge`].
//! Memory: about 50 bytes an entry, to find repeated ids.

mod finding;
mod pass;

use std::collections::BTreeMap;
use std::io;
use std::path::Path;

pub use finding::{Finding, Level, Wrong};

use crate::journal::chain::Head;
use crate::journal::disk::{Disk, RealDisk};
use crate::journal::flushed_note;
use crate::journal::frame::SignedFrame;
use crate::journal::layout::Layout;
use crate::journal::open::{OpenError, identify_whatever_is_there, segments_of_journal};
pub use crate::journal::recovery::LyingAside;
use crate::journal::tree::Grown;
use crate::record::ids::{JournalId, Seq, TreeHash};
use pass::Pass;

/// Judges whether the author of an entry was known and allowed to write it. Called for every
/// entry that is intact, in its place and truly signed, in order.
pub trait AuthorJudge {
    /// What is wrong, in a sentence's second half ("is signed by …"), or `None`.
    fn judge(&mut self, frame: &SignedFrame) -> Option<String>;

    /// The same, told also of the tree over the entries before this one.
    fn judge_after(&mut self, frame: &SignedFrame, _before: &Grown) -> Option<String> {
        self.judge(frame)
    }

    /// Entries whose authors' rights it could not judge, asked after the last one.
    fn not_judged(&self) -> Vec<NotJudged> {
        Vec::new()
    }
}

/// Entries of one kind that a judge does not know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotJudged {
    /// The kind, by number.
    pub kind: u16,
    /// How many.
    pub entries: u64,
    /// The first of them.
    pub first: Seq,
}

impl<F: FnMut(&SignedFrame) -> Option<String>> AuthorJudge for F {
    fn judge(&mut self, frame: &SignedFrame) -> Option<String> {
        self(frame)
    }
}

/// How far verification has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Segments done.
    pub segments_done: usize,
    /// Segments there are.
    pub segments: usize,
    /// Entries looked at.
    pub entries: u64,
}

/// What to verify against.
#[derive(Default)]
pub struct VerifyOptions<'a> {
    /// Judges authors; without one, anybody may have written anything.
    pub judge: Option<&'a mut dyn AuthorJudge>,
    /// Told now and then how far it is.
    pub progress: Option<&'a mut dyn FnMut(Progress)>,
    /// Heads remembered outside the journal (checkpoints, receipts): each must be in it.
    pub remembered: Vec<Head>,
    /// Sizes of the tree whose roots are to be told.
    pub tree_sizes: Vec<u64>,
}

/// What a verification comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Every entry is as it was written, and something outside the entries vouches that the newest
    /// one here is the newest there was.
    Whole,
    /// Nothing was altered, but some entries are of kinds that this program does not know: the
    /// right to write them was not judged.
    NotAllJudged,
    /// Every entry that is there is as it was written; whether there were more is not known.
    EndNotVouchedFor,
    /// Nothing was altered in itself; but it was to be held against a checkpoint of another journal, so that was
    /// not done.
    NotTested,
    /// Something recorded was altered, removed, inserted or cannot be trusted.
    NotAsWritten,
}

/// What verification found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Which journal.
    pub journal: JournalId,
    /// The newest intact entry that is in its place.
    pub head: Head,
    /// Entries about which nothing is wrong: intact, in their places, truly signed, and by
    /// somebody who might write them.
    pub entries: u64,
    /// Entries among those looked at whose payload is sealed: checked in everything but what they say.
    pub sealed: u64,
    /// Segments looked at.
    pub segments: usize,
    /// How many leaves the tree over the entries has.
    pub tree_size: u64,
    /// Its root.
    pub tree_root: TreeHash,
    /// The roots at the sizes asked for, as far as the tree reaches.
    pub tree_roots: BTreeMap<u64, TreeHash>,
    /// Everything found, ordered by place.
    pub findings: Vec<Finding>,
    /// Torn ends that were cut at an earlier opening and lie aside.
    pub aside: Vec<LyingAside>,
}

impl Verification {
    /// Whether nothing weighs as a fault. That alone does not say that nothing was cut off the
    /// end: see [`Verification::verdict`].
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.verdict() != Verdict::NotAsWritten
    }

    /// Entries whose authors' right to write them was not judged.
    #[must_use]
    pub fn not_judged(&self) -> u64 {
        let findings = self.findings.iter();
        findings
            .map(|finding| match finding.what {
                Wrong::NotJudged { entries, .. } => entries,
                _ => 0,
            })
            .sum()
    }

    /// What it comes to.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        match self.findings.iter().map(|finding| finding.level).max() {
            None | Some(Level::Note) => Verdict::Whole,
            Some(Level::Unjudged) => Verdict::NotAllJudged,
            Some(Level::End) => Verdict::EndNotVouchedFor,
            Some(Level::Untested) => Verdict::NotTested,
            Some(Level::Fault) => Verdict::NotAsWritten,
        }
    }
}

/// Verifies the journal in `dir`.
///
/// # Errors
/// Only when there is nothing to verify: no journal, one in a newer format alone, or files in
/// which no entry can be made out. Everything else is a finding.
pub fn verify(dir: &Path, options: VerifyOptions<'_>) -> Result<Verification, OpenError> {
    verify_on(&RealDisk, &Layout::new(dir), options)
}

/// The same on any disk.
///
/// # Errors
/// As [`verify`].
pub fn verify_on(
    disk: &dyn Disk,
    layout: &Layout,
    options: VerifyOptions<'_>,
) -> Result<Verification, OpenError> {
    let segments = segments_of_journal(disk, layout)?;
    let identity = identify_whatever_is_there(disk, layout, &segments)?;
    let journal = identity.journal;
    let mut remembered: Vec<(Head, &'static str)> = Vec::new();
    let outside = options.remembered.iter();
    remembered.extend(outside.map(|head| (*head, "a record kept elsewhere")));
    let note = flushed_note::read(disk, layout, journal);
    remembered.extend(note.map(|head| (head, "the note of the last clean close")));
    let mut pass = Pass::new(disk, layout, journal, remembered, options);
    if identity.doubt.is_some() {
        pass.journal_is_not_known();
    }
    pass.unknown_files();
    pass.all(&segments);
    Ok(pass.finish(segments.len()))
}

/// Names in `segments/` that are no segments, nor ones that were never finished.
fn strangers(disk: &dyn Disk, layout: &Layout) -> io::Result<Vec<String>> {
    let names = disk.list(&layout.segments_dir())?;
    Ok(names
        .into_iter()
        .filter(|name| Layout::first_of(name).is_none() && !Layout::is_building(name))
        .collect())
}
