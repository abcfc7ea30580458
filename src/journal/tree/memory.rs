//! A tree held in memory whole: for what is small, and as the one that needs no disk.

use std::convert::Infallible;

use super::{Frontier, Nodes, node_hash, proof};
use crate::record::ids::TreeHash;

/// All finished parts of a tree.
#[derive(Debug, Clone, Default)]
pub struct MemoryTree {
    edge: Frontier,
    /// Level by level, from the leaves up, every finished part.
    levels: Vec<Vec<TreeHash>>,
}

impl MemoryTree {
    /// Adds a leaf.
    pub fn push(&mut self, leaf: TreeHash) {
        self.edge.push(leaf);
        let mut part = leaf;
        for level in 0.. {
            if self.levels.len() == level {
                self.levels.push(Vec::new());
            }
            let row = &mut self.levels[level];
            row.push(part);
            if row.len() % 2 == 1 {
                return;
            }
            part = node_hash(row[row.len() - 2], part);
        }
    }

    /// How many leaves there are.
    #[must_use]
    pub fn size(&self) -> u64 {
        self.edge.size()
    }

    /// The root over all leaves.
    #[must_use]
    pub fn root(&self) -> TreeHash {
        self.edge.root()
    }

    /// See [`proof::prove_inclusion`].
    #[must_use]
    pub fn inclusion(&self, index: u64, size: u64) -> Option<Vec<TreeHash>> {
        let size = Some(size).filter(|size| *size <= self.size())?;
        let Ok(path) = proof::prove_inclusion(self, index, size);
        path
    }

    /// See [`proof::prove_consistency`].
    #[must_use]
    pub fn consistency(&self, old: u64, new: u64) -> Option<Vec<TreeHash>> {
        let new = Some(new).filter(|new| *new <= self.size())?;
        let Ok(path) = proof::prove_consistency(self, old, new);
        path
    }
}

impl FromIterator<TreeHash> for MemoryTree {
    fn from_iter<I: IntoIterator<Item = TreeHash>>(leaves: I) -> MemoryTree {
        let mut tree = MemoryTree::default();
        for leaf in leaves {
            tree.push(leaf);
        }
        tree
    }
}

impl Nodes for MemoryTree {
    type Error = Infallible;

    fn node(&self, level: u32, index: u64) -> Result<TreeHash, Infallible> {
        let row = &self.levels[level as usize];
        Ok(row[usize::try_from(index).unwrap_or(usize::MAX)])
    }
}
