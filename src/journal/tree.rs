//! The Merkle tree over the entries, in the shape of RFC 9162 section 2.1 (the same as RFC 6962):
//! SHA-256, leaves and nodes hashed under different first bytes. A leaf is an entry's hash, so a
//! proof shows nothing of any entry, and an entry hash cannot be guessed from an entry's content.
//!
//! Everything here but `kept` is a pure function. `kept` holds the tree beside the segments so that a
//! root costs the same at any length; no verifier trusts it.
//!
//! Which hashes are leaves, in order: those of the intact entries; and where an entry names another
//! hash before it than that of the leaf before, the hash it names comes first. So a single damaged
//! entry keeps its leaf, for the entry after it names its hash ([`Leaves`]).

mod frontier;
mod grown;
mod kept;
mod leaves;
mod memory;
mod patients;
mod proof;
#[cfg(test)]
mod tests;

use sha2::{Digest as _, Sha256};

use crate::record::ids::{EntryHash, TreeHash};

pub use frontier::Frontier;
pub use grown::Grown;
pub use kept::KeptTree;
pub use leaves::{Leaves, TreeEntry};
pub use memory::MemoryTree;
pub use patients::{
    AUTHORITY_KINDS, PATIENT_PROOF_HASHES_MAX, PatientChain, PatientTally, patient_proof_holds,
    patients_root, prove_patient,
};
pub use proof::{
    PROOF_HASHES_MAX, consistency_holds, inclusion_holds, prove_consistency, prove_inclusion,
    root_before,
};

/// Where finished parts of a tree can be had.
pub trait Nodes {
    /// Why one cannot be had.
    type Error;

    /// The hash over the `2^level` leaves from leaf `index * 2^level` on. Asked only for parts that
    /// lie whole within the tree.
    ///
    /// # Errors
    /// When it cannot be had.
    fn node(&self, level: u32, index: u64) -> Result<TreeHash, Self::Error>;
}

/// The root of a tree without leaves: the SHA-256 of nothing.
#[must_use]
pub fn empty_root() -> TreeHash {
    TreeHash(Sha256::digest([]).into())
}

/// The leaf of an entry.
#[must_use]
pub fn entry_leaf(hash: EntryHash) -> TreeHash {
    leaf_hash(&hash.0)
}

/// `SHA-256(0x00 || data)`.
#[must_use]
pub fn leaf_hash(data: &[u8]) -> TreeHash {
    hashed(0x00, &[data])
}

/// `SHA-256(0x01 || left || right)`.
#[must_use]
pub fn node_hash(left: TreeHash, right: TreeHash) -> TreeHash {
    hashed(0x01, &[&left.0, &right.0])
}

/// SHA-256 over a first byte that says what is hashed, and the parts.
fn hashed(what: u8, parts: &[&[u8]]) -> TreeHash {
    let mut hasher = Sha256::new();
    hasher.update([what]);
    for part in parts {
        hasher.update(part);
    }
    TreeHash(hasher.finalize().into())
}
