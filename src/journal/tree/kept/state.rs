//! The bytes of `tree/state`. Derived and disposable, so anything unusual in it is "none".
//!
//! Integers little-endian: magic (8), journal id (16), last entry (8), its hash (32), leaves (8), count of
//! shifts (8) and for each entry (8) and leaf (8), count of levels (8) and for each the count of hashes
//! (8) and the hashes (32 each), check (32) over everything before it.
//!
//! The check finds a torn file and nobody's intent: it needs no key. So nothing is signed by what stands
//! here, and what follows from the rest (the right edge) or from the segments is not stored at all.

use super::{HASH, TILE_HASHES, TILE_LEVELS, joined};
use crate::journal::chain;
use crate::journal::tree::{Frontier, Leaves};
use crate::record::ids::{EntryHash, JournalId, Seq, TreeHash};

/// The second form; the first held the right edge and what each patient has.
const MAGIC: [u8; 8] = *b"hftree\0\x02";
/// More is damage: a million shifts, and the tails.
pub(super) const BYTES_MAX: usize = 1 << 25;
const LEVELS_MAX: u64 = 8;
const SHIFTS_MAX: u64 = 1 << 20;

/// What was read.
pub(super) struct State {
    pub last: Seq,
    pub leaves: Leaves,
    pub edge: Frontier,
    pub tails: Vec<Vec<TreeHash>>,
}

pub(super) fn write(
    journal: JournalId,
    last: Seq,
    leaves: &Leaves,
    tails: &[Vec<TreeHash>],
) -> Vec<u8> {
    let mut out = MAGIC.to_vec();
    out.extend_from_slice(&journal.0);
    number(&mut out, last.0);
    out.extend_from_slice(&leaves.before.0);
    number(&mut out, leaves.size);
    number(&mut out, leaves.shifts.len() as u64);
    for (seq, leaf) in &leaves.shifts {
        number(&mut out, seq.0);
        number(&mut out, *leaf);
    }
    number(&mut out, tails.len() as u64);
    for tail in tails {
        number(&mut out, tail.len() as u64);
        out.extend(tail.iter().flat_map(|hash| hash.0));
    }
    let check = chain::tree_check(&out);
    out.extend_from_slice(&check);
    out
}

fn number(out: &mut Vec<u8>, number: u64) {
    out.extend_from_slice(&number.to_le_bytes());
}

/// `None` for anything but what [`write`] writes for this journal.
pub(super) fn read(bytes: &[u8], journal: JournalId) -> Option<State> {
    let (body, check) = bytes.split_last_chunk::<32>()?;
    if *check != chain::tree_check(body) {
        return None;
    }
    let mut rest = Rest(body);
    if rest.array::<8>()? != MAGIC || rest.array::<16>()? != journal.0 {
        return None;
    }
    let last = Seq(rest.number(u64::MAX)?);
    let before = EntryHash(rest.array()?);
    let size = rest.number(u64::MAX)?;
    let mut shifts = Vec::new();
    for _ in 0..rest.number(SHIFTS_MAX)? {
        shifts.push((Seq(rest.number(u64::MAX)?), rest.number(u64::MAX)?));
    }
    let mut tails = Vec::new();
    for _ in 0..rest.number(LEVELS_MAX)? {
        tails.push(rest.hashes()?);
    }
    let leaves = Leaves {
        before,
        size,
        shifts,
    };
    if !rest.0.is_empty() || !is_possible(last, &leaves) || !fill(&tails, size) {
        return None;
    }
    let parts = edge(&tails);
    let edge = Frontier { size, parts };
    Some(State {
        last,
        leaves,
        edge,
        tails,
    })
}

/// Whether a tree drawn to that entry can have these leaves.
fn is_possible(last: Seq, leaves: &Leaves) -> bool {
    // An entry adds its own leaf, and at most one more.
    let most = last.0.saturating_mul(2);
    let in_order = leaves
        .shifts
        .is_sorted_by(|(seq, leaf), (next, after)| seq < next && leaf < after);
    let shift = leaves.shifts.last();
    let within = shift.is_none_or(|(seq, leaf)| *seq <= last && *leaf < leaves.size);
    let newest = leaves.size.checked_sub(1);
    in_order && within && leaves.size <= most && newest.is_some() && leaves.index(last) == newest
}

/// Whether what lies in no tile is as much as so many leaves leave over.
fn fill(tails: &[Vec<TreeHash>], size: u64) -> bool {
    let mut rest = size;
    for tail in tails {
        if tail.len() as u64 != rest % TILE_HASHES as u64 {
            return false;
        }
        rest >>= TILE_LEVELS;
    }
    rest == 0
}

/// The right edge, from what lies in no tile: each tail in powers of two, the largest first.
fn edge(tails: &[Vec<TreeHash>]) -> Vec<TreeHash> {
    let mut parts = Vec::new();
    for tail in tails.iter().rev() {
        let mut rest = &tail[..];
        while let Some(bit) = rest.len().checked_ilog2() {
            let (part, after) = rest.split_at(1 << bit);
            parts.push(joined(part));
            rest = after;
        }
    }
    parts
}

/// What has not been read yet.
struct Rest<'a>(&'a [u8]);

impl Rest<'_> {
    fn array<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (first, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*first)
    }

    fn number(&mut self, most: u64) -> Option<u64> {
        let number = u64::from_le_bytes(self.array()?);
        (number <= most).then_some(number)
    }

    fn hashes(&mut self) -> Option<Vec<TreeHash>> {
        let count = self.number(TILE_HASHES as u64)?;
        let mut hashes = Vec::new();
        for _ in 0..count {
            hashes.push(TreeHash(self.array::<HASH>()?));
        }
        Some(hashes)
    }
}
