//! What a reader must know of the files before it calls a view complete. It is judged as a writer
//! would before it appends, and nothing is changed: whoever reads must not be told less than
//! whoever writes.
//!
//! A note that is behind or missing says nothing here: it is so after any copy made while
//! somebody was writing. A note that is ahead of the entries says that some are gone.

use std::sync::Arc;

use super::assess::assess_known;
use super::finding::DamageFinding;
use crate::journal::chain::Head;
use crate::journal::disk::Disk;
use crate::journal::flushed_note;
use crate::journal::layout::Layout;
use crate::journal::open::{OpenError, not_files, read_header, segments_of_journal};
use crate::journal::segment::SegmentFault;
use crate::journal::store::ReadError;
use crate::record::ids::{JournalId, Seq};

/// What is wrong with a journal's files, beside what reading its entries meets.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FileFaults {
    /// Entries after the newest one that can be read, the first and the last, which something in
    /// the folder says were on stable storage.
    pub lost_end: Option<(Seq, Seq)>,
    /// Everything else, in the order found.
    pub findings: Vec<DamageFinding>,
    /// Why the end could not be judged, if it could not.
    pub not_judged: Option<String>,
}

impl FileFaults {
    /// Nothing is wrong.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self == &FileFaults::default()
    }

    /// The entries up to `last` were there, by something that remembers them.
    pub fn were_there(&mut self, newest: Seq, last: Seq) {
        let known = self.lost_end.map_or(Seq::NONE, |(_, last)| last);
        if last > newest && last > known {
            self.lost_end = Some((newest.next(), last));
        }
    }

    fn has_bad_header(&self, wanted: Seq) -> bool {
        let is_it = |finding: &DamageFinding| matches!(finding, DamageFinding::Header { segment, .. } if *segment == wanted);
        self.findings.iter().any(is_it)
    }

    /// What is missing or in doubt by it, each a clause that ends in "is …", without what was
    /// `met` when the entries were read.
    #[must_use]
    pub fn in_words(&self, met: &[ReadError]) -> Vec<String> {
        let is_met = |seq: Seq| met.iter().any(|error| error.concerns(seq));
        let end = self.lost_end.filter(|(first, _)| !is_met(*first));
        let end = end.map(|(first, last)| {
            let entries = entries(first, last);
            format!("what was on stable storage as {entries} is missing or damaged")
        });
        let lost = self.lost_end.map(|(first, _)| first);
        let is_said = |seq: Seq| lost.is_some_and(|first| seq >= first) || is_met(seq);
        let others = self.findings.iter();
        let others = others.filter(|finding| match finding {
            DamageFinding::Entries { first, .. } | DamageFinding::Missing { first, .. } => {
                !is_said(*first)
            }
            DamageFinding::Gap { after, claims, .. } if claims.seq > after.seq => {
                !is_said(after.seq.next())
            }
            // What a damaged header says of the entry before it is no second thing.
            DamageFinding::Gap { segment, .. } => !self.has_bad_header(*segment),
            DamageFinding::Header { segment, fault } => !is_newer(met, *segment, fault),
            _ => true,
        });
        let not_judged = self.not_judged.iter();
        let not_judged = not_judged
            .map(|why| format!("whether the end of the journal is there ({why}) is unknown"));
        end.into_iter()
            .chain(others.map(clause))
            .chain(not_judged)
            .collect()
    }
}

/// Whether reading has said of this segment that it is in a newer format.
fn is_newer(met: &[ReadError], segment: Seq, fault: &SegmentFault) -> bool {
    let is_of = |error: &ReadError| matches!(error, ReadError::NewerFormat { segment: of, .. } if *of == segment);
    matches!(fault, SegmentFault::Version { .. }) && met.iter().any(is_of)
}

fn entries(first: Seq, last: Seq) -> String {
    if first >= last {
        return format!("entry {first}");
    }
    format!("entries {first} to {last}")
}

fn clause(finding: &DamageFinding) -> String {
    match finding {
        DamageFinding::Entries { first, last, .. } => {
            format!("what was recorded as {} is damaged", entries(*first, *last))
        }
        DamageFinding::Missing { first, last } => {
            format!("what was recorded as {} is missing", entries(*first, *last))
        }
        DamageFinding::Replaced { seq, expected, .. } => format!(
            "what was recorded as entry {seq} (hash {expected}) is replaced by something else"
        ),
        DamageFinding::Header { segment, fault } => {
            let segment = segment.0;
            format!("what the damaged header of segment {segment} said ({fault}) is unknown")
        }
        DamageFinding::NotAFile { segment, found } => format!(
            "what was in segment {} (there is {found} in its place) is missing",
            segment.0
        ),
        other => format!("what should be there ({other}) is unknown"),
    }
}

/// Looks at the files without changing anything. `newest` says, when asked at the end, which is
/// the newest entry that can be read.
pub(in crate::journal) fn look_at_files(
    disk: &Arc<dyn Disk>,
    layout: &Layout,
    journal: JournalId,
    newest: impl Fn() -> Seq,
) -> FileFaults {
    let mut faults = FileFaults::default();
    if let Err(error) = look(disk, layout, journal, newest, &mut faults) {
        faults.not_judged = Some(error.to_string());
    }
    faults
}

fn look(
    shared: &Arc<dyn Disk>,
    layout: &Layout,
    journal: JournalId,
    newest: impl Fn() -> Seq,
    faults: &mut FileFaults,
) -> Result<(), OpenError> {
    let disk = &**shared;
    let note = flushed_note::bytes(disk, layout);
    let segments = segments_of_journal(disk, layout)?;
    let last = segments.last().copied().unwrap_or(Seq(1));
    for &first in &segments {
        let is_last = first == last;
        if let Some(finding) = header_of(disk, layout, journal, first, is_last)? {
            faults.findings.push(finding);
        }
    }
    match assess_known(shared, layout, journal, segments, &note, None) {
        Ok(found) => {
            faults.were_there(newest(), found.known_flushed);
            let found = found.findings.into_iter();
            faults.findings.extend(found);
            Ok(())
        }
        // Of a last segment in a newer format, reading says which entries are not seen.
        Err(OpenError::NewerFormat { .. }) => {
            for (segment, found) in not_files(disk, layout).unwrap_or_default() {
                faults
                    .findings
                    .push(DamageFinding::NotAFile { segment, found });
            }
            Ok(())
        }
        Err(error) => Err(error),
    }
}

/// What is wrong with a segment's header. The last one is judged with its entries, unless it says
/// that it is in a newer format.
fn header_of(
    disk: &dyn Disk,
    layout: &Layout,
    journal: JournalId,
    segment: Seq,
    is_last: bool,
) -> Result<Option<DamageFinding>, OpenError> {
    let header = match read_header(disk, layout, segment) {
        Err(OpenError::NewerFormat { found, .. }) => {
            let fault = SegmentFault::Version { found };
            return Ok(Some(DamageFinding::Header { segment, fault }));
        }
        other => other?,
    };
    let before = Head::empty(journal);
    Ok(match header {
        _ if is_last => None,
        Err(fault) => Some(DamageFinding::Header { segment, fault }),
        Ok(header) if header.journal != journal || header.first != segment => {
            let (journal, first) = (header.journal, header.first);
            Some(DamageFinding::Foreign {
                segment,
                journal,
                first,
            })
        }
        Ok(header) if segment == Seq(1) && header.before() != before => Some(DamageFinding::Gap {
            segment,
            after: before,
            claims: header.before(),
        }),
        Ok(_) => None,
    })
}
