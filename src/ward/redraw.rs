//! Drawing one record anew from the entries in it that still stand, after an amendment.

use std::borrow::Cow;

use super::held::Stamp;
use super::log::{self, Log, LogLine};
use super::patient::Patient;
use super::{Common, EntrySource, Loss, Ward, proof};
use crate::record::entry::Entry;
use crate::record::ids::{Pseudonym, Seq};
use crate::record::kind::{Body, Kind};

impl Loss {
    /// What drawing a record anew could and could not read.
    fn note(&mut self, drawn: &StandingEntries) {
        for seq in &drawn.read {
            self.since_read.remove(seq);
        }
        self.since_read.extend(&drawn.lost);
    }
}

/// The entries from which a record is drawn anew, and those that cannot be read any more.
#[derive(Default)]
struct StandingEntries {
    entries: Vec<StandingEntry>,
    read: Vec<Seq>,
    lost: Vec<Seq>,
}

struct StandingEntry {
    entry: Entry,
    stamp: Stamp,
    limited: bool,
}

impl StandingEntry {
    /// What of it counts.
    fn counted(&self, is_on_ward: bool) -> Option<Cow<'_, Body>> {
        proof::counted(&self.entry.body, self.limited, is_on_ward)
    }
}

impl Ward {
    /// One record as its standing entries have it.
    pub(crate) fn redraw(&mut self, of: Option<Pseudonym>, source: &dyn EntrySource) {
        match of {
            Some(patient) => self.redraw_patient(patient, source),
            None => self.redraw_common(source),
        }
    }

    fn redraw_patient(&mut self, pseudonym: Pseudonym, source: &dyn EntrySource) {
        let Some(old) = self.patients.get_mut(&pseudonym) else {
            return;
        };
        let mut fresh = Patient::new(pseudonym);
        // A wound's number is never used again, not even after its entry was withdrawn.
        fresh.wound_numbers_used = old.wound_numbers_used;
        fresh.wound_numbers = std::mem::take(&mut old.wound_numbers);
        fresh.log = std::mem::take(&mut old.log);
        let zone = self.zone();
        self.common.forget_steps(Some(pseudonym));
        let standing = self.standing_entries(&fresh.log, source, |_| true);
        for one in &standing.entries {
            match one.counted(fresh.is_current()).as_deref() {
                Some(Body::HandoverStep(step)) => {
                    self.common.step(Some(pseudonym), &one.stamp, step);
                }
                Some(body) => fresh.take(&one.stamp, body, zone),
                None => {}
            }
        }
        self.patients.insert(pseudonym, fresh);
        self.loss.note(&standing);
    }

    fn redraw_common(&mut self, source: &dyn EntrySource) {
        let mut fresh = Common {
            log: std::mem::take(&mut self.common.log),
            ..Common::default()
        };
        let zone = self.zone();
        let own = self.standing_entries(&fresh.log, source, |_| true);
        for one in &own.entries {
            match one.counted(false).as_deref() {
                Some(Body::HandoverStep(step)) => fresh.step(None, &one.stamp, step),
                Some(body) => fresh.take(&one.stamp, body, zone),
                None => {}
            }
        }
        let mut drawn = vec![own];
        // Steps of handovers that name a patient lie in that patient's log.
        let is_step = |line: &LogLine| line.kind == Kind::HandoverStep.code() && !line.limited;
        for patient in self.patients.values() {
            let steps = self.standing_entries(&patient.log, source, is_step);
            for one in &steps.entries {
                if let Body::HandoverStep(step) = &one.entry.body {
                    fresh.step(Some(patient.pseudonym), &one.stamp, step);
                }
            }
            drawn.push(steps);
        }
        self.common = fresh;
        drawn.iter().for_each(|drawn| self.loss.note(drawn));
    }

    /// The entries of a log that stand, as they count now, of those lines that are wanted.
    fn standing_entries(
        &self,
        log: &Log,
        source: &dyn EntrySource,
        wanted: impl Fn(&LogLine) -> bool,
    ) -> StandingEntries {
        let standing = log.standing();
        let mut found = StandingEntries::default();
        for line in log.lines().iter().filter(|l| l.readable && wanted(l)) {
            let Some(entry) = source.entry(line.seq) else {
                found.lost.push(line.seq);
                continue;
            };
            found.read.push(line.seq);
            let Some(entry) = log::effective(&standing, entry) else {
                continue;
            };
            let limited = line.limited;
            let stamp = Stamp::of(&entry, line.author.clone()).limited(limited);
            found.entries.push(StandingEntry {
                entry,
                stamp,
                limited,
            });
        }
        found
    }
}
