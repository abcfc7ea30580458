//! The tree as it grows while a journal is read from its beginning, without any file.

use std::collections::{BTreeMap, BTreeSet};

use super::{Frontier, Leaves, PatientTally, TreeEntry, patients_root};
use crate::record::ids::{JournalId, TreeHash};

/// Root and commitments over everything read so far, and the roots at sizes that were asked for.
#[derive(Debug, Clone)]
pub struct Grown {
    leaves: Leaves,
    edge: Frontier,
    tally: PatientTally,
    /// Sizes whose roots are wanted.
    wanted: BTreeSet<u64>,
    roots: BTreeMap<u64, TreeHash>,
    /// Whether an entry was missing or damaged on the way.
    gaps: bool,
}

impl Grown {
    /// Before the first entry. Roots at `wanted` sizes are remembered on the way.
    #[must_use]
    pub fn of(journal: JournalId, wanted: impl IntoIterator<Item = u64>) -> Grown {
        let mut grown = Grown {
            leaves: Leaves::of(journal),
            edge: Frontier::default(),
            tally: PatientTally::default(),
            wanted: wanted.into_iter().collect(),
            roots: BTreeMap::new(),
            gaps: false,
        };
        grown.remember();
        grown
    }

    fn remember(&mut self) {
        let size = self.edge.size();
        if self.wanted.contains(&size) {
            self.roots.insert(size, self.edge.root());
        }
    }

    /// The next entry.
    pub fn take(&mut self, entry: &TreeEntry) {
        let next = entry.seq.0.checked_sub(1);
        let added = self.leaves.take(entry);
        self.gaps |= added.len() > 1 || next != Some(self.edge.size());
        for leaf in added {
            self.edge.push(leaf);
            self.remember();
        }
        self.tally.take(entry);
    }

    /// How many leaves there are.
    #[must_use]
    pub fn size(&self) -> u64 {
        self.edge.size()
    }

    /// The root over them.
    #[must_use]
    pub fn root(&self) -> TreeHash {
        self.edge.root()
    }

    /// What each patient has.
    #[must_use]
    pub fn tally(&self) -> &PatientTally {
        &self.tally
    }

    /// The root over what each patient has.
    #[must_use]
    pub fn patients_root(&self) -> TreeHash {
        patients_root(&self.tally)
    }

    /// Whether entries were missing or damaged: then what was stated of them cannot be held against them.
    #[must_use]
    pub fn has_gaps(&self) -> bool {
        self.gaps
    }

    /// The roots that were wanted, as far as the tree grew.
    #[must_use]
    pub fn roots(&self) -> &BTreeMap<u64, TreeHash> {
        &self.roots
    }
}
