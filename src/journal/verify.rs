//! Verification: reads a journal from its first byte to its last, needs no secret, changes
//! nothing, never stops at a fault, and reports everything it finds as data.
//!
//! It uses the frame, segment and chain rules and never the writer. What it cannot know is
//! whether an author was entitled to write an entry: that is asked of an [`AuthorJudge`].
//! Memory: about 50 bytes an entry, to find repeated ids.

mod finding;
mod pass;

use std::io;
use std::path::Path;

pub use finding::{Finding, Level, Wrong};

use crate::journal::chain::Head;
use crate::journal::disk::{Disk, RealDisk};
use crate::journal::flushed_note;
use crate::journal::frame::SignedFrame;
use crate::journal::layout::Layout;
use crate::journal::open::{OpenError, journal_of, segments_of_journal};
use crate::record::ids::JournalId;
use pass::Pass;

/// Judges whether the author of an entry was known and allowed to write it. Called for every
/// entry that is intact, in its place and truly signed, in order.
pub trait AuthorJudge {
    /// What is wrong, in a sentence's second half ("is signed by …"), or `None`.
    fn judge(&mut self, frame: &SignedFrame) -> Option<String>;
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
}

/// What verification found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Which journal.
    pub journal: JournalId,
    /// The newest intact entry that is in its place.
    pub head: Head,
    /// Intact entries in their places.
    pub entries: u64,
    /// Segments looked at.
    pub segments: usize,
    /// Everything found, ordered by place.
    pub findings: Vec<Finding>,
}

impl Verification {
    /// Whether nothing weighs as a fault.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.findings
            .iter()
            .all(|finding| finding.level == Level::Note)
    }
}

/// Verifies the journal in `dir`.
///
/// # Errors
/// Only when there is nothing to verify: no journal, or one in a newer format. Everything
/// else is a finding.
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
    let journal = journal_of(disk, layout, &segments)?;
    let mut remembered: Vec<(Head, &'static str)> = Vec::new();
    let outside = options.remembered.iter();
    remembered.extend(outside.map(|head| (*head, "a record kept elsewhere")));
    let note = flushed_note::read(disk, layout, journal);
    remembered.extend(note.map(|head| (head, "the note of the last clean close")));
    let mut pass = Pass::new(disk, layout, journal, remembered, options);
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
