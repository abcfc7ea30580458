//! Which entries there are about a patient or about the ward, and whether each still stands.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::held::Author;
use crate::record::codec;
use crate::record::entry::Entry;
use crate::record::envelope::Envelope;
use crate::record::ids::Seq;
use crate::record::kind::Body;
use crate::record::kind::ward::{AmendmentAct, AmendmentCause, Replacement};
use crate::record::time::Timestamp;

/// One entry in a timeline.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LogLine {
    /// The entry.
    pub seq: Seq,
    /// Kind, by number; a number this program does not know is an entry of a newer one.
    pub kind: u16,
    /// When it happened; when it was recorded, if the entry cannot be read.
    pub occurred_at: Timestamp,
    /// When it was written.
    pub recorded_at: Timestamp,
    /// Who wrote it.
    pub author: Author,
    /// This program can read it.
    pub readable: bool,
    /// It does not count as its author's word: only what it opens counts.
    pub limited: bool,
}

/// Whether an entry still stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// As written.
    Stands,
    /// Corrected by another entry; the original stays readable.
    Corrected {
        /// The amendment.
        by: Seq,
    },
    /// Withdrawn by another entry; the original stays readable, struck through.
    Withdrawn {
        /// The amendment.
        by: Seq,
        /// Why.
        cause: AmendmentCause,
        /// The entry in the right record.
        entered_anew: Option<Seq>,
    },
}

/// One amendment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Amending {
    pub(super) seq: Seq,
    pub(super) target: Seq,
    pub(super) act: AmendmentAct,
    pub(super) cause: AmendmentCause,
    entered_anew: Option<Seq>,
    replacement: Option<Replacement>,
}

/// The entries about one patient or about the ward, in the order recorded.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Log {
    lines: Vec<LogLine>,
    amendments: Vec<Amending>,
}

impl Log {
    /// Every entry, in the order recorded.
    #[must_use]
    pub fn lines(&self) -> &[LogLine] {
        &self.lines
    }

    pub(super) fn push(&mut self, line: LogLine) {
        self.lines.push(line);
    }

    /// The line of an entry, if it is here.
    #[must_use]
    pub fn line(&self, seq: Seq) -> Option<&LogLine> {
        let at = self.lines.binary_search_by_key(&seq, |line| line.seq);
        at.ok().and_then(|at| self.lines.get(at))
    }

    /// Whether an entry is here.
    #[must_use]
    pub fn holds(&self, seq: Seq) -> bool {
        self.line(seq).is_some()
    }

    /// Lets an entry count that did not count as written so far.
    pub(super) fn let_count(&mut self, seq: Seq) {
        let at = self.lines.binary_search_by_key(&seq, |line| line.seq);
        if let Some(line) = at.ok().and_then(|at| self.lines.get_mut(at)) {
            line.limited = false;
        }
    }

    /// Takes note of an amendment; says whether anything here changes by it.
    pub(super) fn amend(&mut self, entry: &Entry) -> bool {
        let Body::Amendment(amendment) = &entry.body else {
            return false;
        };
        if !self.holds(amendment.target) || amendment.target >= entry.seq {
            return false;
        }
        // One that counts only later has its place among those after it.
        let at = self.amendments.partition_point(|one| one.seq < entry.seq);
        let amending = Amending {
            seq: entry.seq,
            target: amendment.target,
            act: amendment.act,
            cause: amendment.cause,
            entered_anew: amendment.entered_anew,
            replacement: amendment.replacement.clone(),
        };
        self.amendments.insert(at, amending);
        true
    }

    /// Every amendment of an entry here, in the order recorded.
    pub(super) fn amendments(&self) -> &[Amending] {
        &self.amendments
    }

    /// The amendments that stand, by what they amend; the newest one of each target. An
    /// amendment can only be amended by a later one, so the newest are settled first.
    pub(super) fn standing(&self) -> BTreeMap<Seq, &Amending> {
        let mut standing: BTreeMap<Seq, &Amending> = BTreeMap::new();
        for amending in self.amendments.iter().rev() {
            let withdrawn = standing
                .get(&amending.seq)
                .is_some_and(|by| by.act == AmendmentAct::Withdraw);
            if !withdrawn {
                standing.entry(amending.target).or_insert(amending);
            }
        }
        standing
    }

    /// Whether an entry still stands.
    #[must_use]
    pub fn standing_of(&self, seq: Seq) -> Standing {
        match self.standing().get(&seq) {
            None => Standing::Stands,
            Some(by) => verdict(by),
        }
    }

    /// Whether each entry still stands, for a whole timeline at once.
    #[must_use]
    pub fn standings(&self) -> BTreeMap<Seq, Standing> {
        self.standing()
            .into_iter()
            .map(|(seq, by)| (seq, verdict(by)))
            .collect()
    }

    /// An entry as the correction in force would have it, for showing beside the original.
    #[must_use]
    pub fn as_corrected(&self, entry: &Entry) -> Option<Entry> {
        let standing = self.standing();
        let by = standing
            .get(&entry.seq)
            .filter(|by| by.act == AmendmentAct::Correct)?;
        Some(corrected(entry.clone(), by.replacement.as_ref()))
    }
}

/// The entry as it counts now: `None` if withdrawn, with other fields if corrected.
pub(super) fn effective(standing: &BTreeMap<Seq, &Amending>, entry: Entry) -> Option<Entry> {
    match standing.get(&entry.seq) {
        None => Some(entry),
        Some(by) if by.act == AmendmentAct::Withdraw => None,
        Some(by) => Some(corrected(entry, by.replacement.as_ref())),
    }
}

fn verdict(by: &Amending) -> Standing {
    match by.act {
        AmendmentAct::Correct => Standing::Corrected { by: by.seq },
        AmendmentAct::Withdraw => Standing::Withdrawn {
            by: by.seq,
            cause: by.cause,
            entered_anew: by.entered_anew,
        },
    }
}

/// What a correction says instead, if this program can read it.
pub(super) fn replaced(replacement: &Replacement) -> Option<(Envelope, Body)> {
    let Replacement {
        kind,
        version,
        payload,
    } = replacement;
    codec::decode(*kind, *version, codec::ENCODING, payload).ok()
}

/// A correction that cannot be read, or is of another kind, leaves the original as it was:
/// the timeline still shows that there is one.
fn corrected(mut entry: Entry, replacement: Option<&Replacement>) -> Entry {
    if let Some((envelope, body)) = replacement.and_then(replaced)
        && body.kind() == entry.kind()
    {
        entry.envelope = envelope;
        entry.body = body;
    }
    entry
}
