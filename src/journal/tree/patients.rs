//! What a checkpoint commits to for each patient: how many entries bear the pseudonym, and a hash
//! over all of theirs in order. So whoever holds some of a patient's entries can be shown that they
//! are all, without seeing anybody else's.
//!
//! The commitments are the leaves of a tree in which a leaf's place is its pseudonym: from the root,
//! each bit says left or right. A part with one leaf in it is that leaf's hash, a part without leaves
//! is 32 zero bytes. So one root has room for one leaf a pseudonym and no more: nobody can
//! commit to a short record beside a long one. A list in order of pseudonyms could not show that
//! (`docs/decisions/0007-what-a-checkpoint-says-of-each-patient.md`).

use std::collections::BTreeMap;

use super::{TreeEntry, hashed};
use crate::journal::chain;
use crate::record::ids::{EntryHash, Pseudonym, TreeHash};

/// Most hashes a proof can have: one for each bit of a pseudonym.
pub const PATIENT_PROOF_HASHES_MAX: usize = 128;

/// Kinds about no patient that are counted all the same, under the pseudonym zero: who opened the ward,
/// was enrolled, suspended or given another role or key, and which key is the ward's. Whoever is shown
/// these can be shown that they are all, and so judge who was allowed to write what.
pub const AUTHORITY_KINDS: [u16; 4] = [1, 2, 3, 8];

/// A part of the tree without any patient.
const NOBODY: TreeHash = TreeHash([0; 32]);

/// A pseudonym and its leaf's hash.
type Leaf = (Pseudonym, TreeHash);

/// How many entries a patient has, and the hash over all of them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct PatientChain {
    /// How many entries bear the pseudonym.
    pub entries: u64,
    /// Hash over their entry hashes, in order; zero for none.
    pub hash: [u8; 32],
}

impl PatientChain {
    /// One entry more.
    pub fn push(&mut self, entry: EntryHash) {
        self.entries = self.entries.saturating_add(1);
        self.hash = chain::patient_chain(&self.hash, entry);
    }

    /// The same, of all these entries.
    pub fn of(entries: impl IntoIterator<Item = EntryHash>) -> PatientChain {
        let mut chain = PatientChain::default();
        for entry in entries {
            chain.push(entry);
        }
        chain
    }

    /// `SHA-256(0x02 || pseudonym || entries, 8 bytes little-endian || hash)`.
    fn leaf(&self, patient: Pseudonym) -> TreeHash {
        hashed(0x02, &[&patient.0, &self.entries.to_le_bytes(), &self.hash])
    }
}

/// Every patient's chain, kept while entries come.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PatientTally(pub(super) BTreeMap<Pseudonym, PatientChain>);

impl PatientTally {
    /// Counts an entry, if it is about a patient.
    pub fn take(&mut self, entry: &TreeEntry) {
        let counted = entry.patient != Pseudonym::ZERO || AUTHORITY_KINDS.contains(&entry.kind);
        if counted {
            self.0.entry(entry.patient).or_default().push(entry.hash);
        }
    }

    /// What there is of one patient.
    #[must_use]
    pub fn of(&self, patient: Pseudonym) -> PatientChain {
        self.0.get(&patient).copied().unwrap_or_default()
    }

    /// How many patients there are.
    #[must_use]
    pub fn patients(&self) -> u64 {
        let nobody = u64::from(self.0.contains_key(&Pseudonym::ZERO));
        self.0.len() as u64 - nobody
    }

    /// The leaves in order of pseudonyms.
    fn leaves(&self) -> Vec<Leaf> {
        let rows = self.0.iter();
        rows.map(|(patient, chain)| (*patient, chain.leaf(*patient)))
            .collect()
    }
}

/// The root over all patients.
#[must_use]
pub fn patients_root(tally: &PatientTally) -> TreeHash {
    part(&tally.leaves(), 0)
}

/// The hashes from a patient's leaf to the root, the leaf's sibling first; `None` if the patient has no
/// entry.
#[must_use]
pub fn prove_patient(tally: &PatientTally, patient: Pseudonym) -> Option<Vec<TreeHash>> {
    let all = tally.leaves();
    let mut leaves = &all[..];
    let mut path = Vec::new();
    for depth in 0..PATIENT_PROOF_HASHES_MAX {
        if leaves.len() < 2 {
            break;
        }
        let (left, right) = halves(leaves, depth);
        let (mine, other) = if bit(patient, depth) {
            (right, left)
        } else {
            (left, right)
        };
        path.push(part(other, depth + 1));
        leaves = mine;
    }
    path.reverse();
    (leaves.len() == 1 && leaves[0].0 == patient).then_some(path)
}

/// Whether `path` shows that the tree with this root has `chain` for `patient`. It then has no other one
/// for them.
#[must_use]
pub fn patient_proof_holds(
    patient: Pseudonym,
    chain: &PatientChain,
    path: &[TreeHash],
    root: TreeHash,
) -> bool {
    if path.len() > PATIENT_PROOF_HASHES_MAX {
        return false;
    }
    let deepest = path.len();
    let mut here = chain.leaf(patient);
    for (up, &beside) in path.iter().enumerate() {
        here = if bit(patient, deepest - 1 - up) {
            joined(beside, here)
        } else {
            joined(here, beside)
        };
    }
    here == root
}

/// The hash of the part of the tree that holds these leaves, `depth` bits from the root.
fn part(leaves: &[Leaf], depth: usize) -> TreeHash {
    match leaves {
        [] => NOBODY,
        [(_, leaf)] => *leaf,
        _ => {
            let (left, right) = halves(leaves, depth);
            joined(part(left, depth + 1), part(right, depth + 1))
        }
    }
}

/// `SHA-256(0x03 || left || right)`.
fn joined(left: TreeHash, right: TreeHash) -> TreeHash {
    hashed(0x03, &[&left.0, &right.0])
}

fn halves(leaves: &[Leaf], depth: usize) -> (&[Leaf], &[Leaf]) {
    leaves.split_at(leaves.partition_point(|(patient, _)| !bit(*patient, depth)))
}

/// Bit `depth` of a pseudonym, the highest of its first byte being 0.
fn bit(patient: Pseudonym, depth: usize) -> bool {
    patient.0[depth / 8] >> (7 - depth % 8) & 1 == 1
}
