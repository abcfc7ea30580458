//! What is open. Nothing in this list may be missing from a handover sheet.

use super::samples::ResultLife;
use super::{Patient, Ward};
use crate::record::ids::{Pseudonym, Seq};
use crate::record::time::Timestamp;

/// Which ledger an open item is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum OpenSort {
    /// An alert that is not closed.
    Alert,
    /// An escalation that is not closed.
    Escalation,
    /// A task that should have been done.
    OverdueTask,
    /// A result nobody has looked at.
    UnreviewedResult,
    /// A supply that has not reached the patient.
    UndeliveredSupply,
}

/// Something open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct OpenItem {
    /// Which ledger.
    pub sort: OpenSort,
    /// The entry that opened it.
    pub seq: Seq,
    /// The patient, if any.
    pub patient: Option<Pseudonym>,
}

impl Ward {
    /// Critical results nobody has looked at, also of patients who have left; the one that has
    /// waited longest first.
    #[must_use]
    pub fn critical_unseen(&self) -> Vec<(&Patient, &ResultLife)> {
        let results = self
            .patients()
            .flat_map(|patient| patient.results.values().map(move |life| (patient, life)));
        let mut waiting: Vec<_> = results
            .filter(|(_, life)| life.is_unreviewed() && life.is_critical(self.policy()))
            .collect();
        waiting.sort_by_key(|(_, life)| {
            let stamp = &life.reported.stamp;
            (stamp.occurred_at, stamp.seq)
        });
        waiting
    }

    /// Everything open at a moment, also of patients who have left.
    #[must_use]
    pub fn open_items(&self, now: Timestamp) -> Vec<OpenItem> {
        let mut items = Vec::new();
        let mut add = |sort, seq, patient| items.push(OpenItem { sort, seq, patient });
        let ledgers = self
            .patients()
            .map(|patient| (Some(patient.pseudonym), &patient.ledgers))
            .chain([(None, self.common())]);
        for (patient, ledgers) in ledgers {
            for (seq, _) in ledgers.alerts.iter().filter(|(_, alert)| alert.is_open()) {
                add(OpenSort::Alert, *seq, patient);
            }
            for (seq, _) in ledgers
                .tasks
                .iter()
                .filter(|(_, task)| task.is_overdue(now))
            {
                add(OpenSort::OverdueTask, *seq, patient);
            }
        }
        for patient in self.patients() {
            let who = Some(patient.pseudonym);
            for (seq, _) in patient
                .escalations
                .iter()
                .filter(|(_, life)| life.is_open())
            {
                add(OpenSort::Escalation, *seq, who);
            }
            for (seq, _) in patient
                .results
                .iter()
                .filter(|(_, life)| life.is_unreviewed())
            {
                add(OpenSort::UnreviewedResult, *seq, who);
            }
            for (seq, _) in patient.supplies.iter().filter(|(_, life)| life.is_open()) {
                add(OpenSort::UndeliveredSupply, *seq, who);
            }
        }
        items
    }
}
