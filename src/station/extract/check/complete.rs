//! How much of each patient's record is in an extract.

use std::collections::{BTreeMap, BTreeSet};

use super::{Checker, Complete, Place, called};
use crate::journal::SignedFrame;
use crate::journal::tree::{AUTHORITY_KINDS, PatientChain, patient_proof_holds};
use crate::record::ids::{EntryHash, Pseudonym, Seq};
use crate::record::kind::proof::StatedTree;
use crate::station::extract::PatientPart;

impl Checker<'_> {
    /// Each patient's hashes against what the checkpoint's entry commits to, and the entries shown
    /// against the hashes. Whoever the file says anything of is named with a total, and whoever has an entry
    /// in it must be.
    pub(super) fn complete(&mut self, at: Place, stated: &StatedTree) -> Vec<Complete> {
        let mut parts: BTreeMap<Pseudonym, &PatientPart> = BTreeMap::new();
        for part in &self.extract.patients {
            if parts.insert(part.patient, part).is_some() {
                self.wrong(format!(
                    "what {} has in all stands in it twice",
                    called(part.patient)
                ));
            }
        }
        let frames = self.frames.range(..at.seq);
        let of_entries = frames.filter_map(|(_, (frame, _))| counted_for(frame));
        let whose: BTreeSet<Pseudonym> = of_entries
            .chain(parts.keys().copied())
            .chain([Pseudonym::ZERO])
            .collect();
        let mut complete = Vec::new();
        for patient in whose {
            let Some(part) = parts.get(&patient) else {
                self.wrong(format!("what {} has in all is not in it", called(patient)));
                continue;
            };
            let chain = PatientChain::of(part.hashes.iter().copied());
            if !patient_proof_holds(patient, &chain, &part.path, stated.patients_root) {
                self.wrong(format!(
                    "what it says {} has in all is not what the checkpoint's entry {} states",
                    called(patient),
                    at.seq
                ));
                continue;
            }
            let one = self.counted(part, at, stated.size);
            if patient != Pseudonym::ZERO {
                complete.push(one);
            } else if one.shown < one.in_all {
                let missing = one.in_all - one.shown;
                self.wrong(format!(
                    "{missing} of the entries that say who may write what are not in it"
                ));
            }
        }
        complete
    }

    fn counted(&mut self, part: &PatientPart, at: Place, up_to: u64) -> Complete {
        let patient = part.patient;
        let all: BTreeSet<EntryHash> = part.hashes.iter().copied().collect();
        let mut shown = 0;
        let mut found = Vec::new();
        if all.len() != part.hashes.len() {
            found.push(format!(
                "an entry is counted twice in what {} has in all",
                called(patient)
            ));
        }
        for (seq, (frame, _)) in self.frames.range(..at.seq) {
            let seq: &Seq = seq;
            if counted_for(frame) != Some(patient) {
                continue;
            }
            if all.contains(&frame.hash()) {
                shown += 1;
            } else {
                found.push(format!(
                    "entry {seq} is not among those {} has in all",
                    called(patient)
                ));
            }
        }
        self.problems.extend(found);
        let held = self.held.iter();
        let held = held.filter(|(hash, index)| **index < at.index && all.contains(hash));
        Complete {
            patient,
            in_all: all.len() as u64,
            shown,
            withheld: held.count() as u64,
            up_to,
        }
    }
}

/// Under whose pseudonym a checkpoint counts an entry, if it does.
fn counted_for(frame: &SignedFrame) -> Option<Pseudonym> {
    let header = frame.header();
    let counted = header.patient != Pseudonym::ZERO || AUTHORITY_KINDS.contains(&header.kind);
    counted.then_some(header.patient)
}
