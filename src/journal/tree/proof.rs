//! Inclusion and consistency proofs: making them (RFC 9162 sections 2.1.3.1 and 2.1.4.1) and holding
//! them against roots (2.1.3.2 and 2.1.4.2). The checks take anything at all and never panic.

use super::{Nodes, empty_root, node_hash};
use crate::record::ids::TreeHash;

/// Most hashes a proof in a tree of less than 2^63 leaves can have.
pub const PROOF_HASHES_MAX: usize = 64;

/// The largest power of two below `size`; `size` is at least 2.
fn split(size: u64) -> u64 {
    1 << (u64::BITS - 1 - (size - 1).leading_zeros())
}

/// The root over the `size` leaves from `start` on. `start` is a multiple of the power of two that
/// `size` reaches up to, as it is wherever a tree is split.
fn range_root<N: Nodes + ?Sized>(nodes: &N, start: u64, size: u64) -> Result<TreeHash, N::Error> {
    if size.is_power_of_two() {
        let level = size.trailing_zeros();
        return nodes.node(level, start >> level);
    }
    let left = split(size);
    Ok(node_hash(
        range_root(nodes, start, left)?,
        range_root(nodes, start + left, size - left)?,
    ))
}

/// The root over the first `size` leaves.
pub(super) fn root<N: Nodes + ?Sized>(nodes: &N, size: u64) -> Result<TreeHash, N::Error> {
    match size {
        0 => Ok(empty_root()),
        _ => range_root(nodes, 0, size),
    }
}

/// The hashes that lead from leaf `index` to the root over `size` leaves, the leaf's sibling first.
/// `None` if there is no such leaf.
///
/// # Errors
/// When a part of the tree cannot be had.
pub fn prove_inclusion<N: Nodes + ?Sized>(
    nodes: &N,
    index: u64,
    size: u64,
) -> Result<Option<Vec<TreeHash>>, N::Error> {
    if index >= size {
        return Ok(None);
    }
    let mut path = Vec::new();
    let (mut start, mut rest) = (0, size);
    while rest > 1 {
        let left = split(rest);
        if index < start + left {
            path.push(range_root(nodes, start + left, rest - left)?);
            rest = left;
        } else {
            path.push(range_root(nodes, start, left)?);
            (start, rest) = (start + left, rest - left);
        }
    }
    path.reverse();
    Ok(Some(path))
}

/// The hashes that show the tree over `old` leaves to be the beginning of the one over `new`. Empty
/// if the two are equal or there was nothing before; `None` if the older one is the larger.
///
/// # Errors
/// When a part of the tree cannot be had.
pub fn prove_consistency<N: Nodes + ?Sized>(
    nodes: &N,
    old: u64,
    new: u64,
) -> Result<Option<Vec<TreeHash>>, N::Error> {
    if old > new {
        return Ok(None);
    }
    let mut path = Vec::new();
    if old == 0 || old == new {
        return Ok(Some(path));
    }
    // Where the older tree ends is looked for from the root down. Its last part is a node of the
    // newer tree; whoever checks knows it already if it is the whole older tree.
    let (mut start, mut rest, mut ends) = (0, new, old);
    while ends != rest {
        let left = split(rest);
        if ends <= left {
            path.push(range_root(nodes, start + left, rest - left)?);
            rest = left;
        } else {
            path.push(range_root(nodes, start, left)?);
            (start, rest, ends) = (start + left, rest - left, ends - left);
        }
    }
    if start > 0 {
        path.push(range_root(nodes, start, rest)?);
    }
    path.reverse();
    Ok(Some(path))
}

/// Whether `path` shows that `leaf` is leaf number `index` (from 0) of the tree of `size` leaves with
/// this root.
#[must_use]
pub fn inclusion_holds(
    leaf: TreeHash,
    index: u64,
    size: u64,
    path: &[TreeHash],
    root: TreeHash,
) -> bool {
    if index >= size {
        return false;
    }
    let mut walk = Climb::from(index, size - 1);
    let mut here = leaf;
    for &beside in path {
        match walk.step() {
            None => return false,
            Some(Side::Left) => here = node_hash(beside, here),
            Some(Side::Right) => here = node_hash(here, beside),
        }
    }
    walk.is_at_root() && here == root
}

/// The root over the leaves before leaf `index`, as a proof that this leaf is in a tree of `size` leaves
/// has it: what lies to the left of the way up is just the tree before the leaf. If the proof holds, so
/// does this. `None` if it is the proof of no such leaf.
#[must_use]
pub fn root_before(index: u64, size: u64, path: &[TreeHash]) -> Option<TreeHash> {
    let mut walk = Climb::from(index, size.checked_sub(1).filter(|last| index <= *last)?);
    let mut root = None;
    for &beside in path {
        if let Side::Left = walk.step()? {
            root = Some(root.map_or(beside, |right| node_hash(beside, right)));
        }
    }
    walk.is_at_root().then(|| root.unwrap_or_else(empty_root))
}

/// Whether `path` shows that the tree of `old` leaves with root `old_root` is the beginning of the tree
/// of `new` leaves with root `new_root`.
#[must_use]
pub fn consistency_holds(
    old: u64,
    new: u64,
    old_root: TreeHash,
    new_root: TreeHash,
    path: &[TreeHash],
) -> bool {
    if old > new {
        return false;
    }
    if old == new {
        return path.is_empty() && old_root == new_root;
    }
    if old == 0 {
        return path.is_empty() && old_root == empty_root();
    }
    let mut walk = Climb::from(old - 1, new - 1);
    walk.skip_finished();
    // A whole older tree that is a node of the newer one is not repeated in the proof.
    let (first, rest) = if old.is_power_of_two() {
        (old_root, path)
    } else {
        match path.split_first() {
            Some((first, rest)) => (*first, rest),
            None => return false,
        }
    };
    let (mut before, mut after) = (first, first);
    for &beside in rest {
        match walk.step() {
            None => return false,
            Some(Side::Left) => {
                before = node_hash(beside, before);
                after = node_hash(beside, after);
            }
            Some(Side::Right) => after = node_hash(after, beside),
        }
    }
    walk.is_at_root() && before == old_root && after == new_root
}

/// On which side of the way up the next hash lies.
enum Side {
    Left,
    Right,
}

/// The way from a leaf to the root: RFC 9162's `fn` and `sn`.
struct Climb {
    node: u64,
    last: u64,
}

impl Climb {
    fn from(node: u64, last: u64) -> Climb {
        Climb { node, last }
    }

    fn up(&mut self) {
        self.node >>= 1;
        self.last >>= 1;
    }

    /// Up to where the older tree's last part is a whole node of its own.
    fn skip_finished(&mut self) {
        while self.node & 1 == 1 {
            self.up();
        }
    }

    /// One hash further up; `None` if the root was reached already.
    fn step(&mut self) -> Option<Side> {
        if self.last == 0 {
            return None;
        }
        let is_left = self.node & 1 == 1 || self.node == self.last;
        if is_left {
            // On the right edge, levels without a neighbour need no hash.
            while self.node & 1 == 0 && self.node != 0 {
                self.up();
            }
        }
        self.up();
        Some(if is_left { Side::Left } else { Side::Right })
    }

    fn is_at_root(&self) -> bool {
        self.last == 0
    }
}
