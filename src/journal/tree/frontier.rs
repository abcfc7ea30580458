//! A tree of which only the finished parts on its right edge are remembered: enough to add leaves
//! and to say the root, in as many hashes as the size has binary ones.

use super::{empty_root, node_hash};
use crate::record::ids::TreeHash;

/// The right edge of a growing tree.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Frontier {
    pub(super) size: u64,
    /// Roots of the complete subtrees, the largest first: one for each binary 1 in the size.
    pub(super) parts: Vec<TreeHash>,
}

impl Frontier {
    /// Adds a leaf. Amortised, one hash.
    pub fn push(&mut self, leaf: TreeHash) {
        let mut part = leaf;
        // Every 1 at the size's end is a finished part that is as large as the new one.
        for _ in 0..self.size.trailing_ones() {
            if let Some(left) = self.parts.pop() {
                part = node_hash(left, part);
            }
        }
        self.parts.push(part);
        self.size = self.size.saturating_add(1);
    }

    /// How many leaves there are.
    #[must_use]
    pub fn size(&self) -> u64 {
        self.size
    }

    /// The root over all leaves so far.
    #[must_use]
    pub fn root(&self) -> TreeHash {
        let mut parts = self.parts.iter().rev();
        let Some(&last) = parts.next() else {
            return empty_root();
        };
        parts.fold(last, |right, &left| node_hash(left, right))
    }
}
